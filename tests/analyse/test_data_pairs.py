"""Data pairs: 120 Ω at each end of a pair are 60 Ω between the two (ISO 11898-2), whatever is put beside them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analyse.rigs import added, at, bridge, ground, link, load, of, seen, tap, two_lamps
from tests.support import Json, between

if TYPE_CHECKING:
    from harnessdiff.model.consequence import Consequence
    from harnessdiff.model.reference import Reference


def resistor(ohm: float) -> Json:
    return {"kind": "load", "between": ["1", "2"], "model": "resistance", "resistance_ohm": ohm}


def pair(ohm: float = 120) -> Reference:
    """The vehicle of two lamps, and a pair of wires between two terminators."""
    wires = [
        {"id": own, "from": f"U1:{pin}", "to": f"U2:{pin}", "size_mm2": 0.5, "length_m": 2, "circuit": "C_DATA"}
        for own, pin in (("WH", "1"), ("WL", "2"))
    ]
    units = [between(own, "terminator", [resistor(ohm)]) for own in ("U1", "U2")]
    return two_lamps(*units, wires=wires, circuits=[{"id": "C_DATA", "name": "data", "function": "data"}])


PAIR = pair()


def third(ohm: float) -> tuple[Json, ...]:
    """A box across the pair, on two short leads."""
    return (
        tap("h", at("WH"), "x", length_m=0.2),
        tap("l", at("WL"), "x", pin="2", length_m=0.2),
        added("x", resistor(ohm)),
    )


def told(*observations: Json, reference: Reference = PAIR) -> list[tuple[str, Consequence]]:
    return of(seen(reference, *observations), "data_pair")


def read_ohm(*observations: Json) -> float:
    """What a meter shows between the two with everything off, by the one consequence there is."""
    ((_, one),) = {id(each): (kind, each) for kind, each in told(*observations)}.values()
    assert one.before is not None
    assert one.after is not None
    assert one.unit == "ohm"
    assert one.before.nominal == pytest.approx(60, abs=0.1)  # 120/2, and 4 m of wire between the ends
    return one.after.nominal


def test_third_terminator_leaves_40_ohm() -> None:
    assert read_ohm(*third(120)) == pytest.approx(40, abs=0.1)  # 120/3


@settings(max_examples=8, deadline=None)
@given(st.floats(5, 1000))
def test_anything_across_the_pair_stands_beside_60_ohm(ohm: float) -> None:
    assert read_ohm(*third(ohm)) == pytest.approx(60 * ohm / (60 + ohm), abs=0.15)


def test_what_hardly_shows_on_a_meter_is_not_said() -> None:
    """60 Ω over 60·R/(60 + R) is 1 + 60/R: less than 1.05 from R = 1200 Ω on."""
    assert told(*third(1300)) == []
    assert told(*third(1100)) != []


@pytest.mark.parametrize(
    "line",
    [
        {"kind": "missing", "id": "m", "element": "U2"},
        {"kind": "cut", "id": "m", "wire": "WH", "at": {"from_end": 1, "distance_m": 1}},
    ],
    ids=["gone", "cut off"],
)
def test_lost_terminator_leaves_120_ohm_and_a_finding_answers(line: Json) -> None:
    assert read_ohm(line) == pytest.approx(120, abs=0.2)  # the one that is left, and 4 m of 0.5 mm²
    assert [kind for kind, _ in told(line)] in (["removed_part"], ["open_circuit"])


def test_short_across_the_pair_leaves_next_to_nothing() -> None:
    """0.2 m of 1 mm² and two crimps."""
    assert read_ohm(bridge("b", at("WH"), at("WL"), length_m=0.2)) < 0.1


@pytest.mark.parametrize("length_m", [0.31, {"min": 0.2, "max": 0.5}])
def test_stub_that_may_be_longer_than_the_standard_allows(length_m: object) -> None:
    """ISO 11898-2: at most 0.3 m at 1 Mbit/s (from memory)."""
    ((kind, one),) = told(tap("h", at("WH"), "x", length_m=length_m), added("x", load(0.1)))

    assert (kind, one.subject, one.unit, one.get("sort"), one.get("limit_m")) == ("tap", "+h.lead", "m", "stub", 0.3)
    assert one.after is not None
    assert one.after.high == (0.31 if length_m == 0.31 else 0.5)
    assert one.after.low == (0.31 if length_m == 0.31 else 0.2)


@pytest.mark.parametrize(
    "lines",
    [
        (),
        (tap("h", at("WH"), "x", length_m=0.3), added("x", load(0.1))),
        (tap("h", at("W_E_1"), "x", length_m=3), added("x", load(0.1)), ground("g", "x")),
    ],
    ids=["nothing", "a stub as long as it may be", "a long lead elsewhere"],
)
def test_nothing_is_said_otherwise(lines: tuple[Json, ...]) -> None:
    assert told(*lines) == []


def test_contact_that_is_open_with_everything_off_does_not_count() -> None:
    """Across the pair hangs a switch, and a meter is put there with nothing pressed and nothing fed."""
    contact = link(when={"position": ["on"]}) | {"between": ["1", "2"]}
    box = added("x", contact, sort="switch", positions=["off", "on"], rest_position="off")

    assert told(*third(120)[:2], box) == []


def test_pair_without_terminators_is_no_pair() -> None:
    """A resistor of 50 Ω between two wires of data ends nothing."""
    assert told(*third(120), reference=pair(50)) == []
