"""Tables as a spreadsheet saves them: comma, semicolon or tab, with a header."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from harnessdiff.errors import InputError, Problem
from harnessdiff.plain import plain
from harnessdiff.read.schema import did_you_mean

GREATEST_BYTES = 16 * 1024 * 1024
MOST_ROWS = 2000
LONGEST_CELL = 200
DELIMITERS = ",;\t"
NO_OTHER: Mapping[str, int] = MappingProxyType({})
_NUMBER = re.compile(r"[+-]?\d{1,12}(?:[.,]\d{1,12})?", re.ASCII)
_FORMULA = re.compile(r"'*[=+\-@]")
"""What a spreadsheet would compute and not show, with the apostrophes that keep it from doing so."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of a table: its cells by column, and where it stands."""

    source: str
    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        """The cell of a column, empty where there is none."""
        return self.cells.get(column, "")

    def problem(self, column: str, message: str) -> Problem:
        """A problem with a cell."""
        return Problem(source=f"{self.source}:{self.line}", message=f"column {column}: {message}")


def number_in(text: str) -> float | None:
    """A number as a person writes it, with a point or a comma before its decimals; else None."""
    return float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else None


def shown(text: str) -> str:
    """A cell as it is written to a table: what a spreadsheet would compute begins with an apostrophe.

    `read_rows` takes that apostrophe away again, so that an answer such as ``-40`` stays what it is.
    """
    return f"'{text}" if _FORMULA.match(text) else text


def read_rows(
    path: Path,
    columns: tuple[str, ...],
    needed: tuple[str, ...],
    longest: Mapping[str, int] = NO_OTHER,
    most: int = MOST_ROWS,
) -> tuple[Row, ...]:
    """Read a table.

    Parameters
    ----------
    path : Path
    columns : tuple of str
        Names of the columns that are known.
    needed : tuple of str
        Those that must be there.
    longest : mapping, optional
        Characters that a cell of a column may have, where that is not `LONGEST_CELL`.
    most : int
        Rows that are read.

    Returns
    -------
    tuple of Row
        Without rows that are empty or whose first cell begins with ``#``; each cell one line.

    Raises
    ------
    InputError
        If there is no such file, it is no UTF-8 text, or its header is not one of a table of this kind.
    """
    source = str(path)
    lines = _table(source, _text(path))
    if not lines:
        raise _refused(source, "is empty")
    header_line, header = lines[0]
    names = [re.sub(r"\s+", "_", plain(cell).strip().lower()) for cell in header]
    wrong = list(_faults_of_header(f"{source}:{header_line}", names, columns, needed))
    if wrong:
        raise InputError(tuple(wrong))
    if len(lines) > most + 1:
        raise _refused(source, f"has {len(lines) - 1} rows; at most {most} are read")
    rows = []
    for number, cells in lines[1:]:
        if any(cell.strip() for cell in cells[len(names) :]):
            message = f"has more than {len(names)} cells; a cell that holds what parts the cells stands in quotes"
            wrong.append(Problem(source=f"{source}:{number}", message=f'{message}: "1,5" or "dash; engine bay"'))
        found = {name: _cell(text) for name, text in zip(names, cells, strict=False) if name}
        row = Row(source=source, line=number, cells=found)
        wrong += [
            row.problem(name, f"has {len(text)} characters; at most {longest.get(name, LONGEST_CELL)} are read")
            for name, text in found.items()
            if len(text) > longest.get(name, LONGEST_CELL)
        ]
        rows.append(row)
    if wrong:
        raise InputError(tuple(wrong))
    return tuple(rows)


def _table(source: str, text: str) -> list[tuple[int, list[str]]]:
    first = next((line for line in text.splitlines() if _says_something([line.lstrip('"')])), "")
    delimiter = max(DELIMITERS, key=first.count)
    try:
        return [(number, row) for number, row in _lines(text, delimiter) if _says_something(row)]
    except csv.Error as error:
        raise _refused(source, f"is no table: {error}") from error


def _cell(text: str) -> str:
    text = plain(text).strip()
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text


def _faults_of_header(
    source: str, names: list[str], columns: tuple[str, ...], needed: tuple[str, ...]
) -> Iterator[Problem]:
    for name in dict.fromkeys(names):
        if name and name not in columns:
            near = did_you_mean(name, columns)
            yield Problem(source=source, message=f"there is no column {name}{near} (columns: {', '.join(columns)})")
        elif name and names.count(name) > 1:
            yield Problem(source=source, message=f"the column {name} is there twice")
    for name in needed:
        if name not in names:
            there = ", ".join(filter(None, names))
            yield Problem(source=source, message=f"the column {name} is missing; there are: {there}")


def _lines(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Rows with the line on which each begins."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    before = 0
    for row in reader:
        yield before + 1, row
        before = reader.line_num


def _says_something(cells: Iterable[str]) -> bool:
    first = next(iter(cells), "")
    return any(cell.strip() for cell in cells) and not first.lstrip().startswith("#")


def _text(path: Path) -> str:
    source = str(path)
    try:
        if path.is_dir():
            raise _refused(source, "is a folder; name the table in it")
        with path.open("rb") as stream:
            raw = stream.read(GREATEST_BYTES + 1)
    except FileNotFoundError as error:
        raise _refused(source, "there is no such file") from error
    except OSError as error:
        raise _refused(source, f"cannot be read: {error.strerror or error}") from error
    except InputError:
        raise
    except ValueError as error:
        raise _refused(source, f"is no name of a file: {error}") from error
    if len(raw) > GREATEST_BYTES:
        raise _refused(source, f"is larger than {GREATEST_BYTES // 1024 // 1024} MiB")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(source, "is not UTF-8 text; save the sheet as CSV in UTF-8") from error


def _refused(source: str, message: str) -> InputError:
    return InputError((Problem(source=source, message=message),))
