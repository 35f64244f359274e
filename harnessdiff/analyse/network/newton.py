"""The voltages at which the currents at every node of a network add up to nothing, found by Newton's method."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from harnessdiff.analyse.network.laws import Bools, Floats, Ints, Law, Laws
from harnessdiff.analyse.network.nodal import Nodal, Solution

TOLERANCE_V = 1e-9
TOLERANCE_A, MOST_LEFT_A = 1e-10, 1e-8
"""What may be left over at a node where the voltage rests on the kink of a law and the slope jumps to and fro:
at first, and when there is no patience left."""
FAR_V = 100.0
CHORDS = 4
"""No node is so far from where it belongs; a step that says so follows the slope of something that has hardly one.
So many steps may then follow chords; where two such things balance, chords lead on by next to nothing."""
SAME_SLOPE = 1e-3
"""By how much the slopes of laws may change along the last step."""
PATIENCE = 12
MOST_STEPS = 80
MOST_CUTS = 40
ENOUGH = 0.3
"""Share of the unbalanced currents along a step that may be left after it."""
LEAST_POWER_W = 1e-18
SURELY_HIGH = 0.75
"""Share of the greatest source voltage above which a constant power is surely not past the fold."""
FIRST_SHARE = 0.25
LEAST_SHARE = 1e-3
"""Of the power of loads: by how much they are turned up at first, and when it is known where the supply gives in."""


def solved(nodal: Nodal, laws: Laws, active: Bools, start_V: Floats | None) -> Solution:
    """Find the voltages of a network.

    Constant-power elements take the high-voltage solution: they are switched on from what the
    network is without them. Where there is none, those that bring the supply down are off.

    Parameters
    ----------
    nodal : Nodal
    laws : Laws
    active : ndarray of bool, shape (elements,)
        Elements that conduct.
    start_V : ndarray, shape (nodes,), optional
        Voltages to begin at.

    Returns
    -------
    Solution
    """
    power = laws.of.get(Law.POWER, np.empty(0, dtype=np.int64))
    power = power[active[power]]
    near = _from_near(nodal, laws, active, power, start_V)
    if near is not None:
        return near
    without = active.copy()
    without[power] = False
    idle = _Newton(nodal, laws, without).run(start_V)
    collapsed: list[int] = []
    while power.size:
        reached, share = _turned_up(nodal, laws, without, power, idle)
        if reached is not None:
            return replace(reached, collapsed=tuple(sorted(collapsed)))
        worst = int(power[np.argmin(share)])
        collapsed.append(worst)
        power = power[power != worst]
    return replace(idle, collapsed=tuple(sorted(collapsed)))


def _from_near(nodal: Nodal, laws: Laws, active: Bools, power: Ints, start_V: Floats | None) -> Solution | None:
    """The network with constant-power elements on from the start, where that surely is the high-voltage solution.

    The supply of one such element gives in at half of what it has without it [1]_; only what stays well above
    that, measured by the greatest source, is taken.

    References
    ----------
    .. [1] Greatest power of a source behind a resistance, E² / 4R, at half its voltage.
    """
    if start_V is None or not power.size:
        return None
    sign = laws.numbers[power, 2]
    if np.any((start_V[nodal.one] - start_V[nodal.other])[power] * sign <= laws.numbers[power, 1]):
        return None
    found = _Newton(nodal, laws, active, power).run(start_V)
    now = (found.voltage_V[nodal.one] - found.voltage_V[nodal.other])[power] * sign
    sure = SURELY_HIGH * float(np.max(laws.idle_V[active], initial=0.0))
    return found if found.converged and bool(np.all(now >= sure)) else None


def _turned_up(nodal: Nodal, laws: Laws, without: Bools, power: Ints, idle: Solution) -> tuple[Solution | None, Floats]:
    """The network with constant-power elements at their full power, reached from none of it.

    At once where that goes, else little by little. Where the supply gives in before, the share of its idle
    voltage that each element then has says which of them brings it down.
    """
    active = without.copy()
    active[power] = True
    sign, knee = laws.numbers[power, 2], laws.numbers[power, 1]
    base = (idle.voltage_V[nodal.one] - idle.voltage_V[nodal.other])[power]
    part = nodal.parts(without)
    # Between parts that nothing else joins there is no voltage to speak of.
    is_fed = (base * sign > knee) & (part[nodal.one] == part[nodal.other])[power]
    fed = power[is_fed]
    begun = replace(idle, voltage_V=np.where(idle.floating, 0.0, idle.voltage_V))
    whole = _Newton(nodal, laws, active, fed).run(begun.voltage_V)
    if whole.converged:
        return whole, base
    reached, step, last = 0.0, FIRST_SHARE, begun
    while step > LEAST_SHARE and reached < 1:
        numbers = laws.numbers.copy()
        numbers[power, 0] *= reached + step
        found = _Newton(nodal, replace(laws, numbers=numbers), active, fed).run(last.voltage_V)
        if found.converged:
            reached, last = reached + step, found
            step = min(step, 1 - reached)
        else:
            step /= 2
    if reached >= 1:
        return last, base
    across = (last.voltage_V[nodal.one] - last.voltage_V[nodal.other])[power]
    return None, np.where(is_fed, across / np.where(is_fed, base, 1.0), np.inf)


class _Balance(NamedTuple):
    """Currents, slopes, and what flows out of every node too much, at some voltages."""

    voltage: Floats
    current: Floats
    slope: Floats
    residual: Floats


@dataclass(frozen=True, slots=True)
class _Newton:
    """A network to solve; `above_knee` are elements of constant power that have to stay above their knee."""

    nodal: Nodal
    laws: Laws
    active: Bools
    above_knee: Ints | None = None

    def run(self, start_V: Floats | None) -> Solution:
        nodal = self.nodal
        held, floating = nodal.held(self.active)
        voltage = np.zeros(nodal.nodes) if start_V is None else start_V.copy()
        voltage[nodal.ground] = 0.0
        now = self._balance(held, voltage)
        slope, converged = self._chords(now), False
        for number in range(MOST_STEPS):
            step = self._step(held, now, slope)
            if number < CHORDS and float(np.max(np.abs(step))) > FAR_V:
                slope = self._chords(now)
                step = self._step(held, now, slope)
            if not np.all(np.isfinite(step)) or self._is_past_the_fold(now, step):
                break
            share, now = self._along(held, now, step)
            # A step that ends past a kink says nothing: where the slope falls there, the next may be long.
            straight = bool(np.all(np.abs(now.slope - slope) <= SAME_SLOPE * np.abs(slope)))
            slope = now.slope
            if self._gave_in(now):
                break
            still = straight and share == 1.0 and float(np.max(np.abs(step))) < TOLERANCE_V
            left_A = float(np.max(np.abs(now.residual)))
            if still or (number > PATIENCE and left_A < TOLERANCE_A):
                converged = True
                break
            converged = left_A < MOST_LEFT_A
        return Solution(
            voltage_V=now.voltage,
            current_A=now.current,
            slope_S=now.slope,
            floating=floating,
            converged=converged,
        )

    def _step(self, held: Floats, now: _Balance, slope: Floats) -> Floats:
        return self.nodal.of_nodes(self.nodal.factor(slope, held).solve(self.nodal.rows(-now.residual)))

    def _chords(self, now: _Balance) -> Floats:
        """Slopes to begin with: that of the chord from where an element carries nothing, if that is steeper.

        What draws a constant current, or gives as much as it can, has hardly a slope; where the network
        has changed since, its node would be sent far off.
        """
        ahead = now.voltage[self.nodal.one] - now.voltage[self.nodal.other] - self.laws.idle_V
        return np.maximum(now.slope, now.current / np.where(ahead == 0, np.inf, ahead))

    def _is_past_the_fold(self, now: _Balance, step: Floats) -> bool:
        """Whether more load raised a voltage here: beyond the greatest power, from where no way leads back."""
        return self.above_knee is not None and float(now.residual @ step) > LEAST_POWER_W

    def _gave_in(self, now: _Balance) -> bool:
        at = self.above_knee
        if at is None or not at.size:
            return False
        across = now.voltage[self.nodal.one[at]] - now.voltage[self.nodal.other[at]]
        return bool(np.any(across * self.laws.numbers[at, 2] < self.laws.numbers[at, 1]))

    def _along(self, held: Floats, now: _Balance, step: Floats) -> tuple[float, _Balance]:
        """How much of a step to take, and where it leads.

        Of elements whose current grows with their voltage the unbalanced currents are the gradient of a
        convex function, so that what is left of them along the step rises from less than nothing through nothing
        where that function is least; past it the step is cut there.
        """
        before = float(now.residual @ step)
        low, high, share = 0.0, 1.0, 1.0
        at_low, at_high = before, before
        for _ in range(MOST_CUTS):
            tried = self._balance(held, now.voltage + share * step)
            after = float(tried.residual @ step)
            if abs(after) <= ENOUGH * abs(before) or abs(before) < LEAST_POWER_W or (share == 1.0 and after < 0):
                break
            if after > 0:
                high, at_high = share, after
            else:
                low, at_low = share, after
            secant = low + (high - low) * at_low / (at_low - at_high)
            share = min(max(secant, low + 0.05 * (high - low)), low + 0.95 * (high - low))
        return share, tried

    def _balance(self, held: Floats, voltage: Floats) -> _Balance:
        nodal = self.nodal
        current, slope = self.laws.currents(voltage[nodal.one] - voltage[nodal.other])
        current, slope = np.where(self.active, current, 0.0), np.where(self.active, slope, 0.0)
        residual = held * voltage
        residual += np.bincount(nodal.one, weights=current, minlength=nodal.nodes)
        residual -= np.bincount(nodal.other, weights=current, minlength=nodal.nodes)
        residual[nodal.ground] = 0.0
        return _Balance(voltage, current, slope, residual)
