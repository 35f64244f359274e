"""What a document is, and whether this program reads its version."""

from __future__ import annotations

from typing import Any

from harnessdiff.errors import InputError, Problem
from harnessdiff.read.json_text import Document
from harnessdiff.read.schema import did_you_mean, faults

FORMATS = {
    "harnessdiff reference": "reference",
    "harnessdiff survey": "survey",
    "harnessdiff findings": "findings",
}
MAJOR, MINOR = 1, 0


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
    if name not in FORMATS:
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
    problems = [
        document.problem(pointer, message)
        for pointer, message in faults(expected, document.data)
        if not (newer and message.startswith("no member "))
    ]
    refuse_if_any(problems)
    data: dict[str, Any] = document.data
    return data


def refuse_if_any(problems: list[Problem]) -> None:
    """Raise all problems together, in file order, if there are any."""
    if problems:
        raise InputError(tuple(sorted(problems, key=lambda one: (one.line or 0, one.column or 0, one.message))))


def _newer_minor(document: Document) -> bool:
    """Whether the document is of a newer minor version; a newer major one is refused."""
    version = document.data.get("version")
    parts = version.split(".") if isinstance(version, str) else []
    if len(parts) != 2 or not all(part.isascii() and part.isdigit() for part in parts):
        raise InputError((document.problem("/version", 'should be major.minor, such as "1.0"'),))
    major, minor = int(parts[0]), int(parts[1])
    if major != MAJOR:
        message = f"this program reads version {MAJOR}, and the document is of version {version}"
        raise InputError((document.problem("/version", message),))
    return minor > MINOR
