"""Paints a scene that was laid out."""

from __future__ import annotations

from collections.abc import Sequence

from lxml import etree

from harnessdiff.draw.bridges import Point, straight
from harnessdiff.draw.lanes import hangs_below
from harnessdiff.draw.layout import Layout, Way
from harnessdiff.draw.measure import (
    FLAG_HEIGHT,
    FLAG_PAD,
    FLAG_SIZE,
    LABEL_LEADING,
    LABEL_SIZE,
    LINE_CLEARANCE,
    LINE_LEADING,
    LINE_SIZE,
    SPREAD,
    Box,
    flag_width,
    flag_words,
    label_box,
    label_lines,
    symbol_size,
)
from harnessdiff.draw.scene import Flag, Line, Mark, Scene
from harnessdiff.draw.svg import add, path_of, write
from harnessdiff.draw.symbols import draw_symbol
from harnessdiff.model.harness import Colour
from harnessdiff.tables.loader import screen_colours

LEVEL_FILL = {
    "High": ("#8f1414", True), "Serious": ("#a84a05", True), "Medium": ("#f4d35e", False),
    "Low": ("#dfe3e8", False), "acceptable": ("#ffffff", False),
    "not rated": ("#ffffff", False),
}  # fmt: skip
"""Fill of a level's flag, and whether it is dark, so that its text is white."""
DARK = frozenset({"BK", "BN", "BU", "VT"})
SLANT = 0.72
SYMBOL_TOP = {"fuse": 6.0, "resistor": 5.0, "relay": 8.0, "terminal": 4.0, "splice": 4.0, "loose": 2.0}
"""Of symbols that are flatter than their box; a flag's pole goes down to them. [px]"""
CUT_OFF = 9.0
"""How far from the ring of a joint the mark of a cut wire is. [px]"""


def paint_scene(parent: etree._Element, scene: Scene, layout: Layout) -> None:
    """Paint lines first, then marks, so that no line runs over a symbol or a flag.

    Parameters
    ----------
    parent : Element
        The group to paint into.
    scene : Scene
    layout : Layout
    """
    lines = add(parent, "g", class_="lines")
    labels = add(parent, "g", class_="labels")
    for one, other in layout.rules:
        add(parent, "path", d=path_of(straight(one, other)), class_="divider")
    ways = [_to_symbols(scene, layout, line, way) for line, way in zip(scene.lines, layout.ways, strict=True)]
    for line, way, points in zip(scene.lines, layout.ways, ways, strict=True):
        paint_line(lines, line, points)
        if way.label_at is not None:
            _paint_line_label(labels, line, way.label_at)
    for number, points in layout.bridges:
        add(lines, "path", d=path_of(points), class_="bridge")
        paint_line(lines, scene.lines[number], points)
    marks = add(parent, "g", class_="marks")
    for mark in scene.marks.values():
        _paint_mark(marks, mark, layout.middles[mark.id], layout.boxes[mark.id])


def _symbol_middle(box: Box, middle: Point) -> Point:
    """Where a mark's symbol is, given the middle of its box."""
    return middle[0], middle[1] - box.height / 2 + box.above + box.symbol_at


def _to_symbols(scene: Scene, layout: Layout, line: Line, way: Way) -> tuple[Point, ...]:
    """The way of a line, drawn on from the boxes of its two marks to their symbols."""
    points = list(way.points)
    for mark_id, place, side in ((line.start, 0, 1), (line.end, -1, -1)):
        piece = _to_symbol(scene, mark_id, layout, points[place], side)
        points = [*piece[:-1], *points] if place == 0 else [*points, *piece[::-1][1:]]
    return tuple(points)


def _to_symbol(scene: Scene, mark_id: str, layout: Layout, reached: Point, side: int) -> list[Point]:
    """From the symbol of a mark to where a line reaches its box; `side` is 1 on the right and -1 on the left."""
    mark, box = scene.marks[mark_id], layout.boxes[mark_id]
    x, y = _symbol_middle(box, layout.middles[mark_id])
    off = reached[1] - y
    half = symbol_size(mark)[0] / 2 - 1
    if box.frame is not None:
        return list(straight((x + side * box.frame[0] / 2, reached[1]), reached))
    if abs(off) < 1.0:
        return list(straight((x + side * half, reached[1]), reached))
    if hangs_below(scene, mark_id):
        # From the lower side of the ring, so that a lead is told from the wire it was joined to.
        edge = (x + side * half * SLANT, y + half * SLANT)
    else:
        edge = (x + side * half, y + max(-half, min(half, off)) * SLANT)
    spread = (x + side * (half + SPREAD), reached[1])
    if side * (reached[0] - spread[0]) <= 0:
        return list(straight(edge, reached))
    bend = ((edge[0] + spread[0]) / 2, reached[1])
    return [edge, (edge[0] + (bend[0] - edge[0]) / 2, edge[1] + (bend[1] - edge[1]) / 2), bend,
            spread, *straight(spread, reached)[1:]]  # fmt: skip


def paint_line(parent: etree._Element, line: Line, points: Sequence[Point]) -> None:
    """A line by its style: in the colour of its insulation, in dashes without filling where nobody knows that."""
    d = path_of(tuple(points))
    how = "" if line.colour_known else " unknown"
    if line.style == "folded":
        add(parent, "path", d=d, class_="folded")
    elif line.style == "contact":
        add(parent, "path", d=d, class_="touch")
    elif line.style == "lead":
        dark = line.colour is not None and line.colour.base in DARK
        add(parent, "path", d=d, class_=f"lead-edge{how}")
        add(parent, "path", d=d, class_=f"lead-core{how}", stroke=_base(line))
        add(parent, "path", d=d, class_="lead-hatch on-dark" if dark else "lead-hatch")
        _ticks(parent, d, line.colour, "lead-tick")
    else:
        how += f" {line.style}" if line.style in ("gone", "perhaps") else ""
        add(parent, "path", d=d, class_=f"wire-edge{how}")
        add(parent, "path", d=d, class_=f"wire-core{how}", stroke=_base(line))
        _ticks(parent, d, line.colour, "wire-tick")
    for side, at, onward in (("start", points[0], 1), ("end", points[-1], -1)):
        if side in line.cut:
            paint_cut(parent, at[0] + onward * CUT_OFF, at[1])


def paint_cut(parent: etree._Element, x: float, y: float) -> None:
    """Where a wire was cut through: a gap between two strokes across it."""
    add(parent, "path", d=f"M{x - 2:g} {y:g}H{x + 2:g}", class_="cut-gap")
    add(parent, "path", d=f"M{x - 4.5:g} {y + 7:g}L{x + 0.5:g} {y - 7:g}M{x - 0.5:g} {y + 7:g}L{x + 4.5:g} {y - 7:g}",
        class_="cut-strokes")  # fmt: skip


def _base(line: Line) -> str | None:
    return screen_colours().get(line.colour.base) if line.colour is not None else None


def _ticks(parent: etree._Element, d: str, colour: Colour | None, kind: str) -> None:
    """Cross-ticks in the colour of the tracer."""
    tracer = tracer_of(colour)
    if tracer is not None:
        add(parent, "path", d=d, class_=f"{kind}-edge")
        add(parent, "path", d=d, class_=kind, stroke=tracer)


def tracer_of(colour: Colour | None) -> str | None:
    """The colour on a screen of a tracer that is known."""
    return screen_colours().get(colour.tracer or "") if colour is not None else None


def _paint_line_label(parent: etree._Element, line: Line, at: tuple[float, float]) -> None:
    width, height = label_box(line)
    if not line.label:
        return
    top = at[1] - height / 2
    add(parent, "rect", x=at[0] - width / 2 + 2, y=top, width=width - 4, height=height - LINE_CLEARANCE, class_="plate")
    for number, text in enumerate(line.label):
        weight = "bold" if number == 0 and line.style != "folded" else None
        write(
            parent, text, at[0], top + LINE_LEADING * (number + 0.8),
            class_="line-label", font_size=LINE_SIZE, font_weight=weight,
        )  # fmt: skip


def _paint_mark(parent: etree._Element, mark: Mark, middle: tuple[float, float], box: Box) -> None:
    top = middle[1] - box.height / 2
    group = add(parent, "g", class_="mark")
    x, y = _symbol_middle(box, middle)
    for number, flag in enumerate(mark.flags):
        paint_flag(group, flag, middle[0] - flag_width(flag) / 2, top + number * (FLAG_HEIGHT + 2))
    if mark.flags:
        foot = y - SYMBOL_TOP.get(mark.symbol, symbol_size(mark)[1] / 2)
        add(group, "path", d=f"M{x:g} {top + box.above - 3:g}V{foot:g}", class_="pole")
    if box.frame is not None:
        width, height = box.frame
        add(group, "rect", x=x - width / 2, y=y - height / 2, width=width, height=height, rx=3.0, class_="feet")
    draw_symbol(group, mark.symbol, x, y, added=mark.added, gone=mark.gone)
    for number, (text, weight) in enumerate(label_lines(mark)):
        write(
            group, text, middle[0], top + box.above + box.middle + LABEL_LEADING * (number + 0.82),
            class_="label", font_size=LABEL_SIZE, font_weight="bold" if weight == 700 else None,
        )  # fmt: skip


def symbol_top(mark: Mark) -> float:
    """How high above its middle a symbol reaches. [px]"""
    return SYMBOL_TOP.get(mark.symbol, symbol_size(mark)[1] / 2)


def paint_flag(parent: etree._Element, flag: Flag, x: float, y: float) -> None:
    """A flag: the number of the finding and its level in words."""
    fill, dark = LEVEL_FILL[flag.outcome]
    width = flag_width(flag)
    add(parent, "rect", x=x, y=y, width=width, height=FLAG_HEIGHT, rx=2.0, class_="flag", fill=fill)
    write(parent, flag_words(flag), x + FLAG_PAD, y + 13.6, class_="flag-text on-dark" if dark else "flag-text",
          font_size=FLAG_SIZE)  # fmt: skip
