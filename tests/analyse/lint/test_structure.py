"""Things that hang in the air, and things that nothing uses."""

from __future__ import annotations

import pytest

from tests.analyse.lint.sound import (
    Case,
    Change,
    bonded,
    case,
    changed,
    check,
    draw,
    entry,
    feed,
    gains,
    gone,
    link,
    objected,
    plain_wire,
    relay,
    sets,
    switch,
)
from tests.support import Json, between, filament


def terminals(own: str, *more: str | Json) -> Change:
    """A change: a device gets further terminals."""
    return lambda data: entry(data, own)["terminals"].extend(more)


def in_cavity(own: str, place: int, cavity: str) -> Change:
    """A change: a terminal sits in another cavity."""
    return lambda data: entry(data, own)["terminals"][place].update(cavity=cavity)


WAY = {"name": "87a", "limit_A": 20}
OUTSIDE = {"name": "9", "open_end": True}
BREAKER = {"id": "CB", "kind": "circuit_breaker", "rating_A": 10, "body": "bimetal"}
FRAGMENT: Change = lambda data: data.update(extent="fragment")  # noqa: E731 - changes are written as one line each
PREPARED = plain_wire("W99", "SP1", "U1:X")
CASES = [
    case(
        "a wire at a terminal that nothing in the device uses",
        "end_in_the_air",
        "W99",
        terminals("U1", "X"),
        gains("wires", PREPARED),
        terminal="U1:X",
        device="U1",
    ),
    case(
        "a wire at a way that the relay in the socket does not have",
        "end_in_the_air",
        "W99",
        terminals("K1", WAY),
        gains("wires", plain_wire("W99", "SP1", "K1:87a")),
        terminal="K1:87a",
        device="K1",
    ),
    case(
        "a wire at a ground stud that is on nothing",
        "end_in_the_air",
        "W99",
        gains("devices", {"id": "G2", "kind": "ground_stud", "terminals": ["1"]}),
        gains("wires", plain_wire("W99", "U1:31", "G2:1")),
        terminal="G2:1",
        device="G2",
    ),
    case(
        "a splice that only one wire reaches",
        "lone_splice",
        "SP2",
        gains("splices", {"id": "SP2"}),
        gains("wires", plain_wire("W99", "SP1", "SP2")),
        wires=1,
    ),
    case("a splice that no wire reaches", "lone_splice", "SP2", gains("splices", {"id": "SP2"}), wires=0),
    case(
        "a capacitor that no wire reaches",
        "unwired",
        "Q1",
        gains("devices", between("Q1", "capacitor", [], all_common=True)),
        kind="capacitor",
    ),
    case(
        "a fuse that lies loose",
        "fuse_in_no_slot",
        "FX",
        gains("devices", {"id": "FX", "kind": "fuse", "rating_A": 10, "body": "blade type C"}),
        kind="fuse",
    ),
    case("a breaker that lies loose", "fuse_in_no_slot", "CB", gains("devices", BREAKER), kind="circuit breaker"),
    case(
        "two fuses in one slot",
        "two_in_one_seat",
        "F1",
        gains("devices", feed("F1", 10)[1] | {"id": "F1_OTHER"}),
        seated=("F1_FUSE", "F1_OTHER"),
    ),
    case(
        "two terminals in one cavity",
        "cavity_twice",
        "X1",
        in_cavity("E1", 1, "1"),
        cavity="1",
        terminals=("E1:31", "E1:58"),
    ),
    case("more cavities than ways", "more_cavities_than_ways", "X1", sets("X1", ways=1), cavities=2, ways=1),
    case(
        "a wire whose ends are at one splice",
        "wire_to_itself",
        "W99",
        gains("wires", plain_wire("W99", "SP1", "SP1")),
        terminal="SP1",
    ),
    case(
        "two wires between the same two points",
        "parallel_wires",
        "W99",
        gains("wires", plain_wire("W99", "S1:1", "SP1")),
        other="W2",
        ends=("S1:1", "SP1"),
    ),
    case(
        "an open end in a whole reference",
        "open_end_in_whole",
        "U1:9",
        terminals("U1", OUTSIDE),
    ),
    case(
        "a circuit that nothing names",
        "unused",
        "CX",
        gains("circuits", {"id": "CX", "name": "x", "function": "horn"}),
        what="circuit",
    ),
    case("a zone that nothing names", "unused", "ZX", gains("zones", {"id": "ZX", "name": "x"}), what="zone"),
    case("an option that nothing names", "unused", "ox", gains("options", {"id": "ox", "name": "x"}), what="option"),
]

STUD_ON_IT: Json = {
    "id": "G9",
    "kind": "ground_stud",
    "terminals": ["1"],
    "bonds": [{"terminal": "1", "to": to, "resistance_ohm": 0.001} for to in ("J2:2", "BODY:1")],
}
HEATED: Json = between("R1", "heater", [draw("1", "2", 2)], option=["heated"])
SEAT = gains("options", {"id": "heated", "name": "heated seat"})
SOUND: dict[str, tuple[Change, ...]] = {
    "a spare slot": (gains("devices", {"id": "F9", "kind": "fuse_slot", "terminals": ["in", "out"]}),),
    "an empty socket, wired in readiness": (gone("K1_RELAY", "W7", "W8", "H1"),),
    "a socket with no wire at all": (gains("devices", relay()[0] | {"id": "K2"}),),
    "a plug that nothing sits in": (gains("devices", {"id": "X9", "kind": "plug", "ways": 4}),),
    "a way of a diagnostic socket with nothing behind it": (
        gains("devices", {"id": "J1", "kind": "diagnostic_socket", "terminals": ["16"]}),
        gains("wires", plain_wire("W99", "SP1", "J1:16")),
    ),
    "a terminal that carries the current on to another wire": (
        terminals("U1", "X"),
        gone("W2"),
        gains("wires", PREPARED, plain_wire("W98", "U1:X", "S1:1")),
    ),
    "an open end in a fragment": (FRAGMENT, terminals("U1", OUTSIDE), gains("wires", plain_wire("W99", "SP1", "U1:9"))),
    "a switch of which the fragment shows no wire": (
        FRAGMENT,
        gains(
            "devices",
            switch("S9") | {"terminals": [{"name": "1", "open_end": True}, {"name": "2", "open_end": True}]},
        ),
    ),
    "a device that is reached by the bonds of others alone": (
        gone("W16"),
        gains("devices", between("J2", "other", [], all_common=True), STUD_ON_IT),
        lambda data: entry(data, "E2").update(bonded(entry(data, "E2"), "2", "J2:1")),
    ),
    "a terminal for what comes with an option": (
        SEAT,
        gains("devices", HEATED),
        gains("wires", plain_wire("W99", "SP1", "R1:1", option=["heated"])),
        gains("wires", plain_wire("W98", "R1:2", "BODY:1")),
    ),
    "a splice that has its second wire with an option only": (
        SEAT,
        gains("devices", HEATED),
        gains("splices", {"id": "SP2"}),
        gains("wires", plain_wire("W97", "SP1", "SP2"), plain_wire("W99", "SP2", "R1:1", option=["heated"])),
        gains("wires", plain_wire("W98", "R1:2", "BODY:1")),
    ),
    "a way of an in-line connector for an option": (
        SEAT,
        lambda data: entry(data, "XC1")["parts"].append(link("2a", "2b")),
        terminals("XC1", "2a", "2b"),
        gains("devices", HEATED),
        gains("wires", plain_wire("W96", "SP1", "XC1:2a")),
        gains("wires", plain_wire("W99", "XC1:2b", "R1:1"), plain_wire("W98", "R1:2", "BODY:1")),
    ),
    "two fuses of which the option decides which sits in the slot": (
        SEAT,
        sets("F1_FUSE", option=["not:heated"]),
        gains("devices", feed("F1", 10)[1] | {"id": "F1_OTHER", "option": ["heated"]}),
    ),
    "two lamps of which the option decides which sits in the plug": (
        SEAT,
        sets("E1", option=["not:heated"]),
        lambda data: data["devices"].append(entry(data, "E1") | {"id": "E9", "option": ["heated"]}),
        gains("wires", plain_wire("W99", "XC1:1b", "E9:58"), plain_wire("W98", "E9:31", "BODY:1")),
    ),
    "two wires of which the option decides which is there": (
        SEAT,
        sets("W2", option=["heated"]),
        gains("wires", plain_wire("W99", "SP1", "S1:1", option=["not:heated"])),
    ),
    "a lamp that stands beside another": (
        gains("devices", between("E9", "lamp", [filament("1", "2", 5)])),
        gains("wires", plain_wire("W99", "E2:1", "E9:1"), plain_wire("W98", "E9:2", "BODY:1")),
    ),
    "circuits and zones of a skeleton": (
        lambda data: data.update(extent="skeleton"),
        gains("zones", {"id": "ZX", "name": "x"}),
    ),
}


@pytest.mark.parametrize("one", CASES, ids=lambda one: one.what)
def test_exactly_this_is_objected_to(one: Case) -> None:
    check(one)


@pytest.mark.parametrize("what", SOUND)
def test_nobody_objects_to_ordinary_practice(what: str) -> None:
    assert objected(*SOUND[what]) == []


def test_an_end_is_in_the_air_where_it_is_so_with_every_option() -> None:
    idle = (SEAT, gains("devices", HEATED), terminals("U1", "X"), gains("wires", PREPARED))
    used = (*idle, lambda data: entry(data, "U1")["parts"].append(draw("X", "31", 0.1)))
    connected = gains("wires", plain_wire("W99b", "SP1", "R1:1"), plain_wire("W98", "R1:2", "BODY:1"))

    assert [one[:2] for one in objected(*idle, connected)] == [("end_in_the_air", "W99")]
    assert objected(*used, connected) == []


def test_changes_leave_the_sound_reference_alone() -> None:
    before = changed()
    changed(*CASES[0].changes)

    assert changed() == before
