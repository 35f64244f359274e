"""A resistive network as it is seen at its ports: the pairs of nodes where something is unknown or asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from harnessdiff.analyse.network.unknowns import (
    GROUND,
    Asked,
    Branch,
    PowerIn,
    Unknown,
    UnknownConductance,
    UnknownCurrent,
    VoltageBetween,
)

Array: TypeAlias = NDArray[np.float64]
Solve: TypeAlias = Callable[[Array], Array]

FAINT = 1e-10
"""An opened branch that leaves less than this part of the conductance across its ends leaves them floating: some
thousand times what rounding makes of nought, and for a contact of 1 mΩ a leak of 10 MΩ."""
NOUGHT = 1e-9
"""Voltages less than this part of the span, and parts of a current less than this, are taken to be rounding."""
LEAST_CENTRE = 1e-3
"""Least part of a conductance's greatest value that it is held at, so that no part floats at the centre."""


@dataclass(frozen=True, slots=True)
class Ports:
    """The network at its unknowns (`n` of them) and asked quantities (`q`), with all unknowns held at one value each.

    `held` are the conductances held (0 for a draw), `least` and `most` how far each unknown may move from there.
    """

    conducts: NDArray[np.bool_]  # (n,) a conductance, not a draw
    held: Array  # (n,)
    least: Array  # (n,)
    most: Array  # (n,)
    mutual: Array  # (n, n) mutual resistances
    voltage: Array  # (n,) less the branch's own source
    transfer: Array  # (q, n) what a unit drawn at an unknown takes from an asked voltage
    asked: Array  # (q,) voltages, less the branch's own source

    def moved(self, by_S: Array) -> Ports:
        """The same with conductances held elsewhere."""
        joint = np.eye(len(by_S)) + self.mutual * by_S
        mutual, voltage = (
            np.linalg.solve(joint, self.mutual),
            np.asarray(np.linalg.solve(joint, self.voltage), np.float64),
        )
        return Ports(
            self.conducts,
            self.held + by_S,
            self.least - by_S,
            self.most - by_S,
            (mutual + mutual.T) / 2,
            voltage,
            self.transfer - (self.transfer * by_S) @ mutual,
            self.asked - self.transfer @ (by_S * voltage),
        )

    def share(self, change_S: Array) -> Array:
        """What is left of the conductance across each unknown after a change of its own, as a part: 0 is floating."""
        return 1 + np.diag(self.mutual) * np.where(self.conducts, change_S, 0)


@dataclass(frozen=True, slots=True)
class Reading:
    """How an asked quantity follows from the voltage at its port: ``g u``, or ``g u²`` if it is a `power`."""

    plus: int
    minus: int
    emf_V: float
    own: int | None  # the unknown conductance that it is read in
    low_S: float
    high_S: float
    power: bool


def box(unknown: Unknown) -> tuple[float, float, float]:
    """Least, nominal and greatest value. [S or A]"""
    if isinstance(unknown, UnknownConductance):
        return unknown.low_S, unknown.nominal_S, unknown.high_S
    return unknown.low_A, unknown.nominal_A, unknown.high_A


def reading_of(asked: Asked, unknowns: Sequence[Unknown]) -> Reading:
    """How what is asked for is read at a port; a voltage is the current in a branch of 1 S."""
    if isinstance(asked, VoltageBetween):
        return Reading(asked.plus, asked.minus, 0.0, None, 1.0, 1.0, power=False)
    power = isinstance(asked, PowerIn)
    if isinstance(asked.branch, Branch):
        known = asked.branch
        return Reading(
            known.plus, known.minus, known.emf_V, None, known.conductance_S, known.conductance_S, power=power
        )
    unknown = unknowns[asked.branch]
    if not isinstance(unknown, UnknownConductance):
        raise ValueError(f"unknown {asked.branch} is a draw, and no branch to read a current or power in")  # noqa: TRY004
    return Reading(unknown.plus, unknown.minus, unknown.emf_V, asked.branch, unknown.low_S, unknown.high_S, power=power)


def _across(values: Array, ends: Sequence[Unknown] | Sequence[Reading]) -> Array:
    """Differences of nodal values from plus to minus; the row of noughts put last is what `GROUND` points to."""
    grounded = np.concatenate((values, np.zeros_like(values[:1])))
    return np.asarray(grounded[[end.plus for end in ends]] - grounded[[end.minus for end in ends]])


def nominal_ports(solve: Solve, voltages_V: Array, unknowns: Sequence[Unknown], readings: Sequence[Reading]) -> Ports:
    """The ports at nominal values: one solve with a right-hand side for each unknown."""
    draws = np.zeros((len(voltages_V) + 1, len(unknowns)))
    columns = np.arange(len(unknowns))
    draws[[each.plus for each in unknowns], columns] += 1
    draws[[each.minus for each in unknowns], columns] -= 1
    taken = solve(draws[:-1]) if unknowns else draws[:-1]
    values = np.array([box(each) for each in unknowns]).reshape(-1, 3)
    conducts = np.array([isinstance(each, UnknownConductance) for each in unknowns], dtype=np.bool_)
    emf_V = np.array([each.emf_V if isinstance(each, UnknownConductance) else 0.0 for each in unknowns])
    mutual = _across(taken, unknowns)
    return Ports(
        conducts=conducts,
        held=np.where(conducts, values[:, 1], 0),
        least=values[:, 0] - values[:, 1],
        most=values[:, 2] - values[:, 1],
        mutual=(mutual + mutual.T) / 2,
        voltage=_across(voltages_V, unknowns) - emf_V,
        transfer=_across(taken, readings),
        asked=_across(voltages_V, readings) - np.array([each.emf_V for each in readings]),
    )


def centred(nominal: Ports) -> Ports:
    """The ports with each conductance held where its ends are equally far in what they can do to what it feeds.

    With y the conductance that the rest shows, a change from g* to g acts as ``(g - g*) (g* + y) / (g + y)``: the
    harmonic mean of both ends where y is small (a joint in a lead), the arithmetic where it is great (a shunt).
    """
    ports = nominal
    for _ in range(2):  # the rest moves as well: the second round sees it where it is held
        low, high = ports.held + ports.least, ports.held + ports.most
        rest = np.maximum(1 / np.diag(ports.mutual) - ports.held, 0)
        both = high + low + 2 * rest
        centre = np.divide(2 * (high + rest) * (low + rest), both, out=np.zeros_like(both), where=both > 0) - rest
        centre = np.clip(np.maximum(centre, LEAST_CENTRE * high), low, high)
        ports = ports.moved(np.where(ports.conducts, centre - ports.held, 0))
    return ports


def without_dead_ends(ports: Ports, nought_V: float) -> Ports:
    """The same, with no range left for branches that lead to parts which nothing else grounds and nothing draws from.

    They carry nothing at any conductance, though rounding, multiplied by an open, would make it seem otherwise.
    """
    reach = np.where(ports.conducts, 0, ports.most - ports.least)
    idle = np.abs(ports.voltage) + np.abs(ports.mutual) @ reach <= nought_V
    dead = ports.conducts & idle & (ports.share(ports.least) < FAINT)
    return replace(ports, least=np.where(dead, 0, ports.least), most=np.where(dead, 0, ports.most))


def port_span(port: Unknown | Reading, span_V: tuple[float, float]) -> tuple[float, float]:
    """Least and greatest voltage of a port, less its own source, where nodes keep within the span. [V]"""
    emf_V = 0.0 if isinstance(port, UnknownCurrent) else port.emf_V
    plus, minus = ((0.0, 0.0) if node == GROUND else span_V for node in (port.plus, port.minus))
    return plus[0] - minus[1] - emf_V, plus[1] - minus[0] - emf_V
