"""Where everything goes: DOT built by the graphviz package, laid out by Graphviz in a child process.

What hangs together is laid out by itself and put below or beside what came before it. The words of
a line stand on a place of their own that the line runs through, so that they are never nearer to
another line. In a first pass lines may come in on one point, so that the engine is free in how it
orders what they lead to; a second gives each its lane by where the first has put that.
"""

from __future__ import annotations

import contextlib
import json
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, NoReturn

import graphviz
import networkx as nx

from harnessdiff.draw.bridges import Point, bridges_of, straight
from harnessdiff.draw.lanes import THROUGH, Lanes, boxes_of, lanes_of
from harnessdiff.draw.measure import LINE_ROOM, Box, label_box
from harnessdiff.draw.routes import columns_of, moved_by, routed
from harnessdiff.draw.scene import Scene
from harnessdiff.errors import LayoutError

TIME_LIMIT_S = 60.0
ENDS_WITHIN_S = 2.0
POINTS = 72
BETWEEN = 15.0
"""Room between two columns of marks where no more than one line turns. [px]"""
GAP = 26.0
"""Room between two drawings of a sheet that have nothing to do with each other. [px]"""
SHELF = 720.0
"""Drawings stand side by side as long as they are together no wider than this, or than the widest. [px]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A line of the scene as laid out: Bézier points, and the middle of its label."""

    points: tuple[Point, ...]
    label_at: Point | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Positions for a scene, in pixels, y downwards: the middle of every mark, the way of every line.

    `boxes` is the room of every mark; `rules` are lines between what has nothing to do with each
    other; `bridges` holds numbers of lines that pass over others, and where.
    """

    width: float
    height: float
    middles: dict[str, Point]
    ways: tuple[Way, ...]
    boxes: dict[str, Box]
    rules: tuple[tuple[Point, Point], ...] = ()
    bridges: tuple[tuple[int, tuple[Point, ...]], ...] = ()


def dot_source(scene: Scene) -> str:
    """The scene in DOT: every mark a box of known size, so that no font of the machine matters.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    str
        A graph for every part that hangs together.
    """
    return "\n".join(_source(part, lanes_of(part)) for part, _ in _parts(scene))


def _source(scene: Scene, lanes: Lanes) -> str:
    graph = graphviz.Digraph(
        "sheet",
        graph_attr={
            "rankdir": "LR", "newrank": "true", "splines": "true", "nodesep": "0.14",
            "ranksep": f"{BETWEEN / POINTS:.3f}", "margin": "0", "pad": "0", "dpi": str(POINTS),
        },
        node_attr={"shape": "plain", "margin": "0"},
        edge_attr={"dir": "none"},
    )  # fmt: skip
    names = {mark_id: f"m{number}" for number, mark_id in enumerate(scene.marks)}
    for mark_id, box in boxes_of(scene, lanes).items():
        graph.node(names[mark_id], label=_box_label(box))
    for number, line in enumerate(scene.lines):
        start = f"{names[line.start]}:e{lanes.place(line.start, 'east', number)}:e"
        end = f"{names[line.end]}:w{lanes.place(line.end, 'west', number)}:w"
        weight = "12" if line.style in THROUGH else "8" if line.style == "lead" else "2"
        if line.label:
            width, height = label_box(line)
            rows = _table(width, [(round(height), ""), (LINE_ROOM, ' PORT="p"')])
            graph.node(f"w{number}", label=f"<{rows}>")
            graph.edge(start, f"w{number}:p:w", id=f"l{number}a", weight=weight)
            graph.edge(f"w{number}:p:e", end, id=f"l{number}b", weight=weight)
        else:
            graph.edge(start, end, id=f"l{number}", weight=weight)
    return str(graph.source)


def _box_label(box: Box) -> str:
    """A table with the rows of a mark; the middle one holds the ports of both sides, one cell each."""
    left = box.width // 2
    west, east = (_table(width, _ports(box.middle, lanes, side)) for width, lanes, side in
                  ((left, box.west, "w"), (box.width - left, box.east, "e")))  # fmt: skip
    middle = (
        '<TR><TD BORDER="0" CELLPADDING="0"><TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"><TR>'
        f"<TD>{west}</TD><TD>{east}</TD></TR></TABLE></TD></TR>"
    )
    above, below = (_row(box.width, height, "") for height in (box.above, box.below))
    return f'<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0">{above}{middle}{below}</TABLE>>'


def _ports(middle: int, lanes: tuple[float, ...], side: str) -> list[tuple[int, str]]:
    """Rows of one half of a mark: for every lane one that has its port in the middle, and room between."""
    if not lanes:
        return [(middle, "")]
    bounds = [0, *(round((one + other) / 2) for one, other in pairwise(lanes)), middle]
    rows: list[tuple[int, str]] = []
    for place, lane in enumerate(lanes):
        half = min(lane - bounds[place], bounds[place + 1] - lane)
        top, bottom = round(lane - half), round(lane + half)
        rows += [(top - bounds[place], ""), (bottom - top, f' PORT="{side}{place}"'), (bounds[place + 1] - bottom, "")]
    return rows


def _table(width: float, rows: Iterable[tuple[int, str]]) -> str:
    cells = "".join(_row(width, height, port) for height, port in rows)
    return f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0">{cells}</TABLE>'


def _row(width: float, height: int, port: str) -> str:
    if height < 1:
        return ""
    return f'<TR><TD FIXEDSIZE="TRUE" WIDTH="{round(width)}" HEIGHT="{height}"{port}></TD></TR>'


class Engine:
    """A child process that lays out, one question after the other.

    Used as a context, so that none is left behind; it is started with the first question, and
    again if it ended by itself.
    """

    def __init__(self) -> None:
        self._child: subprocess.Popen[str] | None = None
        self._words = tempfile.TemporaryFile("w+", encoding="utf-8")  # noqa: SIM115 - closed with the context

    def __enter__(self) -> Engine:
        """The engine itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """End the child."""
        self._end()
        self._words.close()

    def answer(self, question: str) -> str:
        """What the child answers to one line; raises `LayoutError` as `laid_out` does."""
        answer = self._asked(question)
        if not answer and self._end() == 0:
            answer = self._asked(question)
        if not answer:
            self._refuse()
        return answer

    def _asked(self, question: str) -> str:
        """The child's answer, empty where it ended instead."""
        if self._child is None:
            self._child = self._started()
        child, late = self._child, threading.Event()
        assert child.stdin is not None
        assert child.stdout is not None

        def end() -> None:
            late.set()
            child.kill()

        timer = threading.Timer(TIME_LIMIT_S, end)
        timer.start()
        try:
            with contextlib.suppress(OSError):  # it ended before it read; what it said stands in its answer
                child.stdin.write(question + "\n")
                child.stdin.flush()
            answer = child.stdout.readline()
        finally:
            timer.cancel()
        if late.is_set():
            self._end()
            raise LayoutError(f"the layout engine took longer than {TIME_LIMIT_S:g} s; the findings stand")
        return answer

    def _started(self) -> subprocess.Popen[str]:
        pipe = subprocess.PIPE
        try:
            return subprocess.Popen(
                [sys.executable, "-m", "harnessdiff.draw.engine"],
                stdin=pipe,
                stdout=pipe,
                stderr=self._words,
                text=True,
            )
        except OSError as error:
            raise LayoutError(f"the layout engine cannot be started ({error.strerror}); the findings stand") from error

    def _end(self) -> int | None:
        """End the child; its exit code, None where there was none."""
        child, self._child = self._child, None
        if child is None:
            return None
        for stream in (child.stdin, child.stdout):
            with contextlib.suppress(OSError):
                stream.close()  # type: ignore[union-attr]
        try:
            return child.wait(ENDS_WITHIN_S)
        except subprocess.TimeoutExpired:
            child.kill()
            return child.wait()

    def _refuse(self) -> NoReturn:
        self._words.seek(0)
        last = self._words.read().strip().splitlines()[-1:] or ["no message"]
        raise LayoutError(f"the layout engine failed ({last[0]}); the findings stand")


def laid_out(
    scenes: Sequence[Scene], hopeless: Callable[[int, Layout], bool] | None = None, engine: Engine | None = None
) -> tuple[Layout, ...]:
    """Lay out scenes, each part of them by itself.

    Parameters
    ----------
    scenes : sequence of Scene
    hopeless : callable, optional
        Says of a scene, by its place, whether its first layout is so large that the second pass is
        not worth while.
    engine : Engine, optional
        One that is running; one of its own is started and ended where left out.

    Returns
    -------
    tuple of Layout

    Raises
    ------
    LayoutError
        If the engine does not start, crashes, takes longer than `TIME_LIMIT_S`, or gives back
        anything but a place for every line and mark.
    """
    if engine is None:
        with Engine() as own:
            return laid_out(scenes, hopeless, own)
    cut = [_parts(scene) for scene in scenes]
    parts = [part for pieces in cut for part, _ in pieces]
    lanes = [lanes_of(part, free=True) for part in parts]
    done = _engine(engine, parts, lanes)
    sorted_lanes = [
        lanes_of(part, {mark_id: y for mark_id, (_, y) in one.middles.items()})
        for part, one in zip(parts, done, strict=True)
    ]
    given_up = [
        hopeless is not None and hopeless(place, one)
        for place, one in enumerate(_each_put_together(scenes, cut, done))
        for _ in cut[place]
    ]
    again = [
        place
        for place, settled in enumerate(sorted_lanes)
        if not given_up[place] and not lanes[place].is_settled_as(settled)
    ]
    better = _engine(engine, [parts[place] for place in again], [sorted_lanes[place] for place in again])
    for place, layout in zip(again, better, strict=True):
        done[place] = layout
    return tuple(_each_put_together(scenes, cut, done))


def _each_put_together(
    scenes: Sequence[Scene], cut: Sequence[list[tuple[Scene, list[int]]]], layouts: Sequence[Layout]
) -> list[Layout]:
    """The layouts of scenes from those of their parts."""
    rest = iter(layouts)
    return [
        _put_together(scene, [numbers for _, numbers in pieces], [next(rest) for _ in pieces])
        for scene, pieces in zip(scenes, cut, strict=True)
    ]


def _parts(scene: Scene) -> list[tuple[Scene, list[int]]]:
    """The parts of a scene that hang together, with the numbers of their lines, in the order of the scene."""
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(scene.marks)
    graph.add_edges_from((line.start, line.end) for line in scene.lines)
    part_of = {mark_id: place for place, part in enumerate(nx.connected_components(graph)) for mark_id in part}
    found: dict[int, tuple[Scene, list[int]]] = {}
    for mark_id, mark in scene.marks.items():
        found.setdefault(part_of[mark_id], (Scene(), []))[0].marks[mark_id] = mark
    for number, line in enumerate(scene.lines):
        part, numbers = found[part_of[line.start]]
        part.lines.append(line)
        numbers.append(number)
    return list(found.values())


def _put_together(scene: Scene, numbers: list[list[int]], layouts: list[Layout]) -> Layout:
    """Parts on shelves, from left to right and from above, with rules between them."""
    limit = max([SHELF, *(one.width for one in layouts)])
    middles: dict[str, Point] = {}
    boxes: dict[str, Box] = {}
    ways: dict[int, Way] = {}
    rules: list[tuple[Point, Point]] = []
    x = top = deepest = widest = 0.0
    for own, layout in zip(numbers, layouts, strict=True):
        if x and x + GAP + layout.width > limit:
            top, x = deepest + GAP, 0.0
            rules.append(((0.0, top - GAP / 2), (limit, top - GAP / 2)))
        elif x:
            rules.append(((x + GAP / 2, top), (x + GAP / 2, top + layout.height)))
            x += GAP
        moved = _moved(layout, x, top)
        middles |= moved.middles
        boxes |= moved.boxes
        ways |= dict(zip(own, moved.ways, strict=True))
        x += layout.width
        widest, deepest = max(widest, x), max(deepest, top + layout.height)
    in_order = tuple(ways[number] for number in range(len(scene.lines)))
    return Layout(
        width=widest,
        height=deepest,
        middles={mark_id: middles[mark_id] for mark_id in scene.marks},
        ways=in_order,
        bridges=tuple(bridges_of(scene.lines, [way.points for way in in_order])),
        boxes={mark_id: boxes[mark_id] for mark_id in scene.marks},
        rules=tuple(((one[0], one[1]), (min(other[0], widest), other[1])) for one, other in rules),
    )


def _moved(layout: Layout, dx: float, dy: float) -> Layout:
    def there(point: Point) -> Point:
        return point[0] + dx, point[1] + dy

    return replace(
        layout,
        middles={mark_id: there(point) for mark_id, point in layout.middles.items()},
        ways=tuple(
            Way(points=tuple(map(there, way.points)), label_at=there(way.label_at) if way.label_at else None)
            for way in layout.ways
        ),
    )


def _engine(engine: Engine, scenes: Sequence[Scene], lanes: Sequence[Lanes]) -> list[Layout]:
    """Lay out scenes that hang together in one child process."""
    if not scenes:
        return []
    sources = [_source(*one) for one in zip(scenes, lanes, strict=True)]
    answer = engine.answer(json.dumps(sources))
    try:
        results = json.loads(answer)
        return [_layout(scene, own, one) for scene, own, one in zip(scenes, lanes, results, strict=True)]
    except (ValueError, KeyError, IndexError, TypeError) as error:
        raise LayoutError("the layout engine gave an answer that is none; the findings stand") from error


def _layout(scene: Scene, lanes: Lanes, result: dict[str, Any]) -> Layout:
    _, _, width, height = (float(number) for number in result["bb"].split(","))
    names = list(scene.marks)
    middles: dict[str, Point] = {}
    words: dict[int, Point] = {}
    for thing in result.get("objects", ()):
        x, y = (float(number) for number in thing["pos"].split(","))
        number = int(thing["name"][1:])
        if thing["name"][0] == "w":
            words[number] = (x, height - y - LINE_ROOM / 2)
        else:
            middles[names[number]] = (x, height - y)
    boxes = boxes_of(scene, lanes)
    spans = [(x - boxes[mark_id].width / 2, x + boxes[mark_id].width / 2) for mark_id, (x, _) in middles.items()]
    for number, (x, _) in words.items():
        half = label_box(scene.lines[number])[0] / 2
        spans.append((x - half, x + half))
    edges = result.get("edges", ())
    columns = columns_of(spans)
    routes, moved = routed(columns, [_points(edge, height) for edge in edges])

    def there(point: Point) -> Point:
        return point[0] + moved_by(columns, moved, point[0]), point[1]

    pieces = {edge["id"]: route for edge, route in zip(edges, routes, strict=True)}
    ways: dict[int, Way] = {}
    for number, line in enumerate(scene.lines):
        own = (f"l{number}a", f"l{number}b") if line.label else (f"l{number}",)
        if all(one in pieces for one in own):
            points = _joined([pieces[one] for one in own])
            ways[number] = Way(points=points, label_at=there(words[number]) if line.label else None)
    for what, drawn, asked in (("lines", ways, scene.lines), ("marks", middles, scene.marks)):
        if len(drawn) != len(asked):
            raise LayoutError(f"the layout engine drew {len(drawn)} {what} of {len(asked)}; the findings stand")
    return Layout(
        width=width + moved[-1], height=height, boxes=boxes,
        middles={mark_id: there(middle) for mark_id, middle in middles.items()},
        ways=tuple(ways[number] for number in range(len(scene.lines))),
    )  # fmt: skip


def _points(edge: dict[str, Any], height: float) -> tuple[Point, ...]:
    points = []
    for pair in edge["pos"].split():
        if pair[0] not in "es":
            x, y = pair.split(",")
            points.append((float(x), height - float(y)))
    return tuple(points)


def _joined(pieces: list[tuple[Point, ...]]) -> tuple[Point, ...]:
    """Pieces of a line with a straight stretch from each to the next."""
    points = pieces[0]
    for piece in pieces[1:]:
        points = (*points, *straight(points[-1], piece[0])[1:-1], *piece)
    return points
