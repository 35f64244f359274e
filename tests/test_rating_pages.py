"""The pages about ratings say what the program says."""

from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from harnessdiff.pipeline import assess
from harnessdiff.read.policy import read_policy
from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import read_survey, survey_of
from harnessdiff.report.explaining import explained
from harnessdiff.report.findings_json import findings_document
from harnessdiff.resources import shipped_policies
from harnessdiff.words import level_words
from tests.drawing import solved_demo_case
from tests.pages import changed_table, disagreements_table, findings_table
from tests.support import Json, document

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

ROOT = Path(__file__).resolve().parent.parent
PAGE = (ROOT / "docs" / "rating.md").read_text(encoding="utf-8")
ACCEPTABLE = (ROOT / "docs" / "acceptable.md").read_text(encoding="utf-8")
SURVEY = ROOT / "demo" / "light_van_inspector" / "survey.json"


@cache
def van() -> Reference:
    return read_reference(ROOT / "reference_harnesses" / "light_van" / "light_van.json")


def test_table_of_the_demo_is_what_the_program_says() -> None:
    assert findings_table(solved_demo_case()) in PAGE


def test_table_of_the_insurer_is_what_the_program_says() -> None:
    other = assess(van(), read_survey(SURVEY, van()), policy=read_policy(shipped_policies()["harbour_mutual"]))

    assert changed_table(solved_demo_case(), other) in PAGE


def test_insurer_changes_three_grades() -> None:
    assert changed_table(solved_demo_case(), solved_demo_case()).count("\n") == 1
    assert PAGE.split("<!-- changed -->")[1].split("<!-- end -->")[0].strip().count("\n") == 1 + 3


def test_table_of_disagreements_is_that_of_the_catalogue() -> None:
    assert disagreements_table() in PAGE


def test_explanation_prints_what_the_page_shows() -> None:
    written = json.loads(json.dumps(findings_document(solved_demo_case().findings)))
    shown = PAGE.split("```text\n")[1].split("```")[0]

    assert shown in explained(written, ["2"])


def without(change: str) -> Json:
    """The demo's survey with one of its good jobs done badly."""
    survey: Json = json.loads(SURVEY.read_bytes())
    observations = {one.get("id"): one for one in survey["observations"]}
    if change == "seal":
        joints = observations["R1"]["joints"]
        observations["R1"] |= {"zone": "Z_REAR_L", "joints": [{**one, "cover": "sleeve"} for one in joints]}
    else:
        del observations["L41"]["inline"]
    return copy.deepcopy(survey)


def level(change: str, observation: str) -> str:
    survey = survey_of(document(without(change), "survey"), van())
    findings = assess(van(), survey, electrical=False).findings.findings
    return next(level_words(one.rating) for one in findings if observation in one.observations)


def test_the_same_done_otherwise_is_not_acceptable() -> None:
    assert (level("seal", "R1"), level("fuse", "J41")) == ("Medium", "Serious")
    assert "(*Medium*)" in ACCEPTABLE
    assert "(*Serious*: the" in ACCEPTABLE
