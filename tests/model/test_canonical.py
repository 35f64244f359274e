"""One form for everything that is written or compared."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.canonical import canonical, plain
from harnessdiff.model.harness import Colour, Conductor, Hypothesis, Loose, Point
from harnessdiff.model.parts import Coil, Diode, Input, Link, Load, Output, Source, When
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.model.reference import Condition

BETWEEN = ("30", "87")


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (Quantity.exactly(0.75), 0.75),
        (Quantity(low=1, high=1, known_by="seen"), {"exact": 1, "known_by": "seen"}),
        (Quantity(low=1, high=2), {"min": 1, "max": 2}),
        (Quantity(low=1), {"min": 1}),
        (Quantity(high=2, as_entered="thin"), {"max": 2, "as_entered": "thin"}),
        (Quantity(low=1, high=3, one_of=(1, 3)), {"one_of": [1, 3]}),
        (UNKNOWN, None),
        (Quantity(as_entered="thin"), {"as_entered": "thin"}),
        (Colour(base="RD", marks=("BK",)), {"base": "RD", "marks": ["BK"]}),
        (Colour(base="RD"), {"base": "RD"}),
        (Point(low_m=0.0, near_end=1), {"low_m": 0.0, "near_end": 1}),
        (When(energised=False), {"energised": False}),
        (When(inputs=(Input(terminal="in", is_="high"),)), {"inputs": [{"terminal": "in", "is": "high"}]}),
        (Loose(live_in=("asleep",)), {"live_in": ["asleep"]}),
        ((1, "a", (True, None)), [1, "a", [True, None]]),
        ("text", "text"),
    ],
)
def test_a_value_becomes_data_without_what_is_unknown_or_empty(value: Any, expected: Any) -> None:
    assert plain(value) == expected


@pytest.mark.parametrize(
    ("part", "kind"),
    [
        (Link(between=BETWEEN), "link"),
        (Load(between=BETWEEN, model="motor"), "load"),
        (Source(between=BETWEEN, model="battery"), "source"),
        (Coil(between=BETWEEN), "coil"),
        (Diode(between=BETWEEN), "diode"),
        (Output(between=BETWEEN), "output"),
    ],
)
def test_a_part_says_what_kind_it_is(part: Any, kind: str) -> None:
    assert plain(part)["kind"] == kind
    assert plain(part)["between"] == ["30", "87"]


def test_data_is_what_json_gives_back() -> None:
    wire = Conductor(id="W1", colour=Colour(base="RD", tracer="WH"), size_mm2=Quantity(low=1, high=2), zones=("Z1",))

    assert json.loads(canonical(wire)) == plain(wire)
    assert plain(wire) == {
        "id": "W1",
        "colour": {"base": "RD", "tracer": "WH"},
        "size_mm2": {"min": 1, "max": 2},
        "zones": ["Z1"],
    }


def test_members_are_sorted_and_there_are_no_spaces_nor_escapes() -> None:
    wire = Conductor(id="Wä", circuit="C", size_mm2=Quantity.exactly(0.5), zones=("Z2", "Z1"))

    assert canonical(wire) == '{"circuit":"C","id":"Wä","size_mm2":0.5,"zones":["Z2","Z1"]}'


@given(st.dictionaries(st.text("abc", max_size=3), st.integers() | st.booleans() | st.none(), max_size=5))
def test_the_order_of_members_does_not_change_the_text(members: dict[str, Any]) -> None:
    assert canonical(dict(reversed(members.items()))) == canonical(members)


NUMBERS = st.sampled_from([0.0, 0.5, 1.0, 2.0])
QUANTITIES = st.one_of(
    st.just(UNKNOWN),
    NUMBERS.map(Quantity.exactly),
    NUMBERS.map(lambda low: Quantity(low=low)),
    NUMBERS.map(lambda high: Quantity(high=high)),
    st.tuples(NUMBERS, NUMBERS).map(lambda pair: Quantity(low=min(pair), high=max(pair))),
    st.sets(NUMBERS, min_size=2).map(lambda some: Quantity(low=min(some), high=max(some), one_of=tuple(sorted(some)))),
)
CONDUCTORS = st.builds(
    Conductor,
    id=st.sampled_from(["W1", "W2"]),
    colour=st.none() | st.builds(Colour, base=st.sampled_from(["RD", "BK"]), tracer=st.sampled_from([None, "unknown"])),
    size_mm2=QUANTITIES,
    length_m=QUANTITIES,
    zones=st.sampled_from([(), ("Z1",), ("Z1", "Z2"), ("Z2", "Z1")]),
)


@given(CONDUCTORS, CONDUCTORS)
def test_two_wires_have_the_same_text_exactly_when_they_are_the_same(one: Conductor, other: Conductor) -> None:
    assert (canonical(one) == canonical(other)) == (one == other)


@pytest.mark.parametrize(
    ("one", "other"),
    [(Loose(live_in=()), Loose(live_in=None)), (Loose(treatment="bare", live_in=()), Loose(treatment="bare"))],
)
def test_found_dead_is_not_written_like_not_tried(one: Loose, other: Loose) -> None:
    assert one != other
    assert canonical(one) != canonical(other)


def test_a_hypothesis_without_parts_still_has_them() -> None:
    assert plain(Hypothesis(parts=(), because="sounds hollow"))["parts"] == []


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (Quantity(low=1, high=1, known_by="seen"), Quantity.exactly(1)),
        (Quantity(low=1, high=1), Quantity(low=1.0, high=1.0)),
        (Conductor(id="W1", note="stiff"), Conductor(id="W1")),
        (
            Condition(id="a", name="a", key="out", engine="stopped", note="n"),
            Condition(id="a", name="a", key="out", engine="stopped"),
        ),
    ],
)
def test_what_compares_equal_is_written_the_same(one: Any, other: Any) -> None:
    assert one == other
    assert canonical(one) == canonical(other)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Quantity(low=1.0, high=1.0, known_by="seen", as_entered="1 mm²"), "1"),
        (Quantity(low=1.0, high=2.5, as_entered="thin"), '{"max":2.5,"min":1}'),
        (Quantity(low=1.0, high=2.0, one_of=(1.0, 2.0)), '{"one_of":[1,2]}'),
        (
            Conductor(id="W1", length_m=Quantity(low=2.0, high=2.0, known_by="claimed"), note="n"),
            '{"id":"W1","length_m":2}',
        ),
    ],
)
def test_whole_numbers_are_written_short_and_remarks_not_at_all(value: Any, text: str) -> None:
    assert canonical(value) == text
