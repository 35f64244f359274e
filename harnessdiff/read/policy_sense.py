"""Whether a policy makes sense: its words are known, it is whole, and its lines mean something."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Any

from harnessdiff.model.modification import KINDS
from harnessdiff.model.policy import Forbidden
from harnessdiff.model.policy_lines import FIRMNESS, LISTS, Lines, key_of
from harnessdiff.model.rating import LEVELS, MECHANISMS, PROBABILITIES, SEVERITIES, level_rank
from harnessdiff.read.policy_lines import MAY_BE_LEFT_OUT, bases, laid_over, lines_of, shipped_lines
from harnessdiff.read.policy_order import STANDS_ASIDE, out_of_order
from harnessdiff.read.schema import did_you_mean
from harnessdiff.tables.loader import functions, joint_order
from harnessdiff.tables.vocabulary import JOINT, established_codes, questions

Faults = Iterator[tuple[str, str]]
MUST_BE_WHOLE: dict[str, tuple[str, ...]] = {
    "joints": tuple(row.joint for row in joint_order()),
    "functions": tuple(functions()),
    "cuts": PROBABILITIES[1:],
    "meanings": SEVERITIES,
    "actions": LEVELS,
}
"""Of what a policy that is based on none must hold a line."""
MOST_NAMED = 4
_TOKEN = re.compile(r"([^:>=|]+)(?:>=([0-9]+(?:\.[0-9]+)?)|:([^=|]+)=([^|]+))?")


def faults_of(data: dict[str, Any]) -> Faults:
    """What makes no sense in a policy.

    Parameters
    ----------
    data : dict
        What the schema accepts.

    Yields
    ------
    tuple of str
        Pointer and message.
    """
    base_name = data.get("based_on")
    if base_name is not None and base_name not in bases():
        yield "/based_on", f"there is no shipped policy {base_name} to base one on{did_you_mean(base_name, bases())}"
        return
    own = lines_of(data)
    base = shipped_lines(base_name) if base_name is not None else Lines()
    whole = laid_over(own, base, data.get("without", ()))
    yield from _twice(own)
    yield from _words(own)
    yield from _left_out(data, own, base)
    yield from _shapes(own, base)
    if base_name is None:
        yield from _whole(data, own)
    yield from out_of_order(whole, own)


def notes_of(data: dict[str, Any]) -> Faults:
    """What is sound in a policy and yet may not be meant: a joint is forbidden, and a worse one is not.

    Parameters and what it yields are as with `faults_of`.
    """
    own = lines_of(data)
    base = shipped_lines(data["based_on"]) if "based_on" in data else Lines()
    forbidden = laid_over(own, base).forbidden
    order = [row for row in joint_order() if row.type != STANDS_ASIDE]
    ranks = {row.joint: row.rank for row in order}
    for number, line in enumerate(own.forbidden):
        worse = [row.joint for row in order if row.rank > ranks.get(line.joint, row.rank)]
        missed = [one for one in worse if not _forbids_as_much(forbidden, one, line)]
        if missed:
            where = f" in circuits of {', '.join(line.functions)}" if line.functions else ""
            message = f"{line.joint} is forbidden{where}, and what is worse is not: {_named(missed)}"
            yield f"/forbidden/{number}", message
    yield from _parameters(own)


def _forbids_as_much(forbidden: Iterable[Forbidden], joint: str, line: Forbidden) -> bool:
    """Whether a make is forbidden wherever another is, at its level at least."""
    alike = [one for one in forbidden if one.joint == joint and level_rank(one.level) >= level_rank(line.level)]
    covered = {function for one in alike for function in one.functions}
    return any(not one.functions for one in alike) or (bool(line.functions) and set(line.functions) <= covered)


def _parameters(own: Lines) -> Faults:
    """Values of parameters that no shipped line speaks of; a slip of the pen there makes a line that never counts."""
    known: dict[tuple[str, str], set[str]] = {}
    for line in (line for name in bases() for line in shipped_lines(name).factors):
        for name, value in line.when:
            known.setdefault((line.code, name), set()).add(value)
    for number, line in enumerate(own.factors):
        for name, value in line.when:
            values = known.get((line.code, name), set())
            if value not in values:
                hint = did_you_mean(value, values)
                pointer = f"/factors/{number}/when/{name}"
                yield pointer, f"no shipped line speaks of {line.code} with {name} {value}{hint}"


def _named(words: list[str]) -> str:
    more = len(words) - MOST_NAMED
    return ", ".join(words[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


# -- words and shapes


def _twice(own: Lines) -> Faults:
    for name in LISTS:
        first: dict[tuple[str, ...], int] = {}
        for number, one in enumerate(getattr(own, name)):
            place = first.setdefault(key_of(one), number)
            if place != number:
                yield f"/{name}/{number}", f"says again what stands at /{name}/{place}"


def _known(word: str, valid: Iterable[str], pointer: str, what: str) -> Faults:
    valid = set(valid)
    if word not in valid:
        yield pointer, f"there is no {what} {word}{did_you_mean(word, valid)}"


def _codes() -> frozenset[str]:
    """Codes of what may be established: those with words, kinds of modification, and what is weighed as shipped."""
    shipped = (line.code for name in bases() for line in shipped_lines(name).factors)
    return frozenset((*established_codes(), *KINDS, *shipped))


def _words(own: Lines) -> Faults:
    """Words that a policy must have from what the program knows."""
    codes, makes = _codes(), {row.joint for row in joint_order()}
    for number, factor in enumerate(own.factors):
        if factor.code == JOINT:
            yield f"/factors/{number}/code", "makes of joint are weighed in the list joints"
        else:
            yield from _known(factor.code, codes, f"/factors/{number}/code", "code")
    for name in ("joints", "forbidden"):
        for number, line in enumerate(getattr(own, name)):
            yield from _known(line.joint, makes, f"/{name}/{number}/joint", "make of joint")
    for number, one in enumerate(own.functions):
        yield from _known(one.function, functions(), f"/functions/{number}/function", "function")
    for number, ban in enumerate(own.forbidden):
        for place, function in enumerate(ban.functions):
            yield from _known(function, functions(), f"/forbidden/{number}/functions/{place}", "function")
    for number, floor in enumerate(own.floors):
        for name in ("all_of", "any_of"):
            for place, text in enumerate(getattr(floor, name)):
                yield from _tokens(text, codes, f"/floors/{number}/{name}/{place}")
    for number, cap in enumerate(own.caps):
        for place, text in enumerate(cap.opened_by):
            if "|" in text:
                yield f"/caps/{number}/opened_by/{place}", "alternatives stand in lines of their own here"
            elif ">=" in text:
                yield f"/caps/{number}/opened_by/{place}", "what is capped from an amount on would rate lower for more"
            else:
                yield from _tokens(text, codes, f"/caps/{number}/opened_by/{place}")
        for place, text in enumerate(cap.unless):
            yield from _tokens(text, codes, f"/caps/{number}/unless/{place}")
    yield from _asked(own)


def _tokens(text: str, codes: frozenset[str], pointer: str) -> Faults:
    """Alternatives between bars, each a code, a code with an amount, or a code with a parameter."""
    for token in text.split("|"):
        found = _TOKEN.fullmatch(token)
        if found is None:
            message = f"“{token}” is no code, no code>=amount and no code:parameter=value"
            yield pointer, f"{message}, such as over_fused>=2 or damage:sort=chafed"
        else:
            yield from _known(found.group(1), (*codes, JOINT), pointer, "code")


def _asked(own: Lines) -> Faults:
    for number, prior in enumerate(own.priors):
        row = questions().get(prior.question)
        yield from _known(prior.question, questions(), f"/priors/{number}/question", "question")
        if row is not None and row.answers:
            what = f"answer to {prior.question}"
            yield from _known(prior.answer, row.answers, f"/priors/{number}/answer", what)


def _left_out(data: dict[str, Any], own: Lines, base: Lines) -> Faults:
    held = {one.id for name in MAY_BE_LEFT_OUT for one in getattr(base, name)}
    given = {one.id: f"/{name}/{number}" for name in MAY_BE_LEFT_OUT for number, one in enumerate(getattr(own, name))}
    for number, word in enumerate(data.get("without", ())):
        yield from _known(word, held, f"/without/{number}", "floor or cap of the policy below")
        if word in given:
            yield (
                f"/without/{number}",
                f"leaves out what is given at {given[word]}; a line there takes its place as it is",
            )


def _shapes(own: Lines, base: Lines) -> Faults:
    """Members of a line that go together, or that would count for nothing."""
    units = {one.code: one.amount_in for one in base.factors if one.amount_in}
    for number, one in enumerate(own.factors):
        here = f"/factors/{number}"
        if one.opens and one.severity is None:
            yield here, "what opens a mechanism needs a severity"
        if not one.opens and one.severity is not None:
            yield f"{here}/severity", "what only adds has no severity; what opens the mechanism has it"
        if one.opens and one.mechanism not in MECHANISMS:
            message = f"{one.mechanism} is no mechanism that something can open; it says where a thing adds"
            yield f"{here}/mechanism", message
        if (one.at_least is None) != (one.amount_in is None):
            yield here, "at_least and amount_in go together"
        unit = units.setdefault(one.code, one.amount_in) if one.amount_in else None
        if one.amount_in and unit != one.amount_in:
            yield f"{here}/amount_in", f"amounts of {one.code} are in {unit}, not in {one.amount_in}"
    for number, floor in enumerate(own.floors):
        if not floor.all_of and not floor.any_of:
            yield f"/floors/{number}", "needs something in all_of or any_of; without it, it would hold for everything"


def _whole(data: dict[str, Any], own: Lines) -> Faults:
    for name in ("factors", FIRMNESS):
        if not data.get(name):
            yield "", f"a policy that is based on none needs {name}"
    for name, needed in MUST_BE_WHOLE.items():
        there = {key_of(one)[0] for one in getattr(own, name)}
        missing = [word for word in needed if word not in there]
        if name not in data:
            yield "", f"a policy that is based on none needs {name}"
        elif missing:
            yield f"/{name}", f"nothing is said of {_named(missing)}"
