"""What readings do to levels: one that cannot be is a finding, and none at rest clears anything."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.model.rating import ACCEPTABLE, level_rank
from tests.analyse.measured import LOOSE_REPAIR, amps, vehicle, volts
from tests.support import Json, case_from, found, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.consequence import Consequence
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case


@cache
def small() -> Reference:
    """The small vehicle."""
    return reference_from(vehicle())


def case(*readings: Json) -> Case:
    """The small vehicle with a poor repair, and readings."""
    return case_from(small(), LOOSE_REPAIR, readings=[{"id": "M1"} | one for one in readings], electrical=True)


@cache
def unread() -> Finding:
    """The repair with nothing read on it."""
    return found(case(), "repair")


def drop(value: Any, **more: Any) -> Json:
    return volts("S1:2", "E1:58", value, instrument="meter, 2 V range", **more)


def said_by(finding: Finding) -> list[Consequence]:
    """What a finding says of the reading."""
    return [one for one in finding.consequences if one.code == "reading" and one.subject == "M1"]


BEYOND: list[Json] = [
    volts("E1:58", "BAT1:-", 24.0),
    volts("R1:30", "BAT1:-", 0.2, "asleep"),
    volts("BAT1:-", "E1:58", 12.1),
    amps("W2", 60.0, instrument="clamp, 400 A range"),
    amps("W5", 9.0, "asleep"),
    volts("E1:58", "BAT1:-", {"min": 0.0, "max": 0.01}),
]


@pytest.mark.parametrize("reading", BEYOND)
def test_reading_beyond_all_that_may_be_is_a_conflict_and_never_an_empty_range(reading: Json) -> None:
    """It stands as a finding that nobody can rate, or in the finding it concerns; ranges keep their ends in order."""
    whole = case(reading)
    concerned = [one for one in whole.findings.findings if said_by(one) or one.modification.root == "M1"]
    everywhere = (*whole.findings.of_the_whole, *(said for one in concerned for said in said_by(one)))
    said = next(one for one in everywhere if one.code == "reading")

    assert concerned
    assert said.get("agrees") == "disagrees"
    assert said.before is not None
    assert said.after is not None
    assert said.before.low <= said.before.high
    assert said.after.low > said.before.high or said.after.high < said.before.low
    for one in concerned:
        if one.kind == "reading":
            assert (one.rating.best, one.rating.worst, one.rating.rated) == (ACCEPTABLE, "High", False)
    assert all(level_rank(one.rating.best) <= level_rank(one.rating.worst) for one in whole.findings.findings)


def test_some_such_reading_is_a_finding_of_its_own() -> None:
    assert any(one.kind == "reading" for reading in BEYOND for one in case(reading).findings.findings)


AT_REST: list[Json] = [
    drop(0.0, condition="asleep", loaded="yes"),
    drop(0.0, condition="asleep", loaded="no"),
    drop(0.03, loaded="no"),
    drop(0.03, loaded="unknown"),
    {"between": [{"terminal": "S1:2"}, {"terminal": "E1:58"}], "resistance_ohm": 0.01, "condition": "asleep",
     "instrument": "meter, 200 ohm range", "manipulations": [{"kind": "fuse_out", "element": "F1"}]},
    {"between": [{"terminal": "S1:2"}, {"terminal": "E1:58"}], "word": "continuity", "condition": "asleep"},
]  # fmt: skip


@pytest.mark.parametrize("reading", AT_REST)
def test_reading_at_rest_moves_no_level(reading: Json) -> None:
    """Three strands pass a continuity test."""
    repair = found(case(reading), "repair")

    assert (repair.rating.best, repair.rating.worst) == (unread().rating.best, unread().rating.worst)
    assert repair.rating.mechanisms == unread().rating.mechanisms


@pytest.mark.parametrize("value", [0.02, 0.3, 2.0, 9.0])
def test_reading_under_load_never_widens(value: float) -> None:
    repair = found(case(drop(value, loaded="yes")), "repair")

    assert level_rank(repair.rating.best) >= level_rank(unread().rating.best)
    assert level_rank(repair.rating.worst) <= level_rank(unread().rating.worst)
