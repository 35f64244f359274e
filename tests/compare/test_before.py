"""What a reference knows of open choices: which answers come to the same, and which choices bear on each other."""

from __future__ import annotations

from unittest.mock import patch

from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.compare.before import Before
from harnessdiff.model.findings import Findings
from harnessdiff.model.reference import Reference
from tests.strategies import plantings
from tests.support import Json, as_found_from, case_from

GREY_RED: Json = {"colour": {"base": "GY", "tracer": "RD"}}
BLACK_RED: Json = {"colour": {"base": "BK", "tracer": "RD"}}


def groups_of(reference: Reference, *lines: Json) -> tuple[tuple[int, ...], ...]:
    as_found = as_found_from(reference, *lines)
    return Before(reference).groups(as_found)


def test_taps_on_nets_that_nothing_joins_are_groups_of_their_own(bench: Reference) -> None:
    lines = [
        {"kind": "tap", "id": "t", "on": {"wire": GREY_RED}},
        {"kind": "tap", "id": "u", "on": {"wire": BLACK_RED}},
    ]

    assert groups_of(bench, *lines) == ((0,), (1,))


def test_two_ends_of_one_lead_bear_on_each_other(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "lead", "id": "l"},
        {"kind": "joint", "id": "j", "members": [{"wire": GREY_RED}, {"lead": "l", "end": 1}]},
        {"kind": "joint", "id": "k", "members": [{"wire": BLACK_RED}, {"lead": "l", "end": 2}]},
    ]

    assert groups_of(bench, *lines) == ((0, 1),)


def test_without_open_choices_there_are_no_groups(bench: Reference) -> None:
    assert groups_of(bench, {"kind": "other", "note": "a magnet"}) == ()


def levels(findings: Findings) -> list[tuple[str, str, str]]:
    return sorted((one.id, one.rating.best, one.rating.worst) for one in findings.findings)


@settings(max_examples=25)
@given(st.data())
def test_varying_groups_together_finds_the_same_ranges_as_every_combination(
    bench: Reference, data: st.DataObject
) -> None:
    """Held against the plain product of all answers, for small surveys with two clues in them."""
    lines = [
        *data.draw(plantings(bench, most=2)),
        {"kind": "tap", "id": "vague_t", "on": {"wire": GREY_RED}},
        {"kind": "tap", "id": "vague_u", "on": {"wire": BLACK_RED}},
    ]
    together = levels(case_from(bench, *lines).findings)

    with patch.object(Before, "groups", lambda _, as_found: (tuple(range(len(as_found.choices))),)):
        assert levels(case_from(bench, *lines).findings) == together
