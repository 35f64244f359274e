"""What common practice tells where nobody said it."""

from __future__ import annotations

import pytest

from harnessdiff.read.table.guesses import function_of_words, functions
from harnessdiff.tables.loader import functions as printed


@pytest.mark.parametrize(
    ("name", "function"),
    [
        ("rear window heater", "rear_defog"),
        ("heated rear window", "rear_defog"),
        ("rear window defogger", "rear_defog"),
        ("rear screen demister", "rear_defog"),
        ("power windows", "window"),
        ("heater blower", "heater_blower"),
        ("blower", "heater_blower"),
        ("stop lamps", "brake_lamp"),
        ("central locking", "lock"),
        ("starter", "start"),
        ("reversing light", "reverse_lamp"),
        ("central heating", ""),
        ("odds and ends", ""),
    ],
)
def test_a_name_says_the_function_with_most_of_its_words(name: str, function: str) -> None:
    """The longest name that is said in full wins: a heated rear window is no window (common practice)."""
    assert function_of_words(name) == function


@pytest.mark.parametrize("function", [function for function in functions() if function != "other"])
def test_every_function_is_known_by_its_code(function: str) -> None:
    assert function_of_words(function.replace("_", " ")) == function


def test_nearly_every_function_is_known_by_the_words_it_is_printed_with() -> None:
    known = {name for name in functions() if name != "other" and function_of_words(printed()[name].words) == name}

    assert len(known) >= len(functions()) - 6
