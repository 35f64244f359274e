"""What the make and the place of a joint say: a size it is not made for, where it sits, how it was prepared."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.spacing import spacing_facts
from harnessdiff.model.harness import Joint
from harnessdiff.model.modification import Fact, Modification

SAME_SIZE = 1.02
"""Up to 2 % beyond a size counts as that size, as for the limits of conductors: an AWG wire meets its metric one."""

SEALED = frozenset({"adhesive_sleeve", "sealed_housing"})
"""Covers that keep a joint from bending at its edge."""

CRIMPED = frozenset({"butt_crimp", "splice_barrel", "ring_terminal"})
SCREWED = frozenset({"screw_strip", "under_screw"})


def joint_facts(comparison: Comparison, one: Modification) -> Iterator[Fact]:
    """What follows from the joints beneath a modification.

    Parameters
    ----------
    comparison : Comparison
    one : Modification

    Yields
    ------
    Fact
    """
    for joint_id in one.joints if one.kind != "routing" else ():
        joint = comparison.after.joint(joint_id)
        if joint is not None:
            yield from _out_of_range(comparison, joint)
            yield from _in_flex(comparison, joint)
            yield from spacing_facts(comparison, joint, _runs(comparison, joint))
            yield from _prepared(joint)


def _runs(comparison: Comparison, joint: Joint) -> tuple[str, ...]:
    """Conductors on which a joint sits, or whose cut it closes."""
    cuts = comparison.after.subjects(joint.id, "side_1", "side_2")
    cut = (wire for one in cuts for wire in comparison.after.targets(one, "on"))
    runs = (*comparison.after.targets(joint.id, "on"), *cut)
    return tuple(dict.fromkeys(one for one in runs if comparison.after.conductor(one) is not None))


def _out_of_range(comparison: Comparison, joint: Joint) -> Iterator[Fact]:
    """Wires of a size that a joint is not made for: those it sits on or, where it is on none, those that end in it."""
    if len(joint.details.range_mm2) != 2:
        return
    least, greatest = joint.details.range_mm2
    for wire_id in _runs(comparison, joint) or comparison.after.subjects(joint.id, "end_1", "end_2"):
        wire = comparison.after.conductor(wire_id)
        if wire is None:
            continue
        size = wire.size_mm2
        too_thick = size.low is not None and size.low > greatest * SAME_SIZE
        too_thin = size.high is not None and size.high * SAME_SIZE < least
        if too_thick or too_thin:
            yield Fact.of(
                "out_of_range",
                joint=joint.id,
                wire=wire_id,
                size_mm2=size.low if too_thick else size.high,
                least_mm2=least,
                greatest_mm2=greatest,
            )


def _in_flex(comparison: Comparison, joint: Joint) -> Iterator[Fact]:
    """Wires that only pass through the moving place in which an unsealed joint was made into them: there they bend."""
    zone = comparison.after.zone(joint.zone)
    if zone is None or not zone.moving or joint.details.type == "plug_in" or joint.details.cover in SEALED:
        return
    for wire_id in _runs(comparison, joint):
        wire = comparison.before.conductor(wire_id)
        if wire is not None and zone.id in wire.zones[1:-1]:
            yield Fact.of("in_flex_point", lead=wire_id, joint=joint.id)


def _prepared(joint: Joint) -> Iterator[Fact]:
    """Wires prepared in a way that their joint does not bear; nothing where nobody saw how they were.

    NASA-STD-8739.4 allows neither tinned strands in a crimp (4.3.4) nor wires twisted together in a
    ferrule or crimped splice (19.10.1, 19.12), spacecraft by analogy; that tinned strands creep under
    a screw is common practice.
    """
    details = joint.details
    if "tinned" in details.prepared and details.type in CRIMPED:
        yield Fact.of("tinned_in_crimp", joint=joint.id)
    if "tinned" in details.prepared and details.type in SCREWED:
        yield Fact.of("tinned_under_screw", joint=joint.id)
    if "twisted_together" in details.prepared and details.type in CRIMPED:
        yield Fact.of("twisted_in_crimp", joint=joint.id)
