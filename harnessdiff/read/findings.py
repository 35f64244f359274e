"""Reads a findings document: its schema, and whether its levels come of what it says counts."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from harnessdiff.model.rating import ACCEPTABLE, PROBABILITIES, level_rank
from harnessdiff.read.document import checked
from harnessdiff.read.json_text import Document
from harnessdiff.tables.loader import risk_matrix

Json = dict[str, Any]
DUST = 1e-6
"""Difference of two sums of weights that comes of adding binary fractions."""


def findings_of(document: Document) -> Json:
    """The data of a findings document whose every level follows from what it says.

    Parameters
    ----------
    document : Document

    Returns
    -------
    dict

    Raises
    ------
    InputError
        With every fault: of the schema, else of the arithmetic.
    """
    from harnessdiff.errors import InputError  # noqa: PLC0415 - only where something is wrong

    data = checked(document, "findings")
    wrong = list(_wrong(data))
    if wrong:
        raise InputError(tuple(document.problems(wrong)))
    return data


def _wrong(data: Json) -> Iterator[tuple[str, str]]:
    policy = data.get("policy", {})
    cuts = {one["probability"]: one["index"] for one in policy.get("cuts", ())}
    held = {one["id"]: one["level"] for one in policy.get("held", ())}
    for number, finding in enumerate(data["findings"]):
        mechanisms = finding.get("mechanisms", ())
        for place, one in enumerate(mechanisms):
            where = f"/findings/{number}/mechanisms/{place}"
            yield from ((where, f"{one['code']}: {message}") for message in _of_mechanism(one, cuts, held))
        levels = [one["level"] for one in mechanisms]
        worst = max(levels, key=level_rank, default=ACCEPTABLE)
        if finding.get("rated") is not False and finding["worst"] != worst:
            yield f"/findings/{number}/worst", f"the worst of its mechanisms is {worst}, not {finding['worst']}"


def _of_mechanism(one: Json, cuts: dict[str, float], held: dict[str, str]) -> Iterator[str]:
    total = math.fsum(part["counts"] for part in one["contributions"])
    if abs(total - one["index"]) > DUST:
        yield f"what contributes adds up to {total:g}, and the index says {one['index']:g}"
    reached = [letter for letter in PROBABILITIES if one["index"] >= cuts.get(letter, math.inf)]
    letter = reached[-1] if reached else PROBABILITIES[0]
    if cuts and letter != one["probability"]:
        yield f"an index of {one['index']:g} is {letter} by the cut points, not {one['probability']}"
    cell = risk_matrix()[one["severity"], one["probability"]]
    if cell != one["cell"]:
        yield f"{one['severity']} and {one['probability']} are {cell} by MIL-STD-882E Table III, not {one['cell']}"
    level = cell
    for cap in one.get("caps", ()):
        level = min(level, held.get(cap, level), key=level_rank)
    for floor in one.get("floors", ()):
        level = max(level, held.get(floor, level), key=level_rank)
    known = all(name in held for name in (*one.get("caps", ()), *one.get("floors", ())))
    if known and level != one["level"]:
        yield f"its caps and floors make it {level}, not {one['level']}"
