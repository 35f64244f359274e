"""What is left of a document when everything refused is taken out, and what is said of the rest."""

from __future__ import annotations

import copy

import pytest

from harnessdiff.errors import InputError
from harnessdiff.read.schema import accepts, faults
from harnessdiff.read.sound_part import SoundPart, sound_part
from harnessdiff.read.survey import check_survey
from tests.support import Json, bench_data, document, problems_of, reference_from, survey_data

LINES: list[Json] = [
    {"kind": "tap", "id": "t0", "zone": "Z_TAIL"},
    {"kind": "tapp", "id": "t1"},
    {"kind": "tap", "id": "t2", "on": {"wire": "W12", "at": {"near_end": 7}}},
    {"kind": "lead", "id": "l3", "end_1": {"joined": "j9"}},
]


def part_of(data: Json, name: str = "survey") -> SoundPart:
    part = sound_part(name, data, [pointer for pointer, _ in faults(name, data)])
    assert part is not None
    return part


def told(data: Json) -> list[tuple[str | None, str]]:
    with pytest.raises(InputError) as caught:
        check_survey(document(data))
    return [(pointer, message.split(" (")[0]) for pointer, message in problems_of(caught.value)]


def test_nothing_is_taken_out_of_a_sound_document() -> None:
    data = survey_data(LINES[0], LINES[3])
    part = part_of(data)

    assert part == SoundPart(data=data)


def test_what_is_refused_is_taken_out_and_the_document_itself_is_left_as_it_was() -> None:
    data = survey_data(*LINES, titel="x")
    before = copy.deepcopy(data)
    part = part_of(data)

    assert accepts("survey", part.data)
    assert data == before
    assert "titel" not in part.data
    assert [line["id"] for line in part.data["observations"]] == ["t0", "t2", "l3"]
    assert part.data["observations"][1] == {"kind": "tap", "id": "t2", "on": {"wire": "W12", "at": {}}}
    assert part.kept == {"/observations": (0, 2, 3)}
    assert {"tapp", "t1", "x"} <= part.lost


def test_places_in_what_is_left_are_given_as_they_are_in_the_document() -> None:
    part = part_of(survey_data(*LINES))

    assert part.original("/observations/0/zone") == "/observations/0/zone"
    assert part.original("/observations/1/on/wire") == "/observations/2/on/wire"
    assert part.original("/observations/2/end_1/joined") == "/observations/3/end_1/joined"
    assert part.original("/visits/0/when") == "/visits/0/when"
    assert part.value_at("/observations/2/end_1/joined") == "j9"
    assert part.value_at("/observations/9/end_1") is None


def test_a_document_of_which_nothing_is_left_is_none() -> None:
    assert sound_part("survey", survey_data(), [""]) is None


def test_faults_of_form_and_of_sense_are_told_together_in_file_order() -> None:
    assert told(survey_data(*LINES, title="")) == [
        ("/observations/1/kind", '"tapp" is none of the words allowed here'),
        ("/observations/2/on/at/near_end", "7 is none of the words allowed here"),
        ("/observations/3/end_1/joined", "the survey has no joint j9"),
        ("/title", "should not be empty"),
    ]


@pytest.mark.parametrize(
    "line",
    [
        {"kind": "jointt", "id": "j9"},
        {"kind": "joint", "id": "j9", "zone": ""},
        {"kind": "joint", "id": 9},
        {"kind": "joint", "id": ""},
        {"kind": "joint", "di": "j9"},
        "j9",
        None,
    ],
)
def test_what_speaks_of_something_taken_out_or_of_something_without_its_name_is_not_told(line: Json) -> None:
    found = told(survey_data(LINES[3], line))

    assert len(found) == 1
    assert (found[0][0] or "").startswith("/observations/1")


@pytest.mark.parametrize("name", ["j", "j99", "t1.joint"])
def test_what_speaks_of_something_else_is_told_all_the_same(name: str) -> None:
    line = {"kind": "jointt", "id": "j9"}
    found = told(survey_data({"kind": "lead", "end_1": {"joined": name}}, line))

    assert [pointer for pointer, _ in found] == ["/observations/0/end_1/joined", "/observations/1/kind"]


def test_a_lost_name_in_one_list_hides_nothing_that_another_list_makes() -> None:
    data = survey_data({"kind": "other", "visit": "V7"}, {"kind": "other", "id": 7})

    assert [pointer for pointer, _ in told(data)] == ["/observations/0/visit", "/observations/1/id"]


@pytest.mark.parametrize(
    ("member", "value", "pointer"),
    [
        ("terminals", 5, "/devices/0/terminals"),
        ("terminals", ["+", ""], "/devices/0/terminals/1"),
        ("id", "", "/devices/0/id"),
        ("kind", "batery", "/devices/0/kind"),
    ],
)
def test_terminals_that_were_taken_out_are_not_missed_at_the_ends_of_wires(
    member: str, value: object, pointer: str
) -> None:
    data = bench_data()
    data["devices"][0][member] = value
    with pytest.raises(InputError) as caught:
        reference_from(data)

    assert [one for one, _ in problems_of(caught.value)] == [pointer]


def test_a_terminal_list_with_its_name_mistyped_is_one_fault() -> None:
    data = bench_data()
    data["devices"][0]["terminal"] = data["devices"][0].pop("terminals")
    with pytest.raises(InputError) as caught:
        reference_from(data)

    assert problems_of(caught.value) == [
        ("/devices/0/terminal", 'no member "terminal" is known here; did you mean "terminals"?')
    ]


def test_a_wire_that_is_wrong_beside_a_device_that_was_taken_out_is_still_told() -> None:
    data = bench_data()
    data["devices"][0]["colour"] = 7
    data["wires"][5]["to"] = "E1:59"
    with pytest.raises(InputError) as caught:
        reference_from(data)

    assert [one for one, _ in problems_of(caught.value)] == ["/devices/0/colour", "/wires/5/to"]
