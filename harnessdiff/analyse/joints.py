"""Joints: between what bounds the resistance of one lies, and how hot it can get."""

from __future__ import annotations

from harnessdiff.model.harness import JointDetails
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import joint_order
from harnessdiff.tables.physics import JointResistanceRow, joint_conditions, joint_resistance

SOUND = frozenset({"clean"})


def joint_resistance_ohm(details: JointDetails) -> Range:
    """Resistance of a joint, over all that it may be.

    Parameters
    ----------
    details : JointDetails
        Unknown type, tool or cover may be any; where nothing is said of the condition it may be as a
        joint of its make is found in service, and clean is better than that.

    Returns
    -------
    Range
        Never guaranteed: these are engineering ranges. A worse make or a worse condition never has a
        lower upper bound. [Ω]

    References
    ----------
    .. [1] NBSIR 76-1011, the glowing joint: the greatest that a joint may be that still passes current.
    """
    may_be = (row for row in joint_order() if row.fits(details.type, details.tool, details.cover))
    return Range.hull(_of_one_make(joint_resistance()[row.rank], details.condition) for row in may_be)


def _of_one_make(made: JointResistanceRow, condition: tuple[str, ...]) -> Range:
    greatest = made.greatest_clean_ohm if SOUND.issuperset(condition) and condition else made.greatest_ohm
    states = [joint_conditions()[state] for state in sorted(set(condition)) if state in joint_conditions()]
    high = max([greatest, *(state.greatest_ohm for state in states)])
    usual = made.usual_ohm * max([1.0, *(state.usual_times for state in states)])
    return Range(low=made.least_ohm, nominal=min(usual, high), high=high, guaranteed=False)


def worst_heat_W(open_V: float, inner_ohm: float, joint_ohm: Range) -> tuple[float, float]:
    """The most heat in a joint that its circuit can give it.

    A joint in series with the rest of its circuit takes E² R / (R + Ri)², which is greatest at
    R = Ri; of a joint that cannot be so the nearest value it may have counts.

    Parameters
    ----------
    open_V : float
        Voltage across the joint if it were open. [V]
    inner_ohm : float
        Resistance of the rest of the circuit as the joint sees it. [Ω]
    joint_ohm : Range
        What the joint may be. [Ω]

    Returns
    -------
    tuple of float
        Heat [W], and the resistance at which it arises [Ω].

    Raises
    ------
    ValueError
        If both joint and circuit may be without resistance.

    References
    ----------
    .. [1] Maximum power transfer (M. H. von Jacobi), by setting the derivative over R to zero.
    """
    at_ohm = min(max(inner_ohm, joint_ohm.low), joint_ohm.high)
    if at_ohm + inner_ohm <= 0:
        raise ValueError("neither the joint nor its circuit has a resistance")
    return (open_V / (at_ohm + inner_ohm)) ** 2 * at_ohm, at_ohm
