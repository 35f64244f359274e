"""Laws of all rules together: order, waivers, options, and what stands elsewhere."""

from __future__ import annotations

from copy import deepcopy
from random import Random
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.pipeline import lint
from tests.analyse.lint.sound import (
    Case,
    changed,
    draw,
    entry,
    feed,
    gains,
    loses,
    objected,
    plain_wire,
    sets,
    sound,
    told,
)
from tests.analyse.lint.test_rules import CASES
from tests.support import Json, between, filament, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.objection import Objection

LISTS = ("zones", "circuits", "conditions", "devices", "splices", "wires", "as_built", "options")
ELSEWHERE = loses("W13", "length_m")
"""A gap in a wire that no case speaks of."""
cases = st.sampled_from(CASES)


def faulty(one: Case) -> Json:
    """The case, and a gap elsewhere."""
    return changed(*one.changes, ELSEWHERE)


def linted(data: Json) -> tuple[Objection, ...]:
    return lint(reference_from(data))


def waived(data: Json, **waiver: str) -> Json:
    """The data with one more waiver."""
    found = deepcopy(data)
    found.setdefault("as_built", []).append({"because": "as the maker built it", **waiver})
    return found


def answered(found: tuple[Objection, ...]) -> list[tuple[str, str]]:
    return [(one.rule, one.element) for one in found if one.waived == "as the maker built it"]


@given(one=cases, random=st.randoms(use_true_random=False))
def test_the_order_of_a_file_changes_nothing(one: Case, random: Random) -> None:
    data = faulty(one)
    shuffled = {name: random.sample(part, len(part)) if name in LISTS else part for name, part in data.items()}

    assert linted(shuffled) == linted(data)


@given(one=cases)
def test_a_waiver_turns_exactly_its_objections_and_taking_it_out_brings_them_back(one: Case) -> None:
    data = faulty(one)
    before = told(linted(data))
    after = linted(waived(data, element=one.element))
    rest = [each for each in before if each[1] != one.element]

    assert told(after) == rest
    assert answered(after) == [each[:2] for each in before if each[1] == one.element]
    assert told(linted(data)) == before


@given(one=cases)
def test_a_waiver_with_a_rule_answers_that_rule_alone(one: Case) -> None:
    data = changed(*one.changes)
    right = linted(waived(data, element=one.element, rule=one.rule))
    other = "gap_zones" if one.rule != "gap_zones" else "gap_size"
    wrong = linted(waived(data, element=one.element, rule=other))

    assert answered(right) == [(one.rule, one.element)]
    assert told(right) == []
    assert answered(wrong) == []
    assert [each[:2] for each in told(wrong)] == sorted(
        [(one.rule, one.element), ("waiver_without_cause", one.element)]
    )


@given(one=cases)
def test_a_sound_thing_elsewhere_changes_nothing(one: Case) -> None:
    lamp = between("ELSE", "lamp", [filament("1", "2", 2)])
    wires = [plain_wire("ELSEa", "SP1", "ELSE:1"), plain_wire("ELSEb", "ELSE:2", "BODY:1")]

    assert objected(*one.changes, gains("devices", lamp), gains("wires", *wires)) == objected(*one.changes)


@given(one=cases)
def test_of_two_waivers_that_answer_the_same_none_is_without_cause(one: Case) -> None:
    data = waived(waived(changed(*one.changes), element=one.element), element=one.element, rule=one.rule)

    assert told(linted(data)) == []


# -- what a waiver speaks of


def test_a_waiver_of_a_device_answers_for_its_terminals() -> None:
    unknown = lambda data: entry(data, "K1")["terminals"][1].pop("limit_A")  # noqa: E731 - a change

    assert answered(linted(waived(changed(unknown), element="K1"))) == [("gap_terminal", "K1:87")]


def test_a_waiver_of_a_circuit_answers_for_its_wires_and_splices_and_no_other() -> None:
    data = changed(loses("W2", "size_mm2"), loses("WD1", "size_mm2"), gains("splices", {"id": "SP2", "circuit": "C"}))
    found = linted(waived(data, element="C"))

    assert answered(found) == [("gap_size", "W2"), ("lone_splice", "SP2")]
    assert [one[:2] for one in told(found)] == [("gap_size", "WD1")]


# -- options


OPTIONS = gains("options", *({"id": name, "name": name} for name in "abc"))
HEATER = between("R1", "heater", [draw("1", "2", 2)])
BROKEN = plain_wire("W99", "SP1", "R1:1")


@pytest.mark.parametrize(
    "option", [["a"], ["not:a"], ["a", "b"], ["a", "b", "c"], ["a", "not:b"], ["a", "b", "not:c"]], ids=" ".join
)
def test_what_cannot_be_in_some_vehicle_is_objected_to_whatever_options_that_takes(option: list[str]) -> None:
    """A heater without ground, that is there with some set of the options only."""
    used = [between(f"L{name}", "lamp", [filament("1", "2", 2)], option=[name]) for name in "abc"]
    wires = [plain_wire(f"L{name}{end}", *ends, option=[name]) for name in "abc" for end, ends in (
        ("x", ("SP1", f"L{name}:1")), ("y", (f"L{name}:2", "BODY:1")))]  # fmt: skip
    found = objected(
        OPTIONS,
        gains("devices", *used, HEATER | {"option": option}),
        gains("wires", *wires, BROKEN | {"option": option}),
    )

    assert [one[:2] for one in found] == [("no_current", "R1")]


def test_a_fault_that_every_option_mends_is_one_without_them_too() -> None:
    """A wire that only the smaller fuse of an option covers is not covered in the vehicle without it."""
    small, large = feed("FQ", 10)[1], feed("FQ", 30)[1] | {"id": "FQ_LARGE", "body": "blade type C"}
    held = {key: value for key, value in feed("FQ", 10)[0].items() if key != "legend_A"} | {"legend_A": 10}
    devices = [held, small | {"option": ["a"]}, large | {"option": ["not:a"]}, HEATER]
    wires = [plain_wire("WQ", "FQ:out", "R1:1"), plain_wire("WR", "R1:2", "BODY:1")]
    found = objected(gains("options", {"id": "a", "name": "a"}), gains("devices", *devices), gains("wires", *wires))

    assert [one[:2] for one in found] == [("rating_not_legend", "FQ_LARGE"), ("small_load_large_fuse", "WQ")]


def test_each_objection_comes_once_however_many_options_there_are() -> None:
    many = gains("options", *({"id": f"o{number}", "name": "x"} for number in range(20)))
    wires = [sets(f"W{number}", option=[f"o{number}"]) for number in range(2, 5)]
    found = objected(many, *wires, loses("W13", "size_mm2"))

    assert len(found) == len({one[:2] for one in found})


def test_an_option_and_the_reference_itself_can_be_waived() -> None:
    data = sound()
    data["options"] = [{"id": "tow", "name": "tow socket"}]
    del data["vehicle"]["system_voltage_V"]
    data["as_built"] = [
        {"element": "tow", "rule": "unused", "because": "listed for surveys"},
        {"element": "sound", "rule": "gap_vehicle", "because": "nobody wrote it down"},
    ]

    assert {(one.rule, one.element, one.waived is not None) for one in lint(reference_from(data))} == {
        ("unused", "tow", True),
        ("gap_vehicle", "sound", True),
    }
