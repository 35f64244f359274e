"""Who answers for a difference: what is on the way of the current, and not what merely hangs beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.analyse.rigs import (
    CLEAN,
    POOR,
    added,
    at,
    bridge,
    condition,
    ground,
    insertion,
    link,
    load,
    of,
    seen,
    switch,
    tap,
    two_lamps,
)
from tests.drawing import solved_demo_case
from tests.support import Json, run

if TYPE_CHECKING:
    from harnessdiff.pipeline import Case


def answers(case: Case, *codes: str) -> set[tuple[str, str]]:
    """Kind of finding and subject, for consequences of some codes."""
    return {(kind, one.subject) for kind, one in of(case, *codes)}


def repair(own: str, wire: str, joint: Json = CLEAN) -> Json:
    return {"kind": "repair", "id": own, "zone": "Z", "wire": wire, "at": {"from_end": 1, "distance_m": 0.3},
            "joints": [joint]}  # fmt: skip


def short(own: str, wire: str, **more: object) -> Json:
    """A wire rubbed through on the body."""
    return {"kind": "damage", "id": own, "zone": "Z", "on": [at(wire), {"metal": "body"}], "damage": "chafed",
            "extent": "through", "conducts": "yes", **more}  # fmt: skip


def test_what_feeds_a_thing_answers_for_what_it_draws_and_its_ground_does_not() -> None:
    case = seen(two_lamps(), added("d1", load(2)), tap("t1", at("W_F_in"), "d1"), ground("l2", "d1"))

    assert answers(case, "draws", "fuse_current", "dies_with") == {("tap", "+d1")}


def test_ground_answers_for_its_own_joints() -> None:
    poor: Json = {"metal": "body", "joint": {"type": "under_screw", "condition": ["loose"], "unwrapped": "yes"}}
    case = seen(
        two_lamps(), added("d1", load(8)), tap("t1", at("W_F_in"), "d1"), ground("l2", "d1", **poor),
    )  # fmt: skip

    assert ("added_ground", "+l2.end2") in answers(case, "joint_heat")
    assert ("added_ground", "+d1") in answers(case, "drop")
    assert ("added_ground", "+d1") not in answers(case, "draws")


def test_lead_between_two_added_things_belongs_to_what_feeds_it() -> None:
    """From a module to a lamp beyond it: by its leads it is reached from the ground as well as from the tap."""
    lead = {"kind": "lead", "id": "l3", "zone": "Z", "size_mm2": 1.0, "length_m": 1.0, "material": "copper",
            "construction": "automotive", "end_1": {"device": "d1", "pin": "out"},
            "end_2": {"device": "d2", "pin": "1"}}  # fmt: skip
    case = seen(
        two_lamps(), added("d1", link("1", "out"), terminals=("1", "out")), added("d2", load(2)),
        tap("t1", at("W_F_in"), "d1"), lead, ground("l4", "d2"),
    )  # fmt: skip

    assert answers(case, "protection") == {("tap", "+t1.lead"), ("tap", "+l3")}
    assert answers(case, "draws") == {("tap", "+d2")}


def test_each_of_two_devices_in_a_row_answers_for_itself() -> None:
    case = seen(
        two_lamps(), added("d1", link()), added("d2", link()),
        insertion("i1", at("W_T_1"), "d1"), insertion("i2", at("W_D_1"), "d2"),
    )  # fmt: skip
    by_device = {
        (finding.modification.elements, one.get("through"))
        for finding in case.findings.findings
        for one in finding.consequences
        if one.code == "fed_through_added"
    }

    assert by_device == {(("W_T_1",), ("+d1",)), (("W_D_1",), ("+d2",))}


def test_device_between_a_tap_and_a_wire_that_was_cut_is_the_business_of_both() -> None:
    """The lamp hangs on the battery now, by way of the tap, the device and the end of its wire."""
    cut = {"kind": "cut", "id": "c1", "zone": "Z", "wire": "W_D_1", "at": {"from_end": 1, "distance_m": 0.5},
           "end_1": {"treatment": "taped"}}  # fmt: skip
    joint = {"kind": "joint", "id": "j1", "zone": "Z", "members": [{"cut": "c1", "side": 2}, {"lead": "l2", "end": 1}],
             **CLEAN}  # fmt: skip
    lead = {"kind": "lead", "id": "l2", "zone": "Z", "size_mm2": 1.0, "length_m": 0.3, "end_1": {"joined": "j1"},
            "end_2": {"device": "d1", "pin": "2"}}  # fmt: skip
    reference = two_lamps(conditions=[condition("asleep"), condition("right", "T")])
    switched = added("d1", link(when={"condition": ["right"]}))
    case = seen(reference, switched, tap("t1", at("W_F_in"), "d1"), cut, joint, lead)

    assert ("tap", "D") in answers(case, "fed_through_added")
    assert len(answers(case, "fed_through_added")) > 1


def test_two_circuits_through_one_box_answer_for_their_own_loads() -> None:
    box = added("d1", link("a", "b"), link("c", "d"), terminals=("a", "b", "c", "d"))
    case = seen(
        two_lamps(), box, insertion("i1", at("W_E_1"), "d1", ("a", "b")),
        insertion("i2", at("W_D_1"), "d1", ("c", "d")),
    )  # fmt: skip
    by_wire = {
        (finding.modification.elements, one.subject)
        for finding in case.findings.findings
        for one in finding.consequences
        if one.code == "fed_through_added"
    }

    assert by_wire == {(("W_E_1",), "E"), (("W_D_1",), "D")}


def test_sound_repair_on_the_way_answers_for_nothing_that_a_bridge_brings() -> None:
    reference = two_lamps(conditions=[condition("asleep"), condition("only_I", "I")])
    case = seen(reference, repair("r1", "W_F_in"), bridge("b1", at("W_S_1"), at("W_I_1")))

    assert answers(case, "live_unasked") == {("bypass", "E")}


def test_where_a_lead_runs_does_not_answer_for_what_it_carries() -> None:
    lead = {"route": [{"kind": "touches", "what": "seat_track", "protected_by": "none", "zone": "Z"}]}
    case = seen(
        two_lamps(), added("d1", load(2)), tap("t1", at("W_F_in"), "d1", "1", CLEAN, **lead), ground("l2", "d1")
    )
    kinds = {finding.kind for finding in case.findings.findings}

    assert {kind for kind, _ in answers(case, "draws", "protection", "joint_heat", "drop")} == {"tap"}
    assert "routing" in kinds


def test_short_answers_for_what_it_leaves_without_voltage() -> None:
    """Behind a resistor that keeps the fuse whole: 12.6 V over 4 Ω are 3 A, and the lamp has next to nothing."""
    dimmer = {"id": "R", "kind": "resistor", "zone": "Z", "terminals": ["1", "2"],
              "parts": [{"kind": "link", "between": ["1", "2"], "resistance_ohm": 4}]}  # fmt: skip
    lit = {"id": "B", "kind": "lamp", "zone": "Z", "terminals": ["1", "2"],
           "parts": [{"kind": "load", "between": ["1", "2"], "model": "filament", "rated_W": 4, "rated_V": 12}],
           "bonds": [{"terminal": "2", "to": "BODY:1"}]}  # fmt: skip
    reference = two_lamps(dimmer, lit, switch("N"), wires=run("G:out", "N:1", "N:2", "R:1", "R:2", "B:1"),
                          conditions=[condition("asleep"), condition("dash", "N")])  # fmt: skip
    case = seen(reference, short("g1", "W_B_1"))

    assert answers(case, "dead") == {("damage", "B")}
    ((kind, fuse),) = of(case, "fuse_current")
    assert (kind, fuse.subject) == ("damage", "G_FUSE")
    assert fuse.after is not None
    assert 2.8 < fuse.after.nominal < 3.15


def test_poor_jumper_in_place_of_a_relay_answers_for_what_the_pump_lacks() -> None:
    """The relay is gone too, but the pump runs on the jumper: what the jumper takes is the jumper's."""
    parts = [{"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80},
             {"kind": "link", "between": ["30", "87"], "when": {"energised": True}}]  # fmt: skip
    pump = {"id": "P", "kind": "pump", "zone": "Z", "terminals": ["1", "2"],
            "parts": [load(7, model="motor", least_V=9)], "bonds": [{"terminal": "2", "to": "BODY:1"}]}  # fmt: skip
    reference = two_lamps(
        {"id": "K", "kind": "relay_socket", "zone": "Z", "terminals": ["30", "87", "85", "86"],
         "bonds": [{"terminal": "85", "to": "BODY:1"}]},
        {"id": "K_RELAY", "kind": "relay", "seat": "K", "parts": parts}, pump,
        wires=[*run("F:out", "K:30", "K:87", "P:1"), *run("I:2", "K:86")],
    )  # fmt: skip
    jumper = {"kind": "jumper", "id": "k1", "zone": "Z", "socket": "K", "between": ["30", "87"],
              "joints": [{"type": "bare_contact", "condition": ["burnt"]}, {"type": "bare_contact"}],
              "lead": {"size_mm2": 1.5, "length_m": 0.06}, "occupant": "missing"}  # fmt: skip
    case = seen(reference, jumper)

    assert answers(case, "dimmed", "under_voltage") == {("bypass", "P")}
    assert answers(case, "live_unasked") == {("bypass", "P")}


def test_poor_joint_of_a_tap_is_the_tap_s() -> None:
    case = seen(two_lamps(), added("d1", load(8)), tap("t1", at("W_F_in"), "d1", "1", POOR), ground("l2", "d1"))

    assert ("tap", "+t1.joint") in answers(case, "joint_heat")


def test_route_of_a_lead_that_several_hold_answers_for_nothing_either() -> None:
    """The lead belongs to the tap and to its route at once, and who owns one alone is but its ground."""
    case = solved_demo_case()
    routes = [one for one in case.findings.findings if one.kind == "routing"]

    assert routes
    assert [one.consequences for one in routes] == [()] * len(routes)
