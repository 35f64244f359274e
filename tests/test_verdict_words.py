"""The verdict in words: what an owner reads first, and what the inspection can and cannot say."""

from __future__ import annotations

import re

import pytest

from harnessdiff.model.findings import CircuitSeen, Coverage, Finding, ZoneSeen
from harnessdiff.model.modification import Fact
from harnessdiff.model.verdict import Verdict
from harnessdiff.verdict_words import action_words, coverage_words, limit_words, states_words, verdict_words
from tests.rate.test_verdict import BY_HAND, ODD, SEEN, finding, of, unrated

CODE = re.compile(r"\b[a-z]+_[a-z_]+\b")


def test_every_count_is_told_once() -> None:
    """A lead not followed in a finding that stops use is told with that finding."""
    found = of(
        finding(1, "High", codes=("not_traced",)), finding(2, "Serious", "High"), finding(3, "Serious"),
        finding(4, "Low", "High"), finding(5, "Low", codes=("not_traced",)), finding(6, "Low"), unrated(7),
        plain=(ODD,),
    )  # fmt: skip

    assert verdict_words(found) == (
        "Not satisfactory. Stop use: findings 1, 2. Repair before anybody relies on the circuit: finding 3. "
        "Further investigation: findings 4, 5, 7 (finding 4 may stop use), observation g1."
    )


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (of(finding(1, "High")), "Not satisfactory. Stop use: finding 1."),
        (
            of(finding(1, "Serious"), unrated(2)),
            "Not satisfactory. Repair before anybody relies on the circuit: finding 1. "
            "Further investigation: finding 2.",
        ),
        (of(unrated(1)), "Not satisfactory. Further investigation: finding 1."),
        (of(plain=(ODD,)), "Not satisfactory. Further investigation: observation g1."),
        (
            of(finding(1, "Low")),
            "Satisfactory as far as it was looked at: nothing found stops use or has to be repaired first.",
        ),
    ],
)
def test_one_is_not_several(found: Verdict, words: str) -> None:
    assert verdict_words(found) == words


def test_nothing_looked_at_is_no_verdict() -> None:
    blind = Coverage(zones=SEEN.zones, circuits=(), elements_seen=0, elements=9)

    assert verdict_words(of(coverage=blind)) == "No verdict: nothing was looked at."


def test_what_is_made_safe_is_told_and_not_taken_off() -> None:
    found = of(finding(1, "High", state="made_safe"), finding(2, "Serious", state="accepted"))

    assert verdict_words(found).startswith("Not satisfactory. Stop use: finding 1. Repair before")
    assert states_words(found) == "Recorded as made safe: 1; recorded as accepted: 2 (counted as what they were)."
    assert states_words(of(finding(1, "High"))) == ""


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (finding(1, "High"), "stop use"),
        (finding(1, "Low", "High"), "stop use until it is known"),
        (finding(1, "Low", "Medium"), "improve"),
        (finding(1, "acceptable"), ""),
        (finding(1, "acceptable", state="accepted"), "recorded as accepted"),
        (finding(1, "High", state="made_safe"), "stop use, recorded as made safe"),
        (unrated(1), "further investigation"),
    ],
)
def test_action_of_a_finding(one: Finding, words: str) -> None:
    assert action_words(one, BY_HAND) == words


def test_coverage_tells_the_whole_from_the_part() -> None:
    circuits = tuple(
        CircuitSeen(id=f"C{number}", name="c", wires_seen=seen, wires=wires)
        for number, (seen, wires) in enumerate(((2, 2), (1, 2), (0, 1), (0, 0)))
    )
    zones = (*SEEN.zones, ZoneSeen(id="Y", name="roof", status="not_opened"))
    coverage = Coverage(
        zones=zones, circuits=circuits, elements_seen=1, elements=9, length_m_throughout=2.2, length_m_seen=5.0,
        length_m=11.6, wires_without_length=1,
    )  # fmt: skip

    assert coverage_words(coverage) == (
        "1 of 2 zones, 1 of 3 circuits (+1 in part), 2 of 12 m of wire (+3 in part), 1 wire of unknown length"
    )


LIMITS = (
    Fact.of("as_recorded", zones=1, of=2), Fact.of("computed", conditions=("asleep",)),
    Fact.of("followed_by_hand", policy="A policy"), Fact.of("zones_not_inspected", zones=1, of=1),
    Fact.of("circuits_not_seen", circuits=1, in_part=0, of=2), Fact.of("lengths_unknown", wires=1),
    Fact.of("hidden_stretches"), Fact.of("not_seen"), Fact.of("not_computed"),
    Fact.of("no_inner_behaviour", devices=("U1", "U2", "U3", "U4", "U5")), Fact.of("no_figures", loads=("E1",)),
    Fact.of("fits_nothing", observations=("g1",)), Fact.of("open", findings=("1", "2")),
    Fact.of("not_all_ways", findings=("1",)), Fact.of("not_all_ways", findings=()), Fact.of("frequency"),
    Fact.of("cause"), Fact.of("fire"),
)  # fmt: skip


@pytest.mark.parametrize("limit", LIMITS, ids=lambda limit: limit.code)
def test_every_limit_has_words(limit: Fact) -> None:
    said = limit_words(limit)

    assert not CODE.search(said)
    assert "\n" not in said


def test_names_beyond_the_first_are_counted() -> None:
    (limit,) = (one for one in LIMITS if one.code == "no_inner_behaviour")

    assert "devices U1, U2, U3, U4 and 1 more may do" in limit_words(limit)


def test_of_a_fire_the_words_claim_nothing() -> None:
    """NFPA 921, 14-1 (by a copy at second hand): work against a rule may or may not be related to the cause."""
    assert "is no proof that it caused the fire (NFPA 921, 14-1)" in limit_words(Fact.of("fire"))


def test_unknown_limit_is_a_fault() -> None:
    with pytest.raises(KeyError):
        limit_words(Fact.of("never_heard_of"))
