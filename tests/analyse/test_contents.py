"""Boxes that nobody opened: the first thought is taken for their contents, and the others bound the current."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.contents import may_draw_A, supposed
from harnessdiff.model.harness import Device, Harness
from harnessdiff.model.parts import Load
from tests.support import Json, case_from, least_reference, reference_from

REFERENCE = reference_from(least_reference())
AMPS = st.floats(0.01, 20).map(lambda value: round(value, 3))


def load(rated: object, **more: object) -> Json:
    return {"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": rated, **more}


def box(*thoughts: list[Json], **more: object) -> Device:
    """An added box of which there are some thoughts."""
    line: Json = {"kind": "device", "id": "x", "sort": "other", "terminals": ["+", "-"], **more}
    if thoughts:
        line["hypotheses"] = [{"parts": parts} for parts in thoughts]
    found = case_from(REFERENCE, line).as_found.by_id["+x"]
    assert isinstance(found, Device)
    return found


def taken(device: Device) -> tuple[object, ...]:
    """The parts that a box is taken to have."""
    made = supposed(Harness.of([device], set())).by_id["+x"]
    assert isinstance(made, Device)
    return made.parts


def first(device: Device) -> Load:
    part = taken(device)[0]
    assert isinstance(part, Load)
    return part


def bounds(device: Device, drawn_A: float, *, at_rest: bool = False) -> tuple[float | None, float | None]:
    found = may_draw_A(device, first(device), drawn_A, at_rest=at_rest)
    return found.low, found.high


def test_first_thought_is_taken() -> None:
    assert first(box([load(0.3)], [load(2)])).rated_A.exact == 0.3


def test_contents_that_are_known_come_before_any_thought() -> None:
    device = box([load(2)], contents=[load(0.5)])

    assert taken(device) == device.parts
    assert bounds(device, 0.5) == (0.5, 0.5)


def test_box_without_a_thought_stays_empty_and_its_harness_the_same() -> None:
    harness = Harness.of([box()], set())

    assert supposed(harness) is harness


@given(AMPS, AMPS, AMPS)
def test_other_thoughts_bound_what_it_may_draw(one: float, other: float, third: float) -> None:
    assert bounds(box([load(one)], [load(other)], [load(third)]), one) == (
        min(one, other, third),
        max(one, other, third),
    )


def test_thought_of_several_loads_draws_all_of_them() -> None:
    """0.3 A against 0.5 A and 0.7 A side by side: 1.2 A."""
    assert bounds(box([load(0.3)], [load(0.5), load(0.7)]), 0.3) == pytest.approx((0.3, 1.2))


def test_thought_of_something_that_draws_nothing_there_leaves_nothing() -> None:
    switch = {"kind": "link", "between": ["+", "-"]}

    assert bounds(box([load(0.3)], [switch]), 0.3) == (0, 0.3)


def test_load_between_other_terminals_is_another_load() -> None:
    assert bounds(box([load(0.3)], [load(0.5), load(0.7) | {"between": ["+", "sense"]}]), 0.3) == (0.3, 0.5)


def test_range_of_a_rating_bounds_as_well() -> None:
    device = box([load({"min": 0.2, "max": 0.9})], [load(0.5)])

    assert bounds(device, 0.55) == (0.2, 0.9)


def test_at_rest_what_it_draws_at_rest_counts_where_that_is_said() -> None:
    device = box([load(2, rest_A=0.004)], [load(1, rest_A=0.02)], [load(0.05)])

    assert bounds(device, 0.004, at_rest=True) == (0.004, 0.05)
    assert bounds(device, 2) == (0.05, 2)


def test_what_is_known_draws_what_it_was_found_to_draw() -> None:
    found = may_draw_A(None, first(box([load(0.3)])), 0.31, at_rest=False)

    assert (found.low, found.high) == (0.31, 0.31)
