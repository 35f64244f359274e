"""JSON text to data, strictly, with the place of every value at hand when something is wrong."""

from __future__ import annotations

import codecs
import hashlib
import json
import math
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from harnessdiff.errors import InputError, Problem

GREATEST_BYTES = 256 * 1024 * 1024
GREATEST_DEPTH = 100

_TOKEN = re.compile(r'[ \t\n\r]*(?:([{}\[\],:])|("(?:[^"\\]|\\.)*")|([^{}\[\],:"\s]+))', re.DOTALL)
_SURROGATE = re.compile(r"\\u[dD][89abAB]|\\u[dD][c-fC-F]")
GREATEST_DIGITS = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A document: its data, its text, where it came from, and the SHA-256 of its bytes."""

    source: str
    text: str
    data: Any
    sha256: str

    def problem(self, pointer: str, message: str) -> Problem:
        """A problem at the value that `pointer` names."""
        line, column = position(self.text, pointer)
        return Problem(source=self.source, message=message, line=line, column=column, pointer=pointer or "/")


def load_document(path: Path) -> Document:
    """Read a JSON file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Document

    Raises
    ------
    InputError
        If there is no such file, or it is no strict UTF-8 JSON within the bounds on size and depth.
    """
    source = str(path)
    try:
        if path.is_dir():
            _refuse(source, "is a folder; name the JSON file in it")
        if path.stat().st_size > GREATEST_BYTES:
            _refuse(source, f"is larger than {GREATEST_BYTES // 1024 // 1024} MiB")
        raw = path.read_bytes()
    except FileNotFoundError:
        _refuse(source, "there is no such file")
    except OSError as error:
        _refuse(source, f"cannot be read: {error.strerror or error}")
    return parse_document(raw, source)


def parse_document(raw: bytes, source: str) -> Document:
    """Parse bytes as strict JSON; raises as `load_document` does."""
    if not raw.strip():
        _refuse(source, "is empty")
    if raw.startswith((codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        _refuse(source, "begins with a byte-order mark; save it as UTF-8 without one")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        _refuse(source, f"is not UTF-8 (byte {error.start}); save it as UTF-8")
    data = _parse(text, source)
    if _SURROGATE.search(text) and _lone_surrogate(data):
        _refuse(source, "holds half of a two-part character (a lone surrogate)")
    if _depth_beyond(data, GREATEST_DEPTH):
        _refuse(source, f"is nested deeper than {GREATEST_DEPTH} levels")
    return Document(source=source, text=text, data=data, sha256=hashlib.sha256(raw).hexdigest())


def _parse(text: str, source: str) -> Any:
    duplicates: list[str] = []

    def pairs(members: list[tuple[str, Any]]) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for key, value in members:
            if key in found:
                duplicates.append(key)
            found[key] = value
        return found

    def constant(word: str) -> NoReturn:
        line, column = _place_of_number(text, lambda one: one == word)
        message = f"{word} is not a number that JSON knows"
        raise InputError((Problem(source=source, line=line, column=column, message=message),))

    def integer(digits: str) -> int:
        if len(digits) > GREATEST_DIGITS:
            too_large(digits)
        return int(digits)

    def real(digits: str) -> float:
        value = float(digits)
        if math.isinf(value):
            too_large(digits)
        return value

    def too_large(digits: str) -> NoReturn:
        line, column = _place_of_number(text, lambda one: one == digits)
        message = f"the number {digits[:40]}{'…' if len(digits) > 40 else ''} is too large"
        raise InputError((Problem(source=source, line=line, column=column, message=message),))

    try:
        data = json.loads(text, object_pairs_hook=pairs, parse_constant=constant, parse_int=integer, parse_float=real)
    except json.JSONDecodeError as error:
        raise InputError(
            (Problem(source=source, line=error.lineno, column=error.colno, message=f"not JSON: {error.msg}"),)
        ) from error
    except RecursionError as error:
        raise InputError((Problem(source=source, message="is nested too deeply"),)) from error
    if duplicates:
        name, line, column = _duplicate(text)
        message = f"the member {json.dumps(name)} stands twice in one object; keep one of them"
        raise InputError((Problem(source=source, line=line, column=column, message=message),))
    return data


def _depth_beyond(data: Any, most: int) -> bool:
    level = [data]
    for _ in range(most):
        level = [
            child
            for value in level
            if isinstance(value, (dict, list))
            for child in (value.values() if isinstance(value, dict) else value)
        ]
        if not level:
            return False
    return True


def position(text: str, pointer: str) -> tuple[int, int]:
    """Line and column, from 1, of the value that an RFC 6901 pointer names.

    Parameters
    ----------
    text : str
        Valid JSON.
    pointer : str
        The pointer; where it names a member that is not there, the place of its nearest parent.

    Returns
    -------
    tuple of int
        Line and column.
    """
    wanted = [part.replace("~1", "/").replace("~0", "~") for part in pointer.split("/")[1:]]
    return _line_and_column(text, _offset(text, wanted))


def _offset(text: str, wanted: list[str]) -> int:
    """Offset of the wanted value, or of the deepest parent that is there."""
    best, depth = 0, 0
    for path, start in _values(text):
        here = [str(part) for part in path]
        if len(here) >= depth and here == wanted[: len(here)]:
            best, depth = start, len(here)
            if depth == len(wanted):
                break
    return best


def _values(text: str) -> Iterator[tuple[list[str | int], int]]:
    """Every value of a JSON text in order: its path, and the offset where it starts.

    The path is the same list every time, changed in place.
    """
    path: list[str | int] = []
    at = 0
    expecting_key = False
    while match := _TOKEN.match(text, at):
        at = match.end()
        mark, string = match.group(1), match.group(2)
        if mark == ",":
            if isinstance(path[-1], int):
                path[-1] += 1
            else:
                expecting_key = True
        elif mark in ("}", "]"):
            path.pop()
            expecting_key = False
        elif expecting_key and string is not None:
            path[-1] = json.loads(string)
            expecting_key = False
        elif mark != ":":
            yield path, match.start(match.lastindex or 0)
            if mark == "{":
                path.append("")
                expecting_key = True
            elif mark == "[":
                path.append(0)


def _duplicate(text: str) -> tuple[str, int, int]:
    """The first member that stands in its object already: its name, and line and column of its value."""
    seen: set[tuple[str | int, ...]] = set()
    for path, start in _values(text):
        own = tuple(path)
        if own in seen:
            return (str(own[-1]), *_line_and_column(text, start))
        seen.add(own)
    return ("", 1, 1)


def _place_of_number(text: str, bad: Callable[[str], bool]) -> tuple[int, int]:
    """Line and column of the first bare word that `bad` is true of."""
    for _, start in _values(text):
        match = _TOKEN.match(text, start)
        if match and match.group(3) and bad(match.group(3)):
            return _line_and_column(text, start)
    return 1, 1


def _line_and_column(text: str, offset: int) -> tuple[int, int]:
    return text.count("\n", 0, offset) + 1, offset - text.rfind("\n", 0, offset)


def _lone_surrogate(value: Any) -> bool:
    """Whether a text holds half of a character that takes two."""
    if isinstance(value, str):
        return any("\ud800" <= character <= "\udfff" for character in value)
    if isinstance(value, dict):
        return any(_lone_surrogate(key) or _lone_surrogate(one) for key, one in value.items())
    return isinstance(value, list) and any(map(_lone_surrogate, value))


def _refuse(source: str, message: str) -> NoReturn:
    raise InputError((Problem(source=source, message=message),))
