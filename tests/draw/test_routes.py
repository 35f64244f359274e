"""Lines turn between the columns of a drawing, each at a place of its own."""

from __future__ import annotations

import math
from itertools import combinations, pairwise

import pytest

from harnessdiff.draw.bridges import Point, polyline, straight
from harnessdiff.draw.layout import laid_out
from harnessdiff.draw.routes import columns_of, moved_by, routed
from harnessdiff.draw.scene import Line, Mark, Scene
from tests.draw.test_layout import scenes_of
from tests.drawing import CATALOGUE, catalogue_case, demo_case

COLUMNS = [(0.0, 100.0), (140.0, 240.0), (280.0, 380.0)]


def nearest(one: list[Point], other: list[Point]) -> float:
    return min(math.dist(a, b) for a in dense(one) for b in dense(other))


def dense(points: list[Point]) -> list[Point]:
    """Points no more than 2 px from one to the next."""
    found = [points[0]]
    for (ax, ay), (bx, by) in pairwise(points):
        steps = max(1, math.ceil(math.dist((ax, ay), (bx, by)) / 2))
        found += [(ax + (bx - ax) * step / steps, ay + (by - ay) * step / steps) for step in range(1, steps + 1)]
    return found


def drawn(*pieces: tuple[Point, Point]) -> list[list[Point]]:
    ways, _ = routed(COLUMNS, [straight(*one) for one in pieces])
    return [polyline(way) for way in ways]


def test_columns_hold_what_stands_in_them() -> None:
    assert columns_of([(150, 160), (0, 10), (140, 155), (5, 20)]) == [(0, 20), (140, 160)]


def test_a_line_begins_and_ends_where_it_was_asked_to() -> None:
    (way,) = drawn(((80.0, 10.0), (300.0, 90.0)))

    assert (way[0], way[-1]) == ((80.0, 10.0), (300.0, 90.0))


@pytest.mark.parametrize(("down", "sign"), [("down", 1), ("up", -1)])
def test_lines_that_turn_the_same_way_keep_their_distance(down: str, sign: int) -> None:
    """The two poles of a battery that stands above what it feeds: they must not touch."""
    one, other = drawn(((80.0, 0.0), (150.0, sign * 200.0)), ((80.0, sign * 14.0), (150.0, sign * 214.0)))

    assert nearest(one, other) >= 10, down


def test_a_line_passes_a_column_at_the_height_the_engine_gave_it() -> None:
    ways, _ = routed(COLUMNS, [(*straight((80, 0), (190, 50)), *straight((190, 50), (300, 0))[1:])])
    heights = {round(y) for x, y in polyline(ways[0]) if 150 < x < 230}

    assert heights <= {50}


def test_what_runs_from_the_right_to_the_left_keeps_its_shape() -> None:
    piece = straight((300, 0), (80, 40))

    assert routed(COLUMNS, [piece])[0] == [piece]


def test_columns_move_apart_only_where_several_lines_turn_side_by_side() -> None:
    fan = [straight((80, 14.0 * place), (150, 200 + 30.0 * place)) for place in range(4)]
    one = [straight((150, 0), (300, 50))]
    ways, moved = routed(COLUMNS, [*fan, *one])

    assert routed(COLUMNS, one)[1] == [0, 0, 0]
    assert moved[0] == 0
    assert moved[1] == moved[2] > 0
    assert [way[-1][0] for way in ways] == [150 + moved[1]] * 4 + [300 + moved[2]]
    assert moved_by(COLUMNS, moved, 150) == moved[1]
    assert moved_by(COLUMNS, moved, 80) == 0


def touching(scene: Scene) -> list[tuple[Line, Line]]:
    """Lines that come nearer than 6 px to each other without crossing, away from a mark that both reach."""
    (layout,) = laid_out([scene])
    ways = [polyline(way.points) for way in layout.ways]
    found = []
    for one, other in combinations(range(len(ways)), 2):
        crossed = any(number in (one, other) for number, _ in layout.bridges)
        if not crossed and nearest(ways[one], ways[other]) < 6:
            found.append((scene.lines[one], scene.lines[other]))
    return found


def test_no_two_lines_of_the_demo_touch() -> None:
    assert [pair for scene in scenes_of(demo_case()) for pair in touching(scene)] == []


@pytest.mark.parametrize("kind", CATALOGUE[::5])
def test_no_two_lines_of_the_catalogue_touch(kind: str) -> None:
    assert [pair for scene in scenes_of(catalogue_case(kind)) for pair in touching(scene)] == []


def test_unlike_poles_of_an_added_battery_never_meet() -> None:
    scene = Scene()
    scene.put(Mark(id="d", symbol="battery", label=("“leisure”",), added=True))
    for pin, other in (("+", "a"), ("-", "b")):
        scene.put(Mark(id=pin, symbol="pin", label=(pin,), added=True))
        scene.put(Mark(id=other, symbol="device", label=(other * 12,)))
        scene.join(Line(start="d", end=pin, style="contact"))
        scene.join(Line(start=pin, end=other, style="lead", label=(f"L{other}",)))

    assert touching(scene) == []
