"""SVG elements, made so that the same drawing is the same bytes and text is always escaped."""

from __future__ import annotations

from typing import Any

from lxml import etree

from harnessdiff.plain import plain

NAMESPACE = "http://www.w3.org/2000/svg"
_NAMESPACES: Any = {None: NAMESPACE}


def element(name: str, **attributes: object) -> etree._Element:
    """An SVG element; underscores in names of attributes stand for hyphens, None leaves one out."""
    made = etree.Element(f"{{{NAMESPACE}}}{name}", nsmap=_NAMESPACES)
    for key, value in attributes.items():
        if value is not None:
            made.set(key.rstrip("_").replace("_", "-"), number(value) if isinstance(value, float) else str(value))
    return made


def add(parent: etree._Element, name: str, **attributes: object) -> etree._Element:
    """An SVG element within `parent`."""
    made = element(name, **attributes)
    parent.append(made)
    return made


def write(parent: etree._Element, text: str, x: float, y: float, **attributes: object) -> etree._Element:
    """A line of text with its baseline at `y`; blanks stay as many as they are."""
    made = add(parent, "text", x=x, y=y, **attributes)
    made.text = plain(text)
    if "  " in made.text or made.text.startswith(" "):
        made.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
    return made


def number(value: float) -> str:
    """A coordinate: at most two decimals, no trailing zeros."""
    return f"{round(value, 2):g}" if abs(value) < 1e5 else str(round(value))


def path_of(points: tuple[tuple[float, float], ...]) -> str:
    """Path data of a chain of Bézier points: a start, then three for every piece."""
    first, rest = points[0], points[1:]
    pieces = [f"M{number(first[0])} {number(first[1])}"]
    for place in range(0, len(rest) - 2, 3):
        coordinates = " ".join(f"{number(x)} {number(y)}" for x, y in rest[place : place + 3])
        pieces.append(f"C{coordinates}")
    return "".join(pieces)
