"""The shipped references: of the size and the age they say they are, complete, and objected to by nobody."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from harnessdiff.model.harness import Conductor, Device, Joint
from harnessdiff.model.objection import Objection
from harnessdiff.model.parts import Output, Source
from harnessdiff.model.reference import Reference
from harnessdiff.pipeline import lint
from harnessdiff.read.reference import read_reference
from harnessdiff.report.objections import rules
from harnessdiff.resources import shipped_references

ROOT = Path(__file__).parent.parent
NAMES = sorted(shipped_references())
SOCKETS = ("iso_1724", "iso_11446", "iso_10487", "sae_j1962")
POLARITIES = ("period_car", "period_car_positive_ground")


@cache
def shipped(name: str) -> Reference:
    return read_reference(shipped_references()[name])


@cache
def objections(name: str) -> tuple[Objection, ...]:
    return lint(shipped(name))


def of_kind(reference: Reference, *kinds: str) -> list[Device]:
    return [device for device in reference.harness.devices() if device.kind in kinds]


def test_the_references_that_are_promised_are_shipped() -> None:
    promised = {"light_van", "hatchback", "motorcycle", *POLARITIES, "modern_fragment", "skeleton", *SOCKETS}

    assert promised <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_nobody_objects_to_a_shipped_reference(name: str) -> None:
    """Notes are waived with a reason each; an error is not there at all, waived or not."""
    levels = {(rules()[one.rule].level, one.waived is not None) for one in objections(name)}

    assert levels <= {("note", True)}


@pytest.mark.parametrize("name", NAMES)
def test_a_waiver_says_why_in_words(name: str) -> None:
    assert all(len(waiver.because.split()) >= 3 for waiver in shipped(name).as_built)


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_reference_says_that_it_is_invented_and_under_which_licence(name: str) -> None:
    reference = shipped(name)

    assert reference.invented or name in SOCKETS
    assert reference.licence == "MIT"
    assert reference.origin


@pytest.mark.parametrize("name", NAMES)
def test_a_shipped_reference_has_a_page_that_says_what_it_leaves_out(name: str) -> None:
    page = shipped_references()[name].with_name("README.md").read_text(encoding="utf-8").lower()

    assert "leave" in page
    assert "out" in page


@pytest.mark.parametrize(
    ("name", "wires", "fuses"),
    [
        ("light_van", 350, 35),
        ("hatchback", 180, 20),
        ("motorcycle", 70, 5),
        ("period_car", 60, 2),
        ("modern_fragment", 60, 5),
        ("skeleton", 8, 8),
    ],
)
def test_a_shipped_reference_is_of_real_size(name: str, wires: int, fuses: int) -> None:
    reference = shipped(name)

    assert len(reference.harness.conductors()) >= wires
    assert len(of_kind(reference, "fuse", "fusible_link", "circuit_breaker")) >= fuses


@pytest.mark.parametrize("name", [name for name in NAMES if name not in SOCKETS])
def test_a_shipped_reference_tells_its_states(name: str) -> None:
    states = {(condition.key, condition.engine) for condition in shipped(name).conditions}

    assert {("out", "stopped"), ("ignition", "stopped"), ("start", "cranking"), ("ignition", "running")} <= states


def test_the_period_car_has_two_glass_fuses_marked_by_the_current_at_which_they_blow() -> None:
    fuses = of_kind(shipped("period_car"), "fuse")

    assert [(fuse.body, fuse.rating_convention) for fuse in fuses] == [("glass 6.3 x 32", "blowing")] * 2


def test_the_period_car_joins_with_bullets_and_sleeves_and_has_an_unfused_ignition_line() -> None:
    reference = shipped("period_car")
    types = {one.details.type for one in reference.harness.elements if isinstance(one, Joint)}
    unfused = {one.element for one in objections("period_car") if one.rule == "unfused"}
    functions = {
        reference.function_of(wire.circuit) for wire in map(reference.harness.conductor, unfused) if wire is not None
    }

    assert "bullet" in types
    assert "ignition" in functions


def test_the_positive_ground_variant_differs_in_polarity_alone() -> None:
    negative, positive = map(shipped, POLARITIES)
    changed = [
        one.id for one, other in zip(negative.harness.elements, positive.harness.elements, strict=True) if one != other
    ]
    turned = {
        device.id for device in negative.harness.devices() if any(isinstance(part, Source) for part in device.parts)
    }
    moved = {one.subject for one in set(negative.harness.incidences) ^ set(positive.harness.incidences)}

    assert (negative.vehicle.ground_polarity, positive.vehicle.ground_polarity) == ("negative", "positive")
    assert set(changed) <= turned
    assert all(isinstance(negative.harness.by_id[one], Conductor) for one in moved)
    assert len(moved) <= 8
    assert replace(
        negative, id="", title="", harness=positive.harness, vehicle=positive.vehicle, as_built=()
    ) == replace(
        positive, id="", title="", as_built=(), sha256=negative.sha256, note=negative.note, origin=negative.origin
    )


def test_the_modern_fragment_has_limited_outputs_a_data_pair_and_what_only_the_maker_may_touch() -> None:
    reference = shipped("modern_fragment")
    outputs = [part for device in reference.harness.devices() for part in device.parts if isinstance(part, Output)]

    assert reference.extent == "fragment"
    assert all(output.limit_A.known for output in outputs)
    assert any(output.locks_out_after for output in outputs)
    assert {"restraint", "high_voltage"} <= {device.protected for device in reference.harness.devices()}
    assert "data" in {circuit.function for circuit in reference.circuits}


def test_the_skeleton_marks_what_it_assumes() -> None:
    reference = shipped("skeleton")

    assert reference.extent == "skeleton"
    assert all(wire.size_mm2.known_by == "assumed" for wire in reference.harness.conductors())


def row_of(name: str) -> str:
    """The line of the table of references that a reference has: wires, fuses, conditions, notes waived."""
    reference = shipped(name)
    fuses = len(of_kind(reference, "fuse", "fusible_link", "circuit_breaker"))
    counts = (len(reference.harness.conductors()), fuses, len(reference.conditions), len(objections(name)))
    return " | ".join(map(str, counts))


@pytest.mark.parametrize("name", NAMES)
def test_the_table_of_references_counts_right(name: str) -> None:
    table = (ROOT / "reference_harnesses/README.md").read_text(encoding="utf-8")
    (line,) = (line for line in table.splitlines() if re.match(rf"\| `{name}` ", line))

    assert line.endswith(f"| {row_of(name)} |")


@pytest.mark.parametrize("name", NAMES)
def test_a_reference_keeps_one_element_a_line(name: str) -> None:
    text = shipped_references()[name].read_text(encoding="utf-8")
    data = json.loads(text)
    lines = [line.strip().rstrip(",") for line in text.splitlines()]

    for wire in data["wires"]:
        assert json.dumps(wire, ensure_ascii=False) in lines
