"""Opening times and resistances of fuses against data sheets and standards."""

from __future__ import annotations

import math

import pytest

from harnessdiff.analyse.fuses import (
    Fuse,
    carries_A,
    fuse_current_A,
    fuse_resistance_ohm,
    let_through_A2s,
    opening_time_s,
)
from harnessdiff.model.quantity import Quantity
from harnessdiff.tables.loader import limit
from harnessdiff.tables.physics import fuse_elements, fuse_gates

NEVER = math.inf


def fuse(body: str, rating_A: float, kind: str = "fuse") -> Fuse:
    return Fuse(body=body, rating_A=Quantity.exactly(rating_A), kind=kind, convention="continuous")


# At a gate itself the earliest time is promised by that gate, the latest by it as well.
# Columns: body, rating [A], per cent, no sooner, no later [s].
GATES = [
    # data sheet of a maker's blade fuse, 10 A (public transcription)
    ("blade type C", 10, 160, 0.25, 50),
    ("blade type C", 10, 200, 0.15, 5),
    # the same, 40 A
    ("blade type C", 40, 135, 0.75, 600),
    ("blade type C", 40, 200, 0.15, 5),
    ("blade type C", 40, 350, 0.08, 0.5),
    ("blade type C", 40, 600, 0, 0.15),
    # data sheet of a maker's large blade fuse, 20 A to 80 A (public transcription)
    ("blade type E", 40, 135, 60, 1800),
    ("blade type E", 40, 200, 2, 50),
    ("blade type E", 40, 350, 0.2, 7),
    ("blade type E", 40, 600, 0.04, 1),
    # data sheet of a maker's glass fuse (public copy), 110 % for four hours and more
    ("glass", 10, 135, 0, 3600),
    ("glass", 10, 200, 0, 120),
    ("glass", 2, 200, 0, 5),
    # UL 248-14 by a fuse maker's guide
    ("glass", 40, 200, 0, 240),
    # ISO 8820-3 type C up to 30 A: from memory, provisional
    ("blade type C", 20, 135, 0.75, 600),
    ("blade type C", 20, 350, 0.04, 0.5),
    ("blade type C", 20, 600, 0, 0.1),
]


@pytest.mark.parametrize(("body", "rating_A", "percent", "least_s", "most_s"), GATES)
def test_gates_as_published(body: str, rating_A: float, percent: float, least_s: float, most_s: float) -> None:
    assert opening_time_s(fuse(body, rating_A), rating_A * percent / 100) == (least_s, most_s)


@pytest.mark.parametrize(
    ("body", "rating_A", "percent"),
    [
        ("blade type C", 40, 100),
        ("blade type E", 40, 100),
        ("glass", 10, 110),
        ("glass", 60, 100),
        ("blade type C", 10, 110),
    ],
)
def test_what_is_carried_for_a_hundred_or_for_four_hours_never_opens(
    body: str, rating_A: float, percent: float
) -> None:
    assert opening_time_s(fuse(body, rating_A), rating_A * percent / 100) == (NEVER, NEVER)


def test_the_same_rating_in_another_body_is_another_fuse() -> None:
    # 80 A through 40 A: 0.15 s to 5 s in the one body, 2 s to 50 s in the other.
    assert opening_time_s(fuse("blade type C", 40), 80) == (0.15, 5)
    assert opening_time_s(fuse("blade type E", 40), 80) == (2, 50)


def test_a_glass_fuse_of_ten_amperes() -> None:
    # 8.67 mΩ cold; 11 A four hours and more; 13.5 A an hour at most; 20 A two minutes at most.
    glass = fuse("glass", 10)

    assert fuse_resistance_ohm("glass", Quantity.exactly(10)).nominal == 0.00867
    assert opening_time_s(glass, 11)[0] >= 4 * 3600
    assert opening_time_s(glass, 13.5)[1] == 3600
    assert opening_time_s(glass, 20)[1] == 120


@pytest.mark.parametrize(
    ("rating_A", "cold_ohm"),
    [(1, 0.1625), (2, 0.06825), (3, 0.03825), (5, 0.0205), (10, 0.00867), (15, 0.0051), (20, 0.00358), (25, 0.00275),
     (30, 0.00215)],
)  # fmt: skip
def test_cold_resistance_of_glass_fuses(rating_A: float, cold_ohm: float) -> None:
    assert fuse_resistance_ohm("glass", Quantity.exactly(rating_A)).low == cold_ohm


@pytest.mark.parametrize(
    ("body", "rating_A", "usable_at_degC"),
    [("blade type E", 40, {20: 40, 65: 34, 85: 30, 110: 25, 125: 22})],
)
def test_what_a_fuse_carries_in_a_hot_place(body: str, rating_A: float, usable_at_degC: dict[float, float]) -> None:
    for ambient_degC, usable_A in usable_at_degC.items():
        found = carries_A(fuse(body, rating_A), ambient_degC=ambient_degC)
        assert found.low == pytest.approx(usable_A)


# Melting I²t by data sheets (public transcriptions) [A²s].
MELTING = [
    ("blade type C", 5, 26), ("blade type C", 25, 1000), ("blade type C", 40, 3300), ("blade type F", 25, 625),
    ("blade type E", 30, 4100), ("blade type E", 35, 6000), ("blade type E", 40, 8500),
]  # fmt: skip


@pytest.mark.parametrize(("body", "rating_A", "melting_A2s"), MELTING)
def test_what_melts_a_fuse_lies_within_what_it_lets_through(body: str, rating_A: float, melting_A2s: float) -> None:
    at_least, at_most = let_through_A2s(fuse(body, rating_A), rating_A * 20)

    assert at_least == melting_A2s < at_most


def test_a_hot_fuse_has_the_resistance_of_its_published_drop() -> None:
    # 40 A blade: 1.44 mΩ cold, 96 mV at 40 A.
    found = fuse_resistance_ohm("blade type C", Quantity.exactly(40))

    assert limit("hot_to_cold_fuse") == pytest.approx(0.096 / 40 / 0.00144, abs=5e-3)
    assert found.nominal == 0.00144
    assert found.high * 40 == pytest.approx(0.096, rel=3e-3)
    # 40 A large blade: 1.4 mΩ cold, 75 mV at 40 A: cooler than that.
    assert fuse_resistance_ohm("blade type E", Quantity.exactly(40)).high * 40 > 0.075


# Voltage across a blade fuse: rating [A], about [mΩ], current of 1 mV [mA], voltage of 50 mA [mV].
# Computed from a list from memory, of which the 25 A and 40 A members are those of a data sheet; of 10 A
# and 15 A the currents are also quoted in trade articles.
SURVEY = [
    (5, 18, 56, 0.9),
    (7.5, 11, 92, 0.55),
    (10, 7.7, 130, 0.39),
    (15, 4.8, 208, 0.24),
    (20, 3.4, 296, 0.17),
    (30, 2.0, 508, 0.10),
]


@pytest.mark.parametrize(("rating_A", "milliohm", "milliampere", "millivolt"), SURVEY)
def test_current_by_the_voltage_across_a_fuse(
    rating_A: float, milliohm: float, milliampere: float, millivolt: float
) -> None:
    rating = Quantity.exactly(rating_A)

    assert fuse_resistance_ohm("blade type C", rating).nominal * 1000 == pytest.approx(milliohm, rel=0.02)
    assert fuse_current_A(1, "blade type C", rating).nominal * 1000 == pytest.approx(milliampere, rel=5e-3)
    assert fuse_current_A(millivolt, "blade type C", rating).nominal == pytest.approx(0.05, rel=0.03)


def test_lists_that_circulate_are_anchored_to_the_data_sheet() -> None:
    assert fuse_elements("blade type C", "cold_ohm")[25] == 0.00252
    assert fuse_elements("blade type C", "cold_ohm")[40] == 0.00144
    assert fuse_elements("blade type F", "cold_ohm") == {25: 0.00236}
    assert fuse_elements("blade type E", "cold_ohm") == {30: 0.0019, 35: 0.0017, 40: 0.0014}


# NBSIR 76-1011: a glowing joint gave up to 35 W at 15 A, for more than 100 h, and opened nothing.
@pytest.mark.parametrize(
    "protection",
    [fuse("blade type C", 15), fuse("glass", 15), fuse("blade type F", 20), fuse("", 15, "circuit_breaker")],
)
def test_the_current_of_a_glowing_joint_opens_no_fuse(protection: Fuse) -> None:
    assert opening_time_s(protection, 15) == (NEVER, NEVER)


def test_no_opening_time_is_published_for_ceramic_and_links() -> None:
    assert fuse_gates("ceramic", 8) == fuse_gates("fusible link", 40) == ()
