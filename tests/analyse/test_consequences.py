"""What follows from the way things are joined: supply, protection, quality of leads. Solved by hand on the bench."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.support import Json, body, case_from, codes, found, lamp, rig, run, slot, source

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.modification import Fact
    from harnessdiff.model.reference import Reference

CRIMP = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}
LOAD = [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 0.3}]
NEAR_FUSE = {"kind": "fuse", "rating_A": 5, "distance_m": 0.1}

# Greatest fuse in a vehicle for a copper conductor, by the prudent table of the trade (common practice).
LIMITS_A = [
    (0.35, 5), (0.5, 7.5), (0.75, 10), (1.0, 15), (1.5, 20), (2.5, 30),
    (4, 40), (6, 60), (10, 80), (16, 125), (25, 150),
]  # fmt: skip


def tapped(reference: Reference, on: str, lead: Json | None = None, **more: object) -> Finding:
    """The finding of a tap with this lead; its far end is not traced unless said otherwise."""
    place = {"terminal": on} if ":" in on else {"wire": on}
    line: Json = {"kind": "tap", "id": "t", "on": place, "joint": CRIMP, **({"lead": lead} if lead else {}), **more}
    (finding,) = case_from(reference, line).findings.findings
    return finding


def fact(finding: Finding, code: str) -> Fact:
    (one,) = (one for one in finding.modification.facts if one.code == code)
    return one


# -- protection

PROTECTION: list[tuple[str, str, Json, set[str]]] = [
    ("before every fuse, none of its own", "W1", {"size_mm2": 4}, {"unprotected"}),
    ("at the battery post", "BAT:+", {"size_mm2": 4}, {"unprotected"}),
    ("before every fuse, its own near", "W1", {"size_mm2": 4, "inline": [NEAR_FUSE]}, set()),
    # 33 CFR 183.455(b)(1): within 7 in of the source along the conductor; 7 in are 0.1778 m. Boats, by analogy.
    ("its own at 0.1778 m", "W1", {"size_mm2": 4, "inline": [NEAR_FUSE | {"distance_m": 0.1778}]}, set()),
    (
        "its own at 7 in", "W1",
        {"size_mm2": 4, "inline": [NEAR_FUSE | {"distance_m": {"exact": 7, "unit": "in"}}]}, set(),
    ),
    ("its own at 0.1779 m", "W1", {"size_mm2": 4, "inline": [NEAR_FUSE | {"distance_m": 0.1779}]}, {"far_end_fuse"}),
    ("its own somewhere", "W1", {"size_mm2": 4, "inline": [{"kind": "fuse", "rating_A": 5}]}, {"far_end_fuse"}),
    (
        "its own within a range", "W1",
        {"size_mm2": 4, "inline": [NEAR_FUSE | {"distance_m": {"min": 0.1, "max": 0.3}}]}, {"far_end_fuse"},
    ),
    (
        "its own of a rating nobody read", "W1", {"size_mm2": 0.5, "inline": [{"kind": "fuse", "distance_m": 0.1}]},
        {"over_fused_perhaps"},
    ),
    (
        "its own of 5 or 30 A", "W1", {"size_mm2": 0.5, "inline": [NEAR_FUSE | {"rating_A": {"one_of": [5, 30]}}]},
        {"over_fused_perhaps"},
    ),
    (
        "its own of 3 or 5 A", "W1", {"size_mm2": 0.5, "inline": [NEAR_FUSE | {"rating_A": {"one_of": [3, 5]}}]},
        set(),
    ),
    ("its own is a slug", "W1", {"size_mm2": 4, "inline": [NEAR_FUSE | {"state": "slug"}]}, {"unprotected"}),
    ("behind 5 A, thin", "W40", {"size_mm2": 0.35}, set()),
    ("behind 60 A, thin", "W2", {"size_mm2": 1.0}, {"over_fused"}),
    ("behind 60 A, thick", "W2", {"size_mm2": 6}, set()),
    ("behind 60 A, thin, its own near", "W2", {"size_mm2": 0.5, "inline": [NEAR_FUSE]}, set()),
    (
        "behind 60 A, thin, its own far", "W2",
        {"size_mm2": 0.5, "inline": [NEAR_FUSE | {"distance_m": 0.5}]}, {"over_fused"},
    ),
    ("behind 5 A, size not known, and nothing thinner than 0.35 is likely", "W40", {}, set()),
    ("behind 7.5 A or more, size not known", "W30", {}, {"over_fused_perhaps"}),
    ("behind 5 A, at least 0.35", "W40", {"size_mm2": {"min": 0.35}}, set()),
    ("behind 5 A, 0.22 to 0.5", "W40", {"size_mm2": {"min": 0.22, "max": 0.5}}, {"over_fused_perhaps"}),
    ("behind 5 A, thinner than the table", "W40", {"size_mm2": 0.22}, {"over_fused"}),
    ("behind an output of 4 A", "W43", {"size_mm2": 0.35}, set()),
    ("on ground", "W33", {"size_mm2": 0.35}, set()),
]  # fmt: skip
PROTECTIVE = {"unprotected", "unprotected_perhaps", "far_end_fuse", "over_fused", "over_fused_perhaps"}


@pytest.mark.parametrize(
    ("on", "lead", "expected"), [row[1:] for row in PROTECTION], ids=[row[0] for row in PROTECTION]
)
def test_lead_is_protected_as_found_by_hand(bench: Reference, on: str, lead: Json, expected: set[str]) -> None:
    assert codes(tapped(bench, on, lead)) & PROTECTIVE == expected


def one_fuse(rating_A: float) -> Reference:
    wires = run("BAT:-", "BODY:1", "BAT:+", "F:in", "F:out", "E:1", size_mm2=50)
    return rig([source(), body(), *slot("F", rating_A), lamp("E")], wires)


@pytest.mark.parametrize(("size_mm2", "limit_A"), LIMITS_A)
def test_lead_at_its_limit_is_protected_and_above_it_is_not(size_mm2: float, limit_A: float) -> None:
    at_limit = tapped(one_fuse(limit_A), "W_E_1", {"size_mm2": size_mm2})
    above = tapped(one_fuse(limit_A + 0.5), "W_E_1", {"size_mm2": size_mm2})
    said = fact(above, "over_fused")

    assert codes(at_limit) & PROTECTIVE == set()
    assert (said.get("rating_A"), said.get("limit_A"), said.get("fuse")) == (limit_A + 0.5, limit_A, "F")
    assert said.get("table") == "prudent vehicle table"


@pytest.mark.parametrize(("awg", "limit_A"), [(20, 7.5), (18, 10), (16, 15), (14, 20), (12, 30)])
def test_gauge_meets_the_metric_size_below_it(awg: int, limit_A: float) -> None:
    """AWG 20, 18, 16, 14, 12 are 0.518, 0.823, 1.31, 2.08, 3.31 mm² (secondary copy): 0.5, 0.75, 1.0, 1.5, 2.5."""
    lead = {"size_mm2": {"exact": awg, "unit": "AWG"}}

    assert "over_fused" not in codes(tapped(one_fuse(limit_A), "W_E_1", lead))
    assert "over_fused" in codes(tapped(one_fuse(limit_A + 0.5), "W_E_1", lead))


@given(
    st.sampled_from([size for size, _ in LIMITS_A]),
    st.sampled_from([size for size, _ in LIMITS_A]),
    st.sampled_from([3.0, 5.0, 10.0, 20.0, 40.0, 80.0, 150.0]),
    st.sampled_from([3.0, 5.0, 10.0, 20.0, 40.0, 80.0, 150.0]),
)
def test_thinner_lead_or_larger_fuse_is_never_better_protected(
    one: float, other: float, fuse: float, fuse_2: float
) -> None:
    better = tapped(one_fuse(min(fuse, fuse_2)), "W_E_1", {"size_mm2": max(one, other)})
    worse = tapped(one_fuse(max(fuse, fuse_2)), "W_E_1", {"size_mm2": min(one, other)})

    assert codes(better) & PROTECTIVE <= codes(worse) & PROTECTIVE


@pytest.mark.parametrize(("distance_m", "expected"), [(1.9, set()), (0.1, {"far_end_fuse"})])
def test_fuse_is_measured_from_the_end_that_the_source_is_at(
    bench: Reference, distance_m: float, expected: set[str]
) -> None:
    """A lead of 2 m with its end 2 on the battery: a fuse 1.9 m from end 1 is 0.1 m from the battery."""
    lines: list[Json] = [
        {"kind": "joint", "id": "j", "members": [{"terminal": "BAT:+"}], **CRIMP},
        {"kind": "lead", "id": "l", "size_mm2": 4, "length_m": 2, "inline": [NEAR_FUSE | {"distance_m": distance_m}],
         "end_1": {"not_traced": True}, "end_2": {"joined": "j"}},
    ]  # fmt: skip

    assert codes(found(case_from(bench, *lines), "tap")) & PROTECTIVE == expected


def test_piece_put_into_a_cable_that_the_maker_left_unfused_is_not_the_owner_s_fault(bench: Reference) -> None:
    line = {
        "kind": "repair",
        "id": "r",
        "wire": "W1",
        "joints": [CRIMP],
        "insert": {"size_mm2": 10, "material": "copper"},
    }

    assert codes(found(case_from(bench, line), "repair")) & PROTECTIVE == set()


BOX: Json = {"kind": "device", "id": "d", "sort": "other", "terminals": ["+", "-"], "contents": LOAD}


def lead_to(place: Json, size_mm2: float = 1.0, **more: object) -> Json:
    """A lead of 3 m from a place to the box."""
    return {"kind": "lead", "id": "l", "size_mm2": size_mm2, "length_m": 3, "end_1": place,
            "end_2": {"device": "d", "pin": "+"}, **more}  # fmt: skip


def test_lead_that_leaves_an_unfused_cable_is_not_a_piece_of_it(bench: Reference) -> None:
    """W1 was cut and joined again, and a lead put in with it; or a lead was put under its end."""
    cut: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W1"},
        {"kind": "joint", "id": "j", "members": [{"cut": "c", "side": 1}, {"cut": "c", "side": 2}], **CRIMP},
    ]
    under: list[Json] = [{"kind": "joint", "id": "j", "members": [{"wire": "W1", "end": 2}], **CRIMP}]

    for lines, kind in ((cut, "tap"), (under, "moved_pin")):
        finding = found(case_from(bench, *lines, lead_to({"joined": "j"}), BOX), kind)
        assert codes(finding) >= {"unprotected", "adds_load"}


def test_isolator_put_into_an_unfused_cable_is_a_piece_of_it(bench: Reference) -> None:
    line = {
        "kind": "insertion", "id": "i", "in": {"wire": "W1"}, "joints": [CRIMP, CRIMP],
        "leads": [{"size_mm2": 10, "length_m": 1}, {"size_mm2": 10, "length_m": 1}],
        "device": {"kind": "switch", "terminals": ["1", "2"], "positions": ["on", "off"],
                   "contents": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}]},
        "pins": ["1", "2"],
    }  # fmt: skip

    assert codes(found(case_from(bench, line), "insertion")) & PROTECTIVE == set()


@pytest.mark.parametrize(("distance_m", "expected"), [(2.9, set()), (0.1, {"over_fused"})])
def test_own_fuse_counts_from_the_end_that_is_fed(bench: Reference, distance_m: float, expected: set[str]) -> None:
    """A lead of 0.5 mm² and 3 m with its end 2 on 15 A, which is too much for it; its own 5 A counts near there."""
    lines: list[Json] = [
        {"kind": "joint", "id": "j", "members": [{"terminal": "F2:out"}], **CRIMP},
        {"kind": "lead", "id": "l", "size_mm2": 0.5, "length_m": 3, "inline": [NEAR_FUSE | {"distance_m": distance_m}],
         "end_1": {"device": "d", "pin": "+"}, "end_2": {"joined": "j"}},
        BOX,
    ]  # fmt: skip

    assert codes(found(case_from(bench, *lines), "tap")) & PROTECTIVE == expected


def test_slug_in_a_lead_leaves_it_behind_the_fuse_before_it(bench: Reference) -> None:
    finding = tapped(bench, "F2:out", {"size_mm2": 0.5, "inline": [NEAR_FUSE | {"state": "slug"}]})

    assert codes(finding) & PROTECTIVE == {"over_fused"}


@pytest.mark.parametrize("order", [1, -1])
def test_nearest_of_two_fuses_in_a_lead_counts_in_whatever_order_they_are_listed(bench: Reference, order: int) -> None:
    inline = [{"kind": "fuse", "distance_m": 2.5, "rating_A": 10}, NEAR_FUSE | {"rating_A": 25}][::order]
    finding = tapped(bench, "BAT:+", {"size_mm2": 2.5, "length_m": 3, "inline": inline})

    assert codes(finding) & PROTECTIVE == set()


UNKNOWN_CONTENTS = [
    ("switch", "W40", 0.22, {"over_fused_perhaps"}),
    ("switch", "W40", 0.35, set()),
    ("switch", "BAT:+", 4, {"unprotected_perhaps"}),
    ("fuse_slot", "F2:out", 0.5, {"over_fused_perhaps"}),
]


@pytest.mark.parametrize(("kind", "on", "size_mm2", "expected"), UNKNOWN_CONTENTS)
def test_lead_behind_what_nobody_opened_may_be_fed_through_it(
    bench: Reference, kind: str, on: str, size_mm2: float, expected: set[str]
) -> None:
    """The lead to the switch or holder is thick enough for its fuse; the one behind it is looked at."""
    place = {"terminal": on} if ":" in on else {"wire": on}
    lines: list[Json] = [
        {"kind": "device", "id": "s", "sort": kind, "terminals": ["1", "2"]},
        {
            "kind": "tap",
            "id": "t",
            "on": place,
            "joint": CRIMP,
            "lead": {"size_mm2": 2.5},
            "to": {"device": "s", "pin": "1"},
        },
        lead_to({"device": "s", "pin": "2"}, size_mm2),
        BOX,
    ]

    assert codes(found(case_from(bench, *lines), "tap")) & PROTECTIVE - {"unprotected"} == expected


def test_relay_that_nobody_opened_may_feed_what_it_does_not_ground(bench: Reference) -> None:
    """Its coil is on ground, which must not make ground of all the rest."""
    lines: list[Json] = [
        {"kind": "device", "id": "k", "sort": "relay", "terminals": ["30", "87", "85", "86"]},
        {"kind": "tap", "id": "t", "on": {"terminal": "F2:out"}, "lead": {"size_mm2": 2.5},
         "to": {"device": "k", "pin": "30"}},
        {"kind": "lead", "id": "g", "size_mm2": 1.0, "end_1": {"device": "k", "pin": "85"}, "end_2": {"metal": "body"}},
        lead_to({"device": "k", "pin": "87"}, 0.5),
        BOX,
    ]  # fmt: skip

    assert "over_fused_perhaps" in codes(found(case_from(bench, *lines), "tap"))


def test_missing_protection_is_said_where_the_current_comes_in(bench: Reference) -> None:
    """Not at the ground of the same box, whose leads carry the same current."""
    lines: list[Json] = [
        {"kind": "device", "id": "d", "sort": "other", "terminals": ["+", "-"], "contents": LOAD},
        {"kind": "lead", "id": "l", "size_mm2": 1.0, "end_1": {"terminal": "BAT:+", "joint": CRIMP},
         "end_2": {"device": "d", "pin": "+"}},
        {"kind": "lead", "id": "g", "size_mm2": 1.0, "end_1": {"device": "d", "pin": "-"}, "end_2": {"metal": "body"}},
    ]  # fmt: skip
    case = case_from(bench, *lines)

    assert "unprotected" in codes(found(case, "tap"))
    assert "unprotected" not in codes(found(case, "added_ground"))


def test_lead_without_protection_weighs_on_its_route(bench: Reference) -> None:
    route = [{"kind": "passes_through", "what": "bulkhead", "protected_by": "none"}]
    line = {"kind": "tap", "id": "t", "on": {"terminal": "BAT:+"}, "lead": {"size_mm2": 4, "route": route}}

    assert "unprotected" in codes(found(case_from(bench, line), "routing"))


# -- the maker's wires behind what was not theirs

EXPOSED = [
    ("BUS:3", "SP1", "over_fused", ("W10", "F0", 60, 10)),
    ("F2:out", "SP1", "over_fused", ("W10", "F2", 15, 10)),
    ("F2:out", "S3:1", "over_fused", ("W30", "F2", 15, 10)),
    ("F0:in", "K1:87", "unprotected", ("W20", None, None, None)),
]


@pytest.mark.parametrize(("one", "other", "code", "expected"), EXPOSED)
def test_bridge_holds_the_maker_s_wires_against_the_fuse_they_now_hang_on(
    bench: Reference, one: str, other: str, code: str, expected: tuple[object, ...]
) -> None:
    """All wires of the side lamps and of the brake lamp are of 0.75 mm², for which 10 A is the most.

    Of wires equally exposed the first is named; a switch or relay between may be closed.
    """
    ends = {"from": {"terminal": one}, "to": {"terminal": other}}
    line = {"kind": "bridge", "id": "b", **ends, "joints": [CRIMP, CRIMP], "lead": {"size_mm2": 25, "length_m": 0.1}}
    (finding,) = case_from(bench, line).findings.findings
    said = [one for one in finding.modification.facts if one.code == code and not str(one.get("lead")).startswith("+")]

    assert [tuple(one.get(name) for name in ("lead", "fuse", "rating_A", "limit_A")) for one in said] == [expected]


def test_relay_that_joins_two_circuits_exposes_the_thinner_wires(bench: Reference) -> None:
    """Its contact lies between the horn, behind 15 A, and the side lamps, whose wires may have 10 A."""
    parts = [{"kind": "link", "between": ["30", "87"], "when": {"energised": True}}]
    lines: list[Json] = [
        {"kind": "device", "id": "k", "sort": "relay", "terminals": ["30", "87"], "contents": parts},
        {
            "kind": "tap",
            "id": "t",
            "on": {"wire": "W20"},
            "lead": {"size_mm2": 2.5},
            "to": {"device": "k", "pin": "30"},
        },
        {
            "kind": "tap",
            "id": "u",
            "on": {"wire": "W12"},
            "lead": {"size_mm2": 2.5},
            "to": {"device": "k", "pin": "87"},
        },
    ]
    found_at = {one.modification.elements: one for one in case_from(bench, *lines).findings.findings}

    assert fact(found_at[("W12",)], "over_fused").get("fuse") == "F2"
    assert codes(found_at[("W20",)]) & PROTECTIVE == set()


def test_bridge_behind_one_fuse_exposes_nothing(bench: Reference) -> None:
    ends = {"from": {"terminal": "S3:1"}, "to": {"terminal": "S3:2"}}
    line = {"kind": "bridge", "id": "b", **ends, "joints": [CRIMP, CRIMP], "lead": {"size_mm2": 1.0}}
    (finding,) = case_from(bench, line).findings.findings

    assert codes(finding) & PROTECTIVE == set()


def test_wire_moved_past_its_fuse_is_unprotected(bench: Reference) -> None:
    line = {"kind": "moved", "id": "m", "wire": "W2", "end": 1, "to": {"terminal": "BAT:+"}}

    finding = found(case_from(bench, line), "moved_pin")

    assert fact(finding, "unprotected").get("lead") == "W2"
    assert "joins_circuits" not in codes(finding)


def test_wire_of_a_changed_fuse_is_told_once(bench: Reference) -> None:
    """The tap adds nothing to what the larger fuse does to the maker's wire."""
    lines: list[Json] = [
        {"kind": "substitution", "id": "s", "element": "F3", "fitted": {"rating_A": 30}},
        {"kind": "tap", "id": "t", "on": {"wire": "W30"}, "joint": CRIMP, "lead": {"size_mm2": 2.5}},
    ]

    assert codes(found(case_from(bench, *lines), "tap")) & PROTECTIVE == set()


# -- a fuse that is not the one it should be


def other_fuse(bench: Reference, **fitted: object) -> Finding:
    (finding,) = case_from(
        bench, {"kind": "substitution", "id": "s", "element": "F3", "fitted": fitted}
    ).findings.findings
    return finding


def test_larger_fuse_is_held_against_the_thinnest_wire_behind_it(bench: Reference) -> None:
    said = fact(other_fuse(bench, rating_A=30), "over_fused")

    assert (said.get("rating_A"), said.get("size_mm2"), said.get("limit_A")) == (30, 0.75, 10)
    assert said.get("lead") in ("W30", "W31", "W32")


UNREAD: list[tuple[Json, float]] = [
    ({"rating_A": "unknown"}, 40),
    ({}, 40),
    ({"rating_A": {"one_of": [10, 30]}}, 30),
    ({"rating_A": {"min": 10, "max": 20}}, 20),
]


@pytest.mark.parametrize(("fitted", "greatest_A"), UNREAD)
def test_fuse_that_nobody_read_may_be_right_or_the_greatest_of_its_body(
    bench: Reference, fitted: Json, greatest_A: float
) -> None:
    """A blade of type C is made up to 40 A (ISO 8820-3, secondary copy)."""
    finding = other_fuse(bench, **fitted)

    assert finding.kind == "wrong_rated_protection"
    assert codes(finding) >= {"rating_perhaps", "over_fused_perhaps"}
    assert fact(finding, "over_fused_perhaps").get("greatest_A") == greatest_A
    assert (finding.rating.best, finding.rating.worst) == ("acceptable", "High")


def test_relay_of_which_nothing_is_said_is_another_part(bench: Reference) -> None:
    case = case_from(bench, {"kind": "substitution", "id": "s", "element": "K1"})
    finding = found(case, "substituted_part")

    assert fact(finding, "substituted").get("label") == "unknown"
    assert finding.rating.best != finding.rating.worst


def test_larger_fuse_that_has_blown_is_both(bench: Reference) -> None:
    finding = other_fuse(bench, rating_A=30, state="blown")

    assert {"rating", "over_fused", "blown"} <= codes(finding)
    assert any(one.code == "function_lost" for one in finding.rating.mechanisms)


def test_smaller_fuse_overloads_no_wire(bench: Reference) -> None:
    assert codes(other_fuse(bench, rating_A=5)) & PROTECTIVE == set()


def test_slug_protects_nothing(bench: Reference) -> None:
    assert "unprotected" in codes(other_fuse(bench, state="slug"))


def test_what_hangs_on_a_changed_fuse_is_named(bench: Reference) -> None:
    assert fact(other_fuse(bench, rating_A=30), "shares_fuse").get("loads") == ("E3",)


def test_thinner_wire_behind_the_same_fuse_is_over_fused(bench: Reference) -> None:
    """F2 is 15 A; 1.0 mm² may have that, 0.75 mm² may not."""
    line = {"kind": "substitution", "id": "s", "wire": "W21"}
    thin, thinner = (
        codes(found(case_from(bench, line | {"fitted": {"size_mm2": size}}), "thinner_conductor"))
        for size in (1.0, 0.75)
    )

    assert (thin & PROTECTIVE, thinner & PROTECTIVE) == (set(), {"over_fused"})


# -- supply

STATES = [
    ("W40", "permanent_supply"),
    ("W2", "permanent_supply"),
    ("F3:out", "permanent_supply"),
    ("W43", "switched_supply"),
    ("W32", "switched_supply"),
    ("W21", "switched_supply"),
]


@pytest.mark.parametrize(("on", "code"), STATES)
def test_tap_says_whether_what_it_is_on_is_always_live(bench: Reference, on: str, code: str) -> None:
    assert codes(tapped(bench, on)) & {"permanent_supply", "switched_supply"} == {code}


def test_ground_is_no_supply(bench: Reference) -> None:
    assert codes(tapped(bench, "W33")) & {"permanent_supply", "switched_supply"} == set()


LOOSE: list[tuple[str, str, Json, set[str]]] = [
    ("on a live wire, nobody tried", "W40", {"treatment": "bare"}, {"loose_end_live"}),
    ("on a switched wire, nobody tried", "W32", {"treatment": "bare"}, {"loose_end_live"}),
    ("found live", "W33", {"treatment": "bare", "live_in": ["asleep"]}, {"loose_end_live"}),
    ("found dead", "W40", {"treatment": "bare", "live_in": []}, {"loose_end_dead"}),
    ("on ground, nobody tried", "W33", {"treatment": "bare"}, set()),
]


@pytest.mark.parametrize(("on", "loose", "expected"), [row[1:] for row in LOOSE], ids=[row[0] for row in LOOSE])
def test_loose_end_is_live_as_seen_or_else_as_the_wiring_says(
    bench: Reference, on: str, loose: Json, expected: set[str]
) -> None:
    finding = tapped(bench, on, {"size_mm2": 1.0}, to={"loose": loose})

    assert codes(finding) & {"loose_end_live", "loose_end_dead"} == expected


@pytest.mark.parametrize(("loose", "expected"), [
    ({"treatment": "taped", "live_in": ["ignition"]}, {"loose_end", "loose_end_live"}),
    ({"treatment": "taped"}, {"loose_end", "loose_end_live"}),
    ({"treatment": "taped", "live_in": []}, {"loose_end", "loose_end_dead"}),
])  # fmt: skip
def test_end_of_a_wire_taken_off_its_terminal_is_live_as_any_loose_end(
    bench: Reference, loose: Json, expected: set[str]
) -> None:
    """W30 comes from its fuse; its end 2 was at the brake lamp switch."""
    line = {"kind": "moved", "id": "m", "wire": "W30", "end": 2, "to": {"loose": loose}}
    finding = found(case_from(bench, line), "open_circuit")

    assert codes(finding) & {"loose_end", "loose_end_live", "loose_end_dead"} == expected


def test_bridge_between_two_fuses_of_one_circuit_names_both() -> None:
    """Both lamps are of one circuit, as high beams left and right are; the lead joins what two fuses fed apart."""
    wires = run("BAT:+", "F:in", "F:out", "E:1", "BAT:+", "K:in", "K:out", "H:1")
    reference = rig([source(), body(), *slot("F", 10), *slot("K", 10), lamp("E"), lamp("H")],
                    [*run("BAT:-", "BODY:1"), *({**one, "circuit": "C_ANY"} for one in wires)])  # fmt: skip

    def bridged(one: str, other: str) -> Finding:
        line = {"kind": "bridge", "id": "b", "from": {"terminal": one}, "to": {"terminal": other}}
        return found(case_from(reference, line), "bridge")

    finding = bridged("E:1", "H:1")

    assert fact(finding, "joins_fuses").get("fuses") == ("F", "K")
    assert "joins_circuits" not in codes(finding)
    assert "joins_fuses" not in codes(bridged("E:1", "BODY:1"))


def test_live_side_of_a_cut_is_named(bench: Reference) -> None:
    finding = found(case_from(bench, {"kind": "cut", "id": "c", "wire": "W30"}), "open_circuit")

    assert fact(finding, "cut_end_live").get("nodes") == ("+c#1",)


def test_side_of_a_cut_that_sits_in_a_joint_is_no_bare_end(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W30"},
        {"kind": "joint", "id": "j", "members": [{"cut": "c", "side": 1}, {"lead": "l", "end": 1}], **CRIMP},
        lead_to({"joined": "j"}),
        BOX,
    ]

    assert "cut_end_live" not in codes(found(case_from(bench, *lines), "open_circuit"))


def test_how_a_live_end_was_treated_moves_the_rating(bench: Reference) -> None:
    """Of a cut wire, and of one taken off its terminal: capped is better than taped, and that than bare."""
    for kind in ("cut", "moved"):
        indices = []
        for treatment in ("capped", "taped", "bare"):
            end = {"end_1": {"treatment": treatment}} if kind == "cut" else {
                "end": 2, "to": {"loose": {"treatment": treatment}}}  # fmt: skip
            finding = found(case_from(bench, {"kind": kind, "id": "c", "wire": "W40", **end}), "open_circuit")
            indices += [one.index for one in finding.rating.mechanisms if one.code == "short"]
        assert indices == [4, 6, 8]


@pytest.mark.parametrize(("live_in", "expected"), [(None, "loose_end_live"), ([], "loose_end_dead")])
def test_end_taken_off_is_live_as_found_or_as_the_wiring_says(
    bench: Reference, live_in: list[str] | None, expected: str
) -> None:
    loose: Json = {"treatment": "bare"} if live_in is None else {"treatment": "bare", "live_in": live_in}
    line = {"kind": "moved", "id": "m", "wire": "W40", "end": 2, "to": {"loose": loose}}
    said = codes(found(case_from(bench, line), "open_circuit"))

    assert said & {"loose_end_live", "loose_end_dead"} == {expected}


def test_fuse_in_another_slot_is_held_against_the_wires_of_that_slot(bench: Reference) -> None:
    """15 A in place of 10 A before wires of 0.75 mm², and 10 A where 15 A belong."""
    lines = [
        {"kind": "moved", "id": "m", "element": "F2", "to_slot": "F3"},
        {"kind": "moved", "id": "n", "element": "F3", "to_slot": "F2"},
    ]
    findings = {one.modification.root: one for one in case_from(bench, *lines).findings.findings}

    assert fact(findings["F2_FUSE"], "over_fused").get("limit_A") == 10
    assert fact(findings["F2_FUSE"], "moved").get("was") == "F2"
    assert codes(findings["F3_FUSE"]) & PROTECTIVE == set()


def test_load_on_a_fuse_names_what_dies_with_it(bench: Reference) -> None:
    box = {"device": {"kind": "beeper", "contents": LOAD}, "pin": "+"}
    on_fuse = fact(tapped(bench, "W40", to=box), "shares_fuse")
    on_output = fact(tapped(bench, "W43", to=box), "shares_fuse")

    assert (on_fuse.get("fuse"), on_fuse.get("loads")) == ("F4", ("E4", "R1", "U1"))
    assert on_output.get("loads") == ("E4",)
    assert "U1" in str(on_output.get("fuse"))


def test_second_battery_makes_two_sources(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "device", "id": "d", "sort": "battery", "terminals": ["+", "-"],
         "contents": [{"kind": "source", "between": ["+", "-"], "model": "battery", "voltage_V": 12.6}]},
        {"kind": "lead", "id": "l", "size_mm2": 16, "inline": [{"kind": "fuse", "rating_A": 100, "distance_m": 0.1}],
         "end_1": {"terminal": "BAT:+"}, "end_2": {"device": "d", "pin": "+"}},
        {"kind": "lead", "id": "g", "size_mm2": 16, "end_1": {"device": "d", "pin": "-"}, "end_2": {"metal": "body"}},
    ]  # fmt: skip
    case = case_from(bench, *lines)

    assert "two_sources" in codes(found(case, "tap"))


# -- place and material


@pytest.mark.parametrize(("zone", "wet"), [("Z_SILL", True), ("Z_TAIL", False)])
def test_wet_place_is_said_as_the_reference_has_it(bench: Reference, zone: str, wet: bool) -> None:
    assert ("wet_place" in codes(tapped(bench, "W31", zone=zone))) == wet


@pytest.mark.parametrize(("zone", "wet"), [({"zone": "Z_DASH"}, False), ({"zone": "Z_SILL"}, True), ({}, True)])
def test_route_lies_where_it_passes_what_it_should_not(bench: Reference, zone: Json, wet: bool) -> None:
    """The tap was seen in the wet sill; the hole in the route may be elsewhere."""
    hole = {"kind": "passes_through", "what": "panel_hole", "protected_by": "none"} | zone
    line = {"kind": "tap", "id": "t", "zone": "Z_SILL", "on": {"wire": "W31"}, "lead": {"route": [hole]}}

    assert ("wet_place" in codes(found(case_from(bench, line), "routing"))) == wet


def test_place_found_wet_is_wet(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "tap", "id": "t", "zone": "Z_TAIL", "on": {"wire": "W12"}},
        {"kind": "surroundings", "id": "e", "zone": "Z_TAIL", "wet": True},
    ]

    assert "wet_place" in codes(found(case_from(bench, *lines), "tap"))


MATERIALS: list[tuple[Json, set[str]]] = [
    ({"construction": "automotive", "material": "copper"}, set()),
    ({"construction": "welding_cable"}, set()),
    ({"construction": "solid_core"}, {"unsuitable_conductor"}),
    ({"construction": "house_wire"}, {"unsuitable_conductor"}),
    ({"construction": "mains_flex"}, {"unsuitable_conductor"}),
    ({"construction": "speaker_lead"}, {"unsuitable_conductor"}),
    ({"construction": "bell_wire"}, {"unsuitable_conductor"}),
    ({"material": "copper_clad_aluminium"}, {"unsuitable_conductor"}),
    ({"material": "aluminium"}, {"unsuitable_conductor"}),
    ({"size_mm2": 10, "size_claimed_mm2": 25}, {"size_claim_untrue"}),
    ({"size_mm2": 25, "size_claimed_mm2": 25}, set()),
    ({"size_mm2": {"min": 10, "max": 25}, "size_claimed_mm2": 25}, set()),
]


@pytest.mark.parametrize(("lead", "expected"), MATERIALS)
def test_lead_not_made_for_it_is_said(bench: Reference, lead: Json, expected: set[str]) -> None:
    finding = tapped(bench, "W40", {"size_mm2": 0.5} | lead)

    assert codes(finding) & {"unsuitable_conductor", "size_claim_untrue"} == expected
