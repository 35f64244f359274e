"""What the documents show is run: the tours of the README and of the pages, the examples of schemas/README.md."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from harnessdiff.analyse.network.way import Ways
from harnessdiff.model.reference import Reference
from harnessdiff.pipeline import Case, assess
from harnessdiff.read.json_text import parse_document
from harnessdiff.read.reference import read_reference, reference_of
from harnessdiff.read.schema import faults
from harnessdiff.read.survey import read_survey, survey_of
from harnessdiff.report.solved import conditions_of, solved
from harnessdiff.resolve.visits import standing

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
EXAMPLES = dict(
    re.findall(r"```json (\w+)\n(.*?)```", (ROOT / "schemas" / "README.md").read_text(encoding="utf-8"), re.DOTALL)
)


POSIX = pytest.mark.skipif(sys.platform == "win32", reason="the tours are written for a POSIX shell")


def toured(block: str, folder: Path) -> str:
    """What a block of commands prints, run as it is written."""
    path = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    finished = subprocess.run(
        ["bash", "-e", "-c", block], cwd=folder, env={**os.environ, "PATH": path}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    assert finished.returncode == 0, f"{block}\n{finished.stderr}"
    return finished.stdout


@POSIX
def test_every_command_of_the_tours_runs_as_written(tmp_path: Path) -> None:
    blocks = re.findall(r"```sh tour\n(.*?)```", README, re.DOTALL)

    assert len(blocks) == 11
    for block in blocks:
        toured(block, tmp_path)
    assert (tmp_path / "sheets" / "sheets.pdf").exists()


@POSIX
def test_page_of_the_first_fragment_runs_and_prints_as_written(tmp_path: Path) -> None:
    page = (ROOT / "docs" / "first-fragment.md").read_text(encoding="utf-8")
    steps = re.findall(r"```sh tour\n(.*?)```\n\n```text\n(.*?)```", page, re.DOTALL)

    assert len(steps) == page.count("```sh tour") == 5
    for block, printed in steps:
        assert toured(block, tmp_path) == printed


def test_five_lines_of_python_run_as_written(tmp_path: Path) -> None:
    (code,) = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    for name in ("reference", "survey"):
        (tmp_path / f"{name}.json").write_text(EXAMPLES[name], encoding="utf-8")

    finished = subprocess.run([sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=False)

    assert finished.stderr == ""
    assert finished.stdout.split()[1:3] == ["tap", "Serious"]
    assert (tmp_path / "overview.svg").read_text(encoding="utf-8").startswith("<svg")


def van() -> Reference:
    return read_reference(ROOT / "reference_harnesses" / "light_van" / "light_van.json")


def case_of(survey: str) -> Case:
    reference = reference_of(parse_document(EXAMPLES["reference"].encode(), "reference"))
    return assess(reference, survey_of(parse_document(survey.encode(), "survey"), reference))


def test_example_of_the_survey_gives_the_finding_it_is_explained_with() -> None:
    (finding,) = case_of(EXAMPLES["survey"]).findings.findings

    assert (finding.kind, finding.modification.elements, finding.rating.worst) == ("tap", ("W3",), "Serious")


def test_shorthand_of_the_example_says_the_same_as_its_nouns() -> None:
    survey = json.loads(EXAMPLES["survey"]) | {"observations": [json.loads(EXAMPLES["observation"])], "readings": []}

    nouns, shorthand = case_of(EXAMPLES["survey"]), case_of(json.dumps(survey))

    assert [one.id for one in nouns.findings.findings] == [one.id for one in shorthand.findings.findings]
    assert weighed(nouns) == weighed(shorthand)


def weighed(case: Case) -> list[tuple[object, ...]]:
    """Levels, and what counts towards them, whatever things are called."""
    rating = case.findings.findings[0].rating
    counted = [
        (one.code, one.level, [(part.code, part.counts) for part in one.contributions]) for one in rating.mechanisms
    ]
    return [(rating.best, rating.worst), *counted]


def test_example_of_a_finding_is_valid_by_its_schema() -> None:
    finding = json.loads(EXAMPLES["finding"])
    document = {
        "format": "harnessdiff findings", "version": "1.1", "program": "harnessdiff", "vehicle": {},
        "inputs": {"reference": {"id": "small", "title": "one tail lamp"}, "survey": {}},
        "visits": [{"id": "V1", "when": "2026-03-14"}],
        "summary": {"acceptable": 0, "Low": 0, "Medium": 0, "Serious": 1, "High": 0},
        "findings": [finding], "installs": [], "edits": [{"edit": "added"}, {"edit": "added"}],
        "coverage": {"zones": [], "circuits": [], "elements_seen": 0, "elements": 0},
        "not_resolved": [], "recorded": [], "remarks": [],
    }  # fmt: skip

    assert faults("findings", document) == []


@pytest.mark.parametrize("name", re.findall(r"\]\(([^)#:]+?)(?:#[^)]*)?\)", README))
def test_every_link_of_the_readme_leads_somewhere(name: str) -> None:
    assert (ROOT / name).exists()


BAD_FILES = re.findall(
    r"```json (\w+\.json)\n(.*?)```\n\n```text\n(.*?)```",
    (ROOT / "docs" / "bad-files.md").read_text(encoding="utf-8"),
    re.DOTALL,
)


@pytest.mark.parametrize(("name", "content", "printed"), BAD_FILES, ids=[one[0] for one in BAD_FILES])
def test_what_the_page_of_bad_files_shows_is_printed(tmp_path: Path, name: str, content: str, printed: str) -> None:
    (tmp_path / name).write_text(content, encoding="utf-8")
    command = [sys.executable, "-m", "harnessdiff", "check", name, "--reference", "light_van"]
    finished = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)

    assert finished.stderr == printed
    assert finished.stdout == ""
    assert finished.returncode == 2


def test_there_are_five_bad_files() -> None:
    assert len(BAD_FILES) == 5


@POSIX
def test_page_of_consequences_can_be_followed_by_hand(tmp_path: Path) -> None:
    page = (ROOT / "docs" / "consequences.md").read_text(encoding="utf-8")
    written = {name: float(ohm) for name, ohm in re.findall(r"^\| (\S+) \|[^|]*\| ([\d.]+) \|$", page, re.MULTILINE)}
    survey = read_survey(ROOT / "demo" / "light_van_inspector" / "survey.json", van())
    case = assess(van(), survey, electrical=False)
    both = solved(
        case.reference, conditions_of(case.reference, survey), ("driving_day",), case.as_found, standing(survey)
    )
    assert both.after is not None
    settled = both.after["driving_day"]

    ways = Ways(settled)
    steps = [*ways.feed("M5:+"), *ways.back("M5:31")]
    ohm: dict[str, float] = {}
    for step in steps[next(n for n, one in enumerate(steps) if one.from_node == "F8:in") :]:
        if step.branch.value.ohm is not None:
            ohm[step.branch.element] = ohm.get(step.branch.element, 0.0) + step.branch.value.ohm.nominal * 1000
        if step.to_node == "GND6:1":
            break
    (pump,) = (load for load in settled.network.loads if load.element == "M5")
    ohm["M5"] = 2400.0
    assert written == pytest.approx(ohm, abs=0.006)

    together = sum(written.values()) / 1000
    across = (settled.voltage_V("F8:in") or 0.0) - (settled.voltage_V("GND6:1") or 0.0)
    assert f"Together {together * 1000:.1f} mΩ" in page
    assert f"**{across / together:.2f} A**" in page
    assert across / together == pytest.approx(settled.current_A(pump), rel=1e-3)
    assert f"**{settled.across_V(pump):.1f} V**" in page

    for block in re.findall(r"```sh tour\n(.*?)```", page, re.DOTALL):
        assert "fuel pump in the tank" in toured(block, tmp_path)
