"""A few wires in a table become the devices, the splices and the wires of a reference."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from harnessdiff.read.json_text import load_document
from harnessdiff.resources import shipped_references
from harnessdiff.tables.loader import assumed
from tests.read.table.making import BATTERY, DIAGRAMS, all_answered, entry, levels, made, refused, table
from tests.support import Json


@pytest.mark.parametrize("name", DIAGRAMS)
def test_wires_stay_as_they_were_typed(name: str) -> None:
    document, _ = made(*DIAGRAMS[name])

    assert len(document["wires"]) == len(DIAGRAMS[name])
    for typed, wire in zip(table(*DIAGRAMS[name]), document["wires"], strict=True):
        assert wire["from"].removesuffix(":1") == typed["from"].removesuffix(":1")
        assert wire["to"].removesuffix(":1") == typed["to"].removesuffix(":1")


@pytest.mark.parametrize(
    ("end", "kind"),
    [
        ("BAT1:+", "battery"), ("F3:in", "fuse_slot"), ("FL2:out", "fusible_link"), ("K1:30", "relay_socket"),
        ("S4:1", "switch"), ("E5:58", "lamp"), ("M6:+", "motor"), ("H1:1", "horn"), ("X7:1a", "inline_connector"),
        ("C7:12b", "inline_connector"), ("GND8", "ground_stud"), ("G101", "ground_stud"), ("G1:B+", "alternator"),
        ("LS1:+", "speaker"), ("R1:1", "resistor"), ("Y1:1", "coil"), ("A3:4", "module"), ("U3:4", "module"),
        ("E_left:1", "lamp"), ("Q9:1", "other"), ("OPEN:to the fuse box", "other"), ("BODY", "body"),
        ("ENGINE", "engine_block"),
    ],
)  # fmt: skip
def test_letters_tell_the_kind(end: str, kind: str) -> None:
    document, _ = made(f"| {end} | OPEN2:x")

    assert entry(document, end.partition(":")[0])["kind"] == kind


def test_letters_are_overruled_by_an_answer_in_a_persons_words() -> None:
    wires = ("| B1:1 | OPEN:x", "| K9:1 | OPEN:x", "| Q1 | OPEN:x")
    answers = {("B1", "kind"): "horn", ("K9", "kind"): "Joint block", ("Q1", "kind"): "ground point"}
    document, _ = made(*wires, answers=answers)

    assert [entry(document, one)["kind"] for one in ("B1", "K9", "Q1")] == ["horn", "joint_block", "ground_stud"]


def test_fuse_sits_in_a_slot_of_its_rating_and_an_unused_side_is_open() -> None:
    answers = {("F3", "rating_A"): "7,5 A", ("F3", "body"): "blade type C"}
    document, _ = made("| F3:out | E1:1", answers=answers)

    assert entry(document, "F3")["terminals"] == [
        {"name": "in", "side": "supply", "open_end": True}, {"name": "out", "side": "load"},
    ]  # fmt: skip
    assert entry(document, "F3")["legend_A"] == 7.5
    assert entry(document, "F3_FUSE") == {
        "id": "F3_FUSE", "kind": "fuse", "seat": "F3", "rating_A": 7.5, "body": "blade type C",
    }  # fmt: skip


def test_relay_sits_in_a_socket_whose_terminals_carry_what_its_contacts_do() -> None:
    answers = {("K1", "inside"): "86 to 85 coil 85 ohm; pulled: 30 to 87 joins 30 A"}
    document, _ = made("| OPEN:a | K1:30", "| K1:87 | OPEN:b", answers=answers)
    limits = {one["name"]: one["limit_A"] for one in entry(document, "K1")["terminals"]}

    assert entry(document, "K1_RELAY")["seat"] == "K1"
    assert limits == {
        "30": 30.0, "87": 30.0, "86": assumed("coil_terminal"), "85": assumed("coil_terminal"),
    }  # fmt: skip


def test_switch_rests_in_its_first_position_and_stands_as_said_in_a_state() -> None:
    wires = ("| OPEN:a | S1:1", "| S1:2 | OPEN:b")
    answers = {("S1", "inside"): "off; on: 1 to 2 joins 5 A", ("driving_night", "positions"): "S1 on"}
    document, _ = made(*wires, answers=answers)

    assert entry(document, "S1")["positions"] == ["off", "on"]
    assert entry(document, "S1")["rest_position"] == "off"
    assert entry(document, "driving_night")["positions"] == {"S1": "on"}
    assert "positions" not in entry(document, "cranking")


def test_a_button_is_at_rest_in_every_state_and_nobody_is_asked() -> None:
    answers = {("S1", "kind"): "button", ("S1", "inside"): "free; pressed: 1 to 2 joins 5 A"}
    _, questions = made("| OPEN:a | S1:1", "| S1:2 | OPEN:b", answers=answers)

    assert not [key for key in questions if key[1] == "positions"]


def test_connector_joins_the_two_sides_of_a_pin() -> None:
    document, questions = made("| OPEN:a | X1:1a", "| X1:1b | OPEN:b", answers={("X1", "limit_A"): "10"})
    (pin,) = entry(document, "X1")["parts"]
    assert ("X1", "goes_on") not in questions

    assert (pin["between"], pin["limit_A"], pin["when"]) == (["1a", "1b"], 10.0, {"position": ["mated"]})


def test_ground_point_is_bonded_to_the_body_that_is_added_once() -> None:
    document, _ = made("| GND1 | OPEN:a", "| GND2 | BODY")

    assert entry(document, "GND1")["bonds"][0]["to"] == "BODY:1"
    assert entry(document, "BODY")["kind"] == "body"


@pytest.mark.parametrize(("answer", "metal"), [("case", "BODY:1"), ("Engine", "ENGINE:1")])
def test_load_on_one_wire_may_ground_through_its_case(answer: str, metal: str) -> None:
    document, _ = made("| OPEN:a | H1:1", answers={("H1", "ground"): answer})

    assert entry(document, "H1")["bonds"][0] | {"resistance_ohm": 0} == {
        "terminal": "31",
        "to": metal,
        "resistance_ohm": 0,
    }
    assert [rule for _, rule, _ in levels(document)].count("ground_through_case") == 0


def test_engine_is_strapped_to_the_body_so_that_current_comes_back() -> None:
    wires = (*BATTERY, "W3 | F1:out | H1:1 | RD | 2.5 | 1 | horn | bay")
    answers = {
        ("H1", "ground"): "engine",
        ("H1", "inside"): "1 to 31 draws 4 A",
        ("BAT1", "inside"): "+ to - gives 12 V 60 Ah",
    }
    document, _ = made(*wires, answers=answers)

    assert "no_current" not in {rule for _, rule, _ in levels(document)}


def test_engine_that_the_table_straps_itself_gets_no_second_strap() -> None:
    document, _ = made("| H1:1 | OPEN:a", "| ENGINE | BODY", answers={("H1", "ground"): "engine"})

    assert "bonds" not in entry(document, "ENGINE")


def test_grounds_are_on_the_chassis_where_the_table_knows_no_body() -> None:
    document, _ = made("| BAT1:- | CHASSIS", "| GND1 | OPEN:a", "| OPEN:b | H1:1", answers={("H1", "ground"): "case"})

    assert {entry(document, one)["bonds"][0]["to"] for one in ("GND1", "H1")} == {"CHASSIS:1"}
    assert "BODY" not in {one["id"] for one in document["devices"]}


def test_grounds_are_not_on_an_engine_that_no_strap_joins_to_anything() -> None:
    document, _ = made("| H1:1 | ENGINE", "| GND1 | OPEN:a")

    assert entry(document, "GND1")["bonds"][0]["to"] == "BODY:1"


def test_what_lies_beyond_the_diagram_is_open_and_nobody_is_asked_about_it() -> None:
    document, questions = made("| OPEN:fuse box 30 | E1:1")

    assert entry(document, "OPEN")["terminals"] == [{"name": "fuse box 30", "open_end": True}]
    assert not [key for key in questions if key[0] == "OPEN"]


@pytest.mark.parametrize(
    ("circuit", "function"),
    [
        ("horn", "horn"), ("Rear fog lamp", "fog_rear"), ("brake lights", "brake_lamp"), ("stop lamps", "brake_lamp"),
        ("earth", "ground"), ("side lamp left", "side_lamp_left"), ("blower", "heater_blower"), ("C_HORN", "horn"),
        ("battery main", "battery_main"),
    ],
)  # fmt: skip
def test_function_follows_from_the_words_of_a_circuit(circuit: str, function: str) -> None:
    document, _ = made(f"| E1:1 | OPEN:a | | | | {circuit}")

    assert document["circuits"][0]["function"] == function


def test_one_name_is_one_zone_and_one_circuit_in_any_spelling() -> None:
    document, _ = made(
        "| E1:1 | OPEN:a | | | | horn | Dash left; Tür", "| E1:2 | OPEN:b | | | | Horn | dash-left > tür"
    )

    assert [(one["id"], one["name"]) for one in document["zones"]] == [("Z_DASH_LEFT", "Dash left"), ("Z_TÜR", "Tür")]
    assert len(document["circuits"]) == 1


@pytest.mark.parametrize(
    ("cells", "member", "value"),
    [
        ("RD/WH", "colour", {"base": "RD", "tracer": "WH"}), ("red-white", "colour", {"base": "RD", "tracer": "WH"}),
        ("| 1,5", "size_mm2", 1.5), ("| 0.75 mm²", "size_mm2", 0.75),
        ("| 18 AWG", "size_mm2", {"exact": 0.823, "as_entered": "18 AWG"}),
        ("| 2/0 awg", "size_mm2", {"exact": 67.431, "as_entered": "2/0 awg"}),
        ("| | 1.2 m", "length_m", 1.2),
    ],
)  # fmt: skip
def test_cells_of_a_wire_are_read_as_people_write_them(cells: str, member: str, value: Any) -> None:
    """18 AWG is 0.8230 mm² and 2/0 AWG 67.43 mm² by the formula of ASTM B258 (from memory)."""
    document, _ = made(f"W1 | E1:1 | OPEN:a | {cells}")

    assert entry(document, "W1")[member] == value


@pytest.mark.parametrize(
    ("wire", "message"),
    [
        ("| | OPEN:a", "column from: nothing is no end; write DEVICE:TERMINAL such as S1:2, a splice such as SP1, a"),
        ("| F1:1 | OPEN:a", "column from: F1 has F1:in (from the battery) and F1:out (to the load), not 1"),
        ("| F1 | OPEN:a", "column from: F1 has two sides: write F1:in (from the battery) or F1:out (to the load)"),
        ("| S1 | OPEN:a", "column from: S1 has terminals: write which, such as S1:1; a splice is written SP1"),
        ("| E3 | OPEN:a", "column from: E3 has terminals: write which, such as E3:1; a ground point GND3"),
        ("| X1:4 | OPEN:a", "column from: X1 has two sides: write X1:4a on the one and X1:4b on the other"),
        ("| SP1:1 | OPEN:a", "column from: SP1 is a splice and has no terminals; write SP1"),
        ("| GND1:2 | OPEN:a", "column from: GND1 is metal and has no terminals but 1; write GND1"),
        ("| E1:a b | OPEN:a", "column from: a b holds a blank or a semicolon; write the terminal as one word"),
        ("| A+B:1 | OPEN:a", "column from: A+B:1 is no end; write "),
        ("| E1:1 | OPEN:a | RT", 'column colour: RT is no colour; did you mean "'),
        ("| E1:1 | OPEN:a | RD/WH/BU", "column colour: RD/WH/BU has more than base and tracer"),
        ("| E1:1 | OPEN:a | | thick", "column size_mm2: thick is no size in mm²; write a number"),
        ("| E1:1 | OPEN:a | | 0", "column size_mm2: 0 is no size in mm²; write a number"),
        ("| E1:1 | OPEN:a | | | -1", "column length_m: -1 is no length in m; write a number"),
        ("| E1:1 | OPEN:a | | | | ?!", "column circuit: ?! holds what is no name; write words of at most 100 letters"),
        ("W~1 | E1:1 | OPEN:a", "column wire: W~1 is no name: 100 letters at most, none of : @ # ~ +"),
    ],
)  # fmt: skip
def test_cell_that_cannot_be_used_is_told_with_what_would_be_right(wire: str, message: str) -> None:
    (found,) = refused(wire)

    assert found.startswith(f"wires.csv:2: {message}")


def test_two_things_of_one_name_are_told() -> None:
    assert refused("W1 | E1:1 | OPEN:a", "W1 | E1:2 | OPEN:b") == [
        "wires.csv:3: column wire: the wire W1 is there already"
    ]
    (found,) = refused("E1 | E1:1 | OPEN:a")
    assert found.startswith("E1: two things have this name")


def test_alternator_is_no_ground_point_at_once() -> None:
    assert refused("| G1:B+ | OPEN:a", "| G1 | OPEN:b") == [
        "wires.csv:3: column from: G1 is written with a terminal and without one; write which"
    ]


# -- onto a base


def skeleton() -> Json:
    data: Json = load_document(shipped_references()["skeleton"]).data
    return data


def test_wires_are_added_to_a_skeleton_that_stays_as_it_was() -> None:
    base = skeleton()
    before = copy.deepcopy(base)
    document, answers = all_answered(
        "H | F3:out | E1:1 | RD | 1 | 2 | horn | dash", "I | E1:2 | GND9 | BN | 1 | 1 | ground | dash", base=base
    )

    assert base == before
    assert document["wires"][: len(base["wires"])] == base["wires"]
    assert document["extent"] == "skeleton"
    assert not [one for one in levels(document) if one[0] != "note"]
    assert ("vehicle", "system_voltage_V") not in answers


def test_open_end_of_the_base_that_a_wire_comes_to_is_open_no_more() -> None:
    document, _ = made("H | F3:out | OPEN:x", base=skeleton())
    open_ends = [
        one["name"] for one in entry(document, "F3")["terminals"] if isinstance(one, dict) and one.get("open_end")
    ]

    assert "out" not in open_ends


def test_terminal_that_a_device_of_the_base_has_not_is_told_with_those_it_has() -> None:
    (found,) = refused("H | F3:1 | OPEN:x", base=skeleton())

    assert "is there already and has no terminal 1; it has in, out" in found
