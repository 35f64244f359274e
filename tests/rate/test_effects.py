"""What was computed becomes what may weigh; what does not weigh is named, with the reason."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.consequence import CODES, Consequence
from harnessdiff.model.harness import Harness
from harnessdiff.model.modification import Modification
from harnessdiff.model.range import Range
from harnessdiff.model.rating import Sign, level_rank
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.effects import NOT_WEIGHED, effects_of
from harnessdiff.rate.questions import gravest, mildest, questions_of
from harnessdiff.rate.rating import rated
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.vocabulary import established_codes
from tests.rate.generated import CONDITIONS, policies

WHOLE = Range(low=0.0, nominal=2.0, high=30.0, guaranteed=False)
SAYS: dict[str, list[dict[str, Any]]] = {
    "live_unasked": [{"state": "full"}, {"state": "glows"}],
    "over_limit": [{"limit_A": 6.0, "sort": "contact"}, {"limit_A": 6.0, "sort": "output"}],
    "dies_with": [{"loads": ("E1",)}],
    "drain": [{"sort": "load"}],
    "protection": [{"verdict": "not_protected", "near": "too_slow"}, {"verdict": "short_only"}],
    "fuse_current": [{"over": "yes"}],
    "data_pair": [{"sort": "resistance"}],
}


def consequence(code: str, after: Range = WHOLE, **says: Any) -> Consequence:
    return Consequence(
        code=code,
        subject="E1",
        conditions=("driving",),
        before=Range.exactly(12.0),
        after=after,
        params=tuple(sorted(says.items())),
    )


def around(*consequences: Consequence) -> Circumstances:
    return Circumstances(
        functions=("radio",),
        zones=(),
        as_found=Harness.of([], set()),
        functions_at={"E1": ("seat",)},
        consequences=consequences,
        conditions=CONDITIONS,
    )


TAP = Modification(kind="tap", root="+t")


def effects(one: Consequence, *, grave: bool = True) -> tuple[Sign, ...]:
    questions = questions_of(TAP, around(one), default_policy())
    return effects_of(around(one), default_policy(), (gravest if grave else mildest)(questions))


def variants(code: str) -> list[Consequence]:
    return [consequence(code, **says) for says in SAYS.get(code, [{}])]


@pytest.mark.parametrize("code", CODES)
def test_every_consequence_weighs_by_some_line_or_is_named_with_the_reason_why_not(code: str) -> None:
    """None is dropped without a word."""
    policy = default_policy()
    weighs = [bool(policy.lines(sign.code, sign.named, sign.amount)) for one in variants(code) for sign in effects(one)]

    assert (any(weighs), all(weighs)) == ((False, not weighs) if code in NOT_WEIGHED else (True, True))


def test_what_does_not_weigh_is_a_consequence_and_says_why() -> None:
    assert set(NOT_WEIGHED) <= set(CODES)
    assert all(len(reason.split()) > 5 for reason in NOT_WEIGHED.values())


def test_what_stands_in_a_reason_s_place_is_a_factor() -> None:
    """Reasons that say what weighs instead name it by its code."""
    codes = {line.code for line in default_policy().factors}
    named = [code for reason in NOT_WEIGHED.values() for code in re.findall(r"\bas (\w+)$", reason)]

    assert named
    assert set(named) <= codes


def test_what_is_established_of_a_consequence_has_words() -> None:
    """So that any policy may weigh it."""
    met = {sign.code for code in CODES for one in variants(code) for sign in effects(one)}

    assert met <= established_codes()
    assert {"acts_by_itself", "fuse_over", "data_pair_out", "not_against_overload", "not_protected"} <= met


# -- one by one


def only(one: Consequence, *, grave: bool = True) -> Sign:
    (sign,) = effects(one, grave=grave)
    return sign


@pytest.mark.parametrize(
    ("state", "how"), [("full", "fully"), ("working", "fully"), ("glows", "faintly"), ("dim", "faintly")]
)
def test_load_that_is_live_unasked_acts_fully_or_faintly_by_its_state(state: str, how: str) -> None:
    sign, *more = effects(consequence("live_unasked", state=state))

    assert (sign.named["how"], sign.named["often"], sign.functions) == (how, "each_drive", ("seat",))
    assert [one.code for one in more] == (["acts_by_itself"] if how == "fully" else [])


def test_load_acts_by_itself_where_its_function_must_never_and_not_by_mistake_only() -> None:
    one = consequence("live_unasked", state="full")
    radio = replace(around(one), functions_at={"E1": ("radio",)})
    refused = replace(around(one), conditions={"driving": replace(CONDITIONS["driving"], refusal=True)})

    assert [len(effects_of(here, default_policy(), {})) for here in (around(one), radio, refused)] == [2, 1, 1]


@pytest.mark.parametrize("code", ["dimmed", "under_voltage"])
def test_voltage_lost_is_a_share_of_what_there_was(code: str) -> None:
    one = consequence(code, Range(low=3.0, nominal=6.0, high=9.0, guaranteed=False))

    assert (only(one, grave=False).amount, only(one).amount) == (0.25, 0.75)
    assert only(consequence(code, Range.exactly(13.0))).amount == 0.0
    assert effects(replace(one, before=None)) == effects(replace(one, before=Range.exactly(0.0))) == ()


def test_current_over_a_limit_is_so_many_times_the_limit() -> None:
    one = consequence(
        "over_limit", Range(low=6.0, nominal=9.0, high=12.0, guaranteed=False), limit_A=4.0, sort="contact"
    )

    assert (only(one, grave=False).amount, only(one).amount) == (1.5, 3.0)
    assert (only(one).named["sort"], only(one).functions) == ("contact", ("seat",))
    assert only(replace(one, subject="E9")).functions is None
    assert only(replace(one, params=())).amount is None


def test_heat_of_a_joint_is_about_that_joint_and_drain_about_none() -> None:
    heat, drain = consequence("joint_heat"), consequence("drain", sort="load")

    assert (only(heat).about, only(heat).amount, only(heat, grave=False).amount) == ("E1", 30.0, 0.0)
    assert (only(drain).about, only(drain).amount, only(drain, grave=False).amount) == (None, 30.0, 0.0)
    assert effects(consequence("drain", sort="battery")) == ()


def test_what_dies_with_it_serves_the_functions_of_every_load() -> None:
    one = consequence("dies_with", loads=("E1", "E2"))
    here = replace(around(one), functions_at={"E1": ("seat",), "E2": ("horn", "seat")})
    (sign,) = effects_of(here, default_policy(), {})

    assert sign.functions == ("seat", "horn")


@pytest.mark.parametrize(
    ("says", "found"),
    [
        ({"verdict": "not_protected", "near": "no_protection"}, []),
        ({"verdict": "not_protected", "near": "too_slow"}, ["not_protected"]),
        ({"verdict": "short_only"}, ["not_against_overload"]),
        ({"verdict": "protected", "overload": "beyond_rating"}, ["not_against_overload"]),
        ({"verdict": "protected"}, []),
        ({"verdict": "undecided"}, []),
    ],
)
def test_verdict_on_protection_is_established_as_it_is(says: dict[str, Any], found: list[str]) -> None:
    assert [one.code for one in effects(consequence("protection", **says))] == found


def test_fuse_that_stands_its_current_is_nothing() -> None:
    assert effects(consequence("fuse_current")) == ()


# -- laws


@given(policies, st.sampled_from(["joint_heat", "drain", "over_limit", "dimmed", "under_voltage"]),
       st.lists(st.floats(0, 40), min_size=2, max_size=2))  # fmt: skip
def test_graver_end_of_a_range_is_never_rated_lower(policy: object, code: str, ends: list[float]) -> None:
    low, high = sorted(ends)
    one = consequence(code, Range(low=low, nominal=low, high=high, guaranteed=False), **SAYS.get(code, [{}])[0])
    rating = rated(TAP, around(one), policy)  # type: ignore[arg-type]
    mild, grave = (effects(one, grave=grave) for grave in (False, True))

    assert level_rank(rating.best) <= level_rank(rating.worst)
    assert [sign.code for sign in mild] == [sign.code for sign in grave]
    assert all((one.amount or 0.0) <= (other.amount or 0.0) for one, other in zip(mild, grave, strict=True))


@given(policies, st.sampled_from(["dead", "live_unasked"]), st.lists(st.sampled_from(sorted(CONDITIONS)), max_size=3))
def test_one_condition_more_is_never_rated_lower(policy: object, code: str, names: list[str]) -> None:
    one = replace(consequence(code, **SAYS.get(code, [{}])[0]), conditions=tuple(names))
    levels = [
        level_rank(rated(TAP, around(replace(one, conditions=conditions)), policy).worst)  # type: ignore[arg-type]
        for conditions in itertools.accumulate(((name,) for name in names), lambda known, more: (*known, *more))
    ]

    assert levels == sorted(levels)


def test_bounds_that_nobody_knows_still_rate() -> None:
    one = consequence(
        "over_limit", Range(low=0.0, nominal=1.0, high=math.inf, guaranteed=False), limit_A=4.0, sort="contact"
    )
    rating = rated(TAP, around(one), default_policy())

    assert level_rank(rating.best) < level_rank(rating.worst)
