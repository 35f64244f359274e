"""Which published rules a modification runs into: a citation for who asks by which rule, beside the rating."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Harness, Joint
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.reference import Condition
from harnessdiff.model.rules import RuleMet
from harnessdiff.rate.established import Established, established, ways_met
from harnessdiff.tables.loader import limit
from harnessdiff.tables.physics import SIZE_TOLERANCE, conductor_limits
from harnessdiff.tables.rules import rule_rows

LAMPS = ("lamp", "lamp_holder")
BOAT_TABLE = "33 CFR 183.425"
FUSES = ("fuse", "inline")
"""Sorts of protection that have a rating printed on them; an output limits itself."""


def lamps_of(harness: Harness) -> frozenset[str]:
    """Ids of the lamps of a harness."""
    return frozenset(device.id for device in harness.devices() if device.kind in LAMPS)


def engine_running(conditions: Iterable[Condition]) -> frozenset[str]:
    """Ids of the conditions in which the engine runs."""
    return frozenset(one.id for one in conditions if one.engine == "running")


def rules_met(
    modification: Modification,
    joints: Iterable[Joint],
    functions: Iterable[str],
    consequences: Iterable[Consequence],
    *,
    system_voltage_V: float | None,
    lamps: Container[str],
    running: Container[str],
) -> tuple[RuleMet, ...]:
    """The rules that speak against what is established of a modification.

    Parameters
    ----------
    modification : Modification
    joints : iterable of Joint
        Those beneath it.
    functions : iterable of str
        Of the circuits touched.
    consequences : iterable of Consequence
        Those it answers for.
    system_voltage_V : float or None
        Design voltage of the bulbs; None where the vehicle's is not known, and nothing is said of lamps. [V]
    lamps : container of str
        Ids of lamps, as `lamps_of` gives them: voltage at the socket is asked of these.
    running : container of str
        Ids of the conditions in which the engine runs.

    Returns
    -------
    tuple of RuleMet
        Those for the road first, then in the order of their codes; each once.
    """
    told = tuple(consequences)
    things = [
        *established(modification, joints, functions, told),
        *_over_boat_limit(modification.facts),
        *_glowing(told),
        *(() if system_voltage_V is None else _lamp_voltage(told, system_voltage_V, lamps, running)),
    ]
    found = []
    for row in rule_rows().values():
        ways = list(ways_met(row.when, things))
        if ways:
            sure = any(way.sure for way in ways)
            because = {code for way in ways if way.sure or not sure for code in way.because}
            found.append(RuleMet(rule=row.rule, realm=row.realm, because=tuple(sorted(because)), sure=sure))
    return tuple(sorted(found, key=lambda one: (one.analogy, one.rule)))


def _lamp_voltage(
    consequences: Sequence[Consequence], system_voltage_V: float, lamps: Container[str], running: Container[str]
) -> Iterator[Established]:
    """Lamps that have too little with the engine running: surely by the best end of the range, else at worst.

    What a lamp has with joints as they usually are is not sure where its range over all they may be is told, too.

    References
    ----------
    .. [1] 13 CCR 1249(c): at the socket at least 85 % of the bulb's design voltage, engine running.
    """
    least_V = limit("lamp_voltage_share") * system_voltage_V
    of_lamps = [
        one
        for one in consequences
        if one.code in ("dimmed", "drop") and one.subject in lamps and any(name in running for name in one.conditions)
    ]
    ranged = [one for one in of_lamps if one.code == "drop"]
    for one in of_lamps:
        if one.after is not None and one.after.low < least_V:
            usual = one.code == "dimmed" and any(_same_load(one, other) for other in ranged)
            sure = one.after.high < least_V and not usual
            yield Established(noun="computed", code="lamp_voltage", because=one.code, sure=sure)


def _same_load(one: Consequence, other: Consequence) -> bool:
    same = (one.subject, one.terminal) == (other.subject, other.terminal)
    return same and not set(one.conditions).isdisjoint(other.conditions)


def _glowing(consequences: Sequence[Consequence]) -> Iterator[Established]:
    """Joints that may give off tens of watts, where no fuse carries more than it does for ever.

    References
    ----------
    .. [1] NBSIR 76-1011: a loose joint that glows gives off up to 35 W at 15 A, and no fuse opens.
    """
    if any(one.code == "fuse_current" and one.get("over") for one in consequences):
        return
    least_W = limit("glowing_joint_least")
    for one in consequences:
        if one.code == "joint_heat" and one.after is not None and one.after.high >= least_W:
            yield Established(
                noun="computed", code="glowing_joint", because="joint_heat", sure=one.after.low >= least_W
            )


def _over_boat_limit(facts: Iterable[Fact]) -> Iterator[Established]:
    """Fuses above 150 % of what a boat's conductor is allowed: surely by every column of the table, else at worst.

    References
    ----------
    .. [1] 33 CFR 183.455(c)(1) and 183.425 Table 5.
    """
    for fact in facts:
        size_mm2 = fact.get("size_mm2")
        rating_A = fact.get("greatest_A") or fact.get("rating_A")
        if fact.code not in ("over_fused", "over_fused_perhaps") or fact.get("sort") not in FUSES:
            continue
        if not isinstance(size_mm2, int | float) or not isinstance(rating_A, int | float):
            continue
        allowed = [limit("boat_protection_share") * one for one in _boat_limits_A(size_mm2)]
        if allowed and rating_A > min(allowed):
            sure = rating_A > max(allowed) and fact.sure
            yield Established(noun="computed", code="boat_rating", because=fact.code, sure=sure)


def _boat_limits_A(size_mm2: float) -> list[float]:
    """What 33 CFR 183.425 Table 5 allows a conductor, by every column; nothing where it knows none as thin. [A]"""
    allowed: dict[str, float] = {}
    for row in conductor_limits():
        if row.table == BOAT_TABLE and row.size_mm2 <= size_mm2 * SIZE_TOLERANCE:
            allowed[row.column] = max(row.limit_A, allowed.get(row.column, 0.0))
    return list(allowed.values())
