"""``check``: every problem with its place, for people and for machines."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.cli.outcome import TAP, told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run, Survey


def test_sound_files_are_told_with_what_they_are(run: Run, bench_file: Path, survey: Survey) -> None:
    path = survey(TAP)
    result = run("check", bench_file, path)

    assert result.exit_code == 0
    assert result.stdout == f"{bench_file}: reference, sound\n{path}: survey, sound\n"
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
    assert result.stdout == f"{sound}: survey, sound\n"
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
    assert good == {"file": str(sound), "format": "reference", "problems": [], "warnings": []}
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
