"""Days until a battery no longer starts an engine, and published figures of drain."""

from __future__ import annotations

import pytest

from harnessdiff.analyse.drain import capacity_from_reserve_Ah, days_until_no_start, figures_held
from harnessdiff.model.range import Range


@pytest.mark.parametrize(("reserve_min", "days"), [(130, 13.0), (95, 9.5)])
def test_worked_example_of_the_reserve_capacity(reserve_min: float, days: float) -> None:
    # a maker's service bulletin (secondary copy): Ah = RC × 0.6, no start after about 40 % of it; at 100 mA
    capacity = Range.exactly(capacity_from_reserve_Ah(reserve_min))

    assert days_until_no_start(capacity, Range.exactly(0.1)).nominal == pytest.approx(days, abs=0.05)


def test_capacity_of_the_worked_example() -> None:
    # the same bulletin: 130 min are 78 Ah, of which 31.2 Ah may go
    assert capacity_from_reserve_Ah(130) == pytest.approx(78)
    assert days_until_no_start(Range.exactly(78), Range.exactly(31.2 / 24)).nominal == pytest.approx(1)


@pytest.mark.parametrize(
    ("milliampere", "name", "code"),
    [
        (50, "maker_text", "holds"),  # a maker's workshop text: up to 25 to 50 mA by equipment (secondary copy)
        (51, "maker_text", "exceeds"),
        (36, "training_text", "exceeds"),  # training text of the trade: excessive above 35 mA (secondary copy)
        (120, "battery_questions", "holds"),  # public-domain questions and answers: 20 to 120 mA (secondary copy)
        (121, "battery_questions", "exceeds"),
        (74, "press", "holds"),  # motoring press: normal below 75 mA, above 150 mA twice that (secondary copy)
        (100, "press", "undecided"),
        (151, "press", "exceeds"),
    ],
)
def test_published_figures(milliampere: float, name: str, code: str) -> None:
    found = {one.name: one.code for one in figures_held(Range.exactly(milliampere / 1000))}

    assert found[name] == code
