"""A policy line by line, for a person who is to rate by it; and as data, for one who is to change it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from harnessdiff.model.canonical import plain as as_data
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
from harnessdiff.model.policy_lines import FIRMNESS, LISTS, Difference, Line
from harnessdiff.model.rating import LEVELS, MECHANISMS, PROBABILITIES, SEVERITIES, Contribution
from harnessdiff.plain import plain
from harnessdiff.rating_words import ACTIONS, contribution_words, make_words
from harnessdiff.rating_words import MECHANISMS as MECHANISM_WORDS
from harnessdiff.rating_words import PROBABILITIES as PROBABILITY_WORDS
from harnessdiff.rating_words import SEVERITIES as SEVERITY_WORDS
from harnessdiff.report.wrapping import wrapped
from harnessdiff.tables.vocabulary import questions
from harnessdiff.words import NO_FREQUENCY, function_words

MARK = "changed"
AT = {
    "joint": "heat and loss at the joint it is about", "place": "heat, loss and short alike",
} | MECHANISM_WORDS  # fmt: skip
SEVERITY_AS = {
    "lost": "as bad as the function lost", "acts": "as bad as the function that acts",
    "lost_in_part": "one category less than the function lost",
    "acts_in_part": "one category less than the function that acts",
    "lead": "II where no fuse holds it, else III", "heat": "II with no fuse before it, else III",
}  # fmt: skip
FINE_IN = {"any_place": "fine in any place", "dry_place": "fine where it is dry and still", "no_place": "fine nowhere"}


def policy_text(policy: Policy, changed: Iterable[Difference] = ()) -> str:
    """A policy line by line.

    Parameters
    ----------
    policy : Policy
    changed : iterable of Difference
        Lines in which it differs from the one it is based on; each is marked with a word.

    Returns
    -------
    str
    """
    differs = tuple(changed)
    marked = {one.now for one in differs}
    width = len(MARK) + 1 if differs else 1
    lines = list(_heading(policy, differs))
    for title, part in _parts(policy):
        if part:
            lines += ["", title]
            for line in part:
                lines += _line(line, MARK if line in marked else "", width)
    gone = [one.was for one in differs if one.now is None and one.was is not None]
    if gone:
        lines += ["", "Left out of the policy it is based on"]
        lines += [row for line in gone for row in _line(line, MARK, width)]
    return "\n".join(lines) + "\n"


def changed_text(policy: Policy, changed: Iterable[Difference]) -> str:
    """Only what differs: what was, what is, and why.

    Parameters are as with `policy_text`.
    """
    differs = tuple(changed)
    lines = list(_heading(policy, differs))
    for one in differs:
        lines += ["", plain(one.name)]
        lines += _wrapped("   was: ", says(one.was) if one.was is not None else "no such line")
        lines += _wrapped("   is:  ", says(one.now) if one.now is not None else "left out")
        if one.now is not None:
            lines += _wrapped("   why: ", _reason(one.now))
    if policy.based_on is None:
        lines.append("It is based on no other policy.")
    elif not differs:
        lines.append("Nothing differs.")
    return "\n".join(lines) + "\n"


def policy_document(policy: Policy) -> dict[str, Any]:
    """A policy as data: all lines that hold, as a document that is based on none.

    Returns
    -------
    dict
        Valid by ``policy.schema.json``; read again it has the same hash.
    """
    found: dict[str, Any] = {
        "format": "harnessdiff policy", "version": "1.0", "id": policy.id, "title": policy.title,
        "x_sha256": policy.sha256,
    }  # fmt: skip
    if policy.based_on is not None:
        found |= {"x_based_on": policy.based_on, "x_changed": list(policy.changed)}
    for name in LISTS:
        found[name] = [line_data(one) for one in getattr(policy, name)]
    return found | {FIRMNESS: line_data(policy.firmness)}


def changed_data(policy: Policy, changed: Iterable[Difference]) -> dict[str, Any]:
    """What differs, as data: each line as it was and as it is."""
    return {
        "id": policy.id,
        "sha256": policy.sha256,
        "based_on": policy.based_on,
        "changed": [
            {
                "line": one.name,
                "was": line_data(one.was) if one.was is not None else None,
                "is": line_data(one.now) if one.now is not None else None,
            }
            for one in changed
        ],
    }


def line_data(line: Line) -> dict[str, Any]:
    """A line as a policy's file holds it."""
    found: dict[str, Any] = as_data(line)
    if isinstance(line, Factor):
        found |= {"when": dict(line.when)} if line.when else {}
    if isinstance(line, Floor):
        found.setdefault("all_of", [])
    return found


def _heading(policy: Policy, differs: tuple[Difference, ...]) -> Iterator[str]:
    yield plain(f"{policy.title} ({policy.id})")
    yield f"hash of what it weighs: {policy.sha256}"
    if policy.based_on is not None:
        yield plain(f"based on {policy.based_on}; {len(differs)} line{'s' if len(differs) != 1 else ''} {MARK}")
    yield from wrapped(NO_FREQUENCY, "  ")


def _parts(policy: Policy) -> Iterator[tuple[str, tuple[Line, ...]]]:
    for mechanism in (*MECHANISMS, "joint", "place"):
        here = [one for one in policy.factors if one.mechanism == mechanism]
        opening, adding = [one for one in here if one.opens], [one for one in here if not one.opens]
        yield f"What opens: {AT[mechanism]}", tuple(opening)
        yield f"What adds to: {AT[mechanism]}", tuple(adding)
    yield "Joints: what each make weighs, and where it is fine", policy.joints
    yield "Joints that are never acceptable", policy.forbidden
    yield "Severity by function", policy.functions
    meanings = sorted(policy.meanings, key=lambda one: -SEVERITIES.index(one.severity))
    cuts = sorted(policy.cuts, key=lambda one: PROBABILITIES.index(one.probability))
    actions = sorted(policy.actions, key=lambda one: -LEVELS.index(one.level))
    yield "What the severities mean", tuple(meanings)
    yield "Cut points: the letter of the greatest that the sum reaches, E below all", tuple(cuts)
    yield "Floors: never rated below", policy.floors
    yield "Caps: never rated above", policy.caps
    yield "Levels and actions", tuple(actions)
    yield "Expected answers to open questions", policy.priors
    yield "Firmness", (policy.firmness,)


def _line(line: Line, mark: str, width: int) -> list[str]:
    hang = " " * (width + 8)
    return [*wrapped(f"{mark:<{width}} {says(line)}", hang), *wrapped(_reason(line), hang, before=hang[2:])]


def _reason(line: Line) -> str:
    status = f", {line.status}" if line.status != line.source else ""
    return f"{line.why} ({line.source}{status})"


def _wrapped(before: str, text: str) -> list[str]:
    return wrapped(f"{before}{text}", hang=" " * (len(before) + 2))


def says(line: Line) -> str:
    """What a line says, in words and with the codes that a file holds."""
    match line:
        case Factor():
            return _factor(line)
        case JointLine():
            return f"{line.weight:<4g} {make_words(line.joint)}, {FINE_IN[line.fine_in]} [{line.joint}]"
        case FunctionLine():
            never = ", must never act by itself" if line.never_by_itself else ""
            words = function_words((line.function,))
            return f"{words}: lost {_severity(line.lost)}, acting {_severity(line.acts)}{never} [{line.function}]"
        case Cut():
            return f"{line.probability} {PROBABILITY_WORDS[line.probability]} from {line.index:g}"
        case Meaning():
            return f"{_severity(line.severity)}: {line.words}"
        case ActionLine():
            satisfactory = "satisfactory" if line.satisfactory else "not satisfactory"
            return f"{line.level}: {ACTIONS[line.action]}; a vehicle with it is {satisfactory} [{line.action}]"
        case Floor():
            conditions = [*(_tokens(one) for one in line.all_of), *_any(line.any_of)]
            return (
                f"{line.level} at least in {_mechanisms(line.mechanisms)}, where {' and '.join(conditions)} [{line.id}]"
            )
        case Cap():
            opened = " or ".join(map(_tokens, line.opened_by))
            unless = f", unless {' or '.join(map(_tokens, line.unless))}" if line.unless else ""
            return f"{line.level} at most in {_mechanisms(line.mechanisms)}, opened by {opened}{unless} [{line.id}]"
        case Forbidden():
            where = f" in circuits of {function_words(line.functions)}" if line.functions else ""
            return f"{make_words(line.joint)}{where}: {line.level} at least [{line.joint}]"
        case Prior():
            row = questions().get(line.question)
            asked = row.words if row else line.question
            return f"{asked}: {line.answer.replace('_', ' ')} in {line.share:g} of cases [{line.question}]"
        case Firmness():
            varied = f"with every weight varied by up to {line.vary_share:g} of itself (seed {line.seed})"
            return f"firm where {line.firm_from:g} of {line.draws} draws leave the level, {varied}"


def _factor(line: Factor) -> str:
    how = "opens" if line.opens else "adds"
    words = contribution_words(Contribution(code=line.code, counts=line.weight, how=how, params=line.when))
    step = f", from {line.at_least:g} {line.amount_in} on" if line.at_least is not None else ""
    severity = f"; {SEVERITY_AS.get(line.severity) or _severity(line.severity)}" if line.severity else ""
    code = " ".join((line.code, *(f"{name}={value}" for name, value in line.when)))
    return f"{line.weight:<4g} {words}{step}{severity} [{code}]"


def _severity(category: str) -> str:
    return f"{category} {SEVERITY_WORDS[category]}"


def _mechanisms(codes: Iterable[str]) -> str:
    return " and ".join(AT[one] for one in codes)


def _any(tokens: tuple[str, ...]) -> Iterator[str]:
    if tokens:
        yield f"any of: {'; '.join(map(_tokens, tokens))}"


def _tokens(text: str) -> str:
    """What must be established, in words: alternatives, amounts, parameters."""
    return " or ".join(map(_token, text.split("|")))


def _token(token: str) -> str:
    code, _, least = token.partition(">=")
    code, _, parameter = code.partition(":")
    name, _, value = parameter.partition("=")
    if code == "joint":
        return make_words(value) if name == "make" else "a joint"
    params = ((name, value),) if parameter else ()
    words = contribution_words(Contribution(code=code, counts=0, how="adds", params=params))
    return f"{words} from {least} on" if least else words
