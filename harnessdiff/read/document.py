"""What a document is, and whether this program reads its version."""

from __future__ import annotations

from typing import Any

from harnessdiff.errors import InputError, Problem
from harnessdiff.read.json_text import Document
from harnessdiff.read.schema import UNKNOWN_MEMBER, did_you_mean, faults, pointer_to

FORMATS = {
    "harnessdiff reference": "reference",
    "harnessdiff survey": "survey",
    "harnessdiff findings": "findings",
}
MAJOR, MINOR = 1, 0
LONGEST_VERSION = 10


def format_of(document: Document) -> str:
    """Name of the schema that the document says it follows.

    Raises
    ------
    InputError
        If it does not say so, or says something else.
    """
    data = document.data
    if not isinstance(data, dict):
        raise InputError((document.problem("", 'should be an object with the member "format"'),))
    name = data.get("format")
    if not isinstance(name, str) or name not in FORMATS:
        hint = did_you_mean(name, FORMATS) if isinstance(name, str) else ""
        message = f'the member "format" should be one of: {", ".join(FORMATS)}{hint}'
        raise InputError((document.problem("/format", message),))
    return FORMATS[name]


def checked(document: Document, expected: str) -> dict[str, Any]:
    """The document's data, where it is what was expected and its schema accepts it.

    Parameters
    ----------
    document : Document
        What was read.
    expected : str
        Name of the schema it should follow.

    Returns
    -------
    dict

    Raises
    ------
    InputError
        With every problem, in file order.
    """
    found = format_of(document)
    if found != expected:
        message = f"is a {found}, where a {expected} is wanted"
        raise InputError((Problem(source=document.source, message=message),))
    newer = _newer_minor(document)
    wrong = faults(expected, document.data)
    unknown = [pointer for pointer, message in wrong if newer and message.startswith(UNKNOWN_MEMBER)]
    refuse_if_any([document.problem(pointer, message) for pointer, message in wrong if pointer not in unknown])
    data: dict[str, Any] = _without(document.data, set(unknown))
    return data


def passed_over(document: Document) -> tuple[Problem, ...]:
    """Members of a document of a newer minor version that this program does not know, and passes over."""
    if not _newer_minor(document):
        return ()
    return tuple(
        document.problem(pointer, "passed over: of a newer version than this program knows")
        for pointer, message in faults(format_of(document), document.data)
        if message.startswith(UNKNOWN_MEMBER)
    )


def _without(value: Any, pointers: set[str], here: str = "") -> Any:
    """The data without the members that the pointers name."""
    if not pointers:
        return value
    if isinstance(value, dict):
        own = {key: f"{here}{pointer_to([key])}" for key in value}
        return {key: _without(one, pointers, own[key]) for key, one in value.items() if own[key] not in pointers}
    if isinstance(value, list):
        return [_without(one, pointers, f"{here}/{number}") for number, one in enumerate(value)]
    return value


def refuse_if_any(problems: list[Problem]) -> None:
    """Raise all problems together, in file order, if there are any."""
    if problems:
        raise InputError(tuple(sorted(problems, key=lambda one: (one.line or 0, one.column or 0, one.message))))


def _newer_minor(document: Document) -> bool:
    """Whether the document is of a newer minor version; a newer major one is refused."""
    version = document.data.get("version")
    parts = version.split(".") if isinstance(version, str) and len(version) <= LONGEST_VERSION else []
    if len(parts) != 2 or not all(part.isascii() and part.isdigit() for part in parts):
        raise InputError((document.problem("/version", 'should be major.minor, such as "1.0"'),))
    major, minor = int(parts[0]), int(parts[1])
    if major != MAJOR:
        message = f"this program reads version {MAJOR}, and the document is of version {version}"
        raise InputError((document.problem("/version", message),))
    return minor > MINOR
