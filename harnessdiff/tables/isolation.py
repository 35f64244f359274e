"""Loads the steps by which a thing is made dead, in the order of the trade."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from harnessdiff.tables.loader import rows


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """A sort of step.

    Parameters
    ----------
    step : str
        Its code.
    order : int
        Place in a sequence: energy first, cut-through last.
    counts : int
        What it counts for where the fewest steps are looked for; stopping the engine counts for nothing.
    choice : int
        Where as few steps do, the lower is taken.
    needs : str
        Least dismantling that must be allowed: ``none``, ``covers``, ``trim``.
    """

    step: str
    order: int
    counts: int
    choice: int
    needs: str


@cache
def isolation_steps() -> dict[str, StepRow]:
    """Sorts of step by code, in their order."""
    found = (
        StepRow(
            step=row["step"],
            order=int(row["order"]),
            counts=int(row["counts"]),
            choice=int(row["choice"]),
            needs=row["needs"],
        )
        for row in rows("isolation_steps")
    )
    return {row.step: row for row in sorted(found, key=lambda row: row.order)}
