"""What a professional objects to in a reference."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.modification import Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class Objection:
    """An objection to one element of a reference.

    Parameters
    ----------
    element : str
        Id of the element; of the reference itself where it concerns the whole.
    fact : Fact
        A rule of ``lint_rules.csv`` as code, and what it speaks of.
    waived : str or None
        Why it is right as built, where the reference says so.
    """

    element: str
    fact: Fact
    waived: str | None = None

    @classmethod
    def to(cls, element: str, rule: str, **params: str | float | tuple[str, ...]) -> Objection:
        """Make an objection to an element."""
        return cls(element=element, fact=Fact.of(rule, **params))

    @property
    def rule(self) -> str:
        """Code of the rule."""
        return self.fact.code
