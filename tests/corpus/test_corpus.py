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
from harnessdiff.read.document import MAJOR, MINOR
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


@pytest.mark.parametrize("path", [path for path in FILES if not path.stem.startswith("findings_")], ids=name_of)
def test_an_old_file_means_what_it_meant(path: Path) -> None:
    meant = json.loads(path.with_name("meaning.json").read_text(encoding="utf-8"))

    assert read_meaning(path) == meant[path.stem]


def test_this_version_has_a_folder_with_every_kind_of_document() -> None:
    kinds = {path.stem.split("_", 1)[0] for path in FILES if path.parent.name == f"{MAJOR}.{MINOR}"}

    assert kinds == {"reference", "survey", "findings"}


def test_every_survey_has_its_reference_beside_it() -> None:
    assert SURVEYS
    for path in SURVEYS:
        assert path.with_name(f"reference_{path.stem.removeprefix('survey_')}.json").exists()
