"""Bounds of what can be measured hold for every network within the bounds of its elements."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.band import Draw, Output, at_level, band, load_shares, magnitude, spread
from harnessdiff.analyse.network.laws import Law, Laws
from harnessdiff.model.parts import Load
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from tests.analyse.measured import LOOSE_REPAIR, TERMINALS, bench


@settings(max_examples=15)
@given(st.lists(st.floats(0, 1), min_size=21, max_size=21), st.sampled_from(TERMINALS))
def test_network_with_any_values_within_bounds_lies_within_the_band(shares: list[float], node: str) -> None:
    settled = bench(observations=(LOOSE_REPAIR,)).settled["lit"]
    low, high = spread(settled)
    base = at_level(settled, {}, 1.0 if shares[0] > 0.5 else -1.0)
    numbers = base.numbers.copy()
    for number in range(len(numbers)):
        if base.law[number] not in (int(Law.SOURCE), int(Law.BATTERY)):
            share = shares[number % len(shares)]
            numbers[number] = low[number] + share * (high[number] - low[number])
    solution = settled.network.circuit.solve(Laws(law=base.law, numbers=numbers), settled.active)
    index = settled.network.index
    value = float(solution.voltage_V[index[node]] - solution.voltage_V[index["BAT1:-"]])

    found = band(settled, Output(nodes={node: 1.0, "BAT1:-": -1.0})).range

    assert found.low - 1e-6 <= value <= found.high + 1e-6


@settings(max_examples=15)
@given(st.lists(st.floats(0, 1), min_size=21, max_size=21), st.integers(0, 20))
def test_current_of_any_such_network_lies_within_the_band_too(shares: list[float], number: int) -> None:
    settled = bench(observations=(LOOSE_REPAIR,)).settled["lit"]
    low, high = spread(settled)
    base = at_level(settled, {}, -1.0)
    share = np.array([shares[one % len(shares)] for one in range(len(low))])[:, None]
    inside = low + share * (high - low)
    source = np.isin(base.law, (int(Law.SOURCE), int(Law.BATTERY)))[:, None]
    laws = Laws(law=base.law, numbers=np.where(source, base.numbers, inside))
    value = float(settled.network.circuit.solve(laws, settled.active).current_A[number])

    found = band(settled, Output(branches={number: 1.0})).range

    assert found.low - 1e-6 <= value <= found.high + 1e-6


def test_battery_that_was_read_has_no_wider_level_than_that() -> None:
    settled = bench(observations=()).settled["asleep"]
    output = Output(nodes={"BAT1:+": 1.0, "BAT1:-": -1.0})
    level = Range(low=12.2, nominal=12.25, high=12.3, guaranteed=False)

    assert band(settled, output).range.low == pytest.approx(11.8, abs=0.01)
    found = band(settled, output, {"BAT1": level}).range
    assert (found.low, found.nominal, found.high) == pytest.approx((12.2, 12.25, 12.3), abs=0.01)


def test_what_is_drawn_besides_passes_the_battery_cable() -> None:
    settled = bench(observations=()).settled["asleep"]
    (cable,) = [one.number for one in settled.network.branches if one.element == "W0"]
    besides = Draw(one="BAT1:+", other="BODY:1", least_A=0.1, greatest_A=0.2)

    alone = magnitude(band(settled, Output(branches={cable: 1.0})).range)
    more = magnitude(band(settled, Output(branches={cable: 1.0}), draws=[besides]).range)

    assert more.low == pytest.approx(alone.low)
    assert more.high == pytest.approx(alone.high + 0.2, abs=1e-4)


def test_floating_node_shows_no_resistance_that_is_finite() -> None:
    lead = {"kind": "lead", "id": "L1", "end_1": {"loose": {"treatment": "bare"}},
            "end_2": {"loose": {"treatment": "taped"}}}  # fmt: skip
    settled = bench(observations=(lead,)).settled["asleep"]

    assert band(settled, Output(nodes={"+L1#1": 1.0, "BAT1:-": -1.0})).seen_ohm == math.inf


@given(st.floats(0.01, 10), st.floats(1, 3))
def test_load_may_draw_between_what_was_said_and_a_little_more(amps: float, times: float) -> None:
    part = Load(between=("1", "2"), model="current", rated_A=Quantity(low=amps, high=amps * times))

    less, more = load_shares(part, resting=False)

    middle = amps * (1 + times) / 2
    assert less * middle < amps
    assert more * middle > amps * times


def test_load_of_which_nothing_is_said_may_draw_nothing_or_much() -> None:
    assert load_shares(Load(between=("1", "2"), model="current"), resting=False) == (0.0, 10.0)


@given(st.floats(-5, 5), st.floats(0, 5), st.floats(0, 5))
def test_magnitude_holds_the_magnitude_of_all_it_holds(low: float, one: float, other: float) -> None:
    signed = Range(low=low, nominal=low + one, high=low + one + other, guaranteed=False)

    found = magnitude(signed)

    for value in (signed.low, signed.nominal, signed.high):
        assert found.low <= abs(value) <= found.high
