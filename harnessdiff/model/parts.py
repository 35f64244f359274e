"""Inner behaviour of devices: what conducts, what draws, what feeds, and when."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

from harnessdiff.model.quantity import UNKNOWN, Quantity

Pair: TypeAlias = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """A terminal of the device and what must be on it: ``high`` or ``low``."""

    terminal: str
    is_: str


@dataclass(frozen=True, slots=True, kw_only=True)
class When:
    """State of things in which a part conducts or draws; everything named holds together."""

    position: tuple[str, ...] = ()
    energised: bool | None = None
    engine: tuple[str, ...] = ()
    condition: tuple[str, ...] = ()
    inputs: tuple[Input, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """A contact, pin or strap that conducts both ways."""

    between: Pair
    when: When | None = None
    resistance_ohm: Quantity = UNKNOWN
    limit_A: Quantity = UNKNOWN
    momentary_A: Quantity = UNKNOWN
    note: str | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Something that draws current from its first terminal to its second."""

    between: Pair
    model: str
    when: When | None = None
    rated_W: Quantity = UNKNOWN
    rated_V: Quantity = UNKNOWN
    rated_A: Quantity = UNKNOWN
    resistance_ohm: Quantity = UNKNOWN
    rest_A: Quantity = UNKNOWN
    inrush_A: Quantity = UNKNOWN
    least_V: Quantity = UNKNOWN
    cut_out_V: Quantity = UNKNOWN
    limit_A: Quantity = UNKNOWN
    note: str | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Something that feeds current out of its first terminal, back in at its second."""

    between: Pair
    model: str
    when: When | None = None
    voltage_V: Quantity = UNKNOWN
    internal_ohm: Quantity = UNKNOWN
    capacity_Ah: Quantity = UNKNOWN
    limit_A: Quantity = UNKNOWN
    note: str | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """The coil of a relay or solenoid: a load that pulls its device's contacts."""

    between: Pair
    resistance_ohm: Quantity = UNKNOWN
    pull_in_V: Quantity = UNKNOWN
    drop_out_V: Quantity = UNKNOWN
    suppression: str | None = None
    note: str | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Diode:
    """Conducts from its first terminal (anode) to its second (cathode)."""

    between: Pair
    forward_V: Quantity = UNKNOWN
    limit_A: Quantity = UNKNOWN
    note: str | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """A switched or pulsed electronic output with limits of its own: feed, then output."""

    between: Pair
    when: When | None = None
    limit_A: Quantity = UNKNOWN
    momentary_A: Quantity = UNKNOWN
    resistance_ohm: Quantity = UNKNOWN
    pulsed: bool = False
    locks_out_after: int | None = None
    note: str | None = field(default=None, compare=False)


Part: TypeAlias = Link | Load | Source | Coil | Diode | Output
