"""Levels from a survey on: what does not count, what one weight moves, and what is no hazard."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from harnessdiff.model.rating import ACCEPTABLE, Rating, level_rank
from harnessdiff.pipeline import assess
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.loader import risk_matrix
from tests.rate.planted import (
    BOX,
    CRIMP,
    ROUTE,
    SOUND_LEAD,
    bench_with,
    few,
    is_no_better,
    tap_of,
)
from tests.strategies import plantings
from tests.support import Json, as_found_from, bench_data, case_from, codes, found, reference_from, survey_from

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.reference import Reference

# -- what does not count


def renamed(value: Any, names: dict[str, str]) -> Any:
    """The document with every id, alone or before a colon, by its other name."""
    if isinstance(value, dict):
        return {key: renamed(one, names) for key, one in value.items()}
    if isinstance(value, list):
        return [renamed(one, names) for one in value]
    if not isinstance(value, str):
        return value
    device, colon, terminal = value.partition(":")
    return names.get(device, device) + colon + terminal


def profile(reference: Reference, lines: list[Json]) -> list[tuple[object, ...]]:
    """Kind, level and mechanisms of every finding, whatever it is called."""
    return sorted(
        (
            one.kind,
            one.rating.best,
            one.rating.worst,
            tuple((m.code, m.severity, m.probability, m.level, m.index) for m in one.rating.mechanisms),
            one.rating.beside,
        )
        for one in case_from(reference, *lines).findings.findings
    )


@few
@given(st.data())
def test_names_and_order_do_not_count(data: st.DataObject) -> None:
    """Every id of the reference and of the survey is changed for another at random, and the lines change places."""
    written = bench_data()
    reference = bench_with()
    lines = data.draw(plantings(reference))
    assume(not as_found_from(reference, *lines).choices)  # of several that fit, the first by name is drawn
    ids = [one["id"] for name in ("zones", "circuits", "devices", "splices", "wires") for one in written[name]]
    ids += [line["id"] for line in lines]
    numbers = data.draw(st.permutations(range(len(ids))))
    names = {own: f"N{number:03}" for own, number in zip(ids, numbers, strict=True)}

    other = renamed(lines, names)
    assert profile(reference_from(renamed(written, names)), other[::-1]) == profile(reference, lines)


def test_name_of_a_wire_does_not_count_where_a_lead_joins_it_to_the_battery(bench: Reference) -> None:
    """The lead is as unprotected as the wire, whichever of the two comes first in the order of names."""
    line: Json = {"kind": "bridge", "id": "b", "from": {"wire": "W1"}, "to": {"terminal": "BAT:+"}}
    names = {"W1": "A1"}

    assert profile(reference_from(renamed(bench_data(), names)), [renamed(line, names)]) == profile(bench, [line])


@few
@given(st.data())
def test_notes_photographs_and_labels_do_not_count(data: st.DataObject) -> None:
    line = tap_of(data)
    photographs = [{"id": "P1", "path": "photographs/p1.jpg"}]
    said = line | {"note": "smells of burning, the owner says; looks fine to me", "photographs": ["P1"], "who": "A"}
    plain = case_from(bench_with(), line, photographs=photographs)
    noted = case_from(bench_with(), said, photographs=photographs)

    assert [one.rating for one in plain.findings.findings] == [one.rating for one in noted.findings.findings]
    assert [one.id for one in plain.findings.findings] == [one.id for one in noted.findings.findings]


# -- one weight moves what its code is established in


def codes_in(rating: Rating) -> set[str]:
    return {part.code for one in rating.mechanisms for part in (*one.contributions, *one.also)}


PLANTED: list[Json] = [
    {"kind": "tap", "id": "t1", "zone": "Z_TAIL", "on": {"wire": "W32"}, "lead": {"size_mm2": 0.22, "route": ROUTE},
     "joint": {"type": "twisted", "tool": "hand", "cover": "tape", "condition": ["loose"]}, "to": BOX},
    {"kind": "tap", "id": "t2", "on": {"terminal": "BAT:+"}, "joint": CRIMP, "lead": SOUND_LEAD, "to": BOX},
    {"kind": "cut", "id": "c1", "wire": "W40"},
    {"kind": "substitution", "id": "s1", "element": "F2", "fitted": {"rating_A": 30}},
    {"kind": "damage", "id": "d1", "on": [{"wire": "W21"}], "damage": "chafed", "extent": "through"},
]  # fmt: skip


@pytest.mark.parametrize(
    "code",
    [
        "joint_loose",
        "no_grommet",
        "unprotected",
        "at_source",
        "open_circuit",
        "rating",
        "over_fused",
        "damage",
        "extent",
    ],
)
def test_changed_weight_changes_the_findings_in_which_its_code_is_established_and_no_other(
    bench: Reference, code: str
) -> None:
    policy = default_policy()
    survey = survey_from(bench, *PLANTED)
    heavier = replace(
        policy,
        factors=tuple(replace(one, weight=one.weight + 100) if one.code == code else one for one in policy.factors),
    )
    before, after = (
        {one.id: one.rating for one in assess(bench, survey, electrical=False, policy=by).findings.findings}
        for by in (policy, heavier)
    )
    moved = {name for name in before if before[name] != after[name]}

    assert before.keys() == after.keys()
    assert moved
    assert moved == {name for name in before if code in codes_in(before[name])}


# -- levels, and what is acceptable


def consistent(finding: Finding) -> bool:
    rating, policy = finding.rating, default_policy()
    worst = max((one.level for one in rating.mechanisms), key=level_rank, default=ACCEPTABLE)
    in_order = [level_rank(one.level) for one in rating.mechanisms]
    return (
        (worst == rating.worst or not rating.rated)
        and in_order == sorted(in_order, reverse=True)
        and all(one.cell == risk_matrix()[one.severity, one.probability] for one in rating.mechanisms)
        and all(one.level == one.cell or one.floors or one.caps for one in rating.mechanisms)
        and all(one.probability == policy.probability(one.index) for one in rating.mechanisms)
        and all(round(sum(c.counts for c in one.contributions), 9) == one.index for one in rating.mechanisms)
        and all(part.source for one in rating.mechanisms for part in one.contributions)
        and level_rank(rating.best) <= level_rank(rating.worst)
        and (rating.worst == ACCEPTABLE) == (not rating.mechanisms and rating.rated)
    )


@few
@given(st.data())
def test_every_level_follows_from_its_contributions(data: st.DataObject) -> None:
    findings = case_from(bench_with(), *data.draw(plantings(bench_with()))).findings.findings

    assert [one.modification for one in findings if not consistent(one)] == []


SWITCH = BOX | {"device": {"kind": "switch"}}
"""What draws nothing, so that nothing is open about what it draws at rest."""


@pytest.mark.parametrize("line", [
    {"kind": "tap", "on": {"wire": "W12"}, "joint": CRIMP, "lead": SOUND_LEAD, "to": SWITCH},
    {"kind": "tap", "on": {"terminal": "R1:30"}, "joint": {"type": "plug_in"}, "lead": SOUND_LEAD, "to": SWITCH},
    {"kind": "tap", "on": {"terminal": "F4:in"}, "joint": {"type": "fuse_slot_adaptor"},
     "lead": SOUND_LEAD | {"inline": [{"kind": "fuse", "rating_A": 3, "distance_m": 0.05}]}, "to": SWITCH},
    {"kind": "repair", "wire": "W32", "joints": [CRIMP]},
    {"kind": "repair", "wire": "W21", "joints": [CRIMP],
     "insert": SOUND_LEAD | {"size_mm2": 1.5, "colour": {"base": "BK", "tracer": "YE"}}},
])  # fmt: skip
def test_sound_work_is_recorded_and_acceptable(bench: Reference, line: Json) -> None:
    (finding,) = case_from(bench, line | {"id": "o", "zone": "Z_TAIL"}).findings.findings

    assert (finding.rating.best, finding.rating.worst, finding.rating.mechanisms) == (ACCEPTABLE, ACCEPTABLE, ())
    assert not finding.rating.flagged


@pytest.mark.parametrize(
    "lines",
    [
        [
            {"kind": "as_reference", "id": "a", "elements": ["W32", "F3"]},
            {"kind": "as_reference", "id": "b", "zone": "Z_TAIL"},
        ],
        [{"kind": "good_practice", "id": "g", "of": ["W32"], "practice": "fused_at_source"}],
        [],
    ],
)
def test_what_is_as_it_should_be_is_no_finding(bench: Reference, lines: list[Json]) -> None:
    assert case_from(bench, *lines).findings.findings == ()


def test_surroundings_are_recorded_and_no_hazard_of_their_own(bench: Reference) -> None:
    line = {"kind": "surroundings", "id": "e", "zone": "Z_TAIL", "wet": True}
    (finding,) = case_from(bench, line).findings.findings

    assert not finding.rating.flagged


def test_what_nobody_can_tell_is_rated_over_the_whole_matrix(bench: Reference) -> None:
    (finding,) = case_from(bench, {"kind": "other", "id": "o", "note": "hums"}).findings.findings

    assert (finding.rating.best, finding.rating.worst, finding.rating.rated) == (ACCEPTABLE, "High", False)


def test_joint_not_made_for_its_wire_is_rated_worse(bench: Reference) -> None:
    """W21 has 1.5 mm²: a crimp that is sound in itself is not, and a poor tap gets poorer."""

    def rating(joint: Json, range_mm2: list[float]) -> Rating:
        line = {"kind": "tap", "id": "t", "on": {"wire": "W21"}, "joint": joint | {"range_mm2": range_mm2},
                "lead": SOUND_LEAD | {"size_mm2": 1.5}, "to": BOX}  # fmt: skip
        return found(case_from(bench, line), "tap").rating

    poor = {"type": "insulation_displacement", "tool": "pliers", "cover": "none"}

    assert not rating(CRIMP, [1.0, 2.5]).flagged
    assert rating(CRIMP, [0.5, 1.0]).flagged
    assert is_no_better(rating(poor, [0.5, 1.0]), rating(poor, [1.0, 2.5]))
    assert "out_of_range" in codes_in(rating(poor, [0.5, 1.0]))


def test_rings_on_a_clean_stud_are_ordinary_up_to_what_practice_allows(bench: Reference) -> None:
    ring = {"type": "ring_terminal", "fixing": "factory_stud", "bare_metal": "yes", "condition": ["clean"]}

    def flagged(rings: int) -> bool:
        joint = ring | {"rings_on_stud": rings}
        line = {"kind": "lead", "id": "l", **SOUND_LEAD, "end_1": {"device": "d", "pin": "-"},
                "end_2": {"terminal": "GND1:1", "joint": joint}}  # fmt: skip
        box = {"kind": "device", "id": "d", "sort": "beeper", "terminals": ["-"]}
        return found(case_from(bench, box, line), "added_ground").rating.flagged

    assert [flagged(rings) for rings in (1, 2, 4, 5)] == [False, False, False, True]


def test_box_of_the_lender_s_has_the_same_mechanisms_as_nobody_s(bench: Reference) -> None:
    alarm = {"kind": "device", "id": "d", "sort": "alarm", "terminals": ["+"], "function": "alarm", "owner": "lender"}
    plain = {"kind": "device", "id": "d", "sort": "other", "terminals": ["+"]}
    tap = {"kind": "tap", "id": "t", "on": {"wire": "W40"}, "joint": {"type": "twisted"}, "lead": SOUND_LEAD}
    lenders, nobodys = (
        found(case_from(bench, box, tap | {"to": {"device": "d", "pin": "+"}}), "tap") for box in (alarm, plain)
    )

    assert set(lenders.rating.beside) == {"security", "owner_other"}
    assert {"security", "owner_other"} <= codes(lenders)
    assert (nobodys.rating.beside, nobodys.rating.mechanisms) == ((), lenders.rating.mechanisms)
