"""``demo``: the whole job on the shipped example."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.cli.outcome import contents, told
from tests.drawing import demo_case

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run


SMALL = "motorcycle_technician"
"""The shipped survey that is soonest gone through."""


def test_demo_writes_findings_and_every_sheet(run: Run, tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = run("demo", "-o", out, "-f", "svg", "-f", "pdf")
    sheets = [f"{sheet.name}.svg" for sheet in demo_case().sheets]

    assert result.exit_code == 0
    assert sorted(contents(out)) == sorted(["findings.json", "findings.txt", "sheets.pdf", *sheets])
    assert result.stdout.startswith((out / "findings.txt").read_text(encoding="utf-8"))
    assert result.stderr == ""


def test_demo_is_compare_on_the_shipped_files(
    run: Run, tmp_path: Path, van_path: Path, demo_path: Path
) -> None:  # fmt: skip
    run("demo", "-o", tmp_path / "demo")
    run("compare", van_path, demo_path, "-o", tmp_path / "compare")

    assert contents(tmp_path / "demo") == contents(tmp_path / "compare")
    assert len(json.loads((tmp_path / "demo/findings.json").read_bytes())["findings"]) > 30


def test_demo_writes_beside_where_it_is_called_without_asking(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    run("demo", "--case", SMALL)

    assert [path.name for path in tmp_path.iterdir()] == ["harnessdiff-demo"]


def test_folder_that_cannot_be_is_told(run: Run, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("old")

    assert (
        told(run("demo", "--case", SMALL, "-o", tmp_path / "file"))
        == f"cannot write into {tmp_path / 'file'}: it is a file; name a folder"
    )


def test_findings_are_written_though_the_layout_engine_fails(run: Run, tmp_path: Path, broken_engine: str) -> None:
    result = run("demo", "--case", SMALL, "-o", tmp_path / "out")

    assert told(result) == broken_engine
    assert sorted(contents(tmp_path / "out")) == ["findings.json", "findings.txt"]
