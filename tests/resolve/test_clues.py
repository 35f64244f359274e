"""What a clue means: exactly one element, a choice of all that fit, or nothing, which is then said plainly."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.edit import Attached, edited
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.rating import level_rank
from tests.strategies import references
from tests.support import Json, as_found_from, case_from, codes, found, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.edit import AsFound
    from harnessdiff.model.reference import Reference

GREY = {"base": "GY", "tracer": "RD"}

WIRES: list[tuple[str, Json, set[str]]] = [
    ("colour", {"colour": GREY}, {"W11", "W12", "W13"}),
    ("colour of one", {"colour": {"base": "WH", "tracer": "BK"}}, {"W43"}),
    ("no tracer said is no tracer", {"colour": {"base": "YE"}}, {"W51"}),
    ("tracer not made out", {"colour": {"base": "YE", "tracer": "unknown"}}, {"W50", "W51", "W52"}),
    ("colour in another code", {"colour": {"base": "sw", "tracer": "ge", "code_system": "DIN 72551"}}, {"W21"}),
    ("size", {"size_mm2": 10}, {"W1", "W2"}),
    ("size as a range", {"size_mm2": {"min": 1.3, "max": 2.5}}, {"W20", "W21", "W22"}),
    ("size as a least value", {"size_mm2": {"min": 12}}, {"W3"}),
    ("size as one of two", {"size_mm2": {"one_of": [10, 16]}}, {"W1", "W2", "W3"}),
    ("size by gauge", {"size_mm2": {"min": 14, "max": 16, "unit": "AWG"}}, {"W20", "W21", "W22"}),
    ("plug", {"connector": "X1"}, {"W12", "W14"}),
    ("plug and cavity", {"connector": "X1", "cavities": ["1"]}, {"W12"}),
    ("plug and one of two cavities", {"connector": "X1", "cavities": ["1", "2"]}, {"W12", "W14"}),
    ("in-line connector", {"connector": "XC1"}, {"W31", "W32"}),
    ("in-line connector and cavity", {"connector": "XC1", "cavities": ["1"]}, {"W31", "W32"}),
    ("device", {"device": "H1"}, {"W21"}),
    ("device and terminal", {"device": "K1", "cavities": ["86"]}, {"W22"}),
    ("zone", {"zone": "Z_SILL"}, {"W11", "W31", "W32"}),
    ("circuit", {"circuit": "C_STOP"}, {"W30", "W31", "W32"}),
    ("function", {"function": "radio"}, {"W40"}),
    ("fuse", {"fuse": "F3"}, {"W30", "W31", "W32"}),
    ("fuse with two branches", {"fuse": "F4"}, {"W40", "W42", "W43"}),
    ("what it feeds", {"feeds": "E3"}, {"W30", "W31", "W32"}),
    ("colour and zone", {"colour": GREY, "zone": "Z_SILL"}, {"W11"}),
    ("colour and plug", {"colour": GREY, "connector": "X1"}, {"W12"}),
    ("fuse and size and colour", {"fuse": "F4", "size_mm2": 0.5, "colour": {"base": "RD"}}, {"W40"}),
    ("a colour that is not there", {"colour": {"base": "PK"}}, set()),
    ("a size that is not there", {"size_mm2": {"min": 20, "max": 25}}, set()),
    ("things that do not go together", {"circuit": "C_STOP", "zone": "Z_BAY"}, set()),
]  # fmt: skip
TERMINALS: list[tuple[str, Json, set[str]]] = [
    ("plug and cavity", {"connector": "X1", "cavities": ["1"]}, {"E1:58"}),
    ("plug", {"connector": "X1"}, {"E1:58", "E1:31"}),
    ("device", {"device": "S3"}, {"S3:1", "S3:2"}),
    ("device and terminal", {"device": "K1", "cavities": ["30", "87"]}, {"K1:30", "K1:87"}),
    ("device and colour of the wire", {"device": "S3", "colour": {"base": "BK", "tracer": "RD"}}, {"S3:2"}),
    ("circuit of the wire", {"circuit": "C_SIDE"}, {"F1:out", "S1:30", "S1:58", "E1:58", "E2:58"}),
    ("zone", {"zone": "Z_SILL"}, {"XC1:1a", "XC1:1b"}),
    ("fuse", {"fuse": "F3", "device": "E3"}, {"E3:54"}),
    ("a cavity that is not there", {"connector": "X1", "cavities": ["7"]}, set()),
]  # fmt: skip


def tapped(as_found: AsFound) -> set[str]:
    """What the joint of the tap ``t`` may sit on or at."""
    ways = [as_found.edits] if not as_found.choices else [one.edits for one in as_found.choices[0].alternatives]
    return {
        edit.incidence.target
        for edits in ways
        for edit in edits
        if isinstance(edit, Attached) and edit.incidence.subject == "+t.joint"
    }


@pytest.mark.parametrize(("clue", "wires"), [row[1:] for row in WIRES], ids=[row[0] for row in WIRES])
def test_wires_that_fit_are_all_that_fit_everything_said(bench: Reference, clue: Json, wires: set[str]) -> None:
    as_found = as_found_from(bench, {"kind": "tap", "id": "t", "on": {"wire": clue}})

    assert tapped(as_found) == wires


@pytest.mark.parametrize(("clue", "terminals"), [row[1:] for row in TERMINALS], ids=[row[0] for row in TERMINALS])
def test_terminals_that_fit_are_all_that_fit_everything_said(bench: Reference, clue: Json, terminals: set[str]) -> None:
    as_found = as_found_from(bench, {"kind": "tap", "id": "t", "on": {"terminal": clue}})

    assert tapped(as_found) == terminals


def test_one_that_fits_is_resolved(bench: Reference) -> None:
    by_clue = as_found_from(bench, {"kind": "tap", "id": "t", "on": {"wire": {"device": "H1"}}})
    by_name = as_found_from(bench, {"kind": "tap", "id": "t", "on": {"wire": "W21"}})

    assert by_clue.choices == ()
    assert by_clue.edits == by_name.edits


def test_several_that_fit_are_a_choice_of_all(bench: Reference) -> None:
    as_found = as_found_from(bench, {"kind": "tap", "id": "t", "on": {"wire": {"colour": GREY}}})
    (choice,) = as_found.choices

    assert choice.observation == "t"
    assert [one.label for one in choice.alternatives] == ["W11", "W12", "W13"]
    assert [one.elements for one in choice.alternatives] == [("W11",), ("W12",), ("W13",)]
    assert as_found.unresolved == ()


def test_several_that_fit_are_rated_over_all_and_a_check_settles_it(bench: Reference) -> None:
    """The brake lamp's wire and the side lamps' are rated alone, then together under one clue."""
    joint = {"type": "threaded_tap", "cover": "none"}
    clue = {"size_mm2": 0.75, "zone": "Z_SILL"}
    line = {"kind": "tap", "id": "t", "zone": "Z_SILL", "joint": joint, "lead": {"size_mm2": 0.75}}
    line |= {"to": {"device": {"kind": "beeper"}, "pin": "+", "joint": {"type": "plug_in"}}}
    both = found(case_from(bench, line | {"on": {"wire": clue}}), "tap")
    alone = [found(case_from(bench, line | {"on": {"wire": one}}), "tap") for one in ("W11", "W31", "W32")]

    assert {one.label: (one.best, one.worst) for one in both.possibilities} == {
        name: (one.rating.best, one.rating.worst) for name, one in zip(("W11", "W31", "W32"), alone, strict=True)
    }
    assert both.rating.best == min((one.rating.best for one in alone), key=level_rank)
    assert both.rating.worst == max((one.rating.worst for one in alone), key=level_rank)
    assert len({one.rating.worst for one in alone}) > 1
    assert "ring_out" in {check.code for check in both.checks}


def test_nothing_that_fits_is_said_plainly_and_the_tap_is_kept(bench: Reference) -> None:
    case = case_from(bench, {"kind": "tap", "id": "t", "zone": "Z_DASH", "on": {"wire": {"colour": {"base": "PK"}}}})
    (plain,) = case.findings.plain
    finding = found(case, "tap")

    assert (plain.observation, plain.reason, plain.clue) == ("t", "nothing_fits", "PK")
    assert finding.observations == ("t",)
    assert "place_unknown" in codes(finding)
    assert finding.rating.flagged


def test_wire_that_is_gone_is_no_candidate(bench: Reference) -> None:
    gone = {"kind": "missing", "id": "m", "wire": "W13"}
    as_found = as_found_from(bench, gone, {"kind": "tap", "id": "t", "on": {"wire": {"colour": GREY}}})

    assert tapped(as_found) == {"W11", "W12"}


def test_candidate_that_is_there_already_was_not_moved(bench: Reference) -> None:
    """Of the two wires in the plug W14 ends at the stud anyway: if it is the one, nothing changed."""
    line = {"kind": "moved", "id": "m", "wire": {"connector": "X1"}, "end": 2, "to": {"terminal": "GND1:1"}}
    as_found = as_found_from(bench, line)
    moved, stayed = (edited(bench.harness, one.edits) for one in as_found.resolutions(2))

    assert moved.targets("W12", "end_2") == ("GND1:1",)
    assert stayed == bench.harness


LINES: dict[str, Json] = {
    "tap": {"kind": "tap", "on": {"wire": {}}},
    "insertion": {"kind": "insertion", "in": {"wire": {}}, "device": {"kind": "other"}},
    "bridge": {"kind": "bridge", "from": {"wire": {}}, "to": {"metal": "body"}},
    "repair": {"kind": "repair", "wire": {}},
    "cut": {"kind": "cut", "wire": {}},
    "joint": {"kind": "joint", "members": [{"wire": {}}]},
    "substitution": {"kind": "substitution", "wire": {}, "fitted": {"size_mm2": 0.35}},
    "missing": {"kind": "missing", "wire": {}},
    "moved": {"kind": "moved", "wire": {}, "end": 2, "to": {"terminal": "GND2:1"}},
    "damage": {"kind": "damage", "on": [{"wire": {}}], "damage": "chafed"},
    "other": {"kind": "other", "on": [{"wire": {}}]},
    "lead": {"kind": "lead", "end_1": {"terminal": {}}, "end_2": {"not_traced": True}},
}


def with_clue(value: Json, clue: Json) -> Json:
    """The line with `clue` in place of the empty one."""

    def filled(one: object) -> object:
        if one == {}:
            return clue
        if isinstance(one, dict):
            return {name: filled(inner) for name, inner in one.items()}
        return [filled(inner) for inner in one] if isinstance(one, list) else one

    return {name: filled(inner) for name, inner in value.items()} | {"id": "o", "zone": "Z_TAIL"}


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_every_kind_of_line_takes_a_clue_that_several_fit(bench: Reference, line: Json) -> None:
    (choice,) = as_found_from(bench, with_clue(line, {"connector": "X1"})).choices
    fitting = ["E1:31", "E1:58"] if line["kind"] == "lead" else ["W12", "W14"]

    assert [one.label for one in choice.alternatives] == fitting


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_finding_of_a_line_that_several_fit_is_rated_over_all(bench: Reference, line: Json) -> None:
    findings = case_from(bench, with_clue(line, {"connector": "X1"})).findings.findings
    fitting = {"E1:31", "E1:58"} if line["kind"] == "lead" else {"W12", "W14"}
    rated = [{one.label for one in finding.possibilities} for finding in findings if "o" in finding.observations]

    assert fitting in rated


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_every_kind_of_line_says_plainly_that_nothing_fits(bench: Reference, line: Json) -> None:
    case = case_from(bench, with_clue(line, {"colour": {"base": "PK"}}))

    assert [(one.observation, one.reason) for one in case.findings.plain] == [("o", "nothing_fits")]


@given(st.data())
def test_a_true_clue_never_loses_its_wire_and_more_said_never_fits_more(data: st.DataObject) -> None:
    """Whatever is said truly of a wire, it is among those that fit; each thing said narrows."""
    reference = reference_from(data.draw(references()))
    wire = data.draw(st.sampled_from(reference.harness.conductors()))
    said = data.draw(st.permutations(sorted(truths(reference, wire.id).items())))
    clue: Json = {}
    before = {one.id for one in reference.harness.conductors()}
    for name, value in said:
        clue[name] = value
        fitting = tapped(as_found_from(reference, {"kind": "tap", "id": "t", "on": {"wire": clue}}))
        assert wire.id in fitting
        assert fitting <= before
        before = fitting


def truths(reference: Reference, wire_id: str) -> Json:
    """Everything that can be said truly of a wire."""
    harness = reference.harness
    wire = harness.conductor(wire_id)
    assert wire is not None
    assert wire.colour is not None
    ends = [end for end in harness.targets(wire_id, "end_1", "end_2") if harness.joint(end) is None]
    said: Json = {
        "colour": {"base": wire.colour.base, "tracer": wire.colour.tracer or "unknown"},
        "size_mm2": {"min": wire.size_mm2.low, "max": wire.size_mm2.high},
        "circuit": wire.circuit,
        "function": reference.function_of(wire.circuit),
    }
    if ends:
        said["device"] = harness.device_of(ends[0])
    if wire.zones:
        said["zone"] = wire.zones[0]
    if wire.circuit is not None and wire.circuit not in ("C_MAIN", "C_GND"):
        said["fuse"] = f"F{wire.circuit.removeprefix('C')}"
    return said


QUANTITIES = [
    (Quantity.exactly(0.5), Quantity.exactly(0.5), True),
    (Quantity.exactly(0.5), Quantity.exactly(0.75), False),
    (Quantity(low=0.5, high=1.0), Quantity.exactly(1.0), True),
    (Quantity(low=0.5, high=1.0), Quantity(low=1.0, high=2.0), True),
    (Quantity(low=0.5, high=1.0), Quantity(low=1.1, high=2.0), False),
    (Quantity(low=0.5), Quantity(high=0.4), False),
    (Quantity(low=0.5, high=1.0, one_of=(0.5, 1.0)), Quantity.exactly(0.75), False),
    (Quantity(low=0.5, high=1.0, one_of=(0.5, 1.0)), Quantity(low=0.6, high=2.0), True),
    (Quantity(), Quantity.exactly(4.0), True),
]


@pytest.mark.parametrize(("one", "other", "may"), QUANTITIES)
def test_sizes_fit_where_both_may_be_the_same(one: Quantity, other: Quantity, may: bool) -> None:
    assert (one.may_equal(other), other.may_equal(one)) == (may, may)
