"""How good a joint is: its place in the trade's order, over all it may be."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.harness import JointDetails, Zone
from harnessdiff.tables.loader import JointRow, joint_order

HARSH = ("wet", "leaking", "hot", "moving", "vibrating")
GREATEST_INDEX_DRY = 2
GREATEST_INDEX_HARSH = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class JointJudgement:
    """Best and worst row of the order that a joint may be; the same where its make is known."""

    best: JointRow
    worst: JointRow


def judged(details: JointDetails) -> JointJudgement:
    """The rows of the order of joints that a joint may be.

    Parameters
    ----------
    details : JointDetails
        Unknown type, tool or cover may be any.

    Returns
    -------
    JointJudgement
    """
    fitting = [row for row in joint_order() if row.fits(details.type, details.tool, details.cover)]
    ordered = sorted(fitting or joint_order(), key=lambda row: (row.index, row.rank))
    return JointJudgement(best=ordered[0], worst=ordered[-1])


def harsh(zone: Zone | None) -> bool:
    """Whether a place is wet, hot, moving or vibrating."""
    return zone is not None and any(getattr(zone, name) for name in HARSH)


def acceptable(row: JointRow, details: JointDetails, zone: Zone | None, *, slot_is_critical: bool) -> bool:
    """Whether a joint of this make brings nothing that the maker's own would not.

    Parameters
    ----------
    row : JointRow
        What it is taken to be.
    details : JointDetails
    zone : Zone or None
    slot_is_critical : bool
        For an adaptor in a fuse slot: whether the slot serves a safety function.

    Returns
    -------
    bool
    """
    if any(state != "clean" for state in details.condition):
        return False
    if row.type == "fuse_slot_adaptor":
        return not slot_is_critical and not harsh(zone)
    return row.index <= (GREATEST_INDEX_HARSH if harsh(zone) else GREATEST_INDEX_DRY)
