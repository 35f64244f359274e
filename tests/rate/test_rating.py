"""The rating of one modification, and one rating over several ways to read a record."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.model.harness import Harness, Joint, JointDetails
from harnessdiff.model.modification import KINDS, Fact, Modification
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, PROBABILITIES, Answer, Open, Rating, level_rank
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.mechanisms import level_of
from harnessdiff.rate.rating import BESIDE, RECORDED, UNRATED, over_all, rated
from harnessdiff.read.policy import default_policy
from tests.rate.generated import cases, policies

if TYPE_CHECKING:
    from harnessdiff.model.policy import Policy

some = settings(max_examples=20)
AROUND = Circumstances(functions=("radio",), zones=(), as_found=Harness.of([], set()))
ratings = st.tuples(cases, policies).map(lambda one: rated(*one[0], one[1]))


@some
@given(ratings)
def test_worst_is_the_level_of_the_worst_mechanism_and_best_never_above_it(rating: Rating) -> None:
    assert rating.worst == level_of(rating.mechanisms)
    assert level_rank(rating.best) <= level_rank(rating.worst)
    assert rating.rated
    assert rating.flagged == bool(rating.mechanisms)
    assert rating.certain == (rating.best == rating.worst)


@pytest.mark.parametrize("kind", KINDS)
def test_bare_modification_is_rated_by_its_kind_alone(kind: str) -> None:
    rating = rated(Modification(kind=kind, root="x"), AROUND, default_policy())

    if kind in UNRATED:
        assert (rating.best, rating.worst, rating.rated) == (ACCEPTABLE, "High", False)
    else:
        weighed = any(line.code == kind and line.opens and not line.when for line in default_policy().factors)
        assert rating.flagged == (weighed and kind not in RECORDED)
        assert rating.certain
    assert rating.condition == (kind in RECORDED)


@some
@given(cases, policies, st.sets(st.sampled_from(BESIDE)))
def test_security_and_ownership_stand_beside_the_matrix_and_never_in_it(
    case: tuple[Modification, Circumstances], policy: Policy, codes: set[str]
) -> None:
    modification, circumstances = case
    said = replace(modification, facts=(*modification.facts, *(Fact.of(one, device="+d") for one in sorted(codes))))
    plain, beside = rated(modification, circumstances, policy), rated(said, circumstances, policy)

    assert set(beside.beside) == codes
    assert replace(beside, beside=()) == plain


@some
@given(cases, policies)
def test_nothing_adverse_is_acceptable_and_has_no_cell(
    case: tuple[Modification, Circumstances], policy: Policy
) -> None:
    """Sound joints in whatever place, and facts that only describe, bring no mechanism about."""
    modification, circumstances = case
    sound = Joint(id="+J1", details=JointDetails(type="plug_in", tool="hand", cover="housing", condition=("clean",)))
    policy = replace(
        policy,
        joints=tuple(replace(one, fine_in="any_place") if one.joint == "plug_in" else one for one in policy.joints),
        forbidden=(),
    )
    facts = (Fact.of("adds_load", device="+d"), Fact.of("permanent_supply"), Fact.of("wet_place", zone="Z"))
    tap = replace(modification, kind="tap", joints=("+J1",), facts=facts)
    around = replace(circumstances, consequences=(), as_found=Harness.of([sound], set()))
    rating = rated(tap, around, policy)

    assert (rating.best, rating.worst, rating.mechanisms, rating.opens) == (ACCEPTABLE, ACCEPTABLE, (), ())


# -- over several ways to read a record


@some
@given(st.lists(ratings, min_size=1, max_size=4))
def test_one_rating_over_several_reaches_from_the_best_to_the_worst(several: list[Rating]) -> None:
    whole = over_all(several)
    decides = next(one for one in several if one.worst == whole.worst)

    assert level_rank(whole.best) == min(level_rank(one.best) for one in several)
    assert level_rank(whole.worst) == max(level_rank(one.worst) for one in several)
    assert whole.mechanisms == decides.mechanisms
    assert {(one.question, one.about) for one in whole.opens} == {
        (one.question, one.about) for rating in several for one in rating.opens
    }


@some
@given(st.lists(ratings, min_size=1, max_size=3))
def test_answer_over_several_ways_leaves_what_it_leaves_in_any(several: list[Rating]) -> None:
    whole = over_all(several)
    for rating in several:
        for question in rating.opens:
            (same,) = (one for one in whole.opens if (one.question, one.about) == (question.question, question.about))
            left = {one.answer: one for one in same.answers}
            for answer in question.answers:
                assert level_rank(left[answer.answer].best) <= level_rank(answer.best)
                assert level_rank(left[answer.answer].worst) >= level_rank(answer.worst)


outcomes = st.sampled_from([ACCEPTABLE, *LEVELS])


@some
@given(st.lists(st.tuples(outcomes, outcomes), min_size=1, max_size=4))
def test_answer_that_several_ways_give_leaves_from_the_best_to_the_worst_of_them(ends: list[tuple[str, str]]) -> None:
    ways = []
    for pair in ends:
        best, worst = sorted(pair, key=level_rank)
        answer = Answer(answer="yes", best=best, worst=worst)
        asked = Open(question="size", about="+l", look=Fact.of("measure_size", lead="+l"), answers=(answer,))
        ways.append(Rating(best=best, worst=worst, opens=(asked,)))
    (asked,) = over_all(ways).opens
    (answer,) = asked.answers

    assert (answer.best, answer.worst) == (over_all(ways).best, over_all(ways).worst)


@some
@given(st.lists(ratings, min_size=2, max_size=4))
def test_fewer_ways_to_read_a_record_never_widen(several: list[Rating]) -> None:
    fewer, whole = over_all(several[1:]), over_all(several)

    assert level_rank(whole.best) <= level_rank(fewer.best)
    assert level_rank(fewer.worst) <= level_rank(whole.worst)


def test_what_is_at_least_so_in_one_way_is_so_over_all() -> None:
    one = Rating(best="Low", worst="Low")

    assert over_all([one, replace(one, at_least=True)]).at_least
    assert not over_all([one, one]).at_least


def test_levels_and_probabilities_are_the_standard_s_least_first() -> None:
    assert LEVELS == ("Low", "Medium", "Serious", "High")
    assert PROBABILITIES == ("E", "D", "C", "B", "A")
    assert [level_rank(one) for one in (ACCEPTABLE, *LEVELS)] == [0, 1, 2, 3, 4]
