"""A reference from a table of wires, with the questions that make it computable."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from harnessdiff.errors import Problem
from harnessdiff.read.normalise import near_colour
from harnessdiff.read.schema import did_you_mean
from harnessdiff.read.table.cells import Row, number_in, read_rows
from harnessdiff.read.table.devices import IN_AND_OUT, METAL, SINGLE, Devices, Thing
from harnessdiff.read.table.groups import LONGEST_NAME, Groups
from harnessdiff.read.table.guesses import (
    kind_of_letters,
    kind_of_words,
    slug,
)
from harnessdiff.read.table.inside import LONGEST_TERMINAL
from harnessdiff.read.table.questions import Asking, Key, Question
from harnessdiff.tables.loader import awg_to_mm2, colour_words

WIRE_COLUMNS = ("wire", "from", "to", "colour", "size_mm2", "length_m", "circuit", "zones")
MARKS = ":@#~+"
UNFUSED_FUNCTIONS = frozenset({"battery_main", "charging", "start"})
"""Functions of wires that are led to their first fuse without one."""
STATES = (
    ("asleep", "locked, asleep", "out", "stopped"),
    ("ignition_on", "ignition on, engine stopped", "ignition", "stopped"),
    ("cranking", "cranking", "start", "cranking"),
    ("driving_night", "driving by night, brake and left indicator on", "ignition", "running"),
)
BOXES = ("switch", "button")
USUAL_VOLTAGE_V = 12.0
"""At which powers in watts hold where nobody said the vehicle's voltage. [V]"""
Objector = Callable[[dict[str, Any]], Iterable[tuple[str, str, str]]]
"""Says what there is to object to in a document: element, rule, and what in words."""


def read_wires(path: Path) -> tuple[Row, ...]:
    """Read a table of wires; raises `InputError` with every problem of its form."""
    return read_rows(path, WIRE_COLUMNS, ("from", "to"))


def fragment_of(
    wires: tuple[Row, ...],
    answers: dict[Key, Row],
    *,
    own_id: str,
    title: str,
    base: dict[str, Any] | None = None,
    objector: Objector = lambda _: (),
) -> tuple[dict[str, Any], tuple[Question, ...]]:
    """Make a reference of wires and answers.

    Parameters
    ----------
    wires : tuple of Row
    answers : dict
        As `read_answers` gives them.
    own_id, title : str
        Of the reference.
    base : dict, optional
        A reference to add to, such as the skeleton; without it a fragment begins from nothing.
    objector : callable
        Notes to ask about: whether the maker built it so, and why.

    Returns
    -------
    tuple
        The document, and what it leaves open, in the order of the table.

    Raises
    ------
    InputError
        With every cell that cannot be used.
    """
    asking = Asking(answers)
    made = _Fragment(asking, base or _empty())
    for row in wires:
        made.add_wire(row)
    made.add_devices()
    made.add_conditions()
    made.note_ids_used_twice()
    made.document |= {"id": own_id, "title": title}
    asking.refuse_if_any()
    made.ask_for_reasons(objector)
    asking.refuse_unused()
    asking.refuse_if_any()
    return made.document, tuple(asking.asked)


def _empty() -> dict[str, Any]:
    return {
        "format": "harnessdiff reference", "version": "1.0", "id": "", "title": "", "extent": "fragment",
        "colour_system": "IEC 60757", "vehicle": {}, "zones": [], "circuits": [], "conditions": [], "devices": [],
        "splices": [], "wires": [], "as_built": [],
    }  # fmt: skip


class _Fragment:
    """A reference in the making."""

    def __init__(self, asking: Asking, base: dict[str, Any]) -> None:
        self.asking = asking
        self.document = {key: list(value) if isinstance(value, list) else value for key, value in base.items()}
        for member in ("zones", "circuits", "conditions", "devices", "splices", "wires", "as_built"):
            self.document.setdefault(member, [])
        self.given = {entry["id"]: entry for entry in self.document["devices"]}
        self.wire_ids = {entry["id"] for entry in self.document["wires"]}
        self.splices = {entry["id"]: list[str]() for entry in self.document["splices"]}
        self.things: dict[str, Thing] = {}
        vehicle = dict(self.document.get("vehicle", {}))
        if "system_voltage_V" not in vehicle:
            voltage = asking.ask_number("vehicle", "system_voltage_V", "nominal voltage of the vehicle, such as 12 V")
            vehicle |= {"system_voltage_V": voltage} if voltage else {}
        if "ground_polarity" not in vehicle:
            polarity = asking.ask_one_of(
                "vehicle",
                "ground_polarity",
                "battery terminal that is joined to the body: negative (usual), or positive",
                ("negative", "positive"),
            )
            vehicle |= {"ground_polarity": polarity} if polarity else {}
        voltage_V = vehicle.get("system_voltage_V", USUAL_VOLTAGE_V)
        known_V = float(voltage_V) if isinstance(voltage_V, (int, float)) else USUAL_VOLTAGE_V
        self.groups = Groups(asking, self.document)
        self.devices = Devices(asking, self.document, self.groups, known_V)
        self.document["vehicle"] = vehicle

    def ask_for_reasons(self, objector: Objector) -> None:
        """Ask why what looks wrong is as the maker built it; a reason given waives it."""
        unfused = {one["id"] for one in self.document["circuits"] if one["function"] in UNFUSED_FUNCTIONS}
        main = {one["id"] for one in self.document["wires"] if one.get("circuit") in unfused}
        for element, rule, words in list(objector(self.document)):
            usual = (
                "leads of this sort run unfused to their first fuse" if rule == "unfused" and element in main else ""
            )
            question = f"{words}; mend the table, or say why the maker built it so (as on the diagram)"
            because = self.asking.ask(element, f"as_built {rule}", question, assume=usual)
            if because:
                self.document["as_built"].append({"element": element, "rule": rule, "because": because})

    def note_ids_used_twice(self) -> None:
        """Note ids of two things; addresses could not tell them apart."""
        members = ("zones", "circuits", "devices", "splices", "wires")
        counts = Counter(entry["id"] for member in members for entry in self.document[member])
        for own, count in counts.items():
            if count > 1:
                message = "two things have this name; a wire, a splice, a fuse and a device each need their own"
                self.asking.problems.append(Problem(source=own, message=message))

    # -- wires

    def add_wire(self, row: Row) -> None:
        """Add a wire, and note the devices that it comes to."""
        own = row["wire"] or next(
            f"W{n}" for n in itertools.count(len(self.wire_ids) + 1) if f"W{n}" not in self.wire_ids
        )
        if own in self.wire_ids:
            self._refuse_cell(row, "wire", f"the wire {own} is there already")
            return
        self.wire_ids.add(own)
        if any(mark in own for mark in MARKS) or len(own) > LONGEST_NAME:
            self._refuse_cell(
                row, "wire", f"{own} is no name: {LONGEST_NAME} letters at most, none of {' '.join(MARKS)}"
            )
            return
        ends = [self._end(row, column) for column in ("from", "to")]
        if not all(ends):
            return
        wire: dict[str, Any] = {"id": own, "from": ends[0], "to": ends[1]}
        cells = {column: self._cell(row, own, column) for column in WIRE_COLUMNS[3:]}
        wire |= {column: value for column, value in cells.items() if value is not None}
        self.document["wires"].append(wire)
        for end, place in zip(ends, (0, -1), strict=True):
            device = end.partition(":")[0]
            zones = self.things[device].zones if device in self.things else self.splices[device]
            zones += [wire["zones"][place]] if wire.get("zones") else []

    def _refuse_cell(self, row: Row, column: str, message: str) -> None:
        self.asking.problems.append(row.problem(column, message))

    def _end(self, row: Row, column: str) -> str:
        text = row[column]
        device, _, terminal = (part.strip() for part in text.partition(":"))
        if not device or any(mark in device for mark in MARKS) or ":" in terminal or len(device) > LONGEST_NAME:
            right = "DEVICE:TERMINAL such as S1:2, a splice such as SP1, a ground point such as GND1, or OPEN:words"
            self._refuse_cell(row, column, f"{text or 'nothing'} is no end; write {right}")
            return ""
        kind = self._kind_of(device, terminal)
        if kind == "":
            if terminal:
                self._refuse_cell(row, column, f"{device} is a splice and has no terminals; write {device}")
                return ""
            if device not in self.splices:
                self.splices[device] = []
                self.document["splices"].append({"id": device})
            return device
        message = self._fault_of_terminal(device, terminal, kind)
        if message:
            self._refuse_cell(row, column, message)
            return ""
        terminal = terminal or "1"
        thing = self.things.setdefault(device, Thing(kind))
        if thing.kind != kind:
            self._refuse_cell(row, column, f"{device} is written with a terminal and without one; write which")
            return ""
        thing.terminals.setdefault(terminal)
        return f"{device}:{terminal}"

    def _fault_of_terminal(self, device: str, terminal: str, kind: str) -> str:
        """What is wrong with a terminal; empty where nothing is."""
        if device in self.given:
            names = [one if isinstance(one, str) else one["name"] for one in self.given[device].get("terminals", ())]
            words = f"{device} ({self.given[device].get('name', kind)}) is there already and has no terminal {terminal}"
            if not terminal and kind in SINGLE:
                terminal = "1"
            return "" if terminal in names else f"{words}; it has {', '.join(names)}"
        if kind in SINGLE:
            return "" if terminal in ("", "1") else f"{device} is metal and has no terminals but 1; write {device}"
        if not terminal:
            if kind in IN_AND_OUT:
                return f"{device} has two sides: write {device}:in (from the battery) or {device}:out (to the load)"
            sides = f"{device}:1a" if kind == "inline_connector" else f"{device}:1"
            other = {"S": f"; a splice is written SP{device[1:]}", "E": f"; a ground point GND{device[1:]}"}
            return f"{device} has terminals: write which, such as {sides}{other.get(device[:1], '')}"
        if kind in IN_AND_OUT:
            right = f"{device}:in (from the battery) and {device}:out (to the load)"
            return "" if terminal in ("in", "out") else f"{device} has {right}, not {terminal}"
        if kind == "inline_connector" and not re.fullmatch(r".+[ab]", terminal):
            return (
                f"{device} has two sides: write {device}:{terminal}a on the one and {device}:{terminal}b on the other"
            )
        if len(terminal) > LONGEST_TERMINAL:
            return f"{terminal} is too long; at most {LONGEST_TERMINAL} letters"
        if re.search(r"[\s;]", terminal) and not device.startswith("OPEN"):
            return f"{terminal} holds a blank or a semicolon; write the terminal as one word"
        return ""

    def _kind_of(self, device: str, terminal: str) -> str:
        """Kind by the device itself, an answer, or its letters; empty for a splice."""
        if device in self.given:
            return str(self.given[device]["kind"])
        if device in self.splices:
            return ""
        answer = self.asking.given(device, "kind")
        if answer:
            return kind_of_words(answer)
        letters, _ = kind_of_letters(device)
        if letters == "alternator" and not terminal:
            return "ground_stud"  # an alternator is never written without a terminal; G101 is a ground point
        return "other" if letters is None else letters

    def _cell(self, row: Row, wire: str, column: str) -> Any:
        """A cell of a wire, or the answer to the question that an empty one raises."""
        text, place = row[column], (row, column)
        if text:
            told = self.asking.offered(wire, column, f"{column.replace('_', ' ')} of the wire")
            if told not in ("", text):
                self.asking.refuse((wire, column), f"{told}, and the table of wires has {text}; correct one of them")
        else:
            examples = {
                "colour": "RD/WH", "size_mm2": "0.75 (or 18 AWG)", "length_m": "1.2", "circuit": "horn",
                "zones": "dash; engine bay",
            }  # fmt: skip
            text = self.asking.ask(wire, column, f"{column.replace('_', ' ')} of the wire, such as {examples[column]}")
            place = (self.asking.answers.get((wire, column), row), "answer" if text else column)
        if text.lower() in ("", "unknown"):
            return None
        value, fault = self._value(text, column)
        if fault:
            self._refuse_cell(*place, fault)
        return value

    def _value(self, text: str, column: str) -> tuple[Any, str]:
        match column:
            case "colour":
                return _colour(text)
            case "circuit" | "zones":
                names = (
                    [text] if column == "circuit" else [one.strip() for one in re.split(r"[;>]", text) if one.strip()]
                )
                if not names or any(not slug(one) or len(one) > LONGEST_NAME for one in names):
                    return None, f"{text} holds what is no name; write words of at most {LONGEST_NAME} letters"
                return (
                    self.groups.circuit(text) if column == "circuit" else [self.groups.zone(one) for one in names]
                ), ""
        gauge = re.fullmatch(r"(\d{1,2}|[1-4]/0)\s*AWG", text, re.IGNORECASE | re.ASCII)
        if gauge and column == "size_mm2":
            number = 1 - int(gauge[1][0]) if "/" in gauge[1] else int(gauge[1])
            return {"exact": round(awg_to_mm2(number), 3), "as_entered": text}, ""
        found = number_in(re.sub(r"\s*(mm2|mm²|m)$", "", text))
        if found is None or not 0 < found < 1e4:
            return None, f"{text} is no {'size in mm²' if column == 'size_mm2' else 'length in m'}; write a number"
        return found, ""

    # -- devices

    def add_devices(self) -> None:
        """Add every device that a wire comes to, and say where splices sit."""
        self.devices.metals |= {own: thing.kind for own, thing in self.things.items() if thing.kind in METAL}
        for own, thing in self.things.items():
            if own in self.given:
                self._open_no_more(self.given[own], thing)
            else:
                self.devices.add(own, thing)
        self.document["splices"] = [
            entry
            if "zone" in entry
            else entry | self.groups.place(entry["id"], self.splices[entry["id"]], needed=False)
            for entry in self.document["splices"]
        ]
        self.devices.add_metals()

    def _open_no_more(self, entry: dict[str, Any], thing: Thing) -> None:
        """A terminal of the base that a wire comes to is no open end any more."""
        terminals = [
            {key: value for key, value in one.items() if key != "open_end"}
            if isinstance(one, dict) and one["name"] in thing.terminals
            else one
            for one in entry.get("terminals", ())
        ]
        place = self.document["devices"].index(entry)
        self.document["devices"][place] = {**entry, "terminals": terminals}

    # -- conditions

    def add_conditions(self) -> None:
        """Add the states without which behaviour cannot be told, and ask where the switches stand in them."""
        known = {entry["id"] for entry in self.document["conditions"]}
        switches = {
            entry["id"]: entry["positions"]
            for entry in self.document["devices"]
            if entry["kind"] in BOXES and entry.get("positions") and entry["id"] not in self.given
        }
        asked = [one["id"] for one in self.document["devices"] if one["kind"] == "switch" and one["id"] in switches]
        for own, name, key, engine in STATES:
            condition: dict[str, Any] = {"id": own, "name": name, "key": key, "engine": engine}
            if own in known:
                condition = next(entry for entry in self.document["conditions"] if entry["id"] == own)
            if asked and own != "asleep":
                names = ", ".join(f"{switch} ({' / '.join(switches[switch])})" for switch in asked)
                such = f"none, or such as {asked[0]} {switches[asked[0]][-1]}"
                question = f"switches that are not at rest when {name}: {names}; {such}"
                answer = self.asking.ask(own, "positions", question, assume="none")
                positions = dict(self._positions(own, answer, switches))
                if positions:
                    condition = {**condition, "positions": condition.get("positions", {}) | positions}
            if own in known:
                place = [entry["id"] for entry in self.document["conditions"]].index(own)
                self.document["conditions"][place] = condition
            else:
                self.document["conditions"].append(condition)

    def _positions(self, own: str, answer: str, switches: dict[str, list[str]]) -> Iterator[tuple[str, str]]:
        key = (own, "positions")
        for piece in filter(None, map(str.strip, re.split(r"[;,]", answer))):
            if piece.lower() == "none":
                continue
            named = [one for one in switches if piece == one or piece.startswith(f"{one} ")]
            if not named:
                switch = piece.split()[0]
                self.asking.refuse(key, f"there is no switch {switch}{did_you_mean(switch, switches)}")
                continue
            switch = max(named, key=len)
            position = piece[len(switch) :].strip()
            if position in switches[switch]:
                yield switch, position
            else:
                there = ", ".join(switches[switch])
                self.asking.refuse(key, f"{switch} has no position {position or 'nothing'}; it has {there}")


def _colour(text: str) -> tuple[dict[str, Any] | None, str]:
    """Base and tracer of letters such as RD/WH, or English words."""
    known = colour_words()
    parts = [part.strip() for part in re.split(r"[/-]", text)]
    letters = [known.get(("IEC 60757", part.lower())) or known.get(("words", part.lower())) for part in parts]
    for part, letter in zip(parts, letters, strict=True):
        if letter is None:
            near = near_colour(part, "IEC 60757")
            return None, f"{part} is no colour{near}; write letters by IEC 60757 such as RD/WH"
    if len(letters) > 2:
        return None, f"{text} has more than base and tracer"
    return {"base": letters[0]} | ({"tracer": letters[1]} if len(letters) == 2 else {}), ""
