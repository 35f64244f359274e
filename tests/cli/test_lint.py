"""``lint``: what a professional objects to, with its place, for people and for machines."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.resources import shipped_references
from tests.analyse.lint.sound import Change, changed, gains, gone, loses, plain_wire
from tests.cli.outcome import told
from tests.support import between, filament

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from tests.cli.conftest import Run

    Write = Callable[..., Path]

NO_GROUND = gone("W16")
NO_SIZE = loses("W13", "size_mm2")


@pytest.fixture
def write(tmp_path: Path) -> Write:
    """Write the sound reference with changes."""

    def writing(*changes: Change) -> Path:
        path = tmp_path / "reference.json"
        path.write_text(json.dumps(changed(*changes), indent=2, ensure_ascii=False), encoding="utf-8")
        return path

    return writing


def lamps(number: int) -> Change:
    """A change: so many lamps without ground."""
    devices = [between(f"L{one}", "lamp", [filament("1", "2", 1)]) for one in range(number)]
    wires = [plain_wire(f"LW{one}", "SP1", f"L{one}:1") for one in range(number)]
    return lambda data: [gains("devices", *devices)(data), gains("wires", *wires)(data)]


def line_of(path: Path, words: str) -> int:
    """The line above the one that holds these words: where the entry begins."""
    (found,) = (n for n, line in enumerate(path.read_text(encoding="utf-8").split("\n")) if words in line)
    return found


def rows(result: Any) -> list[dict[str, Any]]:
    found = json.loads(result.stdout)
    assert isinstance(found, list)
    return found


def test_a_sound_reference_ends_with_0_and_one_line(run: Run, write: Write) -> None:
    result = run("lint", write())

    assert result.exit_code == 0
    assert result.stdout == "sound: 0 errors, 0 notes, 0 gaps; 0 waived as built\n"
    assert result.stderr == ""


@pytest.mark.parametrize("arguments", [[], ["--json"], ["--all"]])
def test_an_error_ends_with_1_and_a_gap_with_0(run: Run, write: Write, arguments: list[str]) -> None:
    assert run("lint", write(NO_GROUND), *arguments).exit_code == 1
    assert run("lint", write(NO_SIZE), *arguments).exit_code == 0


def test_an_error_that_is_waived_ends_with_0(run: Run, write: Write) -> None:
    waiver = gains("as_built", {"element": "E2", "because": "grounded by the bracket"})
    path = write(NO_GROUND, waiver)
    result = run("lint", path)

    assert result.exit_code == 0
    assert result.stdout == "sound: 0 errors, 0 notes, 0 gaps; 1 waived as built\n"
    assert "grounded by the bracket" in run("lint", path, "--all").stdout


def test_a_file_that_is_not_there_is_trouble(run: Run, tmp_path: Path) -> None:
    assert told(run("lint", tmp_path / "nothing.json")) == f"{tmp_path / 'nothing.json'}: there is no such file"


def test_a_reference_that_cannot_be_used_is_trouble(run: Run, write: Write) -> None:
    path = write(gains("wires", plain_wire("W99", "SP1", "NO:1")))
    said = told(run("lint", path, "--json"))

    assert "there is no terminal or splice NO:1" in said


def test_line_and_column_are_those_of_the_entry(run: Run, write: Write) -> None:
    path = write(NO_SIZE)
    line = line_of(path, '"id": "W13"')

    assert f"  {line}:5: W13 RD/WH: size not known\n" in run("lint", path).stdout


def test_rows_point_to_the_entry(run: Run, write: Write) -> None:
    path = write(NO_SIZE)
    (row,) = rows(run("lint", path, "--json"))

    assert (row["pointer"], row["line"], row["column"]) == ("/wires/12", line_of(path, '"id": "W13"'), 5)
    assert changed()["wires"][12]["id"] == row["element"] == "W13"


def test_what_concerns_the_whole_reference_has_no_place(run: Run, write: Write) -> None:
    path = write(gone("c0"))
    (row,) = rows(run("lint", path, "--json"))

    assert (row["element"], row["pointer"], row["line"]) == ("sound", None, None)
    assert "\n  sound: no condition with key out and engine stopped\n" in run("lint", path).stdout


def test_more_than_eight_of_a_kind_are_shortened_for_people_alone(run: Run, write: Write) -> None:
    path = write(lamps(11))

    assert "  and 3 more like it (--all lists them)\n" in run("lint", path).stdout
    assert "more like it" not in run("lint", path, "--all").stdout
    assert len(rows(run("lint", path, "--json"))) == 11


def test_rows_hold_what_is_waived_too(run: Run, write: Write) -> None:
    waiver = gains("as_built", {"element": "W13", "because": "cut away"})

    assert [row["waived"] for row in rows(run("lint", write(NO_SIZE, waiver), "--json"))] == ["cut away"]


def test_text_and_rows_count_the_same(run: Run, write: Write) -> None:
    path = write(NO_GROUND, NO_SIZE, lamps(3))
    levels = [row["level"] for row in rows(run("lint", path, "--json"))]

    assert run("lint", path).stdout.startswith(
        f"sound: {levels.count('error')} errors, 0 notes, {levels.count('gap')} gap;"
    )


@pytest.mark.parametrize("name", sorted(shipped_references()))
def test_a_shipped_reference_is_linted_by_its_name(run: Run, name: str) -> None:
    result = run("lint", name)

    assert result.exit_code == 0
    assert result.stdout.startswith(f"{name}: 0 errors, 0 notes, 0 gaps;")


def test_linting_writes_nothing(run: Run, write: Write, tmp_path: Path) -> None:
    path = write(NO_GROUND)
    before = path.read_bytes()
    run("lint", path, "--all")

    assert [one.name for one in tmp_path.iterdir()] == [path.name]
    assert path.read_bytes() == before


@pytest.mark.parametrize("arguments", [["--all"], ["--json"]])
def test_the_same_is_said_whatever_the_hash_seed(write: Write, arguments: list[str]) -> None:
    path = write(NO_GROUND, NO_SIZE, lamps(9), gone("W7", "W10"))
    said = {
        subprocess.run(
            [sys.executable, "-m", "harnessdiff", "lint", str(path), *arguments],
            env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, check=False,
        ).stdout
        for seed in ("0", "1", "4711")
    }  # fmt: skip

    assert len(said) == 1
    assert b"no_current" in said.pop()
