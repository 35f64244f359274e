"""Filament lamps away from their rated voltage, against the handbook's exponents.

Secondary copy: the public article on lamp rerating, which cites Fink and Beaty, Standard Handbook for Electrical
Engineers, 11th edition, page 22-8: current follows voltage to the power of 0.55, power to the power of 1.6.
"""

from __future__ import annotations

import numpy as np
import pytest

from harnessdiff.analyse.network.circuit import Solution
from harnessdiff.analyse.network.laws import Law
from tests.analyse.network.made_up import Element, Net, resistor

CURRENT_EXPONENT = 0.55
POWER_EXPONENT = 1.6
RATED_V = 12.0


def lamp(watts: float) -> Element:
    """A lamp of so much power at 12 V; cold it has a tenth of its hot resistance."""
    amps = watts / RATED_V
    return Element(Law.FILAMENT, 1, 0, (RATED_V, amps, 10 * amps / RATED_V))


def at(volts: float, watts: float, series_ohm: float = 1e-9) -> Solution:
    """The lamp's circuit: an ideal source as node 2, a resistor, the lamp from node 1 to ground."""
    source = Element(Law.BATTERY, 2, 0, (volts, 1e6, 1e6))
    return Net((lamp(watts), resistor(2, 1, series_ohm), source), 3).solved()


# I = 1.75 (V/12)^0.55 and V = 12.6 − I·R solved by hand from the exponent above; volts where they were worked out.
IN_SERIES = [
    (1e-9, 1.798, 12.6),
    (0.5, 1.729, 11.74),
    (1.0, 1.663, 10.94),
    (2.0, 1.541, 9.52),
    (5.0, 1.239, 6.41),
]


@pytest.mark.parametrize(("series_ohm", "amps", "volts"), IN_SERIES)
def test_a_21_w_lamp_behind_a_resistance(series_ohm: float, amps: float, volts: float) -> None:
    found = at(12.6, 21, series_ohm)
    assert found.current_A[0] == pytest.approx(amps, abs=1e-3)
    assert found.voltage_V[1] == pytest.approx(volts, abs=6e-3)


@pytest.mark.parametrize("watts", [5.0, 21.0, 55.0])
@pytest.mark.parametrize("share", [0.5, 0.8, 0.9, 1.1, 1.2])
def test_current_follows_the_exponent_and_power_by_its_own_within_its_rounding(watts: float, share: float) -> None:
    """The current law alone is built in. It implies 1.55 for power where the handbook rounds to 1.6.

    The two differ by (V/V_r)^0.05: 0.5 % at 10 % off the rated voltage, 3.5 % at half of it. So much is allowed.
    """
    found = at(share * RATED_V, watts)
    amps = watts / RATED_V * share**CURRENT_EXPONENT
    assert found.current_A[0] == pytest.approx(amps, rel=1e-5)
    handbook_W = watts * share**POWER_EXPONENT
    assert found.current_A[0] * found.voltage_V[1] == pytest.approx(handbook_W, rel=abs(share**-0.05 - 1) + 1e-4)


@pytest.mark.parametrize("watts", [5.0, 21.0, 55.0])
def test_a_lamp_that_hardly_glows_has_its_cold_resistance(watts: float) -> None:
    """A tenth of the hot resistance (rule of the trade for lamps in vehicles, secondary copy)."""
    found = at(0.01, watts)
    assert found.voltage_V[1] / found.current_A[0] == pytest.approx(RATED_V**2 / watts / 10, rel=1e-3)


def test_a_lamp_of_rated_power_draws_its_rated_current() -> None:
    """R = V²/P: 21 W at 12 V is 1.75 A through 6.857 Ω, 5 W is 0.4167 A through 28.8 Ω."""
    for watts, amps, ohm in ((21, 1.75, 6.857), (5, 0.4167, 28.8), (60, 5.0, 2.4)):
        found = at(RATED_V, watts)
        assert found.current_A[0] == pytest.approx(amps, rel=1e-4)
        assert found.voltage_V[1] / found.current_A[0] == pytest.approx(ohm, rel=1e-4)


def test_two_lamps_in_series_share_by_the_exponent() -> None:
    """21 W and 5 W in series: V₂₁/V₅ = (I₅/I₂₁)^(1/0.55), so that the large one is dark: 0.85 V of 12.6 V."""
    small, large = lamp(5), lamp(21)
    elements = (
        Element(Law.FILAMENT, 2, 1, small.numbers),
        large,
        Element(Law.BATTERY, 2, 0, (12.6, 1e6, 1e6)),
    )
    found = Net(elements, 3).solved()
    ratio = (5 / 21) ** (1 / CURRENT_EXPONENT)
    assert found.voltage_V[1] == pytest.approx(12.6 * ratio / (1 + ratio), rel=1e-4)
    assert np.isclose(found.voltage_V[1], 0.86, atol=0.01)
