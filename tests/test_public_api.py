"""The public API: a handful of names, five lines to a result, and nothing in it that can be changed."""

from __future__ import annotations

import re
import subprocess
import sys
from dataclasses import FrozenInstanceError, fields, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from lxml import etree

import harnessdiff
from tests.drawing import demo_case

if TYPE_CHECKING:
    from collections.abc import Iterator

    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey


# -- names


@pytest.mark.parametrize("name", harnessdiff.__all__)
def test_every_public_name_is_there_and_explained(name: str) -> None:
    assert getattr(harnessdiff, name).__doc__


def test_public_names_are_in_order_and_few() -> None:
    assert harnessdiff.__all__ == sorted(harnessdiff.__all__)
    assert len(harnessdiff.__all__) <= 15
    assert dir(harnessdiff) == harnessdiff.__all__


def test_name_that_is_not_there_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="module 'harnessdiff' has no attribute 'nonsense'"):
        _ = harnessdiff.nonsense


def test_everything_can_be_had_at_once() -> None:
    program = "from harnessdiff import *; print(sorted(name for name in dir() if name[0] != '_'))"
    finished = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert finished.stdout.strip() == str(harnessdiff.__all__)


def test_errors_have_one_base_and_are_what_a_caller_would_guess() -> None:
    for error, built_in in (
        (harnessdiff.InputError, ValueError),
        (harnessdiff.LayoutError, RuntimeError),
        (harnessdiff.OutputError, OSError),
    ):
        assert issubclass(error, harnessdiff.HarnessDiffError)
        assert issubclass(error, built_in)


# -- five lines


def test_five_lines_of_the_docstring_work_on_shipped_files(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, van_path: Path, demo_path: Path
) -> None:
    reference = van_path.parent.parent / "motorcycle" / "motorcycle.json"
    survey = demo_path.parent.parent / "motorcycle_technician" / "survey.json"
    (tmp_path / "reference.json").write_bytes(reference.read_bytes())
    (tmp_path / "survey.json").write_bytes(survey.read_bytes())
    monkeypatch.chdir(tmp_path)
    lines = re.findall(r"^>>> (.+?)(?:  # doctest.*)?$", harnessdiff.__doc__ or "", re.MULTILINE)
    values: dict[str, Any] = {}
    for line in lines:
        exec(line, values)

    assert len(lines) == 5
    assert len(values["case"].findings.findings) > 5
    assert (tmp_path / "overview.svg").read_text(encoding="utf-8").startswith("<svg")


def test_files_read_one_by_one_give_the_same(van_path: Path, demo_path: Path) -> None:
    shipped = van_path.parent.parent / "motorcycle" / "motorcycle.json"
    seen = demo_path.parent.parent / "motorcycle_technician" / "survey.json"
    reference = harnessdiff.read_reference(shipped)
    survey = harnessdiff.read_survey(seen, reference)
    case = harnessdiff.assess(reference, survey)

    assert case.findings == harnessdiff.compare_files(shipped, seen).findings
    assert harnessdiff.findings_document(case.findings)["format"] == "harnessdiff findings"


def test_every_problem_of_a_file_can_be_had_in_its_parts(tmp_path: Path, van_path: Path) -> None:
    (tmp_path / "survey.json").write_text('{"format": "harnessdiff survey", "version": "1.0",\n "visits": 7}')

    with pytest.raises(harnessdiff.InputError) as raised:
        harnessdiff.compare_files(van_path, tmp_path / "survey.json")
    problems = raised.value.problems
    assert {one.source for one in problems} == {str(tmp_path / "survey.json")}
    assert ("/visits", 2) in {(one.pointer, one.line) for one in problems}


# -- frozen


def inside(value: Any, way: str = "case") -> Iterator[tuple[str, Any]]:
    """Everything that a result is made of, with the way to it."""
    yield way, value
    if is_dataclass(value):
        for field in fields(value):
            yield from inside(getattr(value, field.name), f"{way}.{field.name}")
    elif isinstance(value, (tuple, list, set, frozenset)):
        for number, one in enumerate(value):
            yield from inside(one, f"{way}[{number}]")
    elif isinstance(value, dict):
        for key, one in value.items():
            yield from inside(one, f"{way}[{key!r}]")


def is_frozen(kind: Any) -> bool:
    return bool(kind.__dataclass_params__.frozen)


def test_results_hold_nothing_that_can_be_changed() -> None:
    loose = {
        re.sub(r"\[\d+\]", "[]", way): type(value).__name__
        for way, value in inside(demo_case())
        if isinstance(value, (list, dict, set, bytearray)) or (is_dataclass(value) and not is_frozen(type(value)))
    }

    assert loose == {}


def test_inputs_hold_nothing_that_can_be_changed(van: Reference, demo_survey: Survey) -> None:
    loose = {
        re.sub(r"\[\d+\]", "[]", way): type(value).__name__
        for one, name in ((van, "reference"), (demo_survey, "survey"))
        for way, value in inside(one, name)
        if isinstance(value, (list, dict, set, bytearray))
    }

    assert loose == {}


def test_setting_a_member_is_refused() -> None:
    case = demo_case()
    for one, name in (
        (case, "findings"), (case.findings, "findings"), (case.findings.findings[0], "number"),
        (case.findings.findings[0].rating, "worst"), (case.reference, "title"), (case.as_found, "elements"),
        (case.sheets[0], "svg"),
    ):  # fmt: skip
        with pytest.raises(FrozenInstanceError):
            setattr(one, name, None)


# -- in a notebook


def test_a_case_shows_its_drawing_in_a_notebook() -> None:
    shown = demo_case()._repr_html_()
    root = etree.fromstring(f"<html>{shown}</html>")

    assert [one.tag for one in root] == ["div"] * len(demo_case().sheets)
    assert [one[0].tag for one in root] == ["{http://www.w3.org/2000/svg}svg"] * len(demo_case().sheets)
    assert "Overview: where to look" in shown


def test_drawing_is_made_once(monkeypatch: pytest.MonkeyPatch) -> None:
    case = demo_case()
    first = case.sheets
    monkeypatch.setattr(sys, "executable", "/nowhere/at/all")

    assert case.sheets is first
