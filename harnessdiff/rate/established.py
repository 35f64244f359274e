"""What is established about a modification, and whether a condition of a table of rules is met by it."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Joint
from harnessdiff.model.modification import Fact, Modification, Value
from harnessdiff.tables.rules import Term, When

BINDING = ("lead", "end", "what", "joint", "zone")
"""Where two things established name one of these, they count together only if they name the same."""
OF_JOINTS = {"type": "joint_{}", "condition": "joint_{}", "cover": "joint_cover_{}"}
"""Codes of what is said of a joint, as reasons of a rating name them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Established:
    """One thing established: a noun of `tables.rules`, its code, what it says by name, and its code as a reason."""

    noun: str
    code: str
    says: tuple[tuple[str, frozenset[str]], ...] = ()
    because: str = ""
    sure: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Met:
    """One way in which a condition is met: the codes of what meets it, and whether all of that is sure."""

    because: frozenset[str]
    sure: bool


def established(
    modification: Modification,
    joints: Iterable[Joint],
    functions: Iterable[str],
    consequences: Iterable[Consequence],
) -> tuple[Established, ...]:
    """All that is established about a modification; what is unknown meets no condition.

    Parameters
    ----------
    modification : Modification
    joints : iterable of Joint
        Those beneath it.
    functions : iterable of str
        Of the circuits touched.
    consequences : iterable of Consequence
        Those it answers for.

    Returns
    -------
    tuple of Established
    """
    return (
        Established(noun="kind", code=modification.kind),
        *map(_of_fact, modification.facts),
        *map(_of_joint, joints),
        *(Established(noun="function", code=one) for one in functions),
        *map(_of_consequence, consequences),
    )


def _of_fact(fact: Fact) -> Established:
    says = tuple((name, _texts(value)) for name, value in fact.params)
    return Established(noun="fact", code=fact.code, says=says, sure=fact.sure)


def _of_joint(joint: Joint) -> Established:
    details = joint.details
    says: dict[str, Value] = {
        "joint": joint.id, "type": details.type, "cover": details.cover, "tool": details.tool,
        "condition": details.condition, "zone": joint.zone,
    }  # fmt: skip
    return Established(noun="joint", code=details.type, says=tuple((name, _texts(one)) for name, one in says.items()))


def _of_consequence(one: Consequence) -> Established:
    """A verdict on protection is about a lead, and is bound to what else is said of that lead."""
    lead = (("lead", frozenset({one.subject})),) if one.code == "protection" else ()
    return Established(
        noun="consequence", code=one.code, says=(*((name, _texts(value)) for name, value in one.params), *lead)
    )


def _texts(value: Value) -> frozenset[str]:
    if value is None:
        return frozenset()
    return frozenset(value) if isinstance(value, tuple) else frozenset({str(value)})


def ways_met(when: When, things: Sequence[Established]) -> Iterator[Met]:
    """The ways in which a condition is met.

    Parameters
    ----------
    when : tuple
        Alternatives, as `tables.rules.when_of` reads them.
    things : sequence of Established

    Yields
    ------
    Met
        For every choice of things that meets all terms of one alternative and does not speak of different leads,
        joints or places.
    """
    for terms in when:
        for chosen in itertools.product(*([one for one in things if _fits(term, one)] for term in terms)):
            if all(_agree(one, other) for one, other in itertools.combinations(chosen, 2)):
                codes = (code for term, one in zip(terms, chosen, strict=True) for code in _codes(term, one))
                yield Met(because=frozenset(codes), sure=all(one.sure for one in chosen))


def _fits(term: Term, one: Established) -> bool:
    if term.noun != one.noun or (term.codes and one.code not in term.codes):
        return False
    said = dict(one.says)
    return all(values & said.get(name, frozenset()) for name, values in term.says)


def _agree(one: Established, other: Established) -> bool:
    own, its = dict(one.says), dict(other.says)
    return all(own[name] & its[name] for name in BINDING if own.get(name) and its.get(name))


def _codes(term: Term, one: Established) -> Iterator[str]:
    if one.noun != "joint":
        yield one.because or one.code
        return
    said = dict(one.says)
    for name, values in term.says:
        yield from (OF_JOINTS[name].format(value) for value in values & said[name])
