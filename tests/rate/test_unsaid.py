"""What a record does not say is a range, and what it says of holders and fuses counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.model.rating import ACCEPTABLE, level_rank
from tests.support import Json, case_from, codes, found

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.reference import Reference

CRIMP = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve", "condition": ["clean"]}
LEAD: Json = {"size_mm2": 1.0, "length_m": 1.0, "material": "copper", "construction": "automotive"}
BOX: Json = {"device": {"kind": "other", "terminals": ["+", "-"]}, "pin": "+", "joint": {"type": "plug_in"}}
LOAD = [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 0.2, "rest_A": 0.001}]


def tap(bench: Reference, wire: str, *, lead: Json | None = None, to: Json = BOX) -> Finding:
    line = {
        "kind": "tap",
        "id": "t",
        "zone": "Z_TAIL",
        "on": {"wire": wire},
        "joint": CRIMP,
        "lead": LEAD | (lead or {}),
    }
    return found(case_from(bench, line | {"to": to}, electrical=False), "tap")


def questions(finding: Finding) -> set[str]:
    return {one.question for one in finding.rating.opens}


@pytest.mark.parametrize(("state", "least"), [("burnt", "Serious"), ("cover_melted", "Serious"), ("green", "Medium")])
def test_holder_in_a_bad_state_is_no_less_than_its_joint_would_be(bench: Reference, state: str, least: str) -> None:
    """A holder that cooks without its fuse opening is a trade classic (common practice)."""
    fuse = {"kind": "fuse", "rating_A": 3, "distance_m": 0.05, "condition": [state]}
    sound = tap(bench, "W12", lead={"inline": [fuse | {"condition": ["clean"]}]})
    bad = tap(bench, "W12", lead={"inline": [fuse]})

    assert "holder_state" in codes(bad)
    assert level_rank(bad.rating.best) >= level_rank(least) > level_rank(sound.rating.best)


def test_box_nobody_opened_on_a_permanent_feed_may_drain(bench: Reference) -> None:
    permanent = next(wire for wire in ("W40", "W30", "W2", "W5") if "permanent_supply" in codes(tap(bench, wire)))
    fuse = {"inline": [{"kind": "fuse", "rating_A": 3, "distance_m": 0.05}]}
    closed = tap(bench, permanent, lead=fuse)

    assert "rest" in questions(closed)
    assert (closed.rating.best, closed.rating.worst) == (ACCEPTABLE, "Serious")


def test_load_whose_return_nobody_recorded_may_drain_too(bench: Reference) -> None:
    permanent = next(wire for wire in ("W40", "W30", "W2", "W5") if "permanent_supply" in codes(tap(bench, wire)))
    half = {**BOX, "device": {"kind": "other", "terminals": ["+", "-"], "contents": LOAD}}

    assert "rest" in questions(tap(bench, permanent, to=half))


def test_own_fuse_larger_than_the_one_before_it_is_judged_by_the_smaller(bench: Reference) -> None:
    """In a row the smaller fuse opens: a lead is never worse off for a fuse of its own."""
    none, large = (tap(bench, "W12", lead={"size_mm2": 0.5, "inline": inline}) for inline in (
        [], [{"kind": "fuse", "rating_A": 30, "distance_m": 0.05}]))  # fmt: skip

    assert level_rank(large.rating.worst) <= level_rank(none.rating.worst)


def far(bench: Reference, **place: object) -> Finding:
    fuse = {"kind": "fuse", "rating_A": 10, **place}
    line = {"kind": "tap", "id": "t", "on": {"terminal": "BAT:+"}, "joint": CRIMP, "lead": LEAD | {"inline": [fuse]}}
    return found(case_from(bench, line | {"to": BOX}, electrical=False), "tap")


def test_the_farther_a_fuse_from_the_source_the_graver(bench: Reference) -> None:
    """33 CFR 183.455(b)(1): 7 inch (boats, by analogy)."""
    near, beyond, metre, unsaid = (far(bench, distance_m=0.1), far(bench, distance_m=0.2), far(bench, distance_m=0.9),
                                   far(bench))  # fmt: skip
    ranks = [level_rank(one.rating.worst) for one in (near, beyond, metre)]

    assert ranks == sorted(ranks)
    assert ranks[1] < ranks[2]
    assert "fuse_place" in questions(unsaid)
    assert level_rank(unsaid.rating.worst) >= ranks[2]


def test_smaller_fuse_opens_early_and_harms_no_wire(bench: Reference) -> None:
    smaller, larger = (
        found(case_from(bench, {"kind": "substitution", "id": "s", "element": "F3", "fitted": {"rating_A": rating_A}},
                        electrical=False), "wrong_rated_protection") for rating_A in (3, 30))  # fmt: skip

    assert {one.code for one in smaller.rating.mechanisms} == {"function_lost"}
    assert level_rank(smaller.rating.worst) < level_rank(larger.rating.worst)


@pytest.mark.parametrize(("said", "open_"), [({}, True), ({"protected_by": "none"}, False)])
def test_edge_of_which_nobody_says_how_it_is_passed_is_open(bench: Reference, said: Json, *, open_: bool) -> None:
    route = [{"kind": "passes_through", "what": "bulkhead", **said}]
    line = {"kind": "tap", "id": "t", "on": {"wire": "W12"}, "joint": CRIMP, "lead": LEAD | {"route": route}, "to": BOX}
    routing = found(case_from(bench, line, electrical=False), "routing")

    assert ("edge" in questions(routing)) == open_
    assert (routing.rating.best == ACCEPTABLE) == open_
