"""Where two lines cross without being joined one passes over the other, and nowhere else."""

from __future__ import annotations

from harnessdiff.draw.bridges import bridges_of, straight
from harnessdiff.draw.scene import Line

ACROSS = straight((0, 0), (100, 100))
DOWN = straight((0, 100), (100, 0))


def line(start: str, end: str) -> Line:
    return Line(start=start, end=end, style="lead")


def test_the_later_of_two_lines_that_cross_passes_over_the_earlier() -> None:
    ((number, points),) = bridges_of([line("a", "b"), line("c", "d")], [ACROSS, DOWN])

    assert number == 1
    assert (points[0][0] + points[-1][0]) / 2 == 50
    assert (points[0][1] + points[-1][1]) / 2 == 50


def test_lines_that_do_not_cross_need_no_bridge() -> None:
    assert bridges_of([line("a", "b"), line("c", "d")], [ACROSS, straight((0, 20), (100, 120))]) == []
    assert bridges_of([line("a", "b"), line("c", "d")], [ACROSS, ACROSS]) == []


def test_lines_that_are_joined_meet_without_a_bridge() -> None:
    assert bridges_of([line("a", "b"), line("a", "d")], [ACROSS, straight((0, 0), (100, 0))]) == []


def test_lines_that_are_joined_may_cross_elsewhere() -> None:
    lines = [line("a", "b"), line("c", "b")]

    assert [number for number, _ in bridges_of(lines, [ACROSS, DOWN])] == [1]
