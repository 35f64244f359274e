"""Looks and measurements that would narrow the ratings, and those that may not be taken."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.modification import Fact
from harnessdiff.model.policy import Prior
from harnessdiff.model.rating import Answer

QUALIFIED = frozenset({"restraint", "high_voltage"})
"""Bars that leave a look to a qualified person."""
BY_QUALIFIED_PERSON = "by_qualified_person"
"""The look that is none of the reader's."""
CODES_NOT_SAVED = "codes_not_saved"
"""The bar that falls when the fault codes are saved."""
BARS = ("restraint", "high_voltage", "out_of_scope", "dismantling", CODES_NOT_SAVED)
"""Why a look may not be taken, the gravest first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Settles:
    """A question of a finding that a look settles.

    Parameters
    ----------
    finding : int
        Number of the finding.
    best, worst : str
        What is open of it now.
    question, about : str
        As in `Open`; empty where the look narrows nothing that the program can tell beforehand.
    answers : tuple of Answer
        What each answer leaves.
    """

    finding: int
    best: str
    worst: str
    question: str = ""
    about: str = ""
    answers: tuple[Answer, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A look or measurement, what it takes, and by how much it narrows the ratings.

    Narrowing is in steps of the level (acceptable, Low, Medium, Serious, High), summed over the findings.

    Parameters
    ----------
    look : Fact
        What to do.
    zones : tuple of str
        Where; empty where nobody noted it.
    access_min, own_min : float
        Time to lay the place open, and for the look itself. [min]
    access_assumed : bool
        Whether the time to lay the place open is assumed.
    settles : tuple of Settles
    narrowing_worst, narrowing_most : int
        Whatever the answer is, and with the answer that leaves least open. [steps]
    narrowing_expected : float or None
        By the policy's priors; None where it does not hold one for every answer. [steps]
    priors : tuple of Prior
        Those that were used.
    barred : str or None
        One of `BARS`; None where it may be taken.
    not_opened : str or None
        Why the survey left the place closed; empty where it does not say.
    """

    look: Fact
    zones: tuple[str, ...]
    access_min: float
    own_min: float
    settles: tuple[Settles, ...]
    narrowing_worst: int
    narrowing_most: int
    access_assumed: bool = False
    narrowing_expected: float | None = None
    priors: tuple[Prior, ...] = ()
    barred: str | None = None
    not_opened: str | None = None

    @property
    def minutes(self) -> float:
        """Time it takes by itself. [min]"""
        return self.access_min + self.own_min

    @property
    def findings(self) -> tuple[int, ...]:
        """Numbers of the findings concerned."""
        return tuple(sorted({one.finding for one in self.settles}))


@dataclass(frozen=True, slots=True, kw_only=True)
class NextLooks:
    """What to look at next.

    Parameters
    ----------
    looks : tuple of Look
        Those that may be taken, the best first.
    barred : tuple of Look
        Those that may not, in the same order.
    without : tuple of int
        Findings whose level is open and that no look known to the program would narrow.
    """

    looks: tuple[Look, ...] = ()
    barred: tuple[Look, ...] = ()
    without: tuple[int, ...] = ()

    def nearby(self) -> tuple[tuple[int, tuple[int, ...]], ...]:
        """Places in `looks`: a look, and those after it that lie where it has laid open everything they need."""
        found: dict[int, list[int]] = {}
        taken: set[int] = set()
        for place, look in enumerate(self.looks):
            if place in taken:
                continue
            for later, other in enumerate(self.looks[place + 1 :], start=place + 1):
                if later not in taken and other.zones and set(other.zones) <= set(look.zones):
                    found.setdefault(place, []).append(later)
                    taken.add(later)
        return tuple((place, tuple(others)) for place, others in found.items())
