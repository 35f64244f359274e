"""``new-survey``: a record to fill in, sound from the start."""

from __future__ import annotations

import datetime as dt
import json
from typing import TYPE_CHECKING

import pytest

from tests.cli.outcome import contents, told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run


@pytest.fixture(params=["bench", "light_van"])
def reference(request: pytest.FixtureRequest, bench_file: Path, van_path: Path) -> Path:
    """The bench, and the light van."""
    return {"bench": bench_file, "light_van": van_path}[request.param]


def test_new_survey_is_sound(run: Run, reference: Path, tmp_path: Path) -> None:
    path = tmp_path / "new.json"
    result = run("new-survey", reference, "-o", path, "--who", "surveyor A", "--date", "2026-03-14")

    assert (result.exit_code, result.stdout) == (0, f"written: {path}\n")
    assert run("check", path, "--reference", reference).exit_code == 0


def test_unchanged_new_survey_differs_in_nothing_and_says_that_nothing_was_looked_at(
    run: Run, reference: Path, tmp_path: Path
) -> None:
    path = tmp_path / "new.json"
    run("new-survey", reference, "-o", path)
    result = run("compare", reference, path)

    assert result.exit_code == 0
    assert "nothing was looked at, so nothing can be said" in result.stdout


def test_new_survey_has_every_zone_not_opened_and_every_option_unknown(run: Run, reference: Path) -> None:
    survey = json.loads(run("new-survey", reference).stdout)
    data = json.loads(reference.read_text(encoding="utf-8"))

    assert survey["scope"]["looked_at"] == []
    assert sorted(one["zone"] for one in survey["scope"]["not_opened"]) == sorted(one["id"] for one in data["zones"])
    assert sorted((one["id"], one["fitted"]) for one in survey["options"]) == sorted(
        (one["id"], "unknown") for one in data["options"]
    )
    assert survey["observations"] == []
    assert survey["reference"]["id"] == data["id"]


def test_new_survey_has_the_date_and_the_name_that_were_given(run: Run, bench_file: Path) -> None:
    survey = json.loads(run("new-survey", bench_file, "--date", "2026-03-14", "--who", 'Ö. "Quote" \\ Back').stdout)

    assert survey["visits"] == [{"id": "V1", "when": "2026-03-14", "who": ['Ö. "Quote" \\ Back']}]


def test_new_survey_is_of_today_where_no_date_was_given(run: Run, bench_file: Path) -> None:
    before = dt.datetime.now().astimezone().date()
    (visit,) = json.loads(run("new-survey", bench_file).stdout)["visits"]

    assert before <= dt.date.fromisoformat(visit["when"]) <= dt.datetime.now().astimezone().date()


def test_a_zone_a_line_so_that_it_can_be_filled_in_by_hand(run: Run, bench_file: Path) -> None:
    lines = run("new-survey", bench_file).stdout.splitlines()

    assert sum('{"zone": "' in line for line in lines) == 5
    assert max(map(len, lines)) < 120


def test_new_survey_is_the_same_printed_and_written(run: Run, bench_file: Path, tmp_path: Path) -> None:
    printed = run("new-survey", bench_file, "--date", "2026-03-14").stdout
    run("new-survey", bench_file, "--date", "2026-03-14", "-o", tmp_path / "a/new.json")

    assert (tmp_path / "a/new.json").read_text(encoding="utf-8") == printed


@pytest.mark.parametrize("taken", ["file", "folder"])
def test_what_is_there_is_never_written_over(run: Run, bench_file: Path, tmp_path: Path, taken: str) -> None:
    path = tmp_path / "taken"
    path.write_text("hours of work") if taken == "file" else path.mkdir()
    before = contents(tmp_path)

    assert told(run("new-survey", bench_file, "-o", path)) == f"{path} is there already; name another file"
    assert contents(tmp_path) == before


def test_place_that_cannot_be_written_is_told(run: Run, bench_file: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("old")

    assert told(run("new-survey", bench_file, "-o", tmp_path / "file/new.json")).startswith("cannot write ")


@pytest.mark.parametrize("date", ["yesterday", "14.3.2026", "2026-13-45"])
def test_date_that_is_none_is_refused(run: Run, bench_file: Path, date: str) -> None:
    assert run("new-survey", bench_file, "--date", date).exit_code == 2
