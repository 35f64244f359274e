"""Enclosures of what the unknowns of a resistive network draw, over the whole box of their ranges.

They start from the maximum principle (no node of a resistive network lies beyond its sources, no branch carries more
than what is put in) and from energy (what a network dissipates grows and falls with every conductance), and are
narrowed by the port equations ``u = u* - M c``: what each unknown draws follows from what the others may draw.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harnessdiff.analyse.network.ports import FAINT, Array, Ports, port_span
from harnessdiff.analyse.network.unknowns import Unknown

SWEEPS = 40
"""Greatest number of times that enclosures are narrowed; they mostly stand still after five."""

SOUND = 1e-6
"""Energies are no bound where less than this part of a conductance is left: rounding, divided by it, is not small."""


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

    def through(self, matrix: Array) -> Interval:
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

    Parameters
    ----------
    ports : Ports
        The network with conductances held at positive values.
    unknowns : sequence of UnknownConductance or UnknownCurrent
        Where they are.
    span_V : tuple of float
        Least and greatest voltage that any node can take. [V]

    Returns
    -------
    Enclosures
    """
    # In the first column of what is drawn the network is fed; in each of the others it has no source but a unit
    # drawn at one unknown, which stays where it is held.
    draws = ~ports.conducts
    fixed = draws[:, None] | np.hstack((np.zeros_like(draws[:, None]), np.diag(ports.conducts)))
    free = np.hstack((ports.voltage[:, None], ports.mutual))
    cap = unit_caps(ports, span_V)
    drawn = _narrowed(by_maximum_principle(ports, unknowns, span_V, cap), by_energy(ports, free), fixed)

    others = ports.mutual - np.diag(np.diag(ports.mutual))
    least_share = np.maximum(ports.share(ports.least), FAINT)
    answer = Interval((ports.least / least_share)[:, None], (ports.most / ports.share(ports.most))[:, None])
    for _ in range(SWEEPS):
        before, drawn = drawn, _narrowed(drawn, answer.times(_taken(free, others, drawn)), fixed)
        if (drawn.radius >= 0.99 * before.radius).all():
            break
    fed, unit = Interval(drawn.low[:, :1], drawn.high[:, :1]), Interval(drawn.low[:, 1:], drawn.high[:, 1:])
    driving = _taken(free[:, :1], others, fed)
    effect = _taken(ports.transfer, ports.transfer, unit).within(Interval(-cap, cap))
    return Enclosures(
        influence=effect.greatest * fed.greatest[:, 0],
        direction=-effect.sign * np.where(draws, 1, driving.sign[:, 0]),
    )


def _taken(free: Array, resistances: Array, drawn: Interval) -> Interval:
    """What is left of voltages once currents are drawn through resistances. [V]"""
    lost = drawn.through(resistances)
    return Interval(free - lost.high, free - lost.low)


def _narrowed(drawn: Interval, bound: Interval, fixed: NDArray[np.bool_]) -> Interval:
    """What is drawn, within a bound, save where it is fixed."""
    both = drawn.within(bound)
    return Interval(np.where(fixed, drawn.low, both.low), np.where(fixed, drawn.high, both.high))


def unit_caps(ports: Ports, span_V: tuple[float, float]) -> Array:
    """The most that a unit drawn at each unknown takes from any voltage. [ohm]

    By the maximum principle no two nodes are further apart than those it is drawn between. A conductance lies in
    parallel with its own unit; what a draw of known width does is no more than the span allows for both its ends.
    """
    widest_V = 2 * (max(span_V[1], 0) - min(span_V[0], 0))
    width = ports.most - ports.least
    over = np.where(ports.conducts, ports.held, width)
    return np.divide(np.where(ports.conducts, 1, widest_V), over, where=width > 0, out=np.zeros_like(over))


def by_maximum_principle(
    ports: Ports, unknowns: Sequence[Unknown], span_V: tuple[float, float], cap: Array
) -> Interval:
    """What unknowns can draw, as nodes keep within the span and no branch carries more than a unit that is put in."""
    move = Interval(ports.least[:, None], ports.most[:, None])
    spans = np.array([port_span(each, span_V) for each in unknowns]).reshape(-1, 2)
    fed = move.times(Interval(spans[:, :1], spans[:, 1:]))
    draws = ~ports.conducts[:, None]
    unit = np.maximum(-move.low * cap, np.minimum(move.high * cap, 1))
    unit = np.where(draws | np.eye(len(cap), dtype=np.bool_), 0, unit)
    return Interval(
        np.hstack((np.where(draws, move.low, fed.low), -unit)),
        np.hstack((np.where(draws, move.high, fed.high), unit)),
    )


def by_energy(ports: Ports, free: Array) -> Interval:
    """What unknown conductances can draw: networks dissipate no less and no more than with all of them at an end.

    Conductances that move by D draw ``S u`` with ``S = (1/D + M)^-1``, which grows with D in the order of positive
    semidefinite matrices. So S lies within half the difference W of both extremes about their mean, and by the
    inequality of Cauchy and Schwarz ``|x (S - mean) y| <= sqrt(x W x · y W y) / 2``.
    """
    count = len(free)
    fall, rise = (np.sqrt(np.where(ports.conducts, move, 0)) for move in (-ports.least, ports.most))
    parts, ways = np.linalg.eigh(np.eye(count) - fall[:, None] * ports.mutual * fall)
    if (parts < SOUND).any():  # all at their least leave something floating, or nearly so
        return Interval(np.full_like(free, -np.inf), np.full_like(free, np.inf))
    least = -fall[:, None] * ((ways / parts) @ ways.T) * fall
    most = rise[:, None] * np.linalg.inv(np.eye(count) + rise[:, None] * ports.mutual * rise) * rise
    between = most - least
    sizes = np.sqrt(np.maximum((free * (between @ free)).sum(axis=0), 0))
    radius = np.sqrt(np.maximum(np.diag(between), 0))[:, None] * sizes / 2
    drawn = Interval.about((most + least) / 2 @ free, radius)
    draws = ~ports.conducts
    by_draws = Interval(drawn.low[:, 1:], drawn.high[:, 1:]).times(
        Interval(np.where(draws, ports.least, 0), np.where(draws, ports.most, 0))
    )
    return Interval(
        np.hstack((drawn.low[:, :1] - by_draws.high.sum(axis=1, keepdims=True), drawn.low[:, 1:])),
        np.hstack((drawn.high[:, :1] - by_draws.low.sum(axis=1, keepdims=True), drawn.high[:, 1:])),
    )
