"""The look or measurement that would settle what a finding leaves open, and the cautions that go with it.

No check probes, pierces, loads or meters a restraint or high-voltage circuit: there the check is
left to a qualified person.
"""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.model.edit import Choice
from harnessdiff.model.harness import Harness, Zone
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.reference import Reference
from harnessdiff.tables.loader import SAFETY_LAMPS

OFF_LIMITS = frozenset({"restraint", "high_voltage"})
BY_QUALIFIED_PERSON = (Fact.of("by_qualified_person"),)


def checks_of(
    modification: Modification,
    choices: tuple[Choice, ...],
    reference: Reference,
    functions: tuple[str, ...],
    as_found: Harness,
) -> tuple[Fact, ...]:
    """Checks that would narrow a finding.

    Parameters
    ----------
    modification : Modification
    choices : tuple of Choice
        Open questions that concern it.
    reference : Reference
    functions : tuple of str
        Functions of the circuits it may touch.
    as_found : Harness

    Returns
    -------
    tuple of Fact
        Codes with parameters, most telling first.
    """
    if OFF_LIMITS & set(functions) or modification.has("restraint") or modification.has("high_voltage"):
        return BY_QUALIFIED_PERSON
    return tuple(dict.fromkeys([*checks_of_choices(choices, reference), *_of_facts(modification, as_found)]))


def checks_of_choices(choices: tuple[Choice, ...], reference: Reference) -> Iterator[Fact]:
    """The look that settles each choice, in their order."""
    for choice in choices:
        labels = tuple(alternative.label for alternative in choice.alternatives)
        if choice.about == "order":
            yield Fact.of("look_which_side_of_the_cut", wire=choice.alternatives[0].elements[0])
            continue
        ends = tuple(
            f"{label} to {_far_end(reference.harness, alternative.elements[0])}"
            for label, alternative in zip(labels, choice.alternatives, strict=True)
        )
        yield Fact.of("ring_out", ends=ends)


def _far_end(harness: Harness, element: str) -> str:
    """A terminal by which a wire can be told from others: its end 1, else itself."""
    ends = harness.targets(element, "end_1")
    return ends[0] if ends else element


def _of_facts(modification: Modification, as_found: Harness) -> Iterator[Fact]:
    for joint_id in modification.joints:
        joint = as_found.joint(joint_id)
        if joint is None or joint.details.unwrapped == "yes":
            continue
        crimped = joint.details.type in ("butt_crimp", "splice_barrel")
        if joint.details.type == "unknown" or (crimped and joint.details.tool == "unknown"):
            yield Fact.of("unwrap", joint=joint_id)
    for fact in modification.facts:
        if fact.code == "over_fused_perhaps" and fact.get("unknown") == "rating":
            yield Fact.of("read_the_fuse", fuse=fact.get("fuse"))
        elif fact.code == "over_fused_perhaps" and fact.get("unknown") != "way":
            yield Fact.of("measure_size", lead=fact.get("lead"))
        elif fact.code == "not_traced":
            yield Fact.of("follow", lead=fact.get("lead"), end=fact.get("end"))
        elif fact.code == "place_unknown":
            yield Fact.of("find_the_wire")
        elif fact.code in ("poor_ground_contact", "ground_contact_unseen"):
            yield Fact.of("drop_under_load")


def cautions_of(modification: Modification, functions: tuple[str, ...], zones: tuple[Zone, ...]) -> tuple[str, ...]:
    """Codes of the cautions that belong to the work on a finding, in the order of their weight."""
    facts = {fact.code for fact in modification.facts}
    near = {thing for zone in zones for thing in zone.near}
    wanted = {
        "restraint": bool({"restraint", "near_restraint", "on_restraint_fixing"} & facts) or "restraint" in near
        or "restraint" in functions,
        "high_voltage": bool({"high_voltage", "near_high_voltage"} & facts) or "high_voltage" in near,
        "battery_negative_first": True,
        "source_end_first": bool({"permanent_supply", "loose_end_live", "at_source"} & facts),
        "fuel_vapour": "fuel_vapour" in near or "fuel_pump" in functions,
        "battery_gas": "battery_gas" in near or "at_source" in facts,
        "never_uprate": bool({"rating", "rating_perhaps", "over_fused", "bypasses"} & facts) and modification.kind
        in ("wrong_rated_protection", "bypass", "tap"),
        "fan_may_start": "cooling_fan" in functions,
        "safety_lamps": bool(SAFETY_LAMPS & set(functions)),
        "cut_through_last": modification.kind in ("insertion", "open_circuit"),
    }  # fmt: skip
    return tuple(code for code, applies in wanted.items() if applies)
