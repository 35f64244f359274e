"""Conductors: their resistance, what heat a short leaves in them, and what tables allow them."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import groupby, pairwise

from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import LIMIT_TABLE, assumed_value, conductor_limit_A, limit, plausible
from harnessdiff.tables.physics import (
    SIZE_TOLERANCE,
    InsulationRow,
    LimitRow,
    Material,
    conductor_limits,
    conductor_resistance,
    greatest_tabled_size_mm2,
    insulation_classes,
    least_tabled_size_mm2,
    materials,
)

AT_20_DEGC = Quantity.exactly(20)
M_PER_KM = 1000


# -- resistance


def resistance_ohm(
    size_mm2: Quantity, length_m: Quantity, material: str | None = None, temperature_degC: Quantity = AT_20_DEGC
) -> Range:
    """Resistance of a conductor.

    Parameters
    ----------
    size_mm2 : Quantity
        Cross-section; an open side is the thinnest or thickest conductor that a table of limits
        knows. [mm²]
    length_m : Quantity
        Length; an open side is 0 or infinite. [m]
    material : str or None
        ``copper``, ``tinned_copper``, ``aluminium`` or ``copper_clad_aluminium``; None, where nobody
        said, is copper; ``unknown`` may be any.
    temperature_degC : Quantity
        Of the conductor; an open side is the coldest or hottest that a conductor is. [°C]

    Returns
    -------
    Range
        Between the ideal metal at its coldest and the greatest resistance that a standard allows at
        its hottest; nominal is halfway between them at the middle of what was given. It is guaranteed
        where size, length and temperature have both bounds and the material is tabled, for a
        conductor that holds no more metal than its size says. [Ω]

    References
    ----------
    .. [1] IEC 60028, resistivity and temperature coefficient of annealed copper.
    .. [2] IEC 60228, ISO 6722-1 and, of tinned copper, AC 43.13-1B Table 11-9: greatest resistance of conductors.
    """
    if material == "unknown":
        any_of = Range.hull(resistance_ohm(size_mm2, length_m, name, temperature_degC) for name in materials())
        return Range(low=any_of.low, nominal=any_of.nominal, high=any_of.high, guaranteed=False)
    metal = materials()[material or "copper"]
    thin, thick = size_bounds_mm2(size_mm2)
    cold, hot = _filled(temperature_degC, assumed_value("conductor_coldest"), assumed_value("conductor_hottest"))
    short, long = _filled(length_m, 0.0, math.inf)
    size, degC = (thin + thick) / 2, (cold + hot) / 2
    halfway = (ideal_ohm_per_km(size, metal) + greatest_ohm_per_km(size, metal)) / 2
    low = ideal_ohm_per_km(thick, metal) * warmed(metal, cold) * short
    high = greatest_ohm_per_km(thin, metal) * warmed(metal, hot) * long
    nominal = halfway * warmed(metal, degC) * (short + long) / 2
    bounded = all(None not in (one.low, one.high) for one in (size_mm2, length_m, temperature_degC))
    return Range(
        low=low / M_PER_KM,
        nominal=min(max(nominal, low), high) / M_PER_KM,
        high=high / M_PER_KM,
        guaranteed=bounded and not metal.assumed,
    )


def ideal_ohm_per_km(size_mm2: float, metal: Material) -> float:
    """Resistance at 20 °C of a solid conductor of the best metal of its sort, ρ / S. [Ω/km]"""
    return metal.least_resistivity_ohm_mm2_per_m / size_mm2 * M_PER_KM


def greatest_ohm_per_km(size_mm2: float, metal: Material) -> float:
    """The greatest resistance at 20 °C that a standard allows a conductor.

    Parameters
    ----------
    size_mm2 : float
        Cross-section. [mm²]
    metal : Material
        Copper and tinned copper are tabled; of another metal the tabled copper is scaled by
        resistivity.

    Returns
    -------
    float
        The greatest of the tables' answers. Between two tabled sizes the product of resistance and
        size runs straight from row to row on logarithmic scales; beyond them it stays. [Ω/km]
    """
    finish = "tinned" if metal.material == "tinned_copper" else "plain"
    copper = materials()["copper"]
    share = metal.greatest_resistivity_ohm_mm2_per_m / copper.greatest_resistivity_ohm_mm2_per_m
    return share * max(tabled_ohm_per_km(size_mm2, table, finish) for table in _tables_of(finish))


def tabled_ohm_per_km(size_mm2: float, table: str, finish: str) -> float:
    """The greatest resistance at 20 °C that one table allows a copper conductor. [Ω/km]

    Parameters
    ----------
    size_mm2 : float
        Cross-section. [mm²]
    table : str
        As in ``conductor_resistance.csv``.
    finish : str
        ``plain`` or ``tinned``.
    """
    points = _points(table, finish)
    x = math.log(size_mm2)
    if x <= points[0][0]:
        return math.exp(points[0][1] + points[0][0] - x)
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return math.exp(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
    return math.exp(points[-1][1] + points[-1][0] - x)


@cache
def _points(table: str, finish: str) -> tuple[tuple[float, float], ...]:
    """Logarithms of size and resistance, thinnest first."""
    return tuple(
        (math.log(row.size_mm2), math.log(row.greatest_ohm_per_km))
        for row in conductor_resistance()
        if (row.table, row.finish) == (table, finish)
    )


@cache
def _tables_of(finish: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(row.table for row in conductor_resistance() if row.finish == finish))


def warmed(metal: Material, temperature_degC: float) -> float:
    """How many times its resistance at 20 °C a metal has at a temperature: 1 + α (T - 20)."""
    return 1 + metal.alpha20_per_K * (temperature_degC - 20)


def size_bounds_mm2(size_mm2: Quantity) -> tuple[float, float]:
    """Thinnest and thickest that a conductor may be, never nothing; open sides by the tables of limits. [mm²]"""
    low, high = _filled(size_mm2, least_tabled_size_mm2(), greatest_tabled_size_mm2())
    least = plausible()["mm2"].least
    return max(low, least), max(high, least)


def _filled(quantity: Quantity, least: float, greatest: float) -> tuple[float, float]:
    """Both bounds of a quantity, an open one replaced, and never crossed."""
    low = (
        quantity.low if quantity.low is not None else min(least, quantity.high if quantity.high is not None else least)
    )
    return low, quantity.high if quantity.high is not None else max(greatest, low)


# -- insulation


@cache
def insulation_row(said: str | None) -> InsulationRow | None:
    """The class or material of an insulation, by what is said of it; None where that says nothing.

    Parameters
    ----------
    said : str or None
        A class letter of ISO 6722, alone or after the word class, or the name of a material
        anywhere in it.
    """
    words = re.findall(r"[^\W_]+", (said or "").casefold())
    letters = {words[0]} if len(words) == 1 else {after for word, after in pairwise(words) if word == "class"}
    for row in insulation_classes():
        name = row.insulation.casefold()
        if name in letters or (len(name) > 1 and name in words):
            return row
    return None


def adiabatic_k(metal: Material, start_degC: float, end_degC: float) -> float:
    """The factor k of a conductor between two temperatures.

    Parameters
    ----------
    metal : Material
    start_degC, end_degC : float
        Before the short, and the most its insulation stands at the end of it. [°C]

    Returns
    -------
    float
        K √(ln((β + end) / (β + start))). [A·√s/mm²]

    References
    ----------
    .. [1] IEC 60364-5-54, annex A.
    """
    return metal.k_constant * math.sqrt(math.log((metal.k_zero_degC + end_degC) / (metal.k_zero_degC + start_degC)))


def withstand_A2s(size_mm2: Quantity, material: str | None = None, insulation: str | None = None) -> Range:
    """The heat of a short that a conductor stands, k² S², where it lasts no longer than 5 s.

    Parameters
    ----------
    size_mm2 : Quantity
        Cross-section, as for `resistance_ohm`. [mm²]
    material : str or None
        As for `resistance_ohm`.
    insulation : str or None
        As for `insulation_row`; what is not known may be any tabled one.

    Returns
    -------
    Range
        For a conductor that is as hot before the short as it may be in a loaded harness, or as its
        insulation bears where that is less. [A²s]
    """
    known = insulation_row(insulation)
    metals = materials().values() if material == "unknown" else (materials()[material or "copper"],)
    before = assumed_value("conductor_before_short")
    ks = sorted(
        adiabatic_k(metal, min(row.rated_degC, before), row.short_degC)
        for metal in metals
        for row in ((known,) if known else insulation_classes())
    )
    thin, thick = size_bounds_mm2(size_mm2)
    low, high = (ks[0] * thin) ** 2, (ks[-1] * thick) ** 2
    middle = (ks[(len(ks) - 1) // 2] * (thin + thick) / 2) ** 2
    return Range(low=low, nominal=middle, high=high, guaranteed=None not in (size_mm2.low, size_mm2.high))


# -- limits


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What one table allows a conductor.

    `limit_A` is what the conductor may carry; `greatest_fuse_A` is the greatest rating of a fuse or
    breaker before it. `column` is that of the table, empty where it has one only.
    """

    table: str
    column: str
    limit_A: float
    greatest_fuse_A: float
    source: str


@lru_cache(maxsize=4096)
def limits_A(
    size_mm2: float, insulation: str | None = None, *, material: str | None = None, kind: str = "fuse"
) -> tuple[Limit, ...]:
    """What every table that knows a conductor allows it, the prudent vehicle table first.

    Of 33 CFR 183.425 the column is the greatest that the insulation bears, the 60 °C column where
    that is not known. Of AC 43.13-1B it is Table 11-3 and not Table 11-9: it gives the protector of a
    conductor, as the prudent vehicle table does, and asks for no insulation of 105 °C and no height.
    What is not copper is allowed less, so that it is heated no more: by the root of the ratio of
    resistivities.

    Parameters
    ----------
    size_mm2 : float
        Cross-section; one up to 2 % under a tabled size counts as that size. [mm²]
    insulation, material : str or None
        As for `insulation_row` and `resistance_ohm`.
    kind : str
        ``circuit_breaker``, or anything else for a fuse.

    Returns
    -------
    tuple of Limit
        A table without a size as thin says nothing and is left out, but the prudent vehicle table,
        which allows none.
    """
    known = insulation_row(insulation)
    share = _share_of_copper(material)
    found = [_prudent(size_mm2, share)]
    for table, of_table in groupby(conductor_limits(), key=lambda row: row.table):
        if table == LIMIT_TABLE:
            continue
        own = tuple(of_table)
        column = _column(own, known, kind)
        fitting = [row for row in own if row.column == column and row.size_mm2 <= size_mm2 * SIZE_TOLERANCE]
        if fitting:
            best = max(fitting, key=lambda row: row.limit_A)
            times = limit("boat_protection_share") if best.rated_degC is not None else 1.0
            allowed = best.limit_A * share
            found.append(
                Limit(
                    table=table,
                    column=column,
                    limit_A=allowed,
                    greatest_fuse_A=allowed * times,
                    source=best.source,
                )
            )
    return tuple(found)


def limit_A(
    size_mm2: float,
    insulation: str | None = None,
    *,
    material: str | None = None,
    kind: str = "fuse",
    table: str = LIMIT_TABLE,
) -> Limit | None:
    """What one table allows a conductor; None where it has no size as thin. As for `limits_A`."""
    of_all = limits_A(size_mm2, insulation, material=material, kind=kind)
    return next((one for one in of_all if one.table == table), None)


def turning_tables(judged: Callable[[str], str], table: str, others: tuple[str, ...]) -> tuple[str, ...]:
    """Tables under which a verdict would be another.

    Parameters
    ----------
    judged : callable
        Verdict by the name of a table.
    table : str
        The table that counts.
    others : tuple of str
        Those that know the conductor.
    """
    verdict = judged(table)
    return tuple(other for other in others if other != table and judged(other) != verdict)


def _prudent(size_mm2: float, share: float) -> Limit:
    allowed = conductor_limit_A(size_mm2) * share
    source = next(row.source for row in conductor_limits() if row.table == LIMIT_TABLE)
    return Limit(table=LIMIT_TABLE, column="", limit_A=allowed, greatest_fuse_A=allowed, source=source)


def _column(own: tuple[LimitRow, ...], known: InsulationRow | None, kind: str) -> str:
    """The column of a table that holds for an insulation, or for a kind of protection."""
    by_heat = sorted({(row.rated_degC, row.column) for row in own if row.rated_degC is not None})
    if not by_heat:
        return "circuit_breaker" if kind == "circuit_breaker" else "fuse"
    borne = [column for degC, column in by_heat if known is not None and degC <= known.rated_degC]
    return borne[-1] if borne else by_heat[0][1]


def _share_of_copper(material: str | None) -> float:
    """What a conductor may carry, of what copper of its size may."""
    metals = materials()
    worst = max(
        metal.greatest_resistivity_ohm_mm2_per_m
        for metal in (metals.values() if material == "unknown" else (metals[material or "copper"],))
    )
    return math.sqrt(metals["copper"].greatest_resistivity_ohm_mm2_per_m / worst)
