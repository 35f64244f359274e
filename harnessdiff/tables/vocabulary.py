"""Loads the words that policies are written in: what may be established, and what may be open."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from harnessdiff.tables.loader import joint_order, rows

JOINT = "joint"
"""Code of a joint, whatever its make; makes are weighed in a list of their own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionRow:
    """A question that may be open: its answers, the mildest first; none where they are not known beforehand."""

    question: str
    answers: tuple[str, ...]
    words: str


@cache
def questions() -> dict[str, QuestionRow]:
    """Questions that may be open, by code."""
    makes = tuple(row.joint for row in joint_order())
    return {
        row["question"]: QuestionRow(
            question=row["question"],
            answers=makes if row["answers"] == "makes" else tuple(filter(None, row["answers"].split("|"))),
            words=row["words"],
        )
        for row in rows("questions")
    }


@cache
def established_codes() -> frozenset[str]:
    """Codes of what may be established and weigh: those that have words."""
    return frozenset(row["code"] for row in rows("rating_words"))
