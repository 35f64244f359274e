"""Units into that of the name, gauge numbers into areas, colours into IEC 60757 letters."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.model.harness import Colour
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.read.normalise import normalised
from harnessdiff.tables.loader import awg_to_mm2
from tests.support import Json, colour_read, least_reference, problems_of, reference_from


def quantity_read(member: str, value: Any) -> Quantity:
    """A quantity of a wire, read from a reference."""
    harness = reference_from(least_reference(wires=[{**WIRE, member: value}])).harness
    (conductor,) = harness.conductors()
    found: Quantity = getattr(conductor, member)
    return found


WIRE = {"id": "W212", "from": "BAT1:+", "to": "E14:58"}


def converted(member: str, **value: Any) -> Any:
    """A quantity under a member's name, converted; nothing may be wrong with it."""
    data, faults = normalised({member: value}, "IEC 60757")
    assert faults == []
    return data[member]


# -- units

# SI prefixes; inch and foot are exact since 1959 (from memory), minute and hour by definition.
CONVERSIONS = [
    ("length_m", 400, "mm", 0.4),
    ("length_m", 40, "cm", 0.4),
    ("length_m", 2, "m", 2.0),
    ("length_m", 7, "in", 0.1778),
    ("length_m", 10, "ft", 3.048),
    ("distance_mm", 2, "cm", 20.0),
    ("distance_mm", 1, "in", 25.4),
    ("distance_mm", 0.1, "m", 100.0),
    ("current_A", 350, "mA", 0.35),
    ("voltage_V", 80, "mV", 0.08),
    ("resistance_ohm", 5, "mohm", 0.005),
    ("resistance_ohm", 4.7, "kohm", 4700.0),
    ("resistance_ohm", 60, "ohm", 60.0),
    ("rated_W", 21, "W", 21.0),
    ("capacity_Ah", 70, "Ah", 70.0),
    ("temperature_degC", 62, "degC", 62.0),
    ("size_mm2", 1.5, "mm2", 1.5),
    ("delay_s", 5, "min", 300.0),
    ("delay_s", 2, "h", 7200.0),
    ("delay_min", 90, "s", 1.5),
]


@pytest.mark.parametrize(("member", "number", "unit", "expected"), CONVERSIONS)
def test_a_number_is_put_into_the_unit_at_the_end_of_its_name(
    member: str, number: float, unit: str, expected: float
) -> None:
    assert converted(member, exact=number, unit=unit)["exact"] == pytest.approx(expected, rel=1e-12)


def test_every_form_of_a_quantity_is_converted_and_keeps_its_words() -> None:
    read = quantity_read("length_m", {"min": 300, "max": 500, "unit": "mm", "known_by": "measured"})
    assert (read.low, read.high, read.known_by, read.as_entered) == (0.3, 0.5, "measured", "300/500 mm")

    read = quantity_read("length_m", {"one_of": [2, 1], "unit": "ft"})
    assert read.one_of == pytest.approx((0.3048, 0.6096))
    assert (read.low, read.high) == (read.one_of[0], read.one_of[1])
    assert read.as_entered == "2/1 ft"

    read = quantity_read("length_m", {"exact": 40, "unit": "cm", "as_entered": "two hands"})
    assert (read.exact, read.as_entered) == (0.4, "two hands")


@pytest.mark.parametrize(
    ("member", "unit", "message"),
    [
        ("size_mm2", "mm", "mm is no unit for size_mm2; use one of: mm2, AWG"),
        ("length_m", "A", "A is no unit for length_m; use one of: mm, cm, m, in, ft"),
        ("length_m", "AWG", "AWG is no unit for length_m; use one of: mm, cm, m, in, ft"),
    ],
)
def test_a_unit_of_another_quantity_is_refused_with_those_that_fit(member: str, unit: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        quantity_read(member, {"exact": 1, "unit": unit})

    assert problems_of(caught.value) == [(f"/wires/0/{member}/unit", message)]


@given(st.floats(1e-6, 1e6), st.sampled_from(CONVERSIONS))
def test_a_quantity_and_its_range_are_converted_alike(number: float, row: tuple[str, float, str, float]) -> None:
    member, _, unit, _ = row

    read = converted(member, exact=number, min=number, max=number, one_of=[number], unit=unit)

    assert read["exact"] == read["min"] == read["max"] == read["one_of"][0]


# A converted number is rounded to 12 significant digits.
@pytest.mark.parametrize(
    ("member", "number", "unit", "expected"),
    [
        ("length_m", 0.1, "ft", 0.03048),
        ("length_m", 7, "in", 0.1778),
        ("length_m", 2200, "mm", 2.2),
        ("length_m", 1 / 3, "mm", 0.000333333333333),
        ("size_mm2", 16, "AWG", 1.30869572776),  # ASTM B258's formula (from memory), worked out apart
    ],
)
def test_a_converted_number_has_twelve_digits_and_no_dust(
    member: str, number: float, unit: str, expected: float
) -> None:
    assert converted(member, exact=number, unit=unit)["exact"] == expected


# -- gauge


def near(expected: Any) -> Any:
    """Equal but for the rounding to 12 significant digits."""
    return pytest.approx(expected, rel=1e-11)


def test_a_gauge_number_becomes_an_area() -> None:
    read = quantity_read("size_mm2", {"exact": 16, "unit": "AWG", "known_by": "seen"})

    assert read.exact == near(awg_to_mm2(16))
    assert read.exact == pytest.approx(1.309, abs=0.0005)  # ASTM B258, printed 2583 cmil (secondary copy)
    assert (read.as_entered, read.known_by) == ("16 AWG", "seen")


def test_of_gauge_numbers_the_smaller_is_the_greater_area() -> None:
    read = quantity_read("size_mm2", {"min": 16, "max": 18, "unit": "AWG"})

    assert (read.low, read.high) == (near(awg_to_mm2(18)), near(awg_to_mm2(16)))


@pytest.mark.parametrize(
    ("value", "low", "high"), [({"min": 16}, None, near(awg_to_mm2(16))), ({"max": 16}, near(awg_to_mm2(16)), None)]
)
def test_one_bound_of_a_gauge_bounds_the_area_from_the_other_side(value: Json, low: Any, high: Any) -> None:
    read = quantity_read("size_mm2", value | {"unit": "AWG"})

    assert (read.low, read.high) == (low, high)


def test_alternatives_in_gauge_are_put_in_order_of_area() -> None:
    read = quantity_read("size_mm2", {"one_of": [16, 18], "unit": "AWG"})

    assert read.one_of == near((awg_to_mm2(18), awg_to_mm2(16)))


# -- ranges and the unknown


@pytest.mark.parametrize("value", ["unknown", {}, {"as_entered": "thin"}, {"known_by": "claimed"}])
def test_unknown_is_a_value(value: Any) -> None:
    read = quantity_read("size_mm2", value)

    assert read == UNKNOWN
    assert not read.known


@pytest.mark.parametrize(
    ("value", "low", "high"),
    [(0.75, 0.75, 0.75), ({"min": 0.5}, 0.5, None), ({"max": 2}, None, 2), ({"min": 1, "max": 2}, 1, 2)],
)
def test_a_number_is_exact_and_a_bound_may_be_open(value: Any, low: float | None, high: float | None) -> None:
    read = quantity_read("size_mm2", value)

    assert (read.low, read.high) == (low, high)


def test_crossed_bounds_are_refused_with_their_place() -> None:
    with pytest.raises(InputError) as caught:
        quantity_read("size_mm2", {"min": 2, "max": 0.5})

    assert problems_of(caught.value) == [("/wires/0/size_mm2", "least value 2 is above greatest value 0.5")]


TOO_LARGE = "is too large for anything in a vehicle"


@pytest.mark.parametrize(
    ("value", "message"),
    [
        ({"min": 2, "max": 1, "unit": "mm2"}, "least value 2 is above greatest value 1"),
        ({"min": 18, "max": 16, "unit": "AWG"}, "least value 18 is above greatest value 16"),
        ({"exact": -1_000_000, "unit": "AWG"}, TOO_LARGE),
        ({"exact": -17_000, "unit": "AWG"}, TOO_LARGE),
        ({"exact": 61, "unit": "AWG"}, TOO_LARGE),
        ({"exact": -0.5, "unit": "mm2"}, "size_mm2 is never negative, and is -0.5"),
        ({"one_of": [0.5, -0.5], "unit": "mm2"}, "size_mm2 is never negative, and is -0.5"),
    ],
    ids=str,
)
def test_what_is_wrong_after_conversion_is_refused_with_its_place(value: Json, message: str) -> None:
    with pytest.raises(InputError) as caught:
        quantity_read("size_mm2", value)

    assert problems_of(caught.value) == [("/wires/0/size_mm2", message)]


def test_a_number_that_grows_beyond_all_bounds_is_refused_with_its_place() -> None:
    devices = [{"id": "R1", "kind": "resistor", "terminals": ["1", "2"], "bonds": [BOND]}]
    with pytest.raises(InputError) as caught:
        reference_from(least_reference(devices=[*least_reference()["devices"], *devices]))

    assert problems_of(caught.value) == [("/devices/3/bonds/0/resistance_ohm", TOO_LARGE)]


BOND = {"terminal": "2", "to": "BODY:1", "resistance_ohm": {"exact": 1e307, "unit": "kohm"}}


# -- what is never negative, and what may be

NEVER_NEGATIVE = ["size_mm2", "length_m", "distance_mm", "resistance_ohm", "capacity_Ah", "rated_W", "delay_s"]
NEVER_NEGATIVE += ["delay_min", "rating_A", "limit_A", "momentary_A", "inrush_A", "rest_A", "rated_A"]


@pytest.mark.parametrize("member", NEVER_NEGATIVE)
@pytest.mark.parametrize(
    ("value", "inside"),
    [(-2.5, ""), ({"exact": -2.5}, "/exact"), ({"min": -2.5, "max": 1}, "/min"), ({"one_of": [1, -2.5]}, "/one_of/1")],
    ids=str,
)
def test_a_length_a_size_or_a_rating_is_never_negative(member: str, value: Any, inside: str) -> None:
    _, faults = normalised({"wires": [{member: value}]}, "IEC 60757")

    assert faults == [(f"/wires/0/{member}{inside}", f"{member} is never negative, and is -2.5")]


@pytest.mark.parametrize("member", ["current_A", "voltage_V", "temperature_degC", "x_length_m"])
def test_what_flows_either_way_or_is_cold_or_your_own_may_be_negative(member: str) -> None:
    assert normalised({"readings": [{member: -2.5}]}, "IEC 60757") == ({"readings": [{member: -2.5}]}, [])


@pytest.mark.parametrize("member", NEVER_NEGATIVE)
def test_nothing_and_true_are_not_negative(member: str) -> None:
    assert normalised({member: 0, "wet": True}, "IEC 60757") == ({member: 0, "wet": True}, [])


# -- colours


def test_base_tracer_and_marks_are_read_apart_and_in_order() -> None:
    read = colour_read({"base": "red", "tracer": "white", "marks": ["black", "red"], "shade": "light"}, "words")

    assert read == Colour(base="RD", tracer="WH", marks=("BK", "RD"), shade="light")
    assert read is not None
    assert read.letters == "RD/WH/BK/RD"


def test_a_colours_own_code_system_goes_before_the_documents() -> None:
    assert colour_read({"base": "gr", "code_system": "DIN 72551"}, "IEC 60757") == Colour(base="GY")
    assert colour_read({"base": "GY", "code_system": "IEC 60757"}, "DIN 72551") == Colour(base="GY")


def test_a_tracer_that_could_not_be_made_out_stays_unknown_and_is_not_no_tracer() -> None:
    unknown = colour_read({"base": "RD", "tracer": "unknown"}, "IEC 60757")

    assert unknown == Colour(base="RD", tracer="unknown")
    assert unknown != colour_read({"base": "RD"}, "IEC 60757")
    assert unknown is not None
    assert unknown.letters == "RD/?"


@pytest.mark.parametrize("system", ["IEC 60757", "DIN 72551", "words"])
def test_a_base_that_could_not_be_made_out_is_unknown_in_every_code_system(system: str) -> None:
    read = colour_read({"base": "unknown"}, system)

    assert read == Colour(base="unknown")
    assert read is not None
    assert read.letters == "?"


def test_a_tracer_and_marks_are_read_beside_a_base_that_is_unknown() -> None:
    read = colour_read({"base": "unknown", "tracer": "red", "marks": ["black", "unknown"]}, "words")

    assert read == Colour(base="unknown", tracer="RD", marks=("BK", "unknown"))
    assert read is not None
    assert read.letters == "?/RD/BK/?"


def test_how_a_colour_is_known_does_not_make_it_another() -> None:
    assert colour_read({"base": "red", "known_by": "seen"}, "words") == colour_read({"base": "RD"}, "IEC 60757")


@pytest.mark.parametrize(
    ("colour", "pointer", "message"),
    [
        ({"base": "blak"}, "base", 'blak is no colour; did you mean "black"?'),
        ({"base": "red", "tracer": "wite"}, "tracer", 'wite is no colour; did you mean "white"?'),
        ({"base": "red", "marks": ["black", "grene"]}, "marks/1", 'grene is no colour; did you mean "green"?'),
        ({"base": "zzz"}, "base", "zzz is no colour"),
    ],
)
def test_what_is_no_colour_is_refused_with_its_place_and_the_nearest_word(
    colour: Json, pointer: str, message: str
) -> None:
    with pytest.raises(InputError) as caught:
        colour_read(colour, "words")

    assert problems_of(caught.value) == [(f"/wires/0/colour/{pointer}", message)]


# -- what is left alone


def test_members_of_your_own_are_left_alone_and_the_document_is_not_changed() -> None:
    data = {
        "x_own": {"base": "no colour", "unit": "no unit", "min": 2, "max": 1},
        "wires": [{"colour": {"base": "rd"}}],
    }
    before = copy.deepcopy(data)

    changed, faults = normalised(data, "IEC 60757")

    assert faults == []
    assert changed["x_own"] == before["x_own"]
    assert changed["wires"] == [{"colour": {"base": "RD"}}]
    assert data == before


@pytest.mark.parametrize("name", ["base", "unit"])
def test_a_device_may_have_any_name_in_a_conditions_positions(name: str) -> None:
    switch = {"id": name, "kind": "switch", "positions": ["off", "on"]}
    night = {"id": "night", "name": "night", "key": "out", "engine": "stopped", "positions": {name: "on"}}

    read = reference_from(least_reference(devices=[*least_reference()["devices"], switch], conditions=[night]))

    assert read.conditions[0].positions == ((name, "on"),)
