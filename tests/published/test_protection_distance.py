"""How far from the source protection may sit: 33 CFR 183.455(b)(1), through a whole comparison."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from harnessdiff.pipeline import compare_files
from harnessdiff.tables.loader import distance_m, rows
from tests.support import Json, least_reference, survey_data

# 33 CFR 183.455(b)(1): within 7 inches of the source, along the conductor; confirmed in a public copy
# of the regulation. It is for boats, here by analogy. 7 in x 25.4 mm (exact since 1959, from memory) = 177.8 mm.
SEVEN_INCHES_M = 7 * 25.4 / 1000


def facts_of_a_feed(folder: Path, **inline: float) -> set[str]:
    """Facts about a 2.5 mm² feed off the battery's plus with a 15 A fuse in it, read from files."""
    reference: Json = least_reference()
    tap = {
        "kind": "tap",
        "id": "t1",
        "on": {"terminal": "BAT1:+"},
        "joint": {"type": "ring_terminal", "cover": "sleeve"},
        "lead": {"size_mm2": 2.5, "length_m": 3, "inline": [{"kind": "fuse", "rating_A": 15, **inline}]},
        "to": {"device": {"kind": "fan"}, "pin": "+"},
    }
    paths = folder / "reference.json", folder / "survey.json"
    for path, data in zip(paths, (reference, survey_data(tap)), strict=True):
        path.write_text(json.dumps(data), encoding="utf-8")
    case = compare_files(*paths)
    return {fact.code for finding in case.findings.findings for fact in finding.modification.facts}


def test_the_distance_is_the_regulations_and_says_so() -> None:
    (row,) = (row for row in rows("distances") if row["name"] == "protection_from_source")

    assert distance_m("protection_from_source") == pytest.approx(SEVEN_INCHES_M, rel=1e-12)
    assert "33 CFR 183.455(b)(1)" in row["source"]
    assert "by analogy" in row["source"]
    assert row["status"] == "confirmed"


@pytest.mark.parametrize("distance_m", [0.200, 0.1779, 2.9])
def test_a_fuse_farther_than_seven_inches_is_a_far_end_fuse(tmp_path: Path, distance_m: float) -> None:
    facts = facts_of_a_feed(tmp_path, distance_m=distance_m)

    assert facts & {"far_end_fuse", "unprotected"} == {"far_end_fuse"}


@pytest.mark.parametrize("distance_m", [0.150, 0.1778, 0])
def test_a_fuse_within_seven_inches_is_not(tmp_path: Path, distance_m: float) -> None:
    facts = facts_of_a_feed(tmp_path, distance_m=distance_m)

    assert facts & {"far_end_fuse", "unprotected"} == set()
    assert "permanent_supply" in facts


def test_a_fuse_whose_place_nobody_noted_is_not_taken_to_be_near(tmp_path: Path) -> None:
    assert "far_end_fuse" in facts_of_a_feed(tmp_path)
