"""``new-reference``: two files or none, nothing written over unasked, and next steps that are right commands."""

from __future__ import annotations

import csv
import errno
import json
import os
import shlex
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.cli.new_reference import TEMPLATE
from harnessdiff.read.table.questions import read_answers
from tests.cli.outcome import contents, told

if TYPE_CHECKING:
    from pathlib import Path

    from click.testing import Result

    from tests.cli.conftest import Run

HORN = {
    ("vehicle", "system_voltage_V"): "12 V", ("vehicle", "ground_polarity"): "negative",
    ("BAT1", "inside"): "+ to - gives 12.6 V 60 Ah", ("F3", "rating_A"): "10", ("F3", "body"): "blade type C",
    ("H1", "name"): "horn", ("H1", "inside"): "from + to - draws 4 A", ("S1", "name"): "horn button",
    ("S1", "kind"): "button", ("S1", "inside"): "free; pressed: 1 to 2 joins 6 A",
}  # fmt: skip
"""Answers to the questions of the template."""


@pytest.fixture
def wires(tmp_path: Path) -> Path:
    """The template as a file."""
    path = tmp_path / "my wires.csv"
    path.write_text(TEMPLATE, encoding="utf-8")
    return path


def fill_in(path: Path, answers: dict[tuple[str, str], str]) -> None:
    """Answer the questions of a table, as a spreadsheet that parts cells with semicolons saves it."""
    with path.open(encoding="utf-8-sig", newline="") as stream:
        header, *rows = csv.reader(stream)
    with path.open("w", encoding="utf-8-sig", newline="") as stream:
        writer = csv.writer(stream, delimiter=";")
        writer.writerow(header)
        writer.writerows([*row[:3], answers.get((row[0], row[1]), row[3])] for row in rows)


def next_steps(result: Result) -> list[list[str]]:
    """Arguments of the commands that are proposed."""
    lines = [line.strip() for line in result.stdout.splitlines() if line.startswith("  harnessdiff ")]
    return [shlex.split(line)[1:] for line in lines]


def test_template_is_printed_and_is_a_table_that_makes_a_reference(run: Run, wires: Path, tmp_path: Path) -> None:
    result = run("new-reference", "--template")

    assert (result.exit_code, result.stdout) == (0, TEMPLATE)
    assert run("new-reference", wires, "-o", tmp_path / "horn.json").exit_code == 0


def test_from_the_template_to_a_reference_that_nobody_objects_to_by_the_steps_proposed(
    run: Run, wires: Path, tmp_path: Path
) -> None:
    out = tmp_path / "my horn.json"
    result = run("new-reference", wires, "-o", out, "--title", "a horn & its button")
    again, _ = next_steps(result)
    fill_in(tmp_path / "my horn_questions.csv", HORN)
    result = run(*again)
    (lint,) = next_steps(result)

    assert result.exit_code == 0
    assert run(*lint).stdout == "my horn: 0 errors, 0 notes, 0 gaps; 1 waived as built\n"
    assert json.loads(out.read_text(encoding="utf-8"))["title"] == "a horn & its button"


def test_what_is_said_counts_what_is_open_and_what_is_assumed(run: Run, wires: Path, tmp_path: Path) -> None:
    lines = run("new-reference", wires, "-o", tmp_path / "horn.json").stdout.splitlines()
    rows = read_answers(tmp_path / "horn_questions.csv").values()
    assumed = sum("(assumed; " in row["question"] for row in rows)

    assert lines[:2] == [f"written: {tmp_path / name}" for name in ("horn.json", "horn_questions.csv")]
    assert lines[2].startswith(f"{assumed} of {len(rows)} answers are assumed and stand in ")
    assert lines[3].startswith(f"{sum(not row['answer'] for row in rows)} of {len(rows)} questions are open. ")


def test_onto_the_skeleton_with_no_wires_and_with_some(run: Run, wires: Path, tmp_path: Path) -> None:
    wires.write_text("wire,from,to\nN1,F5:out,E77:1\n", encoding="utf-8")
    result = run("new-reference", wires, "--onto", "skeleton", "-o", tmp_path / "van.json")

    assert result.exit_code == 0
    assert next_steps(result)[0][:5] == ["new-reference", str(wires), "--onto", "skeleton", "--answers"]
    assert run(*next_steps(result)[0]).exit_code == 0
    assert run("new-reference", "--onto", "skeleton", "-o", tmp_path / "plain.json").exit_code == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ([], "WIRES: name a table of wires, or --onto skeleton; --template prints one to begin with"),
        (["WIRES"], "--output: say where the reference goes, such as -o my_van.json"),
        (["WIRES", "-o", "."], "--output: say where the reference goes, such as -o my_van.json"),
        (["WIRES", "-o", "taken.json"], "taken.json is there already; name another file, or say --replace"),
        (["WIRES", "-o", "WIRES", "--replace"], "WIRES would be written over; name another file under -o"),
        (["asked_questions.csv", "-o", "asked.json"],
         "asked_questions.csv would be written over; name another file under -o"),
        (["WIRES", "--onto", "taken.json", "-o", "taken.json", "--replace"],
         "taken.json would be written over; name another file under -o"),
        (["WIRES", "--answers", "out.json", "-o", "out.json"],
         "out.json would be written over; name another file under -o"),
        (["WIRES", "-o", "asked.json", "--replace"],
         "asked_questions.csv is there already, and may hold answers: give it as --answers, or move it away"),
        (["WIRES", "--answers", "WIRES", "-o", "asked.json", "--replace"],
         "asked_questions.csv is there already, and may hold answers: give it as --answers, or move it away"),
        (["none.csv", "-o", "new.json"], "none.csv: there is no such file"),
        (["WIRES", "--answers", "none.csv", "-o", "new.json"], "none.csv: there is no such file"),
        (["WIRES", "--onto", "skeletn", "-o", "new.json"],
         'skeletn: there is no such file, and no shipped reference of that name; did you mean "skeleton"?'),
        (["WIRES", "-o", "taken.json/new.json"], "cannot write into taken.json: it is a file; name a folder"),
    ],
)  # fmt: skip
def test_trouble_is_told_in_one_line_and_nothing_is_touched(
    run: Run, wires: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: list[str], message: str
) -> None:
    monkeypatch.chdir(tmp_path)
    wires.rename("WIRES")
    (tmp_path / "taken.json").write_text("hours of work")
    (tmp_path / "asked_questions.csv").write_text("about,what,answer\n")
    before = contents(tmp_path)

    assert told(run("new-reference", *arguments)) == message
    assert contents(tmp_path) == before


def test_base_that_is_no_sound_reference_is_told(run: Run, wires: Path, tmp_path: Path) -> None:
    for name, data in {"list.json": "[]", "odd.json": '{"devices": [3]}'}.items():
        (tmp_path / name).write_text(data)
        result = run("new-reference", wires, "--onto", tmp_path / name, "-o", tmp_path / "new.json")

        assert result.exit_code == 2
        assert "fault of harnessdiff" not in result.stderr
    assert not (tmp_path / "new.json").exists()


def test_wires_that_cannot_be_used_are_told_all_at_once_and_nothing_is_written(
    run: Run, wires: Path, tmp_path: Path
) -> None:
    wires.write_text("from,to\nF1:1,E1\n,GND1\n", encoding="utf-8")
    result = run("new-reference", wires, "-o", tmp_path / "new.json")

    assert result.exit_code == 2
    assert [line.split(": ")[1] for line in result.stderr.splitlines()] == [f"{wires}:2", f"{wires}:2", f"{wires}:3"]
    assert list(contents(tmp_path)) == [wires.name]


def test_disk_that_is_full_leaves_both_files_or_none(
    run: Run, wires: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls: list[int] = []

    def fsync(handle: int) -> None:
        calls.append(handle)
        if len(calls) > 1:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", fsync)

    assert "No space left on device" in told(run("new-reference", wires, "-o", tmp_path / "new.json"))
    assert list(contents(tmp_path)) == [wires.name]


def test_same_table_gives_the_same_files(run: Run, wires: Path, tmp_path: Path) -> None:
    for folder in ("one", "two"):
        run("new-reference", wires, "-o", tmp_path / folder / "horn.json")

    assert contents(tmp_path / "one") == contents(tmp_path / "two")


@pytest.mark.parametrize("name", ["my+van@home", "Türen", "=1", "a b"])
def test_reference_may_have_any_name(run: Run, wires: Path, tmp_path: Path, name: str) -> None:
    result = run("new-reference", wires, "-o", tmp_path / f"{name}.json")

    assert [run(*step).exit_code for step in next_steps(result)] == [0, 0]


def test_answers_that_are_given_back_are_never_lost(run: Run, wires: Path, tmp_path: Path) -> None:
    out, questions = tmp_path / "horn.json", tmp_path / "horn_questions.csv"
    run("new-reference", wires, "-o", out)
    fill_in(questions, HORN)
    run("new-reference", wires, "--answers", questions, "-o", out, "--replace")
    kept = {key: row["answer"] for key, row in read_answers(questions).items()}

    assert HORN.items() <= kept.items()


@given(st.binary(max_size=120) | st.text(max_size=120).map(lambda text: f"about,what,answer\nF3,{text}\n".encode()))
def test_any_bytes_as_answers_are_used_or_refused(
    run: Run, tmp_path_factory: pytest.TempPathFactory, raw: bytes
) -> None:
    folder = tmp_path_factory.getbasetemp()
    (folder / "any_wires.csv").write_text(TEMPLATE, encoding="utf-8")
    (folder / "any_answers.csv").write_bytes(raw)
    out = folder / "any/made.json"
    (out.with_name("made_questions.csv")).unlink(missing_ok=True)
    result = run(
        "new-reference", folder / "any_wires.csv", "--answers", folder / "any_answers.csv", "-o", out, "--replace"
    )

    assert result.exit_code in (0, 2)
    assert "Traceback" not in result.stderr
