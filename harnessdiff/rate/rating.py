"""The rating of a modification: mechanisms from its facts, joints and place; the worst of them counts.

A probability is an index: the greatest of the base reasons of a mechanism plus what aggravates it,
mapped to MIL-STD-882E's letters. No frequency is claimed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from harnessdiff.model.harness import Harness, Joint, Zone
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.rating import (
    ACCEPTABLE,
    PROBABILITIES,
    SEVERITIES,
    Mechanism,
    Rating,
    Reason,
    level_rank,
)
from harnessdiff.rate.joints import acceptable, judged
from harnessdiff.tables.loader import functions as function_rows
from harnessdiff.tables.loader import risk_matrix, rows

BESIDE = ("security", "owner_other")
"""Facts that stand beside the matrix: security and law, never inside it."""
UNRATED = ("reading", "other", "unrecognised")
"""Kinds whose rating is unknown: anything from acceptable to High."""
RECORDED = ("surroundings",)
"""Kinds that are recorded: they count where they aggravate something else."""
CRITICAL = frozenset({"restraint", "brake_control", "brake_lamp", "steering", "instrument", "engine_control"})
TWICE = 2.0
PLACES = ("hot", "moving", "vibrating", "concealed")
FLAMMABLE = frozenset({"fuel_vapour", "battery_gas", "bedding", "upholstery"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """What a rating needs beside the modification itself: functions touched, zones it lies in."""

    functions: tuple[str, ...]
    zones: tuple[Zone, ...]
    as_found: Harness


def rated(modification: Modification, circumstances: Circumstances) -> Rating:
    """Rate a modification.

    Parameters
    ----------
    modification : Modification
        With all its facts.
    circumstances : Circumstances

    Returns
    -------
    Rating
    """
    beside = tuple(dict.fromkeys(fact.code for fact in modification.facts if fact.code in BESIDE))
    if modification.kind in UNRATED:
        return Rating(best=ACCEPTABLE, worst="High", beside=beside, rated=False)
    if modification.kind in RECORDED:
        return Rating(best=ACCEPTABLE, worst=ACCEPTABLE, beside=beside, condition=True)
    worst = _mechanisms(modification, circumstances, worst=True)
    best = _mechanisms(modification, circumstances, worst=False)
    return Rating(best=_level(best), worst=_level(worst), mechanisms=worst, beside=beside)


def _level(mechanisms: tuple[Mechanism, ...]) -> str:
    return max((one.level for one in mechanisms), key=level_rank, default=ACCEPTABLE)


def _mechanisms(modification: Modification, circumstances: Circumstances, *, worst: bool) -> tuple[Mechanism, ...]:
    joint_reasons = list(dict.fromkeys(_joint_reasons(modification, circumstances, worst=worst)))
    reasons = [*dict.fromkeys(_fact_reasons(modification, worst=worst)), *joint_reasons]
    bases: dict[str, list[Reason]] = {}
    for reason in reasons:
        if reason.how == "base":
            bases.setdefault(reason.mechanism, []).append(reason)
    everywhere = [reason for reason in (*reasons, *_place_reasons(circumstances)) if reason.how == "add_all"]
    found = []
    for code, base in sorted(bases.items()):
        adds = [reason for reason in reasons if reason.how == "add" and reason.mechanism == code]
        if code in ("contact_heat", "function_lost"):
            adds += [reason for reason in joint_reasons if reason.how == "add_joint"]
        if code in ("contact_heat", "function_lost", "short"):
            adds += everywhere
        found.append(_mechanism(code, base, adds, modification, circumstances, worst=worst))
    return tuple(sorted(found, key=lambda one: (-level_rank(one.level), -one.index, one.code)))


def _mechanism(
    code: str,
    base: list[Reason],
    adds: list[Reason],
    modification: Modification,
    circumstances: Circumstances,
    *,
    worst: bool,
) -> Mechanism:
    severity = max(
        (_severity(reason.severity, modification, circumstances, worst=worst) for reason in base),
        key=SEVERITIES.index,
    )
    index = max(reason.index for reason in base) + sum(reason.index for reason in adds)
    probability = probability_of(index)
    return Mechanism(
        code=code,
        severity=severity,
        probability=probability,
        level=risk_matrix()[severity, probability],
        index=index,
        reasons=(*sorted(base, key=lambda one: (-one.index, one.code)), *adds),
    )


def probability_of(index: int) -> str:
    """Letter of a probability index: E to 1, D to 3, C to 5, B to 7, A above. Common practice."""
    return PROBABILITIES[min(index // 2, len(PROBABILITIES) - 1)]


def _severity(given: str | None, modification: Modification, circumstances: Circumstances, *, worst: bool) -> str:
    """A severity category: as given, by the functions touched, or by whether the lead is protected."""
    if given == "lead":
        perhaps = ("over_fused_perhaps", "unprotected_perhaps") if worst else ()
        return "II" if any(modification.has(code) for code in ("unprotected", "over_fused", *perhaps)) else "III"
    if given in ("lost", "acts"):
        table = function_rows()
        known: list[str] = [getattr(table[one], given) for one in circumstances.functions if one in table]
        if known:
            return max(known, key=SEVERITIES.index)
        return "II" if worst else "IV"
    return given or "IV"


def _fact_reasons(modification: Modification, *, worst: bool) -> Iterator[Reason]:
    codes = [Fact.of(modification.kind), *modification.facts]
    for fact in dict.fromkeys(codes):
        if fact.code == "through_device" and modification.role == "plugged":
            continue
        if fact.code == "adds_load" or (fact.code == "through_device" and modification.kind == "bypass"):
            continue
        yield from _rows_for(fact, worst=worst)
    limit = "least_limit_A" if worst else "limit_A"
    over = ("over_fused", "over_fused_perhaps") if worst else ("over_fused",)
    if any(_ratio(fact, limit) >= TWICE for fact in modification.facts if fact.code in over):
        yield from _rows_for(Fact.of("over_fused_twice"), worst=worst)
    for fact in modification.facts:
        if fact.code == "damage" and fact.get("extent") in ("heavy", "through"):
            yield from _rows_for(Fact.of(f"extent_{fact.get('extent')}"), worst=worst)


def _ratio(fact: Fact, name: str) -> float:
    """How many times a limit of its conductor a fuse is; where that limit is not known, the other one."""
    rating = fact.get("greatest_A") if fact.code == "over_fused_perhaps" else fact.get("rating_A")
    limit = fact.get(name) if fact.get(name) is not None else fact.get("limit_A")
    if not isinstance(rating, (int, float)) or not isinstance(limit, (int, float)):
        return 0.0
    return rating / limit if limit else TWICE


def _rows_for(fact: Fact, *, worst: bool) -> Iterator[Reason]:
    for row in rows("rating_reasons"):
        name, _, value = row["when"].partition("=")
        if row["code"] != fact.code or (name and str(fact.get(name)) != value):
            continue
        how = row["how"]
        if how == "maybe":
            if not worst:
                continue
            how = "base"
        yield Reason(
            code=fact.code,
            mechanism=row["mechanism"],
            severity=row["severity"] or None,
            index=int(row["index"]),
            how=how,
            source=row["source"],
        )


def _joint_reasons(modification: Modification, circumstances: Circumstances, *, worst: bool) -> Iterator[Reason]:
    for joint_id in modification.joints:
        joint = circumstances.as_found.joint(joint_id)
        if joint is not None:
            yield from _reasons_of_joint(joint, modification, circumstances, worst=worst)


def _reasons_of_joint(
    joint: Joint, modification: Modification, circumstances: Circumstances, *, worst: bool
) -> Iterator[Reason]:
    judgement = judged(joint.details)
    row = judgement.worst if worst else judgement.best
    zone = circumstances.as_found.zone(joint.zone) or next(iter(circumstances.zones), None)
    critical = bool(CRITICAL & set(circumstances.functions))
    misfit = any(fact.code == "out_of_range" and fact.get("joint") == joint.id for fact in modification.facts)
    if not misfit and acceptable(row, joint.details, zone, slot_is_critical=critical):
        return
    states = [f"joint_{state}" for state in joint.details.condition if state != "clean"]
    at_ground = modification.kind in ("orphaned_lead", "lost_ground", "added_ground")
    if at_ground and not misfit and not states and row.index <= GROUND_JOINT_INDEX:
        return
    source = f"order of joints, rank {row.rank}: {row.words}"
    heat = "II" if modification.has("unprotected") else "III"
    for mechanism, severity in (("contact_heat", heat), ("function_lost", "lost")):
        yield Reason(
            code=f"joint_{row.type}", mechanism=mechanism, severity=severity, index=row.index, how="base", source=source
        )
    for state in states:
        yield from _rows_for(Fact.of(state), worst=worst)


# A ground under a screw is judged by its contact with the metal, not by the screw.
GROUND_JOINT_INDEX = 3


def _place_reasons(circumstances: Circumstances) -> Iterator[Reason]:
    for name in PLACES:
        if any(getattr(zone, name) for zone in circumstances.zones):
            yield from _rows_for(Fact.of(f"{name}_place"), worst=True)
    if any(FLAMMABLE & set(zone.near) for zone in circumstances.zones):
        yield from _rows_for(Fact.of("flammable_place"), worst=True)
