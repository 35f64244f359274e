"""By how much a look narrows: by hand, and the laws that hold whatever the answers are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.looks import Settles
from harnessdiff.model.policy import Prior
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, Answer, level_rank
from harnessdiff.rate import narrowing
from harnessdiff.rate.narrowing import narrowing_of

if TYPE_CHECKING:
    from collections.abc import Sequence

OUTCOMES = (ACCEPTABLE, *LEVELS)


def settles(number: int, open_: tuple[str, str], question: str = "q", **answers: tuple[str, str]) -> Settles:
    """A finding of an open level, and what each answer leaves."""
    left = tuple(Answer(answer=name, best=best, worst=worst) for name, (best, worst) in answers.items())
    return Settles(finding=number, best=open_[0], worst=open_[1], question=question, about="x", answers=left)


WIDE = (ACCEPTABLE, "High")


def test_least_narrowing_over_the_answers_counts() -> None:
    found = narrowing_of([settles(1, WIDE, no=("acceptable", "Low"), yes=("Low", "High"))])

    assert (found.worst, found.most, found.expected) == (1, 3, None)


def test_one_answer_counts_for_all_findings_that_it_is_asked_of() -> None:
    """The answer that helps the one least helps the other most: by hand 3 + 1 and 1 + 3, never 1 + 1."""
    one = settles(1, WIDE, no=("acceptable", "Low"), yes=("Low", "High"))
    other = settles(2, WIDE, no=("Low", "High"), yes=("Serious", "High"))

    assert narrowing_of([one, other]).worst == 4


def test_different_questions_are_independent() -> None:
    one = settles(1, WIDE, "q1", no=("acceptable", "Low"), yes=("Low", "High"))
    other = settles(2, WIDE, "q2", no=("Low", "High"), yes=("Serious", "High"))

    assert narrowing_of([one, other]).worst == 1 + 1


def test_two_questions_of_one_finding_leave_what_both_answers_leave() -> None:
    """Either leaves Low to High of acceptable to High; both together leave the same, not one step less."""
    one = settles(1, WIDE, "q1", yes=("Low", "High"))
    other = settles(1, WIDE, "q2", yes=("Low", "High"))

    assert narrowing_of([one, other]).worst == 1


def test_look_of_which_nobody_can_tell_beforehand_narrows_nothing() -> None:
    found = narrowing_of([settles(1, WIDE)])

    assert (found.worst, found.most, found.expected) == (0, 0, None)


def prior(answer: str, share: float) -> Prior:
    return Prior(question="q", answer=answer, share=share, source="a test")


def test_expected_is_the_mean_by_the_priors() -> None:
    asked = [settles(1, WIDE, no=("acceptable", "Low"), yes=("Low", "High"))]
    found = narrowing_of(asked, [prior("no", 0.6), prior("yes", 0.2), prior("else", 0.2)])

    assert found.expected == pytest.approx(0.75 * 3 + 0.25 * 1)
    assert [one.answer for one in found.priors] == ["no", "yes"]


def test_nothing_is_expected_where_a_prior_is_wanting() -> None:
    found = narrowing_of([settles(1, WIDE, no=("acceptable", "Low"), yes=("Low", "High"))], [prior("no", 1.0)])

    assert (found.expected, found.priors) == (None, ())


ranges = st.tuples(st.integers(0, 4), st.integers(0, 4)).map(lambda pair: (OUTCOMES[min(pair)], OUTCOMES[max(pair)]))


@st.composite
def asked(draw: st.DrawFn) -> list[Settles]:
    """Up to three findings, each asked up to three questions; what answers leave may be wider than what is open."""
    found = []
    for number in range(1, draw(st.integers(1, 3)) + 1):
        open_ = draw(ranges)
        for question in draw(st.sets(st.sampled_from(["q", "r", "s"]), max_size=3)):
            labels = draw(st.lists(st.sampled_from("abc"), min_size=1, max_size=3, unique=True))
            found.append(settles(number, open_, question, **{label: draw(ranges) for label in labels}))
    return found


def width(asked: Sequence[Settles]) -> int:
    """Steps that are open of all findings."""
    return sum({one.finding: level_rank(one.worst) - level_rank(one.best) for one in asked}.values())


ALL_PRIORS = [Prior(question=q, answer=a, share=0.2, source="a test") for q in "qrs" for a in "abc"]


@given(asked())
def test_narrowing_is_never_negative_and_never_more_than_is_open(given_: list[Settles]) -> None:
    found = narrowing_of(given_, ALL_PRIORS)

    assert 0 <= found.worst <= found.most <= width(given_)
    assert found.expected is None or found.worst - 1e-9 <= found.expected <= found.most + 1e-9
    assert (found.expected is not None) == bool(given_)


@given(asked())
def test_too_many_answers_to_go_through_never_claim_more(given_: list[Settles]) -> None:
    whole = narrowing_of(given_)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(narrowing, "MOST_COMBINATIONS", 1)
        least = narrowing_of(given_, ALL_PRIORS)

    assert 0 <= least.worst <= whole.worst
    assert least.most <= whole.most


@given(asked())
def test_order_of_the_questions_does_not_count(given_: list[Settles]) -> None:
    one, two = narrowing_of(given_), narrowing_of(given_[::-1])

    assert (one.worst, one.most) == (two.worst, two.most)
