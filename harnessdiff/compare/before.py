"""The reference as a comparison needs it, worked out once for all resolutions of a survey."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import networkx as nx

from harnessdiff.compare.passing import Ways
from harnessdiff.graph import GROUND_DEVICES, ground_nodes, harness_graph, nets, poles, terminal_names
from harnessdiff.model.edit import Alternative, AsFound, Attached, Changed, Choice, Detached, Edit
from harnessdiff.model.harness import Harness, Point, is_added
from harnessdiff.model.reference import Reference


class Before:
    """Graph, nets, ground and live poles of a reference.

    Parameters
    ----------
    reference : Reference
    """

    def __init__(self, reference: Reference) -> None:
        self.reference = reference
        self.harness: Harness = reference.harness
        self.polarity = reference.vehicle.ground_polarity

    @cached_property
    def graph(self) -> nx.MultiGraph[str]:
        """Graph of the reference."""
        return harness_graph(self.harness)

    @cached_property
    def net_of(self) -> dict[str, str]:
        """Net of every node."""
        return nets(self.graph)

    @cached_property
    def ground(self) -> frozenset[str]:
        """Nodes that are ground."""
        return ground_nodes(self.graph, self.harness, self.net_of, self.polarity)

    @cached_property
    def hot_poles(self) -> tuple[str, ...]:
        """Live poles of the sources."""
        live, _ = poles(self.graph, self.harness, self.polarity)
        return tuple(sorted(live))

    @cached_property
    def ways(self) -> Ways:
        """Which nets get their current through which others."""
        return Ways(self.graph, self.harness, self.net_of, self.ground, self.hot_poles, self.polarity)

    @cached_property
    def shunts(self) -> dict[str, str]:
        """Nets of grounded poles that reach the metal only through a device, with that device: a battery sensor."""
        _, grounded = poles(self.graph, self.harness, self.polarity)
        metal = {
            self.net_of[terminal]
            for device in self.harness.devices()
            if device.kind in GROUND_DEVICES
            for terminal in terminal_names(self.harness, device.id)
        }
        above = {self.net_of[pole] for pole in grounded} - metal
        found: dict[str, str] = {}
        for one, other, edge in self.graph.edges(data=True):
            if edge["kind"] == "link" and edge["part"].when is None:
                for near, far in ((one, other), (other, one)):
                    if self.net_of[near] in above and self.net_of[far] in metal:
                        found[self.net_of[near]] = edge["element"]
        return found

    def leaders(self, choice: Choice, most: int) -> tuple[tuple[int, ...], bool]:
        """For every alternative of a choice, the number of the one that stands for it.

        A joint on one of two wires of the same net, circuit, size, colour and place, on the same side
        of every cut, makes no difference to what follows: the first of them stands for both. Where
        that still leaves more than `most`, one wire stands for all of its circuit.

        Parameters
        ----------
        choice : Choice
        most : int
            Greatest number of alternatives that is gone through.

        Returns
        -------
        tuple
            The numbers, and whether they make no difference.
        """
        fine = _firsts(self._sort(alternative, number) for number, alternative in enumerate(choice.alternatives))
        if len(set(fine)) <= most:
            return fine, True
        return _firsts(self._circuit(alternative) for alternative in choice.alternatives), False

    def groups(self, as_found: AsFound) -> tuple[tuple[int, ...], ...]:
        """Numbers of the open choices, those together that bear on each other.

        Two choices bear on each other where added things, or a net of the reference that is not ground,
        connect what their alternatives speak of.

        Parameters
        ----------
        as_found : AsFound

        Returns
        -------
        tuple of tuple of int
        """
        joined: nx.Graph[object] = nx.Graph()
        for edit in as_found.edits:
            nx.add_path(joined, self._touched(edit))
        for number, choice in enumerate(as_found.choices):
            touched = {thing for one in choice.alternatives for edit in one.edits for thing in self._touched(edit)}
            joined.add_node(number)
            joined.add_edges_from((number, thing) for thing in touched)
        components = nx.connected_components(joined)
        found = (sorted(node for node in component if isinstance(node, int)) for component in components)
        return tuple(sorted(tuple(numbers) for numbers in found if numbers))

    def _touched(self, edit: Edit) -> tuple[str, ...]:
        """Added things, and nets but for ground, that an edit speaks of."""
        things: tuple[str, ...]
        if isinstance(edit, (Attached, Detached)):
            things = (edit.incidence.subject, edit.incidence.target)
        elif isinstance(edit, Changed):
            things = (edit.before.id,)
        else:
            things = (edit.element.id,)
        return tuple(dict.fromkeys(name for thing in things for name in self._nets_of(thing)))

    def _nets_of(self, thing: str) -> tuple[str, ...]:
        if is_added(thing):
            return (thing,)
        if self.harness.conductor(thing) is not None:
            nodes = self.harness.targets(thing, "end_1", "end_2")
        elif self.harness.device(thing) is not None:
            nodes = self.harness.subjects(thing, "of")
        else:
            nodes = (thing,)
        return tuple(self.net_of[node] for node in nodes if node in self.net_of and node not in self.ground)

    def _circuit(self, alternative: Alternative) -> tuple[object, ...]:
        elements = (self.harness.by_id.get(element) for element in alternative.elements)
        return tuple(getattr(element, "circuit", None) for element in elements)

    def _sort(self, alternative: Alternative, number: int) -> tuple[object, ...]:
        """What decides of an alternative; its own number where it does more than sit on a wire."""
        wires = [self.harness.conductor(element) for element in alternative.elements]
        only_sits = all(
            isinstance(edit, Attached) and edit.incidence.role in ("on", "marks") for edit in alternative.edits
        )
        if not only_sits or len(wires) != 1 or wires[0] is None:
            return (number,)
        wire = wires[0]
        ends = self.harness.targets(wire.id, "end_1", "end_2")
        nets_of_ends = tuple(sorted({self.net_of.get(end, end) for end in ends}))
        points = tuple(
            (edit.incidence.role, point.near_end, point.beyond, point.before)
            for edit in alternative.edits
            if isinstance(edit, Attached)
            for point in (edit.incidence.point or Point(),)
        )
        return (nets_of_ends, wire.circuit, wire.size_mm2, wire.colour, wire.zones[:1], wire.option, points)


def _firsts(keys: Iterable[tuple[object, ...]]) -> tuple[int, ...]:
    """For every key the number of the first that is the same."""
    first: dict[tuple[object, ...], int] = {}
    return tuple(first.setdefault(key, number) for number, key in enumerate(keys))
