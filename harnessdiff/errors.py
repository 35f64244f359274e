"""Everything the program raises on purpose."""

from __future__ import annotations

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
