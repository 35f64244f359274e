"""A harness as a network: pieces of wires, joints, ground, and what conducts in which condition."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settle
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Condition
from tests.analyse.network.solved import SOME
from tests.analyse.rigs import CLEAN, at, tap, two_lamps
from tests.cli.living import SECOND_BATTERY
from tests.strategies import plantings, references
from tests.support import Json, bench_data, body, case_from, lamp, reference_from, rig, run, source

TWO_LAMPS = two_lamps()
BENCH = reference_from(bench_data())
TO_LOOSE: Json = {"loose": {"treatment": "capped"}}


def tapped(*distances_m: float, joint: Json = CLEAN) -> Network:
    """The two lamps with taps on the wire to E, 1 m long."""
    lines = [tap(f"T{n}", at("W_E_1", one), "E", joint=joint) | {"to": TO_LOOSE} for n, one in enumerate(distances_m)]
    return Network(case_from(TWO_LAMPS, *lines).as_found)


def ohms(network: Network, element: str) -> list[float]:
    return [one.value.ohm.nominal for one in network.branches_of(element) if one.value.ohm is not None]


def ohms_at(network: Network, element: str, node: str) -> list[float]:
    pieces = [one for one in network.branches_of(element) if node in (one.one, one.other)]
    return [one.value.ohm.nominal for one in pieces if one.value.ohm is not None]


@settings(max_examples=20)
@given(st.lists(st.integers(1, 99), min_size=1, max_size=4, unique=True))
def test_pieces_of_a_wire_share_its_length_and_resistance(places_cm: list[int]) -> None:
    (whole,) = ohms(Network(TWO_LAMPS.harness), "W_E_1")
    network = tapped(*(place / 100 for place in places_cm))
    stops = [0, *sorted(places_cm), 100]
    expected = [whole * (far - near) / 100 for near, far in pairwise(stops)]
    ends = {node: ohms_at(network, "W_E_1", node) for node in ("I:2", "E:1")}

    assert sorted(ohms(network, "W_E_1")) == pytest.approx(sorted(expected))
    assert ends == {"I:2": [pytest.approx(expected[0])], "E:1": [pytest.approx(expected[-1])]}


def test_current_through_a_joint_passes_its_resistance_once() -> None:
    network = tapped(0.5)
    branches = network.branches_of("+T0.joint")
    measured = Network(network.harness, measured_ohm={"+T0.joint": Range.exactly(2.0)})

    assert [one.kind for one in branches] == ["contact", "contact"]
    assert ohms(measured, "+T0.joint") == [1.0, 1.0]
    assert sum(ohms(network, "+T0.joint")) < 0.01


def test_measured_joint_replaces_its_range_and_no_other() -> None:
    network = tapped(0.3, 0.6)
    measured = Network(network.harness, measured_ohm={"+T0.joint": Range(low=1, nominal=2, high=4, guaranteed=False)})
    contact = measured.branches_of("+T0.joint")[0].value.ohm

    assert contact == Range(low=0.5, nominal=1, high=2, guaranteed=False)
    assert ohms(measured, "+T1.joint") == ohms(network, "+T1.joint")
    assert ohms(measured, "W_E_1") == ohms(network, "W_E_1")


# -- ground


@pytest.mark.parametrize(("polarity", "pole"), [(None, "BAT:-"), ("negative", "BAT:-"), ("positive", "BAT:+")])
def test_voltages_count_from_the_grounded_pole(polarity: str | None, pole: str) -> None:
    grounded = "BAT:+" if polarity == "positive" else "BAT:-"
    other = "BAT:-" if polarity == "positive" else "BAT:+"
    wires = [*run(other, "E:1"), {"id": "W_GND", "from": grounded, "to": "BODY:1"}]
    network = Network(rig([source(voltage_V=12), body(), lamp("E")], wires).harness, polarity)

    assert network.ground == pole
    assert settle(network, SOME).voltage_V(pole) == 0.0
    assert settle(network, SOME).voltage_V("E:1") == pytest.approx(12 * network.forward, abs=0.2)


def test_added_battery_is_not_what_voltages_count_from() -> None:
    network = Network(case_from(BENCH, *SECOND_BATTERY).as_found)

    assert network.ground == "BAT:-"


@pytest.mark.parametrize(("devices", "ground"), [
    ([body(), lamp("E")], "BODY:1"), ([source()], "BAT:-"),
    ([{"id": "U", "kind": "module", "terminals": ["7"]}], "U:7"),
    ([], "nothing"),
])  # fmt: skip
def test_there_is_always_something_to_count_from(devices: list[Json], ground: str) -> None:
    assert Network(rig(devices, []).harness).ground == ground


def test_metal_is_what_the_body_is_joined_to() -> None:
    network = Network(BENCH.harness)

    assert network.metal_parts == {"BODY:1"}
    assert {"BAT:-", "E1:31", "BODY:1"} <= network.metal
    assert not {"BAT:+", "K1:85", "E1:58"} & network.metal


# -- what conducts


def in_condition(**members: object) -> Condition:
    return Condition(**{"id": "some", "name": "some", "key": "out", "engine": "stopped"} | members)  # type: ignore[arg-type]


@pytest.mark.parametrize(("condition", "conducts"), [
    (in_condition(), {"S1": False, "XC1": True, "U1": False}),
    (in_condition(positions=(("S1", "on"), ("XC1", "unmated"))), {"S1": True, "XC1": False, "U1": False}),
    (in_condition(id="ignition"), {"S1": False, "XC1": True, "U1": True}),
])  # fmt: skip
def test_positions_and_the_condition_decide_what_conducts(condition: Condition, conducts: dict[str, bool]) -> None:
    network = Network(BENCH.harness)
    standing = network.standing(condition)
    branches = {one: next(each for each in network.branches_of(one) if each.kind != "load") for one in conducts}

    assert {one: bool(standing[branch.number]) for one, branch in branches.items()} == conducts


def test_contact_of_a_relay_hangs_on_its_coil_alone() -> None:
    network = Network(BENCH.harness)
    (contact,) = [one for one in network.branches_of("K1_RELAY") if one.kind == "link"]

    assert network.standing(SOME)[contact.number]
    assert [(one.device, one.owner, one.when.energised) for one in network.guards_of(contact.number)] == [
        ("K1_RELAY", "K1", True)
    ]
    assert (contact.one, contact.other) == ("K1:30", "K1:87")


# -- laws of the whole


@settings(max_examples=15)
@given(st.data())
def test_branches_are_the_edges_of_the_graph_and_each_belongs_to_its_element(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))
    network = Network(case_from(reference, *data.draw(plantings(reference))).as_found)

    assert [one.number for one in network.branches] == list(range(network.graph.number_of_edges()))
    for branch in network.branches:
        assert branch in network.branches_of(branch.element)
        assert network.graph.has_edge(branch.one, branch.other)
        assert network.net_of[branch.one] >= {branch.one}
    low, high = network.bounds_ohm
    assert np.all((low <= high) | np.isnan(low))


@settings(max_examples=15)
@given(st.data())
def test_pieces_of_every_wire_add_up_to_it_whatever_sits_on_it(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))
    before = Network(reference.harness)
    after = Network(case_from(reference, *data.draw(plantings(reference))).as_found)
    for wire in reference.harness.conductors():
        if after.harness.conductor(wire.id) == wire:
            assert sum(ohms(after, wire.id)) == pytest.approx(sum(ohms(before, wire.id)), rel=1e-6, abs=1e-4)
