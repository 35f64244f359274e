"""Slips of the pen: each is refused at its place, in words that say what would be right; what is JSON is read."""

from __future__ import annotations

import codecs
import json
import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.errors import InputError, Problem
from harnessdiff.read.json_text import parse_document


def refused(raw: bytes) -> Problem:
    """The one problem of a text that is no JSON."""
    with pytest.raises(InputError) as caught:
        parse_document(raw, "case.json")
    (problem,) = caught.value.problems
    return problem


def told(text: str | bytes) -> str:
    """Line, column and words of what is wrong with a text."""
    problem = refused(text.encode() if isinstance(text, str) else text)
    return f"{problem.line}:{problem.column} {problem.message.removeprefix('not JSON: ')}"


# -- every slip, its place counted by hand

MISSING = "a comma is missing here"
COMMENT = "JSON has no comments; write the remark under note"
DECIMAL = "a decimal number is written with a point, not a comma"
BEGINS = "a number begins with a digit, or a minus and a digit: 0.5, not .5 or +0.5"
NO_NUMBER = "is no number as JSON writes it: no leading zero, digits on both sides of its point, nothing else"
LINE_END = "a text runs on past the end of its line: its closing quote is missing, or write a new line as \\n"
BACKSLASH = "a backslash in a text is written twice: \\\\"
HEXADECIMAL = "\\u takes four hexadecimal digits"
COLON = "a colon is missing between a member's name and its value"
QUOTE_WITHIN = 'a comma is missing here, or the quote before is one within a text, which is written \\"'
BEHIND = "something follows the end of the document; is a bracket too many before it?"
EARLY = "the file ends too early: the"
VALUE = "cannot stand here; a value is a text in double quotes, a number, true, false, null, {…} or […]"
SAVED = "cannot stand here; was it saved as plain text in UTF-8?"
TOO_MANY = "is one too many, or a value is missing before it"

SLIPS = [
    # commas
    ('{"a": 1,}', "1:8 the comma before this } is one too many"),
    ('{"a": 1,\n}', "1:8 the comma before this } is one too many"),
    ("[\n  1,\n  2,\n]", "3:4 the comma before this ] is one too many"),
    ('{"a": {"b": [1,]}}', "1:15 the comma before this ] is one too many"),
    ('{"a": 1 "b": 2}', f"1:8 {MISSING}"),
    ('{"a": "x"\n "b": 2}', f"1:10 {MISSING}"),
    ('[{"a": 1}\n {"a": 2}]', f"1:10 {MISSING}"),
    ("[[1] [2]]", f"1:5 {MISSING}"),
    ("[1 2]", f"1:3 {MISSING}"),
    ("[1 -2]", f"1:3 {MISSING}"),
    ("[true false]", f"1:6 {MISSING}"),
    ('["a" null]', f"1:5 {MISSING}"),
    ('{"a": 1,, "b": 2}', f"1:9 this comma {TOO_MANY}"),
    ("[1,,2]", f"1:4 this comma {TOO_MANY}"),
    ('{,"a": 1}', f"1:2 this comma {TOO_MANY}"),
    ('{"a": ,}', f"1:7 this comma {TOO_MANY}"),
    ('{"a": 1; "b": 2}', "1:8 a comma stands between members and entries, not ;"),
    # comments
    ('{"a": 1} // x', f"1:10 {COMMENT}"),
    ("# x\n{}", f"1:1 {COMMENT}"),
    ('{\n  // x\n  "a": 1}', f"2:3 {COMMENT}"),
    ('{"a": /* x */ 1}', f"1:7 {COMMENT}"),
    ('{"a": 1 # x\n}', f"1:9 {COMMENT}"),
    # quotes
    ("{'a': 1}", "1:2 a member's name stands in straight double quotes, not in '"),
    ("{\"a\": 'x'}", "1:7 a text stands in straight double quotes, not in '"),
    ('{"a": “x”}', "1:7 a text stands in straight double quotes, not in “"),
    ("{“a”: 1}", "1:2 a member's name stands in straight double quotes, not in “"),
    ('{"a": „x“}', "1:7 a text stands in straight double quotes, not in „"),
    ('{"a": «x»}', "1:7 a text stands in straight double quotes, not in «"),
    ('{"a": `x`}', "1:7 a text stands in straight double quotes, not in `"),
    ("{a: 1}", '1:2 a member\'s name stands in double quotes: "a"'),
    ('{"a": 1, W1-2: 1}', '1:10 a member\'s name stands in double quotes: "W1-2"'),
    ("{12: 1}", '1:2 a member\'s name stands in double quotes: "12"'),
    ("{null: 1}", '1:2 a member\'s name stands in double quotes: "null"'),
    ("[W12]", '1:2 a text stands in double quotes: "W12"'),
    ('{"a": 2026-03-14}', '1:7 a text stands in double quotes: "2026-03-14"'),
    ('{"note": "a 13" screen"}', f"1:16 {QUOTE_WITHIN}"),
    ('{"a": "x, "b": 1}', f"1:12 {QUOTE_WITHIN}"),
    ("{[1]: 2}", "1:2 a member's name in double quotes should stand here, not ["),
    # words
    ('{"a": True}', "1:7 True is written true"),
    ('{"a": FALSE}', "1:7 FALSE is written false"),
    ('{"a": None}', "1:7 None is written null"),
    ('{"a": undefined}', "1:7 undefined is written null"),
    ('{"a": yes}', "1:7 yes is written true"),
    ('{"a": No}', "1:7 No is written false"),
    ('{"a": flase}', "1:7 flase is written false"),
    ('{"a": nul}', "1:7 nul is written null"),
    ('{"a": NaN}', "1:7 NaN is not a number that JSON knows"),
    ('{"a": nan}', "1:7 nan is not a number that JSON knows"),
    ('[1,\n Infinity]', "2:2 Infinity is not a number that JSON knows"),
    ('{"NaN": "NaN", "a": -Infinity}', "1:21 -Infinity is not a number that JSON knows"),
    ('[NaN"x"]', "1:2 NaN is not a number that JSON knows"),
    # numbers
    ('{"a": 0,5}', f"1:8 {DECIMAL}"),
    ('{"a": 1,\n "b": -0,25, "c": 1}', f"2:9 {DECIMAL}"),
    ('{"a": 01}', f"1:7 01 {NO_NUMBER}"),
    ("[-012]", f"1:2 -012 {NO_NUMBER}"),
    ("[1, 5.]", f"1:5 5. {NO_NUMBER}"),
    ("[0x1F]", f"1:2 0x1F {NO_NUMBER}"),
    ("[1_000]", f"1:2 1_000 {NO_NUMBER}"),
    ("[1.000.000]", f"1:2 1.000.000 {NO_NUMBER}"),
    ("[1e]", f"1:2 1e {NO_NUMBER}"),
    ("[1e+]", f"1:2 1e+ {NO_NUMBER}"),
    ("[1/2]", f"1:2 1/2 {NO_NUMBER}"),
    ("[.5]", f"1:2 {BEGINS}"),
    ("[-.5]", f"1:2 {BEGINS}"),
    ("[+1]", f"1:2 {BEGINS}"),
    ("[--1]", f"1:2 {BEGINS}"),
    ('{"a": 1.5mm}', "1:7 a number stands without its unit: 1.5"),
    ('{"a": 0.75 mm2, "b": 1}', "1:7 a number stands without its unit: 0.75"),
    ("[50%]", "1:2 a number stands without its unit: 50"),
    ("[1e999]", "1:2 the number 1e999 is too large"),
    ("[2, 1e999x]", "1:5 the number 1e999 is too large"),
    # brackets and the end
    ('{"a": 1]', "1:8 the { of line 1 is closed with }, and here stands ]"),
    ('{"a": [1,\n 2}', "2:3 the [ of line 1 is closed with ], and here stands }"),
    ('{"a": [1,\n }', "1:9 the comma before this } is one too many"),
    ('{\n"a": {"b": 1}', f"2:14 {EARLY} {{ of line 1 is not closed"),
    ('{"a":\n[1, "]"', f"2:8 {EARLY} [ of line 2 is not closed"),
    ('{"a": 1,', f"1:9 {EARLY} {{ of line 1 is not closed"),
    ('{"a": 1}}', f"1:9 {BEHIND}"),
    ('{"a": 1}\n{"a": 2}', f"2:1 {BEHIND}"),
    ("truefalse", f"1:5 {BEHIND}"),
    # colons
    ('{"a" 1}', f"1:6 {COLON}"),
    ('{"a", 1}', f"1:5 {COLON}"),
    ('{"a" = 1}', f"1:6 {COLON}"),
    ('{"a": 1, "b"}', f"1:13 {COLON}"),
    ('{"a":: 1}', f"1:6 this colon {TOO_MANY}"),
    ('{"a":}', "1:6 a value is missing before this }"),
    ('["a": 1]', "1:5 a list has no members with names; write them in { and }"),
    ('{"a": 1 : 2}', "1:9 this colon is one too many, or the quotes of a text before it are"),
    # texts
    ('{"a": "x\ny"}', f"1:9 {LINE_END}"),
    ('{"a": "x\r\ny"}', f"1:9 {LINE_END}"),
    ('{"a": "x}', f"1:7 {LINE_END}"),
    ('{"a": "x\\"}', f"1:7 {LINE_END}"),
    ('{"a": "x\ty"}', "1:9 a tab in a text is written \\t"),
    ('{"a": "x\0y"}', "1:9 a text holds the control character U+0000; leave it out"),
    ('{"a": "x\x1fy"}', "1:9 a text holds the control character U+001F; leave it out"),
    ('{"a": "C:\\Users"}', f"1:10 {BACKSLASH}"),
    ('{"a": "photos\\pap.jpg"}', f"1:14 {BACKSLASH}"),
    ('{"a": "\\x41"}', f"1:8 {BACKSLASH}"),
    ('{"a": "\\u12"}', f"1:9 {HEXADECIMAL}"),
    ('{"a": "\\u12G4"}', f"1:9 {HEXADECIMAL}"),
    # what is something else
    ("<xml/>", "1:1 a document begins with {, and this one with <; is it a JSON file?"),
    ("wire,colour\nW1,RD", "1:1 a document begins with {, and this one with w; is it a JSON file?"),
    ("}", "1:1 a document begins with {, and this one with }; is it a JSON file?"),
    ('{"a": (1)}', f"1:7 ( {VALUE}"),
    ('{"a": ...}', f"1:7 . {VALUE}"),
    ('{"a":\u00a01}', f"1:6 the character U+00A0 {SAVED}"),
    ("[1\u00a0, 2]", f"1:3 the character U+00A0 {SAVED}"),
    ('{"a":\v1}', f"1:6 the character U+000B {SAVED}"),
    ('{"a": 1}\0', f"1:9 the character U+0000 {SAVED}"),
    ("\u2028{}", f"1:1 the character U+2028 {SAVED}"),
    ("[\ufeff]", f"1:2 the character U+FEFF {SAVED}"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), SLIPS)
def test_a_slip_is_told_at_its_place_with_what_would_be_right(text: str, message: str) -> None:
    assert told(text) == message


@pytest.mark.parametrize(("text", "message"), SLIPS)
def test_a_slip_further_down_is_told_further_down(text: str, message: str) -> None:
    """Five lines before it move its line by five and nothing else; the words name lines of the file, too."""
    line, rest = message.split(":", 1)
    deeper = told("\n" * 5 + text)

    assert deeper == f"{int(line) + 5}:{rest.replace('of line 1', 'of line 6').replace('of line 2', 'of line 7')}"


# -- encodings: the JSON of RFC 8259 section 8.1 is UTF-8 without a byte-order mark

MARK = "None:None begins with a byte-order mark; save it as UTF-8 without one"


@pytest.mark.parametrize(
    "mark", [codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE]
)
@pytest.mark.parametrize("rest", [b"", b"{}", b"\0{\0}"])
def test_a_byte_order_mark_is_told_whatever_follows(mark: bytes, rest: bytes) -> None:
    assert told(mark + rest) == MARK


@pytest.mark.parametrize(
    ("encoding", "column"), [("utf-16-le", 2), ("utf-16-be", 1), ("utf-32-le", 2), ("utf-32-be", 1)]
)
def test_another_width_without_a_mark_is_told(encoding: str, column: int) -> None:
    assert told('{"a": 1}'.encode(encoding)) == f"1:{column} the character U+0000 {SAVED}"


# RFC 3629 section 3 and 10: over-long forms, surrogates, beyond U+10FFFF, stray and missing continuations.
NOT_UTF_8 = [
    b"\xc0\xaf", b"\xc1\x81", b"\xe0\x80\xaf", b"\xe0\x9f\xbf", b"\xf0\x80\x80\xaf", b"\xf0\x8f\xbf\xbf", b"\xc0\x80",
    b"\xed\xa0\x80", b"\xed\xb0\x80", b"\xed\xa0\xbd\xed\xba\x97", b"\xf4\x90\x80\x80", b"\xf5\x80\x80\x80",
    b"\xf8\x88\x80\x80\x80", b"\xfc\x84\x80\x80\x80\x80", b"\x80", b"\xbf", b"\xe4", b"\xc3", b"\xe2\x82",
    b"\xf0\x9f\x9a", b"\xfe", b"\xff",
]  # fmt: skip


@pytest.mark.parametrize("piece", NOT_UTF_8)
def test_bytes_that_are_no_utf_8_are_told_at_their_place(piece: bytes) -> None:
    assert told('{"ä":\n "'.encode() + piece + b'"}') == "2:3 is not UTF-8 from here on; save it as UTF-8"


# -- what is JSON is read as it stands: RFC 8259 sections 2 to 7


@pytest.mark.parametrize(
    ("text", "data"),
    [
        (" \t\r\n{ \t\r\n} \t\r\n", {}),
        ('{"": 0}', {"": 0}),
        ('{"a": {"a": {"a": 1}}}', {"a": {"a": {"a": 1}}}),
        ("[[], {}, [[]], [{}]]", [[], {}, [[]], [{}]]),
        ("[-0, 0, -1, 1e5, 1E+2, 1e-2, 0.5e0, 1.0]", [0, 0, -1, 1e5, 100.0, 0.01, 0.5, 1.0]),
        ("[123456789012345678901234567890]", [123456789012345678901234567890]),
        ("[1e-400, -1e-400, 5e-324]", [0.0, -0.0, 5e-324]),
        ("[0.1000000000000000055511151231257827021181583404541015625]", [0.1]),
        ("[1.7976931348623157e308]", [1.7976931348623157e308]),
        ('["\\"\\\\\\/\\b\\f\\n\\r\\t\\u0041"]', ['"\\/\b\f\n\r\tA']),
        ('["\\u0000\\u001f\\u007f"]', ["\0\x1f\x7f"]),
        ('["\\uD834\\uDD1E \\ud83d\\ude97"]', ["\U0001d11e \U0001f697"]),
        ('["\\\\uD800 \\\\u12"]', ["\\uD800 \\u12"]),
        ('["\x7f\u0080\u2028\u2029\ufeff\ufffe\U0010ffff"]', ["\x7f\u0080\u2028\u2029\ufeff\ufffe\U0010ffff"]),
        ('["// no comment /* none */ # none"]', ["// no comment /* none */ # none"]),
        ('{"a\\u0000": 1, "a": 2}', {"a\0": 1, "a": 2}),
        ('{"é": 1, "e\u0301": 2}', {"é": 1, "e\u0301": 2}),
        ("[true, false, null]", [True, False, None]),
        ("null", None),
    ],
)
def test_what_the_standard_allows_is_read(text: str, data: Any) -> None:
    assert parse_document(text.encode(), "case.json").data == data


def test_a_number_keeps_its_sort_and_its_sign() -> None:
    whole, real, minus = parse_document(b"[1, 1.0, -0.0]", "case.json").data

    assert (type(whole), type(real), math.copysign(1, minus)) == (int, float, -1.0)


@pytest.mark.parametrize(
    "pair", ["\\ud800", "\\udc00", "\\udc00\\ud800", "\\ud800\\ud800", "\\ud800x", "\\uD800\\u0041"]
)
@pytest.mark.parametrize("around", ['"{}"', '{{"{}": 1}}', '[[{{"a": ["x{}y"]}}]]'])
def test_half_a_character_anywhere_is_refused(pair: str, around: str) -> None:
    assert told(around.format(pair)) == "None:None holds half of a two-part character (a lone surrogate)"


@pytest.mark.parametrize("depth", [100, 101, 5000, 100_000])
@pytest.mark.parametrize(("opening", "closing"), [("[", "]"), ('{"a":', "}"), ('[{"a":', "}]")])
def test_a_hundred_levels_are_read_and_no_more(depth: int, opening: str, closing: str) -> None:
    width = opening.count("[") + opening.count("{")
    text = opening * (depth // width) + ("1" if opening.endswith(":") else "") + closing * (depth // width)
    if depth // width * width + (opening != "[") <= 100:
        assert parse_document(text.encode(), "case.json").text == text
        return
    problem = refused(text.encode())

    assert problem.message in ("is nested deeper than 100 levels", "is nested too deeply")


@pytest.mark.parametrize("text", ["[" * 300_000, '{"a":' * 300_000, "[" * 300_000 + "}"])
def test_brackets_without_end_are_refused_and_do_not_bring_the_program_down(text: str) -> None:
    assert refused(text.encode()).message == "is nested too deeply"


@pytest.mark.parametrize("at", [(), ("a",), ("a", 1), ("a", 1, "b", 0)])
def test_a_member_that_stands_twice_is_found_at_any_depth(at: tuple[str | int, ...]) -> None:
    twice = '\n{"x": 1, "y": {"x": 1}, "x": 2}'
    for step in reversed(at):
        twice = (
            f'[{{"x": 0}}, {twice}]' if step == 1 else f"[{twice}]" if step == 0 else f'{{"{step}": {twice}, "x": 1}}'
        )

    assert told(twice) == '2:30 the member "x" stands twice in one object; keep one of them'


def test_every_member_that_stands_twice_is_told() -> None:
    with pytest.raises(InputError) as caught:
        parse_document(b'{"a": 1, "a": 2, "b": [{"c": 1, "c": 1}],\n"\\u0061": 3}', "case.json")

    assert [(one.line, one.column) for one in caught.value.problems] == [(1, 15), (1, 38), (2, 11)]


# -- laws

SMALL = '{"wires": [{"id": "W1", "ä": "\\u00e4\\\\🚗", "n": [-1.5e+3, 0, true, null]}]}\n'


def test_a_file_cut_off_at_any_byte_is_refused_with_one_message_at_a_place_in_it() -> None:
    raw = SMALL.encode()
    for end in range(1, len(raw) - 1):
        problem = refused(raw[:end])
        assert problem.line == 1
        assert 1 <= (problem.column or 0) <= end + 1
        assert problem.message.startswith(("not JSON: ", "is not UTF-8"))


PIECES = st.sampled_from(
    [
        *"{}[]:,\"'\\/#-+.eE01 \t\n\r\0ä“",
        "NaN",
        "Infinity",
        "true",
        "None",
        "\\u",
        "\\ud800",
        "1e999",
        "9" * 400,
        '"a":',
    ]
)


@given(st.lists(st.tuples(st.integers(0, len(SMALL)), st.integers(0, 3), PIECES), min_size=1, max_size=4))
@settings(max_examples=1500)
def test_whatever_is_done_to_a_text_it_is_read_as_python_reads_it_or_refused_with_a_place(
    changes: list[tuple[int, int, str]],
) -> None:
    text = SMALL
    for at, length, piece in changes:
        text = text[:at] + piece + text[at + length :]

    try:
        strict = json.loads(text, parse_constant=float, object_pairs_hook=once, parse_float=finite, parse_int=short)
    except ValueError:
        problem = refused(text.encode())
        assert problem.line is not None
        assert 1 <= problem.line <= text.count("\n") + 1
        assert 1 <= (problem.column or 0) <= len(text.split("\n")[problem.line - 1]) + 1
        return
    if "\\ud800" in text and "\ud800" in json.dumps(strict, ensure_ascii=False):
        assert "lone surrogate" in refused(text.encode()).message
    elif has_constant(strict):
        assert "not a number that JSON knows" in refused(text.encode()).message
    else:
        assert parse_document(text.encode(), "case.json").data == strict


def once(members: list[tuple[str, Any]]) -> dict[str, Any]:
    if len(dict(members)) < len(members):
        raise ValueError
    return dict(members)


def finite(digits: str) -> float:
    if math.isinf(float(digits)):
        raise ValueError
    return float(digits)


def short(digits: str) -> int:
    if len(digits) > 300:
        raise ValueError
    return int(digits)


def has_constant(value: Any) -> bool:
    if isinstance(value, dict):
        return any(map(has_constant, value.values()))
    if isinstance(value, list):
        return any(map(has_constant, value))
    return isinstance(value, float) and not math.isfinite(value)
