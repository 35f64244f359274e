"""What slip of the pen made a text no JSON, and what would be right."""

from __future__ import annotations

import json
import re

_OPENING = re.compile(r'"(?:[^"\\\n]|\\.)*"|[{}\[\]]')
_BARE_WORD = re.compile(r"[A-Za-z_][A-Za-z0-9_.-]*")
_WORDS = {"true": "true", "false": "false", "null": "null", "none": "null", "yes": "true", "no": "false"}


_COLON = "Expecting ':' delimiter"


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
    if not text[at:].strip() and kind != "Unterminated string":
        return at, f"the file ends too early: {_still_open(text[:at])}"
    if here in "/#" and here:
        return at, "JSON has no comments; write the remark under note"
    match kind:
        case "Unterminated string" | "Invalid control character":
            return (
                at,
                "a text runs on past the end of its line: its closing quote is missing, or write a new line as \\n",
            )
        case "Invalid \\uXXXX escape":
            return at, "\\u takes four hexadecimal digits"
        case "Invalid \\escape":
            return at, "a backslash in a text is written twice: \\\\"
        case "Expecting ',' delimiter" if before == at and last.isdigit() and (here.isalnum() or here == "."):
            return at, f"a number is not written with {here} here: no leading zero, a digit on both sides of its point"
        case "Expecting ',' delimiter" if here in '"{[' or here.isalnum() or here == "-":
            return before, "a comma is missing here"
        case "Expecting ':' delimiter":
            return at, "a colon is missing between a member's name and its value"
        case "Extra data":
            return at, "something follows the end of the document; is a bracket too many before it?"
        case _ if last == "," and here in "}]":
            return before - 1, f"the comma before this {here} is one too many"
        case _ if last == "," and here.isdigit() and re.search(r"\d\s*,$", text[:before]):
            return before - 1, "a decimal number is written with a point, not a comma"
    return at, _of_a_value(text, at, here, kind)


def _of_a_value(text: str, at: int, here: str, kind: str) -> str:
    """What is wrong where a value, or a member's name, should begin."""
    word = _BARE_WORD.match(text, at)
    what = "a member's name" if kind.startswith("Expecting property name") else "a text"
    if here in "'“”‘’" and here:
        return f"{what} stands in straight double quotes, not in {here}"
    if word and kind.startswith("Expecting value") and word.group().lower() in _WORDS:
        return f"{word.group()} is written {_WORDS[word.group().lower()]}"
    if word:
        return f'{what} stands in double quotes: "{word.group()}"'
    if here and here in "+.-":
        return "a number begins with a digit, or a minus and a digit: 0.5, not .5 or +0.5"
    if here and here in ",]}:":
        return f"a value is missing before this {here}"
    if kind.startswith("Expecting ',' delimiter"):
        return f"a number, or whatever stands before this {here}, is not written as JSON writes it"
    return f"{here!r} cannot stand here; was it saved as plain text in UTF-8?"


def _still_open(text: str) -> str:
    """What was opened and never closed, and where."""
    opened: list[tuple[str, int]] = []
    for match in _OPENING.finditer(text):
        mark = match.group()
        if mark in "{[":
            opened.append((mark, match.start()))
        elif mark in "}]" and opened:
            opened.pop()
    if not opened:
        return "something is missing at its end"
    mark, start = opened[-1]
    line = text.count("\n", 0, start) + 1
    return f"the {mark} of line {line} is not closed"
