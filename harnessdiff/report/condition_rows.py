"""What every load, relay and source does by conditions, and where it is not as on the reference."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.loads import LoadState, live_V, load_state
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.model.harness import is_added
from harnessdiff.model.parts import Coil, Load, Source
from harnessdiff.report.solved import Solved
from harnessdiff.tables.loader import limit
from harnessdiff.words import bare, quantity_words

LEVELS_OF_LIGHT = frozenset({"off", "glows", "dim", "on"})
SORTS = ("current", "volts", "load", "relay")


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A load, relay or source, and what it does by condition.

    Parameters
    ----------
    sort : str
        ``current`` (of a source), ``volts`` (of a battery), ``load`` or ``relay``.
    device : str
        Id of its device.
    terminals : tuple of str
        Names of the two terminals it lies between.
    words : str
    before, after : mapping of str to dict, or None
        By condition; None where it is not there, or no survey was given.
    differs : frozenset of str
        Conditions in which it is not as it was.
    """

    sort: str
    device: str
    terminals: tuple[str, str]
    words: str
    before: Mapping[str, dict[str, Any]] | None
    after: Mapping[str, dict[str, Any]] | None
    differs: frozenset[str]


def rows_of(solved: Solved) -> tuple[Row, ...]:
    """Every load, relay and source of either harness.

    Parameters
    ----------
    solved : Solved

    Returns
    -------
    tuple of Row
        Sources first, then loads, then relays, each in the order of their names.
    """
    found: dict[tuple[str, str, tuple[str, str], int], list[Branch | None]] = {}
    for side, settled in enumerate((solved.before, solved.after)):
        for key, branch in _branches(settled) if settled else ():
            found.setdefault(key, [None, None])[side] = branch
    order = {sort: number for number, sort in enumerate(SORTS)}
    keys = sorted(found, key=lambda key: (order[key[0]], _natural(key[1]), key[2:]))
    return tuple(_row(solved, key, *found[key]) for key in keys)


def _branches(settled: Mapping[str, Settled]) -> Iterator[tuple[tuple[str, str, tuple[str, str], int], Branch]]:
    """What has a row in a harness: its sort, device, terminals, and which of several alike it is."""
    count: dict[tuple[str, str, tuple[str, str]], int] = {}
    for branch in _network(settled).branches:
        for sort in _sorts(branch):
            key = (sort, branch.element, _terminals(branch))
            count[key] = count.get(key, -1) + 1
            yield (*key, count[key]), branch


def _network(settled: Mapping[str, Settled]) -> Network:
    return next(iter(settled.values())).network


def _sorts(branch: Branch) -> tuple[str, ...]:
    """The rows that a branch has."""
    match branch.part:
        case Load():
            return ("load",)
        case Coil():
            return ("relay",)
        case Source(model="battery"):
            return ("current", "volts")
        case Source(model="alternator"):
            return ("current",)
        case _:
            return ()


def _terminals(branch: Branch) -> tuple[str, str]:
    return branch.one.rsplit(":", 1)[-1], branch.other.rsplit(":", 1)[-1]


def _natural(text: str) -> list[tuple[int, str]]:
    """A key that puts E2 before E10, and what was added behind what was there."""
    pieces = re.findall(r"\d+|\D+", text.removeprefix("+"))
    return [(1 if is_added(text) else 0, ""), *((int(one), "") if one.isdigit() else (-1, one) for one in pieces)]


def _row(
    solved: Solved, key: tuple[str, str, tuple[str, str], int], before: Branch | None, after: Branch | None
) -> Row:
    sort, device, terminals, _ = key
    was = None if before is None else {one: _facts(solved.before[one], before, sort) for one in _ids(solved)}
    now = None
    if after is not None and solved.after is not None:
        now = {one: _facts(solved.after[one], after, sort) for one in _ids(solved)}
    differs: set[str] = set()
    if solved.after is not None:
        differs = {
            one
            for one in _ids(solved)
            if was is None or now is None or _differ(sort, was[one], now[one], _fall_V(solved, one))
        }
    branch = after or before
    assert branch is not None
    words = _words(solved, branch, terminals, was=after is None)
    return Row(
        sort=sort, device=device, terminals=terminals, words=words, before=was, after=now, differs=frozenset(differs)
    )


def _words(solved: Solved, branch: Branch, terminals: tuple[str, str], *, was: bool) -> str:
    name, own = solved.describer.name(branch.element), bare(branch.element)
    words = name.removesuffix(f" ({own})").removeprefix(own).strip()
    part = branch.part
    if not isinstance(part, Load):
        return f"{own} {words}"
    loads = sum(
        isinstance(one.part, Load) for one in _network(solved.before if was else solved.now).branches_of(branch.element)
    )
    rated = f" {quantity_words(part.rated_W)} W" if part.rated_W.known else ""
    return f"{own} {'/'.join(terminals)} {part.note if part.note and loads > 1 else words}{rated}"


def _ids(solved: Solved) -> tuple[str, ...]:
    return tuple(one.id for one in solved.conditions)


def _fall_V(solved: Solved, condition: str) -> float:
    """By how much the first battery's own voltage is lower than on the reference; all loads share that. [V]"""
    was, now = solved.before[condition], solved.now[condition]
    for branch in was.network.branches:
        if "volts" in _sorts(branch):
            twins = [one for one in now.network.branches_of(branch.element) if one.kind == "source"]
            return was.across_V(branch) - now.across_V(twins[0]) if twins else 0.0
    return 0.0


def _facts(settled: Settled, branch: Branch, sort: str) -> dict[str, Any]:
    """What one load, relay or source does in one condition, for machines."""
    if isinstance(branch.part, Load):
        state = load_state(settled, branch)
        return {"state": state.code, "across_V": rounded(state.across_V), "current_A": rounded(state.current_A)} | {
            "cell": _load_cell(branch.part, branch.element, settled, state)
        }
    if isinstance(branch.part, Coil):
        pulled = branch.element in settled.state.pulled
        state_ = "pulled_in" if pulled else "at_rest"
        if branch.element in settled.oscillates:
            state_ = "chatters"
        elif branch.element in settled.holds:
            state_ = "holds_once_triggered"
        across = settled.across_V(branch) if settled.conducts(branch) else None
        cell = {"pulled_in": "in", "at_rest": "-", "chatters": "chatters", "holds_once_triggered": "(in)"}[state_]
        return {"state": state_, "across_V": rounded(across), "current_A": rounded(settled.current_A(branch)),
                "cell": cell}  # fmt: skip
    given_A = -settled.current_A(branch) if settled.conducts(branch) else 0.0
    volts = settled.across_V(branch)
    return {"state": "source", "across_V": rounded(volts), "current_A": rounded(given_A),
            "cell": f"{volts:.1f} V" if sort == "volts" else ampere_words(given_A)}  # fmt: skip


def rounded(value: float | None) -> float | None:
    """A figure as data carry it: four digits behind the point, nothing without a sign."""
    return None if value is None else round(value, 4) + 0.0


def ampere_words(current_A: float) -> str:
    """A current with its unit, as many figures as a meter shows; nothing below a tenth of a milliampere."""
    size = abs(current_A)
    if size < 1e-4:
        return "0 A"
    if size < 0.1:
        return f"{current_A * 1000:.{0 if size >= 0.01 else 1}f} mA"
    return f"{current_A:.{0 if size >= 100 else 1 if size >= 10 else 2}f} A"


def _load_cell(part: Load, device: str, settled: Settled, state: LoadState) -> str:
    plain = {"rests": "rest", "idle": "idle", "cut_out": "cut out", "collapsed": "gives in"}
    if state.code in plain:
        return plain[state.code]
    if state.code == "off" or state.across_V is None:
        return "no feed" if part.rest_A.known else "-"
    lamp = part.model == "filament"
    word = {"on": "on", "dim": "dim" if lamp else "low", "glows": "glow" if lamp else "low", "reversed": "rev"}
    return f"{word[state.code]} {abs(state.across_V):.1f}"


def _differ(sort: str, was: dict[str, Any], now: dict[str, Any], fall_V: float) -> bool:
    """Whether something is not as it was: its state, its volts beyond the battery's own fall, what a source gives."""
    if sort == "current":
        return currents_differ(was["current_A"], now["current_A"])
    if sort == "volts":
        return bool(abs(was["across_V"] - now["across_V"]) >= limit("dimmed_least"))
    renamed = bool(was["state"] != now["state"])
    if sort == "relay" or not {was["state"], now["state"]} <= LEVELS_OF_LIGHT:
        return renamed
    fallen_V = abs(was["across_V"] or 0.0) - abs(now["across_V"] or 0.0)
    # What an electronic supply keeps steady falls by nothing, however far the battery falls.
    least_V = min(abs(fallen_V), abs(fallen_V - fall_V))
    return least_V >= limit("dimmed_least") or (renamed and abs(fallen_V) >= limit("state_differs_least"))


def currents_differ(was_A: float, now_A: float) -> bool:
    """Whether two currents differ by more than a person would pass over."""
    difference = abs(was_A - now_A)
    return difference >= limit("current_differs_least") and difference >= limit("current_differs_share") * max(
        abs(was_A), abs(now_A)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A device that must stay dead in a condition, and by what voltage it is live. [V]"""

    condition: str
    device: str
    before_V: float | None
    after_V: float | None


def refusals_of(solved: Solved) -> tuple[Refusal, ...]:
    """Everything that must stay dead, by condition."""
    return tuple(
        Refusal(
            condition=one.id,
            device=device,
            before_V=live_V(solved.before[one.id], device),
            after_V=live_V(solved.now[one.id], device),
        )
        for one in solved.conditions
        for device in one.must_stay_dead
    )
