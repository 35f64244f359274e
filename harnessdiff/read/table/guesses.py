"""What common practice tells where nobody said it: kinds by letters, functions by words, places by wires."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from harnessdiff.read.schema import schema
from harnessdiff.tables.loader import device_letters
from harnessdiff.tables.loader import functions as printed_functions

SAME_KIND = {
    "fuse": "fuse_slot", "relay_socket": "relay", "ground": "ground_stud", "ground_point": "ground_stud",
    "connector": "inline_connector", "solenoid": "coil", "module_or_control_unit": "module",
}  # fmt: skip
"""Words for kinds as a person says them, and the kinds."""
SAME_WORD = {
    "earth": "ground", "stop": "brake", "light": "lamp", "blower": "heater_blower", "main": "battery_main",
    "heated": "heat", "heating": "heat", "heater": "heat", "demister": "heat", "defogger": "heat", "defog": "heat",
    "defroster": "heat", "screen": "window", "windscreen": "window", "indicator": "turn", "tail": "side",
    "reversing": "reverse", "trailer": "tow", "starting": "start", "starter": "start",
}  # fmt: skip
"""Words in names of circuits, and those that mean the same in names of functions."""
MOST_NAMED = 3
SURE_LETTERS = ("F",)
"""Single letters that mean one kind only, whoever drew the diagram."""


@cache
def kinds() -> tuple[str, ...]:
    """Kinds of devices."""
    return tuple(schema("common")["$defs"]["device"]["properties"]["kind"]["enum"])


@cache
def functions() -> tuple[str, ...]:
    """Functions of circuits."""
    return tuple(schema("common")["$defs"]["circuit"]["properties"]["function"]["enum"])


def kind_of_letters(device: str) -> tuple[str | None, bool]:
    """Kind by the letters of a name, empty for a splice, None where they tell nothing; and whether they are sure."""
    for row in device_letters():
        if re.fullmatch(rf"{row.letters}(\d.*|_.*)?", device):
            return row.kind, len(row.letters) > 1 or row.letters in SURE_LETTERS
    return None, False


def kind_of_words(answer: str) -> str:
    """The kind that an answer means; the answer itself where it means none."""
    word = re.sub(r"[\s-]+", "_", answer.strip().lower())
    return SAME_KIND.get(word, word)


def function_of_words(name: str) -> str:
    """The function that a circuit's name says, empty where it says none or several."""
    said = _words(name)
    fits = {
        function: max((len(words) for words in names if words <= said), default=0)
        for function, names in _names_of_functions().items()
    }
    best = max(fits.values())
    longest = [function for function, length in fits.items() if length == best]
    return longest[0] if best and len(longest) == 1 else ""


@cache
def _names_of_functions() -> dict[str, tuple[frozenset[str], ...]]:
    """The words that say a function: those of its code, and those it is printed with."""
    printed = printed_functions()
    return {
        function: (_words(function), _words(printed[function].words)) for function in functions() if function != "other"
    }


def near_functions(name: str) -> list[str]:
    """The few functions that share most words with a circuit's name."""
    said = _words(name)
    shared = {function: len(_words(function) & said) for function in functions()}
    return sorted(filter(shared.get, functions()), key=lambda function: -shared[function])[:MOST_NAMED]


def _words(name: str) -> frozenset[str]:
    single = (
        word[:-1] if len(word) > 3 and word.endswith("s") else word for word in re.findall(r"[^\W_]+", name.lower())
    )
    same = (part for word in single for part in SAME_WORD.get(word, word).split("_"))
    return frozenset(SAME_WORD.get(part, part) for part in same)


def only_one(values: Iterable[str]) -> str:
    """The value that all of them are; empty where they differ or there is none."""
    found = set(values)
    return found.pop() if len(found) == 1 else ""


def slug(text: str) -> str:
    """Capital letters, digits and underscores of a text, of whatever script."""
    return re.sub(r"[\W_]+", "_", text.upper()).strip("_")
