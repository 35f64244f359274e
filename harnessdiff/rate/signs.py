"""What is established about a modification and may weigh: of its facts, its joints and its place."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.model.modification import Fact, Modification, Value
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import Sign
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.effects import effects_of
from harnessdiff.rate.joints import FINE, burden, forbidding, may_be
from harnessdiff.rate.questions import YES, Answers, joint_zone
from harnessdiff.tables.loader import JointRow, joint_order, least_limit_A

PLACES = ("hot", "moving", "vibrating", "concealed")
FLAMMABLE = frozenset({"fuel_vapour", "battery_gas", "bedding", "upholstery"})
GROUNDED = frozenset({"orphaned_lead", "lost_ground", "added_ground"})
"""Kinds whose joint at ground is judged by its contact with the metal, not by the screw."""
UNDER_SCREW = "under_screw"
"""The worst make that such a joint may be."""
ABOUT_JOINTS = frozenset({
    "near_termination", "close_to_next", "tinned_in_crimp", "twisted_in_crimp", "tinned_under_screw", "out_of_range",
})  # fmt: skip
"""Facts that speak of one joint and count there."""


def signs_of(
    modification: Modification, circumstances: Circumstances, policy: Policy, answers: Answers
) -> tuple[Sign, ...]:
    """Everything established, with open questions answered in one way.

    Parameters
    ----------
    modification : Modification
        With all its facts.
    circumstances : Circumstances
    policy : Policy
    answers : mapping
        By what is asked and of what.

    Returns
    -------
    tuple of Sign
        Each once.
    """
    found = [Sign(code=modification.kind)]
    for fact in modification.facts:
        found += _of_fact(fact, modification, answers)
    for joint_id in modification.joints:
        found += _of_joint(joint_id, modification, circumstances, policy, answers)
    found += _of_place(circumstances)
    poor = {sign.about for sign in found if sign.code == "joint"}
    effects = effects_of(circumstances, policy, answers)
    # A joint as good as the maker's gives off what the maker's would.
    found += (sign for sign in effects if sign.code != "joint_heat" or sign.about in poor)
    found += (Sign(code="rest_unknown", params=(("device", about),)) for (code, about), answer in answers.items()
              if code == "rest" and answer == YES)  # fmt: skip
    found += _of_the_whole(circumstances)
    return tuple(dict.fromkeys(found))


def _of_fact(fact: Fact, modification: Modification, answers: Answers) -> Iterator[Sign]:
    lead = str(fact.get("lead"))
    match fact.code:
        case "adds_load" | "substituted" if fact.get("label") != "unknown":
            return
        case "through_device" if modification.role == "plugged" or modification.kind == "bypass":
            return
        case code if code in IF_GRAVE:
            question, of_lead, established = IF_GRAVE[code]
            if answers.get((question, lead if of_lead else "")) == YES:
                yield Sign(code=established, params=fact.params)
        case "over_fused":
            rating_A = fact.get("most_A") if answers.get(("rating", lead)) == YES else None
            limit_A = fact.get("least_limit_A" if answers.get(("size", lead)) == YES else "limit_A")
            yield _plain(fact, amount=_ratio(fact.get("rating_A") if rating_A is None else rating_A, limit_A))
        case "over_fused_perhaps":
            if answers.get((str(fact.get("unknown")), lead)) == YES:
                ratio = _ratio(fact.get("greatest_A"), fact.get("least_limit_A"))
                yield Sign(code="over_fused", params=fact.params, amount=ratio)
        case "shared_ground" if fact.get("adverse") == "maybe":
            if answers.get(("ground_contact", "")) == YES:
                yield Sign(code="shared_ground", params=(("adverse", "yes"),))
        case "no_grommet_perhaps":
            if answers.get(("edge", f"{lead}:{fact.get('what')}")) == YES:
                yield Sign(code="no_grommet", params=fact.params)
        case "far_end_fuse":
            distance = fact.get("distance_m")
            if isinstance(distance, (int, float)):
                yield _plain(fact, amount=float(distance))
            elif answers.get(("fuse_place", lead)) == YES:
                yield _plain(fact, amount=FAR_M)
        case "rating" if _smaller(fact):
            yield Sign(code="rating_smaller", params=fact.params)
        case "not_traced":
            yield _plain(fact)
            if answers.get(("far_end", f"{lead}#{fact.get('end')}")) == YES:
                yield Sign(code="far_end_unknown", params=fact.params)
        case "loose_end" | "cut_end_live":
            about = "cut" if fact.code == "cut_end_live" else f"{lead}#{fact.get('end')}"
            treatment = answers.get(("treatment", about), fact.get("treatment"))
            yield Sign(code=fact.code, params=_with(fact, "treatment", treatment))
        case "bypasses" | "joins_circuits":
            by = "device" if modification.has("through_device") else "wire"
            yield Sign(code=fact.code, params=_with(fact, "by", by))
        case "damage":
            yield _plain(fact)
            yield Sign(code="extent", params=(("extent", fact.get("extent")),))
        case _ if fact.code in ABOUT_JOINTS:
            yield Sign(code=fact.code, params=fact.params, about=str(fact.get("joint")))
        case _:
            yield _plain(fact)


IF_GRAVE = {
    "unprotected_perhaps": ("protection", True, "unprotected"),
    "insert_thinner_perhaps": ("size", True, "insert_thinner"),
    "size_perhaps": ("size", True, "size"),
    "rating_perhaps": ("rating", False, "rating"),
    "ground_contact_unseen": ("ground_contact", False, "poor_ground_contact"),
    "place_unknown": ("which_wire", False, "place_unknown"),
    "substituted": ("part", False, "unknown_part"),
}
"""Facts that only may be so: the question they ask, whether it is of a lead, and what its grave answer establishes."""
FAR_M = 1.0
"""Distance from the source that a fuse of which nobody knows the place is taken to have at worst. [m]"""


def _smaller(fact: Fact) -> bool:
    """Whether a fuse is smaller than the legend says: it opens early, and harms no conductor."""
    was, now = fact.get("was"), fact.get("now")
    return isinstance(was, (int, float)) and isinstance(now, (int, float)) and now < was


def _plain(fact: Fact, amount: float | None = None) -> Sign:
    return Sign(code=fact.code, params=fact.params, amount=amount)


def _with(fact: Fact, name: str, value: Value) -> tuple[tuple[str, Value], ...]:
    return tuple(sorted({**dict(fact.params), name: value}.items()))


def _ratio(rating_A: Value, limit_A: Value) -> float:
    """How many times the limit of its conductor a fuse is.

    A conductor too thin for the tables is taken for the thinnest there; its fuse is at least twice the limit.
    """
    if not isinstance(rating_A, (int, float)) or not isinstance(limit_A, (int, float)):
        return 1.0
    return rating_A / limit_A if limit_A else max(2.0, rating_A / least_limit_A())


def _of_joint(
    joint_id: str, modification: Modification, circumstances: Circumstances, policy: Policy, answers: Answers
) -> Iterator[Sign]:
    joint = circumstances.as_found.joint(joint_id)
    if joint is None:
        return
    rows = may_be(joint.details)
    answer = answers.get(("make", joint_id))
    row = next((one for one in rows if one.joint == answer), rows[-1])
    zone = joint_zone(joint, circumstances)
    misfit = any(fact.code == "out_of_range" and fact.get("joint") == joint_id for fact in modification.facts)
    weight = burden(row, joint.details, zone, policy, functions=circumstances.functions)
    if not misfit and weight == FINE:
        return
    states = [state for state in joint.details.condition if state != "clean"]
    if modification.kind in GROUNDED and not misfit and not states and _as_good_as_a_screw(row, circumstances, policy):
        return
    yield Sign(code="joint", params=(("joint", joint_id), ("make", row.joint)), about=joint_id)
    for state in states:
        yield Sign(code=f"joint_{state}", params=(("joint", joint_id),), about=joint_id)
    if joint_id in circumstances.years:
        years = float(circumstances.years[joint_id])
        yield Sign(code="aged", params=(("joint", joint_id),), amount=years, about=joint_id)


def _as_good_as_a_screw(row: JointRow, circumstances: Circumstances, policy: Policy) -> bool:
    """Whether a joint is no worse than one under a screw, and nothing forbids it."""
    (screw,) = (one.rank for one in joint_order() if one.joint == UNDER_SCREW)
    return row.rank <= screw and not forbidding(row.joint, circumstances.functions, policy)


def _of_place(circumstances: Circumstances) -> Iterator[Sign]:
    for name in PLACES:
        if any(getattr(zone, name) for zone in circumstances.zones):
            yield Sign(code=f"{name}_place")
    if any(FLAMMABLE & set(zone.near) for zone in circumstances.zones):
        yield Sign(code="flammable_place")


def _of_the_whole(circumstances: Circumstances) -> Iterator[Sign]:
    if circumstances.stalled:
        yield Sign(code="stall_reported")
    if circumstances.heat_marks:
        yield Sign(code="heat_marks")
