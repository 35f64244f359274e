"""How single added things are made dead: those that were asked for, in that order."""

from __future__ import annotations

import pytest

from harnessdiff.errors import InputError
from harnessdiff.model.isolation import Isolation
from harnessdiff.report.dead_steps import dead_steps
from harnessdiff.report.solved import solved
from harnessdiff.resolve.visits import standing
from tests.analyse.rigs import added, at, ground, load, tap, two_lamps
from tests.support import case_from, problems_of, survey_from

BOXES = tuple(
    line
    for own, wire in (("x", "W_S_1"), ("y", "W_T_1"))
    for line in (tap(f"t{own}", at(wire), own), added(own, load(1.0)), ground(f"g{own}", own))
)
"""A box on the feed of E, behind F, and one on that of D, behind G."""
REFERENCE = two_lamps()


def steps(*things: str) -> tuple[Isolation, ...]:
    survey = standing(survey_from(REFERENCE, *BOXES))
    harness = case_from(REFERENCE, *BOXES).as_found
    both = solved(REFERENCE, REFERENCE.conditions, (), harness, survey)
    return dead_steps(both, harness, survey, things)


def test_what_was_asked_for_comes_in_that_order() -> None:
    found = steps("y", "tx.lead")

    assert [one.target for one in found] == ["+y", "+tx.lead"]
    assert [[step.element for step in one.steps] for one in found] == [["G_FUSE"], ["F_FUSE"]]
    assert all(one.dead and one.proved for one in found)


def test_mark_of_added_things_may_be_written_or_not() -> None:
    assert steps("+x") == steps("x")


def test_everything_that_was_added_is_gone_through_by_id() -> None:
    assert [one.target for one in steps()] == sorted(["+x", "+y", "+tx.lead", "+ty.lead", "+gx", "+gy"])


@pytest.mark.parametrize(
    ("thing", "message"),
    [
        ("tx.led", 'there is no added lead or device tx.led; did you mean "tx.lead"?'),
        ("W_S_1", "there is no added lead or device W_S_1"),
    ],
)
def test_what_was_not_added_is_refused(thing: str, message: str) -> None:
    with pytest.raises(InputError) as caught:
        steps("x", thing)

    assert problems_of(caught.value) == [(None, message)]
