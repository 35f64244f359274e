"""Laws of open questions: the two ends of a range are all that any answers can come to."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Harness, Joint, JointDetails
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.policy import Forbidden
from harnessdiff.model.range import Range
from harnessdiff.model.rating import level_rank
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.mechanisms import level_of, mechanisms_of
from harnessdiff.rate.questions import gravest, joint_zone, mildest, questions_of
from harnessdiff.rate.rating import rated
from harnessdiff.rate.signs import signs_of
from harnessdiff.read.policy import default_policy
from tests.rate.generated import FACTS, LEAD, cases, policies, zone

if TYPE_CHECKING:
    from collections.abc import Mapping

    from harnessdiff.model.policy import Policy

MOST_COMBINATIONS = 160


def level(
    modification: Modification, circumstances: Circumstances, policy: Policy, answers: Mapping[tuple[str, str], str]
) -> int:
    """The level with every question answered so."""
    unknown = "II" if answers.get(("circuit", "")) == "yes" else "IV"
    signs = signs_of(modification, circumstances, policy, answers)
    found = mechanisms_of(signs, circumstances.functions, policy, unknown_circuit=unknown)
    return level_rank(level_of(found))


@settings(max_examples=30)
@given(cases, policies)
def test_ranges_are_the_least_and_the_greatest_over_all_combinations_of_answers(
    case: tuple[Modification, Circumstances], policy: Policy
) -> None:
    modification, circumstances = case
    questions = questions_of(modification, circumstances, policy)
    assume(1 < math.prod(len(one.answers) for one in questions) <= MOST_COMBINATIONS)
    keys = [one.key for one in questions]
    found = [
        (answers, level(modification, circumstances, policy, answers))
        for given_in in itertools.product(*(one.answers for one in questions))
        for answers in [dict(zip(keys, given_in, strict=True))]
    ]
    rating = rated(modification, circumstances, policy)

    assert level_rank(rating.best) == min(reached for _, reached in found)
    assert level_rank(rating.worst) == max(reached for _, reached in found)
    for question in rating.opens:
        for one in question.answers:
            left = [reached for answers, reached in found if answers[question.question, question.about] == one.answer]
            assert (level_rank(one.best), level_rank(one.worst)) == (min(left), max(left))


@settings(max_examples=30)
@given(cases, policies, st.data())
def test_graver_answer_lowers_nothing(
    case: tuple[Modification, Circumstances], policy: Policy, data: st.DataObject
) -> None:
    modification, circumstances = case
    questions = questions_of(modification, circumstances, policy)
    ordered = [one for one in questions if one.in_order]
    assume(ordered)
    asked = data.draw(st.sampled_from(ordered))
    others = {one.key: data.draw(st.sampled_from(one.answers), label=one.code) for one in questions}
    found = [level(modification, circumstances, policy, others | {asked.key: one}) for one in asked.answers]

    assert found == sorted(found)


@settings(max_examples=30)
@given(cases, policies)
def test_answer_to_a_question_leaves_a_range_within_the_whole(
    case: tuple[Modification, Circumstances], policy: Policy
) -> None:
    """And a question that is listed as open moves an end by some answer."""
    rating = rated(*case, policy)
    whole = level_rank(rating.best), level_rank(rating.worst)
    for question in rating.opens:
        left = [(level_rank(one.best), level_rank(one.worst)) for one in question.answers]
        assert all(whole[0] <= best <= worst <= whole[1] for best, worst in left)
        assert min(best for best, _ in left) == whole[0]
        assert max(worst for _, worst in left) == whole[1]
        assert any(one != whole for one in left)
    assert not rating.opens or not rating.certain


@given(cases, policies)
def test_questions_are_asked_once_and_have_several_answers(
    case: tuple[Modification, Circumstances], policy: Policy
) -> None:
    questions = questions_of(*case, policy)

    assert len({one.key for one in questions}) == len(questions)
    assert mildest(questions).keys() == gravest(questions).keys() == {one.key for one in questions}
    assert all(len(set(one.answers)) == len(one.answers) >= 1 for one in questions)


# -- narrowing what is not known


def within(
    narrow: tuple[Modification, Circumstances], wide: tuple[Modification, Circumstances], policy: Policy
) -> bool:
    """Whether a narrower case keeps within the bounds of a wider one."""
    one, other = rated(*narrow, policy), rated(*wide, policy)
    return level_rank(other.best) <= level_rank(one.best) and level_rank(one.worst) <= level_rank(other.worst)


@settings(max_examples=30)
@given(cases, policies, st.sets(st.sampled_from(["type", "tool", "cover"]), min_size=1))
def test_what_is_known_of_a_joint_never_widens(
    case: tuple[Modification, Circumstances], policy: Policy, hidden: set[str]
) -> None:
    modification, circumstances = case
    assume(modification.joints)
    as_found = circumstances.as_found
    joints = [one for name in modification.joints if (one := as_found.joint(name)) is not None]
    unknown: Any = dict.fromkeys(hidden, "unknown")
    hazy = [replace(one, details=replace(one.details, **unknown)) for one in joints]
    zones = list(as_found.zones())
    wide = replace(circumstances, as_found=Harness.of([*hazy, *zones], set()))

    assert within(case, (modification, wide), policy)


NARROWER: list[tuple[Fact, list[Fact]]] = [
    (Fact.of("loose_end", lead=LEAD, end=2, treatment="unknown"),
     [Fact.of("loose_end", lead=LEAD, end=2, treatment=one) for one in ("bare", "taped", "sleeved", "capped")]),
    (Fact.of("cut_end_live", treatment="unknown"),
     [Fact.of("cut_end_live", treatment=one) for one in ("bare", "taped", "capped")]),
    (Fact.of("shared_ground", adverse="maybe"), [Fact.of("shared_ground", adverse=one) for one in ("yes", "no")]),
    (Fact.of("over_fused", lead=LEAD, rating_A=10.0, limit_A=7.5, least_limit_A=3.0),
     [Fact.of("over_fused", lead=LEAD, rating_A=10.0, limit_A=one, least_limit_A=one) for one in (7.5, 5.0, 3.0)]),
    (Fact.of("over_fused", lead=LEAD, rating_A=10.0, most_A=30.0, limit_A=7.5, least_limit_A=7.5),
     [Fact.of("over_fused", lead=LEAD, rating_A=one, limit_A=7.5, least_limit_A=7.5) for one in (10.0, 20.0, 30.0)]),
    (Fact.of("over_fused_perhaps", lead=LEAD, unknown="rating", greatest_A=30.0, least_limit_A=5.0),
     [Fact.of("over_fused", lead=LEAD, rating_A=one, limit_A=5.0, least_limit_A=5.0) for one in (7.5, 30.0)]),
    (Fact.of("over_fused_perhaps", lead=LEAD, unknown="size", greatest_A=10.0, least_limit_A=0.0),
     [Fact.of("over_fused", lead=LEAD, rating_A=10.0, limit_A=one, least_limit_A=one) for one in (7.5, 5.0, 0.0)]),
    (Fact.of("unprotected_perhaps", lead=LEAD), [Fact.of("unprotected", lead=LEAD)]),
    (Fact.of("size_perhaps", lead=LEAD, was=1.0, now=0.5), [Fact.of("size", was=1.0, now=0.5)]),
    (Fact.of("insert_thinner_perhaps", lead=LEAD, was=1.0, now=0.5), [Fact.of("insert_thinner", was=1.0, now=0.5)]),
    (Fact.of("rating_perhaps", fuse="F1"), [Fact.of("rating", fuse="F1")]),
    (Fact.of("substituted", label="unknown"), [Fact.of("substituted", label="horn")]),
]  # fmt: skip


@pytest.mark.parametrize(("wide", "narrow"), NARROWER, ids=[f"{one.code}-{n}" for n, (one, _) in enumerate(NARROWER)])
@settings(max_examples=12)
@given(cases, policies)
def test_what_is_known_of_a_fact_never_widens(
    wide: Fact, narrow: list[Fact], case: tuple[Modification, Circumstances], policy: Policy
) -> None:
    modification, circumstances = case
    others = tuple(one for one in modification.facts if one.code not in {wide.code, *(fact.code for fact in narrow)})
    hazy = replace(modification, facts=(*others, wide)), circumstances
    for fact in narrow:
        assert within((replace(modification, facts=(*others, fact)), circumstances), hazy, policy), fact


@settings(max_examples=20)
@given(cases, policies, st.sampled_from(["joint_heat", "drain", "over_limit", "dimmed", "under_voltage"]), st.data())
def test_what_is_measured_of_an_amount_never_widens(
    case: tuple[Modification, Circumstances], policy: Policy, code: str, data: st.DataObject
) -> None:
    modification, circumstances = case
    ends = sorted(data.draw(st.lists(st.floats(0, 40), min_size=4, max_size=4)))

    def of(low: float, high: float) -> tuple[Modification, Circumstances]:
        after = Range(low=low, nominal=low, high=high, guaranteed=False)
        one = Consequence(code=code, subject="+J1", before=Range.exactly(12.0), after=after, params=(("limit_A", 6.0),))
        others = tuple(other for other in circumstances.consequences if other.code != code)
        return modification, replace(circumstances, consequences=(*others, one))

    assert within(of(ends[1], ends[2]), of(ends[0], ends[3]), policy)


# -- the questions one by one


@pytest.mark.parametrize(
    ("fact", "asked"),
    [
        (Fact.of("over_fused", lead=LEAD, rating_A=10, limit_A=5, least_limit_A=3), {("size", "measure_size")}),
        (Fact.of("over_fused", lead=LEAD, rating_A=10, limit_A=5, least_limit_A=5), set()),
        (Fact.of("over_fused", lead=LEAD, rating_A=10, most_A=20, limit_A=5, least_limit_A=3),
         {("size", "measure_size"), ("rating", "read_the_fuse")}),
        (Fact.of("over_fused_perhaps", lead=LEAD, unknown="rating"), {("rating", "read_the_fuse")}),
        (Fact.of("over_fused_perhaps", lead=LEAD, unknown="way"), {("way", "find_its_protection")}),
        (Fact.of("over_fused_perhaps", lead=LEAD, unknown="size"), {("size", "measure_size")}),
        (Fact.of("size_perhaps", lead=LEAD, was=1.0, now=0.5), {("size", "measure_size")}),
        (Fact.of("insert_thinner_perhaps", lead=LEAD, was=1.0, now=0.5), {("size", "measure_size")}),
        (Fact.of("unprotected_perhaps", lead=LEAD), {("protection", "find_its_protection")}),
        (Fact.of("rating_perhaps", fuse="F1"), {("rating", "read_the_fuse")}),
        (Fact.of("ground_contact_unseen"), {("ground_contact", "drop_under_load")}),
        (Fact.of("shared_ground", adverse="maybe"), {("ground_contact", "drop_under_load")}),
        (Fact.of("shared_ground", adverse="yes"), set()),
        (Fact.of("place_unknown"), {("which_wire", "find_the_wire")}),
        (Fact.of("substituted", label="unknown"), {("part", "identify_the_part")}),
        (Fact.of("substituted", label="horn"), set()),
        (Fact.of("not_traced", lead=LEAD, end=1), {("far_end", "follow")}),
        (Fact.of("loose_end", lead=LEAD, end=1, treatment="unknown"), {("treatment", "look_at_the_end")}),
        (Fact.of("loose_end", lead=LEAD, end=1, treatment="bare"), set()),
        (Fact.of("cut_end_live", treatment="unknown"), {("treatment", "look_at_the_end")}),
        (Fact.of("cut_end_live", treatment="bare"), set()),
    ],
)  # fmt: skip
def test_what_is_not_known_of_a_fact_is_asked_with_the_look_that_settles_it(
    fact: Fact, asked: set[tuple[str, str]]
) -> None:
    around = Circumstances(functions=("radio",), zones=(), as_found=Harness.of([], set()))
    questions = questions_of(Modification(kind="tap", root="+t", facts=(fact,)), around, default_policy())

    assert {(one.code, one.look.code) for one in questions} == asked


def test_every_fact_that_is_asked_about_is_generated() -> None:
    """The random cases above ask every question there is about a fact."""
    facts = [Fact.of(code, **{name: value for name, (value, *_) in says.items()}) for code, says in FACTS]
    around = Circumstances(functions=("radio",), zones=(), as_found=Harness.of([], set()))
    questions = questions_of(Modification(kind="tap", root="+t", facts=tuple(facts)), around, default_policy())

    assert {one.code for one in questions} == {
        "size", "rating", "protection", "ground_contact", "which_wire", "part", "far_end", "treatment",
    }  # fmt: skip


def test_circuit_is_asked_for_where_none_is_known() -> None:
    around = Circumstances(functions=(), zones=(), as_found=Harness.of([], set()))
    cut = Modification(kind="open_circuit", root="W1", facts=(Fact.of("open_circuit"), Fact.of("place_unknown")))
    rating = rated(cut, around, default_policy())

    assert "circuit" in [one.question for one in rating.opens]
    assert level_rank(rating.best) < level_rank(rating.worst)
    known = rated(cut, replace(around, functions=("radio",)), default_policy())
    assert "circuit" not in [one.question for one in known.opens]


def test_amount_that_is_known_exactly_is_not_asked_for() -> None:
    def asked(low: float) -> list[str]:
        heat = Consequence(code="joint_heat", subject="+J1", after=Range(low=low, nominal=9, high=9, guaranteed=False))
        around = Circumstances(functions=("radio",), zones=(), as_found=Harness.of([], set()), consequences=(heat,))
        return [one.look.code for one in questions_of(Modification(kind="tap", root="+t"), around, default_policy())]

    assert (asked(0.0), asked(9.0)) == (["drop_over_joint"], [])


# -- places of joints, and makes that a policy takes out of their order


def test_joint_whose_place_is_not_said_lies_in_the_harshest_of_the_modification_s() -> None:
    dry, wet = zone("Y", set()), zone("Z", {"wet"})
    joint = Joint(id="+J1", details=JointDetails(type="butt_crimp", tool="ratchet", cover="tape"))
    for zones in ((dry, wet), (wet, dry)):
        around = Circumstances(functions=("radio",), zones=zones, as_found=Harness.of([joint, dry, wet], set()))
        assert joint_zone(joint, around) == wet
        assert joint_zone(replace(joint, zone="Y"), around) == dry


@pytest.mark.parametrize(
    ("forbidden", "in_order"),
    [
        ((), True),
        (("bare_contact", "twisted_bare"), True),
        (("push_on",), False),
        (("plug_in",), False),
    ],
)
def test_makes_have_no_order_where_one_is_forbidden_and_a_worse_one_is_not(
    forbidden: tuple[str, ...], in_order: bool
) -> None:
    policy = replace(
        default_policy(),
        forbidden=tuple(Forbidden(joint=one, level="High") for one in forbidden),
        caps=(),
    )
    joint = Joint(id="+J1", details=JointDetails())
    around = Circumstances(functions=("radio",), zones=(), as_found=Harness.of([joint], set()))
    tap = Modification(kind="tap", root="+t", joints=("+J1",))
    (question,) = questions_of(tap, around, policy)
    rating = rated(tap, around, policy)

    assert question.in_order == in_order
    assert rating.best == "acceptable"
    assert rating.worst == ("High" if forbidden else rating.worst)
