"""Laws of ratings from a survey on: what is worse in the record is never rated better, what is unknown is a range."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harnessdiff.model.rating import ACCEPTABLE, Rating, level_rank
from harnessdiff.pipeline import assess
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.loader import JointRow, joint_order, risk_matrix
from tests.strategies import joints, leads, plantings, pruned
from tests.support import Json, as_found_from, bench_data, case_from, codes, found, reference_from, survey_from

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.reference import Reference

few = settings(max_examples=15)
FLAGS = ("wet", "leaking", "hot", "moving", "vibrating", "concealed")
CRIMP = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve", "condition": ["clean"]}
SOUND_LEAD = {"size_mm2": 0.75, "length_m": 0.5, "material": "copper", "construction": "automotive"}
BOX: Json = {"device": {"kind": "beeper"}, "pin": "+", "joint": CRIMP}


@cache
def bench_with(*flags: str) -> Reference:
    """The bench, its tail in such a place."""
    data = bench_data()
    (zone,) = (one for one in data["zones"] if one["id"] == "Z_TAIL")
    zone |= dict.fromkeys(flags, True)
    return reference_from(data)


def is_no_better(worse: Rating, better: Rating) -> bool:
    """Whether `worse` is at least as bad, at its best and at its worst."""
    return level_rank(worse.best) >= level_rank(better.best) and level_rank(worse.worst) >= level_rank(better.worst)


def is_within(narrow: Rating, wide: Rating) -> bool:
    """Whether a range lies within another, which promises nothing where not every way was gone through."""
    inside = level_rank(wide.best) <= level_rank(narrow.best) and level_rank(narrow.worst) <= level_rank(wide.worst)
    return inside or wide.at_least


def ratings(reference: Reference, *lines: Json) -> dict[str, Rating]:
    """Ratings by the kind of finding: a tap and its route are two."""
    return {one.kind: one.rating for one in case_from(reference, *lines).findings.findings}


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


def tap_of(data: st.DataObject) -> Json:
    """A tap of any make on one of the bench's wires."""
    return pruned(
        kind="tap",
        id="t",
        zone="Z_TAIL",
        on={"wire": data.draw(st.sampled_from(["W12", "W13", "W32", "W43", "W33"]))},
        joint=data.draw(joints),
        lead=data.draw(leads),
        to=data.draw(st.sampled_from([None, BOX, {"loose": {"treatment": "taped"}}])),
    )


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


@pytest.mark.parametrize("slot", ["F1", "F4"])
def test_larger_fuse_in_a_slot_is_never_rated_lower(bench: Reference, slot: str) -> None:
    line = {"kind": "substitution", "id": "s", "element": slot}
    fitted = [found(case_from(bench, line | {"fitted": {"rating_A": rating_A}}), "wrong_rated_protection").rating
              for rating_A in (16, 20, 25, 30, 40, 60)]  # fmt: skip

    assert all(is_no_better(larger, smaller) for smaller, larger in itertools.pairwise(fitted))


ROUTE = [{"kind": "passes_through", "what": "bulkhead", "protected_by": "none"}]


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


# -- what does not count


def renamed(value: Any, names: dict[str, str]) -> Any:
    """The document with every id, alone or before a colon, by its other name."""
    if isinstance(value, dict):
        return {key: renamed(one, names) for key, one in value.items()}
    if isinstance(value, list):
        return [renamed(one, names) for one in value]
    if not isinstance(value, str):
        return value
    device, colon, terminal = value.partition(":")
    return names.get(device, device) + colon + terminal


def profile(reference: Reference, lines: list[Json]) -> list[tuple[object, ...]]:
    """Kind, level and mechanisms of every finding, whatever it is called."""
    return sorted(
        (
            one.kind,
            one.rating.best,
            one.rating.worst,
            tuple((m.code, m.severity, m.probability, m.level, m.index) for m in one.rating.mechanisms),
            one.rating.beside,
        )
        for one in case_from(reference, *lines).findings.findings
    )


@few
@given(st.data())
def test_names_and_order_do_not_count(data: st.DataObject) -> None:
    """Every id of the reference and of the survey is changed for another at random, and the lines change places."""
    written = bench_data()
    reference = bench_with()
    lines = data.draw(plantings(reference))
    assume(not as_found_from(reference, *lines).choices)  # of several that fit, the first by name is drawn
    ids = [one["id"] for name in ("zones", "circuits", "devices", "splices", "wires") for one in written[name]]
    ids += [line["id"] for line in lines]
    numbers = data.draw(st.permutations(range(len(ids))))
    names = {own: f"N{number:03}" for own, number in zip(ids, numbers, strict=True)}

    other = renamed(lines, names)
    assert profile(reference_from(renamed(written, names)), other[::-1]) == profile(reference, lines)


def test_name_of_a_wire_does_not_count_where_a_lead_joins_it_to_the_battery(bench: Reference) -> None:
    """The lead is as unprotected as the wire, whichever of the two comes first in the order of names."""
    line: Json = {"kind": "bridge", "id": "b", "from": {"wire": "W1"}, "to": {"terminal": "BAT:+"}}
    names = {"W1": "A1"}

    assert profile(reference_from(renamed(bench_data(), names)), [renamed(line, names)]) == profile(bench, [line])


@few
@given(st.data())
def test_notes_photographs_and_labels_do_not_count(data: st.DataObject) -> None:
    line = tap_of(data)
    photographs = [{"id": "P1", "path": "photographs/p1.jpg"}]
    said = line | {"note": "smells of burning, the owner says; looks fine to me", "photographs": ["P1"], "who": "A"}
    plain = case_from(bench_with(), line, photographs=photographs)
    noted = case_from(bench_with(), said, photographs=photographs)

    assert [one.rating for one in plain.findings.findings] == [one.rating for one in noted.findings.findings]
    assert [one.id for one in plain.findings.findings] == [one.id for one in noted.findings.findings]


# -- one weight moves what its code is established in


def codes_in(rating: Rating) -> set[str]:
    return {part.code for one in rating.mechanisms for part in (*one.contributions, *one.also)}


PLANTED: list[Json] = [
    {"kind": "tap", "id": "t1", "zone": "Z_TAIL", "on": {"wire": "W32"}, "lead": {"size_mm2": 0.22, "route": ROUTE},
     "joint": {"type": "twisted", "tool": "hand", "cover": "tape", "condition": ["loose"]}, "to": BOX},
    {"kind": "tap", "id": "t2", "on": {"terminal": "BAT:+"}, "joint": CRIMP, "lead": SOUND_LEAD, "to": BOX},
    {"kind": "cut", "id": "c1", "wire": "W40"},
    {"kind": "substitution", "id": "s1", "element": "F2", "fitted": {"rating_A": 30}},
    {"kind": "damage", "id": "d1", "on": [{"wire": "W21"}], "damage": "chafed", "extent": "through"},
]  # fmt: skip


@pytest.mark.parametrize(
    "code",
    [
        "joint_loose",
        "no_grommet",
        "unprotected",
        "at_source",
        "open_circuit",
        "rating",
        "over_fused",
        "damage",
        "extent",
    ],
)
def test_changed_weight_changes_the_findings_in_which_its_code_is_established_and_no_other(
    bench: Reference, code: str
) -> None:
    policy = default_policy()
    survey = survey_from(bench, *PLANTED)
    heavier = replace(
        policy,
        factors=tuple(replace(one, weight=one.weight + 100) if one.code == code else one for one in policy.factors),
    )
    before, after = (
        {one.id: one.rating for one in assess(bench, survey, electrical=False, policy=by).findings.findings}
        for by in (policy, heavier)
    )
    moved = {name for name in before if before[name] != after[name]}

    assert before.keys() == after.keys()
    assert moved
    assert moved == {name for name in before if code in codes_in(before[name])}


# -- levels, and what is acceptable


def consistent(finding: Finding) -> bool:
    rating, policy = finding.rating, default_policy()
    worst = max((one.level for one in rating.mechanisms), key=level_rank, default=ACCEPTABLE)
    in_order = [level_rank(one.level) for one in rating.mechanisms]
    return (
        (worst == rating.worst or not rating.rated)
        and in_order == sorted(in_order, reverse=True)
        and all(one.cell == risk_matrix()[one.severity, one.probability] for one in rating.mechanisms)
        and all(one.level == one.cell or one.floors or one.caps for one in rating.mechanisms)
        and all(one.probability == policy.probability(one.index) for one in rating.mechanisms)
        and all(round(sum(c.counts for c in one.contributions), 9) == one.index for one in rating.mechanisms)
        and all(part.source for one in rating.mechanisms for part in one.contributions)
        and level_rank(rating.best) <= level_rank(rating.worst)
        and (rating.worst == ACCEPTABLE) == (not rating.mechanisms and rating.rated)
    )


@few
@given(st.data())
def test_every_level_follows_from_its_contributions(data: st.DataObject) -> None:
    findings = case_from(bench_with(), *data.draw(plantings(bench_with()))).findings.findings

    assert [one.modification for one in findings if not consistent(one)] == []


@pytest.mark.parametrize("line", [
    {"kind": "tap", "on": {"wire": "W12"}, "joint": CRIMP, "lead": SOUND_LEAD, "to": BOX},
    {"kind": "tap", "on": {"terminal": "R1:30"}, "joint": {"type": "plug_in"}, "lead": SOUND_LEAD, "to": BOX},
    {"kind": "tap", "on": {"terminal": "F4:in"}, "joint": {"type": "fuse_slot_adaptor"},
     "lead": SOUND_LEAD | {"inline": [{"kind": "fuse", "rating_A": 3, "distance_m": 0.05}]}, "to": BOX},
    {"kind": "repair", "wire": "W32", "joints": [CRIMP]},
    {"kind": "repair", "wire": "W21", "joints": [CRIMP],
     "insert": SOUND_LEAD | {"size_mm2": 1.5, "colour": {"base": "BK", "tracer": "YE"}}},
])  # fmt: skip
def test_sound_work_is_recorded_and_acceptable(bench: Reference, line: Json) -> None:
    (finding,) = case_from(bench, line | {"id": "o", "zone": "Z_TAIL"}).findings.findings

    assert (finding.rating.best, finding.rating.worst, finding.rating.mechanisms) == (ACCEPTABLE, ACCEPTABLE, ())
    assert not finding.rating.flagged


@pytest.mark.parametrize(
    "lines",
    [
        [
            {"kind": "as_reference", "id": "a", "elements": ["W32", "F3"]},
            {"kind": "as_reference", "id": "b", "zone": "Z_TAIL"},
        ],
        [{"kind": "good_practice", "id": "g", "of": ["W32"], "practice": "fused_at_source"}],
        [],
    ],
)
def test_what_is_as_it_should_be_is_no_finding(bench: Reference, lines: list[Json]) -> None:
    assert case_from(bench, *lines).findings.findings == ()


def test_surroundings_are_recorded_and_no_hazard_of_their_own(bench: Reference) -> None:
    line = {"kind": "surroundings", "id": "e", "zone": "Z_TAIL", "wet": True}
    (finding,) = case_from(bench, line).findings.findings

    assert not finding.rating.flagged


def test_what_nobody_can_tell_is_rated_over_the_whole_matrix(bench: Reference) -> None:
    (finding,) = case_from(bench, {"kind": "other", "id": "o", "note": "hums"}).findings.findings

    assert (finding.rating.best, finding.rating.worst, finding.rating.rated) == (ACCEPTABLE, "High", False)


def test_joint_not_made_for_its_wire_is_rated_worse(bench: Reference) -> None:
    """W21 has 1.5 mm²: a crimp that is sound in itself is not, and a poor tap gets poorer."""

    def rating(joint: Json, range_mm2: list[float]) -> Rating:
        line = {"kind": "tap", "id": "t", "on": {"wire": "W21"}, "joint": joint | {"range_mm2": range_mm2},
                "lead": SOUND_LEAD | {"size_mm2": 1.5}, "to": BOX}  # fmt: skip
        return found(case_from(bench, line), "tap").rating

    poor = {"type": "insulation_displacement", "tool": "pliers", "cover": "none"}

    assert not rating(CRIMP, [1.0, 2.5]).flagged
    assert rating(CRIMP, [0.5, 1.0]).flagged
    assert is_no_better(rating(poor, [0.5, 1.0]), rating(poor, [1.0, 2.5]))
    assert "out_of_range" in codes_in(rating(poor, [0.5, 1.0]))


def test_rings_on_a_clean_stud_are_ordinary_up_to_what_practice_allows(bench: Reference) -> None:
    ring = {"type": "ring_terminal", "fixing": "factory_stud", "bare_metal": "yes", "condition": ["clean"]}

    def flagged(rings: int) -> bool:
        joint = ring | {"rings_on_stud": rings}
        line = {"kind": "lead", "id": "l", **SOUND_LEAD, "end_1": {"device": "d", "pin": "-"},
                "end_2": {"terminal": "GND1:1", "joint": joint}}  # fmt: skip
        box = {"kind": "device", "id": "d", "sort": "beeper", "terminals": ["-"]}
        return found(case_from(bench, box, line), "added_ground").rating.flagged

    assert [flagged(rings) for rings in (1, 2, 4, 5)] == [False, False, False, True]


def test_box_of_the_lender_s_has_the_same_mechanisms_as_nobody_s(bench: Reference) -> None:
    alarm = {"kind": "device", "id": "d", "sort": "alarm", "terminals": ["+"], "function": "alarm", "owner": "lender"}
    plain = {"kind": "device", "id": "d", "sort": "other", "terminals": ["+"]}
    tap = {"kind": "tap", "id": "t", "on": {"wire": "W40"}, "joint": {"type": "twisted"}, "lead": SOUND_LEAD}
    lenders, nobodys = (
        found(case_from(bench, box, tap | {"to": {"device": "d", "pin": "+"}}), "tap") for box in (alarm, plain)
    )

    assert set(lenders.rating.beside) == {"security", "owner_other"}
    assert {"security", "owner_other"} <= codes(lenders)
    assert (nobodys.rating.beside, nobodys.rating.mechanisms) == ((), lenders.rating.mechanisms)
