"""What is missing before something can be computed: each member that is taken away is asked for again."""

from __future__ import annotations

import pytest

from tests.analyse.lint.sound import (
    Case,
    Change,
    case,
    check,
    entry,
    gains,
    gone,
    loses,
    objected,
    part_loses,
    part_sets,
    plain_wire,
    sets,
)
from tests.support import Json, between


def vehicle_loses(member: str) -> Change:
    """A change: the vehicle loses a member."""
    return lambda data: data["vehicle"].pop(member)


def bond_loses(own: str) -> Change:
    """A change: nobody knows the resistance of a bond."""
    return lambda data: entry(data, own)["bonds"][0].pop("resistance_ohm")


def way_loses(own: str, place: int) -> Change:
    """A change: nobody knows what a way may carry."""
    return lambda data: entry(data, own)["terminals"][place].pop("limit_A")


POWER = "rated_W with rated_V, rated_A, or resistance_ohm"
CASES = [
    case("size", "gap_size", "W2", loses("W2", "size_mm2")),
    case("length", "gap_length", "W2", loses("W2", "length_m")),
    case("circuit", "gap_circuit", "W2", loses("W2", "circuit")),
    case("colour", "gap_colour", "W2", loses("W2", "colour")),
    case("zones", "gap_zones", "W2", loses("W2", "zones")),
    case(
        "a slot with wires and no fuse",
        "gap_fuse",
        "F9",
        gains(
            "devices",
            {
                "id": "F9",
                "kind": "fuse_slot",
                "legend_A": 5,
                "terminals": [{"name": "in", "side": "supply"}, "out"],
                "bonds": [{"terminal": "in", "to": "BAT:+", "resistance_ohm": 0.001}],
            },
        ),
        gains("devices", {"id": "X9", "kind": "socket", "terminals": ["1"]}),
        gains("wires", plain_wire("W99", "F9:out", "X9:1")),
    ),
    case("legend", "gap_legend", "F1", loses("F1", "legend_A")),
    case("rating", "gap_fuse_rating", "F1_FUSE", loses("F1_FUSE", "rating_A")),
    case("body of a fuse", "gap_fuse_body", "F1_FUSE", loses("F1_FUSE", "body")),
    case("limit of a way", "gap_terminal", "K1:87", way_loses("K1", 1)),
    case(
        "the inside of a lamp",
        "gap_inside",
        "E9",
        gains("devices", {"id": "E9", "kind": "glow_plug", "terminals": ["1"]}),
        gains("wires", plain_wire("W99", "SP1", "E9:1")),
        kind="glow plug",
    ),
    case(
        "resistance of a contact",
        "gap_link",
        "S1",
        part_loses("S1", 0, "resistance_ohm"),
        member="resistance_ohm",
        between="1 and 2",
    ),
    case(
        "limit of an output", "gap_output", "U1", part_loses("U1", 1, "limit_A"), member="limit_A", between="30 and OUT"
    ),
    case(
        "resistance of an output",
        "gap_output",
        "U1",
        part_loses("U1", 1, "resistance_ohm"),
        member="resistance_ohm",
        between="30 and OUT",
    ),
    case("draw of a load", "gap_load", "H1", part_loses("H1", 0, "rated_A"), member=POWER, between="1 and 2"),
    case(
        "power without its voltage", "gap_load", "E1", part_loses("E1", 0, "rated_V"), member=POWER, between="58 and 31"
    ),
    *(
        case(
            f"{member} of a battery",
            "gap_source",
            "BAT",
            part_loses("BAT", 0, member),
            member=member,
            between="+ and -",
        )
        for member in ("voltage_V", "internal_ohm", "capacity_Ah")
    ),
    case(
        "limit of an alternator",
        "gap_source",
        "BAT",
        part_loses("BAT", 0, "internal_ohm"),
        part_sets("BAT", 0, model="alternator"),
        member="limit_A",
        between="+ and -",
    ),
    *(
        case(
            f"{member} of a coil",
            "gap_coil",
            "K1_RELAY",
            part_loses("K1_RELAY", 0, member),
            member=member,
            between="86 and 85",
        )
        for member in ("resistance_ohm", "pull_in_V", "drop_out_V")
    ),
    case("drop of a diode", "gap_diode", "D1", part_loses("D1", 0, "forward_V"), member="forward_V", between="1 and 2"),
    case("resistance of a bond", "gap_bond", "G1", bond_loses("G1"), terminal="1", to="BODY:1"),
    case("voltage", "gap_vehicle", "sound", vehicle_loses("system_voltage_V"), member="system_voltage_V"),
    case("polarity", "gap_vehicle", "sound", vehicle_loses("ground_polarity"), member="ground_polarity"),
    *(
        case(f"the condition {key}, {engine}", "gap_condition", "sound", gone(own), key=key, engine=engine)
        for own, key, engine in (
            ("c0", "out", "stopped"),
            ("c1", "ignition", "stopped"),
            ("c2", "start", "cranking"),
            ("c3", "ignition", "running"),
        )
    ),
]
SLOT: Json = {"id": "F9", "kind": "fuse_slot", "terminals": [{"name": "in", "side": "supply"}, "out"]}
SOUND: dict[str, tuple[Change, ...]] = {
    "a spare slot on the bus bar": (
        gains("devices", SLOT | {"bonds": [{"terminal": "in", "to": "BAT:+", "resistance_ohm": 0.001}]}),
    ),
    "a fragment is not asked for conditions with the engine turning": (
        lambda data: data.update(extent="fragment"),
        gone("c1", "c2", "c3"),
    ),
    "a joint block has no inside": (
        gains("devices", {"id": "J9", "kind": "joint_block", "terminals": ["1"]}),
        gains("wires", plain_wire("W99", "SP1", "J9:1")),
    ),
    "a module that stands for what is outside has no inside": (
        lambda data: data.update(extent="fragment"),
        gains("devices", {"id": "U9", "kind": "module", "terminals": [{"name": "1", "open_end": True}]}),
        gains("wires", plain_wire("W99", "SP1", "U9:1")),
    ),
    "a contact inside a module has no limit of its own": (
        lambda data: entry(data, "U1")["parts"].append(
            {"kind": "link", "between": ["30", "OUT"], "resistance_ohm": 0.1, "when": {"condition": ["c1"]}}
        ),
    ),
    "a battery of which a range is known": (part_sets("BAT", 0, voltage_V={"min": 12, "max": 13}),),
}


@pytest.mark.parametrize("one", CASES, ids=lambda one: one.what)
def test_exactly_this_is_missing(one: Case) -> None:
    check(one)


@pytest.mark.parametrize("what", SOUND)
def test_nothing_is_missing_where_nothing_is_needed(what: str) -> None:
    assert objected(*SOUND[what]) == []


def test_a_contact_without_limit_leaves_its_ways_without_one_too() -> None:
    found = objected(part_loses("S1", 0, "limit_A"))

    assert [one[:2] for one in found] == [("gap_link", "S1"), ("gap_terminal", "S1:1"), ("gap_terminal", "S1:2")]


def test_everything_that_is_missing_is_asked_for_at_once() -> None:
    found = objected(loses("W2", "size_mm2", "length_m", "zones"), sets("W3", zones=[]))

    assert [one[:2] for one in found] == [
        ("gap_length", "W2"), ("gap_size", "W2"), ("gap_zones", "W2"), ("gap_zones", "W3"),
    ]  # fmt: skip


def test_what_comes_with_an_option_is_asked_for_too() -> None:
    heater = between("R1", "heater", [], option=["heated"])
    wires = [plain_wire("W98", "SP1", "R1:1"), plain_wire("W99", "R1:2", "BODY:1")]
    found = objected(
        gains("options", {"id": "heated", "name": "seat"}), gains("devices", heater), gains("wires", *wires)
    )

    assert found == [("gap_inside", "R1", {"kind": "heater"})]


def test_a_way_that_feeds_nothing_but_the_switch_s_own_lamp_needs_no_limit() -> None:
    """The lamp of a lit switch draws what it draws; there is nothing else behind that way."""
    lit = between("SL", "switch", [{"kind": "load", "between": ["1", "2"], "model": "filament", "rated_A": 0.1}])
    wires = [plain_wire("WL1", "F1:out", "SL:1"), plain_wire("WL2", "SL:2", "BODY:1")]

    assert "gap_terminal" not in {rule for rule, *_ in objected(gains("devices", lit), gains("wires", *wires))}
