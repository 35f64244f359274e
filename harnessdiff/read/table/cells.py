"""Tables as a spreadsheet saves them: comma, semicolon or tab, with a header."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from harnessdiff.errors import InputError, Problem
from harnessdiff.read.schema import did_you_mean

GREATEST_BYTES = 16 * 1024 * 1024
LONGEST_CELL = 400
DELIMITERS = ",;\t"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A row of a table: its cells by column, and where it stands."""

    source: str
    line: int
    cells: dict[str, str]
    columns: dict[str, int]
    decimal_comma: bool

    def __getitem__(self, column: str) -> str:
        """The cell of a column, empty where there is none."""
        return self.cells.get(column, "")

    def problem(self, column: str, message: str) -> Problem:
        """A problem with a cell; the column counts cells, not letters."""
        place = f"column {column}"
        return Problem(source=f"{self.source}:{self.line}", message=f"{place}: {message}")

    def number(self, text: str) -> float | None:
        """A number as a person writes it, with a decimal comma where commas do not part the cells; else None."""
        try:
            return float(text.replace(",", ".") if self.decimal_comma else text)
        except ValueError:
            return None


def read_rows(path: Path, columns: tuple[str, ...], needed: tuple[str, ...]) -> tuple[Row, ...]:
    """Read a table.

    Parameters
    ----------
    path : Path
    columns : tuple of str
        Names of the columns that are known.
    needed : tuple of str
        Those that must be there.

    Returns
    -------
    tuple of Row
        Without rows that are empty or whose first cell begins with ``#``.

    Raises
    ------
    InputError
        If there is no such file, it is no UTF-8 text, or its header is not one of a table of this kind.
    """
    source = str(path)
    text = _text(path)
    delimiter = max(DELIMITERS, key=text.split("\n", 1)[0].count)
    try:
        lines = [(number, row) for number, row in _lines(text, delimiter) if _says_something(row)]
    except csv.Error as error:
        raise _refused(source, f"is no table: {error}") from error
    if not lines:
        raise _refused(source, "is empty")
    header_line, header = lines[0]
    names = [cell.strip().lower() for cell in header]
    wrong = [_unknown_column(f"{source}:{header_line}", name, columns) for name in names if name not in ("", *columns)]
    wrong += [
        Problem(
            source=f"{source}:{header_line}", message=f"the column {name} is missing; there are: {', '.join(names)}"
        )
        for name in needed
        if name not in names
    ]
    places = {name: place for place, name in enumerate(names)}
    rows = []
    for number, cells in lines[1:]:
        if len(cells) > len(names) and any(cell.strip() for cell in cells[len(names) :]):
            wrong.append(Problem(source=f"{source}:{number}", message=f"has more than {len(names)} cells"))
        wrong += [
            Problem(source=f"{source}:{number}", message=f"a cell has more than {LONGEST_CELL} characters")
            for cell in cells
            if len(cell) > LONGEST_CELL
        ][:1]
        found = {name: cells[place].strip() for name, place in places.items() if name and place < len(cells)}
        rows.append(Row(source=source, line=number, cells=found, columns=places, decimal_comma=delimiter != ","))
    if wrong:
        raise InputError(tuple(wrong))
    return tuple(rows)


def _lines(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
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
        if path.stat().st_size > GREATEST_BYTES:
            raise _refused(source, f"is larger than {GREATEST_BYTES // 1024 // 1024} MiB")
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError as error:
        raise _refused(source, "there is no such file") from error
    except UnicodeDecodeError as error:
        raise _refused(source, "is not UTF-8 text; save the sheet as CSV in UTF-8") from error
    except OSError as error:
        raise _refused(source, f"cannot be read: {error.strerror or error}") from error


def _refused(source: str, message: str) -> InputError:
    return InputError((Problem(source=source, message=message),))


def _unknown_column(source: str, name: str, columns: tuple[str, ...]) -> Problem:
    known = ", ".join(columns)
    return Problem(source=source, message=f"there is no column {name}{did_you_mean(name, columns)} (columns: {known})")
