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
    """What holds all over the box: asked voltages, how far each unknown can move them, and in which direction."""

    voltage: Interval  # (q,) asked [V]
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
    drawn = by_maximum_principle(ports, unknowns, span_V, cap)
    energy = energies(ports)
    if energy:
        drawn = _narrowed(drawn, by_energy(ports, energy, free), fixed)

    others = ports.mutual - np.diag(np.diag(ports.mutual))
    least_share = np.maximum(ports.share(ports.least), FAINT)
    answer = Interval((ports.least / least_share)[:, None], (ports.most / ports.share(ports.most))[:, None])
    for _ in range(SWEEPS):
        before, drawn = drawn, _narrowed(drawn, answer.times(_left(free, others, drawn)), fixed)
        if (drawn.radius >= 0.99 * before.radius).all():
            break
    fed, unit = _split(drawn)
    driving = _left(free[:, :1], others, fed)
    effect = _left(ports.transfer, ports.transfer, unit).within(Interval(-cap, cap))
    voltage = _left(ports.asked[:, None], ports.transfer, fed)
    if energy:
        asked = Interval(ports.asked[:, None], ports.asked[:, None])
        by_conductances = energy.between(ports.transfer, ports.voltage[:, None])
        voltage = voltage.within(_taken(_taken(asked, by_conductances), _by_draws(ports, effect)))
    return Enclosures(
        voltage=Interval(voltage.low[:, 0], voltage.high[:, 0]),
        influence=effect.greatest * fed.greatest[:, 0],
        direction=-effect.sign * np.where(draws, 1, driving.sign[:, 0]),
    )


def _left(free: Array, resistances: Array, drawn: Interval) -> Interval:
    """What is left of voltages once currents are drawn through resistances. [V]"""
    return _taken(Interval(free, free), drawn.through(resistances))


def _taken(whole: Interval, part: Interval) -> Interval:
    """The one less the other."""
    return Interval(whole.low - part.high, whole.high - part.low)


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


@dataclass(frozen=True, slots=True)
class Energies:
    """The answer of unknown conductances to voltages, between all of them at their least and all at their most.

    Conductances that move by D draw ``S u`` with ``S = (1/D + M)^-1``, which grows with D in the order of positive
    semidefinite matrices (K. Löwner, Mathematische Zeitschrift 38, 1934): networks dissipate no less and no more than
    with all of them at an end. So S lies within half the difference W of the extremes about their mean, and by the
    inequality of Cauchy and Schwarz ``|x (S - mean) y| <= sqrt(x W x · y W y) / 2``.
    """

    mean: Array
    difference: Array

    def between(self, left: Array, right: Array) -> Interval:
        """``left S right``."""
        reach = [np.sqrt(np.maximum((x * (x @ self.difference)).sum(axis=1), 0)) for x in (left, right.T)]
        return Interval.about(left @ self.mean @ right, reach[0][:, None] * reach[1] / 2)


def energies(ports: Ports) -> Energies | None:
    """The answer of the unknown conductances; none where all at their least leave something floating, or nearly so."""
    unit = np.eye(len(ports.held))
    fall, rise = (np.sqrt(np.where(ports.conducts, move, 0)) for move in (-ports.least, ports.most))
    parts, ways = np.linalg.eigh(unit - fall[:, None] * ports.mutual * fall)
    if (parts < SOUND).any():
        return None
    least = -fall[:, None] * ((ways / parts) @ ways.T) * fall
    most = rise[:, None] * np.linalg.inv(unit + rise[:, None] * ports.mutual * rise) * rise
    return Energies((most + least) / 2, most - least)


def by_energy(ports: Ports, answer: Energies, free: Array) -> Interval:
    """What unknown conductances can draw by `Energies`, where draws move as well. [A]"""
    drawn = answer.between(np.eye(len(free)), free)
    fed, unit = _split(drawn)
    fed = _taken(fed, _by_draws(ports, unit))
    return Interval(np.hstack((fed.low, unit.low)), np.hstack((fed.high, unit.high)))


def _by_draws(ports: Ports, effect: Interval) -> Interval:
    """The sum of what draws do, each by what a unit of it does."""
    draws = ~ports.conducts
    each = effect.times(Interval(np.where(draws, ports.least, 0), np.where(draws, ports.most, 0)))
    return Interval(each.low.sum(axis=1, keepdims=True), each.high.sum(axis=1, keepdims=True))


def _split(drawn: Interval) -> tuple[Interval, Interval]:
    """The column that is fed, and those of units drawn."""
    return Interval(drawn.low[:, :1], drawn.high[:, :1]), Interval(drawn.low[:, 1:], drawn.high[:, 1:])
