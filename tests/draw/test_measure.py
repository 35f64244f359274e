"""Every mark gets the room that its flags, its symbol and its label need."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

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
    joins_below,
    joints_with_leads_below,
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


@given(symbols, texts, flags, st.booleans())
def test_everything_of_a_mark_fits_into_its_box(symbol: str, label: list[str], own: list[Flag], below: bool) -> None:
    one = mark(symbol, label, own)
    box = box_of(one, leads_below=below)
    width, height = symbol_size(one)

    assert box.width >= width
    assert box.middle >= height
    assert box.width >= max((text_width(line, LABEL_SIZE, weight) for line, weight in label_lines(one)), default=0)
    assert box.width >= max((flag_width(flag) for flag in own), default=0)
    assert box.above >= len(own) * FLAG_HEIGHT
    assert box.below >= len(label_lines(one)) * LABEL_SIZE
    assert box.height == pytest.approx(box.above + box.middle + box.leads + box.below)
    assert (box.leads > 0) == below


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

    assert joins_below(scene, lead, "j")
    assert not joins_below(scene, lead, "d")
    assert joints_with_leads_below(scene) == {"j"}


def test_a_lead_leaves_a_joint_between_leads_straight() -> None:
    lead = Line(start="j", end="d", style="lead")
    scene = scene_of(Line(start="a", end="j", style="lead"), lead)

    assert not joins_below(scene, lead, "j")
    assert joints_with_leads_below(scene) == frozenset()
