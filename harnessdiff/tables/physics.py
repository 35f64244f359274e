"""Loads the tables of physics: conductors, insulation, fuses, resistance of joints.

Each function reads its file once and returns typed rows; a row that a verdict can rest on keeps its
source and status, so that the verdict can name them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from harnessdiff.tables.loader import LIMIT_TABLE, awg_to_mm2, rows

SIZE_TOLERANCE = 1.02
"""A conductor up to 2 % under a tabled size counts as that size, as in `loader.conductor_limit_A`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistanceRow:
    """The greatest resistance at 20 °C that a standard allows a conductor of a size."""

    table: str
    finish: str
    size_mm2: float
    greatest_ohm_per_km: float


@cache
def conductor_resistance() -> tuple[ResistanceRow, ...]:
    """Greatest resistance of conductors, thinnest first within a table and finish."""
    found = (
        ResistanceRow(
            table=row["table"],
            finish=row["finish"],
            size_mm2=float(row["size_mm2"]) if row["size_mm2"] else awg_to_mm2(float(row["awg"])),
            greatest_ohm_per_km=float(row["greatest_ohm"]) / float(row["length_m"]) * 1000,
        )
        for row in rows("conductor_resistance")
    )
    return tuple(sorted(found, key=lambda row: (row.table, row.finish, row.size_mm2)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What a conductor is made of.

    `k_constant` [A·√s/mm²] and `k_zero_degC` are those of IEC 60364-5-54, by which the heat that a
    short leaves in a conductor is reckoned.
    """

    material: str
    least_resistivity_ohm_mm2_per_m: float
    greatest_resistivity_ohm_mm2_per_m: float
    alpha20_per_K: float
    k_constant: float
    k_zero_degC: float
    assumed: bool


@cache
def materials() -> dict[str, Material]:
    """Materials by code, copper first; `assumed` where a property is no more than common practice."""
    names = dict.fromkeys(row["material"] for row in rows("materials"))
    return {name: _material(name) for name in names}


def _material(name: str) -> Material:
    own = [row for row in rows("materials") if row["material"] == name]
    values = {row["property"]: float(row["value"]) for row in own}
    return Material(material=name, assumed=any(row["status"] == "common practice" for row in own), **values)


@dataclass(frozen=True, slots=True, kw_only=True)
class InsulationRow:
    """What heat an insulation stands: for ever, and at the end of a short."""

    insulation: str
    rated_degC: float
    short_degC: float
    source: str


@cache
def insulation_classes() -> tuple[InsulationRow, ...]:
    """Insulation classes and materials."""
    return tuple(
        InsulationRow(
            insulation=row["insulation"],
            rated_degC=float(row["rated_degC"]),
            short_degC=float(row["short_degC"]),
            source=_cited(row),
        )
        for row in rows("insulation_classes")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """What a table allows a conductor of a size; `rated_degC` None where insulation does not count."""

    table: str
    column: str
    rated_degC: float | None
    size_mm2: float
    limit_A: float
    source: str


@cache
def conductor_limits() -> tuple[LimitRow, ...]:
    """All rows of all tables of conductor limits; the prudent vehicle table first."""
    by_size = (
        LimitRow(
            table=row["table"],
            column="",
            rated_degC=None,
            size_mm2=float(row["size_mm2"]),
            limit_A=float(row["limit_A"]),
            source=_cited(row),
        )
        for row in rows("conductor_limits")
    )
    by_gauge = (
        LimitRow(
            table=row["table"],
            column=row["column"],
            rated_degC=float(row["rated_degC"]) if row["rated_degC"] else None,
            size_mm2=awg_to_mm2(float(row["awg"])),
            limit_A=float(row["limit_A"]),
            source=_cited(row),
        )
        for row in rows("conductor_limits_by_gauge")
    )
    return (*by_size, *by_gauge)


@cache
def limit_tables() -> tuple[str, ...]:
    """Names of the tables of conductor limits, the prudent vehicle table first."""
    return tuple(dict.fromkeys(row.table for row in conductor_limits()))


@cache
def least_tabled_size_mm2() -> float:
    """The thinnest conductor of the prudent vehicle table, which one of unknown size is taken for. [mm²]"""
    return min(row.size_mm2 for row in conductor_limits() if row.table == LIMIT_TABLE)


@cache
def greatest_tabled_size_mm2() -> float:
    """The thickest conductor of any table of limits. [mm²]"""
    return max(row.size_mm2 for row in conductor_limits())


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseGate:
    """What a standard or data sheet promises at one share of the rating.

    At `share` times its rating a fuse opens no sooner than `least_s` and no later than `most_s`; None
    where that side is not promised. A gate without `most_s` is one that the fuse carries for ever.
    """

    share: float
    least_s: float | None
    most_s: float | None
    source: str


@cache
def fuse_gates(body: str, rating_A: float) -> tuple[FuseGate, ...]:
    """Gates of a fuse by its body and rating, least share first.

    Parameters
    ----------
    body : str
        Body as in ``fuse_gates.csv``.
    rating_A : float
        Rating. [A]

    Returns
    -------
    tuple of FuseGate
        Those of the family that reaches this rating; empty where none is tabled.
    """
    own = [row for row in rows("fuse_gates") if row["body"] == body and float(row["to_A"]) >= rating_A]
    family = min((float(row["to_A"]) for row in own), default=None)
    found = (
        FuseGate(
            share=float(row["percent"]) / 100,
            least_s=float(row["least_s"]) if row["least_s"] else None,
            most_s=float(row["most_s"]) if row["most_s"] else None,
            source=_cited(row),
        )
        for row in own
        if float(row["to_A"]) == family
    )
    return tuple(sorted(found, key=lambda gate: gate.share))


@cache
def fuse_bodies(said: str) -> tuple[str, ...]:
    """Bodies that a fuse or its holder may be, by what is said of it; all where nothing known is said."""
    longest_first = sorted(rows("fuse_bodies"), key=lambda row: (-len(row["word"]), row["word"]))
    for row in longest_first:
        if row["word"].casefold() in said.casefold():
            return tuple(row["bodies"].split("|"))
    return tuple(sorted({body for row in rows("fuse_bodies") for body in row["bodies"].split("|")}))


@cache
def least_fuse_A() -> float:
    """The smallest fuse that is made. [A]"""
    return min(float(row["rating_A"]) for row in rows("fuse_colours"))


@cache
def fuse_elements(body: str, quantity: str) -> dict[float, float]:
    """Data of fuses of a body by rating [A], smallest first: ``cold_ohm`` [Ω] or ``melting_A2s`` [A²s]."""
    own = [row for row in rows("fuse_elements") if (row["body"], row["quantity"]) == (body, quantity)]
    return dict(sorted((float(row["rating_A"]), float(row["value"])) for row in own))


@cache
def fuse_elements_source(body: str, quantity: str) -> str:
    """Where the data of fuses of a body come from."""
    own = (_cited(row) for row in rows("fuse_elements") if (row["body"], row["quantity"]) == (body, quantity))
    return "; ".join(dict.fromkeys(own))


@cache
def carried_at(body: str, ambient_degC: float) -> float:
    """Share of its rating that a fuse carries in a hot place, by the next hotter tabled temperature.

    Parameters
    ----------
    body : str
        Body as in ``fuse_derating.csv``.
    ambient_degC : float
        Temperature around the fuse. [°C]

    Returns
    -------
    float
        1 where nothing is tabled for the body; the last tabled share beyond the hottest row.
    """
    own = sorted(
        (float(row["ambient_degC"]), float(row["share"])) for row in rows("fuse_derating") if row["body"] == body
    )
    return next((share for degC, share in own if degC >= ambient_degC), own[-1][1] if own else 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class JointResistanceRow:
    """Resistance of a joint by its rank in the order of joints, seen clean and of unknown state."""

    least_ohm: float
    usual_ohm: float
    greatest_clean_ohm: float
    greatest_ohm: float


@cache
def joint_resistance() -> dict[int, JointResistanceRow]:
    """Resistance of joints by rank."""
    return {
        int(row["rank"]): JointResistanceRow(
            least_ohm=float(row["least_ohm"]),
            usual_ohm=float(row["usual_ohm"]),
            greatest_clean_ohm=float(row["greatest_clean_ohm"]),
            greatest_ohm=float(row["greatest_ohm"]),
        )
        for row in rows("joint_resistance")
    }


@dataclass(frozen=True, slots=True, kw_only=True)
class JointConditionRow:
    """What a bad state does to a joint: how many times its usual resistance, and the greatest it may have."""

    usual_times: float
    greatest_ohm: float


@cache
def joint_conditions() -> dict[str, JointConditionRow]:
    """What states of joints do, by state; a state that is not tabled does nothing."""
    return {
        row["condition"]: JointConditionRow(
            usual_times=float(row["usual_times"]), greatest_ohm=float(row["greatest_ohm"])
        )
        for row in rows("joint_conditions")
    }


def _cited(row: dict[str, str]) -> str:
    return f"{row['source']} ({row['status']})"
