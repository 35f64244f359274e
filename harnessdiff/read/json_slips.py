"""What slip of the pen made a text no JSON, and what would be right."""

from __future__ import annotations

import difflib
import json
import re

_MARKS = re.compile(r'"(?:[^"\\\n]|\\.)*"|[{}\[\]]')
_BARE_WORD = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]*")
_COMMENT = re.compile(r"//|/\*|#")
_DATE = re.compile(r"[0-9]{4}-[0-9]{2}\b.*")
_WITH_UNIT = re.compile(r"(-?[0-9]+(?:\.[0-9]+)?) ?([A-Za-zµΩ°%²]+[0-9²]?)")
_EXPONENT = re.compile(r"[0-9.]+[eE][+-]?")
_LITERALS = ("true", "false", "null")
_WORDS = {"none": "null", "nil": "null", "undefined": "null", "yes": "true", "no": "false"}
_NO_NUMBERS = ("nan", "inf", "infinity")
_QUOTES = "'`´“”„‟‘’‚«»‹›"
_CLOSING = {"{": "}", "[": "]"}
_COLON = "Expecting ':' delimiter"
_COMMA = "Expecting ',' delimiter"
_LINE_END = "a text runs on past the end of its line: its closing quote is missing, or write a new line as \\n"
_NUMBER = "a number begins with a digit, or a minus and a digit: 0.5, not .5 or +0.5"


def slip(text: str, error: json.JSONDecodeError) -> tuple[int, str]:
    """Where to mend a text that is no JSON, and how.

    Parameters
    ----------
    text : str
    error : json.JSONDecodeError
        What the parser said of it.

    Returns
    -------
    tuple
        Offset into the text, and a message.
    """
    at = error.pos
    here = text[at : at + 1]
    kind = error.msg.removesuffix(" at").removesuffix(" starting").split(":")[0] if "':'" not in error.msg else _COLON
    before = len(text[:at].rstrip())
    last = text[before - 1 : before]
    if kind in ("Unterminated string", "Invalid control character", "Invalid \\uXXXX escape", "Invalid \\escape"):
        return at, _in_a_text(here, kind)
    if not text[at:].strip():
        return at, f"the file ends too early: {_still_open(text[:at])}"
    if _COMMENT.match(text, at):
        return at, "JSON has no comments; write the remark under note"
    if here.isspace() or not here.isprintable():
        return at, f"the character U+{ord(here):04X} cannot stand here; was it saved as plain text in UTF-8?"
    if kind == "Expecting value" and not before:
        return at, f"a document begins with {{, and this one with {here}; is it a JSON file?"
    if kind == "Extra data":
        return at, "something follows the end of the document; is a bracket too many before it?"
    if kind == _COLON:
        return at, "a colon is missing between a member's name and its value"
    if here in "}]":
        return _before_a_bracket(text, at, before, last)
    if kind == _COMMA:
        return _after_a_value(text, at, before, last)
    if last == "," and here.isdigit() and re.search(r"\d\s*,$", text[:before]):
        return before - 1, "a decimal number is written with a point, not a comma"
    return at, _of_a_value(text, at, last, kind)


def _in_a_text(here: str, kind: str) -> str:
    """What is wrong within a text."""
    if kind == "Invalid \\uXXXX escape":
        return "\\u takes four hexadecimal digits"
    if kind == "Invalid \\escape":
        return "a backslash in a text is written twice: \\\\"
    if kind == "Unterminated string" or here in "\r\n":
        return _LINE_END
    if here == "\t":
        return "a tab in a text is written \\t"
    return f"a text holds the control character U+{ord(here):04X}; leave it out"


def _before_a_bracket(text: str, at: int, before: int, last: str) -> tuple[int, str]:
    """What is wrong where a bracket closes."""
    here = text[at]
    if last == ",":
        return before - 1, f"the comma before this {here} is one too many"
    opened = _open_before(text[:at])
    if opened and _CLOSING[opened[-1][0]] != here:
        mark, start = opened[-1]
        return at, f"the {mark} of line {_line(text, start)} is closed with {_CLOSING[mark]}, and here stands {here}"
    return at, f"a value is missing before this {here}"


def _after_a_value(text: str, at: int, before: int, last: str) -> tuple[int, str]:
    """What is wrong where a comma, or a bracket that closes, should stand."""
    here = text[at]
    word = _BARE_WORD.match(text, at)
    literal = word is not None and word.group() in _LITERALS
    if last.isdigit() and (before == at or (word and not literal)) and here not in '"{[:;':
        start = at - len(re.split(r"[\s,\[\]{}:\"]", text[:before])[-1]) - (at - before)
        return start, _of_a_number(re.split(r"[,\[\]{}:\"\n]", text[start : start + 60])[0].strip())
    if here == ":":
        opened = _open_before(text[:at])
        if opened and opened[-1][0] == "[":
            return at, "a list has no members with names; write them in { and }"
        return at, "this colon is one too many, or the quotes of a text before it are"
    if last == '"' and word and not literal:
        return before, 'a comma is missing here, or the quote before is one within a text, which is written \\"'
    if here in '"{[-' or here.isalnum():
        return before, "a comma is missing here"
    return at, f"a comma stands between members and entries, not {here}"


def _of_a_number(word: str) -> str:
    """What is wrong with a word that begins like a number."""
    unit = _WITH_UNIT.fullmatch(word)
    if _DATE.fullmatch(word):
        return f'a text stands in double quotes: "{word}"'
    if unit and not _EXPONENT.fullmatch(word):
        return f"a number stands without its unit: {unit.group(1)}"
    return f"{word} is no number as JSON writes it: no leading zero, digits on both sides of its point, nothing else"


def _of_a_value(text: str, at: int, last: str, kind: str) -> str:
    """What is wrong where a value, or a member's name, should begin."""
    here = text[at]
    word = _BARE_WORD.match(text, at)
    is_name = kind.startswith("Expecting property name")
    what = "a member's name" if is_name else "a text"
    if here in _QUOTES:
        return f"{what} stands in straight double quotes, not in {here}"
    if word and not is_name:
        return _of_a_word(word.group())
    if word or (is_name and here.isalnum()):
        name = re.split(r"[\s:,]", text[at : at + 60])[0]
        return f'{what} stands in double quotes: "{name}"'
    if here in ",:":
        return f"this {'comma' if here == ',' else 'colon'} is one too many, or a value is missing before it"
    if here in "+-" or re.match(r"\.[0-9]", text[at : at + 2]):
        return _NUMBER
    if is_name:
        return f"a member's name in double quotes should stand here, not {here}"
    return f"{here} cannot stand here; a value is a text in double quotes, a number, true, false, null, {{…}} or […]"


def _of_a_word(word: str) -> str:
    """What a bare word should have been."""
    lowered = word.lower()
    if lowered in _NO_NUMBERS:
        return f"{word} is not a number that JSON knows"
    meant = _WORDS.get(lowered) or next(iter(difflib.get_close_matches(lowered, _LITERALS, n=1, cutoff=0.8)), None)
    return f"{word} is written {meant}" if meant else f'a text stands in double quotes: "{word}"'


def _open_before(text: str) -> list[tuple[str, int]]:
    """Brackets that are open at the end of a text, and where they stand."""
    opened: list[tuple[str, int]] = []
    for match in _MARKS.finditer(text):
        mark = match.group()
        if mark in "{[":
            opened.append((mark, match.start()))
        elif mark in "}]" and opened:
            opened.pop()
    return opened


def _still_open(text: str) -> str:
    """What was opened and never closed, and where."""
    opened = _open_before(text)
    if not opened:
        return "something is missing at its end"
    mark, start = opened[-1]
    return f"the {mark} of line {_line(text, start)} is not closed"


def _line(text: str, offset: int) -> int:
    return text.count("\n", 0, offset) + 1
