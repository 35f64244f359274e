"""The way of the current through a solved network."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.settle import Settled

LEAST_A = 1e-6
"""Less than this is no current: it comes of the slope that an element at rest keeps."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """An element passed on the way of the current.

    Parameters
    ----------
    branch : Branch
    from_node, to_node : str
        In the direction walked.
    from_V, to_V : float or None
        Voltages against ground, None where nothing ties a node to it.
    current_A : float
        In the direction walked; negative where the current runs against it.
    """

    branch: Branch
    from_node: str
    to_node: str
    from_V: float | None
    to_V: float | None
    current_A: float


class Ways:
    """Finds the ways by which nodes of a settled network are fed, and by which current returns.

    Parameters
    ----------
    settled : Settled
    """

    def __init__(self, settled: Settled) -> None:
        self.settled = settled
        self.network: Network = settled.network

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
        return tuple(reversed([self._turned(step) for step in self._upstream(node, self.network.forward)]))

    def back(self, node: str) -> tuple[Step, ...]:
        """From a node back to a source, by the way that most of its current goes."""
        return tuple(self._upstream(node, -self.network.forward))

    def _upstream(self, node: str, sign: float) -> Iterator[Step]:
        passed = {node}
        at = node
        while True:
            branch = self._main_inflow(at, sign)
            if branch is None:
                yield from self._without_current(at)
                return
            step = self.step(branch, at)
            yield step
            if branch.kind == "source":
                return
            at = step.to_node
            if at in passed:
                return
            passed.add(at)

    def _main_inflow(self, node: str, sign: float) -> Branch | None:
        """The branch by which most current comes to a node; None where none does."""
        best: tuple[float, int] | None = None
        for branch in self._at[node]:
            current = self.settled.current_A(branch) * sign
            inflow = current if branch.other == node else -current
            if inflow > LEAST_A and branch.one != branch.other and (best is None or inflow > best[0] * (1 + 1e-9)):
                best = (inflow, branch.number)
        return None if best is None else self.network.branches[best[1]]

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

    def step(self, branch: Branch, from_node: str) -> Step:
        """A branch as it is passed from one of its nodes."""
        ahead = branch.one == from_node
        to_node = branch.other if ahead else branch.one
        current = self.settled.current_A(branch)
        return Step(
            branch=branch,
            from_node=from_node,
            to_node=to_node,
            from_V=self.settled.voltage_V(from_node),
            to_V=self.settled.voltage_V(to_node),
            current_A=current if ahead else -current,
        )

    def _turned(self, step: Step) -> Step:
        return self.step(step.branch, step.to_node)


def elements_of(way: tuple[Step, ...]) -> tuple[str, ...]:
    """The elements on a way, each once, in the order passed."""
    return tuple(dict.fromkeys(step.branch.element for step in way))
