"""What is live, dead, dimmed or fed by another road: two harnesses held against each other in every condition."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from harnessdiff.analyse.answering import Answer, Answering
from harnessdiff.analyse.contents import may_draw_A
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.loads import WORKING, LoadState, hangs_on_unknown, state_of, terminal_of
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.analyse.network.way import added_about
from harnessdiff.analyse.network.without import dead_without, killers
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Device, Harness, Inline, is_added
from harnessdiff.model.modification import Value
from harnessdiff.model.parts import Coil, Load
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import limit

LIVE = WORKING
WORKS = frozenset({"on", "dim"})
DIMMED_SHARE = 1 - limit("load_on_share")
"""Share of its voltage that a load must lose that was not on by the reference."""
RESTING = frozenset({"rests"})
"""Codes of a load that keeps what it remembers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pair:
    """A load on the reference and as found; None on the side where it is not."""

    before: Branch | None
    after: Branch | None

    @property
    def branch(self) -> Branch:
        branch = self.after or self.before
        assert branch is not None
        return branch


class Behaviour:
    """Two networks in every condition, compared.

    Parameters
    ----------
    answering : Answering
    before, after : mapping of str to Settled
    recorded : Harness
        What was found, as it was recorded: without what was supposed of the contents of its devices.
    """

    def __init__(
        self,
        answering: Answering,
        before: Mapping[str, Settled],
        after: Mapping[str, Settled],
        recorded: Harness,
    ) -> None:
        self.recorded = recorded
        self.answering, self.before, self.after = answering, before, after
        self.was: Network = next(iter(before.values())).network
        self.now: Network = next(iter(after.values())).network

    def consequences(self) -> tuple[Found, ...]:
        """Everything that behaves otherwise, over all conditions."""
        found = [
            *self._loads(),
            *self._fuses_out(),
            *self._backfeeds(),
            *self._states(),
        ]
        return merged(found)

    @cached_property
    def pairs(self) -> tuple[_Pair, ...]:
        """Loads and coils of both networks, matched by device and terminals."""
        keys: dict[tuple[str, str, str, int], list[Branch | None]] = {}
        for side, network in enumerate((self.was, self.now)):
            count: dict[tuple[str, str, str], int] = {}
            for branch in (*network.loads, *network.coils):
                key = (branch.element, branch.one, branch.other)
                count[key] = count.get(key, -1) + 1
                keys.setdefault((*key, count[key]), [None, None])[side] = branch
        return tuple(_Pair(before=sides[0], after=sides[1]) for sides in keys.values())

    # -- loads

    def _loads(self) -> Iterator[Found]:
        for condition, pair in itertools.product(self.before, self.pairs):
            before = state_of(self.before[condition], pair.before) if pair.before else None
            after = state_of(self.after[condition], pair.after) if pair.after else None
            if pair.before is None:
                yield from self._added(pair, condition, after)
            elif after is not None and before is not None:
                yield from self._changed(pair, condition, before, after)

    def _added(self, pair: _Pair, condition: str, after: LoadState | None) -> Iterator[Found]:
        assert after is not None
        if after.code in LIVE and isinstance(pair.branch.part, Coil) is False and abs(after.current_A) > 0:
            answer = self.answering.live(pair.branch, condition)
            if not answer.modifications:
                answer = Answer(modifications=self.answering.of_elements([pair.branch.element]), path=answer.path)
            assert isinstance(pair.branch.part, Load)
            device = self.recorded.device(pair.branch.element)
            drawn = abs(after.current_A)
            if drawn >= limit("draw_least"):
                may = may_draw_A(device, pair.branch.part, drawn, at_rest=False)
                yield self._found(
                    "draws", pair, condition, answer, after=_between(may, drawn), unit="A", state=after.code,
                    supposed="yes" if device is not None and device.hypotheses and not device.parts else None,
                )  # fmt: skip
            if after.code == "reversed":
                yield self._found("reversed", pair, condition, answer, after=_size(after.across_V), unit="V")

    def _changed(self, pair: _Pair, condition: str, before: LoadState, after: LoadState) -> Iterator[Found]:
        code = _code_of(before, after)
        is_coil = isinstance(pair.branch.part, Coil)
        if code is None or (is_coil and code == "dimmed"):
            yield from self._another_road(pair, condition, before, after)
            return
        branch = pair.branch
        if code == "dead" and hangs_on_unknown(self.now, branch):
            return
        if code == "live_unasked":
            answer = self.answering.live(branch, condition)
        else:
            assert pair.before is not None
            answer = (self.answering.dead if code == "dead" else self.answering.less)(pair.before, condition)
            if not answer.modifications:
                answer = self.answering.live(branch, condition)
            if code == "dimmed" and not answer.modifications:
                answer = Answer(modifications=self._heaviest(condition), path=answer.path)
        if self._refused(branch.element, condition) and code == "live_unasked":
            code = "refusal_defeated"
        yield self._found(
            code, pair, condition, answer,
            before=_size(before.across_V), after=_size(after.across_V), unit="V",
            was=before.code, state=after.code,
        )  # fmt: skip
        if code == "dimmed":
            yield from self._another_road(pair, condition, before, after)

    def _heaviest(self, condition: str) -> tuple[int, ...]:
        """Who answers for the added load that draws most, where no way but the supply itself is shared."""
        settled = self.after[condition]
        added = [one for one in self.now.loads if is_added(one.element) and settled.conducts(one)]
        heaviest = max(added, key=lambda one: (abs(settled.current_A(one)), -one.number), default=None)
        return () if heaviest is None else self.answering.live(heaviest, condition).modifications

    def _refused(self, device: str, condition: str) -> bool:
        return device in self.before[condition].condition.must_stay_dead

    def _another_road(self, pair: _Pair, condition: str, before: LoadState, after: LoadState) -> Iterator[Found]:
        """That a load which works gets its current through other protection, or through an added device."""
        if after.code not in WORKS or before.code not in WORKS or pair.before is None or pair.after is None:
            return
        was = self.answering.ways(condition, as_found=False).feed(pair.before.one)
        now = self.answering.ways(condition, as_found=True).feed(pair.after.one)
        fuses_was = [step.branch.element for step in was if step.branch.kind == "fuse"]
        fuses_now = [step.branch.element for step in now if step.branch.kind == "fuse"]
        path = tuple(dict.fromkeys(step.branch.element for step in now))
        if self._last(fuses_was) != self._last(fuses_now):
            answer = Answer(modifications=self.answering.on(path), path=path)
            masked = tuple(one for one in fuses_was if self._blown(one))
            if answer.modifications or masked:
                yield self._found(
                    "masked_blown_fuse" if masked else "other_fuse", pair, condition, answer,
                    fuses_before=tuple(fuses_was), fuses_after=tuple(fuses_now), blown=masked,
                )  # fmt: skip
        feed, back = self.answering.sides(pair.after, condition)
        round_ = (*feed, *back)
        for place, step in enumerate(round_):
            device, kind = step.branch.element, step.branch.kind
            if kind not in ("link", "output") or device in self.was.harness.by_id:
                continue
            if state_of(self._opened((step.branch.number,), condition), pair.after).code not in WORKS:
                answer = Answer(modifications=self.answering.on(added_about(round_, place)), path=path)
                yield self._found("fed_through_added", pair, condition, answer, through=(device,))

    @staticmethod
    def _last(fuses: list[str]) -> str | None:
        return fuses[-1] if fuses else None

    def _blown(self, fuse: str) -> bool:
        device = self.now.harness.device(fuse)
        return isinstance(device, Device) and device.state == "blown"

    # -- each fuse out

    def _fuses_out(self) -> Iterator[Found]:
        """Loads that stay live with their fuse out, where on the reference they go dead."""
        by_number = {pair.before.number: pair for pair in self.pairs if pair.before and pair.after}
        for condition, before in self.before.items():
            wanted = [
                (self.was.branches[fuse].element, by_number[load])
                for fuse, loads in dead_without(before).items()
                if self.was.branches[fuse].kind == "fuse"
                for load in sorted(loads)
                if load in by_number and state_of(self.after[condition], by_number[load].branch).code in WORKS
            ]
            if not wanted:
                continue
            gone, used = killers(self.after[condition]), killers(before)
            for fuse, pair in wanted:
                assert pair.before is not None
                now = gone.get(pair.branch.number, frozenset())
                # What has come behind another fuse, and dies with that one, has no second feed.
                moved = now - used[pair.before.number]
                if fuse in self.now.harness.by_id and fuse not in now and not moved:
                    yield from self._without(fuse, pair, condition)

    def _without(self, fuse: str, pair: _Pair, condition: str) -> Iterator[Found]:
        """That a load works with a fuse out: solved anew, to be sure of it."""
        opened = tuple(branch.number for branch in self.now.branches_of(fuse) if branch.kind == "fuse")
        if not opened:
            return
        solved = self._opened(opened, condition)
        state = state_of(solved, pair.branch)
        if state.code not in WORKS:
            return
        answering = Answering(
            self.answering.modifications, self.answering.installs, self.before, {**self.after, condition: solved}
        )
        answer = answering.live(pair.branch, condition)
        yield self._found(
            "stays_live_without_fuse", pair, condition, answer, after=_size(state.across_V), unit="V", fuse=fuse
        )

    def _opened(self, branches: tuple[int, ...], condition: str) -> Settled:
        """What was found, with some branches open besides those that are."""
        key = (branches, condition)
        if key not in self._solved_opened:
            standing = self.after[condition]
            blown = self.answering.blown.get(condition, {})
            fuses = [one.number for fuse in blown for one in self.now.branches_of(fuse) if one.kind == "fuse"]
            self._solved_opened[key] = settle(
                self.now, standing.condition, standing.state, opened=(*branches, *fuses), guess=standing
            )
        return self._solved_opened[key]

    @cached_property
    def _solved_opened(self) -> dict[tuple[tuple[int, ...], str], Settled]:
        return {}

    # -- current the wrong way

    def _backfeeds(self) -> Iterator[Found]:
        """Protection and contacts through which current now runs the other way."""
        least = limit("backfeed_least")
        for branch in self.now.branches:
            if branch.kind not in ("fuse", "link", "output") or isinstance(branch.part, Inline):
                continue
            twin = self._twin(branch)
            if twin is None:
                continue
            usual = self._usual_direction(twin)
            for condition, settled in self.after.items():
                current = settled.current_A(branch)
                if abs(current) < least or usual == 0 or (current > 0) == (usual > 0):
                    continue
                if abs(self.before[condition].current_A(twin)) >= least:
                    continue
                answer = self.answering.backwards(branch.one if current > 0 else branch.other, condition)
                if answer.modifications:
                    yield self._found(
                        "backfeed", _Pair(before=twin, after=branch), condition, answer,
                        after=_size(current), unit="A",
                    )  # fmt: skip

    def _twin(self, branch: Branch) -> Branch | None:
        return next(
            (
                one
                for one in self.was.branches_of(branch.element)
                if (one.one, one.other, one.kind) == (branch.one, branch.other, branch.kind)
            ),
            None,
        )

    def _usual_direction(self, branch: Branch) -> int:
        """1 or -1 where the current of a branch of the reference always runs one way, 0 where it does both or none."""
        least = limit("backfeed_least")
        signs = {
            1 if current > 0 else -1
            for settled in self.before.values()
            if abs(current := settled.current_A(branch)) >= least
        }
        return signs.pop() if len(signs) == 1 else 0

    # -- relays

    def _states(self) -> Iterator[Found]:
        """Devices that hold once triggered, come to no rest, or bring the supply down, and did not before."""
        for condition, after in self.after.items():
            before = self.before[condition]
            for code, names in (
                ("holds_once_triggered", set(after.holds) - set(before.holds)),
                ("oscillates", set(after.oscillates) - set(before.oscillates)),
                ("supply_collapses", set(after.collapsed) - set(before.collapsed)),
            ):
                for name in sorted(names):
                    branches = self.now.branches_of(name.rsplit(":", 1)[0]) or self.now.branches_of(name)
                    if branches:
                        coil = next((one for one in branches if one.kind in ("coil", "load")), branches[0])
                        answer = self.answering.live(coil, condition)
                        yield self._found(code, _Pair(before=None, after=coil), condition, answer)

    def _found(
        self,
        code: str,
        pair: _Pair,
        condition: str,
        answer: Answer,
        *,
        before: Range | None = None,
        after: Range | None = None,
        unit: str | None = None,
        **params: Value,
    ) -> Found:
        branch = pair.branch
        consequence = Consequence(
            code=code,
            subject=branch.element,
            terminal=terminal_of(self.now if pair.after else self.was, branch),
            conditions=(condition,),
            before=before,
            after=after,
            unit=unit,
            path=answer.path,
            because=answer.because,
            params=tuple(sorted((name, value) for name, value in params.items() if value is not None)),
        )
        return Found(consequence=consequence, modifications=answer.modifications)


def _code_of(before: LoadState, after: LoadState) -> str | None:
    """What has become of a load, None where nothing did that counts."""
    if after.code == "reversed" and before.code != "reversed":
        return "reversed"
    gained = (after.share_of_rated_V or 1.0) - (before.share_of_rated_V or 0.0)
    if before.code not in LIVE and after.code in LIVE and gained > limit("glows_more"):
        return "live_unasked"
    if before.code in WORKS | RESTING and after.code not in LIVE | RESTING:
        return "dead"
    had = abs(before.across_V or 0.0)
    lost = had - abs(after.across_V or 0.0)
    # What was not fully on by the reference, such as a gauge, is where a little less gives it another name.
    least = limit("dimmed_least") if before.code == "on" else max(limit("dimmed_least"), DIMMED_SHARE * had)
    if before.code in LIVE and after.code in LIVE and before.code != after.code and lost > least:
        return "dimmed"
    return None


def _size(value: float | None) -> Range | None:
    """A quantity whichever way round: a lamp does not mind, and for what does the code says it."""
    return None if value is None else Range.exactly(abs(value), guaranteed=False)


def _between(may: Quantity, nominal: float) -> Range:
    assert may.low is not None
    assert may.high is not None
    return Range(low=may.low, nominal=nominal, high=may.high, guaranteed=False)


def merged(found: Iterable[Found]) -> tuple[Found, ...]:
    """The same consequence in several conditions as one: with all of them, and the widest range."""
    kept: dict[tuple[object, ...], Found] = {}
    for one in found:
        consequence = one.consequence
        key = (consequence.code, consequence.subject, consequence.terminal, consequence.params, one.modifications)
        earlier = kept.get(key)
        if earlier is None:
            kept[key] = one
            continue
        first = earlier.consequence
        kept[key] = replace(
            earlier,
            consequence=replace(
                first,
                conditions=tuple(dict.fromkeys((*first.conditions, *consequence.conditions))),
                before=_hull(first.before, consequence.before),
                after=_hull(first.after, consequence.after),
            ),
        )
    return tuple(kept.values())


def _hull(one: Range | None, other: Range | None) -> Range | None:
    return Range.hull([one, other]) if one and other else one or other
