"""Everything that hangs on a fuse, in the order the current reaches it. Rigs with known answers, then the van."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.analyse.fed_by import Fed, fed_by, fuses_of
from harnessdiff.analyse.supply import Supply
from tests.support import between, body, lamp, rig, run, slot, source

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

GROUND = run("BAT:-", "BODY:1")


def loads(reference: Reference, name: str) -> tuple[Fed, ...]:
    return fed_by(Supply(reference.harness, reference.vehicle.ground_polarity), name)


def devices(reference: Reference, name: str) -> list[str]:
    return [one.device for one in loads(reference, name)]


def test_lamp_behind_a_fuse_is_reached_over_its_wire() -> None:
    reference = rig(
        [source(), body(), *slot("F", 10), lamp("E")], [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1", length_m=2.5)]
    )
    (fed,) = loads(reference, "F")

    assert fed == Fed(fuse="F", device="E", terminal="E:1", kind="load", way=("W_E_1",), switched_by=(), length_m=2.5)


def test_nearer_loads_come_first() -> None:
    """By things passed, then by length of wire, then by name."""
    wires = [*GROUND, *run("BAT:+", "F:in"), *run("F:out", "A:1", length_m=3), *run("F:out", "B:1", length_m=1)]
    wires += [*run("F:out", "C:1", length_m=1), *run("A:1", "D:1", length_m=0.1)]
    reference = rig([source(), body(), *slot("F", 10), *map(lamp, "ABCD")], wires)

    assert devices(reference, "F") == ["B", "C", "A", "D"]
    assert [one.length_m for one in loads(reference, "F")] == [1, 1, 3, 3.1]


def test_switch_may_be_closed_and_is_named() -> None:
    switch = between("S", "switch", [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}],
                     positions=["off", "on"], rest_position="off")  # fmt: skip
    wires = [*GROUND, *run("BAT:+", "F:in", "F:out", "S:1", "S:2", "E:1")]
    (fed,) = loads(rig([source(), body(), *slot("F", 10), switch, lamp("E")], wires), "F")

    assert fed.way == ("W_S_1", "S", "W_E_1")
    assert fed.switched_by == ("S",)


def test_load_behind_a_further_fuse_is_behind_this_one_too() -> None:
    reference = rig(
        [source(), body(), *slot("F", 60), *slot("G", 5), lamp("E")],
        [*GROUND, *run("BAT:+", "F:in", "F:out", "G:in", "G:out", "E:1")],
    )

    assert devices(reference, "F") == ["E"]
    assert devices(reference, "G") == ["E"]


def test_load_on_the_supply_side_is_not_behind_the_fuse() -> None:
    wires = [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1"), {"id": "X", "from": "F:in", "to": "H:1"}]

    assert devices(rig([source(), body(), *slot("F", 10), lamp("E"), lamp("H")], wires), "F") == ["E"]


def test_ground_is_not_passed() -> None:
    """Two lamps on one stud hang on their own fuses only."""
    stud = {"id": "G", "kind": "ground_stud", "terminals": ["1"], "bonds": [{"terminal": "1", "to": "BODY:1"}]}
    pair = [between(name, "lamp", [_load()], zone="Z") for name in ("E", "H")]
    wires = [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1"), *run("BAT:+", "K:in", "K:out", "H:1")]
    wires += [{"id": "X", "from": "E:2", "to": "G:1"}, {"id": "Y", "from": "H:2", "to": "G:1"}]
    reference = rig([source(), body(), stud, *slot("F", 10), *slot("K", 10), *pair], wires)

    assert (devices(reference, "F"), devices(reference, "K")) == (["E"], ["H"])


def _load() -> dict[str, object]:
    return {"kind": "load", "between": ["1", "2"], "model": "resistance", "resistance_ohm": 10}


def test_switch_to_ground_makes_no_load_of_what_is_grounded_elsewhere() -> None:
    """A button that grounds the fuse's wire: the other lamp hangs on the same body, and on its own fuse."""
    button = between("B", "button", [{"kind": "link", "between": ["1", "2"], "when": {"position": ["in"]}}],
                     positions=["out", "in"], rest_position="out")  # fmt: skip
    wires = [*GROUND, *run("BAT:+", "F:in", "F:out", "E:1"), *run("BAT:+", "K:in", "K:out", "H:1")]
    wires += [{"id": "X", "from": "F:out", "to": "B:1"}, {"id": "Y", "from": "B:2", "to": "BODY:1"}]
    reference = rig([source(), body(), *slot("F", 10), *slot("K", 10), lamp("E"), lamp("H"), button], wires)

    assert devices(reference, "F") == ["E"]


def test_diode_and_output_are_passed_one_way_only() -> None:
    diode = between("D", "diode", [{"kind": "diode", "between": ["1", "2"]}])
    module = between("U", "module", [{"kind": "output", "between": ["1", "2"], "limit_A": 6}])
    parts = [source(), body(), *slot("F", 10), diode, module, *map(lamp, ("A", "B"))]
    forward = [*GROUND, *run("BAT:+", "F:in", "F:out", "D:1", "D:2", "A:1", "F:out", "U:1", "U:2", "B:1")]
    backward = [*GROUND, *run("BAT:+", "F:in", "F:out", "D:2", "D:1", "A:1", "F:out", "U:2", "U:1", "B:1")]

    assert devices(rig(parts, forward), "F") == ["A", "B"]
    assert devices(rig(parts, backward), "F") == []


def test_coil_is_a_load_and_does_not_pass_current_on(bench: Reference) -> None:
    """F2 feeds the horn through the relay's contact, and its coil, whose other end goes to the button."""
    found = {(one.device, one.terminal): one for one in loads(bench, "F2")}

    assert set(found) == {("H1", "H1:1"), ("K1_RELAY", "K1:86")}
    assert found["K1_RELAY", "K1:86"].kind == "coil"
    assert found["H1", "H1:1"].way == ("W20", "K1_RELAY", "W21")


BENCH = [
    ("F0", {"E1", "E2", "E3", "E4", "H1", "K1_RELAY", "R1", "U1", "U9", "SQ1"}),
    ("F1", {"E1", "E2"}),
    ("F3", {"E3"}),
    ("F4", {"R1", "U1", "E4"}),
    ("F5", {"U9", "SQ1"}),
]


@pytest.mark.parametrize(("name", "expected"), BENCH)
def test_bench_fuse_feeds_what_was_found_by_hand(bench: Reference, name: str, expected: set[str]) -> None:
    assert set(devices(bench, name)) == expected


def test_fuses_are_the_slots_with_something_in_them_and_the_links() -> None:
    link = {"id": "L", "kind": "fusible_link", "zone": "Z", "terminals": ["1", "2"], "rating_A": 30}
    empty, _ = slot("EMPTY", 5)

    assert fuses_of(rig([source(), body(), *slot("F", 10), empty, link], GROUND).harness) == ("F", "L")


# -- the light van, traced by hand in its document

# Loads in the order the current reaches them, with the length of wire to each, added up by hand. [m]
VAN: list[tuple[str, list[tuple[str, float]]]] = [
    # low beam left: W264 + W265 to the headlamp; by W272 and W273 to the levelling control and its two motors
    ("F11", [("E1", 2.05), ("S25", 4.18), ("M6", 6.16), ("M7", 6.41)]),
    # low beam right: W266
    ("F12", [("E2", 1.35)]),
    # fuel pump: W151 + W152, inertia switch, W153 + W154 + W155
    ("F8", [("M5", 7.53)]),
    # cluster memory: W30
    ("F34", [("U9", 0.78)]),
    # power socket in the load space: W577 + W578
    ("F35", [("J2", 3.78)]),
]


@pytest.mark.parametrize(("name", "expected"), VAN)
def test_van_fuse_feeds_what_was_traced_by_hand(van: Reference, name: str, expected: list[tuple[str, float]]) -> None:
    assert [(one.device, one.length_m) for one in loads(van, name)] == expected


def test_van_s_pump_is_fed_through_its_inertia_switch(van: Reference) -> None:
    (pump,) = loads(van, "F8")

    assert pump.switched_by == ("S22",)
    assert pump.way == ("W151", "X1", "W152", "S22", "W153", "X3", "W154", "X11", "W155")


def test_van_s_brake_lamp_fuse_feeds_lamps_and_modules_through_the_pedal_switch(van: Reference) -> None:
    found = loads(van, "F26")

    assert {one.device for one in found} == {"E9", "E10", "E11", "E70", "U5", "U7"}
    assert {one.switched_by for one in found} == {("S6",)}


def test_every_fuse_of_the_van_feeds_something(van: Reference) -> None:
    supply = Supply(van.harness, van.vehicle.ground_polarity)
    idle = [name for name in fuses_of(van.harness) if not fed_by(supply, name)]

    assert idle == []
