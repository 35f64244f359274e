"""The voltage at every load before and after, over all that added joints and leads may be."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.behaviour import merged
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.linear import Linear
from harnessdiff.analyse.network.loads import state_of, terminal_of
from harnessdiff.analyse.network.ranges import ranges
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.unknowns import Bounds, UnknownConductance, VoltageBetween
from harnessdiff.analyse.network.values import rated
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import is_added
from harnessdiff.model.modification import Value
from harnessdiff.model.parts import Load
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import limit


class Drops:
    """Voltages at loads that are fed, or grounded, by way of something added whose resistance is a range.

    Parameters
    ----------
    answering : Answering
    """

    def __init__(self, answering: Answering) -> None:
        self.answering = answering
        self.before, self.after = answering.before, answering.after
        self.was: Network = next(iter(self.before.values())).network
        self.now: Network = next(iter(self.after.values())).network

    def consequences(self) -> tuple[Found, ...]:
        """For every load that may lose voltage: what it had, what it has, and what it may have at worst."""
        added = [branch for branch in self.now.branches if _is_added(branch)]
        if not added:
            return ()
        of_condition = {condition: self._in(condition, settled, added) for condition, settled in self.after.items()}
        return merged(found for some in of_condition.values() for found in some)

    def _in(self, condition: str, settled: Settled, added: list[Branch]) -> Iterator[Found]:
        open_ = [
            one
            for one in added
            if (_is_unknown(one) and abs(settled.current_A(one)) >= limit("draw_least"))
            # What was measured to lose so much counts although little of it is left to be known.
            or abs(settled.across_V(one)) >= limit("drop_least")
        ]
        touched = {one.element for one in open_}
        asked: list[tuple[Branch, tuple[str, ...]]] = []
        ways = self.answering.ways(condition, as_found=True)
        for load in self.now.loads:
            if not settled.conducts(load) or settled.resting[load.number] or not state_of(settled, load).works:
                continue
            way = (*ways.feed(load.one), *ways.back(load.other))
            elements = tuple(dict.fromkeys(step.branch.element for step in way))
            if touched.intersection(elements):
                asked.append((load, elements))
        if not asked:
            return
        linear = Linear(settled)
        bounds = ranges(
            linear.solve,
            linear.voltage_V,
            [_unknown(linear, one) for one in open_],
            [VoltageBetween(plus=linear.at(load.one), minus=linear.at(load.other)) for load, _ in asked],
            span_V=linear.span_V,
            tolerance=limit("range_tolerance"),
        )
        for (load, elements), found in zip(asked, bounds, strict=True):
            matters = {open_[number].element for number in found.mattered}
            own = tuple(one for one in elements if one in matters)
            if own:
                yield from self._told(condition, load, found, elements, own)

    def _told(
        self, condition: str, load: Branch, found: Bounds, path: tuple[str, ...], matters: tuple[str, ...]
    ) -> Iterator[Found]:
        before = self._before(condition, load)
        nominal, least = abs(float(found.nominal)), float(_least(found))
        most = float(max(abs(found.low), abs(found.high)))
        had = nominal if before is None else before
        if had - nominal < limit("drop_least") and max(had, most) - least < limit("drop_worst_least"):
            return
        assert isinstance(load.part, Load)
        rated_V = rated(load.part)[0]
        share = limit("load_on_share") * rated_V
        if least >= share if before is None else before < limit("load_glows_share") * rated_V:
            # An added load that has enough at worst lacks nothing; that one is on which should be off is told as such.
            return
        params: list[tuple[str, Value]] = [("matters", matters)]
        if least < share <= nominal:
            params.append(("may", "dim"))
        yield Found(
            consequence=Consequence(
                code="drop",
                subject=load.element,
                terminal=terminal_of(self.now, load),
                conditions=(condition,),
                before=None if before is None else Range.exactly(before, guaranteed=False),
                after=Range(low=least, nominal=min(max(nominal, least), most), high=most, guaranteed=False),
                unit="V",
                path=path,
                params=tuple(sorted(params)),
                sources=("joint resistances: engineering ranges (common practice)",),
            ),
            modifications=self.answering.of_elements(matters),
        )

    def _before(self, condition: str, load: Branch) -> float | None:
        twin = next(
            (one for one in self.was.branches_of(load.element) if (one.one, one.other) == (load.one, load.other)), None
        )
        if twin is None or not self.before[condition].conducts(twin):
            return None
        return abs(self.before[condition].across_V(twin))


def _least(found: Bounds) -> float:
    """The least size that a voltage may have."""
    return 0.0 if found.low < 0 < found.high else min(abs(found.low), abs(found.high))


def _is_added(branch: Branch) -> bool:
    """Whether a branch is something added, or changed, of which a range of resistances is known."""
    ohm = branch.value.ohm
    if ohm is None or ohm.high <= ohm.low:
        return False
    return is_added(branch.element) or any(is_added(part) for part in (branch.one, branch.other))


def _is_unknown(branch: Branch) -> bool:
    """Whether a resistance may be other than it is taken for."""
    ohm = branch.value.ohm
    return ohm is not None and ohm.high >= ohm.low * limit("range_wide")


def _unknown(linear: Linear, branch: Branch) -> UnknownConductance:
    ohm = branch.value.ohm
    assert ohm is not None
    stands_at = float(linear.conductance_S[branch.number])
    return UnknownConductance(
        plus=linear.at(branch.one),
        minus=linear.at(branch.other),
        nominal_S=stands_at,
        low_S=min(1 / ohm.high, stands_at),
        high_S=max(1 / ohm.low, stands_at),
    )
