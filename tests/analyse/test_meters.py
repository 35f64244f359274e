"""What a reading may have been follows from the instrument and its range."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.meters import digit, off_by, read_range
from harnessdiff.model.quantity import Quantity

INSTRUMENTS = ("meter, 20 V range", "meter, 2 V range", "meter, 200 mV range", "clamp, 4 A range", "a lamp", None)


@pytest.mark.parametrize(
    ("instrument", "step"),
    [("meter, 200 mV range", 1e-4), ("meter, 2 V range", 1e-3), ("meter, 20 V range", 1e-2), ("meter", 1e-4)],
)
def test_digit_of_a_range(instrument: str, step: float) -> None:
    assert digit(0.1, "V", instrument) == pytest.approx(step)


def test_meter_without_a_range_shows_in_the_least_that_holds_the_value() -> None:
    assert digit(12.0, "V", "meter") == pytest.approx(0.01)


@given(st.floats(0, 200), st.sampled_from(["V", "A", "ohm"]), st.sampled_from(INSTRUMENTS))
def test_range_holds_what_was_read(value: float, unit: str, instrument: str | None) -> None:
    found = read_range(Quantity.exactly(value), unit, instrument)

    assert found.low < value < found.high
    assert found.nominal == pytest.approx(value)
    assert off_by(value, unit, instrument) > 0


@given(st.floats(0, 100), st.floats(0, 100), st.sampled_from(INSTRUMENTS))
def test_more_read_is_never_less_range(one: float, other: float, instrument: str | None) -> None:
    low, high = (read_range(Quantity.exactly(value), "A", instrument) for value in sorted((one, other)))

    assert low.high <= high.high + 1e-12


def test_open_side_stays_open() -> None:
    found = read_range(Quantity(low=5.0), "ohm", "meter")

    assert found.high == math.inf
    assert found.low < 5.0
    assert read_range(Quantity(high=5.0), "ohm", "meter").low < 0.0
