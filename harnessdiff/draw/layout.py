"""Where everything goes: DOT built by the graphviz package, laid out by Graphviz in a child process."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import graphviz

from harnessdiff.draw.measure import Box, box_of, joins_below, joints_with_leads_below, label_box
from harnessdiff.draw.scene import Scene
from harnessdiff.errors import LayoutError

TIME_LIMIT_S = 60.0
POINTS = 72


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A line of the scene as laid out: Bézier points, and the middle of its label."""

    points: tuple[tuple[float, float], ...]
    label_at: tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Positions for a scene, in pixels, y downwards: the middle of every mark, the way of every line."""

    width: float
    height: float
    middles: dict[str, tuple[float, float]]
    ways: tuple[Way, ...]


def dot_source(scene: Scene) -> str:
    """The scene in DOT: every mark a box of known size, so that no font of the machine matters.

    Parameters
    ----------
    scene : Scene

    Returns
    -------
    str
    """
    graph = graphviz.Digraph(
        "sheet",
        graph_attr={
            "rankdir": "LR", "newrank": "true", "splines": "true", "nodesep": "0.14", "ranksep": "0.1",
            "margin": "0", "pad": "0", "dpi": str(POINTS),
        },
        node_attr={"shape": "plain", "margin": "0"},
        edge_attr={"dir": "none"},
    )  # fmt: skip
    names = {mark_id: f"m{number}" for number, mark_id in enumerate(scene.marks)}
    below = joints_with_leads_below(scene)
    for mark_id, mark in scene.marks.items():
        graph.node(names[mark_id], label=_box_label(box_of(mark, leads_below=mark_id in below)))
    for number, line in enumerate(scene.lines):
        width, height = label_box(line)
        attributes = {"id": f"l{number}"}
        if line.label:
            attributes["label"] = _fixed(width, height)
        ports = ["q" if joins_below(scene, line, mark_id) else "p" for mark_id in (line.start, line.end)]
        graph.edge(f"{names[line.start]}:{ports[0]}:e", f"{names[line.end]}:{ports[1]}:w", **attributes)
    return str(graph.source)


def _box_label(box: Box) -> str:
    rows = [(box.above, ""), (box.middle, ' PORT="p"'), (box.leads, ' PORT="q"'), (box.below, "")]
    cells = "".join(
        f'<TR><TD FIXEDSIZE="TRUE" WIDTH="{round(box.width)}" HEIGHT="{round(height)}"{port}></TD></TR>'
        for height, port in rows
        if height
    )
    return f'<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0">{cells}</TABLE>>'


def _fixed(width: float, height: float) -> str:
    return (
        '<<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"><TR>'
        f'<TD FIXEDSIZE="TRUE" WIDTH="{round(width)}" HEIGHT="{round(height)}"></TD></TR></TABLE>>'
    )


def laid_out(scenes: Sequence[Scene]) -> tuple[Layout, ...]:
    """Lay out scenes in one child process.

    Parameters
    ----------
    scenes : sequence of Scene

    Returns
    -------
    tuple of Layout

    Raises
    ------
    LayoutError
        If the engine does not start, crashes, takes longer than `TIME_LIMIT_S`, or gives back
        anything but a place for every line and mark.
    """
    if not scenes:
        return ()
    sources = [dot_source(scene) for scene in scenes]
    try:
        child = subprocess.run(
            [sys.executable, "-m", "harnessdiff.draw.engine"],
            input=json.dumps(sources),
            capture_output=True,
            text=True,
            timeout=TIME_LIMIT_S,
            check=False,
        )
    except OSError as error:
        raise LayoutError(f"the layout engine cannot be started ({error.strerror}); the findings stand") from error
    except subprocess.TimeoutExpired as error:
        raise LayoutError(f"the layout engine took longer than {TIME_LIMIT_S:g} s; the findings stand") from error
    if child.returncode != 0:
        last = child.stderr.strip().splitlines()[-1:] or ["no message"]
        raise LayoutError(f"the layout engine failed ({last[0]}); the findings stand")
    try:
        results = json.loads(child.stdout)
        return tuple(_layout(scene, result) for scene, result in zip(scenes, results, strict=True))
    except (ValueError, KeyError, IndexError, TypeError) as error:
        raise LayoutError("the layout engine gave an answer that is none; the findings stand") from error


def _layout(scene: Scene, result: dict[str, Any]) -> Layout:
    _, _, width, height = (float(number) for number in result["bb"].split(","))
    names = list(scene.marks)
    middles = {}
    for thing in result.get("objects", ()):
        x, y = (float(number) for number in thing["pos"].split(","))
        middles[names[int(thing["name"][1:])]] = (x, height - y)
    ways: dict[int, Way] = {}
    for edge in result.get("edges", ()):
        ways[int(edge["id"][1:])] = _way(edge, height)
    for what, drawn, asked in (("lines", ways, scene.lines), ("marks", middles, scene.marks)):
        if len(drawn) != len(asked):
            raise LayoutError(f"the layout engine drew {len(drawn)} {what} of {len(asked)}; the findings stand")
    return Layout(
        width=width, height=height, middles=middles, ways=tuple(ways[number] for number in range(len(scene.lines)))
    )


def _way(edge: dict[str, Any], height: float) -> Way:
    points = []
    for pair in edge["pos"].split():
        if pair[0] not in "es":
            x, y = pair.split(",")
            points.append((float(x), height - float(y)))
    label_at = None
    if "lp" in edge:
        x, y = edge["lp"].split(",")
        label_at = (float(x), height - float(y))
    return Way(points=tuple(points), label_at=label_at)
