"""What is live, dead, dim or fed by another road: two lamps, each change made by hand, the answer known before."""

from __future__ import annotations

import pytest

from tests.analyse.rigs import (
    CLEAN,
    GRAVE,
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
    told,
    two_lamps,
)
from tests.support import Json, between, run, slot

BLOWN: Json = {"kind": "substitution", "id": "u1", "zone": "Z", "element": "G", "fitted": {"state": "blown"}}
DIODE: Json = {"kind": "diode", "distance_m": 0.5, "conducts_towards_end": 2}


def test_nothing_seen_has_no_consequence() -> None:
    assert told(seen(two_lamps()), *GRAVE) == set()


def test_bridged_switch_lights_its_lamp_unasked() -> None:
    """With I open the lamp stays dead; S alone is bridged, so nothing changes but where I is on and S is not."""
    reference = two_lamps(conditions=[condition("asleep"), condition("left", "S", "I"), condition("only_I", "I")])
    case = seen(reference, bridge("b1", at("W_S_1"), at("W_I_1")))

    assert told(case, *GRAVE) == {("live_unasked", "E", ("only_I",))}


def test_bridged_interlock_defeats_the_refusal() -> None:
    case = seen(two_lamps(), bridge("b1", at("W_I_1"), at("W_E_1")))

    assert told(case, *GRAVE) == {("refusal_defeated", "E", ("safe",))}


def test_cut_wire_leaves_its_lamp_dead() -> None:
    cut = {"kind": "cut", "id": "c1", "zone": "Z", "wire": "W_D_1", "at": {"from_end": 1, "distance_m": 0.5},
           "end_1": {"treatment": "taped"}, "end_2": {"treatment": "taped"}}  # fmt: skip
    case = seen(two_lamps(), cut)

    assert told(case, *GRAVE) == {("dead", "D", ("right",))}


def test_resistance_let_in_dims_by_what_it_takes() -> None:
    """21 W at 12 V are 1.75 A; near 9 V about 1.5 A, which take 3 V in 2 Ω."""
    case = seen(two_lamps(), added("d1", link(resistance_ohm=2)), insertion("i1", at("W_D_1"), "d1"))
    ((kind, dimmed),) = of(case, *GRAVE)

    assert (kind, dimmed.code, dimmed.subject, dimmed.conditions) == ("insertion", "dimmed", "D", ("right",))
    assert dimmed.after is not None
    assert 9.0 < dimmed.after.nominal < 9.7
    assert told(case, "fed_through_added") == {("fed_through_added", "D", ("right",))}


@pytest.mark.parametrize(("ohm", "told_so"), [(2.6, False), (6.0, True)])
def test_gauge_at_half_its_voltage_is_dimmed_by_a_good_part_of_it_only(ohm: float, *, told_so: bool) -> None:
    """12 Ω of sender before 13 Ω of gauge: 6.5 V, just dim. 2.6 Ω more leave 5.9 V, a name below; six leave 5.3 V."""
    gauge = between("Q", "instrument", [load(12 / 13, model="resistance")], bonds=[{"terminal": "2", "to": "BODY:1"}])
    sender = between("N", "sensor", [link(resistance_ohm=12)])
    reference = two_lamps(gauge, sender, wires=run("BAT:+", "N:1", "N:2", "Q:1"), conditions=[condition("asleep")])
    case = seen(reference, added("d1", link(resistance_ohm=ohm)), insertion("i1", at("W_Q_1"), "d1"))

    assert bool(of(case, "dimmed")) == told_so


def test_bridged_circuits_work_on_with_either_fuse_out() -> None:
    """Both switches on: each lamp has two feeds, and nothing is live that should not be."""
    reference = two_lamps(conditions=[condition("asleep"), condition("both", "S", "I", "T")])
    case = seen(reference, bridge("b1", at("W_E_1"), at("W_D_1")))

    assert told(case, *GRAVE) == {
        ("stays_live_without_fuse", "E", ("both",)),
        ("stays_live_without_fuse", "D", ("both",)),
    }
    assert {(one.subject, one.get("fuse")) for _, one in of(case, *GRAVE)} == {("E", "F_FUSE"), ("D", "G_FUSE")}


def test_bridge_behind_the_switches_lights_both_lamps_by_either() -> None:
    case = seen(two_lamps(), bridge("b1", at("W_E_1"), at("W_D_1")))

    assert told(case, "live_unasked") == {
        ("live_unasked", "D", ("left",)),
        ("live_unasked", "E", ("right",)),
    }


def test_diode_keeps_what_it_keeps() -> None:
    case = seen(two_lamps(), bridge("b1", at("W_E_1"), at("W_D_1"), inline=[DIODE]))

    assert told(case, "live_unasked") == {("live_unasked", "D", ("left",))}


def test_blown_fuse_is_masked_by_a_bridge_behind_it() -> None:
    case = seen(two_lamps(), BLOWN, bridge("b1", at("W_S_1"), at("W_T_1")))
    ((kind, masked),) = of(case, "masked_blown_fuse")

    assert (kind, masked.subject, masked.conditions) == ("bridge", "D", ("right",))
    assert (masked.get("blown"), masked.get("fuses_after")) == (("G_FUSE",), ("F_FUSE",))


def test_blown_fuse_alone_leaves_its_lamp_dead() -> None:
    case = seen(two_lamps(), BLOWN)

    assert {(one.code, one.subject, one.conditions) for _, one in of(case, *GRAVE)} == {("dead", "D", ("right",))}


def test_wires_exchanged_behind_the_fuses_hang_on_the_other_ones_and_have_no_second_feed() -> None:
    """Each lamp goes dead with the other's fuse out: it has moved, and nothing feeds it twice."""
    swap = {
        "kind": "swap",
        "id": "s1",
        "zone": "Z",
        "between": [{"wire": "W_S_1", "end": 1}, {"wire": "W_T_1", "end": 1}],
    }
    case = seen(two_lamps(), swap)

    assert told(case, *GRAVE) == set()
    assert told(case, "other_fuse") == {
        ("other_fuse", "E", ("left",)),
        ("other_fuse", "D", ("right",)),
    }


def test_current_runs_back_through_a_fuse_to_what_else_hangs_on_its_bus() -> None:
    """G and H hang on a master switch. With that off, the bridge feeds G from its load side, and B behind H lights."""
    master = switch("M")
    clock = between("B", "lamp", [load(0.5, model="filament")], bonds=[{"terminal": "2", "to": "BODY:1"}])
    reference = two_lamps(
        master, clock, *slot("H", 10), behind_master=("G",),
        wires=[*run("M:2", "H:in", "H:out", "B:1"), *run("BAT:+", "M:1")],
        conditions=[condition("asleep"), condition("day", "M", "T"), condition("left", "S", "I")],
    )  # fmt: skip
    case = seen(reference, bridge("b1", at("W_E_1"), at("W_T_1")))
    ((kind, back),) = of(case, "backfeed")

    assert (kind, back.subject, back.conditions) == ("bypass", "G_FUSE", ("left",))
    assert back.after is not None
    assert back.after.nominal == pytest.approx(0.5, rel=0.05)
    assert told(case, "live_unasked") == {("live_unasked", "B", ("left",)), ("live_unasked", "E", ("day",))}


def test_memory_that_is_lost_is_told() -> None:
    """A radio that rests asleep and is taken behind a switch: dead asleep, and nothing else."""
    radio = between("R", "radio", [load(2, rest_A=0.01)], bonds=[{"terminal": "2", "to": "BODY:1"}])
    conditions = [condition("asleep"), condition("left", "S", "I")]
    reference = two_lamps(radio, wires=run("BAT:+", "R:1"), conditions=conditions)
    moved = {"kind": "moved", "id": "v1", "zone": "Z", "wire": "W_R_1", "end": 1, "to": {"terminal": "I:2"}}
    case = seen(reference, moved)

    assert {(one.code, one.subject, one.conditions) for _, one in of(case, *GRAVE)} == {("dead", "R", ("asleep",))}


def test_parts_that_share_their_feed_are_told_apart() -> None:
    panel = between("P", "instrument", [load(0.1, "1", "3", "filament"), load(0.1, "1", "4", "filament")])
    panel["terminals"] = ["1", "3", "4"]
    reference = two_lamps(panel, wires=[*run("BAT:+", "P:1"), *run("BODY:1", "P:3"), *run("BODY:1", "P:4")],
                          conditions=[condition("asleep")])  # fmt: skip
    cut = {"kind": "cut", "id": "c1", "zone": "Z", "wire": "W_P_3",
           "at": {"from_end": 1, "distance_m": 0.5}, "end_1": {"treatment": "taped"},
           "end_2": {"treatment": "taped"}}  # fmt: skip
    ((_, dead),) = of(seen(reference, cut), *GRAVE)

    assert (dead.code, dead.subject, dead.terminal) == ("dead", "P", "3")


@pytest.mark.parametrize("place", ["W_D_1", "W_T_1", "W_G_in"])
def test_device_let_into_the_feed_makes_the_lamp_depend_on_it(place: str) -> None:
    case = seen(two_lamps(), added("d1", link()), insertion("i1", at(place), "d1"))

    assert told(case, "fed_through_added", *GRAVE) == {("fed_through_added", "D", ("right",))}


def test_device_let_into_the_ground_makes_the_lamp_depend_on_it() -> None:
    horn = between("H", "horn", [load(3, model="resistance")])
    reference = two_lamps(horn, wires=[*run("BAT:+", "H:1"), *run("BODY:1", "H:2")], conditions=[condition("asleep")])
    case = seen(reference, added("d1", link()), insertion("i1", at("W_H_2"), "d1"))

    assert told(case, "fed_through_added", *GRAVE) == {("fed_through_added", "H", ("asleep",))}


def test_device_beside_the_maker_s_way_is_none_that_a_lamp_depends_on() -> None:
    """Across a closed switch: with the device open the lamp works on by way of the switch."""
    case = seen(
        two_lamps(conditions=[condition("left", "S", "I")]),
        added("d1", link(resistance_ohm=0.0001)),
        tap("t1", at("W_S_1"), "d1", "1", CLEAN, size_mm2=16, length_m=0.1),
        tap("t2", at("W_I_1"), "d1", "2", CLEAN, size_mm2=16, length_m=0.1),
    )

    assert told(case, "fed_through_added") == set()


def test_relay_that_feeds_its_own_coil_holds() -> None:
    """Coil and lamp behind one contact; the switch only starts it."""
    relay = added("k1", {"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80},
                  link("30", "87", when={"energised": True}), sort="relay",
                  terminals=("30", "87", "85", "86"))  # fmt: skip
    case = seen(
        two_lamps(), relay, tap("t1", at("W_S_1"), "k1", "30"), tap("t2", at("W_E_1"), "k1", "87"),
        {"kind": "lead", "id": "l3", "zone": "Z", "size_mm2": 1.0, "length_m": 0.2,
         "end_1": {"device": "k1", "pin": "87"}, "end_2": {"device": "k1", "pin": "86"}},
        ground("l4", "k1", "85"),
    )  # fmt: skip
    (holds,) = {(one.subject, one.conditions) for _, one in of(case, "holds_once_triggered")}

    assert holds[0] == "+k1"
    assert "asleep" in holds[1]


def test_poor_joint_beside_nothing_brings_nothing_grave() -> None:
    case = seen(two_lamps(), added("d1", load(0.1)), tap("t1", at("W_F_in"), "d1", "1", POOR), ground("l2", "d1"))

    assert told(case, *GRAVE) == set()
