"""How the current of a two-terminal element follows its voltage."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

LEAK_S = 1e-9
"""Slope kept by an element that carries nothing, so that no node loses its hold; 12 nA at 12 V."""
LAMP_CURRENT_EXPONENT = 0.55
"""Current of a filament lamp against voltage: I/I_r = (V/V_r)^0.55 (handbook exponents for lamp rerating)."""


class Law(IntEnum):
    """Sorts of element; the comment says what its four numbers are.

    Voltage and current count from the first node to the second through the element.
    """

    RESISTOR = 0  # conductance [S], -, -, -
    SOURCE = 1  # voltage [V], inner conductance [S], least and greatest current out of the first node [A]
    DIODE = 2  # forward voltage [V], conductance when on [S], -, -
    FILAMENT = 3  # rated voltage [V], rated current [A], conductance when cold [S], -
    CURRENT = 4  # current [A], knee [V], sign of the voltage at which it draws, -
    POWER = 5  # power [W], knee [V], sign of the voltage at which it draws, -
    BATTERY = 6  # voltage [V], inner conductance giving [S], taking charge [S], -


@dataclass(frozen=True, eq=False, kw_only=True)
class Laws:
    """The laws of all elements of a network.

    Parameters
    ----------
    law : ndarray of int, shape (elements,)
        Of `Law`.
    numbers : ndarray, shape (elements, 4)
        The numbers of each.
    """

    law: Ints
    numbers: Floats

    @cached_property
    def of(self) -> dict[Law, Ints]:
        """Indices of the elements of every law that occurs."""
        return {law: found for law in Law if (found := np.flatnonzero(self.law == law)).size}

    @cached_property
    def idle_V(self) -> Floats:
        """Voltage at which no current flows through each element; of a diode the least of them."""
        return np.where((self.law == Law.SOURCE) | (self.law == Law.BATTERY), self.numbers[:, 0], 0.0)

    @cached_property
    def _sorted(self) -> list[tuple[Law, Ints, Floats]]:
        return [(law, at, self.numbers[at]) for law, at in self.of.items()]

    def currents(self, voltage_V: Floats) -> tuple[Floats, Floats]:
        """Current and slope of every element at a voltage.

        Parameters
        ----------
        voltage_V : ndarray, shape (elements,)

        Returns
        -------
        tuple of ndarray
            Current [A] and its derivative [S].
        """
        current, slope = np.empty_like(voltage_V), np.empty_like(voltage_V)
        for law, at, numbers in self._sorted:
            current[at], slope[at] = _LAW[law](voltage_V[at], numbers)
        return current, slope


def _resistor(v: Floats, n: Floats) -> tuple[Floats, Floats]:
    return n[:, 0] * v, n[:, 0]


def _source(v: Floats, n: Floats) -> tuple[Floats, Floats]:
    out = n[:, 1] * (n[:, 0] - v)
    limited = np.clip(out, n[:, 2], n[:, 3])
    inside = limited == out
    # The leak counts from the voltage at which the limit is reached: a jump there would leave some networks unsolvable.
    leak = LEAK_S * (v - (n[:, 0] - limited / n[:, 1]))
    return np.where(inside, -out, leak - limited), np.where(inside, n[:, 1], LEAK_S)


def _diode(v: Floats, n: Floats) -> tuple[Floats, Floats]:
    on = v > n[:, 0]
    return LEAK_S * v + np.where(on, n[:, 1] * (v - n[:, 0]), 0.0), LEAK_S + np.where(on, n[:, 1], 0.0)


def _filament(v: Floats, n: Floats) -> tuple[Floats, Floats]:
    size = np.abs(v)
    share = np.maximum(size, 1e-12) / n[:, 0]
    hot = n[:, 1] * share**LAMP_CURRENT_EXPONENT
    cold = n[:, 2] * size
    is_cold = cold <= hot
    slope = np.where(is_cold, n[:, 2], LAMP_CURRENT_EXPONENT * hot / np.maximum(size, 1e-12))
    return np.sign(v) * np.where(is_cold, cold, hot), slope


def _current(v: Floats, n: Floats) -> tuple[Floats, Floats]:
    ahead = v * n[:, 2]
    share = np.clip(ahead / n[:, 1], 0.0, 1.0)
    slope = np.where((ahead > 0) & (ahead < n[:, 1]), n[:, 0] / n[:, 1], 0.0)
    return LEAK_S * v + n[:, 2] * n[:, 0] * share, LEAK_S + slope


def _power(v: Floats, n: Floats) -> tuple[Floats, Floats]:
    ahead = v * n[:, 2]
    above = np.maximum(ahead, n[:, 1])
    on = ahead >= n[:, 1]
    draw = np.where(on, n[:, 0] / above, n[:, 0] / n[:, 1] ** 2 * np.maximum(ahead, 0.0))
    slope = np.where(on, -n[:, 0] / above**2, np.where(ahead > 0, n[:, 0] / n[:, 1] ** 2, 0.0))
    return LEAK_S * v + n[:, 2] * draw, LEAK_S + slope


def _battery(v: Floats, n: Floats) -> tuple[Floats, Floats]:
    slope = np.where(v > n[:, 0], n[:, 2], n[:, 1])
    return slope * (v - n[:, 0]), slope


_LAW = {
    Law.RESISTOR: _resistor,
    Law.SOURCE: _source,
    Law.DIODE: _diode,
    Law.FILAMENT: _filament,
    Law.CURRENT: _current,
    Law.POWER: _power,
    Law.BATTERY: _battery,
}
