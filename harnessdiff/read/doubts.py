"""What a survey says that the reference makes doubtful: told, and taken as it was written."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from harnessdiff.model.harness import Conductor, Harness, Terminal
from harnessdiff.model.quantity import Quantity
from harnessdiff.read.schema import did_you_mean
from harnessdiff.read.structure import make

PLACES = ("on", "in", "from", "to")
Faults = Iterator[tuple[str, str]]


def doubts(data: dict[str, Any], harness: Harness) -> Faults:
    """Points that lie beyond the wire they are said to lie on.

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
    for number, entry in enumerate(data.get("observations", ())):
        here = f"/observations/{number}"
        members = [(f"{here}/members/{place}", one) for place, one in enumerate(entry.get("members", ()))]
        members += [(f"{here}/{key}", entry[key]) for key in PLACES if isinstance(entry.get(key), dict)]
        for pointer, member in members:
            wire = member.get("wire")
            conductor = harness.conductor(wire) if isinstance(wire, str) else None
            if conductor is not None and isinstance(member.get("at"), dict):
                yield from _beyond_the_end(member["at"], conductor, f"{pointer}/at")
                yield from _not_near(member["at"], conductor, harness, f"{pointer}/at")


def _beyond_the_end(at: dict[str, Any], wire: Conductor, here: str) -> Faults:
    distance = make(Quantity, at.get("distance_m"))
    if distance.low is not None and wire.length_m.high is not None and distance.low > wire.length_m.high:
        message = (
            f"{wire.id} is {wire.length_m.high:g} m long by the reference, and the point {distance.low:g} m along it"
        )
        yield f"{here}/distance_m", message


def _not_near(at: dict[str, Any], wire: Conductor, harness: Harness, here: str) -> Faults:
    near = at.get("near")
    if near is None:
        return
    names = names_along(wire, harness)
    if near not in names:
        ends = " and ".join(sorted(harness.targets(wire.id, "end_1", "end_2")))
        message = f"{wire.id} does not come near {near} by the reference: it runs from {ends}"
        yield f"{here}/near", message + did_you_mean(near, names)


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
    in_those_zones = {device.id for device in harness.devices() if device.zone in names}
    return frozenset(names | in_those_zones)
