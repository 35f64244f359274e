"""The way of the current to and from a place, and between two, as rows for a person or a program."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from harnessdiff.analyse.network.build import Branch
from harnessdiff.analyse.network.faults import shorts_everywhere
from harnessdiff.analyse.network.gaps import Gaps, Leg
from harnessdiff.analyse.network.loads import load_state
from harnessdiff.analyse.network.way import Step, Ways
from harnessdiff.graph import slot_of
from harnessdiff.model.harness import is_added
from harnessdiff.model.parts import Load
from harnessdiff.model.reference import Condition
from harnessdiff.report.condition_rows import currents_differ
from harnessdiff.report.places import Place, check_there, condition_for, ends_of, loads_of, place_of
from harnessdiff.report.solved import Solved, standing_words
from harnessdiff.report.way_words import WayWords
from harnessdiff.tables.loader import limit
from harnessdiff.words import bare

QUIET = frozenset({"contact", "bond"})
"""Kinds that have no line of their own where next to nothing drops over them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A line of a way: what is passed, where it leads, the volts there and the current through it."""

    branch: Branch | None
    gap: Leg | None
    from_node: str
    to_node: str
    from_V: float | None
    to_V: float | None
    current_A: float


@dataclass(frozen=True, kw_only=True)
class Section:
    """A part of the answer: a title, its rows, and what is said beneath."""

    title: str
    rows: tuple[Row, ...]
    says: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Path:
    """The answer: what was asked, in which condition, and the ways found."""

    heading: str
    condition: Condition
    why: str
    sections: tuple[Section, ...]
    notes: tuple[str, ...]


def path_of(solved: Solved, start: str, goal: str | None) -> Path:
    """The way of the current to and from a place, or between two places.

    Parameters
    ----------
    solved : Solved
    start : str
    goal : str or None

    Returns
    -------
    Path

    Raises
    ------
    InputError
        If one of the places is not there.
    """
    for name in (start, goal):
        if name is not None:
            check_there(solved, name)
    condition, why = condition_for(solved, start)
    finder = _Finder(solved, condition)
    sections = finder.around(start) if goal is None else finder.between(start, goal)
    return Path(
        heading=finder.heading(start, goal),
        condition=condition,
        why=why,
        sections=sections,
        notes=(*standing_words(solved.now[condition.id]), *(finder.short_words(start) if goal is None else ())),
    )


class _Finder:
    def __init__(self, solved: Solved, condition: Condition) -> None:
        self.solved, self.condition = solved, condition
        self.settled = solved.now[condition.id]
        self.network = self.settled.network
        self.ways = Ways(self.settled)
        self.words = WayWords(solved.describer, self.network.harness)
        self.gaps = Gaps(self.settled, None if solved.after is None else solved.before[condition.id])

    def short_words(self, start: str) -> tuple[str, ...]:
        """What a short to ground at a live place would draw, and through which fuse."""
        place = self._place(start)
        load = self._live_load(place)
        node = self._entry(place) if load is None else ends_of(self.settled, load)[0]
        if not self._has_volts(node) or node in self.network.metal:
            return ()
        current, fuse = shorts_everywhere(self.settled).at(node)
        by = f" through {self.words.element(fuse)}" if fuse is not None else ", through no fuse"
        return (f"a short to ground at {bare(node)} would draw about "
                f"{current:.0f} A{by}",)  # fmt: skip

    def heading(self, start: str, goal: str | None) -> str:
        """What was asked, and what the load in question does."""
        place = self._place(start)
        named = self.solved.describer.name(place.name)
        if goal is not None:
            return f"{named} to {self.solved.describer.name(self._place(goal).name)}"
        load = self._live_load(place)
        if load is None:
            return named
        if not isinstance(load.part, Load):
            pulled = "pulled in" if load.element in self.settled.state.pulled else "not pulled in"
            return f"{named}: {pulled}, {volt_words(abs(self.settled.across_V(load)))} V across its coil"
        state = load_state(self.settled, load)
        across = "not connected" if state.across_V is None else f"{volt_words(abs(state.across_V))} V across it"
        ends = " to ".join(node.rsplit(":", 1)[-1] for node in ends_of(self.settled, load))
        return f"{named}, {ends}: {state.code.replace('_', ' ')}, {across}"

    def _place(self, name: str) -> Place:
        return place_of(self.network, name, self.solved.reference.id)

    def _live_load(self, place: Place) -> Branch | None:
        """Of a device's loads the one that draws most, else the one with most volts at its feed."""
        loads = loads_of(self.network, place)
        if not loads:
            return None
        return max(loads, key=lambda one: (
            abs(self.settled.current_A(one)) if self.settled.conducts(one) else 0.0,
            abs(self.settled.voltage_V(ends_of(self.settled, one)[0]) or 0.0), -one.number))  # fmt: skip

    def around(self, name: str) -> tuple[Section, ...]:
        """From the source to a place, and from there back."""
        place = self._place(name)
        load = self._live_load(place)
        if load is not None:
            fed, returning = ends_of(self.settled, load)
            feed, back = self._feed(fed), self._back(returning)
            through = Section(title="through", rows=self._rows([self.ways.step(load, fed)]))
            return (feed, through, back)
        node = self._entry(place)
        if self._has_volts(node) or node in self.network.metal:
            return (self._feed(node), self._back(node))
        at = [one for one in self.network.branches if one.kind in ("load", "coil") and node in (one.one, one.other)]
        if not at:
            return (self._feed(node),)
        # A dead place: what trickles back from it through inputs and lamps is not how its own load is grounded.
        step = self.ways.step(at[0], node)
        back = self._back(step.to_node)
        return (self._feed(node), replace(back, rows=(*self._rows([step]), *back.rows)))

    def _entry(self, place: Place) -> str:
        """Of several nodes the one that current reaches last, so that the way passes what was asked for."""
        return max(place.nodes, key=lambda node: (len(self.ways.feed(node)), -place.nodes.index(node)))

    def _feed(self, node: str) -> Section:
        title, steps = "from the source", self.ways.feed(node)
        legs = None if node in self.network.metal or self._has_volts(node) else self.gaps.feed(node)
        if legs is not None and any(leg.gap for leg in legs):
            # What trickles to a dead place through inputs and lamps is not how it is fed.
            return self._interrupted(title, legs, node)
        if steps and steps[0].branch.kind == "source":
            return Section(title=title, rows=self._rows(steps[1:], source=steps[0]))
        if node in self.network.metal:
            return Section(title=title, rows=(), says=(f"{self.words.place(node)} is ground",))
        return self._interrupted(title, self.gaps.feed(node), node)

    def _has_volts(self, node: str) -> bool:
        least = limit("load_glows_share") * self.network.system_V
        return abs(self.settled.voltage_V(node) or 0.0) >= least

    def _back(self, node: str) -> Section:
        title = "back to the source"
        steps = self.ways.back(node)
        if steps and steps[-1].branch.kind == "source":
            return Section(title=title, rows=self._rows(steps[:-1]))
        return self._interrupted(title, self.gaps.back(node), node)

    def _interrupted(self, title: str, legs: tuple[Leg, ...] | None, node: str) -> Section:
        """A way over what would conduct: as far as it is whole, and what stands in it."""
        says: tuple[str, ...]
        if legs is None:
            says = (f"nothing leads {'there' if title.startswith('from') else 'back from there'}: not connected",)
            return Section(title=title, rows=(), says=says)
        broken = [leg for leg in legs if leg.gap]
        if not broken:
            says = () if legs else (f"{self.words.place(node)} is at the source itself",)
            return Section(title=title, rows=self._rows(self._steps(legs)), says=says)
        first = legs.index(broken[0])
        rows = (*self._rows(self._steps(legs[:first])), *self._gap_rows(broken))
        last = broken[0].one
        says = (
            f"ends at {self.words.place(last)}{self._at(last)}: {self._gap(broken[0])}",
            *(f"then: {self._gap(leg)}" for leg in broken[1:]),
        )
        return Section(title=title, rows=rows, says=says)

    def _at(self, node: str) -> str:
        volts = self.settled.voltage_V(node)
        return " (not connected)" if volts is None else f" ({volt_words(volts)} V)"

    def _gap(self, leg: Leg) -> str:
        return self.words.gap(leg, self.network.position_of(leg.element, self.condition))

    def _gap_rows(self, broken: Iterable[Leg]) -> list[Row]:
        return [
            Row(branch=None, gap=leg, from_node=leg.one, to_node=leg.other, from_V=self.settled.voltage_V(leg.one),
                to_V=self.settled.voltage_V(leg.other), current_A=0.0)
            for leg in broken
        ]  # fmt: skip

    def _steps(self, legs: Iterable[Leg]) -> list[Step]:
        return [self.ways.step(leg.branch, leg.one) for leg in legs if leg.branch is not None]

    def between(self, start: str, goal: str) -> tuple[Section, ...]:
        """The way between two places over what conducts, else where it ends."""
        pairs = [(one, other) for one in self._nodes(start) for other in self._nodes(goal)]
        legs = self._joining(pairs, loads=False)
        if legs == ():
            return (Section(title="between them", rows=(), says=("they are the same place",)),)
        if legs is not None:
            title = f"between them, from {self.words.place(legs[0].one)}{self._at(legs[0].one)}"
            return (Section(title=title, rows=self._rows(self._steps(legs))),)
        broken = self._broken(pairs)
        through = self._joining(pairs, loads=True) or ()
        loads = [leg.element for leg in through if leg.branch is not None and leg.branch.kind in ("load", "coil")]
        names = ", ".join(bare(slot_of(self.network.harness, one)) for one in dict.fromkeys(loads))
        return (replace(broken, says=(*broken.says, f"only loads join them: {names}")) if names else broken,)

    def _joining(self, pairs: list[tuple[str, str]], *, loads: bool) -> tuple[Leg, ...] | None:
        """The shortest way between any of some pairs over what conducts, current flowing either way."""
        found = []
        for one, other in pairs:
            ahead = self.gaps.way((one,), other, 1.0, loads=loads, gaps=False)
            behind = self.gaps.way((other,), one, 1.0, loads=loads, gaps=False)
            turned = None if behind is None else tuple(leg.turned() for leg in reversed(behind))
            found += [way for way in (ahead, turned) if way is not None]
        return min(found, key=len, default=None)

    def _broken(self, pairs: list[tuple[str, str]]) -> Section:
        """Where the way between two places would be, and what stands in it."""
        found = [(way, one) for one, other in pairs if (way := self.gaps.way((one,), other, 1.0)) is not None]
        if not found:
            says = ("there is no way between them: nothing that could conduct joins them",)
            return Section(title="between them", rows=(), says=says)
        legs, one = min(found, key=lambda each: (sum(leg.gap is not None for leg in each[0]), len(each[0])))
        return self._interrupted("nothing conducts between them; the way would be", legs, one)

    def _nodes(self, name: str) -> tuple[str, ...]:
        return self._place(name).nodes

    def _rows(self, steps: Iterable[Step], source: Step | None = None) -> tuple[Row, ...]:
        """Steps as lines; what says nothing of its own is part of the line before."""
        rows = [] if source is None else [self._row(source)]
        for step in steps:
            row = self._row(step)
            if not _drops(row):
                if step.branch.kind == "contact" and step.from_node == step.branch.element:
                    continue  # Out of a joint: the joint is the place that a person knows.
                last = rows[-1] if rows else None
                if last is not None and (_goes_on(last, row) or self._quiet(last, row)):
                    rows[-1] = replace(last, to_node=row.to_node, to_V=row.to_V)
                    continue
            rows.append(row)
        return tuple(rows)

    def _row(self, step: Step) -> Row:
        # Where the battery's plus is on the body, what flows from the source to a load flows in at the load's feed.
        current_A = step.current_A * self.network.forward + 0.0
        return Row(branch=step.branch, gap=None, from_node=step.from_node, to_node=step.to_node, from_V=step.from_V,
                   to_V=step.to_V, current_A=current_A)  # fmt: skip

    def _quiet(self, last: Row, row: Row) -> bool:
        """Whether a line that drops nothing can be left out: not one that is added, ground, or right at a source."""
        if row.branch is None or last.branch is None or last.branch.kind == "source":
            return False
        grounds = row.branch.kind == "bond" and row.branch.other in self.network.metal
        return row.branch.kind in QUIET and not is_added(row.branch.element) and not grounds


def _goes_on(last: Row, row: Row) -> bool:
    """Whether a line is the next piece of the same wire, with the same current in it."""
    if last.branch is None or row.branch is None or currents_differ(last.current_A, row.current_A):
        return False
    return last.branch.kind == row.branch.kind == "conductor" and last.branch.element == row.branch.element


def volt_words(volts: float) -> str:
    """A voltage to the hundredth, without a sign before nothing."""
    return f"{round(volts, 2) + 0.0:.2f}"


def _drops(row: Row) -> bool:
    return None not in (row.from_V, row.to_V) and abs((row.from_V or 0) - (row.to_V or 0)) >= limit("joint_drop_shown")
