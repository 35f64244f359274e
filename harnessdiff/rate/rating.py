"""The rating of a modification: every open question answered mildly and gravely, the worst mechanism counts.

A probability is an index, the sum of what contributes, mapped to MIL-STD-882E's letters. No frequency is claimed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from harnessdiff.model.modification import Modification
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, Answer, Mechanism, Open, Rating, level_rank
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.mechanisms import level_of, mechanisms_of
from harnessdiff.rate.questions import YES, Answers, Question, gravest, mildest, questions_of
from harnessdiff.rate.signs import signs_of

BESIDE = ("security", "owner_other")
"""Facts that stand beside the matrix: security and law, never inside it."""
UNRATED = ("reading", "other", "unrecognised")
"""Kinds whose rating is unknown: anything from acceptable to High."""
RECORDED = ("surroundings",)
"""Kinds that are recorded: they count where they aggravate something else."""


def rated(modification: Modification, circumstances: Circumstances, policy: Policy) -> Rating:
    """Rate a modification.

    Parameters
    ----------
    modification : Modification
        With all its facts.
    circumstances : Circumstances
    policy : Policy

    Returns
    -------
    Rating
        Its best with all questions answered mildly, its worst with all answered gravely.
    """
    beside = tuple(dict.fromkeys(fact.code for fact in modification.facts if fact.code in BESIDE))
    if modification.kind in UNRATED:
        return Rating(best=ACCEPTABLE, worst=LEVELS[-1], beside=beside, rated=False)
    if modification.kind in RECORDED:
        return Rating(best=ACCEPTABLE, worst=ACCEPTABLE, beside=beside, condition=True)
    questions = questions_of(modification, circumstances, policy)
    low, high = _ends(modification, circumstances, policy, questions)
    worst = _under(modification, circumstances, policy, high)
    best = level_of(_under(modification, circumstances, policy, low)) if questions else level_of(worst)
    opens = _opens(modification, circumstances, policy, questions, low, high) if best != level_of(worst) else ()
    return Rating(best=best, worst=level_of(worst), mechanisms=worst, beside=beside, opens=opens)


def _under(
    modification: Modification, circumstances: Circumstances, policy: Policy, answers: Answers
) -> tuple[Mechanism, ...]:
    signs = signs_of(modification, circumstances, policy, answers)
    unknown = "II" if answers.get(("circuit", "")) == YES else "IV"
    return mechanisms_of(signs, circumstances.functions, policy, unknown_circuit=unknown)


def _ends(
    modification: Modification, circumstances: Circumstances, policy: Policy, questions: tuple[Question, ...]
) -> tuple[Answers, Answers]:
    """All questions answered mildly, and all gravely.

    Where a joint's makes have no order, the one that comes out best, and worst, with no other joint beside it:
    every joint makes cases of its own.
    """
    low, high = mildest(questions), gravest(questions)
    for question in questions:
        if not question.in_order:
            alone = replace(modification, joints=(question.about,))

            def level(
                answers: Answers, one: str, *, alone: Modification = alone, key: tuple[str, str] = question.key
            ) -> int:
                return level_rank(level_of(_under(alone, circumstances, policy, {**answers, key: one})))

            low[question.key] = min(question.answers, key=lambda one: level(low, one))
            high[question.key] = max(question.answers, key=lambda one: level(high, one))
    return low, high


def _opens(
    modification: Modification,
    circumstances: Circumstances,
    policy: Policy,
    questions: tuple[Question, ...],
    low: Answers,
    high: Answers,
) -> tuple[Open, ...]:
    """Questions of which some answer narrows the range, with what each answer leaves."""

    def level(answers: Answers) -> str:
        return level_of(_under(modification, circumstances, policy, answers))

    whole = (level(low), level(high))
    found = []
    for question in questions:
        answers = tuple(
            Answer(answer=one, best=level({**low, question.key: one}), worst=level({**high, question.key: one}))
            for one in question.answers
        )
        if any((one.best, one.worst) != whole for one in answers):
            found.append(Open(question=question.code, about=question.about, look=question.look, answers=answers))
    return tuple(sorted(found, key=lambda one: (one.question, one.about)))


def over_all(ratings: Sequence[Rating]) -> Rating:
    """One rating of what is rated in several ways: from its best to its worst, with the mechanisms of the worst.

    Parameters
    ----------
    ratings : sequence of Rating
        At least one.

    Returns
    -------
    Rating
    """
    worst = max(ratings, key=lambda one: level_rank(one.worst))
    best = min(ratings, key=lambda one: level_rank(one.best))
    answers: dict[tuple[str, str], dict[str, Answer]] = {}
    looks: dict[tuple[str, str], Open] = {}
    for rating in ratings:
        for question in rating.opens:
            key = (question.question, question.about)
            looks.setdefault(key, question)
            for answer in question.answers:
                known = answers.setdefault(key, {}).setdefault(answer.answer, answer)
                answers[key][answer.answer] = wider(known, answer)
    opens = tuple(replace(looks[key], answers=tuple(answers[key].values())) for key in sorted(looks))
    return replace(worst, best=best.best, opens=opens, at_least=any(one.at_least for one in ratings))


def wider(one: Answer, other: Answer) -> Answer:
    """An answer that leaves what either leaves."""
    best, worst = min(one.best, other.best, key=level_rank), max(one.worst, other.worst, key=level_rank)
    return Answer(answer=one.answer, best=best, worst=worst)
