"""JSON text: what is refused and in which words, and where every value stands."""

from __future__ import annotations

import codecs
import hashlib
import json
from itertools import accumulate
from pathlib import Path
from typing import Any, TypeAlias

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.read import json_text
from harnessdiff.read.json_text import load_document, parse_document, position
from harnessdiff.read.schema import pointer_to

Json: TypeAlias = Any
GREATEST_DEPTH = 100


def refused(raw: bytes) -> str:
    with pytest.raises(InputError) as caught:
        parse_document(raw, "case.json")
    return str(caught.value)


# -- what is refused


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (b"", "case.json: is empty"),
        (b" \r\n\t", "case.json: is empty"),
        (codecs.BOM_UTF8 + b"{}", "case.json: begins with a byte-order mark; save it as UTF-8 without one"),
        ("{}".encode("utf-16"), "case.json: begins with a byte-order mark; save it as UTF-8 without one"),
        (
            codecs.BOM_UTF16_BE + "{}".encode("utf-16-be"),
            "case.json: begins with a byte-order mark; save it as UTF-8 without one",
        ),
        ("{}".encode("utf-32"), "case.json: begins with a byte-order mark; save it as UTF-8 without one"),
        (b'{"a": "\xe4"}', "case.json:1:8: is not UTF-8 from here on; save it as UTF-8"),
        (b'{"a": "\xed\xa0\x80"}', "case.json:1:8: is not UTF-8 from here on; save it as UTF-8"),
        (b'{"a": 1', "case.json:1:8: not JSON: the file ends too early: the { of line 1 is not closed"),
        (b'{"a":\n [1, 2', "case.json:2:7: not JSON: the file ends too early: the [ of line 2 is not closed"),
        (
            b'{"a": "b',
            "case.json:1:7: not JSON: a text runs on past the end of its line: its closing quote is missing, "
            "or write a new line as \\n",
        ),
        (
            b"{} {}",
            "case.json:1:4: not JSON: something follows the end of the document; is a bracket too many before it?",
        ),
        (
            b'{"a": 1}\n]',
            "case.json:2:1: not JSON: something follows the end of the document; is a bracket too many before it?",
        ),
        (b"# note\n{}", "case.json:1:1: not JSON: JSON has no comments; write the remark under note"),
        (b'{"a": 1, "b": 2, "a": 3}', 'case.json:1:23: the member "a" stands twice in one object; keep one of them'),
        (
            b'[{"x": {"a": 1,\n"\\u0061": 1}}]',
            'case.json:2:11: the member "a" stands twice in one object; keep one of them',
        ),
        (
            b'{"a": {"b": 1, "b": 2}, "a": 3}',
            'case.json:1:21: the member "b" stands twice in one object; keep one of them\n'
            'case.json:1:30: the member "a" stands twice in one object; keep one of them',
        ),
        (
            b'{"a": 1, "a": {"b": 1, "b": 2}}',
            'case.json:1:15: the member "a" stands twice in one object; keep one of them',
        ),
        (b'{"a": NaN}', "case.json:1:7: NaN is not a number that JSON knows"),
        (b'["NaN",\n [1, NaN]]', "case.json:2:6: NaN is not a number that JSON knows"),
        (b'{"a": Infinity}', "case.json:1:7: Infinity is not a number that JSON knows"),
        (b'{"a": -Infinity}', "case.json:1:7: -Infinity is not a number that JSON knows"),
        (b'{"a": 1e999}', "case.json:1:7: the number 1e999 is too large"),
        (b'{"a": "-1e999",\n "b": -1e999}', "case.json:2:7: the number -1e999 is too large"),
        (b"[" + b"9" * 301 + b"]", f"case.json:1:2: the number {'9' * 40}… is too large"),
        (b"[" * 101 + b"]" * 101, "case.json: is nested deeper than 100 levels"),
        (b'{"a":' * 100 + b"1" + b"}" * 100, "case.json: is nested deeper than 100 levels"),
        (b"[" * 100_000 + b"]" * 100_000, "case.json: is nested too deeply"),
    ],
    ids=lambda value: repr(value)[:24],
)
def test_what_is_no_strict_json_is_refused_in_plain_words(raw: bytes, message: str) -> None:
    assert refused(raw) == message


@pytest.mark.parametrize(
    "raw",
    [
        b"{'a': 1}",
        b'{"a": 1,}',
        b"[1,]",
        b"{a: 1}",
        b'{"a": 01}',
        b'{"a": +1}',
        b'{"a": .5}',
        b'{"a": 1.}',
        b'{"a": 0x1F}',
        b'{"a": "line\nbreak"}',
        b'{"a": "\\x"}',
        b'{"a" 1}',
        b"\x00",
        b'{"a": True}',
        b'{"a": 0,5}',
        "{}".encode("utf-16-le"),
    ],
)
def test_what_other_readers_let_pass_is_refused_with_its_place(raw: bytes) -> None:
    with pytest.raises(InputError) as caught:
        parse_document(raw, "case.json")

    (problem,) = caught.value.problems
    assert problem.message.startswith("not JSON: ")
    assert (problem.source, problem.line) == ("case.json", 1)
    assert (problem.column or 0) >= 1


@pytest.mark.parametrize(
    "raw",
    [
        b'{"a": "\\ud800"}',
        b'{"\\udfff": 1}',
        b'"\\uD83D"',
        b'["\\uDE97\\uD83D"]',
        b'[[1, {"a": ["x\\ud83dx\\ude97"]}]]',
        b'["\\ud83d\\ud83d\\ude97"]',
    ],
)
def test_half_a_character_is_refused_because_it_cannot_be_written_again(raw: bytes) -> None:
    assert refused(raw) == "case.json: holds half of a two-part character (a lone surrogate)"


@pytest.mark.parametrize(
    ("raw", "data"),
    [
        (b"[" * GREATEST_DEPTH + b"]" * GREATEST_DEPTH, None),
        (b'{"a": 1e308, "b": -0, "c": 1E-400}', {"a": 1e308, "b": 0, "c": 0.0}),
        (b"[" + b"9" * 300 + b"]", [int("9" * 300)]),
        (b'{"a": {"b": 1}, "b": {"a": 2}}', {"a": {"b": 1}, "b": {"a": 2}}),
        ('{"ä": "\\u00e4\\ud83d\\ude97"}'.encode(), {"ä": "ä🚗"}),
        ('{"\\uD83D\\uDE97": "🚗\\\\ud800"}'.encode(), {"🚗": "🚗\\ud800"}),
        (b"7", 7),
        (b'"text"', "text"),
    ],
)
def test_what_is_strict_json_is_read(raw: bytes, data: Json) -> None:
    document = parse_document(raw, "case.json")

    assert data is None or document.data == data
    assert document.sha256 == hashlib.sha256(raw).hexdigest()


def test_all_problems_of_a_document_carry_its_name_place_and_pointer() -> None:
    document = parse_document(b'{\n  "wires": [\n    {"id": 7}\n  ]\n}', "case.json")

    assert str(document.problem("/wires/0/id", "should be text")) == "case.json:3:12: /wires/0/id: should be text"
    assert str(document.problem("", "should be a list")) == "case.json:1:1: /: should be a list"


# -- files


def test_a_file_is_read_with_its_name_and_the_hash_of_its_bytes(tmp_path: Path) -> None:
    path = tmp_path / "case.json"
    path.write_bytes(b'{"a": 1}\r\n')

    document = load_document(path)

    assert (document.source, document.data) == (str(path), {"a": 1})
    assert document.sha256 == hashlib.sha256(b'{"a": 1}\r\n').hexdigest()


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    path = tmp_path / "nowhere" / "case.json"
    with pytest.raises(InputError) as caught:
        load_document(path)

    assert str(caught.value) == f"{path}: there is no such file"


def test_a_folder_is_said_to_be_a_folder(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        load_document(tmp_path)

    assert str(caught.value) == f"{tmp_path}: is a folder; name the JSON file in it"


def test_a_name_that_no_file_can_have_is_refused(tmp_path: Path) -> None:
    path = tmp_path / ("x" * 4000)
    with pytest.raises(InputError) as caught:
        load_document(path)

    assert str(caught.value).startswith(f"{path}: cannot be read: ")


def test_a_file_over_the_bound_is_refused_before_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(json_text, "GREATEST_BYTES", 1024 * 1024)
    path = tmp_path / "case.json"
    path.write_bytes(b"[" + b" " * 1024 * 1024 + b"]")
    with pytest.raises(InputError) as caught:
        load_document(path)

    assert str(caught.value) == f"{path}: is larger than 1 MiB"


# -- places

# Keys that a pointer must escape, or that a search for text would trip over.
KEYS = st.text(alphabet='ab01/~"\\:,{}[] é\U0001f697\n', max_size=4)
TEXTS = st.text(alphabet='ab"\\:,{}[]é\U0001f697\n', max_size=6)
LEAVES = st.none() | st.booleans() | st.integers(-1000, 1000) | st.floats(-1e6, 1e6) | TEXTS
DOCUMENTS = st.recursive(
    LEAVES,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=20,
)
SPACES = st.sampled_from(["", " ", "\n", "\r\n  ", "\t", "\n\n    "])


class Writer:
    """Writes JSON with any white space and notes where each value begins: the judge of `position`."""

    def __init__(self, draw: st.DrawFn, *, ascii_only: bool) -> None:
        self.draw = draw
        self.ascii_only = ascii_only
        self.pieces: list[str] = []
        self.offsets: dict[str, int] = {}

    @property
    def text(self) -> str:
        return "".join(self.pieces)

    def put(self, piece: str) -> None:
        self.pieces += [self.draw(SPACES), piece]

    def put_value(self, value: Json, path: tuple[str | int, ...]) -> None:
        self.pieces.append(self.draw(SPACES))
        self.offsets[pointer_to(path)] = len(self.text)
        match value:
            case dict():
                self.pieces.append("{")
                for number, (key, inner) in enumerate(value.items()):
                    self.put("," if number else "")
                    self.put(json.dumps(key, ensure_ascii=self.ascii_only))
                    self.put(":")
                    self.put_value(inner, (*path, key))
                self.put("}")
            case list():
                self.pieces.append("[")
                for number, inner in enumerate(value):
                    self.put("," if number else "")
                    self.put_value(inner, (*path, number))
                self.put("]")
            case _:
                self.pieces.append(json.dumps(value, ensure_ascii=self.ascii_only))


@st.composite
def written(draw: st.DrawFn) -> Writer:
    writer = Writer(draw, ascii_only=draw(st.booleans()))
    writer.put_value(draw(DOCUMENTS), ())
    return writer


def place(text: str, offset: int) -> tuple[int, int]:
    """Line and column of an offset, by going through the lines."""
    lines = text.split("\n")
    ends = list(accumulate(len(line) + 1 for line in lines))
    number = next(number for number, end in enumerate(ends) if offset < end or number == len(lines) - 1)
    return number + 1, offset - (ends[number] - len(lines[number]) - 1) + 1


@given(written())
@settings(max_examples=150)
def test_the_place_of_every_pointer_is_where_its_value_begins(writer: Writer) -> None:
    text = writer.text
    expected = {pointer: place(text, offset) for pointer, offset in writer.offsets.items()}

    assert {pointer: position(text, pointer) for pointer in writer.offsets} == expected


@given(DOCUMENTS, st.sampled_from([None, 1, 2, "\t"]))
def test_the_place_is_right_however_a_document_is_laid_out(data: Json, indent: int | str | None) -> None:
    text = json.dumps(data, indent=indent)
    lines = text.split("\n")

    for pointer, value in values_of(data):
        line, column = position(text, pointer)
        found, _ = json.JSONDecoder().raw_decode("\n".join([lines[line - 1][column - 1 :], *lines[line:]]))
        assert found == value


def values_of(data: Json, path: tuple[str | int, ...] = ()) -> list[tuple[str, Json]]:
    """Every value of a document with its pointer."""
    inner: list[tuple[str | int, Json]] = []
    if isinstance(data, dict):
        inner = list(data.items())
    elif isinstance(data, list):
        inner = list(enumerate(data))
    return [(pointer_to(path), data), *(one for key, value in inner for one in values_of(value, (*path, key)))]


@given(written(), st.lists(KEYS, min_size=1, max_size=3))
def test_the_place_of_what_is_not_there_is_that_of_its_nearest_parent(writer: Writer, missing: list[str]) -> None:
    text = writer.text
    for pointer in list(writer.offsets):
        beyond = pointer + pointer_to(["not there", *missing])
        assert position(text, beyond) == position(text, pointer)


@pytest.mark.parametrize(
    ("pointer", "expected"),
    [
        ("", (1, 1)),
        ("/a~1b", (2, 10)),
        ("/m~0n", (3, 10)),
        ("/wires/1/id", (6, 12)),
        ("/wires/2", (4, 12)),
        ("/wires/1/colour/base", (6, 5)),
        ("/", (8, 7)),
        ("/~01", (9, 9)),
        ("/~1", (1, 1)),
    ],
)
def test_places_in_a_small_file_counted_by_hand(pointer: str, expected: tuple[int, int]) -> None:
    text = """{
  "a/b": 1,
  "m~n": 2,
  "wires": [
    {"id": "W1"},
    {"id": "W2"}
  ],
  "": null,
  "~1": 4
}"""

    assert position(text, pointer) == expected
