"""Facts about the place and the preparation of joints: distances, numbers of splices, tinned and twisted wires."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import modifications_of
from tests.support import Json, as_found_from, bench_data, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.modification import Fact, Modification, Value
    from harnessdiff.model.reference import Reference

AIRCRAFT = "_by_aircraft_practice"
SPACING = {"near_termination", "close_to_next", "several_joints"}
CRIMP: Json = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}
BENCH = reference_from(bench_data())


def at(from_end: int, distance_m: object) -> Json:
    return {"from_end": from_end, "distance_m": distance_m}


def tap(own: str, wire: str, where: Json | None = None, **joint: object) -> Json:
    on = {"wire": wire} | ({"at": where} if where else {})
    return {"kind": "tap", "id": own, "on": on, "joint": CRIMP | joint}


def repair(own: str, wire: str, where: Json | None = None, joints: int = 1, **more: object) -> Json:
    return {"kind": "repair", "id": own, "wire": wire, "joints": [CRIMP] * joints, **more} | (
        {"at": where} if where else {}
    )


def modifications(*lines: Json, reference: Reference = BENCH) -> tuple[Modification, ...]:
    (only,) = as_found_from(reference, *lines).resolutions(1)
    return modifications_of(Comparison(reference, only.edits))


def facts(*lines: Json, reference: Reference = BENCH) -> list[Fact]:
    return [
        fact
        for one in modifications(*lines, reference=reference)
        for fact in one.facts
        if fact.code.removesuffix(AIRCRAFT) in SPACING or "tinned" in fact.code or "twisted" in fact.code
    ]


def told(*lines: Json, reference: Reference = BENCH) -> list[tuple[str, dict[str, Value]]]:
    """Codes and parameters, in the order of the alphabet; without the rules of aircraft."""
    found = [(fact.code, dict(fact.params)) for fact in facts(*lines, reference=reference)]
    return sorted((one for one in found if not one[0].endswith(AIRCRAFT)), key=repr)


def aircraft(*lines: Json, reference: Reference = BENCH) -> list[tuple[str, dict[str, Value]]]:
    """Those of the rules of aircraft alone."""
    found = [(fact.code, dict(fact.params)) for fact in facts(*lines, reference=reference)]
    return [(code.removesuffix(AIRCRAFT), params) for code, params in found if code.endswith(AIRCRAFT)]


# -- near a termination. W11, 4 m, runs from S1:58 to the factory splice SP1; W40, 1.2 m, from F4:out to R1:30.


@pytest.mark.parametrize(
    ("wire", "where", "expected"),
    [
        ("W11", at(1, 0.03), ("S1:58", 0.03)),
        ("W11", at(2, 0.03), ("SP1", 0.03)),
        ("W11", at(1, {"min": 0.01, "max": 0.035}), ("S1:58", 0.035)),
        ("W11", at(2, {"min": 0.01, "max": 0.035}), ("SP1", 0.035)),
        ("W11", at(2, {"min": 0.01, "max": 0.05}), None),
        ("W11", at(1, 0.04), None),
        ("W11", at(1, {"min": 0.01, "max": 0.05}), None),
        ("W11", at(1, {"min": 0.01}), None),
        ("W11", {"near_end": 1}, None),
        ("W11", None, None),
    ],
)
@pytest.mark.parametrize("line", [tap, repair])
def test_splice_nearer_than_40_mm_to_a_termination_or_a_branch_is_told(
    line: object, wire: str, where: Json | None, expected: tuple[str, float] | None
) -> None:
    observation = line("x", wire, where)  # type: ignore[operator]
    params = {"joint": "+x.joint" if line is tap else "+x.joint1", "wire": wire, "limit_m": 0.04}

    assert told(observation) == (
        [("near_termination", params | {"by": expected[0], "distance_m": expected[1]})] if expected else []
    )


@pytest.mark.parametrize(
    ("where", "expected"),
    [(at(1, 0.3), "S1:58"), (at(1, 0.03), "S1:58"), (at(1, 0.305), None), (at(2, 0.1), None)],
    ids=["within 12 in", "within 40 mm", "beyond 12 in", "a branch is no termination"],
)
def test_rule_of_aircraft_is_told_apart(where: Json, expected: str | None) -> None:
    found = aircraft(tap("x", "W11", where))

    assert [(code, params["by"], params["limit_m"]) for code, params in found] == (
        [("near_termination", expected, 0.3048)] if expected else []
    )


def test_distance_from_an_end_that_was_taken_off_says_nothing() -> None:
    moved = {"kind": "moved", "id": "m", "wire": "W40", "end": 2, "to": {"loose": {"treatment": "taped"}}}

    assert told(tap("x", "W40", at(2, 0.01)))
    assert told(tap("x", "W40", at(2, 0.01)), moved) == []


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        (tap("x", "W11", type="plug_in") | {"on": {"terminal": "S1:58"}}, []),
        (tap("x", "W11", distance_to_next_mm=10, type="plug_in"), []),
        (tap("x", "W11", at(1, 0.01), type="fuse_slot_adaptor"), []),
    ],
)
def test_what_is_plugged_in_is_no_splice(line: Json, expected: list[object]) -> None:
    assert facts(line) == expected


def test_end_of_a_cut_wire_that_was_put_on_a_terminal_is_no_splice() -> None:
    """The cut end of W21 went into a ring terminal on a stud of the survey's own switch."""
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W21", "at": at(1, 0.01)},
        {"kind": "device", "id": "d", "sort": "switch", "terminals": ["1", "2"]},
        {"kind": "joint", "id": "j1", "members": [{"cut": "c", "side": 1}, {"device": "d", "pin": "1"}],
         "type": "ring_terminal"},
        {"kind": "joint", "id": "j2", "members": [{"cut": "c", "side": 2}, {"device": "d", "pin": "2"}],
         "type": "ring_terminal"},
    ]  # fmt: skip

    assert facts(*lines) == []


def test_joint_on_an_added_lead_counts_its_ends() -> None:
    """One end of the lead is plugged in, a termination; the other is in a tap, the next splice."""
    lead = {"kind": "lead", "id": "l", "length_m": 1.0, "end_1": {"terminal": "R1:30", "joint": {"type": "plug_in"}},
            "end_2": {"joined": "t"}}  # fmt: skip
    line = {"kind": "joint", "id": "t", "members": [{"wire": "W20"}, {"lead": "l", "end": 2}]} | CRIMP

    def found(*where: Json) -> list[tuple[str, object]]:
        taps = [{"kind": "joint", "id": "j", "members": [{"lead": "l", "at": one}]} | CRIMP for one in where]
        return [(code, params.get("by", params.get("other"))) for code, params in told(lead, line, *taps)]

    assert [code for code, _ in found(at(1, 0.02))] == ["near_termination"]
    assert found(at(2, 0.02)) == [("close_to_next", "+t")]


# -- close to the next


def test_two_taps_nearer_than_40_mm_are_told_to_each_of_them() -> None:
    lines = [tap("x", "W11", at(1, 1.0)), tap("y", "W11", at(1, 1.03))]
    found = {
        one.root: [f.get("other") for f in one.facts if f.code == "close_to_next"] for one in modifications(*lines)
    }

    assert found == {"+x.joint": ["+y.joint"], "+y.joint": ["+x.joint"]}
    assert [params["distance_m"] for code, params in told(*lines) if code == "close_to_next"] == [0.03, 0.03]


@pytest.mark.parametrize("far", [at(1, 1.04), at(1, {"min": 1.01, "max": 1.05}), at(1, {"min": 1.0}), None])
def test_taps_that_may_be_far_enough_are_not_told(far: Json | None) -> None:
    codes = {code for code, _ in told(tap("x", "W11", at(1, 1.0)), tap("y", "W11", far))}

    assert codes == {"several_joints"}


def test_only_the_nearest_is_named_and_several_as_near_each() -> None:
    lines = [tap("x", "W11", at(1, 1.0)), tap("y", "W11", at(1, 1.02)), tap("z", "W11", at(1, 1.03))]
    close = {(p["joint"], p["other"]) for code, p in told(*lines) if code == "close_to_next"}
    assert close == {("+x.joint", "+y.joint"), ("+y.joint", "+z.joint"), ("+z.joint", "+y.joint")}

    lines[2] = tap("z", "W11", at(1, 0.98))
    close = {(p["joint"], p["other"]) for code, p in told(*lines) if code == "close_to_next"}
    assert {other for joint, other in close if joint == "+x.joint"} == {"+y.joint", "+z.joint"}


@pytest.mark.parametrize(("length_m", "expected"), [(0.03, True), (0.04, False), (None, False)])
def test_piece_that_was_put_in_keeps_its_two_splices_apart(length_m: float | None, expected: bool) -> None:
    lead = {"size_mm2": 0.75} | ({"length_m": length_m} if length_m else {})
    found = told(repair("r", "W11", at(1, 1.0), joints=2, insert=lead))

    assert [params["distance_m"] for _, params in found] == [length_m] * (2 if expected else 0)


def test_splices_on_two_sides_of_a_cut_do_not_look_at_each_other() -> None:
    """A cut closed by a long piece: the tap 20 mm before it is near the one splice and not the other."""
    lines = [repair("r", "W11", at(1, 1.0), joints=2, insert={"length_m": 0.5}), tap("x", "W11", at(1, 0.98))]
    close = {(params["joint"], params["other"]) for code, params in told(*lines) if code == "close_to_next"}

    assert close == {("+x.joint", "+r.joint1"), ("+r.joint1", "+x.joint")}


# -- the measured distance to the next connector, branch or splice


def test_measured_distance_is_to_an_end_where_nothing_else_is_on_the_wire() -> None:
    found = told(tap("x", "W40", distance_to_next_mm=25))
    params = {"joint": "+x.joint", "wire": "W40", "distance_m": 0.025, "limit_m": 0.04}

    assert found == [("near_termination", params)]
    assert [params["distance_m"] for _, params in aircraft(tap("x", "W40", distance_to_next_mm=60))] == [0.06]
    assert aircraft(tap("x", "W11", distance_to_next_mm=60)) == []  # it may be to the branch


def test_measured_distance_is_to_nobody_knows_what_beside_another_splice() -> None:
    found = told(tap("x", "W40", distance_to_next_mm=25), tap("y", "W40"))

    assert [(code, params) for code, params in found if code != "several_joints"] == [
        ("close_to_next", {"joint": "+x.joint", "distance_m": 0.025, "limit_m": 0.04})
    ]


def test_measured_distance_is_not_to_ends_that_are_farther_away() -> None:
    assert [code for code, _ in told(tap("x", "W11", at(1, 2.0), distance_to_next_mm=25))] == ["close_to_next"]


def test_one_distance_is_told_once() -> None:
    lines = [tap("x", "W40", at(1, 0.025), distance_to_next_mm=25), tap("y", "W40", at(1, 1.0))]

    assert [code for code, params in told(*lines) if code != "several_joints"] == ["near_termination"]


def test_distance_by_the_place_stands_before_the_measured_one_in_the_rule_of_aircraft_too() -> None:
    found = aircraft(tap("x", "W40", at(1, {"max": 0.2}), distance_to_next_mm=60))

    assert [params["distance_m"] for _, params in found] == [0.2]


@pytest.mark.parametrize("distance", [40, {"min": 10}, {"min": 10, "max": 60}])
def test_measured_distance_that_may_be_enough_says_nothing(distance: object) -> None:
    assert told(tap("x", "W40", distance_to_next_mm=distance)) == []


# -- several in one wire


def test_two_taps_in_a_wire_are_told_to_both_and_to_no_other() -> None:
    lines = [tap("x", "W11", at(1, 1.0)), tap("y", "W11", at(1, 2.0)), tap("z", "W40")]
    found = {one.root: [fact for fact in one.facts if fact.code == "several_joints"] for one in modifications(*lines)}

    assert {root: len(own) for root, own in found.items()} == {"+x.joint": 1, "+y.joint": 1, "+z.joint": 0}
    assert dict(found["+x.joint"][0].params) == {
        "wire": "W11", "joints": ("+x.joint", "+y.joint"), "count": 2, "limit": 1,
    }  # fmt: skip


def test_two_sides_of_one_gap_are_one_repair_and_two_splices() -> None:
    line = repair("r", "W11", at(1, 1.0), joints=2, insert={"length_m": 0.2})

    assert told(line) == []
    assert aircraft(line) == [
        ("several_joints", {"wire": "W11", "joints": ("+r.joint1", "+r.joint2"), "count": 2, "limit": 1})
    ]
    assert [params["count"] for code, params in told(line, tap("x", "W11", at(1, 2.0)))] == [2, 2]


def test_what_was_put_in_series_is_one_repair_and_two_splices() -> None:
    device = {"kind": "switch", "terminals": ["1", "2"]}
    line = {"kind": "insertion", "id": "i", "in": {"wire": "W11", "at": at(1, 1.0)}, "joints": [CRIMP, CRIMP],
            "device": device, "pins": ["1", "2"]}  # fmt: skip

    assert told(line) == []
    assert [params["count"] for _, params in aircraft(line)] == [2]


def test_piece_between_two_cuts_is_one_repair() -> None:
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W11", "at": at(1, 1.0)},
        {"kind": "cut", "id": "d", "wire": "W11", "at": at(1, 1.5)},
        {"kind": "joint", "id": "j", "members": [{"cut": "c", "side": 1}, {"lead": "l", "end": 1}]} | CRIMP,
        {"kind": "joint", "id": "k", "members": [{"cut": "d", "side": 2}, {"lead": "l", "end": 2}]} | CRIMP,
        {"kind": "lead", "id": "l", "length_m": 0.5, "end_1": {"joined": "j"}, "end_2": {"joined": "k"}},
    ]

    assert told(*lines) == []
    assert [params["count"] for _, params in aircraft(*lines)] == [2]


def test_two_repairs_one_after_the_other_are_two() -> None:
    lines = [repair("r", "W11", at(1, 1.0)), repair("s", "W11", at(1, 2.0))]

    assert [params["count"] for _, params in told(*lines)] == [2, 2]


# -- how the wires were prepared


@pytest.mark.parametrize(
    ("type_", "prepared", "expected"),
    [
        ("butt_crimp", ["tinned"], {"tinned_in_crimp"}),
        ("splice_barrel", ["tinned"], {"tinned_in_crimp"}),
        ("ring_terminal", ["twisted_together", "tinned"], {"tinned_in_crimp", "twisted_in_crimp"}),
        ("butt_crimp", ["twisted_together"], {"twisted_in_crimp"}),
        ("screw_strip", ["tinned"], {"tinned_under_screw"}),
        ("under_screw", ["tinned", "twisted_together"], {"tinned_under_screw"}),
        ("solder", ["tinned", "twisted_together"], set()),
        ("unknown", ["tinned", "twisted_together"], set()),
        ("butt_crimp", [], set()),
    ],
)
def test_preparation_counts_where_the_joint_does_not_bear_it(
    type_: str, prepared: list[str], expected: set[str]
) -> None:
    found = facts(tap("x", "W11", type=type_, prepared=prepared))

    assert {fact.code for fact in found} == expected
    assert all(fact.params == (("joint", "+x.joint"),) for fact in found)


def test_what_nobody_saw_is_not_told() -> None:
    assert facts(tap("x", "W11")) == []


# -- laws

SPLICES = st.lists(
    st.tuples(
        st.sampled_from([tap, repair]),
        st.sampled_from(["W11", "W40"]),
        st.none() | st.builds(at, st.sampled_from([1, 2]), st.integers(0, 30).map(lambda one: one / 100)),
    ),
    min_size=1,
    max_size=4,
)


@given(st.integers(0, 2000), st.integers(0, 2000), st.sampled_from([1, 2]), st.none() | st.integers(0, 400))
def test_farther_from_the_end_is_never_told_more(one: int, other: int, end: int, width: int | None) -> None:
    """In the half of W11 that is nearest to the end; distances in millimetres."""
    near, far = sorted((one, other))

    def codes(least: int) -> set[str]:
        exact, wide = least / 1000, {"min": least / 1000, "max": (least + (width or 0)) / 1000}
        return {fact.code for fact in facts(tap("x", "W11", at(end, exact if width is None else wide)))}

    assert codes(far) <= codes(near)


@given(st.integers(0, 200), st.integers(0, 200))
def test_farther_to_the_next_is_never_told_more(one: int, other: int) -> None:
    near, far = sorted((one, other))

    def codes(gap: int) -> set[str]:
        lines = [tap("x", "W11", at(1, 1.0)), tap("y", "W11", at(1, round(1 + gap / 1000, 3)))]
        return {fact.code for fact in facts(*lines)}

    assert codes(far) <= codes(near)
    assert ("close_to_next" in codes(near)) == (near < 40)


@given(SPLICES, st.permutations(["a", "b", "c", "d"]), st.data())
def test_neither_names_nor_order_of_observations_count(
    splices: list[tuple[object, str, Json | None]], names: list[str], data: st.DataObject
) -> None:
    def found(own: list[str], order: list[int]) -> list[str]:
        lines = [splices[n][0](own[n], *splices[n][1:]) for n in order]  # type: ignore[operator]
        there = {f"+{name}": f"+#{number}" for number, name in enumerate(own)}
        return sorted(
            repr((fact.code, sorted((name, renamed(value, there)) for name, value in fact.params)))
            for resolution in as_found_from(BENCH, *lines).resolutions(8)
            for one in modifications_of(Comparison(BENCH, resolution.edits))
            for fact in one.facts
            if fact.code.removesuffix(AIRCRAFT) in SPACING
        )

    order = list(range(len(splices)))
    usual = ["t0", "t1", "t2", "t3"]

    assert found(names, order) == found(usual, order)
    assert found(usual, data.draw(st.permutations(order))) == found(usual, order)


def renamed(value: object, there: dict[str, str]) -> object:
    if isinstance(value, tuple):
        return sorted(str(renamed(one, there)) for one in value)
    own, dot, rest = str(value).partition(".")
    return there.get(own, own) + dot + rest if isinstance(value, str) else value
