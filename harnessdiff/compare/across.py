"""Recognises what added clusters do where they touch: taps, grounds, bridges, bypasses, loose leads."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from typing import Any

import networkx as nx

from harnessdiff.compare.claims import Claims, contact_facts, joints_of, open_end_fact, role_at, touched_by
from harnessdiff.compare.comparison import Cluster, Comparison, Contact
from harnessdiff.compare.defeat import deciding_for_relays, defeated
from harnessdiff.compare.grounding import ground_facts
from harnessdiff.graph import diode_passes, spread
from harnessdiff.model.harness import Cut, Device
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.parts import Coil, Load

HEATING = frozenset({"resistor", "load_resistor", "heater", "inverter"})
GROUND_NAMES = frozenset({"-", "31", "B-", "GND"})


def recognise_contacts(comparison: Comparison, claims: Claims) -> None:
    """What every cluster does with the contacts that are left."""
    for cluster in comparison.clusters:
        free = claims.free(cluster)
        if not free:
            continue
        taken = [contact for contact in cluster.contacts if contact in claims.contacts]
        nets = {comparison.net(contact.node) for contact in free}
        if len(nets) > 1 and not (taken and len(free) == 1):
            _recognise_joining(comparison, claims, cluster, free)
        else:
            for contact in free:
                _recognise_single(comparison, claims, cluster, contact)


def _recognise_joining(comparison: Comparison, claims: Claims, cluster: Cluster, contacts: tuple[Contact, ...]) -> None:
    """A cluster that makes one of two or more nets: past a switch, relay or fuse, or from circuit to circuit."""
    passed = sorted(
        {device for one in contacts for other in contacts for device in comparison.passed(one.node, other.node)}
    )
    beyond = defeated(comparison, [contact.node for contact in contacts])
    relays = deciding_for_relays(comparison, passed)
    facts = [fact for contact in contacts for fact in contact_facts(comparison, contact)]
    facts += _inline_facts(cluster)
    cuts = tuple(sorted({comparison.owner(contact.node) for contact in contacts if _is_cut_side(comparison, contact)}))
    facts += [Fact.of("wire_cut")] if cuts else []
    if passed or beyond:
        kind = "bypass"
        facts += bypass_facts(comparison, sorted({*passed, *beyond, *relays}))
        facts += _joined_besides(comparison, contacts)
    else:
        kind = "bridge"
        facts += _bridge_facts(comparison, contacts)
    claims.take(
        Modification(
            kind=kind,
            root=contacts[0].by,
            elements=touched_by(comparison, contacts),
            added=cuts,
            joints=joints_of(contacts),
            role=role_at(comparison, contacts[0]),
            facts=tuple(dict.fromkeys(facts)),
            nodes=tuple(sorted({contact.node for contact in contacts})),
        ),
        contacts,
    )


def _is_cut_side(comparison: Comparison, contact: Contact) -> bool:
    return isinstance(comparison.after.by_id.get(comparison.owner(contact.node)), Cut)


def _joined_besides(comparison: Comparison, contacts: tuple[Contact, ...]) -> list[Fact]:
    """What a cluster joins besides going past something: nets that nothing of the reference stands between."""
    standing: nx.Graph[str] = nx.Graph()
    standing.add_nodes_from(comparison.net(contact.node) for contact in contacts)
    for one, other in itertools.combinations(contacts, 2):
        if comparison.passed(one.node, other.node):
            standing.add_edge(comparison.net(one.node), comparison.net(other.node))
    if nx.is_connected(standing):
        return []
    return _bridge_facts(comparison, contacts)


def bypass_facts(comparison: Comparison, devices: Iterable[str]) -> list[Fact]:
    """What a bypass goes past."""
    facts = []
    for device in devices:
        facts.append(Fact.of("bypasses", device=device, sort=comparison.switched_by(device)))
        interlock = comparison.interlock_of(device)
        if interlock is not None:
            facts.append(Fact.of("interlock", device=device, refuses=interlock))
    return facts


def _bridge_facts(comparison: Comparison, contacts: tuple[Contact, ...]) -> list[Fact]:
    facts = []
    if any(comparison.net(contact.node) in comparison.ground for contact in contacts):
        facts.append(Fact.of("to_ground"))
    circuits = tuple(sorted({one for contact in contacts for one in comparison.circuits_at(contact.node)}))
    if len(circuits) > 1:
        facts.append(Fact.of("joins_circuits", circuits=circuits))
    return facts


def _inline_facts(cluster: Cluster) -> list[Fact]:
    return [Fact.of("inline", kind=kind) for kind in cluster.inline]


def _recognise_single(comparison: Comparison, claims: Claims, cluster: Cluster, contact: Contact) -> None:
    """One contact on one net."""
    ground = comparison.net(contact.node) in comparison.ground
    facts = [*contact_facts(comparison, contact), *cluster_facts(comparison, cluster, ground=ground)]
    kind = "added_ground" if ground else "tap"
    open_ended = bool(cluster.loose) and not cluster.devices
    if open_ended and all(loose.end.loose is not None for loose in cluster.loose):
        kind = "orphaned_lead"
    elif not ground:
        passed, through = _passed_through_devices(comparison, cluster, contact)
        if passed:
            kind = "bypass"
            passed = tuple(sorted({*passed, *deciding_for_relays(comparison, passed)}))
            facts += [*bypass_facts(comparison, passed), Fact.of("through_device", device=through)]
        else:
            facts += _joined_through_devices(comparison, contact)
    if ground:
        facts += ground_facts(comparison, contact.by, (contact.node,))
    claims.take(
        Modification(
            kind=kind,
            root=contact.by,
            elements=comparison.touched(contact.node),
            joints=(contact.by,),
            role=role_at(comparison, contact),
            facts=tuple(dict.fromkeys(facts)),
            nodes=(contact.node,),
        ),
        (contact,),
    )


def cluster_facts(comparison: Comparison, cluster: Cluster, *, ground: bool = False) -> list[Fact]:
    """What hangs on a cluster: loose ends and, unless it is a ground lead, the devices it reaches."""
    facts = [open_end_fact(loose.lead, loose.end) for loose in cluster.loose]
    for name in cluster.devices:
        device = comparison.after.device(name)
        if device is not None:
            facts += [] if ground else device_facts(device)
        elif _inline_kind(comparison, name) == "diode":
            facts.append(Fact.of("diode_isolated", lead=name.split("~", 1)[0]))
        elif _inline_kind(comparison, name) == "resistor":
            facts.append(Fact.of("dummy_load", device=name.split("~", 1)[0]))
    if not ground:
        facts += [Fact.of("adds_load", device=device) for device in comparison.loads_at(cluster)]
    return facts


def _inline_kind(comparison: Comparison, name: str) -> str | None:
    lead, _, number = name.partition("~")
    conductor = comparison.after.conductor(lead)
    return conductor.inline[int(number)].kind if conductor is not None and number else None


def device_facts(device: Device) -> list[Fact]:
    """What an added device is and brings."""
    facts = []
    if device.own_energy == "yes" and device.kind != "battery":
        facts.append(Fact.of("own_energy", device=device.id))
    if device.kind in ("resistor", "load_resistor", "terminator"):
        facts.append(Fact.of("dummy_load", device=device.id))
    if device.kind == "diode":
        facts.append(Fact.of("diode_isolated", device=device.id))
    if device.kind in HEATING and device.mounted_on in ("plastic", "loom"):
        facts.append(Fact.of("on_plastic", device=device.id))
    if device.function in ("immobiliser", "alarm"):
        facts.append(Fact.of("security", device=device.id))
    if any(isinstance(part, (Load, Coil)) for part in device.parts):
        facts.append(Fact.of("adds_load", device=device.id))
    return facts


def _joined_through_devices(comparison: Comparison, contact: Contact) -> list[Fact]:
    """Circuits that the contacts of an added relay or switch, or an added diode, join with this one.

    A diode joins the net at its anode with the one at its cathode one way only; that is no isolation
    where both are the maker's.
    """
    ways = comparison.added_links | comparison.added_diodes
    if not ways:
        return []
    reached = _reached_through(comparison, contact, along=True) | _reached_through(comparison, contact, along=False)
    live = comparison.fed_by_the_maker
    net = comparison.net(contact.node)
    others = [node for node in sorted(reached) if comparison.is_boundary(node) and comparison.net(node) in live - {net}]
    own = set(comparison.circuits_at(contact.node))
    circuits = own | {circuit for other in others for circuit in comparison.circuits_at(other)}
    owners = {comparison.owner(node) for node in reached} | {comparison.after.device_of(node) for node in reached}
    through = sorted(ways & owners)
    if net not in live or not others or not through or len(circuits) < 2:
        return []
    return [
        Fact.of("joins_circuits", circuits=tuple(sorted(circuits))),
        Fact.of("through_device", device=through[0]),
    ]


THROUGH = frozenset({"conductor", "contact", "common", "fuse", "link", "diode"})


def _reached_through(comparison: Comparison, contact: Contact, *, along: bool) -> frozenset[str]:
    """Nodes that a contact leads to over added things, along diodes or against them, the maker's last."""

    def passes(edge: dict[str, Any], one: str, other: str) -> bool:
        if edge["element"] not in comparison.added or edge["kind"] not in THROUGH:
            return False
        if comparison.is_boundary(one) and (one != contact.node or edge["element"] != contact.by):
            return False
        return edge["kind"] != "diode" or diode_passes(edge, comparison.after, one if along else other)

    return frozenset(spread(comparison.graph, (contact.node,), passes))


def _passed_through_devices(
    comparison: Comparison, cluster: Cluster, contact: Contact
) -> tuple[tuple[str, ...], str | None]:
    """What of the reference an added device's contacts go past, seen from the load side.

    Returns
    -------
    tuple
        Switches, relays and fuses gone past, none where this contact is not on the load side of one; and
        the added device.
    """
    if not comparison.added_links:
        return (), None
    reached = comparison.reached_from(cluster)
    owners = {comparison.owner(node) for node in reached}
    passed: set[str] = set()
    for found in comparison.clusters:
        if found.number != cluster.number and owners & set(found.elements):
            for other in found.contacts:
                passed.update(comparison.between(other.node, contact.node))
    through = {comparison.after.device_of(node) for node in reached if ":" in node} & comparison.added_links
    return tuple(sorted(passed)), min(through, default=None)


def recognise_unattached(comparison: Comparison, claims: Claims) -> None:
    """Clusters that touch nothing, devices that are attached to nothing, grounds that hang loose."""
    attached = comparison.attached_devices
    for cluster in comparison.clusters:
        if cluster.contacts or not cluster.elements:
            continue
        if _joint_with_one_member(comparison, cluster):
            claims.take(
                Modification(kind="tap", root=cluster.elements[0], added=cluster.elements,
                             joints=tuple(one for one in cluster.elements if comparison.after.joint(one)),
                             role="unknown", facts=(Fact.of("place_unknown"), *cluster_facts(comparison, cluster)))
            )  # fmt: skip
            continue
        if cluster.devices and not cluster.loose:
            continue
        devices = [device for device in cluster.devices if device in attached]
        if devices and _is_lost_ground(comparison, cluster, devices[0]):
            claims.take(
                Modification(kind="lost_ground", root=devices[0], added=cluster.elements, role="ground",
                             facts=tuple(cluster_facts(comparison, cluster)))
            )  # fmt: skip
        elif devices or not cluster.devices:
            loose = any(one.end.loose is not None for one in cluster.loose) or not cluster.loose
            claims.take(
                Modification(kind="orphaned_lead" if loose else "untraced_lead", root=cluster.elements[0],
                             added=cluster.elements,
                             joints=tuple(one for one in cluster.elements if comparison.after.joint(one)),
                             role="free", facts=tuple(cluster_facts(comparison, cluster)))
            )  # fmt: skip
    for device_id in sorted(comparison.added):
        device = comparison.after.device(device_id)
        if device is None or device_id in attached or comparison.after.targets(device_id, "seat"):
            continue
        clusters = comparison.clusters_of_device.get(device_id, ())
        added = tuple(sorted({device_id, *(one for cluster in clusters for one in cluster.elements)}))
        claims.take(
            Modification(kind="added_device", root=device_id, added=added, role="free",
                         facts=tuple(device_facts(device)))
        )  # fmt: skip


def _joint_with_one_member(comparison: Comparison, cluster: Cluster) -> bool:
    """Whether a joint of the cluster has one member only: what else is in it nobody could say."""
    return any(
        comparison.after.joint(one) is not None
        and len({(i.subject, i.target, i.role) for i in comparison.after.attached.get(one, ())}) == 1
        for one in cluster.elements
    )


def _is_lost_ground(comparison: Comparison, cluster: Cluster, device: str) -> bool:
    """Whether the cluster is the loose ground lead of a device that has no other way to ground."""
    grounded = any(
        comparison.net(contact.node) in comparison.ground
        for other in comparison.clusters_of_device[device]
        for contact in other.contacts
    )
    names = {
        terminal.rsplit(":", 1)[1]
        for terminal in comparison.after.subjects(device, "of")
        for lead in cluster.elements
        if lead in comparison.after.subjects(terminal, "end_1", "end_2")
    }
    loose = any(one.end.loose is not None for one in cluster.loose)
    return loose and not grounded and bool(names & GROUND_NAMES)
