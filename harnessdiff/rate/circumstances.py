"""What a rating needs beside the modification itself."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Harness, Zone
from harnessdiff.model.reference import Condition, Reference
from harnessdiff.tables.loader import limit

NO_SUPPLY = frozenset({"ground", "other"})


@dataclass(frozen=True, kw_only=True)
class Circumstances:
    """The circuits and places a modification lies in, and what was computed of it.

    Parameters
    ----------
    functions : tuple of str
        Of the circuits it touches.
    zones : tuple of Zone
        It lies in.
    as_found : Harness
    functions_at : mapping
        Functions by terminal and by device, see `functions_at`.
    consequences : tuple of Consequence
        It answers for.
    conditions : mapping of str to Condition
    stalled : bool
        Whether the complaint says that the engine stalls.
    heat_marks : bool
        Whether heat marks are recorded behind the protection that it concerns.
    years : mapping of str to int
        Since an element was made, at least; by element, where the record tells it.
    """

    functions: tuple[str, ...]
    zones: tuple[Zone, ...]
    as_found: Harness
    functions_at: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    consequences: tuple[Consequence, ...] = ()
    conditions: Mapping[str, Condition] = field(default_factory=dict)
    stalled: bool = False
    heat_marks: bool = False
    years: Mapping[str, int] = field(default_factory=dict)

    def functions_of_load(self, device_id: str, terminal: str | None) -> tuple[str, ...]:
        """Functions that a load serves: by the circuits that end at it, else as its device says."""
        found = self.functions_at.get(f"{device_id}:{terminal}", ()) if terminal else ()
        found = found or self.functions_at.get(device_id, ())
        device = self.as_found.device(device_id)
        own = (device.function,) if device is not None and device.function else ()
        return tuple(dict.fromkeys((*own, *found)))

    def often(self, conditions: tuple[str, ...]) -> str:
        """How often any of some conditions occurs: ``parked``, ``each_drive``, ``at_times`` or ``by_mistake``."""
        known = [self.conditions[one] for one in conditions if one in self.conditions]
        return min((_often(one) for one in known), key=OFTEN.index, default="each_drive")


OFTEN = ("parked", "each_drive", "at_times", "by_mistake")
"""How often a condition of the vehicle occurs, the most often first."""


def _often(condition: Condition) -> str:
    """How often a condition occurs, by what it says of itself; a common-practice reading of key and duration."""
    if condition.refusal:
        return "by_mistake"
    lasts = condition.duration_s
    if condition.key == "out":
        return "parked" if lasts is None or lasts >= limit("parked_s") else "at_times"
    return "each_drive" if lasts is None or lasts >= limit("drive_s") or condition.key == "start" else "at_times"


def functions_at(reference: Reference) -> dict[str, tuple[str, ...]]:
    """Functions of the circuits whose wires end at a terminal, by terminal and by device; ground serves none."""
    harness = reference.harness
    found: dict[str, set[str]] = {}
    for wire in harness.conductors():
        function = reference.function_of(wire.circuit)
        if function is None or function in NO_SUPPLY:
            continue
        for end in harness.targets(wire.id, "end_1", "end_2"):
            if ":" in end:
                found.setdefault(end, set()).add(function)
                found.setdefault(harness.device_of(end), set()).add(function)
    return {place: tuple(sorted(functions)) for place, functions in found.items()}
