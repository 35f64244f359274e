"""What a table leaves open is asked once, few things are asked, and no answer is lost."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.read.schema import accepts
from harnessdiff.read.table.cells import GREATEST_BYTES, MOST_ROWS
from harnessdiff.read.table.fragment import WIRE_COLUMNS
from harnessdiff.read.table.questions import MOST_ANSWERS, read_answers
from harnessdiff.report.question_table import question_table
from tests.read.table.making import BATTERY, DIAGRAMS, RELAY, all_answered, entry, levels, made, refused
from tests.support import reference_from

if TYPE_CHECKING:
    from pathlib import Path

    from harnessdiff.read.table.questions import Key


@pytest.mark.parametrize("name", DIAGRAMS)
def test_answering_everything_leaves_no_gap_and_no_error(name: str) -> None:
    document, _ = all_answered(*DIAGRAMS[name])

    assert levels(document) == []


@pytest.mark.parametrize("name", DIAGRAMS)
def test_answers_are_kept_when_asked_again_and_change_nothing(name: str) -> None:
    document, answers = all_answered(*DIAGRAMS[name])
    again, questions = made(*DIAGRAMS[name], answers={key: one for key, one in answers.items() if one})
    third = made(*DIAGRAMS[name], answers={key: one.answer for key, one in questions.items()})

    assert again == document
    assert {key: questions[key].answer for key in answers} == answers
    assert third == (document, questions)


@pytest.mark.parametrize("name", ["relay", "beyond", "blower"])
def test_little_is_asked(name: str) -> None:
    """Of a table that is full, no more than two things a device are open."""
    document, questions = made(*DIAGRAMS[name])
    cells = sum(one.what in WIRE_COLUMNS for one in questions.values())

    assert sum(not one.answer for one in questions.values()) - cells <= 2 + 2 * len(document["devices"])


def test_pin_that_the_table_has_one_side_of_goes_on_beyond_it_if_somebody_says_so() -> None:
    wire = "| OPEN:a | X1:1a"
    asked = made(wire)[1]["X1", "goes_on"]

    assert asked.question == "no wire comes to 1b: does the circuit go on there beyond the table? yes, or no"
    for answer, open_end in (("yes", {"name": "1b", "open_end": True}), ("no", "1b"), ("unknown", "1b")):
        document, _ = made(wire, answers={("X1", "goes_on"): answer})
        assert entry(document, "X1")["terminals"] == ["1a", open_end]


def test_places_are_assumed_where_all_wires_tell_the_same_and_asked_where_not() -> None:
    document, questions = made(*RELAY)

    assert entry(document, "K1")["zone"] == "Z_DASH"
    assert entry(document, "SP1")["zone"] == "Z_NOSE"
    assert questions["K1", "zone"].assumed
    assert questions["K1", "zone"].answer == "dash"
    _, parted = made("| E1:1 | OPEN:a | | | | | dash", "| E1:2 | OPEN:b | | | | | boot")
    assert (parted["E1", "zone"].answer, parted["E1", "zone"].question) == ("", "where it sits, such as dash or boot")


def test_place_that_is_said_counts_more_than_the_one_assumed() -> None:
    document, questions = made(*RELAY, answers={("K1", "zone"): "under the seat"})

    assert entry(document, "K1")["zone"] == "Z_UNDER_THE_SEAT"
    assert not questions["K1", "zone"].assumed


def test_unknown_closes_a_question_and_assumes_nothing() -> None:
    document, questions = made(*RELAY, answers={("K1", "zone"): "unknown", ("F1", "rating_A"): "Unknown"})

    assert "zone" not in entry(document, "K1")
    assert "rating_A" not in entry(document, "F1_FUSE")
    assert questions["F1", "rating_A"].answer == "Unknown"


def test_function_that_words_do_not_tell_is_asked_with_the_nearest() -> None:
    document, questions = made("| E1:1 | OPEN:a | | | | rear module")
    question = questions["C_REAR_MODULE", "function"]

    assert (question.answer, document["circuits"][0]["function"]) == ("", "other")
    assert question.question.startswith("what the circuit does, such as fog_rear or rear_defog; one of: battery_main, ")


def test_empty_cell_is_asked_for_and_the_answer_fills_it() -> None:
    _, questions = made("W1 | E1:1 | OPEN:a")
    document, _ = made("W1 | E1:1 | OPEN:a", answers={("W1", "length_m"): "1,2", ("W1", "zones"): "dash; bay"})

    assert {what for about, what in questions if about == "W1"} == set(WIRE_COLUMNS[3:])
    assert (entry(document, "W1")["length_m"], entry(document, "W1")["zones"]) == (1.2, ["Z_DASH", "Z_BAY"])


def test_answer_about_a_cell_that_was_filled_in_since_must_say_the_same() -> None:
    wire = "W1 | E1:1 | OPEN:a | | 1.5"

    assert entry(made(wire, answers={("W1", "size_mm2"): "1.5"})[0], "W1")["size_mm2"] == 1.5
    assert refused(wire, answers={("W1", "size_mm2"): "2.5"}) == [
        "answers.csv:2: column answer: 2.5, and the table of wires has 1.5; correct one of them"
    ]


@pytest.mark.parametrize(
    ("key", "answer", "message"),
    [
        (("F1", "rating_A"), "ten", "column answer: ten is no number greater than 0"),
        (("F1", "rating_A"), "0", "column answer: 0 is no number greater than 0"),
        (("K1", "kind"), "horrn", 'column answer: horrn is no kind of device; did you mean "horn"?'),
        (("vehicle", "ground_polarity"), "negativ",
         'column answer: negativ is none of negative, positive; did you mean "negative"?'),
        (("K1", "insde"), "x",
         'column what: insde of K1 is not asked about; did you mean "inside"?; or take the row out'),
        (("KK1", "inside"), "x", 'column about: there is no KK1 to ask about; did you mean "K1"?; or take the row out'),
        (("S1", "inside"), "on: 1 to 2 jons 3 A",
         "column answer: “on: 1 to 2 jons 3 A” is not understood; write it as off; on: 1 to 2 joins 16 A"),
        (("F1", "body"), "x" * 61, "column answer: at most 60 letters"),
    ],
)  # fmt: skip
def test_answer_that_cannot_be_used_is_refused_with_the_nearest_word(key: Key, answer: str, message: str) -> None:
    assert refused(*RELAY, answers={key: answer}) == [f"answers.csv:2: {message}"]


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ("S2 on", 'there is no switch S2; did you mean "S1"?'),
        ("S1 onn", "S1 has no position onn; it has off, on"),
        ("S1", "S1 has no position nothing; it has off, on"),
    ],
)
def test_position_that_is_not_there_is_told(said: str, message: str) -> None:
    answers = {("S1", "inside"): "off; on: 1 to 2 joins 5 A", ("cranking", "positions"): said}

    assert refused(*RELAY, answers=answers) == [f"answers.csv:3: column answer: {message}"]


def test_empty_answer_to_what_nobody_asks_is_passed_over() -> None:
    made(*RELAY, answers={("gone", "inside"): "", ("K1", "colour"): ""})


def test_lead_to_the_first_fuse_is_assumed_to_run_unfused_and_other_notes_are_asked() -> None:
    answers = {("BAT1", "inside"): "+ to - gives 12 V 60 Ah"}
    document, questions = made(*BATTERY, "W3 | BAT1:+ | OPEN:x | RD | 2.5 | 1 | horn | bay", answers=answers)

    assert questions["W1", "as_built unfused"].assumed
    assert questions["W3", "as_built unfused"].answer == ""
    assert [one["element"] for one in document["as_built"]] == ["W1"]


def test_one_question_has_one_answer_and_an_empty_row_takes_none_away(tmp_path: Path) -> None:
    path = tmp_path / "answers.csv"
    path.write_text("about,what,answer\nF1,body,\nF1,body,glass\nF1,body,glass\nF1,body,\n", encoding="utf-8")

    assert [row["answer"] for row in read_answers(path).values()] == ["glass"]
    with path.open("a", encoding="utf-8") as stream:
        stream.write("F1,body,blade\nF1,body,bolt\n")
    with pytest.raises(InputError) as raised:
        read_answers(path)
    assert [str(one) for one in raised.value.problems] == [
        f"{path}:6: column answer: F1 body is answered otherwise on line 4",
        f"{path}:7: column answer: F1 body is answered otherwise on line 6",
    ]


def test_longest_table_of_wires_asks_no_more_than_is_read_back() -> None:
    wires = [f"| S{number}:1 | X{number}:1a | | | | circuit {number} | place {number}" for number in range(40)]
    _, questions = made(*wires)

    assert len(questions) * MOST_ROWS / len(wires) < MOST_ANSWERS
    assert len(question_table(tuple(questions.values()))) * MOST_ROWS / len(wires) < GREATEST_BYTES


def test_words_that_fit_two_functions_tell_neither() -> None:
    _, questions = made("| E1:1 | OPEN:a | | | | side lamps left and right")

    assert questions["C_SIDE_LAMPS_LEFT_AND_RIGHT", "function"].answer == ""


def test_switch_whose_name_begins_like_another_is_told_from_it() -> None:
    wires = ("| S1:1 | OPEN:a", "| S1 b:1 | OPEN:b")
    inside = {(own, "inside"): "off; on: 1 to 2 joins 5 A" for own in ("S1", "S1 b")}
    document, _ = made(*wires, answers=inside | {("cranking", "positions"): "S1 b on"})

    assert entry(document, "cranking")["positions"] == {"S1 b": "on"}


# -- any table

ends = st.sampled_from(
    ["BAT1:+", "BAT1:-", "F1:in", "F1:out", "FL1:out", "K1:30", "K1:87", "S1:1", "S1:2", "SP1", "SP2", "GND1", "BODY",
     "ENGINE", "X1:1a", "X1:1b", "E1:1", "E1:31", "Q1:x", "OPEN:x", "G1:B+", "M1:=1", "U1:out"]
)  # fmt: skip
rows = st.lists(
    st.tuples(
        ends, ends, st.sampled_from(["", "RD", "red-white", "unknown"]), st.sampled_from(["", "1.5", "0,5", "18 AWG"]),
        st.sampled_from(["", "1.2 m"]), st.sampled_from(["", "horn", "rear", "=1", "unknown"]),
        st.sampled_from(["", "dash; bay", "Tür", "unknown"]),
    ),
    max_size=8,
)  # fmt: skip


@settings(max_examples=60)
@given(rows)
def test_every_document_that_is_made_is_accepted_and_read(wires: list[tuple[str, ...]]) -> None:
    document, questions = made(*(" | ".join(("", *wire)) for wire in wires))

    assert accepts("reference", document)
    reference_from(document)
    assert len(document["wires"]) == len(wires)
    assert all(one.question and one.about and one.what for one in questions.values())


@settings(max_examples=25)
@given(st.lists(st.tuples(ends, ends), min_size=1, max_size=6))
def test_answering_everything_leaves_no_gap_in_any_table(wires: list[tuple[str, str]]) -> None:
    typed = [f"N{number} | {one} | {other} | RD | 2.5 | 1 | horn | bay" for number, (one, other) in enumerate(wires)]
    document, _ = all_answered(*typed)

    assert [one for one in levels(document) if one[0] == "gap"] == []


@given(st.lists(st.lists(st.text(max_size=12), min_size=2, max_size=8), max_size=5))
def test_any_cells_are_used_or_refused(wires: list[list[str]]) -> None:
    try:
        document, _ = made(*(" | ".join(["", *wire]) for wire in wires))
    except InputError:
        return
    assert accepts("reference", document)
