"""Tables as people save them: every separator, every mark, and nothing that breaks the program."""

from __future__ import annotations

import codecs
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.read.table import cells
from harnessdiff.read.table.cells import LONGEST_CELL, MOST_ROWS, Row, number_in, read_rows, shown

if TYPE_CHECKING:
    from pathlib import Path

COLUMNS = ("from", "to", "length_m", "colour")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "wires.csv"


def rows_of(path: Path, content: str | bytes) -> list[dict[str, str]]:
    """Cells of every row of a file with this content."""
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return [row.cells for row in read_rows(path, COLUMNS, ("from", "to"))]


def told(path: Path, content: str | bytes) -> list[str]:
    """What is said about a file with this content, without its name."""
    with pytest.raises(InputError) as raised:
        rows_of(path, content)
    return [str(one).removeprefix(str(path)).removeprefix(":") for one in raised.value.problems]


@pytest.mark.parametrize("separator", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["LF", "CRLF", "CR"])
def test_every_separator_and_every_end_of_line_is_read(path: Path, separator: str, end: str) -> None:
    lines = ["from", "to"], ["A:1", "B:2"]

    assert rows_of(path, end.join(separator.join(line) for line in lines) + end) == [{"from": "A:1", "to": "B:2"}]


def test_byte_order_mark_of_a_spreadsheet_is_no_part_of_the_first_column(path: Path) -> None:
    assert rows_of(path, codecs.BOM_UTF8 + b"from,to\nA,B\n") == [{"from": "A", "to": "B"}]


@pytest.mark.parametrize("header", ["FROM,To", " from , to ", '"from","to"'])
def test_header_is_read_in_any_case_with_blanks_and_in_quotes(path: Path, header: str) -> None:
    assert rows_of(path, f"{header}\nA,B\n") == [{"from": "A", "to": "B"}]


def test_blank_in_a_columns_name_is_an_underscore(path: Path) -> None:
    assert rows_of(path, "from,to,Length m\nA,B,1\n") == [{"from": "A", "to": "B", "length_m": "1"}]


def test_column_without_a_name_is_passed_over(path: Path) -> None:
    assert rows_of(path, "from,,to\nA,note,B\n") == [{"from": "A", "to": "B"}]


def test_quotes_hold_separators_quotes_and_ends_of_line(path: Path) -> None:
    content = 'from,to,colour\nA,B,"RD,WH"\nA,"B ""two""","a\nb"\n'

    assert [row.get("colour") for row in rows_of(path, content)] == ["RD,WH", "a b"]
    assert rows_of(path, content)[1]["to"] == 'B "two"'


def test_row_is_told_by_the_line_it_begins_on(path: Path) -> None:
    path.write_text('from,to\n\nA,"two\nlines"\n# a remark\nC,D\n', encoding="utf-8")

    assert [row.line for row in read_rows(path, COLUMNS, ("from",))] == [3, 6]


def test_empty_rows_and_remarks_say_nothing_even_before_the_header(path: Path) -> None:
    content = '\n# one; two; three; four\n"# five, six"\nfrom,to\n,,\n  # no wire\n , \nA,B\n'

    assert rows_of(path, content) == [{"from": "A", "to": "B"}]


def test_short_row_has_empty_cells(path: Path) -> None:
    path.write_text("from,to,colour\nA,B\n", encoding="utf-8")
    (row,) = read_rows(path, COLUMNS, ("from",))

    assert row["colour"] == ""


def test_header_alone_is_a_table_of_no_rows(path: Path) -> None:
    assert rows_of(path, "from,to\n") == []


@pytest.mark.parametrize(
    ("text", "number"),
    [("1,5", 1.5), ("1.5", 1.5), ("12", 12.0), ("-3", -3.0), ("0,75", 0.75)],
)
def test_decimals_stand_behind_a_point_or_a_comma(text: str, number: float) -> None:
    assert number_in(text) == number


@pytest.mark.parametrize("text", ["", "1_0", "nan", "inf", "1e5", "1.2.3", "1,2,3", "١", "1 000", "9" * 13, "0x1"])
def test_what_only_a_program_takes_for_a_number_is_none(text: str) -> None:
    assert number_in(text) is None


def test_decimal_comma_in_a_table_parted_by_commas_needs_quotes_and_is_told_so(path: Path) -> None:
    assert rows_of(path, 'from,to,length_m\nA,B,"1,5"\n')[0]["length_m"] == "1,5"
    assert told(path, "from,to,length_m\nA,B,1,5\n") == [
        '2: has more than 3 cells; a cell that holds what parts the cells stands in quotes: "1,5" or "dash; engine bay"'
    ]


@pytest.mark.parametrize("cell", ["=1+1", "+ to -", "-40", "@x", "'=1", "''+", "plain", "'quoted'", "", "1-2"])
def test_cell_that_is_shown_so_that_no_spreadsheet_computes_it_is_read_as_it_was(path: Path, cell: str) -> None:
    written = shown(cell)

    assert not written.startswith(("=", "+", "-", "@"))
    assert rows_of(path, f"from,to,colour\nA,B,{written}\n")[0]["colour"] == cell


@pytest.mark.parametrize("cell", ["A:1", "off; on", "'t Hooft", ""])
def test_cell_that_no_spreadsheet_computes_is_shown_as_it_is(cell: str) -> None:
    assert shown(cell) == cell


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("", "is empty"),
        ("\n# only a remark\n", "is empty"),
        (
            "from,to,color\n",
            '1: there is no column color; did you mean "colour"? (columns: from, to, length_m, colour)',
        ),
        ("\nto,colour\n", "2: the column from is missing; there are: to, colour"),
        ("from,to,to\n", "1: the column to is there twice"),
        ('from,to\nA,"B\n', "is no table: unexpected end of data"),
        ('from,to\nA,"B" C\n', "is no table: ',' expected after '\"'"),
        ("from,to\nA,B,C\n", "2: has more than 2 cells"),
        (f"from,to\nA,{'B' * (LONGEST_CELL + 1)}\n", "2: column to: has 201 characters; at most 200 are read"),
        (f"from,to\nA,{'B' * 200_000}\n", "is no table: field larger than field limit (131072)"),
        ("from,to\nTür,B\n".encode("cp1252"), "is not UTF-8 text; save the sheet as CSV in UTF-8"),
        ("from,to\nA,B\n".encode("utf-16"), "is not UTF-8 text; save the sheet as CSV in UTF-8"),
        (b"PK\x03\x04\xff\xfe", "is not UTF-8 text; save the sheet as CSV in UTF-8"),
        ("from,to\n" + "A,B\n" * (MOST_ROWS + 1), f"has {MOST_ROWS + 1} rows; at most {MOST_ROWS} are read"),
    ],
    ids=lambda value: value[:24] if isinstance(value, str) else "bytes",
)
def test_what_is_no_table_is_told_with_what_would_be_right(path: Path, content: str | bytes, message: str) -> None:
    (found,) = told(path, content)

    assert found.strip().startswith(message)


def test_all_faults_of_a_table_are_told_at_once(path: Path) -> None:
    content = f"from,to\nA,B,C\n{'x' * 201},{'y' * 201}\n"

    assert [one.split(":")[0] for one in told(path, content)] == ["2", "3", "3"]


def test_column_may_be_allowed_longer_cells(path: Path) -> None:
    path.write_text(f"from,to\nA,{'B' * 300}\n", encoding="utf-8")

    (row,) = read_rows(path, COLUMNS, ("from",), {"to": 300})
    assert len(row["to"]) == 300


def test_file_that_is_too_large_is_not_read_to_its_end(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cells, "GREATEST_BYTES", 1024 * 1024)

    assert told(path, b"x" * (1024 * 1024 + 1)) == [" is larger than 1 MiB"]


def test_folder_missing_file_and_impossible_name_are_told(tmp_path: Path) -> None:
    said = {
        tmp_path: "is a folder; name the table in it",
        tmp_path / "none.csv": "there is no such file",
        tmp_path / "nul\0.csv": "is no name of a file: embedded null byte",
    }
    for path, message in said.items():
        with pytest.raises(InputError) as raised:
            read_rows(path, COLUMNS, ())
        assert raised.value.problems[0].message == message


def test_problem_with_a_cell_names_file_line_and_column() -> None:
    row = Row(source="wires.csv", line=7, cells={})

    assert str(row.problem("to", "nothing is no end")) == "wires.csv:7: column to: nothing is no end"


@given(st.binary(max_size=200) | st.text(max_size=200).map(lambda text: f"from,to\n{text}".encode()))
def test_any_bytes_are_read_or_refused_and_nothing_else(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(raw)
    try:
        rows = read_rows(path, COLUMNS, ("from", "to"))
    except InputError:
        return
    assert all(cell.isprintable() and cell == cell.strip() for row in rows for cell in row.cells.values())


@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=30))
def test_what_is_shown_is_read_back_as_it_was(text: str) -> None:
    cell = cells._cell(text)

    assert cells._cell(shown(cell)) == cell
