"""Loads the tables. Each function reads its file once and returns typed rows.

Every file ends in the columns ``source`` and ``status``; a status is ``confirmed``,
``secondary copy``, ``from memory`` or ``common practice``.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from functools import cache

from harnessdiff.resources import shipped_text

STATUSES = ("confirmed", "secondary copy", "from memory", "common practice")


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of ``NAME.csv``, each a mapping from column to text.

    Parameters
    ----------
    name : str
        File name without its ending.

    Returns
    -------
    tuple of dict

    Raises
    ------
    ValueError
        If a row has no source or a status that is not one of `STATUSES`.
    """
    found = tuple(csv.DictReader(io.StringIO(shipped_text("tables", f"{name}.csv"))))
    for row in found:
        if not row["source"] or row["status"] not in STATUSES:
            raise ValueError(f"{name}.csv: a row without source or with an unknown status: {row}")
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class JointRow:
    """One row of the order of joints: `rank` 1 is best; `joint` is what policies call it."""

    rank: int
    joint: str
    type: str
    tools: frozenset[str]
    covers: frozenset[str]
    words: str

    def fits(self, type_: str, tool: str, cover: str) -> bool:
        """Whether a joint of this make may be this row; unknown tool or cover may be any."""
        return (
            type_ in (self.type, "unknown", "other")
            and (tool == "unknown" or "*" in self.tools or tool in self.tools)
            and (cover == "unknown" or "*" in self.covers or cover in self.covers)
        )


@cache
def joint_order() -> tuple[JointRow, ...]:
    """The order of joints, best first."""
    return tuple(
        JointRow(
            rank=int(row["rank"]),
            joint=row["joint"],
            type=row["type"],
            tools=frozenset(row["tools"].split("|")),
            covers=frozenset(row["covers"].split("|")),
            words=row["words"],
        )
        for row in rows("joint_order")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FunctionRow:
    """A circuit's function in words."""

    function: str
    words: str


@cache
def functions() -> dict[str, FunctionRow]:
    """Functions by code."""
    return {row["function"]: FunctionRow(function=row["function"], words=row["words"]) for row in rows("functions")}


SAFETY_LAMPS = frozenset(
    {"brake_lamp", "side_lamp", "side_lamp_left", "side_lamp_right", "turn_left", "turn_right", "fog_rear"}
)
"""Functions of the lamps by which others see what the vehicle does."""


@cache
def risk_matrix() -> dict[tuple[str, str], str]:
    """MIL-STD-882E Table III: severity and probability to risk level."""
    return {(row["severity"], row["probability"]): row["level"] for row in rows("risk_matrix")}


LIMIT_TABLE = "prudent vehicle table"


def conductor_limit_A(size_mm2: float) -> float:
    """Greatest fuse for a copper conductor by the prudent vehicle table.

    Parameters
    ----------
    size_mm2 : float
        Cross-section. [mm²]

    Returns
    -------
    float
        Limit of the greatest tabled size that is not above `size_mm2`, 0 below the smallest
        size. A conductor up to 2 % under a tabled size counts as that size, so that an AWG
        conductor meets the metric size it is sold as. [A]
    """
    limit = 0.0
    for row in rows("conductor_limits"):
        if row["table"] == LIMIT_TABLE and float(row["size_mm2"]) <= size_mm2 * 1.02:
            limit = max(limit, float(row["limit_A"]))
    return limit


@cache
def least_limit_A() -> float:
    """Limit of the thinnest tabled conductor; one of which nobody knows the size is taken for no thinner. [A]"""
    return min(float(row["limit_A"]) for row in rows("conductor_limits") if row["table"] == LIMIT_TABLE)


@cache
def greatest_fuse_A(body: str | None) -> float:
    """The greatest fuse that is made with a body; of any body where it is not known or not tabled. [A]"""
    made = [(row["body"], float(row["rating_A"])) for row in rows("fuse_colours")]
    return max((rating for of, rating in made if of == body), default=max(rating for _, rating in made))


@cache
def carried_share(convention: str | None) -> float:
    """Share of its marking that a fuse carries for ever, by what the marking means; all where not said."""
    shares = {row["convention"]: float(row["carried_share"]) for row in rows("fuse_conventions")}
    return shares[convention or "continuous"]


@cache
def distance_m(name: str) -> float:
    """A named distance of ``distances.csv``. [m]"""
    (value,) = (float(row["value"]) for row in rows("distances") if row["name"] == name)
    return value


@cache
def limit(name: str) -> float:
    """A named limit of ``limits.csv``."""
    (value,) = (float(row["value"]) for row in rows("limits") if row["name"] == name)
    return value


@cache
def assumed_value(name: str) -> float:
    """A value of ``assumed_values.csv``, in the unit that stands there."""
    (value,) = (float(row["value"]) for row in rows("assumed_values") if row["name"] == name)
    return value


def assumed(name: str) -> dict[str, float | str]:
    """A value of ``assumed_values.csv`` as a quantity that says it is assumed."""
    return {"exact": assumed_value(name), "known_by": "assumed"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlausibleRow:
    """Between what values of a unit lies whatever is found in a vehicle."""

    least: float
    greatest: float
    words: str


@cache
def plausible() -> dict[str, PlausibleRow]:
    """Plausible values by unit."""
    return {
        row["unit"]: PlausibleRow(least=float(row["least"]), greatest=float(row["greatest"]), words=row["words"])
        for row in rows("plausible_values")
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class LetterRow:
    """What kind of device a name that begins with these letters is; no kind for a splice."""

    letters: str
    kind: str
    words: str


@cache
def device_letters() -> tuple[LetterRow, ...]:
    """Letters of devices, the longest first."""
    found = (LetterRow(letters=row["letters"], kind=row["kind"], words=row["words"]) for row in rows("device_letters"))
    return tuple(sorted(found, key=lambda row: (-len(row.letters), row.letters)))


def awg_to_mm2(gauge: float) -> float:
    """Cross-section of a solid conductor of an American Wire Gauge number.

    Parameters
    ----------
    gauge : float
        Gauge number; 0, -1, -2 and -3 stand for 0, 2/0, 3/0 and 4/0.

    Returns
    -------
    float
        Cross-section. [mm²]

    References
    ----------
    .. [1] ASTM B258, diameter in inch 0.005 · 92^((36 - n) / 39); formula from memory, held
       against printed tables in the tests.
    """
    diameter_mm = 0.127 * 92 ** ((36 - gauge) / 39)
    return float(math.pi / 4 * diameter_mm**2)


@cache
def colour_words() -> dict[tuple[str, str], str]:
    """Code system and word to IEC 60757 letters; words and letters in lower case."""
    found: dict[tuple[str, str], str] = {}
    for row in rows("colours"):
        found["IEC 60757", row["letters"].lower()] = row["letters"]
        found["words", row["english"].lower()] = row["letters"]
        if row["din_72551"]:
            found["DIN 72551", row["din_72551"].lower()] = row["letters"]
    found["DIN 72551", "ro"] = "RD"
    found["words", "gray"] = "GY"
    found["words", "purple"] = "VT"
    return found


@cache
def screen_colours() -> dict[str, str]:
    """IEC 60757 letters to the colour a screen or printer shows for it."""
    return {row["letters"]: row["screen"] for row in rows("colours")}
