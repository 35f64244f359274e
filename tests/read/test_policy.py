"""Policies as they are read: laid over another, whole, in order, and every fault told at the line that has it."""

from __future__ import annotations

import json
import random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.model.modification import KINDS
from harnessdiff.model.policy_lines import LISTS, differences
from harnessdiff.model.rating import MECHANISMS
from harnessdiff.rate.questions import RANGED
from harnessdiff.read.json_text import parse_document
from harnessdiff.read.policy import default_policy, policy_notes, policy_of, read_policy, shipped_policy
from harnessdiff.resources import shipped_policies
from harnessdiff.tables.loader import functions, joint_order
from harnessdiff.tables.vocabulary import JOINT, established_codes, questions
from tests.policies import default_data, line, line_of, overlay, policy_from
from tests.support import Json, document


def told(data: Json) -> list[tuple[str | None, str]]:
    """Pointer and message of everything that is wrong with a policy."""
    with pytest.raises(InputError) as caught:
        policy_from(data)
    return [(one.pointer, one.message) for one in caught.value.problems]


def notes(data: Json) -> list[tuple[str | None, str]]:
    return [(one.pointer, one.message) for one in policy_notes(document(data, "policy"))]


# -- what is shipped


@pytest.mark.parametrize("name", shipped_policies())
def test_a_shipped_policy_is_sound_and_its_id_is_its_name(name: str) -> None:
    path = shipped_policies()[name]

    assert read_policy(path).id == name
    assert policy_notes(document(json.loads(path.read_text(encoding="utf-8")))) == ()


def test_everything_that_the_shipped_policy_weighs_has_words() -> None:
    assert {one.code for one in default_policy().factors} - established_codes() == set()


def test_every_make_of_joint_and_every_function_is_in_the_shipped_policy() -> None:
    assert {one.joint for one in default_policy().joints} == {row.joint for row in joint_order()}
    assert {one.function for one in default_policy().functions} == set(functions())


def test_what_is_asked_of_amounts_is_among_the_questions() -> None:
    assert set(RANGED) <= set(questions())
    assert all(questions()[one].answers == ("least", "most") for one in RANGED)


# -- faults, each planted once


DRAIN = line(
    code="drain", at_least=0.05, amount_in="A", mechanism="drain", opens=True, weight=4, severity="IV"
)  # fmt: skip
FLOOR = line(id="own_floor", mechanisms=["short"], level="High", all_of=["rubbing"])
CAP = line(id="own_cap", mechanisms=["short"], level="Low", opened_by=["rubbing"])
ADDS = line(code="wet_place", mechanism="place", opens=False, weight=2)
PRIOR = line(question="make", answer="twist_on", share=0.6)
BAN = line(joint="bare_contact", level="Serious")

OVERLAY_FAULTS: dict[str, tuple[Json, str, str]] = {
    "base that is not shipped": (
        {"based_on": "defalt"},
        "/based_on", 'there is no shipped policy defalt to base one on; did you mean "default"?',
    ),
    "base that is based on another": (
        {"based_on": "harbour_mutual"}, "/based_on", "there is no shipped policy harbour_mutual to base one on",
    ),
    "unknown code": (
        {"factors": [line(code="unprotectd", mechanism="short", opens=True, weight=5, severity="II")]},
        "/factors/0/code", 'there is no code unprotectd; did you mean "unprotected"?',
    ),
    "joint among the factors": (
        {"factors": [line(code=JOINT, mechanism="contact_heat", opens=True, weight=5, severity="II")]},
        "/factors/0/code", "makes of joint are weighed in the list joints",
    ),
    "opens without severity": (
        {"factors": [line(code="rubbing", mechanism="short", opens=True, weight=6)]},
        "/factors/0", "what opens a mechanism needs a severity",
    ),
    "adds with severity": (
        {"factors": [ADDS | {"severity": "II"}]},
        "/factors/0/severity", "what only adds has no severity; what opens the mechanism has it",
    ),
    "opens a place": (
        {"factors": [line(code="wet_place", mechanism="place", opens=True, weight=2, severity="III")]},
        "/factors/0/mechanism", "place is no mechanism that something can open; it says where a thing adds",
    ),
    "amount without unit": (
        {"factors": [{name: value for name, value in DRAIN.items() if name != "amount_in"}]},
        "/factors/0", "at_least and amount_in go together",
    ),
    "another unit": (
        {"factors": [DRAIN | {"amount_in": "mA"}]},
        "/factors/0/amount_in", "amounts of drain are in A, not in mA",
    ),
    "the same line twice": (
        {"factors": [ADDS, ADDS | {"weight": 2.5}]}, "/factors/1", "says again what stands at /factors/0",
    ),
    "unknown make": (
        {"joints": [line(joint="twiston", weight=5, fine_in="no_place")]},
        "/joints/0/joint", 'there is no make of joint twiston; did you mean "twist_on"?',
    ),
    "unknown function": (
        {"functions": [line(function="break_lamp", lost="II", acts="III")]},
        "/functions/0/function", 'there is no function break_lamp; did you mean "brake_lamp"?',
    ),
    "unknown make that is forbidden": (
        {"forbidden": [BAN | {"joint": "bare_contakt"}]},
        "/forbidden/0/joint", 'there is no make of joint bare_contakt; did you mean "bare_contact"?',
    ),
    "forbidden in an unknown function": (
        {"forbidden": [BAN | {"functions": ["horn", "wipper"]}]},
        "/forbidden/0/functions/1", 'there is no function wipper; did you mean "wiper"?',
    ),
    "unknown code of a floor": (
        {"floors": [FLOOR | {"all_of": ["rubbing|rubing"]}]},
        "/floors/0/all_of/0", 'there is no code rubing; did you mean "rubbing"?',
    ),
    "malformed token of a floor": (
        {"floors": [FLOOR | {"any_of": ["over_fused>=much"]}]}, "/floors/0/any_of/0",
        "“over_fused>=much” is no code, no code>=amount and no code:parameter=value, such as over_fused>=2 or "
        "damage:sort=chafed",
    ),
    "floor of nothing": (
        {"floors": [FLOOR | {"all_of": []}]},
        "/floors/0", "needs something in all_of or any_of; without it, it would hold for everything",
    ),
    "unknown code that opens": (
        {"caps": [CAP | {"opened_by": ["joynt"]}]},
        "/caps/0/opened_by/0", 'there is no code joynt; did you mean "joint"?',
    ),
    "alternatives that open": (
        {"caps": [CAP | {"opened_by": ["joint|rubbing"]}]},
        "/caps/0/opened_by/0", "alternatives stand in lines of their own here",
    ),
    "unknown code of an exception": (
        {"caps": [CAP | {"unless": ["restrain"]}]},
        "/caps/0/unless/0", 'there is no code restrain; did you mean "restraint"?',
    ),
    "unknown line left out": (
        {"without": ["restraint_touchd"]}, "/without/0",
        'there is no floor or cap of the policy below restraint_touchd; did you mean "restraint_touched"?',
    ),
    "left out and given": (
        {"without": ["restraint_touched"], "floors": [FLOOR | {"id": "restraint_touched"}]},
        "/without/0", "leaves out what is given at /floors/0; a line there takes its place as it is",
    ),
    "one id for two": (
        {"floors": [FLOOR], "caps": [CAP | {"id": "own_floor"}]},
        "/caps/0", "own_floor is the id of a line in floors and in caps",
    ),
    "unknown question": (
        {"priors": [PRIOR | {"question": "makes"}]},
        "/priors/0/question", 'there is no question makes; did you mean "make"?',
    ),
    "unknown answer": (
        {"priors": [line(question="size", answer="yess", share=0.5)]},
        "/priors/0/answer", 'there is no answer to size yess; did you mean "yes"?',
    ),
    "shares beyond all": (
        {"priors": [PRIOR, PRIOR | {"answer": "bullet", "share": 0.5}]},
        "/priors/1/share", "the shares of answers to make come to 1.1, more than 1",
    ),
    "less done about worse": (
        {"actions": [line(level="High", action="note", satisfactory=False)]},
        "/actions/0/action", "what is done about High must not be less than about Serious (repair_before_relying)",
    ),
    "satisfied with worse": (
        {"actions": [line(level="High", action="stop_use", satisfactory=True)]},
        "/actions/0/satisfactory", "a vehicle cannot be satisfactory with High and not with Serious",
    ),
}  # fmt: skip


@pytest.mark.parametrize("fault", OVERLAY_FAULTS)
def test_a_fault_is_told_at_its_line_and_nothing_else_is(fault: str) -> None:
    members, pointer, message = OVERLAY_FAULTS[fault]
    found = told(overlay(**members))

    assert found == [(pointer, message)]


def test_a_problem_has_its_line_in_the_file() -> None:
    text = json.dumps(overlay(without=["poor_joint"]), indent=1)
    number = next(place for place, one in enumerate(text.splitlines(), 1) if "poor_joint" in one)
    with pytest.raises(InputError) as caught:
        policy_of(parse_document(text.encode(), "own.json"))
    (problem,) = caught.value.problems

    assert (problem.source, problem.line) == ("own.json", number)


WEIGHTIEST, LIGHTEST = line_of("joints", joint="bare_contact"), line_of("joints", joint="plug_in")


def test_a_joint_must_not_weigh_less_than_a_better_one() -> None:
    found = told(overlay(joints=[WEIGHTIEST | {"weight": 0}]))

    assert [pointer for pointer, _ in found] == ["/joints/0/weight"]
    assert "bare_contact stands below " in found[0][1]
    assert found[0][1].endswith(" in the order of joints and must not weigh less than it")


def test_a_joint_must_not_weigh_more_than_a_worse_one() -> None:
    (found,) = told(overlay(joints=[LIGHTEST | {"weight": 20}]))

    assert found[0] == "/joints/0/weight"
    assert found[1].startswith("plug_in stands above ")
    assert found[1].endswith(" in the order of joints and must not weigh more than it")


def test_a_joint_must_not_be_fine_where_a_better_one_is_not() -> None:
    (found,) = told(overlay(joints=[WEIGHTIEST | {"fine_in": "any_place"}]))

    assert found[0] == "/joints/0/fine_in"
    assert "must not be fine in more places than it" in found[1]


def test_cut_points_rise() -> None:
    b = line_of("cuts", probability="B")
    c = line_of("cuts", probability="C")
    too_low = f"the cut point of B must lie above that of C, {c['index']:g}"
    too_high = f"the cut point of C must lie below that of B, {b['index']:g}"

    assert told(overlay(cuts=[b | {"index": c["index"]}])) == [("/cuts/0/index", too_low)]
    assert told(overlay(cuts=[c | {"index": b["index"]}])) == [("/cuts/0/index", too_high)]


def steps_of_drain() -> list[Json]:
    return sorted((one for one in default_data()["factors"] if one["code"] == "drain"), key=lambda one: one["at_least"])


def test_a_greater_amount_weighs_no_less() -> None:
    least, *_, most = steps_of_drain()
    (light,) = told(overlay(factors=[most | {"weight": 0}]))
    (heavy,) = told(overlay(factors=[least | {"weight": 20}]))

    assert light[0] == heavy[0] == "/factors/0/weight"
    assert light[1].startswith(f"drain must not weigh less from {most['at_least']:g} on than from ")
    assert heavy[1].startswith(f"drain must not weigh more from {least['at_least']:g} on than from ")


def test_a_greater_amount_is_no_less_severe() -> None:
    least, *_ = steps_of_drain()
    (found,) = told(overlay(factors=[least | {"severity": "I"}]))

    assert found[0] == "/factors/0/severity"
    assert found[1].startswith(f"drain must not be more severe from {least['at_least']:g} on than from ")


@pytest.mark.parametrize(
    ("less", "more", "sound"),
    [
        ("lost_in_part", "lost", True), ("acts", "acts", True), ("III", "lead", True), ("lead", "II", True),
        ("lost", "I", True), ("lost", "lost_in_part", False), ("lead", "III", False), ("II", "heat", False),
        ("lost", "II", False), ("IV", "acts_in_part", True), ("III", "lost", False),
    ],
)  # fmt: skip
def test_severities_by_function_and_protection_are_compared_at_their_ends(less: str, more: str, sound: bool) -> None:
    code = line(code="device_heat", amount_in="W", mechanism="contact_heat", opens=True, weight=3)
    steps = [code | {"at_least": 1, "severity": less}, code | {"at_least": 2, "severity": more}]
    if sound:
        assert policy_from(overlay(factors=steps)).changed
    else:
        assert [pointer for pointer, _ in told(overlay(factors=steps))] == ["/factors/1/severity"]


# -- a policy that is based on none


@pytest.mark.parametrize("name", ["factors", "joints", "functions", "cuts", "meanings", "actions", "firmness"])
def test_a_policy_that_is_based_on_none_is_whole(name: str) -> None:
    data = default_data()
    del data[name]

    assert ("/", f"a policy that is based on none needs {name}") in told(data)


@pytest.mark.parametrize("name", ["joints", "functions", "cuts", "meanings", "actions"])
def test_a_list_that_must_be_whole_names_what_is_missing(name: str) -> None:
    data = default_data()
    gone = data[name].pop(0)
    word = next(gone[key] for key in ("joint", "function", "probability", "severity", "level") if key in gone)

    assert (f"/{name}", f"nothing is said of {word}") in told(data)


def test_what_the_schema_refuses_is_not_told_twice() -> None:
    data = default_data()
    data["firmness"]["draws"] = "many"

    assert [pointer for pointer, _ in told(data)] == ["/firmness/draws"]


@pytest.mark.parametrize("when", [{"unit": "mm2", "exact": "3"}, {"base": "x"}, {"min": "2", "max": "1"}])
def test_parameters_are_read_as_they_are_written(when: Json) -> None:
    own = policy_from(overlay(factors=[ADDS | {"when": when}]))

    assert own.factors[-1].when == tuple(sorted(when.items()))


# -- laid over another


def test_a_line_takes_the_place_of_the_one_of_the_same_key_and_others_hold() -> None:
    own = policy_from(overlay(joints=[WEIGHTIEST | {"weight": 9}]))

    assert own.joint("bare_contact").weight == 9
    assert own.joint("plug_in") == default_policy().joint("plug_in")
    assert own.factors == default_policy().factors
    assert own.changed == ("joints: bare_contact",)


def test_a_floor_or_cap_may_be_left_out() -> None:
    gone = default_policy().caps[0].id
    own = policy_from(overlay(without=[gone]))

    assert gone not in {one.id for one in own.caps}
    assert own.changed == (f"caps: {gone} left out",)


def test_a_line_that_says_the_same_is_not_changed() -> None:
    own = policy_from(overlay(joints=[WEIGHTIEST | {"why": "said otherwise"}]))

    assert own.changed == ()
    assert own.sha256 == default_policy().sha256
    assert own.joint("bare_contact").why == "said otherwise"


def test_members_of_ones_own_pass() -> None:
    data = overlay(joints=[WEIGHTIEST | {"weight": 9, "x_agreed": "board"}], x_file=3)

    assert policy_from(data).joint("bare_contact").weight == 9


def test_lines_that_forbid_one_make_have_ids_apart() -> None:
    own = policy_from(overlay(forbidden=[BAN, BAN | {"functions": ["horn", "brake_lamp"], "level": "High"}]))
    bans = [one.id for one in own.forbidden if one.joint == "bare_contact"]

    assert bans == ["forbidden_bare_contact", "forbidden_bare_contact_in_brake_lamp_horn"]


# -- the hash


def shuffled(value: Any, chance: random.Random) -> Any:
    """The same, with the members of objects and the lines of lists in another order."""
    if isinstance(value, dict):
        names = list(value)
        chance.shuffle(names)
        return {name: shuffled(value[name], chance) for name in names}
    if isinstance(value, list):
        found = [shuffled(one, chance) for one in value]
        chance.shuffle(found)
        return found
    return value


def test_the_hash_does_not_go_by_order_formatting_titles_or_reasons() -> None:
    data = shuffled(default_data(title="Another", id="other", note="n"), random.Random(1))
    for name in LISTS:
        for one in data[name]:
            one |= {"why": "otherwise", "source": "elsewhere", "status": "from memory"}
    data["joints"] = [one | {"weight": float(one["weight"])} for one in data["joints"]]
    data["functions"] = [{"never_by_itself": False} | one for one in data["functions"]]
    data["caps"] = [{"unless": []} | one for one in data["caps"]]

    assert policy_from(data).sha256 == default_policy().sha256


FREE = [n for n, one in enumerate(default_data()["factors"]) if "at_least" not in one and "when" not in one]
"""Factors that no order binds to another."""


@given(st.sampled_from(FREE), st.floats(0.001, 2, allow_nan=False))
def test_one_weight_changed_changes_the_hash(number: int, by: float) -> None:
    data = default_data()
    data["factors"][number]["weight"] += by

    assert policy_from(data).sha256 != default_policy().sha256


@pytest.mark.parametrize(
    "members",
    [
        {"cuts": [line_of("cuts", probability="A") | {"index": 50}]},
        {"forbidden": [BAN]},
        {"functions": [line_of("functions", function="radio") | {"never_by_itself": True}]},
        {"floors": [FLOOR]},
        {"priors": [PRIOR]},
        {"firmness": default_data()["firmness"] | {"seed": 77}},
    ],
)
def test_whatever_counts_changes_the_hash(members: Json) -> None:
    own = policy_from(overlay(**members))

    assert own.sha256 != default_policy().sha256
    assert len(own.changed) == 1
    assert len(list(differences(own, default_policy()))) == 1


# -- laws


@given(st.data())
def test_weights_that_are_only_raised_evenly_are_sound(data: st.DataObject) -> None:
    """What is raised from some place in the order on, as high as before or higher, stays in order."""
    step = data.draw(st.floats(0, 5, allow_nan=False))
    from_rank = data.draw(st.integers(1, max(row.rank for row in joint_order())))
    ranks = {row.joint: row.rank for row in joint_order()}
    joints = [
        one | {"weight": one["weight"] + step} for one in default_data()["joints"] if ranks[one["joint"]] >= from_rank
    ]
    code = data.draw(st.sampled_from(sorted({one["code"] for one in default_data()["factors"]})))
    least = data.draw(st.floats(0, 30, allow_nan=False))
    factors = [
        one | {"weight": one["weight"] + step}
        for one in default_data()["factors"]
        if one["code"] == code and one.get("at_least", least) >= least
    ]
    own = policy_from(overlay(joints=joints, factors=factors))

    assert all(own.joint(one.joint).weight >= one.weight for one in default_policy().joints)
    assert (own.sha256 == default_policy().sha256) == (not own.changed)


# -- what is sound and may not be meant


def test_a_make_is_forbidden_and_a_worse_one_is_not() -> None:
    data = overlay(forbidden=[line(joint="twist_on", level="Serious", functions=["horn"])])

    assert notes(data) == [
        (
            "/forbidden/0",
            "twist_on is forbidden in circuits of horn, and what is worse is not: "
            "twisted_taped, twisted_bare, bare_contact",
        )
    ]


@pytest.mark.parametrize(
    "worse",
    [
        [BAN | {"joint": one} for one in ("twisted_taped", "twisted_bare", "bare_contact")],
        [
            BAN | {"joint": one, "functions": ["radio", "horn"]}
            for one in ("twisted_taped", "twisted_bare", "bare_contact")
        ],
    ],
)
def test_there_is_no_note_where_what_is_worse_is_forbidden_too(worse: list[Json]) -> None:
    own = line(joint="twist_on", level="Serious", functions=["horn"])
    found = notes(overlay(forbidden=[own, *worse]))

    assert [pointer for pointer, _ in found if pointer == "/forbidden/0"] == []


@pytest.mark.parametrize("change", [{"level": "Medium"}, {"functions": ["radio"]}])
def test_what_is_forbidden_less_is_not_forbidden_as_much(change: Json) -> None:
    own = line(joint="twisted_bare", level="Serious", functions=["horn"])

    assert notes(overlay(forbidden=[own, BAN | change]))[0][0] == "/forbidden/0"


def test_a_parameter_that_nothing_has_is_noted() -> None:
    own = line(code="loose_end", when={"treatment": "baer"}, mechanism="short", opens=False, weight=4)
    message = 'no shipped line speaks of loose_end with treatment baer; did you mean "bare"?'

    assert notes(overlay(factors=[own])) == [("/factors/0/when/treatment", message)]


def test_a_newer_minor_version_is_read_and_what_is_passed_over_is_told() -> None:
    data = overlay(version="1.7", shade="dark")

    assert ("/shade", "passed over: of a newer version than this program knows") in notes(data)


def test_words_of_tokens_cover_kinds_and_joints() -> None:
    tokens = [JOINT, *KINDS, f"{JOINT}:make=twist_on"]
    own = policy_from(
        overlay(floors=[FLOOR | {"all_of": tokens[:10], "any_of": tokens[10:], "mechanisms": list(MECHANISMS)}])
    )

    assert own.floors[-1].all_of == tuple(tokens[:10])


def test_a_shipped_policy_is_found_by_name() -> None:
    assert shipped_policy("harbour_mutual").based_on == "default"
