"""What an ohmmeter shows with the supply off."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.dead import dead_resistance_ohm
from tests.analyse.measured import LOOSE_REPAIR, TERMINALS, bench


@settings(max_examples=20)
@given(st.sampled_from(TERMINALS), st.sampled_from(TERMINALS))
def test_dead_resistance_is_the_same_both_ways_and_in_order(one_end: str, other: str) -> None:
    settled = bench(observations=(LOOSE_REPAIR,)).settled["asleep"]

    there, back = dead_resistance_ohm(settled, one_end, other), dead_resistance_ohm(settled, other, one_end)

    assert there.nominal == pytest.approx(back.nominal)
    assert there.low <= there.nominal <= there.high


def test_nothing_joins_an_open_switch() -> None:
    settled = bench(observations=()).settled["asleep"]
    lit = bench(observations=()).settled["lit"]

    assert dead_resistance_ohm(settled, "R1:30", "E1:58").low < math.inf  # by way of what electronics let through
    assert dead_resistance_ohm(settled, "S1:1", "S1:2").nominal > dead_resistance_ohm(lit, "S1:1", "S1:2").high


def test_cold_filament_is_a_tenth_of_the_hot_one() -> None:
    settled = bench(observations=()).settled["asleep"]

    # 60 W at 12 V are 2.4 Ω hot; cold a tenth, as car-type lamps have by a secondary copy
    assert dead_resistance_ohm(settled, "E1:58", "E1:31").nominal == pytest.approx(0.24, rel=0.01)


def test_a_point_has_no_resistance_to_itself() -> None:
    found = dead_resistance_ohm(bench(observations=()).settled["asleep"], "E1:58", "E1:58")

    assert (found.low, found.high) == (0.0, 0.0)
