"""What a table leaves open, asked one thing at a time, with the answers there are already."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from harnessdiff.errors import InputError, Problem
from harnessdiff.read.schema import did_you_mean
from harnessdiff.read.table.cells import GREATEST_BYTES, Row, number_in, read_rows

ANSWER_COLUMNS = ("about", "what", "question", "answer")
LONGEST_ANSWER = 2000
MOST_ANSWERS = 50_000
"""More than the longest table of wires can ask."""
_UNIT = re.compile(r"\s*[^\W\d_]+$")
Key = tuple[str, str]
"""What a question is about, and what of it is asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a table leaves open about one thing; `answer` is empty until somebody knows."""

    about: str
    what: str
    question: str
    answer: str = ""
    assumed: bool = False


def read_answers(path: Path) -> dict[Key, Row]:
    """Read a table of answers, by what they are about.

    Raises
    ------
    InputError
        With every problem of its form, and where one question has two answers.
    """
    found: dict[Key, Row] = {}
    wrong = []
    longest = {"question": GREATEST_BYTES, "answer": LONGEST_ANSWER}
    for row in read_rows(path, ANSWER_COLUMNS, ("about", "what", "answer"), longest, MOST_ANSWERS):
        key = (row["about"], row["what"])
        before = found.get(key)
        if before is not None and before["answer"] and row["answer"] not in ("", before["answer"]):
            wrong.append(row.problem("answer", f"{key[0]} {key[1]} is answered otherwise on line {before.line}"))
        if before is None or row["answer"]:
            found[key] = row
    if wrong:
        raise InputError(tuple(wrong))
    return found


class Asking:
    """Questions asked so far, the answers to them, and what is wrong."""

    def __init__(self, answers: dict[Key, Row]) -> None:
        self.answers = answers
        self.asked: list[Question] = []
        self.problems: list[Problem] = []
        self._used: set[Key] = set()

    def given(self, about: str, what: str) -> str:
        """The answer that somebody gave, empty where nobody did or it is not known."""
        row = self.answers.get((about, what))
        answer = row["answer"] if row else ""
        return "" if answer.lower() == "unknown" else answer

    def ask(self, about: str, what: str, question: str, *, assume: str = "") -> str:
        """The answer to a question, empty where nobody knows; the question is kept either way.

        Where nobody answered, `assume` is taken for the answer and kept as an assumption.
        """
        self._used.add((about, what))
        row = self.answers.get((about, what))
        answer = (row["answer"] if row else "") or assume
        self.asked.append(
            Question(
                about=about, what=what, question=question, answer=answer, assumed=bool(assume) and answer == assume
            )
        )
        return "" if answer.lower() == "unknown" else answer

    def offered(self, about: str, what: str, question: str) -> str:
        """An answer to what nobody is asked, for it can do without, but may be told."""
        if not self.given(about, what):
            self._used.add((about, what))
            return ""
        return self.ask(about, what, question)

    def ask_number(self, about: str, what: str, question: str) -> float | None:
        """An answer that is a number greater than 0, its unit behind it or not."""
        return self._number((about, what), self.ask(about, what, question))

    def ask_one_of(self, about: str, what: str, question: str, valid: tuple[str, ...]) -> str:
        """An answer that is one of a few words."""
        answer = self.ask(about, what, question)
        if answer and answer.lower() not in valid:
            self.refuse((about, what), f"{answer} is none of {', '.join(valid)}{did_you_mean(answer, valid)}")
        return answer.lower()

    def offered_number(self, about: str, what: str, question: str) -> float | None:
        """As `offered`, of a number."""
        return self._number((about, what), self.offered(about, what, question))

    def _number(self, key: Key, text: str) -> float | None:
        if not text:
            return None
        found = number_in(_UNIT.sub("", text))
        if found is None or not 0 < found < 1e6:
            self.refuse(key, f"{text} is no number greater than 0")
            return None
        return found

    def refuse(self, key: Key, message: str) -> None:
        """Note a problem with an answer."""
        row = self.answers.get(key)
        self.problems.append(row.problem("answer", message) if row else Problem(source=" ".join(key), message=message))

    def refuse_if_any(self) -> None:
        """Raise all problems together, if there are any."""
        if self.problems:
            raise InputError(tuple(self.problems))

    def refuse_unused(self) -> None:
        """Note answers to what nobody asked; an empty one says nothing and is passed over."""
        names = {about for about, _ in self._used}
        for (about, what), row in self.answers.items():
            if (about, what) in self._used or not row["answer"]:
                continue
            if about in names:
                near = did_you_mean(what, {one for other, one in self._used if other == about})
                message = f"{what} of {about} is not asked about{near}"
            else:
                message = f"there is no {about} to ask about{did_you_mean(about, names)}"
            self.problems.append(row.problem("what" if about in names else "about", f"{message}; or take the row out"))
