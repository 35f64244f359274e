"""What was looked at: only there does not recorded mean as the reference."""

from __future__ import annotations

from harnessdiff.model.harness import Conductor, Device, Element, Harness, Terminal, Zone
from harnessdiff.model.survey import Scope


def zones_of(element: Element, harness: Harness) -> tuple[str, ...]:
    """Zones an element lies in; for a wire without any, those of what it ends at."""
    if isinstance(element, Zone):
        return (element.id,)
    if isinstance(element, Terminal):
        device = harness.device(harness.device_of(element.id))
        return zones_of(device, harness) if device is not None else ()
    if isinstance(element, Conductor):
        if element.zones:
            return element.zones
        ends = (harness.by_id.get(end) for end in harness.targets(element.id, "end_1", "end_2"))
        return tuple(zone for end in ends if end is not None for zone in zones_of(end, harness))
    if isinstance(element, Device) and element.zone is None:
        seats = [harness.device(seat) for seat in harness.targets(element.id, "seat")]
        return tuple(seat.zone for seat in seats if seat is not None and seat.zone)
    zone = getattr(element, "zone", None)
    return (zone,) if zone else ()


def looked_at(harness: Harness, scope: Scope) -> frozenset[str]:
    """Ids of all elements that were looked at.

    A wire counts as looked at where at least one of its zones was; what lies out of scope or was
    not opened does not count, whatever else was said.

    Parameters
    ----------
    harness : Harness
    scope : Scope

    Returns
    -------
    frozenset of str
    """
    barred = {place.element for place in (*scope.not_opened, *scope.out_of_scope) if place.element}
    barred_zones = {place.zone for place in (*scope.not_opened, *scope.out_of_scope) if place.zone}
    barred_circuits = {place.circuit for place in (*scope.not_opened, *scope.out_of_scope) if place.circuit}
    zones = {place.zone for place in scope.looked_at if place.zone} - barred_zones
    circuits = {place.circuit for place in scope.looked_at if place.circuit}
    named = {place.element for place in scope.looked_at if place.element}
    found = set()
    for element in harness.elements:
        circuit = getattr(element, "circuit", None)
        places = zones_of(element, harness)
        if element.id in barred or (circuit and circuit in barred_circuits):
            continue
        if scope.everything:
            if not places or not set(places) <= barred_zones:
                found.add(element.id)
        elif element.id in named or (circuit and circuit in circuits) or zones & set(places):
            found.add(element.id)
    return frozenset(found)
