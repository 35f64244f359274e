"""What a survey says that the reference or common sense makes doubtful: told, and taken as it was written."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from harnessdiff.model.harness import Conductor, Harness, Terminal
from harnessdiff.model.quantity import Quantity
from harnessdiff.read.schema import did_you_mean, pointer_to
from harnessdiff.read.structure import make
from harnessdiff.tables.loader import limit, plausible

PLACES = ("on", "in", "from", "to")
Faults = Iterator[tuple[str, str]]


def beyond_belief(data: dict[str, Any], harness: Harness) -> Faults:
    """Points so far along a wire that they cannot be meant; as pointer and message."""
    for pointer, wire, at in _points(data, harness):
        distance = make(Quantity, at.get("distance_m"))
        if _beyond(distance, wire, limit("beyond_a_wire")):
            yield f"{pointer}/distance_m", _beyond_words(distance, wire)


def doubts(data: dict[str, Any], harness: Harness) -> Faults:
    """Points beyond or beside their wire, places nobody looked at, and values out of all proportion.

    Parameters
    ----------
    data : dict
        A survey that is sound.
    harness : Harness
        Of the reference.

    Yields
    ------
    tuple
        Pointer and message.
    """
    for pointer, wire, at in _points(data, harness):
        distance = make(Quantity, at.get("distance_m"))
        if _beyond(distance, wire, 1.0):
            yield f"{pointer}/distance_m", _beyond_words(distance, wire)
        yield from _not_near(at, wire, harness, pointer)
    yield from _elsewhere(data, harness)
    yield from _not_looked_at(data)
    for part in ("observations", "readings"):
        yield from _out_of_proportion(data.get(part), (part,))


def _points(data: dict[str, Any], harness: Harness) -> Iterator[tuple[str, Conductor, dict[str, Any]]]:
    """Every point said to lie along a wire of the reference: pointer, wire, and what was said."""
    for number, entry in enumerate(data.get("observations", ())):
        here = f"/observations/{number}"
        members = [(f"{here}/members/{place}", one) for place, one in enumerate(entry.get("members", ()))]
        members += [(f"{here}/{key}", entry[key]) for key in PLACES if isinstance(entry.get(key), dict)]
        for pointer, member in members:
            wire = member.get("wire")
            conductor = harness.conductor(wire) if isinstance(wire, str) else None
            if conductor is not None and isinstance(member.get("at"), dict):
                yield f"{pointer}/at", conductor, member["at"]


def _beyond(distance: Quantity, wire: Conductor, times: float) -> bool:
    return None not in (distance.low, wire.length_m.high) and (distance.low or 0) > (wire.length_m.high or 0) * times


def _beyond_words(distance: Quantity, wire: Conductor) -> str:
    return f"{wire.id} is {wire.length_m.high:g} m long by the reference, and the point {distance.low:g} m along it"


def _not_near(at: dict[str, Any], wire: Conductor, harness: Harness, here: str) -> Faults:
    near = at.get("near")
    if near is None:
        return
    names = names_along(wire, harness)
    if near not in names:
        ends = " and ".join(sorted(harness.targets(wire.id, "end_1", "end_2")))
        message = f"{wire.id} does not come near {near} by the reference: it runs between {ends}"
        yield f"{here}/near", message + did_you_mean(near, names)


def _elsewhere(data: dict[str, Any], harness: Harness) -> Faults:
    """Joints and damage on a wire in a zone that the wire does not come through."""
    for number, entry in enumerate(data.get("observations", ())):
        zone, place = entry.get("zone"), entry.get("on")
        wire = place.get("wire") if isinstance(place, dict) else None
        conductor = harness.conductor(wire) if isinstance(wire, str) else None
        if zone is None or conductor is None or not conductor.zones:
            continue
        zones = {name for name in names_along(conductor, harness) if harness.zone(name) is not None}
        if zone not in zones:
            through = ", ".join(zone for zone in conductor.zones)
            yield f"/observations/{number}/zone", f"{wire} does not pass {zone} by the reference, but {through}"


def _not_looked_at(data: dict[str, Any]) -> Faults:
    """Zones with something seen in them that the scope says nobody opened."""
    looked = data["scope"]["looked_at"]
    if isinstance(looked, str):
        return
    zones = {place.get("zone") for place in looked}
    told: set[str] = set()
    for number, entry in enumerate(data.get("observations", ())):
        zone = entry.get("zone")
        if zone is not None and zone not in zones and zone not in told:
            told.add(zone)
            message = f"something was seen in {zone}, and scope says that nobody looked at it; add it to looked_at"
            yield f"/observations/{number}/zone", message


def _out_of_proportion(value: Any, path: tuple[str | int, ...]) -> Faults:
    """Numbers that are out of all proportion for a vehicle: a slip of the unit, more likely than not."""
    if isinstance(value, list):
        for number, one in enumerate(value):
            yield from _out_of_proportion(one, (*path, number))
    elif isinstance(value, dict):
        for key, one in value.items():
            if not key.startswith("x_"):
                yield from _out_of_proportion(one, (*path, key))
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        names = [part for part in path if isinstance(part, str) and part not in ("exact", "min", "max", "one_of")]
        name, unit = names[-1], names[-1].rsplit("_", 1)[-1]
        row = plausible().get(unit) if "_" in name else None
        if row is not None and value and not row.least <= abs(value) <= row.greatest:
            yield pointer_to(path), f"{value:g} {unit} is out of all proportion for {row.words}; is the unit right?"


def names_along(wire: Conductor, harness: Harness) -> frozenset[str]:
    """Everything of the reference that a wire ends at or passes: terminals, devices, plugs and zones."""
    names = set(wire.zones)
    for target in harness.targets(wire.id, "end_1", "end_2"):
        element = harness.by_id.get(target)
        names.add(target)
        zones = [getattr(element, "zone", None)]
        if isinstance(element, Terminal):
            for device in (harness.device(harness.device_of(target)), harness.device(element.connector or "")):
                if device is not None:
                    names.add(device.id)
                    zones.append(device.zone)
        names |= {zone for zone in zones if zone}
    return frozenset(names | {device.id for device in harness.devices() if device.zone in names})
