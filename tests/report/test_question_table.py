"""The table of questions: what is open comes first, and no spreadsheet computes anything in it."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.plain import plain
from harnessdiff.read.table.questions import Question, read_answers
from harnessdiff.report.question_table import question_table

if TYPE_CHECKING:
    from pathlib import Path

    import pytest


def question(about: str, answer: str = "", *, assumed: bool = False, what: str = "name") -> Question:
    return Question(about=about, what=what, question="what is it", answer=answer, assumed=assumed)


def test_open_questions_come_first_then_what_is_assumed_then_what_is_answered() -> None:
    asked = (
        question("A", "yes"),
        question("B", "no", assumed=True),
        question("C"),
        question("D", "yes"),
        question("E"),
    )
    lines = question_table(asked).splitlines()

    assert lines == [
        "about,what,question,answer",
        "C,name,what is it,",
        "E,name,what is it,",
        "B,name,what is it (assumed; mend it if it is wrong),no",
        "A,name,what is it,yes",
        "D,name,what is it,yes",
    ]


def test_no_questions_leave_the_header() -> None:
    assert question_table(()) == "about,what,question,answer\n"


def test_cell_that_a_spreadsheet_would_compute_is_kept_from_it() -> None:
    """An answer such as ``+ to - gives 12.6 V`` is right, so it is marked and not refused."""
    asked = (question("=cmd|' /C calc'!A0", "+ to - gives 12.6 V"), question("@x", "-40"))

    for row in csv.reader(io.StringIO(question_table(asked))):
        assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in row)


words = st.text(st.characters(exclude_categories=["Cs"]), max_size=20).map(lambda text: plain(text).strip())


@given(st.dictionaries(st.tuples(words, words).filter(all), words, max_size=6))
def test_answers_come_back_as_they_were(
    tmp_path_factory: pytest.TempPathFactory, answers: dict[tuple[str, str], str]
) -> None:
    sound = {
        key: answer for key, answer in answers.items()
        if not any(cell.startswith("'") for cell in (*key, answer)) and not key[0].startswith("#")
    }  # fmt: skip
    asked = tuple(question(about, answer, what=what) for (about, what), answer in sound.items())
    path: Path = tmp_path_factory.getbasetemp() / "answers.csv"
    path.write_text(question_table(asked), encoding="utf-8")

    assert {key: row["answer"] for key, row in read_answers(path).items()} == sound
