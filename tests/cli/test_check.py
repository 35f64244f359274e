"""``check``: every problem with its place, for people and for machines."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.cli.outcome import TAP, told

if TYPE_CHECKING:
    from tests.cli.conftest import Run, Survey


NOT_LOOKED_FOR = "what it names was not looked for (--reference says where)"


def test_sound_files_are_told_with_what_they_are(run: Run, bench_file: Path, survey: Survey) -> None:
    path = survey(TAP)
    result = run("check", bench_file, path)

    assert result.exit_code == 0
    assert result.stdout == f"{bench_file}: reference, sound\n{path}: survey, sound in itself; {NOT_LOOKED_FOR}\n"
    assert result.stderr == ""


def test_shipped_files_are_sound(run: Run, van_path: Path, demo_path: Path) -> None:
    assert run("check", van_path, demo_path, "--reference", van_path).exit_code == 0


def test_findings_are_sound_after_they_were_written(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    run("compare", bench_file, survey(TAP), "-o", tmp_path / "out")
    result = run("check", tmp_path / "out/findings.json")

    assert (result.exit_code, result.stdout) == (0, f"{tmp_path / 'out/findings.json'}: findings, sound\n")


def test_one_unsound_file_is_enough_for_trouble_and_the_others_are_checked_too(
    run: Run, survey: Survey, tmp_path: Path
) -> None:
    sound, missing = survey(TAP), tmp_path / "nothing.json"
    result = run("check", missing, sound)

    assert result.exit_code == 2
    assert result.stdout == f"{sound}: survey, sound in itself; {NOT_LOOKED_FOR}\n"
    assert result.stderr == f"{missing}: there is no such file\n"


def test_every_problem_has_file_line_column_and_place(run: Run, survey: Survey, tmp_path: Path) -> None:
    path = survey(TAP)
    text = path.read_text().replace('"twisted"', '\n"twistd"').replace('"W12"', "12")
    path.write_text(text)
    result = run("check", path)
    lines = result.stderr.splitlines()

    assert result.exit_code == 2
    assert len(lines) == 2
    assert f"{path}:1:" in lines[0]
    assert "/observations/0/on/wire: " in lines[0]
    assert lines[1].startswith(f"{path}:2:1: /observations/0/joint/type: ")


def test_names_are_only_looked_up_where_a_reference_is_given(run: Run, bench_file: Path, survey: Survey) -> None:
    path = survey(TAP | {"zone": "Z_NOPE"})

    assert run("check", path).exit_code == 0
    result = run("check", path, "--reference", bench_file)
    assert result.exit_code == 2
    assert "/observations/0/zone: the reference has no zone Z_NOPE" in result.stderr


def test_reference_to_hold_against_must_be_there(run: Run, survey: Survey, tmp_path: Path) -> None:
    said = told(run("check", survey(TAP), "--reference", tmp_path / "nothing.json"))

    assert said == f"{tmp_path / 'nothing.json'}: there is no such file"


def test_json_holds_every_problem_in_its_parts(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    sound, wrong = bench_file, survey(TAP | {"zone": "Z_NOPE"})
    result = run("check", sound, wrong, tmp_path / "nothing.json", "--reference", bench_file, "--json")
    good, bad, missing = json.loads(result.stdout)

    assert result.exit_code == 2
    assert result.stderr == ""
    assert good == {"file": str(sound), "format": "reference", "held_against": None, "problems": [], "warnings": []}
    (problem,) = bad["problems"]
    assert (problem["line"], problem["pointer"]) == (1, "/observations/0/zone")
    assert problem["column"] > 1
    assert "Z_NOPE" in problem["message"]
    assert [one["message"] for one in missing["problems"]] == ["there is no such file"]


@pytest.mark.parametrize("arguments", [[], ["--json"]])
def test_checking_writes_nothing(run: Run, survey: Survey, tmp_path: Path, arguments: list[str]) -> None:
    path = survey(TAP)
    before = sorted(tmp_path.rglob("*"))
    run("check", path, *arguments)

    assert sorted(tmp_path.rglob("*")) == before


def test_a_survey_is_held_against_the_shipped_reference_that_it_names(run: Run, survey: Survey) -> None:
    path = survey({"kind": "tap", "on": {"wire": "W9"}}, reference={"id": "iso_1724"})
    result = run("check", path)

    assert result.exit_code == 2
    assert "the reference has no wire W9" in result.stderr


def test_standard_input_is_read_where_it_is_named(survey: Survey) -> None:
    text = survey(TAP).read_text(encoding="utf-8")
    finished = subprocess.run(
        [sys.executable, "-m", "harnessdiff", "check", "-"], input=text, capture_output=True, text=True, check=False
    )

    assert finished.returncode == 0
    assert finished.stdout.startswith("-: survey, sound")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_full_disk_is_no_fault_of_the_program(survey: Survey) -> None:
    with Path("/dev/full").open("w") as full:
        finished = subprocess.run(
            [sys.executable, "-m", "harnessdiff", "fed-by", "light_van"],
            stdout=full, stderr=subprocess.PIPE, text=True, check=False,
        )  # fmt: skip

    assert finished.returncode == 2
    assert "No space left" in finished.stderr
    assert "Traceback" not in finished.stderr
