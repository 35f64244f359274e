"""From the data of a policy to its lines, and its lines laid over those of the one it is based on."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Any, get_args, get_type_hints

from harnessdiff.model.policy_lines import LISTS, Line, Lines, key_of
from harnessdiff.read.json_text import load_document
from harnessdiff.read.structure import make
from harnessdiff.resources import shipped_policies

MAY_BE_LEFT_OUT = ("floors", "caps")


def lines_of(data: dict[str, Any]) -> Lines:
    """The lines that data holds, each at the place it has there; `data` is what the schema accepts."""
    lists: dict[str, Any] = {name: tuple(line_of(name, one) for one in data.get(name, ())) for name in LISTS}
    return Lines(**lists)


def line_of(name: str, entry: dict[str, Any]) -> Line:
    """One line of a list."""
    members = without_extras(entry)
    if "when" in members:
        members["when"] = sorted(members["when"].items())
    line: Line = make(_sorts()[name], members)
    return line


@cache
def _sorts() -> dict[str, type]:
    """What the lines of each list are."""
    return {name: get_args(hint)[0] for name, hint in get_type_hints(Lines).items()}


def without_extras(entry: dict[str, Any]) -> dict[str, Any]:
    """An entry without the members of one's own."""
    return {key: value for key, value in entry.items() if not key.startswith("x_")}


def laid_over(own: Lines, base: Lines, without: Iterable[str] = ()) -> Lines:
    """The lines that hold: of two with the same key that of `own`, and of `base` no floor or cap that is left out."""
    out = frozenset(without)
    found: dict[str, Any] = {}
    for name in LISTS:
        kept = (one for one in getattr(base, name) if name not in MAY_BE_LEFT_OUT or one.id not in out)
        found[name] = tuple({key_of(one): one for one in (*kept, *getattr(own, name))}.values())
    return Lines(**found)


@cache
def bases() -> frozenset[str]:
    """Names of the shipped policies that are based on none."""
    return frozenset(name for name, path in shipped_policies().items() if "based_on" not in load_document(path).data)


@cache
def shipped_lines(name: str) -> Lines:
    """The lines of a shipped policy that is based on none."""
    return lines_of(load_document(shipped_policies()[name]).data)
