"""Every mark gets the room that its flags, its symbol and its label need."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.draw.lanes import boxes_of, lanes_of
from harnessdiff.draw.measure import (
    FLAG_HEIGHT,
    FLAG_PAD,
    FLAG_SIZE,
    LABEL_SIZE,
    LABEL_WIDTH,
    LINE_SIZE,
    MOST_LINES,
    box_of,
    flag_width,
    flag_words,
    label_box,
    label_lines,
    sort_of,
    symbol_size,
)
from harnessdiff.draw.scene import Flag, Line, Mark, Scene
from harnessdiff.draw.symbols import LEGEND
from harnessdiff.draw.text import text_width
from harnessdiff.model.rating import LEVELS

HIGH = Flag(text="12a", level="Serious to High", outcome="High")
letters = st.characters(min_codepoint=32, max_codepoint=0x17F, exclude_categories=["C"])
texts = st.lists(st.text(letters, max_size=60))
symbols = st.sampled_from(sorted(LEGEND))
flags = st.lists(st.sampled_from([HIGH, Flag(text="3", level="acceptable", outcome="acceptable")]), max_size=3)


def mark(symbol: str, label: list[str], own: list[Flag]) -> Mark:
    return Mark(id="m", symbol=symbol, label=tuple(label), flags=tuple(own))


counts = st.integers(min_value=0, max_value=20)


@given(symbols, texts, flags, counts, counts, st.booleans())
def test_everything_of_a_mark_fits_into_its_box(
    symbol: str, label: list[str], own: list[Flag], west: int, east: int, framed: bool
) -> None:
    one = mark(symbol, label, own)
    box = box_of(one, west=west, east=east, framed=framed)
    width, height = symbol_size(one)

    assert box.width >= width
    assert box.middle >= height
    assert box.width >= max((text_width(line, LABEL_SIZE, weight) for line, weight in label_lines(one)), default=0)
    assert box.width >= max((flag_width(flag) for flag in own), default=0)
    assert box.above >= len(own) * FLAG_HEIGHT
    assert box.below >= len(label_lines(one)) * LABEL_SIZE
    assert box.height == box.above + box.middle + box.below
    assert (len(box.west), len(box.east)) == (west, east)
    for lanes in (box.west, box.east):
        assert all(0 < lane < box.middle for lane in lanes)
        assert all(one < other for one, other in pairwise(lanes))
    assert box.symbol_at + height / 2 <= box.middle
    assert box.frame is None or (box.frame[0] > width and box.frame[1] > height)


@pytest.mark.parametrize("symbol", ["terminal", "device", "joint_twisted"])
def test_one_line_alone_reaches_a_symbol_in_its_middle(symbol: str) -> None:
    box = box_of(mark(symbol, [], []), west=1, east=1)

    assert box.west == box.east == (box.symbol_at,)


@pytest.mark.parametrize("count", [2, 3, 12])
def test_lines_at_one_side_of_a_mark_stand_wider_apart_than_they_are_heavy(count: int) -> None:
    """An added lead is 7.4 px heavy, its ticks 11 px."""
    box = box_of(mark("terminal", [], []), west=1, east=count)

    assert min(other - one for one, other in pairwise(box.east)) > 11


@given(symbols, texts)
def test_a_label_has_few_lines_no_wider_than_its_sort_of_mark_may_have(symbol: str, label: list[str]) -> None:
    one = mark(symbol, label, [])
    lines = label_lines(one)

    assert len(lines) <= MOST_LINES[sort_of(one)] + 1


def test_the_first_line_of_a_label_is_bold_because_it_is_a_name() -> None:
    lines = label_lines(mark("device", ["“beeper”", "D5", "left rear pillar, behind the lamp"], []))

    assert [weight for _, weight in lines][:2] == [700, 400]
    assert [text for text, _ in lines][:2] == ["“beeper”", "D5"]


@pytest.mark.parametrize("symbol", ["joint_twisted", "device", "terminal"])
def test_a_long_label_is_broken_and_ends_in_an_ellipsis(symbol: str) -> None:
    one = mark(symbol, ["name", "a very long place " * 20], [])
    lines = [text for text, _ in label_lines(one)]

    assert lines[-1].endswith("…")
    assert max(text_width(line, LABEL_SIZE) for line in lines) <= LABEL_WIDTH[sort_of(one)]


# -- flags


@pytest.mark.parametrize("level", LEVELS)
def test_a_flag_says_its_level_in_words_that_stand_out(level: str) -> None:
    assert flag_words(Flag(text="7", level=level, outcome=level)) == f"7  {level.upper()}"


def test_what_is_acceptable_does_not_shout() -> None:
    words = flag_words(Flag(text="7b", level="recorded, acceptable", outcome="acceptable"))

    assert words == "7b  recorded, acceptable"


def test_a_flag_is_as_wide_as_its_words_and_a_margin() -> None:
    assert flag_width(HIGH) == pytest.approx(text_width("12a  SERIOUS TO HIGH", FLAG_SIZE, 700) + 2 * FLAG_PAD)


# -- symbols


@pytest.mark.parametrize("symbol", sorted(LEGEND))
def test_a_joint_is_the_largest_mark_of_a_sheet(symbol: str) -> None:
    joint = symbol_size(mark("joint_twisted", [], []))
    other = symbol_size(mark(symbol, [], []))

    assert other[0] <= joint[0]
    assert other[1] <= joint[1]
    if symbol.startswith("joint_"):
        assert other == joint


# -- lines


def test_the_label_of_a_line_has_room_for_its_words() -> None:
    line = Line(start="a", end="b", style="wire", label=("W296", "GY/BK 0.75 mm²"))
    width, height = label_box(line)

    assert width >= max(text_width("W296", LINE_SIZE, 700), text_width("GY/BK 0.75 mm²", LINE_SIZE))
    assert height >= 2 * LINE_SIZE


def test_a_line_without_words_needs_no_room() -> None:
    assert label_box(Line(start="a", end="b", style="wire")) == (0.0, 0.0)


def scene_of(*lines: Line) -> Scene:
    scene = Scene()
    for symbol, mark_id in (("terminal", "a"), ("joint_blade", "j"), ("terminal", "b"), ("device", "d")):
        scene.put(Mark(id=mark_id, symbol=symbol))
    for line in lines:
        scene.join(line)
    return scene


def test_a_lead_leaves_a_joint_below_the_wire_that_runs_through_it() -> None:
    lead = Line(start="j", end="d", style="lead")
    scene = scene_of(Line(start="a", end="j", style="wire"), Line(start="j", end="b", style="wire"), lead)

    box = boxes_of(scene, lanes_of(scene))["j"]

    assert lanes_of(scene).east["j"] == (1, 2)
    assert box.east[0] == box.symbol_at
    assert box.east[1] > box.symbol_at


def test_a_lead_leaves_a_joint_between_leads_straight() -> None:
    lead = Line(start="j", end="d", style="lead")
    scene = scene_of(Line(start="a", end="j", style="lead"), lead)

    box = boxes_of(scene, lanes_of(scene))["j"]

    assert box.west == box.east == (box.symbol_at,)


def test_an_added_device_has_a_foot_for_every_terminal() -> None:
    """Battery plus and minus in one point would read as a short circuit."""
    scene = Scene()
    scene.put(Mark(id="d", symbol="battery", added=True))
    for pin in ("+", "-"):
        scene.put(Mark(id=pin, symbol="pin", added=True))
        scene.join(Line(start="d", end=pin, style="contact"))
    box = boxes_of(scene, lanes_of(scene))["d"]

    assert box.frame is not None
    assert len(set(box.east)) == 2


def test_lanes_follow_where_their_other_ends_stand() -> None:
    scene = scene_of(Line(start="a", end="b", style="lead"), Line(start="a", end="d", style="lead"))

    assert lanes_of(scene).east["a"] == (0, 1)
    assert lanes_of(scene, {"a": 0.0, "j": 0.0, "b": 20.0, "d": 10.0}).east["a"] == (1, 0)
