"""Which way current flows through what a sheet shows: back to the fuse, on to the loads, along a lead."""

from __future__ import annotations

from functools import cached_property

import networkx as nx

from harnessdiff.graph import CONDUCTING, ground_nodes, harness_graph, nets, poles, spread
from harnessdiff.model.harness import Conductor, Harness
from harnessdiff.model.reference import Reference


class Flow:
    """Directions in the reference and in the as-found harness.

    Parameters
    ----------
    reference : Reference
    as_found : Harness
    """

    def __init__(self, reference: Reference, as_found: Harness) -> None:
        self.reference = reference
        self.before = reference.harness
        self.harness = as_found

    @cached_property
    def graph(self) -> nx.MultiGraph[str]:
        """Graph of the reference."""
        return harness_graph(self.before)

    @cached_property
    def ground(self) -> frozenset[str]:
        """Nodes of the reference that are ground."""
        polarity = self.reference.vehicle.ground_polarity
        return ground_nodes(self.graph, self.before, nets(self.graph), polarity)

    @cached_property
    def feeds(self) -> dict[str, tuple[str, str]]:
        """For every node that is fed: the node before it on the way from a source, and the element between."""
        came: dict[str, tuple[str, str]] = {}
        order = sorted(self.sources)
        seen = set(order)
        for node in order:
            for neighbour, edges in self.graph.adj[node].items():
                edge = next((one for one in edges.values() if one["kind"] in CONDUCTING), None)
                if edge is not None and neighbour not in seen and neighbour not in self.ground:
                    seen.add(neighbour)
                    came[neighbour] = (node, edge["element"])
                    order.append(neighbour)
        return came

    @cached_property
    def depth(self) -> dict[str, int]:
        """How many steps from a source every fed node is."""
        depth: dict[str, int] = {}
        for node, (before, _) in self.feeds.items():
            depth[node] = depth.get(before, 0) + 1
        return depth

    @cached_property
    def sources(self) -> frozenset[str]:
        """Live poles of the reference's sources."""
        live, _ = poles(self.graph, self.before, self.reference.vehicle.ground_polarity)
        return live

    def runs_backwards(self, lead: Conductor) -> bool:
        """Whether end 2 of a lead is nearer to the supply than end 1; a lead to ground runs to it."""
        devices = [self._device_at(lead, end) for end in (1, 2)]
        between_devices = all(devices)
        ends = [self._side_of_end(lead, end, whole_device=between_devices) for end in (1, 2)]
        return ends[1] < ends[0]

    def _device_at(self, lead: Conductor, end: int) -> str | None:
        """The added device that an end of a lead is at."""
        for target in self.harness.targets(lead.id, "end_1" if end == 1 else "end_2"):
            device = self.harness.device_of(target) if ":" in target else None
            if device is not None and device not in self.before.by_id:
                return device
        return None

    def _side_of_end(self, lead: Conductor, end: int, *, whole_device: bool) -> tuple[int, int]:
        """How far towards the load an end of a lead is: fed by the maker's wiring, between, ground.

        With `whole_device` all terminals of an added device are as near as the nearest of them, so
        that leads between two devices run the same way.
        """
        targets = self.harness.targets(lead.id, "end_1" if end == 1 else "end_2")
        nodes = set(targets)
        for target in targets:
            nodes |= set(self.harness.targets(target, "at"))
            nodes |= {f"{one}@{target}" for one in self.harness.targets(target, "on")}
            nodes |= {f"{one}#1" for one in self.harness.subjects(target, "side_1")}
            nodes |= {f"{one}#2" for one in self.harness.subjects(target, "side_2")}
        grounded = bool(nodes & self._found_ground)
        device = self._device_at(lead, end) if whole_device else None
        if device is not None:
            nodes |= set(self.harness.subjects(device, "of"))
        depth = min((self._found_depth[node] for node in nodes if node in self._found_depth), default=10**6)
        if grounded:
            return (3, depth)
        if nodes & self._fed_by_maker:
            return (0, depth)
        on_maker = any("@" in node or "#" in node for node in nodes)
        return (2 if on_maker else 1, depth)

    @cached_property
    def _found(self) -> nx.MultiGraph[str]:
        return harness_graph(self.harness)

    @cached_property
    def _found_ground(self) -> frozenset[str]:
        polarity = self.reference.vehicle.ground_polarity
        return ground_nodes(self._found, self.harness, nets(self._found), polarity)

    @cached_property
    def _fed_by_maker(self) -> frozenset[str]:
        """Nodes that the reference's own sources feed through the reference's own elements, as found."""
        return frozenset(
            spread(
                self._found,
                sorted(self.sources),
                lambda edge, _one, other: (
                    edge["kind"] in CONDUCTING
                    and edge["element"] in self.before.by_id
                    and other not in self._found_ground
                ),
            )
        )

    @cached_property
    def fed_as_found(self) -> dict[str, int]:
        """Steps from a source to every node of the as-found harness that is fed through conductors and contacts."""
        return self._steps({}, {})

    @cached_property
    def _found_depth(self) -> dict[str, int]:
        """Steps from a source to every node of the as-found harness.

        What is reached without passing an added device comes first; what only an added device
        passes current on to counts as further away than all of that.
        """
        depth = dict(self.fed_as_found)
        pins: dict[str, tuple[str, ...]] = {}
        for device in self.harness.devices():
            if device.id not in self.before.by_id:
                terminals = self.harness.subjects(device.id, "of")
                pins.update(dict.fromkeys(terminals, terminals))
        return self._steps(depth, pins)

    def _steps(self, known: dict[str, int], pins: dict[str, tuple[str, ...]]) -> dict[str, int]:
        """Steps from the sources; with `pins`, current also passes between the terminals of a device."""
        depth = known or dict.fromkeys(sorted(self.sources), 0)
        order = sorted(depth, key=lambda node: (depth[node], node))
        for node in order:
            onward = [
                neighbour
                for neighbour, edges in self._found.adj.get(node, {}).items()
                if any(edge["kind"] in CONDUCTING for edge in edges.values())
            ]
            for neighbour in (*onward, *pins.get(node, ())):
                if neighbour not in depth and neighbour not in self._found_ground:
                    depth[neighbour] = depth[node] + 1
                    order.append(neighbour)
        return depth
