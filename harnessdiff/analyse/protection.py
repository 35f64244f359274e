"""Whether a fuse protects a conductor: against a short near it, a short far from it, and overload.

Every answer is a code with the numbers it came from; words are made elsewhere.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, TypeAlias

from harnessdiff.analyse.conductors import (
    Limit,
    insulation_row,
    limit_A,
    limits_A,
    size_bounds_mm2,
    turning_tables,
    withstand_A2s,
)
from harnessdiff.analyse.fuses import (
    Fuse,
    bodies_of,
    carries_A,
    convention_matters,
    let_through_A2s,
    opening_time_s,
    rated_A,
)
from harnessdiff.model.harness import Conductor
from harnessdiff.model.quantity import Quantity
from harnessdiff.tables.loader import LIMIT_TABLE, distance_m, limit
from harnessdiff.tables.physics import fuse_elements_source, fuse_gates

TEN_MINUTES_S = 600.0

Code: TypeAlias = Literal["holds", "fails", "undecided"]
Verdict: TypeAlias = Literal["protected", "short_only", "not_protected", "undecided"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """The answer to one part of the question.

    `why` says what decided it:

    ===================  =======================================================================
    no_protection        there is nothing that can open
    within_limit         the current is one that the conductor carries for ever
    heat_withstood       the fuse opens before the short has heated the insulation too far
    heat_exceeded        it lets more through than the insulation stands
    never_opens          it carries the current of the short for ever
    opens_slowly         it may take longer than the 5 s that the rule of the short holds for
    may_never_open       nothing published says that it must open at this current
    between_bounds       what it lets through and what is withstood overlap
    within_rating        its rating is no more than the table allows
    beyond_rating        its rating is more than the table allows
    together             fuses that feed it at once carry more between them than the table allows
    rating_or_size_open  that depends on what rating or size turns out to be
    not_tabled           the table does not know the conductor
    current_unknown      nobody knows the current of the short
    ===================  =======================================================================

    `numbers` are pairs of a name with its unit and a value.
    """

    code: Code
    why: str
    numbers: tuple[tuple[str, float], ...] = ()

    def get(self, name: str) -> float | None:
        """The number of this name, if it came into it."""
        return dict(self.numbers).get(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Protection:
    """Whether a fuse protects a conductor, and what that rests on.

    Parameters
    ----------
    verdict : str
        ``protected``; ``short_only``, against a short and not against overload; ``not_protected``;
        ``undecided`` where that depends on what is not known.
    near, far, overload : Outcome
        A short beside the fuse, a short at the far end, steady overload.
    table, column : str
        By which the limit was taken.
    other_table_turns : tuple of str
        Tables under which the verdict would be another.
    would_decide : tuple of str
        Codes of what would decide it, empty where it is decided: ``size``, ``material``,
        ``insulation``, ``fuse_rating``, ``fuse_body``, ``rating_convention``, ``fuse_curve``,
        ``greatest_current``, ``least_current``, ``table``.
    provenance : tuple of (str, str)
        What was looked up, and where.
    """

    verdict: Verdict
    near: Outcome
    far: Outcome
    overload: Outcome
    table: str
    column: str
    other_table_turns: tuple[str, ...] = ()
    would_decide: tuple[str, ...] = ()
    provenance: tuple[tuple[str, str], ...] = ()


NO_PROTECTION = Outcome(code="fails", why="no_protection")


def short_near(
    conductor: Conductor, fuse: Fuse | None, greatest_current_A: float | None, table: str = LIMIT_TABLE
) -> Outcome:
    """Whether a conductor stands a short beside its fuse.

    Parameters
    ----------
    conductor : Conductor
        Size, material and insulation count.
    fuse : Fuse or None
    greatest_current_A : float or None
        The most that the source can drive through a short there; None where not known. [A]
    table : str
        Table of limits by which a current may be one that the conductor carries for ever.

    Returns
    -------
    Outcome
        With ``let_through_A2s`` and ``withstand_A2s``, each by its worst value.
    """
    if fuse is None or not fuse.protects:
        return NO_PROTECTION
    if greatest_current_A is None:
        return Outcome(code="undecided", why="current_unknown")
    return _short(conductor, fuse, greatest_current_A, table)


def short_far(
    conductor: Conductor, fuse: Fuse | None, least_current_A: float | None, table: str = LIMIT_TABLE
) -> Outcome:
    """Whether a fuse opens in time for a short at the far end of a conductor.

    Parameters
    ----------
    conductor : Conductor
    fuse : Fuse or None
    least_current_A : float or None
        The least that a short there draws, by a hot conductor and the worst source; None where not
        known. [A]
    table : str
        As for `short_near`.

    Returns
    -------
    Outcome
        With ``opens_s``, the latest, besides the numbers of `short_near`.
    """
    if fuse is None or not fuse.protects:
        return NO_PROTECTION
    if least_current_A is None:
        return Outcome(code="undecided", why="current_unknown")
    latest_s = opening_time_s(fuse, least_current_A)[1]
    found = _short(conductor, fuse, least_current_A, table)
    slow = found.why in ("heat_withstood", "between_bounds") and latest_s > limit("adiabatic_s")
    numbers = (*found.numbers, ("opens_s", latest_s))
    if slow:
        return Outcome(code="undecided", why="opens_slowly", numbers=numbers)
    return Outcome(code=found.code, why=found.why, numbers=numbers)


def _short(conductor: Conductor, fuse: Fuse, current_A: float, table: str) -> Outcome:
    least_A, greatest_A = (one.limit_A if one is not None else 0.0 for one in _limits(conductor, fuse, table))
    stands = withstand_A2s(conductor.size_mm2, conductor.material, conductor.insulation)
    earliest_s = opening_time_s(fuse, current_A)[0]
    at_least, at_most = let_through_A2s(fuse, current_A)
    numbers = (
        ("current_A", current_A),
        ("let_through_A2s", at_most),
        ("withstand_A2s", stands.low),
        ("limit_A", least_A),
    )
    decided: tuple[Code, str]
    if current_A <= least_A:
        decided = "holds", "within_limit"
    elif at_most <= stands.low:
        decided = "holds", "heat_withstood"
    elif current_A <= greatest_A:
        decided = "undecided", "between_bounds"
    elif math.isinf(earliest_s):
        decided = "fails", "never_opens"
    elif at_least > stands.high:
        decided = "fails", "heat_exceeded"
    elif math.isinf(at_most):
        decided = "undecided", "may_never_open"
    else:
        decided = "undecided", "between_bounds"
    return Outcome(code=decided[0], why=decided[1], numbers=numbers)


def overload(conductor: Conductor, fuse: Fuse | None, table: str = LIMIT_TABLE) -> Outcome:
    """Whether a fuse is small enough that a conductor cannot carry too much for long.

    What the marking promises for ever is held against what the table allows as a rating: every
    such table is made for fuses that carry somewhat more than their rating for a while. What this one
    may carry for ever and for ten minutes stands beside it.

    Parameters
    ----------
    conductor : Conductor
    fuse : Fuse or None
    table : str

    Returns
    -------
    Outcome
        With ``rated_A``, ``carries_for_ever_A``, ``carries_ten_minutes_A`` (each the greatest it may
        be), ``greatest_fuse_A`` and ``limit_A`` (what the table allows before the thinnest that the
        conductor may be, and what that may carry).
    """
    if fuse is None or not fuse.protects:
        return NO_PROTECTION
    least, greatest = _limits(conductor, fuse, table)
    if greatest is None:
        return Outcome(code="undecided", why="not_tabled")
    rated = rated_A(fuse)
    allowed_A = least.greatest_fuse_A if least is not None else 0.0
    numbers = (
        ("rated_A", rated.high),
        ("carries_for_ever_A", carries_A(fuse).high),
        ("carries_ten_minutes_A", carries_A(fuse, TEN_MINUTES_S).high),
        ("greatest_fuse_A", allowed_A),
        ("limit_A", least.limit_A if least is not None else 0.0),
    )
    if rated.high <= allowed_A:
        return Outcome(code="holds", why="within_rating", numbers=numbers)
    if rated.low > greatest.greatest_fuse_A:
        return Outcome(code="fails", why="beyond_rating", numbers=numbers)
    return Outcome(code="undecided", why="rating_or_size_open", numbers=numbers)


def _limits(conductor: Conductor, fuse: Fuse, table: str) -> tuple[Limit | None, Limit | None]:
    """What a table allows the conductor at the worst and at the best that it may be."""
    thin, thick = size_bounds_mm2(conductor.size_mm2)
    best = None if conductor.material == "unknown" else conductor.material
    insulation = conductor.insulation
    return (
        limit_A(thin, insulation, material=conductor.material, kind=fuse.kind, table=table),
        limit_A(thick, insulation, material=best, kind=fuse.kind, table=table),
    )


def verdict(
    conductor: Conductor,
    fuse: Fuse | None,
    *,
    greatest_current_A: float | None,
    least_current_A: float | None,
    currents_guaranteed: bool = True,
    table: str = LIMIT_TABLE,
) -> Protection:
    """Whether a fuse protects a conductor.

    Parameters
    ----------
    conductor : Conductor
        Size, material and insulation count; unknown ones are ranges, and the verdict is over all of
        them.
    fuse : Fuse or None
        None where there is none.
    greatest_current_A, least_current_A : float or None
        Of a short beside the fuse and at the far end. [A]
    currents_guaranteed : bool
        Whether these two are sure bounds.
    table : str
        Table of limits that counts.

    Returns
    -------
    Protection
        ``protected`` only where every bound that it rests on is sure.
    """
    if fuse is None or not fuse.protects:
        none = NO_PROTECTION
        return Protection(verdict="not_protected", near=none, far=none, overload=none, table=table, column="")
    sure = currents_guaranteed and rated_A(fuse).guaranteed and withstand_A2s(conductor.size_mm2).guaranteed

    def parts_by(of_table: str) -> tuple[Outcome, Outcome, Outcome]:
        return (
            short_near(conductor, fuse, greatest_current_A, of_table),
            short_far(conductor, fuse, least_current_A, of_table),
            overload(conductor, fuse, of_table),
        )

    def judged(of_table: str) -> str:
        return _together(parts_by(of_table), sure=sure)

    thin, _ = size_bounds_mm2(conductor.size_mm2)
    known_to = limits_A(thin, conductor.insulation, material=conductor.material, kind=fuse.kind)
    near, far, steady = parts_by(table)
    found = _together((near, far, steady), sure=sure)
    return Protection(
        verdict=found,
        near=near,
        far=far,
        overload=steady,
        table=table,
        column=next((one.column for one in known_to if one.table == table), ""),
        other_table_turns=turning_tables(judged, table, tuple(one.table for one in known_to)),
        would_decide=(
            _would_decide(
                conductor,
                fuse,
                greatest_known=greatest_current_A is not None and currents_guaranteed,
                least_known=least_current_A is not None and currents_guaranteed,
                shorts_open="undecided" in (near.code, far.code),
                tabled=steady.why != "not_tabled",
            )
            if found == "undecided"
            else ()
        ),
        provenance=_provenance(conductor, fuse, tuple(one for one in known_to if one.table == table)),
    )


def _together(parts: tuple[Outcome, Outcome, Outcome], *, sure: bool) -> Verdict:
    near, far, steady = (part.code for part in parts)
    if "fails" in (near, far):
        return "not_protected"
    if "undecided" in (near, far, steady):
        return "undecided"
    if steady == "fails":
        return "short_only"
    return "protected" if sure else "undecided"


def _would_decide(
    conductor: Conductor, fuse: Fuse, *, greatest_known: bool, least_known: bool, shorts_open: bool, tabled: bool
) -> tuple[str, ...]:
    """What is not known of a pair, in the order in which it is easily found at the vehicle."""
    one_body = len(bodies_of(fuse)) == 1
    open_questions = {
        "fuse_rating": fuse.rating_A.exact is None,
        "rating_convention": convention_matters(fuse),
        "size": conductor.size_mm2.exact is None,
        "material": conductor.material == "unknown",
        "fuse_body": shorts_open and not one_body,
        "insulation": shorts_open and insulation_row(conductor.insulation) is None,
        "greatest_current": not greatest_known,
        "least_current": not least_known,
        "fuse_curve": shorts_open and one_body,
        "table": not tabled,
    }
    return tuple(code for code, is_open in open_questions.items() if is_open)


def _provenance(conductor: Conductor, fuse: Fuse, by_table: tuple[Limit, ...]) -> tuple[tuple[str, str], ...]:
    insulation = insulation_row(conductor.insulation)
    found = [("limit", one.source) for one in by_table]
    if insulation is not None:
        found.append(("insulation", insulation.source))
    for body in bodies_of(fuse):
        found += [("opening_time", gate.source) for gate in fuse_gates(body, rated_A(fuse).high)]
        if source := fuse_elements_source(body, "melting_A2s"):
            found.append(("melting_A2s", source))
    return tuple(dict.fromkeys(found))


# -- where the first protection sits


def first_protection(distance: Quantity, *, sheathed: bool | None) -> Code:
    """Whether the first protection of a conductor sits near enough to its source.

    Parameters
    ----------
    distance : Quantity
        Along the conductor. [m]
    sheathed : bool or None
        Whether it runs in a sheath or enclosure the whole way; None where not known.

    Returns
    -------
    str
        ``holds``, ``fails`` or ``undecided``.

    References
    ----------
    .. [1] 33 CFR 183.455(b): 7 in, and 40 in if sheathed; for boats, here by analogy.
    """
    bare, covered = distance_m("protection_from_source"), distance_m("protection_from_source_sheathed")
    surely = covered if sheathed else bare
    at_best = bare if sheathed is False else covered
    if distance.high is not None and distance.high <= surely:
        return "holds"
    if distance.low is not None and distance.low > at_best:
        return "fails"
    return "undecided"
