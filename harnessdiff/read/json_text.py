"""JSON text to data, strictly, with the place of every value at hand when something is wrong."""

from __future__ import annotations

import bisect
import codecs
import hashlib
import json
import math
import re
import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from json.decoder import scanstring  # type: ignore[attr-defined]
from pathlib import Path
from typing import Any, NoReturn

from harnessdiff.errors import InputError, Problem, in_file_order
from harnessdiff.read.json_slips import slip

GREATEST_BYTES = 256 * 1024 * 1024
GREATEST_DEPTH = 100
STANDARD_INPUT = "-"

_TOKEN = re.compile(r'[ \t\n\r]*(?:([{}\[\],:])|("(?:[^"\\]|\\.)*")|([^{}\[\],:"\s]+))', re.DOTALL)
_NUMBER = re.compile(r"NaN|-?Infinity|-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?")
_SURROGATE = re.compile(r"\\u[dD][89abAB]|\\u[dD][c-fC-F]")
GREATEST_DIGITS = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A document: its data, its text, where it came from, and the SHA-256 of its bytes.

    `folder` is the one that its file lies in, None where it came from no file.
    """

    source: str
    text: str
    data: Any
    sha256: str
    folder: Path | None = None

    def problem(self, pointer: str, message: str) -> Problem:
        """A problem at the value that `pointer` names."""
        return self.problems(((pointer, message),))[0]

    def problems(self, faults: Iterable[tuple[str, str]]) -> list[Problem]:
        """Problems at the values that pointers name, in file order.

        Parameters
        ----------
        faults : iterable of tuple
            Pointer and message.
        """
        faults = list(dict.fromkeys(faults))
        places = positions(self.text, {pointer for pointer, _ in faults})
        found = []
        for pointer, message in faults:
            line, column = places[pointer]
            found.append(Problem(source=self.source, message=message, line=line, column=column, pointer=pointer or "/"))
        return list(in_file_order(found))


def load_document(path: Path) -> Document:
    """Read a JSON file.

    Parameters
    ----------
    path : Path
        The file; ``-`` is standard input.

    Returns
    -------
    Document

    Raises
    ------
    InputError
        If there is no such file, or it is no strict UTF-8 JSON within the bounds on size and depth.
    """
    if str(path) == STANDARD_INPUT:
        return parse_document(sys.stdin.buffer.read(GREATEST_BYTES + 1), "standard input")
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
    return replace(parse_document(raw, source), folder=path.parent)


def parse_document(raw: bytes, source: str) -> Document:
    """Parse bytes as strict JSON; raises as `load_document` does."""
    if len(raw) > GREATEST_BYTES:
        _refuse(source, f"is larger than {GREATEST_BYTES // 1024 // 1024} MiB")
    if not raw.strip():
        _refuse(source, "is empty")
    if raw.startswith((codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE, codecs.BOM_UTF32_BE)):
        _refuse(source, "begins with a byte-order mark; save it as UTF-8 without one")
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line, column = _line_and_column(raw[: error.start].decode("utf-8"), error.start)
        message = "is not UTF-8 from here on; save it as UTF-8"
        raise InputError((Problem(source=source, line=line, column=column, message=message),)) from error
    data = _parse(text, source)
    if _SURROGATE.search(text) and _lone_surrogate(data):
        _refuse(source, "holds half of a two-part character (a lone surrogate)")
    if _depth_beyond(data, GREATEST_DEPTH):
        _refuse(source, f"is nested deeper than {GREATEST_DEPTH} levels")
    return Document(source=source, text=text, data=data, sha256=hashlib.sha256(raw).hexdigest())


def _parse(text: str, source: str) -> Any:
    duplicates = False

    def pairs(members: list[tuple[str, Any]]) -> dict[str, Any]:
        nonlocal duplicates
        found = dict(members)
        duplicates = duplicates or len(found) < len(members)
        return found

    def constant(word: str) -> NoReturn:
        line, column = _place_of_number(text, word)
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
        line, column = _place_of_number(text, digits)
        message = f"the number {digits[:40]}{'…' if len(digits) > 40 else ''} is too large"
        raise InputError((Problem(source=source, line=line, column=column, message=message),))

    try:
        data = json.loads(text, object_pairs_hook=pairs, parse_constant=constant, parse_int=integer, parse_float=real)
    except json.JSONDecodeError as error:
        offset, words = slip(text, error)
        line, column = _line_and_column(text, offset)
        problem = Problem(source=source, line=line, column=column, message=f"not JSON: {words}")
        raise InputError((problem,)) from error
    except RecursionError as error:
        raise InputError((Problem(source=source, message="is nested too deeply"),)) from error
    if duplicates:
        raise InputError(tuple(_duplicates(text, source)))
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
    return positions(text, (pointer,))[pointer]


def positions(text: str, pointers: Iterable[str]) -> dict[str, tuple[int, int]]:
    """Line and column of many values, found in one walk that passes over everything else.

    Parameters
    ----------
    text : str
        Valid JSON.
    pointers : iterable of str
        RFC 6901 pointers.

    Returns
    -------
    dict
        Pointer to line and column, as `position` gives them.
    """
    wanted: _Wanted = _Wanted()
    offsets: dict[str, int] = {}
    for pointer in pointers:
        node = wanted
        for part in pointer.split("/")[1:]:
            node = node.below.setdefault(part.replace("~1", "/").replace("~0", "~"), _Wanted())
        node.pointers.append(pointer)
    _locate(text, _SPACE.match(text, 0).end(), wanted, offsets)  # type: ignore[union-attr]
    starts = [0, *(match.end() for match in re.finditer("\n", text))]
    found = {}
    for pointer, offset in offsets.items():
        line = bisect.bisect_right(starts, offset)
        found[pointer] = (line, offset - starts[line - 1] + 1)
    return found


class _Wanted:
    """What is looked for below a value: pointers that name it, and members to go on with."""

    __slots__ = ("below", "pointers")

    def __init__(self) -> None:
        self.below: dict[str, _Wanted] = {}
        self.pointers: list[str] = []

    def all(self) -> Iterator[str]:
        """Every pointer that names the value or something below it."""
        yield from self.pointers
        for node in self.below.values():
            yield from node.all()


_SPACE = re.compile(r"[ \t\n\r]*")
_SKIP = json.JSONDecoder()


def _locate(text: str, at: int, wanted: _Wanted, offsets: dict[str, int]) -> int:
    """Note the offsets of wanted values within the value at `at`; returns the offset behind it."""
    offsets.update(dict.fromkeys(wanted.all(), at))
    if not wanted.below or text[at] not in "{[":
        return _SKIP.raw_decode(text, at)[1]
    closing = "}" if text[at] == "{" else "]"
    number = 0
    at = _after_space(text, at + 1)
    while text[at] != closing:
        if closing == "}":
            key, at = scanstring(text, at + 1, True)
            at = _after_space(text, _after_space(text, at) + 1)
        else:
            key = str(number)
            number += 1
        below = wanted.below.get(key)
        at = _SKIP.raw_decode(text, at)[1] if below is None else _locate(text, at, below, offsets)
        at = _after_space(text, at)
        if text[at] == ",":
            at = _after_space(text, at + 1)
    return at + 1


def _after_space(text: str, at: int) -> int:
    return _SPACE.match(text, at).end()  # type: ignore[union-attr]


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


def _duplicates(text: str, source: str) -> Iterator[Problem]:
    """Every member that stands in its object already."""
    seen: set[tuple[str | int, ...]] = set()
    again: set[tuple[str | int, ...]] = set()
    for path, start in _values(text):
        own = tuple(path)
        if own in seen and not any(own[:depth] in again for depth in range(1, len(own))):
            again.add(own)
            line, column = _line_and_column(text, start)
            message = f"the member {json.dumps(str(own[-1]))} stands twice in one object; keep one of them"
            yield Problem(source=source, line=line, column=column, message=message)
        seen.add(own)


def _place_of_number(text: str, word: str) -> tuple[int, int]:
    """Line and column of the first number that is written so; what follows it may be anything."""
    for _, start in _values(text):
        match = _NUMBER.match(text, start)
        if match and match.group() == word:
            return _line_and_column(text, start)
    return 1, 1


def _line_and_column(text: str, offset: int) -> tuple[int, int]:
    offset = min(offset, len(text))
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
