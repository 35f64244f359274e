"""What is left of a document when everything that its schema refuses is taken out.

So that sense can be looked for in the rest, and every problem is told at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from harnessdiff.read.schema import accepts, faults, pointer_to

MOST_ROUNDS = 6


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
    """

    data: dict[str, Any]
    kept: dict[str, tuple[int, ...]] = field(default_factory=dict)
    out: frozenset[str] = frozenset()
    lost: frozenset[str] = frozenset()

    def original(self, pointer: str) -> str:
        """Pointer in the document of what `pointer` names in the data."""
        found = ""
        for part in pointer.split("/")[1:]:
            numbers = self.kept.get(found)
            found += f"/{numbers[int(part)] if numbers and part.isdigit() and int(part) < len(numbers) else part}"
        return found

    def value_at(self, pointer: str) -> Any:
        """The value that `pointer` names in the data, None where there is none."""
        value: Any = self.data
        for part in pointer.split("/")[1:]:
            name = part.replace("~1", "/").replace("~0", "~")
            if isinstance(value, dict):
                value = value.get(name)
            elif isinstance(value, list) and name.isdigit() and int(name) < len(value):
                value = value[int(name)]
            else:
                return None
        return value

    def told_by_loss(self, pointer: str) -> bool:
        """Whether what is said of a value in the data may come of what was taken out alone.

        That is so where the value lacks something that was in it, and where it names something
        that was taken out.
        """
        inside = f"{self.original(pointer)}/"
        word = self.value_at(pointer)
        names = (word, word.rsplit(":", 1)[0]) if isinstance(word, str) else ()
        return any(one.startswith(inside) for one in self.out) or any(name in self.lost for name in names)


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
        part = SoundPart(data=_without(data, out, "", kept, lost), kept=kept, out=frozenset(out), lost=frozenset(lost))
        if accepts(name, part.data):
            return part
        again = {part.original(pointer) for pointer, _ in faults(name, part.data)}
        out |= {pointer.rpartition("/")[0] if pointer in out else pointer for pointer in again}
    return None


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
