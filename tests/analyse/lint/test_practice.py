"""Ordinary practice of makers: notes that are worth a look, and what is no cause for one."""

from __future__ import annotations

import pytest

from tests.analyse.lint.sound import (
    Case,
    Change,
    bonded,
    case,
    check,
    entry,
    gains,
    gone,
    link,
    objected,
    part_sets,
    plain_wire,
    resistance,
    sets,
)
from tests.support import between, filament

UNKNOWN = {"base": "unknown"}
BLUE = {"base": "BU"}


def plugged_twice() -> Change:
    """A change: a second lamp, fed from the terminal of the first."""
    return lambda data: [
        data["devices"].append(between("E9", "lamp", [filament("1", "2", 5)])),
        data["wires"].extend([plain_wire("W98", "E1:58", "E9:1"), plain_wire("W99", "E9:2", "BODY:1")]),
    ]


def on_studs(*terminals: str) -> Change:
    """A change: a stud with these terminals, and a lamp's ground on each."""
    lamps = [between(f"L{number}", "lamp", [filament("1", "2", 2)]) for number, _ in enumerate(terminals)]
    wires = [plain_wire(f"L{number}a", "SP1", f"L{number}:1") for number, _ in enumerate(terminals)]
    wires += [plain_wire(f"L{number}b", f"L{number}:2", f"G9:{name}") for number, name in enumerate(terminals)]
    names = sorted(set(terminals))
    bonds = [{"terminal": name, "to": "BODY:1", "resistance_ohm": 0.001} for name in names]
    stud = {"id": "G9", "kind": "ground_stud", "terminals": names, "bonds": bonds}
    return lambda data: [data["devices"].extend([stud, *lamps]), data["wires"].extend(wires)]


def cased(own: str) -> Change:
    """A change: a lamp is grounded by its case."""
    return lambda data: entry(data, own).update(bonded(entry(data, own), "2", "BODY:1"))


OPEN = {"name": "9", "open_end": True}
CASES = [
    case(
        "a wire of another colour at a splice",
        "colour_changes",
        "SP1",
        sets("W2", colour=BLUE),
        colours=("BU", "RD/WH"),
    ),
    case(
        "another colour behind an in-line connector",
        "colour_changes",
        "XC1:1a",
        sets("W4", colour=BLUE),
        colours=("BU", "RD/WH"),
    ),
    case("two wires in one cavity", "shared_terminal", "E1:58", plugged_twice(), wires=("W4", "W98")),
    case("five rings on one terminal of a stud", "many_rings", "G9", on_studs(*"11111"), wires=5, most=4),
    case("five rings on one stud, written as a terminal each", "many_rings", "G9", on_studs(*"12345"), wires=5, most=4),
    case("a lamp grounded by its case", "ground_through_case", "E2", gone("W16"), cased("E2"), to="BODY"),
    case(
        "a data pair with one terminator",
        "data_pair_ends",
        "CD",
        gone("U2", "WD1", "WD2"),
        gains(
            "devices", {"id": "U3", "kind": "sensor", "terminals": ["1", "2"], "parts": [resistance("1", "2", 2000)]}
        ),
        gains(
            "wires", plain_wire("WD3", "U1:H", "U3:1", circuit="CD"), plain_wire("WD4", "U1:L", "U3:2", circuit="CD")
        ),
        terminators=1,
        together_ohm=120,
    ),
    case(
        "a data pair with three terminators",
        "data_pair_ends",
        "CD",
        gains("devices", between("U3", "terminator", [resistance("1", "2", 120)])),
        gains(
            "wires", plain_wire("WD3", "U1:H", "U3:1", circuit="CD"), plain_wire("WD4", "U1:L", "U3:2", circuit="CD")
        ),
        terminators=3,
        together_ohm=40,
    ),
]
SOUND: dict[str, tuple[Change, ...]] = {
    "a colour that nobody could make out": (sets("W2", colour=UNKNOWN),),
    "a tracer that nobody could make out": (sets("W2", colour={"base": "RD", "tracer": "unknown"}),),
    "four rings on one stud": (on_studs(*"1111"),),
    "two wires at a terminal that is in no plug": (
        gains("devices", between("E9", "lamp", [filament("1", "2", 5)])),
        gains("wires", plain_wire("W98", "E2:1", "E9:1"), plain_wire("W99", "E9:2", "BODY:1")),
    ),
    "a lamp on metal that has a wire to ground as well": (cased("E2"),),
    "terminators a little off": (part_sets("U2", 0, resistance_ohm=124),),
    "a pair of which the other end is outside the fragment": (
        gone("U2", "WD1", "WD2"),
        lambda data: data.update(extent="fragment"),
        gains(
            "devices",
            {
                "id": "X9",
                "kind": "inline_connector",
                "terminals": ["1a", "2a", OPEN | {"name": "1b"}, OPEN | {"name": "2b"}],
                "parts": [link("1a", "1b"), link("2a", "2b")],
            },
        ),
        gains(
            "wires", plain_wire("WD3", "U1:H", "X9:1a", circuit="CD"), plain_wire("WD4", "U1:L", "X9:2a", circuit="CD")
        ),
    ),
}


@pytest.mark.parametrize("one", CASES, ids=lambda one: one.what)
def test_exactly_this_is_objected_to(one: Case) -> None:
    check(one)


@pytest.mark.parametrize("what", SOUND)
def test_nobody_objects_to_ordinary_practice(what: str) -> None:
    assert objected(*SOUND[what]) == []
