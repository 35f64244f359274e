"""The network of a harness: every edge of its graph as an element that follows a law."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import networkx as nx
import numpy as np

from harnessdiff.analyse.network.circuit import Circuit
from harnessdiff.analyse.network.laws import Bools, Floats, Law, Laws
from harnessdiff.analyse.network.values import Value, value_of
from harnessdiff.graph import GROUND_DEVICES, ground_nodes, harness_graph, nets, poles, slot_of
from harnessdiff.model.harness import Bond, Device, Harness, Inline, is_added
from harnessdiff.model.parts import Coil, Load, Part, When
from harnessdiff.model.quantity import UNKNOWN
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Condition
from harnessdiff.tables.loader import assumed_value

NOTHING = "nothing"
"""The one node of a harness of which nothing is known that could be joined: voltages count from somewhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """An element of the network.

    Parameters
    ----------
    number : int
        Its place among the elements.
    one, other : str
        Nodes of the harness's graph.
    kind, element : str
        As on the graph's edge.
    part : Part or Inline or Bond or None
    value : Value
        Its law and numbers.
    at_rest : Value or None
        What it is while it rests, None where it does not conduct then.
    """

    number: int
    one: str
    other: str
    kind: str
    element: str
    part: Part | Inline | Bond | None
    value: Value
    at_rest: Value | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Guarded:
    """A branch that conducts, or works, only in some states of things."""

    number: int
    device: str
    owner: str
    when: When


class Network:
    """The elements of a harness and how they are joined; solved by `settle`.

    Parameters
    ----------
    harness : Harness
    polarity : str or None
        ``positive`` where the battery's plus is on the body.
    system_V : float or None
        Nominal voltage of the vehicle; 12 V where it is not said.
    graph : networkx.MultiGraph, optional
        The harness's graph where it is there already.
    measured_ohm : mapping of str to Range, optional
        Resistance of joints, by their ids, where a reading under load gave it. [Ω]
    """

    def __init__(
        self,
        harness: Harness,
        polarity: str | None = None,
        system_V: float | None = None,
        graph: nx.MultiGraph[str] | None = None,
        measured_ohm: Mapping[str, Range] | None = None,
    ) -> None:
        self.harness = harness
        self.measured_ohm: Mapping[str, Range] = measured_ohm or {}
        self.polarity = polarity
        self.system_V = system_V or assumed_value("system_voltage")
        self.graph = harness_graph(harness) if graph is None else graph
        self.nodes: tuple[str, ...] = tuple(self.graph) or (NOTHING,)
        self.index: Mapping[str, int] = {node: number for number, node in enumerate(self.nodes)}
        self.forward = -1.0 if polarity == "positive" else 1.0
        self.branches = tuple(
            self._branch(number, one, other, edge)
            for number, (one, other, edge) in enumerate(self.graph.edges(data=True))
        )
        self.laws = _laws([branch.value for branch in self.branches])
        resting = [branch.at_rest or branch.value for branch in self.branches]
        self.laws_at_rest = _laws(resting)
        self.rests = np.array([branch.at_rest is not None for branch in self.branches], dtype=bool)
        self.circuit = Circuit(
            np.array([self.index[branch.one] for branch in self.branches], dtype=np.int64),
            np.array([self.index[branch.other] for branch in self.branches], dtype=np.int64),
            len(self.nodes),
            self.index[self.ground],
        )

    def _branch(self, number: int, one: str, other: str, edge: Mapping[str, Any]) -> Branch:
        part = edge["part"]
        if part is not None and not isinstance(part, Inline | Bond):
            owner = slot_of(self.harness, edge["element"])
            one, other = (f"{owner}:{name}" for name in part.between)
        elif isinstance(part, Inline):
            one, other = sorted((one, other), reverse=part.conducts_towards_end == 1)
        value = value_of(self.harness, edge, self.forward, self.measured_ohm.get(edge["element"]))
        rest = None
        if isinstance(part, Load) and part.rest_A.known:
            resting = replace(part, model="current", rated_A=part.rest_A, cut_out_V=UNKNOWN)
            rest = value_of(self.harness, {**edge, "part": resting}, self.forward)
        return Branch(
            number=number, one=one, other=other, kind=edge["kind"], element=edge["element"], part=part, value=value,
            at_rest=rest,
        )  # fmt: skip

    @cached_property
    def ground(self) -> str:
        """The node that voltages count from: the grounded pole of the first battery, else the body, else any."""
        grounded = poles(self.graph, self.harness, self.polarity)[1]
        batteries = sorted(
            (
                branch_pole
                for device in self.harness.devices()
                if device.kind == "battery" and device.protected is None
                for branch_pole in grounded
                if self.harness.device_of(branch_pole) == device.id
            ),
            # An added battery comes last, so that voltages as found count from where those of the reference do.
            key=lambda pole: (is_added(pole), pole),
        )
        metal = sorted(
            terminal
            for device in self.harness.devices()
            if device.kind in ("body", "chassis", "engine_block")
            for terminal in self.harness.subjects(device.id, "of")
            if terminal in self.graph
        )
        return next(iter([*batteries, *sorted(grounded), *metal, *self.nodes]))

    @cached_property
    def body(self) -> str:
        """The node of the vehicle's metal that a conductor is shorted to; ground where there is none."""
        return min(self.metal_parts, default=self.ground)

    @cached_property
    def metal_parts(self) -> frozenset[str]:
        """The nodes of body, engine and chassis themselves."""
        return frozenset(node for node in self.metal if self._is_metal(node))

    def _is_metal(self, node: str) -> bool:
        device = self.harness.device(self.harness.device_of(node)) if ":" in node else None
        return device is not None and device.kind in GROUND_DEVICES

    @cached_property
    def bounds_ohm(self) -> tuple[Floats, Floats]:
        """Least and greatest resistance of every branch, not a number where it is no resistance. [Ω]"""
        bounds = [
            (one.value.ohm.low, one.value.ohm.high) if one.value.ohm else (np.nan, np.nan) for one in self.branches
        ]
        low, high = np.array(bounds, dtype=np.float64).reshape(-1, 2).T
        return low, high

    @cached_property
    def net_of(self) -> Mapping[str, frozenset[str]]:
        """For every node the nodes that wires, joints and the like join to it."""
        name_of = nets(self.graph)
        found: dict[str, set[str]] = {}
        for node, name in name_of.items():
            found.setdefault(name, set()).add(node)
        frozen = {name: frozenset(nodes) for name, nodes in found.items()}
        return {node: frozen[name] for node, name in name_of.items()}

    @cached_property
    def metal(self) -> frozenset[str]:
        """The nodes of the nets that body, engine and the grounded poles are part of."""
        return ground_nodes(self.graph, self.harness, nets(self.graph), self.polarity)

    @cached_property
    def guarded(self) -> tuple[Guarded, ...]:
        """Branches that depend on the state of things."""
        found = []
        for branch in self.branches:
            when = getattr(branch.part, "when", None)
            if when is not None:
                owner = slot_of(self.harness, branch.element)
                found.append(Guarded(number=branch.number, device=branch.element, owner=owner, when=when))
        return tuple(found)

    @cached_property
    def _guards(self) -> Mapping[int, Guarded]:
        return {one.number: one for one in self.guarded}

    def guards_of(self, number: int) -> tuple[Guarded, ...]:
        """What a branch depends on; empty where it always conducts."""
        found = self._guards.get(number)
        return () if found is None else (found,)

    @cached_property
    def _of_element(self) -> Mapping[str, tuple[Branch, ...]]:
        found: dict[str, list[Branch]] = {}
        for branch in self.branches:
            found.setdefault(branch.element, []).append(branch)
        return {element: tuple(branches) for element, branches in found.items()}

    def branches_of(self, element: str) -> tuple[Branch, ...]:
        """The branches that are a piece of an element, or a part of it."""
        return self._of_element.get(element, ())

    def probe(self, node: str) -> Branch:
        """A branch that stands for looking at a node against ground; it is no element of the network."""
        value = Value(law=Law.RESISTOR, numbers=(0.0, 0.0, 0.0, 0.0))
        owner = self.harness.device_of(node) if ":" in node else node
        return Branch(number=-1, one=node, other=self.ground, kind="probe", element=owner, part=None, value=value)

    @cached_property
    def coils(self) -> tuple[Branch, ...]:
        """The coils."""
        return tuple(branch for branch in self.branches if isinstance(branch.part, Coil))

    @cached_property
    def loads(self) -> tuple[Branch, ...]:
        """The loads, coils left out."""
        return tuple(branch for branch in self.branches if isinstance(branch.part, Load))

    @cached_property
    def inputs(self) -> tuple[str, ...]:
        """Nodes whose level decides what some part does."""
        return tuple(
            sorted(
                {f"{one.owner}:{each.terminal}" for one in self.guarded for each in one.when.inputs} & set(self.nodes)
            )
        )

    def position_of(self, device_id: str, condition: Condition) -> str | None:
        """The position a switch or connector is in."""
        device = self.harness.device(device_id)
        rest = device.rest_position if isinstance(device, Device) else None
        return dict(condition.positions).get(device_id, rest)

    def standing(self, condition: Condition) -> Bools:
        """Branches that conduct as far as positions, engine and condition decide it."""
        given = dict(condition.positions)
        holds = np.ones(len(self.branches), dtype=bool)
        for one, rest in self._guarded_at_rest:
            when = one.when
            holds[one.number] = (
                (not when.position or given.get(one.device, rest) in when.position)
                and (not when.engine or condition.engine in when.engine)
                and (not when.condition or condition.id in when.condition)
            )
        return holds

    @cached_property
    def _guarded_at_rest(self) -> tuple[tuple[Guarded, str | None], ...]:
        """What depends on the state of things, each with the position that its device rests in."""
        devices = {one.device: self.harness.device(one.device) for one in self.guarded}
        return tuple((one, getattr(devices[one.device], "rest_position", None)) for one in self.guarded)


def _laws(values: list[Value]) -> Laws:
    numbers: Floats = np.array([value.numbers for value in values], dtype=np.float64).reshape(len(values), 4)
    return Laws(law=np.array([int(value.law) for value in values], dtype=np.int64), numbers=numbers)
