"""Whether a fuse protects a conductor: the parts, the verdict over ranges, and what can never get better."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.fuses import Fuse
from harnessdiff.analyse.protection import (
    Outcome,
    Protection,
    first_protection,
    overload,
    short_far,
    short_near,
    verdict,
)
from harnessdiff.model.harness import Conductor
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.tables.loader import LIMIT_TABLE
from harnessdiff.tables.physics import limit_tables

BODIES = ["blade type C", "blade type E", "blade type F", "glass", "ceramic", None]
KINDS = ["fuse", "circuit_breaker", "fusible_link"]
MATERIALS = [None, "copper", "tinned_copper", "aluminium", "copper_clad_aluminium", "unknown"]
CLASSES = "ABCDEFGH"
INSULATIONS = [None, "PVC", *CLASSES]
WORSE_FIRST = {"fails": 0, "undecided": 1, "holds": 2}

SIZES = st.floats(0.2, 60)
RATINGS = st.floats(1, 130)
CURRENTS = st.floats(1, 2000)
TABLES = st.sampled_from(limit_tables())
CONDUCTORS = st.builds(
    Conductor,
    id=st.just("W1"),
    size_mm2=SIZES.map(Quantity.exactly),
    material=st.sampled_from(MATERIALS),
    insulation=st.sampled_from(INSULATIONS),
)
FUSES = st.builds(
    Fuse,
    body=st.sampled_from(BODIES),
    rating_A=RATINGS.map(Quantity.exactly),
    kind=st.sampled_from(KINDS),
    convention=st.sampled_from(["continuous", "blowing"]),
)


def wire(size: float | Quantity, material: str | None = None, insulation: str | None = "B") -> Conductor:
    quantity = size if isinstance(size, Quantity) else Quantity.exactly(size)
    return Conductor(id="W1", size_mm2=quantity, material=material, insulation=insulation)


def fuse(rating: float | Quantity, body: str | None = "blade type C", convention: str | None = None) -> Fuse:
    quantity = rating if isinstance(rating, Quantity) else Quantity.exactly(rating)
    return Fuse(body=body, rating_A=quantity, convention=convention)


def judged(
    conductor: Conductor, one: Fuse | None, table: str = LIMIT_TABLE, near: float = 800, far: float = 80
) -> Protection:
    return verdict(conductor, one, greatest_current_A=near, least_current_A=far, table=table)


def parts(conductor: Conductor, one: Fuse, near: float, far: float, table: str) -> list[Outcome]:
    found = verdict(conductor, one, greatest_current_A=near, least_current_A=far, table=table)
    return [found.near, found.far, found.overload]


def no_better(worse: list[Outcome], better: list[Outcome]) -> bool:
    return all(WORSE_FIRST[w.code] <= WORSE_FIRST[b.code] for w, b in zip(worse, better, strict=True))


# -- what can never get better


@given(CONDUCTORS, FUSES, RATINGS, CURRENTS, CURRENTS, TABLES)
def test_a_larger_fuse_is_never_better(
    conductor: Conductor, small: Fuse, rating: float, near: float, far: float, table: str
) -> None:
    assert small.rating_A.exact is not None
    large = Fuse(
        body=small.body,
        kind=small.kind,
        convention=small.convention,
        rating_A=Quantity.exactly(max(rating, small.rating_A.exact)),
    )

    assert no_better(parts(conductor, large, near, far, table), parts(conductor, small, near, far, table))


@given(CONDUCTORS, SIZES, FUSES, CURRENTS, CURRENTS)
def test_a_thinner_conductor_is_never_better(thick: Conductor, size: float, one: Fuse, near: float, far: float) -> None:
    assert thick.size_mm2.exact is not None
    thin = wire(min(size, thick.size_mm2.exact), thick.material, thick.insulation)

    assert no_better(parts(thin, one, near, far, LIMIT_TABLE), parts(thick, one, near, far, LIMIT_TABLE))


@given(SIZES, FUSES, st.sampled_from(MATERIALS), CURRENTS, CURRENTS, TABLES)
def test_a_better_class_of_insulation_is_never_worse(
    size: float, one: Fuse, material: str | None, near: float, far: float, table: str
) -> None:
    found = [parts(wire(size, material, letter), one, near, far, table) for letter in CLASSES]

    assert all(no_better(worse, better) for worse, better in itertools.pairwise(found))


@given(CONDUCTORS, FUSES, CURRENTS, CURRENTS)
def test_aluminium_is_never_better_than_copper(conductor: Conductor, one: Fuse, near: float, far: float) -> None:
    copper, aluminium = (
        parts(
            Conductor(id="W1", size_mm2=conductor.size_mm2, insulation=conductor.insulation, material=material),
            one, near, far, LIMIT_TABLE,
        )
        for material in ("copper", "aluminium")
    )  # fmt: skip

    assert no_better(aluminium, copper)


@given(
    st.tuples(SIZES, SIZES), st.tuples(RATINGS, RATINGS), st.floats(0, 1), st.floats(0, 1), FUSES, CURRENTS, CURRENTS
)
def test_what_is_decided_over_a_range_is_so_for_every_value_in_it(
    sizes: tuple[float, float], ratings: tuple[float, float], s: float, r: float, one: Fuse, near: float, far: float
) -> None:
    def spanned(pair: tuple[float, float]) -> Quantity:
        return Quantity(low=min(pair), high=max(pair))

    def inside(pair: tuple[float, float], share: float) -> Quantity:
        return Quantity.exactly(min(pair) + share * (max(pair) - min(pair)))

    def found(size: Quantity, rating: Quantity) -> Protection:
        own = Fuse(body=one.body, kind=one.kind, convention=one.convention, rating_A=rating)
        return verdict(wire(size), own, greatest_current_A=near, least_current_A=far)

    over_all = found(spanned(sizes), spanned(ratings))
    at_one = found(inside(sizes, s), inside(ratings, r))

    for whole, single in (
        (over_all.near, at_one.near),
        (over_all.far, at_one.far),
        (over_all.overload, at_one.overload),
    ):
        assert whole.code in ("undecided", single.code)
    assert over_all.verdict in ("undecided", at_one.verdict)


@given(CONDUCTORS, FUSES, CURRENTS, CURRENTS, TABLES)
def test_protected_is_said_only_where_all_three_hold(
    conductor: Conductor, one: Fuse, near: float, far: float, table: str
) -> None:
    found = verdict(conductor, one, greatest_current_A=near, least_current_A=far, table=table)
    codes = {found.near.code, found.far.code, found.overload.code}

    assert (found.verdict == "protected") == (codes == {"holds"})
    assert (found.verdict == "not_protected") == ("fails" in (found.near.code, found.far.code))
    assert bool(found.would_decide) == (found.verdict == "undecided")


# -- the verdict


def test_a_fuse_by_the_table_protects_and_the_numbers_say_why() -> None:
    found = judged(wire(1), fuse(15))

    assert found.verdict == "protected"
    assert (found.near.why, found.far.why, found.overload.why) == (
        "heat_withstood", "heat_withstood", "within_rating"
    )  # fmt: skip
    assert found.near.get("let_through_A2s") == pytest.approx((6 * 15) ** 2 * 0.1)
    assert found.near.get("let_through_A2s") == found.near.numbers[1][1]
    assert found.far.get("opens_s") == 0.5
    assert found.overload.get("carries_for_ever_A") == pytest.approx(20.25)
    assert found.overload.get("carries_ten_minutes_A") == pytest.approx(24)
    assert found.overload.get("greatest_fuse_A") == 15
    assert found.overload.get("nothing") is None


def test_protected_against_a_short_and_not_against_overload_is_a_verdict() -> None:
    assert judged(wire(1), fuse(20), near=900, far=130).verdict == "short_only"


def test_a_fuse_far_too_large_does_not_protect() -> None:
    found = judged(wire(0.35), fuse(40))

    assert (found.verdict, found.near.why) == ("not_protected", "heat_exceeded")


@pytest.mark.parametrize("none", [None, Fuse(kind="slug"), Fuse(rating_A=Quantity.exactly(10), state="slug")])
def test_nothing_that_can_open_does_not_protect(none: Fuse | None) -> None:
    found = judged(wire(2.5), none)

    assert found.verdict == "not_protected"
    assert {found.near.why, found.far.why, found.overload.why} == {"no_protection"}
    assert short_near(wire(1), none, 100) == short_far(wire(1), none, 100) == overload(wire(1), none)


def test_a_fuse_that_carries_the_short_for_ever_does_not_protect() -> None:
    found = judged(wire(0.5), fuse(30), far=25)

    assert (found.verdict, found.far.why) == ("not_protected", "never_opens")


def test_a_short_that_the_conductor_carries_for_ever_is_none() -> None:
    found = judged(wire(2.5), fuse(30), far=28)

    assert (found.verdict, found.far.why) == ("protected", "within_limit")


def test_the_rule_of_the_short_holds_up_to_five_seconds() -> None:
    found = judged(wire(0.75), fuse(10), far=20)

    assert (found.verdict, found.far.why, found.far.get("opens_s")) == ("protected", "heat_withstood", 5)


def test_a_slow_opening_is_not_judged_by_the_rule_of_the_short() -> None:
    found = judged(wire(0.75), fuse(10), far=18)

    assert (found.verdict, found.far.code, found.far.why) == ("undecided", "undecided", "opens_slowly")
    assert found.far.get("opens_s") == 50
    assert found.would_decide == ("fuse_curve",)


@pytest.mark.parametrize(
    ("conductor", "one", "expected"),
    [
        (wire(Quantity(low=0.35, high=0.75)), fuse(10), ("size",)),
        (wire(Quantity(low=0.75, high=1)), fuse(15), ("size",)),
        (wire(1), fuse(Quantity(low=10, high=20)), ("fuse_rating",)),
        (wire(1), fuse(UNKNOWN), ("fuse_rating", "fuse_curve")),
        (wire(UNKNOWN), fuse(40), ("size", "fuse_curve")),
        (wire(1.5, "unknown"), fuse(20), ("material",)),
        (wire(1), fuse(10, None), ("fuse_body",)),
        (wire(1), fuse(8, "ceramic"), ("fuse_curve",)),
        (wire(1.5), fuse(30, "glass"), ("rating_convention", "fuse_curve")),
    ],
)
def test_what_would_decide_is_named(conductor: Conductor, one: Fuse, expected: tuple[str, ...]) -> None:
    found = judged(conductor, one, far=130)

    assert (found.verdict, found.would_decide) == ("undecided", expected)


def test_an_insulation_that_nobody_knows_may_decide() -> None:
    assert "insulation" in judged(wire(0.5, insulation=None), fuse(30), far=130).would_decide
    assert "insulation" not in judged(wire(0.5), fuse(30), far=130).would_decide


def test_currents_that_nobody_knows_leave_the_shorts_open() -> None:
    found = verdict(wire(1), fuse(15), greatest_current_A=None, least_current_A=None)

    assert (found.verdict, found.near.why, found.far.why) == ("undecided", "current_unknown", "current_unknown")
    assert {"greatest_current", "least_current"} <= set(found.would_decide)


def test_protected_needs_sure_bounds() -> None:
    unsure = verdict(wire(1), fuse(15), greatest_current_A=800, least_current_A=80, currents_guaranteed=False)
    thick = judged(wire(Quantity(low=2.5)), fuse(Quantity(low=5, high=7.5)))

    assert (unsure.verdict, unsure.would_decide) == ("undecided", ("greatest_current", "least_current"))
    assert thick.verdict == "undecided"
    assert {"holds"} == {thick.near.code, thick.far.code, thick.overload.code}
    assert thick.would_decide == ("fuse_rating", "size")


@pytest.mark.parametrize(
    ("convention", "expected"), [("continuous", "short_only"), ("blowing", "protected"), (None, "undecided")]
)
def test_what_a_marking_means_can_turn_the_verdict(convention: str | None, expected: str) -> None:
    found = judged(wire(6), fuse(70, "glass", convention), far=55)
    steady = overload(wire(6), fuse(70, "glass", convention))

    assert (steady.code == "holds") == (convention == "blowing")
    assert (steady.code == "undecided") == (convention is None)
    assert expected == {"holds": "protected", "fails": "short_only", "undecided": "undecided"}[steady.code]
    assert found.overload == steady


# -- tables


def test_tables_that_would_turn_the_verdict_are_named() -> None:
    found = judged(wire(1.309), fuse(20), near=900, far=140)

    assert (found.table, found.column, found.verdict) == (LIMIT_TABLE, "", "short_only")
    assert found.other_table_turns == ("33 CFR 183.425",)
    boats = overload(wire(1.309), fuse(20), "33 CFR 183.425")
    assert (boats.get("limit_A"), boats.get("greatest_fuse_A")) == (25, 37.5)
    assert judged(wire(1.309), fuse(20), "33 CFR 183.425", 900, 140).verdict == "protected"
    assert judged(wire(1.309), fuse(20), "33 CFR 183.425", 900, 140).column == "90C"


@given(CONDUCTORS, FUSES, TABLES)
def test_a_table_turns_the_verdict_where_its_own_is_another(conductor: Conductor, one: Fuse, table: str) -> None:
    found = judged(conductor, one, table)

    for other in limit_tables():
        if other in found.other_table_turns:
            assert judged(conductor, one, other).verdict != found.verdict
    assert table not in found.other_table_turns


def test_a_table_that_does_not_know_the_conductor_decides_nothing() -> None:
    found = judged(wire(0.5), fuse(5), "33 CFR 183.425")

    assert (found.verdict, found.overload.why, found.column) == ("undecided", "not_tabled", "")
    assert found.would_decide == ("table",)


def test_what_was_looked_up_is_named_with_its_status() -> None:
    found = dict(judged(wire(1), fuse(15)).provenance)

    assert set(found) == {"limit", "insulation", "opening_time", "melting_A2s"}
    assert found["limit"].endswith("(common practice)")
    assert "insulation" not in dict(judged(wire(1, insulation=None), fuse(15)).provenance)
    assert "opening_time" not in dict(judged(wire(1), fuse(15, "ceramic")).provenance)


# -- where the first protection sits


@pytest.mark.parametrize(
    ("distance", "sheathed", "expected"),
    [
        (Quantity(high=0.1778), None, "holds"), (Quantity(high=1.016), True, "holds"),
        (Quantity(high=0.5), False, "undecided"), (Quantity(high=0.5), None, "undecided"),
        (Quantity(low=0.2), False, "fails"), (Quantity(low=0.2), None, "undecided"),
        (Quantity(low=0.2), True, "undecided"),
        (Quantity(low=1.02), None, "fails"), (Quantity(low=1.02), True, "fails"), (UNKNOWN, True, "undecided"),
    ],
)  # fmt: skip
def test_a_distance_that_is_not_known_is_judged_by_its_bounds(
    distance: Quantity, sheathed: bool | None, expected: str
) -> None:
    assert first_protection(distance, sheathed=sheathed) == expected


@given(st.floats(0, 3), st.floats(0, 3), st.sampled_from([True, False, None]))
def test_a_nearer_protection_is_never_worse(one: float, other: float, sheathed: bool | None) -> None:
    near, far = (first_protection(Quantity.exactly(m), sheathed=sheathed) for m in sorted((one, other)))

    assert WORSE_FIRST[near] >= WORSE_FIRST[far]
