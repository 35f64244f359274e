"""Looks to take next: one look for all findings it settles, nothing forbidden, and nothing dropped."""

from __future__ import annotations

import itertools
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.findings import Finding, Possibility
from harnessdiff.model.looks import CODES_NOT_SAVED, Look, NextLooks
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.rating import ACCEPTABLE, Answer, Open, Rating
from harnessdiff.model.survey import Place, Scope
from harnessdiff.rate.looks import next_looks, rank_key
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.loader import assumed_value
from harnessdiff.tables.looks import look_rows
from tests.support import bench_data, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

DARK: dict[str, dict[str, Any]] = {
    "Z_DASH": {"concealed": True, "access_min": 20},
    "Z_TAIL": {"access_min": 5},
    "Z_SILL": {"near": ["restraint"]},
}
ALLOWED = Scope(dismantling="anything", codes_saved="yes")


@cache
def bench() -> Reference:
    """The bench, with places of every sort: far and concealed, near, by the restraint, of unknown access."""
    data = bench_data()
    for zone in data["zones"]:
        zone.pop("access_min", None)
        zone.pop("near", None)
        zone.update(DARK.get(zone["id"], {}))
    return reference_from(data)


def asks(look: Fact, question: str = "size", about: str = "+l1") -> Open:
    """A question whose answers leave one level each."""
    left = (Answer(answer="no", best="Low", worst="Low"), Answer(answer="yes", best="High", worst="High"))
    return Open(question=question, about=about, look=look, answers=left)


def finding(number: int = 1, *opens: Open, best: str = "Low", worst: str = "High", **members: Any) -> Finding:
    """A finding whose level is open."""
    facts = members.pop("facts", ())
    rated = members.pop("rated", True)
    modification = Modification(kind="tap", root=f"+t{number}.joint", facts=facts)
    rating = Rating(best=best, worst=worst, opens=opens, rated=rated)
    made: dict[str, Any] = {"origin": "added", "state": "open", "install": None, "zones": ("Z_TAIL",)}
    return Finding(id=f"F-{number}", number=number, modification=modification, rating=rating, **made | members)


def looks(*findings: Finding, scope: Scope = ALLOWED) -> NextLooks:
    return next_looks(findings, scope, bench(), bench().harness, default_policy())


SIZE = Fact.of("measure_size", lead="+l1")
RING = Fact.of("ring_out", ends=("W12 to SP1", "W13 to SP1"))


# -- one look


def test_look_that_names_an_element_is_one_for_all_findings() -> None:
    (look,) = looks(finding(1, asks(SIZE)), finding(2, asks(SIZE))).looks

    assert look.findings == (1, 2)
    assert look.narrowing_worst == 3 + 3


def test_look_that_names_nothing_is_of_its_finding() -> None:
    own = Fact.of("drop_under_load")
    found = looks(finding(1, asks(own)), finding(2, asks(own))).looks

    assert [one.findings for one in found] == [(1,), (2,)]


def test_look_takes_the_access_of_its_place_and_its_own_time() -> None:
    (look,) = looks(finding(1, asks(SIZE))).looks

    assert (look.zones, look.access_min, look.access_assumed) == (("Z_TAIL",), 5, False)
    assert look.minutes == 5 + look_rows()["measure_size"].minutes


@pytest.mark.parametrize("zones", [("Z_BAY",), ()])
def test_access_that_nobody_noted_is_assumed_and_says_so(zones: tuple[str, ...]) -> None:
    (look,) = looks(finding(1, asks(SIZE), zones=zones)).looks

    assert (look.access_min, look.access_assumed) == (assumed_value("access_min"), True)


def test_look_is_taken_where_it_is_got_at_soonest_and_one_along_a_wire_everywhere() -> None:
    zones = ("Z_DASH", "Z_TAIL")
    (spot,) = looks(finding(1, asks(SIZE), zones=zones)).looks
    (along,) = looks(finding(1, asks(Fact.of("follow", lead="+l1", end=2)), zones=zones)).looks

    assert (spot.zones, spot.access_min) == (("Z_TAIL",), 5)
    assert (along.zones, along.access_min) == (zones, 25)


def test_place_of_what_is_named_goes_before_that_of_the_finding() -> None:
    (look,) = looks(
        finding(1, asks(Fact.of("measure_in", subject="E1", condition="ignition")), zones=("Z_DASH",))
    ).looks

    assert look.zones == ("Z_TAIL",)


def test_seated_fuse_lies_where_its_slot_is() -> None:
    (look,) = looks(finding(1, asks(Fact.of("read_the_fuse", fuse="F1_FUSE")))).looks

    assert look.zones == ("Z_DASH",)


def test_ringing_out_leads_to_the_far_ends_of_the_candidates() -> None:
    possible = Possibility(
        choice="c", about="wire", label="W40", kind="tap", elements=("W40",), best="Low", worst="High"
    )
    (look,) = looks(finding(1, asks(RING, "which"), possibilities=(possible,))).looks

    assert look.zones == ("Z_TAIL", "Z_DASH")


def test_place_that_was_not_opened_may_be_and_says_why_it_was_not() -> None:
    scope = replace(ALLOWED, not_opened=(Place(zone="Z_TAIL", because="no time"),))
    (look,) = looks(finding(1, asks(SIZE)), scope=scope).looks

    assert look.not_opened == "no time"


def test_check_of_which_nobody_can_tell_what_it_leaves_comes_last() -> None:
    found = looks(finding(1, asks(SIZE), checks=(SIZE, Fact.of("follow", lead="+l1", end=2)))).looks

    assert [one.look.code for one in found] == ["measure_size", "follow"]
    assert found[1].narrowing_worst == found[1].narrowing_most == 0


def test_level_that_is_certain_asks_for_no_look() -> None:
    assert looks(finding(1, best="High", checks=(SIZE,))) == NextLooks()


def test_finding_that_nothing_would_settle_is_named() -> None:
    assert looks(finding(1, best=ACCEPTABLE, rated=False)) == NextLooks(without=(1,))


def test_what_lies_together_is_told_under_the_best() -> None:
    found = looks(finding(1, asks(SIZE), checks=(Fact.of("follow", lead="+l1", end=2),)),
                  finding(2, asks(Fact.of("measure_size", lead="+l2")), zones=("Z_DASH",)))  # fmt: skip

    codes = [(one.look.get("lead"), one.look.code) for one in found.looks]
    assert codes == [("+l1", "measure_size"), ("+l2", "measure_size"), ("+l1", "follow")]
    assert found.nearby() == ((0, (2,)),)


# -- the order


@given(
    st.integers(0, 4),
    st.integers(0, 4),
    st.none() | st.floats(0, 4),
    st.floats(0, 90),
    st.floats(1, 60),
    st.floats(0, 60),
)
def test_more_minutes_never_rank_higher(
    worst: int, more: int, expected: float | None, access_min: float, own_min: float, longer: float
) -> None:
    quick = Look(
        look=SIZE, zones=(), access_min=access_min, own_min=own_min, settles=(), narrowing_worst=worst,
        narrowing_most=worst + more, narrowing_expected=expected,
    )  # fmt: skip

    assert rank_key(quick) <= rank_key(replace(quick, own_min=own_min + longer))
    assert rank_key(quick) <= rank_key(replace(quick, access_min=access_min + longer))


def test_order_of_the_findings_does_not_count() -> None:
    sorts = itertools.product(("drop_under_load", "find_the_wire", "find_the_circuit"), ("Low", "Medium"))
    several = [finding(number, asks(Fact.of(code)), best=best) for number, (code, best) in enumerate(sorts, start=1)]

    assert looks(*several) == looks(*reversed(several))


# -- what may not be


@pytest.mark.parametrize("best", ["Low", "High"])
def test_finding_left_to_a_qualified_person_is_listed_as_such(best: str) -> None:
    left = Fact.of("by_qualified_person")
    (barred,) = looks(finding(3, best=best, checks=(left,), functions=("high_voltage",))).barred

    assert (barred.look.code, barred.barred, barred.findings) == ("by_qualified_person", "high_voltage", (3,))


def test_look_is_taken_in_a_place_where_it_may_be() -> None:
    scope = replace(ALLOWED, out_of_scope=(Place(zone="Z_TAIL"),))
    (look,) = looks(finding(1, asks(SIZE), zones=("Z_TAIL", "Z_BAY")), scope=scope).looks
    (barred,) = looks(finding(1, asks(Fact.of("find_the_wire")), zones=("Z_TAIL", "Z_BAY")), scope=scope).barred

    assert look.zones == ("Z_BAY",)
    assert barred.barred == "out_of_scope"


@pytest.mark.parametrize(
    ("candidate", "reason"), [("W51", "restraint"), ("W12", "out_of_scope"), ("W11", "out_of_scope"), ("W32", None)]
)
def test_what_a_finding_may_be_on_counts(candidate: str, reason: str | None) -> None:
    possible = Possibility(choice="c", about="", label="x", kind="tap", elements=(candidate,), best="Low", worst="High")
    scope = replace(ALLOWED, out_of_scope=(Place(element="W12"), Place(circuit="C_SIDE")))
    found = looks(finding(1, asks(SIZE), possibilities=(possible,)), scope=scope)

    assert [one.barred for one in (*found.looks, *found.barred)] == [reason]


@pytest.mark.parametrize("subject", ["U9", "SQ1", "W50"])
def test_part_of_the_restraint_is_not_metered(subject: str) -> None:
    (barred,) = looks(finding(1, asks(Fact.of("measure_in", subject=subject, condition="ignition")))).barred

    assert barred.barred == "restraint"


@pytest.mark.parametrize(("saved", "reason"), [("yes", None), ("no", CODES_NOT_SAVED), ("unknown", CODES_NOT_SAVED)])
def test_codes_that_are_not_known_to_be_saved_are_not_lost(saved: str, reason: str | None) -> None:
    found = looks(finding(1, asks(RING)), scope=replace(ALLOWED, codes_saved=saved))

    assert [one.barred for one in (*found.looks, *found.barred)] == [reason]


@pytest.mark.parametrize(
    ("allowed", "how", "reason"),
    [
        ("none", "opened", "dismantling"), ("none", "seen", "dismantling"),
        ("covers", "opened", None), ("covers", "seen", "dismantling"),
        ("trim", "seen", None), ("anything", "seen", None), (None, "seen", None),
    ],
)  # fmt: skip
def test_concealed_place_needs_trim_off_unless_it_was_opened(allowed: str, how: str, reason: str | None) -> None:
    scope = replace(ALLOWED, dismantling=allowed, looked_at=(Place(zone="Z_DASH", how=how),))
    found = looks(finding(1, asks(SIZE), zones=("Z_DASH",)), scope=scope)

    assert [one.barred for one in (*found.looks, *found.barred)] == [reason]


CODES = sorted(set(look_rows()) - {"by_qualified_person"})
ZONES = ("Z_BAY", "Z_DASH", "Z_SILL", "Z_TAIL")
CIRCUITS = ("C_SIDE", "C_HORN", "C_SRS")
OFF = {"restraint", "near_restraint", "on_restraint_fixing", "high_voltage", "near_high_voltage"}
some_zones = st.lists(st.sampled_from(ZONES), max_size=2, unique=True)


@st.composite
def scopes(draw: st.DrawFn) -> Scope:
    beyond = [Place(zone=zone) for zone in draw(some_zones)]
    beyond += [Place(circuit=one) for one in draw(st.lists(st.sampled_from(CIRCUITS), max_size=1))]
    return Scope(
        looked_at=tuple(Place(zone=zone, how=draw(st.sampled_from(["opened", "seen"]))) for zone in draw(some_zones)),
        out_of_scope=tuple(beyond),
        not_opened=tuple(Place(zone=zone) for zone in draw(some_zones)),
        dismantling=draw(st.sampled_from([None, "none", "covers", "trim", "anything"])),
        codes_saved=draw(st.sampled_from(["yes", "no", "unknown"])),
    )


@st.composite
def open_findings(draw: st.DrawFn) -> list[Finding]:
    made = []
    for number in range(1, draw(st.integers(1, 3)) + 1):
        codes = draw(st.lists(st.sampled_from(CODES), min_size=1, max_size=2, unique=True))
        made.append(
            finding(
                number,
                *(asks(Fact.of(code), code) for code in codes),
                zones=tuple(draw(some_zones)),
                functions=tuple(draw(st.lists(st.sampled_from(["horn", "restraint", "high_voltage"]), max_size=1))),
                circuits=tuple(draw(st.lists(st.sampled_from(CIRCUITS), max_size=1))),
                facts=tuple(
                    Fact.of(code) for code in draw(st.lists(st.sampled_from([*sorted(OFF), "wire_cut"]), max_size=1))
                ),
            )
        )
    return made


@given(open_findings(), scopes())
def test_nothing_forbidden_is_proposed_and_nothing_is_dropped(findings: list[Finding], scope: Scope) -> None:
    found = looks(*findings, scope=scope)

    asked = sorted((one.number, question.look.code) for one in findings for question in one.rating.opens)
    assert sorted((one.findings[0], one.look.code) for one in (*found.looks, *found.barred)) == asked
    for look in found.looks:
        assert forbidden(look, findings[look.findings[0] - 1], scope) == []
    for look in found.barred:
        assert look.barred in (*forbidden(look, findings[look.findings[0] - 1], scope), None)


ORDER = ("none", "covers", "trim", "anything")


def forbidden(look: Look, one: Finding, scope: Scope) -> list[str]:
    """Why a look may not be taken, by the brief alone: said again here, apart from the program."""
    found = []
    row, harness = look_rows()[look.look.code], bench().harness
    facts = {fact.code for fact in one.modification.facts}
    near = {thing for name in look.zones if (zone := harness.zone(name)) is not None for thing in zone.near}
    if "restraint" in {*one.functions, *near} or {"restraint", "near_restraint", "on_restraint_fixing"} & facts:
        found.append("restraint")
    if "C_SRS" in one.circuits:
        found.append("restraint")
    if "high_voltage" in {*one.functions, *near} or {"high_voltage", "near_high_voltage"} & facts:
        found.append("high_voltage")
    beyond = {place.zone for place in scope.out_of_scope} | {place.circuit for place in scope.out_of_scope}
    if (beyond - {None}) & {*look.zones, *one.circuits}:
        found.append("out_of_scope")
    opened = (
        {place.zone for place in scope.looked_at if place.how == "opened"} if scope.dismantling != "none" else set()
    )
    for name in look.zones or ("",):
        needs = "trim" if name == "Z_DASH" else row.needs
        if scope.dismantling and name not in opened and ORDER.index(scope.dismantling) < ORDER.index(needs):
            found.append("dismantling")
    if look.look.code == "ring_out" and scope.codes_saved != "yes":
        found.append(CODES_NOT_SAVED)
    return found
