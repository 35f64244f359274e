"""Holding documents against their schemas: both validators agree, and what is wrong is said in plain words."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any, TypeAlias

import jsonschema_rs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.read.json_text import position
from harnessdiff.read.schema import SCHEMAS, did_you_mean, faults, nearest, pointer_to, schema, validator
from tests.support import Json, bench_data, least_reference, survey_data

Steps: TypeAlias = tuple[str | int, ...]

# -- documents to break: everything that they say is valid

FULL_REFERENCE = least_reference(
    unmodelled_rest_A={"min": 0.01, "max": 0.03, "known_by": "measured"},
    options=[{"id": "tow", "name": "tow socket"}],
    splices=[{"id": "SP1", "type": "factory_splice", "sealed": True, "option": ["not:tow"]}],
    as_built=[{"element": "W212", "because": "short"}],
    x_own={"kept": [1, "two"]},
    conditions=[
        {
            "id": "night",
            "name": "driving by night",
            "key": "ignition",
            "engine": "running",
            "positions": {"S1": "on"},
            "duration_s": 3600,
        }
    ],
    devices=[
        {
            "id": "K1",
            "kind": "relay_socket",
            "ways": 5,
            "terminals": ["30", {"name": "87", "limit_A": {"one_of": [20, 30]}, "side": "load"}],
            "bonds": [{"terminal": "30", "to": "BODY:1", "resistance_ohm": 0.002}],
        },
        {
            "id": "K1_RELAY",
            "kind": "relay",
            "seat": "K1",
            "parts": [
                {"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80},
                {"kind": "link", "between": ["30", "87"], "when": {"energised": True}},
                {"kind": "output", "between": ["30", "87"], "locks_out_after": 3, "pulsed": False},
                {"kind": "load", "between": ["30", "87"], "model": "filament", "rated_W": "unknown"},
            ],
        },
    ],
    wires=[
        {
            "id": "W1",
            "from": "K1:30",
            "to": "K1:87",
            "colour": {"base": "RD", "tracer": "WH", "marks": ["BK"]},
            "size_mm2": {"exact": 16, "unit": "AWG"},
            "zones": ["Z1"],
        }
    ],
)
SEEN: list[Json] = [
    {
        "kind": "tap",
        "id": "t1",
        "on": {"wire": {"colour": {"base": "RD"}, "cavities": ["3", "4"]}, "at": {"from_end": 1, "distance_m": 0.4}},
        "joint": {"type": "twisted", "condition": ["green"], "range_mm2": [0.5, 1]},
        "lead": {"size_mm2": 0.75, "inline": [{"kind": "diode", "conducts_towards_end": 2}]},
        "to": {"device": {"kind": "beeper", "hypotheses": [{"parts": [], "because": "sounds"}]}, "pin": "+"},
    },
    {"kind": "joint", "id": "j1", "members": [{"cut": "c1", "side": 1}, {"metal": "body"}], "rings_on_stud": 3},
    {"kind": "lead", "id": "l1", "end_1": {"loose": {"live_in": []}}, "cores": [{"end_1": {"not_traced": True}}]},
    {"kind": "device", "id": "d1", "sort": "lamp", "terminals": ["+"], "x_shelf": None},
    {"kind": "cut", "id": "c1", "wire": "W1", "removed_m": {"max": 0.1}},
    {"kind": "insertion", "in": {"terminal": "K1:30"}, "joints": [{}, {}], "pins": ["1", "2"], "device": "d1"},
    {"kind": "swap", "between": [{"terminal": "K1:30"}, {"wire": "W1", "end": 2}]},
    {"kind": "substitution", "element": "F1", "fitted": {"rating_A": 30, "state": "slug"}, "age": {"layer": "later"}},
    {"kind": "damage", "on": [{"lead": "l1"}], "damage": "chafed", "extent": "slight"},
    {"kind": "other", "note": "a magnet"},
]
FULL_SURVEY = survey_data(
    *SEEN,
    scope={"looked_at": [{"zone": "Z1", "how": "opened"}], "not_opened": [{"zone": "Z_TAIL", "because": "rivets"}]},
    options=[{"id": "tow", "fitted": "unknown"}],
    complaint=[{"symptom": "battery_flat", "condition": "asleep"}],
    readings=[
        {
            "id": "R1",
            "between": [{"device": "d1", "pin": "+"}, {"terminal": "BAT1:-"}],
            "voltage_V": 11.2,
            "manipulations": [{"kind": "locked_for", "minutes": 40}, {"kind": "lamp_in_fuse_place", "lamp_W": 21}],
        }
    ],
    photographs=[{"id": "P1", "path": "photos/1.jpg"}],
)
VALID: dict[str, Json] = {"reference": FULL_REFERENCE, "survey": FULL_SURVEY}

# Values that are right in one place and wrong in most: whole floats for integers, booleans for numbers …
ODD: list[Any] = [
    *(None, True, False, 0, 1, 2, 1.0, 2.0, 1.5, -1, -0.0, 1e300, 2**63, 10**30, "", "x", "1", "unknown", "everything"),
    *("tap", "link", "twisted", "x" * 41, "y" * 201, "z" * 4001, "\U0001f697" * 200, [], {}, [None], [[]], ["x"] * 40),
    *({"kind": "tap"}, {"kind": "link", "between": ["a", "b"]}, {"x_own": 1}, {"exact": 1}, {"base": "RD"}),
    *({"min": 2, "max": 1}, [1, 2], ["a", "b"], {"": 1}, {"__proto__": {}}, {"description": "x"}),
]
VALUES = st.sampled_from(ODD).map(copy.deepcopy)
NAMES = st.sampled_from(["x_own", "x_", "X_own", "kind", "id", "note", "unit", "between", "", "ä", "end_1", "type"])


def places(data: Any, path: Steps = ()) -> Iterator[Steps]:
    """Every place within a document."""
    inner: list[tuple[str | int, Any]] = []
    if isinstance(data, dict):
        inner = list(data.items())
    elif isinstance(data, list):
        inner = list(enumerate(data))
    for key, value in inner:
        yield (*path, key)
        yield from places(value, (*path, key))


def at(data: Any, path: Steps) -> Any:
    for step in path:
        data = data[step]
    return data


@st.composite
def broken(draw: st.DrawFn) -> tuple[str, Json]:
    """A valid document, changed in up to three places."""
    name = draw(st.sampled_from(sorted(VALID)))
    data = copy.deepcopy(VALID[name])
    for _ in range(draw(st.integers(0, 3))):
        path = draw(st.sampled_from(list(places(data)) or [()]))
        if not path:
            continue
        around: Any = at(data, path[:-1])
        match draw(st.sampled_from(["replace", "remove", "add", "rename", "repeat"])):
            case "replace":
                around[path[-1]] = draw(VALUES)
            case "remove":
                del around[path[-1]]
            case "add" if isinstance(around, dict):
                around[draw(NAMES)] = draw(VALUES)
            case "rename" if isinstance(around, dict):
                around[draw(NAMES)] = around.pop(path[-1])
            case "repeat" if isinstance(around, list):
                around.insert(0, copy.deepcopy(at(around, path[-1:])))
            case _:
                around[path[-1]] = draw(VALUES)
    return name, data


def gate(name: str) -> jsonschema_rs.Draft202012Validator:
    """The fast validator, set up here and not by the program."""
    registry = jsonschema_rs.Registry([(schema(one)["$id"], schema(one)) for one in SCHEMAS])
    return jsonschema_rs.Draft202012Validator(schema(name), registry=registry)


GATES = {name: gate(name) for name in VALID}


@pytest.mark.parametrize("name", VALID)
def test_the_documents_to_break_are_whole(name: str) -> None:
    assert faults(name, VALID[name]) == []
    assert list(validator(name).iter_errors(VALID[name])) == []


@given(broken())
@settings(max_examples=400)
def test_both_validators_accept_and_refuse_the_same_documents(case: tuple[str, Json]) -> None:
    name, data = case

    assert GATES[name].is_valid(data) == (next(validator(name).iter_errors(data), None) is None)


@given(broken())
@settings(max_examples=200)
def test_a_document_has_explained_faults_exactly_when_it_is_not_valid(case: tuple[str, Json]) -> None:
    name, data = case
    found = faults(name, data)

    assert (found == []) == GATES[name].is_valid(data)
    assert len(set(found)) == len(found)


@given(broken())
def test_every_fault_points_to_what_is_there(case: tuple[str, Json]) -> None:
    name, data = case
    text = json.dumps(data, indent=1)
    there = {pointer_to(path) for path in [(), *places(data)]}

    for pointer, message in faults(name, data):
        assert pointer in there, message
        assert position(text, pointer) != position(text, "") or pointer == ""


def test_the_bench_passes_both_validators() -> None:
    assert faults("reference", bench_data()) == []
    assert validator("reference").is_valid(bench_data())


# -- what is said

COMMON = schema("common")["$defs"]


def shown(words: list[str]) -> str:
    """A list of words as a message shows it: the first two dozen, and how many more there are."""
    more = f" and {len(words) - 24} more, see the schema" if len(words) > 24 else ""
    return ", ".join(words[:24]) + more


DEVICE_KINDS = shown(COMMON["device"]["properties"]["kind"]["enum"])
QUANTITY = (
    "A value in the unit at the end of the property's name: a plain number, the word unknown, or an object that "
    "says between what, one of what, in which unit it was entered, and how it is known."
)


def device(**members: Any) -> Json:
    return least_reference(devices=[{"id": "D1", "kind": "lamp", **members}])


def wire(**members: Any) -> Json:
    return least_reference(wires=[{"id": "W1", "from": "BAT1:+", "to": "E14:58", **members}])


def part(kind: str, **members: Any) -> Json:
    return device(parts=[{"kind": kind, "between": ["1", "2"], **members}])


# A document with one fault; the pointer and message of the one problem that it must give.
REFERENCE_FAULTS: list[tuple[Json, str, str]] = [
    (least_reference(wire=[]), "/wire", 'no member "wire" is known here; did you mean "wires"?'),
    (wire(size_mm=1), "/wires/0/size_mm", 'no member "size_mm" is known here; did you mean "size_mm2"?'),
    (wire(size_mm2={"exakt": 1}), "/wires/0/size_mm2/exakt", 'no member "exakt" is known here; did you mean "exact"?'),
    (part("link", limit=5), "/devices/0/parts/0/limit", 'no member "limit" is known here; did you mean "limit_A"?'),
    (part("load"), "/devices/0/parts/0", 'the member "model" is missing'),
    (wire(colour={"tracer": "RD"}), "/wires/0/colour", 'the member "base" is missing'),
    (
        device(kind="lampe"),
        "/devices/0/kind",
        f'"lampe" is none of the words allowed here ({DEVICE_KINDS}); did you mean "lamp"?',
    ),
    (device(kind=3), "/devices/0/kind", f"3 is none of the words allowed here ({DEVICE_KINDS})"),
    (
        wire(material="Copper"),
        "/wires/0/material",
        '"Copper" is none of the words allowed here (copper, tinned_copper, copper_clad_aluminium, aluminium, '
        'resistance_wire, unknown); did you mean "copper"?',
    ),
    (
        wire(size_mm2={"exact": 16, "unit": "awg"}),
        "/wires/0/size_mm2/unit",
        '"awg" is none of the words allowed here (mm2, AWG, mm, cm, m, in, ft, A, mA, V, mV, ohm, mohm, kohm, W, '
        "Ah, s, min, h, degC); "
        'did you mean "AWG"?',
    ),
    (device(rating_A="7,5"), "/devices/0/rating_A", 'should be a number, and is "7,5"; write 7.5 without quotes'),
    (device(rating_A="ten"), "/devices/0/rating_A", 'should be a number, and is "ten"'),
    (device(rating_A=0), "/devices/0/rating_A", "should be more than 0, and is 0"),
    (device(ways=1.5), "/devices/0/ways", "should be a whole number, and is 1.5"),
    (device(ways=0), "/devices/0/ways", "should be at least 1, and is 0"),
    (device(id=""), "/devices/0/id", "should not be empty"),
    (device(id=7), "/devices/0/id", "should be text, and is 7"),
    (device(name="x" * 201), "/devices/0/name", "should have at most 200 characters, and has 201"),
    (device(sealed="yes"), "/devices/0/sealed", 'should be true or false, and is "yes"'),
    (wire(colour="RD"), "/wires/0/colour", 'should be an object such as {"base": "RD"}, and is "RD"'),
    (least_reference(wires={}), "/wires", "should be a list, and is {}"),
    (wire(size_mm2="thin"), "/wires/0/size_mm2", f'"thin" fits none of the forms allowed here: {QUANTITY}'),
    (
        device(terminals=[31]),
        "/devices/0/terminals/0",
        "31 fits none of the forms allowed here: A terminal of a device: its name alone, or an object.",
    ),
    (
        least_reference(format="harnessdiff survey"),
        "/format",
        'should be "harnessdiff reference", and is "harnessdiff survey"',
    ),
]
JOINT_TYPES = shown(schema("survey")["$defs"]["joint_details"]["properties"]["type"]["enum"])
SURVEY_FAULTS: list[tuple[Json, str, str]] = [
    (
        survey_data({"kind": "tapp"}),
        "/observations/0/kind",
        '"tapp" is none of the words allowed here (joint, lead, device, cut, tap, insertion, bridge, repair, swap, '
        "jumper, substitution, missing, moved, damage, surroundings, good_practice, as_reference, other); "
        'did you mean "tap"?',
    ),
    (survey_data({"note": "x"}), "/observations/0", 'the member "kind" is missing'),
    (
        survey_data({"kind": "tap", "joints": {}}),
        "/observations/0/joints",
        'no member "joints" is known here; did you mean "joint"?',
    ),
    (
        survey_data({"kind": "tap", "nota": "x"}),
        "/observations/0/nota",
        'no member "nota" is known here; did you mean "note"?',
    ),
    (
        survey_data({"kind": "joint", "type": "insulation_displacment"}),
        "/observations/0/type",
        f'"insulation_displacment" is none of the words allowed here ({JOINT_TYPES}); '
        'did you mean "insulation_displacement"?',
    ),
    (
        survey_data({"kind": "tap", "on": {"wire": {"color": {"base": "RD"}}}}),
        "/observations/0/on/wire/color",
        'no member "color" is known here; did you mean "colour"?',
    ),
    (
        survey_data({"kind": "tap", "to": {"device": {"kind": "beper"}}}),
        "/observations/0/to/device/kind",
        f'"beper" is none of the words allowed here ({DEVICE_KINDS}); did you mean "beeper"?',
    ),
    (
        survey_data({"kind": "tap", "on": {"wire": 5}}),
        "/observations/0/on/wire",
        "5 fits none of the forms allowed here: A wire of the reference by id, or clues to it.",
    ),
    (
        survey_data({"kind": "insertion", "pins": ["1", "2", "3"]}),
        "/observations/0/pins",
        "should have at most 2 entries, and has 3",
    ),
    (
        survey_data({"kind": "joint", "members": [{"wire": "W1", "end": 3}]}),
        "/observations/0/members/0/end",
        "3 is none of the words allowed here (1, 2)",
    ),
    (
        survey_data(scope={"looked_at": "all"}),
        "/scope/looked_at",
        '"all" fits none of the forms allowed here: The word everything, or the zones, circuits and elements that '
        "were opened and looked at.",
    ),
    (survey_data({"kind": "other", "a/b~c": 1}), "/observations/0/a~1b~0c", 'no member "a/b~c" is known here'),
]


@pytest.mark.parametrize(("data", "pointer", "message"), REFERENCE_FAULTS)
def test_one_fault_of_a_reference_is_said_once_and_in_plain_words(data: Json, pointer: str, message: str) -> None:
    assert faults("reference", data) == [(pointer, message)]


@pytest.mark.parametrize(("data", "pointer", "message"), SURVEY_FAULTS)
def test_one_fault_of_a_survey_is_said_once_and_in_plain_words(data: Json, pointer: str, message: str) -> None:
    assert faults("survey", data) == [(pointer, message)]


def test_a_part_of_an_unknown_kind_is_said_once() -> None:
    assert faults("reference", part("lamp")) == [
        (
            "/devices/0/parts/0/kind",
            '"lamp" is none of the words allowed here (link, load, source, coil, diode, output); did you mean "load"?',
        )
    ]


@pytest.mark.parametrize("word", ["0,35", "0.35"])
def test_a_quantity_in_quotes_is_told_to_lose_them(word: str) -> None:
    message = f'should be a number, and is "{word}"; write 0.35 without quotes'

    assert faults("reference", wire(size_mm2=word)) == [("/wires/0/size_mm2", message)]


def test_all_faults_of_a_document_are_said() -> None:
    data = device(id="", kind="lampe", sealed="yes", colour="RD")
    del data["title"]

    assert [pointer for pointer, _ in sorted(faults("reference", data))] == [
        "",
        "/devices/0/colour",
        "/devices/0/id",
        "/devices/0/kind",
        "/devices/0/sealed",
    ]


def test_a_long_value_is_shown_shortened() -> None:
    ((_, message),) = faults("reference", device(sealed="y" * 4000))

    assert message == f'should be true or false, and is "{"y" * 58}…'


@pytest.mark.parametrize(
    ("word", "valid", "expected"),
    [
        ("W40", ["W4", "W41", "W140"], "W140"),
        ("w40", ["W40", "X"], "W40"),
        ("LAMP", ["lamp", "fuse"], "lamp"),
        ("zzz", ["lamp", "fuse"], None),
        ("lamp", [], None),
        ("", ["lamp"], None),
    ],
)
def test_the_nearest_word_is_the_most_alike_or_none(word: str, valid: list[str], expected: str | None) -> None:
    assert nearest(word, valid) == expected
    assert did_you_mean(word, valid) == ("" if expected is None else f'; did you mean "{expected}"?')


@given(st.text("ab_Wé1", max_size=8), st.lists(st.text("ab_Wé1", max_size=8), max_size=6))
def test_the_nearest_word_is_one_of_those_offered_and_the_same_in_any_order(word: str, valid: list[str]) -> None:
    found = nearest(word, valid)

    assert found is None or found in valid
    assert nearest(word, list(reversed(valid))) == found
    assert word not in valid or found == word


@pytest.mark.parametrize(
    ("path", "pointer"), [((), ""), (("a", 0), "/a/0"), (("a/b", "m~n", ""), "/a~1b/m~0n/"), (("~1",), "/~01")]
)
def test_a_pointer_is_escaped_as_rfc_6901_says(path: Steps, pointer: str) -> None:
    assert pointer_to(path) == pointer


# RFC 6901 section 5, "JSON String Representation" (from memory): the pointers of the specification's own example.
@pytest.mark.parametrize(
    ("pointer", "value"),
    [
        ("", None),
        ("/foo", ["bar", "baz"]),
        ("/foo/0", "bar"),
        ("/", 0),
        ("/a~1b", 1),
        ("/c%d", 2),
        ("/e^f", 3),
        ("/g|h", 4),
        ("/i\\j", 5),
        ('/k"l', 6),
        ("/ ", 7),
        ("/m~0n", 8),
    ],
)
def test_the_pointers_of_the_specifications_example_lead_where_it_says(pointer: str, value: Any) -> None:
    example = {
        "foo": ["bar", "baz"], "": 0, "a/b": 1, "c%d": 2, "e^f": 3, "g|h": 4, "i\\j": 5, 'k"l': 6, " ": 7, "m~n": 8,
    }  # fmt: skip
    text = json.dumps(example, indent=2)
    line, column = position(text, pointer)

    rest = "\n".join([text.split("\n")[line - 1][column - 1 :], *text.split("\n")[line:]])
    assert json.JSONDecoder().raw_decode(rest)[0] == (example if pointer == "" else value)
