"""``compare``: exit codes, what is printed where, and files that are whole or not there."""

from __future__ import annotations

import json
import resource
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from harnessdiff.model.rating import LEVELS
from harnessdiff.read.schema import validator
from tests.cli.outcome import TAP, contents, told
from tests.drawing import CATALOGUE, HERE
from tests.support import Json

if TYPE_CHECKING:
    from tests.cli.conftest import Run, Survey

CRIMPS = [{"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}] * 2
DEAD = {"loose": {"treatment": "taped", "live_in": []}}
# One line a level, on the bench: what each is rated is read from the findings, see below.
WORST: dict[str, Json | None] = {
    "nothing": None,
    "acceptable": {"kind": "repair", "id": "r", "wire": "W40", "joints": CRIMPS,
                   "insert": {"colour": {"base": "RD"}, "size_mm2": 0.5}},
    "Low": {"kind": "lead", "id": "l", "zone": "Z_DASH", "end_1": DEAD, "end_2": DEAD},
    "Medium": {"kind": "damage", "id": "g", "on": [{"wire": "W40"}], "damage": "chafed", "extent": "slight"},
    "Serious": {"kind": "substitution", "id": "f", "element": "F1", "fitted": {"rating_A": 15}},
    "High": {"kind": "tap", "id": "t", "on": {"wire": "W51"}, "joint": {"type": "twisted"}},
}  # fmt: skip


# -- exit codes


@pytest.mark.parametrize("worst", sorted(WORST))
def test_exit_code_says_whether_anything_differs(run: Run, bench_file: Path, survey: Survey, worst: str) -> None:
    line = WORST[worst]
    result = run("compare", bench_file, survey(*([line] if line else [])))

    assert result.exit_code == (0 if worst == "nothing" else 1)
    assert result.stderr == ""


@pytest.mark.parametrize("fail_at", LEVELS)
@pytest.mark.parametrize("worst", sorted(WORST))
def test_exit_code_with_a_level_says_whether_anything_may_be_as_bad(
    run: Run, bench_file: Path, survey: Survey, worst: str, fail_at: str
) -> None:
    line = WORST[worst]
    path = survey(*([line] if line else []))
    summary = json.loads(run("compare", bench_file, path, "--json").stdout)["summary"]
    as_bad = LEVELS[LEVELS.index(fail_at) :]

    assert [level for level, count in summary.items() if count] == ([] if worst == "nothing" else [worst])
    assert run("compare", bench_file, path, "--fail-at", fail_at).exit_code == (1 if worst in as_bad else 0)


def test_a_range_counts_by_its_worst_end(run: Run, bench_file: Path, survey: Survey) -> None:
    """A joint that nobody unwrapped may be as bad as they come: the verdict does not wait for the best."""
    path = survey({"kind": "tap", "id": "t", "zone": "Z_TAIL", "note": "could not reach it"})
    (finding,) = json.loads(run("compare", bench_file, path, "--json").stdout)["findings"]

    assert finding["best"] != finding["worst"]
    assert run("compare", bench_file, path, "--fail-at", finding["worst"]).exit_code == 1


def test_what_fits_nothing_on_the_reference_differs(run: Run, bench_file: Path, survey: Survey) -> None:
    """It makes no finding, and is not swallowed."""
    clue = {"colour": {"base": "PK", "tracer": "TQ"}}
    path = survey({"kind": "missing", "id": "m", "wire": clue})
    result = run("compare", bench_file, path)

    assert json.loads(run("compare", bench_file, path, "--json").stdout)["findings"] == []
    assert result.exit_code == 1
    assert "m: fits nothing on the reference" in result.stdout


def test_swap_of_which_one_side_fits_nothing_differs(run: Run, bench_file: Path, survey: Survey) -> None:
    sides = [{"wire": {"colour": {"base": "PK", "tracer": "TQ"}}, "end": 1}, {"wire": "W31", "end": 1}]

    assert run("compare", bench_file, survey({"kind": "swap", "id": "s", "between": sides})).exit_code == 1


# -- what is printed


def test_list_goes_to_standard_output_and_talk_to_standard_error(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    result = run("compare", bench_file, survey(TAP), "-o", out)
    written = [line.removeprefix("written: ") for line in result.stderr.splitlines()]

    assert result.stdout == (out / "findings.txt").read_text(encoding="utf-8")
    assert sorted(written) == sorted(str(path) for path in out.iterdir())
    assert written == [
        str(out / name) for name in ("findings.json", "findings.txt", "sheet-01-overview.svg", "sheet-02.svg")
    ]


@pytest.mark.parametrize("kind", [*CATALOGUE[:3], "demo"])
def test_json_is_valid_by_its_schema_and_alone_on_standard_output(
    run: Run, tmp_path: Path, van_path: Path, demo_path: Path, kind: str
) -> None:
    reference, survey = van_path, demo_path
    if kind != "demo":
        entry = json.loads((HERE / f"catalogue/{kind}.json").read_text(encoding="utf-8"))
        reference, survey = tmp_path / "reference.json", tmp_path / "survey.json"
        reference.write_text(json.dumps(entry["reference"]), encoding="utf-8")
        survey.write_text(json.dumps(entry["survey"]), encoding="utf-8")
    result = run("compare", reference, survey, "--json")
    printed = json.loads(result.stdout)

    assert result.exit_code == 1
    assert [error.message for error in validator("findings").iter_errors(printed)] == []
    assert printed["findings"]


def test_json_is_what_is_written(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    result = run("compare", bench_file, survey(TAP), "--json", "-o", tmp_path / "out")

    assert json.loads(result.stdout) == json.loads((tmp_path / "out/findings.json").read_bytes())


def test_list_can_be_printed_where_only_ascii_is_known(bench_file: Path, survey: Survey) -> None:
    finished = subprocess.run(
        [sys.executable, "-m", "harnessdiff", "compare", str(bench_file), str(survey(TAP))],
        env={"PYTHONIOENCODING": "ascii", "PATH": "/usr/bin:/bin"},
        capture_output=True,
        check=False,
    )

    assert (finished.returncode, finished.stderr) == (1, b"")
    assert b"tap on W12" in finished.stdout


# -- as of a visit


def test_survey_counts_up_to_the_visit_that_is_named(run: Run, bench_file: Path, survey: Survey) -> None:
    visits = [{"id": "V1", "when": "2026-03-14"}, {"id": "V2", "when": "2026-04-02"}]
    path = survey(TAP | {"visit": "V1"}, TAP | {"id": "t2", "on": {"wire": "W32"}, "visit": "V2"}, visits=visits)
    numbers = {
        visit: len(json.loads(run("compare", bench_file, path, "--json", "--as-of", visit).stdout)["findings"])
        for visit in ("V1", "V2")
    }

    assert numbers == {"V1": 1, "V2": 2}


def test_visit_that_is_not_there_is_told(run: Run, bench_file: Path, survey: Survey) -> None:
    said = told(run("compare", bench_file, survey(TAP), "--as-of", "V9"))

    assert said == "survey: there is no visit V9; the survey has: V1"


# -- whole or not at all


def test_old_results_are_replaced_and_other_files_left_alone(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    for name in ("findings.json", "findings.txt", "sheet-02.svg", "notes.txt"):
        (out / name).write_text("old")
    run("compare", bench_file, survey(TAP), "-o", out)

    assert [name for name, data in contents(out).items() if data == b"old"] == ["notes.txt"]
    assert [name for name in contents(out) if ".part" in name] == []


def test_sheets_of_an_earlier_run_are_not_left_beside_the_new(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path
) -> None:
    """Who carries the folder to the vehicle must not find joints on it that the list no longer has."""
    lines = [
        {"kind": "tap", "id": f"t{number}", "on": {"wire": f"W{number}"}} for number in (10, 12, 20, 22, 32, 40, 43)
    ]
    run("compare", bench_file, survey(*lines), "-o", tmp_path / "out")
    before = len(list((tmp_path / "out").glob("sheet-*.svg")))
    run("compare", bench_file, survey(TAP), "-o", tmp_path / "out")

    assert before > 2
    assert len(list((tmp_path / "out").glob("sheet-*.svg"))) == 2


@pytest.mark.parametrize("below", ["", "sub", "sub/sub"])
def test_folder_that_cannot_be_is_told_and_the_list_is_printed_all_the_same(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path, below: str
) -> None:
    file = tmp_path / "file"
    file.write_text("old")
    result = run("compare", bench_file, survey(TAP), "-o", file / below)

    assert told(result).startswith("cannot write")
    assert str(file) in told(result)
    assert "tap on W12" in result.stdout
    assert file.read_text() == "old"


def test_folders_on_the_way_are_made(run: Run, bench_file: Path, survey: Survey, tmp_path: Path) -> None:
    run("compare", bench_file, survey(TAP), "-o", tmp_path / "a/b/c")

    assert (tmp_path / "a/b/c/findings.json").is_file()


@pytest.mark.parametrize(
    ("taken", "old"),
    [("findings.json", "findings.txt"), ("findings.txt", "findings.json")],
)
def test_a_name_that_is_taken_by_a_folder_is_told_and_nothing_is_replaced(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path, taken: str, old: str
) -> None:
    out = tmp_path / "out"
    (out / taken).mkdir(parents=True)
    (out / old).write_text("old")
    before = contents(out)

    told(run("compare", bench_file, survey(TAP), "-o", out))
    assert contents(out) == before


def test_message_names_the_file_that_cannot_be_written(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path
) -> None:
    (tmp_path / "out/findings.txt").mkdir(parents=True)

    said = told(run("compare", bench_file, survey(TAP), "-o", tmp_path / "out"))
    assert said == f"cannot write {tmp_path / 'out/findings.txt'}: Is a directory"


def with_full_disk(command: list[str], most_bytes: int) -> subprocess.CompletedProcess[str]:
    """Run a command that may write no file longer than `most_bytes`."""
    return subprocess.run(
        [sys.executable, "-m", "harnessdiff", *command],
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes)),
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("there", [True, False], ids=["old results", "no folder"])
def test_full_disk_leaves_the_old_files_and_nothing_else(
    bench_file: Path, survey: Survey, tmp_path: Path, *, there: bool
) -> None:
    out = tmp_path / "out"
    if there:
        out.mkdir()
        (out / "findings.json").write_text("old")
    finished = with_full_disk(["compare", str(bench_file), str(survey(TAP)), "-o", str(out)], 1000)

    assert finished.returncode == 2
    assert finished.stderr == f"error: cannot write {out}: File too large\n"
    assert contents(out) == ({"findings.json": b"old"} if there else {})


# -- a newer version of the format


def test_what_a_newer_version_brings_is_passed_over_and_told(run: Run, bench_file: Path, survey: Survey) -> None:
    path = survey(TAP | {"brand_new": 1}, version="1.99")
    result = run("compare", bench_file, path)

    assert result.exit_code == 1
    assert "tap on W12" in result.stdout
    assert result.stderr.startswith("warning: ")
    assert "brand_new" in result.stderr


# -- a layout engine that fails


def test_findings_are_written_though_the_layout_engine_fails(
    run: Run, bench_file: Path, survey: Survey, tmp_path: Path, broken_engine: str
) -> None:
    out = tmp_path / "out"
    result = run("compare", bench_file, survey(TAP), "-o", out)

    assert told(result) == broken_engine
    assert "tap on W12" in result.stdout
    assert sorted(contents(out)) == ["findings.json", "findings.txt"]
    assert json.loads((out / "findings.json").read_bytes())["findings"]


def test_list_alone_needs_no_layout_engine(
    run: Run, bench_file: Path, survey: Survey, broken_engine: str
) -> None:  # fmt: skip
    assert broken_engine
    assert run("compare", bench_file, survey(TAP)).exit_code == 1
