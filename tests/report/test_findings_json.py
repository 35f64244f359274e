"""Findings as JSON: by the schema, complete, the same every time, and one line an entry."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.model.rating import LEVELS
from harnessdiff.read.schema import faults
from harnessdiff.report.findings_json import findings_document, findings_text
from harnessdiff.report.json_rows import rows_text
from tests.drawing import CATALOGUE, catalogue_case, solved_demo_case
from tests.strategies import plantings, references
from tests.support import Json, case_from, reference_from, survey_from

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case


def read_back(case: Case) -> Json:
    loaded: Json = json.loads(findings_text(case.findings))
    return loaded


# -- by the schema


def test_demo_is_valid() -> None:
    assert faults("findings", read_back(solved_demo_case())) == []


@pytest.mark.parametrize("which", ["survey", "twin"])
@pytest.mark.parametrize("kind", CATALOGUE)
def test_every_survey_of_the_catalogue_is_valid(kind: str, which: str) -> None:
    assert faults("findings", read_back(catalogue_case(kind, which))) == []


@settings(max_examples=60)
@given(st.data())
def test_random_surveys_are_valid(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))

    case = case_from(reference, *data.draw(plantings(reference, most=8)), electrical=True)

    assert faults("findings", read_back(case)) == []


def test_empty_survey_is_valid_and_finds_nothing(bench: Reference) -> None:
    document = read_back(case_from(bench))

    assert faults("findings", document) == []
    assert (document["findings"], document["installs"], document["edits"]) == ([], [], [])
    assert document["summary"] == {"acceptable": 0, "Low": 0, "Medium": 0, "Serious": 0, "High": 0}


# -- the same every time


def test_same_findings_are_the_same_bytes() -> None:
    assert findings_text(solved_demo_case().findings) == findings_text(solved_demo_case().findings)
    assert findings_text(solved_demo_case().findings).endswith("}\n")


@pytest.mark.parametrize("kind", CATALOGUE[::7])
def test_surveys_of_the_catalogue_are_the_same_bytes_assessed_again(kind: str) -> None:
    first = findings_text(catalogue_case(kind).findings)
    catalogue_case.cache_clear()

    assert findings_text(catalogue_case(kind).findings) == first


def test_text_is_the_document() -> None:
    assert read_back(solved_demo_case()) == json.loads(json.dumps(findings_document(solved_demo_case().findings)))


# -- what is in it


def test_every_finding_is_there_with_its_rating() -> None:
    found = [(one["number"], one["id"], one["kind"], one["worst"]) for one in read_back(solved_demo_case())["findings"]]
    expected = [(one.number, one.id, one.kind, one.rating.worst) for one in solved_demo_case().findings.findings]

    assert found == expected


def test_summary_counts_every_rated_finding_by_its_worst_level() -> None:
    document = read_back(solved_demo_case())
    rated = [one["worst"] for one in document["findings"] if one.get("rated") is not False]
    counted = {level: rated.count(level) for level in ("acceptable", *LEVELS)}

    assert document["summary"] == counted


def test_level_follows_from_severity_and_probability_of_the_worst_mechanism() -> None:
    """A program that reads the file can see why: the first mechanism is the one that decides."""
    for finding in read_back(solved_demo_case())["findings"]:
        mechanisms = finding.get("mechanisms", [])
        ranks = [LEVELS.index(one["level"]) for one in mechanisms]

        if mechanisms:
            assert finding["worst"] == mechanisms[0]["level"]
            assert ranks[0] == max(ranks)
            assert all(one["contributions"] for one in mechanisms)


def test_verdict_counts_what_the_findings_say() -> None:
    document = read_back(solved_demo_case())
    verdict, rated = document["verdict"], [one for one in document["findings"] if one.get("rated", True)]

    assert verdict["levels"] == {level: sum(one["worst"] == level for one in rated) for level in verdict["levels"]}
    assert sum(verdict["levels"].values()) + verdict["not_rated"] == len(document["findings"])
    assert verdict["actions"] == {
        action: sum(one.get("action", "none") == action for one in rated) for action in verdict["actions"]
    }
    assert verdict["satisfactory"] == (not verdict["because"])
    assert verdict["worst_findings"] == [one["number"] for one in rated if one["worst"] == verdict["worst"]]


def test_observation_that_fits_nothing_is_in_the_verdict(bench: Reference) -> None:
    clue = {"colour": {"base": "PK", "tracer": "TQ"}}
    verdict = read_back(case_from(bench, {"kind": "damage", "id": "g1", "on": [{"wire": clue}]}))["verdict"]

    assert (verdict["satisfactory"], verdict["because"]) == (False, [{"code": "plain", "observations": ["g1"]}])


@pytest.mark.parametrize(
    ("joint", "lead", "expected"),
    [
        ("made_safe", "open", "open"),
        ("open", "accepted", "open"),
        ("made_safe", "made_safe", "made_safe"),
        ("made_safe", "accepted", "accepted"),
    ],
)
def test_finding_of_which_a_part_is_open_is_open(bench: Reference, joint: str, lead: str, expected: str) -> None:
    lines = (
        {
            "kind": "joint",
            "id": "j1",
            "zone": "Z_TAIL",
            "type": "twisted",
            "members": [{"wire": "W12"}],
            "state": joint,
        },
        {"kind": "lead", "id": "l1", "zone": "Z_TAIL", "end_1": {"joined": "j1"}, "state": lead},
    )
    (finding,) = read_back(case_from(bench, *lines))["findings"]

    assert finding["state"] == expected


def test_remarks_go_with_every_result(bench: Reference) -> None:
    remarks = ["grade_is_not_a_cause", "not_seen_is_not_missing", "wiring_near_a_fire_is_no_proof"]

    assert read_back(case_from(bench))["remarks"] == remarks
    assert read_back(solved_demo_case())["remarks"] == remarks


def test_edits_are_named_by_their_place_in_the_list() -> None:
    document = read_back(solved_demo_case())
    named = [place for finding in document["findings"] for place in finding["edits"]]

    assert len(named) == len(set(named))
    assert set(named) <= set(range(len(document["edits"])))


def test_every_install_and_every_flagged_joint_is_there() -> None:
    document = read_back(solved_demo_case())
    flags = [joint["flag"] for finding in document["findings"] for joint in finding.get("joints", [])]

    assert [one["findings"] for one in document["installs"]] == [
        list(one.findings) for one in solved_demo_case().findings.installs
    ]
    assert flags == [joint.flag for one in solved_demo_case().findings.findings for joint in one.joints]


def test_every_reason_has_its_source() -> None:
    for finding in read_back(solved_demo_case())["findings"]:
        for mechanism in finding.get("mechanisms", []):
            assert all(one["source"] and one["how"] for one in mechanism["contributions"])


def test_what_was_and_was_not_looked_at_is_there() -> None:
    zones = {one["id"]: one["status"] for one in read_back(solved_demo_case())["coverage"]["zones"]}

    assert zones["Z_REAR_L"] == "looked_at"
    assert zones["Z_ROOF"] == "not_opened"
    assert zones["Z_ENGINE"] == "not_inspected"


def test_lengths_looked_at_are_there_even_where_they_are_nothing(bench: Reference) -> None:
    coverage = read_back(case_from(bench, scope={"looked_at": []}))["coverage"]

    assert (coverage["length_m_throughout"], coverage["length_m_seen"], coverage["wires_without_length"]) == (0, 0, 0)
    assert coverage["length_m"] > 0


def test_photographs_readings_history_and_complaint_travel_along(demo_survey: Any) -> None:
    document = read_back(solved_demo_case())

    assert len(document["photographs"]) == len(demo_survey.photographs)
    assert {one["id"] for one in document["readings"]} <= {one.id for one in demo_survey.readings}
    assert len(document["complaint"]) == 2
    assert document["history"]


def test_words_of_a_survey_are_kept_letter_by_letter(bench: Reference) -> None:
    note = 'Öl & <b>"Rost"</b> \\ tab\there, 線, \u202e'
    case = case_from(bench, {"kind": "other", "id": "o", "zone": "Z_DASH", "note": note})
    (finding,) = read_back(case)["findings"]

    assert finding["notes"] == [note]


def test_members_of_a_survey_s_own_pass_through(bench: Reference) -> None:
    line = {"kind": "tap", "id": "t", "zone": "Z_TAIL", "on": {"wire": "W12"}, "x_ticket": {"number": 7}}
    (finding,) = read_back(case_from(bench, line))["findings"]

    assert finding["x_ticket"] == {"number": 7}


def test_hashes_are_those_of_the_files_and_left_out_where_there_are_none(bench: Reference) -> None:
    survey = survey_from(bench)
    inputs = read_back(case_from(bench))["inputs"]

    assert inputs["reference"]["sha256"] == bench.sha256
    assert inputs["survey"]["sha256"] == survey.sha256


# -- rows


def test_findings_and_edits_are_a_line_each() -> None:
    text = findings_text(solved_demo_case().findings)
    lines = text.splitlines()
    document = read_back(solved_demo_case())

    for finding in document["findings"]:
        assert sum(line.strip().startswith(f'{{"id": "{finding["id"]}"') for line in lines) == 1
    assert sum(line.strip().startswith('{"edit": ') for line in lines) == len(document["edits"])


plain = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=12,
)


@given(st.dictionaries(st.text(max_size=5), plain, max_size=4))
def test_rows_are_json_that_says_the_same(document: Json) -> None:
    assert json.loads(rows_text(document)) == document


def test_rows_put_every_entry_of_a_list_on_its_own_line() -> None:
    text = rows_text({"a": 1, "b": [{"c": [1, 2]}, {"c": []}], "d": {"e": [{"f": 1}], "g": 2}, "h": {}})

    assert text == (
        '{\n  "a": 1,\n  "b": [\n    {"c": [1, 2]},\n    {"c": []}\n  ],\n'
        '  "d": {\n    "e": [\n      {"f": 1}\n    ],\n    "g": 2\n  },\n  "h": {}\n}'
    )
