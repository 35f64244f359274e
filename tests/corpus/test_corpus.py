"""Old files are read, and mean what they meant.

A folder holds documents of one version of the format, as they were written then, and ``meaning.json``:
what was read of them then. Neither is edited ever again; a version that is new gets a folder of its own.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from harnessdiff.model.harness import Harness
from harnessdiff.pipeline import assess
from harnessdiff.read.check import check_file
from harnessdiff.read.document import MAJOR, MINORS
from harnessdiff.read.json_text import load_document
from harnessdiff.read.older import brought_up
from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import read_survey

HERE = Path(__file__).parent
VERSIONS = sorted(path.name for path in HERE.iterdir() if path.is_dir() and path.name[0].isdigit())
FILES = sorted(path for version in VERSIONS for path in (HERE / version).glob("*_*.json"))
SURVEYS = [path for path in FILES if path.stem.startswith("survey_")]


def name_of(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


def meaning_of(harness: Harness) -> dict[str, Any]:
    """What a harness means, in words that no later version of the program can take another way."""
    return {
        "devices": {device.id: device.kind for device in harness.devices()},
        "conductors": {
            one.id: [one.colour.letters if one.colour else None, one.size_mm2.low, one.size_mm2.high, one.length_m.low]
            for one in harness.conductors()
        },
        "incidences": sorted([one.subject, one.role, one.target] for one in harness.incidences),
    }


def read_meaning(path: Path) -> dict[str, Any]:
    """Meaning of a reference, or of what a survey makes of its reference."""
    if path.stem.startswith("reference_"):
        return meaning_of(read_reference(path).harness)
    reference = read_reference(path.with_name(f"reference_{path.stem.removeprefix('survey_')}.json"))
    return meaning_of(assess(reference, read_survey(path, reference), electrical=False).as_found)


@pytest.mark.parametrize("path", FILES, ids=name_of)
def test_an_old_file_is_read_without_a_word(path: Path) -> None:
    found = check_file(path)

    assert (found.format, found.warnings) == (path.stem.split("_", 1)[0], ())


@pytest.mark.parametrize(
    "path", [path for path in FILES if path.stem.startswith(("reference_", "survey_"))], ids=name_of
)
def test_an_old_file_means_what_it_meant(path: Path) -> None:
    meant = json.loads(path.with_name("meaning.json").read_text(encoding="utf-8"))

    assert read_meaning(path) == meant[path.stem]


def test_every_kind_of_document_is_there_as_it_is_written_now() -> None:
    there = {(path.stem.split("_", 1)[0], path.parent.name) for path in FILES}

    assert {(kind, f"{MAJOR}.{minor}") for kind, minor in MINORS.items()} <= there


def test_findings_of_version_1_0_keep_their_levels_and_what_they_rest_on() -> None:
    """Since 1.1 what contributes sums to the index; what was told as a reason is kept."""
    old = json.loads((HERE / "1.0" / "findings_m05.json").read_text(encoding="utf-8"))
    new = brought_up(load_document(HERE / "1.0" / "findings_m05.json")).data
    for before, after in zip(old["findings"], new["findings"], strict=True):
        for was, now in zip(before["mechanisms"], after["mechanisms"], strict=True):
            assert {
                name: was[name] for name in ("code", "severity", "probability", "level", "index")
            }.items() <= now.items()
            assert sum(one["counts"] for one in now["contributions"]) == was["index"]
            told = [one["code"] for one in (*now["contributions"], *now.get("also", ()))]
            assert sorted(told) == sorted(one["code"] for one in was["reasons"])


def test_every_survey_has_its_reference_beside_it() -> None:
    assert SURVEYS
    for path in SURVEYS:
        assert path.with_name(f"reference_{path.stem.removeprefix('survey_')}.json").exists()
