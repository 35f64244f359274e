"""The list that a person reads and the rows that a machine reads say the same objections."""

from __future__ import annotations

import json
import re

import pytest

from harnessdiff.model.objection import Objection
from harnessdiff.pipeline import lint
from harnessdiff.report.objections import (
    MOST_OF_A_RULE,
    mend_of,
    message_of,
    objection_list,
    objection_rows,
    open_errors,
    rules,
    waiver_of,
)
from harnessdiff.report.wrapping import WIDTH
from tests.analyse.lint.sound import Change, changed, entry, gains, gone, loses, part_loses, plain_wire
from tests.support import Json, between, filament, reference_from

NO_GROUND = gone("W16")
NO_SIZE = loses("W13", "size_mm2")


def listed(data: Json, *, everything: bool = False) -> list[str]:
    reference = reference_from(data)
    return objection_list(reference, lint(reference), {}, everything=everything).split("\n")


def lamps(number: int) -> Change:
    """A change: so many lamps without ground."""
    return lambda data: [
        (
            data["devices"].append(between(f"L{one:02}", "lamp", [filament("1", "2", 1)])),
            data["wires"].append(plain_wire(f"LW{one:02}", "SP1", f"L{one:02}:1")),
        )
        for one in range(number)
    ]


def waived(element: str, because: str = "the maker built it so") -> Change:
    """A change: everything about an element is waived."""
    return gains("as_built", {"element": element, "because": because})


def test_a_sound_reference_is_told_in_one_line() -> None:
    assert listed(changed()) == ["sound: 0 errors, 0 notes, 0 gaps; 0 waived as built"]


def test_one_of_each_level_is_told_as_it_stands_here() -> None:
    unfused = gains("wires", plain_wire("W99", "BAT:+", "H9:1"), plain_wire("W98", "H9:2", "BODY:1"))
    horn = gains("devices", between("H9", "horn", [filament("1", "2", 20)]))

    assert listed(changed(NO_GROUND, NO_SIZE, unfused, horn)) == [
        "sound: 1 error, 1 note, 1 gap; 0 waived as built",
        "",
        "Errors (cannot be)",
        "  lamp (E2): no current can flow: there is no way from a source through it and back; look beyond",
        "      E2:2",
        "    mend: add what is missing there: feed, ground, contact or fuse; or turn the diode round",
        "        [no_current]",
        "",
        "Notes (worth a look, or a waiver)",
        "  W99 RD/WH 1 mm²: live with no fuse between it and a source",
        "    mend: none needed where the maker built it so  [unfused]",
        "",
        "Gaps (missing before it can be computed)",
        "  W13 RD/WH: size not known",
        "    add: size_mm2 (before protection and drop can be told)  [gap_size]",
        "",
        "What the maker built so goes under as_built, with the reason; for the first of these:",
        '  {"element": "E2", "rule": "no_current", "because": "…"}',
    ]


def test_a_place_in_the_file_stands_first() -> None:
    reference = reference_from(changed(NO_SIZE))
    lines = objection_list(reference, lint(reference), {"W13": ("/wires/12", 7, 5)}).split("\n")

    assert "  7:5: W13 RD/WH: size not known" in lines


def test_the_words_for_a_member_are_those_that_are_typed() -> None:
    """A terminal called + is no empty word, and resistance_ohm keeps its underscore."""
    lines = "\n".join(listed(changed(part_loses("BAT", 0, "internal_ohm"), part_loses("S1", 0, "resistance_ohm"))))

    assert "source between + and -: internal_ohm not known" in lines
    assert "contact between 1 and 2: resistance_ohm not known" in lines
    assert "add: resistance_ohm (before protection and drop can be told)  [gap_link]" in lines


def test_all_that_is_missing_is_to_be_added_not_one_of_it() -> None:
    lines = "\n".join(listed(changed(part_loses("BAT", 0, "internal_ohm", "capacity_Ah", "voltage_V"))))

    assert "add: capacity_Ah, internal_ohm, voltage_V (before" in lines


@pytest.mark.parametrize("number", [MOST_OF_A_RULE - 1, MOST_OF_A_RULE, MOST_OF_A_RULE + 1, 30])
def test_more_than_a_few_alike_are_counted_and_all_are_listed_where_wanted(number: int) -> None:
    data = changed(lamps(number))
    short, long = listed(data), listed(data, everything=True)
    shown = [line for line in short if line.startswith("  lamp (L")]
    more = [line for line in short if "more like it" in line]

    assert len(shown) == min(number, MOST_OF_A_RULE)
    expected = [f"  and {number - MOST_OF_A_RULE} more like it (--all lists them)"] if number > MOST_OF_A_RULE else []
    assert more == expected
    assert len([line for line in long if line.startswith("  lamp (L")]) == number
    assert not any("more like it" in line for line in long)
    assert short[0] == long[0] == f"sound: {number} errors, 0 notes, 0 gaps; 0 waived as built"


def test_what_is_waived_is_counted_and_listed_with_its_reason_where_wanted() -> None:
    data = changed(NO_GROUND, waived("E2", "grounded by the bracket"))

    assert listed(data) == ["sound: 0 errors, 0 notes, 0 gaps; 1 waived as built"]
    assert " ".join(listed(data, everything=True)[2:]).endswith("look beyond       E2:2: grounded by the bracket")
    assert listed(data, everything=True)[2] == "Waived, as built"


def test_only_what_a_waiver_may_name_is_offered_one() -> None:
    """A gap is to be filled, and a waiver without cause to be taken out."""
    stale = gains("as_built", {"element": "W2", "because": "old"})
    lines = listed(changed(NO_SIZE, stale))

    assert not any("as_built" in line for line in lines)
    assert lines[0] == "sound: 0 errors, 1 note, 1 gap; 0 waived as built"


def test_the_offered_waiver_can_be_pasted() -> None:
    data = changed(NO_GROUND)
    data["as_built"] = [json.loads(listed(data)[-1]) | {"because": "grounded by the bracket"}]

    assert listed(data)[0] == "sound: 0 errors, 0 notes, 0 gaps; 1 waived as built"


def test_no_line_is_longer_than_a_page_shows_or_holds_what_steers_a_terminal() -> None:
    def named(data: Json) -> None:
        entry(data, "E2")["name"] = "lamp \x1b[31m" + "of the third row of seats " * 6

    lines = listed(changed(NO_GROUND, NO_SIZE, lamps(12), named), everything=True)

    assert max(map(len, lines)) <= WIDTH
    assert not re.search(r"[\x00-\x1f\x7f]", "".join(lines))


def test_rows_hold_everything_in_its_parts() -> None:
    found = lint(reference_from(changed(NO_SIZE, waived("W13", "cut away"))))

    assert objection_rows(found, {"W13": ("/wires/12", 7, 5)}) == [
        {
            "rule": "gap_size",
            "level": "gap",
            "element": "W13",
            "message": "size not known",
            "mend": "size_mm2",
            "needed_for": ["protection", "drop"],
            "source": rules()["gap_size"].source,
            "waived": "cut away",
            "pointer": "/wires/12",
            "line": 7,
            "column": 5,
        }
    ]


def test_a_row_without_a_place_says_so() -> None:
    (row,) = objection_rows((Objection.to("W2", "gap_size"),), {})

    assert (row["pointer"], row["line"], row["column"]) == (None, None, None)


def test_only_errors_that_nobody_waives_are_open() -> None:
    error = Objection.to("E2", "no_current", device="E2", ends=("E2:1",))
    waived_error = Objection(element="E3", fact=error.fact, waived="so built")
    found = (error, waived_error, Objection.to("W1", "unfused"), Objection.to("W1", "gap_size"))

    assert open_errors(found) == (error,)


def test_many_names_are_shortened_and_numbers_have_no_tail() -> None:
    many = Objection.to("X1", "cavity_twice", cavity="1", terminals=tuple("abcdef"))
    fuse = Objection.to("F1", "no_such_fuse", rating_A=9.0, body="blade type C")

    assert message_of(many) == "cavity 1 holds a, b, c, d and 2 more"
    assert message_of(fuse) == "no blade type C fuse is made with 9 A"
    assert mend_of(fuse) == "correct rating or body"


def test_a_waiver_is_json_whatever_the_id() -> None:
    odd = Objection.to('W "2" ü', "unfused")

    assert json.loads(waiver_of(odd)) == {"element": 'W "2" ü', "rule": "unfused", "because": "…"}
    assert "ü" in waiver_of(odd)
