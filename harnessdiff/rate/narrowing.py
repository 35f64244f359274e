"""By how many steps of the level a look narrows the ratings, whatever comes out of it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from harnessdiff.model.looks import Settles
from harnessdiff.model.policy import Prior
from harnessdiff.model.rating import level_rank

MOST_COMBINATIONS = 4096
"""Combinations of answers to questions of one look that are gone through; beyond that one question counts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowing:
    """By how many steps a look narrows: at the worst, at most, and as expected by some priors."""

    worst: int
    most: int
    expected: float | None
    priors: tuple[Prior, ...]


Key = tuple[str, str]


def narrowing_of(settles: Sequence[Settles], priors: Sequence[Prior] = ()) -> Narrowing:
    """By how much a look narrows the findings together.

    The same question of several findings has one answer. Answers to different questions are independent: where
    those concern one finding, what is left is what every answer leaves.

    Parameters
    ----------
    settles : sequence of Settles
    priors : sequence of Prior
        Shares are brought to a sum of 1 over the answers of a question; where one answer has none nothing is
        expected.

    Returns
    -------
    Narrowing
        Never negative, and never more than is open of the findings. [steps]
    """
    answers: dict[Key, dict[str, None]] = {}
    for one in settles:
        if one.answers:
            answers.setdefault((one.question, one.about), {}).update(dict.fromkeys(a.answer for a in one.answers))
    worst, most, expected = 0, 0, 0.0
    shares = {key: _shares(key, labels, priors) for key, labels in answers.items()}
    for keys in _bearing_on_each_other(settles):
        own = [one for one in settles if (one.question, one.about) in keys]
        size = math.prod(len(answers[key]) for key in keys)
        if size > MOST_COMBINATIONS:
            each = [[_narrowed(own, {key: label}) for label in answers[key]] for key in keys]
            worst, most, expected = worst + max(map(min, each)), most + max(map(max, each)), math.nan
            continue
        combinations = [
            dict(zip(keys, labels, strict=True)) for labels in itertools.product(*(answers[k] for k in keys))
        ]
        steps = [_narrowed(own, combination) for combination in combinations]
        worst, most = worst + min(steps), most + max(steps)
        expected += sum(
            step * math.prod(shares[key].get(label, math.nan) for key, label in combination.items())
            for step, combination in zip(steps, combinations, strict=True)
        )
    known = bool(answers) and not math.isnan(expected)
    used = [
        prior
        for prior in priors
        if any(prior.question == key[0] and prior.answer in labels for key, labels in answers.items())
    ]
    return Narrowing(worst=worst, most=most, expected=expected if known else None, priors=tuple(used) if known else ())


def _shares(key: Key, labels: Iterable[str], priors: Sequence[Prior]) -> dict[str, float]:
    """How often each answer to a question is expected; nothing where a prior is wanting."""
    given = {prior.answer: prior.share for prior in priors if prior.question == key[0]}
    found = {label: given[label] for label in labels if label in given}
    total = sum(found.values())
    if len(found) < len(tuple(labels)) or not total:
        return {}
    return {label: share / total for label, share in found.items()}


def _bearing_on_each_other(settles: Sequence[Settles]) -> list[tuple[Key, ...]]:
    """Questions in groups that have a finding in common, directly or by another question."""
    groups: list[tuple[dict[Key, None], set[int]]] = []
    for one in settles:
        if not one.answers:
            continue
        keys, findings = {(one.question, one.about): None}, {one.finding}
        apart = []
        for group in groups:
            if group[1] & findings or group[0].keys() & keys.keys():
                keys, findings = {**group[0], **keys}, group[1] | findings
            else:
                apart.append(group)
        groups = [*apart, (keys, findings)]
    return [tuple(keys) for keys, _ in groups]


def _narrowed(settles: Sequence[Settles], given: Mapping[Key, str]) -> int:
    """Steps by which some answers narrow the findings."""
    ranges: dict[int, tuple[int, int]] = {}
    widths: dict[int, int] = {}
    for one in settles:
        low, high = level_rank(one.best), level_rank(one.worst)
        widths[one.finding] = high - low
        label = given.get((one.question, one.about))
        left = [answer for answer in one.answers if answer.answer == label]
        if left:
            low = max(low, min(level_rank(answer.best) for answer in left))
            high = min(high, max(level_rank(answer.worst) for answer in left))
        known = ranges.get(one.finding, (low, high))
        ranges[one.finding] = max(low, known[0]), min(high, known[1])
    return sum(width - max(0, ranges[number][1] - ranges[number][0]) for number, width in widths.items())
