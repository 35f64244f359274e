"""What a reading may have been, by the instrument it was taken with."""

from __future__ import annotations

import math
import re

from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.measuring import InstrumentRow, instruments

UNITS = {"V": "V", "A": "A", "Ω": "ohm", "ohm": "ohm"}
FACTORS = {"": 1.0, "m": 1e-3, "k": 1e3, "M": 1e6}
RANGE = re.compile(r"(\d+(?:\.\d+)?)\s*([mkM]?)(V|A|Ω|ohm)\s+range")
LEAST_RANGE = 0.2


def read_range(quantity: Quantity, unit: str, instrument: str | None = None) -> Range:
    """Between what the measured quantity lies, by what the instrument showed.

    Parameters
    ----------
    quantity : Quantity
        As read; an open side is infinite, of a resistance and below 0.
    unit : str
        ``V``, ``A`` or ``ohm``.
    instrument : str or None
        In words: kind and range.

    Returns
    -------
    Range
        In the unit.
    """
    low = quantity.low if quantity.low is not None else (0.0 if unit == "ohm" else -math.inf)
    high = math.inf if quantity.high is None else quantity.high
    ends = [end for end in (low, high) if math.isfinite(end)]
    middle = sum(ends) / len(ends) if ends else 0.0
    low, high = low - off_by(low, unit, instrument), high + off_by(high, unit, instrument)
    return Range(low=low, nominal=min(max(middle, low), high), high=high, guaranteed=False)


def off_by(value: float, unit: str, instrument: str | None) -> float:
    """How far what an instrument shows may be from what is: a share of it, digits, and its zero. [unit]"""
    if not math.isfinite(value):
        return 0.0
    row = _row(unit, instrument)
    return abs(value) * row.share + row.digits * digit(value, unit, instrument) + row.least


def digit(value: float, unit: str, instrument: str | None) -> float:
    """The least step that an instrument shows, in its range or else the least that holds the value.

    Parameters
    ----------
    value : float
        What it shows. [unit]
    unit : str
    instrument : str or None

    Returns
    -------
    float
        In the unit.
    """
    return _full_scale(value, unit, instrument) / _row(unit, instrument).counts


def _row(unit: str, instrument: str | None) -> InstrumentRow:
    words = (instrument or "").casefold()
    return next(row for row in instruments() if row.unit == unit and row.word in words)


def _full_scale(value: float, unit: str, instrument: str | None) -> float:
    for number, factor, said in RANGE.findall(instrument or ""):
        if UNITS[said] == unit:
            return float(number) * FACTORS[factor]
    scale = LEAST_RANGE
    while scale < abs(value):
        scale *= 10
    return scale
