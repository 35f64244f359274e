"""What feeds every node: from which source, through which protection, always or when switched. Rigs solved by hand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.analyse.fed_by import loads_from
from harnessdiff.analyse.supply import Supply
from harnessdiff.model.edit import edited
from harnessdiff.model.quantity import UNKNOWN, Quantity
from tests.support import Json, as_found_from, between, body, lamp, rig, run, slot, source

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

GROUND = run("BAT:-", "BODY:1")


def supply_of(reference: Reference) -> Supply:
    return Supply(reference.harness, reference.vehicle.ground_polarity)


def guards(supply: Supply, node: str) -> list[tuple[str, float | None]]:
    """The fuses, links, breakers, outputs and limited sources that guard a node."""
    return [(guard.element, guard.rating_A.exact) for guard in supply.guards.get(node, ())]


@pytest.fixture(scope="module")
def fused() -> Supply:
    """Battery - W - slot F (10 A) - W - lamp E."""
    return supply_of(
        rig([source(), body(), *slot("F", 10), lamp("E")], [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1")])
    )


def test_wire_before_the_fuse_is_unguarded_and_behind_it_guarded(fused: Supply) -> None:
    assert {"BAT:+", "F:in"} <= fused.unguarded
    assert not {"F:out", "E:1"} & fused.unguarded
    assert guards(fused, "F:in") == []
    assert guards(fused, "E:1") == [("F_FUSE", 10)]


def test_everything_up_to_the_load_is_fed_always_and_ground_is_dead(fused: Supply) -> None:
    assert [fused.state_of(node) for node in ("F:in", "E:1", "E:2", "BODY:1")] == [
        "permanent",
        "permanent",
        "dead",
        "dead",
    ]


def test_ground_is_what_the_body_is_joined_to(fused: Supply) -> None:
    assert fused.ground == {"BAT:-", "BODY:1", "E:2"}


def test_load_does_not_pass_current_on() -> None:
    two_in_series = [source(), body(), between("A", "lamp", [_load()]), lamp("E")]
    supply = supply_of(rig(two_in_series, [*GROUND, *run("BAT:+", "A:1", "A:2", "E:1")]))

    assert supply.state_of("A:1") == "permanent"
    assert supply.state_of("E:1") == "dead"


def _load() -> dict[str, object]:
    return {"kind": "load", "between": ["1", "2"], "model": "resistance", "resistance_ohm": 10}


def test_behind_a_switch_is_switched_and_behind_one_closed_at_rest_permanent() -> None:
    def switch(own: str, rest: str) -> dict[str, object]:
        parts = [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}]
        return between(own, "switch", parts, positions=["off", "on"], rest_position=rest)

    devices = [source(), body(), switch("S", "off"), switch("T", "on"), lamp("E"), lamp("H")]
    wires = [*GROUND, *run("BAT:+", "S:1", "S:2", "E:1", "BAT:+", "T:1", "T:2", "H:1")]
    supply = supply_of(rig(devices, wires))

    assert (supply.state_of("E:1"), supply.state_of("H:1")) == ("switched", "permanent")


def test_relay_contact_that_opens_feeds_at_rest_and_the_one_that_closes_does_not() -> None:
    parts = [
        {"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80},
        {"kind": "link", "between": ["30", "87"], "when": {"energised": True}},
        {"kind": "link", "between": ["30", "87a"], "when": {"energised": False}},
    ]
    socket = {"id": "K", "kind": "relay_socket", "zone": "Z", "terminals": ["30", "87", "87a", "85", "86"]}
    relay = {"id": "K_RELAY", "kind": "relay", "seat": "K", "parts": parts}
    wires = [*GROUND, *run("BAT:+", "K:30", "K:87", "E:1", "K:87a", "H:1")]
    supply = supply_of(rig([source(), body(), socket, relay, lamp("E"), lamp("H")], wires))

    assert (supply.state_of("E:1"), supply.state_of("H:1")) == ("switched", "permanent")


def test_blown_fuse_and_unplugged_device_pass_nothing() -> None:
    held, fuse = slot("F", 10)
    switch = between("S", "switch", [{"kind": "link", "between": ["1", "2"]}], connected="no")
    devices = [source(), body(), held, fuse | {"state": "blown"}, switch, lamp("E"), lamp("H")]
    supply = supply_of(rig(devices, [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1", "BAT:+", "S:1", "S:2", "H:1")]))

    assert (supply.state_of("E:1"), supply.state_of("H:1")) == ("dead", "dead")


def test_slug_in_place_of_a_fuse_guards_nothing() -> None:
    held, fuse = slot("F", 10)
    devices = [source(), body(), held, fuse | {"state": "slug"}, lamp("E")]
    supply = supply_of(rig(devices, [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1")]))

    assert "E:1" in supply.unguarded
    assert guards(supply, "E:1") == []


def test_last_of_two_fuses_in_a_row_is_the_guard() -> None:
    devices = [source(), body(), *slot("F", 60), *slot("G", 5), lamp("E")]
    supply = supply_of(rig(devices, [*GROUND, *run("BAT:+", "F:in", "F:out", "G:in", "G:out", "E:1")]))

    assert guards(supply, "G:in") == [("F_FUSE", 60)]
    assert guards(supply, "E:1") == [("G_FUSE", 5)]


def test_node_that_two_fuses_feed_has_both_guards() -> None:
    devices = [source(), body(), *slot("F", 10), *slot("G", 5), lamp("E")]
    wires = [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1", "BAT:+", "G:in"),
             {"id": "X", "from": "G:out", "to": "E:1"}]  # fmt: skip
    supply = supply_of(rig(devices, wires))

    assert guards(supply, "E:1") == [("F_FUSE", 10), ("G_FUSE", 5)]


@pytest.mark.parametrize("kind", ["fusible_link", "circuit_breaker"])
def test_link_and_breaker_guard_as_a_fuse_does(kind: str) -> None:
    device = {"id": "B", "kind": kind, "zone": "Z", "terminals": ["1", "2"], "rating_A": 30}
    supply = supply_of(rig([source(), body(), device, lamp("E")], [*GROUND, *run("BAT:+", "B:1", "B:2", "E:1")]))

    assert guards(supply, "E:1") == [("B", 30)]


def test_output_feeds_one_way_and_guards_with_its_limit() -> None:
    """Current fed into the output does not come out at the module's feed."""
    module = between("U", "module", [{"kind": "output", "between": ["1", "2"], "limit_A": 6}])
    forward = supply_of(rig([source(), body(), module, lamp("E")], [*GROUND, *run("BAT:+", "U:1", "U:2", "E:1")]))
    backward = supply_of(rig([source(), body(), module, lamp("E")], [*GROUND, *run("BAT:+", "U:2", "U:1", "E:1")]))

    assert guards(forward, "E:1") == [("U", 6)]
    assert backward.state_of("E:1") == "dead"


def test_diode_feeds_one_way() -> None:
    diode = between("D", "diode", [{"kind": "diode", "between": ["1", "2"]}])
    forward = supply_of(rig([source(), body(), diode, lamp("E")], [*GROUND, *run("BAT:+", "D:1", "D:2", "E:1")]))
    backward = supply_of(rig([source(), body(), diode, lamp("E")], [*GROUND, *run("BAT:+", "D:2", "D:1", "E:1")]))

    assert (forward.state_of("E:1"), backward.state_of("E:1")) == ("permanent", "dead")
    assert "E:1" in forward.unguarded


def test_diode_on_a_positive_ground_is_walked_against_the_current() -> None:
    """The body is plus: current runs from it through the lamp and the diode, anode first, to the battery's minus."""
    diode = between("D", "diode", [{"kind": "diode", "between": ["1", "2"]}])
    vehicle = {"system_voltage_V": 12, "ground_polarity": "positive", "steering_side": "right"}
    parts, ground = [source(), body(), diode, lamp("E")], run("BAT:+", "BODY:1")
    to_minus = supply_of(rig(parts, [*ground, *run("BAT:-", "D:2", "D:1", "E:1")], vehicle=vehicle))
    to_lamp = supply_of(rig(parts, [*ground, *run("BAT:-", "D:1", "D:2", "E:1")], vehicle=vehicle))

    assert (to_minus.state_of("E:1"), to_lamp.state_of("E:1")) == ("permanent", "dead")
    assert [one.device for one in loads_from(to_minus, "", "BAT:-", frozenset())] == ["E"]
    assert loads_from(to_lamp, "", "BAT:-", frozenset()) == ()


@pytest.mark.parametrize(("protected", "grounded"), [({}, True), ({"protected": "high_voltage"}, False)])
def test_minus_of_a_high_voltage_source_is_no_ground(protected: Json, grounded: bool) -> None:
    """Both its poles are insulated from the metal; the minus of any other source is ground wherever it leads."""
    traction = source("HV") | protected
    heater = between("E", "heater", [_load()], zone="Z")
    supply = supply_of(rig([source(), body(), traction, heater], [*GROUND, *run("HV:+", "E:1", "HV:-", "E:2")]))

    assert ("HV:-" in supply.ground) == grounded
    assert ("E:2" in supply.ground) == grounded
    assert "BAT:-" in supply.ground


@pytest.mark.parametrize(("part", "fed"), [
    ({"kind": "diode", "conducts_towards_end": 2}, True),
    ({"kind": "diode", "conducts_towards_end": 1}, False),
    ({"kind": "diode"}, True),
    ({"kind": "resistor"}, True),
    ({"kind": "connector"}, True),
    ({"kind": "fuse", "state": "blown"}, False),
])  # fmt: skip
def test_part_in_a_lead_passes_current_as_it_is_made(bench: Reference, part: Json, fed: bool) -> None:
    """The lead runs from the radio's feed, its end 1, to a box."""
    line = {"kind": "tap", "id": "t", "on": {"wire": "W40"}, "lead": {"inline": [part]}}
    (only,) = as_found_from(bench, line | {"to": {"device": {}, "pin": "+"}}).resolutions(1)
    supply = Supply(edited(bench.harness, only.edits), "negative")

    assert (supply.state_of("+t.device:+") == "permanent") == fed
    assert ("+t.device:+" in supply.fed) == fed


def test_alternator_feeds_only_while_the_engine_turns() -> None:
    generator = source("GEN", "alternator", when={"engine": ["running"]})
    supply = supply_of(rig([generator, body(), lamp("E")], run("GEN:-", "BODY:1", "GEN:+", "E:1")))

    assert supply.state_of("E:1") == "switched"
    assert supply.hot_poles() == ("GEN:+",)
    assert supply.hot_poles(engine_off=True) == ()


def test_converter_guards_what_it_feeds_with_its_own_limit() -> None:
    """A source that limits its own current protects; a battery does not."""
    converter = source("CON", "converter", limit_A=10)
    supply = supply_of(rig([converter, body(), lamp("E")], run("CON:-", "BODY:1", "CON:+", "E:1")))

    assert guards(supply, "E:1") == [("CON", 10)]
    assert "E:1" not in supply.unguarded
    assert supply.hot_poles(limited=False) == ()


def test_battery_s_limit_guards_nothing() -> None:
    supply = supply_of(rig([source(limit_A=100), body(), lamp("E")], [*GROUND, *run("BAT:+", "E:1")]))

    assert "E:1" in supply.unguarded


def test_positive_ground_turns_the_poles_round() -> None:
    wires = run("BAT:+", "BODY:1", "BAT:-", "E:1")
    supply = supply_of(rig([source(), body(), lamp("E")], wires, vehicle={"ground_polarity": "positive"}))

    assert supply.hot_poles() == ("BAT:-",)
    assert supply.state_of("E:1") == "permanent"
    assert "BAT:+" in supply.ground


# -- two sources


def test_what_is_on_the_only_way_between_two_batteries_is_between_them() -> None:
    devices = [source(), source("AUX"), body(), *slot("F", 80)]
    wires = run("BAT:-", "BODY:1", "AUX:-", "BODY:1", "BAT:+", "F:in", "F:out", "AUX:+")
    wires[1]["id"] = "W_GROUND_2"
    between_them = supply_of(rig(devices, wires)).between_sources()

    assert between_them == dict.fromkeys(("W_F_in", "F_FUSE", "W_AUX_plus"), ("AUX", "BAT"))


def test_lead_with_another_way_beside_it_is_not_between_two_batteries() -> None:
    wires = run("BAT:-", "BODY:1", "BAT:+", "AUX:+")
    wires += [{"id": "G2", "from": "AUX:-", "to": "BODY:1"}, {"id": "TWIN", "from": "BAT:+", "to": "AUX:+"}]

    assert supply_of(rig([source(), source("AUX"), body()], wires)).between_sources() == {}


def test_two_batteries_that_share_ground_only_have_nothing_between_them() -> None:
    wires = [*GROUND, {"id": "G2", "from": "AUX:-", "to": "BODY:1"}]

    assert supply_of(rig([source(), source("AUX"), body()], wires)).between_sources() == {}


def test_alternator_and_battery_are_one_supply() -> None:
    wires = [*run("BAT:-", "BODY:1", "BAT:+", "GEN:+"), {"id": "G2", "from": "GEN:-", "to": "BODY:1"}]
    generator = source("GEN", "alternator", when={"engine": ["running"]})

    assert supply_of(rig([source(), generator, body()], wires)).between_sources() == {}


# -- the bench

STATES = [
    ("BUS:in", "permanent"),
    ("F4:out", "permanent"),
    ("R1:30", "permanent"),
    ("U1:OUT", "switched"),
    ("E4:RL", "switched"),
    ("S1:30", "permanent"),
    ("S1:58", "switched"),
    ("E2:58", "switched"),
    ("K1:30", "permanent"),
    ("K1:87", "switched"),
    ("K1:86", "permanent"),
    ("K1:85", "dead"),
    ("E3:31", "dead"),
]
GUARDS = [
    ("BAT:+", []),
    ("F0:in", []),
    ("BUS:3", [("F0_FUSE", 60)]),
    ("F3:in", [("F0_FUSE", 60)]),
    ("S3:2", [("F3_FUSE", 10)]),
    ("E3:54", [("F3_FUSE", 10)]),
    ("R1:30", [("F4_FUSE", 5)]),
    ("E4:RL", [("U1", 4)]),
    ("K1:87", [("F2_FUSE", 15)]),
    ("GND1:1", []),
]


@pytest.mark.parametrize(("node", "state"), STATES)
def test_bench_node_is_fed_as_found_by_hand(bench: Reference, node: str, state: str) -> None:
    assert supply_of(bench).state_of(node) == state


@pytest.mark.parametrize(("node", "by"), GUARDS)
def test_bench_node_is_guarded_as_found_by_hand(bench: Reference, node: str, by: list[tuple[str, float]]) -> None:
    assert guards(supply_of(bench), node) == by


def test_only_the_battery_cable_of_the_bench_is_unguarded(bench: Reference) -> None:
    assert supply_of(bench).unguarded == {"BAT:+", "F0:in"}


def test_segments_of_a_wire_are_the_pieces_between_its_points(bench: Reference) -> None:
    (piece,) = supply_of(bench).conductor_segments("W12")

    assert set(piece) == {"W12#1", "E1:58"}
    assert supply_of(bench).conductor_segments("nothing") == []


def test_guard_of_a_fuse_of_unknown_rating_is_unknown() -> None:
    held, fuse = slot("F", 10)
    del fuse["rating_A"]
    supply = supply_of(rig([source(), body(), held, fuse, lamp("E")], [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1")]))
    (guard,) = supply.guards["E:1"]

    assert guard.rating_A == UNKNOWN
    assert guard.rating_A != Quantity.exactly(10)


# -- contacts that cannot be closed at once


def changeover(own: str = "S") -> Json:
    """A switch that takes its lamp's current from one of two feeds, or from neither."""
    parts = [
        {"kind": "link", "between": ["15", "49"], "when": {"position": ["off"]}},
        {"kind": "link", "between": ["30", "49"], "when": {"position": ["on"]}},
    ]
    positions = {"positions": ["off", "on"], "rest_position": "off"}
    return between(own, "switch", parts, **positions) | {"terminals": ["15", "30", "49"]}


def two_feeds(switch: Json) -> Supply:
    """Battery - F (10 A) - S:15 and battery - G (5 A) - S:30; S:49 - lamp E."""
    wires = [*GROUND, *run("BAT:+", "F:in", "F:out", "S:15", "BAT:+", "G:in", "G:out", "S:30", "S:49", "E:1")]
    return supply_of(rig([source(), body(), *slot("F", 10), *slot("G", 5), switch, lamp("E")], wires))


def test_feed_of_a_changeover_switch_does_not_reach_the_other_feed() -> None:
    supply = two_feeds(changeover())

    assert guards(supply, "E:1") == [("F_FUSE", 10), ("G_FUSE", 5)]
    assert (guards(supply, "S:15"), guards(supply, "S:30")) == ([("F_FUSE", 10)], [("G_FUSE", 5)])


def test_feeds_of_a_switch_that_joins_them_reach_each_other() -> None:
    switch = changeover()
    switch["parts"][1]["when"] = {"position": ["off", "on"]}
    supply = two_feeds(switch)

    assert guards(supply, "S:15") == guards(supply, "S:30") == [("F_FUSE", 10), ("G_FUSE", 5)]


def test_contacts_of_a_relay_do_not_join_what_they_part() -> None:
    """Through 87a at rest, or 87 pulled in: the unfused feed of one never reaches the other."""
    parts = [
        {"kind": "link", "between": ["30", "87"], "when": {"energised": True}},
        {"kind": "link", "between": ["30", "87a"], "when": {"energised": False}},
    ]
    relay = between("K", "relay", parts) | {"terminals": ["30", "87", "87a"]}
    devices = [source(), body(), *slot("F", 10), relay, lamp("E")]
    wires = [*GROUND, {"id": "A", "from": "BAT:+", "to": "K:87"}, {"id": "B", "from": "K:30", "to": "E:1"},
             {"id": "C", "from": "BAT:+", "to": "F:in"}, {"id": "D", "from": "F:out", "to": "K:87a"}]  # fmt: skip
    supply = supply_of(rig(devices, wires))

    assert {"K:87", "K:30", "E:1"} <= supply.unguarded
    assert "K:87a" not in supply.unguarded
    assert (guards(supply, "K:87a"), guards(supply, "K:87")) == ([("F_FUSE", 10)], [])
    assert supply.state_of("E:1") == "permanent"


def test_what_more_ways_reach_than_are_kept_apart_is_still_fed() -> None:
    """Six changeover switches side by side, then one more that all of them lead to."""
    devices: list[Json] = [source(), body(), lamp("E"), changeover("LAST")]
    wires = [*GROUND, {"id": "W_E", "from": "LAST:49", "to": "E:1"}]
    for number in range(6):
        devices.append(changeover(f"S{number}"))
        wires += [{"id": f"A{number}", "from": "BAT:+", "to": f"S{number}:30"},
                  {"id": f"B{number}", "from": f"S{number}:49", "to": "LAST:30"}]  # fmt: skip

    assert "E:1" in supply_of(rig(devices, wires)).unguarded


def test_nothing_of_the_van_hangs_on_a_fuse_behind_it(van: Reference) -> None:
    """The bus bars are fed by their links alone; hazard and light switch do not join two of them."""
    supply = supply_of(van)

    assert [{name for name, _ in guards(supply, node)} for node in ("BB2:1", "S1:30", "S1:15", "F28:out", "F27:out")] \
        == [{"MF3_FUSE"}, {"F21_FUSE"}, {"F21_FUSE"}, {"F28_FUSE"}, {"F27_FUSE"}]  # fmt: skip
