"""What a change does: computed from the two networks, as codes with the numbers and the way they came by."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.modification import Value
from harnessdiff.model.range import Range

CODES = (
    "live_unasked", "dead", "dimmed", "reversed", "refusal_defeated", "stays_live_without_fuse", "masked_blown_fuse",
    "fed_through_added", "other_fuse", "backfeed", "holds_once_triggered", "oscillates", "supply_collapses",
    "draws", "drop", "fuse_current", "over_limit", "under_voltage", "dies_with", "joint_heat", "device_heat", "drain",
    "protection", "data_pair", "reading", "past_fuses",
)  # fmt: skip
"""Codes of consequences."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Consequence:
    """One thing that follows for one element.

    Parameters
    ----------
    code : str
        One of `CODES`.
    subject : str
        The element it happens to: a load, a conductor, a joint, a fuse.
    terminal : str or None
        Where a device has several: the terminal by which this part of it is fed.
    conditions : tuple of str
        Conditions of the vehicle in which it happens; empty where it does not depend on one.
    before, after : Range or None
        The quantity on the reference and as found.
    unit : str or None
        Of the two.
    path : tuple of str
        Elements passed from the source on: as found, or on the reference for what has gone dead.
    because : tuple of str
        Devices whose changed state brings it about, the nearest first.
    params : tuple
        What else there is to say, by name.
    sources : tuple of str
        Tables, standards and rules that the numbers come from.
    """

    code: str
    subject: str
    terminal: str | None = None
    conditions: tuple[str, ...] = ()
    before: Range | None = None
    after: Range | None = None
    unit: str | None = None
    path: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    params: tuple[tuple[str, Value], ...] = ()
    sources: tuple[str, ...] = ()

    def get(self, name: str) -> Value:
        """A parameter, None where it is not there."""
        return dict(self.params).get(name)
