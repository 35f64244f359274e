"""Ranges: in order, and no arithmetic that loses a value."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.range import Range

VALUES = st.floats(0, 1e6, allow_nan=False)


@st.composite
def ranges(draw: st.DrawFn) -> Range:
    low, nominal, high = sorted(draw(VALUES) for _ in range(3))
    return Range(low=low, nominal=nominal, high=high, guaranteed=draw(st.booleans()))


@pytest.mark.parametrize("values", [(2, 1, 3), (1, 3, 2), (1, math.nan, 2), (math.nan, 1, 2)])
def test_a_range_out_of_order_is_refused(values: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="out of order"):
        Range(low=values[0], nominal=values[1], high=values[2], guaranteed=True)


@given(ranges(), ranges())
def test_a_sum_has_the_sums_of_the_bounds_and_is_sure_where_both_are(one: Range, other: Range) -> None:
    found = one + other

    assert (found.low, found.high) == (one.low + other.low, one.high + other.high)
    assert found.guaranteed == (one.guaranteed and other.guaranteed)
    assert found == other + one


@given(ranges(), st.floats(0, 1e3))
def test_scaling_keeps_the_order(one: Range, factor: float) -> None:
    found = one.scaled(factor)

    assert found.low == one.low * factor
    assert found.guaranteed == one.guaranteed


def test_nothing_times_infinity_is_nothing_and_less_than_nothing_is_refused() -> None:
    endless = Range(low=0, nominal=1, high=math.inf, guaranteed=True)

    assert endless.scaled(0) == Range.exactly(0)
    with pytest.raises(ValueError, match="not scaled by -1"):
        endless.scaled(-1)


@given(st.lists(ranges(), min_size=1, max_size=5))
def test_a_hull_holds_each_and_no_more(several: list[Range]) -> None:
    found = Range.hull(several)

    assert found.low == min(one.low for one in several)
    assert found.high == max(one.high for one in several)
    assert found.nominal in [one.nominal for one in several]
    assert found.guaranteed == all(one.guaranteed for one in several)
    assert found == Range.hull(reversed(several))


def test_a_hull_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="a hull of nothing"):
        Range.hull([])
