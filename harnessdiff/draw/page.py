"""The page around a drawing: title, cautions and title block, on A4."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lxml import etree

from harnessdiff.draw.svg import add, element, write
from harnessdiff.draw.text import FAMILY, wrapped
from harnessdiff.model.findings import Findings
from harnessdiff.plain import plain
from harnessdiff.words import GRADE_IS_NOT_A_CAUSE, WIRING_NEAR_A_FIRE, caution_words

MARGIN = 30.0
BODY_TOP = 92.0
BLOCK_HEIGHT = 64.0
GAP = 12.0
BELOW = BLOCK_HEIGHT + MARGIN + GAP
"""Room below what stands on a page. [px]"""
SMALL = 10.0
"""The smallest text of a page: 7.5 pt. [px]"""
TEXT = 11.0
SMALL_LEADING = 11.5
TEXT_LEADING = 13.0
STYLE = f"""
text{{font-family:'{FAMILY}','DejaVu Sans',sans-serif;fill:#1c1c1c}}
.title{{font-size:19px;font-weight:bold}}.sub{{font-size:11px}}.head{{font-size:10.5px;font-weight:bold}}
.sym *{{stroke:#1c1c1c;stroke-width:1.3;fill:#fff;stroke-linejoin:round;stroke-linecap:round}}
.sym path[fill=none],.sym circle[fill=none]{{fill:none}}
.sym text{{stroke:none;fill:#1c1c1c}}.sym .letter{{font-size:12px;font-weight:bold;text-anchor:middle}}
.sym .big{{font-size:17px}}.sym .dot{{fill:#1c1c1c}}.sym .under{{stroke:none}}
.sym .joint{{stroke-width:3}}.sym .thin{{stroke-width:1.3}}.sym .live{{fill:#ffd33d;stroke-width:1.6}}
.sym .hurt{{fill:#ffe3d6;stroke-width:2}}
.added>rect,.added>circle:not(.joint):not(.dot){{stroke-width:2.6}}.gone *{{stroke-dasharray:3 2.5}}
.wire-edge{{fill:none;stroke:#3a3a3a;stroke-width:3.6}}.wire-core{{fill:none;stroke-width:2.3}}
.wire-edge.gone,.wire-core.gone{{stroke-dasharray:6 4}}
.wire-edge.perhaps,.wire-core.perhaps{{stroke-dasharray:14 3 2 3}}
.wire-core.unknown,.lead-core.unknown{{stroke:#fff}}
.wire-edge.unknown{{stroke-dasharray:3 3}}.lead-edge.unknown{{stroke-dasharray:4 5}}
.cut-gap{{stroke:#fff;stroke-width:12;fill:none}}.cut-strokes{{stroke:#1c1c1c;stroke-width:1.8;fill:none;stroke-linecap:round}}
.wire-tick-edge{{fill:none;stroke:#3a3a3a;stroke-width:8.2;stroke-dasharray:3 10;stroke-dashoffset:-4}}
.wire-tick{{fill:none;stroke-width:7;stroke-dasharray:1.8 11.2;stroke-dashoffset:-4.6}}
.lead-edge{{fill:none;stroke:#111;stroke-width:7.4}}.lead-core{{fill:none;stroke-width:4.8}}
.lead-hatch{{fill:none;stroke:#111;stroke-width:4.8;stroke-dasharray:1 5;opacity:.8}}.lead-hatch.on-dark{{stroke:#fff}}
.lead-tick-edge{{fill:none;stroke:#111;stroke-width:11;stroke-dasharray:3.4 14;stroke-dashoffset:-6}}
.lead-tick{{fill:none;stroke-width:10;stroke-dasharray:2.2 15.2;stroke-dashoffset:-6.6}}
.folded{{fill:none;stroke:#6b6f76;stroke-width:1.2;stroke-dasharray:1.5 3}}
.touch{{fill:none;stroke:#1c1c1c;stroke-width:1.6}}.plate{{fill:#fff;opacity:.92}}
.label,.line-label{{text-anchor:middle}}.line-label{{fill:#33363b}}
.flag{{stroke:#1c1c1c;stroke-width:1}}.flag-text{{font-weight:bold}}text.on-dark{{fill:#fff}}.pole{{stroke:#1c1c1c;stroke-width:1.6;fill:none}}
.divider{{fill:none;stroke:#8a8e95;stroke-width:1;stroke-dasharray:8 3 1.5 3}}
.bridge{{fill:none;stroke:#fff;stroke-width:15}}
.feet{{fill:#fff;stroke:#1c1c1c;stroke-width:2.6}}
.frame{{fill:none;stroke:#1c1c1c;stroke-width:1}}.rule{{stroke:#1c1c1c;stroke-width:.6}}.faint{{fill:#55595f}}
.tile{{fill:#fff;stroke:#1c1c1c;stroke-width:1}}.unseen{{fill:url(#hatch);stroke:#55595f;stroke-dasharray:4 3}}
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """Width of a page and the greatest height it may have. [px]"""

    width: float
    height: float

    @property
    def inner(self) -> float:
        """Width between the margins. [px]"""
        return self.width - 2 * MARGIN


UPRIGHT = Format(width=794.0, height=1123.0)
"""A4 upright at 96 px an inch."""
LYING = Format(width=1123.0, height=794.0)
"""A4 lying."""


def new_page(
    page: Format, height: float, title: str, findings: Findings, number: int, total: int, subtitle: str
) -> etree._Element:
    """A page with its heading and title block.

    Parameters
    ----------
    page : Format
    height : float
        Height it really has. [px]
    title : str
    findings : Findings
    number, total : int
        Which sheet of how many.
    subtitle : str

    Returns
    -------
    Element
        The root of the SVG.
    """
    root = element("svg", width=page.width, height=height, viewBox=f"0 0 {page.width:g} {height:g}", role="img")
    add(root, "title").text = plain(f"{title}: {findings.reference_title}")
    add(root, "style").text = STYLE
    definitions = add(root, "defs")
    hatch = add(definitions, "pattern", id="hatch", width=8, height=8, patternUnits="userSpaceOnUse",
                patternTransform="rotate(45)")  # fmt: skip
    add(hatch, "rect", width=8, height=8, fill="#fff")
    add(hatch, "rect", width=1.4, height=8, fill="#c9ccd1")
    add(root, "rect", width=page.width, height=height, fill="#fff")
    for place, line in enumerate(wrapped(title, page.inner - 110, 19, 700, 1)):
        write(root, line, MARGIN, 44 + 21 * place, class_="title")
    write(root, f"sheet {number} of {total}", page.width - MARGIN, 44, class_="sub", text_anchor="end")
    for place, line in enumerate(wrapped(subtitle, page.inner, 11, 400, 2)):
        write(root, line, MARGIN, 62 + 13 * place, class_="sub faint")
    _title_block(root, findings, page, height - MARGIN - BLOCK_HEIGHT)
    return root


def _title_block(root: etree._Element, findings: Findings, page: Format, top: float) -> None:
    add(root, "rect", x=MARGIN, y=top, width=page.inner, height=BLOCK_HEIGHT, class_="frame")
    vehicle = findings.vehicle
    name = " ".join(part for part in (vehicle.make, vehicle.model) if part) or findings.reference_title
    marks = ", ".join(part for part in (vehicle.registration, vehicle.vin) if part)
    odometer = f"{vehicle.odometer_km:g} km" if vehicle.odometer_km is not None else ""
    days = ", ".join(visit.when[:10] for visit in findings.visits)
    people = ", ".join(dict.fromkeys(person for visit in findings.visits for person in visit.who)) or "not named"
    columns = [
        ("vehicle", (name, marks, odometer), 208.0),
        ("surveyed", (days, f"by {people}", "invented data" if findings.invented else ""), 214.0),
        ("made with", (f"{findings.program}, policy {findings.policy.id} {findings.policy.sha256[:12]}",
                       f"reference {(findings.reference_sha256 or 'not from a file')[:16]}",
                       f"survey {(findings.survey_sha256 or 'not from a file')[:16]}"), page.inner - 422),
    ]  # fmt: skip
    x = MARGIN
    for head, lines, width in columns:
        write(root, head, x + 8, top + 14, font_size=SMALL, class_="faint")
        for place, line in enumerate(part for part in lines if part):
            for shown in wrapped(line, width - 14, TEXT, 400, 1):
                write(root, shown, x + 8, top + 28 + 13 * place, font_size=TEXT)
        x += width
        if x < page.width - MARGIN - 1:
            add(root, "path", d=f"M{x:g} {top:g}V{top + BLOCK_HEIGHT:g}", class_="rule")


def _caution_lines(codes: Sequence[str], page: Format) -> tuple[str, ...]:
    """Cautions of a sheet, broken into lines."""
    lines: list[str] = []
    standing = (GRADE_IS_NOT_A_CAUSE, WIRING_NEAR_A_FIRE)
    for words in (caution_words("maker_first"), *(caution_words(code) for code in codes), *standing):
        lines += wrapped("• " + words, page.inner - 20, SMALL)
    return tuple(lines)


def cautions_height(codes: Sequence[str], page: Format) -> float:
    """Height of the cautions. [px]"""
    return 26 + SMALL_LEADING * len(_caution_lines(codes, page))


def paint_cautions(root: etree._Element, codes: Sequence[str], page: Format, top: float) -> None:
    """The cautions that belong to the work on this sheet."""
    lines = _caution_lines(codes, page)
    height = cautions_height(codes, page) - 6
    add(root, "rect", x=MARGIN, y=top, width=page.inner, height=height, class_="frame")
    write(root, "Cautions", MARGIN + 8, top + 13, class_="head")
    for place, line in enumerate(lines):
        write(root, line, MARGIN + 8, top + 25 + SMALL_LEADING * place, font_size=SMALL)
