"""Puts a valid document's quantities into the unit of their names and colours into IEC 60757 letters."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from harnessdiff.read.schema import did_you_mean, pointer_to
from harnessdiff.tables.loader import awg_to_mm2, colour_words, rows

_TARGETS = {
    "mm2": "mm2", "m": "m", "mm": "mm", "A": "A", "V": "V", "W": "W", "ohm": "ohm", "Ah": "Ah",
    "s": "s", "min": "min", "degC": "degC",
}  # fmt: skip
_NUMBERS = ("exact", "min", "max")
GREATEST_GAUGE = 60
LONGEST_LETTERS = 3
"""Longer words than this are taken for words, not for letters mistyped."""
NEVER_NEGATIVE = frozenset({"mm2", "m", "mm", "ohm", "Ah", "W", "s", "min"})
NEVER_NEGATIVE_CURRENTS = frozenset(
    {"rating_A", "limit_A", "momentary_A", "inrush_A", "rest_A", "rated_A", "unmodelled_rest_A"}
)
# DIN 72551 has letters of its own for a light blue.
_SHADED = {("DIN 72551", "hb"): ("BU", "light")}


def normalised(data: Any, colour_system: str) -> tuple[Any, list[tuple[str, str]]]:
    """Convert units and colours.

    Parameters
    ----------
    data : Any
        A document that its schema accepts.
    colour_system : str
        Code system of colours that do not name their own.

    Returns
    -------
    tuple
        The document with numbers in the unit of their names and colours in IEC 60757 letters,
        and what could not be converted, as pointer and message.
    """
    faults: list[tuple[str, str]] = []
    return _walk(data, (), faults, colour_system), faults


def _walk(value: Any, path: tuple[str | int, ...], faults: list[tuple[str, str]], system: str) -> Any:
    if isinstance(value, list):
        return [_walk(one, (*path, number), faults, system) for number, one in enumerate(value)]
    if not isinstance(value, dict):
        _refuse_negative(value, path, faults)
        return value
    if path and path[-1] in ("positions", "when"):
        return value  # names of devices or of parameters, whatever they are
    if "unit" in value and path:
        return _converted(value, path, faults)
    if "base" in value:
        return _coloured(value, path, faults, system)
    found = {
        key: one if key.startswith("x_") else _walk(one, (*path, key), faults, system) for key, one in value.items()
    }
    if _bounds_crossed(found):
        faults.append((pointer_to(path), f"least value {found['min']:g} is above greatest value {found['max']:g}"))
    return found


def _bounds_crossed(value: dict[str, Any]) -> bool:
    low, high = value.get("min"), value.get("max")
    return isinstance(low, (int, float)) and isinstance(high, (int, float)) and low > high


def _converted(value: dict[str, Any], path: tuple[str | int, ...], faults: list[tuple[str, str]]) -> dict[str, Any]:
    if _bounds_crossed(value):
        faults.append((pointer_to(path), f"least value {value['min']:g} is above greatest value {value['max']:g}"))
        return {}
    name = _name(path)
    target = _TARGETS.get(name.rsplit("_", 1)[-1])
    unit = value["unit"]
    without = {key: one for key, one in value.items() if key != "unit"}
    if "as_entered" not in without:
        without["as_entered"] = _as_entered(value)
    if unit == "AWG" and target == "mm2":
        return _sensible(_mapped(without, _gauge_mm2, falling=True), path, faults)
    sizes = {row["unit"]: row for row in rows("units")}
    if target is None or unit not in sizes or sizes[unit]["quantity"] != sizes[target]["quantity"]:
        valid = [row["unit"] for row in rows("units") if target and row["quantity"] == sizes[target]["quantity"]]
        message = f"{unit} is no unit for {name}; use one of: {', '.join(valid + ['AWG'] * (target == 'mm2'))}"
        faults.append((f"{pointer_to(path)}/unit", message))
        return without
    factor = float(sizes[unit]["factor"]) / float(sizes[target]["factor"])
    return _sensible(_mapped(without, lambda number: number * factor, falling=False), path, faults)


def _name(path: tuple[str | int, ...]) -> str:
    """The name of the member that a value stands under, also where it is an entry of a list or a bound."""
    names = [part for part in path if isinstance(part, str) and part not in (*_NUMBERS, "one_of")]
    return names[-1] if names else ""


def _gauge_mm2(gauge: float) -> float:
    """Size of a gauge number; out of all bounds where the number is none of a wire."""
    return awg_to_mm2(gauge) if -GREATEST_GAUGE <= gauge <= GREATEST_GAUGE else math.inf


def _sensible(value: dict[str, Any], path: tuple[str | int, ...], faults: list[tuple[str, str]]) -> dict[str, Any]:
    """A converted quantity, where it is finite and not negative without reason."""
    numbers: list[float] = [value[key] for key in _NUMBERS if key in value]
    numbers.extend(value.get("one_of", ()))
    if not all(math.isfinite(one) for one in numbers):
        faults.append((pointer_to(path), "is too large for anything in a vehicle"))
        return {}
    for one in numbers:
        _refuse_negative(one, path, faults)
    return value


def _refuse_negative(value: Any, path: tuple[str | int, ...], faults: list[tuple[str, str]]) -> None:
    """A fault where a length, a size, a rating or the like is negative."""
    if isinstance(value, bool) or not isinstance(value, (int, float)) or value >= 0:
        return
    name = _name(path)
    unit = name.rsplit("_", 1)[-1]
    if (unit in NEVER_NEGATIVE and "_" in name) or name in NEVER_NEGATIVE_CURRENTS:
        faults.append((pointer_to(path), f"{name} is never negative, and is {value:g}"))


def _mapped(value: dict[str, Any], change: Any, *, falling: bool) -> dict[str, Any]:
    found: dict[str, Any] = {key: _tidy(change(one)) if key in _NUMBERS else one for key, one in value.items()}
    if "one_of" in found:
        found["one_of"] = [_tidy(change(one)) for one in value["one_of"]]
    if falling and ("min" in found or "max" in found):
        low, high = found.pop("max", None), found.pop("min", None)
        found |= {key: one for key, one in (("min", low), ("max", high)) if one is not None}
    return found


def _tidy(number: float) -> float:
    """A converted number without the dust of the conversion."""
    return float(f"{number:.12g}")


def _as_entered(value: dict[str, Any]) -> str:
    unit = value["unit"]
    numbers = "/".join(f"{value[key]:g}" for key in _NUMBERS if key in value)
    numbers = numbers or "/".join(f"{one:g}" for one in value.get("one_of", ()))
    return f"{numbers} {unit}"


def near_colour(word: str, system: str) -> str:
    """A closing phrase that names the colour most like `word`: letters of its system, or an English word."""
    valid = {known.upper() if of == "IEC 60757" else known for of, known in colour_words() if of in (system, "words")}
    spelled = word.upper() if len(word) <= LONGEST_LETTERS and system == "IEC 60757" else word.lower()
    return did_you_mean(spelled, {*valid, "unknown"})


def _coloured(
    value: dict[str, Any], path: tuple[str | int, ...], faults: list[tuple[str, str]], system: str
) -> dict[str, Any]:
    system = value.get("code_system", system)
    found = {key: one for key, one in value.items() if key != "code_system"}
    for key, word in list(_colour_fields(value)):
        if word == "unknown":
            continue
        letters = _letters(word, system)
        if (system, word.lower()) in _SHADED:
            letters, shade = _SHADED[system, word.lower()]
            if key == "base":
                found.setdefault("shade", shade)
        if letters is None:
            faults.append((f"{pointer_to(path)}/{key}", f"{word} is no colour{near_colour(word, system)}"))
        elif "/" in key:
            found["marks"] = [letters if mark == word else mark for mark in found["marks"]]
        else:
            found[key] = letters
    return found


def _colour_fields(value: dict[str, Any]) -> Iterator[tuple[str, str]]:
    for key in ("base", "tracer"):
        if key in value:
            yield key, value[key]
    for number, mark in enumerate(value.get("marks", ())):
        yield f"marks/{number}", mark


def _letters(word: str, system: str) -> str | None:
    """IEC 60757 letters of a colour; English words are understood beside any code system."""
    known = colour_words()
    return known.get((system, word.lower())) or known.get(("words", word.lower()))
