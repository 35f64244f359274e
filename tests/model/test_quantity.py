"""Quantities: exact, a range, one of a few, or unknown."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.quantity import UNKNOWN, Quantity

GRID = range(7)


@st.composite
def quantities(draw: st.DrawFn) -> Quantity:
    """Quantities whose values, where they are bounded, lie on a small grid."""
    if draw(st.booleans()):
        values = tuple(sorted(draw(st.sets(st.sampled_from(GRID), min_size=1, max_size=3))))
        return Quantity(low=values[0], high=values[-1], one_of=values)
    low, high = sorted(draw(st.tuples(st.sampled_from(GRID), st.sampled_from(GRID))))
    return Quantity(low=draw(st.sampled_from([low, None])), high=draw(st.sampled_from([high, None])))


def possible(quantity: Quantity) -> set[int]:
    """The values of the grid that a quantity can be, by its definition."""
    if quantity.one_of:
        return {int(value) for value in quantity.one_of}
    low = -math.inf if quantity.low is None else quantity.low
    high = math.inf if quantity.high is None else quantity.high
    return {value for value in GRID if low <= value <= high}


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_bound_that_is_not_finite_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="a quantity must be finite"):
        Quantity(low=bad)
    with pytest.raises(ValueError, match="a quantity must be finite"):
        Quantity(high=bad)
    with pytest.raises(ValueError, match="a quantity must be finite"):
        Quantity(low=0, high=1, one_of=(0, bad))


def test_crossed_bounds_are_refused_with_both_values() -> None:
    with pytest.raises(ValueError, match=r"^least value 2 is above greatest value 0\.5$"):
        Quantity(low=2, high=0.5)


def test_exactly_is_a_range_of_one_value() -> None:
    assert Quantity.exactly(0.75) == Quantity(low=0.75, high=0.75)
    assert Quantity.exactly(0.75).exact == 0.75


@pytest.mark.parametrize(
    ("quantity", "exact", "known"),
    [
        (UNKNOWN, None, False),
        (Quantity(low=1), None, True),
        (Quantity(high=1), None, True),
        (Quantity(low=1, high=2), None, True),
        (Quantity(low=0, high=0), 0, True),
        (Quantity(low=1, high=1, one_of=(1,)), 1, True),
        (Quantity(low=1, high=2, one_of=(1, 2)), None, True),
    ],
)
def test_a_quantity_knows_whether_it_is_exact_or_known(quantity: Quantity, exact: float | None, known: bool) -> None:
    assert (quantity.exact, quantity.known) == (exact, known)


def test_how_a_value_is_known_and_was_entered_does_not_make_it_another() -> None:
    measured = Quantity(low=1, high=1, known_by="measured", as_entered="1.0")
    claimed = Quantity(low=1, high=1, known_by="claimed")

    assert measured == claimed == Quantity.exactly(1)
    assert len({measured, claimed}) == 1


def test_one_of_two_values_is_not_the_range_between_them() -> None:
    assert Quantity(low=1, high=3, one_of=(1, 3)) != Quantity(low=1, high=3)
    assert not Quantity(low=1, high=3, one_of=(1, 3)).may_equal(Quantity.exactly(2))
    assert Quantity(low=1, high=3).may_equal(Quantity.exactly(2))


@given(quantities(), quantities())
def test_two_quantities_may_be_equal_exactly_when_they_share_a_value(one: Quantity, other: Quantity) -> None:
    assert one.may_equal(other) == bool(possible(one) & possible(other))


@given(quantities(), quantities())
def test_whether_two_may_be_equal_does_not_depend_on_their_order(one: Quantity, other: Quantity) -> None:
    assert one.may_equal(other) == other.may_equal(one)


@given(quantities())
def test_a_quantity_may_equal_itself_and_the_unknown(quantity: Quantity) -> None:
    assert quantity.may_equal(quantity)
    assert quantity.may_equal(UNKNOWN)


@given(quantities(), st.sampled_from(GRID))
def test_bounds_allow_what_lies_between_them(quantity: Quantity, value: int) -> None:
    low = -math.inf if quantity.low is None else quantity.low
    high = math.inf if quantity.high is None else quantity.high

    assert quantity.allows(value) == (low <= value <= high)


@pytest.mark.parametrize("quantity", [UNKNOWN, Quantity(low=1), Quantity(low=1, high=2, one_of=(1, 2))])
def test_a_quantity_cannot_be_changed(quantity: Quantity) -> None:
    with pytest.raises(AttributeError):
        quantity.low = 0  # type: ignore[misc]
