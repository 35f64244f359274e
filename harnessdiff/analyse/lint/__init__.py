"""What a professional objects to in a reference, before anything is compared with it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from harnessdiff.analyse.lint.feeding import feeding_objections
from harnessdiff.analyse.lint.gaps import gap_objections
from harnessdiff.analyse.lint.practice import practice_objections
from harnessdiff.analyse.lint.protection import protection_objections
from harnessdiff.analyse.lint.structure import structure_objections, unused_objections
from harnessdiff.analyse.supply import Supply
from harnessdiff.model.harness import Conductor, Joint, Terminal
from harnessdiff.model.objection import Objection
from harnessdiff.model.reference import Reference, Waiver

IN_EVERY_VARIANT = frozenset({"no_current", "unwired", "end_in_the_air", "lone_splice"})
"""Rules that object only to what hangs in the air whatever options are fitted: an input for an option may be idle."""


def objections_to(reference: Reference, variants: tuple[Reference, ...]) -> tuple[Objection, ...]:
    """Everything that a professional objects to, what the reference waives marked so.

    Parameters
    ----------
    reference : Reference
        All of it.
    variants : tuple of Reference
        As built with some set of its options each; what holds in any of them is objected to, as it is
        in the first.

    Returns
    -------
    tuple of Objection
        Each once, in the order of rules, then of elements.
    """
    found = {*unused_objections(reference), *gap_objections(reference)}
    by_variant = [(variant, _objections_to_variant(variant)) for variant in variants]
    for _, objections in by_variant:
        known = {(one.rule, one.element) for one in found}
        found |= {
            one
            for one in objections
            if (one.rule, one.element) not in known
            and (one.rule not in IN_EVERY_VARIANT or _holds_wherever(one, by_variant))
        }
    judged = [_waived(one, reference) for one in found]
    judged += _waivers_without_cause(reference, judged)
    return tuple(sorted(judged, key=lambda one: (one.rule, one.element, one.fact.params)))


def _objections_to_variant(variant: Reference) -> frozenset[Objection]:
    supply = Supply(variant.harness, variant.vehicle.ground_polarity)
    return frozenset(
        [
            *structure_objections(variant),
            *feeding_objections(variant, supply),
            *protection_objections(variant, supply),
            *practice_objections(variant, supply),
        ]
    )


def _holds_wherever(objection: Objection, by_variant: list[tuple[Reference, frozenset[Objection]]]) -> bool:
    """Whether an objection holds in every variant that has its element."""
    return all(
        any(other.rule == objection.rule and other.element == objection.element for other in objections)
        for variant, objections in by_variant
        if objection.element in variant.harness.by_id
    )


def _waived(objection: Objection, reference: Reference) -> Objection:
    for waiver in reference.as_built:
        if _answers(waiver, objection, reference):
            return replace(objection, waived=waiver.because)
    return objection


def _answers(waiver: Waiver, objection: Objection, reference: Reference) -> bool:
    """Whether a waiver speaks of the objection: of its element or its circuit, and of its rule if it names one."""
    if waiver.rule is not None and waiver.rule != objection.rule:
        return False
    if waiver.element == objection.element:
        return True
    element = reference.harness.by_id.get(objection.element)
    if isinstance(element, Terminal):
        return waiver.element == reference.harness.device_of(element.id)
    return isinstance(element, (Conductor, Joint)) and waiver.element == element.circuit


def _waivers_without_cause(reference: Reference, judged: list[Objection]) -> Iterator[Objection]:
    for waiver in reference.as_built:
        if not any(_answers(waiver, objection, reference) for objection in judged):
            yield Objection.to(waiver.element, "waiver_without_cause", because=waiver.because)
