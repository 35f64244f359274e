"""Lanes: the row in which every line reaches a mark, so that no two lines come in on one point.

A wire that runs through a joint keeps the row of the joint's symbol, and leads leave below it.
At any other mark the lines stand one above the other around its middle, in the order in which what
they lead to stands. An added device with several terminals on one side is drawn as a frame with a
foot for each of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from harnessdiff.draw.measure import Box, box_of, sort_of
from harnessdiff.draw.scene import Scene

THROUGH = ("wire", "gone", "perhaps")
"""Styles of the lines that run through a joint; what else joins it leaves below them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lanes:
    """Numbers of the lines at every mark, from above: those that come in on the left, those that leave on the right.

    At marks that are `free` all lines of a side still share the middle lane.
    """

    west: Mapping[str, tuple[int, ...]]
    east: Mapping[str, tuple[int, ...]]
    free: frozenset[str] = frozenset()

    def place(self, mark_id: str, side: Literal["west", "east"], number: int) -> int:
        """The lane in which a line reaches a mark, counted from above."""
        lanes = (self.west if side == "west" else self.east)[mark_id]
        return (len(lanes) - 1) // 2 if mark_id in self.free else lanes.index(number)

    def is_settled_as(self, other: Lanes) -> bool:
        """Whether every line already has the lane that `other` gives it."""
        return not self.free and (self.west, self.east) == (other.west, other.east)


def lanes_of(scene: Scene, heights: Mapping[str, float] | None = None, *, free: bool = False) -> Lanes:
    """The lanes of a scene.

    Parameters
    ----------
    scene : Scene
    heights : mapping, optional
        Where every mark stood when the scene was laid out before, y downwards; without it lines
        keep the order of the scene.
    free : bool
        Whether lines still share a lane at marks where nothing fixes their order.

    Returns
    -------
    Lanes
    """
    west: dict[str, list[int]] = {}
    east: dict[str, list[int]] = {}
    for number, line in enumerate(scene.lines):
        east.setdefault(line.start, []).append(number)
        west.setdefault(line.end, []).append(number)

    def ordered(mark_id: str, numbers: Iterable[int]) -> tuple[int, ...]:
        def place(number: int) -> tuple[bool, float, int]:
            line = scene.lines[number]
            other = line.end if line.start == mark_id else line.start
            below = hangs_below(scene, mark_id) and line.style not in THROUGH
            return below, heights[other] if heights else 0.0, number

        return tuple(sorted(numbers, key=place))

    shared = {
        mark_id
        for side in (west, east)
        for mark_id, numbers in side.items()
        if len(numbers) > 1 and not hangs_below(scene, mark_id)
    }
    return Lanes(
        free=frozenset(shared if free else ()),
        west={mark_id: ordered(mark_id, numbers) for mark_id, numbers in west.items()},
        east={mark_id: ordered(mark_id, numbers) for mark_id, numbers in east.items()},
    )


def hangs_below(scene: Scene, mark_id: str) -> bool:
    """Whether the first line at a mark keeps the row of its symbol and the others leave below it."""
    return sort_of(scene.marks[mark_id]) == "joint"


def boxes_of(scene: Scene, lanes: Lanes) -> dict[str, Box]:
    """The room that every mark of a scene takes.

    Parameters
    ----------
    scene : Scene
    lanes : Lanes

    Returns
    -------
    dict
        By the id of the mark.
    """
    return {
        mark_id: box_of(
            mark,
            west=len(lanes.west.get(mark_id, ())),
            east=len(lanes.east.get(mark_id, ())),
            framed=_has_feet(scene, lanes, mark_id),
        )
        for mark_id, mark in scene.marks.items()
    }


def _has_feet(scene: Scene, lanes: Lanes, mark_id: str) -> bool:
    """Whether a mark is an added device that terminals of its own reach on one side."""
    if not scene.marks[mark_id].added:
        return False
    for side, far in ((lanes.west, "start"), (lanes.east, "end")):
        pins = [scene.marks[getattr(scene.lines[one], far)].symbol for one in side.get(mark_id, ())]
        if pins.count("pin") > 1:
            return True
    return False
