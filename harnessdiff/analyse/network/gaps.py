"""Where a way is interrupted: open contacts, cuts, fuses that are blown or missing, wires taken off."""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from harnessdiff.analyse.network.build import Branch
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.way import Ways
from harnessdiff.graph import slot_of, terminal_names
from harnessdiff.model.harness import Conductor, Cut, Device, Harness
from harnessdiff.tables.loader import limit

BLIND = frozenset({"load", "coil", "source"})
"""Kinds that a way does not lead through."""
PIECES = frozenset({"conductor", "contact"})
GAP_COST = 1_000_000
USUAL_GAP_COST = 10_000
"""A gap is worse than any number of elements that conduct; one on the usual way is a likelier cause than others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """A piece of a way: something that conducts, or a gap.

    Parameters
    ----------
    one, other : str
        Its ends, in the direction walked.
    element : str
        What conducts there, or would.
    branch : Branch or None
        The branch passed; of a gap the one that does not conduct, None where there is none.
    gap : str or None
        None where it conducts; else ``open`` (a contact by its position), ``not_pulled_in`` or
        ``pulled_in`` (a contact by its coil), ``output_off``, ``cut``, ``blown``, ``empty`` (a slot),
        ``gone``, ``unplugged`` or ``taken_off`` (an end of a wire).
    """

    one: str
    other: str
    element: str
    branch: Branch | None = None
    gap: str | None = None

    def turned(self) -> Leg:
        """The same, walked from its other end."""
        return Leg(one=self.other, other=self.one, element=self.element, branch=self.branch, gap=self.gap)


class Gaps:
    """Finds the way between nodes with the fewest gaps.

    Parameters
    ----------
    settled : Settled
        The network in which the way is looked for.
    before : Settled or None
        The harness as it should be, so that what is missing counts as a gap, and the way that current took
        there is looked at first.
    """

    def __init__(self, settled: Settled, before: Settled | None = None) -> None:
        self.settled, self.network = settled, settled.network
        self.before = before
        self.reference = None if before is None else before.network
        self.ways = Ways(settled)

    @cached_property
    def sources(self) -> tuple[str, ...]:
        """The live poles of sources, those at more than half of the system's voltage before all others."""
        found = [one for branch in self.network.branches if branch.kind == "source" for one in [self._live(branch)]]
        least = self.network.system_V / 2
        strong = [node for node in found if abs(self.settled.voltage_V(node) or 0.0) > least]
        return tuple(dict.fromkeys(strong or found))

    def _live(self, branch: Branch) -> str:
        return branch.one if self.network.forward > 0 else branch.other

    def feed(self, node: str) -> tuple[Leg, ...] | None:
        """The way from a source to a node, metal not passed; None where nothing leads there."""
        usual = self._usual(node, back=False)
        return self.way(self.sources, node, self.network.forward, self.network.metal - {node}, usual=usual)

    def back(self, node: str) -> tuple[Leg, ...] | None:
        """The way from a node to ground, the live poles not passed; None where nothing leads there."""
        usual = self._usual(node, back=True)
        avoid = frozenset(self.sources) - {node}
        return self.way((node,), self.network.ground, self.network.forward, avoid, usual=usual)

    def _usual(self, node: str, *, back: bool) -> frozenset[str]:
        """The elements by which the reference feeds a node, or would where it is dead there, too."""
        if self.before is None or node not in self.before.network.index:
            return frozenset()
        ways = Ways(self.before)
        steps = ways.back(node) if back else ways.feed(node)
        least = limit("load_glows_share") * self.network.system_V
        if steps and (back or abs(self.before.voltage_V(node) or 0.0) >= least):
            return frozenset(step.branch.element for step in steps)
        gaps = Gaps(self.before)
        return frozenset(leg.element for leg in (gaps.back(node) if back else gaps.feed(node)) or ())

    def _cost(self, leg: Leg, usual: frozenset[str]) -> int:
        if leg.gap is None:
            return 1
        on = self.network.harness.targets(leg.element, "on")
        return USUAL_GAP_COST if usual & {leg.element, *on} else GAP_COST

    def way(
        self,
        starts: Iterable[str],
        goal: str,
        sense: float,
        avoid: frozenset[str] = frozenset(),
        *,
        usual: frozenset[str] = frozenset(),
        loads: bool = False,
        gaps: bool = True,
    ) -> tuple[Leg, ...] | None:
        """The way with the fewest gaps, of those the shortest.

        Parameters
        ----------
        starts : iterable of str
        goal : str
        sense : float
            1 where current flows from start to goal, -1 where it flows the other way: diodes let it pass or not.
        avoid : frozenset of str
            Nodes that are not passed.
        usual : frozenset of str
            Elements in which a gap is looked for before all others.
        loads : bool
            Whether loads and coils may be passed.
        gaps : bool
            Whether gaps may be.

        Returns
        -------
        tuple of Leg or None
            Empty where a start is the goal; None where there is no way.
        """
        best: dict[str, int] = {}
        before: dict[str, Leg] = {}
        front = [(0, number, node) for number, node in enumerate(starts) if node not in avoid]
        counter = len(front)
        best.update((node, 0) for _, _, node in front)
        while front:
            cost, _, node = heapq.heappop(front)
            if node == goal:
                return tuple(self._traced(before, goal))
            if cost > best[node]:
                continue
            for leg in self._legs.get(node, ()):
                if not _passable(leg, sense, loads=loads, gaps=gaps) or leg.other in avoid:
                    continue
                total = cost + self._cost(leg, usual)
                if total < best.get(leg.other, total + 1):
                    best[leg.other], before[leg.other] = total, leg
                    counter += 1
                    heapq.heappush(front, (total, counter, leg.other))
        return None

    def _traced(self, before: dict[str, Leg], goal: str) -> list[Leg]:
        found = []
        while goal in before:
            leg = before[goal]
            found.append(leg)
            goal = leg.one
        return found[::-1]

    @cached_property
    def _legs(self) -> dict[str, list[Leg]]:
        found: dict[str, list[Leg]] = {}
        for leg in (*self._of_branches(), *self._of_harness(), *self._of_reference()):
            found.setdefault(leg.one, []).append(leg)
            found.setdefault(leg.other, []).append(leg.turned())
        return found

    def _of_branches(self) -> Iterator[Leg]:
        for branch in self.network.branches:
            if branch.kind != "source" and branch.one != branch.other:
                conducts = self.settled.conducts(branch)
                if conducts or branch.kind not in BLIND:
                    gap = None if conducts else self._why_open(branch)
                    yield Leg(one=branch.one, other=branch.other, element=branch.element, branch=branch, gap=gap)

    def _why_open(self, branch: Branch) -> str:
        if branch.kind == "output":
            return "output_off"
        for guarded in self.network.guards_of(branch.number):
            if guarded.when.energised is not None:
                return "not_pulled_in" if guarded.when.energised else "pulled_in"
        return "open"

    def _of_harness(self) -> Iterator[Leg]:
        """What does not conduct, whatever the condition."""
        harness = self.network.harness
        for element in harness.elements:
            if isinstance(element, Cut):
                yield Leg(one=f"{element.id}#1", other=f"{element.id}#2", element=element.id, gap="cut")
            elif isinstance(element, Conductor):
                for number, inline in enumerate(element.inline):
                    if inline.state == "blown":
                        near, far = f"{element.id}~{number}#1", f"{element.id}~{number}#2"
                        yield Leg(one=near, other=far, element=element.id, gap="blown")
            elif isinstance(element, Device):
                terminals = terminal_names(harness, slot_of(harness, element.id))
                empty = element.kind == "fuse_slot" and not harness.subjects(element.id, "seat")
                if (element.state == "blown" or empty) and len(terminals) >= 2:
                    gap = "empty" if empty else "blown"
                    yield Leg(one=terminals[0], other=terminals[1], element=element.id, gap=gap)

    def _of_reference(self) -> Iterator[Leg]:
        """What the reference has and this harness has not."""
        if self.reference is None:
            return
        harness, index = self.network.harness, self.network.index
        there = {(one.element, one.kind, frozenset((one.one, one.other))) for one in self.network.branches}
        for branch in self.reference.branches:
            key = (branch.element, branch.kind, frozenset((branch.one, branch.other)))
            if branch.kind in BLIND | PIECES or key in there or branch.one not in index or branch.other not in index:
                continue
            device = harness.device(branch.element)
            if device is None or device.state != "blown":
                gap = "unplugged" if device is not None and device.connected == "no" else "gone"
                yield Leg(one=branch.one, other=branch.other, element=branch.element, branch=branch, gap=gap)
        for conductor in self.reference.harness.conductors():
            yield from self._of_conductor(conductor.id, self.reference.harness, harness)

    def _of_conductor(self, conductor: str, before: Harness, after: Harness) -> Iterator[Leg]:
        was = [before.targets(conductor, "end_1"), before.targets(conductor, "end_2")]
        if after.conductor(conductor) is None:
            if was[0] and was[1]:
                yield Leg(one=was[0][0], other=was[1][0], element=conductor, gap="gone")
            return
        now = [after.targets(conductor, "end_1"), after.targets(conductor, "end_2")]
        for number in (0, 1):
            for target in set(was[number]) - set(now[number]):
                if not now[number]:
                    yield Leg(one=f"{conductor}#{number + 1}", other=target, element=conductor, gap="taken_off")


def _passable(leg: Leg, sense: float, *, loads: bool, gaps: bool) -> bool:
    if leg.gap is not None:
        return gaps
    branch = leg.branch
    if branch is None or branch.kind in BLIND:
        return loads
    return branch.kind != "diode" or (leg.one == branch.one) == (sense > 0)
