"""How bad: reasons, mechanisms, and the level they come to."""

from __future__ import annotations

from dataclasses import dataclass

LEVELS = ("Low", "Medium", "Serious", "High")
"""Risk levels of MIL-STD-882E, least first."""
ACCEPTABLE = "acceptable"
"""What brings no mechanism beyond what the factory circuit already had: recorded, no cell."""
SEVERITIES = ("IV", "III", "II", "I")
"""Severity categories of MIL-STD-882E, least first: Negligible, Marginal, Critical, Catastrophic."""
PROBABILITIES = ("E", "D", "C", "B", "A")
"""Probability levels of MIL-STD-882E, least first: Improbable to Frequent."""


def level_rank(outcome: str) -> int:
    """Place of an outcome in the order acceptable, Low, Medium, Serious, High; 0 for acceptable."""
    return 0 if outcome == ACCEPTABLE else LEVELS.index(outcome) + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One thing that moved a rating: what, in which mechanism, by how much, and by which source."""

    code: str
    mechanism: str
    severity: str | None
    index: int
    how: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mechanism:
    """One way in which a modification can do harm, in its worst case."""

    code: str
    severity: str
    probability: str
    level: str
    index: int
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """The rating of a modification.

    `best` and `worst` are levels or ``acceptable``; they differ where something is unknown. What
    nobody can rate has `rated` false, and everything from acceptable to High is open. With
    `condition` it is a state of the place, which counts where it makes something else worse.
    `mechanisms` are those of the worst case, the one that decides first.
    """

    best: str
    worst: str
    mechanisms: tuple[Mechanism, ...] = ()
    beside: tuple[str, ...] = ()
    rated: bool = True
    condition: bool = False

    @property
    def certain(self) -> bool:
        """Whether nothing unknown moves the level."""
        return self.best == self.worst

    @property
    def flagged(self) -> bool:
        """Whether it is more than a record."""
        return self.worst != ACCEPTABLE
