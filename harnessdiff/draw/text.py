"""The one font of the drawing: how wide a text is, how it breaks, and the piece of it that a file carries."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterable
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

FAMILY = "Source Sans Pro"
WEIGHTS = {400: "SourceSansPro-Regular.ttf", 700: "SourceSansPro-Bold.ttf"}


@cache
def font_folder() -> Path:
    """Folder of the font's files, from the package that carries it."""
    import font_source_sans_pro  # noqa: PLC0415 - needed only to draw

    return Path(font_source_sans_pro.font_directory)


@cache
def _widths(weight: int) -> tuple[dict[int, int], int]:
    """Advance widths by character, and the units they are in."""
    from fontTools.ttLib import TTFont  # noqa: PLC0415 - heavy, needed only to draw

    font: Any
    with TTFont(font_folder() / WEIGHTS[weight], lazy=True) as font:
        advances = font["hmtx"].metrics
        return {code: advances[name][0] for code, name in font.getBestCmap().items()}, font["head"].unitsPerEm


@lru_cache(maxsize=20_000)
def text_width(text: str, size: float, weight: int = 400) -> float:
    """Width of a text. [px]

    Parameters
    ----------
    text : str
    size : float
        Font size. [px]
    weight : int
        400 or 700.

    Returns
    -------
    float
    """
    widths, units = _widths(weight)
    return sum(widths.get(ord(character), units // 2) for character in text) * size / units


def wrapped(text: str, width: float, size: float, weight: int = 400, most: int = 99) -> tuple[str, ...]:
    """Break a text into lines no wider than `width`; more than `most` lines end in an ellipsis."""
    space = text_width(" ", size, weight)
    lines: list[str] = []
    words: list[str] = []
    used = 0.0
    for word in text.split():
        for piece in _pieces(word, width, size, weight):
            room = text_width(piece, size, weight)
            if words and used + space + room > width:
                lines.append(" ".join(words))
                words, used = [], 0.0
            used += room + (space if words else 0.0)
            words.append(piece)
    if words:
        lines.append(" ".join(words))
    if len(lines) > most:
        lines = [*lines[: most - 1], with_ellipsis(lines[most - 1], width, size, weight)]
    return tuple(lines)


def with_ellipsis(line: str, width: float, size: float, weight: int = 400, mark: str = "…") -> str:
    """A line that ends in a mark for what was left out, no wider than `width`."""
    while line and text_width(f"{line} {mark}", size, weight) > width:
        line = line.rsplit(" ", 1)[0] if " " in line else line[:-1]
    return f"{line} {mark}".lstrip()


def _pieces(word: str, width: float, size: float, weight: int) -> Iterable[str]:
    """A word, broken where it alone is too wide."""
    while text_width(word, size, weight) > width and len(word) > 1:
        cut = len(word) - 1
        while cut > 1 and text_width(word[:cut], size, weight) > width:
            cut -= 1
        yield word[:cut]
        word = word[cut:]
    yield word


@cache
def font_faces(characters: str) -> str:
    """CSS that carries the glyphs of `characters` in both weights.

    Parameters
    ----------
    characters : str
        All characters that are drawn, sorted.

    Returns
    -------
    str
        ``@font-face`` rules; the same for the same characters.
    """
    return "".join(
        f"@font-face{{font-family:'{FAMILY}';font-weight:{weight};"
        f"src:url(data:font/woff;base64,{_subset(weight, characters)}) format('woff')}}"
        for weight in WEIGHTS
    )


def _subset(weight: int, characters: str) -> str:
    from fontTools import subset  # noqa: PLC0415 - heavy, needed only to draw

    options = subset.Options(flavor="woff", layout_features=[], hinting=False, notdef_outline=True, desubroutinize=True)
    options.recalc_timestamp = False
    stream = io.BytesIO()
    with subset.load_font(font_folder() / WEIGHTS[weight], options) as font:
        subsetter = subset.Subsetter(options)
        subsetter.populate(text=characters)
        subsetter.subset(font)
        subset.save_font(font, stream, options)
    return base64.b64encode(stream.getvalue()).decode()
