"""What was computed of a modification, as what may weigh in its rating."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import is_added
from harnessdiff.model.modification import Value
from harnessdiff.model.policy import Policy
from harnessdiff.model.range import Range
from harnessdiff.model.rating import Sign
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.questions import MOST, Answers, rest_is_said

LAMPLIKE = frozenset({"glows", "dim"})
"""States of a load that is fed too little to do all it can."""
NOT_WEIGHED = {
    "draws": "what is added draws current: what that overloads, drains or takes along weighs by itself",
    "drop": "over all that joints may be: of voltage lost, the likeliest weighs, as dimmed",
    "fed_through_added": "a load that works by way of something added: what becomes of it when that fails weighs",
    "device_heat": "a device gives off the heat it is made for: that it sits on what melts weighs, as on_plastic",
    "other_fuse": "that a load hangs on another fuse does no harm: what that hides weighs, as masked_blown_fuse",
    "reading": "a reading is evidence: it moves a level where it narrows what is computed",
    "past_fuses": "what may draw a current that no fuse tells of is a list to look at: what is drawn weighs, as drain",
}
"""Consequences that the shipped policy does not weigh, and why; what is established of them another policy may."""


def effects_of(circumstances: Circumstances, policy: Policy, answers: Answers) -> tuple[Sign, ...]:
    """Signs from consequences, with what lies in a range taken as answered.

    Parameters
    ----------
    circumstances : Circumstances
        With the consequences.
    policy : Policy
        Says which functions must never act by themselves.
    answers : mapping

    Returns
    -------
    tuple of Sign
    """
    found: list[Sign] = []
    for one in circumstances.consequences:
        graver = answers.get((one.code, f"{one.subject}:{one.terminal or ''}")) == MOST
        found += _signs(one, circumstances, policy, graver=graver)
    return tuple(found)


def _signs(one: Consequence, circumstances: Circumstances, policy: Policy, *, graver: bool) -> Iterator[Sign]:
    functions = circumstances.functions_of_load(one.subject, one.terminal)
    often = circumstances.often(one.conditions)
    match one.code:
        case "live_unasked":
            state = str(one.get("state"))
            how = "faintly" if state in LAMPLIKE else "fully"
            yield _sign(one, "live_unasked", functions, often=often, how=how)
            if how == "fully" and often != "by_mistake" and _never_by_itself(functions, policy):
                yield _sign(one, "acts_by_itself", functions, often=often)
        case "dimmed" | "under_voltage":
            share = _share_left(one, graver=graver)
            if share is not None:
                yield _sign(one, one.code, functions, amount=round(1.0 - share, 6), often=often)
        case "over_limit":
            times = _times(one.after, one.get("limit_A"), graver=graver)
            yield _sign(one, "over_limit", _served(circumstances, one), amount=times, sort=str(one.get("sort")))
        case "dies_with":
            loads = one.get("loads")
            served = tuple(
                function
                for load in (loads if isinstance(loads, tuple) else ())
                for function in circumstances.functions_of_load(load, None)
            )
            yield _sign(one, "dies_with", tuple(dict.fromkeys(served)))
        case "joint_heat":
            assert one.after is not None
            yield _sign(one, one.code, None, amount=one.after.high if graver else one.after.low, about=one.subject)
        case "device_heat":
            assert one.after is not None
            yield _sign(one, one.code, None, amount=one.after.high)
        case "drain":
            if one.get("sort") != "battery" and one.after is not None and not _by_a_converter(one, circumstances):
                least = one.after.low if rest_is_said(one, circumstances) else 0.0
                battery = "added" if is_added(str(one.get("battery"))) else "own"
                yield _sign(one, "drain", None, amount=one.after.high if graver else least, battery=battery)
        case "protection":
            yield from _protection(one)
        case "fuse_current":
            if one.get("over"):
                yield _sign(one, "fuse_over", None)
        case "data_pair":
            yield _sign(one, "data_pair_out", None, sort=str(one.get("sort")))
        case "reversed" | "dead" | "refusal_defeated" | "holds_once_triggered" | "oscillates" | "supply_collapses":
            yield _sign(one, one.code, functions, often=often)
        case "stays_live_without_fuse" | "masked_blown_fuse" | "backfeed" | "other_fuse":
            yield _sign(one, one.code, functions)


def _sign(
    one: Consequence,
    code: str,
    functions: tuple[str, ...] | None,
    *,
    amount: float | None = None,
    about: str | None = None,
    **params: Value,
) -> Sign:
    named = {"subject": one.subject, "condition": next(iter(one.conditions), None), **params}
    return Sign(
        code=code,
        params=tuple(sorted((name, value) for name, value in named.items() if value is not None)),
        about=about,
        amount=amount,
        functions=functions,
        source=f"computed: {one.code}",
    )


def _by_a_converter(one: Consequence, circumstances: Circumstances) -> bool:
    """Whether a load hangs on something that is no battery itself: what that draws is told of it."""
    source = circumstances.as_found.device(str(one.get("battery")))
    return source is not None and source.kind != "battery"


def _never_by_itself(functions: tuple[str, ...], policy: Policy) -> bool:
    return any(line.never_by_itself for one in functions if (line := policy.function(one)) is not None)


def _served(circumstances: Circumstances, one: Consequence) -> tuple[str, ...] | None:
    """Functions that an overloaded contact or output serves: its own device's, else those of the modification."""
    return circumstances.functions_of_load(one.subject, one.terminal) or None


def _share_left(one: Consequence, *, graver: bool) -> float | None:
    """Share of its voltage that a load is left with."""
    if one.before is None or one.after is None or one.before.nominal <= 0:
        return None
    left = one.after.low if graver else one.after.high
    return max(0.0, min(1.0, abs(left) / one.before.nominal))


def _times(after: Range | None, limit: Value, *, graver: bool) -> float | None:
    if after is None or not isinstance(limit, (int, float)) or limit <= 0:
        return None
    return (after.high if graver else after.low) / limit


def _protection(one: Consequence) -> Iterator[Sign]:
    """What the network says of protection; that nothing protects a lead at all is told by the way it is joined."""
    params: tuple[tuple[str, Value], ...] = (("lead", one.subject),)
    if one.get("verdict") == "not_protected" and one.get("near") != "no_protection":
        yield Sign(code="not_protected", params=params, source="computed: protection")
    elif one.get("verdict") == "short_only" or one.get("overload") == "beyond_rating":
        yield Sign(code="not_against_overload", params=params, source="computed: protection")
