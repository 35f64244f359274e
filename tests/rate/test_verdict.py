"""The verdict on the whole vehicle, on findings made by hand: what decides, what is counted, what is told apart."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.findings import CircuitSeen, Coverage, Finding, Plain, ZoneSeen
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.policy import ActionLine, Policy
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, Rating, level_rank
from harnessdiff.model.verdict import FURTHER, Because, Silent, Verdict
from harnessdiff.rate.verdict import verdict_of
from harnessdiff.read.policy import default_policy

OUTCOMES = (ACCEPTABLE, *LEVELS)
ACTION = {"High": "stop_use", "Serious": "repair_before_relying", "Medium": "improve", "Low": "note"}


def policy(**satisfactory: bool) -> Policy:
    """Actions as the trade takes them; Medium and Low leave a vehicle satisfactory unless said otherwise."""
    fine = {"Low": True, "Medium": True, "Serious": False, "High": False} | satisfactory
    lines = tuple(ActionLine(level=level, action=ACTION[level], satisfactory=fine[level]) for level in LEVELS)
    return replace(default_policy(), actions=lines)


BY_HAND = policy()
SEEN = Coverage(
    zones=(ZoneSeen(id="Z", name="boot", status="looked_at"),), circuits=(), elements_seen=9, elements=9
)  # fmt: skip


def finding(
    number: int, best: str, worst: str | None = None, *, kind: str = "tap", state: str = "open",
    codes: tuple[str, ...] = (), rated: bool = True, at_least: bool = False,
) -> Finding:  # fmt: skip
    modification = Modification(kind=kind, root=f"+t{number}", facts=tuple(map(Fact.of, codes)))
    rating = Rating(best=best, worst=worst or best, rated=rated, at_least=at_least)
    return Finding(
        id=f"F-{number}",
        number=number,
        modification=modification,
        rating=rating,
        origin="added",
        state=state,
        install=None,
    )


def unrated(number: int, kind: str = "other") -> Finding:
    return finding(number, ACCEPTABLE, "High", kind=kind, rated=False)


def of(*findings: Finding, plain: tuple[Plain, ...] = (), by: Policy = BY_HAND, coverage: Coverage = SEEN) -> Verdict:
    return verdict_of(findings, plain, coverage, by)


def because(*findings: Finding) -> dict[str, tuple[int, ...]]:
    return {one.code: one.findings for one in of(*findings).because}


ODD = Plain(observation="g1", reason="nothing_fits", clue="PK")


# -- what decides


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_one_sure_finding_decides_by_the_policy(outcome: str) -> None:
    expected = {ACTION[outcome]: (1,)} if outcome in ("Serious", "High") else {}

    assert because(finding(1, outcome)) == expected
    assert of(finding(1, outcome)).satisfactory == (not expected)


def test_another_policy_decides_otherwise() -> None:
    strict, lax = policy(Low=False, Medium=False), policy(Serious=True)

    assert of(finding(1, "Low"), by=strict).because == (Because(code="note", findings=(1,)),)
    assert of(finding(1, "Serious"), by=lax).satisfactory


def test_stop_use_is_never_satisfactory_whatever_a_policy_says() -> None:
    assert not of(finding(1, "High"), by=policy(High=True)).satisfactory


@pytest.mark.parametrize(
    ("best", "worst", "expected"),
    [
        (ACCEPTABLE, "Medium", {}),
        (ACCEPTABLE, "Serious", {"range": (1,)}),
        ("Low", "High", {"range": (1,)}),
        ("Medium", "Serious", {"range": (1,)}),
        ("Serious", "High", {"stop_use": (1,)}),
    ],
)
def test_range_is_open_where_it_crosses_and_sure_where_its_best_is_bad_already(
    best: str, worst: str, expected: dict[str, tuple[int, ...]]
) -> None:
    assert because(finding(1, best, worst)) == expected


def test_what_is_open_is_not_satisfactory() -> None:
    """However mild the levels."""
    assert because(unrated(1)) == {"not_rated": (1,)}
    assert because(unrated(1, "reading")) == {"reading": (1,)}
    assert because(finding(1, "Low", codes=("not_traced",))) == {"not_traced": (1,)}
    assert of(finding(1, "Low"), plain=(ODD,)).because == (Because(code="plain", observations=("g1",)),)


def test_a_finding_may_be_sure_and_ask_for_more() -> None:
    assert because(finding(1, "High", codes=("not_traced",))) == {"stop_use": (1,), "not_traced": (1,)}


def test_vehicle_that_nobody_looked_at_is_not_satisfactory() -> None:
    blind = replace(SEEN, elements_seen=0)

    assert of(coverage=blind).because == (Because(code="nothing_looked_at"),)
    assert of(coverage=SEEN).satisfactory


def test_actions_come_first_and_the_gravest_foremost() -> None:
    found = of(unrated(4), finding(3, "Low", "High"), finding(2, "Serious"), finding(1, "High"))

    assert [one.code for one in found.because] == ["stop_use", "repair_before_relying", "not_rated", "range"]
    assert ([one.code for one in found.acts], [one.code for one in found.further]) == (
        ["stop_use", "repair_before_relying"], ["not_rated", "range"],
    )  # fmt: skip


@pytest.mark.parametrize("state", ["made_safe", "accepted"])
def test_what_is_made_safe_or_accepted_counts_and_is_told_apart(state: str) -> None:
    found, open_ = of(finding(1, "High", state=state)), of(finding(1, "High"))

    assert getattr(found, state) == (1,)
    assert replace(found, made_safe=(), accepted=()) == open_


def test_worst_findings_are_those_of_the_worst_level() -> None:
    found = of(finding(1, "High"), finding(2, "Low", "High"), finding(3, "Serious"), unrated(4))

    assert (found.worst, found.worst_findings) == ("High", (1, 2))
    assert (of(unrated(1)).worst, of(unrated(1)).worst_findings) == (None, ())


# -- laws

FINDINGS = st.lists(
    st.tuples(
        st.lists(st.sampled_from(OUTCOMES), min_size=2, max_size=2).map(lambda pair: sorted(pair, key=level_rank)),
        st.sampled_from(("open", "made_safe", "accepted")),
        st.sampled_from(((), ("not_traced",), ("wet",))),
        st.sampled_from(("tap", "reading", "other")),
    ),
    max_size=12,
).map(
    lambda drawn: tuple(
        finding(number, *levels, state=state, codes=codes, kind=kind) if kind == "tap" else unrated(number, kind)
        for number, (levels, state, codes, kind) in enumerate(drawn, start=1)
    )
)


@given(FINDINGS)
def test_another_finding_never_makes_a_vehicle_satisfactory(findings: tuple[Finding, ...]) -> None:
    verdicts = [of(*findings[:count]) for count in range(len(findings) + 1)]

    assert all(earlier.satisfactory or not later.satisfactory for earlier, later in pairwise(verdicts))


@given(FINDINGS)
def test_counts_add_up(findings: tuple[Finding, ...]) -> None:
    found = of(*findings)

    assert sum(dict(found.levels).values()) + found.not_rated == len(findings)
    assert sum(dict(found.actions).values()) + found.not_rated == len(findings)
    assert len(found.worst_findings) == dict(found.levels).get(found.worst or "", 0)


@given(FINDINGS)
def test_a_finding_stands_under_one_action_and_every_reason_has_something_to_stand_on(
    findings: tuple[Finding, ...],
) -> None:
    found = of(*findings)
    acted = [number for one in found.acts for number in one.findings]

    assert len(acted) == len(set(acted))
    assert all(one.findings for one in found.because)
    assert {one.code for one in found.further} <= set(FURTHER)
    assert found.satisfactory == (not found.because)


@given(st.sampled_from(("stop_use", "repair_before_relying")), st.integers(0, 100))
def test_one_grave_finding_never_drowns_in_mild_ones(action: str, place: int) -> None:
    """There is no sum, mean or share of levels."""
    level = {action: level for level, action in ACTION.items()}[action]
    findings = [finding(number, level if number == place + 1 else "Low") for number in range(1, 102)]

    found = of(*findings)

    assert not found.satisfactory
    assert (found.worst, found.worst_findings) == (level, (place + 1,))
    assert found.because == (Because(code=action, findings=(place + 1,)),)


# -- what can and cannot be said


def limits(verdict: Verdict) -> dict[str, Fact]:
    return {one.code: one for one in verdict.cannot}


@given(FINDINGS)
def test_that_a_grade_is_no_cause_nor_frequency_nor_proof_of_a_fire_is_said_of_every_vehicle(
    findings: tuple[Finding, ...],
) -> None:
    assert {"frequency", "cause", "fire", "hidden_stretches"} <= set(limits(of(*findings)))


def test_what_was_not_looked_at_is_counted() -> None:
    zones = [ZoneSeen(id=status, name=status, status=status) for status in ("looked_at", "not_opened", "out_of_scope")]
    circuits = [
        CircuitSeen(id=f"C{seen}{of}", name="c", wires_seen=seen, wires=of)
        for seen, of in ((0, 2), (1, 2), (2, 2), (0, 0))
    ]
    found = of(coverage=replace(SEEN, zones=tuple(zones), circuits=tuple(circuits), wires_without_length=3))

    assert limits(found)["zones_not_inspected"] == Fact.of("zones_not_inspected", zones=2, of=3)
    assert limits(found)["circuits_not_seen"] == Fact.of("circuits_not_seen", circuits=1, in_part=1, of=3)
    assert limits(found)["lengths_unknown"] == Fact.of("lengths_unknown", wires=3)
    assert "not_seen" in limits(found)
    assert "not_seen" not in limits(of())


def test_what_was_not_computed_is_said_and_what_the_reference_is_silent_of_where_it_was() -> None:
    silent = Silent(devices=("U1",), loads=("E2",))
    without = limits(verdict_of((), (), SEEN, BY_HAND, silent=silent))
    with_ = verdict_of((), (), SEEN, BY_HAND, conditions=("asleep",), silent=silent)

    assert "not_computed" in without
    assert not {"no_inner_behaviour", "no_figures"} & set(without)
    assert limits(with_)["no_inner_behaviour"].get("devices") == ("U1",)
    assert limits(with_)["no_figures"].get("loads") == ("E2",)
    assert Fact.of("computed", conditions=("asleep",)) in with_.can


def test_open_questions_and_ways_not_gone_through_are_said() -> None:
    found = of(finding(1, "Low", "Medium", at_least=True), finding(2, "Low"))

    assert limits(found)["open"].get("findings") == ("1",)
    assert limits(found)["not_all_ways"].get("findings") == ("1",)
    assert "not_all_ways" in limits(verdict_of((), (), SEEN, BY_HAND, complete=False))
    assert not {"open", "not_all_ways"} & set(limits(of(finding(2, "Low"))))
