"""How good a joint is: its place in the trade's order, over all it may be."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.harness import JointDetails, Zone
from harnessdiff.model.policy import Forbidden, Policy
from harnessdiff.model.rating import ACCEPTABLE, SEVERITIES, level_rank
from harnessdiff.tables.loader import JointRow, joint_order

HARSH = ("wet", "leaking", "hot", "moving", "vibrating")
FINE = -1.0
"""Burden of a joint that brings nothing the maker's own would not: below every weight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JointJudgement:
    """Best and worst row of the order that a joint may be; the same where its make is known."""

    best: JointRow
    worst: JointRow


def may_be(details: JointDetails) -> tuple[JointRow, ...]:
    """The rows of the order of joints that a joint may be, best first; unknown type, tool or cover may be any."""
    fitting = [row for row in joint_order() if row.fits(details.type, details.tool, details.cover)]
    return tuple(sorted(fitting or joint_order(), key=lambda row: (row.rank, row.joint)))


def judged(details: JointDetails) -> JointJudgement:
    """The best and the worst that a joint may be.

    Parameters
    ----------
    details : JointDetails

    Returns
    -------
    JointJudgement
    """
    rows = may_be(details)
    return JointJudgement(best=rows[0], worst=rows[-1])


def harsh(zone: Zone | None) -> bool:
    """Whether a place is wet, hot, moving or vibrating."""
    return zone is not None and any(getattr(zone, name) for name in HARSH)


def acceptable(
    row: JointRow, details: JointDetails, zone: Zone | None, policy: Policy, *, functions: tuple[str, ...] = ()
) -> bool:
    """Whether a joint of this make brings nothing that the maker's own would not.

    Parameters
    ----------
    row : JointRow
        What it is taken to be.
    details : JointDetails
    zone : Zone or None
    policy : Policy
    functions : tuple of str
        Functions of the circuits it is in.

    Returns
    -------
    bool
    """
    if any(state != "clean" for state in details.condition) or forbidding(row.joint, functions, policy):
        return False
    if row.type == "fuse_slot_adaptor" and critical(functions, policy):
        return False
    fine_in = policy.joint(row.joint).fine_in
    return fine_in == "any_place" or (fine_in == "dry_place" and not harsh(zone))


CRITICAL = "II"
"""Category from which on a function's fuse slot is no place for an adaptor: it spreads the maker's contacts."""


def critical(functions: tuple[str, ...], policy: Policy) -> bool:
    """Whether it is critical, or worse, that one of these functions is lost or acts unasked."""
    lines = (line for one in functions if (line := policy.function(one)) is not None)
    return any(SEVERITIES.index(one) >= SEVERITIES.index(CRITICAL) for line in lines for one in (line.lost, line.acts))


def forbidding(joint: str, functions: tuple[str, ...], policy: Policy) -> tuple[Forbidden, ...]:
    """The lines by which a policy forbids a make of joint in circuits of these functions."""
    return tuple(
        line
        for line in policy.forbidden
        if line.joint == joint and (not line.functions or set(line.functions) & set(functions))
    )


def least_level(joint: str, functions: tuple[str, ...], policy: Policy) -> str:
    """The level below which a forbidden make is not rated; ``acceptable`` where nothing forbids it."""
    return max((line.level for line in forbidding(joint, functions, policy)), key=level_rank, default=ACCEPTABLE)


def burden(
    row: JointRow, details: JointDetails, zone: Zone | None, policy: Policy, *, functions: tuple[str, ...] = ()
) -> float:
    """What a make weighs in a place; `FINE` where it is acceptable there."""
    if acceptable(row, details, zone, policy, functions=functions):
        return FINE
    return policy.joint(row.joint).weight
