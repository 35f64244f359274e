"""What a document is, and whether this program reads its version."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from harnessdiff.errors import InputError, Problem
from harnessdiff.read.json_text import Document
from harnessdiff.read.normalise import normalised
from harnessdiff.read.older import brought_up
from harnessdiff.read.schema import MOST_EXPLAINED, UNKNOWN_MEMBER, did_you_mean, faults
from harnessdiff.read.sound_part import sound_part

FORMATS = {
    "harnessdiff reference": "reference",
    "harnessdiff survey": "survey",
    "harnessdiff findings": "findings",
    "harnessdiff policy": "policy",
}
MAJOR = 1
MINORS = {"reference": 0, "survey": 0, "findings": 1, "policy": 0}
"""Minor version that is written of each."""
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


Sense = Callable[[dict[str, Any]], Iterable[tuple[str, str]]]


def checked(document: Document, expected: str, sense: Sense | None = None) -> dict[str, Any]:
    """The document's data, where it is what was expected, its schema accepts it, and it makes sense.

    Where the schema refuses something, sense is looked for in the rest all the same, so that
    every problem is told at once; what speaks of something refused is not told then.

    Parameters
    ----------
    document : Document
        What was read.
    expected : str
        Name of the schema it should follow.
    sense : callable, optional
        What does not make sense in data with plain quantities and colours, as pointer and message;
        without it the data is handed on as it was written.

    Returns
    -------
    dict
        With numbers in the unit of their names and colours in IEC 60757 letters, where `sense` was given.

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
    document = brought_up(document)
    refused = faults(expected, document.data, None if newer else MOST_EXPLAINED)
    unknown = {pointer for pointer, message in refused if newer and message.startswith(UNKNOWN_MEMBER)}
    wrong = [(pointer, message) for pointer, message in refused if pointer not in unknown]
    beyond = not newer and len(refused) >= MOST_EXPLAINED
    part = None if beyond else sound_part(expected, document.data, (pointer for pointer, _ in refused))
    if part is None or sense is None:
        _raise_if_any(document, wrong, beyond=beyond)
        assert part is not None
        return part.data
    normal, unlike = normalised(part.data, part.data.get("colour_system", "IEC 60757"))
    senseless = [
        (part.original(pointer), message)
        for pointer, message in (*unlike, *sense(normal))
        if not part.told_by_loss(pointer, message)
    ]
    _raise_if_any(document, [*wrong, *senseless])
    data: dict[str, Any] = normal
    return data


def passed_over(document: Document) -> tuple[Problem, ...]:
    """Members of a document of a newer minor version that this program does not know, and passes over."""
    if not _newer_minor(document):
        return ()
    return tuple(
        document.problems(
            (pointer, "passed over: of a newer version than this program knows")
            for pointer, message in faults(format_of(document), document.data)
            if message.startswith(UNKNOWN_MEMBER)
        )
    )


def _raise_if_any(document: Document, wrong: list[tuple[str, str]], *, beyond: bool = False) -> None:
    if wrong:
        more = Problem(source=document.source, message="more may be wrong than is told here; mend this first")
        raise InputError((*document.problems(wrong), *[more] * beyond))


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
    return minor > MINORS[format_of(document)]
