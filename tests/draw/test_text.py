"""Text is as wide as the font says, breaks where it has to, and takes the font along."""

from __future__ import annotations

import base64
import io
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.draw import text
from harnessdiff.draw.text import WEIGHTS, font_faces, font_folder, text_width, wrapped

SIZE = 10.0
WIDE_ENOUGH = 14.0
"""Wider than any single character that is drawn here, at `SIZE` in bold. [px]"""
words = st.text(st.characters(min_codepoint=33, max_codepoint=0x17F, exclude_categories=("C", "Z")), max_size=40)
sentences = st.lists(words, max_size=12).map(" ".join)
weights = st.sampled_from(sorted(WEIGHTS))


def glyphs(weight: int) -> tuple[Any, dict[int, str], int]:
    """The font's glyphs by name, the names by character, and the units they are in, as fontTools reads them."""
    font: Any = TTFont(io.BytesIO((font_folder() / WEIGHTS[weight]).read_bytes()))
    return font.getGlyphSet(), font.getBestCmap(), font["head"].unitsPerEm


def carried(faces: str) -> dict[int, Any]:
    """The fonts that style rules carry, by weight."""
    found = re.findall(r"font-weight:(\d+);src:url\(data:font/woff;base64,([A-Za-z0-9+/=]+)\)", faces)
    return {int(weight): TTFont(io.BytesIO(base64.b64decode(data))) for weight, data in found}


# -- width


@pytest.mark.parametrize("weight", sorted(WEIGHTS))
def test_every_character_is_as_wide_as_its_glyph(weight: int) -> None:
    glyph_set, names, units = glyphs(weight)
    expected = {code: glyph_set[name].width * SIZE / units for code, name in names.items()}

    actual = {code: text_width(chr(code), SIZE, weight) for code in names}

    assert len(names) > 500
    assert actual == pytest.approx(expected)


def test_units_and_letters_of_the_trade_have_glyphs() -> None:
    for weight in WEIGHTS:
        _, names, _ = glyphs(weight)

        assert [letter for letter in "mm²Ω°µ“”–—…·×≥≤•’ÄÖÜäöüßé" if ord(letter) not in names] == []


@given(sentences, sentences, weights)
def test_a_text_is_as_wide_as_its_parts(one: str, other: str, weight: int) -> None:
    whole = text_width(one + other, SIZE, weight)

    assert whole == pytest.approx(text_width(one, SIZE, weight) + text_width(other, SIZE, weight))


@given(sentences, st.floats(min_value=1, max_value=100))
def test_width_goes_with_the_size(text: str, size: float) -> None:
    assert text_width(text, size) == pytest.approx(text_width(text, 1.0) * size)


def test_bold_is_wider() -> None:
    assert text_width("insulation displacement", SIZE, 700) > text_width("insulation displacement", SIZE, 400)


def test_a_character_without_a_glyph_counts_half_an_em() -> None:
    assert text_width("線", SIZE) == pytest.approx(SIZE / 2)


def test_nothing_is_not_wide() -> None:
    assert text_width("", SIZE) == 0


# -- breaking


@given(sentences, st.floats(min_value=WIDE_ENOUGH, max_value=300), weights)
def test_no_line_is_wider_than_asked(text: str, width: float, weight: int) -> None:
    lines = wrapped(text, width, SIZE, weight)

    assert [line for line in lines if text_width(line, SIZE, weight) > width + 1e-6] == []


@given(sentences, st.floats(min_value=WIDE_ENOUGH, max_value=300), st.integers(1, 4), weights)
def test_no_line_is_wider_than_asked_where_the_text_is_cut_short(
    text: str, width: float, most: int, weight: int
) -> None:
    lines = wrapped(text, width, SIZE, weight, most)

    assert len(lines) <= most
    assert [line for line in lines if text_width(line, SIZE, weight) > width + 1e-6] == []


@given(sentences, st.floats(min_value=WIDE_ENOUGH, max_value=300))
def test_breaking_loses_no_letter_and_changes_no_order(text: str, width: float) -> None:
    lines = wrapped(text, width, SIZE)

    assert "".join(lines).replace(" ", "") == "".join(text.split())


@given(sentences)
def test_a_word_that_fits_is_not_broken(text: str) -> None:
    widest = max((text_width(word, SIZE) for word in text.split()), default=0.0)
    lines = wrapped(text, widest + 1, SIZE)

    assert " ".join(lines).split() == text.split()


@given(sentences, st.floats(min_value=40, max_value=300))
def test_a_line_is_as_full_as_it_can_be(text: str, width: float) -> None:
    lines = wrapped(text, width, SIZE)

    for line, following in pairwise(lines):
        first = following.split(" ")[0]
        if first in text.split():
            assert text_width(f"{line} {first}", SIZE) > width


@given(sentences, st.integers(1, 4))
def test_an_ellipsis_says_that_something_was_left_out_and_nothing_else_does(text: str, most: int) -> None:
    whole = wrapped(text, 60.0, SIZE)
    short = wrapped(text, 60.0, SIZE, most=most)

    assert bool(short and short[-1].endswith("…") and short != whole) == (len(whole) > most)
    assert short[:-1] == whole[: max(len(short) - 1, 0)]


def test_blank_text_has_no_lines() -> None:
    assert wrapped("  \t ", 100.0, SIZE) == ()


def test_a_single_character_is_written_even_where_there_is_no_room() -> None:
    assert wrapped("WW", 1.0, SIZE) == ("W", "W")


# -- the font that a file carries


def test_carried_fonts_draw_every_character_at_its_width() -> None:
    characters = "".join(sorted(set("25 mm² tap on W296 GY/BK – “beeper” Ω")))
    fonts = carried(font_faces(characters))

    assert sorted(fonts) == sorted(WEIGHTS)
    for weight, font in fonts.items():
        names, units = font.getBestCmap(), font["head"].unitsPerEm
        widths = {letter: font["hmtx"][names[ord(letter)]][0] * SIZE / units for letter in characters}

        assert widths == pytest.approx({letter: text_width(letter, SIZE, weight) for letter in characters})


def test_carried_fonts_are_no_larger_than_they_have_to_be() -> None:
    for font in carried(font_faces("AB")).values():
        assert {name for name in font.getGlyphOrder() if not name.startswith(".")} == {"A", "B"}


def test_carried_fonts_change_nothing_about_how_letters_stand() -> None:
    """Kerning and ligatures are left out: a width that was measured is the width that is drawn."""
    for font in carried(font_faces("AVfi")).values():
        features = [font[name].table.FeatureList.FeatureRecord for name in ("GPOS", "GSUB") if name in font]

        assert "kern" not in font
        assert [feature.FeatureTag for found in features for feature in found] == []


def test_carried_fonts_are_the_same_bytes_every_time() -> None:
    first = font_faces("abc")
    font_faces.cache_clear()

    assert font_faces("abc") == first


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="open files are counted where Linux lists them")
def test_the_font_s_files_are_closed_after_they_were_read() -> None:
    text._widths.cache_clear()
    text_width.cache_clear()
    font_faces.cache_clear()
    text_width("a", SIZE)
    font_faces("a")
    open_files = [str(path.readlink()) for path in Path("/proc/self/fd").iterdir() if path.is_symlink()]

    assert [name for name in open_files if name.endswith(".ttf")] == []
