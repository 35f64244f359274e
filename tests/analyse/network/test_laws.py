"""The current of every element against its voltage."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from harnessdiff.analyse.network.laws import LEAK_S, Law, Laws
from tests.analyse.network.made_up import Element, of_any_kind, within

ANY = of_any_kind(2)
VOLTS = within(-30, 30)
STEP_V = 1e-5


def current(each: Element, *volts: float) -> tuple[np.ndarray, np.ndarray]:
    """Current and slope of an element at some voltages."""
    numbers = np.zeros((len(volts), 4))
    numbers[:, : len(each.numbers)] = each.numbers
    laws = Laws(law=np.full(len(volts), int(each.law)), numbers=numbers)
    return laws.currents(np.array(volts))


def kinks(each: Element) -> list[float]:
    """Voltages at which the slope of an element jumps."""
    n = each.numbers
    match each.law:
        case Law.SOURCE:
            return [n[0] - n[2] / n[1], n[0] - n[3] / n[1]]
        case Law.DIODE | Law.BATTERY:
            return [n[0]]
        case Law.FILAMENT:
            cold = n[0] * (n[1] / n[2] / n[0]) ** (1 / 0.45)
            return [-cold, cold]
        case Law.CURRENT | Law.POWER:
            return [0.0, n[1] * n[2]]
        case _:
            return []


@given(ANY, VOLTS)
def test_the_slope_is_the_derivative_of_the_current(each: Element, volts: float) -> None:
    assume(all(abs(volts - kink) > 2 * STEP_V for kink in kinks(each)))
    values, slopes = current(each, volts - STEP_V, volts, volts + STEP_V)
    scale = max(1.0, float(np.max(np.abs(values))))
    assert (values[2] - values[0]) / (2 * STEP_V) == pytest.approx(slopes[1], rel=1e-3, abs=1e-9 * scale)


@given(ANY)
def test_the_current_does_not_jump_at_a_kink(each: Element) -> None:
    for kink in kinks(each):
        near = 1e-12 * max(1.0, abs(kink))
        (below, above), slopes = current(each, kink - near, kink + near)
        assert abs(above - below) <= 3 * near * float(np.max(np.abs(slopes))) + 1e-13 * abs(below)


@given(ANY, VOLTS, VOLTS)
def test_only_constant_power_draws_less_at_more_voltage(each: Element, one: float, other: float) -> None:
    assume(each.law != Law.POWER)
    low, high = current(each, *sorted((one, other)))[0]
    assert low <= high


@given(ANY, VOLTS)
def test_only_sources_give_power(each: Element, volts: float) -> None:
    drawn = float(current(each, volts)[0][0]) * volts
    assert drawn >= 0 or each.law in (Law.SOURCE, Law.BATTERY)


@given(ANY, VOLTS)
def test_the_slope_of_every_element_leaves_its_nodes_held(each: Element, volts: float) -> None:
    assume(each.law != Law.POWER)
    assert current(each, volts)[1][0] >= LEAK_S


@pytest.mark.parametrize(
    ("each", "volts", "amps"),
    [
        (Element(Law.RESISTOR, 0, 1, (0.25,)), 12.0, 3.0),
        (Element(Law.SOURCE, 0, 1, (14.0, 10.0, 0.0, 20.0)), 13.5, -5.0),
        (Element(Law.SOURCE, 0, 1, (14.0, 10.0, 0.0, 20.0)), 0.0, -20.0),
        (Element(Law.SOURCE, 0, 1, (14.0, 10.0, 0.0, 20.0)), 24.0, 0.0),
        (Element(Law.DIODE, 0, 1, (0.7, 100.0)), 0.75, 5.0),
        (Element(Law.DIODE, 0, 1, (0.7, 100.0)), -12.0, 0.0),
        (Element(Law.FILAMENT, 0, 1, (12.0, 1.75, 17.5 / 12)), 12.0, 1.75),
        (Element(Law.FILAMENT, 0, 1, (12.0, 1.75, 17.5 / 12)), -12.0, -1.75),
        (Element(Law.FILAMENT, 0, 1, (12.0, 1.75, 17.5 / 12)), 0.012, 0.0175),
        (Element(Law.CURRENT, 0, 1, (2.0, 3.0, 1.0)), 12.0, 2.0),
        (Element(Law.CURRENT, 0, 1, (2.0, 3.0, 1.0)), 1.5, 1.0),
        (Element(Law.CURRENT, 0, 1, (2.0, 3.0, -1.0)), -12.0, -2.0),
        (Element(Law.CURRENT, 0, 1, (2.0, 3.0, 1.0)), -12.0, 0.0),
        (Element(Law.POWER, 0, 1, (60.0, 3.0, 1.0)), 12.0, 5.0),
        (Element(Law.POWER, 0, 1, (60.0, 3.0, -1.0)), -12.0, -5.0),
        (Element(Law.POWER, 0, 1, (60.0, 3.0, 1.0)), 1.5, 10.0),
        (Element(Law.BATTERY, 0, 1, (12.0, 100.0, 5.0)), 11.9, -10.0),
        (Element(Law.BATTERY, 0, 1, (12.0, 100.0, 5.0)), 14.0, 10.0),
    ],
)
def test_by_hand(each: Element, volts: float, amps: float) -> None:
    assert current(each, volts)[0][0] == pytest.approx(amps, abs=1e-7)


@given(st.lists(ANY, min_size=1, max_size=20), VOLTS)
def test_elements_side_by_side_do_not_mix(elements: list[Element], volts: float) -> None:
    numbers = np.zeros((len(elements), 4))
    for row, each in enumerate(elements):
        numbers[row, : len(each.numbers)] = each.numbers
    together = Laws(law=np.array([int(each.law) for each in elements]), numbers=numbers)
    amps, slopes = together.currents(np.full(len(elements), volts))
    for number, each in enumerate(elements):
        alone = current(each, volts)
        assert (amps[number], slopes[number]) == (alone[0][0], alone[1][0])
