"""A shorthand and its spelling in nouns give the same as-found harness."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.canonical import canonical
from harnessdiff.model.edit import edited
from harnessdiff.model.harness import Conductor, Cut, Device, Joint
from harnessdiff.resolve.shorthand import wire_ends_at
from tests.spelling import SHORTHAND, in_nouns, spelled_out
from tests.strategies import plantings, references
from tests.support import Json, as_found_from, case_from, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.edit import AsFound
    from harnessdiff.model.reference import Reference

CRIMP = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}
TWIST = {"type": "twisted", "cover": "tape"}
LEAD = {"colour": {"base": "RD"}, "size_mm2": 0.5, "length_m": 0.8}
TOGGLE = {
    "kind": "switch",
    "label": "hidden toggle",
    "positions": ["off", "on"],
    "rest_position": "on",
    "contents": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}],
}

LINES: dict[str, Json] = {
    "tap, nothing known of it": {"kind": "tap", "id": "s", "zone": "Z_DASH", "note": "out of reach"},
    "tap on a wire, not traced": {"kind": "tap", "id": "s", "on": {"wire": "W12"}},
    "tap on a wire, all said": {
        "kind": "tap",
        "id": "s",
        "zone": "Z_TAIL",
        "kit": "tow kit",
        "note": "green",
        "on": {"wire": "W12", "at": {"from_end": 2, "distance_m": 0.1}},
        "joint": TWIST,
        "lead": LEAD,
        "to": {"device": {"kind": "beeper", "terminals": ["+", "-"]}, "pin": "+"},
    },
    "tap on a wire of which only the colour is known": {
        "kind": "tap",
        "id": "s",
        "on": {"wire": {"colour": {"base": "GY", "tracer": "RD"}}},
        "joint": TWIST,
    },
    "tap on a terminal, to the body": {
        "kind": "tap",
        "id": "s",
        "on": {"terminal": "BAT:+"},
        "to": {"metal": "body", "joint": {"type": "under_screw", "fixing": "trim_screw"}},
    },
    "tap to a loose end": {
        "kind": "tap",
        "id": "s",
        "on": {"wire": "W40"},
        "to": {"loose": {"treatment": "taped", "live_in": ["asleep"]}},
    },
    "insertion into a wire": {
        "kind": "insertion",
        "id": "s",
        "zone": "Z_DASH",
        "kit": "cut-out",
        "in": {"wire": "W30", "at": {"near_end": 2}},
        "removed_m": 0.05,
        "joints": [CRIMP, TWIST],
        "leads": [LEAD, LEAD],
        "device": TOGGLE,
        "pins": ["1", "2"],
    },
    "insertion, nothing said of its make": {
        "kind": "insertion",
        "id": "s",
        "in": {"wire": "W30"},
        "device": {"kind": "other"},
    },
    "insertion at a terminal with two wires": {
        "kind": "insertion",
        "id": "s",
        "in": {"terminal": "F2:out"},
        "device": TOGGLE,
        "joints": [TWIST],
    },
    "bridge from wire to wire": {
        "kind": "bridge",
        "id": "s",
        "from": {"wire": "W10", "at": {"from_end": 1, "distance_m": 0.2}},
        "to": {"wire": "W11"},
        "joints": [CRIMP],
        "lead": LEAD,
    },
    "bridge from terminal to the body": {
        "kind": "bridge",
        "id": "s",
        "from": {"terminal": "E1:58"},
        "to": {"metal": "body"},
    },
    "repair in one joint": {"kind": "repair", "id": "s", "wire": "W21", "joints": [CRIMP], "removed_m": 0.02},
    "repair with a piece put in": {
        "kind": "repair",
        "id": "s",
        "wire": "W21",
        "at": {"near": "H1"},
        "joints": [CRIMP],
        "insert": LEAD,
    },
    "repair with a piece and two makes of joint": {
        "kind": "repair",
        "id": "s",
        "wire": "W21",
        "joints": [CRIMP, TWIST],
        "insert": LEAD,
    },
    "swap of two terminals' wires": {
        "kind": "swap",
        "id": "s",
        "between": [{"terminal": "E1:58"}, {"terminal": "E1:31"}],
    },
    "swap of a terminal with two wires": {
        "kind": "swap",
        "id": "s",
        "between": [{"terminal": "F2:out"}, {"terminal": "F3:out"}],
    },
    "swap of two wire ends": {
        "kind": "swap",
        "id": "s",
        "between": [{"wire": "W12", "end": 2}, {"wire": "W32", "end": 2}],
    },
    "jumper in a socket": {"kind": "jumper", "id": "s", "socket": "K1", "between": ["30", "87"]},
    "jumper in a socket whose relay is gone": {
        "kind": "jumper",
        "id": "s",
        "socket": "K1",
        "between": ["30", "87"],
        "occupant": "missing",
        "joints": [TWIST],
        "lead": LEAD,
    },
}


def harnesses(as_found: AsFound) -> list[str]:
    """The as-found harness in every resolution, as canonical JSON."""
    return [canonical(edited(as_found.reference, one.edits)) for one in as_found.resolutions(64)]


@pytest.mark.parametrize("line", LINES.values(), ids=LINES)
def test_shorthand_and_nouns_give_the_same_harness(bench: Reference, line: Json) -> None:
    short = as_found_from(bench, line)
    nouns = in_nouns(line, bench.harness)

    assert line not in nouns
    assert harnesses(short) == harnesses(as_found_from(bench, *nouns))
    assert short.edits


@given(st.data())
def test_random_shorthand_and_nouns_give_the_same_harness(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))
    lines = data.draw(plantings(reference))
    nouns = spelled_out(lines, reference.harness)

    assert harnesses(as_found_from(reference, *lines)) == harnesses(as_found_from(reference, *nouns))


def test_every_shorthand_is_in_the_table() -> None:
    assert {line["kind"] for line in LINES.values()} == set(SHORTHAND)


MADE = [
    ("tap on a wire, all said", {"+s.joint": Joint, "+s.lead": Conductor, "+s.device": Device}),
    (
        "insertion into a wire",
        {
            "+s.cut": Cut,
            "+s.joint1": Joint,
            "+s.joint2": Joint,
            "+s.lead1": Conductor,
            "+s.lead2": Conductor,
            "+s.device": Device,
        },
    ),
    ("bridge from wire to wire", {"+s.joint1": Joint, "+s.joint2": Joint, "+s.lead": Conductor}),
    ("repair in one joint", {"+s.cut": Cut, "+s.joint1": Joint}),
    (
        "repair with a piece put in",
        {"+s.cut": Cut, "+s.joint1": Joint, "+s.joint2": Joint, "+s.lead": Conductor},
    ),
    ("swap of two wire ends", {}),
    ("jumper in a socket", {"+s.joint1": Joint, "+s.joint2": Joint, "+s.lead": Conductor}),
]


@pytest.mark.parametrize(("name", "made"), MADE, ids=[name for name, _ in MADE])
def test_shorthand_names_what_it_makes_after_itself(bench: Reference, name: str, made: dict[str, type]) -> None:
    (after,) = (edited(bench.harness, one.edits) for one in as_found_from(bench, LINES[name]).resolutions(1))
    added = {
        element.id: type(element) for element in after.elements if element.id.startswith("+") and ":" not in element.id
    }

    assert added == made


def test_tap_changes_nothing_of_the_reference(bench: Reference) -> None:
    (only,) = as_found_from(bench, LINES["tap on a wire, all said"]).resolutions(1)
    after = edited(bench.harness, only.edits)

    assert set(bench.harness.elements) <= set(after.elements)
    assert set(bench.harness.incidences) <= set(after.incidences)


def test_insertion_in_pieces_joins_each_side_of_the_cut_to_its_own_pin(bench: Reference) -> None:
    (only,) = as_found_from(bench, LINES["insertion into a wire"]).resolutions(1)
    after = edited(bench.harness, only.edits)

    assert after.targets("+s.cut", "side_1") == ("+s.joint1",)
    assert after.targets("+s.cut", "side_2") == ("+s.joint2",)
    assert after.targets("+s.lead1", "end_1", "end_2") == ("+s.joint1", "+s.device:1")
    assert after.targets("+s.lead2", "end_1", "end_2") == ("+s.joint2", "+s.device:2")


def kinds_and_plain(bench: Reference, *lines: Json) -> tuple[list[str], list[str]]:
    findings = case_from(bench, *lines).findings
    return [one.kind for one in findings.findings], [one.reason for one in findings.plain]


def swap_of(*wires: Json | str) -> Json:
    return {"kind": "swap", "id": "s", "between": [{"wire": wire, "end": 1} for wire in wires]}


def test_a_swap_by_clues_that_one_wire_fits_is_that_swap(bench: Reference) -> None:
    wire = bench.harness.conductor("W43")
    assert wire is not None
    assert wire.colour is not None
    alike = [one.id for one in bench.harness.conductors() if one.colour == wire.colour]
    colour = {"base": wire.colour.base} | ({"tracer": wire.colour.tracer} if wire.colour.tracer else {})

    assert alike == ["W43"]
    assert as_found_from(bench, swap_of({"colour": colour}, "W31")) == as_found_from(bench, swap_of("W43", "W31"))


@pytest.mark.parametrize(
    ("line", "plain"),
    [
        (swap_of({"colour": {"base": "BN"}}, "W31"), []),
        (swap_of({"colour": {"base": "PK", "tracer": "TQ"}}, "W31"), ["nothing_fits"]),
        ({"kind": "swap", "id": "s", "between": [{"wire": "W31"}, {"wire": "W43"}]}, []),
        ({"kind": "insertion", "id": "s", "in": {"terminal": {"device": "E1"}}, "device": {"kind": "switch"}}, []),
    ],
    ids=["several fit", "none fits", "no ends named", "terminal open"],
)
def test_a_change_of_which_the_place_is_open_is_recorded_and_not_rated(
    bench: Reference, line: Json, plain: list[str]
) -> None:
    kinds, reasons = kinds_and_plain(bench, line)

    assert "other" in kinds
    assert reasons == plain


def test_swapped_ends_are_where_the_other_was(bench: Reference) -> None:
    (only,) = as_found_from(bench, LINES["swap of two terminals' wires"]).resolutions(1)
    after = edited(bench.harness, only.edits)

    assert after.targets("W12", "end_2") == ("E1:31",)
    assert after.targets("W14", "end_1") == ("E1:58",)


def test_swapping_ends_at_the_same_terminal_changes_nothing(bench: Reference) -> None:
    line = {"kind": "swap", "id": "s", "between": [{"wire": "W20", "end": 1}, {"wire": "W22", "end": 1}]}

    assert as_found_from(bench, line).edits == ()


def test_wire_ends_at_a_terminal_are_all_of_them(bench: Reference) -> None:
    assert wire_ends_at(bench.harness, "F2:out") == (("W20", 1), ("W22", 1))
    assert wire_ends_at(bench.harness, "BUS:5") == ()
