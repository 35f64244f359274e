"""A way of the current as a list for a person or rows for a program, with the reference's figures beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.way import Ways
from harnessdiff.errors import InputError
from harnessdiff.model.harness import Harness, is_added
from harnessdiff.report.condition_rows import ampere_words, currents_differ, rounded
from harnessdiff.report.condition_table import cut
from harnessdiff.report.current_path import Path, Row, Section, volt_words
from harnessdiff.report.places import ends_of, loads_of, place_of
from harnessdiff.report.solved import Solved
from harnessdiff.report.way_words import WayWords
from harnessdiff.report.wrapping import WIDTH
from harnessdiff.tables.loader import limit
from harnessdiff.words import bare

THROUGH = 32
NOTHING = "—"
NOT_CONNECTED = "n/c"
NOT_CONNECTED_LEGEND = "n/c: not connected, hangs on nothing that has a voltage"
LEAST_PLACE = 16
BOTH_LEGEND = "ref: the reference in the same condition; — it has no such place; + added; * differs."


@dataclass(frozen=True, slots=True, kw_only=True)
class Twin:
    """What the reference has where a row is: its volts and current, None where it has none; and whether it differs."""

    there: bool
    to_V: float | None
    current_A: float | None
    differs: bool


def twin_of(row: Row, before: Settled) -> Twin:
    """The figures of the reference beside a row.

    Parameters
    ----------
    row : Row
    before : Settled
        The reference in the same condition.

    Returns
    -------
    Twin
    """
    there = row.to_node in before.network.index
    volts = before.voltage_V(row.to_node)
    current = None
    if row.branch is not None:
        twins = [one for one in before.network.branches_of(row.branch.element) if one.kind == row.branch.kind]
        same = [one for one in twins if {one.one, one.other} == {row.branch.one, row.branch.other}]
        pieces = same or (twins if row.branch.kind == "conductor" else [])
        current = max((abs(before.current_A(one)) for one in pieces), default=None)
    differs = current is None and row.gap is None
    differs |= current is not None and currents_differ(current, abs(row.current_A))
    differs |= there and (volts is None) != (row.to_V is None)
    differs |= None not in (volts, row.to_V) and abs((volts or 0) - (row.to_V or 0)) >= limit("dimmed_least")
    return Twin(there=there, to_V=volts, current_A=current, differs=differs)


def not_passed(solved: Solved, path: Path, start: str) -> tuple[str, ...]:
    """Elements on the way of the reference to a place that the way as found does not pass."""
    if solved.after is None:
        return ()
    before = solved.before[path.condition.id]
    network = before.network
    try:
        place = place_of(network, start, solved.reference.id)
    except InputError:
        return ()
    ways = Ways(before)
    least = limit("load_glows_share") * network.system_V
    nodes = [ends_of(before, one)[0] for one in loads_of(network, place)] or list(place.nodes)
    live = [node for node in nodes if abs(before.voltage_V(node) or 0.0) >= least]
    way = max((ways.feed(node) for node in live), key=len, default=())
    passed = {row.branch.element for section in path.sections for row in section.rows if row.branch is not None}
    passed |= {row.gap.element for section in path.sections for row in section.rows if row.gap is not None}
    quiet = {step.branch.element for step in way if step.branch.kind in ("contact", "bond", "source")}
    return tuple(dict.fromkeys(
        step.branch.element for step in way if step.branch.element not in passed | quiet
    ))  # fmt: skip


def harness_of(solved: Solved) -> Harness:
    """The harness that a path runs through."""
    return next(iter(solved.now.values())).network.harness


def path_rows(solved: Solved, path: Path, start: str, goal: str | None) -> dict[str, Any]:
    """The answer for machines."""
    words = WayWords(solved.describer, harness_of(solved))
    before = solved.before[path.condition.id]
    network = next(iter(solved.now.values())).network

    def row_of(row: Row) -> dict[str, Any]:
        element = row.branch.element if row.branch is not None else row.gap.element if row.gap is not None else ""
        found: dict[str, Any] = {
            "element": element,
            "kind": row.branch.kind if row.branch is not None else "gap",
            "words": words.element(row.branch) if row.branch is not None else None,
            "gap": None if row.gap is None else row.gap.gap,
            "from": row.from_node,
            "to": row.to_node,
            "from_V": rounded(row.from_V),
            "to_V": rounded(row.to_V),
            "current_A": rounded(row.current_A),
        }
        if solved.after is None:
            return found
        twin = twin_of(row, before)
        return found | {"added": is_added(element), "reference_V": rounded(twin.to_V),
                        "reference_A": rounded(twin.current_A), "differs": twin.differs}  # fmt: skip

    return {
        "reference": solved.reference.id,
        "as_found": solved.after is not None,
        "from": start,
        "to": goal,
        "against": network.ground,
        "condition": path.condition.id,
        "condition_because": path.why,
        "notes": list(path.notes),
        "sections": [
            {"title": one.title, "rows": [row_of(row) for row in one.rows], "says": list(one.says)}
            for one in path.sections
        ],
        "not_passed": [] if goal is not None else list(not_passed(solved, path, start)),
    }


def path_text(solved: Solved, path: Path, start: str, goal: str | None) -> str:
    """The answer for a person.

    Parameters
    ----------
    solved : Solved
    path : Path
    start : str
    goal : str or None

    Returns
    -------
    str
    """
    network = next(iter(solved.now.values())).network
    side = "reference" if solved.after is None else "as found"
    lines = [path.heading, f"{side}, in {path.condition.id}: {path.condition.name}"]
    lines += [f"({path.why}; choose with --condition)"] if path.why else []
    lines += [f"volts against {bare(network.ground)}; amperes below 0 run against the way"]
    lines += [BOTH_LEGEND] if solved.after is not None else []
    lines += [f"note: {one}" for one in path.notes]
    for section in path.sections:
        lines += ["", *_section_lines(solved, path, section)]
    if any(f" {NOT_CONNECTED} " in line for line in lines):
        lines += ["", NOT_CONNECTED_LEGEND]
    missed = not_passed(solved, path, start) if goal is None else ()
    if missed:
        lines += ["", f"on the reference it is fed through: {', '.join(map(bare, missed))}"]
    return "\n".join(lines)


def _section_lines(solved: Solved, path: Path, section: Section) -> list[str]:
    words = WayWords(solved.describer, harness_of(solved))
    before = solved.before[path.condition.id] if solved.after is not None else None
    lines = [section.title]
    if section.rows:
        figures = f"{'V':>7} {'ref V':>7} {'A':>8} {'ref A':>8}" if before is not None else f"{'V':>7} {'A':>8}"
        lines.append(f"{figures}    {'through':<{THROUGH}} to")
    for row in section.rows:
        if row.branch is None:
            continue
        volts, current = _volts(row.to_V), ampere_words(row.current_A)
        mark, figures = "  ", f"{volts:>7} {current:>8}"
        if before is not None:
            twin = twin_of(row, before)
            ref_V = _volts(twin.to_V) if twin.there else NOTHING
            ref_A = NOTHING if twin.current_A is None else ampere_words(twin.current_A)
            mark = "+ " if is_added(row.branch.element) else "* " if twin.differs else "  "
            figures = f"{volts:>7} {ref_V:>7} {current:>8} {ref_A:>8}"
        line = f"{figures}  {mark}{words.element(row.branch):<{THROUGH}} "
        lines.append(line + cut(words.place(row.to_node), max(WIDTH - len(line), LEAST_PLACE)))
    return [*lines, *(f"  >> {one}" for one in section.says)]


def _volts(volts: float | None) -> str:
    return NOT_CONNECTED if volts is None else volt_words(volts)
