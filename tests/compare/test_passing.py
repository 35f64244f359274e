"""What stands between two nets where all current of the second comes by way of the first. Rigs solved by hand."""

from __future__ import annotations

import pytest

from harnessdiff.compare.before import Before
from tests.support import Json, between, body, lamp, rig, run, slot, source

GROUND = run("BAT:-", "BODY:1")


def switch(own: str) -> Json:
    parts = [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}]
    return between(own, "switch", parts, positions=["off", "on"], rest_position="off")


def passed(devices: list[Json], wires: list[Json], above: str, below: str) -> tuple[str, ...]:
    return Before(rig([source(), body(), *devices], [*GROUND, *wires])).ways.between(above, below)


CHAIN = [switch("S"), *slot("F", 10), switch("T"), lamp("E")]
CHAIN_WIRES = run("BAT:+", "S:1", "S:2", "F:in", "F:out", "T:1", "T:2", "E:1")


@pytest.mark.parametrize(
    ("above", "below", "expected"),
    [
        ("BAT:+", "E:1", ("F", "S", "T")),
        ("S:2", "E:1", ("F", "T")),
        ("F:out", "T:2", ("T",)),
        ("E:1", "BAT:+", ()),
        ("F:out", "T:1", ()),
        ("BAT:+", "E:2", ()),
    ],
)
def test_everything_in_series_between_two_nets_is_named_from_the_supply_side(
    above: str, below: str, expected: tuple[str, ...]
) -> None:
    assert passed(CHAIN, CHAIN_WIRES, above, below) == expected


def test_two_outputs_of_one_bus_bar_are_no_way_to_each_other() -> None:
    devices = [*slot("F", 10), *slot("G", 10), lamp("E"), lamp("H")]
    wires = [*run("BAT:+", "F:in", "F:out", "E:1", "G:out", "H:1"), {"id": "W_G", "from": "BAT:+", "to": "G:in"}]

    assert passed(devices, wires, "F:out", "G:out") == passed(devices, wires, "G:out", "F:out") == ()
    assert passed(devices, wires, "BAT:+", "G:out") == ("G",)


def test_switch_that_another_way_leads_round_is_not_all_that_feeds() -> None:
    """The lamp is fed through S, or through T from a second battery: what is joined past S was fed without it, too."""
    devices = [source("OWN"), switch("S"), switch("T"), lamp("E")]
    wires = run("BAT:+", "S:1", "S:2", "E:1", "OWN:+", "T:1", "T:2", "S:2")

    assert passed(devices, wires, "BAT:+", "E:1") == ()


def test_both_of_two_switches_side_by_side_are_named_and_a_stub_is_not() -> None:
    devices = [switch("S"), switch("T"), switch("STUB"), lamp("E"), lamp("H")]
    wires = run("BAT:+", "S:1", "S:2", "E:1", "BAT:+", "T:1", "STUB:2", "H:1", "BAT:+", "STUB:1", "T:2", "S:2")

    assert passed(devices, wires, "BAT:+", "E:1") == ("S", "T")


def test_switches_on_the_way_to_ground_are_named_from_the_metal() -> None:
    bulb = between("E", "lamp", [{"kind": "load", "between": ["1", "2"], "model": "resistance", "resistance_ohm": 9}])
    wires = [*run("BAT:+", "E:1", "E:2", "S:1", "S:2", "T:1"), {"id": "X", "from": "T:2", "to": "BODY:1"}]
    devices = [bulb, switch("S"), switch("T")]

    assert passed(devices, wires, "BODY:1", "E:2") == ("S", "T")
    assert passed(devices, wires, "S:2", "E:2") == ("S",)
    assert passed(devices, wires, "BAT:+", "E:2") == ()


def test_output_and_diode_are_gone_past_one_way_and_are_no_switch() -> None:
    module = between("U", "module", [{"kind": "output", "between": ["1", "2"], "limit_A": 6}])
    diode = between("D", "diode", [{"kind": "diode", "between": ["1", "2"]}])
    wires = run("BAT:+", "F:in", "F:out", "U:1", "U:2", "D:1", "D:2", "E:1")

    assert passed([*slot("F", 10), module, diode, lamp("E")], wires, "BAT:+", "E:1") == ("F",)
    assert passed([*slot("F", 10), module, diode, lamp("E")], wires, "F:out", "E:1") == ()
