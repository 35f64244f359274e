"""What follows for a modification from the way things are joined: supply, protection, quality of leads."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cached_property

from harnessdiff.analyse.conductors import Limit, limit_A
from harnessdiff.analyse.fed_by import fed_by, fuses_of, loads_from
from harnessdiff.analyse.supply import Guard, Supply
from harnessdiff.graph import end_node, slot_of, stops_along, terminal_names
from harnessdiff.model.edit import Detached, Removed
from harnessdiff.model.harness import Conductor, Device, Harness, Loose
from harnessdiff.model.modification import Fact, Install, Modification, Value
from harnessdiff.model.parts import Link
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.reference import Reference
from harnessdiff.tables.loader import LIMIT_TABLE, distance_m, greatest_fuse_A, least_limit_A

WEIGHS_ON_ITS_ROUTE = frozenset({"unprotected", "unprotected_perhaps", "over_fused", "over_fused_perhaps"})
JOINING = frozenset({"bridge", "bypass", "swap", "moved_pin", "moved_ground", "damage"})
"""Kinds that may join what the reference keeps apart."""
WORST_TREATMENT_FIRST = {"bare": 0, "unknown": 1, "taped": 2}
UNSUITABLE = frozenset({"solid_core", "house_wire", "mains_flex", "speaker_lead", "bell_wire"})


def with_consequences(
    reference: Reference,
    before: Supply,
    as_found: Harness,
    modifications: tuple[Modification, ...],
    installs: tuple[Install, ...],
    limit_table: str = LIMIT_TABLE,
) -> tuple[Modification, ...]:
    """The modifications, each with the facts that follow from the two networks.

    Parameters
    ----------
    reference : Reference
    before : Supply
        What feeds what in the reference.
    as_found : Harness
    modifications : tuple of Modification
    installs : tuple of Install
    limit_table : str
        Table that says what fuse a conductor may have.

    Returns
    -------
    tuple of Modification
        In the same order.
    """
    analysis = _Analysis(reference, before, as_found, limit_table)
    facts = {number: [*one.facts] for number, one in enumerate(modifications)}
    mates = {number: install.modifications for install in installs for number in install.modifications}
    for number, one in enumerate(modifications):
        facts[number] += analysis.place_facts(one)
        facts[number] += analysis.supply_facts(one)
        facts[number] += analysis.newly_exposed(one)
        if one.kind == "wrong_rated_protection" or (one.kind == "bypass" and one.role == "changed"):
            facts[number] += analysis.behind_a_changed_fuse(one)
        if one.kind in ("thinner_conductor", "substituted_conductor"):
            facts[number] += analysis.lead_facts(one.root)
    for lead, number in _leads(analysis, modifications, installs):
        around = [modifications[mate] for mate in mates.get(number, (number,))]
        for fact in analysis.lead_facts(lead):
            cause = analysis.cause_of(fact, modifications[number], around)
            facts[modifications.index(cause)].append(fact)
            routed = [one for one in modifications if one.kind == "routing" and one.root == lead]
            for route in routed if fact.code in WEIGHS_ON_ITS_ROUTE else ():
                facts[modifications.index(route)].append(fact)
    return tuple(replace(one, facts=tuple(dict.fromkeys(facts[number]))) for number, one in enumerate(modifications))


def _leads(
    analysis: _Analysis, modifications: tuple[Modification, ...], installs: tuple[Install, ...]
) -> Iterator[tuple[str, int]]:
    """Added leads, each with the modification that answers for it: its own, or the first of its install."""
    for number, one in enumerate(modifications):
        if one.kind != "routing":
            yield from ((added, number) for added in one.added if analysis.as_found.conductor(added) is not None)
    for install in installs:
        answering = [number for number in install.modifications if modifications[number].kind != "routing"]
        answering.sort(key=lambda number: analysis.distance(modifications[number]))
        for thing in install.shared if answering else ():
            if analysis.as_found.conductor(thing) is not None:
                yield thing, answering[0]


class _Analysis:
    """The two networks, and what can be said of elements in them."""

    def __init__(self, reference: Reference, before: Supply, as_found: Harness, limit_table: str) -> None:
        self.reference = reference
        self.limit_table = limit_table
        self.as_found = as_found
        self.supply = Supply(as_found, reference.vehicle.ground_polarity)
        self.before = before

    def cause_of(self, fact: Fact, own: Modification, around: list[Modification]) -> Modification:
        """The modification of an install at which a missing or wrong protection comes from.

        A lead that is fed through another joint of the same install is put right there.

        Parameters
        ----------
        fact : Fact
            About a lead beneath `own`.
        own : Modification
        around : list of Modification
            Those of the install, `own` among them.

        Returns
        -------
        Modification
        """
        if fact.code in ("unprotected", "unprotected_perhaps", "far_end_fuse", "two_sources"):

            def causes(one: Modification) -> bool:
                return any(node in self.before.unguarded for node in self._nodes_before(one))
        elif fact.code in ("over_fused", "over_fused_perhaps"):

            def causes(one: Modification) -> bool:
                return any(
                    guard.name == fact.get("fuse")
                    for node in self._nodes_before(one)
                    for guard in self.before.guards.get(node, ())
                )
        else:
            return own
        if causes(own):
            return own
        nearest_first = sorted(around, key=self.distance)
        return next((one for one in nearest_first if one.kind != "routing" and causes(one)), own)

    def distance(self, one: Modification) -> tuple[int, bool]:
        """How many steps from a source a modification touches the reference; far where nothing feeds it.

        Of two at the same distance the one at the source itself is nearer.
        """
        steps = [self.before.steps[node] for node in self._nodes_before(one) if node in self.before.steps]
        return min(steps, default=10**6), not one.has("at_source")

    def _nodes_before(self, one: Modification) -> Iterator[str]:
        """Nodes of the reference's graph at which a modification touches."""
        for node in one.nodes:
            if node in self.before.graph:
                yield node
        for element in one.elements:
            yield from self._nodes_of(element)

    # -- where it is

    def place_facts(self, one: Modification) -> Iterator[Fact]:
        """What the place adds: wet by nature or as found."""
        for zone_id in zones_of_modification(one, self.as_found):
            zone = self.as_found.zone(zone_id)
            if zone is not None and (zone.wet or zone.leaking):
                yield Fact.of("wet_place", zone=zone.id)

    # -- what feeds it

    def supply_facts(self, one: Modification) -> Iterator[Fact]:
        """Whether what it touches is live always, or when switched; and whether loose ends are."""
        if one.kind in ("routing", "surroundings", "removed_part", "moved_part", "substituted_part"):
            return
        nodes = [node for node in one.nodes if node in self.supply.graph]
        states = {self.supply.state_of(node) for node in nodes}
        if "permanent" in states:
            yield Fact.of("permanent_supply")
        elif "switched" in states:
            yield Fact.of("switched_supply")
        if one.has("adds_load"):
            yield from self._shares_protection(nodes)
        yield from self._joins_fuses(one)
        for fact in one.facts:
            if fact.code == "loose_end":
                yield from self._loose_end(str(fact.get("lead")), fact.get("end"))
        if one.kind == "open_circuit" and one.root not in self.reference.harness.by_id:
            yield from self._cut_ends(one)

    def _joins_fuses(self, one: Modification) -> Iterator[Fact]:
        """That nets which hang on different fuses of the reference are joined."""
        if one.kind != "bridge" and not one.has("joins_circuits"):
            return
        guarding: dict[str, set[str]] = {}
        for node in itertools.chain.from_iterable(map(self._places_before, one.elements)):
            for guard in self.before.guards.get(node, ()):
                if guard.sort in ("fuse", "inline"):
                    guarding.setdefault(self.before.net_of[node], set()).add(guard.name)
        fuses = set().union(*guarding.values())
        if any(names != fuses for names in guarding.values()):
            yield Fact.of("joins_fuses", fuses=tuple(sorted(fuses)))

    def _places_before(self, element: str) -> tuple[str, ...]:
        """The node of a terminal or joint, or the two ends of a conductor, on the reference."""
        if self.reference.harness.conductor(element) is not None:
            return tuple(end_node(self.reference.harness, element, end) for end in (1, 2))
        return (element,) if element in self.before.graph else ()

    def _shares_protection(self, nodes: list[str]) -> Iterator[Fact]:
        """What else hangs on the protection before an added load, and goes dead with it."""
        names = {
            (guard.name, guard.sort)
            for node in nodes
            if node not in self.supply.unguarded
            for guard in self.supply.guards.get(node, ())
            if guard.element in self.before.harness.by_id
        }
        for name, sort in sorted(names):
            loads = fed_by(self.before, name) if name in fuses_of(self.before.harness) else ()
            if not loads:
                behind = [node for node in nodes if any(one.name == name for one in self.supply.guards.get(node, ()))]
                without = frozenset({name})
                loads = tuple(load for node in behind for load in loads_from(self.supply, name, node, without))
            others = tuple(sorted({load.device for load in loads if load.device in self.before.harness.by_id}))
            if others:
                yield Fact.of("shares_fuse", fuse=name, sort=sort, loads=others)

    def _loose_end(self, lead_id: str, end: object) -> Iterator[Fact]:
        lead = self.as_found.conductor(lead_id)
        assert lead is not None
        found_live = next((one.loose.live_in for one in lead.open_ends if one.end == end and one.loose), None)
        node = f"{lead_id}#{end}"
        state = self.supply.state_of(node) if node in self.supply.graph else "dead"
        if found_live or (found_live is None and state != "dead"):
            yield Fact.of(
                "loose_end_live", lead=lead_id, end=str(end), by="seen" if found_live else "way of the wiring"
            )
        elif found_live is not None:
            yield Fact.of("loose_end_dead", lead=lead_id, end=str(end))

    def _cut_ends(self, one: Modification) -> Iterator[Fact]:
        """Ends of a cut that are live: found so, or fed by the way of the wiring and not found dead."""
        cut = self.as_found.by_id.get(one.root)
        live = []
        treatments = []
        for node in one.nodes:
            if self.as_found.targets(one.root, "side_1" if node.endswith("#1") else "side_2"):
                continue  # it sits in a joint
            loose = getattr(cut, "end_1" if node.endswith("#1") else "end_2", None)
            found_live = loose.live_in if isinstance(loose, Loose) else None
            if found_live or (found_live is None and node in self.supply.fed):
                live.append(node)
                treatments.append((loose.treatment if isinstance(loose, Loose) else None) or "unknown")
        if live:
            worst = min(treatments, key=lambda one: WORST_TREATMENT_FIRST.get(one, len(WORST_TREATMENT_FIRST)))
            yield Fact.of("cut_end_live", nodes=tuple(live), treatment=worst)

    # -- leads

    def lead_facts(self, lead_id: str) -> Iterator[Fact]:
        """Protection of a lead, its size against its fuse, what it is made of, and whose it joins."""
        lead = self.as_found.conductor(lead_id)
        assert lead is not None
        yield from _material_facts(lead)
        yield from _inline_facts(lead)
        found = list(self._protection(self.supply, lead))
        nodes = {node for pair in self.supply.conductor_segments(lead_id) for node in pair}
        if not found and not nodes & self.supply.fed and self._if_closed is not None:
            found = [_perhaps(fact) for fact in self._protection(self._if_closed, lead)]
        yield from found
        yield from self._two_sources(lead)

    def _protection(self, supply: Supply, lead: Conductor) -> Iterator[Fact]:
        """What stands between a lead and the sources, and whether it is enough."""
        segments = supply.conductor_segments(lead.id)
        bare = [pair for pair in segments if set(pair) <= supply.unguarded]
        if bare and not self._in_an_unfused_run(lead):
            yield from self._unguarded(supply, lead, len(bare), len(segments))
        yield from self._over_fused(supply, lead, [pair for pair in segments if pair not in bare])

    @cached_property
    def _if_closed(self) -> Supply | None:
        """What feeds what if added switches conduct of which nobody knows what is in them; None without one."""
        closed = {
            device.id: self._closed(device)
            for device in self.as_found.devices()
            if device.id not in self.reference.harness.by_id
            and device.kind in MAY_CONDUCT
            and not device.parts
            and not self.as_found.subjects(device.id, "seat")
        }
        if not closed:
            return None
        elements = [closed.get(element.id, element) for element in self.as_found.elements]
        harness = Harness.of(elements, set(self.as_found.incidences))
        return Supply(harness, self.reference.vehicle.ground_polarity)

    def _closed(self, device: Device) -> Device:
        """A holder with a fuse in it; a switch or relay that joins all its terminals but those on ground."""
        if device.kind == "fuse_slot":
            return replace(device, kind="fuse")
        terminals = terminal_names(self.as_found, slot_of(self.as_found, device.id))
        names = [one.rsplit(":", 1)[1] for one in terminals if one not in self.supply.ground]
        return replace(device, parts=tuple(Link(between=pair) for pair in itertools.pairwise(names)))

    def _in_an_unfused_run(self, lead: Conductor) -> bool:
        """Whether a lead only continues a wire that the maker left unfused, such as a starter cable.

        Both its ends lead back to such a wire: at once, over other added leads, or through a switch.
        """
        if self.reference.harness.conductor(lead.id) is not None:
            return self._is_unfused(lead.id)
        ends = self.as_found.targets(lead.id, "end_1", "end_2")
        return len(ends) == 2 and all(self._leads_to_an_unfused_wire(end, {lead.id}) for end in ends)

    def _leads_to_an_unfused_wire(self, place: str, passed: set[str]) -> bool:
        cuts = self.as_found.subjects(place, "side_1", "side_2")
        wires = {wire for cut in cuts for wire in self.as_found.targets(cut, "on")}
        if self.as_found.joint(place) is None:
            device = self.as_found.device(self.as_found.device_of(place))
            if device is None or device.id in self.reference.harness.by_id or not _passes_on(device):
                return False
            places = self.as_found.subjects(device.id, "of")
        else:
            places = (place,)
        leads = {lead for one in places for lead in self.as_found.subjects(one, "end_1", "end_2")} - passed
        if any(self._is_unfused(wire) for wire in wires | leads):
            return True
        others = {end for lead in leads for end in self.as_found.targets(lead, "end_1", "end_2")} - set(places)
        return any(self._leads_to_an_unfused_wire(end, passed | leads) for end in sorted(others))

    def _is_unfused(self, wire: str) -> bool:
        return any(set(pair) <= self.before.unguarded for pair in self.before.conductor_segments(wire))

    def _unguarded(self, supply: Supply, lead: Conductor, bare: int, segments: int) -> Iterator[Fact]:
        """A lead of which some or all has no protection between it and a source."""
        fuses = self._own_fuses(lead)
        near = distance_m("protection_from_source")
        if not fuses:
            length = lead.length_m.high
            if length is None or length > near or not self._ends_at_protection(lead):
                yield Fact.of("unprotected", lead=lead.id, length_m=length)
            return
        if bare == segments:
            yield Fact.of("unprotected", lead=lead.id, length_m=lead.length_m.high)
            return
        stubs = {1: f"{lead.id}~{fuses[0]}#1", 2: f"{lead.id}~{fuses[-1]}#2"}
        distances = [_to_own_fuse_m(lead, fuses, end) for end, node in stubs.items() if node in supply.unguarded]
        distance = None if None in distances else max((one for one in distances if one is not None), default=0.0)
        if distance is None or distance > near:
            yield Fact.of("far_end_fuse", lead=lead.id, distance_m=distance, limit_m=near)

    def _own_fuses(self, lead: Conductor) -> list[int]:
        """Numbers of the in-line parts of a lead that protect it, from end 1 to end 2."""
        return [
            stop
            for stop in stops_along(self.as_found, lead)
            if isinstance(stop, int)
            and lead.inline[stop].kind in ("fuse", "circuit_breaker")
            and lead.inline[stop].state != "slug"
        ]

    def _ends_at_protection(self, lead: Conductor) -> bool:
        """Whether a short lead runs to something that protects what follows."""
        ends = self.as_found.targets(lead.id, "end_1", "end_2")
        devices = (self.as_found.device(self.as_found.device_of(end)) for end in ends if ":" in end)
        return any(one is not None and one.kind in ("fuse_slot", "circuit_breaker", "fusible_link") for one in devices)

    def _over_fused(self, supply: Supply, lead: Conductor, segments: list[tuple[str, str]]) -> Iterator[Fact]:
        """A lead behind protection that is larger than its size allows."""
        own_fuse_is_near = self._own_fuse_is_near(supply, lead)
        before: list[Guard] = []
        for node in (node for pair in segments for node in pair):
            guards = supply.guards.get(node, ())
            if not (own_fuse_is_near and all(guard.element != lead.id for guard in guards)):
                before += guards
        yield from _too_large(lead, self._the_smallest_in_a_row(supply, lead, before), self.limit_table)

    def _the_smallest_in_a_row(self, supply: Supply, lead: Conductor, guards: list[Guard]) -> list[Guard]:
        """Guards, a lead's own fuse replaced by what stands before it where that is surely smaller."""
        fuses = self._own_fuses(lead)
        stubs = (f"{lead.id}~{fuses[0]}#1", f"{lead.id}~{fuses[-1]}#2") if fuses else ()
        before = [one for node in stubs for one in supply.guards.get(node, ()) if one.element != lead.id]
        if not before or any(node in supply.unguarded for node in stubs):
            return guards
        most = max(map(_greatest_A, before))
        kept = [one for one in guards if one.element != lead.id or (one.rating_A.low or 0.0) <= most]
        return kept if len(kept) == len(guards) else [*kept, *before]

    def _own_fuse_is_near(self, supply: Supply, lead: Conductor) -> bool:
        """Whether a lead has a fuse of its own close enough to every end that it is fed from."""
        fuses = self._own_fuses(lead)
        if not fuses:
            return False
        stubs = {1: f"{lead.id}~{fuses[0]}#1", 2: f"{lead.id}~{fuses[-1]}#2"}
        distances = [
            _to_own_fuse_m(lead, fuses, end)
            for end, node in stubs.items()
            if any(guard.element != lead.id for guard in supply.guards.get(node, ()))
        ]
        near = distance_m("protection_from_source")
        return all(distance is not None and distance <= near for distance in distances)

    def _two_sources(self, lead: Conductor) -> Iterator[Fact]:
        devices = self._between_sources.get(lead.id, ())
        if any(device not in self.reference.harness.by_id for device in devices):
            yield Fact.of("two_sources", lead=lead.id, devices=devices)

    @cached_property
    def _between_sources(self) -> dict[str, tuple[str, str]]:
        return self.supply.between_sources()

    # -- the maker's wires behind protection that was not theirs

    def newly_exposed(self, one: Modification) -> Iterator[Fact]:
        """The maker's wires that something joined to them leaves unprotected, or behind too large a fuse.

        Of each sort the worst wire is named, among those that what it touches led to before. Only
        what a source now reaches by another protective device than on the reference counts: a fuse
        that was changed answers for itself.
        """
        if one.role == "changed" or not (one.kind in JOINING or one.has("joins_circuits")):
            return
        own = self.before.beyond(self._nodes_before(one))
        reach = self.supply.beyond(node for node in one.nodes if node in self.supply.graph)
        bare: list[tuple[float, str]] = []
        too_large: list[tuple[float, Fact]] = []
        for wire in self.reference.harness.conductors():
            if own.isdisjoint(self._nodes_of(wire.id)) or self._is_unfused(wire.id):
                continue
            pieces = [pair for pair in self.supply.conductor_segments(wire.id) if reach.issuperset(pair)]
            if any(set(pair) <= self.supply.unguarded for pair in pieces):
                bare.append((wire.size_mm2.low or 0.0, wire.id))
                continue
            was = {guard.element for node in self._nodes_of(wire.id) for guard in self.before.guards.get(node, ())}
            now = {guard for pair in pieces for node in pair for guard in self.supply.guards.get(node, ())}
            others = sorted((guard for guard in now if guard.element not in was), key=lambda guard: guard.name)
            found = (fact for fact in _too_large(wire, others, self.limit_table) if fact.code == "over_fused")
            too_large += [(_times(fact), fact) for fact in found]
        if bare:
            yield Fact.of("unprotected", lead=min(bare)[1], length_m=None)
        if too_large:
            yield min(too_large, key=lambda found: (-found[0], str(found[1].get("lead"))))[1]

    def _nodes_of(self, wire: str) -> Iterator[str]:
        """Nodes of the reference's graph along a wire."""
        for pair in self.before.conductor_segments(wire):
            yield from pair

    # -- behind a fuse that is not the one it should be

    def behind_a_changed_fuse(self, one: Modification) -> Iterator[Fact]:
        """The thinnest wire behind a changed fuse, and how many loads hang on it."""
        device = self.as_found.device(one.root)
        slots = self.as_found.targets(one.root, "seat") or (one.root,)
        if device is None or len(terminal_names(self.as_found, slots[0])) < 2:
            return
        behind = fed_by(self.before, slots[0]) if slots[0] in fuses_of(self.reference.harness) else ()
        if behind:
            yield Fact.of(
                "shares_fuse", fuse=slots[0], sort="fuse", loads=tuple(sorted({load.device for load in behind}))
            )
        thinnest = self._thinnest_behind(self.before, slots[0])
        if thinnest is None:
            return
        wire, size = thinnest
        if device.state == "slug":
            yield Fact.of("unprotected", lead=wire.id, length_m=None)
        else:
            guard = Guard(element=one.root, name=slots[0], sort="fuse", rating_A=device.rating_A, body=device.body)
            yield from _too_large(replace(wire, size_mm2=Quantity.exactly(size)), [guard], self.limit_table)

    def _thinnest_behind(self, supply: Supply, slot: str) -> tuple[Conductor, float] | None:
        """The thinnest wire that the fuse in this slot is the last protection of."""
        guarded = {node for node, guards in supply.guards.items() if any(guard.name == slot for guard in guards)}
        found = [
            (wire.size_mm2.low, wire.id, wire)
            for wire in supply.harness.conductors()
            if wire.size_mm2.low is not None
            and any(set(pair) <= guarded for pair in supply.conductor_segments(wire.id))
        ]
        if not found:
            return None
        size, _, wire = min(found, key=lambda one: one[:2])
        return wire, size


MAY_CONDUCT = frozenset({"switch", "relay", "fuse_slot"})
"""Sorts of device that are there to pass current on, also where nobody knows what is in one."""


def _passes_on(device: Device) -> bool:
    """Whether a device is there to pass current on."""
    protects = device.kind in ("fuse", "fusible_link", "circuit_breaker")
    return protects or device.kind in MAY_CONDUCT or any(isinstance(part, Link) for part in device.parts)


def _times(fact: Fact) -> float:
    """How many times the limit of its wire a fuse is."""
    rating, limit = fact.get("rating_A"), fact.get("limit_A")
    assert isinstance(rating, (int, float))
    assert isinstance(limit, (int, float))
    return rating / limit if limit else math.inf


def _perhaps(fact: Fact) -> Fact:
    """A fact of protection that holds only if something conducts of which that is not known."""
    if fact.code in ("unprotected", "far_end_fuse"):
        return Fact.of("unprotected_perhaps", lead=fact.get("lead"))
    if fact.code == "over_fused":
        return Fact.of(
            "over_fused_perhaps", **{**dict(fact.params), "greatest_A": fact.get("rating_A"), "unknown": "way"}
        )
    return fact


def _to_own_fuse_m(lead: Conductor, fuses: list[int], end: int) -> float | None:
    """The greatest that the distance from an end of a lead to its nearest fuse may be. [m]"""
    found = []
    for number in fuses:
        distance = lead.inline[number].distance_m
        if end == 1 and distance.high is not None:
            found.append(distance.high)
        elif end == 2 and distance.low is not None and lead.length_m.high is not None:
            found.append(lead.length_m.high - distance.low)
    return min(found, default=None)


def _too_large(wire: Conductor, guards: Iterable[Guard], table: str) -> Iterator[Fact]:
    """Protection that is, or may be, larger than a table allows a conductor.

    A fuse of unknown rating may be the greatest that is made with its body; outputs and sources
    whose limit is not known are left alone, as they are made for what hangs on them.
    """
    known = [guard for guard in guards if guard.sort in ("fuse", "inline") or guard.rating_A.known]
    if not known:
        return
    high, low = wire.size_mm2.high, wire.size_mm2.low
    limit = _allowed(wire, high, table).greatest_fuse_A if high is not None else None
    least = _allowed(wire, low, table).greatest_fuse_A if low is not None else least_limit_A()
    sure = max(known, key=lambda guard: guard.rating_A.low or 0.0)
    rating = sure.rating_A.low
    if limit is not None and rating is not None and rating > limit:
        facts: dict[str, Value] = {"size_mm2": high, "limit_A": limit, "least_limit_A": least}
        most = max(map(_greatest_A, known))
        facts |= {"most_A": most} if most > rating else {}
        yield Fact.of("over_fused", **_held_against(wire, sure, table), rating_A=rating, **facts)
        return
    guard = max(known, key=_greatest_A)
    if _greatest_A(guard) > least:
        facts = {"size_mm2": low, "least_limit_A": least, "greatest_A": _greatest_A(guard)}
        unknown = "size" if guard.rating_A.exact is not None else "rating"
        held = _held_against(wire, guard, table)
        yield Fact.of("over_fused_perhaps", **held, rating_A=guard.rating_A.exact, unknown=unknown, **facts)


def _allowed(wire: Conductor, size_mm2: float, table: str) -> Limit:
    """What a table allows a conductor; the prudent vehicle table where it has no size as thin."""
    found = limit_A(size_mm2, wire.insulation, material=wire.material, table=table)
    found = found or limit_A(size_mm2, wire.insulation, material=wire.material)
    assert found is not None
    return found


def _greatest_A(guard: Guard) -> float:
    """The greatest that a guard's rating may be. [A]"""
    if guard.rating_A.high is not None:
        return guard.rating_A.high
    return max(greatest_fuse_A(guard.body), guard.rating_A.low or 0.0)


def _held_against(wire: Conductor, guard: Guard, table: str) -> dict[str, Value]:
    named = _allowed(wire, wire.size_mm2.high or wire.size_mm2.low or 0.0, table).table
    return {"lead": wire.id, "fuse": guard.name, "sort": guard.sort, "table": named}


def _inline_facts(lead: Conductor) -> Iterator[Fact]:
    """In what state the holders and other parts in the run of a lead were found."""
    for part in lead.inline:
        for state in part.condition:
            if state != "clean":
                yield Fact.of("holder_state", lead=lead.id, part=part.kind, sort=state)


def _material_facts(lead: Conductor) -> Iterator[Fact]:
    if lead.construction in UNSUITABLE:
        yield Fact.of("unsuitable_conductor", lead=lead.id, sort=lead.construction)
    elif lead.material in ("copper_clad_aluminium", "aluminium"):
        yield Fact.of("unsuitable_conductor", lead=lead.id, sort=lead.material)
    seen, claimed = lead.size_mm2.high, lead.size_claimed_mm2.low
    if seen is not None and claimed is not None and claimed > seen:
        yield Fact.of("size_claim_untrue", lead=lead.id, claimed_mm2=claimed, seen_mm2=seen)


def zones_of_modification(one: Modification, as_found: Harness) -> tuple[str, ...]:
    """Zones a modification lies in: those of its joints and root, else of the elements it touches."""
    found: list[str] = [one.root] if as_found.zone(one.root) is not None else []
    for element_id in (*one.joints, one.root):
        zone = getattr(as_found.by_id.get(element_id), "zone", None)
        if zone:
            found.append(zone)
    if one.kind == "routing":
        found += _zones_of_passages(one)
    if not found and one.kind in ("routing", "lost_ground", "orphaned_lead", "untraced_lead"):
        lead = as_found.conductor(one.root)
        found = list(lead.zones) if lead is not None else []
        found += [passage.zone for passage in lead.route if passage.zone] if lead is not None else []
        if lead is not None and not found:
            devices = (as_found.device(as_found.device_of(end)) for end in as_found.targets(lead.id, "end_1", "end_2"))
            found += [device.zone for device in devices if device is not None and device.zone]
    for edit in one.edits:
        if isinstance(edit, Removed):
            zone = getattr(edit.element, "zone", None)
            found += [zone] if zone else []
        elif isinstance(edit, Detached) and edit.incidence.role == "seat":
            slot = as_found.device(edit.incidence.target)
            found += [slot.zone] if slot is not None and slot.zone else []
    if not found:
        for element_id in one.elements:
            element = as_found.by_id.get(element_id)
            seats = [as_found.by_id.get(seat) for seat in as_found.targets(element_id, "seat")]
            owner = as_found.by_id.get(as_found.device_of(element_id)) if ":" in element_id else None
            for candidate in (element, owner, *seats):
                if isinstance(candidate, Conductor):
                    found += candidate.zones[:1]
                elif isinstance(candidate, Device) and candidate.zone:
                    found.append(candidate.zone)
    return tuple(dict.fromkeys(found))


def _zones_of_passages(one: Modification) -> list[str]:
    """Zones of what is adverse along a route; none where one passage does not say where it is."""
    zones = [fact.get("zone") for fact in one.facts if fact.get("what") is not None]
    return [str(zone) for zone in zones] if all(zones) else []
