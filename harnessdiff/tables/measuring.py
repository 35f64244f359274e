"""Loads the tables of measuring: instruments, what a prediction leaves open, limits of drops, figures of drain."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from harnessdiff.tables.loader import rows


@cache
def measuring(name: str) -> float:
    """A value of ``measuring.csv``, in the unit that stands there."""
    (value,) = (float(row["value"]) for row in rows("measuring") if row["name"] == name)
    return value


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentRow:
    """How far an instrument may be off.

    `share` is of what it shows; `digits` of the last digit, of which a range has `counts`; `least` is
    what it is off whatever it shows, in the unit.
    """

    word: str
    unit: str
    share: float
    digits: int
    counts: int
    least: float


@cache
def instruments() -> tuple[InstrumentRow, ...]:
    """Instruments, those of which nothing is said last."""
    return tuple(
        InstrumentRow(
            word=row["word"],
            unit=row["unit"],
            share=float(row["share"]),
            digits=int(row["digits"]),
            counts=int(row["counts"]),
            least=float(row["least"]),
        )
        for row in rows("instruments")
    )


@cache
def drop_limit_V(what: str) -> float:
    """What may be lost over something sound under load: ``joint``, ``joint_large`` or ``ground``. [V]"""
    (value,) = (float(row["limit_V"]) for row in rows("drop_limits") if row["what"] == what)
    return value


@dataclass(frozen=True, slots=True, kw_only=True)
class DrainFigure:
    """What somebody published on current with the key out: normal up to, a fault from. [A]"""

    name: str
    normal_to_A: float
    fault_from_A: float
    source: str


@cache
def drain_figures() -> tuple[DrainFigure, ...]:
    """Published figures of drain, in the order of the table."""
    return tuple(
        DrainFigure(
            name=row["name"],
            normal_to_A=float(row["normal_to_A"]),
            fault_from_A=float(row["fault_from_A"]),
            source=f"{row['source']} ({row['status']})",
        )
        for row in rows("drain_figures")
    )
