"""What is left of a document when everything that its schema refuses is taken out.

So that sense can be looked for in the rest, and every problem is told at once.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from harnessdiff.read.schema import accepts, faults, pointer_to

MOST_ROUNDS = 6
_MADE_IN = (
    ("there is no zone ", ("zones",)),
    ("there is no circuit ", ("circuits",)),
    ("there is no condition ", ("conditions",)),
    ("there is no option ", ("options",)),
    ("there is no element ", ("zones", "circuits", "devices", "splices", "wires")),
    ("there is no ", ("devices", "splices")),
    ("the survey has no visit ", ("visits",)),
    ("the survey has no reading ", ("readings",)),
    ("the survey has no photograph ", ("photographs",)),
    ("the survey has no observation ", ("observations", "readings")),
    ("the survey has no ", ("observations",)),
    ("the reference has no element", ("observations",)),
    ("the reference has no condition ", ("conditions",)),
)
"""How messages begin that say of a name that nothing bears it, and the lists that could have made it."""
_MAKERS = frozenset({"id", "terminals", "positions", "seat", "cores"})


@dataclass(frozen=True, kw_only=True)
class SoundPart:
    """Data that the schema accepts, and how it came from the document's.

    Parameters
    ----------
    data : dict
    kept : dict
        Pointer of a list in the document to the numbers of its entries that are left.
    out : frozenset of str
        Pointers in the document of what was taken out.
    lost : frozenset of str
        Every text that stood in it.
    unnamed : frozenset of str
        Lists of which something was taken out that makes names, and does not say which.
    """

    data: dict[str, Any]
    kept: dict[str, tuple[int, ...]] = field(default_factory=dict)
    out: frozenset[str] = frozenset()
    lost: frozenset[str] = frozenset()
    unnamed: frozenset[str] = frozenset()

    def original(self, pointer: str) -> str:
        """Pointer in the document of what `pointer` names in the data."""
        found = ""
        for part in pointer.split("/")[1:]:
            numbers = self.kept.get(found)
            found += f"/{numbers[int(part)] if numbers and part.isdigit() and int(part) < len(numbers) else part}"
        return found

    def value_at(self, pointer: str) -> Any:
        """The value that `pointer` names in the data, None where there is none."""
        return _at(self.data, pointer)

    def told_by_loss(self, pointer: str, message: str) -> bool:
        """Whether what is said of a value in the data may come of what was taken out alone.

        That is so where the value lacks something that was in it, where it names something that was
        taken out, and where it names what one that lost its own name may have borne.
        """
        inside = f"{self.original(pointer)}/"
        word = self.value_at(pointer)
        names = (word, re.split(r"[:.]", word)[0]) if isinstance(word, str) else ()
        makers = next((lists for opening, lists in _MADE_IN if message.startswith(opening)), ())
        return (
            any(one.startswith(inside) for one in self.out)
            or any(name in self.lost for name in names)
            or not self.unnamed.isdisjoint(makers)
        )


def sound_part(name: str, data: dict[str, Any], pointers: Iterable[str]) -> SoundPart | None:
    """Take out what a schema refuses, and more around it where that is not enough.

    Parameters
    ----------
    name : str
        Name of the schema.
    data : dict
    pointers : iterable of str
        What is refused.

    Returns
    -------
    SoundPart or None
        None where nothing sound is left.
    """
    out = set(pointers)
    for _ in range(MOST_ROUNDS):
        if "" in out:
            return None
        kept: dict[str, tuple[int, ...]] = {}
        lost: set[str] = set()
        lost |= set(_addresses(data, out))
        left = _without(data, out, "", kept, lost)
        unnamed = frozenset(_unnamed(data, out))
        part = SoundPart(data=left, kept=kept, out=frozenset(out), lost=frozenset(lost), unnamed=unnamed)
        if accepts(name, part.data):
            return part
        again = {part.original(pointer) for pointer, _ in faults(name, part.data)}
        out |= {pointer.rpartition("/")[0] if pointer in out else pointer for pointer in again}
    return None


def _unnamed(data: dict[str, Any], out: set[str]) -> Iterator[str]:
    """Lists of which something is out that makes names, unless it says itself which."""
    for pointer in out:
        path = pointer.removeprefix("/as_found").split("/")[1:]
        value = _at(data, pointer)
        entry_without_id = not (isinstance(value, dict) and isinstance(value.get("id"), str))
        if path and (
            (len(path) == 1 and not isinstance(value, list))
            or (len(path) == 2 and entry_without_id)
            or (len(path) > 2 and path[2] in _MAKERS)
        ):
            yield path[0]


def _addresses(data: dict[str, Any], out: set[str]) -> Iterator[str]:
    """Terminals and cores as they are addressed, of what is out because its own name is wrong."""
    for pointer in out:
        around, value = _at(data, pointer.rpartition("/")[0]), _at(data, pointer)
        own = around.get("id") if isinstance(around, dict) else None
        if isinstance(own, str) and isinstance(value, list):
            yield from (f"{own}:{text}" for text in _texts(value))
            yield from (f"{own}.{number}" for number in range(1, len(value) + 1))


def _at(data: Any, pointer: str) -> Any:
    """The value that a pointer names, None where there is none."""
    value = data
    for part in pointer.split("/")[1:]:
        name = part.replace("~1", "/").replace("~0", "~")
        if isinstance(value, dict):
            value = value.get(name)
        elif isinstance(value, list) and name.isdecimal() and int(name) < len(value):
            value = value[int(name)]
        else:
            return None
    return value


def _without(value: Any, out: set[str], here: str, kept: dict[str, tuple[int, ...]], lost: set[str]) -> Any:
    if isinstance(value, dict):
        found = {}
        for key, one in value.items():
            pointer = here + pointer_to([key])
            if pointer in out:
                lost.update(_texts(one))
            else:
                found[key] = _without(one, out, pointer, kept, lost)
        return found
    if isinstance(value, list):
        numbers = tuple(number for number in range(len(value)) if f"{here}/{number}" not in out)
        if len(numbers) < len(value):
            kept[here] = numbers
            lost.update(text for number in set(range(len(value))) - set(numbers) for text in _texts(value[number]))
        return [_without(value[number], out, f"{here}/{number}", kept, lost) for number in numbers]
    return value


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from _texts(one)
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one)
