"""What was looked at and what was not, zone by zone, circuit by circuit and by length of wire; what is not known."""

from __future__ import annotations

import math
from collections.abc import Mapping

from harnessdiff.analyse.lint.gaps import gap_objections
from harnessdiff.model.findings import CircuitSeen, Coverage, ZoneSeen
from harnessdiff.model.harness import Conductor
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Scope
from harnessdiff.model.verdict import Silent


def coverage_of(reference: Reference, scope: Scope, seen: frozenset[str]) -> Coverage:
    """The coverage of a survey.

    Parameters
    ----------
    reference : Reference
    scope : Scope
        What the survey says was looked at, not opened and out of scope.
    seen : frozenset of str
        Ids of the elements that count as looked at.

    Returns
    -------
    Coverage
        Zones and circuits in the reference's order.
    """
    not_opened = {place.zone: place.because for place in scope.not_opened if place.zone}
    barred = {place.zone: place.because for place in scope.out_of_scope if place.zone}
    looked: dict[str, list[str]] = {}
    for place in scope.looked_at:
        if place.zone:
            looked.setdefault(place.zone, []).extend([place.note] if place.note else [])
    zones = []
    for zone in reference.harness.zones():
        if zone.id in barred:
            status, because = "out_of_scope", barred[zone.id]
        elif zone.id in not_opened:
            status, because = "not_opened", not_opened[zone.id]
        elif scope.everything or zone.id in looked:
            status, because = "looked_at", "; ".join(looked.get(zone.id, ())) or None
        else:
            status, because = "not_inspected", None
        zones.append(ZoneSeen(id=zone.id, name=zone.name, status=status, because=because))
    lengths = {wire.id: _length_m(wire) for wire in reference.harness.conductors()}
    throughout = _throughout(reference, scope, seen, {zone.id: zone.status for zone in zones})
    wires: dict[str, list[str]] = {}
    for wire in reference.harness.conductors():
        if wire.circuit:
            wires.setdefault(wire.circuit, []).append(wire.id)
    circuits = [
        CircuitSeen(
            id=circuit.id,
            name=circuit.name,
            wires_seen=sum(wire in seen for wire in wires.get(circuit.id, ())),
            wires=len(wires.get(circuit.id, ())),
        )
        for circuit in reference.circuits
    ]
    return Coverage(
        zones=tuple(zones),
        circuits=tuple(circuits),
        elements_seen=len(seen),
        elements=len(reference.harness.elements),
        length_m_throughout=math.fsum(length for wire, length in lengths.items() if length and wire in throughout),
        length_m_seen=math.fsum(length for wire, length in lengths.items() if length and wire in seen),
        length_m=math.fsum(length for length in lengths.values() if length is not None),
        wires_without_length=sum(length is None for length in lengths.values()),
    )


def _throughout(
    reference: Reference, scope: Scope, seen: frozenset[str], statuses: Mapping[str, str]
) -> frozenset[str]:
    """Wires that were looked at in every place: of those named by themselves or by circuit nothing need be opened."""
    named = {place.element for place in scope.looked_at} | {place.circuit for place in scope.looked_at}
    found = set()
    for wire in reference.harness.conductors():
        if wire.id not in seen:
            continue
        by_name = wire.id in named or (wire.circuit is not None and wire.circuit in named)
        fine = {"looked_at", "not_inspected"} if by_name else {"looked_at"}
        said = by_name or scope.everything or bool(wire.zones)
        if said and all(statuses.get(zone) in fine for zone in wire.zones):
            found.add(wire.id)
    return frozenset(found)


def _length_m(wire: Conductor) -> float | None:
    """Length of a wire: the middle of its bounds; None where a bound is missing. [m]"""
    low, high = wire.length_m.low, wire.length_m.high
    return None if low is None or high is None else (low + high) / 2


def silent_of(reference: Reference) -> Silent:
    """Devices that the reference says nothing of, though what follows electrically depends on it.

    Parameters
    ----------
    reference : Reference

    Returns
    -------
    Silent
        In the reference's order.
    """
    gaps = tuple(gap_objections(reference))
    return Silent(
        devices=tuple(dict.fromkeys(gap.element for gap in gaps if gap.rule == "gap_inside")),
        loads=tuple(dict.fromkeys(gap.element for gap in gaps if gap.rule == "gap_load")),
    )
