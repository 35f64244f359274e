"""What a rating goes by: weights, cut points, severities, floors and caps, each line with its source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from harnessdiff.model.modification import Value
from harnessdiff.model.rating import PROBABILITIES, SEVERITIES


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """What one thing that is established weighs in one mechanism.

    Parameters
    ----------
    code : str
        What is established.
    mechanism : str
        The mechanism it weighs in; ``joint`` where it adds to heat and loss at the joint it speaks of,
        ``place`` where it adds to heat, loss, short and overload alike.
    opens : bool
        Whether it brings the mechanism about; else it only adds to one that something else opens.
    weight : float
    severity : str or None
        What an opening line may bring about: a category of severity, or by the functions concerned
        ``lost``, ``acts`` or one category less, ``lost_in_part``, ``acts_in_part``; ``lead`` where it is critical
        behind no fuse, one that opens too late or one of twice the limit, and marginal behind another; ``heat`` where
        it is critical behind no fuse, and marginal behind one.
    when : tuple
        Parameters that it must have, by name.
    at_least : float or None
        Least amount from which on the line counts; of several the greatest that is reached.
    amount_in : str or None
        Of the amount.
    why, source, status : str
    """

    code: str
    mechanism: str
    opens: bool
    weight: float
    severity: str | None = None
    when: tuple[tuple[str, str], ...] = ()
    at_least: float | None = None
    amount_in: str | None = None
    why: str = ""
    source: str = ""
    status: str = ""

    @property
    def key(self) -> str:
        """What the line is known by among all lines of a policy that weigh."""
        when = "".join(f" {name}={value}" for name, value in sorted(self.when))
        step = "" if self.at_least is None else f" >= {float(self.at_least)!r}"
        return f"factors: {self.code}{when}{step} {'opens' if self.opens else 'adds to'} {self.mechanism}"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointLine:
    """What a make of joint weighs, and where it brings nothing that the maker's own would not.

    `fine_in` is ``any_place``, ``dry_place`` (dry and still) or ``no_place``.
    """

    joint: str
    weight: float
    fine_in: str
    why: str = ""
    source: str = ""
    status: str = ""

    @property
    def key(self) -> str:
        """What the line is known by among all lines of a policy that weigh."""
        return f"joints: {self.joint}"


@dataclass(frozen=True, slots=True, kw_only=True)
class FunctionLine:
    """How bad it is when a function is lost, and when it acts unasked; whether it must never act by itself."""

    function: str
    lost: str
    acts: str
    never_by_itself: bool = False
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """What is never rated below a level: all of some codes are established, and any of others."""

    id: str
    mechanisms: tuple[str, ...]
    level: str
    all_of: tuple[str, ...] = ()
    any_of: tuple[str, ...] = ()
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cap:
    """What is never rated above a level, unless one of some codes is established.

    It holds for the cases of a mechanism that one of `opened_by` opens.
    """

    id: str
    mechanisms: tuple[str, ...]
    opened_by: tuple[str, ...]
    level: str
    unless: tuple[str, ...] = ()
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Forbidden:
    """A make of joint that is never acceptable, or not in circuits of some functions, and its least level."""

    joint: str
    level: str
    functions: tuple[str, ...] = ()
    why: str = ""
    source: str = ""
    status: str = ""

    @property
    def id(self) -> str:
        """What it is called where it raised a level."""
        return "_".join(("forbidden", self.joint, *(("in", *sorted(self.functions)) if self.functions else ())))


@dataclass(frozen=True, slots=True, kw_only=True)
class Prior:
    """How often an answer to an open question is expected; its source stands wherever it is used."""

    question: str
    answer: str
    share: float
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Meaning:
    """What a severity category means for one vehicle, and why."""

    severity: str
    words: str
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """The least index of a letter of probability."""

    probability: str
    index: float
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ActionLine:
    """What a person does about a level, and whether the vehicle is satisfactory with it."""

    level: str
    action: str
    satisfactory: bool
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Firmness:
    """How firm a level must be: in what share of draws it holds when every weight varies by a share."""

    vary_share: float
    draws: int
    seed: int
    firm_from: float
    why: str = ""
    source: str = ""
    status: str = ""


@dataclass(frozen=True, kw_only=True)
class Policy:
    """A policy.

    `sha256` is the hash of what it says, whatever the file looks like; `changed` names the lines in which it
    differs from the one it is based on.
    """

    id: str
    title: str
    sha256: str
    factors: tuple[Factor, ...]
    joints: tuple[JointLine, ...]
    functions: tuple[FunctionLine, ...]
    cuts: tuple[Cut, ...]
    meanings: tuple[Meaning, ...]
    actions: tuple[ActionLine, ...]
    floors: tuple[Floor, ...]
    caps: tuple[Cap, ...]
    firmness: Firmness
    forbidden: tuple[Forbidden, ...] = ()
    priors: tuple[Prior, ...] = ()
    based_on: str | None = None
    changed: tuple[str, ...] = ()

    @cached_property
    def _factors(self) -> Mapping[str, tuple[Factor, ...]]:
        found: dict[str, list[Factor]] = {}
        for line in self.factors:
            found.setdefault(line.code, []).append(line)
        return {code: tuple(lines) for code, lines in found.items()}

    @cached_property
    def _joints(self) -> Mapping[str, JointLine]:
        return {line.joint: line for line in self.joints}

    @cached_property
    def _functions(self) -> Mapping[str, FunctionLine]:
        return {line.function: line for line in self.functions}

    @cached_property
    def _cuts(self) -> tuple[tuple[float, str], ...]:
        return tuple(sorted((cut.index, cut.probability) for cut in self.cuts))

    def lines(self, code: str, params: Mapping[str, Value], amount: float | None) -> tuple[Factor, ...]:
        """The lines that count for something established: those that fit, and of steps the highest reached.

        Parameters
        ----------
        code : str
        params : mapping
        amount : float or None
            In the unit of the lines.

        Returns
        -------
        tuple of Factor
        """
        fitting = [
            line
            for line in self._factors.get(code, ())
            if all(str(params.get(name)) == value for name, value in line.when)
        ]
        steps: dict[tuple[str, bool, tuple[tuple[str, str], ...]], Factor] = {}
        found = [line for line in fitting if line.at_least is None]
        for line in fitting:
            if line.at_least is None or amount is None or amount < line.at_least:
                continue
            key = (line.mechanism, line.opens, line.when)
            known = steps.get(key)
            if known is None or known.at_least is None or known.at_least < line.at_least:
                steps[key] = line
        return (*found, *steps.values())

    def joint(self, joint: str) -> JointLine:
        """The line of a make of joint."""
        return self._joints[joint]

    def function(self, function: str) -> FunctionLine | None:
        """The line of a function, None where there is none."""
        return self._functions.get(function)

    def probability(self, index: float) -> str:
        """The letter of an index: that of the highest cut point it reaches, E below all."""
        reached = [letter for least, letter in self._cuts if index >= least]
        return reached[-1] if reached else PROBABILITIES[0]

    def worst_of(self, functions: Iterable[str], name: str) -> FunctionLine | None:
        """Of some functions the first that is worst when ``lost`` or when it ``acts``; None where none is known."""
        known = [line for one in functions if (line := self.function(one)) is not None]
        return max(known, key=lambda line: SEVERITIES.index(getattr(line, name)), default=None)

    def action(self, outcome: str) -> str:
        """What a person does about a level; ``none`` where it is acceptable."""
        return next((line.action for line in self.actions if line.level == outcome), "none")

    def satisfactory(self, outcome: str) -> bool:
        """Whether a vehicle is satisfactory with a finding of this level."""
        return next((line.satisfactory for line in self.actions if line.level == outcome), True)
