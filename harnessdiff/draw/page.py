"""The page around a drawing: title, list of findings, legend, cautions and title block, on A4 upright."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lxml import etree

from harnessdiff.draw.measure import FLAG_HEIGHT, flag_width
from harnessdiff.draw.paint import paint_flag
from harnessdiff.draw.scene import Flag, Scene
from harnessdiff.draw.svg import add, element, write
from harnessdiff.draw.symbols import LEGEND, draw_symbol
from harnessdiff.draw.text import FAMILY, text_width, wrapped
from harnessdiff.model.findings import Finding, Findings
from harnessdiff.plain import plain
from harnessdiff.words import GRADE_IS_NOT_A_CAUSE, Describer, caution_words, level_words, outcome_of, reason_words

MARGIN = 30.0
BODY_TOP = 92.0
BLOCK_HEIGHT = 64.0
GAP = 12.0
BELOW = BLOCK_HEIGHT + MARGIN + GAP
"""Room below what stands on a page. [px]"""
SMALL = 9.0
TEXT = 10.0
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
.divider{{fill:none;stroke:#8a8e95;stroke-width:1;stroke-dasharray:8 3 1.5 3}}.bridge{{fill:none;stroke:#fff;stroke-width:15}}
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
        ("made with", (findings.program, f"reference {(findings.reference_sha256 or 'not from a file')[:16]}",
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


def list_height(findings: Sequence[Finding], describer: Describer, page: Format) -> float:
    """Height of the list of findings. [px]"""
    width = page.inner - _list_offset(findings)
    return 18 + sum(_entry_height(finding, describer, width) for finding in findings)


def _entry_lines(finding: Finding, describer: Describer, width: float) -> tuple[tuple[str, ...], tuple[str, ...]]:
    head = wrapped(describer.headline(finding), width, TEXT, 700, 2)
    details = [*describer.details(finding)[:5]]
    why = reason_words(finding)[:3]
    sentences = [
        "; ".join(details),
        f"Why: {', '.join(why)}" if why else "",
        *(f"Noted: {note}" for note in finding.notes[:1]),
    ]
    text = " ".join(f"{sentence.rstrip('.')}." for sentence in sentences if sentence)
    return head, wrapped(text, width, SMALL, 400, 3)


def _list_flag(finding: Finding) -> Flag:
    words = level_words(finding.rating).replace("recorded, ", "")
    return Flag(text=str(finding.number), level=words, outcome=outcome_of(finding.rating))


def _list_offset(findings: Sequence[Finding]) -> float:
    return max((flag_width(_list_flag(finding)) for finding in findings), default=0.0) + 10


def _entry_height(finding: Finding, describer: Describer, width: float) -> float:
    head, details = _entry_lines(finding, describer, width)
    return max(FLAG_HEIGHT, 12 * len(head) + 10.5 * len(details)) + 6


def paint_list(
    root: etree._Element, findings: Sequence[Finding], describer: Describer, page: Format, top: float
) -> None:
    """The findings of the sheet: flag, headline, and what is established."""
    write(root, "Findings on this sheet", MARGIN, top + 10, class_="head")
    y = top + 18
    offset = _list_offset(findings)
    for finding in sorted(findings, key=lambda one: one.number):
        paint_flag(root, _list_flag(finding), MARGIN, y)
        head, details = _entry_lines(finding, describer, page.inner - offset)
        x = MARGIN + offset
        for place, line in enumerate(head):
            write(root, line, x, y + 10 + 12 * place, font_size=TEXT, font_weight="bold")
        for place, line in enumerate(details):
            write(root, line, x, y + 10 + 12 * len(head) + 10.5 * place - 1, font_size=SMALL)
        y += _entry_height(finding, describer, page.inner - offset)


def _caution_lines(codes: Sequence[str], page: Format) -> tuple[str, ...]:
    """Cautions of a sheet, broken into lines."""
    lines: list[str] = []
    for words in (caution_words("maker_first"), *(caution_words(code) for code in codes), GRADE_IS_NOT_A_CAUSE):
        lines += wrapped("• " + words, page.inner - 20, SMALL)
    return tuple(lines)


def cautions_height(codes: Sequence[str], page: Format) -> float:
    """Height of the cautions. [px]"""
    return 26 + 10.5 * len(_caution_lines(codes, page))


def paint_cautions(root: etree._Element, codes: Sequence[str], page: Format, top: float) -> None:
    """The cautions that belong to the work on this sheet."""
    lines = _caution_lines(codes, page)
    height = cautions_height(codes, page) - 6
    add(root, "rect", x=MARGIN, y=top, width=page.inner, height=height, class_="frame")
    write(root, "Cautions", MARGIN + 8, top + 13, class_="head")
    for place, line in enumerate(lines):
        write(root, line, MARGIN + 8, top + 25 + 10.5 * place, font_size=SMALL)


def _legend_entries(scene: Scene) -> list[tuple[str, str]]:
    symbols = {mark.symbol for mark in scene.marks.values()}
    styles = {line.style for line in scene.lines}
    traced = any(line.colour and line.colour.tracer for line in scene.lines)
    entries = [("style wire", "maker's wire")] if "wire" in styles else []
    if traced:
        entries.append(("style tracer", "tracer as cross-ticks"))
    names = {
        "perhaps": "perhaps this wire",
        "lead": "added lead",
        "gone": "gone",
        "folded": "way not shown in full",
        "contact": "joined directly",
    }
    entries += [(f"style {style}", words) for style, words in names.items() if style in styles]
    joints = joint_types(scene)
    return entries + [
        (symbol, ", ".join(joints.get(symbol, ())) or words) for symbol, words in LEGEND.items() if symbol in symbols
    ]


def joint_types(scene: Scene) -> dict[str, tuple[str, ...]]:
    """The sorts of joint that each joint symbol stands for on this sheet."""
    found: dict[str, list[str]] = {}
    for mark in scene.marks.values():
        if mark.symbol.startswith("joint_") and mark.label:
            found.setdefault(mark.symbol, []).append(mark.label[0].split(",")[0])
    return {symbol: tuple(dict.fromkeys(words)) for symbol, words in found.items()}


def _legend_places(scene: Scene, page: Format) -> tuple[list[tuple[str, str, float, float]], float]:
    x, y = 0.0, 0.0
    places = []
    for symbol, words in _legend_entries(scene):
        width = 36 + text_width(words, SMALL) + 14
        if x + width > page.inner:
            x, y = 0.0, y + 30
        places.append((symbol, words, x, y))
        x += width
    return places, y + 30


def legend_height(scene: Scene, page: Format) -> float:
    """Height of the legend. [px]"""
    return 18 + _legend_places(scene, page)[1]


def paint_legend(root: etree._Element, scene: Scene, page: Format, top: float) -> None:
    """Every mark that is used on the sheet, and none other."""
    write(root, "Legend", MARGIN, top + 10, class_="head")
    for symbol, words, x, y in _legend_places(scene, page)[0]:
        middle_x, middle_y = MARGIN + x + 16, top + 18 + y + 14
        if symbol.startswith("style "):
            _legend_line(root, symbol.removeprefix("style "), middle_x, middle_y)
        else:
            draw_symbol(root, symbol, middle_x, middle_y, added=False, gone=False)
        write(root, words, MARGIN + x + 35, middle_y + 3, font_size=SMALL)


def _legend_line(root: etree._Element, style: str, x: float, y: float) -> None:
    d = f"M{x - 15:g} {y:g}H{x + 15:g}"
    if style == "folded":
        add(root, "path", d=d, class_="folded")
    elif style == "contact":
        add(root, "path", d=d, class_="touch")
    elif style == "lead":
        add(root, "path", d=d, class_="lead-edge")
        add(root, "path", d=d, class_="lead-core", stroke="#cf2020")
        add(root, "path", d=d, class_="lead-hatch")
    else:
        how = f" {style}" if style in ("gone", "perhaps") else ""
        add(root, "path", d=d, class_=f"wire-edge{how}")
        add(root, "path", d=d, class_=f"wire-core{how}", stroke="#cf2020")
        if style == "tracer":
            add(root, "path", d=d, class_="wire-tick-edge")
            add(root, "path", d=d, class_="wire-tick", stroke="#ffffff")
