"""Loads what each sort of look or measurement takes: minutes, dismantling, and the state of the vehicle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from harnessdiff.tables.loader import rows

DISMANTLING = ("none", "covers", "trim", "anything")
"""How much may be taken apart, least first."""
STATES = ("as_is", "battery_off", "key_on", "load_on", "at_rest")
"""In what state of the vehicle a look is taken."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LookRow:
    """A sort of look or measurement.

    Parameters
    ----------
    code : str
    minutes : float
        It takes once the place is laid open. [min]
    needs : str
        Least dismantling that must be allowed, one of `DISMANTLING`; a concealed place needs more.
    state : str
        One of `STATES`; ``battery_off`` loses fault codes that were not saved.
    along : bool
        Whether it leads through every place that it is of; else one of them will do.
    """

    code: str
    minutes: float
    needs: str
    state: str
    along: bool


@cache
def look_rows() -> dict[str, LookRow]:
    """Sorts of look by code."""
    return {
        row["code"]: LookRow(
            code=row["code"],
            minutes=float(row["minutes"]),
            needs=row["needs"],
            state=row["state"],
            along=row["reach"] == "along",
        )
        for row in rows("looks")
    }
