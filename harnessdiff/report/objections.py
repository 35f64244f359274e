"""Objections to a reference, in words: for a person, and as rows for a machine."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from harnessdiff.describer import Describer
from harnessdiff.model.objection import Objection
from harnessdiff.model.reference import Reference
from harnessdiff.plain import plain
from harnessdiff.report.wrapping import wrapped
from harnessdiff.tables.loader import rows

ERROR, NOTE, GAP = "error", "note", "gap"
LEVELS = {ERROR: "cannot be", NOTE: "worth a look, or a waiver", GAP: "missing before it can be computed"}
STALE_WAIVER = "waiver_without_cause"
MOST_OF_A_RULE = 8
MOST_NAMES = 4
Places = Mapping[str, tuple[str, int, int]]
"""Element to its pointer, line and column in the file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A row of ``lint_rules.csv``."""

    rule: str
    level: str
    needed_for: tuple[str, ...]
    message: str
    mend: str
    source: str


@cache
def rules() -> dict[str, Rule]:
    """The rules of the lint by code."""
    return {
        row["rule"]: Rule(
            rule=row["rule"],
            level=row["level"],
            needed_for=tuple(row["needed_for"].split()),
            message=row["message"],
            mend=row["mend"],
            source=row["source"],
        )
        for row in rows("lint_rules")
    }


def open_errors(objections: tuple[Objection, ...]) -> tuple[Objection, ...]:
    """Those that cannot be, and that the reference does not waive."""
    return tuple(one for one in objections if rules()[one.rule].level == ERROR and one.waived is None)


def message_of(objection: Objection) -> str:
    """What is objected to, in words."""
    return _filled(rules()[objection.rule].message, objection)


def mend_of(objection: Objection) -> str:
    """What would be right, in words."""
    return _filled(rules()[objection.rule].mend, objection)


def waiver_of(objection: Objection) -> str:
    """The entry of ``as_built`` that would waive it."""
    return json.dumps({"element": objection.element, "rule": objection.rule, "because": "…"}, ensure_ascii=False)


def _filled(template: str, objection: Objection) -> str:
    return template.format_map({name: _as_written(value) for name, value in objection.fact.params})


def _as_written(value: object) -> str:
    """A value as it stands in the file: names and members must be found there, and typed, letter for letter."""
    if isinstance(value, tuple):
        more = f" and {len(value) - MOST_NAMES} more" if len(value) > MOST_NAMES else ""
        return ", ".join(map(str, value[:MOST_NAMES])) + more
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)


def objection_rows(objections: tuple[Objection, ...], places: Places) -> list[dict[str, Any]]:
    """Objections as rows for a machine, in the order given.

    Parameters
    ----------
    objections : tuple of Objection
    places : mapping
        Where each element stands in the file; empty where it came from none.

    Returns
    -------
    list of dict
    """
    found = []
    for one in objections:
        rule = rules()[one.rule]
        pointer, line, column = places.get(one.element, (None, None, None))
        found.append(
            {
                "rule": one.rule, "level": rule.level, "element": one.element, "message": message_of(one),
                "mend": mend_of(one), "needed_for": list(rule.needed_for), "source": rule.source, "waived": one.waived,
                "pointer": pointer, "line": line, "column": column,
            }
        )  # fmt: skip
    return found


def objection_list(
    reference: Reference, objections: tuple[Objection, ...], places: Places, *, everything: bool = False
) -> str:
    """Objections as a list that a person reads, errors first.

    Parameters
    ----------
    reference : Reference
    objections : tuple of Objection
    places : mapping
        As in `objection_rows`.
    everything : bool
        Also what is waived, and more than a few of each rule.

    Returns
    -------
    str
    """
    return "\n".join(_lines(reference, objections, places, everything=everything))


def _lines(
    reference: Reference, objections: tuple[Objection, ...], places: Places, *, everything: bool
) -> Iterator[str]:
    describer = Describer(reference, reference.harness)
    standing = [one for one in objections if one.waived is None]
    counts = Counter(rules()[one.rule].level for one in standing)
    waived = len(objections) - len(standing)
    yield (
        f"{reference.id}: {_count(counts[ERROR], 'error')}, {_count(counts[NOTE], 'note')}, "
        f"{_count(counts[GAP], 'gap')}; {waived} waived as built"
    )
    for level, meaning in LEVELS.items():
        of_level = [one for one in standing if rules()[one.rule].level == level]
        if of_level:
            yield ""
            yield f"{level.capitalize()}s ({meaning})"
            yield from _of_level(of_level, describer, places, everything=everything)
    if everything and waived:
        yield ""
        yield "Waived, as built"
        for one in objections:
            if one.waived is not None:
                yield from wrapped(f"  {describer.name(one.element)}: {message_of(one)}: {one.waived}", "      ")
    first = next((one for one in standing if _may_be_waived(one)), None)
    if first is not None:
        yield ""
        yield "What the maker built so goes under as_built, with the reason; for the first of these:"
        yield f"  {plain(waiver_of(first))}"


def _may_be_waived(objection: Objection) -> bool:
    """Whether a waiver is an answer: not to a gap, nor to a waiver."""
    return rules()[objection.rule].level != GAP and objection.rule != STALE_WAIVER


def _of_level(objections: list[Objection], describer: Describer, places: Places, *, everything: bool) -> Iterator[str]:
    by_rule: dict[str, list[Objection]] = {}
    for one in objections:
        by_rule.setdefault(one.rule, []).append(one)
    for rule, alike in by_rule.items():
        mends = list(dict.fromkeys(mend_of(one) for one in alike))
        gap = rules()[rule].level == GAP
        needed = rules()[rule].needed_for
        for one in alike if everything else alike[:MOST_OF_A_RULE]:
            _, line, column = places.get(one.element, ("", 0, 0))
            place = f"{line}:{column}: " if line else ""
            yield from wrapped(f"  {place}{describer.name(one.element)}: {message_of(one)}", "      ")
        if len(alike) > MOST_OF_A_RULE and not everything:
            yield f"  and {len(alike) - MOST_OF_A_RULE} more like it (--all lists them)"
        before = f" (before {' and '.join(needed)} can be told)" if needed else ""
        yield from wrapped(
            f"    {'add: ' if gap else 'mend: '}{(', ' if gap else '; or: ').join(mends)}{before}  [{rule}]",
            "        ",
        )


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
