"""What a thing weighs in, how grave it is, and what holds or raises a level."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.model.policy import Cap, Floor, Forbidden
from harnessdiff.model.rating import SEVERITIES, Sign
from harnessdiff.rate.mechanisms import NO_FUSE, holds, mechanisms_of
from harnessdiff.read.policy import default_policy
from tests.rate.generated import joint_sign, policies, signs_together, some_functions

if TYPE_CHECKING:
    from harnessdiff.model.policy import Policy
    from harnessdiff.model.rating import Mechanism

many = settings(max_examples=50)


# -- joints, places, severities


@given(policies, st.sampled_from(["joint_loose", "joint_burnt", "joint_wet"]), some_functions)
def test_state_of_a_joint_counts_at_that_joint_alone(policy: Policy, state: str, functions: tuple[str, ...]) -> None:
    about = {
        joint: mechanisms_of((joint_sign("+J1", "twisted_taped"), Sign(code=state, about=joint)), functions, policy)
        for joint in ("+J1", "+J2")
    }
    (line,) = (one for one in policy.lines(state, {}, None) if not one.opens)

    assert {one.code for one in about["+J1"]} == {"contact_heat", "function_lost"}
    # Where the state opens heat by itself, that may be the graver case; the joint's own gains as much.
    made = {
        joint: {
            one.code: sum(part.counts for part in case.contributions)
            for one in about[joint]
            for case in one.cases
            if case.contributions[0].code == "joint"
        }
        for joint in ("+J1", "+J2")
    }
    here, there = made["+J1"], made["+J2"]
    assert here == {code: pytest.approx(index + line.weight) for code, index in there.items()}


@given(policies, some_functions)
def test_place_counts_in_heat_loss_and_short(policy: Policy, functions: tuple[str, ...]) -> None:
    opened = tuple(
        Sign(code=code, params=when)
        for code, when in (
            ("size", ()), ("wire_cut", ()), ("rubbing", ()), ("over_fused", ()), ("restraint", ()), ("own_energy", ()),
            ("moved_ground", ()),
        )
    )  # fmt: skip
    place = Sign(code="moving_place")
    (line,) = policy.lines("moving_place", {}, None)
    still = {one.code: one.index for one in mechanisms_of(opened, functions, policy)}
    moving = {one.code: one.index for one in mechanisms_of((*opened, place), functions, policy)}
    grown = {code for code in still if moving[code] != pytest.approx(still[code])}

    assert len(still) == len(opened)
    assert grown == (SPREAD["place"] if line.weight else set())


def severity(signs: tuple[Sign, ...], mechanism: str, *functions: str, unknown: str = "IV") -> str:
    found = mechanisms_of(signs, functions, default_policy(), unknown_circuit=unknown)
    return next(one.severity for one in found if one.code == mechanism)


@pytest.mark.parametrize("code", NO_FUSE)
def test_heat_of_a_joint_and_what_meets_a_lead_are_critical_where_nothing_protects_it(code: str) -> None:
    joint, edge = joint_sign("+J1", "twisted_bare"), Sign(code="rubbing")

    assert severity((joint,), "contact_heat") == "III"
    assert severity((joint, Sign(code=code)), "contact_heat") == "II"
    assert severity((edge,), "short") == "III"
    shorts = mechanisms_of((edge, Sign(code=code)), (), default_policy())
    assert {one.severity for one in shorts if one.code == "short"} == {"II"}


@pytest.mark.parametrize(
    ("held", "grave"),
    [
        (Sign(code="over_fused", amount=1.9), False),
        (Sign(code="over_fused", amount=2.0), True),
        (Sign(code="not_protected"), True),
        (Sign(code="not_against_overload"), False),
    ],
)
def test_lead_behind_a_fuse_of_twice_its_limit_or_that_opens_too_late_is_as_grave_as_one_without(
    held: Sign, grave: bool
) -> None:
    edge, joint = Sign(code="rubbing"), joint_sign("+J1", "twisted_bare")
    shorts = mechanisms_of((edge, held), (), default_policy())

    assert ("II" in {part.severity for one in shorts if one.code == "short" for part in one.contributions}) == grave
    assert severity((joint, held), "contact_heat") == "III"


def test_severity_of_a_function_is_by_the_sign_s_functions_else_by_the_modification_s() -> None:
    policy = replace(
        default_policy(),
        functions=tuple(
            replace(one, lost={"radio": "IV", "brake_lamp": "II"}.get(one.function, one.lost))
            for one in default_policy().functions
        ),
    )

    def lost(sign: Sign, *functions: str, unknown: str = "IV") -> str:
        (one,) = mechanisms_of((sign,), functions, policy, unknown_circuit=unknown)
        return one.severity

    dead = Sign(code="dead", params=(("often", "parked"),))
    assert lost(Sign(code="open_circuit"), "radio") == "IV"
    assert lost(Sign(code="open_circuit"), "radio", "brake_lamp") == "II"
    assert lost(replace(dead, functions=("radio",)), "brake_lamp") == "IV"
    assert lost(replace(dead, functions=("brake_lamp",)), "radio") == "II"
    assert [lost(Sign(code="open_circuit"), unknown=one) for one in ("IV", "II")] == ["IV", "II"]
    assert lost(replace(dead, functions=()), unknown="II") == "IV"


def test_function_lost_in_part_is_one_category_less_and_never_less_than_negligible() -> None:
    policy = default_policy()
    for function in policy.functions:
        sign = Sign(code="dimmed", amount=0.2, functions=(function.function,))
        (one,) = mechanisms_of((sign,), (), policy)
        expected = max(0, SEVERITIES.index(function.lost) - 1)
        assert SEVERITIES.index(one.severity) == expected


def test_two_things_of_a_sort_add_no_more_than_the_greater_of_them() -> None:
    """Two leads behind fuses far too large for them are not worse by being two, whatever the amounts."""
    policy = default_policy()

    def index(*amounts: float) -> float:
        signs = tuple(
            Sign(code="over_fused", params=(("lead", f"+L{place}"),), amount=amount)
            for place, amount in enumerate(amounts)
        )
        return next(one.index for one in mechanisms_of(signs, (), policy) if one.code == "overload")

    assert index(2.5, 3.0) == index(3.0, 3.0) == index(3.0) > index(1.2)
    assert index(1.2, 3.0) == index(3.0)


# -- floors, caps, what is forbidden


FLOOR = Floor(id="f", mechanisms=("contact_heat",), level="High", all_of=("hot_place",), any_of=("wet_place", "size"))
CAP = Cap(id="c", mechanisms=("contact_heat",), opened_by=("joint",), level="Low", unless=("stall_reported",))
POOR = joint_sign("+J1", "bare_contact")


def heat(policy: Policy, *signs: Sign) -> Mechanism:
    return next(one for one in mechanisms_of(signs, ("radio",), policy) if one.code == "contact_heat")


def test_floor_raises_where_all_of_some_and_any_of_others_is_established() -> None:
    policy = replace(default_policy(), floors=(FLOOR,), caps=())
    hot, wet = Sign(code="hot_place"), Sign(code="wet_place")
    both = replace(policy, floors=(replace(FLOOR, all_of=("hot_place", "moving_place")),))

    assert heat(policy, POOR, hot, wet).level == "High"
    assert heat(policy, POOR, hot, wet).floors == ("f",)
    assert all(heat(policy, POOR, *one).floors == () for one in ((hot,), (wet,), ()))
    assert heat(both, POOR, hot, wet).floors == ()
    assert heat(both, POOR, hot, wet, Sign(code="moving_place")).floors == ("f",)


def test_cap_holds_only_what_it_speaks_of_and_only_while_nothing_lifts_it() -> None:
    policy = replace(default_policy(), floors=(), caps=(CAP,))

    assert heat(policy, POOR).level == "Low"
    assert heat(policy, POOR).caps == ("c",)
    assert heat(policy, POOR, Sign(code="stall_reported")).caps == ()
    assert heat(policy, Sign(code="unsuitable_conductor")).caps == ()


def test_floor_stands_over_a_cap() -> None:
    policy = replace(default_policy(), floors=(replace(FLOOR, any_of=()),), caps=(CAP,))
    one = heat(policy, POOR, Sign(code="hot_place"))

    assert (one.level, one.caps, one.floors) == ("High", ("c",), ("f",))


@pytest.mark.parametrize(("functions", "level"), [((), "High"), (("radio",), "High"), (("horn",), None)])
def test_forbidden_make_is_never_rated_below_its_level(functions: tuple[str, ...], level: str | None) -> None:
    line = Forbidden(joint="bullet", level="High", functions=functions)
    policy = replace(default_policy(), floors=(), caps=(CAP,), forbidden=(line,))
    one = heat(policy, joint_sign("+J1", "bullet"))

    assert (one.level == level) == (level is not None)
    assert one.floors == ((line.id,) if level else ())
    assert heat(policy, POOR).floors == ()


@pytest.mark.parametrize(
    ("token", "established"),
    [
        ("over_fused", True), ("over_fused>=2", True), ("over_fused>=2.5", False), ("damage", True),
        ("damage:sort=chafed", True), ("damage:sort=melted", False), ("rubbing", False), ("rubbing|damage", True),
        ("rubbing|damage:sort=melted", False), ("rubbing|over_fused>=1", True), ("damage>=0", False),
    ],
)  # fmt: skip
def test_token_names_what_is_established(token: str, established: bool) -> None:
    known = (Sign(code="over_fused", amount=2.0), Sign(code="damage", params=(("sort", "chafed"),)))

    assert holds(token, known) == established


# -- a weight moves what it weighs in, and nothing else


OPENERS = (
    joint_sign("+J1", "bare_contact"), Sign(code="over_fused"), Sign(code="size"), Sign(code="wire_cut"),
    Sign(code="rubbing"),
)  # fmt: skip
SPREAD = {"joint": {"contact_heat", "function_lost"}, "place": {"contact_heat", "function_lost", "short"}}


@pytest.mark.parametrize("number", range(len(default_policy().factors)))
def test_weight_of_a_line_moves_the_mechanism_it_weighs_in(number: int) -> None:
    """Every line of the shipped policy counts somewhere: none is dead, and none is hidden by another."""
    policy = default_policy()
    line = policy.factors[number]
    heavier = replace(line, weight=line.weight + 100)
    changed = replace(policy, factors=(*policy.factors[:number], heavier, *policy.factors[number + 1 :]))
    about = "+J1" if line.code.startswith("joint_") else None
    sign = Sign(code=line.code, params=line.when, amount=line.at_least, about=about)
    signs = (sign,) if line.opens else (*OPENERS, sign)
    before, after = indices(signs, policy), indices(signs, changed)

    assert {code for code in after if after[code] != before[code]} == SPREAD.get(line.mechanism, {line.mechanism})
    others = tuple(opener for opener in OPENERS if opener.code != line.code)
    assert indices(others, changed) == indices(others, policy)


def indices(signs: tuple[Sign, ...], policy: Policy) -> dict[str, float]:
    return {one.code: one.index for one in mechanisms_of(signs, ("radio",), policy)}


@many
@given(signs_together, some_functions, policies, st.data())
def test_weight_of_a_line_that_is_not_met_moves_nothing(
    known: tuple[Sign, ...], functions: tuple[str, ...], policy: Policy, data: st.DataObject
) -> None:
    met = {line for sign in known for line in policy.lines(sign.code, sign.named, sign.amount)}
    line = data.draw(st.sampled_from([one for one in policy.factors if one not in met]))
    factors = tuple(replace(one, weight=one.weight + 100) if one is line else one for one in policy.factors)

    assert mechanisms_of(known, functions, replace(policy, factors=factors)) == mechanisms_of(known, functions, policy)
