"""Loads, relays and sources by conditions, as a table for a person or data for a program."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from harnessdiff.report.condition_rows import Row, refusals_of, rounded
from harnessdiff.report.solved import Solved, standing_words
from harnessdiff.report.wrapping import WIDTH
from harnessdiff.words import bare

LABEL = 37
CELL = 9
LEGEND = (
    "on, dim, glow (lamps) or low (others) with the volts across it; rev: fed backwards; rest: draws its",
    "rest current; no feed: wants one, gets none; idle: not asked for; cut out: off for want of voltage;",
    "gives in: more than its supply can carry; -: off; in: pulled in; (in): only once triggered.",
)
BOTH_LEGEND = (
    "First line the reference, second (*) as found where it differs; + added; gone: not there any more.\n"
    "Volts are marked where they fall by half a volt more than those of the battery do."
)
SILENT = frozenset({"-", "idle", "0 A"})
TITLES = {
    "current": "gives (below 0: is charged)",
    "volts": "volts at its posts",
    "load": "load",
    "relay": "relay or solenoid",
}


def table_rows(solved: Solved, rows: tuple[Row, ...]) -> dict[str, Any]:
    """The table for machines."""

    def side(cells: Mapping[str, dict[str, Any]] | None) -> dict[str, Any] | None:
        if cells is None:
            return None
        return {one: {name: value for name, value in facts.items() if name != "cell"} for one, facts in cells.items()}

    return {
        "reference": solved.reference.id,
        "conditions": [
            {
                "id": one.id,
                "name": one.name,
                "refusal": one.refusal,
                "notes": list(standing_words(solved.now[one.id])),
            }
            for one in solved.conditions
        ],
        "must_stay_dead": [
            {"condition": one.condition, "device": one.device, "reference_live_V": rounded(one.before_V)}
            | ({} if solved.after is None else {"as_found_live_V": rounded(one.after_V)})
            for one in refusals_of(solved)
        ],
        "rows": [
            {"sort": row.sort, "device": row.device, "terminals": list(row.terminals), "words": row.words,
             "reference": side(row.before)}
            | ({} if solved.after is None else {"as_found": side(row.after), "differs_in": [
                one.id for one in solved.conditions if one.id in row.differs]})
            for row in rows
        ],
    }  # fmt: skip


def table_text(solved: Solved, rows: tuple[Row, ...], *, everything: bool) -> str:
    """The table for a person: alarms, the conditions by number, then blocks of columns.

    Parameters
    ----------
    solved : Solved
    rows : tuple of Row
    everything : bool
        Also what does not differ from the reference.

    Returns
    -------
    str
    """
    numbers = {one.id: number for number, one in enumerate(solved.conditions, start=1)}
    lines = [*_alarms(solved, numbers), *_heads(solved, numbers), "", *LEGEND]
    lines += [BOTH_LEGEND] if solved.after is not None else []
    count = len(solved.conditions)
    blocks = -(-count // ((WIDTH - LABEL) // CELL))
    each = -(-count // blocks)
    everything = everything or solved.after is None
    for start in range(0, count, each):
        some = tuple(numbers)[start : start + each]
        lines += ["", *_block(solved, rows, numbers, some, everything=everything)]
    if not everything:
        lines += _silent(rows)
    return "\n".join(lines)


def _silent(rows: tuple[Row, ...]) -> list[str]:
    """What a table of differences does not show: new and gone things that never work, or that there is nothing."""
    found = []
    for words, side in (("added, but off in all of these", 0), ("gone, and off in all of these", 1)):
        names = [f"{bare(row.device)} {'/'.join(row.terminals)}" for row in rows
                 if (row.before, row.after)[side] is None
                 and all(one["cell"] in SILENT for one in ((row.before or row.after) or {}).values())]  # fmt: skip
        found += [f"{words}: {', '.join(dict.fromkeys(names))}"] if names else []
    if not any(row.differs for row in rows if row.sort in ("load", "relay")):
        found.append("no load and no relay does anything else than on the reference")
    return ["", *found] if found else []


def _alarms(solved: Solved, numbers: Mapping[str, int]) -> list[str]:
    found = []
    for one in refusals_of(solved):
        if one.after_V is not None:
            where = (
                "" if solved.after is None else ", as found" if one.before_V is None else ", already on the reference"
            )
            found.append(
                f"!! MUST STAY DEAD, BUT IS LIVE: {solved.describer.name(one.device)} "
                f"in {numbers[one.condition]} {one.condition}, {one.after_V:.1f} V{where}"
            )
    return [*found, ""] if found else []


def _heads(solved: Solved, numbers: Mapping[str, int]) -> list[str]:
    widest = max(len(one.id) for one in solved.conditions)
    lines = []
    for one in solved.conditions:
        dead = [bare(device) for device in one.must_stay_dead]
        refusal = f" · REFUSAL: {', '.join(dead)} must stay dead" if dead else " · REFUSAL" if one.refusal else ""
        lines.append(f"{numbers[one.id]:>3} {one.id:<{widest}}  {one.name}{refusal}")
        lines += [f"    {'':<{widest}}  {note}" for note in standing_words(solved.now[one.id])]
    return lines


def _block(
    solved: Solved,
    rows: tuple[Row, ...],
    numbers: Mapping[str, int],
    conditions: tuple[str, ...],
    *,
    everything: bool,
) -> Iterator[str]:
    """Some conditions side by side, for the rows that have something to say in them."""
    must = {(one.device, one.condition) for one in refusals_of(solved) if one.after_V is not None}
    label = WIDTH - CELL * len(conditions)
    for sort, title in TITLES.items():
        of_sort = [row for row in rows if row.sort == sort and (everything or _speaks(row, conditions))]
        if not of_sort:
            continue
        yield f"{title:<{label}}" + "".join(f"{numbers[one]:<{CELL}}" for one in conditions).rstrip()
        for row in of_sort:
            loud = {one: "!" if (row.device, one) in must else "" for one in conditions}
            words = cut(row.words, label - 1)
            if row.before is None or row.after is None:
                mark = "" if solved.after is None else "+ " if row.before is None else "gone: "
                words = cut(mark + row.words, label - 1)
            there = row.before or row.after or {}
            first = [there[one]["cell"] for one in conditions]
            second = [loud[one] + _found(row, one) for one in conditions]
            if row.before is None or solved.after is None:
                first, second = [loud[one] + cell for one, cell in zip(conditions, first, strict=True)], []
            yield f"{words:<{label}}{_cells(first)}".rstrip()
            if any(second):
                yield f"{'':<{label}}{_cells(second)}".rstrip()


def _speaks(row: Row, conditions: tuple[str, ...]) -> bool:
    """Whether a row of a table of differences is shown in a block: it differs there, or is new or gone and works."""
    if row.sort in ("current", "volts"):
        return True
    if row.before is not None and row.after is not None:
        return bool(row.differs & set(conditions))
    there = row.before or row.after or {}
    return any(there[one]["cell"] not in SILENT for one in conditions)


def _found(row: Row, condition: str) -> str:
    if row.after is None or condition not in row.differs:
        return ""
    return f"{row.after[condition]['cell']}*"


def _cells(cells: list[str]) -> str:
    return "".join(f"{cell:<{CELL}}" for cell in cells)


def cut(text: str, width: int) -> str:
    """A text that is at most so wide."""
    return text if len(text) <= width else f"{text[: width - 1]}…"
