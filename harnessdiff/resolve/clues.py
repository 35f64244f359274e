"""Which wires or terminals of the reference fit a clue: everything that was said must fit."""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property

import networkx as nx

from harnessdiff.graph import CONDUCTING, CONSUMING, ground_nodes, harness_graph, nets, spread, terminal_names
from harnessdiff.model.harness import Colour, Conductor, Harness, Terminal
from harnessdiff.model.observation import Clue
from harnessdiff.model.reference import Reference


class Candidates:
    """Answers clues against one reference."""

    def __init__(self, reference: Reference) -> None:
        self.reference = reference
        self.harness: Harness = reference.harness

    @cached_property
    def _graph(self) -> nx.MultiGraph[str]:
        return harness_graph(self.harness)

    @cached_property
    def _ground(self) -> frozenset[str]:
        polarity = self.reference.vehicle.ground_polarity
        return ground_nodes(self._graph, self.harness, nets(self._graph), polarity)

    def wires(self, clue: Clue) -> tuple[str, ...]:
        """Ids of the wires that fit, in order."""
        fed = self._elements_on(clue.fuse, clue.feeds)
        return tuple(
            wire.id
            for wire in self.harness.conductors()
            if _colour_fits(clue.colour, wire.colour)
            and clue.size_mm2.may_equal(wire.size_mm2)
            and self._circuit_fits(clue, wire.circuit)
            and self._ends_fit(clue, wire)
            and (clue.zone is None or clue.zone in self.zones_of(wire))
            and (fed is None or wire.id in fed)
        )

    def terminals(self, clue: Clue) -> tuple[str, ...]:
        """Ids of the terminals that fit, in order; what is said of a wire is held against those that end there."""
        of_a_wire = (clue.colour, clue.circuit, clue.function, clue.fuse, clue.feeds)
        fitting = set(self.wires(replace(clue, zone=None))) if any(of_a_wire) or clue.size_mm2.known else None
        found = []
        for terminal in self.harness.elements:
            if not isinstance(terminal, Terminal) or not self._terminal_fits(clue, terminal):
                continue
            if clue.zone is not None and self._place_of(terminal) != clue.zone:
                continue
            wires = self.harness.subjects(terminal.id, "end_1", "end_2")
            if fitting is None or any(wire in fitting for wire in wires):
                found.append(terminal.id)
        return tuple(found)

    def zones_of(self, wire: Conductor) -> tuple[str, ...]:
        """Zones a wire passes; those of the devices at its ends where none are named."""
        if wire.zones:
            return wire.zones
        ends = (self.harness.device_of(end) for end in self.harness.targets(wire.id, "end_1", "end_2"))
        devices = (self.harness.device(end) for end in ends)
        return tuple(device.zone for device in devices if device is not None and device.zone)

    def _circuit_fits(self, clue: Clue, circuit: str | None) -> bool:
        return (clue.circuit is None or clue.circuit == circuit) and (
            clue.function is None or clue.function == self.reference.function_of(circuit)
        )

    def _ends_fit(self, clue: Clue, wire: Conductor) -> bool:
        if clue.connector is None and clue.device is None:
            return True
        ends = (self.harness.by_id.get(end) for end in self.harness.targets(wire.id, "end_1", "end_2"))
        return any(isinstance(end, Terminal) and self._terminal_fits(clue, end) for end in ends)

    def _terminal_fits(self, clue: Clue, terminal: Terminal) -> bool:
        device = self.harness.device_of(terminal.id)
        inline = clue.connector == device
        cavity = terminal.cavity or (terminal.name.rstrip("ab") if inline else terminal.name)
        return (
            (clue.connector is None or inline or terminal.connector == clue.connector)
            and (not clue.cavities or cavity in clue.cavities or terminal.name in clue.cavities)
            and (clue.device is None or clue.device == device)
        )

    def _place_of(self, terminal: Terminal) -> str | None:
        """Zone of a terminal: that of the plug it sits in, else of its device."""
        plug = self.harness.device(terminal.connector) if terminal.connector else None
        device = self.harness.device(self.harness.device_of(terminal.id))
        return (plug.zone if plug is not None else None) or (device.zone if device is not None else None)

    def _elements_on(self, fuse: str | None, feeds: str | None) -> frozenset[str] | None:
        """Elements behind a fuse slot, or on the way to a device; None where neither was said."""
        starts = []
        if fuse is not None:
            starts.append(terminal_names(self.harness, fuse)[1:])
        if feeds is not None:
            starts.append(terminal_names(self.harness, feeds))
        if not starts:
            return None
        found: frozenset[str] | None = None
        for nodes in starts:
            reached = spread(
                self._graph,
                [node for node in nodes if node not in self._ground],
                lambda edge, _one, other: (
                    edge["kind"] in CONDUCTING - {"fuse"} - CONSUMING and other not in self._ground
                ),
            )
            elements = frozenset(edge["element"] for one, _, edge in self._graph.edges(reached, data=True))
            found = elements if found is None else found & elements
        return found


def _colour_fits(seen: Colour | None, true: Colour | None) -> bool:
    if seen is None:
        return True
    return (
        true is not None
        and seen.base in (true.base, "unknown")
        and (seen.tracer in (true.tracer, "unknown"))
        and (seen.shade is None or true.shade is None or seen.shade == true.shade)
    )


def clue_words(clue: Clue) -> str:
    """A clue in short words, for a message."""
    parts = [
        clue.colour.letters if clue.colour else None,
        _size_words(clue),
        f"in {clue.connector}" if clue.connector else None,
        f"cavity {' or '.join(clue.cavities)}" if clue.cavities else None,
        f"at {clue.device}" if clue.device else None,
        f"through {clue.zone}" if clue.zone else None,
        f"of {clue.circuit or clue.function}" if clue.circuit or clue.function else None,
        f"behind {clue.fuse}" if clue.fuse else None,
        f"feeding {clue.feeds}" if clue.feeds else None,
    ]
    return ", ".join(part for part in parts if part) or "nothing said"


def _size_words(clue: Clue) -> str | None:
    size = clue.size_mm2
    if size.exact is not None:
        return f"{size.exact:g} mm²"
    if size.known:
        return f"{'' if size.low is None else f'{size.low:g}'} to {'' if size.high is None else f'{size.high:g}'} mm²"
    return None
