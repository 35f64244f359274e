"""Loads what published rules say, and when a modification runs into them.

A cell ``when`` is read so: alternatives are parted by ``or``, the terms of one by ``and``. A term is a noun
(``kind``, ``fact``, ``joint``, ``function``, ``consequence``, ``computed``), then codes or ``name=value``;
``|`` parts values any of which will do.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TypeAlias

from harnessdiff.tables.loader import rows

NOUNS = ("kind", "fact", "joint", "function", "consequence", "computed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """One thing that must be established: its code, where `codes` names some, and what it says, by name."""

    noun: str
    codes: frozenset[str]
    says: tuple[tuple[str, frozenset[str]], ...]


When: TypeAlias = tuple[tuple[Term, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectiveRow:
    """A reason for which wiring falls under an item of Annex I of Directive 2014/45/EU, in a category."""

    reason: str
    item: str
    part: str
    when: When
    category: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleRow:
    """A published rule: when it is met, what it says in short, what it is made for, and how well we know it."""

    rule: str
    when: When
    statement: str
    realm: str
    source: str
    status: str

    @property
    def computed(self) -> bool:
        """Whether a number decides."""
        return any(term.noun == "computed" for terms in self.when for term in terms)


def when_of(cell: str) -> When:
    """The alternatives of a cell, each with its terms.

    Parameters
    ----------
    cell : str
        As the heading of this module says.

    Returns
    -------
    tuple

    Raises
    ------
    ValueError
        If a term begins with no known noun, or asks for nothing.
    """
    return tuple(tuple(_term(term) for term in terms.split(" and ")) for terms in cell.split(" or "))


def _term(text: str) -> Term:
    noun, _, rest = text.strip().partition(" ")
    asked = rest.split()
    if noun not in NOUNS or not asked or {"and", "or"} & set(asked):
        raise ValueError(f"not a condition: {text}")
    codes = frozenset(code for one in asked if "=" not in one for code in one.split("|"))
    pairs = (one.split("=", 1) for one in asked if "=" in one)
    return Term(noun=noun, codes=codes, says=tuple((name, frozenset(values.split("|"))) for name, values in pairs))


@cache
def directive_rows() -> tuple[DirectiveRow, ...]:
    """What of wiring falls under which item of the directive, in the order of the table."""
    return tuple(
        DirectiveRow(
            reason=row["reason"],
            item=row["item"],
            part=row["part"],
            when=when_of(row["when"]),
            category=row["category"],
            words=row["words"],
        )
        for row in rows("directive_items")
    )


@cache
def rule_rows() -> dict[str, RuleRow]:
    """Rules by code, in the order of the table."""
    return {
        row["rule"]: RuleRow(
            rule=row["rule"],
            when=when_of(row["when"]),
            statement=row["statement"],
            realm=row["realm"],
            source=row["source"],
            status=row["status"],
        )
        for row in rows("rules")
    }
