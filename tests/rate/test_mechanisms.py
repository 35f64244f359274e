"""Laws of the arithmetic from things established to levels, for any policy that the sense check accepts."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.model.rating import ACCEPTABLE, LEVELS, MECHANISMS, SEVERITIES, Sign, level_rank
from harnessdiff.rate.mechanisms import holds, level_of, mechanisms_of
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.loader import joint_order, risk_matrix
from tests.rate.generated import (
    FUNCTIONS,
    amounts,
    joint_sign,
    levels,
    lower,
    policies,
    signs,
    signs_together,
    some_functions,
)

if TYPE_CHECKING:
    from harnessdiff.model.policy import Policy
    from harnessdiff.model.rating import Contribution, Mechanism

many = settings(max_examples=50)


# -- nothing more that is established, and nothing greater, rates lower


@many
@given(signs_together, signs, some_functions, policies)
def test_one_thing_more_lowers_no_mechanism(
    known: tuple[Sign, ...], more: Sign, functions: tuple[str, ...], policy: Policy
) -> None:
    before, after = mechanisms_of(known, functions, policy), mechanisms_of((*known, more), functions, policy)

    assert lower(after, before) == []
    assert level_rank(level_of(after)) >= level_rank(level_of(before))


@many
@given(signs_together, signs, amounts, amounts, some_functions, policies)
def test_greater_amount_lowers_no_mechanism(
    known: tuple[Sign, ...], sign: Sign, one: float, other: float, functions: tuple[str, ...], policy: Policy
) -> None:
    less, more = (
        mechanisms_of((*known, replace(sign, amount=amount)), functions, policy) for amount in sorted((one, other))
    )

    assert lower(more, less) == []


@many
@given(signs_together, some_functions, policies, st.integers(0, 10**6))
def test_graver_function_lowers_no_mechanism(
    known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy, seed: int
) -> None:
    """Each function in the place of one that is no worse when lost and no worse when it acts."""
    policy, rng = replace(policy, forbidden=()), random.Random(seed)
    concerned = {*functions, *itertools.chain.from_iterable(sign.functions or () for sign in known)}
    swapped = {one: rng.choice(graver(one, policy)) for one in sorted(concerned)}
    worse = tuple(
        replace(sign, functions=tuple(swapped[one] for one in sign.functions)) if sign.functions else sign
        for sign in known
    )

    milder = mechanisms_of(known, functions, policy)
    assert lower(mechanisms_of(worse, tuple(swapped[one] for one in functions), policy), milder) == []


def graver(function: str, policy: Policy) -> list[str]:
    line = policy.function(function)
    assert line is not None
    return [
        one.function
        for one in policy.functions
        if SEVERITIES.index(one.lost) >= SEVERITIES.index(line.lost)
        and SEVERITIES.index(one.acts) >= SEVERITIES.index(line.acts)
    ]


@many
@given(signs_together, some_functions, st.sampled_from(FUNCTIONS), policies)
def test_one_function_more_lowers_no_mechanism(
    known: tuple[Sign, ...], functions: tuple[str, ...], more: str, policy: Policy
) -> None:
    assert lower(mechanisms_of(known, (*functions, more), policy), mechanisms_of(known, functions, policy)) == []


RANKED = [row for row in joint_order() if row.joint != "fuse_slot_adaptor"]
WORSE = [(one.joint, other.joint) for one, other in itertools.combinations(RANKED, 2) if one.rank < other.rank]


@many
@given(signs_together, st.sampled_from(WORSE), some_functions, policies)
def test_joint_lower_in_the_order_lowers_no_mechanism(
    known: tuple[Sign, ...], makes: tuple[str, str], functions: tuple[str, ...], policy: Policy
) -> None:
    """Unless the policy forbids the better one by name."""
    policy = replace(policy, forbidden=tuple(line for line in policy.forbidden if line.joint != makes[0]))
    better, worse = (mechanisms_of((joint_sign("+J1", make), *known), functions, policy) for make in makes)

    assert lower(worse, better) == []


@many
@given(signs_together, amounts, amounts, some_functions, policies)
def test_fuse_further_over_the_limit_lowers_no_mechanism(
    known: tuple[Sign, ...], one: float, other: float, functions: tuple[str, ...], policy: Policy
) -> None:
    less, more = (
        mechanisms_of((*known, Sign(code="over_fused", amount=amount)), functions, policy)
        for amount in sorted((one, other))
    )

    assert "overload" in levels(less)
    assert lower(more, less) == []


# -- what does not count


@many
@given(signs_together, some_functions, policies, st.integers(0, 10**6))
def test_order_does_not_count(known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy, seed: int) -> None:
    rng = random.Random(seed)
    lines: Any = {
        name: tuple(rng.sample(lines, len(lines)))
        for name in ("factors", "functions", "cuts", "floors", "caps", "forbidden")
        for lines in [getattr(policy, name)]
    }
    shuffled = tuple(rng.sample(known, len(known)))
    again = mechanisms_of(shuffled, tuple(reversed(functions)), replace(policy, **lines))

    assert [unordered(one) for one in again] == [unordered(one) for one in mechanisms_of(known, functions, policy)]


def unordered(one: Mechanism) -> tuple[object, ...]:
    """What it says, but for which of several functions as grave as each other is named."""
    opening, *adds = (replace(part, function=None) for part in one.contributions)
    also = frozenset(replace(part, function=None) for part in one.also)
    return (
        one.code, one.severity, one.probability, one.cell, one.level, one.index, opening, frozenset(adds),
        one.floors, frozenset(one.caps), also,
    )  # fmt: skip


@given(signs_together, some_functions, policies)
def test_what_is_said_twice_counts_once(known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy) -> None:
    assert levels(mechanisms_of(known + known, functions, policy)) == levels(mechanisms_of(known, functions, policy))


@many
@given(signs_together, some_functions, policies, st.sampled_from([0.5, 2.0, 10.0]))
def test_scale_of_a_policy_does_not_count(
    known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy, times: float
) -> None:
    """Weights and cut points are numbers of an ordinal index: all of them twice as large say the same."""
    scaled = replace(
        policy,
        factors=tuple(replace(one, weight=one.weight * times) for one in policy.factors),
        joints=tuple(replace(one, weight=one.weight * times) for one in policy.joints),
        cuts=tuple(replace(one, index=one.index * times) for one in policy.cuts),
    )

    assert levels(mechanisms_of(known, functions, scaled)) == levels(mechanisms_of(known, functions, policy))


@given(signs_together, some_functions, policies)
def test_nothing_that_opens_is_nothing_rated(
    known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy
) -> None:
    """What adds makes worse what something else brings about, and brings about nothing by itself."""
    only_adds = tuple(
        one
        for one in known
        if one.code != "joint" and not any(line.opens for line in policy.lines(one.code, one.named, one.amount))
    )

    assert mechanisms_of(only_adds, functions, policy) == ()
    assert level_of(()) == ACCEPTABLE


# -- every level can be recomputed from what contributes


def sign_of(one: Contribution) -> Sign:
    return Sign(code=one.code, params=one.params, amount=one.amount)


def recomputed(one: Mechanism, policy: Policy, signs: tuple[Sign, ...], functions: tuple[str, ...]) -> str:
    """By hand: sum, cut points, Table III, then caps hold and floors raise."""
    index = math.fsum(part.counts for part in one.contributions)
    reached = [cut for cut in policy.cuts if round(index, 9) >= cut.index]
    letter = max((cut.probability for cut in reached), key="DCBA".index, default="E")
    opening = one.contributions[0]
    level = level_rank(risk_matrix()[str(opening.severity), letter])
    for cap in policy.caps:
        freed = any(holds(token, signs) for token in cap.unless)
        if (
            one.code in cap.mechanisms
            and any(holds(token, (sign_of(opening),)) for token in cap.opened_by)
            and not freed
        ):
            level = min(level, level_rank(cap.level))
    for floor in policy.floors:
        met = all(holds(token, signs) for token in floor.all_of)
        met = met and (not floor.any_of or any(holds(token, signs) for token in floor.any_of))
        if one.code in floor.mechanisms and met:
            level = max(level, level_rank(floor.level))
    for line in policy.forbidden:
        made = opening.code == "joint" and dict(opening.params)["make"] == line.joint
        if made and (not line.functions or set(line.functions) & set(functions)):
            level = max(level, level_rank(line.level))
    return (ACCEPTABLE, *LEVELS)[level]


@many
@given(signs_together, some_functions, policies)
def test_level_follows_from_the_contributions(
    known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy
) -> None:
    for one in mechanisms_of(known, functions, policy):
        opening, *adds = one.contributions
        assert (opening.how, opening.severity) == ("opens", one.severity)
        assert {(part.how, part.severity) for part in adds} <= {("adds", None)}
        assert one.index == pytest.approx(sum(part.counts for part in one.contributions), abs=1e-8)
        assert one.cell == risk_matrix()[one.severity, one.probability]
        assert one.level == recomputed(one, policy, known, functions)
        assert all(part.source for part in one.contributions)


@many
@given(signs_together, some_functions, policies)
def test_what_moved_a_level_is_named_and_what_did_not_is_not(
    known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy
) -> None:
    caps = {one.id: one.level for one in policy.caps}
    for one in mechanisms_of(known, functions, policy):
        held = min((caps[name] for name in one.caps), key=level_rank, default=one.cell)
        assert level_rank(held) <= level_rank(one.cell)
        assert (level_rank(held) < level_rank(one.cell)) == bool(one.caps)
        assert (level_rank(one.level) > level_rank(held)) == bool(one.floors)


@many
@given(signs_together, some_functions, policies)
def test_each_thing_that_opens_is_a_case_and_the_gravest_decides(
    known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy
) -> None:
    """None of the other things that open a mechanism comes out worse alone with what adds."""
    together = mechanisms_of(known, functions, policy)
    for one in together:
        opening = [sign for sign in known if opens(sign, one.code, policy)]
        assert {part.code for part in (one.contributions[0], *one.also)} == {sign.code for sign in opening}
        assert len(set(one.also)) == len(one.also)
        assert one.contributions[0] not in one.also
        adding = tuple(sign for sign in known if not any(opens(sign, other, policy) for other in MECHANISMS))
        for sign in opening:
            alone = levels(mechanisms_of((sign, *adding), functions, policy))
            assert alone[one.code] <= level_rank(one.level)
    assert [one.code for one in together] == [
        one.code for one in sorted(together, key=lambda one: (-level_rank(one.level), -one.index, one.code))
    ]
    assert {one.code for one in together} <= set(MECHANISMS)


def opens(sign: Sign, mechanism: str, policy: Policy) -> bool:
    """Whether something brings a mechanism about."""
    if sign.code == "joint":
        return mechanism in ("contact_heat", "function_lost")
    return any(line.opens and line.mechanism == mechanism for line in policy.lines(sign.code, sign.named, sign.amount))


def test_worst_of_several_cases_decides_and_the_others_stand_beside_it() -> None:
    policy = default_policy()
    bare, better = joint_sign("+J1", "bare_contact"), joint_sign("+J2", "bullet")
    (loss,) = (one for one in mechanisms_of((better, bare), ("radio",), policy) if one.code == "function_lost")

    assert loss.contributions[0].about == "+J1"
    assert [one.about for one in loss.also] == ["+J2"]
