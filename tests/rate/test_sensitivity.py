"""How firm levels are: shares that follow by hand, and a plain loop that rates anew by every other policy."""

from __future__ import annotations

import hashlib
import itertools
import json
import math
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.describer import Describer
from harnessdiff.model.policy import Cap, Cut, Factor, Floor, FunctionLine, JointLine, Policy
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, Firm, OrderKept, Rating, Sign, level_rank
from harnessdiff.rate.mechanisms import level_of, mechanisms_of
from harnessdiff.rate.sensitivity import firmness_of, order_kept
from harnessdiff.rating_words import close_call_words
from harnessdiff.read.policy import default_policy
from harnessdiff.report.findings_json import findings_document
from harnessdiff.report.listing import listing
from tests.support import bench_data, case_from, reference_from

if TYPE_CHECKING:
    from collections.abc import Sequence

CUTS = tuple(Cut(probability=letter, index=index) for letter, index in zip("DCBA", (1.5, 3.5, 6.5, 9.5), strict=True))


def policy_with(
    *factors: Factor, draws: int = 2000, vary_share: float = 0.3, seed: int = 1, **members: object
) -> Policy:
    """The default policy with these lines in place of its own, and no floor or cap but those given."""
    base = default_policy()
    firmness = replace(base.firmness, draws=draws, vary_share=vary_share, seed=seed, firm_from=0.8)
    lines = {"factors": factors, "cuts": CUTS, "floors": (), "caps": (), "forbidden": ()}
    return replace(base, firmness=firmness, **{**lines, **members})  # type: ignore[arg-type]


def opens(code: str, weight: float, severity: str = "II") -> Factor:
    return Factor(code=code, mechanism="short", opens=True, weight=weight, severity=severity)


def adds(code: str, weight: float) -> Factor:
    return Factor(code=code, mechanism="short", opens=False, weight=weight)


def rated(policy: Policy, *signs: str | Sign, functions: tuple[str, ...] = ()) -> Rating:
    """What is established, rated."""
    all_signs = tuple(Sign(code=one) if isinstance(one, str) else one for one in signs)
    mechanisms = mechanisms_of(all_signs, functions, policy)
    level = level_of(mechanisms)
    return Rating(best=level, worst=level, mechanisms=mechanisms)


def firm_of(rating: Rating, policy: Policy) -> Firm:
    (firm,) = firmness_of([rating], policy)
    assert firm is not None
    return firm


def near(share: float, by_hand: float, draws: int = 2000) -> bool:
    """Within three standard errors of a share of independent draws."""
    return abs(share - by_hand) <= 3.0 * math.sqrt(by_hand * (1.0 - by_hand) / draws)


# -- by hand: MIL-STD-882E Table III has Serious for II and C, Medium for II and D, High for II and B

BELOW_CUT = (3.5 / 4.0 - 0.7) / 0.6
"""Share of factors from 0.7 to 1.3 with which 4 falls below 3.5."""


def test_one_weight_above_a_cut_falls_below_it_as_often_as_its_factor_does() -> None:
    policy = policy_with(opens("bare", 4))
    firm = firm_of(rated(policy, "bare"), policy)
    assert [level for level, _ in firm.shares] == ["Serious", "Medium"]
    assert near(dict(firm.shares)["Medium"], BELOW_CUT)
    assert not firm.firm


def test_two_weights_vary_by_factors_of_their_own() -> None:
    policy = policy_with(opens("bare", 4), adds("rubbing", 4))
    firm = firm_of(rated(policy, "bare", "rubbing"), policy)
    # Two factors whose sum lies below 6.5 / 4: a triangle in the square of side 0.6.
    assert near(dict(firm.shares)["Serious"], ((6.5 / 4.0 - 1.4) / 0.6) ** 2 / 2.0)
    assert firm.firm


def test_a_line_has_one_factor_for_all_that_adds_by_it() -> None:
    at = [Sign(code="rubbing", about="J1", amount=2.0), Sign(code="rubbing", amount=3.0)]
    step = replace(adds("rubbing", 2), at_least=1.0, amount_in="K")
    policy = policy_with(opens("bare", 0), step)
    firm = firm_of(rated(policy, Sign(code="bare", about="J1"), *at), policy)
    assert near(dict(firm.shares)["Medium"], BELOW_CUT)  # twice 2 by one factor, not by two


def test_the_worst_of_several_cases_counts() -> None:
    policy = policy_with(opens("bare", 4), opens("cut", 4))
    firm = firm_of(rated(policy, "bare", "cut"), policy)
    assert near(dict(firm.shares)["Medium"], BELOW_CUT**2)


def test_a_make_of_joint_has_one_factor_in_heat_and_in_loss() -> None:
    joints = tuple(JointLine(joint=one.joint, weight=4, fine_in="no_place") for one in default_policy().joints)
    lines = (FunctionLine(function="horn", lost="II", acts="II"),)
    policy = policy_with(adds("unprotected", 0), joints=joints, functions=lines)
    signs = (Sign(code="joint", params=(("make", joints[0].joint),), about="J1"), "unprotected")
    firm = firm_of(rated(policy, *signs, functions=("horn",)), policy)
    assert near(dict(firm.shares)["Medium"], BELOW_CUT)  # with two factors the worse of both would fall less often


def test_a_floor_holds_in_every_draw() -> None:
    floor = Floor(id="f", mechanisms=("short",), level="High", all_of=("bare",))
    policy = policy_with(opens("bare", 4), floors=(floor,))
    assert firm_of(rated(policy, "bare"), policy) == Firm(shares=(("High", 1.0),), firm=True)


def test_a_floor_below_the_level_holds_what_would_fall_further() -> None:
    floor = Floor(id="f", mechanisms=("short",), level="Serious", all_of=("bare",))
    policy = policy_with(opens("bare", 4), floors=(floor,))
    rating = rated(policy, "bare")
    assert not rating.mechanisms[0].floors  # it moves nothing by the policy itself
    assert firm_of(rating, policy).shares == (("Serious", 1.0),)


def test_a_cap_holds_in_every_draw_and_for_its_cases_alone() -> None:
    cap = Cap(id="c", mechanisms=("short",), opened_by=("bare",), level="Serious")
    policy = policy_with(opens("bare", 6), opens("cut", 6), caps=(cap,))
    assert firm_of(rated(policy, "bare"), policy).shares == (("Serious", 1.0),)
    both = dict(firm_of(rated(policy, "bare", "cut"), policy).shares)
    assert near(both["High"], (1.3 - 6.5 / 6.0) / 0.6)


def test_draws_are_the_same_for_every_run_machine_and_release() -> None:
    policy = policy_with(opens("bare", 4))
    assert firm_of(rated(policy, "bare"), policy).shares == (("Serious", 1424 / 2000), ("Medium", 576 / 2000))


def test_another_seed_draws_others() -> None:
    seeds = [policy_with(opens("bare", 4), seed=seed) for seed in range(5)]
    assert len({firm_of(rated(one, "bare"), one).shares for one in seeds}) > 1


def test_without_variation_every_draw_is_the_policy_itself() -> None:
    # 0.3 + 2.3 + 0.9 is 3.4999999999999996 in binary fractions, and stands at the cut point of 3.5 all the same.
    policy = policy_with(opens("bare", 0.3), opens("cut", 3.5), adds("rubbing", 2.3), adds("hot", 0.9), vary_share=0.0)
    for signs in (("bare",), ("cut",), ("bare", "rubbing", "hot")):
        rating = rated(policy, *signs)
        assert firm_of(rating, policy) == Firm(shares=((rating.worst, 1.0),), firm=True)


def test_what_no_weight_decides_has_no_share() -> None:
    policy = policy_with(opens("bare", 4))
    ratings = [
        Rating(best=ACCEPTABLE, worst=ACCEPTABLE),
        Rating(best=ACCEPTABLE, worst=ACCEPTABLE, condition=True),
        replace(rated(policy, "bare"), worst="High", rated=False),
    ]
    assert firmness_of(ratings, policy) == (None, None, None)
    assert order_kept([*ratings, rated(policy, "bare")], policy) is None


# -- the order of findings


def test_findings_that_rest_on_one_line_keep_their_order() -> None:
    lines = (
        FunctionLine(function="brake_lamp", lost="I", acts="I"),
        FunctionLine(function="horn", lost="II", acts="II"),
    )
    policy = policy_with(opens("bare", 4, "lost"), opens("cut", 4, "lost"), functions=lines)
    worse, milder = rated(policy, "bare", functions=("brake_lamp",)), rated(policy, "bare", functions=("horn",))
    assert (worse.worst, milder.worst) == ("High", "Serious")
    assert order_kept([worse, milder], policy) == OrderKept(worst_stay=1.0, pairs_kept=1.0, pairs_level=0.0)
    other = rated(policy, "cut", functions=("horn",))
    kept = order_kept([worse, other], policy)
    assert kept is not None
    # The worse falls to the level at which the other stays.
    assert near(kept.pairs_level, BELOW_CUT * (1.0 - BELOW_CUT))
    assert kept.worst_stay == 1.0
    assert kept.pairs_kept == pytest.approx(1.0 - kept.pairs_level)


def test_an_order_that_is_reversed_is_neither_kept_nor_level() -> None:
    policy = policy_with(opens("bare", 4), opens("cut", 3))
    ratings = [rated(policy, "bare"), rated(policy, "cut")]
    assert [one.worst for one in ratings] == ["Serious", "Medium"]
    kept = order_kept(ratings, policy)
    assert kept is not None
    reversed_share = BELOW_CUT * (1.3 - 3.5 / 3.0) / 0.6
    assert near(1.0 - kept.worst_stay, reversed_share)
    assert kept.pairs_kept + kept.pairs_level == pytest.approx(kept.worst_stay)


def test_the_worst_stay_only_where_each_of_them_does() -> None:
    policy = policy_with(opens("bare", 4), opens("cut", 3), opens("sure", 5))
    ratings = [rated(policy, "bare"), rated(policy, "cut")]
    firm = rated(policy, "sure")
    two, three = order_kept(ratings, policy), order_kept([firm, *ratings], policy)
    assert firm.worst == "Serious"
    assert two is not None
    assert three is not None
    assert three.worst_stay == two.worst_stay


# -- against a plain loop that rates anew by every other policy


def by_hand_factor(policy: Policy, key: str, draw: int) -> float:
    """The factor of a line in a draw, with whole numbers."""
    firmness = policy.firmness
    drawn = hashlib.shake_256(f"{firmness.seed} {key}".encode()).digest(8 * firmness.draws)
    evenly = (int.from_bytes(drawn[8 * draw : 8 * draw + 8], "little") >> 11) / 2**53
    return 1.0 + firmness.vary_share * (2.0 * evenly - 1.0)


@cache
def other_policies(seed: int, draws: int) -> tuple[Policy, tuple[Policy, ...]]:
    """The default policy with so many draws, and the policy of every draw."""
    base = default_policy()
    base = replace(base, firmness=replace(base.firmness, seed=seed, draws=draws, vary_share=0.3))
    others = []
    for draw in range(draws):
        factors = tuple(replace(one, weight=one.weight * by_hand_factor(base, one.key, draw)) for one in base.factors)
        joints = tuple(replace(one, weight=one.weight * by_hand_factor(base, one.key, draw)) for one in base.joints)
        others.append(replace(base, factors=factors, joints=joints))
    return base, tuple(others)


FUNCTIONS = ("horn", "brake_lamp", "ignition")


@st.composite
def signs(draw: st.DrawFn) -> Sign:
    """Something that a line of the default policy speaks of."""
    policy = default_policy()
    about = draw(st.sampled_from([None, "J1", "J2"]))
    if draw(st.integers(0, 3)) == 0:
        make = draw(st.sampled_from(policy.joints)).joint
        return Sign(code="joint", params=(("joint", about or "J1"), ("make", make)), about=about or "J1")
    line = draw(st.sampled_from(policy.factors))
    amount = None if line.at_least is None else line.at_least * draw(st.sampled_from([1.0, 1.2, 3.0]))
    functions = draw(st.sampled_from([None, (), ("horn",), ("brake_lamp", "horn")]))
    return Sign(code=line.code, params=line.when, about=about, amount=amount, functions=functions)


@settings(max_examples=25)
@given(
    found=st.lists(
        st.tuples(st.lists(signs(), max_size=6), st.sets(st.sampled_from(FUNCTIONS)).map(sorted).map(tuple)), max_size=4
    ),
    seed=st.sampled_from([0, 1, 7]),
)
def test_all_draws_at_once_are_those_of_a_loop(found: list[tuple[list[Sign], tuple[str, ...]]], seed: int) -> None:
    policy, others = other_policies(seed, 30)
    ratings = [rated(policy, *signs, functions=functions) for signs, functions in found]
    levels = [[rated(other, *signs, functions=functions).worst for other in others] for signs, functions in found]
    for rating, firm, drawn in zip(ratings, firmness_of(ratings, policy), levels, strict=True):
        if not rating.mechanisms:
            assert firm is None
            assert set(drawn) == {ACCEPTABLE}
            continue
        assert firm is not None
        assert dict(firm.shares) == {level: drawn.count(level) / len(drawn) for level in drawn}
        assert firm.firm == (drawn.count(rating.worst) / len(drawn) >= policy.firmness.firm_from)
    weighed = [(rating, drawn) for rating, drawn in zip(ratings, levels, strict=True) if rating.mechanisms]
    assert_order(order_kept(ratings, policy), weighed)


def assert_order(kept: OrderKept | None, weighed: Sequence[tuple[Rating, list[str]]]) -> None:
    """Every pair in every draw, one by one."""
    pairs = [
        (one, other)
        for one, other in itertools.permutations(weighed, 2)
        if level_rank(one[0].worst) > level_rank(other[0].worst)
    ]
    if not pairs:
        assert kept is None
        return
    assert kept is not None
    moves = [level_rank(a) - level_rank(b) for one, other in pairs for a, b in zip(one[1], other[1], strict=True)]
    assert kept.pairs_kept == pytest.approx(sum(move > 0 for move in moves) / len(moves))
    assert kept.pairs_level == pytest.approx(sum(move == 0 for move in moves) / len(moves))
    top = max(level_rank(rating.worst) for rating, _ in weighed)
    stays = []
    for draw in range(len(weighed[0][1])):
        worst = [level_rank(drawn[draw]) for rating, drawn in weighed if level_rank(rating.worst) == top]
        rest = [level_rank(drawn[draw]) for rating, drawn in weighed if level_rank(rating.worst) < top]
        stays.append(min(worst) >= max(rest))
    assert kept.worst_stay == pytest.approx(sum(stays) / len(stays))


# -- laws


@given(found=st.lists(st.lists(signs(), max_size=5), min_size=1, max_size=4), data=st.data())
def test_shares_sum_to_one_and_depend_on_no_other_finding(found: list[list[Sign]], data: st.DataObject) -> None:
    policy, _ = other_policies(1, 30)
    ratings = [rated(policy, *one) for one in found]
    firms = firmness_of(ratings, policy)
    for rating, firm in zip(ratings, firms, strict=True):
        assert (firm is None) == (rating.worst == ACCEPTABLE)
        if firm is not None:
            assert sum(share for _, share in firm.shares) == pytest.approx(1.0)
            assert [level for level, _ in firm.shares] == sorted(dict(firm.shares), key=level_rank, reverse=True)
    order = data.draw(st.permutations(range(len(ratings))))
    shuffled = [ratings[place] for place in order]
    assert firmness_of(shuffled, policy) == tuple(firms[place] for place in order)
    assert order_kept(shuffled, policy) == order_kept(ratings, policy)


@given(
    weights=st.lists(st.sampled_from([0.0, 2.3, 5.0, 14.0]), min_size=1, max_size=1)
    | st.lists(st.integers(8, 20).map(float), min_size=2, max_size=5),
    severity=st.sampled_from(["I", "II", "III", "IV"]),
    vary_share=st.floats(0.0, 0.29),
)
def test_far_from_every_cut_the_level_of_the_policy_has_every_draw(
    weights: list[float], severity: str, vary_share: float
) -> None:
    # 2.3, 5 and 14 stay between the cut points 1.5, 3.5, 6.5 and 9.5 under three tenths; from 16 on all is beyond.
    codes = [f"c{number}" for number in range(len(weights))]
    lines = [opens(codes[0], weights[0], severity), *(adds(*one) for one in zip(codes[1:], weights[1:], strict=True))]
    policy = policy_with(*lines, vary_share=vary_share, draws=200)
    rating = rated(policy, *codes)
    assert firm_of(rating, policy) == Firm(shares=((rating.worst, 1.0),), firm=True)


@given(vary=st.floats(0.05, 0.6), weight=st.floats(3.6, 6.0))
def test_more_variation_never_makes_a_level_near_one_cut_firmer(vary: float, weight: float) -> None:
    def share(vary_share: float) -> float:
        policy = policy_with(opens("bare", weight, "II"), vary_share=vary_share, draws=200, cuts=CUTS[:2])
        return dict(firm_of(rated(policy, "bare"), policy).shares).get("Serious", 0.0)

    assert share(vary) <= share(vary / 2)


# -- what a person reads


def test_a_close_call_says_so_in_few_words() -> None:
    firm = Firm(shares=(("High", 0.004), ("Serious", 0.61), ("Medium", 0.386)), firm=False)
    rating = Rating(best="Serious", worst="Serious", firm=firm)
    words = (
        "close call: with every weight varied by up to 30 %, 61 % of the trials come to Serious, else Medium or High"
    )
    assert close_call_words(rating, 0.3) == words
    assert close_call_words(replace(rating, firm=replace(firm, firm=True)), 0.3) is None
    assert close_call_words(replace(rating, firm=None), 0.3) is None


@pytest.mark.parametrize(("share", "words"), [(0.999, "99 %"), (0.004, "under 1 %"), (0.0, "0 %"), (0.5, "50 %")])
def test_all_or_nothing_is_said_only_where_it_is(share: float, words: str) -> None:
    firm = Firm(shares=(("High", share), ("Serious", 1.0 - share)), firm=False)
    assert f"{words} of the trials come to High" in str(
        close_call_words(Rating(best="High", worst="High", firm=firm), 0.3)
    )


def test_findings_say_how_firm_they_are() -> None:
    tap = {"id": "o", "kind": "tap", "on": {"wire": "W1"}, "zone": "Z_TAIL", "to": {"loose": {"treatment": "bare"}}}
    case = case_from(reference_from(bench_data()), tap)
    (finding,) = case.findings.findings
    assert finding.rating.firm == firm_of(finding.rating, case.findings.policy)
    document = findings_document(case.findings)
    (written,) = document["findings"]
    assert list(written["firm"]) == ["shares", "firm"]
    assert sum(written["firm"]["shares"].values()) == pytest.approx(1.0)
    assert written["firm"]["firm"] is finding.rating.firm.firm
    assert json.dumps(document["policy"]["firmness"])
    assert set(written["firm"]["shares"]) <= set(LEVELS)


def test_the_list_tells_a_close_call_among_the_reasons() -> None:
    tap = {"id": "o", "kind": "tap", "on": {"wire": "W1"}, "zone": "Z_TAIL", "to": {"loose": {"treatment": "bare"}}}
    case = case_from(reference_from(bench_data()), tap)
    (finding,) = case.findings.findings
    shares = ((finding.rating.worst, 0.5), ("Low", 0.5))
    for firm, told in ((False, True), (True, False)):
        doubted = replace(finding, rating=replace(finding.rating, firm=Firm(shares=shares, firm=firm)))
        findings = replace(case.findings, findings=(doubted,))
        text = " ".join(listing(findings, Describer(case.reference, case.as_found)).split())
        assert ("close call: " in text) == told
