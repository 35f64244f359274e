"""``draw``: which sheets, in which formats, where to."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import pytest

from harnessdiff.cli.main import main
from tests.cli.outcome import TAP, contents, told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run, Survey

FORMATS = {
    "svg": ["sheet-01-overview.svg", "sheet-02.svg"],
    "png": ["sheet-01-overview.png", "sheet-02.png"],
    "pdf": ["sheets.pdf"],
    "dot": ["sheet-02.dot"],
}


@pytest.mark.parametrize("format_", sorted(FORMATS))
def test_sheets_are_written_in_the_format_asked_for(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path, format_: str
) -> None:
    result = run("draw", bench_file, survey(TAP), "-o", tmp_path / "out", "-f", format_)

    assert result.exit_code == 0
    assert sorted(contents(tmp_path / "out")) == FORMATS[format_]
    assert result.stdout == "".join(f"written: {tmp_path / 'out' / name}\n" for name in FORMATS[format_])
    assert result.stderr == ""


def test_several_formats_may_be_asked_for_at_once(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    run("draw", bench_file, survey(TAP), "-o", tmp_path / "out", "-f", "svg", "-f", "dot", "-f", "svg")

    assert sorted(contents(tmp_path / "out")) == sorted(FORMATS["svg"] + FORMATS["dot"])


def test_svg_is_what_comes_without_asking(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    run("draw", bench_file, survey(TAP), "-o", tmp_path / "out")

    assert sorted(contents(tmp_path / "out")) == FORMATS["svg"]


def test_sheets_are_those_that_compare_writes(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    run("draw", bench_file, survey(TAP), "-o", tmp_path / "draw")
    run("compare", bench_file, survey(TAP), "-o", tmp_path / "compare")
    drawn, compared = contents(tmp_path / "draw"), contents(tmp_path / "compare")

    assert drawn == {name: data for name, data in compared.items() if name.endswith(".svg")}


def test_sheets_of_the_demo_tell_the_levels_that_compare_tells(run: Run, demo_path: Path, tmp_path: Path) -> None:
    """What the network says moves levels and with them the numbers; a sheet must not tell others than the list."""
    run("draw", "light_van", demo_path, "-o", tmp_path / "draw", "--sheet", "sheet-01-overview")
    run("compare", "light_van", demo_path, "-o", tmp_path / "compare")
    drawn, compared = contents(tmp_path / "draw"), contents(tmp_path / "compare")

    assert drawn.items() <= compared.items()
    assert drawn


def test_json_names_every_sheet_with_its_findings_and_every_file(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    printed = json.loads(run("draw", bench_file, survey(TAP), "-o", out, "-f", "svg", "-f", "pdf", "--json").stdout)

    assert [(one["name"], one["findings"]) for one in printed["sheets"]] == [
        ("sheet-01-overview", []),
        ("sheet-02", [1]),
    ]
    assert sorted(printed["files"]) == sorted(str(out / name) for name in contents(out))


def test_one_sheet_may_be_asked_for_by_its_name(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    run("draw", bench_file, survey(TAP), "-o", tmp_path / "out", "--sheet", "sheet-02", "-f", "svg", "-f", "pdf")

    assert sorted(contents(tmp_path / "out")) == ["sheet-02.svg", "sheets.pdf"]


def test_sheet_that_is_not_there_is_told_with_those_that_are(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path
) -> None:
    said = told(run("draw", bench_file, survey(TAP), "-o", tmp_path / "out", "--sheet", "sheet-99"))

    assert said == "--sheet: there is no sheet sheet-99; there are: sheet-01-overview, sheet-02"
    assert not (tmp_path / "out").exists()


def test_sheets_of_an_earlier_run_go_where_the_same_format_is_drawn_and_nothing_else_does(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    for name in ("sheet-07.png", "sheet-08.svg", "sheet-plan.svg", "notes.txt"):
        (out / name).write_text("old")
    (out / "sheet-07.svg").write_text("<svg>made with harnessdiff 0.1.0</svg>")
    one_sheet = run("draw", bench_file, survey(TAP), "-o", out, "--sheet", "sheet-02")
    assert one_sheet.stderr == ""
    assert (out / "sheet-07.svg").exists()

    result = run("draw", bench_file, survey(TAP), "-o", out)

    assert result.stderr.splitlines() == [
        f"removed, of an earlier run: {out / 'sheet-07.svg'}",
        f"left alone, but not of this run: {out / 'sheet-08.svg'}",
    ]
    assert [name for name, data in contents(out).items() if data == b"old"] == [
        "notes.txt", "sheet-07.png", "sheet-08.svg", "sheet-plan.svg",
    ]  # fmt: skip


def test_names_in_the_help_are_names_of_sheets(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    (option,) = (one for one in main.commands["draw"].params if one.name == "wanted")
    found = re.search(r"such as ([\w-]+) or ([\w-]+)", str(getattr(option, "help", "")))

    assert found is not None
    words = [word for name in found.groups() for word in ("--sheet", name)]
    assert run("draw", bench_file, survey(TAP), "-o", tmp_path / "out", *words).exit_code == 0


def test_asking_for_what_gives_no_file_is_told(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    words = ["-o", tmp_path / "out", "--sheet", "sheet-01-overview", "-f", "dot"]

    assert run("draw", bench_file, survey(TAP), *words).exit_code == 2


def test_visit_may_be_named(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    visits = [{"id": "V1", "when": "2026-03-14"}, {"id": "V2", "when": "2026-04-02"}]
    path = survey(TAP | {"visit": "V2"}, visits=visits)
    for visit in ("V1", "V2"):
        run("draw", bench_file, path, "-o", tmp_path / visit, "--as-of", visit)

    assert sorted(contents(tmp_path / "V1")) == ["sheet-01-overview.svg"]
    assert sorted(contents(tmp_path / "V2")) == FORMATS["svg"]


def test_folder_that_cannot_be_is_told(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("old")
    said = told(run("draw", bench_file, survey(TAP), "-o", tmp_path / "file"))

    assert said == f"cannot write into {tmp_path / 'file'}: it is a file; name a folder"
    assert (tmp_path / "file").read_text() == "old"


def test_layout_engine_that_fails_is_told_and_nothing_is_written(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path, broken_engine: str
) -> None:
    result = run("draw", bench_file, survey(TAP), "-o", tmp_path / "out")

    assert told(result) == broken_engine
    assert not (tmp_path / "out").exists()
