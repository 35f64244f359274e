"""Reads sheets back as a person would: what is written where, which flags, which marks, how large the page."""

from __future__ import annotations

import json
import re
import zlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from lxml import etree

from harnessdiff.pipeline import Case, assess
from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import read_survey, survey_of
from tests.support import Json, document, reference_from

if TYPE_CHECKING:
    from collections.abc import Iterator

    from harnessdiff.draw.layout import Layout
    from harnessdiff.draw.scene import Scene
    from harnessdiff.draw.sheets import Sheet
    from harnessdiff.model.findings import Finding

SVG = "{http://www.w3.org/2000/svg}"
A4_PX = (210 / 25.4 * 96, 297 / 25.4 * 96)
"""Sides of A4, 210 mm by 297 mm (ISO 216, from memory), at 96 px an inch (CSS reference pixel)."""
HERE = Path(__file__).parent
CATALOGUE = sorted(path.stem for path in (HERE / "catalogue").glob("M*.json"))


@cache
def demo_case() -> Case:
    """The demo, assessed from the files of the project; not solved as networks, which no sheet shows."""
    return _demo_case(electrical=False)


@cache
def solved_demo_case() -> Case:
    """The demo with all that is computed."""
    return _demo_case(electrical=True)


def _demo_case(*, electrical: bool) -> Case:
    reference = read_reference(HERE.parent / "reference_harnesses/light_van/light_van.json")
    survey = read_survey(HERE.parent / "demo/light_van_inspector/survey.json", reference)
    return assess(reference, survey, electrical=electrical)


@cache
def catalogue_case(kind: str, which: str = "survey") -> Case:
    """An entry of the catalogue, or its sound twin, assessed."""
    written: Json = json.loads((HERE / f"catalogue/{kind}.json").read_text(encoding="utf-8"))
    reference = reference_from(written["reference"])
    return assess(reference, survey_of(document(written[which], f"{kind}.{which}"), reference), electrical=False)


# -- a sheet


@dataclass(frozen=True)
class Read:
    """A sheet read back from its SVG."""

    name: str
    root: etree._Element

    @classmethod
    def of(cls, sheet: Sheet) -> Read:
        """The sheet, parsed without any leniency."""
        return cls(sheet.name, etree.fromstring(sheet.svg.encode(), etree.XMLParser(resolve_entities=False)))

    @property
    def size(self) -> tuple[float, float]:
        """Width and height. [px]"""
        return float(self.root.get("width", "0")), float(self.root.get("height", "0"))

    @property
    def drawing(self) -> etree._Element | None:
        """The drawing within the page; the overview has none."""
        return next((one for one in self.root if one.get("class") == "drawing"), None)

    def texts(self) -> list[str]:
        """Everything that is written, line by line."""
        return [str(one.text or "") for one in self.root.iter(f"{SVG}text")]

    def flags(self) -> list[str]:
        """Flags in the drawing, as they are written."""
        return [] if self.drawing is None else flags_in(self.drawing)

    def listed(self) -> list[str]:
        """Flags outside the drawing: those of the list of findings, or of the overview's tiles."""
        return [text for one in self.root if one.get("class") != "drawing" for text in flags_in(one)]


def flags_in(element: etree._Element) -> list[str]:
    """What is written on the flags within an element, itself included."""
    texts = element.iter(f"{SVG}text")
    return [str(one.text) for one in texts if "flag-text" in (one.get("class") or "").split()]


def classes(element: etree._Element) -> list[str]:
    """Classes of an element and of everything within it."""
    return [name for one in element.iter(etree.Element) for name in (one.get("class") or "").split()]


def flags_of(finding: Finding) -> list[str]:
    """The flags that a finding has by its joints, or by its number where none carries it."""
    own = [joint.flag for joint in finding.joints]
    return [str(finding.number)] if finding.kind == "routing" or not own else own


def style_of(read: Read) -> str:
    """The sheet's style rules."""
    return next(str(one.text) for one in read.root if one.tag == f"{SVG}style")


# -- a layout


@dataclass(frozen=True)
class Rectangle:
    """A rectangle on a page. [px]"""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: Rectangle, slack: float = 0.5) -> bool:
        """Whether the two share more than `slack` either way. [px]"""
        return (
            min(self.right, other.right) - max(self.left, other.left) > slack
            and min(self.bottom, other.bottom) - max(self.top, other.top) > slack
        )

    def within(self, other: Rectangle, slack: float = 0.5) -> bool:
        """Whether it sticks out of `other` nowhere by more than `slack`. [px]"""
        return (
            self.left >= other.left - slack
            and self.top >= other.top - slack
            and self.right <= other.right + slack
            and self.bottom <= other.bottom + slack
        )


def mark_boxes(scene: Scene, layout: Layout) -> dict[str, Rectangle]:
    """Where the box of every mark is."""
    found = {}
    for mark_id in scene.marks:
        box = layout.boxes[mark_id]
        x, y = layout.middles[mark_id]
        found[mark_id] = Rectangle(x - box.width / 2, y - box.height / 2, x + box.width / 2, y + box.height / 2)
    return found


def pairs(things: dict[str, Rectangle]) -> Iterator[tuple[str, str]]:
    """Names of any two things that overlap."""
    names = list(things)
    for place, one in enumerate(names):
        for other in names[place + 1 :]:
            if things[one].overlaps(things[other]):
                yield one, other


# -- bytes


def png_size(data: bytes) -> tuple[int, int]:
    """Width and height in the header of a PNG (W3C PNG, IHDR; from memory). [px]"""
    return int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")


def pdf_page_sizes(data: bytes) -> list[tuple[float, float]]:
    """Width and height of every page of a PDF (ISO 32000, /Type /Page with /MediaBox; from memory). [pt]"""
    texts = [data]
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.DOTALL):
        try:
            texts.append(zlib.decompress(stream))
        except zlib.error:
            continue
    number = rb"\s*(-?[\d.]+)"
    found = re.findall(rb"/MediaBox\s*\[" + number * 4, b"\n".join(texts))
    return [(float(right) - float(left), float(top) - float(low)) for left, low, right, top in found]
