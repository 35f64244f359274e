"""The rating of every kind beside what the trade does about it, decided by hand before the program rated it."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from harnessdiff.model.rating import ACTIONS, level_rank
from harnessdiff.read.policy import default_policy
from tests.catalogue.test_catalogue import KINDS, assessed

TEXT = Path(__file__).with_name("hazards.csv").read_text(encoding="utf-8")
HAZARDS = {row["kind"]: row for row in csv.DictReader(TEXT.splitlines())}


def actions(kind: str) -> tuple[int, int]:
    """What the program says is done about the gravest rated finding, at best and at worst."""
    rated = [one.rating for one in assessed(kind, "survey").findings.findings if one.rating.rated]
    policy = default_policy()
    levels = (max((one.best for one in rated), key=level_rank), max((one.worst for one in rated), key=level_rank))
    best, worst = (max(ACTIONS.index(policy.action(level)), ACTIONS.index("note")) for level in levels)
    return best, worst


def test_every_kind_has_a_row() -> None:
    assert sorted(HAZARDS) == KINDS


@pytest.mark.parametrize("kind", KINDS)
def test_action_agrees_with_the_trade_or_the_table_says_why_not(kind: str) -> None:
    """Common practice: a range of the program must meet the range of the trade."""
    row, (best, worst) = HAZARDS[kind], actions(kind)
    least, most = ACTIONS.index(row["least"]), ACTIONS.index(row["most"])

    if row["program"]:
        assert row["program_because"]
        assert (best, worst) == (ACTIONS.index(row["program"]),) * 2
        assert not least <= worst <= most
    else:
        assert (best <= most, worst >= least) == (True, True)


@pytest.mark.parametrize("kind", [kind for kind in KINDS if HAZARDS[kind]["finding"]])
def test_finding_that_carries_the_hazard_is_among_the_gravest(kind: str) -> None:
    """What the trade puts its finger on is rated no less than the trade does, or as the table says."""
    row = HAZARDS[kind]
    found = [one.rating for one in assessed(kind, "survey").findings.findings if one.kind == row["finding"]]
    worst = max(ACTIONS.index(default_policy().action(one.worst)) for one in found)

    assert worst >= ACTIONS.index(row["least"]) or row["least"] == "note"
