"""What a document says it is, and which versions are read."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

import pytest

from harnessdiff.errors import InputError
from harnessdiff.read.check import check_file
from harnessdiff.read.document import checked, format_of, passed_over
from harnessdiff.read.json_text import Document, parse_document
from harnessdiff.read.reference import reference_of
from harnessdiff.read.schema import pointer_to
from harnessdiff.read.survey import check_survey, survey_of
from tests.read.test_schema import FULL_REFERENCE, FULL_SURVEY, Steps, at, places
from tests.support import Json, document, least_reference, problems_of, reference_from, survey_data, survey_from

FORMATS = "harnessdiff reference, harnessdiff survey, harnessdiff findings, harnessdiff policy"


def problems(data: Any, expected: str = "reference") -> list[tuple[str | None, str]]:
    with pytest.raises(InputError) as caught:
        checked(document(data), expected)
    return problems_of(caught.value)


@pytest.mark.parametrize("name", ["reference", "survey", "findings"])
def test_a_document_is_of_the_format_it_names(name: str) -> None:
    assert format_of(document({"format": f"harnessdiff {name}"})) == name


@pytest.mark.parametrize(
    ("word", "hint"),
    [
        ("harnesdiff reference", '; did you mean "harnessdiff reference"?'),
        ("harnessdiff  survey", '; did you mean "harnessdiff survey"?'),
        ("survey", '; did you mean "harnessdiff survey"?'),
        ("HARNESSDIFF FINDINGS", '; did you mean "harnessdiff findings"?'),
        ("zip", ""),
        ("", ""),
        (None, ""),
        (1, ""),
    ],
)
def test_another_format_is_refused_with_the_nearest_that_is_known(word: Any, hint: str) -> None:
    assert problems({"format": word}) == [("/format", f'the member "format" should be one of: {FORMATS}{hint}')]


@pytest.mark.parametrize("word", [[], {}, ["harnessdiff survey"]])
def test_a_format_that_is_no_text_is_refused_too(word: Any) -> None:
    assert problems({"format": word}) == [("/format", f'the member "format" should be one of: {FORMATS}')]


def test_a_document_without_a_format_is_refused_with_those_that_are_known() -> None:
    assert problems({"version": "1.0"}) == [("/format", f'the member "format" should be one of: {FORMATS}')]


@pytest.mark.parametrize("data", [[], "text", 1, None, True])
def test_a_document_that_is_no_object_is_refused(data: Any) -> None:
    assert problems(data) == [("/", 'should be an object with the member "format"')]


def test_a_document_of_another_format_is_refused_by_name() -> None:
    with pytest.raises(InputError) as caught:
        reference_of(document(survey_data(), "case.json"))

    assert str(caught.value) == "case.json: is a survey, where a reference is wanted"


# -- versions


@pytest.mark.parametrize("version", ["2.0", "2.7", "10.0", "0.9", "0.0"])
def test_another_major_version_is_refused(version: str) -> None:
    message = f"this program reads version 1, and the document is of version {version}"

    assert problems(least_reference(version=version, something_new=1)) == [("/version", message)]


@pytest.mark.parametrize(
    "version", ["1", "1.0.0", "1.x", "", ".", "1.", "-1.0", "+1.0", " 1.0", "1.0 ", "١.٠", "1,0", 1.0, 1, None, ["1.0"]]
)
def test_a_version_that_is_none_is_refused(version: Any) -> None:
    assert problems(least_reference(version=version)) == [("/version", 'should be major.minor, such as "1.0"')]


def test_a_version_of_many_digits_is_refused() -> None:
    expected = [("/version", 'should be major.minor, such as "1.0"')]

    assert problems(least_reference(version="1." + "9" * 5000)) == expected


def test_the_version_comes_before_everything_else_that_is_wrong() -> None:
    assert [pointer for pointer, _ in problems(least_reference(version="2.0", id=""))] == ["/version"]


@pytest.mark.parametrize("version", ["1.1", "1.12"])
def test_a_newer_minor_version_is_read_and_its_unknown_members_do_no_harm(version: str) -> None:
    data = least_reference(version=version, something_new={"deep": [1]})
    data["devices"][0]["something_new"] = 1
    data["wires"][0]["something_new"] = 1

    read = reference_from(data)

    assert read.version == version
    assert read.harness == reference_from(least_reference()).harness


def test_what_is_wrong_in_a_newer_minor_version_is_still_refused() -> None:
    data = least_reference(version="1.1", something_new=1, id="")

    assert problems(data) == [("/id", "should not be empty")]


def test_unknown_members_of_this_minor_version_are_refused() -> None:
    assert problems(least_reference(something_new=1)) == [("/something_new", 'no member "something_new" is known here')]


def test_a_survey_of_a_newer_minor_version_is_read() -> None:
    data = survey_data({"kind": "tap", "on": {"wire": "W212", "something_new": 1}}, version="1.1", something_new=1)
    data["scope"]["something_new"] = 1

    survey = survey_of(document(data), reference_from(least_reference()))

    assert survey.version == "1.1"
    assert len(survey.observations) == 1


def test_an_observation_of_a_newer_minor_version_is_read() -> None:
    reference = reference_from(least_reference())
    seen = {"kind": "other", "note": "a magnet"}

    survey = survey_from(reference, seen | {"something_new": 1}, version="1.1")

    assert survey.observations[0].note == "a magnet"


# -- what is passed over of a newer minor version

NEWER: dict[str, Json] = {
    "reference": FULL_REFERENCE | {"version": "1.1"},
    "survey": FULL_SURVEY | {"version": "1.1"},
}
# Every object of either document, but for those whose members are names: your own and the positions of switches.
OBJECTS = [
    (name, path)
    for name, data in NEWER.items()
    for path in [(), *places(data)]
    if isinstance(at(data, path), dict) and not any(step == "positions" or str(step).startswith("x_") for step in path)
]
PASSED_OVER = "passed over: of a newer version than this program knows"


def planted(name: str, path: Steps, version: str = "1.1") -> Document:
    """A document with one member more in one of its objects."""
    data = copy.deepcopy(NEWER[name] | {"version": version})
    at(data, path)["something/new"] = {"deep": [1], "base": "no colour", "unit": "no unit"}
    return document(data)


@pytest.mark.parametrize(("name", "path"), OBJECTS)
def test_an_unknown_member_of_a_newer_minor_version_is_dropped_and_listed_with_its_place(
    name: str, path: Steps
) -> None:
    newer = planted(name, path)
    pointer = pointer_to([*path, "something/new"])

    assert checked(newer, name) == NEWER[name]
    assert passed_over(newer) == (newer.problem(pointer, PASSED_OVER),)


@pytest.mark.parametrize(("name", "path"), OBJECTS)
def test_an_unknown_member_of_this_minor_version_is_the_one_problem(name: str, path: Steps) -> None:
    same = planted(name, path, version="1.0")
    with pytest.raises(InputError) as caught:
        checked(same, name)

    assert [pointer for pointer, _ in problems_of(caught.value)] == [pointer_to([*path, "something/new"])]
    assert passed_over(same) == ()


def test_all_that_is_passed_over_is_listed_and_nothing_else() -> None:
    data = least_reference(version="1.3", later=1, x_own=2)
    data["wires"][1]["later"] = 3
    data["zones"][0]["x_later"] = 4

    assert sorted(problem.pointer or "" for problem in passed_over(document(data))) == ["/later", "/wires/1/later"]


def test_what_is_passed_over_does_not_change_what_is_read() -> None:
    plain: Json = {"kind": "tap", "on": {"wire": "W212"}, "lead": {"colour": {"base": "RD"}, "length_m": {"exact": 1}}}
    later = copy.deepcopy(plain)
    for inner in (later, later["on"], later["lead"], later["lead"]["colour"], later["lead"]["length_m"]):
        inner["later"] = {"min": 2, "max": 1}
    reference = reference_from(least_reference())

    read = [survey_from(reference, one, version="1.1").observations for one in (plain, later)]

    assert read[0] == read[1]


def test_a_file_is_checked_and_what_is_passed_over_in_it_is_noted(tmp_path: Path) -> None:
    path = tmp_path / "survey.json"
    path.write_text(
        """{
  "format": "harnessdiff survey",
  "version": "1.1",
  "later": 1,
  "visits": [{"id": "V1", "when": "2026-03-14", "sky": "grey"}],
  "scope": {"looked_at": "everything"},
  "observations": []
}"""
    )

    found = check_file(path)

    assert found.format == "survey"
    assert {str(warning) for warning in found.warnings} == {
        f"{path}:4:12: /later: {PASSED_OVER}",
        f"{path}:5:56: /visits/0/sky: {PASSED_OVER}",
    }


def test_nothing_is_passed_over_in_a_document_that_is_known_whole() -> None:
    assert passed_over(document(survey_data({"kind": "other", "x_own": [1]}))) == ()
    assert passed_over(document(survey_data({"kind": "other"}, version="1.1"))) == ()


# -- all problems together


def test_every_problem_is_given_in_the_order_of_the_file() -> None:
    raw = b"""{
  "format": "harnessdiff survey",
  "version": "1.0",
  "visits": [{"id": "V1"}],
  "scope": {"looked_at": "all"},
  "observations": [
    {"kind": "tapp"},
    {"kind": "tap", "nota": "x"}
  ],
  "title": ""
}"""
    with pytest.raises(InputError) as caught:
        check_survey(parse_document(raw, "case.json"))

    assert [str(problem).split(": ")[:2] for problem in caught.value.problems] == [
        ["case.json:4:14", "/visits/0"],
        ["case.json:5:26", "/scope/looked_at"],
        ["case.json:7:14", "/observations/0/kind"],
        ["case.json:8:29", "/observations/1/nota"],
        ["case.json:10:12", "/title"],
    ]
    assert str(caught.value) == "\n".join(map(str, caught.value.problems))


def test_a_document_that_is_in_order_is_handed_on_unchanged() -> None:
    data: Json = survey_data({"kind": "other", "x_own": [1]})

    assert checked(document(data), "survey") == data
