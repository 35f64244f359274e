"""The layout engine is asked in a process of its own, and what it answers is counted."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.draw import layout
from harnessdiff.draw.bridges import polyline
from harnessdiff.draw.layout import Layout, dot_source, laid_out
from harnessdiff.draw.measure import LINE_ROOM, box_of, label_box
from harnessdiff.draw.neighbourhood import Neighbourhood
from harnessdiff.draw.scene import Flag, Line, Mark, Scene
from harnessdiff.errors import LayoutError
from tests.drawing import CATALOGUE, Rectangle, catalogue_case, demo_case, mark_boxes, pairs

if TYPE_CHECKING:
    from pathlib import Path

    from harnessdiff.pipeline import Case


def small_scene() -> Scene:
    """A fuse, a wire to a joint, the wire on to a lamp, and a lead from the joint."""
    scene = Scene()
    scene.put(Mark(id="F1", symbol="fuse", label=("F1 10 A", "side lamps")))
    scene.put(Mark(id="J", symbol="joint_blade", label=("insulation displacement",), flags=(
        Flag(text="1", level="Serious", outcome="Serious"),)))  # fmt: skip
    scene.put(Mark(id="E1", symbol="lamp", label=("E1",)))
    scene.put(Mark(id="L#2", symbol="loose", label=("hangs loose",), added=True))
    scene.join(Line(start="F1", end="J", style="wire", label=("W11", "GY/RD 0.75 mm²")))
    scene.join(Line(start="J", end="E1", style="wire"))
    scene.join(Line(start="J", end="L#2", style="lead", label=("l1",)))
    return scene


def scenes_of(case: Case) -> list[Scene]:
    """All findings of a case in scenes of at most six, as sheets would show them."""
    around = Neighbourhood(case.reference, case.as_found)
    shared = tuple(one for install in case.findings.installs for one in install.shared)
    findings = case.findings.findings
    return [around.scene(findings[start : start + 6], shared) for start in range(0, len(findings), 6)]


@cache
def demo_layouts() -> list[tuple[Scene, Layout]]:
    scenes = scenes_of(demo_case())
    return list(zip(scenes, laid_out(scenes), strict=True))


# -- what comes out


def test_every_mark_and_every_line_gets_its_place() -> None:
    for scene, result in demo_layouts():
        assert set(result.middles) == set(scene.marks)
        assert len(result.ways) == len(scene.lines)


def test_no_two_marks_of_the_demo_lie_on_each_other() -> None:
    assert [pair for scene, result in demo_layouts() for pair in pairs(mark_boxes(scene, result))] == []


def test_no_two_marks_of_the_catalogue_lie_on_each_other() -> None:
    scenes = [scene for kind in CATALOGUE for scene in scenes_of(catalogue_case(kind))]
    layouts = laid_out(scenes)

    assert len(scenes) >= len(CATALOGUE)
    assert [pair for one, result in zip(scenes, layouts, strict=True) for pair in pairs(mark_boxes(one, result))] == []


def test_marks_and_labels_of_lines_stay_inside_the_drawing() -> None:
    for scene, result in demo_layouts():
        page = Rectangle(0, 0, result.width, result.height)

        assert [one for one, box in mark_boxes(scene, result).items() if not box.within(page, 1.0)] == []
        for line, way in zip(scene.lines, result.ways, strict=True):
            if way.label_at is not None:
                (x, y), (width, height) = way.label_at, label_box(line)

                assert Rectangle(x - width / 2, y - height / 2, x + width / 2, y + height / 2).within(page, 1.0)


def test_a_line_begins_at_its_start_and_ends_at_its_end() -> None:
    for scene, result in demo_layouts():
        boxes = mark_boxes(scene, result)
        for line, way in zip(scene.lines, result.ways, strict=True):
            start, end = boxes[line.start], boxes[line.end]

            assert way.points[0][0] == pytest.approx(start.right, abs=2)
            assert start.top <= way.points[0][1] <= start.bottom
            assert way.points[-1][0] == pytest.approx(end.left, abs=2)
            assert end.top <= way.points[-1][1] <= end.bottom
            assert len(way.points) % 3 == 1


def test_every_line_with_words_has_a_place_for_them() -> None:
    for scene, result in demo_layouts():
        placed = [way.label_at is not None for way in result.ways]

        assert placed == [bool(line.label) for line in scene.lines]


def test_no_two_lines_begin_or_end_in_one_point() -> None:
    """Unlike poles that meet in one point read as a short circuit, and a lead that grows out of another as a branch."""
    for _, result in demo_layouts():
        ends = [way.points[place] for way in result.ways for place in (0, -1)]

        assert len({(round(x), round(y)) for x, y in ends}) == len(ends)


def test_the_words_of_a_line_stand_right_above_it() -> None:
    """Below the wire that a lead was joined to they would read as that wire's."""
    for scene, result in demo_layouts():
        for line, way in zip(scene.lines, result.ways, strict=True):
            if way.label_at is None:
                continue
            x, y = way.label_at
            foot = y + label_box(line)[1] / 2
            left, right = x - label_box(line)[0] / 2 + 2, x + label_box(line)[0] / 2 - 2
            pieces = pairwise(polyline(way.points))
            own = [py for one, other in pieces if one[0] < right and other[0] > left for _, py in (one, other)]

            assert own
            assert all(foot < py < foot + LINE_ROOM for py in own)


def test_no_line_runs_through_the_words_of_another_or_through_a_mark() -> None:
    for scene, result in demo_layouts():
        boxes = mark_boxes(scene, result)
        words = {
            number: Rectangle(x - width / 2 + 4, y - height / 2 + 2, x + width / 2 - 4, y + height / 2 - 2)
            for number, way in enumerate(result.ways)
            if way.label_at is not None
            for (x, y), (width, height) in ((way.label_at, label_box(scene.lines[number])),)
        }
        for number, (line, way) in enumerate(zip(scene.lines, result.ways, strict=True)):
            points = polyline(way.points)
            others = [box for mark_id, box in boxes.items() if mark_id not in (line.start, line.end)]
            others += [box for other, box in words.items() if other != number]

            assert not any(
                box.left + 3 < x < box.right - 3 and box.top + 3 < y < box.bottom - 3
                for box in others
                for x, y in points
            )


def test_what_hangs_together_is_laid_out_by_itself() -> None:
    scene = small_scene()
    scene.put(Mark(id="elsewhere", symbol="place", label=("left sill",)))
    scene.put(Mark(id="x", symbol="terminal"))
    scene.put(Mark(id="y", symbol="lamp", label=("a" * 12, "b" * 12)))
    scene.join(Line(start="x", end="y", style="wire", label=("W1" * 60,)))
    (result,) = laid_out([scene])
    (alone,) = laid_out([small_scene()])
    boxes = mark_boxes(scene, result)

    assert list(pairs(boxes)) == []
    assert [way.points for way in result.ways[:3]] == [way.points for way in alone.ways]
    assert len(result.rules) == 2
    for one, other in result.rules:
        assert not any(
            box.left < max(one[0], other[0]) and box.right > min(one[0], other[0])
            and box.top < max(one[1], other[1]) and box.bottom > min(one[1], other[1])
            for box in boxes.values()
        )  # fmt: skip


def test_supply_is_to_the_left_of_what_it_feeds() -> None:
    ((scene, result),) = zip([small_scene()], laid_out([small_scene()]), strict=True)
    x = {mark_id: place[0] for mark_id, place in result.middles.items()}

    assert list(scene.marks) == ["F1", "J", "E1", "L#2"]
    assert x["F1"] < x["J"] < min(x["E1"], x["L#2"])


def test_the_same_scene_is_laid_out_the_same_way() -> None:
    assert laid_out([small_scene()]) == laid_out([small_scene()])


def test_scenes_are_laid_out_each_for_itself() -> None:
    one, other = laid_out([small_scene(), Scene(marks={"a": Mark(id="a", symbol="device")})])

    assert (one,) == laid_out([small_scene()])
    assert set(other.middles) == {"a"}


def test_nothing_to_lay_out_starts_no_process(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/at/all")

    assert laid_out([]) == ()


# -- what is asked for


def test_the_engine_sees_boxes_of_known_size_and_no_text() -> None:
    scene = small_scene()
    source = dot_source(scene)
    box = box_of(scene.marks["F1"])

    assert f'WIDTH="{box.width}" HEIGHT="{box.below}"' in source
    assert "newrank=true" in source
    assert re.search(r"F1|side lamps|insulation|W11|hangs", source) is None


def test_names_that_mean_something_to_the_engine_change_nothing() -> None:
    """Ids and labels are text of a survey; none of it may reach the engine's language."""
    scene = Scene()
    for mark_id in ('a":b', "graph", "<b>&amp;", "x -> y;", "\\N"):
        scene.put(Mark(id=mark_id, symbol="device", label=(mark_id, "subgraph { }")))
    ids = list(scene.marks)
    for one, other in pairwise(ids):
        scene.join(Line(start=one, end=other, style="lead", label=('"]; evil [label="', other)))
    (result,) = laid_out([scene])

    assert set(result.middles) == set(ids)


# -- what goes wrong


def answer(change: str) -> str:
    """The engine's true answer for the small scene, with one thing missing or spoilt."""
    done = subprocess.run(
        [sys.executable, "-m", "harnessdiff.draw.engine"],
        input=json.dumps([dot_source(small_scene())]),
        capture_output=True,
        text=True,
        check=True,
    )
    results: list[dict[str, Any]] = json.loads(done.stdout)
    match change:
        case "line dropped":
            del results[0]["edges"][1]
        case "all lines dropped":
            del results[0]["edges"]
        case "mark dropped":
            del results[0]["objects"][0]
        case "sheet dropped":
            results.clear()
        case "not JSON":
            return "Segmentation fault"
        case "nothing":
            return ""
    return json.dumps(results)


def answering(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, script: str) -> None:
    """Put a script of the shell in the place of the engine."""
    program = tmp_path / "engine"
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(program))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ("line dropped", "the layout engine drew 2 lines of 3; the findings stand"),
        ("all lines dropped", "the layout engine drew 0 lines of 3; the findings stand"),
    ],
)
def test_a_line_that_the_engine_drops_is_missed(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, change: str, message: str
) -> None:
    (tmp_path / "answer.json").write_text(answer(change))
    answering(monkeypatch, tmp_path, f'cat "{tmp_path}/answer.json"')

    with pytest.raises(LayoutError) as raised:
        laid_out([small_scene()])
    assert str(raised.value) == message


def test_an_answer_that_is_whole_is_taken(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The judge of the tests above: the same road, with nothing missing."""
    expected = laid_out([small_scene()])
    (tmp_path / "answer.json").write_text(answer("none"))
    answering(monkeypatch, tmp_path, f'cat "{tmp_path}/answer.json"')

    assert laid_out([small_scene()]) == expected


@pytest.mark.parametrize("change", ["mark dropped", "sheet dropped", "not JSON", "nothing"])
def test_an_answer_that_is_not_one_is_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, change: str) -> None:
    (tmp_path / "answer.json").write_text(answer(change))
    answering(monkeypatch, tmp_path, f'cat "{tmp_path}/answer.json"')

    with pytest.raises(LayoutError):
        laid_out([small_scene()])


@pytest.mark.parametrize(
    ("script", "message"),
    [
        ("echo 'bad news' >&2; echo 'out of memory' >&2; exit 3",
         "the layout engine failed (out of memory); the findings stand"),
        ("kill -SEGV $$", "the layout engine failed (no message); the findings stand"),
    ],
    ids=["exits", "crashes"],
)  # fmt: skip
def test_an_engine_that_fails_is_told_in_one_line(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, script: str, message: str
) -> None:
    answering(monkeypatch, tmp_path, script)

    with pytest.raises(LayoutError) as raised:
        laid_out([small_scene()])
    assert str(raised.value) == message


def test_an_engine_that_hangs_is_ended(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    answering(monkeypatch, tmp_path, "exec sleep 60")
    monkeypatch.setattr(layout, "TIME_LIMIT_S", 0.2)

    with pytest.raises(LayoutError) as raised:
        laid_out([small_scene()])
    assert str(raised.value) == "the layout engine took longer than 0.2 s; the findings stand"


def test_an_engine_that_is_not_there_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/at/all")

    with pytest.raises(LayoutError):
        laid_out([small_scene()])
