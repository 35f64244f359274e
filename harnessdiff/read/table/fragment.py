"""A reference from a table of wires, with the questions that make it computable."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from harnessdiff.errors import InputError, Problem
from harnessdiff.read.normalise import near_colour
from harnessdiff.read.schema import did_you_mean, schema
from harnessdiff.read.table.cells import Row, read_rows
from harnessdiff.read.table.inside import Inside, example, inside_of
from harnessdiff.tables.loader import assumed, awg_to_mm2, colour_words, device_letters

WIRE_COLUMNS = ("wire", "from", "to", "colour", "size_mm2", "length_m", "circuit", "zones")
ANSWER_COLUMNS = ("about", "what", "question", "answer")
MARKS = ":@#~+"
SINGLE = frozenset({"ground_stud", "body", "engine_block", "chassis"})
LOADS = frozenset({"lamp", "horn", "motor", "pump", "fan", "heater", "coil", "sensor", "speaker", "starter"})
WITHOUT_QUESTIONS = frozenset({*SINGLE, "fuse_slot", "fusible_link", "other", "socket"})
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a table leaves open about one thing; `answer` is empty until somebody knows."""

    about: str
    what: str
    question: str
    answer: str = ""


@dataclass(slots=True)
class _Thing:
    """A device as the table tells it."""

    kind: str
    terminals: dict[str, None] = field(default_factory=dict)


def read_wires(path: Path) -> tuple[Row, ...]:
    """Read a table of wires; raises `InputError` with every problem of its form."""
    return read_rows(path, WIRE_COLUMNS, ("from", "to"))


def read_answers(path: Path) -> dict[tuple[str, str], Row]:
    """Read a table of answers, by what they are about; raises as `read_wires` does."""
    return {(row["about"], row["what"]): row for row in read_rows(path, ANSWER_COLUMNS, ("about", "what", "answer"))}


def fragment_of(
    wires: tuple[Row, ...],
    answers: dict[tuple[str, str], Row],
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
    made = _Fragment(answers, base or _empty())
    for row in wires:
        made.add_wire(row)
    made.add_devices()
    made.add_conditions()
    made.document |= {"id": own_id, "title": title}
    made.refuse_if_any()
    made.ask_for_reasons(objector)
    made.refuse_unused_answers()
    made.refuse_if_any()
    return made.document, tuple(made.questions)


def _empty() -> dict[str, Any]:
    return {
        "format": "harnessdiff reference", "version": "1.0", "id": "", "title": "", "extent": "fragment",
        "colour_system": "IEC 60757", "vehicle": {}, "zones": [], "circuits": [], "conditions": [], "devices": [],
        "splices": [], "wires": [], "as_built": [],
    }  # fmt: skip


class _Fragment:
    """A reference in the making."""

    def __init__(self, answers: dict[tuple[str, str], Row], base: dict[str, Any]) -> None:
        self.answers = answers
        self.used: set[tuple[str, str]] = set()
        self.problems: list[Problem] = []
        self.questions: list[Question] = []
        self.document = {key: list(value) if isinstance(value, list) else value for key, value in base.items()}
        for member in ("zones", "circuits", "conditions", "devices", "splices", "wires", "as_built"):
            self.document.setdefault(member, [])
        self.given = {entry["id"]: entry for entry in self.document["devices"]}
        self.things: dict[str, _Thing] = {}
        vehicle = dict(self.document.get("vehicle", {}))
        if "system_voltage_V" not in vehicle:
            voltage = self.ask("vehicle", "system_voltage_V", "nominal voltage of the vehicle [V], such as 12")
            vehicle |= {"system_voltage_V": self._number(("vehicle", "system_voltage_V"), voltage)} if voltage else {}
        if "ground_polarity" not in vehicle:
            polarity = self.ask("vehicle", "ground_polarity", "battery terminal on the body: negative or positive")
            if polarity and polarity not in ("negative", "positive"):
                self.refuse(("vehicle", "ground_polarity"), f"{polarity} is neither negative nor positive")
            vehicle |= {"ground_polarity": polarity} if polarity else {}
        self.voltage_V: float = vehicle.get("system_voltage_V", USUAL_VOLTAGE_V)
        self.document["vehicle"] = vehicle

    # -- questions and answers

    def ask(self, about: str, what: str, question: str) -> str:
        """The answer to a question, empty where nobody knows; the question is kept either way."""
        self.used.add((about, what))
        row = self.answers.get((about, what))
        answer = row["answer"] if row else ""
        self.questions.append(Question(about=about, what=what, question=question, answer=answer))
        return "" if answer.lower() == "unknown" else answer

    def refuse(self, key: tuple[str, str], message: str) -> None:
        """Note a problem with an answer."""
        row = self.answers.get(key)
        self.problems.append(row.problem("answer", message) if row else Problem(source=" ".join(key), message=message))

    def refuse_if_any(self) -> None:
        """Raise all problems together, if there are any."""
        if self.problems:
            raise InputError(tuple(self.problems))

    def ask_for_reasons(self, objector: Objector) -> None:
        """Ask why what looks wrong is as the maker built it; a reason given waives it."""
        for element, rule, words in objector(self.document):
            because = self.ask(element, f"as_built {rule}", f"{words}; if the maker built it so, why?")
            if because:
                self.document["as_built"].append({"element": element, "rule": rule, "because": because})

    def refuse_unused_answers(self) -> None:
        """Note answers to what nobody asked."""
        for key, row in self.answers.items():
            if key not in self.used:
                hint = did_you_mean(key[0], {about for about, _ in self.used})
                self.problems.append(row.problem("about", f"nothing was asked about {key[0]} {key[1]}{hint}"))

    def _number(self, key: tuple[str, str], text: str) -> float:
        row = self.answers.get(key)
        found = row.number(text.split(maxsplit=1)[0]) if row else None
        if found is None or not 0 < found < 1e6:
            self.refuse(key, f"{text} is no number greater than 0")
            return 1.0
        return found

    # -- wires

    def add_wire(self, row: Row) -> None:
        """Add a wire, and note the devices that it comes to."""
        own = row["wire"] or f"W{len(self.document['wires']) + 1}"
        if any(own == entry["id"] for entry in self.document["wires"]):
            self.problems.append(row.problem("wire", f"the wire {own} is there already"))
            return
        if any(mark in own for mark in MARKS):
            self.problems.append(row.problem("wire", f"{own} may not hold any of {' '.join(MARKS)}"))
            return
        ends = [self._end(row, column) for column in ("from", "to")]
        if not all(ends):
            return
        wire: dict[str, Any] = {"id": own, "from": ends[0], "to": ends[1]}
        cells = {column: self._cell(row, own, column) for column in WIRE_COLUMNS[3:]}
        wire |= {column: value for column, value in cells.items() if value is not None}
        self.document["wires"].append(wire)

    def _end(self, row: Row, column: str) -> str:
        text = row[column]
        device, _, terminal = text.partition(":")
        device, terminal = device.strip(), terminal.strip()
        if not device or any(mark in device for mark in MARKS) or ":" in terminal:
            right = "DEVICE:TERMINAL such as F3:out, a splice such as SP1, GND1, or OPEN:words"
            message = f"{text or 'nothing'} is no end; write {right}"
            self.problems.append(row.problem(column, message))
            return ""
        kind = self._kind_of(device)
        if kind == "":
            if all(entry["id"] != device for entry in self.document["splices"]):
                self.document["splices"].append({"id": device})
            return device
        if not terminal:
            if kind not in SINGLE:
                message = (
                    f"{device} has terminals: write which, such as {device}:{'in' if kind == 'fuse_slot' else '1'}"
                )
                self.problems.append(row.problem(column, message))
                return ""
            terminal = "1"
        if device in self.given:
            names = [one if isinstance(one, str) else one["name"] for one in self.given[device].get("terminals", ())]
            if terminal not in names:
                words = (
                    f"{device} ({self.given[device].get('name', kind)}) is there already and has no terminal {terminal}"
                )
                self.problems.append(row.problem(column, f"{words}; it has {', '.join(names)}"))
                return ""
        if kind == "fuse_slot" and device not in self.given and terminal not in ("in", "out"):
            self.problems.append(row.problem(column, f"a fuse has in and out (towards the load), not {terminal}"))
            return ""
        self.things.setdefault(device, _Thing(kind)).terminals.setdefault(terminal)
        return f"{device}:{terminal}"

    def _kind_of(self, device: str) -> str:
        """Kind by the device itself, an answer, or its letters; empty for a splice."""
        if device in self.given:
            return str(self.given[device]["kind"])
        answer = self.answers.get((device, "kind"))
        if answer and answer["answer"]:
            return answer["answer"]
        for row in device_letters():
            if re.fullmatch(rf"{row.letters}(\d.*|_.*)?", device):
                return row.kind
        return "other"

    def _cell(self, row: Row, wire: str, column: str) -> Any:
        """A cell of a wire, or the answer to the question that an empty one raises."""
        text, place = row[column], (row, column)
        if not text:
            examples = {
                "colour": "RD/WH", "size_mm2": "0.75 (or 18 AWG)", "length_m": "1.2", "circuit": "horn",
                "zones": "dash; engine bay",
            }  # fmt: skip
            text = self.ask(wire, column, f"{column.replace('_', ' ')} of the wire, such as {examples[column]}")
            place = (self.answers.get((wire, column), row), "answer" if text else column)
        if not text:
            return None
        value, fault = self._value(text, column, place[0])
        if fault:
            self.problems.append(place[0].problem(place[1], fault))
        return value

    def _value(self, text: str, column: str, row: Row) -> tuple[Any, str]:
        match column:
            case "colour":
                return _colour(text)
            case "circuit":
                return self._circuit(text), ""
            case "zones":
                return [self._zone(one) for one in re.split(r"[;>]", text) if one.strip()], ""
        gauge = re.fullmatch(r"(\d+)\s*AWG", text, re.IGNORECASE)
        if gauge and column == "size_mm2":
            return {"exact": round(awg_to_mm2(int(gauge[1])), 3), "as_entered": text}, ""
        number = row.number(re.sub(r"\s*(mm2|mm²|m)$", "", text))
        if number is None or not 0 < number < 1e4:
            return None, f"{text} is no {'size in mm²' if column == 'size_mm2' else 'length in m'}; write a number"
        return number, ""

    def _circuit(self, text: str) -> str:
        functions = schema("common")["$defs"]["circuit"]["properties"]["function"]["enum"]
        for entry in self.document["circuits"]:
            if text.lower() in (entry["id"].lower(), entry["name"].lower()):
                return str(entry["id"])
        slug = _slug(text)
        own = f"C_{slug.removeprefix('C_')}"
        function = slug.lower().removeprefix("c_")
        if function not in functions:
            near = did_you_mean(function, functions)
            words = f"what the circuit does: one of {', '.join(functions)}{near}"
            function = self.ask(own, "function", words) or "other"
            if function not in functions:
                self.refuse((own, "function"), f"{function} is no function{did_you_mean(function, functions)}")
                function = "other"
        self.document["circuits"].append({"id": own, "name": text, "function": function})
        return own

    def _zone(self, text: str) -> str:
        text = text.strip()
        for entry in self.document["zones"]:
            if (
                text.lower() in (entry["id"].lower(), entry["name"].lower())
                or f"z_{text.lower()}" == entry["id"].lower()
            ):
                return str(entry["id"])
        own = f"Z_{_slug(text).removeprefix('Z_')}"
        if all(entry["id"] != own for entry in self.document["zones"]):
            zone: dict[str, Any] = {"id": own, "name": text}
            minutes = self.ask(own, "access_min", "minutes to get to see it, such as 10")
            zone |= {"access_min": self._number((own, "access_min"), minutes)} if minutes else {}
            self.document["zones"].append(zone)
        return own

    # -- devices

    def add_devices(self) -> None:
        """Add every device that a wire comes to."""
        for own, thing in list(self.things.items()):
            if own in self.given:
                self._open_no_more(self.given[own], thing)
            else:
                self._add_device(own, thing)
        kinds = {entry["kind"] for entry in self.document["devices"]}
        if "ground_stud" in kinds and not any(entry["id"] == "BODY" for entry in self.document["devices"]):
            self.document["devices"].append({"id": "BODY", "kind": "body", "terminals": ["1"]})

    def _open_no_more(self, entry: dict[str, Any], thing: _Thing) -> None:
        """A terminal of the base that a wire comes to is no open end any more."""
        terminals = [
            {key: value for key, value in one.items() if key != "open_end"}
            if isinstance(one, dict) and one["name"] in thing.terminals
            else one
            for one in entry.get("terminals", ())
        ]
        place = self.document["devices"].index(entry)
        self.document["devices"][place] = {**entry, "terminals": terminals}

    def _add_device(self, own: str, thing: _Thing) -> None:
        kinds = schema("common")["$defs"]["device"]["properties"]["kind"]["enum"]
        if not any(re.fullmatch(rf"{row.letters}(\d.*|_.*)?", own) for row in device_letters()):
            self.ask(own, "kind", f"what it is: one of {', '.join(kinds)}")
        if thing.kind not in (*kinds, "relay"):
            self.refuse((own, "kind"), f"{thing.kind} is no kind of device{did_you_mean(thing.kind, kinds)}")
            return
        device: dict[str, Any] = {"id": own, "kind": thing.kind}
        if thing.kind not in (*SINGLE, "other"):
            name = self.ask(own, "name", f"what the diagram calls this {thing.kind.replace('_', ' ')}")
            device |= {"name": name} if name else {}
        if thing.kind != "other" or own != "OPEN":
            zone = self.ask(own, "zone", "where it sits, such as dash")
            device |= {"zone": self._zone(zone)} if zone else {}
        self.document["devices"].append(device)
        match thing.kind:
            case "fuse_slot" | "fusible_link":
                self._fuse(device, thing)
            case "relay":
                self._relay(device, thing)
            case "inline_connector" if _pairs(thing):
                device["terminals"] = list(thing.terminals)
                device |= {"positions": ["mated", "unmated"], "rest_position": "mated", "parts": self._pins(own, thing)}
            case _ if thing.kind in SINGLE:
                device["terminals"] = list(thing.terminals)
                if thing.kind == "ground_stud":
                    bond = {"terminal": "1", "to": "BODY:1", "resistance_ohm": assumed("ground_bond")}
                    device["bonds"] = [bond]
            case "other" if own.startswith("OPEN"):
                device["terminals"] = [{"name": name, "open_end": True} for name in thing.terminals]
            case _:
                self._with_inside(device, thing)

    def _fuse(self, device: dict[str, Any], thing: _Thing) -> None:
        own = device["id"]
        rating = self.ask(own, "rating_A", "rating of the fuse that belongs there [A], such as 10")
        body = self.ask(own, "body", "body of the fuse, such as blade type C, glass 6.3 x 32, bolt-down")
        ampere = {"rating_A": self._number((own, "rating_A"), rating)} if rating else {}
        shape = {"body": body} if body else {}
        terminals = [{"name": "in", "side": "supply"}, {"name": "out", "side": "load"}]
        if thing.kind == "fusible_link":
            device |= {"terminals": terminals, **ampere, **shape}
            return
        device |= {"terminals": terminals, **shape} | ({"legend_A": ampere["rating_A"]} if ampere else {})
        if not thing.terminals.keys() & {"in"}:
            device["terminals"][0]["open_end"] = True
        if not thing.terminals.keys() & {"out"}:
            device["terminals"][1]["open_end"] = True
        self.document["devices"].append({"id": f"{own}_FUSE", "kind": "fuse", "seat": own, **ampere, **shape})

    def _relay(self, device: dict[str, Any], thing: _Thing) -> None:
        own = device["id"]
        inside = self._inside(own, thing)
        device |= {"kind": "relay_socket", "terminals": _terminals(thing, inside)}
        self.document["devices"].append(
            {"id": f"{own}_RELAY", "kind": "relay", "seat": own, "parts": list(inside.parts)}
        )

    def _pins(self, own: str, thing: _Thing) -> list[dict[str, Any]]:
        limit = self.ask(own, "limit_A", "current one pin is made for [A], such as 20")
        ampere = {"limit_A": self._number((own, "limit_A"), limit)} if limit else {}
        return [
            {
                "kind": "link", "between": [f"{cavity}a", f"{cavity}b"], "when": {"position": ["mated"]},
                "resistance_ohm": assumed("connector_resistance"), **ampere,
            }
            for cavity in _pairs(thing)
        ]  # fmt: skip

    def _with_inside(self, device: dict[str, Any], thing: _Thing) -> None:
        own = device["id"]
        grounded = ""
        if thing.kind in LOADS and len(thing.terminals) == 1:
            grounded = self.ask(own, "ground", "one wire only: does it ground through its case? case, or engine, or no")
            if grounded and grounded not in ("case", "engine", "no"):
                self.refuse((own, "ground"), f"{grounded} is none of case, engine, no")
        if grounded in ("case", "engine"):
            thing.terminals.setdefault("31")
            metal = "ENGINE" if grounded == "engine" else "BODY"
            device["bonds"] = [{"terminal": "31", "to": f"{metal}:1", "resistance_ohm": assumed("case_bond")}]
            if all(entry["id"] != metal for entry in self.document["devices"]):
                kind = "engine_block" if metal == "ENGINE" else "body"
                self.document["devices"].append({"id": metal, "kind": kind, "terminals": ["1"]})
            self.document["as_built"].append(
                {"element": own, "rule": "ground_through_case", "because": "said so when it was written down"}
            )
        inside = self._inside(own, thing)
        device["terminals"] = _terminals(thing, inside)
        device |= {"parts": list(inside.parts)} if inside.parts else {}
        if inside.positions:
            device |= {"positions": list(inside.positions), "rest_position": inside.positions[0]}

    def _inside(self, own: str, thing: _Thing) -> Inside:
        terminals = tuple(thing.terminals)
        answer = self.ask(own, "inside", f"what is inside, in words such as: {example(thing.kind, terminals)}")
        inside = inside_of(answer, thing.kind, terminals, self.voltage_V)
        for fault in inside.faults:
            self.refuse((own, "inside"), fault)
        return inside

    # -- conditions

    def add_conditions(self) -> None:
        """Add the states without which behaviour cannot be told, and ask where the switches stand in them."""
        known = {entry["id"] for entry in self.document["conditions"]}
        switches = {
            entry["id"]: entry["positions"]
            for entry in self.document["devices"]
            if entry["kind"] in BOXES and entry.get("positions") and entry["id"] not in self.given
        }
        for own, name, key, engine in STATES:
            condition: dict[str, Any] = {"id": own, "name": name, "key": key, "engine": engine}
            if own in known:
                condition = next(entry for entry in self.document["conditions"] if entry["id"] == own)
            if switches and own != "asleep":
                names = ", ".join(f"{switch} ({' / '.join(positions)})" for switch, positions in switches.items())
                answer = self.ask(
                    own, "positions", f"switches that are not at rest when {name}: {names}; such as S1 on"
                )
                positions = dict(self._positions(own, answer, switches))
                if positions:
                    condition = {**condition, "positions": condition.get("positions", {}) | positions}
            if own in known:
                place = [entry["id"] for entry in self.document["conditions"]].index(own)
                self.document["conditions"][place] = condition
            else:
                self.document["conditions"].append(condition)

    def _positions(self, own: str, answer: str, switches: dict[str, list[str]]) -> Iterator[tuple[str, str]]:
        for piece in filter(None, map(str.strip, re.split(r"[;,]", answer))):
            switch, _, position = piece.partition(" ")
            if switch not in switches:
                self.refuse((own, "positions"), f"there is no switch {switch}{did_you_mean(switch, switches)}")
            elif position.strip() not in switches[switch]:
                near = did_you_mean(position.strip(), switches[switch])
                self.refuse((own, "positions"), f"{switch} has no position {position.strip()}{near}")
            else:
                yield switch, position.strip()


def _terminals(thing: _Thing, inside: Inside) -> list[str]:
    named = [name for part in inside.parts for name in part["between"]]
    return list(dict.fromkeys((*thing.terminals, *named)))


def _pairs(thing: _Thing) -> list[str]:
    """Cavities of an in-line connector whose sides are written 1a and 1b, where all its terminals are."""
    cavities = list(dict.fromkeys(name[:-1] for name in thing.terminals))
    return cavities if all(name[:-1] and name[-1] in "ab" for name in thing.terminals) else []


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


def _slug(text: str) -> str:
    return re.sub(r"[^A-Z0-9]+", "_", text.upper()).strip("_") or "X"
