"""Everything the program raises on purpose."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from harnessdiff.plain import plain


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """One thing wrong with an input: where, what, and what would be right.

    `line` and `column` count from 1; `pointer` is an RFC 6901 JSON pointer.
    """

    source: str
    message: str
    line: int | None = None
    column: int | None = None
    pointer: str | None = None

    def __str__(self) -> str:
        place = self.source
        if self.line is not None:
            place += f":{self.line}:{self.column}"
        return plain(": ".join(part for part in (place, self.pointer, self.message) if part))


def in_file_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Problems of one file, by line, column and message."""
    return tuple(sorted(problems, key=lambda one: (one.line or 0, one.column or 0, one.message)))


class HarnessDiffError(Exception):
    """Base of every error that is a message for a person and not a fault of the program."""


class InputError(HarnessDiffError, ValueError):
    """Input that cannot be used; `problems` holds every reason, in file order."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__(problems)
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(str(problem) for problem in self.problems)


class LayoutError(HarnessDiffError, RuntimeError):
    """The layout engine gave up; findings are not affected."""


class OutputError(HarnessDiffError, OSError):
    """A result could not be written; what was there before is untouched."""
