"""The way of the current on whole references: it hangs together, and polarity does not change it."""

from __future__ import annotations

from pathlib import Path

import pytest

from harnessdiff.cli.options import load_reference
from harnessdiff.pipeline import assess
from harnessdiff.read.survey import read_survey
from harnessdiff.report.current_path import path_of, volt_words
from harnessdiff.report.path_rows import path_rows, path_text
from harnessdiff.report.solved import Solved, solved
from harnessdiff.report.wrapping import WIDTH

MOST_PLACE = 16
"""A name longer than a line leaves the place behind it at least so much."""


def solved_reference(name: str, *conditions: str) -> Solved:
    reference = load_reference(name)
    return solved(reference, reference.conditions, conditions)


@pytest.mark.parametrize("device", ["E1", "E5", "H1", "M1", "T1"])
def test_battery_the_other_way_round_turns_volts_and_nothing_else(device: str) -> None:
    usual, turned = (
        path_rows(both, path_of(both, device, None), device, None)
        for both in (solved_reference("period_car", "driving_night"),
                     solved_reference("period_car_positive_ground", "driving_night"))
    )  # fmt: skip

    assert [one["title"] for one in usual["sections"]] == [one["title"] for one in turned["sections"]]
    for here, there in zip(usual["sections"], turned["sections"], strict=True):
        assert [row["element"] for row in here["rows"]] == [row["element"] for row in there["rows"]]
        for one, other in zip(here["rows"], there["rows"], strict=True):
            assert (other["to_V"] is None) == (one["to_V"] is None)
            assert one["to_V"] is None or other["to_V"] == pytest.approx(-one["to_V"], abs=0.02)
            assert other["current_A"] == pytest.approx(one["current_A"], rel=0.01, abs=0.02)


@pytest.mark.parametrize("condition", ["asleep", "driving_night", "cranking"])
def test_every_load_of_the_van_has_a_way_and_back_or_a_reason(condition: str) -> None:
    both = solved_reference("light_van", condition)
    network = both.before[condition].network
    for device in sorted({branch.element for branch in network.loads}):
        path = path_of(both, device, None)
        for section in path.sections:
            assert section.rows or section.says, (device, section.title)
            for one, other in zip(section.rows, section.rows[1:], strict=False):
                assert None in (one.to_V, other.from_V) or abs((one.to_V or 0) - (other.from_V or 0)) < 0.1, device
        lines = path_text(both, path, device, None).split("\n")
        assert max(len(line) for line in lines[4:] if not line.startswith("  >>")) <= WIDTH + MOST_PLACE


def test_nothing_has_no_sign() -> None:
    assert volt_words(-0.0004) == "0.00"
    assert volt_words(-0.006) == "-0.01"


def test_break_is_looked_for_where_the_current_used_to_go() -> None:
    # A lead of an added lamp reaches the brake lamp's wire, too, over a single open contact.
    root = Path(__file__).parent.parent.parent
    reference = load_reference("period_car")
    record = read_survey(root / "demo" / "period_car_restorer" / "survey.json", reference)
    case = assess(reference, record)
    both = solved(case.reference, case.reference.conditions, ("driving_night",), case.as_found)
    feed = path_of(both, "E5:54", None).sections[0]

    (end,) = feed.says
    assert "wire W52 GN 1 mm² is taken off S5:15" in end


def test_what_trickles_from_a_dead_place_is_not_its_way_back() -> None:
    both = solved_reference("light_van", "awake")
    back = path_of(both, "U9:58d", None).sections[1]

    assert [row.branch.element for row in back.rows if row.branch][:2] == ["U9", "W32"]
