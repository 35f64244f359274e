"""What a survey says that is doubtful: told as a warning, and refused only where it cannot be meant."""

from __future__ import annotations

import pytest

from harnessdiff.errors import InputError
from harnessdiff.model.reference import Reference
from harnessdiff.read.doubts import names_along
from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import read_survey
from harnessdiff.resources import shipped_cases, shipped_references
from tests.support import Json, problems_of, survey_from


def warned(bench: Reference, *lines: Json, **members: object) -> list[tuple[str | None, str]]:
    """Pointer and message of every warning, in the order they are told."""
    return [(one.pointer, one.message) for one in survey_from(bench, *lines, **members).warnings]


def tap(wire: str = "W11", zone: str | None = None, **at: object) -> Json:
    line: Json = {"kind": "tap", "on": {"wire": wire, "at": at}}
    return line | ({"zone": zone} if zone else {})


# -- points along a wire: W11 is 4 m long

POINTS = [
    (0, False), (3.99, False), (4, False), (4.01, True), (6, True),
    ({"min": 3, "max": 5}, False), ({"min": 4.5, "max": 5}, True), ({"max": 9}, False), ("unknown", False),
    ({"exact": 399, "unit": "cm"}, False), ({"exact": 401, "unit": "cm"}, True), ({"one_of": [3, 5]}, False),
    ({"exact": 13.2, "unit": "ft"}, True), ({"exact": 13.1, "unit": "ft"}, False),
]  # fmt: skip
"""International foot: 0.3048 m."""


@pytest.mark.parametrize(("distance", "doubted"), POINTS)
@pytest.mark.parametrize("member", ["on", "in", "from", "members"])
def test_a_point_surely_beyond_the_end_is_doubted(
    bench: Reference, member: str, distance: object, doubted: bool
) -> None:
    place: Json = {"wire": "W11", "at": {"from_end": 1, "distance_m": distance}}
    lines: dict[str, Json] = {
        "on": {"kind": "tap", "on": place},
        "in": {"kind": "insertion", "in": place},
        "from": {"kind": "bridge", "from": place, "to": {"metal": "body"}},
        "members": {"kind": "joint", "id": "j1", "members": [{"metal": "body"}, place]},
    }
    found = warned(bench, lines[member])

    where = "members/1" if member == "members" else member
    assert [pointer for pointer, _ in found] == [f"/observations/0/{where}/at/distance_m"] * doubted
    assert all(message.startswith("W11 is 4 m long by the reference, and the point ") for _, message in found)


def test_a_point_far_beyond_the_end_cannot_be_meant(bench: Reference) -> None:
    with pytest.raises(InputError) as caught:
        survey_from(bench, tap(from_end=1, distance_m=6.01))

    assert problems_of(caught.value) == [
        ("/observations/0/on/at/distance_m", "W11 is 4 m long by the reference, and the point 6.01 m along it")
    ]


# -- near: W11 runs from the switch S1 in the dash over the sill to the splice SP1 in the tail


@pytest.mark.parametrize("near", ["S1", "Z_DASH", "Z_SILL", "Z_TAIL", "XC1", "E1", "X1", "R1"])
def test_what_a_wire_ends_at_or_passes_is_near_it(bench: Reference, near: str) -> None:
    assert warned(bench, tap(near=near)) == []


@pytest.mark.parametrize(
    ("wire", "near"), [("W11", "Z_ROOF"), ("W11", "Z_BAY"), ("W11", "BAT"), ("W12", "S1"), ("W1", "E1")]
)
def test_what_a_wire_does_not_come_by_is_doubted(bench: Reference, wire: str, near: str) -> None:
    ((pointer, message),) = warned(bench, tap(wire, near=near))

    assert pointer == "/observations/0/on/at/near"
    assert message.startswith(f"{wire} does not come near {near} by the reference: it runs between ")


def test_the_doubt_names_the_ends_and_what_is_most_like_it(bench: Reference) -> None:
    assert warned(bench, tap("W14", near="XC1")) == [
        (
            "/observations/0/on/at/near",
            'W14 does not come near XC1 by the reference: it runs between E1:31 and GND1:1; did you mean "X1"?',
        )
    ]


@pytest.mark.parametrize("wire", ["W1", "W11", "W14", "W32", "W43"])
def test_the_ends_their_devices_and_all_zones_of_a_wire_are_along_it(bench: Reference, wire: str) -> None:
    conductor = bench.harness.conductor(wire)
    assert conductor is not None
    along = names_along(conductor, bench.harness)
    ends = set(bench.harness.targets(wire, "end_1", "end_2"))

    assert ends <= along
    assert {end.split(":")[0] for end in ends} <= along
    assert set(conductor.zones) <= along


# -- places


def test_a_joint_on_a_wire_in_a_zone_it_does_not_pass_is_doubted(bench: Reference) -> None:
    assert warned(bench, tap("W12", "Z_TAIL")) == []
    assert warned(bench, tap("W12", "Z_BAY")) == [
        ("/observations/0/zone", "W12 does not pass Z_BAY by the reference, but Z_TAIL")
    ]


def test_something_seen_where_nobody_looked_is_doubted_once_a_zone(bench: Reference) -> None:
    scope = {"looked_at": [{"zone": "Z_TAIL"}]}
    found = warned(bench, tap("W12", "Z_TAIL"), *[{"kind": "other", "zone": "Z_ROOF", "note": "x"}] * 2, scope=scope)

    assert [pointer for pointer, _ in found] == ["/observations/1/zone"]
    assert "something was seen in Z_ROOF" in found[0][1]


def test_a_clue_or_nothing_said_of_the_place_is_not_doubted(bench: Reference) -> None:
    clue: Json = {"kind": "tap", "on": {"wire": {"colour": {"base": "GY"}}, "at": {"near": "Z_ROOF", "distance_m": 50}}}

    assert warned(bench, clue) == []
    assert warned(bench, {"kind": "tap", "zone": "Z_ROOF", "note": "somewhere"}) == []


# -- values: bounds of the table of plausible values, common practice


@pytest.mark.parametrize(
    ("line", "value", "doubted"),
    [
        ({"lead": {"size_mm2": 240}}, None, False),
        ({"lead": {"size_mm2": 241}}, "241 mm2", True),
        ({"lead": {"size_mm2": 0.05}}, None, False),
        ({"lead": {"size_mm2": 0.04}}, "0.04 mm2", True),
        ({"lead": {"size_mm2": {"exact": 0.5, "unit": "mm2"}}}, None, False),
        ({"lead": {"size_mm2": {"min": 0.5, "max": 500}}}, "500 mm2", True),
        ({"lead": {"length_m": 60}}, None, False),
        ({"lead": {"length_m": 350}}, "350 m", True),
        ({"lead": {"length_m": {"exact": 350, "unit": "cm"}}}, None, False),
        ({"lead": {"length_m": 0}}, None, False),
        ({"lead": {"x_length_m": 1e9}}, None, False),
        ({"lead": {"inline": [{"kind": "fuse", "rating_A": 1501}]}}, "1501 A", True),
    ],
)
def test_a_value_out_of_all_proportion_is_doubted(
    bench: Reference, line: Json, value: str | None, doubted: bool
) -> None:
    found = warned(bench, {"kind": "tap", "on": {"wire": "W12"}, **line})

    assert len(found) == doubted
    assert all(message.startswith(f"{value} is out of all proportion for a ") for _, message in found)


@pytest.mark.parametrize("name", sorted(shipped_cases()))
def test_nothing_is_doubted_in_a_shipped_survey(name: str) -> None:
    reference = read_reference(shipped_references()[name.rsplit("_", 1)[0]])

    assert read_survey(shipped_cases()[name], reference).warnings == ()
