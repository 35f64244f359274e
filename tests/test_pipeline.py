"""The demo from its two files to findings: what is said, and that it is said the same way every time."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.errors import InputError
from harnessdiff.model.findings import Finding
from harnessdiff.model.harness import Joint
from harnessdiff.model.observation import JointSeen
from harnessdiff.model.rating import level_rank
from harnessdiff.pipeline import Case, assess, compare_files, listing_of
from harnessdiff.read.schema import validator
from harnessdiff.read.survey import survey_of
from harnessdiff.report.findings_json import findings_document, findings_text
from tests.drawing import solved_demo_case
from tests.support import Json, case_from, codes, document, found

if TYPE_CHECKING:
    from pathlib import Path

    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey


@pytest.fixture(scope="module")
def case() -> Case:
    return solved_demo_case()


@pytest.fixture(scope="module")
def written(demo_path: Path) -> Json:
    """The demo's survey as plain data, free to be changed."""
    loaded: Json = json.loads(demo_path.read_text(encoding="utf-8"))
    return loaded


def findings(case: Case, kind: str, element: str | None) -> list[Finding]:
    return [
        one
        for one in case.findings.findings
        if one.kind == kind and (element in one.modification.elements if element else not one.modification.elements)
    ]


# What the two surveyors saw, by kind and element of the reference, and what must be established of it.
SAID: list[tuple[str, str | None, set[str]]] = [
    ("tap", "BAT1:+", {"at_source", "permanent_supply", "two_sources"}),
    ("tap", "W35", {"module_output"}),
    ("tap", "W551", {"permanent_supply", "over_fused", "shares_fuse"}),
    ("tap", "W30", {"permanent_supply"}),
    ("tap", "W325", {"adds_load", "wet_place"}),
    ("tap", "W392", {"adds_load", "wet_place", "module_output"}),
    ("tap", "W343", {"adds_load", "wet_place", "over_fused"}),
    ("tap", "W296", {"adds_load", "wet_place"}),
    ("tap", "W306", {"adds_load", "unsuitable_conductor"}),
    ("tap", "W386", {"module_output", "wet_place"}),
    ("tap", "W388", {"wire_cut"}),
    ("tap", None, {"place_unknown", "not_traced"}),
    ("insertion", "W153", {"through_device", "over_fused", "security"}),
    ("wrong_rated_protection", "F26_FUSE", {"rating", "over_fused"}),
    ("moved_ground", "W356", {"poor_ground_contact", "shared_ground", "wet_place"}),
    ("orphaned_lead", "W578", {"loose_end", "loose_end_live", "permanent_supply", "wet_place"}),
    ("orphaned_lead", None, {"loose_end", "loose_end_dead"}),
    ("untraced_lead", None, {"not_traced"}),
    ("damage", "F26", {"damage"}),
    ("surroundings", "Z_REAR_L", {"surroundings"}),
    ("repair", "W413", {"insert_piece"}),
    ("added_ground", "GND7:1", set()),
    ("other", None, set()),
]
ACCEPTABLE = [("tap", "RAD1:A4"), ("tap", "RAD1:A7"), ("added_ground", "RAD1:A8"), ("repair", "W413")]
GRAVE = [
    ("tap", "BAT1:+"), ("wrong_rated_protection", "F26_FUSE"), ("tap", "W343"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "element", "facts"), SAID, ids=[f"{kind}-{element}" for kind, element, _ in SAID])
def test_demo_says_what_was_seen(case: Case, kind: str, element: str | None, facts: set[str]) -> None:
    assert [one for one in findings(case, kind, element) if facts <= codes(one)]


@pytest.mark.parametrize(("kind", "element"), ACCEPTABLE)
def test_demo_s_sound_work_is_not_flagged(case: Case, kind: str, element: str) -> None:
    assert [one.rating.flagged for one in findings(case, kind, element)] == [False]


@pytest.mark.parametrize(("kind", "element"), GRAVE)
def test_demo_s_gravest_findings_are_high(case: Case, kind: str, element: str) -> None:
    assert [one.rating.worst for one in findings(case, kind, element)] == ["High"]


def test_demo_s_second_battery_is_named_as_what_is_not_protected(case: Case) -> None:
    """The feed has its fuse at the starter battery; the lead to the second battery has none at that end."""
    (feed,) = findings(case, "tap", "BAT1:+")
    leads = {str(fact.get("lead")) for fact in feed.modification.facts if fact.code == "unprotected"}

    assert "+L11" in leads
    assert "over_fused" not in codes(feed)


def test_demo_s_relay_trigger_is_no_bypass_and_no_bridge(case: Case) -> None:
    assert {one.kind for one in case.findings.findings} & {"bypass", "bridge", "open_circuit"} == set()


def test_demo_s_trigger_wire_is_found_by_its_clue_and_the_trailer_tap_has_two_candidates(case: Case) -> None:
    (trigger,) = findings(case, "tap", "W35")
    (open_one,) = (one for one in case.findings.findings if one.possibilities)

    assert trigger.possibilities == ()
    assert {one.elements for one in open_one.possibilities} == {("W333",), ("W347",)}
    assert "ring_out" in {check.code for check in open_one.checks}


def test_demo_leaves_nothing_unresolved_and_goes_through_every_combination(case: Case) -> None:
    assert case.findings.plain == ()
    assert case.findings.complete


def test_demo_is_said_to_be_invented(case: Case) -> None:
    assert case.findings.invented


# -- numbers and flags


def test_findings_are_numbered_from_one_worst_first(case: Case) -> None:
    numbers = [one.number for one in case.findings.findings]
    flagged = [level_rank(one.rating.worst) for one in case.findings.findings if one.rating.mechanisms]

    assert numbers == list(range(1, len(numbers) + 1))
    assert all(earlier >= later for earlier, later in pairwise(flagged))


def test_every_joint_has_one_flag_and_every_flag_its_finding_s_number(case: Case) -> None:
    flags = [joint.flag for one in case.findings.findings for joint in one.joints]
    numbered = [re.fullmatch(r"(\d+)[a-z]?", joint.flag) for one in case.findings.findings for joint in one.joints]
    numbers = [one.number for one in case.findings.findings for _ in one.joints]

    assert len(flags) == len(set(flags))
    assert [int(match[1]) for match in numbered if match] == numbers


def test_every_added_joint_is_flagged(case: Case) -> None:
    flagged = {joint.id for one in case.findings.findings for joint in one.joints}
    added = {one.id for one in case.as_found.elements if isinstance(one, Joint) and one.id.startswith("+")}

    assert added <= flagged


def test_every_edit_is_accounted_for_once(case: Case) -> None:
    shared = {thing for install in case.findings.installs for thing in install.shared}
    accounted = [edit for one in case.findings.findings for edit in one.modification.edits]
    left = [edit for edit in case.findings.edits if edit not in set(accounted)]

    assert len(accounted) == len(set(accounted))
    assert [edit for edit in left if not any(thing in repr(edit) for thing in shared)] == []


# -- ids


def ids(case: Case) -> dict[str, str]:
    """Ids of findings by the first line they stand on."""
    return {"|".join(sorted(one.observations)): one.id for one in case.findings.findings}


def reassessed(van: Reference, data: Json) -> Case:
    return assess(van, survey_of(document(data), van), electrical=False)


def test_ids_are_unique_and_short(case: Case) -> None:
    found = [one.id for one in case.findings.findings]

    assert len(found) == len(set(found))
    assert all(re.fullmatch(r"F-[0-9a-f]{8}", one) for one in found)


def test_ids_and_ratings_survive_other_notes_and_photographs(van: Reference, written: Json) -> None:
    case = reassessed(van, written)
    lines = [{key: value for key, value in line.items() if key not in ("note", "photographs", "who", "when")}
             for line in written["observations"]]  # fmt: skip
    lines = [line | {"note": f"typo mended {number}"} for number, line in enumerate(lines)]
    again = reassessed(van, written | {"observations": lines})

    assert ids(again) == ids(case)
    assert [one.rating for one in again.findings.findings] == [one.rating for one in case.findings.findings]


def test_ids_numbers_and_everything_else_survive_another_order_of_lines(van: Reference, demo_survey: Survey) -> None:
    survey = replace(demo_survey, sha256=None)
    backwards = replace(survey, observations=tuple(reversed(survey.observations)))

    # The demo's own order is held in tests/compare/test_laws.py, consequences included.
    there = assess(van, backwards, electrical=False).findings
    assert findings_text(there) == findings_text(assess(van, survey, electrical=False).findings)


def test_ids_survive_a_worse_grade(case: Case, van: Reference, demo_survey: Survey) -> None:
    """At the next visit every joint is green and loose: other levels, the same findings."""
    worse = tuple(
        replace(one, details=replace(one.details, condition=("green", "loose"))) if isinstance(one, JointSeen) else one
        for one in demo_survey.observations
    )
    again = assess(van, replace(demo_survey, observations=worse), electrical=False)

    assert ids(again) == ids(case)
    assert [one.rating for one in again.findings.findings] != [one.rating for one in case.findings.findings]


def test_ids_survive_another_visit(case: Case, van: Reference, demo_survey: Survey) -> None:
    """What stood at the first visit and stands at the second is the same finding."""
    first = ids(assess(van, demo_survey, as_of="V1", electrical=False))
    both = first.keys() & ids(case).keys()

    assert len(both) > 15
    assert {key: first[key] for key in both} == {key: ids(case)[key] for key in both}


def test_ids_survive_other_names_of_lines(case: Case, van: Reference, written: Json) -> None:
    """A line may be called otherwise in another survey: kind, place and role make the id."""
    own = {line["id"]: f"Q{line['id']}" for line in written["observations"] if "id" in line}
    places = ("between", "around", "of", "manipulations")
    readings = [
        reading | {name: renamed(reading[name], own) for name in places if name in reading}
        for reading in written["readings"]
    ]
    again = reassessed(van, written | {"observations": renamed(written["observations"], own), "readings": readings})

    assert sorted(one.id for one in again.findings.findings) == sorted(one.id for one in case.findings.findings)


LINE_NAMES = (
    "id", "lead", "joined", "cut", "device", "joint", "of", "element", "supersedes", "beyond", "before", "inline_of",
)  # fmt: skip


def renamed(value: Any, names: dict[str, str], member: str = "of") -> Any:
    """Lines called otherwise, wherever one names another."""
    if isinstance(value, dict):
        return {key: renamed(one, names, key) for key, one in value.items()}
    if isinstance(value, list):
        return [renamed(one, names, member) for one in value]
    if not isinstance(value, str) or member not in LINE_NAMES:
        return value
    line, dot, rest = value.partition(".")
    return names.get(line, line) + dot + rest


# -- the same every time; whatever the hash seed, tests/draw/test_sheets.py holds with all the files of the demo


def test_files_and_what_was_read_from_them_give_the_same(case: Case, van: Reference, demo_survey: Survey) -> None:
    assert assess(van, demo_survey).findings == case.findings


def test_document_is_valid_and_its_text_reads_back(case: Case) -> None:
    text = findings_text(case.findings)
    read_back = json.loads(text)

    assert [error.message for error in validator("findings").iter_errors(read_back)] == []
    assert read_back == json.loads(json.dumps(findings_document(case.findings)))
    assert sum(read_back["summary"].values()) + read_back["verdict"]["not_rated"] == len(read_back["findings"])


def test_findings_name_the_hashes_of_both_files(case: Case, van: Reference, demo_survey: Survey) -> None:
    assert (case.findings.reference_sha256, case.findings.survey_sha256) == (van.sha256, demo_survey.sha256)


def test_visit_that_is_not_there_is_refused(van_path: Path, demo_path: Path) -> None:
    with pytest.raises(InputError, match="there is no visit V9"):
        compare_files(van_path, demo_path, as_of="V9")


def test_file_that_is_not_there_is_refused(van_path: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="there is no such file"):
        compare_files(van_path, tmp_path / "nothing.json")


def test_survey_in_place_of_a_reference_is_refused(demo_path: Path) -> None:
    with pytest.raises(InputError, match="is a survey, where a reference is wanted"):
        compare_files(demo_path, demo_path)


# -- what does not hold in every way to read an open question


def facts_of(finding: Finding, *, perhaps: bool) -> set[str]:
    """Codes of facts that are established, or that only may be so."""
    return {fact.code for fact in finding.modification.facts if bool(fact.get("perhaps")) == perhaps}


def test_tap_on_a_side_of_a_cut_that_nobody_knows_is_perhaps_live(bench: Reference) -> None:
    """Both ways of it are gone through; the first, live, is not told as if it were known."""
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W40"},
        {"kind": "tap", "id": "t", "on": {"wire": "W40"}, "lead": {"size_mm2": 0.5}},
    ]
    case = case_from(bench, *lines)
    tap = found(case, "tap")

    assert len(tap.possibilities) == 2
    assert "permanent_supply" in facts_of(tap, perhaps=True)
    assert "not_traced" in facts_of(tap, perhaps=False)
    assert "perhaps live at all times" in listing_of(case)


def test_tap_on_one_of_several_wires_is_sure_of_what_holds_on_all_of_them(bench: Reference) -> None:
    line = {"kind": "tap", "id": "t", "on": {"wire": {"connector": "X1"}}, "lead": {"size_mm2": 0.22}}
    (tap,) = case_from(bench, line).findings.findings

    assert {one.elements for one in tap.possibilities} == {("W12",), ("W14",)}
    assert "switched_supply" in facts_of(tap, perhaps=True)
    assert facts_of(tap, perhaps=False) == {"not_traced"}


def test_record_without_open_questions_is_sure_of_everything(bench: Reference) -> None:
    (tap,) = case_from(bench, {"kind": "tap", "id": "t", "on": {"wire": "W40"}}).findings.findings

    assert facts_of(tap, perhaps=True) == set()
