"""Open questions that move a rating: what is not known of a modification, and the look that settles it.

Answers stand from the mildest to the gravest, so that the two ends of a range are all questions answered
mildly and all answered gravely: no rating falls when an answer is graver.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Device, Joint, Zone, is_added
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.parts import Load
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import level_rank
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.joints import burden, harsh, least_level, may_be

NO, YES = "no", "yes"
LEAST, MOST = "least", "most"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """An open question.

    Parameters
    ----------
    code : str
        What is asked, such as ``make``.
    about : str
        Of what.
    look : Fact
        The look or measurement that settles it.
    answers : tuple of str
        The mildest first.
    in_order : bool
        Whether each answer is graver than the one before whatever else is so; a policy that forbids a joint
        by name, and none that counts for more, takes makes out of their order.
    """

    code: str
    about: str
    look: Fact
    answers: tuple[str, ...]
    in_order: bool = True

    @property
    def key(self) -> tuple[str, str]:
        """What an answer is kept by."""
        return self.code, self.about


Answers = Mapping[tuple[str, str], str]


def mildest(questions: tuple[Question, ...]) -> dict[tuple[str, str], str]:
    """Every question answered mildly."""
    return {one.key: one.answers[0] for one in questions}


def gravest(questions: tuple[Question, ...]) -> dict[tuple[str, str], str]:
    """Every question answered gravely."""
    return {one.key: one.answers[-1] for one in questions}


def questions_of(modification: Modification, circumstances: Circumstances, policy: Policy) -> tuple[Question, ...]:
    """What is open about a modification and may move its level.

    Parameters
    ----------
    modification : Modification
    circumstances : Circumstances
    policy : Policy
        Its burdens order the makes that a joint may be.

    Returns
    -------
    tuple of Question
        Each once.
    """
    found = (
        *_of_joints(modification, circumstances, policy),
        *(question for fact in modification.facts for question in _of_fact(fact)),
        *(question for one in circumstances.consequences for question in _of_consequence(one, circumstances)),
        *_of_boxes(modification, circumstances),
        *_of_functions(modification, circumstances),
    )
    return tuple({one.key: one for one in found}.values())


def joint_zone(joint: Joint, circumstances: Circumstances) -> Zone | None:
    """The place of a joint: its own, else the harshest that the modification lies in."""
    return circumstances.as_found.zone(joint.zone) or max(circumstances.zones, key=harsh, default=None)


def _of_joints(modification: Modification, circumstances: Circumstances, policy: Policy) -> Iterator[Question]:
    for joint_id in modification.joints:
        joint = circumstances.as_found.joint(joint_id)
        rows = may_be(joint.details) if joint is not None else ()
        if joint is None or len(rows) < 2:
            continue
        zone = joint_zone(joint, circumstances)
        makes: dict[tuple[float, int], list[str]] = {}
        for row in rows:
            weight = burden(row, joint.details, zone, policy, functions=circumstances.functions)
            least = level_rank(least_level(row.joint, circumstances.functions, policy))
            makes.setdefault((weight, least), []).append(row.joint)
        order = sorted(makes)
        mildest_of_each = [makes[one][0] for one in order]
        yield Question(
            code="make",
            about=joint_id,
            look=Fact.of("unwrap", joint=joint_id),
            answers=(*mildest_of_each[:-1], makes[order[-1]][-1]),
            in_order=all(one[1] <= other[1] for one, other in itertools.pairwise(order)),
        )


def _of_fact(fact: Fact) -> Iterator[Question]:
    lead = str(fact.get("lead"))
    match fact.code:
        case "over_fused_perhaps":
            unknown = str(fact.get("unknown"))
            yield Question(code=unknown, about=lead, look=_look_at_fuse(fact), answers=(NO, YES))
        case "over_fused":
            if fact.get("least_limit_A") != fact.get("limit_A"):
                yield Question(code="size", about=lead, look=Fact.of("measure_size", lead=lead), answers=(NO, YES))
            if fact.get("most_A") is not None:
                look = Fact.of("read_the_fuse", fuse=fact.get("fuse"))
                yield Question(code="rating", about=lead, look=look, answers=(NO, YES))
        case "insert_thinner_perhaps" | "size_perhaps":
            yield Question(code="size", about=lead, look=Fact.of("measure_size", lead=lead), answers=(NO, YES))
        case "unprotected_perhaps":
            look = Fact.of("find_its_protection", lead=lead)
            yield Question(code="protection", about=lead, look=look, answers=(NO, YES))
        case "rating_perhaps":
            yield Question(
                code="rating", about="", look=Fact.of("read_the_fuse", fuse=fact.get("fuse")), answers=(NO, YES)
            )
        case "ground_contact_unseen":
            yield Question(code="ground_contact", about="", look=Fact.of("drop_under_load"), answers=(NO, YES))
        case "shared_ground" if fact.get("adverse") == "maybe":
            yield Question(code="ground_contact", about="", look=Fact.of("drop_under_load"), answers=(NO, YES))
        case "place_unknown":
            yield Question(code="which_wire", about="", look=Fact.of("find_the_wire"), answers=(NO, YES))
        case "substituted" if fact.get("label") == "unknown":
            yield Question(code="part", about="", look=Fact.of("identify_the_part"), answers=(NO, YES))
        case "no_grommet_perhaps":
            look = Fact.of("look_at_the_route", lead=lead, what=fact.get("what"))
            yield Question(code="edge", about=f"{lead}:{fact.get('what')}", look=look, answers=(NO, YES))
        case "far_end_fuse" if fact.get("distance_m") is None:
            look = Fact.of("find_its_protection", lead=lead)
            yield Question(code="fuse_place", about=lead, look=look, answers=(NO, YES))
        case "not_traced":
            look = Fact.of("follow", lead=lead, end=fact.get("end"))
            yield Question(code="far_end", about=f"{lead}#{fact.get('end')}", look=look, answers=(NO, YES))
        case "loose_end" if fact.get("treatment") == "unknown":
            look = Fact.of("look_at_the_end", lead=lead, end=fact.get("end"))
            yield Question(code="treatment", about=f"{lead}#{fact.get('end')}", look=look, answers=("capped", "bare"))
        case "cut_end_live" if fact.get("treatment") == "unknown":
            look = Fact.of("look_at_the_end", lead=None, end=None)
            yield Question(code="treatment", about="cut", look=look, answers=("capped", "bare"))


def _look_at_fuse(fact: Fact) -> Fact:
    match fact.get("unknown"):
        case "rating":
            return Fact.of("read_the_fuse", fuse=fact.get("fuse"))
        case "way":
            return Fact.of("find_its_protection", lead=fact.get("lead"))
        case _:
            return Fact.of("measure_size", lead=fact.get("lead"))


RANGED = frozenset({"joint_heat", "drain", "over_limit", "dimmed", "under_voltage"})
"""Consequences whose amount weighs, and that may lie in a range."""


PASSIVE = frozenset({
    "switch", "relay", "fuse_slot", "fuse", "joint_block", "connector", "socket", "plug", "resistor", "diode",
    "circuit_breaker",
})  # fmt: skip
"""Kinds of device that draw nothing by themselves."""


def _of_boxes(modification: Modification, circumstances: Circumstances) -> Iterator[Question]:
    """Boxes on a permanent feed of which nobody knows what they draw at rest."""
    if not modification.has("permanent_supply"):
        return
    harness = circumstances.as_found
    ends = {end for lead in modification.added for end in harness.targets(lead, "end_1", "end_2")}
    ends |= {terminal for end in ends for terminal in harness.targets(end, "at")}
    for device_id in sorted({harness.device_of(end) for end in ends if ":" in end and is_added(end)}):
        device = harness.device(device_id)
        if device is None or device.connected == "no" or device.kind in PASSIVE or device.positions:
            continue
        if (not device.parts and not device.hypotheses) or _return_unsaid(device, circumstances):
            look = Fact.of("measure_at_rest", subject=device_id)
            yield Question(code="rest", about=device_id, look=look, answers=(NO, YES))


def _return_unsaid(device: Device, circumstances: Circumstances) -> bool:
    """Whether the record names no lead at one of the terminals of a load, so that nothing can be computed of it."""
    harness = circumstances.as_found
    loads = [part for part in device.parts if isinstance(part, Load)]
    joined = {
        name
        for part in loads
        for name in part.between
        if harness.subjects(f"{device.id}:{name}", "end_1", "end_2")
        or any(harness.subjects(joint, "end_1", "end_2") for joint in harness.subjects(f"{device.id}:{name}", "at"))
        or any(bond.terminal == name for bond in device.bonds)
    }
    linked = {name for part in device.parts if not isinstance(part, Load) for name in getattr(part, "between", ())}
    return any(name not in joined and name not in linked for part in loads for name in part.between)


def rest_is_said(one: Consequence, circumstances: Circumstances) -> bool:
    """Whether the record says what something draws at rest; an added one that does not may have a switch of its own."""
    device = circumstances.as_found.device(one.subject)
    if device is None or not is_added(one.subject):
        return True
    thoughts = (device.parts, *(thought.parts for thought in device.hypotheses))
    return all(part.rest_A.known for parts in thoughts for part in parts if isinstance(part, Load))


def _of_consequence(one: Consequence, circumstances: Circumstances) -> Iterator[Question]:
    if one.code not in RANGED or one.after is None:
        return
    if one.after.low == one.after.high and (one.code != "drain" or rest_is_said(one, circumstances)):
        return
    if one.code == "joint_heat":
        look = Fact.of("drop_over_joint", joint=one.subject)
    elif one.code == "drain":
        look = Fact.of("measure_at_rest", subject=one.subject)
    else:
        look = Fact.of("measure_in", subject=one.subject, condition=next(iter(one.conditions), None))
    yield Question(code=one.code, about=f"{one.subject}:{one.terminal or ''}", look=look, answers=(LEAST, MOST))


def _of_functions(modification: Modification, circumstances: Circumstances) -> Iterator[Question]:
    """A wire of the maker's of which nobody knows what it is for."""
    wires = any(circumstances.as_found.conductor(element) is not None for element in modification.elements)
    if not circumstances.functions and (wires or modification.has("place_unknown")):
        look = Fact.of("find_the_wire" if modification.has("place_unknown") else "find_the_circuit")
        yield Question(code="circuit", about="", look=look, answers=(NO, YES))
