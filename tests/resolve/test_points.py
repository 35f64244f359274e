"""Where along a wire a point is; and what is left open in the order of points."""

from __future__ import annotations

from typing import TYPE_CHECKING

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.graph import harness_graph
from harnessdiff.model.edit import Attached, edited
from harnessdiff.model.harness import Conductor, Point
from harnessdiff.model.quantity import Quantity
from tests.support import Json, as_found_from, bench_data, case_from, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.edit import AsFound
    from harnessdiff.model.reference import Reference

# W11 is 4 m long, from S1:58 (end 1, behind the dash) to the splice SP1 (end 2, at the tail).
# W12 is 0.5 m long, from SP1 (end 1) to E1:58 (end 2), which sits in the plug X1.
POINTS: list[tuple[str, str, Json, Point]] = [
    ("from end 1", "W11", {"from_end": 1, "distance_m": 0.3}, Point(low_m=0.3, high_m=0.3)),
    ("from end 2", "W11", {"from_end": 2, "distance_m": 0.3}, Point(low_m=3.7, high_m=3.7)),
    ("from no end said", "W11", {"distance_m": 0.3}, Point(low_m=0.3, high_m=0.3)),
    ("range from end 1", "W11", {"from_end": 1, "distance_m": {"min": 0.2, "max": 0.5}}, Point(low_m=0.2, high_m=0.5)),
    ("range from end 2", "W11", {"from_end": 2, "distance_m": {"min": 0.2, "max": 0.5}}, Point(low_m=3.5, high_m=3.8)),
    ("at most, from end 2", "W11", {"from_end": 2, "distance_m": {"max": 0.5}}, Point(low_m=3.5)),
    ("at least, from end 2", "W11", {"from_end": 2, "distance_m": {"min": 0.5}}, Point(high_m=3.5)),
    ("longer than the wire, from end 2", "W11", {"from_end": 2, "distance_m": 5}, Point(low_m=0.0, high_m=0.0)),
    ("in feet", "W11", {"from_end": 1, "distance_m": {"exact": 1, "unit": "ft"}}, Point(low_m=0.3048, high_m=0.3048)),
    ("near end 1", "W11", {"near_end": 1}, Point(low_m=0.0, high_m=2.0, near_end=1)),
    ("near end 2", "W11", {"near_end": 2}, Point(low_m=2.0, high_m=4.0, near_end=2)),
    ("near a device", "W11", {"near": "S1"}, Point(low_m=0.0, high_m=2.0, near_end=1)),
    ("near the zone of a splice", "W11", {"near": "Z_TAIL"}, Point(low_m=2.0, high_m=4.0, near_end=2)),
    ("near the zone of a device", "W11", {"near": "Z_DASH"}, Point(low_m=0.0, high_m=2.0, near_end=1)),
    ("near a plug", "W12", {"near": "X1"}, Point(low_m=0.25, high_m=0.5, near_end=2)),
    ("near a zone that both ends are in", "W12", {"near": "Z_TAIL"}, Point()),
    ("near something at neither end", "W11", {"near": "R1"}, Point()),
    ("nothing said", "W11", {}, Point()),
]  # fmt: skip


def point_of_tap(reference: Reference, wire: str, at: Json) -> Point | None:
    edits = as_found_from(reference, {"kind": "tap", "id": "t", "on": {"wire": wire, "at": at}}).edits
    (point,) = (edit.incidence.point for edit in edits if isinstance(edit, Attached) and edit.incidence.role == "on")
    return point


@pytest.mark.parametrize(("wire", "at", "point"), [row[1:] for row in POINTS], ids=[row[0] for row in POINTS])
def test_point_is_counted_from_end_1(bench: Reference, wire: str, at: Json, point: Point) -> None:
    assert point_of_tap(bench, wire, at) == point


@pytest.mark.parametrize("length_m", ["unknown", {"min": 3.0, "max": 4.0}])
def test_point_from_end_2_of_a_wire_of_unsure_length_is_bounded_by_what_is_known(length_m: Json | str) -> None:
    data = bench_data()
    (wire,) = (one for one in data["wires"] if one["id"] == "W11")
    wire["length_m"] = length_m
    reference = reference_from(data)
    at = {"from_end": 2, "distance_m": {"min": 0.2, "max": 0.5}}
    expected = Point(near_end=2) if length_m == "unknown" else Point(low_m=2.5, high_m=3.8)

    assert point_of_tap(reference, "W11", at) == expected


@given(st.integers(0, 80), st.integers(0, 80))
def test_distance_from_one_end_and_the_rest_from_the_other_are_the_same_point(low: int, width: int) -> None:
    reference = reference_from(bench_data())
    near, far = low / 20, min(4.0, (low + width) / 20)
    near = min(near, far)
    there = point_of_tap(reference, "W11", {"from_end": 1, "distance_m": {"min": near, "max": far}})
    back = point_of_tap(
        reference, "W11", {"from_end": 2, "distance_m": {"min": round(4 - far, 4), "max": round(4 - near, 4)}}
    )

    assert there == back


def test_point_lies_beyond_and_before_what_was_named(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "joint", "id": "j1", "members": [{"wire": "W11"}]},
        {"kind": "repair", "id": "r1", "wire": "W11", "at": {"from_end": 2, "distance_m": 0.1}},
        {"kind": "tap", "id": "t", "on": {"wire": "W11", "at": {"beyond": ["j1"], "before": ["r1"]}}},
    ]
    edits = as_found_from(bench, *lines).edits
    (point,) = (
        edit.incidence.point
        for edit in edits
        if isinstance(edit, Attached) and edit.incidence.role == "on" and edit.incidence.subject == "+t.joint"
    )

    assert point is not None
    assert point.beyond == ("+j1",)
    assert "+r1.cut" in point.before


# -- order

CUT = {"kind": "cut", "id": "c", "wire": "W11", "at": {"from_end": 1, "distance_m": 2}}
TO_LAMP, TO_SWITCH = "SP1", "S1:58"


def tap(**at: object) -> Json:
    return {"kind": "tap", "id": "t", "on": {"wire": "W11", "at": at}, "to": {"loose": {"treatment": "taped"}}}


def sides(as_found: AsFound) -> list[set[str]]:
    """For each resolution: which ends of W11 the tap is still joined to."""
    found = []
    for one in as_found.resolutions(64):
        graph = harness_graph(edited(as_found.reference, one.edits))
        solid: nx.Graph[str] = nx.Graph(
            (a, b) for a, b, edge in graph.edges(data=True) if edge["kind"] in ("conductor", "contact")
        )
        reached = nx.node_connected_component(solid, "+t.joint")
        found.append(reached & {TO_LAMP, TO_SWITCH})
    return found


@pytest.mark.parametrize(
    ("at", "joined_to"),
    [
        ({"from_end": 1, "distance_m": 1.0}, TO_SWITCH),
        ({"from_end": 1, "distance_m": 3.0}, TO_LAMP),
        ({"from_end": 2, "distance_m": 1.0}, TO_LAMP),
        ({"before": ["c"]}, TO_SWITCH),
        ({"beyond": ["c"]}, TO_LAMP),
        ({"from_end": 1, "distance_m": {"min": 0.5, "max": 1.9}}, TO_SWITCH),
    ],
)
def test_known_side_of_a_cut_is_no_choice(bench: Reference, at: Json, joined_to: str) -> None:
    as_found = as_found_from(bench, CUT, tap(**at))

    assert as_found.choices == ()
    assert sides(as_found) == [{joined_to}]


@pytest.mark.parametrize("at", [{}, {"near": "R1"}, {"from_end": 1, "distance_m": {"min": 1.5, "max": 2.5}}])
def test_unknown_side_of_a_cut_is_a_choice_of_two(bench: Reference, at: Json) -> None:
    as_found = as_found_from(bench, CUT, tap(**at))
    (choice,) = as_found.choices

    assert [one.label for one in choice.alternatives] == ["end 1", "end 2"]
    assert choice.about == "order"
    assert choice.observation == "t"
    assert sides(as_found) == [{TO_SWITCH}, {TO_LAMP}]


def test_unknown_side_of_a_cut_proposes_a_look(bench: Reference) -> None:
    case = case_from(bench, CUT, tap())
    (finding,) = (one for one in case.findings.findings if one.kind == "orphaned_lead")

    assert {check.code for check in finding.checks} >= {"look_which_side_of_the_cut"}
    assert len(finding.possibilities) == 2


def test_unknown_order_of_two_taps_is_no_choice(bench: Reference) -> None:
    as_found = as_found_from(bench, tap(), tap() | {"id": "u"})

    assert as_found.choices == ()


def test_tap_on_a_wire_cut_twice_may_be_in_any_of_the_three_pieces(bench: Reference) -> None:
    other = {"kind": "cut", "id": "d", "wire": "W11", "at": {"from_end": 1, "distance_m": 3}}
    found = sides(as_found_from(bench, CUT, other, tap()))

    assert {frozenset(one) for one in found} == {frozenset({TO_SWITCH}), frozenset(), frozenset({TO_LAMP})}


def test_two_cuts_in_unknown_order_make_the_same_pieces_either_way(bench: Reference) -> None:
    cuts = [{"kind": "cut", "id": name, "wire": "W11"} for name in ("c", "d")]
    as_found = as_found_from(bench, *cuts)
    lone = []
    for one in as_found.resolutions(8):
        graph = harness_graph(edited(as_found.reference, one.edits))
        lone.append(sorted({"+c#1", "+c#2", "+d#1", "+d#2"} & {node for node in graph if graph.degree(node) == 1}))

    assert len(as_found.choices) == 1
    assert len(lone) == 2
    assert all(len(one) == 4 for one in lone)


@pytest.mark.parametrize(
    "lines",
    [
        [
            {"kind": "joint", "id": "a", "members": [{"wire": "W11", "at": {"beyond": ["b"]}}]},
            {"kind": "joint", "id": "b", "members": [{"wire": "W11", "at": {"beyond": ["a"]}}]},
        ],
        [{"kind": "joint", "id": "a", "members": [{"wire": "W11", "at": {"beyond": ["a"]}}]}],
        [CUT, tap(beyond=["c"], before=["c"])],
    ],
    ids=["each beyond the other", "beyond itself", "on both sides"],
)
def test_orders_that_cannot_be_are_refused(bench: Reference, lines: list[Json]) -> None:
    with pytest.raises(InputError):
        case_from(bench, *lines)


def test_point_beyond_something_the_survey_does_not_have_is_refused(bench: Reference) -> None:
    with pytest.raises(InputError, match="nowhere"):
        case_from(bench, tap(beyond=["nowhere"]))


def test_point_on_an_added_lead_is_counted_from_its_end_1(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "lead", "id": "l", "length_m": 2, "end_1": {"terminal": "BAT:+"}, "end_2": {"not_traced": True}},
        {"kind": "joint", "id": "j", "members": [{"lead": "l", "at": {"from_end": 2, "distance_m": 0.5}}]},
    ]
    (only,) = as_found_from(bench, *lines).resolutions(1)
    after = edited(bench.harness, only.edits)
    (incidence,) = (one for one in after.attached["+j"] if one.role == "on")

    assert isinstance(after.by_id["+l"], Conductor)
    assert incidence.point == Point(low_m=1.5, high_m=1.5)


@given(st.lists(st.integers(0, 80), min_size=2, max_size=5, unique=True))
def test_known_points_stand_along_the_wire_in_their_order(places: list[int]) -> None:
    """From end 1 to end 2 the walk along the wire meets the joints by their distance."""
    reference = reference_from(bench_data())
    lines = [
        {
            "kind": "joint",
            "id": f"j{place}",
            "members": [{"wire": "W11", "at": {"from_end": 1, "distance_m": place / 20}}],
        }
        for place in places
    ]
    (only,) = as_found_from(reference, *lines).resolutions(1)
    graph = harness_graph(edited(reference.harness, only.edits))
    along: nx.Graph[str] = nx.Graph((a, b) for a, b, edge in graph.edges(data=True) if edge["element"] == "W11")
    walk = nx.shortest_path(along, "S1:58", "W11#2")
    joints = [node for node in walk if "@" in node]

    assert joints == [f"W11@+j{place}" for place in sorted(places)]


def test_quantity_refuses_crossed_bounds() -> None:
    with pytest.raises(ValueError, match="least value 2 is above greatest value 1"):
        Quantity(low=2, high=1)
