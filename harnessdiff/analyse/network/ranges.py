"""Voltages, currents and powers of a resistive network some of whose conductances and current draws are ranges.

The network is known by its solution at nominal values and by a way to solve it for other right-hand sides;
all else happens at its *ports*, the pairs of nodes where something is unknown or asked for. With u the voltages
at the unknowns and M their mutual resistances, a change of draw c at the unknowns gives ``u = u* - M c``, and c is
``(g - g*) u`` at a conductance g and the change of current at a draw (matrix inversion lemma: Woodbury 1950).

Why the bounds hold:

- Every voltage is a quotient of two functions linear in any one conductance (Möbius), with a denominator that does
  not vanish for g >= 0: it is monotone in each unknown while the others stand, so its extremes over the box of
  ranges lie at corners. So do those of g u. For the power g u² of an unknown branch, u at a fixed g has
  its extremes at corners of the *others*, hence the greatest power lies at such a corner, at an end of g or where
  g matches the conductance it sees (maximum power transfer); u changes its sign only with the others, and if it
  does, the least power is nought.
- Where the direction in which an unknown moves a quantity is the same all over the box, only one of its ends
  counts. Directions come from enclosures of all voltages over the box (`enclosures`).
- An unknown that is held moves the quantity by no more than the product of two enclosures: what it draws, and what
  a unit drawn there does to the quantity. The range is widened by the sum of these.

Bounds hold up to the rounding of floating-point numbers.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from harnessdiff.analyse.network.enclosures import Enclosures, enclosures
from harnessdiff.analyse.network.ports import (
    FAINT,
    NOUGHT,
    Array,
    Ports,
    Reading,
    Solve,
    box,
    centred,
    nominal_ports,
    port_span,
    reading_of,
    without_dead_ends,
)
from harnessdiff.analyse.network.unknowns import Asked, Bounds, Unknown, UnknownConductance

MOST_VARIED = 10
"""Greatest number of unknowns whose corners are all tried for one quantity: 1,024 corners."""


def ranges(
    solve: Solve,
    voltages_V: Array,
    unknowns: Sequence[Unknown],
    asked: Sequence[Asked],
    *,
    span_V: tuple[float, float],
    tolerance: float = 1e-9,
) -> tuple[Bounds, ...]:
    """The range of each asked quantity over all choices of the unknowns within their ranges.

    A part of the network that opens may leave floating takes the voltage that it would have through vanishing
    conductances: ranges are those over all positive conductances, and their limits. A draw in such a part
    would take its voltage beyond all bounds; the range then ends at `span_V`.

    Parameters
    ----------
    solve : callable
        Solves the grounded nominal network, a symmetric positive definite conductance matrix with the nominal value
        of every unknown conductance in it, for currents into its nodes. [A], shape (nodes, k), to [V], same shape.
    voltages_V : ndarray
        Voltages of the nodes at nominal values against ground. [V]
    unknowns : sequence of UnknownConductance or UnknownCurrent
        What is a range.
    asked : sequence of VoltageBetween, CurrentIn or PowerIn
        What is to be told.
    span_V : tuple of float
        Least and greatest voltage that any node can take, by the caller's word. By the maximum principle these are
        the least and greatest of ground and the sources where nothing draws a fixed current. [V]
    tolerance : float, optional
        Unknowns that together move a quantity by less than this are held, and the range is widened by what they may
        do. In the unit of the quantity; for a power, of its square root. [V, A, W^½]

    Returns
    -------
    tuple of Bounds
        In the order of `asked`. All are guaranteed.

    Raises
    ------
    ValueError
        If a nominal value lies outside its range, a conductance is negative or a bound is not finite.

    References
    ----------
    .. [1] M. A. Woodbury, "Inverting modified matrices", Memorandum Report 42, Princeton University, 1950.
    .. [2] R. E. Moore, R. B. Kearfott, M. J. Cloud, "Introduction to Interval Analysis", SIAM, 2009: enclosures
       narrowed by intersection with what an equation makes of them.
    """
    _check(unknowns, span_V)
    readings = [reading_of(each, unknowns) for each in asked]
    nominal = nominal_ports(solve, voltages_V, unknowns, readings)
    nought_V = NOUGHT * max(map(abs, span_V))
    ports = without_dead_ends(centred(nominal), nought_V)
    enclosed = enclosures(ports, unknowns, span_V)
    plans = _plans(ports, readings, enclosed, tolerance)
    seen = _corners(ports, readings, plans, nought_V)
    limits = [
        (max(span[0], low), min(span[1], high))
        for reading, low, high in zip(readings, enclosed.voltage.low, enclosed.voltage.high, strict=True)
        for span in (port_span(reading, span_V),)
    ]
    values = [_value(reading, voltage_V, nominal) for reading, voltage_V in zip(readings, nominal.asked, strict=True)]
    return tuple(
        _bounds(readings[place], plans[place], seen[place], values[place], swings, limits[place], nought_V, tolerance)
        for place, swings in enumerate(_swings(ports, readings, nought_V))
    )


def _check(unknowns: Sequence[Unknown], span_V: tuple[float, float]) -> None:
    """Refuses what no range can be told of."""
    if not np.isfinite(span_V).all() or span_V[0] > span_V[1]:
        raise ValueError(f"no span of voltages: {span_V}")
    for unknown in unknowns:
        low, nominal, high = box(unknown)
        if not (np.isfinite((low, high)).all() and low <= nominal <= high):
            raise ValueError(f"the nominal value lies outside the range, or a bound is not finite: {unknown}")
        if isinstance(unknown, UnknownConductance) and (low < 0 or unknown.plus == unknown.minus):
            raise ValueError(f"a conductance below zero, or from a node to itself: {unknown}")


@dataclass(frozen=True, slots=True)
class _Plan:
    """What is done with the unknowns for one quantity.

    Those `varied` go through their corners; for those `settled`, `upward` says whether their greatest value raises the
    voltage of the port; the others are held, and can move it by `loose_V` at most. `kept` are all that matter.
    """

    kept: NDArray[np.intp]
    varied: NDArray[np.intp]
    settled: NDArray[np.intp]
    upward: NDArray[np.bool_]
    loose_V: float


def _plans(ports: Ports, readings: Sequence[Reading], enclosed: Enclosures, tolerance: float) -> list[_Plan]:
    """Holds what is negligible, settles what has one direction, varies the most influential of the rest."""
    plans = []
    for place, reading in enumerate(readings):
        influence, direction = enclosed.influence[place].copy(), enclosed.direction[place]
        if reading.own is not None:
            influence[reading.own] = 0  # it is read out in closed form
        order = np.argsort(-influence, kind="stable")
        together = np.cumsum(influence[order][::-1])[::-1]
        kept = order[together * _weight(reading, reading.high_S) > tolerance]
        settled, unsure = kept[direction[kept] != 0], kept[direction[kept] == 0]
        varied = unsure[:MOST_VARIED]
        influence[settled] = influence[varied] = 0  # what is left is that of unknowns which are held
        plans.append(_Plan(kept, varied, settled, direction[settled] > 0, float(influence.sum())))
    return plans


def _weight(reading: Reading, conductance_S: float) -> float:
    """What the voltage of a port counts for: g in a current g u, its root in the root of a power g u²."""
    return float(np.sqrt(conductance_S)) if reading.power else conductance_S


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a reading sees at corners of the box, while the conductance that it reads is held."""

    voltage: Array  # at its port, less its own source [V]
    resistance: Array  # across its own conductance [ohm]; 0 where it reads a branch that is known
    held_S: float


def _corners(ports: Ports, readings: Sequence[Reading], plans: Sequence[_Plan], nought_V: float) -> list[_Seen]:
    """What each reading sees at the corners that its plan names.

    Readings with as many unknowns to vary go together. Port after port is moved to its ends and done with, so that
    the network doubles as its ports dwindle.
    """
    groups: dict[int, list[int]] = defaultdict(list)
    for place, plan in enumerate(plans):
        groups[len(plan.varied)].append(place)
    seen: dict[int, _Seen] = {}
    for varied, places in groups.items():
        settled = max(len(plans[place].settled) for place in places)
        order = np.zeros((2 * len(places), varied + settled), dtype=np.intp)
        ends = np.zeros((2 * len(places), varied + settled, 2))  # a port moved by 0 stands for none
        for row, place in enumerate(places):
            plan = plans[place]
            done = slice(varied, varied + len(plan.settled))
            both = slice(2 * row, 2 * row + 2)  # one for the greatest, one for the least
            order[both, :varied] = plan.varied
            order[both, done] = plan.settled
            ends[both, :varied, 0], ends[both, :varied, 1] = ports.least[plan.varied], ports.most[plan.varied]
            high, low = ports.most[plan.settled], ports.least[plan.settled]
            ends[2 * row, done, 0] = np.where(plan.upward, high, low)
            ends[2 * row + 1, done, 0] = np.where(plan.upward, low, high)
        twice = np.repeat(places, 2)
        own = [readings[place].own for place in twice]
        take = np.take_along_axis(ports.transfer[twice], order, axis=1)
        mutual = np.empty((len(twice), 1, varied + settled + 1, varied + settled + 1))
        mutual[:, 0, 0, 0] = [0 if port is None else ports.mutual[port, port] for port in own]
        mutual[:, 0, 0, 1:] = mutual[:, 0, 1:, 0] = take
        mutual[:, 0, 1:, 1:] = ports.mutual[order[:, :, None], order[:, None, :]]
        voltage = np.concatenate((ports.asked[twice, None], ports.voltage[order]), axis=1)[:, None, :]
        for port in reversed(range(varied + settled)):
            tried = ends[:, port, : 2 if port < varied else 1]
            mutual, voltage = _last_port_moved(mutual, voltage, ports.conducts[order[:, port]], tried, nought_V)
        voltages, resistances = voltage[:, :, 0].reshape(len(places), -1), mutual[:, :, 0, 0].reshape(len(places), -1)
        seen |= {
            place: _Seen(voltages[row], resistances[row], _held_S(readings[place], ports))
            for row, place in enumerate(places)
        }
    return [seen[place] for place in range(len(plans))]


def _last_port_moved(
    mutual: Array, voltage: Array, conducts: NDArray[np.bool_], ends: Array, nought_V: float
) -> tuple[Array, Array]:
    """Networks without their last port, for each end that it is moved to.

    Parameters
    ----------
    mutual, voltage : ndarray
        Mutual resistances, shape (rows, corners, ports, ports) [ohm], and voltages, (rows, corners, ports) [V].
    conducts : ndarray of bool
        Whether the last port is a conductance, for each row; else it is a draw.
    ends : ndarray
        Changes of that conductance or draw, shape (rows, ends). [S or A]
    nought_V : float
        Less than this is none. [V]

    Returns
    -------
    tuple of ndarray
        The same shapes with one port less and as many corners for each corner as there are ends.
    """
    rows, corners, left = len(voltage), voltage.shape[1] * ends.shape[1], voltage.shape[2] - 1
    column, last_V = mutual[:, :, None, :-1, -1], voltage[:, :, -1:]
    by, is_conductance = ends[:, None, :], conducts[:, None, None]
    share = np.where(is_conductance, 1 + mutual[:, :, -1, -1:] * by, 1)
    adrift = share < FAINT
    answer = np.where(is_conductance & ~adrift, by / np.where(adrift, 1, share), 0)
    drawn = np.where(is_conductance, answer * last_V, by)
    moved = mutual[:, :, None, :-1, :-1] - answer[..., None, None] * column[..., :, None] * column[..., None, :]
    fallen = voltage[:, :, None, :-1] - drawn[..., None] * column
    if adrift.any():
        # Nothing grounds what lies beyond: it keeps its voltage, unless something draws there, whatever the voltage.
        beyond = adrift[..., None] & (np.abs(last_V)[..., None] > nought_V) & (np.abs(column * by[..., None]) > NOUGHT)
        fallen = np.where(beyond, np.copysign(np.inf, last_V[..., None] * column), fallen)
    return moved.reshape(rows, corners, left, left), fallen.reshape(rows, corners, left)


def _bounds(
    reading: Reading,
    plan: _Plan,
    seen: _Seen,
    nominal: float,
    swings: Array,
    limits_V: tuple[float, float],
    nought_V: float,
    tolerance: float,
) -> Bounds:
    """Reads the quantity out at all corners, widens it by what is held, and keeps it within the limits of its port."""
    matters = np.zeros(len(swings), dtype=np.bool_)
    matters[plan.kept] = True
    if reading.own is not None:
        matters[reading.own] = swings[reading.own] > tolerance
    order = np.argsort(-swings, kind="stable")
    mattered = tuple(order[matters[order]].tolist())
    loose = plan.loose_V * _weight(reading, reading.high_S)
    if not mattered and loose == 0:
        return Bounds(low=nominal, nominal=nominal, high=nominal, guaranteed=True, method="exact", mattered=())
    if reading.power:
        roots = _roots_of_power(reading, seen, nought_V)
        crosses = seen.voltage.min() <= 0 <= seen.voltage.max()
        limit = _weight(reading, reading.high_S) * max(-limits_V[0], limits_V[1])
        low = 0.0 if crosses else max(roots.min() - loose, 0.0) ** 2
        high = min(roots.max() + loose, limit) ** 2
    else:
        currents = _currents(reading, seen)
        limits = [conductance * voltage for conductance in (reading.low_S, reading.high_S) for voltage in limits_V]
        low, high = max(currents.min() - loose, min(limits)), min(currents.max() + loose, max(limits))
    return Bounds(
        low=min(float(low), nominal),
        nominal=nominal,
        high=max(float(high), nominal),
        guaranteed=True,
        method="outer" if loose > tolerance else "vertices" if mattered else "exact",
        mattered=mattered,
    )


def _held_S(reading: Reading, ports: Ports) -> float:
    """The conductance read, as it is held. [S]"""
    return reading.high_S if reading.own is None else float(ports.held[reading.own])


def _value(reading: Reading, voltage_V: float, ports: Ports) -> float:
    """The quantity where everything is held. [V, A or W]"""
    return float(_held_S(reading, ports) * voltage_V ** (2 if reading.power else 1))


def _swings(ports: Ports, readings: Sequence[Reading], nought_V: float) -> Array:
    """How far each unknown moves each quantity about the centre of the box, in the unit of `tolerance`."""
    answers = ports.most / ports.share(ports.most) - ports.least / np.maximum(ports.share(ports.least), FAINT)
    swings = np.abs(ports.transfer * np.where(ports.conducts, answers * ports.voltage, ports.most - ports.least))
    for place, reading in enumerate(readings):
        swings[place] *= _weight(reading, _held_S(reading, ports))
        if reading.own is not None:
            resistance = ports.mutual[reading.own, reading.own]
            seen = _Seen(ports.asked[place], resistance, float(ports.held[reading.own]))
            read = _roots_of_power(reading, seen, nought_V) if reading.power else _currents(reading, seen)
            swings[place, reading.own] = read.max() - read.min()
    return swings


def _currents(reading: Reading, seen: _Seen) -> Array:
    """Currents at both ends of the conductance read. [A]"""
    found = []
    for conductance_S in {reading.low_S, reading.high_S}:
        share = 1 + seen.resistance * (conductance_S - seen.held_S)
        adrift = share < FAINT  # what is drawn beyond comes through however little it conducts
        through = np.where(adrift, 1 / np.where(adrift, seen.resistance, 1), conductance_S / np.where(adrift, 1, share))
        found.append(seen.voltage * through)
    return np.array(found)


def _roots_of_power(reading: Reading, seen: _Seen, nought_V: float) -> Array:
    """Roots of the power at both ends of the conductance read, and where it matches what it sees. [W^1/2]"""
    matched = np.divide(1, seen.resistance, out=np.full_like(seen.resistance, np.inf), where=seen.resistance > 0)
    found = []
    for conductance_S in (reading.low_S, reading.high_S, np.clip(matched - seen.held_S, reading.low_S, reading.high_S)):
        share = 1 + seen.resistance * (conductance_S - seen.held_S)
        adrift = share < FAINT
        root = np.abs(seen.voltage) * np.sqrt(conductance_S) / np.where(adrift, 1, share)
        found.append(np.where(adrift, np.where(np.abs(seen.voltage) > nought_V, np.inf, 0), root))
    return np.array(found)
