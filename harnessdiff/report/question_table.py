"""Open questions about a reference as a table to fill in."""

from __future__ import annotations

import csv
import io

from harnessdiff.read.table.fragment import ANSWER_COLUMNS, Question


def question_table(questions: tuple[Question, ...]) -> str:
    """The questions as CSV, open ones first, each with the answer that it has."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(ANSWER_COLUMNS)
    for one in sorted(questions, key=lambda one: bool(one.answer)):
        writer.writerow((one.about, one.what, one.question, one.answer))
    return text.getvalue()
