"""Which published rules a modification runs into: citations beside the rating, never inside it."""

from __future__ import annotations

from dataclasses import dataclass

CATEGORIES = ("minor", "major", "dangerous")
"""Categories of deficiencies of Directive 2014/45/EU, least first."""
REALMS = ("road", "farm", "mine", "building", "boat", "ship", "aircraft", "spacecraft")
"""What a rule is made for; anywhere but on the road it is an analogy."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectiveItem:
    """A modification as Annex I of Directive 2014/45/EU may read it.

    Parameters
    ----------
    item, part : str
        Such as ``4.11`` and ``a``.
    category : str
        One of `CATEGORIES`.
    because : tuple of str
        Codes of the facts, joints, functions and consequences that bring it there, in the order of the alphabet.
    reasons : tuple of str
        The same as rows of ``directive_items.csv``.
    provisional : bool
        Always: it is read from memory, and the authorised tester decides.
    """

    item: str
    part: str
    category: str
    because: tuple[str, ...]
    reasons: tuple[str, ...]
    provisional: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleMet:
    """A published rule that speaks against what is established of a modification.

    Parameters
    ----------
    rule : str
        As in ``rules.csv``.
    realm : str
        One of `REALMS`.
    because : tuple of str
        Codes of the facts, joints and consequences, in the order of the alphabet.
    sure : bool
        False where it is met at worst only: in some ways to read the record, or by the bad end of a range.
    """

    rule: str
    realm: str
    because: tuple[str, ...]
    sure: bool = True

    @property
    def analogy(self) -> bool:
        """Whether the rule is not made for vehicles on the road."""
        return self.realm != "road"
