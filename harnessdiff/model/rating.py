"""How bad: what is established, what it weighs, mechanisms, and the level they come to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from harnessdiff.model.modification import Fact, Value

LEVELS = ("Low", "Medium", "Serious", "High")
"""Risk levels of MIL-STD-882E, least first."""
ACCEPTABLE = "acceptable"
"""What brings no mechanism beyond what the factory circuit already had: recorded, no cell."""
SEVERITIES = ("IV", "III", "II", "I")
"""Severity categories of MIL-STD-882E, least first: Negligible, Marginal, Critical, Catastrophic."""
PROBABILITIES = ("E", "D", "C", "B", "A")
"""Probability levels of MIL-STD-882E, least first: Improbable to Frequent."""
MECHANISMS = (
    "contact_heat", "short", "overload", "function_lost", "false_action", "drain", "protected_part", "nuisance",
)  # fmt: skip
"""Ways in which a modification can do harm."""
ACTIONS = ("none", "note", "improve", "repair_before_relying", "stop_use")
"""What a person does about a finding, least first."""


def level_rank(outcome: str) -> int:
    """Place of an outcome in the order acceptable, Low, Medium, Serious, High; 0 for acceptable."""
    return 0 if outcome == ACCEPTABLE else LEVELS.index(outcome) + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """Something established that may weigh in a rating.

    Parameters
    ----------
    code : str
    params : tuple
        What it speaks of, by name.
    about : str or None
        The joint that it is about; None where it is about the modification as a whole.
    amount : float or None
        How much of it there is, in the unit of the policy's lines.
    functions : tuple of str or None
        Functions that it touches; None where they are those of the modification.
    source : str
        Where it was seen, computed or read.
    """

    code: str
    params: tuple[tuple[str, Value], ...] = ()
    about: str | None = None
    amount: float | None = None
    functions: tuple[str, ...] | None = None
    source: str = ""

    @property
    def named(self) -> Mapping[str, Value]:
        """The parameters by name."""
        return dict(self.params)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contribution:
    """What one thing adds to the index of a mechanism: the numbers of a mechanism sum to its index.

    `counts` is what it adds here; of several that open a mechanism the one that decides counts. What opens has a
    severity; where the policy's line gives no category, `severity_as` is what it gives instead, and `function` the
    function whose loss or acting was counted. `line` is the key of the policy's line that says so.
    """

    code: str
    counts: float
    how: str
    severity: str | None = None
    severity_as: str | None = None
    function: str | None = None
    params: tuple[tuple[str, Value], ...] = ()
    amount: float | None = None
    amount_in: str | None = None
    about: str | None = None
    why: str = ""
    source: str = ""
    line: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One thing that opens a mechanism, with what adds to it: all it takes to rate it again by other weights.

    Parameters
    ----------
    severity : str
        By MIL-STD-882E.
    contributions : tuple of Contribution
        What opens it first, then what adds.
    least, most : str
        Levels that floors and caps hold it between, whatever the weights; where they cross, the floor counts.
    """

    severity: str
    contributions: tuple[Contribution, ...]
    least: str = LEVELS[0]
    most: str = LEVELS[-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanism:
    """One way in which a modification can do harm, in its worst case.

    Parameters
    ----------
    code : str
        One of `MECHANISMS`.
    severity, probability : str
        By MIL-STD-882E.
    cell : str
        Level of that cell of the matrix.
    level : str
        The same, raised by a floor or held by a cap.
    index : float
        The sum of the contributions.
    contributions : tuple of Contribution
        What opens it first, then what adds.
    floors, caps : tuple of str
        Ids of the policy's lines that moved the level.
    cases : tuple of Case
        All that open it, the one that decides first.
    """

    code: str
    severity: str
    probability: str
    cell: str
    level: str
    index: float
    contributions: tuple[Contribution, ...]
    floors: tuple[str, ...] = ()
    caps: tuple[str, ...] = ()
    cases: tuple[Case, ...] = ()

    @property
    def also(self) -> tuple[Contribution, ...]:
        """What else opens it, and does not decide: each once."""
        opening = dict.fromkeys(case.contributions[0] for case in self.cases)
        return tuple(one for one in opening if one != self.contributions[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A level range that an answer to an open question leaves."""

    answer: str
    best: str
    worst: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Open:
    """An open question that moves a level: the look that settles it, and what each answer leaves.

    `question` is what policies give priors for; `about` what it is asked of.
    """

    question: str
    about: str
    look: Fact
    answers: tuple[Answer, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Firm:
    """How often a finding comes out at each level when the weights of a policy vary.

    Parameters
    ----------
    shares : tuple of (str, float)
        Levels that occur, worst first, and the share of draws in which each does; they sum to one.
    firm : bool
        Whether its worst level by the policy itself holds in as great a share of draws as the policy asks for.
    """

    shares: tuple[tuple[str, float], ...]
    firm: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderKept:
    """How often the order of findings holds when the weights of a policy vary: means over draws.

    Parameters
    ----------
    worst_stay : float
        Share of draws in which no other finding comes out above one of the worst.
    pairs_kept : float
        Share of pairs of findings of different level in which the worse one is still worse.
    pairs_level : float
        Share of those pairs that come out level; in the rest the order is reversed.
    """

    worst_stay: float
    pairs_kept: float
    pairs_level: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """The rating of a modification.

    `best` and `worst` are levels or ``acceptable``; they differ where something is unknown. What
    nobody can rate has `rated` false, and everything from acceptable to High is open. With
    `condition` it is a state of the place, which counts where it makes something else worse.
    `mechanisms` are those of the worst case, the one that decides first. `at_least` says that not every
    way to read the record was gone through. `opens` are the questions that keep best and worst apart.
    """

    best: str
    worst: str
    mechanisms: tuple[Mechanism, ...] = ()
    beside: tuple[str, ...] = ()
    rated: bool = True
    condition: bool = False
    at_least: bool = False
    opens: tuple[Open, ...] = ()
    firm: Firm | None = None

    @property
    def certain(self) -> bool:
        """Whether nothing unknown moves the level."""
        return self.best == self.worst

    @property
    def flagged(self) -> bool:
        """Whether it is more than a record."""
        return self.worst != ACCEPTABLE
