"""Levels over every way to read a record: which wire was meant, and what may be in a box that nobody opened.

What follows electrically is computed for as many ways as `MOST_SOLVED`; a way beyond is rated by how things are joined
alone, and what it concerns says that its level is *at least* that.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from harnessdiff.analyse.consequences import zones_of_modification
from harnessdiff.assemble import consequences_of
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import functions_of
from harnessdiff.drafts import Assessed
from harnessdiff.evidence import Evidence, zones_by_id
from harnessdiff.model.computed import Computed, Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.modification import Fact, Install, Modification
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import Answer, Open, Rating
from harnessdiff.model.reference import Condition, Reference
from harnessdiff.model.survey import Survey
from harnessdiff.rate.circumstances import Circumstances, functions_at
from harnessdiff.rate.rating import over_all, rated, wider

MOST_SOLVED = 16
"""Ways to read a record that are solved as networks; each takes about a second on a van."""
MOST_THOUGHTS = 256
"""Combinations of thoughts about boxes that are gone through; beyond that one box is varied at a time."""
HEAT = frozenset({"melted", "browned"})
HOT_STATES = frozenset({"burnt", "cover_melted"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way to read the record: what was changed by it."""

    comparison: Comparison
    modifications: tuple[Modification, ...]
    installs: tuple[Install, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way to read the record, and which thought is taken for the contents of each box."""

    reading: int
    picks: Mapping[str, int]


Solve = Callable[[Way], tuple[Found, ...]]


def ways_of(
    readings: Sequence[Reading], thoughts: Mapping[str, int], open_observations: frozenset[str], evidence: Evidence
) -> tuple[Way, ...]:
    """The ways to go through: thoughts and readings together where they bear on each other, else side by side.

    Parameters
    ----------
    readings : sequence of Reading
    thoughts : mapping of str to int
        How many there are, by device.
    open_observations : frozenset of str
        Observations that may be read in several ways.
    evidence : Evidence

    Returns
    -------
    tuple of Way
        The first is the one that is drawn.
    """
    count = len(readings)
    together, apart = _groups(readings[0], thoughts, open_observations, evidence)
    product = [(reading, picks) for picks in _combinations(together) for reading in range(count)]
    alone = [_combinations(group) for group in apart]
    turns = max(len(product), *map(len, alone)) if alone else len(product)
    found = []
    for turn in range(turns):
        reading, picks = product[turn % len(product)]
        beside = {name: one for group in alone for name, one in group[turn % len(group)].items()}
        found.append(Way(reading=reading, picks={**picks, **beside}))
    return tuple(found)


def _groups(
    reading: Reading, thoughts: Mapping[str, int], open_observations: frozenset[str], evidence: Evidence
) -> tuple[dict[str, int], list[dict[str, int]]]:
    """Boxes that bear on a question of the record, by an install they share; and the others, install by install."""
    together: dict[str, int] = {}
    apart: list[dict[str, int]] = []
    left = dict(thoughts)
    for install in reading.installs:
        own = {device: left.pop(device) for device in install.devices if device in left}
        observations = {one for number in install.modifications for one in evidence.of(reading.modifications[number])}
        if own and observations & open_observations:
            together |= own
        elif own:
            apart.append(own)
    return together, [*apart, *({device: count} for device, count in left.items())]


def _combinations(thoughts: Mapping[str, int]) -> list[dict[str, int]]:
    """All combinations of thoughts, or one box varied at a time where there are too many; one where there is none."""
    names = sorted(thoughts)
    if math.prod(thoughts.values()) <= MOST_THOUGHTS:
        return [
            dict(zip(names, picks, strict=True))
            for picks in itertools.product(*(range(thoughts[name]) for name in names))
        ]
    first = dict.fromkeys(names, 0)
    return [first, *({**first, name: pick} for name in names for pick in range(1, thoughts[name]))]


def assessed_over(
    reference: Reference,
    survey: Survey,
    readings: Sequence[Reading],
    ways: Sequence[Way],
    drawn: Computed,
    solve: Solve | None,
    policy: Policy,
    years: Mapping[str, int],
) -> list[Assessed]:
    """Every reading with its ratings, over all ways that take it.

    Parameters
    ----------
    reference : Reference
    survey : Survey
    readings : sequence of Reading
    ways : sequence of Way
    drawn : Computed
        Of the first way.
    solve : callable or None
        What follows from another way; None where nothing is solved.
    policy : Policy
    years : mapping of str to int
        Since an element was made, at least; by element.

    Returns
    -------
    list of Assessed
        In the order of readings.
    """
    rating = _Rating(reference, survey, policy, years)
    found: dict[int, list[tuple[Way, tuple[Rating, ...]]]] = {}
    for number, way in enumerate(ways):
        reading = readings[way.reading]
        if number == 0:
            effects = drawn.found
        elif solve is not None and number < MOST_SOLVED:
            effects = solve(way)
        elif way.reading in found:
            continue  # other contents of a box tell nothing of how things are joined
        else:
            effects = ()
        least = number > 0 and solve is not None and number >= MOST_SOLVED
        ratings = rating.of(reading, effects)
        found.setdefault(way.reading, []).append((way, tuple(replace(one, at_least=least) for one in ratings)))
    beyond = solve is not None and len(ways) > MOST_SOLVED
    return [
        Assessed(
            comparison=reading.comparison,
            modifications=reading.modifications,
            installs=reading.installs,
            ratings=tuple(
                _over_ways([(way, ratings[place]) for way, ratings in found[number]], beyond=beyond)
                for place in range(len(reading.modifications))
            ),
        )
        for number, reading in enumerate(readings)
    ]


def _over_ways(rated_in: list[tuple[Way, Rating]], *, beyond: bool) -> Rating:
    """One rating over the contents that boxes may have, with the question where they move it."""
    whole = over_all([rating for _, rating in rated_in])
    devices = sorted({device for way, _ in rated_in for device in way.picks})
    opens = list(whole.opens)
    for device in devices:
        answers: dict[str, Answer] = {}
        for way, rating in rated_in:
            answer = Answer(answer=str(way.picks[device] + 1), best=rating.best, worst=rating.worst)
            answers[answer.answer] = wider(answers.get(answer.answer, answer), answer)
        if len({(one.best, one.worst) for one in answers.values()}) > 1:
            look = Fact.of("look_inside", device=device)
            opens.append(Open(question="contents", about=device, look=look, answers=tuple(answers.values())))
    moved = any(one.question == "contents" for one in opens)
    return replace(whole, opens=tuple(opens), at_least=whole.at_least or (beyond and moved))


class _Rating:
    """Rates the modifications of a reading by one policy."""

    def __init__(self, reference: Reference, survey: Survey, policy: Policy, years: Mapping[str, int]) -> None:
        self.policy = policy
        self.years = years
        self.functions_at = functions_at(reference)
        self.conditions: dict[str, Condition] = {one.id: one for one in (*reference.conditions, *survey.conditions)}
        self.stalls = any(one.symptom == "stalls" for one in survey.complaint)

    def of(self, reading: Reading, found: tuple[Found, ...]) -> tuple[Rating, ...]:
        """The ratings, with what follows from the way that is taken."""
        hot = [number for number, one in enumerate(reading.modifications) if _shows_heat(reading, one)]
        effects = Computed(found=found)
        return tuple(
            rated(one, self._circumstances(reading, number, effects, hot), self.policy)
            for number, one in enumerate(reading.modifications)
        )

    def _circumstances(self, reading: Reading, number: int, effects: Computed, hot: list[int]) -> Circumstances:
        one, comparison = reading.modifications[number], reading.comparison
        consequences = consequences_of(effects, number)
        functions = functions_of(comparison, one)
        return Circumstances(
            functions=functions,
            zones=zones_by_id(comparison.after, zones_of_modification(one, comparison.after)),
            as_found=comparison.after,
            functions_at=self.functions_at,
            consequences=consequences,
            conditions=self.conditions,
            stalled=self.stalls and bool(STALLING & set(functions)),
            heat_marks=any(_behind_the_same(reading, number, other, consequences) for other in hot),
            years=self.years,
        )


STALLING = frozenset({"ignition", "engine_control", "fuel_pump", "sensor"})
"""Functions without which an engine stops."""


def _shows_heat(reading: Reading, one: Modification) -> bool:
    """Whether heat marks are recorded in a modification: melted, browned, or a burnt joint."""
    if any(fact.code == "damage" and fact.get("sort") in HEAT for fact in one.facts):
        return True
    joints = (reading.comparison.after.joint(joint) for joint in one.joints)
    return any(joint is not None and HOT_STATES & set(joint.details.condition) for joint in joints)


def _behind_the_same(reading: Reading, number: int, other: int, consequences: tuple[Consequence, ...]) -> bool:
    """Whether heat shows where a modification overloads something: at its fuse, contact or lead, or in its circuit."""
    one, hot = reading.modifications[number], reading.modifications[other]
    over = [fact for fact in one.facts if fact.code in ("over_fused", "over_fused_perhaps")]
    contacts = {effect.subject for effect in consequences if effect.code == "over_limit"}
    if number == other or not (over or contacts):
        return False
    after = reading.comparison.after
    named = {str(fact.get(name)) for fact in over for name in ("fuse", "lead")} | {one.root} | contacts
    seats = (seat for element in hot.elements for seat in after.targets(element, "seat"))
    devices = (after.device_of(element) for element in hot.elements if ":" in element)
    touched = {*hot.elements, *hot.joints, hot.root, *seats, *devices}
    return bool(named & touched) or bool(over and _circuits(reading, one) & _circuits(reading, hot))


def _circuits(reading: Reading, one: Modification) -> set[str]:
    return {circuit for node in one.nodes for circuit in reading.comparison.circuits_at(node)}
