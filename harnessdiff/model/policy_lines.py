"""The lines of policies: what each is known by, what of it counts, and where two policies differ."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import TypeAlias

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

Line: TypeAlias = (
    Factor | JointLine | FunctionLine | Cut | Meaning | ActionLine | Floor | Cap | Forbidden | Prior | Firmness
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """The lists of a policy, or of what it differs in; each line at the place it has in its file."""

    factors: tuple[Factor, ...] = ()
    joints: tuple[JointLine, ...] = ()
    functions: tuple[FunctionLine, ...] = ()
    cuts: tuple[Cut, ...] = ()
    meanings: tuple[Meaning, ...] = ()
    actions: tuple[ActionLine, ...] = ()
    floors: tuple[Floor, ...] = ()
    caps: tuple[Cap, ...] = ()
    forbidden: tuple[Forbidden, ...] = ()
    priors: tuple[Prior, ...] = ()


LISTS = tuple(field.name for field in fields(Lines))
"""Names of the lists of a policy."""
FIRMNESS = "firmness"
REASONS = ("why", "source", "status")
"""Members of a line that say why it is so, and count for nothing in a rating."""


def key_of(line: Line) -> tuple[str, ...]:
    """What a line is known by: of two lines of a list with the same key, the later takes the place of the other."""
    match line:
        case Factor():
            when = (f"{name}={value}" for name, value in sorted(line.when))
            step = () if line.at_least is None else (f"from {line.at_least:.12g}",)
            return line.code, *when, *step, "opens" if line.opens else "adds to", line.mechanism
        case JointLine():
            return (line.joint,)
        case FunctionLine():
            return (line.function,)
        case Floor() | Cap():
            return (line.id,)
        case Forbidden():
            return line.joint, *sorted(set(line.functions))
        case Prior():
            return line.question, line.answer
        case Meaning():
            return (line.severity,)
        case Cut():
            return (line.probability,)
        case ActionLine():
            return (line.level,)
        case Firmness():
            return ()


def weighing(line: Line) -> dict[str, object]:
    """What counts of a line, the same however it is written: without reasons, sets in order, numbers as numbers."""
    return {field.name: _counting(getattr(line, field.name)) for field in fields(line) if field.name not in REASONS}


def _counting(value: object) -> object:
    if isinstance(value, tuple):
        return sorted(set(value))
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """Where a policy differs from the one it is based on.

    Parameters
    ----------
    list : str
        One of `LISTS`, or ``firmness``.
    was, now : Line or None
        None where there was no such line, or is none any more.
    """

    list: str
    was: Line | None
    now: Line | None

    @property
    def name(self) -> str:
        """The list and what the line is known by, as one text."""
        line = self.now or self.was
        key = " ".join(key_of(line)) if line is not None else ""
        gone = " left out" if self.now is None else ""
        return f"{self.list}: {key}{gone}" if key else self.list


def differences(policy: Policy, base: Policy) -> Iterator[Difference]:
    """Lines of a policy that weigh otherwise than those of another, in the order of lists and lines.

    Parameters
    ----------
    policy, base : Policy

    Yields
    ------
    Difference
    """
    for name in LISTS:
        was: dict[tuple[str, ...], Line] = {key_of(line): line for line in getattr(base, name)}
        now: dict[tuple[str, ...], Line] = {key_of(line): line for line in getattr(policy, name)}
        for key in dict.fromkeys((*now, *was)):
            before, after = was.get(key), now.get(key)
            if before is None or after is None or weighing(before) != weighing(after):
                yield Difference(list=name, was=before, now=after)
    if weighing(base.firmness) != weighing(policy.firmness):
        yield Difference(list=FIRMNESS, was=base.firmness, now=policy.firmness)
