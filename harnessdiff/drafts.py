"""One finding from what was assessed of a modification: everything but its number, install and id."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from harnessdiff.analyse.checks import BY_QUALIFIED_PERSON, cautions_of, checks_of, checks_of_choices
from harnessdiff.analyse.consequences import zones_of_modification
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import functions_of
from harnessdiff.evidence import Evidence, zones_by_id
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.edit import Choice
from harnessdiff.model.findings import Finding, FlaggedJoint, Possibility
from harnessdiff.model.harness import Harness, Joint
from harnessdiff.model.modification import Fact, Install, Modification
from harnessdiff.model.rating import Answer, Open, Rating, level_rank
from harnessdiff.model.reference import Reference
from harnessdiff.model.rules import DirectiveItem, RuleMet
from harnessdiff.model.survey import Survey
from harnessdiff.rate.directive import directive_items
from harnessdiff.rate.joints import judged
from harnessdiff.rate.rules import engine_running, lamps_of, rules_met

ORIGINS = {
    "repair": "repair",
    "damage": "condition",
    "surroundings": "condition",
    "other": "unknown",
    "unrecognised": "unknown",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessed:
    """One resolution, assessed."""

    comparison: Comparison
    modifications: tuple[Modification, ...]
    installs: tuple[Install, ...]
    ratings: tuple[Rating, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenQuestions:
    """Choices that are open, which alternative stands for which, and whether all combinations were gone through."""

    choices: tuple[Choice, ...]
    leaders: tuple[tuple[int, ...], ...]
    complete: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class OverAll:
    """A modification over all resolutions: its worst rating, whose reasons are shown, and what holds in every one."""

    worst: Rating
    sure: frozenset[Fact]
    at_least: bool


class Citing:
    """Which published rules a modification runs into, on one vehicle."""

    def __init__(self, reference: Reference, survey: Survey, as_found: Harness) -> None:
        self.system_voltage_V = reference.vehicle.system_voltage_V
        self.lamps = lamps_of(as_found) | lamps_of(reference.harness)
        self.running = engine_running((*reference.conditions, *survey.conditions))

    def rules(
        self, one: Modification, as_found: Harness, functions: tuple[str, ...], consequences: tuple[Consequence, ...]
    ) -> tuple[RuleMet, ...]:
        """Rules that speak against it."""
        return rules_met(
            one,
            _joints_of(one, as_found),
            functions,
            consequences,
            system_voltage_V=self.system_voltage_V,
            lamps=self.lamps,
            running=self.running,
        )

    def directive(
        self, one: Modification, as_found: Harness, functions: tuple[str, ...], consequences: tuple[Consequence, ...]
    ) -> tuple[DirectiveItem, ...]:
        """How the directive may read it."""
        return directive_items(one, _joints_of(one, as_found), functions, consequences)


def _joints_of(one: Modification, as_found: Harness) -> list[Joint]:
    return [joint for joint in map(as_found.joint, one.joints) if joint is not None]


def draft_of(
    reference: Reference,
    base: Assessed,
    number: int,
    evidence: Evidence,
    possibilities: tuple[Possibility, ...],
    over_all: OverAll,
    choices: tuple[Choice, ...],
    consequences: tuple[Consequence, ...],
    citing: Citing,
    *,
    complete: bool,
) -> Finding:
    """A finding without its number, install and id."""
    modification, rating = base.modifications[number], base.ratings[number]
    comparison = base.comparison
    sources = evidence.of(modification)
    concerned = tuple(choice for choice in choices if choice.observation in sources)
    if possibilities:
        rating = replace(
            rating,
            best=min((rating.best, *(one.best for one in possibilities)), key=level_rank),
            worst=over_all.worst.worst,
            mechanisms=over_all.worst.mechanisms,
            opens=(*_which(possibilities, concerned, reference), *rating.opens),
            at_least=over_all.at_least or not complete,
        )
    modification = replace(
        modification, facts=tuple(one if one in over_all.sure else one.perhaps() for one in modification.facts)
    )
    observations = [evidence.by_id[source] for source in sources]
    functions = functions_of(comparison, modification)
    possible = {function for choice in concerned for function in _functions_of_choice(reference, choice)}
    zone_ids = zones_of_modification(modification, comparison.after)
    states = {one.state for one in observations if one.state}
    circuits = {circuit for node in modification.nodes for circuit in comparison.circuits_at(node)}
    photographs = tuple(sorted({photo for one in observations for photo in one.photographs}))
    return Finding(
        id="",
        number=0,
        modification=modification,
        rating=rating,
        origin=ORIGINS.get(modification.kind, "added"),
        state="open" if "open" in states else min(states, default="open"),
        install=None,
        joints=_flagged_joints(comparison.after, modification),
        circuits=tuple(sorted(circuits)),
        functions=functions,
        zones=zone_ids,
        observations=sources,
        photographs=photographs,
        unverified=tuple(one for one in photographs if one in evidence.unverified),
        readings=tuple(sorted({reading for one in observations for reading in one.readings})),
        possibilities=possibilities,
        consequences=consequences,
        checks=_checks(
            checks_of(modification, concerned, reference, (*functions, *sorted(possible)), comparison.after), rating
        ),
        cautions=cautions_of(modification, functions, zones_by_id(comparison.after, zone_ids)),
        rules=tuple(
            one
            for one in citing.rules(modification, comparison.after, functions, consequences)
            if rating.flagged or not one.analogy  # what is acceptable is not argued with by analogy
        ),
        directive=citing.directive(modification, comparison.after, functions, consequences),
        notes=tuple(one.note for one in observations if one.note),
        extra=tuple(sorted({extra for one in observations for extra in one.extra})),
    )


def _which(possibilities: tuple[Possibility, ...], choices: tuple[Choice, ...], reference: Reference) -> Iterator[Open]:
    """The questions of which way to read the record, where the answers leave different levels."""
    for choice in choices:
        answers = tuple(
            Answer(answer=one.label, best=one.best, worst=one.worst) for one in possibilities if one.choice == choice.id
        )
        if len({(one.best, one.worst) for one in answers}) > 1:
            (look,) = checks_of_choices((choice,), reference)
            yield Open(question="which", about=choice.id, look=look, answers=answers)


def _checks(checks: tuple[Fact, ...], rating: Rating) -> tuple[Fact, ...]:
    """Checks, and the looks that what is open asks for; none but a qualified person's where that is the only one."""
    if checks == BY_QUALIFIED_PERSON:
        return checks
    return tuple(dict.fromkeys((*checks, *(one.look for one in rating.opens))))


def _functions_of_choice(reference: Reference, choice: Choice) -> set[str]:
    found = set()
    for alternative in choice.alternatives:
        for element in alternative.elements:
            conductor = reference.harness.conductor(element)
            function = reference.function_of(conductor.circuit if conductor else None)
            if function:
                found.add(function)
    return found


def _flagged_joints(as_found: Harness, modification: Modification) -> tuple[FlaggedJoint, ...]:
    found = []
    for joint_id in modification.joints:
        joint = as_found.joint(joint_id)
        if joint is not None:
            judgement = judged(joint.details)
            found.append(
                FlaggedJoint(
                    id=joint_id,
                    flag="",
                    details=joint.details,
                    zone=joint.zone,
                    best_rank=judgement.best.rank,
                    worst_rank=judgement.worst.rank,
                )
            )
    return tuple(found)
