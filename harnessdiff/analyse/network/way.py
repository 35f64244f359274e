"""The way of the current through a solved network."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.laws import Ints
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.model.harness import is_added

LEAST_A = 1e-6
"""Less than this is no current: it comes of the slope that an element at rest keeps."""


ALIKE = 1e-9
"""Share by which two currents may differ and still be the same; of such the first element counts."""


@dataclass(frozen=True, slots=True)
class Step:
    """An element passed on the way of the current.

    Parameters
    ----------
    settled : Settled
    branch : Branch
    ahead : bool
        Whether it is passed from its first node to its second.
    """

    settled: Settled
    branch: Branch
    ahead: bool

    @property
    def from_node(self) -> str:
        """The node it is passed from."""
        return self.branch.one if self.ahead else self.branch.other

    @property
    def to_node(self) -> str:
        """The node it is passed to."""
        return self.branch.other if self.ahead else self.branch.one

    @property
    def from_V(self) -> float | None:
        """Voltage of the first node against ground, None where nothing ties it to ground. [V]"""
        return self.settled.voltage_V(self.from_node)

    @property
    def to_V(self) -> float | None:
        """Voltage of the second node against ground, None where nothing ties it to ground. [V]"""
        return self.settled.voltage_V(self.to_node)

    @property
    def current_A(self) -> float:
        """Current in the direction walked; negative where it runs against it. [A]"""
        current = self.settled.current_A(self.branch)
        return current if self.ahead else -current


class Ways:
    """Finds the ways by which nodes of a settled network are fed, and by which current returns.

    Parameters
    ----------
    settled : Settled
    """

    def __init__(self, settled: Settled) -> None:
        self.settled = settled
        self.network: Network = settled.network
        self._known: dict[tuple[str, bool], tuple[Step, ...]] = {}

    @cached_property
    def _at(self) -> dict[str, list[Branch]]:
        found: dict[str, list[Branch]] = {node: [] for node in self.network.nodes}
        for branch in self.network.branches:
            if self.settled.active[branch.number]:
                found[branch.one].append(branch)
                found[branch.other].append(branch)
        return found

    def feed(self, node: str) -> tuple[Step, ...]:
        """From a source to a node, by the way that most of its current comes.

        Where no current flows, the shortest way over what conducts.

        Parameters
        ----------
        node : str

        Returns
        -------
        tuple of Step
            From the source on; empty where no source reaches the node.
        """
        if (node, True) not in self._known:
            upstream = list(self._upstream(node, self._inflow_for(self.network.forward)))
            self._known[node, True] = tuple(
                Step(self.settled, step.branch, not step.ahead) for step in reversed(upstream)
            )
        return self._known[node, True]

    def back(self, node: str) -> tuple[Step, ...]:
        """From a node back to a source, by the way that most of its current goes."""
        if (node, False) not in self._known:
            self._known[node, False] = tuple(self._upstream(node, self._inflow_for(-self.network.forward)))
        return self._known[node, False]

    def _upstream(self, node: str, inflow: Ints) -> Iterator[Step]:
        passed = {node}
        at = node
        index, branches = self.network.index, self.network.branches
        while True:
            number = int(inflow[index[at]])
            if number == len(branches):
                yield from self._without_current(at)
                return
            step = self.step(branches[number], at)
            yield step
            if step.branch.kind == "source":
                return
            at = step.to_node
            if at in passed:
                return
            passed.add(at)

    def _inflow_for(self, sign: float) -> Ints:
        return self._inflow if sign > 0 else self._outflow

    @cached_property
    def _inflow(self) -> Ints:
        """For every node the branch by which most current comes to it; the number of branches where none does."""
        return self._mains(1.0)

    @cached_property
    def _outflow(self) -> Ints:
        return self._mains(-1.0)

    def _mains(self, sign: float) -> Ints:
        circuit = self.network.circuit
        current = self.settled.solution.current_A * sign
        size = np.abs(current)
        numbers = np.flatnonzero((size > LEAST_A) & (circuit.one != circuit.other))
        size = size[numbers]
        node = np.where(current[numbers] > 0, circuit.other[numbers], circuit.one[numbers])
        most = np.zeros(circuit.nodes)
        np.maximum.at(most, node, size)
        main = size >= most[node] * (1 - ALIKE)
        found = np.full(circuit.nodes, len(self.network.branches))
        np.minimum.at(found, node[main], numbers[main])
        return found

    def _without_current(self, node: str) -> Iterator[Step]:
        """The shortest way to a source over what conducts and takes nothing, ground not passed."""
        before: dict[str, Step] = {}
        front, seen = deque([node]), {node}
        while front:
            at = front.popleft()
            for branch in self._at[at]:
                far = branch.other if branch.one == at else branch.one
                if branch.kind == "source" and at not in (far, self.network.ground):
                    way = [self.step(branch, at)]
                    while at != node:
                        step = before[at]
                        way.append(step)
                        at = step.from_node
                    yield from reversed(way)
                    return
                if far in seen or branch.kind in ("load", "coil", "source") or far in self.network.metal:
                    continue
                seen.add(far)
                before[far] = self.step(branch, at)
                front.append(far)

    def to_metal(self, node: str) -> tuple[str, ...]:
        """Elements of the shortest way from a node to the vehicle's metal over what conducts and takes nothing."""
        before: dict[str, tuple[str, str]] = {}
        front, seen = deque([node]), {node}
        while front:
            at = front.popleft()
            if at in self.network.metal_parts:
                way = []
                while at != node:
                    at, element = before[at]
                    way.append(element)
                return tuple(dict.fromkeys(reversed(way)))
            for branch in self._at[at]:
                far = branch.other if branch.one == at else branch.one
                if far not in seen and branch.kind not in ("load", "coil", "source"):
                    seen.add(far)
                    before[far] = (at, branch.element)
                    front.append(far)
        return ()

    def step(self, branch: Branch, from_node: str) -> Step:
        """A branch as it is passed from one of its nodes."""
        return Step(self.settled, branch, branch.one == from_node)


def elements_of(way: tuple[Step, ...]) -> tuple[str, ...]:
    """The elements on a way, each once, in the order passed."""
    return tuple(dict.fromkeys(step.branch.element for step in way))


def added_about(way: tuple[Step, ...], place: int) -> tuple[str, ...]:
    """The added elements passed one after the other about a place on a way."""
    first = last = place
    while first > 0 and is_added(way[first - 1].branch.element):
        first -= 1
    while last + 1 < len(way) and is_added(way[last + 1].branch.element):
        last += 1
    return tuple(step.branch.element for step in way[first : last + 1])
