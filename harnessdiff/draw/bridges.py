"""Where lines cross without being joined: the later one is drawn as a bridge over the earlier one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from harnessdiff.draw.scene import Line

Point = tuple[float, float]

STEPS = 8
"""Straight stretches that a piece of a Bézier line is taken for."""
SPAN = 11.0
"""Half the length of a bridge. [px]"""
NEAR = 12.0
"""Two lines that share a mark meet this near to it without crossing. [px]"""


def straight(one: Point, other: Point) -> tuple[Point, Point, Point, Point]:
    """A straight stretch as a piece of a Bézier line."""
    first = ((one[0] * 2 + other[0]) / 3, (one[1] * 2 + other[1]) / 3)
    second = ((one[0] + other[0] * 2) / 3, (one[1] + other[1] * 2) / 3)
    return one, first, second, other


def polyline(points: Sequence[Point]) -> list[Point]:
    """Points along a chain of Bézier pieces."""
    found = [points[0]]
    for place in range(0, len(points) - 3, 3):
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = points[place : place + 4]
        steps = 1 if ay == by == cy == dy or ax == bx == cx == dx else STEPS
        for step in range(1, steps + 1):
            t = step / steps
            u = 1 - t
            a, b, c, d = u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t
            at = (a * ax + b * bx + c * cx + d * dx, a * ay + b * by + c * cy + d * dy)
            if at != found[-1]:
                found.append(at)
    return found


def bridges_of(lines: Sequence[Line], ways: Sequence[Sequence[Point]]) -> list[tuple[int, tuple[Point, ...]]]:
    """Bridges of a drawing.

    Parameters
    ----------
    lines : sequence of Line
    ways : sequence
        The Bézier points of every line.

    Returns
    -------
    list of tuple
        The number of the line that passes over another, and the stretch of it to draw again.
    """
    drawn = [polyline(way) for way in ways]
    spans = [(min(x for x, _ in one), max(x for x, _ in one), min(y for _, y in one), max(y for _, y in one))
             for one in drawn]  # fmt: skip
    found: list[tuple[int, tuple[Point, ...]]] = []
    for upper in range(len(lines)):
        for lower in range(upper):
            one, other = spans[upper], spans[lower]
            if one[0] > other[1] or other[0] > one[1] or one[2] > other[3] or other[2] > one[3]:
                continue
            shared = _shared_ends(lines[upper], lines[lower], drawn[upper])
            for at, run in crossings(drawn[upper], drawn[lower]):
                if all(math.dist(at, end) > NEAR for end in shared):
                    direction = (run[0] * SPAN, run[1] * SPAN)
                    found.append((upper, straight((at[0] - direction[0], at[1] - direction[1]),
                                                  (at[0] + direction[0], at[1] + direction[1]))))  # fmt: skip
    return found


def _shared_ends(one: Line, other: Line, drawn: list[Point]) -> list[Point]:
    """Ends of a line at marks that the other reaches, too."""
    ends = {other.start, other.end}
    return [drawn[place] for place, mark_id in ((0, one.start), (-1, one.end)) if mark_id in ends]


def crossings(one: Sequence[Point], other: Sequence[Point]) -> Iterator[tuple[Point, Point]]:
    """Where a polyline crosses another, and which way it runs there as a vector of length 1."""
    for (ax, ay), (bx, by) in pairwise(one):
        low_x, high_x = min(ax, bx), max(ax, bx)
        low_y, high_y = min(ay, by), max(ay, by)
        for (cx, cy), (dx, dy) in pairwise(other):
            if max(cx, dx) < low_x or min(cx, dx) > high_x or max(cy, dy) < low_y or min(cy, dy) > high_y:
                continue
            across = (bx - ax) * (dy - cy) - (by - ay) * (dx - cx)
            if across == 0:
                continue
            t = ((cx - ax) * (dy - cy) - (cy - ay) * (dx - cx)) / across
            u = ((cx - ax) * (by - ay) - (cy - ay) * (bx - ax)) / across
            if 0 <= t < 1 and 0 <= u < 1:
                length = math.dist((ax, ay), (bx, by))
                yield (ax + t * (bx - ax), ay + t * (by - ay)), ((bx - ax) / length, (by - ay) / length)
