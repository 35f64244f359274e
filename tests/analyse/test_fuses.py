"""Fuses: brackets between gates, what is carried, what is let through, and resistance."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.fuses import (
    Fuse,
    bodies_of,
    carries_A,
    convention_matters,
    fuse_current_A,
    fuse_resistance_ohm,
    let_through_A2s,
    opening_time_s,
    rated_A,
)
from harnessdiff.model.quantity import UNKNOWN, Quantity

BODIES = ["blade type C", "blade type E", "blade type F", "glass", "ceramic", "bolt-down", "in-line blade holder", None]
KINDS = ["fuse", "circuit_breaker", "fusible_link"]
RATINGS = st.floats(0.5, 130)
CURRENTS = st.floats(0.1, 2000)
FUSES = st.builds(
    Fuse,
    body=st.sampled_from(BODIES),
    kind=st.sampled_from(KINDS),
    convention=st.sampled_from(["continuous", "blowing", None]),
)


def rated(fuse: Fuse, rating: float | Quantity) -> Fuse:
    quantity = rating if isinstance(rating, Quantity) else Quantity.exactly(rating)
    return Fuse(body=fuse.body, rating_A=quantity, convention=fuse.convention, kind=fuse.kind, state=fuse.state)


def blade(rating: float, body: str = "blade type C") -> Fuse:
    return Fuse(body=body, rating_A=Quantity.exactly(rating))


# -- which it may be


def test_a_breaker_and_a_link_are_known_by_their_kind() -> None:
    assert bodies_of(Fuse(kind="circuit_breaker", body="blade type C")) == ("circuit breaker",)
    assert bodies_of(Fuse(kind="fusible_link")) == ("fusible link",)
    assert "circuit breaker" not in bodies_of(Fuse())
    assert bodies_of(Fuse(body="fusible link cartridge")) == ("fusible link",)


@pytest.mark.parametrize(
    ("fuse", "expected"),
    [
        (Fuse(body="glass"), True),
        (Fuse(body="glass", convention="continuous"), False),
        (Fuse(body="blade type C"), False),
        (Fuse(), False),
    ],
)
def test_what_a_marking_means_is_a_question_of_glass_fuses_only(fuse: Fuse, expected: bool) -> None:
    assert convention_matters(fuse) == expected


@pytest.mark.parametrize(
    ("convention", "expected"), [("continuous", (30, 30)), ("blowing", (15, 15)), (None, (15, 30))]
)
def test_both_meanings_of_a_marking_are_kept_where_nobody_said_which(
    convention: str | None, expected: tuple[float, float]
) -> None:
    found = rated_A(Fuse(body="glass 6.3 x 32", rating_A=Quantity.exactly(30), convention=convention))

    assert (found.low, found.high) == expected


@pytest.mark.parametrize(
    ("rating", "bounds", "guaranteed"),
    [
        (UNKNOWN, (1, 40), False), (Quantity(low=5), (5, 40), False), (Quantity(high=7.5), (1, 7.5), False),
        (Quantity(low=5, high=10), (5, 10), True), (Quantity(low=60), (60, 60), False),
        (Quantity(high=0.5), (0.5, 0.5), False), (Quantity.exactly(0), (0.0001, 0.0001), True),
    ],
)  # fmt: skip
def test_an_open_rating_may_be_any_that_is_made(
    rating: Quantity, bounds: tuple[float, float], guaranteed: bool
) -> None:
    found = rated_A(Fuse(body="blade type C", rating_A=rating))

    assert (found.low, found.high, found.guaranteed) == (*bounds, guaranteed)


# -- when it opens


@given(FUSES, RATINGS, CURRENTS, CURRENTS)
def test_a_greater_current_never_opens_a_fuse_later(fuse: Fuse, rating: float, one: float, other: float) -> None:
    less, more = (opening_time_s(rated(fuse, rating), current) for current in sorted((one, other)))

    assert less[0] >= more[0]
    assert less[1] >= more[1]


@given(FUSES, RATINGS, RATINGS, CURRENTS)
def test_a_larger_fuse_never_surely_opens_sooner(fuse: Fuse, one: float, other: float, current: float) -> None:
    small, large = (rated(fuse, rating) for rating in sorted((one, other)))

    assert opening_time_s(small, current)[1] <= opening_time_s(large, current)[1]
    assert let_through_A2s(small, current)[1] <= let_through_A2s(large, current)[1]
    assert carries_A(small).high <= carries_A(large).high


@given(FUSES, RATINGS, CURRENTS)
def test_bounds_are_in_order(fuse: Fuse, rating: float, current: float) -> None:
    own = rated(fuse, rating)

    assert opening_time_s(own, current)[0] <= opening_time_s(own, current)[1]
    assert let_through_A2s(own, current)[0] <= let_through_A2s(own, current)[1]
    assert carries_A(own).low <= carries_A(own, 600).high


@given(FUSES, RATINGS, RATINGS, CURRENTS, st.floats(0, 1))
def test_a_rating_that_is_not_known_spans_those_that_it_may_be(
    fuse: Fuse, one: float, other: float, current: float, share: float
) -> None:
    low, high = sorted((one, other))
    spanned, own = rated(fuse, Quantity(low=low, high=high)), rated(fuse, low + share * (high - low))

    assert opening_time_s(spanned, current)[1] >= opening_time_s(own, current)[1]
    assert let_through_A2s(spanned, current)[0] <= let_through_A2s(own, current)[0]
    assert let_through_A2s(spanned, current)[1] >= let_through_A2s(own, current)[1]


@given(FUSES, RATINGS, CURRENTS)
def test_no_more_is_let_through_than_the_current_for_the_latest_time(fuse: Fuse, rating: float, current: float) -> None:
    own = rated(fuse, rating)

    assert let_through_A2s(own, current)[1] <= current**2 * opening_time_s(own, current)[1] * (1 + 1e-12)


@given(st.sampled_from(["blade type C", "blade type E", "glass"]), RATINGS, CURRENTS, CURRENTS)
def test_a_greater_current_never_lets_a_fuse_pass_more(body: str, rating: float, one: float, other: float) -> None:
    less, more = (let_through_A2s(blade(rating, body), current) for current in sorted((one, other)))

    assert less[1] >= more[1]


def test_a_breaker_takes_its_time_however_great_the_current() -> None:
    breaker = Fuse(kind="circuit_breaker", rating_A=Quantity.exactly(20))

    assert let_through_A2s(breaker, 100) == (0, 100**2 * 60)
    assert let_through_A2s(breaker, 1000) == (0, 1000**2 * 60)


@given(FUSES, RATINGS, st.floats(0, 1))
def test_a_fuse_carries_its_rating_for_ever(fuse: Fuse, rating: float, share: float) -> None:
    own = rated(fuse, rating)

    assert opening_time_s(own, rated_A(own).low * share) == (math.inf, math.inf)
    assert let_through_A2s(own, rated_A(own).low * share) == (math.inf, math.inf)
    assert carries_A(own).low >= rated_A(own).low


@pytest.mark.parametrize("fuse", [Fuse(kind="slug"), Fuse(state="slug", rating_A=Quantity.exactly(10))])
def test_a_slug_never_opens(fuse: Fuse) -> None:
    assert not fuse.protects
    assert opening_time_s(fuse, 1e6) == (math.inf, math.inf)
    assert let_through_A2s(fuse, 1e6) == (math.inf, math.inf)


@pytest.mark.parametrize(
    ("current", "expected"),
    [
        (10, (math.inf, math.inf)), (11, (math.inf, math.inf)), (11.1, (0.75, math.inf)), (13.5, (0.75, 600)),
        (15, (0.25, 600)), (16, (0.25, 50)), (19, (0.15, 50)), (20, (0.15, 5)), (30, (0.04, 5)), (35, (0.04, 0.5)),
        (50, (0, 0.5)), (60, (0, 0.1)), (600, (0, 0.1)),
    ],
)  # fmt: skip
def test_between_two_gates_only_the_bracket_is_claimed(current: float, expected: tuple[float, float]) -> None:
    assert opening_time_s(blade(10), current) == expected


@pytest.mark.parametrize("body", ["ceramic", "bolt-down", None])
def test_a_body_without_published_gates_may_never_open(body: str | None) -> None:
    assert opening_time_s(Fuse(body=body, rating_A=Quantity.exactly(10)), 500)[1] == math.inf


# -- what it carries


def test_what_is_carried_lies_between_the_gates() -> None:
    for_ever, ten_minutes, a_minute = (carries_A(blade(10), duration_s) for duration_s in (math.inf, 600, 60))

    assert (for_ever.low, for_ever.high) == (11, 13.5)
    assert (ten_minutes.low, ten_minutes.high) == (11, 16)
    assert (a_minute.low, a_minute.high) == (11, 16)
    assert carries_A(blade(30, "blade type E"), 60).low == pytest.approx(40.5)
    assert carries_A(Fuse(body="ceramic", rating_A=Quantity.exactly(8))).high == math.inf


@given(st.sampled_from(["blade type C", "blade type E", "glass"]), RATINGS, st.floats(0.01, 1e5), st.floats(0.01, 1e5))
def test_for_a_longer_time_never_more_is_carried(body: str, rating: float, one: float, other: float) -> None:
    brief, long = (carries_A(blade(rating, body), duration_s) for duration_s in sorted((one, other)))

    assert brief.low >= long.low
    assert brief.high >= long.high


@given(RATINGS, st.floats(-40, 150), st.floats(-40, 150))
def test_in_a_hotter_place_never_more_is_surely_carried(rating: float, one: float, other: float) -> None:
    cool, hot = (carries_A(blade(rating, "blade type E"), ambient_degC=degC) for degC in sorted((one, other)))

    assert cool.low >= hot.low


# -- as a resistance


@given(st.sampled_from(BODIES), RATINGS)
def test_current_and_resistance_belong_together(body: str | None, rating: float) -> None:
    ohm = fuse_resistance_ohm(body, Quantity.exactly(rating))
    current = fuse_current_A(1, body, Quantity.exactly(rating))

    assert 0 < ohm.low <= ohm.nominal <= ohm.high < math.inf
    assert current.nominal * ohm.nominal == pytest.approx(0.001)
    assert current.low * ohm.high == pytest.approx(0.001)
    assert current.high * ohm.low == pytest.approx(0.001)


@given(st.sampled_from(["blade type C", "blade type E", "glass"]), st.floats(0.1, 1000), RATINGS)
def test_more_voltage_is_more_current(body: str, millivolt: float, rating: float) -> None:
    less, more = (fuse_current_A(one, body, Quantity.exactly(rating)) for one in (millivolt, millivolt * 2))

    assert more.nominal == pytest.approx(less.nominal * 2)


def test_resistance_is_sure_where_body_and_rating_are_tabled() -> None:
    assert fuse_resistance_ohm("blade type C", Quantity.exactly(10)).guaranteed
    assert not fuse_resistance_ohm("blade type C", Quantity.exactly(12)).guaranteed
    assert not fuse_resistance_ohm("in-line blade holder", Quantity.exactly(10)).guaranteed
    assert not fuse_resistance_ohm("ceramic", Quantity.exactly(10)).guaranteed
    assert not fuse_resistance_ohm(None, UNKNOWN).guaranteed


def test_a_body_of_which_nothing_is_tabled_may_be_any_that_is() -> None:
    ceramic = fuse_resistance_ohm("ceramic", Quantity.exactly(25))

    assert ceramic.low == min(fuse_resistance_ohm(body, Quantity.exactly(25)).low for body in BODIES[:4])
    assert ceramic.high == max(fuse_resistance_ohm(body, Quantity.exactly(25)).high for body in BODIES[:4])
