"""From what is established to mechanisms with their levels: the whole arithmetic of a rating.

In every mechanism each thing that opens it makes a case of its own: its severity, and an index that is its
weight plus the weights of what adds. The worst case is the mechanism's. Nothing established lowers anything,
so that one thing more, or a greater amount, never rates lower.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from harnessdiff.model.policy import Cap, Factor, Floor, Policy
from harnessdiff.model.rating import (
    ACCEPTABLE,
    LEVELS,
    MECHANISMS,
    SEVERITIES,
    Case,
    Contribution,
    Mechanism,
    Sign,
    level_rank,
)
from harnessdiff.rate.joints import forbidding
from harnessdiff.tables.loader import risk_matrix

AT_JOINTS = ("contact_heat", "function_lost")
IN_PLACES = ("contact_heat", "function_lost", "short")
NO_FUSE = ("unprotected", "far_end_fuse")
NOT_HELD = ("unprotected", "far_end_fuse", "not_protected", "over_fused>=2")
INDEX_DIGITS = 9
"""Decimal places of an index: what lies below comes of adding binary fractions."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """Something established, and a line of the policy that it meets: what it weighs, and the key it is known by."""

    sign: Sign
    line: Factor
    key: str


def mechanisms_of(
    signs: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy, *, unknown_circuit: str = "IV"
) -> tuple[Mechanism, ...]:
    """The mechanisms that things established open, worst first.

    Parameters
    ----------
    signs : tuple of Sign
    functions : tuple of str
        Of the modification.
    policy : Policy
    unknown_circuit : str
        Severity where a function is concerned and none is known.

    Returns
    -------
    tuple of Mechanism
        None where nothing opens one: recorded, acceptable.
    """
    weighed = tuple(one for sign in signs for one in _weighed(sign, policy))
    found = []
    for code in MECHANISMS:
        cases = [
            _case(code, opening, weighed, signs, functions, policy, unknown_circuit)
            for opening in weighed
            if opening.line.opens and opening.line.mechanism == code
        ]
        if cases:
            cases.sort(key=_gravity, reverse=True)
            found.append(replace(cases[0], cases=tuple(dict.fromkeys(case for one in cases for case in one.cases))))
    return tuple(sorted(found, key=lambda one: (-level_rank(one.level), -one.index, one.code)))


def level_of(mechanisms: tuple[Mechanism, ...]) -> str:
    """The level of the worst mechanism; ``acceptable`` where there is none."""
    return max((one.level for one in mechanisms), key=level_rank, default=ACCEPTABLE)


def _gravity(case: Mechanism) -> tuple[object, ...]:
    opening = case.contributions[0]
    return (
        level_rank(case.level),
        SEVERITIES.index(case.severity),
        case.index,
        opening.code,
        opening.about or "",
        str(opening.params),
    )


def _weighed(sign: Sign, policy: Policy) -> Iterator[Weighed]:
    if sign.code == "joint":
        make = str(sign.named["make"])
        line = policy.joint(make)
        for mechanism, severity in (("contact_heat", "heat"), ("function_lost", "lost")):
            yield Weighed(
                sign=sign,
                line=Factor(
                    code="joint",
                    mechanism=mechanism,
                    opens=True,
                    weight=line.weight,
                    severity=severity,
                    why=line.why,
                    source=line.source,
                    status=line.status,
                ),
                key=line.key,
            )
    for factor in policy.lines(sign.code, sign.named, sign.amount):
        yield Weighed(sign=sign, line=factor, key=factor.key)


def _case(
    code: str,
    opening: Weighed,
    weighed: tuple[Weighed, ...],
    signs: tuple[Sign, ...],
    functions: tuple[str, ...],
    policy: Policy,
    unknown_circuit: str,
) -> Mechanism:
    severity = _severity(opening, signs, functions, policy, unknown_circuit)
    contributions = (
        _contribution(opening, severity, _function(opening, functions, policy)),
        *(_contribution(one, None) for one in _once(one for one in weighed if _adds(one, code, opening))),
    )
    index = round(sum(one.counts for one in contributions), INDEX_DIGITS)
    probability = policy.probability(index)
    cell = risk_matrix()[severity, probability]
    held = _held(code, cell, opening, signs, functions, policy)
    return Mechanism(
        code=code,
        severity=severity,
        probability=probability,
        cell=cell,
        level=held.level,
        index=index,
        contributions=contributions,
        floors=held.floors,
        caps=held.caps,
        cases=(Case(severity=severity, contributions=contributions, least=held.least, most=held.most),),
    )


def _adds(one: Weighed, code: str, opening: Weighed) -> bool:
    line = one.line
    if line.opens or (one.sign.about is not None and one.sign.about != opening.sign.about):
        return False
    return (
        line.mechanism == code
        or (line.mechanism == "joint" and code in AT_JOINTS)
        or (line.mechanism == "place" and code in IN_PLACES)
    )


def _once(adding: Iterable[Weighed]) -> Iterable[Weighed]:
    """Of several things that meet one line, or steps of one, the greatest: two of a sort add no more than one."""
    found: dict[tuple[object, ...], Weighed] = {}
    for one in adding:
        line = one.line
        sort = (line.code, line.mechanism, line.when, line.at_least is None, one.sign.about)
        known = found.get(sort)
        if known is None or _reached(known) < _reached(one):
            found[sort] = one
    return found.values()


def _reached(one: Weighed) -> tuple[float, float]:
    """The step that an amount reaches, and the amount."""
    return one.line.at_least or 0.0, one.sign.amount or 0.0


def _contribution(one: Weighed, severity: str | None, function: str | None = None) -> Contribution:
    """What counts; of a thing that only adds, which of several alike it is does not matter."""
    line, sign = one.line, one.sign
    opens = severity is not None
    return Contribution(
        code=sign.code,
        counts=line.weight,
        how="opens" if opens else "adds",
        severity=severity,
        severity_as=line.severity if opens and line.severity != severity else None,
        function=function,
        params=sign.params if opens else line.when,
        amount=sign.amount if line.at_least is not None else None,
        amount_in=line.amount_in,
        about=sign.about,
        why=line.why,
        source=line.source,
        line=one.key,
    )


def _severity(
    opening: Weighed, signs: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy, unknown_circuit: str
) -> str:
    """A category: as the line says, by the functions concerned, or by whether a fuse holds the lead."""
    spec = opening.line.severity or SEVERITIES[0]
    if spec == "heat":
        return "II" if any(holds(token, signs) for token in NO_FUSE) else "III"
    if spec == "lead":
        return "II" if any(holds(token, signs) for token in NOT_HELD) else "III"
    name, _, part = spec.partition("_")
    if name not in ("lost", "acts"):
        return spec
    touched = functions if opening.sign.functions is None else opening.sign.functions
    worst = policy.worst_of(touched, name)
    if worst is not None:
        known = worst.lost if name == "lost" else worst.acts
    else:
        known = unknown_circuit if opening.sign.functions is None else SEVERITIES[0]
    return SEVERITIES[max(0, SEVERITIES.index(known) - 1)] if part else known


def _function(opening: Weighed, functions: tuple[str, ...], policy: Policy) -> str | None:
    """The function by which the severity of a case goes; None where it goes by none, or none is known."""
    name = (opening.line.severity or "").partition("_")[0]
    if name not in ("lost", "acts"):
        return None
    worst = policy.worst_of(functions if opening.sign.functions is None else opening.sign.functions, name)
    return worst.function if worst is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """A level after caps and floors, which of them moved it, and what they leave to any other cell."""

    level: str
    floors: tuple[str, ...]
    caps: tuple[str, ...]
    least: str
    most: str


def _held(
    code: str,
    cell: str,
    opening: Weighed,
    signs: tuple[Sign, ...],
    functions: tuple[str, ...],
    policy: Policy,
) -> _Held:
    level, least, most = cell, LEVELS[0], LEVELS[-1]
    caps: list[str] = []
    # The highest first, so that each that is named moved the level.
    for cap in sorted(policy.caps, key=lambda one: (-level_rank(one.level), one.id)):
        if not _capped(cap, code, opening, signs):
            continue
        most = min(most, cap.level, key=level_rank)
        if level_rank(cap.level) < level_rank(level):
            level = cap.level
            caps.append(cap.id)
    floors: list[str] = []
    for floor, lifted in _floors(code, opening, signs, functions, policy):
        least = lifted
        if level_rank(lifted) > level_rank(level):
            level = lifted
            floors.append(floor)
    return _Held(level=level, floors=tuple(floors), caps=tuple(caps), least=least, most=most)


def _capped(cap: Cap, code: str, opening: Weighed, signs: tuple[Sign, ...]) -> bool:
    return (
        code in cap.mechanisms
        and any(_holds(token, opening.sign) for token in cap.opened_by)
        and not any(holds(token, signs) for token in cap.unless)
    )


def _floors(
    code: str, opening: Weighed, signs: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy
) -> Iterator[tuple[str, str]]:
    """Floors that hold, the lowest first, so that each that is named moved the level."""
    found = [(floor.id, floor.level) for floor in policy.floors if code in floor.mechanisms and _floored(floor, signs)]
    if opening.sign.code == "joint":
        make = str(opening.sign.named["make"])
        found += [(line.id, line.level) for line in forbidding(make, functions, policy)]
    yield from sorted(found, key=lambda one: (LEVELS.index(one[1]), one[0]))


def _floored(floor: Floor, signs: tuple[Sign, ...]) -> bool:
    return all(holds(token, signs) for token in floor.all_of) and (
        not floor.any_of or any(holds(token, signs) for token in floor.any_of)
    )


def holds(token: str, signs: tuple[Sign, ...]) -> bool:
    """Whether something is established.

    Parameters
    ----------
    token : str
        A code; ``code>=amount``; or ``code:name=value``. Several alternatives stand between bars.
    signs : tuple of Sign

    Returns
    -------
    bool
    """
    return any(_holds(one, sign) for one in token.split("|") for sign in signs)


def _holds(token: str, sign: Sign) -> bool:
    if ">=" in token:
        code, least = token.split(">=")
        return sign.code == code and sign.amount is not None and sign.amount >= float(least)
    code, _, wanted = token.partition(":")
    if sign.code != code:
        return False
    name, _, value = wanted.partition("=")
    return not wanted or str(sign.named.get(name)) == value
