"""The way of every line between the columns of a drawing, so that no two lines run over one another.

The layout engine says which columns the marks stand in and at which height a line passes each; between
two columns a line turns at a place of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from harnessdiff.draw.bridges import Point, polyline, straight

ROUND = 9.0
"""Radius of a turn, where there is room. [px]"""
APART = 13.0
"""From one turn to the next between two columns. [px]"""
CLEAR = 10.0
"""Turns that come nearer than this to each other's heights turn at different places. [px]"""
QUARTER = 0.5523
"""Length of the handles of a Bézier piece that is a quarter of a circle of radius 1."""


@dataclass(slots=True)
class _Turn:
    """A change of height between two columns, and which place there is its own."""

    came: float
    went: float
    slot: int = 0

    def conflicts(self, other: _Turn) -> bool:
        """Whether the two share heights, so that they must not turn at one place."""
        low, high = sorted((self.came, self.went))
        other_low, other_high = sorted((other.came, other.went))
        return low < other_high + CLEAR and other_low < high + CLEAR


def columns_of(spans: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Columns from the left and right sides of everything that stands in them, from the left."""
    found: list[tuple[float, float]] = []
    for left, right in sorted(spans):
        if found and left < found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], right))
        else:
            found.append((left, right))
    return found


def routed(
    columns: Sequence[tuple[float, float]], pieces: Sequence[tuple[Point, ...]]
) -> tuple[list[tuple[Point, ...]], list[float]]:
    """The ways of lines, and how far every column is moved to the right so that all have room to turn.

    Parameters
    ----------
    columns : sequence of tuple
        Left and right side of every column, from the left. [px]
    pieces : sequence of tuple of Point
        Bézier points of the lines as the engine has drawn them.

    Returns
    -------
    list of tuple of Point
        Bézier points, between columns as they are moved; what does not run from the left to the
        right keeps its shape.
    list of float
        By column. [px]
    """
    heights = [_heights(columns, piece) for piece in pieces]
    turns: dict[int, dict[int, _Turn]] = {}
    for number, levels in enumerate(heights):
        for (gap, came), (_, went) in pairwise(levels):
            turns.setdefault(gap, {})[number] = _Turn(came, went)
    counts = {gap: _places(list(own.values())) for gap, own in turns.items()}
    moved = [0.0]
    for gap, (one, other) in enumerate(pairwise(columns)):
        needed = APART * (counts.get(gap, 1) + 1) if counts.get(gap, 1) > 1 else 0.0
        moved.append(moved[-1] + max(0.0, needed - (other[0] - one[1])))
    found = []
    for number, (levels, piece) in enumerate(zip(heights, pieces, strict=True)):
        if not levels:
            found.append(tuple((x + moved_by(columns, moved, x), y) for x, y in piece))
            continue
        points = [(piece[0][0] + moved[levels[0][0]], piece[0][1])]
        for gap, _ in levels[:-1]:
            left, right = columns[gap][1] + moved[gap], columns[gap + 1][0] + moved[gap + 1]
            _turn(points, turns[gap][number], left, right, counts[gap])
        last = (piece[-1][0] + moved[levels[-1][0]], piece[-1][1])
        found.append((*points, *straight(points[-1], last)[1:]))
    return found, moved


def moved_by(columns: Sequence[tuple[float, float]], moved: Sequence[float], x: float) -> float:
    """How far to the right what stands at `x` is moved: as far as the column that begins before it. [px]"""
    return next((by for (left, _), by in zip(columns[::-1], moved[::-1], strict=True) if left - 1 <= x), 0.0)


def _heights(columns: Sequence[tuple[float, float]], piece: tuple[Point, ...]) -> list[tuple[int, float]]:
    """Column and height of a line at its start, in every column it passes, and at its end."""
    first, last = (_column(columns, piece[place][0]) for place in (0, -1))
    if first is None or last is None or last <= first:
        return []
    drawn = polyline(piece)
    found = [(first, piece[0][1])]
    for column in range(first + 1, last):
        middle = sum(columns[column]) / 2
        found.append((column, _height_at(drawn, middle)))
    return [*found, (last, piece[-1][1])]


def _height_at(drawn: Sequence[Point], x: float) -> float:
    """Height of a polyline where it first reaches `x`."""
    for (ax, ay), (bx, by) in pairwise(drawn):
        if ax <= x <= bx:
            return ay + (by - ay) * (x - ax) / (bx - ax) if bx > ax else by
    return drawn[-1][1]


def _column(columns: Sequence[tuple[float, float]], x: float) -> int | None:
    return next((place for place, (left, right) in enumerate(columns) if left - 1 <= x <= right + 1), None)


def _places(turns: list[_Turn]) -> int:
    """Give every turn between two columns its place; how many places there are.

    Of lines that go down the upper turns further right, of lines that go up further left: so none
    crosses the other.
    """
    down = sorted((one for one in turns if one.went >= one.came), key=lambda one: (-one.came, -one.went))
    up = sorted((one for one in turns if one.went < one.came), key=lambda one: (one.came, one.went))
    placed: list[_Turn] = []
    for one in (*down, *up):
        one.slot = max((other.slot + 1 for other in placed if one.conflicts(other) and _bends(other)), default=0)
        if _bends(one):
            placed.append(one)
        else:
            one.slot = 0
    return max((one.slot + 1 for one in placed), default=1)


def _bends(turn: _Turn) -> bool:
    return abs(turn.went - turn.came) > 0.5


def _turn(points: list[Point], turn: _Turn, left: float, right: float, count: int) -> None:
    """Lead a line on through the room between two columns."""
    drop = turn.went - turn.came
    if not _bends(turn):
        points += straight(points[-1], (right, turn.went))[1:]
        return
    x = left + (turn.slot + 1) * (right - left) / (count + 1)
    if count == 1 and abs(drop) <= right - left:
        points += straight(points[-1], (left, turn.came))[1:]
        points += [(x, turn.came), (x, turn.went), (right, turn.went)]
        return
    across = min(ROUND, abs(drop) / 2, x - left, right - x)
    along = min(ROUND, abs(drop) / 2)
    step = along if drop > 0 else -along
    k = 1 - QUARTER
    points += straight(points[-1], (x - across, turn.came))[1:]
    points += [(x - across * k, turn.came), (x, turn.came + step * k), (x, turn.came + step)]
    points += straight(points[-1], (x, turn.went - step))[1:]
    points += [(x, turn.went - step * k), (x + across * k, turn.went), (x + across, turn.went)]
