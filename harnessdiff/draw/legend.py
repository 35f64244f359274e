"""The legend of a sheet: every mark that is used on it, and none other."""

from __future__ import annotations

from lxml import etree

from harnessdiff.draw.bridges import straight
from harnessdiff.draw.layout import Layout
from harnessdiff.draw.marks import INLINE_SYMBOLS, SYMBOLS
from harnessdiff.draw.page import MARGIN, SMALL, Format
from harnessdiff.draw.paint import paint_cut, paint_line, tracer_of
from harnessdiff.draw.scene import Line, Scene
from harnessdiff.draw.svg import add, path_of, write
from harnessdiff.draw.symbols import LEGEND, draw_symbol
from harnessdiff.draw.text import text_width
from harnessdiff.model.harness import Colour

STYLE_WORDS = {
    "wire": "maker's wire", "tracer": "tracer as cross-ticks", "perhaps": "perhaps this wire", "lead": "added lead",
    "gone": "gone", "unknown": "colour not known", "cut": "wire cut through",
    "folded": "way not shown in full", "contact": "joined directly", "bridge": "crosses, not joined",
    "added": "drawn heavy: added", "divider": "between separate drawings",
}  # fmt: skip
OF_DEVICES = frozenset({*SYMBOLS.values(), *INLINE_SYMBOLS.values(), "device"})


def _legend_entries(scene: Scene, layout: Layout) -> list[tuple[str, str]]:
    symbols = {mark.symbol for mark in scene.marks.values()}
    used = {line.style for line in scene.lines}
    used |= {"tracer"} if any(tracer_of(line.colour) for line in scene.lines) else set()
    used |= {"unknown"} if not all(line.colour_known for line in scene.lines) else set()
    used |= {"cut"} if any(line.cut for line in scene.lines) else set()
    used |= {"bridge"} if layout.bridges else set()
    used |= {"divider"} if layout.rules else set()
    used |= {"added"} if any(mark.added and mark.symbol in OF_DEVICES for mark in scene.marks.values()) else set()
    levels = {flag.outcome for mark in scene.marks.values() for flag in mark.flags}
    joints = joint_types(scene)
    return [
        *(("flag", words) for words in [_flag_legend(levels)] if words),
        *((f"style {style}", words) for style, words in STYLE_WORDS.items() if style in used),
        *(
            (symbol, ", ".join(joints.get(symbol, ())) or words)
            for symbol, words in LEGEND.items()
            if symbol in symbols
        ),
    ]


def _flag_legend(levels: set[str]) -> str:
    return "finding and its level (MIL-STD-882E)" if levels else ""


def joint_types(scene: Scene) -> dict[str, tuple[str, ...]]:
    """The sorts of joint that each joint symbol stands for on this sheet."""
    found: dict[str, list[str]] = {}
    for mark in scene.marks.values():
        if mark.symbol.startswith("joint_") and mark.label:
            found.setdefault(mark.symbol, []).append(mark.label[0].split(",")[0])
    return {symbol: tuple(dict.fromkeys(words)) for symbol, words in found.items()}


def _legend_places(scene: Scene, layout: Layout, page: Format) -> tuple[list[tuple[str, str, float, float]], float]:
    x, y = 0.0, 0.0
    places = []
    for symbol, words in _legend_entries(scene, layout):
        width = 36 + text_width(words, SMALL) + 14
        if x + width > page.inner:
            x, y = 0.0, y + 30
        places.append((symbol, words, x, y))
        x += width
    return places, y + 30


def legend_height(scene: Scene, layout: Layout, page: Format) -> float:
    """Height of the legend. [px]"""
    return 22 + _legend_places(scene, layout, page)[1]


def paint_legend(root: etree._Element, scene: Scene, layout: Layout, page: Format, top: float) -> None:
    """Every mark that is used on the sheet, and none other."""
    write(root, "Legend", MARGIN, top + 10, class_="head")
    for symbol, words, x, y in _legend_places(scene, layout, page)[0]:
        middle_x, middle_y = MARGIN + x + 16, top + 18 + y + 14
        if symbol == "flag":
            add(root, "rect", x=middle_x - 15, y=middle_y - 8, width=30.0, height=16.0, rx=2.0, class_="tile")
            write(root, "12b", middle_x, middle_y + 4, font_size=SMALL, font_weight="bold", text_anchor="middle")
        elif symbol.startswith("style "):
            _legend_line(root, symbol.removeprefix("style "), middle_x, middle_y)
        else:
            draw_symbol(root, symbol, middle_x, middle_y, added=False, gone=False)
        write(root, words, MARGIN + x + 35, middle_y + 3, font_size=SMALL)


def _legend_line(root: etree._Element, style: str, x: float, y: float) -> None:
    """A sample of a line, drawn as in the drawing; what is a mark on a line is shown on one."""
    points = straight((x - 15, y), (x + 15, y))
    red, tracer = Colour(base="RD"), Colour(base="RD", tracer="WH")
    match style:
        case "divider":
            add(root, "path", d=path_of(points), class_="divider")
        case "added":
            add(root, "rect", x=x - 14, y=y - 9, width=28.0, height=18.0, rx=3.0, class_="feet")
        case "bridge":
            paint_line(root, Line(start="", end="", style="contact"), straight((x, y - 13), (x, y + 13)))
            add(root, "path", d=path_of(straight((x - 8, y), (x + 8, y))), class_="bridge")
            paint_line(root, Line(start="", end="", style="contact"), points)
        case "cut":
            add(root, "path", d=path_of(points), class_="touch")
            paint_cut(root, x, y)
        case "unknown":
            paint_line(root, Line(start="", end="", style="lead"), points)
        case "tracer":
            paint_line(root, Line(start="", end="", style="wire", colour=tracer), points)
        case _:
            paint_line(root, Line(start="", end="", style=style, colour=red), points)
