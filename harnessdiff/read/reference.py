"""Reads a reference harness."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from harnessdiff.model.quantity import Quantity
from harnessdiff.model.reference import Circuit, Condition, Option, Reference, Vehicle, Waiver
from harnessdiff.read.document import checked, passed_over
from harnessdiff.read.harness import Names, condition_faults, harness_faults, harness_of, known, twice
from harnessdiff.read.json_text import Document, load_document
from harnessdiff.read.structure import extras, make


def read_reference(path: Path) -> Reference:
    """Read a reference harness from a JSON file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Reference

    Raises
    ------
    InputError
        With every problem found, in file order.
    """
    return reference_of(load_document(path))


def reference_of(document: Document) -> Reference:
    """Make a reference of a parsed document; raises as `read_reference` does."""
    data = checked(document, "reference", _sense)
    return Reference(
        id=data["id"],
        title=data["title"],
        extent=data["extent"],
        version=data["version"],
        harness=harness_of(data),
        invented=data.get("invented", False),
        vehicle=make(Vehicle, data.get("vehicle", {})),
        relay_terminals=data.get("relay_terminals", "everyday"),
        unmodelled_rest_A=make(Quantity, data.get("unmodelled_rest_A")),
        options=make(tuple[Option, ...], data.get("options", ())),
        circuits=make(tuple[Circuit, ...], data["circuits"]),
        conditions=make(tuple[Condition, ...], data.get("conditions", ())),
        as_built=make(tuple[Waiver, ...], data.get("as_built", ())),
        origin=data.get("origin"),
        licence=data.get("licence"),
        note=data.get("note"),
        extra=extras(data),
        sha256=document.sha256,
        warnings=passed_over(document),
    )


def _sense(data: dict[str, Any]) -> Iterator[tuple[str, str]]:
    names = Names(data)
    yield from harness_faults(data, names)
    yield from condition_faults(data.get("conditions", ()), _positions(data), names)
    for member in ("conditions", "options"):
        yield from twice(data.get(member, ()), f"/{member}")
    waivable = names.elements | names.circuits | names.options | {data["id"]}
    for number, waiver in enumerate(data.get("as_built", ())):
        yield from known(waiver, "element", waivable, f"/as_built/{number}", "element")
    for member in ("devices", "splices", "wires", "conditions"):
        for number, entry in enumerate(data.get(member, ())):
            for place, option in enumerate(entry.get("option", ())):
                pointer = f"/{member}/{number}/option/{place}"
                word = {"option": option.removeprefix("not:")}
                yield from known(word, "option", names.options, pointer, "option", at="")


def _positions(data: dict[str, Any]) -> dict[str, set[str]]:
    return {entry["id"]: set(entry.get("positions", ())) for entry in data.get("devices", ())}
