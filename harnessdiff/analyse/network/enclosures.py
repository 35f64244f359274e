"""Enclosures of what the unknowns of a resistive network draw, over the whole box of their ranges."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from harnessdiff.analyse.network.ports import FAINT, Array, Ports, port_span
from harnessdiff.analyse.network.unknowns import Unknown

SWEEPS = 40
"""Greatest number of times that enclosures are narrowed; they mostly stand still after five."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Least and greatest of each entry of an array."""

    low: Array
    high: Array

    @classmethod
    def about(cls, middle: Array, radius: Array) -> Interval:
        """All within `radius` of `middle`."""
        return cls(middle - radius, middle + radius)

    def times(self, other: Interval) -> Interval:
        """All products."""
        ends = [a * b for a in (self.low, self.high) for b in (other.low, other.high)]
        return Interval(np.minimum.reduce(ends), np.maximum.reduce(ends))

    def within(self, other: Interval) -> Interval:
        """What both hold; should rounding part them, a point between."""
        low, high = np.maximum(self.low, other.low), np.minimum(self.high, other.high)
        return Interval(np.minimum(low, high), np.maximum(low, high))

    def after(self, matrix: Array) -> Interval:
        """`matrix` times all of it."""
        return Interval.about(matrix @ ((self.low + self.high) / 2), np.abs(matrix) @ self.radius)

    @property
    def radius(self) -> Array:
        """Half the widths."""
        return (self.high - self.low) / 2

    @property
    def greatest(self) -> Array:
        """The greatest magnitudes."""
        return np.maximum(np.abs(self.low), np.abs(self.high))

    @property
    def sign(self) -> Array:
        """The sign of all of it, 0 where it has none."""
        return (self.low > 0) * 1.0 - (self.high < 0) * 1.0


@dataclass(frozen=True, slots=True)
class Enclosures:
    """What holds all over the box: how far each unknown can move each asked voltage, and in which direction."""

    influence: Array  # (q, n) [V]
    direction: Array  # (q, n) of the voltage with the unknown: 1, -1, or 0 where it is not the same everywhere


def enclosures(ports: Ports, unknowns: Sequence[Unknown], span_V: tuple[float, float]) -> Enclosures:
    """Encloses what every unknown draws, and what a unit drawn at it takes from every port, for all choices.

    The first column of what is enclosed is the network as fed; each of the others has a unit drawn at one
    unknown that stays where it is held, with no source.
    """
    count = len(unknowns)
    draws = ~ports.conducts
    move = Interval(ports.least[:, None], ports.most[:, None])
    # A branch lies in parallel with its own unit draw, and by the maximum principle no two nodes are further apart
    # than its ends. What a draw of known width does is no more than what the span allows.
    widest_V = 2 * (max(span_V[1], 0) - min(span_V[0], 0))
    width = ports.most - ports.least
    cap = np.divide(
        np.where(draws, widest_V, 1), np.where(draws, width, ports.held), where=width > 0, out=np.zeros(count)
    )
    voltage = [port_span(each, span_V) for each in unknowns]
    fed = move.times(Interval(*np.array(voltage).reshape(-1, 2).T[:, :, None]))
    fed = Interval(np.where(draws[:, None], move.low, fed.low), np.where(draws[:, None], move.high, fed.high))
    # No branch carries more than the unit drawn, so beyond the conductance held it draws no more than that.
    unit = np.maximum(-move.low * cap, np.minimum(move.high * cap, 1))
    unit[draws] = 0
    np.fill_diagonal(unit, 0)
    drawn = Interval(np.hstack((fed.low, -unit)), np.hstack((fed.high, unit)))

    free = np.hstack((ports.voltage[:, None], ports.mutual))
    others = ports.mutual - np.diag(np.diag(ports.mutual))
    least_share = np.maximum(ports.share(ports.least), FAINT)
    answer = Interval((ports.least / least_share)[:, None], (ports.most / ports.share(ports.most))[:, None])
    fixed = np.hstack((draws[:, None], draws[:, None] | np.eye(count, dtype=np.bool_)))
    for _ in range(SWEEPS):
        taken = drawn.after(others)
        narrowed = drawn.within(answer.times(Interval(free - taken.high, free - taken.low)))
        narrowed = Interval(np.where(fixed, drawn.low, narrowed.low), np.where(fixed, drawn.high, narrowed.high))
        still = bool((narrowed.radius >= 0.99 * drawn.radius).all())
        drawn = narrowed
        if still:
            break
    taken = Interval(drawn.low[:, :1], drawn.high[:, :1]).after(others)
    driving = Interval(ports.voltage - taken.high[:, 0], ports.voltage - taken.low[:, 0])
    passed = Interval(drawn.low[:, 1:], drawn.high[:, 1:]).after(ports.transfer)
    effect = Interval(ports.transfer - passed.high, ports.transfer - passed.low).within(Interval(-cap, cap))
    return Enclosures(
        influence=effect.greatest * Interval(drawn.low[:, 0], drawn.high[:, 0]).greatest,
        direction=-effect.sign * np.where(draws, 1, driving.sign),
    )
