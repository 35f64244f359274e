"""Laws of what is established: what is worse about a place, a joint, an end, a fuse or a lead is never rated lower."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harnessdiff.model.harness import Harness, Joint, JointDetails, Zone
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.policy import Forbidden
from harnessdiff.model.rating import MECHANISMS, SEVERITIES, Sign, level_rank
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.joints import judged
from harnessdiff.rate.rating import rated
from harnessdiff.rate.signs import FLAMMABLE, GROUNDED, signs_of
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.loader import joint_order, least_limit_A
from tests.rate.generated import FUNCTIONS, HARSHER, LEAD, cases, policies, random_policy, zone
from tests.strategies import STATES

if TYPE_CHECKING:
    from random import Random

    from harnessdiff.model.policy import Policy

Thing = TypeVar("Thing")
AROUND = Circumstances(functions=("radio",), zones=(), as_found=Harness.of([], set()))


def no_lower(
    worse: tuple[Modification, Circumstances], better: tuple[Modification, Circumstances], policy: Policy
) -> bool:
    """Whether the worse case is at least as bad, at its best and at its worst."""
    one, other = rated(*worse, policy), rated(*better, policy)
    return level_rank(one.best) >= level_rank(other.best) and level_rank(one.worst) >= level_rank(other.worst)


def with_joints(circumstances: Circumstances, *joints: Joint) -> Circumstances:
    """The same with these joints as they are found, and its own others."""
    own = {one.id: one for one in circumstances.as_found.elements if isinstance(one, Joint)}
    own |= {one.id: one for one in joints}
    zones = list(circumstances.as_found.zones())
    return replace(circumstances, as_found=Harness.of([*own.values(), *zones], set()))


def one_joint(circumstances: Circumstances, name: str) -> Joint:
    joint = circumstances.as_found.joint(name)
    assert joint is not None
    return joint


# -- place


@settings(max_examples=30)
@given(cases, policies, st.sampled_from(HARSHER), st.sampled_from(["Z", "Y"]))
def test_harsher_place_is_never_rated_lower(
    case: tuple[Modification, Circumstances], policy: Policy, flag: str, name: str
) -> None:
    modification, here = case
    harsher: Any = {flag: True}
    there = {one.id: replace(one, **harsher) if one.id == name else one for one in here.as_found.zones()}
    joints = [one for one in here.as_found.elements if isinstance(one, Joint)]
    harsh = replace(
        here,
        zones=tuple(there[one.id] for one in here.zones),
        as_found=Harness.of([*joints, *there.values()], set()),
    )

    assert no_lower((modification, harsh), case, policy)


@pytest.mark.parametrize(
    ("place", "codes"),
    [
        (zone("Z", set()), set()),
        (zone("Z", {"hot", "moving"}), {"hot_place", "moving_place"}),
        (zone("Z", {"vibrating", "concealed"}), {"vibrating_place", "concealed_place"}),
        *((zone("Z", set(), near), {"flammable_place"}) for near in sorted(FLAMMABLE)),
        (zone("Z", set(), "exhaust"), set()),
    ],
)
def test_place_is_established_as_it_is(place: Zone, codes: set[str]) -> None:
    """That a place is wet is a fact, for it may have been found so."""
    around = replace(AROUND, zones=(zone("Y", set()), place))
    signs = signs_of(Modification(kind="tap", root="+t"), around, default_policy(), {})

    assert {one.code for one in signs} == {"tap", *codes}


def test_stall_and_heat_marks_are_established_as_they_are_told() -> None:
    around = replace(AROUND, stalled=True, heat_marks=True)
    signs = signs_of(Modification(kind="tap", root="+t"), around, default_policy(), {})

    assert {one.code for one in signs} == {"tap", "stall_reported", "heat_marks"}


# -- joints


KNOWN = [
    JointDetails(
        type=row.type, tool=min(row.tools - {"*"}, default="hand"), cover=min(row.covers - {"*"}, default="tape")
    )
    for row in joint_order()
    if row.type != "fuse_slot_adaptor"
]
"""A joint of every make."""


@settings(max_examples=30)
@given(cases, policies, st.sampled_from(STATES))
def test_joint_in_one_bad_state_more_is_never_rated_lower(
    case: tuple[Modification, Circumstances], policy: Policy, state: str
) -> None:
    modification, circumstances = case
    assume(modification.joints)
    joint = one_joint(circumstances, modification.joints[0])
    worn = replace(joint, details=replace(joint.details, condition=(*joint.details.condition, state)))

    assert no_lower((modification, with_joints(circumstances, worn)), case, policy)


@settings(max_examples=200)
@given(cases, policies, st.sampled_from([0, 9, 10]), st.sampled_from([1, 10]))
def test_older_joint_is_never_rated_lower(
    case: tuple[Modification, Circumstances], policy: Policy, since: int, more: int
) -> None:
    modification, circumstances = case
    assume(modification.joints)
    name = modification.joints[0]
    younger = replace(circumstances, years={name: since})
    older = replace(circumstances, years={name: since + more})

    assert no_lower((modification, older), (modification, younger), policy)
    assert no_lower((modification, younger), (modification, replace(circumstances, years={})), policy)


@pytest.mark.parametrize(("years", "weight"), [({}, 0.0), ({"+J1": 9}, 0.0), ({"+J1": 10}, 1.0), ({"+J2": 10}, 0.0)])
def test_joint_made_ten_years_ago_weighs_one_more(years: dict[str, int], weight: float) -> None:
    """In the default policy; the years of another joint do not count."""
    around = with_joints(AROUND, Joint(id="+J1", details=JointDetails(type="twisted", tool="hand", cover="tape")))
    modification = Modification(kind="tap", root="+t", joints=("+J1",))
    index = {
        name: one.index
        for name, here in {"told": replace(around, years=years), "untold": around}.items()
        for one in rated(modification, here, default_policy()).mechanisms
        if one.code == "contact_heat"
    }

    assert index["told"] - index["untold"] == weight


@settings(max_examples=30)
@given(cases, st.sampled_from(KNOWN), st.sampled_from(KNOWN), policies)
def test_joint_lower_in_the_order_is_never_rated_lower(
    case: tuple[Modification, Circumstances], one: JointDetails, other: JointDetails, policy: Policy
) -> None:
    """Of known make both, in the same state; a fuse-slot adaptor, and what a policy forbids, apart."""
    modification, circumstances = case
    assume(judged(one).worst.rank != judged(other).worst.rank)
    state = circumstances.as_found.joint("+J1")
    condition = state.details.condition if state is not None else ()
    modification = replace(modification, joints=tuple(dict.fromkeys(("+J1", *modification.joints))))
    policy = replace(policy, forbidden=())
    better, worse = (
        (modification, with_joints(circumstances, Joint(id="+J1", details=replace(details, condition=condition))))
        for details in sorted((one, other), key=lambda details: judged(details).worst.rank)
    )

    assert no_lower(worse, better, policy)


@settings(max_examples=30)
@given(cases, policies, st.data())
def test_graver_function_is_never_rated_lower(
    case: tuple[Modification, Circumstances], policy: Policy, data: st.DataObject
) -> None:
    modification, circumstances = case
    assume(circumstances.functions)
    policy = replace(policy, forbidden=())
    lines = {one.function: one for one in policy.functions}
    first, *others = circumstances.functions
    graver = [
        name
        for name in FUNCTIONS
        if SEVERITIES.index(lines[name].lost) >= SEVERITIES.index(lines[first].lost)
        and SEVERITIES.index(lines[name].acts) >= SEVERITIES.index(lines[first].acts)
    ]
    worse = replace(circumstances, functions=(data.draw(st.sampled_from(graver)), *others))

    assert no_lower((modification, worse), case, policy)


SCREW = Joint(id="+J1", details=JointDetails(type="under_screw", tool="hand", cover="none"))
TWIST = Joint(id="+J1", details=JointDetails(type="twisted", tool="hand", cover="tape"))


@pytest.mark.parametrize("kind", sorted(GROUNDED))
@pytest.mark.parametrize("seed", range(6))
def test_joint_at_ground_is_judged_by_its_contact_whatever_the_policy_weighs(kind: str, seed: int) -> None:
    """A screw is no fault of its own there; a twist is, and so is a screw that is loose, misfit or forbidden."""
    policy = random_policy(seed)

    def flagged(joint: Joint, policy: Policy, *facts: Fact, kind: str = kind) -> bool:
        ground = Modification(kind=kind, root="+l", joints=("+J1",), facts=facts)
        return any(one.code == "joint" for one in signs_of(ground, with_joints(AROUND, joint), policy, {}))

    loose = replace(SCREW, details=replace(SCREW.details, condition=("loose",)))
    fussy = replace(policy, forbidden=(Forbidden(joint="under_screw", level="Medium"),))
    strict = replace(policy, joints=tuple(replace(one, fine_in="no_place") for one in policy.joints))
    assert not flagged(SCREW, strict)
    assert flagged(TWIST, strict)
    assert flagged(SCREW, strict, kind="tap")
    assert flagged(loose, policy)
    assert flagged(SCREW, policy, Fact.of("out_of_range", joint="+J1"))
    assert not flagged(SCREW, strict, Fact.of("out_of_range", joint="+J2"))
    assert flagged(SCREW, fussy)


def test_sound_joint_brings_nothing_and_one_not_made_for_its_wire_does() -> None:
    crimp = Joint(id="+J1", details=JointDetails(type="butt_crimp", tool="ratchet", cover="adhesive_sleeve"))
    around = with_joints(AROUND, crimp)

    def codes(*facts: Fact) -> set[str]:
        tap = Modification(kind="tap", root="+t", joints=("+J1", "+gone"), facts=facts)
        return {one.code for one in signs_of(tap, around, default_policy(), {})}

    assert codes() == {"tap"}
    assert codes(Fact.of("out_of_range", joint="+J1")) == {"tap", "out_of_range", "joint"}


# -- ends


TREATMENTS = ("capped", "sleeved", "taped", "bare")


@given(cases, policies, st.sampled_from(["loose_end", "cut_end_live"]))
def test_end_that_is_treated_worse_is_never_rated_lower(
    case: tuple[Modification, Circumstances], policy: Policy, code: str
) -> None:
    modification, circumstances = case
    others = (*(one for one in modification.facts if one.code != code), Fact.of("loose_end_live", lead=LEAD))
    treated = [
        (replace(modification, facts=(*others, Fact.of(code, lead=LEAD, end=2, treatment=one))), circumstances)
        for one in TREATMENTS
    ]

    assert [no_lower(worse, better, policy) for better, worse in itertools.pairwise(treated)] == [True] * 3


# -- a larger fuse, a thinner lead


RATINGS = (3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 60.0)
LIMITS = (0.0, least_limit_A(), 5.0, 7.5, 10.0, 15.0, 25.0)


@settings(max_examples=30)
@given(cases, policies, *(st.sampled_from(RATINGS),) * 2, *(st.sampled_from(LIMITS),) * 2)
def test_larger_fuse_or_thinner_lead_never_lowers_the_overload(
    case: tuple[Modification, Circumstances],
    policy: Policy,
    rating: float,
    rating_2: float,
    limit: float,
    limit_2: float,
) -> None:
    """Nor anything else that goes by the record alone."""
    modification, circumstances = case
    others = tuple(one for one in modification.facts if not one.code.startswith("over_fused"))

    def held(rating_A: float, limit_A: float) -> tuple[Modification, Circumstances]:
        fact = Fact.of("over_fused", lead=LEAD, rating_A=rating_A, limit_A=limit_A, least_limit_A=limit_A)
        over = (fact,) if rating_A > limit_A else ()
        return replace(modification, facts=(*others, *over)), circumstances

    better = held(min(rating, rating_2), max(limit, limit_2))
    worse = held(max(rating, rating_2), min(limit, limit_2))

    assert no_lower(worse, better, policy)
    now = {one.code: level_rank(one.level) for one in rated(*worse, policy).mechanisms}
    was = {one.code: level_rank(one.level) for one in rated(*better, policy).mechanisms}
    assert now.get("overload", 0) >= was.get("overload", 0)


def test_fuse_is_so_many_times_the_limit_and_at_least_twice_where_nothing_is_allowed() -> None:
    def times(**says: float | None) -> float | None:
        tap = Modification(kind="tap", root="+t", facts=(Fact.of("over_fused", lead=LEAD, **says),))
        (sign,) = (one for one in signs_of(tap, AROUND, default_policy(), {}) if one.code == "over_fused")
        return sign.amount

    assert times(rating_A=15.0, limit_A=10.0) == 1.5
    assert times(rating_A=60.0, limit_A=0.0) == 60.0 / least_limit_A()
    assert times(rating_A=1.0, limit_A=0.0) == 2.0
    assert times(rating_A=None, limit_A=10.0) == 1.0


# -- what each fact becomes


def signs_with(fact: Fact, kind: str = "tap", role: str = "", **answers: str) -> set[Sign]:
    modification = Modification(kind=kind, root="+t", role=role, facts=(fact,))
    keys = {(question, about): answer for question, (about, answer) in _asked(fact, answers).items()}
    return {one for one in signs_of(modification, AROUND, default_policy(), keys) if one.code != kind}


def _asked(fact: Fact, answers: dict[str, str]) -> dict[str, tuple[str, str]]:
    lead = str(fact.get("lead"))
    about = {"rating": "" if fact.code == "rating_perhaps" else lead, "far_end": f"{lead}#{fact.get('end')}"}
    nowhere = ("ground_contact", "which_wire", "part")
    return {name: (about.get(name, "" if name in nowhere else lead), answer) for name, answer in answers.items()}


@pytest.mark.parametrize(
    ("fact", "question", "code"),
    [
        (
            Fact.of("over_fused_perhaps", lead=LEAD, unknown="way", greatest_A=10.0, least_limit_A=4.0),
            "way",
            "over_fused",
        ),
        (Fact.of("size_perhaps", lead=LEAD, was=1.0, now=0.5), "size", "size"),
        (Fact.of("insert_thinner_perhaps", lead=LEAD, was=1.0, now=0.5), "size", "insert_thinner"),
        (Fact.of("unprotected_perhaps", lead=LEAD), "protection", "unprotected"),
        (Fact.of("rating_perhaps", fuse="F1"), "rating", "rating"),
        (Fact.of("ground_contact_unseen"), "ground_contact", "poor_ground_contact"),
        (Fact.of("shared_ground", adverse="maybe"), "ground_contact", "shared_ground"),
        (Fact.of("place_unknown"), "which_wire", "place_unknown"),
        (Fact.of("substituted", label="unknown"), "part", "unknown_part"),
        (Fact.of("not_traced", lead=LEAD, end=1), "far_end", "far_end_unknown"),
    ],
)
def test_what_may_be_so_is_established_only_where_it_is_answered_gravely(fact: Fact, question: str, code: str) -> None:
    mild = {one.code for one in signs_with(fact, **{question: "no"})}
    grave = {one.code for one in signs_with(fact, **{question: "yes"})}

    assert code not in mild
    assert grave == mild | {code}
    if code == "over_fused":
        assert {one.amount for one in signs_with(fact, **{question: "yes"})} == {2.5}


def test_facts_that_go_without_saying_are_not_established() -> None:
    through = Fact.of("through_device", device="+d")

    assert signs_with(Fact.of("adds_load", device="+d")) == set()
    assert signs_with(Fact.of("substituted", label="horn"), "substituted_part") == set()
    assert signs_with(through, role="plugged") == signs_with(through, "bypass") == set()
    assert {one.code for one in signs_with(through)} == {"through_device"}


def test_damage_is_established_with_how_far_it_goes() -> None:
    found = signs_with(Fact.of("damage", sort="chafed", extent="through"), "repair")

    assert {(one.code, one.named.get("extent")) for one in found} == {("damage", "through"), ("extent", "through")}


@given(cases, policies, st.randoms())
def test_ids_and_order_do_not_count(case: tuple[Modification, Circumstances], policy: Policy, rng: Random) -> None:
    modification, circumstances = case

    def shuffled(things: tuple[Thing, ...]) -> tuple[Thing, ...]:
        return tuple(rng.sample(things, len(things)))

    other = replace(modification, facts=shuffled(modification.facts), joints=shuffled(modification.joints))
    around = replace(
        circumstances,
        consequences=shuffled(circumstances.consequences),
        functions=tuple(reversed(circumstances.functions)),
        zones=tuple(reversed(circumstances.zones)),
    )
    one, again = rated(modification, circumstances, policy), rated(other, around, policy)

    assert (one.best, one.worst, one.opens) == (again.best, again.worst, again.opens)
    assert [(m.code, m.level, m.index, m.severity) for m in one.mechanisms] == [
        (m.code, m.level, m.index, m.severity) for m in again.mechanisms
    ]
    assert {m.code for m in one.mechanisms} <= set(MECHANISMS)
