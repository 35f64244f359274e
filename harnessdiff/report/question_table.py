"""Open questions about a reference as a table to fill in."""

from __future__ import annotations

import csv
import io

from harnessdiff.read.table.cells import shown
from harnessdiff.read.table.questions import ANSWER_COLUMNS, Question


def question_table(questions: tuple[Question, ...]) -> str:
    """The questions as CSV: open ones first, then those with an answer that is assumed, then the rest."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(ANSWER_COLUMNS)
    for one in sorted(questions, key=lambda one: (bool(one.answer), not one.assumed)):
        words = f"{one.question} (assumed; mend it if it is wrong)" if one.assumed else one.question
        writer.writerow([shown(cell) for cell in (one.about, one.what, words, one.answer)])
    return text.getvalue()
