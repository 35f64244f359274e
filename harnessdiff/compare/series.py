"""Recognises what was put into the run of a wire: repair, insertion, open circuit; and ends that moved."""

from __future__ import annotations

from collections import defaultdict

from harnessdiff.compare.claims import Claims, contact_facts, joints_of, open_end_fact
from harnessdiff.compare.comparison import Cluster, Comparison, Contact
from harnessdiff.compare.grounding import ground_facts, past_a_sensor, too_many
from harnessdiff.graph import GROUND_DEVICES, stops_along
from harnessdiff.model.harness import Cut, Joint, Role
from harnessdiff.model.modification import Fact, Modification

# In-line parts that make a piece of lead a device in series.
IN_SERIES = frozenset({"switch", "relay_contact", "fuse", "circuit_breaker", "lump"})


def recognise_cuts(comparison: Comparison, claims: Claims) -> None:
    """Every cut wire: joined again, led through a device, or open."""
    for pair, wire in _outer_cuts(comparison):
        sides = tuple(_contacts_at(comparison, f"{cut}#{side}") for cut, side in zip(pair, (1, 2), strict=True))
        _recognise_gap(comparison, claims, pair[0], (wire,), (sides[0], sides[1]), plugged=False, with_it=pair)
    for element in comparison.after.elements:
        if not isinstance(element, Cut) or element.id in claims.elements:
            continue
        wires = tuple(one for one in comparison.after.targets(element.id, "on") if one not in comparison.added)
        if not wires:
            continue
        sides = tuple(_contacts_at(comparison, f"{element.id}#{side}") for side in (1, 2))
        _recognise_gap(comparison, claims, element.id, wires, (sides[0], sides[1]), plugged=False)


def _outer_cuts(comparison: Comparison) -> list[tuple[tuple[str, str], str]]:
    """Pairs of cuts on a wire between which a piece was given up: its outer ends joined, its inner ones free."""
    cuts_on: dict[str, list[str]] = defaultdict(list)
    for element in comparison.after.elements:
        if isinstance(element, Cut):
            for wire in comparison.after.targets(element.id, "on"):
                if wire not in comparison.added:
                    cuts_on[wire].append(element.id)
    found = []
    for wire, cuts in cuts_on.items():
        conductor = comparison.after.conductor(wire)
        if len(cuts) < 2 or conductor is None:
            continue
        order = [stop for stop in stops_along(comparison.after, conductor) if stop in cuts]
        first, last = str(order[0]), str(order[-1])
        outer = [{one.cluster for one in _contacts_at(comparison, node)} for node in (f"{first}#1", f"{last}#2")]
        inner = _contacts_at(comparison, f"{first}#2") + _contacts_at(comparison, f"{last}#1")
        if len(order) == 2 and outer[0] & outer[1] and not inner:
            found.append(((first, last), wire))
    return found


def _contacts_at(comparison: Comparison, node: str) -> tuple[Contact, ...]:
    return tuple(comparison.cluster_at.get(node, ()))


def _recognise_gap(
    comparison: Comparison,
    claims: Claims,
    root: str,
    wires: tuple[str, ...],
    sides: tuple[tuple[Contact, ...], tuple[Contact, ...]],
    *,
    plugged: bool,
    with_it: tuple[str, ...] = (),
) -> None:
    """A gap in a wire (a cut, two cuts, or an end taken off its terminal) with the contacts on its two sides."""
    clusters = tuple({comparison.clusters[contact.cluster] for contact in side} for side in sides)
    both = sorted(clusters[0] & clusters[1], key=lambda one: one.number)
    if both and _reaches_further(comparison, both[0], sides):
        return  # it joins the wire to something else, too: a bridge, taken with all its contacts later
    contacts = tuple(
        contact for side in sides for contact in side if not both or comparison.clusters[contact.cluster] in both
    )
    facts = _facts_of(comparison, contacts)
    role = "plugged" if plugged else "cut"
    if both:
        kind, more = _kind_of_joined(comparison, both[0], contacts, wires)
        claims.take(
            _made(comparison, kind, root, wires, contacts, (*facts, *more), role, plugged=plugged, with_it=with_it),
            contacts,
        )
        return
    through = _devices_reached(clusters[0]) & _devices_reached(clusters[1])
    if through:
        device = min(through)
        more = (Fact.of("through_device", device=device), *_device_facts(comparison, device))
        claims.take(
            _made(comparison, "insertion", root, wires, contacts, (*facts, *more), role, plugged=plugged),
            contacts,
        )
        return
    led = None if plugged else _ground_elsewhere(comparison, sides)
    if led is not None:
        contacts, lost_end = led
        was = comparison.before.targets(wires[0], lost_end)[0]
        nodes = [contact.node for contact in contacts]
        facts = (Fact.of("moved", was=was, now=contacts[0].by), *ground_facts(comparison, contacts[0].by, nodes))
        claims.take(_made(comparison, "moved_ground", root, wires, contacts, facts, role, plugged=False), contacts)
        return
    if not plugged:
        # Contacts on the open sides are taken later, as taps on what is left of the wire.
        claims.take(
            _made(comparison, "open_circuit", root, wires, (), _end_facts(comparison, root), role, plugged=False)
        )


def _reaches_further(
    comparison: Comparison, cluster: Cluster, sides: tuple[tuple[Contact, ...], tuple[Contact, ...]]
) -> bool:
    """Whether a cluster that joins the sides of a gap touches other nets of the reference as well."""
    own = {comparison.net(contact.node) for side in sides for contact in side}
    return any(comparison.net(contact.node) not in own for contact in cluster.contacts)


def _ground_elsewhere(
    comparison: Comparison, sides: tuple[tuple[Contact, ...], tuple[Contact, ...]]
) -> tuple[tuple[Contact, ...], Role] | None:
    """Contacts by which a piece of a cut ground wire was led to other metal, and the end that it had lost.

    None where it was not: where the other side is in use, or neither piece is led to ground.
    """
    lost: tuple[Role, Role] = ("end_2", "end_1")
    for near, far, end in zip(sides, reversed(sides), lost, strict=True):
        for contact in near:
            others = [one for one in comparison.clusters[contact.cluster].contacts if one.node != contact.node]
            grounded = [one for one in others if comparison.net(one.node) in comparison.ground]
            if grounded and not far and comparison.net(contact.node) not in comparison.ground:
                return (contact, *grounded), end
    return None


def _kind_of_joined(
    comparison: Comparison, cluster: Cluster, contacts: tuple[Contact, ...], wires: tuple[str, ...]
) -> tuple[str, tuple[Fact, ...]]:
    """What a cluster that joins both sides of a gap makes: a repair, something in series, or a tap."""
    if IN_SERIES & set(cluster.inline):
        return "insertion", (Fact.of("through_device", device=", ".join(sorted(IN_SERIES & set(cluster.inline)))),)
    others = [contact for contact in cluster.contacts if contact not in contacts]
    if not others and (cluster.devices or cluster.loose):
        fed = (fact for contact in contacts for fact in contact_facts(comparison, contact))
        outputs = (fact for fact in fed if fact.code == "module_output")
        return "tap", (Fact.of("wire_cut"), *outputs)
    return "repair", _insert_facts(comparison, cluster, wires)


def _insert_facts(comparison: Comparison, cluster: Cluster, wires: tuple[str, ...]) -> tuple[Fact, ...]:
    facts = []
    wire = comparison.before.conductor(wires[0])
    leads = [lead for lead in map(comparison.after.conductor, cluster.elements) if lead is not None]
    for lead in leads:
        facts.append(Fact.of("insert_piece", lead=lead.id))
        if wire is None:
            continue
        if lead.colour is not None and wire.colour is not None and lead.colour != wire.colour:
            facts.append(Fact.of("colour_differs", was=wire.colour.letters, now=lead.colour.letters))
        was, now = wire.size_mm2.low, lead.size_mm2
        if was is not None and now.high is not None and now.high < was:
            facts.append(Fact.of("insert_thinner", was=was, now=now.high))
        elif was is not None and now.low is not None and now.low < was:
            facts.append(Fact.of("insert_thinner_perhaps", lead=lead.id, was=was, now=now.low))
    return tuple(facts)


def _devices_reached(clusters: set[Cluster]) -> set[str]:
    return {device for cluster in clusters for device in cluster.devices}


def _device_facts(comparison: Comparison, device_id: str) -> tuple[Fact, ...]:
    if "~" in device_id:
        return (Fact.of("dummy_load", device=device_id),) if _is_resistor(comparison, device_id) else ()
    device = comparison.after.device(device_id)
    if device is not None and device.function in ("immobiliser", "alarm"):
        return (Fact.of("security", device=device_id),)
    return ()


def _is_resistor(comparison: Comparison, inline_id: str) -> bool:
    lead, number = inline_id.split("~", 1)
    conductor = comparison.after.conductor(lead)
    return conductor is not None and conductor.inline[int(number)].kind == "resistor"


def _facts_of(comparison: Comparison, contacts: tuple[Contact, ...]) -> tuple[Fact, ...]:
    """Facts of the place; that a module's output feeds it does not matter to what only passes its current on."""
    found = {fact: None for contact in contacts for fact in contact_facts(comparison, contact)}
    return tuple(fact for fact in found if fact.code != "module_output")


def _end_facts(comparison: Comparison, cut_id: str) -> tuple[Fact, ...]:
    cut = comparison.after.by_id[cut_id]
    assert isinstance(cut, Cut)
    facts = []
    for side, loose in ((1, cut.end_1), (2, cut.end_2)):
        if loose is not None:
            facts.append(Fact.of("cut_end", side=side, treatment=loose.treatment or "unknown"))
    if _takes_a_ground_away(comparison, cut_id):
        facts.append(Fact.of("lost_ground"))
    return tuple(facts)


def _takes_a_ground_away(comparison: Comparison, cut_id: str) -> bool:
    """Whether what hangs on one side of a cut was on ground and is not any more."""
    ends = [
        end
        for wire in comparison.after.targets(cut_id, "on")
        if wire not in comparison.added
        for end in comparison.before.targets(wire, "end_1", "end_2")
    ]
    return (
        bool(ends)
        and all(end in comparison.base.ground for end in ends)
        and any(comparison.remains.get(f"{cut_id}#{side}") not in comparison.ground for side in (1, 2))
    )


def _made(
    comparison: Comparison,
    kind: str,
    root: str,
    wires: tuple[str, ...],
    contacts: tuple[Contact, ...],
    facts: tuple[Fact, ...],
    role: str,
    *,
    plugged: bool,
    with_it: tuple[str, ...] = (),
) -> Modification:
    added = tuple(one for one in dict.fromkeys((root, *with_it)) if one in comparison.added)
    nodes = tuple(sorted({contact.node for contact in contacts}))
    if kind == "open_circuit":
        nodes = (f"{root}#1", f"{root}#2")
    return Modification(
        kind=kind,
        root=root,
        elements=wires,
        added=added,
        joints=joints_of(contacts),
        role=role if not plugged else "plugged",
        facts=tuple(dict.fromkeys(facts)),
        nodes=nodes,
    )


def recognise_moved_ends(comparison: Comparison, claims: Claims) -> None:
    """Wires' ends that are elsewhere: plugged into an adaptor, exchanged, moved, or hanging."""
    moves = _moves(comparison)
    swapped = _swaps(moves)
    for pair in swapped:
        wires = tuple(sorted({wire for wire, _ in pair}))
        terminals = tuple(sorted({terminal for end in pair for terminal in moves[end] if terminal}))
        claims.take(
            Modification(
                kind="swap", root=wires[0], elements=wires, role="ends", nodes=terminals,
            )
        )  # fmt: skip
    done = {end for pair in swapped for end in pair}
    plugged: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    for end, (was, now) in sorted(moves.items()):
        if end in done:
            continue
        if now is not None and isinstance(comparison.after.by_id.get(now), Joint) and now in comparison.added:
            plugged[was or "", now].append(end)
        else:
            _recognise_moved(comparison, claims, end, was, now)
    for (was, now), ends in plugged.items():
        _recognise_plugged(comparison, claims, ends, was, now)


def _moves(comparison: Comparison) -> dict[tuple[str, str], tuple[str | None, str | None]]:
    """Ends of the reference's wires that are elsewhere: wire and role to where they were and are."""
    was, now = (
        {
            (incidence.subject, incidence.role): incidence.target
            for incidence in incidences
            if incidence.role in ("end_1", "end_2") and incidence.subject in comparison.before.by_id
        }
        for incidences in (comparison.detached, comparison.attached)
    )
    gone = set(comparison.removed)
    return {
        end: (was.get(end), now.get(end))
        for end in sorted({*was, *now})
        if end[0] not in gone and was.get(end) not in gone
    }


def _swaps(moves: dict[tuple[str, str], tuple[str | None, str | None]]) -> list[tuple[tuple[str, str], ...]]:
    """Groups of ends that exchanged two places."""
    groups: dict[frozenset[str], list[tuple[str, str]]] = defaultdict(list)
    for end, (was, now) in moves.items():
        if was is not None and now is not None and was != now:
            groups[frozenset((was, now))].append(end)
    return [
        tuple(ends)
        for places, ends in sorted(groups.items(), key=lambda one: sorted(one[0]))
        if {moves[end][0] for end in ends} == places
    ]


def _recognise_moved(
    comparison: Comparison, claims: Claims, end: tuple[str, str], was: str | None, now: str | None
) -> None:
    wire = end[0]
    facts: tuple[Fact, ...] = (Fact.of("moved", was=was, now=now),)
    grounds = was is not None and comparison.remains.get(was) in comparison.ground
    if now is None:
        claims.take(
            Modification(kind="open_circuit", root=wire, elements=(wire,), role=end[1], nodes=(f"{wire}#{end[1][-1]}",),
                         facts=(*facts, *_loose_facts(comparison, wire, int(end[1][-1]))))
        )  # fmt: skip
        return
    to_ground = comparison.remains.get(now) in comparison.ground
    device = comparison.after.device(comparison.after.device_of(now)) if ":" in now else None
    kind = "moved_ground" if grounds and to_ground else "moved_pin"
    if device is not None and device.kind in GROUND_DEVICES | {"ground_stud"} and grounds:
        sharers = [one for one in comparison.after.subjects(now, "end_1", "end_2") if one != wire]
        if sharers:
            adverse = "yes" if too_many(len(sharers) + 1) else "no"
            facts += (Fact.of("shared_ground", terminal=now, others=tuple(sharers), adverse=adverse),)
    if to_ground:
        facts += tuple(past_a_sensor(comparison, (now,)))
    facts += _facts_of_new_place(comparison, (wire,), (now,), grounds=was in comparison.base.ground)
    claims.take(Modification(kind=kind, root=wire, elements=(wire,), role=end[1], nodes=(now,), facts=facts))


def _loose_facts(comparison: Comparison, wire: str, end: int) -> tuple[Fact, ...]:
    """How an end that was taken off and left was treated."""
    conductor = comparison.after.conductor(wire)
    ends = conductor.open_ends if conductor is not None else ()
    return tuple(open_end_fact(wire, one) for one in ends if one.end == end and one.loose is not None)


def _facts_of_new_place(
    comparison: Comparison, wires: tuple[str, ...], places: tuple[str, ...], *, grounds: bool
) -> tuple[Fact, ...]:
    """What wires are joined with where their end is now, and whether they were ground before."""
    known = [place for place in places if place in comparison.graph_before]
    if any(place in comparison.base.ground for place in known):
        return () if grounds else (Fact.of("to_ground"),)
    still_there = {
        other
        for place in known
        for other in comparison.conductors_at(place)
        if ":" not in place or other in comparison.after.subjects(place, "end_1", "end_2")
    }
    conductors = (comparison.before.conductor(one) for one in {*wires, *still_there})
    circuits = tuple(sorted({one.circuit for one in conductors if one is not None and one.circuit}))
    at_source = {comparison.base.net_of[pole] for pole in comparison.base.hot_poles}
    if any(comparison.base.net_of[place] in at_source for place in known):
        circuits = ()  # all circuits come together at the source
    lost = (Fact.of("lost_ground"),) if grounds and known else ()
    return (*lost, Fact.of("joins_circuits", circuits=circuits)) if len(circuits) > 1 else lost


def _recognise_plugged(comparison: Comparison, claims: Claims, ends: list[tuple[str, str]], was: str, now: str) -> None:
    """Wires' ends at an added joint: an adaptor plugged in between, a repair, or a moved end."""
    wires = tuple(sorted({wire for wire, _ in ends}))
    nodes = tuple(f"{wire}#{role[-1]}" for wire, role in ends)
    near = tuple(contact for node in nodes for contact in _contacts_at(comparison, node))
    far = tuple(contact for contact in _contacts_at(comparison, was) if contact not in near) if was else ()
    before = len(claims.modifications)
    if near and far:
        _recognise_gap(comparison, claims, now, wires, (near, far), plugged=True)
    if len(claims.modifications) > before:
        return
    grounds = bool(was) and comparison.remains.get(was) in comparison.ground
    cluster = comparison.clusters[near[0].cluster] if near else None
    others = [one for one in (cluster.contacts if cluster else ()) if one not in near]
    to_ground = any(comparison.net(one.node) in comparison.ground for one in others)
    joint = comparison.after.joint(now)
    place = (joint.details.fixing or joint.details.type) if joint is not None else now
    there = tuple(one.node for one in others if one.by == now)
    contacts = (*near, *(one for one in others if comparison.net(one.node) in comparison.ground and one.by == now))
    facts = (
        Fact.of("moved", was=was or None, now=place),
        *ground_facts(comparison, now, (contact.node for contact in contacts)),
        *_facts_of_new_place(comparison, wires, there, grounds=was in comparison.base.ground),
    )
    sharing = tuple(sorted({comparison.owner(one.node) for one in others if "@" in one.node}))
    if grounds and to_ground and sharing:
        # What is lifted by the drop along another's wire is lifted whatever the joint is like.
        facts += (Fact.of("shared_ground", others=sharing, adverse="yes"),)
    claims.take(
        Modification(
            kind="moved_ground" if grounds and to_ground else "moved_pin",
            root=now, elements=wires, added=(now,), joints=(now,), role=ends[0][1],
            nodes=tuple(contact.node for contact in contacts), facts=facts,
        ),
        contacts,
    )  # fmt: skip
