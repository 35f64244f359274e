"""What is inside a device, in words a person writes: ``off; on: 1 to 2 joins 16 A``.

An answer is one or more pieces with semicolons between. A piece may begin with the position or
state in which it holds and a colon, and says what happens between two terminals::

    58 to 31 draws 5 W          a lamp, motor or other load: W, A or ohm
    1 to 2 joins 16 A           a contact, and what it is made for
    off                         a position in which nothing is joined
    on: 1 to 2 joins 16 A       a contact in a position
    pulled: 30 to 87 joins 30 A a contact of a relay; at rest: the other one
    85 to 86 coil 85 ohm        the coil of a relay
    from + to - gives 12.6 V 70 Ah
    30 to OUT puts out 8 A      an electronic output, and where it shuts down
    1 to 2 passes 3 A           a diode, from anode to cathode
    1 to 2 passes nothing       no connection (to say so)

"from" before the first terminal is left out as one likes: it keeps a spreadsheet from taking ``+ to -``
for a formula.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from harnessdiff.read.schema import did_you_mean
from harnessdiff.tables.loader import assumed

_PIECE = re.compile(
    r"(?:(?P<state>[^:;]+?)\s*:\s+)?(?:from\s+)?(?P<one>\S+)\s+to\s+(?P<other>\S+)\s+"
    r"(?P<verb>draws|joins|coil|gives|puts out|passes)\b\s*(?P<values>.*)"
)
_VALUE = re.compile(r"(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>[A-Za-zΩ]+)")
_POSITION = re.compile(r"[\w ./+-]{1,60}")
LONGEST_TERMINAL = 40
GREATEST = 1e6
_UNITS = {
    "w": "W", "a": "A", "ma": "mA", "v": "V", "mv": "mV", "ah": "Ah",
    "ohm": "ohm", "ohms": "ohm", "ω": "ohm", "mohm": "mohm", "kohm": "kohm",
}  # fmt: skip
_STATES = {"pulled": True, "pulled in": True, "energised": True, "at rest": False, "rest": False}
_MODELS = {
    "lamp": "filament", "lamp_holder": "filament", "motor": "motor", "starter": "motor", "pump": "motor",
    "fan": "motor", "heater": "resistance", "resistor": "resistance", "load_resistor": "resistance",
    "glow_plug": "resistance", "coil": "resistance", "injector": "resistance", "horn": "resistance",
}  # fmt: skip
WITH_POSITIONS = ("switch", "button")
"""Kinds that stay in positions."""
_SOURCES = {"battery": "battery", "alternator": "alternator", "converter": "converter"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Inside:
    """Parts and positions that an answer tells, and what is wrong with it."""

    parts: tuple[dict[str, Any], ...]
    positions: tuple[str, ...]
    faults: tuple[str, ...]


def inside_of(answer: str, kind: str, terminals: tuple[str, ...], voltage_V: float) -> Inside:
    """Read an answer.

    Parameters
    ----------
    answer : str
    kind : str
        Of the device.
    terminals : tuple of str
        Names that wires come to; others may be named, too.
    voltage_V : float
        At which a power in watts holds. [V]

    Returns
    -------
    Inside
    """
    parts: list[dict[str, Any]] = []
    positions: list[str] = []
    faults: list[str] = []
    for piece in filter(None, map(str.strip, answer.split(";"))):
        match = _PIECE.fullmatch(piece)
        if match is None:
            is_word = _POSITION.fullmatch(piece) and " to " not in piece and not _says_a_value(piece)
            if is_word and kind in WITH_POSITIONS:
                positions.append(piece)
            else:
                faults.append(f"“{piece}” is not understood; write it as {example(kind, terminals)}")
            continue
        try:
            part, state = _part(match, kind, voltage_V)
        except ValueError as error:
            faults.append(f"“{piece}”: {error}")
            continue
        if isinstance(state, str):
            positions.append(state)
        parts += [part] if part else []
    return Inside(parts=tuple(parts), positions=tuple(dict.fromkeys(positions)), faults=tuple(faults))


def _part(match: re.Match[str], kind: str, voltage_V: float) -> tuple[dict[str, Any] | None, str | bool | None]:
    values = _values(match["values"])
    part: dict[str, Any] = {"between": _between(match["one"], match["other"])}
    state = _state(match["state"], kind)
    when: dict[str, Any] = {}
    if isinstance(state, bool):
        when = {"energised": state}
    elif state is not None:
        when = {"position": [state]}
    if kind == "alternator" and match["verb"] == "gives":
        when = {"engine": ["running"]}
    match match["verb"]:
        case "draws":
            part = {"kind": "load", **part, "model": _MODELS.get(kind, "current"), **_draw(values, voltage_V)}
        case "joins":
            part = {"kind": "link", **part, **_named(values, {"A": "limit_A", "ohm": "resistance_ohm"}, needs="")}
            name = "connector_resistance" if kind == "inline_connector" else "contact_resistance"
            part.setdefault("resistance_ohm", assumed(name))
        case "coil":
            part = {"kind": "coil", **part, **_coil(values)}
        case "gives":
            names = {"V": "voltage_V", "Ah": "capacity_Ah", "ohm": "internal_ohm", "A": "limit_A"}
            model = _SOURCES.get(kind, "own_cells")
            part = {"kind": "source", **part, "model": model, **_named(values, names, needs="V")}
            if model == "battery":
                part.setdefault("internal_ohm", assumed("battery_internal"))
        case "puts out":
            part = {"kind": "output", **part, **_named(values, {"A": "limit_A", "ohm": "resistance_ohm"}, needs="A")}
            part.setdefault("resistance_ohm", assumed("output_resistance"))
        case _ if match["values"].strip() == "nothing":
            return None, state
        case _:
            part = {"kind": "diode", **part, **_named(values, {"A": "limit_A", "V": "forward_V"}, needs="")}
            part.setdefault("forward_V", assumed("diode_forward"))
    return (part | ({"when": when} if when else {})), state


def _between(one: str, other: str) -> list[str]:
    if one == other:
        raise ValueError(f"both ends are {one}")
    for name in (one, other):
        if ":" in name or len(name) > LONGEST_TERMINAL:
            raise ValueError(f"{name} is no terminal; its name alone, such as 31, without the device")
    return [one, other]


def _state(words: str | None, kind: str) -> str | bool | None:
    if words is None:
        return None
    if kind == "relay":
        if words.lower() not in _STATES:
            raise ValueError(f"a relay is pulled, or at rest{did_you_mean(words, _STATES)}")
        return _STATES[words.lower()]
    if kind not in WITH_POSITIONS:
        raise ValueError(f"a {kind.replace('_', ' ')} has no positions; leave out “{words}:”")
    if not _POSITION.fullmatch(words):
        raise ValueError(f"“{words}” is no position; write it in letters, figures and blanks")
    return words


def _values(text: str) -> list[tuple[float, str]]:
    found = []
    rest = _VALUE.sub("", text).strip(" ,").removeprefix("nothing")
    for match in _VALUE.finditer(text):
        unit = _UNITS.get(match["unit"].lower())
        if unit is None:
            raise ValueError(
                f"{match['unit']} is no unit used here{did_you_mean(match['unit'], sorted(_UNITS.values()))}"
            )
        number = float(match["number"].replace(",", "."))
        if not 0 < number < GREATEST:
            raise ValueError(f"{match[0]} is out of bounds; more than 0 and less than {GREATEST:g} is read")
        found.append((number, unit))
    if rest:
        raise ValueError(f"“{rest}” is not understood; a value is a number and a unit, such as 21 W")
    return found


MOST_APART = 1.5
"""Times that a power and a current given together may differ: rated and running voltage do (common practice)."""
_TO_BASE = {"mA": ("A", 1e-3), "mV": ("V", 1e-3), "mohm": ("ohm", 1e-3), "kohm": ("ohm", 1e3)}


def _named(values: list[tuple[float, str]], names: dict[str, str], *, needs: str) -> dict[str, float]:
    """Values under the names of their units."""
    found: dict[str, float] = {}
    for number, unit in values:
        base, factor = _TO_BASE.get(unit, (unit, 1.0))
        if base not in names:
            raise ValueError(f"a value in {unit} does not belong here; one in {' or '.join(names)} does")
        if names[base] in found:
            raise ValueError(f"two values in {base}")
        found[names[base]] = float(f"{number * factor:.12g}")
    if needs and names[needs] not in found:
        raise ValueError(f"a value in {needs} is missing")
    return found


def _draw(values: list[tuple[float, str]], voltage_V: float) -> dict[str, float]:
    found = _named(values, {"W": "rated_W", "A": "rated_A", "ohm": "resistance_ohm"}, needs="")
    if not found:
        raise ValueError("say how much, in W, A or ohm")
    if "rated_W" in found and "rated_A" in found:
        drawn_W = found["rated_A"] * voltage_V
        if not 1 / MOST_APART < found["rated_W"] / drawn_W < MOST_APART:
            raise ValueError(f"{found['rated_W']:g} W and {found['rated_A']:g} A do not go together at {voltage_V:g} V")
    return found | ({"rated_V": voltage_V} if "rated_W" in found or "rated_A" in found else {})


def _says_a_value(piece: str) -> bool:
    """Whether a piece holds a number with a unit, and so is no mere name of a position."""
    return any(match["unit"].lower() in _UNITS for match in _VALUE.finditer(piece))


def _coil(values: list[tuple[float, str]]) -> dict[str, Any]:
    """Resistance, and the voltages at which it pulls in and lets go; those of a 12 V relay where not said."""
    volts = [number for number, unit in values if unit == "V"]
    if len(volts) > 2:
        raise ValueError("more than two voltages; one at which it pulls in and one at which it lets go")
    found: dict[str, Any] = _named([one for one in values if one[1] != "V"], {"ohm": "resistance_ohm"}, needs="ohm")
    for member, place, usual in (("pull_in_V", 0, "relay_pull_in"), ("drop_out_V", 1, "relay_drop_out")):
        found[member] = volts[place] if len(volts) > place else assumed(usual)
    return found


def example(kind: str, terminals: tuple[str, ...]) -> str:
    """An answer as it could be for a device of this kind, with its own terminals."""
    return "; ".join(_example(kind, terminals))


RETURNS = ("-", "31", "31b", "GND", "G", "D-")
FEEDS = ("+", "30", "B+", "KL30", "15", "VCC")
"""Names that terminals fed with plus go by (DIN 72552 and everyday use)."""


def _example(kind: str, terminals: tuple[str, ...]) -> Iterator[str]:
    usual = _usual(kind)
    known = terminals if len(terminals) > 1 else (*terminals, *(name for name in usual if name not in terminals))[:2]
    back = next((name for name in known if name in RETURNS), known[-1])
    others = [name for name in known if name != back]
    feed = next((name for name in others if name in FEEDS), others[0])
    match kind:
        case "battery":
            yield f"{_from(feed)} to {back} gives 12.6 V 70 Ah"
        case "alternator":
            yield f"{_from(feed)} to {back} gives 14.2 V 90 A"
        case "switch":
            yield "off"
            for number, name in enumerate(others, 1):
                yield f"{'on' if len(others) == 1 else number}: {name} to {back} joins 16 A"
        case "button":
            yield "free"
            yield f"pressed: {others[0]} to {back} joins 5 A"
        case "relay":
            yield from _example_of_a_relay(terminals)
        case "diode":
            yield f"{_from(others[0])} to {back} passes 3 A"
        case "module" | "amplifier" | "alarm":
            yield f"{_from(feed)} to {back} draws 0.2 A"
            for name in others:
                if name not in FEEDS and name != feed:
                    yield f"{_from(feed)} to {name} puts out 5 A"
        case "resistor" | "load_resistor":
            for one, other in itertools.pairwise(sorted(known)):
                yield f"{_from(one)} to {other} draws 0.5 ohm"
        case _:
            amounts = {"lamp": "21 W", "horn": "4 A", "motor": "5 A", "sensor": "500 ohm", "speaker": "4 ohm"}
            for name in others:
                yield f"{_from(name)} to {back} draws {amounts.get(kind, '10 W')}"


def _from(terminal: str) -> str:
    """A terminal at the beginning of an answer, so that no spreadsheet takes it for a formula."""
    return f"from {terminal}" if terminal[0] in "=+-@'" else terminal


def _example_of_a_relay(terminals: tuple[str, ...]) -> Iterator[str]:
    """With numbers 1 to 5 where the table has those: ISO 7588 gives them for 86, 85, 30, 87a and 87."""
    names = {"86": "86", "85": "85", "30": "30", "87a": "87a", "87": "87"}
    if terminals and set(terminals) <= set("12345"):
        names = dict(zip(names, "12345", strict=True))
    yield f"{names['86']} to {names['85']} coil 85 ohm"
    yield f"pulled: {names['30']} to {names['87']} joins 30 A"
    if names["87a"] in terminals:
        yield f"at rest: {names['30']} to {names['87a']} joins 20 A"


def _usual(kind: str) -> tuple[str, str]:
    """Names of the two terminals of a device where the table tells fewer, the likelier first."""
    match kind:
        case "battery" | "alternator":
            return ("-", "+")
        case "switch" | "button" | "resistor" | "load_resistor" | "diode":
            return ("1", "2")
        case _:
            return ("31", "1")
