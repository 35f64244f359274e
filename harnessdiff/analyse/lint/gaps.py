"""What is missing before protection, drop or behaviour can be computed."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.graph import GROUND_DEVICES, slot_of
from harnessdiff.model.harness import Conductor, Device, Harness, Terminal
from harnessdiff.model.objection import Objection
from harnessdiff.model.parts import Coil, Link, Load, Output, Part, Source
from harnessdiff.model.reference import Reference

WITHOUT_INSIDE = frozenset(
    {
        "fuse_slot", "fuse", "fusible_link", "circuit_breaker", "relay_socket", "plug", "joint_block", "ground_stud",
        "socket", "diagnostic_socket", "spark_plug",
    } | GROUND_DEVICES
)  # fmt: skip
"""Kinds of which the kind itself says what they do, or that do nothing."""
STATES = {
    "whole": (("out", "stopped"), ("ignition", "stopped"), ("start", "cranking"), ("ignition", "running")),
    "skeleton": (("out", "stopped"), ("ignition", "stopped"), ("start", "cranking"), ("ignition", "running")),
    "fragment": (("out", "stopped"),),
}
"""Key and engine of the conditions without which behaviour cannot be told, by the extent of the reference."""
CONTACTS = frozenset({"switch", "button", "relay", "inline_connector"})
"""Kinds whose contacts carry a load's current."""


def gap_objections(reference: Reference) -> Iterator[Objection]:
    """What is missing, each with the member that would fill it."""
    harness = reference.harness
    for element in harness.elements:
        if isinstance(element, Conductor):
            yield from _wire(element)
        elif isinstance(element, Device):
            yield from _device(harness, element)
    if reference.vehicle.system_voltage_V is None:
        yield Objection.to(reference.id, "gap_vehicle", member="system_voltage_V")
    if reference.vehicle.ground_polarity is None:
        yield Objection.to(reference.id, "gap_vehicle", member="ground_polarity")
    present = {(condition.key, condition.engine) for condition in reference.conditions}
    for key, engine in STATES[reference.extent]:
        if (key, engine) not in present:
            yield Objection.to(reference.id, "gap_condition", key=key, engine=engine)


def _wire(wire: Conductor) -> Iterator[Objection]:
    if not wire.size_mm2.known:
        yield Objection.to(wire.id, "gap_size")
    if not wire.length_m.known:
        yield Objection.to(wire.id, "gap_length")
    if wire.circuit is None:
        yield Objection.to(wire.id, "gap_circuit")
    if wire.colour is None:
        yield Objection.to(wire.id, "gap_colour")
    if not wire.zones:
        yield Objection.to(wire.id, "gap_zones")


def _device(harness: Harness, device: Device) -> Iterator[Objection]:
    if device.kind == "fuse_slot":
        seated = harness.subjects(device.id, "seat")
        wired = any(
            harness.subjects(terminal, "end_1", "end_2")
            for terminal in harness.subjects(device.id, "of")
            if getattr(harness.by_id[terminal], "side", None) != "supply"
        )
        if wired and not seated:
            yield Objection.to(device.id, "gap_fuse")
        if device.legend_A is None and wired:
            yield Objection.to(device.id, "gap_legend")
    elif device.kind in ("fuse", "fusible_link", "circuit_breaker"):
        if not device.rating_A.known:
            yield Objection.to(device.id, "gap_fuse_rating")
        if device.body is None:
            yield Objection.to(device.id, "gap_fuse_body")
    elif device.kind not in WITHOUT_INSIDE and not device.parts and not device.all_common:
        terminals = harness.subjects(slot_of(harness, device.id), "of")
        outside = all(getattr(harness.by_id[one], "open_end", False) for one in terminals)
        if terminals and not outside:
            yield Objection.to(device.id, "gap_inside", kind=device.kind.replace("_", " "))
    for part in device.parts:
        for member in _missing_of(part, device.kind):
            between = f"{part.between[0]} and {part.between[1]}"
            yield Objection.to(device.id, f"gap_{type(part).__name__.lower()}", member=member, between=between)
    for bond in device.bonds:
        if not bond.resistance_ohm.known:
            yield Objection.to(device.id, "gap_bond", terminal=bond.terminal, to=bond.to)
    if device.kind in ("inline_connector", "relay_socket", "switch"):
        for terminal in harness.subjects(device.id, "of"):
            element = harness.by_id[terminal]
            if isinstance(element, Terminal) and not element.limit_A.known and not _limited(device, element.name):
                yield Objection.to(terminal, "gap_terminal")


def _limited(device: Device, name: str) -> bool:
    """Whether a contact of the device, or its own load alone, bounds what its terminal carries."""
    there = [part for part in device.parts if name in part.between]
    if there and all(isinstance(part, (Load, Coil)) for part in there):
        return True
    return any(isinstance(part, (Link, Output)) and part.limit_A.known for part in there)


def _missing_of(part: Part, kind: str) -> Iterator[str]:
    """Members of a part that a computation needs and that are not known."""
    if isinstance(part, (Link, Output)):
        if not part.limit_A.known and (isinstance(part, Output) or kind in CONTACTS):
            yield "limit_A"
        if not part.resistance_ohm.known:
            yield "resistance_ohm"
    elif isinstance(part, Load):
        has_power = part.rated_W.known and part.rated_V.known
        if not (has_power or part.rated_A.known or part.resistance_ohm.known):
            yield "rated_W with rated_V, rated_A, or resistance_ohm"
    elif isinstance(part, Source):
        if not part.voltage_V.known:
            yield "voltage_V"
        if part.model == "battery" and not part.internal_ohm.known:
            yield "internal_ohm"
        if part.model == "battery" and not part.capacity_Ah.known:
            yield "capacity_Ah"
        if part.model != "battery" and not (part.limit_A.known or part.internal_ohm.known):
            yield "limit_A"
    elif isinstance(part, Coil):
        for member in ("resistance_ohm", "pull_in_V", "drop_out_V"):
            if not getattr(part, member).known:
                yield member
    elif not part.forward_V.known:
        yield "forward_V"
