"""Conductors: laws of resistance, withstand and limits."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.conductors import (
    adiabatic_k,
    greatest_ohm_per_km,
    ideal_ohm_per_km,
    insulation_row,
    limit_A,
    limits_A,
    resistance_ohm,
    size_bounds_mm2,
    tabled_ohm_per_km,
    turning_tables,
    withstand_A2s,
)
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import LIMIT_TABLE, conductor_limit_A
from harnessdiff.tables.physics import conductor_resistance, materials

SIZES = st.floats(0.1, 150)
LENGTHS = st.floats(0.01, 50)
DEGREES = st.floats(-40, 200)
MATERIALS = st.sampled_from([None, "unknown", *materials()])
CLASSES = "ABCDEFGH"


def quantities(values: st.SearchStrategy[float]) -> st.SearchStrategy[Quantity]:
    return st.tuples(values, values).map(lambda pair: Quantity(low=min(pair), high=max(pair)))


def within(inner: Range, outer: Range) -> bool:
    return outer.low <= inner.low * (1 + 1e-12) and inner.high <= outer.high * (1 + 1e-12)


# -- resistance


@given(SIZES, SIZES, LENGTHS, MATERIALS, DEGREES)
def test_a_thinner_conductor_never_has_less_resistance(
    one: float, other: float, length: float, material: str | None, degC: float
) -> None:
    thin, thick = (
        resistance_ohm(Quantity.exactly(size), Quantity.exactly(length), material, Quantity.exactly(degC))
        for size in sorted((one, other))
    )

    assert thin.low >= thick.low
    assert thin.high >= thick.high * (1 - 1e-12)
    assert thin.nominal >= thick.nominal * (1 - 1e-12)


@given(SIZES, LENGTHS, MATERIALS, DEGREES, DEGREES)
def test_a_hotter_conductor_never_has_less_resistance(
    size: float, length: float, material: str | None, one: float, other: float
) -> None:
    cold, hot = (
        resistance_ohm(Quantity.exactly(size), Quantity.exactly(length), material, Quantity.exactly(degC))
        for degC in sorted((one, other))
    )

    assert cold.low <= hot.low
    assert cold.high <= hot.high


@given(quantities(SIZES), quantities(LENGTHS), quantities(DEGREES), MATERIALS, st.data())
def test_what_is_known_better_lies_within_what_is_known_worse(
    size: Quantity, length: Quantity, degrees: Quantity, material: str | None, data: st.DataObject
) -> None:
    def one_of(bounds: Quantity) -> Quantity:
        assert bounds.low is not None
        assert bounds.high is not None
        return Quantity.exactly(data.draw(st.floats(bounds.low, bounds.high)))

    exact = resistance_ohm(one_of(size), one_of(length), material, one_of(degrees))

    assert within(exact, resistance_ohm(size, length, material, degrees))
    assert within(exact, resistance_ohm(size, length, "unknown", degrees))


@given(SIZES, LENGTHS, LENGTHS)
def test_lengths_add_up(size: float, one: float, other: float) -> None:
    both = resistance_ohm(Quantity.exactly(size), Quantity.exactly(one + other))
    parts = [resistance_ohm(Quantity.exactly(size), Quantity.exactly(length)) for length in (one, other)]

    assert both.high == pytest.approx((parts[0] + parts[1]).high)
    assert both.nominal == pytest.approx((parts[0] + parts[1]).nominal)


@given(SIZES)
def test_no_standard_allows_less_than_the_ideal_metal(size: float) -> None:
    for metal in materials().values():
        assert ideal_ohm_per_km(size, metal) < greatest_ohm_per_km(size, metal)


@given(SIZES)
def test_tin_never_lowers_and_aluminium_is_worse_than_copper(size: float) -> None:
    copper, tinned, aluminium, clad = (
        greatest_ohm_per_km(size, materials()[name])
        for name in ("copper", "tinned_copper", "aluminium", "copper_clad_aluminium")
    )

    assert tinned > copper * 0.999
    assert copper < clad <= aluminium


def test_a_tabled_size_has_its_tabled_resistance() -> None:
    for row in conductor_resistance():
        assert tabled_ohm_per_km(row.size_mm2, row.table, row.finish) == pytest.approx(row.greatest_ohm_per_km)


@pytest.mark.parametrize(
    ("size", "length", "material", "degrees", "guaranteed"),
    [
        (Quantity.exactly(1), Quantity.exactly(2), "copper", Quantity.exactly(20), True),
        (Quantity(low=1, high=2), Quantity(low=1, high=2), None, Quantity(low=0, high=50), True),
        (Quantity(low=1), Quantity.exactly(2), "copper", Quantity.exactly(20), False),
        (Quantity.exactly(1), Quantity(high=2), "copper", Quantity.exactly(20), False),
        (Quantity.exactly(1), Quantity.exactly(2), "copper", UNKNOWN, False),
        (Quantity.exactly(1), Quantity.exactly(2), "unknown", Quantity.exactly(20), False),
        (Quantity.exactly(1), Quantity.exactly(2), "copper_clad_aluminium", Quantity.exactly(20), False),
        (Quantity.exactly(1), Quantity.exactly(2), "aluminium", Quantity.exactly(20), True),
    ],
)
def test_a_bound_is_sure_where_nothing_was_taken_for_granted(
    size: Quantity, length: Quantity, material: str | None, degrees: Quantity, guaranteed: bool
) -> None:
    assert resistance_ohm(size, length, material, degrees).guaranteed == guaranteed


def test_a_conductor_of_unknown_size_lies_between_the_thinnest_and_the_thickest_of_the_tables() -> None:
    assert size_bounds_mm2(UNKNOWN) == pytest.approx((0.35, 107.2), rel=1e-3)
    assert size_bounds_mm2(Quantity(low=2.5))[0] == 2.5
    assert size_bounds_mm2(Quantity(low=150)) == (150, 150)
    assert size_bounds_mm2(Quantity(high=0.2)) == (0.2, 0.2)
    assert size_bounds_mm2(Quantity.exactly(0))[0] > 0


def test_a_length_that_is_not_known_may_be_anything() -> None:
    found = resistance_ohm(Quantity.exactly(1), UNKNOWN)

    assert (found.low, found.high) == (0, math.inf)


# -- insulation


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("B", "B"), ("b", "B"), ("class C", "C"), ("screened, 600 V, class D", "D"), ("ISO 6722 class F", "F"),
        ("PVC", "PVC"), ("braided cotton over PVC", "PVC"), ("braided cotton over rubber", "rubber"),
        ("XLPE", "XLPE"), ("silicone", "silicone"),
        (None, None), ("", None), ("bare braid", None), ("none, flat braid", None), ("a B wire", None),
        ("class X", None),
    ],
)  # fmt: skip
def test_an_insulation_is_known_by_what_is_said_of_it(said: str | None, expected: str | None) -> None:
    found = insulation_row(said)

    assert (found.insulation if found else None) == expected


@given(st.floats(0, 100), st.floats(101, 200), st.floats(201, 300))
def test_heat_of_two_steps_adds_up(start: float, middle: float, end: float) -> None:
    copper = materials()["copper"]
    whole = adiabatic_k(copper, start, end) ** 2

    assert whole == pytest.approx(adiabatic_k(copper, start, middle) ** 2 + adiabatic_k(copper, middle, end) ** 2)


@given(SIZES, MATERIALS)
def test_a_better_class_of_insulation_never_stands_less(size: float, material: str | None) -> None:
    stands = [withstand_A2s(Quantity.exactly(size), material, letter).low for letter in CLASSES]

    assert stands == sorted(stands)


@given(SIZES, SIZES, MATERIALS, st.sampled_from([None, "PVC", *CLASSES]))
def test_a_thinner_conductor_never_stands_more(
    one: float, other: float, material: str | None, insulation: str | None
) -> None:
    thin, thick = (withstand_A2s(Quantity.exactly(size), material, insulation) for size in sorted((one, other)))

    assert thin.low <= thick.low
    assert thin.high <= thick.high


@given(quantities(SIZES), st.sampled_from(["PVC", "XLPE", "rubber", "silicone", *CLASSES]), MATERIALS)
def test_what_is_not_known_stands_between_the_worst_and_the_best(
    size: Quantity, insulation: str, material: str | None
) -> None:
    known = withstand_A2s(size, material, insulation)

    assert within(known, withstand_A2s(size, material, None))
    assert within(known, withstand_A2s(size, "unknown", insulation)) or material == "unknown"


def test_withstand_is_sure_where_the_size_is_bounded() -> None:
    assert withstand_A2s(Quantity(low=1, high=2)).guaranteed
    assert not withstand_A2s(Quantity(low=1)).guaranteed


# -- limits


@given(SIZES, SIZES, st.sampled_from([None, "PVC", *CLASSES]), st.sampled_from(["fuse", "circuit_breaker"]))
def test_a_thinner_conductor_is_never_allowed_more(one: float, other: float, insulation: str | None, kind: str) -> None:
    thin, thick = (
        {limit.table: limit.limit_A for limit in limits_A(size, insulation, kind=kind)} for size in sorted((one, other))
    )

    assert set(thin) <= set(thick)
    assert all(thin[table] <= thick[table] for table in thin)


@given(SIZES)
def test_a_better_class_of_insulation_is_never_allowed_less(size: float) -> None:
    for table in {limit.table for limit in limits_A(size)}:
        allowed = [found.limit_A for letter in CLASSES if (found := limit_A(size, letter, table=table)) is not None]
        assert allowed == sorted(allowed)
        assert len(allowed) == len(CLASSES)


@given(SIZES, st.sampled_from(["aluminium", "copper_clad_aluminium", "unknown"]))
def test_what_is_not_copper_is_allowed_less_and_heated_no_more(size: float, material: str) -> None:
    ratio = materials()["aluminium"].greatest_resistivity_ohm_mm2_per_m / 0.017241
    for copper, other in zip(limits_A(size), limits_A(size, material=material), strict=True):
        assert other.limit_A**2 * ratio == pytest.approx(copper.limit_A**2)
        assert other.greatest_fuse_A <= copper.greatest_fuse_A


@given(SIZES)
def test_the_prudent_table_is_asked_as_everywhere_else(size: float) -> None:
    found = limit_A(size)

    assert found is not None
    assert (found.table, found.limit_A) == (LIMIT_TABLE, conductor_limit_A(size))
    assert limits_A(size)[0] == found


@pytest.mark.parametrize(
    ("insulation", "column"),
    [(None, "60C"), ("rubber", "60C"), ("PVC", "60C"), ("A", "80C"), ("B", "90C"), ("C", "125C"), ("E", "125C"),
     ("F", "200C"), ("H", "200C")],
)  # fmt: skip
def test_the_column_is_the_greatest_that_the_insulation_bears(insulation: str | None, column: str) -> None:
    found = limit_A(2.5, insulation, table="33 CFR 183.425")

    assert found is not None
    assert found.column == column


def test_a_breaker_has_a_column_of_its_own_where_the_table_has_one() -> None:
    of_kind = {kind: limit_A(1.309, table="AC 43.13-1B", kind=kind) for kind in ("fuse", "circuit_breaker")}

    assert {kind: (found.column, found.limit_A) for kind, found in of_kind.items() if found} == {
        "fuse": ("fuse", 10),
        "circuit_breaker": ("circuit_breaker", 15),
    }


def test_a_table_without_a_size_as_thin_says_nothing() -> None:
    assert limit_A(0.5, table="33 CFR 183.425") is None
    assert [limit.table for limit in limits_A(0.2)] == [LIMIT_TABLE]


def test_tables_that_turn_a_verdict_are_named() -> None:
    verdicts = {"a": "yes", "b": "no", "c": "yes", "d": "maybe"}

    assert turning_tables(verdicts.__getitem__, "a", ("a", "b", "c", "d")) == ("b", "d")
