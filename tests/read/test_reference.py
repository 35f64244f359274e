"""Reading a reference: every element and incidence, and everything said beside them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from harnessdiff.model.harness import (
    Bond,
    Colour,
    Conductor,
    Device,
    Joint,
    JointDetails,
    Terminal,
    Zone,
)
from harnessdiff.model.parts import Coil, Input, Link, Load, Output, When
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.reference import Circuit, Condition, Option, Reference, Waiver
from harnessdiff.read.reference import read_reference
from tests.support import Json, least_reference, reference_from

WHOLE: Json = least_reference(
    invented=True,
    origin="typed from sheet 4",
    relay_terminals="DIN 72552",
    unmodelled_rest_A={"max": 0.03, "known_by": "measured"},
    vehicle={"make": "Marlow", "system_voltage_V": 24, "ground_polarity": "positive"},
    options=[{"id": "tow", "name": "tow socket"}],
    conditions=[
        {
            "id": "night",
            "name": "by night",
            "key": "ignition",
            "engine": "running",
            "positions": {"S2": "on", "S1": "off"},
            "duration_s": 3600,
            "must_stay_dead": ["E14"],
            "option": ["tow"],
            "refusal": True,
        }
    ],
    devices=[
        {"id": "BODY", "kind": "body", "terminals": ["1"]},
        {
            "id": "K3",
            "kind": "relay_socket",
            "zone": "Z1",
            "terminals": ["30", {"name": "87", "standard": "87", "side": "load", "limit_A": 20, "connector": "X1"}],
            "bonds": [{"terminal": "30", "to": "BODY:1", "resistance_ohm": 0.002}],
        },
        {
            "id": "K3_RELAY",
            "kind": "relay",
            "seat": "K3",
            "parts": [
                {"kind": "coil", "between": ["30", "87"], "resistance_ohm": 80},
                {"kind": "link", "between": ["30", "87"], "when": {"energised": True}},
                {"kind": "output", "between": ["30", "87"], "pulsed": True, "locks_out_after": 3},
                {
                    "kind": "load",
                    "between": ["87", "30"],
                    "model": "motor",
                    "when": {"inputs": [{"terminal": "30", "is": "high"}]},
                },
            ],
        },
        {"id": "X1", "kind": "plug", "ways": 2, "sealed": True, "option": ["not:tow"]},
        {"id": "S1", "kind": "switch", "positions": ["off", "on"], "rest_position": "off"},
        {"id": "S2", "kind": "switch", "positions": ["off", "on"], "interlock": "bonnet_open"},
        {"id": "E14", "kind": "lamp", "terminals": ["58"]},
    ],
    splices=[{"id": "SP1", "zone": "Z1", "cover": "tape", "circuit": "C_SIDE"}],
    wires=[
        {
            "id": "W1",
            "from": "K3:30",
            "to": "SP1",
            "colour": {"base": "grey", "tracer": "BK"},
            "size_mm2": 0.75,
            "length_m": {"exact": 40, "unit": "cm"},
            "circuit": "C_SIDE",
            "zones": ["Z_TAIL", "Z1"],
            "confidence": "doubtful",
        }
    ],
    as_built=[{"element": "W1", "because": "short"}],
)


@pytest.fixture(scope="module")
def read() -> Reference:
    return reference_from(WHOLE)


def test_what_is_said_of_the_whole_is_kept(read: Reference) -> None:
    assert (read.id, read.title, read.extent, read.version) == ("least", "the least", "fragment", "1.0")
    assert (read.invented, read.origin, read.relay_terminals) == (True, "typed from sheet 4", "DIN 72552")
    assert read.unmodelled_rest_A == Quantity(high=0.03)
    assert (read.vehicle.make, read.vehicle.system_voltage_V, read.vehicle.ground_polarity) == (
        "Marlow",
        24,
        "positive",
    )
    assert read.options == (Option(id="tow", name="tow socket"),)
    assert read.circuits == (Circuit(id="C_SIDE", name="side lamps", function="side_lamp"),)
    assert read.as_built == (Waiver(element="W1", because="short"),)


def test_a_conditions_positions_are_in_the_order_of_their_names(read: Reference) -> None:
    assert read.conditions == (
        Condition(
            id="night",
            name="by night",
            key="ignition",
            engine="running",
            positions=(("S1", "off"), ("S2", "on")),
            duration_s=3600,
            refusal=True,
            must_stay_dead=("E14",),
            option=("tow",),
        ),
    )


def test_every_element_is_made_once_in_order_of_its_id(read: Reference) -> None:
    ids = [element.id for element in read.harness.elements]

    assert ids == sorted(ids)
    assert ids == [
        "BODY", "BODY:1", "E14", "E14:58", "K3", "K3:30", "K3:87", "K3_RELAY", "S1", "S2", "SP1", "W1", "X1",
        "Z1", "Z_TAIL",
    ]  # fmt: skip


def test_every_incidence_is_made_once(read: Reference) -> None:
    assert {(one.subject, one.role, one.target) for one in read.harness.incidences} == {
        ("BODY:1", "of", "BODY"),
        ("E14:58", "of", "E14"),
        ("K3:30", "of", "K3"),
        ("K3:87", "of", "K3"),
        ("K3_RELAY", "seat", "K3"),
        ("W1", "end_1", "K3:30"),
        ("W1", "end_2", "SP1"),
    }
    assert len(read.harness.incidences) == 7
    assert all(one.point is None for one in read.harness.incidences)


def test_elements_carry_what_was_written(read: Reference) -> None:
    harness = read.harness

    assert harness.by_id["Z1"] == Zone(id="Z1", name="engine bay")
    assert harness.by_id["K3:87"] == Terminal(
        id="K3:87", name="87", standard="87", side="load", limit_A=Quantity.exactly(20), connector="X1"
    )
    assert harness.by_id["K3"] == Device(
        id="K3",
        kind="relay_socket",
        zone="Z1",
        bonds=(Bond(terminal="30", to="BODY:1", resistance_ohm=Quantity.exactly(0.002)),),
    )
    assert harness.by_id["X1"] == Device(id="X1", kind="plug", ways=2, sealed=True, option=("not:tow",))
    assert harness.by_id["W1"] == Conductor(
        id="W1",
        colour=Colour(base="GY", tracer="BK"),
        size_mm2=Quantity.exactly(0.75),
        length_m=Quantity.exactly(0.4),
        circuit="C_SIDE",
        zones=("Z_TAIL", "Z1"),
        confidence="doubtful",
    )


def test_parts_become_what_their_kind_says(read: Reference) -> None:
    relay = read.harness.device("K3_RELAY")

    assert relay is not None
    assert relay.parts == (
        Coil(between=("30", "87"), resistance_ohm=Quantity.exactly(80)),
        Link(between=("30", "87"), when=When(energised=True)),
        Output(between=("30", "87"), pulsed=True, locks_out_after=3),
        Load(between=("87", "30"), model="motor", when=When(inputs=(Input(terminal="30", is_="high"),))),
    )


def test_a_splice_is_a_joint_that_the_maker_made(read: Reference) -> None:
    assert read.harness.joint("SP1") == Joint(
        id="SP1",
        details=JointDetails(type="factory_splice", tool="machine", cover="tape"),
        zone="Z1",
        circuit="C_SIDE",
    )


@pytest.mark.parametrize(
    ("written", "read_as"),
    [("factory_splice", "factory_splice"), ("bullet", "bullet"), ("joint_sleeve", "bullet"), ("unknown", "unknown")],
)
def test_a_factory_sleeve_counts_as_bullets_in_a_sleeve(written: str, read_as: str) -> None:
    joint = reference_from(least_reference(splices=[{"id": "SP1", "type": written}])).harness.joint("SP1")

    assert joint is not None
    assert joint.details.type == read_as


def test_the_function_of_a_circuit_is_found_by_its_id(read: Reference) -> None:
    assert [read.function_of(name) for name in ("C_SIDE", "C_NONE", None)] == ["side_lamp", None, None]


def test_lists_in_another_order_give_the_same_harness(read: Reference) -> None:
    turned = {key: list(reversed(value)) if isinstance(value, list) else value for key, value in WHOLE.items()}

    assert reference_from(turned).harness == read.harness


def test_a_reference_is_read_from_a_file_with_its_hash(tmp_path: Path) -> None:
    path = tmp_path / "reference.json"
    path.write_text(json.dumps(WHOLE), encoding="utf-8")

    assert read_reference(path) == reference_from(WHOLE)
    assert len(read_reference(path).sha256 or "") == 64


def test_the_shipped_van_is_a_whole_vehicle_and_invented(van: Reference) -> None:
    assert (van.extent, van.invented) == ("whole", True)
    assert len(van.harness.conductors()) > 200
    ends = [(one.subject, one.role) for one in van.harness.incidences if one.role in ("end_1", "end_2")]
    assert sorted(ends) == [(wire.id, end) for wire in van.harness.conductors() for end in ("end_1", "end_2")]
