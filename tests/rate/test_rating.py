"""Laws of the rating: what is worse is never rated better, and what is unknown is a range."""

from __future__ import annotations

import itertools
import json
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from harnessdiff.model.rating import ACCEPTABLE, LEVELS, PROBABILITIES, Rating, level_rank
from harnessdiff.pipeline import assess
from harnessdiff.rate.rating import probability_of
from harnessdiff.tables.loader import JointRow, joint_order, risk_matrix
from tests.strategies import joints, leads, plantings, pruned, routes
from tests.support import Json, as_found_from, bench_data, case_from, codes, found, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey

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


def weight(rating: Rating) -> int:
    """The greatest probability index of the worst case, for what levels are too coarse to tell."""
    return max((one.index for one in rating.mechanisms), default=-1)


# -- the order of joints

PLACES: dict[str, Json] = {
    "tap on a side lamp": {"kind": "tap", "on": {"wire": "W12"}},
    "tap on a brake lamp": {"kind": "tap", "on": {"wire": "W32"}},
    "tap on an output": {"kind": "tap", "on": {"wire": "W43"}},
    "tap on a ground": {"kind": "tap", "on": {"wire": "W33"}},
    "tap on a lamp's terminal": {"kind": "tap", "on": {"terminal": "E3:54"}},
    "tap that is not protected": {"kind": "tap", "on": {"wire": "W1"}},
    "lead that hangs loose": {"kind": "tap", "on": {"wire": "W32"}, "to": {"loose": {"treatment": "taped"}}},
    "repair of a brake lamp's wire": {"kind": "repair", "wire": "W32"},
    "box in series with a brake lamp": {"kind": "insertion", "in": {"wire": "W32"}, "device": {"kind": "relay"}},
    "bridge past a switch": {"kind": "bridge", "from": {"wire": "W30"}, "to": {"wire": "W32"}},
}
WORDS = {"tap": "joint", "repair": "joints", "insertion": "joints", "bridge": "joints"}


def rated(line: Json, joint: Json, *flags: str) -> Rating:
    """The rating of the line made with this joint, everything else held."""
    return _rated(json.dumps(line, sort_keys=True), json.dumps(joint, sort_keys=True), flags)


@cache
def _rated(line_text: str, joint_text: str, flags: tuple[str, ...]) -> Rating:
    line, joint = json.loads(line_text), json.loads(joint_text)
    word = WORDS[line["kind"]]
    made = {word: joint if word == "joint" else [joint, joint]}
    lead = {"lead": SOUND_LEAD} if line["kind"] in ("tap", "bridge") else {}
    to = {"to": BOX} if line["kind"] == "tap" and "to" not in line else {}
    findings = case_from(bench_with(*flags), line | made | lead | to | {"id": "o", "zone": "Z_TAIL"}).findings.findings
    (finding,) = (one for one in findings if one.kind != "routing")
    return finding.rating


def made_as(row: JointRow, cover: str) -> Json:
    """A joint of this row; tool and cover are held where the row leaves them open."""
    tool = "hand" if "*" in row.tools else min(row.tools)
    if "*" not in row.covers:
        cover = cover if cover in row.covers else min(row.covers)
    return {"type": row.type, "tool": tool, "cover": cover}


MID_SPAN = [row for row in joint_order() if row.type != "fuse_slot_adaptor"]
"""A fuse-slot adaptor is made for a slot, and judged there."""


@pytest.mark.parametrize(("cover", "flags"), [("tape", ()), ("tape", ("wet",)), ("none", ())])
@pytest.mark.parametrize("line", PLACES.values(), ids=PLACES)
def test_joint_lower_in_the_order_is_never_rated_better(line: Json, cover: str, flags: tuple[str, ...]) -> None:
    ratings = [(row, rated(line, made_as(row, cover), *flags)) for row in MID_SPAN]
    better = [
        (one.words, other.words)
        for (one, rating), (other, lower) in itertools.combinations(ratings, 2)
        if one.rank < other.rank and not is_no_better(lower, rating)
    ]

    assert better == []


@pytest.mark.parametrize("flags", [(), ("wet",)])
@pytest.mark.parametrize("line", PLACES.values(), ids=PLACES)
def test_twisted_and_taped_is_never_rated_below_crimped_or_soldered(line: Json, flags: tuple[str, ...]) -> None:
    twisted = rated(line, {"type": "twisted", "tool": "hand", "cover": "tape"}, *flags)
    sounder: list[Json] = [
        CRIMP,
        {"type": "butt_crimp", "tool": "ratchet", "cover": "sleeve"},
        {"type": "butt_crimp", "tool": "pliers", "cover": "tape"},
        {"type": "splice_barrel", "tool": "ratchet", "cover": "adhesive_sleeve"},
        {"type": "solder", "tool": "iron", "cover": "adhesive_sleeve"},
        {"type": "solder", "tool": "iron", "cover": "tape"},
    ]

    for joint in sounder:
        other = rated(line, joint, *flags)
        assert is_no_better(twisted, other), joint
        assert weight(twisted) >= weight(other), joint


@pytest.mark.parametrize("flags", [(), ("wet",)])
@pytest.mark.parametrize("line", PLACES.values(), ids=PLACES)
def test_unknown_joint_is_rated_over_every_known_one(line: Json, flags: tuple[str, ...]) -> None:
    unknown = rated(line, {}, *flags)
    outside = [
        row.words
        for row in MID_SPAN
        for known in [rated(line, made_as(row, "tape"), *flags)]
        if level_rank(known.best) < level_rank(unknown.best) or level_rank(known.worst) > level_rank(unknown.worst)
    ]

    assert outside == []


@given(st.sampled_from(list(PLACES.values())), joints, st.sets(st.sampled_from(["type", "tool", "cover"])))
def test_the_less_is_known_of_a_joint_the_wider_its_rating(line: Json, joint: Json, hidden: set[str]) -> None:
    known = rated(line, joint)
    hazy = rated(line, {name: value for name, value in joint.items() if name not in hidden})

    assert level_rank(hazy.best) <= level_rank(known.best)
    assert level_rank(hazy.worst) >= level_rank(known.worst)


@given(
    st.sampled_from(list(PLACES.values())),
    st.sampled_from([made_as(row, "tape") for row in MID_SPAN]),
    st.sampled_from(["loose", "burnt", "green", "wet", "strands_cut", "cracked", "cover_melted", "cover_open"]),
)
def test_joint_in_a_bad_state_is_never_rated_better_than_a_clean_one(line: Json, joint: Json, state: str) -> None:
    clean, bad = rated(line, joint | {"condition": ["clean"]}), rated(line, joint | {"condition": [state]})

    assert is_no_better(bad, clean)
    assert bad.worst != ACCEPTABLE


# -- place, fuse and lead


def tap_of(data: st.DataObject) -> Json:
    """A tap on a wire at the tail, with a random joint, lead and landing."""
    return pruned(
        kind="tap",
        id="t",
        zone="Z_TAIL",
        on={"wire": data.draw(st.sampled_from(["W12", "W13", "W32", "W43", "W33"]))},
        joint=data.draw(joints),
        lead=data.draw(leads),
        to=data.draw(st.sampled_from([None, BOX, {"loose": {"treatment": "taped"}}])),
    )


def ratings(reference: Reference, *lines: Json) -> dict[str, Rating]:
    """Ratings by the kind of finding: a tap and its route are two."""
    return {one.kind: one.rating for one in case_from(reference, *lines).findings.findings}


@given(st.data())
def test_harsher_place_is_never_rated_lower(data: st.DataObject) -> None:
    line = tap_of(data)
    milder = data.draw(st.sets(st.sampled_from(FLAGS), max_size=2))
    harsher = milder | data.draw(st.sets(st.sampled_from(FLAGS), min_size=1, max_size=2))
    here, there = (ratings(bench_with(*sorted(flags)), line) for flags in (milder, harsher))

    assert here.keys() == there.keys()
    assert [kind for kind in here if not is_no_better(there[kind], here[kind])] == []


@pytest.mark.parametrize(("flag", "adds"), [("wet", 2), ("hot", 1), ("moving", 2), ("vibrating", 1), ("concealed", 1)])
def test_place_weighs_on_heat_loss_and_short_alike(flag: str, adds: int) -> None:
    """As much as the table says (common practice)."""
    line = {"kind": "tap", "id": "t", "zone": "Z_TAIL", "on": {"wire": "W32"}, "lead": {"size_mm2": 0.22}}
    line |= {"joint": {"type": "twisted", "tool": "hand", "cover": "tape"}, "to": BOX}
    here, there = (
        {one.code: one.index for one in ratings(bench_with(*flags), line)["tap"].mechanisms} for flags in ((), (flag,))
    )

    assert here.keys() >= {"contact_heat", "function_lost", "short"}
    assert there == {code: index + adds for code, index in here.items()}


@given(st.data())
def test_place_found_wet_is_rated_as_a_wet_place(data: st.DataObject) -> None:
    line = tap_of(data)
    found_wet = ratings(bench_with(), line, {"kind": "surroundings", "id": "e", "zone": "Z_TAIL", "wet": True})
    del found_wet["surroundings"]

    assert found_wet == ratings(bench_with("wet"), line)


def with_fuses(rating_A: float) -> Reference:
    """The bench with every fuse behind the bus bar of this rating."""
    data = bench_data()
    for device in data["devices"]:
        if device["kind"] == "fuse" and device["id"] != "F0_FUSE":
            device["rating_A"] = rating_A
    return reference_from(data)


SIZES = [0.22, 0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0]
FUSES = [3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0]
REFERENCES = {rating_A: with_fuses(rating_A) for rating_A in FUSES}


@given(st.data(), st.sampled_from(SIZES), st.sampled_from(SIZES), st.sampled_from(FUSES), st.sampled_from(FUSES))
def test_larger_fuse_or_thinner_lead_is_never_rated_lower(
    data: st.DataObject, size: float, size_2: float, fuse: float, fuse_2: float
) -> None:
    line = tap_of(data)
    lead = {**line["lead"], "inline": []}
    thick = line | {"lead": lead | {"size_mm2": max(size, size_2)}}
    thin = line | {"lead": lead | {"size_mm2": min(size, size_2)}}
    better, worse = ratings(REFERENCES[min(fuse, fuse_2)], thick), ratings(REFERENCES[max(fuse, fuse_2)], thin)

    assert better.keys() == worse.keys()
    assert [kind for kind in better if not is_no_better(worse[kind], better[kind])] == []


@given(st.data(), st.sampled_from(SIZES), st.sampled_from(SIZES))
def test_lead_of_unsure_size_is_rated_over_all_it_may_be(data: st.DataObject, size: float, size_2: float) -> None:
    line = tap_of(data)
    lead = {**line["lead"], "inline": []}
    bounds = {"min": min(size, size_2), "max": max(size, size_2)}
    hazy = ratings(bench_with(), line | {"lead": lead | {"size_mm2": bounds}})
    for exact in bounds.values():
        known = ratings(bench_with(), line | {"lead": lead | {"size_mm2": exact}})
        assert [kind for kind in known if level_rank(known[kind].worst) > level_rank(hazy[kind].worst)] == []
        assert [kind for kind in known if level_rank(known[kind].best) < level_rank(hazy[kind].best)] == []


@pytest.mark.parametrize("slot", ["F1", "F2", "F3", "F4"])
def test_larger_fuse_in_a_slot_is_never_rated_lower(bench: Reference, slot: str) -> None:
    line = {"kind": "substitution", "id": "s", "element": slot}
    fitted = [found(case_from(bench, line | {"fitted": {"rating_A": rating_A}}), "wrong_rated_protection").rating
              for rating_A in (16, 20, 25, 30, 40, 60)]  # fmt: skip

    for smaller, larger in itertools.pairwise(fitted):
        assert is_no_better(larger, smaller)
        assert weight(larger) >= weight(smaller)


@given(st.data())
def test_lead_with_a_bad_route_is_never_rated_better_than_one_without(data: st.DataObject) -> None:
    line = tap_of(data)
    lead = {name: value for name, value in line["lead"].items() if name != "route"}
    plain = ratings(bench_with(), line | {"lead": lead})
    routed = ratings(bench_with(), line | {"lead": lead | {"route": data.draw(routes)}})

    assert [kind for kind in plain if not is_no_better(routed[kind], plain[kind])] == []


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


@given(st.data())
def test_names_do_not_count(data: st.DataObject) -> None:
    """Every id of the reference and of the survey is changed for another at random."""
    written = bench_data()
    reference = reference_from(written)
    lines = data.draw(plantings(reference))
    assume(not as_found_from(reference, *lines).choices)  # of several that fit, the first by name is drawn
    ids = [one["id"] for name in ("zones", "circuits", "devices", "splices", "wires") for one in written[name]]
    ids += [line["id"] for line in lines]
    numbers = data.draw(st.permutations(range(len(ids))))
    names = {own: f"N{number:03}" for own, number in zip(ids, numbers, strict=True)}

    assert profile(reference_from(renamed(written, names)), renamed(lines, names)) == profile(reference, lines)


def test_name_of_a_wire_does_not_count_where_a_lead_joins_it_to_the_battery(bench: Reference) -> None:
    """The lead is as unprotected as the wire, whichever of the two comes first in the order of names."""
    written = bench_data()
    line: Json = {"kind": "bridge", "id": "b", "from": {"wire": "W1"}, "to": {"terminal": "BAT:+"}}
    names = {"W1": "A1"}

    assert profile(reference_from(renamed(written, names)), [renamed(line, names)]) == profile(bench, [line])


@given(st.data())
def test_notes_photographs_and_labels_do_not_count(data: st.DataObject) -> None:
    line = tap_of(data)
    photographs = [{"id": "P1", "path": "photographs/p1.jpg"}]
    said = line | {"note": "smells of burning, the owner says; looks fine to me", "photographs": ["P1"], "who": "A"}
    plain = case_from(bench_with(), line, photographs=photographs)
    noted = case_from(bench_with(), said, photographs=photographs)

    assert [one.rating for one in plain.findings.findings] == [one.rating for one in noted.findings.findings]
    assert [one.id for one in plain.findings.findings] == [one.id for one in noted.findings.findings]


# -- the matrix, and what is acceptable


@pytest.mark.parametrize(("index", "letter"), [*enumerate("EEDDCCBBAA"), (15, "A")])
def test_probability_letter_follows_from_the_index(index: int, letter: str) -> None:
    assert probability_of(index) == letter


def consistent(finding: Finding) -> bool:
    rating = finding.rating
    worst = max((one.level for one in rating.mechanisms), key=level_rank, default=ACCEPTABLE)
    in_order = [level_rank(one.level) for one in rating.mechanisms]
    return (
        (worst == rating.worst or finding.kind in ("other", "unrecognised"))
        and in_order == sorted(in_order, reverse=True)
        and all(one.level == risk_matrix()[one.severity, one.probability] for one in rating.mechanisms)
        and all(one.probability == probability_of(one.index) for one in rating.mechanisms)
        and all(reason.source for one in rating.mechanisms for reason in one.reasons)
        and level_rank(rating.best) <= level_rank(rating.worst)
    )


@given(st.data())
def test_level_is_that_of_the_worst_mechanism_and_every_reason_has_a_source(data: st.DataObject) -> None:
    reference = reference_from(bench_data())
    findings = case_from(reference, *data.draw(plantings(reference))).findings.findings

    assert [one.modification for one in findings if not consistent(one)] == []


def test_demo_s_levels_are_those_of_their_worst_mechanisms(van: Reference, demo_survey: Survey) -> None:
    findings = assess(van, demo_survey, electrical=False).findings.findings

    assert [(one.number, one.kind, one.observations) for one in findings if not consistent(one)] == []


def test_finding_without_a_mechanism_is_acceptable_and_has_no_cell(van: Reference, demo_survey: Survey) -> None:
    findings = [one for one in assess(van, demo_survey, electrical=False).findings.findings if one.kind != "other"]

    assert any(not one.rating.mechanisms for one in findings)
    assert all((one.rating.worst == ACCEPTABLE) == (not one.rating.mechanisms) for one in findings)


@pytest.mark.parametrize("line", [
    {"kind": "tap", "on": {"wire": "W12"}, "joint": CRIMP, "lead": SOUND_LEAD, "to": BOX},
    {"kind": "tap", "on": {"terminal": "R1:30"}, "joint": {"type": "plug_in"}, "lead": SOUND_LEAD, "to": BOX},
    {"kind": "tap", "on": {"wire": "W12"}, "joint": {"type": "solder", "tool": "iron", "cover": "tape"},
     "lead": SOUND_LEAD, "to": BOX},
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


def test_joint_not_made_for_its_wire_is_rated_worse(bench: Reference) -> None:
    """W21 has 1.5 mm²: a crimp that is sound in itself is not, and a poor tap gets poorer."""

    def rating(joint: Json, range_mm2: list[float]) -> Rating:
        line = {"kind": "tap", "id": "t", "on": {"wire": "W21"}, "joint": joint | {"range_mm2": range_mm2},
                "lead": SOUND_LEAD | {"size_mm2": 1.5}, "to": BOX}  # fmt: skip
        return found(case_from(bench, line), "tap").rating

    poor = {"type": "insulation_displacement", "tool": "pliers", "cover": "none"}

    assert not rating(CRIMP, [1.0, 2.5]).flagged
    assert rating(CRIMP, [0.5, 1.0]).flagged
    assert weight(rating(poor, [0.5, 1.0])) > weight(rating(poor, [1.0, 2.5]))


def test_rings_on_a_clean_stud_are_ordinary_up_to_what_practice_allows(bench: Reference) -> None:
    ring = {"type": "ring_terminal", "fixing": "factory_stud", "bare_metal": "yes", "condition": ["clean"]}

    def flagged(rings: int) -> bool:
        joint = ring | {"rings_on_stud": rings}
        line = {"kind": "lead", "id": "l", **SOUND_LEAD, "end_1": {"device": "d", "pin": "-"},
                "end_2": {"terminal": "GND1:1", "joint": joint}}  # fmt: skip
        box = {"kind": "device", "id": "d", "sort": "beeper", "terminals": ["-"]}
        return found(case_from(bench, box, line), "added_ground").rating.flagged

    assert [flagged(rings) for rings in (1, 2, 4, 5)] == [False, False, False, True]


def test_what_nobody_can_tell_is_rated_over_the_whole_matrix(bench: Reference) -> None:
    (finding,) = case_from(bench, {"kind": "other", "id": "o", "note": "hums"}).findings.findings

    assert (finding.rating.best, finding.rating.worst, finding.rating.certain) == (ACCEPTABLE, "High", False)


def test_surroundings_are_recorded_and_no_hazard_of_their_own(bench: Reference) -> None:
    line = {"kind": "surroundings", "id": "e", "zone": "Z_TAIL", "wet": True}
    (finding,) = case_from(bench, line).findings.findings

    assert not finding.rating.flagged


def test_security_and_ownership_stand_beside_the_matrix_and_never_in_it(bench: Reference) -> None:
    """The same box, once an alarm of the lender's and once nobody's: the same mechanisms."""
    alarm = {"kind": "device", "id": "d", "sort": "alarm", "terminals": ["+"], "function": "alarm", "owner": "lender"}
    plain = {"kind": "device", "id": "d", "sort": "other", "terminals": ["+"]}
    tap = {"kind": "tap", "id": "t", "on": {"wire": "W40"}, "joint": {"type": "twisted"}, "lead": SOUND_LEAD}
    lenders, nobodys = (
        found(case_from(bench, box, tap | {"to": {"device": "d", "pin": "+"}}), "tap") for box in (alarm, plain)
    )

    assert set(lenders.rating.beside) == {"security", "owner_other"}
    assert {"security", "owner_other"} <= codes(lenders)
    assert (nobodys.rating.beside, nobodys.rating.mechanisms) == ((), lenders.rating.mechanisms)


GRAVE: list[tuple[str, Json, str]] = [
    ("feed at the battery, not protected", {"kind": "tap", "on": {"terminal": "BAT:+"}, "joint": CRIMP}, "High"),
    ("restraint touched", {"kind": "tap", "on": {"wire": "W51"}, "joint": CRIMP}, "High"),
    ("fuse at three times the limit", {"kind": "substitution", "element": "F3", "fitted": {"rating_A": 30}}, "High"),
    ("fuse bridged", {"kind": "substitution", "element": "F3", "fitted": {"state": "slug"}}, "High"),
    ("brake lamps dead", {"kind": "cut", "wire": "W32"}, "High"),
]


@pytest.mark.parametrize(("line", "least"), [row[1:] for row in GRAVE], ids=[row[0] for row in GRAVE])
def test_grave_work_is_never_rated_below_its_floor(bench: Reference, line: Json, least: str) -> None:
    findings = case_from(bench, line | {"id": "o", "lead": SOUND_LEAD} if line["kind"] == "tap" else line | {"id": "o"})
    worst = max((one.rating.worst for one in findings.findings.findings), key=level_rank)

    assert level_rank(worst) >= level_rank(least)


def test_levels_and_probabilities_are_the_standard_s_least_first() -> None:
    assert LEVELS == ("Low", "Medium", "Serious", "High")
    assert PROBABILITIES == ("E", "D", "C", "B", "A")
    assert [level_rank(one) for one in (ACCEPTABLE, *LEVELS)] == [0, 1, 2, 3, 4]
