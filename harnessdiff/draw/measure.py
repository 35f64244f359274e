"""How much room marks and labels take."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.draw.scene import Flag, Line, Mark, Scene
from harnessdiff.draw.text import text_width, wrapped

FLAG_SIZE = 11.5
FLAG_HEIGHT = 19.0
FLAG_PAD = 6.0
LABEL_SIZE = 9.5
LABEL_LEADING = 11.0
LINE_SIZE = 9.0
LINE_LEADING = 10.5
LINE_CLEARANCE = 6.0
BELOW_ROW = 14.0
LABEL_WIDTH = {"joint": 116.0, "device": 96.0, "other": 84.0}
MOST_LINES = {"joint": 4, "device": 4, "other": 3}
SYMBOL_WIDTH = {
    "joint": 30.0,
    "terminal": 9.0,
    "pin": 9.0,
    "splice": 9.0,
    "more": 12.0,
    "loose": 14.0,
    "untraced": 18.0,
}
SYMBOL_HEIGHT = {"joint": 30.0, "terminal": 11.0, "pin": 11.0, "splice": 11.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """Room of a mark: width, and heights of what stands above, in and below the row of its symbol. [px]

    `leads` is the row in which leads leave a joint that a wire runs through.
    """

    width: float
    above: float
    middle: float
    below: float
    leads: float = 0.0

    @property
    def height(self) -> float:
        """Whole height. [px]"""
        return self.above + self.middle + self.leads + self.below


def sort_of(mark: Mark) -> str:
    """``joint``, ``device`` or ``other``: how much room a mark's label gets."""
    if mark.symbol.startswith("joint") or mark.symbol in ("damage", "route", "place", "cut"):
        return "joint"
    return "device" if mark.added or mark.symbol in ("device", "fuse", "battery") else "other"


def label_lines(mark: Mark) -> tuple[tuple[str, int], ...]:
    """Lines of a mark's label with their weight; the first is bold, where it is a name."""
    sort = sort_of(mark)
    lines: list[tuple[str, int]] = []
    for number, text in enumerate(mark.label):
        weight = 700 if number == 0 else 400
        lines += [(line, weight) for line in wrapped(text, LABEL_WIDTH[sort], LABEL_SIZE, weight, 2 if number else 3)]
    return tuple(lines[: MOST_LINES[sort] + 1])


def flag_words(flag: Flag) -> str:
    """What is written on a flag."""
    return f"{flag.text}  {flag.level.upper()}" if flag.outcome != "acceptable" else f"{flag.text}  {flag.level}"


def flag_width(flag: Flag) -> float:
    """Width of a flag. [px]"""
    return text_width(flag_words(flag), FLAG_SIZE, 700) + 2 * FLAG_PAD


def symbol_size(mark: Mark) -> tuple[float, float]:
    """Width and height of a mark's symbol. [px]"""
    kind = "joint" if mark.symbol.startswith("joint") or mark.symbol in ("damage", "route") else mark.symbol
    return SYMBOL_WIDTH.get(kind, 28.0), SYMBOL_HEIGHT.get(kind, 24.0)


def joints_with_leads_below(scene: Scene) -> frozenset[str]:
    """Joints that need a row for leads below the wire that runs through them."""
    return frozenset(
        mark_id for line in scene.lines for mark_id in (line.start, line.end) if joins_below(scene, line, mark_id)
    )


def box_of(mark: Mark, *, leads_below: bool) -> Box:
    """The room a mark takes."""
    lines = label_lines(mark)
    widest = max((text_width(line, LABEL_SIZE, weight) for line, weight in lines), default=0.0)
    flags = max((flag_width(flag) for flag in mark.flags), default=0.0)
    width, height = symbol_size(mark)
    return Box(
        width=round(max(widest, flags, width) + 6),
        above=round(len(mark.flags) * (FLAG_HEIGHT + 2) + (3 if mark.flags else 0)),
        middle=round(height + 4),
        below=round(len(lines) * LABEL_LEADING + 3),
        leads=BELOW_ROW if leads_below else 0.0,
    )


def label_box(line: Line) -> tuple[float, float]:
    """Width and height of a line's label. [px]"""
    if not line.label:
        return 0.0, 0.0
    width = max(text_width(text, LINE_SIZE, 700 if number == 0 else 400) for number, text in enumerate(line.label))
    return width + 8, len(line.label) * LINE_LEADING + LINE_CLEARANCE


def joins_below(scene: Scene, line: Line, mark_id: str) -> bool:
    """Whether a lead leaves a joint below the wire that runs through it."""
    if line.style != "lead" or not scene.marks[mark_id].symbol.startswith("joint"):
        return False
    return any(mark_id in (one.start, one.end) and one.style in ("wire", "gone", "perhaps") for one in scene.lines)
