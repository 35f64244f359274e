"""A reference that nobody objects to, and what is objected to once one thing in it is changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, TypeAlias

from harnessdiff.model.objection import Objection
from harnessdiff.pipeline import lint
from tests.support import Json, between, body, filament, fused_slot, reference_from, wire

Change: TypeAlias = Callable[[Json], object]
Told: TypeAlias = tuple[str, str, dict[str, Any]]
"""Rule, element and parameters of an objection."""

GROUND = "G1:1"


def link(one: str, other: str, **more: Any) -> Json:
    """A contact of which everything is known."""
    return {"kind": "link", "between": [one, other], "limit_A": 20, "resistance_ohm": 0.01, **more}


def output(one: str, other: str, **more: Any) -> Json:
    """An output of which everything is known."""
    return {"kind": "output", "between": [one, other], "limit_A": 5, "resistance_ohm": 0.05, **more}


def resistance(one: str, other: str, ohm: float) -> Json:
    """A load of so many ohms."""
    return {"kind": "load", "between": [one, other], "model": "resistance", "resistance_ohm": ohm}


def draw(one: str, other: str, ampere: float | None) -> Json:
    """A load that draws so much, or nobody knows what."""
    known = {} if ampere is None else {"rated_A": ampere}
    return {"kind": "load", "between": [one, other], "model": "electronic", **known}


def switch(own: str, kind: str = "switch") -> Json:
    """A switch between 1 and 2."""
    contact = link("1", "2", when={"position": ["on"]})
    return between(own, kind, [contact], positions=["off", "on"], rest_position="off")


def plain_wire(own: str, one: str, other: str, size_mm2: float = 1.0, **more: Any) -> Json:
    """A wire of which everything is known."""
    return wire(own, (one, other), "RD/WH", size_mm2, 1.0, **{"circuit": "C", "zones": ["Z"], **more})


def bonded(device: Json, terminal: str, to: str) -> Json:
    """The device with a terminal bonded to another's."""
    return device | {"bonds": [{"terminal": terminal, "to": to, "resistance_ohm": 0.001}]}


def battery(own: str = "BAT", **more: Any) -> Json:
    """A battery of which everything is known, its minus on the body."""
    part = {"kind": "source", "between": ["+", "-"], "model": "battery", "voltage_V": 12.6}
    parts = [part | {"internal_ohm": 0.01, "capacity_Ah": 60}]
    return bonded({"id": own, "kind": "battery", "terminals": ["+", "-"], "parts": parts, **more}, "-", "BODY:1")


def feed(own: str, rating_A: float) -> list[Json]:
    """A slot that sits on the battery's plus, and the fuse in it."""
    held, fuse = fused_slot(own, rating_A, "BAT:+", "Z")
    return [bonded(held, "in", "BAT:+"), fuse]


def module() -> Json:
    """A module with an output, a data pair, and the terminator of one end of it."""
    names = ["30", "31", "OUT", "H", "L"]
    parts = [
        draw("30", "31", 0.1),
        output("30", "OUT"),
        output("30", "H"),
        output("L", "31"),
        resistance("H", "L", 120),
    ]
    return {"id": "U1", "kind": "module", "zone": "Z", "terminals": names, "parts": parts}


def relay() -> list[Json]:
    """A socket of which every way has its limit, and the relay in it."""
    coil = {"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80, "pull_in_V": 7, "drop_out_V": 2}
    ways = [{"name": name, "limit_A": 20} for name in ("30", "87", "85", "86")]
    return [
        {"id": "K1", "kind": "relay_socket", "zone": "Z", "terminals": ways},
        {"id": "K1_RELAY", "kind": "relay", "seat": "K1", "parts": [coil, link("30", "87", when={"energised": True})]},
    ]


def sound() -> Json:
    """The reference, new each time: one of every sort of thing, fed by one 10 A fuse.

    SP1 (splice) - S1 (switch) - XC1 (in-line connector) - E1 (lamp in plug X1); K1 (relay) - H1 (horn), its coil
    switched to ground by S2; U1 (module) - D1 (diode) - E2 (lamp), and by a data pair with U2 (terminator).
    """
    plugged = [{"name": "58", "connector": "X1", "cavity": "1"}, {"name": "31", "connector": "X1", "cavity": "2"}]
    diode = {"kind": "diode", "between": ["1", "2"], "forward_V": 0.7}
    inline = between("XC1", "inline_connector", [link("1a", "1b")], terminals=["1a", "1b"])
    devices = [
        body(), battery(), *feed("F1", 10),
        bonded({"id": "G1", "kind": "ground_stud", "terminals": ["1"]}, "1", "BODY:1"),
        switch("S1"), inline, {"id": "X1", "kind": "plug", "ways": 2},
        {"id": "E1", "kind": "lamp", "terminals": plugged, "parts": [filament("58", "31", 5)]},
        *relay(), between("H1", "horn", [draw("1", "2", 4)]), switch("S2", "button"), module(),
        between("D1", "diode", [diode]), between("E2", "lamp", [filament("1", "2", 5)]),
        between("U2", "terminator", [resistance("1", "2", 120)]),
    ]  # fmt: skip
    ends = [
        ("F1:out", "SP1"), ("SP1", "S1:1"), ("S1:2", "XC1:1a"), ("XC1:1b", "E1:58"), ("E1:31", GROUND),
        ("SP1", "K1:30"), ("K1:87", "H1:1"), ("H1:2", GROUND), ("SP1", "K1:86"), ("K1:85", "S2:1"), ("S2:2", GROUND),
        ("SP1", "U1:30"), ("U1:31", GROUND), ("U1:OUT", "D1:1"), ("D1:2", "E2:1"), ("E2:2", "BODY:1"),
    ]  # fmt: skip
    pair = [("U1:H", "U2:1"), ("U1:L", "U2:2")]
    states = [("out", "stopped"), ("ignition", "stopped"), ("start", "cranking"), ("ignition", "running")]
    return {
        "format": "harnessdiff reference", "version": "1.0", "id": "sound", "title": "sound", "extent": "whole",
        "vehicle": {"system_voltage_V": 12, "ground_polarity": "negative"},
        "zones": [{"id": "Z", "name": "here"}],
        "circuits": [
            {"id": "C", "name": "everything", "function": "other"}, {"id": "CD", "name": "data", "function": "data"},
        ],
        "conditions": [
            {"id": f"c{number}", "name": f"{key}, {engine}", "key": key, "engine": engine}
            for number, (key, engine) in enumerate(states)
        ],
        "devices": devices,
        "splices": [{"id": "SP1", "zone": "Z", "circuit": "C"}],
        "wires": [plain_wire(f"W{number}", *pair) for number, pair in enumerate(ends, start=1)]
        + [plain_wire(f"WD{number}", *one, circuit="CD") for number, one in enumerate(pair, start=1)],
    }  # fmt: skip


def entry(data: Json, own: str) -> Json:
    """The entry with this id."""
    (found,) = (one for member in ("zones", "devices", "splices", "wires") for one in data[member] if one["id"] == own)
    assert isinstance(found, dict)
    return found


def sets(own: str, **members: Any) -> Change:
    """A change: an entry gets these members."""
    return lambda data: entry(data, own).update(members)


def loses(own: str, *members: str) -> Change:
    """A change: an entry loses these members."""
    return lambda data: [entry(data, own).pop(member) for member in members]


def part_sets(own: str, number: int, **members: Any) -> Change:
    """A change: a part of a device gets these members."""
    return lambda data: entry(data, own)["parts"][number].update(members)


def part_loses(own: str, number: int, *members: str) -> Change:
    """A change: a part of a device loses these members."""
    return lambda data: [entry(data, own)["parts"][number].pop(member) for member in members]


def gains(member: str, *entries: Json) -> Change:
    """A change: a list gets these entries."""
    return lambda data: data.setdefault(member, []).extend(entries)


def gone(*own: str) -> Change:
    """A change: these entries are not there."""

    def change(data: Json) -> None:
        for member in ("zones", "circuits", "conditions", "devices", "splices", "wires"):
            data[member] = [one for one in data[member] if one["id"] not in own]

    return change


def changed(*changes: Change) -> Json:
    """The sound reference with these changes."""
    data = sound()
    for change in changes:
        change(data)
    return data


def told(found: tuple[Objection, ...]) -> list[Told]:
    """What is objected to and not waived."""
    return [(one.rule, one.element, dict(one.fact.params)) for one in found if one.waived is None]


def objected(*changes: Change) -> list[Told]:
    """What is objected to in the sound reference with these changes."""
    return told(lint(reference_from(changed(*changes))))


@dataclass(frozen=True, kw_only=True)
class Case:
    """Changes by which exactly one objection comes."""

    what: str
    rule: str
    element: str
    changes: tuple[Change, ...]
    params: dict[str, Any] = field(default_factory=dict)


def case(what: str, rule: str, element: str, /, *changes: Change, **params: Any) -> Case:
    """A case in one line."""
    return Case(what=what, rule=rule, element=element, changes=changes, params=params)


def check(one: Case) -> None:
    """Nothing but the objection of the case comes."""
    assert objected(*one.changes) == [(one.rule, one.element, one.params)]
