"""Two harnesses side by side: their graphs, the nets that remain, and the added clusters."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import networkx as nx

from harnessdiff.compare.before import Before
from harnessdiff.graph import (
    CONDUCTING,
    CONSUMING,
    SOLID,
    end_node,
    ground_nodes,
    harness_graph,
    nets,
    slot_of,
    spread,
)
from harnessdiff.model.edit import Attached, Changed, Detached, Edit, Removed, edited
from harnessdiff.model.harness import Conductor, Cut, Device, Harness, Incidence, Joint, OpenEnd
from harnessdiff.model.parts import Output
from harnessdiff.model.reference import Reference

# In-line parts that part two clusters as a device would.
PARTING = frozenset({"diode", "resistor"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Contact:
    """A place where an added cluster touches the reference: the node there, and the joint (or lead) that does."""

    node: str
    by: str
    cluster: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """An end of an added lead that is attached to nothing known."""

    lead: str
    end: OpenEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class Cluster:
    """Added leads and joints connected with each other directly.

    `devices` are the added devices (or parting in-line parts) it reaches, `inline` the kinds of
    in-line part within it.
    """

    number: int
    elements: tuple[str, ...]
    contacts: tuple[Contact, ...]
    devices: tuple[str, ...]
    loose: tuple[Loose, ...]
    inline: tuple[str, ...]


class Comparison:
    """A reference and an as-found harness, and everything recognisers ask of the two.

    Parameters
    ----------
    reference : Reference
    edits : tuple of Edit
        What makes the as-found harness of it.
    before : Before, optional
        The same reference, where it was worked out already.
    """

    def __init__(self, reference: Reference, edits: tuple[Edit, ...], before: Before | None = None) -> None:
        self.reference = reference
        self.base = before or Before(reference)
        self.before: Harness = reference.harness
        self.edits = edits
        self.after: Harness = edited(self.before, edits)
        self.added: frozenset[str] = frozenset(self.after.by_id) - frozenset(self.before.by_id)

    @property
    def graph_before(self) -> nx.MultiGraph[str]:
        """Graph of the reference."""
        return self.base.graph

    @cached_property
    def graph(self) -> nx.MultiGraph[str]:
        """Graph of the as-found harness."""
        return harness_graph(self.after)

    @cached_property
    def remains(self) -> dict[str, str]:
        """Net of every node by what is left of the reference: cuts part it, added things do not join it."""
        return nets(self.graph, leave_out=lambda edge: edge["element"] in self.added)

    @cached_property
    def ground(self) -> frozenset[str]:
        """Nets of the remains that are ground."""
        nodes = ground_nodes(self.graph, self.before, self.remains, self.base.polarity)
        return frozenset(self.remains[node] for node in nodes)

    @cached_property
    def changed(self) -> dict[str, Changed]:
        """Changed elements by id."""
        return {edit.before.id: edit for edit in self.edits if isinstance(edit, Changed)}

    @cached_property
    def removed(self) -> dict[str, Removed]:
        """Removed elements by id."""
        return {edit.element.id: edit for edit in self.edits if isinstance(edit, Removed)}

    @cached_property
    def detached(self) -> tuple[Incidence, ...]:
        """Incidences that are gone."""
        return tuple(edit.incidence for edit in self.edits if isinstance(edit, Detached))

    @cached_property
    def attached(self) -> tuple[Incidence, ...]:
        """Incidences that are new."""
        return tuple(edit.incidence for edit in self.edits if isinstance(edit, Attached))

    @cached_property
    def added_links(self) -> frozenset[str]:
        """Added devices that have contacts: switches, relays."""
        return frozenset(
            edge["element"]
            for _, _, edge in self.graph.edges(data=True)
            if edge["kind"] == "link" and edge["element"] in self.added and self.after.device(edge["element"])
        )

    @cached_property
    def added_diodes(self) -> frozenset[str]:
        """Added devices and leads with a diode in them."""
        edges = self.graph.edges(data=True)
        return frozenset(
            edge["element"] for _, _, edge in edges if edge["kind"] == "diode" and edge["element"] in self.added
        )

    # -- what a node is

    def owner(self, node: str) -> str:
        """The element a node belongs to."""
        if node in self.after.by_id or node in self.before.by_id:
            return node
        return re.split("[#@~]", node, maxsplit=1)[0]

    def is_boundary(self, node: str) -> bool:
        """Whether a node is one of the reference, so that clusters touch it and do not run through it."""
        owner = self.owner(node)
        if isinstance(self.after.by_id.get(owner), Cut):
            return any(target not in self.added for target in self.after.targets(owner, "on"))
        return owner not in self.added

    def conductors_at(self, node: str) -> tuple[str, ...]:
        """Conductors of the reference at a node."""
        owner = self.owner(node)
        if isinstance(self.after.by_id.get(owner), Cut):
            return tuple(one for one in self.after.targets(owner, "on") if one not in self.added)
        if self.before.conductor(owner) is not None:
            return (owner,)
        return tuple(one for one in self.before.subjects(owner, "end_1", "end_2") if one not in self.added)

    def touched(self, node: str) -> tuple[str, ...]:
        """Elements of the reference that a contact at `node` touches: the conductor, or the terminal or joint."""
        owner = self.owner(node)
        if isinstance(self.after.by_id.get(owner), Cut):
            return self.conductors_at(node)
        return (owner,)

    def circuits_at(self, node: str) -> tuple[str, ...]:
        """Circuits of the conductors at a node, in order."""
        conductors = (self.before.conductor(one) for one in self.conductors_at(node))
        return tuple(sorted({one.circuit for one in conductors if one is not None and one.circuit}))

    def net(self, node: str) -> str:
        """Net of a node by what is left of the reference."""
        return self.remains[node]

    def reference_net(self, node: str) -> str | None:
        """Net of the reference that a node lies in; None where nothing of the reference is at it."""
        at = self.reference_node(node)
        return None if at is None else self.base.net_of[at]

    def reference_node(self, node: str) -> str | None:
        """The node itself or, on a conductor, the end of it that the same piece leads to."""
        if node in self.graph_before:
            return node
        found = []
        for conductor in self.conductors_at(node):
            found += [end_node(self.before, conductor, end) for end in (1, 2)]
            parts = range(len(getattr(self.before.by_id[conductor], "inline", ())))
            found += [f"{conductor}~{part}#{side}" for part in parts for side in (1, 2)]
        near = [one for one in found if self.remains.get(one) == self.remains.get(node)]
        return next(iter((*near, *found)), None)

    @cached_property
    def fed_by_the_maker(self) -> frozenset[str]:
        """Nets that a source of the reference still reaches over what is left of the reference."""
        reached = spread(
            self.graph,
            self.base.hot_poles,
            lambda edge, _one, other: (
                edge["element"] not in self.added
                and edge["kind"] in CONDUCTING
                and self.remains[other] not in self.ground
            ),
        )
        return frozenset(self.remains[node] for node in reached)

    @cached_property
    def protected_nets(self) -> dict[str, tuple[str, ...]]:
        """Nets on which a device is that only the maker's procedure may touch: ``restraint``, ``high_voltage``."""
        found: dict[str, set[str]] = {}
        for device in self.before.devices():
            if device.protected:
                for terminal in self.before.subjects(device.id, "of"):
                    if terminal in self.remains:
                        found.setdefault(self.remains[terminal], set()).add(device.protected)
        return {net: tuple(sorted(codes)) for net, codes in found.items()}

    @cached_property
    def output_nets(self) -> dict[str, tuple[str, ...]]:
        """Nets that electronic outputs of the reference feed, with the devices whose outputs they are."""
        found: dict[str, set[str]] = {}
        for device in self.before.devices():
            for part in device.parts:
                if isinstance(part, Output):
                    node = f"{slot_of(self.before, device.id)}:{part.between[1]}"
                    if node in self.remains:
                        found.setdefault(self.remains[node], set()).add(device.id)
        return {net: tuple(sorted(devices)) for net, devices in found.items()}

    # -- clusters

    @cached_property
    def clusters(self) -> tuple[Cluster, ...]:
        """The added clusters, in the order of their least element."""
        joined: nx.Graph[str] = nx.Graph()
        touching: list[tuple[str, str, str]] = []
        pieces: list[tuple[str, str]] = []
        for one, other, edge in self.graph.edges(data=True):
            if edge["element"] not in self.added or edge["kind"] == "damage":
                continue
            if not self._joins(edge):
                joined.add_nodes_from(node for node in (one, other) if not self.is_boundary(node))
                continue
            outer = [node for node in (one, other) if self.is_boundary(node)]
            inner = [node for node in (one, other) if node not in outer]
            joined.add_nodes_from(inner)
            pieces += [(node, edge["element"]) for node in inner]
            if len(inner) == 2:
                joined.add_edge(one, other)
            elif inner:
                touching.append((outer[0], inner[0], edge["element"]))
            else:
                # A lead from one terminal of the reference to another, with no joint recorded.
                middle = f"{edge['element']}~"
                joined.add_node(middle)
                touching += [(node, middle, edge["element"]) for node in outer]
        for element in self.added:
            if isinstance(self.after.by_id[element], Joint):
                joined.add_node(element)
        components = sorted(nx.connected_components(joined), key=min)
        number_of = {node: number for number, component in enumerate(components) for node in component}
        elements: dict[int, set[str]] = {}
        for node, element in pieces:
            elements.setdefault(number_of[node], set()).add(element)
        contacts: dict[int, list[Contact]] = {}
        for boundary, inner_node, by in touching:
            number = number_of[inner_node]
            contacts.setdefault(number, []).append(Contact(node=boundary, by=by, cluster=number))
        return tuple(
            self._cluster(number, component, elements.get(number, set()), contacts.get(number, []))
            for number, component in enumerate(components)
        )

    def _joins(self, edge: dict[str, Any]) -> bool:
        if isinstance(self.after.by_id.get(edge["element"]), Conductor):
            return edge["kind"] not in PARTING
        return edge["kind"] in SOLID

    def _cluster(self, number: int, nodes: set[str], pieces: set[str], contacts: list[Contact]) -> Cluster:
        elements = {one for one in pieces if isinstance(self.after.by_id[one], (Conductor, Joint))}
        devices: set[str] = set()
        inline: set[str] = set()
        for node in nodes:
            owner = self.owner(node)
            element = self.after.by_id.get(owner)
            if isinstance(element, (Conductor, Joint)):
                elements.add(owner)
            if isinstance(element, Conductor) and "~" in node:
                place = node.split("~", 1)[1].split("#", 1)[0]
                if place:
                    part = element.inline[int(place)]
                    (devices if part.kind in PARTING else inline).add(
                        f"{owner}~{place}" if part.kind in PARTING else part.kind
                    )
            if ":" in node and owner in self.added:
                devices.add(self.after.device_of(node))
        loose = [
            Loose(lead=one, end=end)
            for one in sorted(elements)
            for end in getattr(self.after.by_id[one], "open_ends", ())
            if f"{one}#{end.end}" in nodes
        ]
        return Cluster(
            number=number,
            elements=tuple(sorted(elements)),
            contacts=tuple(sorted(set(contacts), key=lambda one: (one.by, one.node))),
            devices=tuple(sorted(devices)),
            loose=tuple(loose),
            inline=tuple(sorted(inline)),
        )

    def reached_from(self, cluster: Cluster) -> dict[str, int]:
        """Nodes that added things join with a cluster, the contacts of added switches and relays taken as closed."""
        return spread(
            self.graph,
            [node for element in cluster.elements for node in self._nodes_of_added.get(element, ())],
            lambda edge, _one, other: (
                edge["element"] in self.added
                and edge["kind"] in ("conductor", "contact", "common", "fuse", "link")
                and not self.is_boundary(other)
            ),
        )

    @cached_property
    def _nodes_of_added(self) -> dict[str, list[str]]:
        """Nodes of every added element."""
        found: dict[str, list[str]] = {}
        for node in self.graph:
            owner = self.owner(node)
            if owner in self.added:
                found.setdefault(owner, []).append(node)
        return found

    def loads_at(self, cluster: Cluster) -> tuple[str, ...]:
        """Added devices that draw current by way of a cluster, be it through an added switch or relay."""
        return tuple(
            sorted(
                {
                    edge["element"]
                    for node in self.reached_from(cluster)
                    for edges in self.graph.adj[node].values()
                    for edge in edges.values()
                    if edge["kind"] in CONSUMING and edge["element"] in self.added
                }
            )
        )

    @cached_property
    def cluster_at(self) -> dict[str, list[Contact]]:
        """Contacts by the node they touch."""
        found: dict[str, list[Contact]] = {}
        for cluster in self.clusters:
            for contact in cluster.contacts:
                found.setdefault(contact.node, []).append(contact)
        return found

    @cached_property
    def clusters_of_device(self) -> dict[str, tuple[Cluster, ...]]:
        """Clusters by the added device they reach."""
        found: dict[str, list[Cluster]] = {}
        for cluster in self.clusters:
            for device in cluster.devices:
                found.setdefault(device, []).append(cluster)
        return {device: tuple(reached) for device, reached in found.items()}

    @cached_property
    def attached_devices(self) -> frozenset[str]:
        """Added devices that are connected to the reference, be it through other added devices."""
        bound: nx.Graph[object] = nx.Graph()
        for cluster in self.clusters:
            bound.add_edges_from((cluster.number, device) for device in cluster.devices)
        found: set[str] = set()
        for component in nx.connected_components(bound):
            numbers = [thing for thing in component if isinstance(thing, int)]
            if any(self.clusters[number].contacts for number in numbers):
                found.update(thing for thing in component if isinstance(thing, str))
        return frozenset(found)

    # -- what stands between two nets of the reference

    @cached_property
    def spans(self) -> dict[frozenset[str], tuple[str, ...]]:
        """For two nets: the switches, relays and fuses of the reference that stand between them.

        Slots stand for what sits in them.
        """
        found: dict[frozenset[str], set[str]] = {}
        for one, other, edge in self.graph_before.edges(data=True):
            switching = edge["kind"] == "fuse" or (edge["kind"] == "link" and edge["part"].when is not None)
            if not switching or one not in self.remains or other not in self.remains:
                continue
            pair = frozenset((self.remains[one], self.remains[other]))
            if len(pair) == 2:
                found.setdefault(pair, set()).add(slot_of(self.before, edge["element"]))
        return {pair: tuple(sorted(devices)) for pair, devices in found.items()}

    def passed(self, one: str, other: str) -> tuple[str, ...]:
        """Switches, relays and fuses of the reference that joining two nodes goes past.

        What stands directly between them; else what stands in a row between them, where one hangs on
        the other; else the switch that feeds both, each in positions of its own.
        """
        direct = self.spans.get(frozenset((self.net(one), self.net(other))), ())
        in_a_row = {*self.between(one, other), *self.between(other, one)}
        return direct or tuple(sorted(in_a_row)) or self._kept_apart(one, other)

    def _kept_apart(self, one: str, other: str) -> tuple[str, ...]:
        """Switches that feed two nodes from one net in different positions."""
        ways = self._positions_from
        return tuple(
            sorted(
                {
                    device
                    for (device, net), positions in ways.get(self.net(one), {}).items()
                    if (device, net) in ways.get(self.net(other), {})
                    and positions != ways[self.net(other)][device, net]
                }
            )
        )

    @cached_property
    def _positions_from(self) -> dict[str, dict[tuple[str, str], frozenset[str]]]:
        """For every net: the switches that lead to it, from which net, and in which positions."""
        found: dict[str, dict[tuple[str, str], frozenset[str]]] = {}
        for one, other, edge in self.graph_before.edges(data=True):
            when = getattr(edge["part"], "when", None)
            if edge["kind"] != "link" or when is None or not when.position:
                continue
            if one in self.remains and other in self.remains:
                for near, far in ((one, other), (other, one)):
                    if self.remains[near] in self.fed_without(None) - self.ground:
                        at = found.setdefault(self.remains[far], {})
                        way = (edge["element"], self.remains[near])
                        at[way] = at.get(way, frozenset()) | frozenset(when.position)
        return found

    @cached_property
    def deciding(self) -> tuple[str, ...]:
        """Interlocks, and the switches that the key turns: those in another position whenever it is on."""
        asleep = {"out"}
        on = [dict(one.positions) for one in self.reference.conditions if one.key == "ignition" and not one.refusal]
        out = [dict(one.positions) for one in self.reference.conditions if one.key in asleep]
        keys = set.intersection(*(set(positions) for positions in on)) if on else set()
        keys -= {device for positions in out for device in positions}
        interlocks = {
            slot_of(self.before, device.id) for device in self.before.devices() if device.interlock is not None
        }
        return tuple(sorted(keys | interlocks))

    def fed_without(self, device: str | None) -> frozenset[str]:
        """Nets that a source of the reference reaches without passing `device` or what sits in it."""
        if device not in self._fed_without:
            out = {device, *(self.before.subjects(device, "seat") if device else ())}
            reached = spread(
                self.graph_before,
                self.base.hot_poles,
                lambda edge, _one, other: (
                    edge["kind"] in CONDUCTING and edge["element"] not in out and other not in self.base.ground
                ),
            )
            self._fed_without[device] = frozenset(self.remains[node] for node in reached if node in self.remains)
        return self._fed_without[device]

    @cached_property
    def _fed_without(self) -> dict[str | None, frozenset[str]]:
        return {}

    def between(self, above: str, below: str) -> tuple[str, ...]:
        """What stands between two nodes where all current of the second comes by way of the first."""
        places = self.reference_node(above), self.reference_node(below)
        if places[0] is None or places[1] is None:
            return ()
        return self.base.ways.between(places[0], places[1])

    def switched_by(self, device_id: str) -> str:
        """What a device is called when something is joined past it: interlock, relay, fuse or switch."""
        device = self.before.device(device_id)
        assert device is not None
        occupants = [self.before.device(one) for one in self.before.subjects(device_id, "seat")]
        if device.interlock or any(one is not None and one.interlock for one in occupants):
            return "interlock"
        return {
            "fuse_slot": "fuse", "fusible_link": "fuse", "circuit_breaker": "fuse", "fuse": "fuse",
            "relay_socket": "relay", "relay": "relay",
        }.get(device.kind, "switch")  # fmt: skip

    def interlock_of(self, device_id: str) -> str | None:
        """What a device, or what sits in it, must refuse; None where it is no interlock."""
        for one in (device_id, *self.before.subjects(device_id, "seat")):
            device = self.before.device(one)
            if isinstance(device, Device) and device.interlock:
                return device.interlock
        return None
