"""How much room marks and labels take."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.draw.scene import Flag, Line, Mark
from harnessdiff.draw.text import text_width, with_ellipsis, wrapped

FLAG_SIZE = 11.5
FLAG_HEIGHT = 19.0
FLAG_PAD = 6.0
LABEL_SIZE = 11.4
LABEL_LEADING = 12.8
LINE_SIZE = 11.4
LINE_LEADING = 12.4
LINE_CLEARANCE = 2.0
LINE_ROOM = 12
"""Height of the row in which a line runs below its words. [px]"""
LANE = 14.0
"""From one line to the next where several reach a mark on one side. [px]"""
MOST_WIDE_LANES = 12
"""More lines than this at a mark stand closer. [px]"""
SPREAD = 22.0
"""Width in which lines spread from a symbol to their lanes. [px]"""
FRAME_ROOM = 16
"""How much wider and higher than its symbol the frame of an added device is, at the least. [px]"""
LABEL_WIDTH = {"joint": 124.0, "device": 112.0, "other": 98.0}
MOST_LINES = {"joint": 9, "device": 6, "other": 5}
MOST_OF_A_PART = {"joint": 5, "device": 3, "other": 3}
"""Lines of a label, and of each of its parts; of a longer one the last ends in an ellipsis."""
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

    `symbol_at` is how far below the top of the middle row the symbol has its middle; `west` and
    `east` hold the same for the lanes of the lines that come in on the left and leave on the right.
    """

    width: int
    above: int
    middle: int
    below: int
    symbol_at: float
    west: tuple[float, ...] = ()
    east: tuple[float, ...] = ()
    frame: tuple[float, float] | None = None

    @property
    def height(self) -> int:
        """Whole height. [px]"""
        return self.above + self.middle + self.below


def sort_of(mark: Mark) -> str:
    """``joint``, ``device`` or ``other``: how much room a mark's label gets."""
    if mark.symbol.startswith("joint") or mark.symbol in (
        "damage", "route", "place", "cut", "fault", "perhaps",
    ):  # fmt: skip
        return "joint"
    return "device" if mark.added or mark.symbol in ("device", "fuse", "battery") else "other"


def label_lines(mark: Mark) -> tuple[tuple[str, int], ...]:
    """Lines of a mark's label with their weight; the first is bold, where it is a name."""
    sort = sort_of(mark)
    lines: list[tuple[str, int]] = []
    for number, text in enumerate(mark.label):
        weight = 700 if number == 0 else 400
        lines += [(line, weight) for line in wrapped(text, LABEL_WIDTH[sort], LABEL_SIZE, weight, MOST_OF_A_PART[sort])]
    most = MOST_LINES[sort]
    if len(lines) > most:
        last, weight = lines[most - 1]
        lines[most - 1] = (with_ellipsis(last, LABEL_WIDTH[sort], LABEL_SIZE, weight), weight)
    return tuple(lines[:most])


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


def box_of(mark: Mark, *, west: int = 1, east: int = 1, framed: bool = False) -> Box:
    """The room a mark takes.

    Parameters
    ----------
    mark : Mark
    west, east : int
        How many lines come in on the left and leave on the right.
    framed : bool
        Whether it is drawn as a frame with a foot for every line.

    Returns
    -------
    Box
    """
    lines = label_lines(mark)
    widest = max((text_width(line, LABEL_SIZE, weight) for line, weight in lines), default=0.0)
    flags = max((flag_width(flag) for flag in mark.flags), default=0.0)
    width, height = symbol_size(mark)
    most = max(west, east)
    lane = LANE if most <= MOST_WIDE_LANES else LANE * MOST_WIDE_LANES / most
    row = round(height + 4)
    if sort_of(mark) == "joint":
        middle = row + round(lane * max(most - 1, 0))
        symbol_at = row / 2
        sides = [
            tuple(symbol_at if place == 0 else row + lane * (place - 0.5) for place in range(count))
            for count in (west, east)
        ]
    else:
        middle = max(row + (FRAME_ROOM if framed else 0), round(lane * most))
        symbol_at = middle / 2
        sides = [
            tuple(symbol_at + lane * (place - (count - 1) / 2) for place in range(count)) for count in (west, east)
        ]
    room = width + FRAME_ROOM if framed else width + (2 * SPREAD if most > 1 else 0)
    return Box(
        width=round(max(widest, flags, room) + 6),
        above=round(len(mark.flags) * (FLAG_HEIGHT + 2) + (3 if mark.flags else 0)),
        middle=middle,
        below=round(len(lines) * LABEL_LEADING + 3),
        symbol_at=symbol_at,
        west=sides[0],
        east=sides[1],
        frame=(width + FRAME_ROOM, middle - 2.0) if framed else None,
    )


def label_box(line: Line) -> tuple[float, float]:
    """Width and height of a line's label. [px]"""
    if not line.label:
        return 0.0, 0.0
    width = max(text_width(text, LINE_SIZE, 700 if number == 0 else 400) for number, text in enumerate(line.label))
    return width + 8, len(line.label) * LINE_LEADING + LINE_CLEARANCE
