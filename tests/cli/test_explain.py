"""``explain``: the reasons of a findings document, from a file or the folder that holds it."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from harnessdiff.report.findings_json import findings_document
from tests.cli.outcome import TAP, told
from tests.support import bench_data, case_from, reference_from

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run


@pytest.fixture
def findings(tmp_path: Path) -> Path:
    """A findings document of the bench."""
    path = tmp_path / "out/findings.json"
    path.parent.mkdir()
    path.write_text(json.dumps(findings_document(case_from(reference_from(bench_data()), TAP).findings)))
    return path


def test_a_folder_is_as_good_as_the_file_in_it(run: Run, findings: Path) -> None:
    assert run("explain", findings, "1").stdout == run("explain", findings.parent, "1").stdout
    assert run("explain", findings, "1").stdout.startswith("Finding 1: ")


def test_without_a_finding_all_are_listed(run: Run, findings: Path) -> None:
    result = run("explain", findings)

    assert result.exit_code == 0
    assert result.stdout.startswith("  1  ")


def test_an_unknown_finding_is_one_clear_message(run: Run, findings: Path) -> None:
    assert told(run("explain", findings, "7")) == (
        f"{findings}: there is no finding 7; the nearest is 1, and they run from 1 to 1"
    )


def test_a_folder_without_findings_is_one_clear_message(run: Run, tmp_path: Path) -> None:
    assert told(run("explain", tmp_path)) == f"{tmp_path / 'findings.json'}: there is no such file"


def test_what_is_no_findings_document_is_refused(run: Run, bench_file: Path) -> None:
    assert told(run("explain", bench_file)) == f"{bench_file}: is a reference, where a findings is wanted"


def test_a_document_that_its_schema_refuses_is_refused(run: Run, findings: Path) -> None:
    data = json.loads(findings.read_text())
    data["findings"][0]["worst"] = "Hihg"
    findings.write_text(json.dumps(data))
    message = told(run("explain", findings, "1"))

    assert "/findings/0/worst" in message
    assert message.endswith('did you mean "High"?')
