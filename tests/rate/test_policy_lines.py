"""What the sense check takes and refuses: a policy in which something worse counts for less is refused."""

from __future__ import annotations

import copy
import itertools
import json
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.errors import InputError
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, PROBABILITIES, SEVERITIES, Sign
from harnessdiff.rate.mechanisms import mechanisms_of
from harnessdiff.read.policy import default_policy, policy_of
from harnessdiff.read.policy_order import GRAVER
from harnessdiff.tables.loader import functions, joint_order, rows
from tests.rate.generated import FUNCTIONS, POLICIES, default_document, random_policy
from tests.support import Json, document, problems_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from harnessdiff.model.policy import Factor

BECAUSE = {"why": "a test", "source": "common practice", "status": "common practice"}
SPECS = (*SEVERITIES, "lost", "acts", "lost_in_part", "acts_in_part", "lead", "heat")


def changed(name: str, *lines: Json) -> Json:
    """The shipped policy with one list of lines in the place of its own."""
    return copy.deepcopy(default_document()) | {name: [*lines]}


def with_factors(*lines: Json) -> Json:
    written = copy.deepcopy(default_document())
    written["factors"] = [one for one in written["factors"] if one["code"] != lines[0]["code"]] + list(lines)
    return written


def refused(written: Json) -> list[str]:
    try:
        policy_of(document(written))
    except InputError as error:
        return [message for _, message in problems_of(error)]
    return []


@pytest.mark.parametrize("forbids", [False, True])
@pytest.mark.parametrize("seed", POLICIES)
def test_random_policies_make_sense(seed: int, forbids: bool) -> None:
    """Which the other tests lean on: they are of every weight, and accepted."""
    policy = random_policy(seed, forbids=forbids)

    assert policy.sha256 != default_policy().sha256
    assert bool(policy.forbidden) == forbids


# -- steps, values and joints in their order


def step(at_least: float, weight: float, severity: str) -> Json:
    return {"code": "drain", "at_least": at_least, "amount_in": "A", "mechanism": "drain", "opens": True,
            "weight": weight, "severity": severity, **BECAUSE}  # fmt: skip


def comes_to(spec: str) -> Iterator[int]:
    """The places of the categories that a severity comes to, over all functions and fuses."""
    places = range(len(SEVERITIES))
    for lost, acts, lead, heat in itertools.product(places, places, (1, 2), (1, 2)):
        of = {one: SEVERITIES.index(one) for one in SEVERITIES}
        of |= {"lost": lost, "acts": acts, "lead": lead, "heat": heat}
        of |= {f"{name}_in_part": max(0, of[name] - 1) for name in ("lost", "acts")}
        yield of[spec]


@pytest.mark.parametrize(("less", "more"), list(itertools.product(SPECS, SPECS)))
def test_greater_step_may_be_less_grave_in_no_circumstances(less: str, more: str) -> None:
    falls = any(one < other for one, other in zip(comes_to(more), comes_to(less), strict=True))

    assert bool(refused(with_factors(step(0.1, 2, less), step(0.2, 2, more)))) == falls


@pytest.mark.parametrize(("weights", "taken"), [((2, 2), True), ((2, 3), True), ((3, 2), False)])
def test_greater_step_may_not_weigh_less(weights: tuple[float, float], taken: bool) -> None:
    written = with_factors(step(0.2, weights[1], "III"), step(0.1, weights[0], "III"))

    assert (refused(written) == []) == taken


VALUED = [
    ("loose_end", "treatment", "short", False),
    ("extent", "extent", "place", False),
    ("dead", "often", "function_lost", True),
]


@pytest.mark.parametrize(("code", "name", "mechanism", "opens"), VALUED)
def test_graver_value_may_not_weigh_less(code: str, name: str, mechanism: str, opens: bool) -> None:
    def line(value: str, weight: float, severity: str) -> Json:
        plain = {
            "code": code,
            "when": {name: value},
            "mechanism": mechanism,
            "opens": opens,
            "weight": weight,
            **BECAUSE,
        }
        return plain | ({"severity": severity} if opens else {})

    def taken(weights: list[float], severities: list[str]) -> bool:
        lines = zip(GRAVER[name], weights, severities, strict=False)
        return refused(with_factors(*(line(*one) for one in lines))) == []

    count = len(GRAVER[name])
    rising = [float(one) for one in range(count)]
    assert taken(rising, ["III"] * count)
    assert taken([2.0] * count, ["III"] * count)
    assert not taken(rising[::-1], ["III"] * count)
    assert not taken(rising[1:], ["III"] * count), "the gravest value is left out"
    assert taken(rising, ["IV", *["III"] * (count - 1)])
    assert taken(rising, [*["III"] * (count - 1), "IV"]) != opens


def test_joint_may_not_count_for_less_than_one_above_it() -> None:
    lines = copy.deepcopy(default_document()["joints"])
    by_joint = {one["joint"]: one for one in lines}
    by_joint["bare_contact"]["weight"] = 0
    assert refused(changed("joints", *lines))
    by_joint["bare_contact"] |= {"weight": 9, "fine_in": "any_place"}
    assert refused(changed("joints", *lines))
    by_joint["bare_contact"]["fine_in"] = "no_place"
    assert refused(changed("joints", *lines)) == []
    by_joint["fuse_slot_adaptor"]["weight"] = 0
    assert refused(changed("joints", *lines)) == [], "it is made for a slot and judged there"


@pytest.mark.parametrize("name", ["joints", "functions"])
def test_policy_says_something_of_every_joint_and_function(name: str) -> None:
    lines = copy.deepcopy(default_document()[name])

    assert refused(changed(name, *lines)) == []
    (problem,) = refused(changed(name, *lines[:-1]))
    assert problem == f"nothing is said of {lines[-1][name.removesuffix('s')]}"


@pytest.mark.parametrize(
    ("indices", "taken"),
    [((1, 2, 3, 4), True), ((1, 2, 2, 4), False), ((4, 3, 2, 1), False), ((0, 0.5, 1, 1.5), True)],
)
def test_cut_points_rise(indices: tuple[float, ...], taken: bool) -> None:
    cuts = [{"probability": letter, "index": index, **BECAUSE} for letter, index in zip("DCBA", indices, strict=True)]

    assert (refused(changed("cuts", *cuts)) == []) == taken
    assert refused(changed("cuts", *cuts[:3]))


# -- the shipped policy


def test_shipped_policy_speaks_of_every_joint_function_letter_severity_and_level() -> None:
    policy = default_policy()

    assert {one.joint for one in policy.joints} == {row.joint for row in joint_order()}
    assert {one.function for one in policy.functions} == set(functions()) == set(FUNCTIONS)
    assert {one.probability for one in policy.cuts} == set(PROBABILITIES) - {"E"}
    assert {one.severity for one in policy.meanings} == set(SEVERITIES)
    assert {one.level for one in policy.actions} == set(LEVELS)
    assert policy.action(ACCEPTABLE) == "none"
    assert policy.satisfactory(ACCEPTABLE)


def test_every_line_of_the_shipped_policy_says_why_and_from_where() -> None:
    policy = default_policy()
    lists: list[Any] = [
        policy.factors, policy.joints, policy.functions, policy.cuts, policy.meanings, policy.actions, policy.floors,
        policy.caps, (policy.firmness,),
    ]  # fmt: skip

    assert [one for lines in lists for one in lines if not (one.why and one.source and one.status)] == []


def test_index_meets_a_letter_at_its_cut_point_and_not_before() -> None:
    policy = default_policy()
    cuts = {cut.probability: cut.index for cut in policy.cuts}

    assert policy.probability(min(cuts.values()) - 0.001) == policy.probability(-1.0) == "E"
    for letter, index in cuts.items():
        assert policy.probability(index) == letter
        assert policy.probability(index - 1e-6) == PROBABILITIES[PROBABILITIES.index(letter) - 1]


def test_every_factor_has_words_and_every_word_a_factor() -> None:
    codes = {line.code for line in default_policy().factors}
    told = {row["code"] for row in rows("rating_words")}

    assert sorted(codes - told) == []
    assert sorted(told - codes) == sorted({"stall_reported", "device_heat", "other_fuse"}), "established, not weighed"


def test_tokens_of_floors_and_caps_speak_of_what_can_be_established() -> None:
    """A word that nothing ever meets would be a floor that never holds."""
    policy = default_policy()
    known = {line.code for line in policy.factors} | {"joint", "stall_reported"}
    tokens = [token for one in policy.floors for group in (one.all_of, one.any_of) for token in group]
    tokens += [token for one in policy.caps for token in (*one.unless, *one.opened_by)]
    codes = {part.split(">=")[0].split(":")[0] for token in tokens for part in token.split("|")}

    assert sorted(codes - known) == []


def test_lines_fit_by_parameters_and_of_steps_the_greatest_reached_counts() -> None:
    policy = default_policy()
    stepped = [line for line in policy.factors if line.at_least is not None]

    def steps(line: Factor, amount: float | None) -> list[float | None]:
        key = (line.mechanism, line.opens, line.when)
        met = policy.lines(line.code, dict(line.when), amount)
        alike = [one.at_least for one in met if (one.mechanism, one.opens, one.when) == key]
        return [one for one in alike if one is not None]

    assert stepped
    assert all(steps(line, line.at_least) == [line.at_least] for line in stepped)
    assert all(line.at_least not in steps(line, (line.at_least or 0.0) - 1e-9) for line in stepped)
    assert all(steps(line, None) == [] for line in stepped)
    assert {line.when for line in policy.lines("damage", {"sort": "chafed", "extent": "slight"}, None)} == {
        (("sort", "chafed"),)
    }
    assert policy.lines("damage", {}, None) == ()
    assert mechanisms_of((Sign(code="no such thing"),), (), policy) == ()


def test_order_of_lines_counts_neither_in_the_hash_nor_in_a_rating() -> None:
    written = copy.deepcopy(default_document())
    for name in ("factors", "joints", "functions", "cuts", "floors"):
        written[name].reverse()
    again = policy_of(document(json.loads(json.dumps(written))))

    assert again.sha256 == default_policy().sha256
    written["factors"][0]["weight"] += 1
    assert policy_of(document(written)).sha256 != default_policy().sha256
