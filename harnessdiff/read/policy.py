"""Reads a policy: the shipped one, or another that holds the lines in which it differs."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

from harnessdiff.model.policy import (
    ActionLine,
    Cap,
    Cut,
    Factor,
    Firmness,
    Floor,
    Forbidden,
    FunctionLine,
    JointLine,
    Meaning,
    Policy,
    Prior,
)
from harnessdiff.model.rating import SEVERITIES
from harnessdiff.read.document import checked
from harnessdiff.read.harness import known
from harnessdiff.read.json_text import Document, load_document
from harnessdiff.read.structure import make
from harnessdiff.resources import shipped_policies
from harnessdiff.tables.loader import functions, joint_order

DEFAULT = "default"

Entry = dict[str, Any]
KEYS: dict[str, Callable[[Entry], tuple[Any, ...]]] = {
    "factors": lambda one: (
        one["code"],
        tuple(sorted(one.get("when", {}).items())),
        one.get("at_least"),
        one["mechanism"],
        one["opens"],
    ),
    "joints": lambda one: (one["joint"],),
    "functions": lambda one: (one["function"],),
    "cuts": lambda one: (one["probability"],),
    "meanings": lambda one: (one["severity"],),
    "actions": lambda one: (one["level"],),
    "floors": lambda one: (one["id"],),
    "caps": lambda one: (one["id"],),
    "forbidden": lambda one: (one["joint"], tuple(sorted(one.get("functions", ())))),
    "priors": lambda one: (one["question"], one["answer"]),
}
"""Lists of a policy, and what a line of each is known by: a line of the same key takes the place of another's."""
TYPES: dict[str, type] = {
    "factors": Factor, "joints": JointLine, "functions": FunctionLine, "cuts": Cut, "meanings": Meaning,
    "actions": ActionLine, "floors": Floor, "caps": Cap, "forbidden": Forbidden, "priors": Prior,
}  # fmt: skip
MUST_BE_WHOLE = ("factors", "joints", "functions", "cuts", "meanings", "actions", "firmness")


@cache
def default_policy() -> Policy:
    """The shipped policy."""
    return read_policy(shipped_policies()[DEFAULT])


def read_policy(path: Path) -> Policy:
    """Read a policy from a JSON file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Policy

    Raises
    ------
    InputError
        With every problem found, in file order.
    """
    return policy_of(load_document(path))


def policy_of(document: Document) -> Policy:
    """Make a policy of a parsed document; raises as `read_policy` does."""
    own = checked(document, "policy", _sense)
    effective, changed = _effective(own)
    lists = {name: tuple(make(TYPES[name], _plain(name, one)) for one in effective.get(name, ())) for name in KEYS}
    return Policy(
        id=own["id"],
        title=own["title"],
        sha256=_hash(effective),
        firmness=make(Firmness, _without_extras(effective["firmness"])),
        based_on=own.get("based_on"),
        changed=changed,
        **lists,
    )


def _plain(name: str, entry: Entry) -> Entry:
    plain = _without_extras(entry)
    if name == "factors":
        plain["when"] = sorted(plain.get("when", {}).items())
    return plain


def _without_extras(entry: Entry) -> Entry:
    return {key: value for key, value in entry.items() if not key.startswith("x_")}


def _hash(effective: Entry) -> str:
    """SHA-256 of what counts in a rating, whatever the order of lines; titles and reasons do not count."""
    counting = {
        name: sorted((_weighing(one) for one in effective.get(name, ())), key=lambda one: json.dumps(one, sort_keys=True))
        for name in KEYS
    }
    text = json.dumps(counting | {"firmness": _weighing(effective["firmness"])}, sort_keys=True, ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _weighing(entry: Entry) -> Entry:
    return {key: value for key, value in _without_extras(entry).items() if key not in ("why", "source", "status")}


def _effective(own: Entry) -> tuple[Entry, tuple[str, ...]]:
    """All lines that hold, and the names of those that differ from the policy it is based on."""
    base_name = own.get("based_on")
    if base_name is None:
        return own, ()
    base = _shipped(base_name)
    effective: Entry = {"firmness": own.get("firmness", base["firmness"])}
    changed = [] if _weighing(effective["firmness"]) == _weighing(base["firmness"]) else ["firmness"]
    without = set(own.get("without", ()))
    for name, key in KEYS.items():
        lines = {key(one): one for one in base.get(name, ()) if one.get("id") not in without}
        for one in own.get(name, ()):
            if _weighing(lines.get(key(one), {})) != _weighing(one):
                changed.append(f"{name}: {_named(key(one))}")
            lines[key(one)] = one
        effective[name] = list(lines.values())
    changed += [f"without: {one}" for one in sorted(without)]
    return effective, tuple(changed)


def _named(key: tuple[Any, ...]) -> str:
    words = []
    for part in key:
        if isinstance(part, tuple):
            words += [" ".join(map(str, one)) if isinstance(one, tuple) else str(one) for one in part]
        elif part is not None and not isinstance(part, bool):
            words.append(str(part))
    return " ".join(words)


@cache
def _shipped(name: str) -> Entry:
    """Data of a shipped policy that is based on none."""
    data: Entry = load_document(shipped_policies()[name]).data
    return data


def _sense(data: Entry) -> Iterator[tuple[str, str]]:
    base_name = data.get("based_on")
    bases = {name for name, path in shipped_policies().items() if "based_on" not in load_document(path).data}
    yield from known(data, "based_on", bases, "", "shipped policy")
    base = _shipped(base_name) if base_name in bases else {}
    if base_name is None:
        yield from (("", f"a policy that is based on none needs {name}") for name in MUST_BE_WHOLE if not data.get(name))
    yield from _names(data, base)
    yield from _twice(data)
    yield from _in_order({**base, **_merged(data, base)}, data)


def _names(data: Entry, base: Entry) -> Iterator[tuple[str, str]]:
    """Words that a policy must have from what the program knows."""
    makes = {row.joint for row in joint_order()}
    codes = {one["code"] for one in base.get("factors", ())}
    for number, one in enumerate(data.get("factors", ())):
        if base:
            yield from known(one, "code", codes, f"/factors/{number}", "factor")
        if one["opens"] and "severity" not in one:
            yield f"/factors/{number}", "what opens a mechanism needs a severity"
        if ("at_least" in one) != ("amount_in" in one):
            yield f"/factors/{number}", "at_least and amount_in go together"
    for name in ("joints", "forbidden"):
        for number, one in enumerate(data.get(name, ())):
            yield from known(one, "joint", makes, f"/{name}/{number}", "make of joint")
    for number, one in enumerate(data.get("functions", ())):
        yield from known(one, "function", set(functions()), f"/functions/{number}", "function")
    for number, one in enumerate(data.get("forbidden", ())):
        for place, function in enumerate(one.get("functions", ())):
            pointer = f"/forbidden/{number}/functions/{place}"
            yield from known({"function": function}, "function", set(functions()), pointer, "function", at="")
    held = {one["id"] for name in ("floors", "caps") for one in base.get(name, ())}
    for number, word in enumerate(data.get("without", ())):
        yield from known({"id": word}, "id", held, f"/without/{number}", "floor or cap", at="")


def _twice(data: Entry) -> Iterator[tuple[str, str]]:
    for name, key in KEYS.items():
        first: dict[tuple[Any, ...], int] = {}
        for number, one in enumerate(data.get(name, ())):
            if key(one) in first:
                yield f"/{name}/{number}", f"says again what stands at /{name}/{first[key(one)]}"
            first.setdefault(key(one), number)


def _merged(data: Entry, base: Entry) -> Entry:
    merged = {}
    for name, key in KEYS.items():
        lines = {key(one): one for one in base.get(name, ())} | {key(one): one for one in data.get(name, ())}
        merged[name] = list(lines.values())
    return merged


FINE_ORDER = ("any_place", "dry_place", "no_place")


def _in_order(whole: Entry, data: Entry) -> Iterator[tuple[str, str]]:
    """What is worse must not weigh less: joints down the order, steps of an amount, cut points."""
    lines = {one["joint"]: one for one in whole["joints"]}
    ranked = [row for row in joint_order() if row.joint in lines and row.type != "fuse_slot_adaptor"]
    missing = [row.joint for row in joint_order() if row.joint not in lines]
    if missing and whole["joints"]:
        yield "/joints", f"nothing is said of {', '.join(missing[:3])}"
    for better, worse in ((one, other) for place, one in enumerate(ranked) for other in ranked[place + 1 :]):
        if better.rank == worse.rank:
            continue
        one, other = lines[better.joint], lines[worse.joint]
        if other["weight"] < one["weight"] or FINE_ORDER.index(other["fine_in"]) < FINE_ORDER.index(one["fine_in"]):
            yield "/joints", f"{worse.joint} stands below {better.joint} in the order of joints and must not count for less"
    cuts = {one["probability"]: one["index"] for one in whole["cuts"]}
    letters = [letter for letter in "DCBA" if letter in cuts]
    if [cuts[letter] for letter in letters] != sorted({cuts[letter] for letter in letters}) or len(letters) < 4:
        yield "/cuts", "the cut points should rise from D by C and B to A"
    yield from _steps(whole["factors"], data)


def _steps(factors: list[Entry], data: Entry) -> Iterator[tuple[str, str]]:
    steps: dict[tuple[Any, ...], list[Entry]] = {}
    for one in factors:
        if "at_least" in one:
            key = (one["code"], tuple(sorted(one.get("when", {}).items())), one["mechanism"], one["opens"])
            steps.setdefault(key, []).append(one)
    for key, several in steps.items():
        several.sort(key=lambda one: one["at_least"])
        for less, more in zip(several, several[1:], strict=False):
            if more["weight"] < less["weight"] or _rank(more) < _rank(less):
                place = next((number for number, one in enumerate(data.get("factors", ())) if one is more or one is less), None)
                where = "/factors" if place is None else f"/factors/{place}"
                yield where, f"{key[0]} must not count for less from {more['at_least']:g} on than from {less['at_least']:g}"


def _rank(factor: Entry) -> int:
    """Place of a severity among the categories; by the functions, which are the same for all steps, in part before whole."""
    severity = factor.get("severity", "IV")
    if severity in SEVERITIES:
        return SEVERITIES.index(severity)
    return 0 if severity.endswith("_in_part") else 1
