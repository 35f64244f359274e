"""Things that hang in the air, and things that nothing uses."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from harnessdiff.graph import GROUND_DEVICES, slot_of
from harnessdiff.model.harness import Conductor, Device, Harness, Joint, Terminal
from harnessdiff.model.objection import Objection
from harnessdiff.model.reference import Reference

MAY_BE_SPARE = frozenset(
    {"fuse_slot", "relay_socket", "plug", "socket", "diagnostic_socket", "joint_block", "inline_connector"}
)
"""Kinds of which an unused one is no fault: a spare slot, a preparation."""
OUTLETS = frozenset({"socket", "diagnostic_socket"})
"""Kinds that wires may end at with nothing behind them: something is plugged in there."""
FEWEST_WIRES_AT_A_SPLICE = 2


def structure_objections(reference: Reference) -> Iterator[Objection]:
    """Ends, splices, devices and cavities that cannot be as they are written."""
    harness = reference.harness
    used = used_terminals(harness)
    touched = frozenset(bond.to for device in harness.devices() for bond in device.bonds)
    for element in harness.elements:
        if isinstance(element, Terminal):
            yield from _end_in_the_air(harness, element, used)
        elif isinstance(element, Joint):
            wires = len(harness.subjects(element.id, "end_1", "end_2"))
            if wires < FEWEST_WIRES_AT_A_SPLICE:
                yield Objection.to(element.id, "lone_splice", wires=wires)
        elif isinstance(element, Device):
            yield from _unwired(harness, element, touched)
    if reference.extent == "whole":
        for element in harness.elements:
            if isinstance(element, Terminal) and element.open_end:
                yield Objection.to(element.id, "open_end_in_whole")
    yield from _two_in_one_seat(harness)
    yield from _cavities(harness)
    yield from _parallel_wires(harness)


def used_terminals(harness: Harness) -> frozenset[str]:
    """Terminals that a part, a bond, a fuse or a common housing gives something behind them."""
    used: set[str] = set()
    for device in harness.devices():
        owner = slot_of(harness, device.id)
        used |= {f"{owner}:{name}" for part in device.parts for name in part.between}
        for part in device.parts:
            if part_when := getattr(part, "when", None):
                used |= {f"{owner}:{wanted.terminal}" for wanted in part_when.inputs}
        used |= {f"{device.id}:{bond.terminal}" for bond in device.bonds}
        used |= {bond.to for bond in device.bonds}
        if device.kind in ("fuse", "fusible_link", "circuit_breaker", "fuse_slot") or device.all_common:
            used |= set(harness.subjects(owner, "of"))
        if device.kind in GROUND_DEVICES:
            used |= set(harness.subjects(device.id, "of"))
    return frozenset(used)


def _wires_at(harness: Harness, terminal: str) -> tuple[str, ...]:
    return harness.subjects(terminal, "end_1", "end_2")


def _end_in_the_air(harness: Harness, terminal: Terminal, used: frozenset[str]) -> Iterator[Objection]:
    wires = _wires_at(harness, terminal.id)
    if len(wires) != 1 or terminal.id in used or terminal.open_end:
        return
    device = harness.device(harness.device_of(terminal.id))
    if device is None or device.kind in OUTLETS:
        return
    seated = (harness.device(one) for one in harness.subjects(device.id, "seat"))
    has_inside = device.parts or any(one is not None and one.parts for one in seated)
    if has_inside or device.kind in ("ground_stud", "inline_connector"):
        yield Objection.to(wires[0], "end_in_the_air", terminal=terminal.id, device=device.id)


def _unwired(harness: Harness, device: Device, touched: frozenset[str]) -> Iterator[Objection]:
    if device.kind in MAY_BE_SPARE or device.kind in GROUND_DEVICES:
        return
    terminals = harness.subjects(device.id, "of")
    reached = any(_wires_at(harness, one) or one in touched or _open(harness, one) for one in terminals)
    if terminals and not device.bonds and not reached:
        yield Objection.to(device.id, "unwired", kind=device.kind.replace("_", " "))
    seatless = device.kind in ("fuse", "circuit_breaker") and not terminals and not harness.targets(device.id, "seat")
    if seatless:
        yield Objection.to(device.id, "fuse_in_no_slot", kind=device.kind.replace("_", " "))


def _open(harness: Harness, terminal: str) -> bool:
    return bool(getattr(harness.by_id[terminal], "open_end", False))


def _two_in_one_seat(harness: Harness) -> Iterator[Objection]:
    """Slots and sockets in which more than one thing sits, in one vehicle."""
    for device in harness.devices():
        seated = harness.subjects(device.id, "seat")
        if len(seated) > 1:
            yield Objection.to(device.id, "two_in_one_seat", seated=seated)


def _cavities(harness: Harness) -> Iterator[Objection]:
    in_cavity: dict[tuple[str, str], list[str]] = {}
    for element in harness.elements:
        if isinstance(element, Terminal) and element.connector and element.cavity:
            in_cavity.setdefault((element.connector, element.cavity), []).append(element.id)
    for (plug, cavity), terminals in sorted(in_cavity.items()):
        if len(terminals) > 1:
            yield Objection.to(plug, "cavity_twice", cavity=cavity, terminals=tuple(terminals))
    for plug, count in sorted(Counter(plug for plug, _ in in_cavity).items()):
        device = harness.device(plug)
        if device is not None and device.ways is not None and count > device.ways:
            yield Objection.to(plug, "more_cavities_than_ways", cavities=count, ways=device.ways)


def _parallel_wires(harness: Harness) -> Iterator[Objection]:
    between: dict[tuple[str, ...], list[str]] = {}
    for wire in harness.conductors():
        ends = (*harness.targets(wire.id, "end_1"), *harness.targets(wire.id, "end_2"))
        if len(set(ends)) == 1:
            yield Objection.to(wire.id, "wire_to_itself", terminal=ends[0])
        else:
            between.setdefault(tuple(sorted(ends)), []).append(wire.id)
    for (one, other), wires in sorted(between.items()):
        for beside in wires[1:]:
            yield Objection.to(beside, "parallel_wires", other=wires[0], ends=(one, other))


def unused_objections(reference: Reference) -> Iterator[Objection]:
    """Circuits, zones and options that no element names; a skeleton lists them to be named in surveys."""
    if reference.extent == "skeleton":
        return
    harness = reference.harness
    circuits = {getattr(element, "circuit", None) for element in harness.elements}
    zones: set[str | None] = {getattr(element, "zone", None) for element in harness.elements}
    options: set[str] = set()
    for element in harness.elements:
        if isinstance(element, Conductor):
            zones |= set(element.zones)
        options |= {name.removeprefix("not:") for name in getattr(element, "option", ())}
    options |= {name.removeprefix("not:") for condition in reference.conditions for name in condition.option}
    for circuit in reference.circuits:
        if circuit.id not in circuits:
            yield Objection.to(circuit.id, "unused", what="circuit")
    for zone in harness.zones():
        if zone.id not in zones:
            yield Objection.to(zone.id, "unused", what="zone")
    for option in reference.options:
        if option.id not in options:
            yield Objection.to(option.id, "unused", what="option")
