"""Lines of text for a terminal."""

from __future__ import annotations

from hypothesis import example, given
from hypothesis import strategies as st

from harnessdiff.report.wrapping import WIDTH, wrapped

words = st.lists(st.text("abcæ-/:", min_size=1, max_size=30), max_size=40)


@given(words, st.integers(0, 12), st.integers(0, 12))
@example([], 0, 0)
def test_lines_are_short_begin_as_asked_and_lose_no_word(said: list[str], hang: int, before: int) -> None:
    lines = wrapped(" ".join(said), " " * hang, " " * before)

    assert max(map(len, lines)) <= WIDTH
    assert " ".join(lines).split() == said
    if said:
        assert lines[0].startswith(" " * before + said[0])
    assert all(line.startswith(" " * hang) and line[hang] != " " for line in lines[1:])


def test_a_break_in_the_text_is_no_line() -> None:
    assert wrapped("one\ntwo\x1b[31m") == ["one two[31m"]
