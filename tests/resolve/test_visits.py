"""What stands at a visit, and which elements are there with which options."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.errors import InputError
from harnessdiff.pipeline import assess
from harnessdiff.resolve.visits import as_equipped, standing
from tests.support import Json, bench_data, reference_from, survey_from, with_options

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey

VISITS = [{"id": f"V{number}", "when": f"2026-03-{number:02}"} for number in (1, 2, 3)]


def tap(own: str, visit: str | None = None, supersedes: list[str] | None = None) -> Json:
    line: Json = {"kind": "tap", "id": own, "on": {"wire": "W12"}}
    return line | ({"visit": visit} if visit else {}) | ({"supersedes": supersedes} if supersedes else {})


def observed(survey: Survey) -> list[str]:
    return [one.id for one in survey.observations]


STANDING = [
    (None, ["c", "d"]),
    ("V1", ["a", "d"]),
    ("V2", ["b", "d"]),
    ("V3", ["c", "d"]),
]


@pytest.mark.parametrize(("as_of", "ids"), STANDING)
def test_superseded_lines_and_later_ones_do_not_stand(bench: Reference, as_of: str | None, ids: list[str]) -> None:
    lines = [tap("a", "V1"), tap("b", "V2", ["a"]), tap("c", "V3", ["b"]), tap("d")]
    survey = survey_from(bench, *lines, visits=VISITS)

    assert observed(standing(survey, as_of)) == ids


def test_line_without_a_visit_is_of_the_first(bench: Reference) -> None:
    survey = survey_from(bench, tap("a"), visits=VISITS)

    assert survey.observations[0].visit == "V1"


def test_line_that_two_others_supersede_does_not_stand(bench: Reference) -> None:
    survey = survey_from(bench, tap("a"), tap("b", supersedes=["a"]), tap("c", supersedes=["a"]))

    assert observed(standing(survey)) == ["b", "c"]


def test_one_line_may_supersede_several(bench: Reference) -> None:
    survey = survey_from(bench, tap("a"), tap("b"), tap("c", supersedes=["a", "b"]))

    assert observed(standing(survey)) == ["c"]


def test_readings_stand_as_lines_do(bench: Reference) -> None:
    readings = [
        {"id": "R0", "between": [{"terminal": "BAT:+"}], "current_A": 0.6, "visit": "V1"},
        {"id": "R1", "between": [{"terminal": "BAT:+"}], "current_A": 0.5, "visit": "V2", "supersedes": ["R0"]},
    ]
    survey = survey_from(bench, visits=VISITS, readings=readings)

    assert [one.id for one in standing(survey, "V1").readings] == ["R0"]
    assert [one.id for one in standing(survey).readings] == ["R1"]


def test_visits_after_the_one_asked_for_are_not_reported(bench: Reference) -> None:
    survey = survey_from(bench, visits=VISITS)

    assert [visit.id for visit in standing(survey, "V2").visits] == ["V1", "V2"]


def test_visit_that_is_not_there_is_refused_and_the_visits_are_named(bench: Reference) -> None:
    survey = survey_from(bench, visits=VISITS)

    with pytest.raises(InputError, match=r"there is no visit V9; the survey has: V1, V2, V3") as refused:
        standing(survey, "V9")
    assert len(refused.value.problems) == 1


def test_demo_insertion_takes_the_place_of_the_tap_at_the_second_visit(van: Reference, demo_survey: Survey) -> None:
    first = assess(van, demo_survey, as_of="V1", electrical=False)
    second = assess(van, demo_survey, as_of="V2", electrical=False)
    seen = [{one for finding in case.findings.findings for one in finding.observations} for case in (first, second)]

    assert {"T7", "I7"} & seen[0] == {"T7"}
    assert {"T7", "I7"} & seen[1] == {"I7"}


# -- options

OPTIONAL = [("R1", "radio_pack"), ("W40", "radio_pack"), ("H1", "not:no_sound"), ("SP1", "radio_pack")]


def equipped(*fitted: tuple[str, str]) -> set[str]:
    reference = reference_from(with_options(bench_data(), OPTIONAL))
    survey = survey_from(reference, options=[{"id": name, "fitted": word} for name, word in fitted])
    return {element.id for element in as_equipped(reference, survey.options).harness.elements}


@pytest.fixture(scope="module")
def everything() -> set[str]:
    return {element.id for element in reference_from(bench_data()).harness.elements}


def test_nothing_said_of_options_rules_nothing_out(everything: set[str]) -> None:
    assert equipped() == everything


@pytest.mark.parametrize(
    ("option", "word"), [("radio_pack", "yes"), ("radio_pack", "unknown"), ("no_sound", "no"), ("no_sound", "unknown")]
)
def test_option_fitted_or_unknown_rules_nothing_out(everything: set[str], option: str, word: str) -> None:
    assert equipped((option, word)) == everything


def test_option_not_fitted_takes_its_elements_and_what_hangs_on_them(everything: set[str]) -> None:
    """The radio goes with its terminals and both its wires, the splice with the wires that end there."""
    gone = everything - equipped(("radio_pack", "no"))

    assert gone == {"R1", "R1:30", "R1:31", "W40", "W41", "SP1", "W11", "W12", "W13"}


def test_what_is_there_only_without_an_option_goes_with_it(everything: set[str]) -> None:
    assert everything - equipped(("no_sound", "yes")) == {"H1", "H1:1", "H1:2", "W21"}


def test_equipped_reference_leaves_no_incidence_in_the_air(van: Reference, demo_survey: Survey) -> None:
    harness = as_equipped(van, demo_survey.options).harness
    ends = {end for one in harness.incidences for end in (one.subject, one.target)}

    assert len(harness.elements) < len(van.harness.elements)
    assert ends <= set(harness.by_id)


def test_option_not_fitted_is_no_removed_part(van: Reference, demo_survey: Survey) -> None:
    case = assess(van, demo_survey, electrical=False)

    assert [one for one in case.findings.findings if one.kind == "removed_part"] == []
