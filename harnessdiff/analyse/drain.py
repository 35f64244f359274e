"""What the vehicle draws with the key out: by which load, from which battery, through which fuse, and for how long."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

from harnessdiff.analyse.feeds import Feed, feed_of, live_end
from harnessdiff.analyse.network.band import load_shares
from harnessdiff.analyse.network.build import Branch
from harnessdiff.analyse.network.settle import ASLEEP, Settled
from harnessdiff.analyse.network.way import Ways
from harnessdiff.analyse.unmodelled import batteries, guessed_draws, key_off, main_battery, unmodelled_rest_A
from harnessdiff.model.harness import is_added
from harnessdiff.model.parts import Coil, Load, Source
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Reference
from harnessdiff.tables.measuring import drain_figures, measuring

LEAST_A = 1e-4
"""A load that was added and draws less is not worth naming."""
LEAST_CHANGE_A = 1e-3
"""Nor is one of the maker's that changed by less."""
HOURS_A_DAY = 24.0
NOTHING = Range.exactly(0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What one load draws.

    Parameters
    ----------
    load : str
        Device.
    terminal : str
        Node by which it is fed.
    battery : str or None
        Source at the beginning of the way.
    fuses : tuple of str
        Fuses passed, or the leads that they are in, from the source on.
    path : tuple of str
        Elements passed, from the source on.
    before_A, after_A : Range
        On the reference and as found. [A]
    added : bool
        Whether the load was added.
    """

    load: str
    terminal: str
    battery: str | None
    fuses: tuple[str, ...]
    path: tuple[str, ...]
    before_A: Range
    after_A: Range
    added: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BatteryDrain:
    """What a battery gives, and for how long it still starts the engine.

    `before_A` is None where the reference has no such battery, `capacity_Ah` and `days` where nobody said its
    capacity. What is drawn besides the network is counted with the vehicle's own battery.
    """

    battery: str
    capacity_Ah: Range | None
    before_A: Range | None
    after_A: Range
    days_before: Range | None
    days: Range | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureHeld:
    """A published figure: ``holds``, ``exceeds`` or ``undecided``."""

    name: str
    code: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """The current with the key out, in one condition.

    Parameters
    ----------
    condition : str
    before_A, after_A : Range
        All that is drawn, the rest included; before is None where the reference does not know the condition. [A]
    rest_A : Range
        What the reference leaves out, by its own word. [A]
    complete : bool
        False where circuits outside the reference may be on, so that all is "at least".
    draws : tuple of Drawn
        Loads that were added or draw otherwise than before, greatest first.
    batteries : tuple of BatteryDrain
    figures : tuple of FigureHeld
        Asleep only.
    """

    condition: str
    before_A: Range | None
    after_A: Range
    rest_A: Range
    complete: bool
    draws: tuple[Drawn, ...]
    batteries: tuple[BatteryDrain, ...]
    figures: tuple[FigureHeld, ...]


def drains(before: Mapping[str, Settled], after: Mapping[str, Settled], reference: Reference) -> tuple[Drain, ...]:
    """The current with the key out and the engine stopped, before and after.

    Parameters
    ----------
    before, after : mapping
        Condition id to the reference's and to the as-found network in it.
    reference : Reference

    Returns
    -------
    tuple of Drain
        In the order of `after`.
    """
    return tuple(
        _drain(before.get(name), settled, reference) for name, settled in after.items() if key_off(settled.condition)
    )


def _drain(before: Settled | None, after: Settled, reference: Reference) -> Drain:
    asleep, whole = after.condition.id == ASLEEP, reference.extent == "whole"
    least, greatest = unmodelled_rest_A(reference, after.condition) if asleep or whole else (0.0, 0.0)
    rest = Range(low=least, nominal=(least + greatest) / 2, high=greatest, guaranteed=False)
    then = None if before is None else _Drawing(before, rest)
    now = _Drawing(after, rest)
    return Drain(
        condition=after.condition.id,
        before_A=None if then is None else then.total_A,
        after_A=now.total_A,
        rest_A=rest,
        complete=whole or asleep,
        draws=tuple(sorted(_changes(then, now), key=lambda one: (-one.after_A.high, one.load, one.terminal))),
        batteries=tuple(_battery(branch, then, now) for branch in _own_batteries(after)),
        figures=figures_held(now.total_A) if asleep else (),
    )


Key: TypeAlias = tuple[str, str, str, int]


class _Drawing:
    """What everything draws in a settled network.

    `loads` is by device, nodes and which of several between them.
    """

    def __init__(self, settled: Settled, rest: Range) -> None:
        self.settled, self.rest = settled, rest
        self.ways = Ways(settled)
        self.loads: dict[Key, tuple[str, Range]] = dict(_loads(settled))
        self.total_A = _sum([rest, *(amps for _, amps in self.loads.values())])

    def feed(self, node: str) -> Feed:
        """The way by which a node is fed; an empty one where it is not there."""
        known = node in self.settled.network.index
        return feed_of(self.ways, node) if known else Feed(source=None, fuses=(), path=())

    @cached_property
    def given_A(self) -> dict[str, Range]:
        """What each battery gives; the rest, and what is fed by nothing that is told, by the vehicle's own."""
        own = {one.element: Range.exactly(0.0) for one in _own_batteries(self.settled)}
        main = main_battery(self.settled.network)
        first = main.element if main is not None and main.element in own else next(iter(own), None)
        if first is None:
            return {}
        own[first] += self.rest
        for node, amps in self.loads.values():
            source = self.feed(node).source if amps.high > LEAST_A else None
            own[source if source in own else first] += amps
        return own


def _changes(then: _Drawing | None, now: _Drawing) -> Iterator[Drawn]:
    earlier = {} if then is None else then.loads
    for key, (node, amps) in now.loads.items():
        was_fed_by, before = earlier.get(key, (node, NOTHING))
        # What draws nothing has no live end but the one that it had.
        end = node if amps.nominal > LEAST_A else was_fed_by
        changed = abs(amps.nominal - before.nominal) > LEAST_CHANGE_A
        if changed or (is_added(key[0]) and amps.high > LEAST_A):
            yield _drawn(now, key[0], end, before, amps)
    for key, (node, amps) in earlier.items():
        if key not in now.loads and amps.nominal > LEAST_CHANGE_A:
            yield _drawn(now, key[0], node, amps, NOTHING)


def _loads(settled: Settled) -> Iterator[tuple[Key, tuple[str, Range]]]:
    """What every load, coil and guess draws, and its live end."""
    seen: dict[tuple[str, str, str], int] = {}
    guesses = {(device, draw.one, draw.other): draw for device, draw in guessed_draws(settled)}
    for branch in (*settled.network.loads, *settled.network.coils):
        part = branch.part
        assert isinstance(part, Load | Coil)
        name = (branch.element, branch.one, branch.other)
        seen[name] = seen.get(name, -1) + 1
        amps = _range_A(settled, branch)
        guess = guesses.pop(name, None)
        if guess is not None:
            low, high = min(guess.least_A, amps.low), max(guess.greatest_A, amps.high)
            amps = Range(low=low, nominal=amps.nominal, high=high, guaranteed=False)
        yield (*name, seen[name]), (live_end(settled, branch), amps)
    for (device, one, other), draw in guesses.items():
        middle = (draw.least_A + draw.greatest_A) / 2
        amps = Range(low=draw.least_A, nominal=middle, high=draw.greatest_A, guaranteed=False)
        yield (device, one, other, 0), (one, amps)


def _range_A(settled: Settled, branch: Branch) -> Range:
    amps = abs(settled.current_A(branch)) if settled.conducts(branch) else 0.0
    if isinstance(branch.part, Load):
        less, more = load_shares(branch.part, resting=bool(settled.resting[branch.number]))
    else:
        share = measuring("resistance_share")
        less, more = 1 / (1 + share), 1 / (1 - share)
    return Range(low=amps * min(less, 1.0), nominal=amps, high=amps * max(more, 1.0), guaranteed=False)


def _drawn(now: _Drawing, load: str, node: str, before: Range, after: Range) -> Drawn:
    feed = now.feed(node)
    fuses = (now.settled.network.branches[number].element for number in feed.fuses)
    return Drawn(
        load=load, terminal=node, battery=feed.source, fuses=tuple(dict.fromkeys(fuses)), path=feed.path,
        before_A=before, after_A=after, added=is_added(load),
    )  # fmt: skip


def _sum(ranges: list[Range]) -> Range:
    total = NOTHING
    for one in ranges:
        total += one
    return total


def _own_batteries(settled: Settled) -> tuple[Branch, ...]:
    """Batteries of the vehicle's voltage; no traction battery, and no cell in a device."""
    volts = settled.network.system_V
    return tuple(one for one in batteries(settled.network) if volts / 2 < one.value.numbers[0] < 2 * volts)


def _battery(branch: Branch, then: _Drawing | None, now: _Drawing) -> BatteryDrain:
    assert isinstance(branch.part, Source)
    capacity = _known(branch.part.capacity_Ah)
    before = None if then is None else then.given_A.get(branch.element)
    after = now.given_A[branch.element]
    return BatteryDrain(
        battery=branch.element, capacity_Ah=capacity, before_A=before, after_A=after,
        days_before=None if capacity is None or before is None else days_until_no_start(capacity, before),
        days=None if capacity is None else days_until_no_start(capacity, after),
    )  # fmt: skip


def _known(quantity: Quantity) -> Range | None:
    if quantity.low is None or quantity.high is None:
        return None
    return Range(low=quantity.low, nominal=(quantity.low + quantity.high) / 2, high=quantity.high, guaranteed=False)


def capacity_from_reserve_Ah(reserve_min: float) -> float:
    """Capacity of a starter battery by its reserve capacity.

    Parameters
    ----------
    reserve_min : float
        Minutes for which it gives 25 A. [min]

    Returns
    -------
    float
        [Ah]

    References
    ----------
    .. [1] A maker's service bulletin: Ah = RC × 0.6 (secondary copy).
    """
    return reserve_min * measuring("Ah_per_reserve_minute")


def days_until_no_start(capacity_Ah: Range, current_A: Range) -> Range:
    """How long a full battery feeds a current and still starts the engine.

    Parameters
    ----------
    capacity_Ah : Range
        [Ah]
    current_A : Range
        [A]

    Returns
    -------
    Range
        Infinite where nothing is drawn. [d]

    References
    ----------
    .. [1] A maker's service bulletin: no start after about 40 % of the charge, at 25 °C (secondary copy).
    """

    def days(ampere_hours: float, amps: float) -> float:
        return ampere_hours * measuring("start_share") / amps / HOURS_A_DAY if amps > 0 else math.inf

    return Range(
        low=days(capacity_Ah.low, current_A.high),
        nominal=days(capacity_Ah.nominal, current_A.nominal),
        high=days(capacity_Ah.high, current_A.low),
        guaranteed=False,
    )


def figures_held(current_A: Range) -> tuple[FigureHeld, ...]:
    """A current at rest beside the figures that people publish.

    Parameters
    ----------
    current_A : Range
        [A]

    Returns
    -------
    tuple of FigureHeld
        ``holds`` up to what is called normal, ``exceeds`` above what is called a fault, else ``undecided``.
    """
    return tuple(
        FigureHeld(
            name=figure.name,
            code="holds" if current_A.high <= figure.normal_to_A
            else "exceeds" if current_A.low > figure.fault_from_A else "undecided",
            source=figure.source,
        )
        for figure in drain_figures()
    )  # fmt: skip
