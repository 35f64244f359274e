"""Things that a survey or a reference names and that do not exist: each is one problem, at its place."""

from __future__ import annotations

import copy
import itertools
from typing import Any

import pytest

from harnessdiff.errors import InputError
from harnessdiff.model.survey import Survey
from harnessdiff.read.survey import check_survey, survey_of
from tests.support import Json, bench_data, document, problems_of, reference_from, survey_data

BENCH = bench_data()
BENCH["conditions"].append(
    {
        "id": "braking",
        "name": "ignition on, brake pressed",
        "key": "ignition",
        "engine": "stopped",
        "after": "ignition",
        "positions": {"S3": "pressed"},
        "must_stay_dead": ["H1"],
        "option": ["radio_pack"],
    }
)
BENCH["as_built"] = [{"element": "W1", "because": "short and thick"}]
next(wire for wire in BENCH["wires"] if wire["id"] == "W14")["option"] = ["not:no_sound"]
REFERENCE = reference_from(BENCH)

SURVEY = survey_data(
    {
        "kind": "tap",
        "id": "t1",
        "zone": "Z_TAIL",
        "visit": "V1",
        "photographs": ["P1"],
        "readings": ["R1"],
        "on": {"wire": "W11", "at": {"near": "X1"}},
        "to": {"device": "d1", "pin": "+"},
    },
    {"kind": "device", "id": "d1", "zone": "Z_TAIL"},
    {
        "kind": "lead",
        "id": "l1",
        "end_1": {"joined": "j1"},
        "end_2": {"terminal": "GND1:1"},
        "route": [{"kind": "passes_through", "what": "panel_hole", "zone": "Z_SILL"}],
    },
    {
        "kind": "joint",
        "id": "j1",
        "members": [{"cut": "c1", "side": 1}, {"lead": "l1", "end": 1}, {"device": "d1", "pin": "-"}],
    },
    {"kind": "cut", "id": "c1", "wire": "W31"},
    {"kind": "jumper", "id": "k1", "socket": "K1", "between": ["30", "87"]},
    {"kind": "substitution", "id": "u1", "element": "F3", "fitted": {"rating_A": 30}},
    {"kind": "moved", "id": "m1", "wire": "W14", "end": 2, "to": {"terminal": "GND2:1"}},
    {"kind": "moved", "id": "m2", "element": "F2_FUSE", "to_slot": "F4", "to_zone": "Z_BAY"},
    {"kind": "damage", "id": "g1", "on": [{"wire": "W43"}], "inline_of": "t1.lead"},
    {"kind": "good_practice", "id": "p1", "of": ["l1", "F1"]},
    {"kind": "as_reference", "id": "a1", "elements": ["F5", "C_HORN"]},
    {"kind": "other", "id": "o1", "note": "a magnet"},
    {"kind": "other", "id": "o2", "note": "two magnets", "supersedes": ["o1"]},
    {
        "kind": "tap",
        "id": "t2",
        "on": {
            "wire": {
                "connector": "X1",
                "device": "E1",
                "circuit": "C_SIDE",
                "fuse": "F1",
                "feeds": "E2",
                "zone": "Z_TAIL",
            },
            "at": {"beyond": ["j1"]},
        },
        "to": {"loose": {"treatment": "taped", "live_in": ["asleep"]}},
    },
    reference={"id": "bench"},
    scope={
        "looked_at": [{"zone": "Z_TAIL", "visit": "V1"}, {"circuit": "C_SIDE"}, {"element": "F1"}],
        "not_opened": [{"zone": "Z_ROOF"}],
    },
    options=[{"id": "radio_pack", "fitted": "yes"}],
    conditions=[
        {"id": "trailer", "name": "trailer on", "key": "ignition", "engine": "stopped", "positions": {"S1": "on"}}
    ],
    complaint=[{"symptom": "lamp_dim", "condition": "ignition", "elements": ["E1"]}],
    pre_existing_faults=[{"text": "dead", "element": "E4"}],
    readings=[
        {
            "id": "R1",
            "between": [{"device": "d1", "pin": "+"}, {"terminal": "BAT:-"}],
            "condition": "ignition",
            "manipulations": [{"kind": "fuse_out", "element": "F1"}],
            "of": ["t1"],
            "visit": "V1",
            "photographs": ["P1"],
        }
    ],
    photographs=[{"id": "P1", "path": "photos/1.jpg", "visit": "V1"}],
)


def pointer_in(data: Json, place: str) -> str:
    """A place in which entries of a list may stand by their ids, as a pointer."""
    around: Any = data
    steps: list[str] = []
    for step in place.split("/")[1:]:
        if isinstance(around, list) and not step.isdigit():
            steps.append(str(next(number for number, entry in enumerate(around) if entry.get("id") == step)))
        else:
            steps.append(step)
        around = around[int(steps[-1])] if isinstance(around, list) else around.get(step, {})
    return "".join(f"/{step}" for step in steps)


def planted(data: Json, place: str, value: Any) -> Json:
    """A copy of a document with another value at a place."""
    changed = copy.deepcopy(data)
    around: Any = changed
    *steps, last = [int(step) if step.isdigit() else step for step in pointer_in(data, place).split("/")[1:]]
    for step in steps:
        around = around[step]
    around[last] = value
    return changed


def survey_read(data: Json) -> Survey:
    return survey_of(document(data), REFERENCE)


def problems_of_survey(data: Json) -> list[tuple[str | None, str]]:
    with pytest.raises(InputError) as caught:
        survey_read(data)
    return problems_of(caught.value)


def problems_of_reference(data: Json) -> list[tuple[str | None, str]]:
    with pytest.raises(InputError) as caught:
        reference_from(data)
    return problems_of(caught.value)


def test_the_survey_to_plant_faults_in_has_none() -> None:
    assert len(survey_read(SURVEY).observations) == len(SURVEY["observations"])


ONE_THING = "should name one thing (wire, lead, cut, terminal, device, metal), and names"
NOTHING = "the reference has no element, and the survey no observation,"
# Where, what is written there instead, and the message of the one problem it must give.
SURVEY_FAULTS: list[tuple[str, Any, str]] = [
    ("/observations/t1/zone", "Z_TALE", 'the reference has no zone Z_TALE; did you mean "Z_TAIL"?'),
    ("/observations/t1/visit", "V2", 'the survey has no visit V2; did you mean "V1"?'),
    ("/observations/t1/photographs/0", "P2", 'the survey has no photograph P2; did you mean "P1"?'),
    ("/observations/t1/readings/0", "R9", 'the survey has no reading R9; did you mean "R1"?'),
    ("/observations/t1/on/wire", "W111", 'the reference has no wire W111; did you mean "W11"?'),
    ("/observations/t1/to/device", "d2", 'the survey has no device d2; did you mean "d1"?'),
    ("/observations/l1/end_1/joined", "j2", 'the survey has no joint j2; did you mean "j1"?'),
    ("/observations/l1/end_2/terminal", "GND1:2", 'the reference has no terminal GND1:2; did you mean "GND1:1"?'),
    ("/observations/l1/route/0/zone", "Z_SIL", 'the reference has no zone Z_SIL; did you mean "Z_SILL"?'),
    ("/observations/j1/members/0/cut", "c2", 'the survey has no cut c2; did you mean "c1"?'),
    ("/observations/j1/members/1/lead", "l2", 'the survey has no lead l2; did you mean "l1"?'),
    ("/observations/j1/members/2/device", "E1", 'the survey has no device E1; did you mean "d1"?'),
    ("/observations/c1/wire", "W13x", 'the reference has no wire W13x; did you mean "W13"?'),
    ("/observations/k1/socket", "K11", 'the reference has no slot or socket K11; did you mean "K1"?'),
    ("/observations/k1/between/1", "88", 'K1 has no way 88; did you mean "87"?'),
    ("/observations/u1/element", "F33", 'the reference has no element F33; did you mean "F3"?'),
    ("/observations/u1/fitted/rating_A", -30, "rating_A is never negative, and is -30"),
    ("/observations/m1/to/terminal", "GND3:1", 'the reference has no terminal GND3:1; did you mean "GND2:1"?'),
    ("/observations/m2/to_slot", "F44", 'the reference has no slot or socket F44; did you mean "F4"?'),
    ("/observations/m2/to_slot", "E1", 'the reference has no slot or socket E1; did you mean "K1"?'),
    ("/observations/m2/to_zone", "Z_BAYS", 'the reference has no zone Z_BAYS; did you mean "Z_BAY"?'),
    ("/observations/g1/on/0/wire", "w43", 'the reference has no wire w43; did you mean "W43"?'),
    ("/observations/g1/inline_of", "t1.leads", 'the survey has no lead t1.leads; did you mean "t1.lead"?'),
    ("/observations/o2/supersedes/0", "o3", 'the survey has no observation o3; did you mean "o2"?'),
    ("/observations/t2/on/at/beyond/0", "j9", 'the survey has no joint or cut j9; did you mean "j1"?'),
    ("/observations/t2/on/wire/connector", "X11", 'the reference has no plug or connector X11; did you mean "X1"?'),
    ("/observations/t2/on/wire/device", "E11", 'the reference has no device E11; did you mean "E1"?'),
    ("/observations/t2/on/wire/circuit", "C_SIED", 'the reference has no circuit C_SIED; did you mean "C_SIDE"?'),
    ("/observations/t2/on/wire/fuse", "F11", 'the reference has no fuse slot F11; did you mean "F1"?'),
    ("/observations/t2/on/wire/feeds", "E22", 'the reference has no device E22; did you mean "E2"?'),
    ("/observations/t2/to/loose/live_in/0", "asleap", 'the reference has no condition asleap; did you mean "asleep"?'),
    ("/observations/t1/on/at/near", "X11", 'the reference has no plug, device or zone X11; did you mean "X1"?'),
    ("/observations/a1/elements/0", "F55", 'the reference has no element F55; did you mean "F5"?'),
    ("/observations/p1/of/1", "F11", f'{NOTHING} F11; did you mean "F1"?'),
    ("/scope/looked_at/0/zone", "Z_TAL", 'the reference has no zone Z_TAL; did you mean "Z_TAIL"?'),
    ("/scope/looked_at/0/visit", "V7", 'the survey has no visit V7; did you mean "V1"?'),
    ("/scope/looked_at/1/circuit", "SIDE", 'the reference has no circuit SIDE; did you mean "C_SIDE"?'),
    ("/scope/looked_at/2/element", "F_1", 'the reference has no element F_1; did you mean "F1"?'),
    ("/scope/not_opened/0/zone", "Z_ROOFS", 'the reference has no zone Z_ROOFS; did you mean "Z_ROOF"?'),
    ("/options/0/id", "radiopack", 'the reference has no option radiopack; did you mean "radio_pack"?'),
    ("/complaint/0/condition", "trailers", 'the reference has no condition trailers; did you mean "trailer"?'),
    ("/complaint/0/elements/0", "E11", 'the reference has no element E11; did you mean "E1"?'),
    ("/pre_existing_faults/0/element", "E44", 'the reference has no element E44; did you mean "E4"?'),
    ("/readings/R1/between/0/device", "d7", 'the survey has no device d7; did you mean "d1"?'),
    ("/readings/R1/between/1/terminal", "BAT:~", 'the reference has no terminal BAT:~; did you mean "BAT:-"?'),
    ("/readings/R1/condition", "ignitoin", 'the reference has no condition ignitoin; did you mean "ignition"?'),
    ("/readings/R1/manipulations/0/element", "F0F", 'the reference has no element F0F; did you mean "F0"?'),
    ("/readings/R1/visit", "V3", 'the survey has no visit V3; did you mean "V1"?'),
    ("/readings/R1/photographs/0", "P7", 'the survey has no photograph P7; did you mean "P1"?'),
    ("/readings/R1/of/0", "t9", f'{NOTHING} t9; did you mean "t2"?'),
    ("/photographs/P1/visit", "V9", 'the survey has no visit V9; did you mean "V1"?'),
    ("/conditions/trailer/positions", {"S11": "on"}, 'there is no device S11; did you mean "S1"?'),
    ("/conditions/trailer/positions/S1", "onn", 'there is no position of S1 onn; did you mean "on"?'),
    ("/conditions/trailer/after", "ignitoin", 'there is no condition ignitoin; did you mean "ignition"?'),
    ("/conditions/trailer/id", "ignition", "the reference has a condition ignition already"),
    (
        "/reference/id",
        "bank",
        "the survey was made against bank, and this reference is bench",
    ),
    ("/observations/o2/id", "d1", "the id d1 is used already, at /observations/1"),
    ("/observations/o2/id", "o+1", "the id o+1 may not hold \"+\", with which addresses are made"),
    ("/observations/o2/id", "o:1#2", "the id o:1#2 may not hold \":\" or \"#\", with which addresses are made"),
    ("/observations/j1/members/1/wire", "W11", f"{ONE_THING} wire and lead"),
    ("/observations/j1/members/2", {"pin": "-"}, f"{ONE_THING} nothing"),
    ("/observations/j1/members/0", {"cut": "c1"}, "should say which side of the cut: 1 looks to end 1, 2 to end 2"),
    ("/observations/j1/members/2", {"device": "d1"}, "should say which terminal of the device, under pin"),
]  # fmt: skip
WHERE_SAID = {
    "/observations/j1/members/1/wire": "/observations/j1/members/1",
    "/conditions/trailer/positions": "/conditions/trailer/positions/S11",
}


@pytest.mark.parametrize(("place", "value", "message"), SURVEY_FAULTS)
def test_one_fault_planted_in_a_survey_is_the_one_problem_given(place: str, value: Any, message: str) -> None:
    expected = pointer_in(SURVEY, WHERE_SAID.get(place, place))

    assert problems_of_survey(planted(SURVEY, place, value)) == [(expected, message)]


def test_a_jumper_in_what_is_no_slot_or_socket_is_refused() -> None:
    problems = problems_of_survey(planted(SURVEY, "/observations/k1/socket", "E1"))

    expected = 'the reference has no slot or socket E1; did you mean "K1"?'
    assert problems[0] == (pointer_in(SURVEY, "/observations/k1/socket"), expected)


def test_a_thing_that_a_shorthand_makes_can_be_spoken_of() -> None:
    reading = {"id": "R1", "between": [{"lead": "t1.lead"}], "of": ["t1.joint"]}

    assert survey_read(planted(SURVEY, "/readings/R1", reading)).readings[0].of == ("t1.joint",)


def test_without_the_reference_a_survey_is_held_against_itself_alone() -> None:
    check_survey(document(planted(SURVEY, "/observations/t1/on/wire", "W999")))
    with pytest.raises(InputError) as caught:
        check_survey(document(planted(SURVEY, "/observations/l1/end_1/joined", "j2")))

    assert problems_of(caught.value) == [
        ("/observations/2/end_1/joined", 'the survey has no joint j2; did you mean "j1"?')
    ]


@pytest.mark.parametrize("member", ["visits", "readings", "photographs", "conditions"])
def test_no_id_of_a_survey_is_used_twice(member: str) -> None:
    again = copy.deepcopy(SURVEY)
    again[member] = again[member] * 2

    own = again[member][0]["id"]
    assert problems_of_survey(again) == [(f"/{member}/1/id", f"the id {own} is used already, at /{member}/0")]


def test_a_survey_made_against_another_version_of_the_reference_is_refused() -> None:
    stated = SURVEY | {"reference": {"id": "bench", "sha256": REFERENCE.sha256}}
    assert survey_read(stated).observations

    stated["reference"] = {"id": "bench", "sha256": "0" * 64}
    assert problems_of_survey(stated) == [("/reference/sha256", "the survey was made against another version of bench")]


@pytest.mark.parametrize("when", ["2019", "2019-06", "2026-03-14", "2026-03-14T10:20", "2026-03-14T10:20:00+01:00"])
def test_a_date_may_be_as_exact_as_it_is_known(when: str) -> None:
    assert survey_read(planted(SURVEY, "/visits/V1/when", when)).visits[0].when == when


@pytest.mark.parametrize("when", ["yesterday", "14.3.2026", "2026-13", "2026-02-30", "spring 2019"])
def test_what_is_no_date_is_told(when: str) -> None:
    message = f"{when} is no date; write it as 2026-03-14, or 2026-03 where no more is known"

    assert problems_of_survey(planted(SURVEY, "/visits/V1/when", when)) == [("/visits/0/when", message)]


def test_members_of_your_own_may_name_whatever_they_like() -> None:
    data = planted(SURVEY, "/observations/t1/x_zone", {"zone": "nowhere", "wire": "none"})

    assert survey_read(data).observations


# -- references

HARNESS_FAULTS: list[tuple[str, Any, str]] = [
    ("/devices/BAT/zone", "Z_BAYS", 'there is no zone Z_BAYS; did you mean "Z_BAY"?'),
    ("/devices/GND1/bonds/0/terminal", "2", "there is no terminal 2"),
    ("/devices/GND1/bonds/0/to", "BODY:2", 'there is no terminal BODY:2; did you mean "BODY:1"?'),
    ("/devices/F0_FUSE/seat", "F00", 'there is no slot or socket F00; did you mean "F0"?'),
    ("/devices/F0_FUSE/seat", "F0_FUSE", "there is no slot or socket F0_FUSE"),
    ("/devices/F0_FUSE/seat", "BODY", "there is no slot or socket BODY"),
    ("/devices/BODY/seat", "F0", "a body sits in no slot; only a fuse, breaker or relay does"),
    ("/devices/S1/parts/0/between/1", "59", 'there is no terminal 59; did you mean "58"?'),
    ("/devices/S1/parts/0/when/position/0", "no", 'there is no position no; did you mean "on"?'),
    (
        "/devices/S1/parts/0/when",
        {"inputs": [{"terminal": "59", "is": "high"}]},
        'there is no terminal 59; did you mean "58"?',
    ),
    ("/devices/U1/parts/0/when/condition/0", "nowhere", "there is no condition nowhere"),
    ("/devices/S1/rest_position", "of", 'there is no position of; did you mean "off"?'),
    ("/devices/E1/terminals/0/connector", "X11", 'there is no plug X11; did you mean "X1"?'),
    ("/devices/X1/terminals", ["1", "1"], "the terminal 1 is there twice"),
    ("/devices/X1/terminals", ["1:2"], "the terminal 1:2 may not hold a colon"),
    ("/splices/SP1/zone", "Z_TIAL", 'there is no zone Z_TIAL; did you mean "Z_TAIL"?'),
    ("/splices/SP1/circuit", "C_SIDES", 'there is no circuit C_SIDES; did you mean "C_SIDE"?'),
    ("/wires/W1/from", "BAT:*", 'there is no terminal or splice BAT:*; did you mean "BAT:-"?'),
    ("/wires/W11/to", "SP2", 'there is no terminal or splice SP2; did you mean "SP1"?'),
    ("/wires/W1/circuit", "C_MIAN", 'there is no circuit C_MIAN; did you mean "C_MAIN"?'),
    ("/wires/W1/length_m", -0.1, "length_m is never negative, and is -0.1"),
    ("/wires/W1/size_mm2", {"min": -10}, "size_mm2 is never negative, and is -10"),
    ("/wires/W2/zones/1", "Z_DASHS", 'there is no zone Z_DASHS; did you mean "Z_DASH"?'),
    ("/wires/W14/option/0", "not:nosound", 'there is no option nosound; did you mean "no_sound"?'),
    ("/zones/Z_ROOF/id", "Z:ROOF", 'the id Z:ROOF may not hold ":", with which addresses are made'),
    ("/conditions/braking/after", "ignited", 'there is no condition ignited; did you mean "ignition"?'),
    ("/conditions/braking/positions", {"S33": "pressed"}, 'there is no device S33; did you mean "S3"?'),
    ("/conditions/braking/positions/S3", "press", 'there is no position of S3 press; did you mean "pressed"?'),
    ("/conditions/braking/must_stay_dead/0", "H11", 'there is no device H11; did you mean "H1"?'),
    ("/conditions/braking/id", "asleep", "the id asleep is used already, at /conditions/0"),
    ("/conditions/braking/option/0", "nowhere", "there is no option nowhere"),
    ("/as_built/0/element", "W11x", 'there is no element W11x; did you mean "W11"?'),
]
# Where the problem is, if it is further in than what was written.
HARNESS_INSIDE = {
    "the terminal 1:2 may not hold a colon": "/0",
    "the terminal 1 is there twice": "/1",
    'there is no terminal 59; did you mean "58"?': "/inputs/0/terminal",
    'there is no device S33; did you mean "S3"?': "/S33",
    "size_mm2 is never negative, and is -10": "/min",
}


@pytest.mark.parametrize(("place", "value", "message"), HARNESS_FAULTS)
def test_one_fault_planted_in_a_reference_is_the_one_problem_given(place: str, value: Any, message: str) -> None:
    expected = pointer_in(BENCH, place) + (HARNESS_INSIDE.get(message, "") if isinstance(value, (dict, list)) else "")

    assert problems_of_reference(planted(BENCH, place, value)) == [(expected, message)]


def test_no_id_of_a_reference_is_used_twice_whatever_it_stands_for() -> None:
    members = ("zones", "circuits", "devices", "splices", "wires")
    for number, (first, second) in enumerate(itertools.pairwise(members)):
        own = BENCH[first][0]["id"]
        again = planted(BENCH, f"/{second}", [*BENCH[second], {**BENCH[second][0], "id": own}])
        place = f"/{second}/{len(BENCH[second])}/id"

        assert (place, f"the id {own} is used already, at /{first}/0/id") in problems_of_reference(again), number


@pytest.mark.parametrize("member", ["options", "conditions"])
def test_no_option_and_no_condition_of_a_reference_is_there_twice(member: str) -> None:
    again = copy.deepcopy(BENCH)
    again[member] = again[member] * 2
    first, count = BENCH[member][0]["id"], len(BENCH[member])

    problems = problems_of_reference(again)
    assert problems[0] == (f"/{member}/{count}/id", f"the id {first} is used already, at /{member}/0")
    assert [pointer for pointer, _ in problems] == [f"/{member}/{count + number}/id" for number in range(count)]


def test_a_whole_harness_as_found_is_checked_like_a_reference_and_may_use_its_zones_and_circuits() -> None:
    drawn = {member: copy.deepcopy(BENCH[member]) for member in ("devices", "splices", "wires")}
    data = survey_data(as_found=drawn)
    assert survey_read(data).as_found is not None

    drawn["wires"][0]["zones"] = ["Z_NOWHERE"]
    assert problems_of_survey(data) == [
        ("/as_found/wires/0/zones/0", "there is no zone Z_NOWHERE"),
    ]
