"""What each sort of look takes: every one has a row, and the row says something that can be."""

from __future__ import annotations

import pytest

from harnessdiff.tables.looks import DISMANTLING, STATES, look_rows
from harnessdiff.words import CHECKS


def test_every_look_that_has_words_has_a_row_and_the_other_way_round() -> None:
    assert set(look_rows()) == set(CHECKS)


@pytest.mark.parametrize("code", sorted(CHECKS))
def test_row_says_what_can_be(code: str) -> None:
    row = look_rows()[code]

    assert row.minutes > 0
    assert row.needs in DISMANTLING
    assert row.state in STATES


def test_what_rings_out_needs_the_battery_off() -> None:
    """A wire under voltage harms a meter that tries continuity, and it reads what is not there (the trade)."""
    assert look_rows()["ring_out"].state == "battery_off"
    assert "battery disconnected" in CHECKS["ring_out"]
