"""Laws of ratings from a survey on: what is worse in the record is never rated better, what is unknown is a range."""

from __future__ import annotations

import itertools
import json
from functools import cache
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.rating import Rating
from harnessdiff.tables.loader import JointRow, joint_order
from tests.rate.planted import (
    BOX,
    CRIMP,
    FLAGS,
    ROUTE,
    SOUND_LEAD,
    bench_with,
    few,
    is_no_better,
    is_within,
    ratings,
    tap_of,
)
from tests.strategies import joints
from tests.support import Json, bench_data, case_from, found, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

# -- the order of joints

PLACES: dict[str, Json] = {
    "tap on a brake lamp": {"kind": "tap", "on": {"wire": "W32"}},
    "tap on a ground": {"kind": "tap", "on": {"wire": "W33"}},
    "tap that is not protected": {"kind": "tap", "on": {"wire": "W1"}},
    "repair of a brake lamp's wire": {"kind": "repair", "wire": "W32"},
    "bridge past a switch": {"kind": "bridge", "from": {"wire": "W30"}, "to": {"wire": "W32"}},
}


def rated(line: Json, joint: Json, *flags: str) -> Rating:
    """The rating of the line made with this joint, everything else held."""
    return _rated(json.dumps(line, sort_keys=True), json.dumps(joint, sort_keys=True), flags)


@cache
def _rated(line_text: str, joint_text: str, flags: tuple[str, ...]) -> Rating:
    line, joint = json.loads(line_text), json.loads(joint_text)
    made = {"joint": joint} if line["kind"] == "tap" else {"joints": [joint, joint]}
    lead = {"lead": SOUND_LEAD} if line["kind"] in ("tap", "bridge") else {}
    to = {"to": BOX} if line["kind"] == "tap" else {}
    findings = case_from(bench_with(*flags), line | made | lead | to | {"id": "o", "zone": "Z_TAIL"}).findings.findings
    (finding,) = (one for one in findings if one.kind != "routing")
    return finding.rating


def made_as(row: JointRow) -> Json:
    """A joint of this row; taped, and made by hand, where the row leaves that open."""
    tool = "hand" if "*" in row.tools else min(row.tools)
    cover = "tape" if {"tape", "*"} & row.covers else min(row.covers)
    return {"type": row.type, "tool": tool, "cover": cover}


MID_SPAN = [row for row in joint_order() if row.type != "fuse_slot_adaptor"]
"""A fuse-slot adaptor is made for a slot, and judged there."""


@pytest.mark.parametrize("flags", [(), ("wet",)])
@pytest.mark.parametrize("line", PLACES.values(), ids=PLACES)
def test_joint_lower_in_the_order_is_never_rated_better(line: Json, flags: tuple[str, ...]) -> None:
    """And one of which nothing is known is rated over every one that it may be."""
    known = [(row, rated(line, made_as(row), *flags)) for row in MID_SPAN]
    better = [
        (one.words, other.words)
        for (one, rating), (other, lower) in itertools.combinations(known, 2)
        if one.rank < other.rank and not is_no_better(lower, rating)
    ]
    unknown = rated(line, {}, *flags)

    assert better == []
    assert [row.words for row, rating in known if not is_within(rating, unknown)] == []


@few
@given(st.sampled_from(list(PLACES.values())), joints, st.sets(st.sampled_from(["type", "tool", "cover"]), min_size=1))
def test_the_less_is_known_of_a_joint_the_wider_its_rating(line: Json, joint: Json, hidden: set[str]) -> None:
    hazy = rated(line, {name: value for name, value in joint.items() if name not in hidden})

    assert is_within(rated(line, joint), hazy)


# -- the place, the fuse and the lead


@few
@given(st.data())
def test_harsher_place_is_never_rated_lower(data: st.DataObject) -> None:
    line = tap_of(data)
    milder = data.draw(st.sets(st.sampled_from(FLAGS), max_size=2))
    harsher = milder | data.draw(st.sets(st.sampled_from(FLAGS), min_size=1, max_size=2))
    here, there = (ratings(bench_with(*sorted(flags)), line) for flags in (milder, harsher))

    assert here.keys() == there.keys()
    assert [kind for kind in here if not is_no_better(there[kind], here[kind])] == []


@few
@given(st.data())
def test_place_found_wet_is_rated_as_a_wet_place(data: st.DataObject) -> None:
    line = tap_of(data)
    found_wet = ratings(bench_with(), line, {"kind": "surroundings", "id": "e", "zone": "Z_TAIL", "wet": True})
    del found_wet["surroundings"]

    assert found_wet == ratings(bench_with("wet"), line)


@cache
def with_fuses(rating_A: float) -> Reference:
    """The bench with every fuse behind the bus bar of this rating."""
    data = bench_data()
    for device in data["devices"]:
        if device["kind"] == "fuse" and device["id"] != "F0_FUSE":
            device["rating_A"] = rating_A
    return reference_from(data)


sizes = st.sampled_from([0.22, 0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0])
fuses = st.sampled_from([3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0])


@few
@given(st.data(), sizes, sizes, fuses, fuses)
def test_larger_fuse_or_thinner_lead_is_never_rated_lower(
    data: st.DataObject, size: float, size_2: float, fuse: float, fuse_2: float
) -> None:
    line = tap_of(data)
    lead = {**line.get("lead", {}), "inline": []}
    thick = line | {"lead": lead | {"size_mm2": max(size, size_2)}}
    thin = line | {"lead": lead | {"size_mm2": min(size, size_2)}}
    better, worse = ratings(with_fuses(min(fuse, fuse_2)), thick), ratings(with_fuses(max(fuse, fuse_2)), thin)

    assert better.keys() == worse.keys()
    assert [kind for kind in better if not is_no_better(worse[kind], better[kind])] == []


def bounds(one: float, other: float) -> Json:
    return {"min": min(one, other), "max": max(one, other), "known_by": "assumed"}


@few
@given(st.data(), sizes, sizes, sizes)
def test_size_within_its_bounds_never_widens(data: st.DataObject, size: float, size_2: float, size_3: float) -> None:
    line = tap_of(data)
    lead = {**line.get("lead", {}), "inline": []}
    low, middle, high = sorted((size, size_2, size_3))
    wide = ratings(bench_with(), line | {"lead": lead | {"size_mm2": bounds(low, high)}})
    for narrower in (low, middle, high, bounds(low, middle), bounds(middle, high)):
        known = ratings(bench_with(), line | {"lead": lead | {"size_mm2": narrower}})
        assert known.keys() == wide.keys()
        assert [kind for kind in known if not is_within(known[kind], wide[kind])] == []


@pytest.mark.parametrize(
    "line",
    [
        {"kind": "repair", "id": "r", "wire": "W42", "joints": [CRIMP, CRIMP]},
        {"kind": "substitution", "id": "s", "wire": "W42"},
    ],
)
def test_size_of_what_stands_in_for_a_wire_never_widens(line: Json) -> None:
    """W42 has 0.5 mm² behind 5 A."""

    def of(size_mm2: Json | float) -> Rating:
        made = {"insert" if line["kind"] == "repair" else "fitted": {"size_mm2": size_mm2}}
        (finding,) = case_from(bench_with(), line | made).findings.findings
        return finding.rating

    wide = of(bounds(0.35, 1.5))
    assert all(is_within(of(size), wide) for size in (0.35, 0.75, 1.5, bounds(0.35, 0.4), bounds(0.75, 1.5)))
    assert of(bounds(0.75, 1.5)).certain
    assert not of(0.75).flagged or line["kind"] == "substitution"


@few
@given(st.data(), fuses, fuses, fuses)
def test_rating_of_a_fuse_within_its_bounds_never_widens(
    data: st.DataObject, fuse: float, fuse_2: float, fuse_3: float
) -> None:
    """In the lead, and in the slot."""
    line = tap_of(data)
    low, middle, high = sorted((fuse, fuse_2, fuse_3))

    def held(rating_A: Json | float) -> dict[str, Rating]:
        inline = [{"kind": "fuse", "distance_m": 0.05, "rating_A": rating_A}]
        slot = {"kind": "substitution", "id": "s", "element": "F3", "fitted": {"rating_A": rating_A}}
        lead = {**line.get("lead", {}), "inline": inline}
        return ratings(bench_with(), line | {"lead": lead}, slot)

    wide = held(bounds(low, high))
    for narrower in (low, middle, high, bounds(low, middle)):
        known = held(narrower)
        assert [kind for kind in known if kind in wide and not is_within(known[kind], wide[kind])] == []


def test_fuse_that_is_surely_too_large_may_be_far_too_large(bench: Reference) -> None:
    """The limit of 0.75 mm² is surely passed by 15 A, and passed many times by 60 A."""
    line: Json = {"kind": "tap", "id": "t", "on": {"terminal": "BAT:+"}, "joint": CRIMP, "to": BOX}

    def behind(rating_A: Json | float) -> Rating:
        inline = [{"kind": "fuse", "distance_m": 0.05, "rating_A": rating_A}]
        return found(case_from(bench, line | {"lead": SOUND_LEAD | {"inline": inline}}), "tap").rating

    wide, least, most = behind(bounds(15.0, 60.0)), behind(15.0), behind(60.0)

    assert is_within(least, wide)
    assert is_within(most, wide)
    assert [one.question for one in wide.opens] == (["rating"] if least.worst != most.worst else [])


@pytest.mark.parametrize("slot", ["F1", "F4"])
def test_larger_fuse_in_a_slot_is_never_rated_lower(bench: Reference, slot: str) -> None:
    line = {"kind": "substitution", "id": "s", "element": slot}
    fitted = [found(case_from(bench, line | {"fitted": {"rating_A": rating_A}}), "wrong_rated_protection").rating
              for rating_A in (16, 20, 25, 30, 40, 60)]  # fmt: skip

    assert all(is_no_better(larger, smaller) for smaller, larger in itertools.pairwise(fitted))


@few
@given(st.data())
def test_lead_with_a_bad_route_is_never_rated_better_than_one_without(data: st.DataObject) -> None:
    line = tap_of(data)
    lead = {name: value for name, value in line.get("lead", {}).items() if name != "route"}
    plain = ratings(bench_with(), line | {"lead": lead})
    routed = ratings(bench_with(), line | {"lead": lead | {"route": ROUTE}})

    assert "routing" in routed
    assert [kind for kind in plain if not is_no_better(routed[kind], plain[kind])] == []


@few
@given(st.data(), st.sampled_from(["capped", "taped", "bare"]))
def test_end_of_unknown_treatment_is_rated_over_all_it_may_be(data: st.DataObject, treatment: str) -> None:
    line = tap_of(data)
    hazy = ratings(bench_with(), line | {"to": {"loose": {}}})
    known = ratings(bench_with(), line | {"to": {"loose": {"treatment": treatment}}})

    assert [kind for kind in known if not is_within(known[kind], hazy[kind])] == []


@pytest.mark.parametrize("colour", [{"base": "BN"}, {"base": "RD"}, {"base": "GY", "tracer": "RD"}])
def test_wire_that_is_known_never_widens_what_was_rated_over_all_it_may_be(bench: Reference, colour: Json) -> None:
    line: Json = {"kind": "tap", "id": "t", "joint": {"type": "twisted", "tool": "hand", "cover": "tape"},
                  "lead": SOUND_LEAD, "to": BOX}  # fmt: skip
    (wide,) = case_from(bench, line | {"on": {"wire": {"colour": colour}}}).findings.findings
    candidates = sorted({name for one in wide.possibilities for name in one.elements if bench.harness.conductor(name)})

    assert len(candidates) > 1
    for wire in candidates:
        (known,) = case_from(bench, line | {"on": {"wire": wire}}).findings.findings
        assert is_within(known.rating, wide.rating), wire
