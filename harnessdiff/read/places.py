"""Where the elements of a reference stand in its file."""

from __future__ import annotations

from collections.abc import Iterable

from harnessdiff.read.harness import LISTS
from harnessdiff.read.json_text import Document, positions


def places_of(document: Document, elements: Iterable[str]) -> dict[str, tuple[str, int, int]]:
    """Pointer, line and column of elements.

    Parameters
    ----------
    document : Document
        A reference that can be used.
    elements : iterable of str
        Ids; a terminal stands where its device stands.

    Returns
    -------
    dict
        Without those that have no place of their own.
    """
    pointers = {
        entry["id"]: f"/{member}/{number}"
        for member in (*LISTS, "options")
        for number, entry in enumerate(document.data.get(member, ()))
    }
    wanted = {
        element: pointers[name]
        for element in elements
        for name in (element, element.rsplit(":", 1)[0])
        if name in pointers
    }
    found = positions(document.text, set(wanted.values()))
    return {element: (pointer, *found[pointer]) for element, pointer in wanted.items()}
