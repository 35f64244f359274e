"""Letters of insulation colours against IEC 60757 and DIN 72551, through the reading of a document."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from harnessdiff.errors import InputError
from harnessdiff.model.harness import Colour
from harnessdiff.tables.loader import rows
from tests.support import colour_read

# IEC 60757, in the order of its table, which is also the order of letters in combinations.
# Secondary copy: table of GOST 28763-90 = ST SEV/IEC 757-83; the order by clause 5.1 of the 2021 edition (extract).
IEC_60757 = [
    ("BK", "black"),
    ("BN", "brown"),
    ("RD", "red"),
    ("OG", "orange"),
    ("YE", "yellow"),
    ("GN", "green"),
    ("BU", "blue"),
    ("VT", "violet"),
    ("GY", "grey"),
    ("WH", "white"),
    ("PK", "pink"),
    ("GD", "gold"),
    ("TQ", "turquoise"),
    ("SR", "silver"),
    ("GNYE", "green-yellow"),
]

# DIN 72551 letters. Secondary copy: three public German pages; bl and or from memory.
DIN_72551 = [
    ("sw", "BK"),
    ("br", "BN"),
    ("rt", "RD"),
    ("ro", "RD"),
    ("ge", "YE"),
    ("gn", "GN"),
    ("gr", "GY"),
    ("ws", "WH"),
    ("li", "VT"),
    ("bl", "BU"),
    ("or", "OG"),
]


@pytest.mark.parametrize("write", [str.upper, str.lower])
@pytest.mark.parametrize(("letters", "english"), IEC_60757)
def test_every_row_of_iec_60757_is_read(letters: str, english: str, write: Callable[[str], str]) -> None:
    assert colour_read({"base": write(letters)}, "IEC 60757") == Colour(base=letters), english


@pytest.mark.parametrize(("letters", "english"), IEC_60757)
def test_the_english_word_of_every_row_is_read_beside_any_code_system(letters: str, english: str) -> None:
    read = [colour_read({"base": english}, system) for system in ("words", "IEC 60757", "DIN 72551")]

    assert read == [Colour(base=letters)] * 3


@pytest.mark.parametrize("write", [str.upper, str.lower])
@pytest.mark.parametrize(("letters", "iec"), DIN_72551)
def test_every_row_of_din_72551_is_read_as_iec_letters(letters: str, iec: str, write: Callable[[str], str]) -> None:
    assert colour_read({"base": write(letters)}, "DIN 72551") == Colour(base=iec)


# hb, used for telltales: secondary copy, the same three pages.
@pytest.mark.parametrize("word", ["hb", "HB"])
def test_light_blue_of_din_72551_is_blue_with_its_shade(word: str) -> None:
    assert colour_read({"base": word}, "DIN 72551") == Colour(base="BU", shade="light")
    assert colour_read({"base": word, "tracer": "sw"}, "DIN 72551") == Colour(base="BU", tracer="BK", shade="light")


def test_light_blue_of_din_72551_is_read_where_the_colour_itself_says_din() -> None:
    assert colour_read({"base": "hb", "code_system": "DIN 72551"}, "IEC 60757") == Colour(base="BU", shade="light")


@pytest.mark.parametrize("system", ["IEC 60757", "words"])
def test_light_blue_of_din_72551_is_no_letters_of_another_system(system: str) -> None:
    with pytest.raises(InputError, match="hb is no colour"):
        colour_read({"base": "hb"}, system)


def test_letters_stand_in_the_order_of_the_standards_table() -> None:
    assert [row["letters"] for row in rows("colours")] == [letters for letters, _ in IEC_60757]


def test_green_and_yellow_in_one_word_are_the_only_combination_and_in_one_order() -> None:
    # IEC 60757:2021 clause 5.1 (extract): green and yellow stand together as GNYE only.
    assert colour_read({"base": "GNYE"}, "IEC 60757") == Colour(base="GNYE")
    assert [row["letters"] for row in rows("colours") if len(row["letters"]) != 2] == ["GNYE"]
    for word in ("YEGN", "GN YE", "RDBU", "BURD"):
        with pytest.raises(InputError, match=f"{word} is no colour"):
            colour_read({"base": word}, "IEC 60757")


# Trap: diagrams are full of BL and GR for blue and grey. Neither is of IEC 60757.
@pytest.mark.parametrize(("word", "din"), [("BL", "BU"), ("GR", "GY")])
def test_letters_that_diagrams_use_but_the_standard_does_not_are_refused_as_iec(word: str, din: str) -> None:
    with pytest.raises(InputError) as caught:
        colour_read({"base": word}, "IEC 60757")

    assert [problem.pointer for problem in caught.value.problems] == ["/wires/0/colour/base"]
    assert f"{word} is no colour" in str(caught.value)
    assert colour_read({"base": word}, "DIN 72551") == Colour(base=din)


@pytest.mark.parametrize("word", ["BL", "GR"])
def test_what_is_offered_instead_of_refused_letters_would_be_read(word: str) -> None:
    with pytest.raises(InputError) as caught:
        colour_read({"base": word}, "IEC 60757")

    assert f'did you mean "{word.lower()}"' not in str(caught.value)


@pytest.mark.parametrize("word", ["sw", "br", "rt", "ge", "gr", "ws", "li"])
def test_din_letters_are_refused_where_the_document_says_iec(word: str) -> None:
    with pytest.raises(InputError, match=f"{word} is no colour"):
        colour_read({"base": word}, "IEC 60757")


@pytest.mark.parametrize("word", ["BK", "BU", "GY", "WH", "VT", "RD"])
def test_iec_letters_are_refused_where_the_document_says_din(word: str) -> None:
    with pytest.raises(InputError, match=f"{word} is no colour"):
        colour_read({"base": word}, "DIN 72551")
