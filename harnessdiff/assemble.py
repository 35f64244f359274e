"""Findings from the assessed resolutions of a survey: merged, ordered, numbered and named."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from importlib.metadata import version

from harnessdiff.analyse.checks import BY_QUALIFIED_PERSON, cautions_of, checks_of, checks_of_choices
from harnessdiff.analyse.consequences import zones_of_modification
from harnessdiff.analyse.coverage import coverage_of, silent_of
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import functions_of
from harnessdiff.model.computed import Computed
from harnessdiff.model.consequence import CODES, Consequence
from harnessdiff.model.edit import AsFound, Choice, Resolution
from harnessdiff.model.findings import (
    Finding,
    Findings,
    FlaggedJoint,
    InstallFound,
    Plain,
    Possibility,
    Recorded,
)
from harnessdiff.model.harness import Harness, Joint, Zone
from harnessdiff.model.modification import Fact, Install, Modification
from harnessdiff.model.observation import AnyObservation, AsReference, GoodPractice
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import Answer, Open, Rating, level_rank
from harnessdiff.model.reference import Reference, Vehicle
from harnessdiff.model.rules import DirectiveItem, RuleMet
from harnessdiff.model.survey import Survey
from harnessdiff.rate.directive import directive_items
from harnessdiff.rate.joints import judged
from harnessdiff.rate.looks import next_looks
from harnessdiff.rate.rules import engine_running, lamps_of, rules_met
from harnessdiff.rate.sensitivity import firmness_of, order_kept
from harnessdiff.rate.verdict import verdict_of
from harnessdiff.resolve.scope import looked_at

MOST_RESOLUTIONS = 256
"""Combinations of answers to questions that bear on each other; beyond that one is varied at a time."""
MOST_ALTERNATIVES = 64
"""Answers to one question that are gone through; of more, one stands for its circuit."""
NOTHING_COMPUTED = Computed()
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


def consequences_of(computed: Computed, number: int | None) -> tuple[Consequence, ...]:
    """Consequences that a modification answers for; with None those that none does. The gravest first."""
    own = [
        one.consequence
        for one in computed.found
        if (number in one.modifications if number is not None else not one.modifications)
    ]
    return tuple(sorted(own, key=lambda one: (CODES.index(one.code), one.subject, one.terminal or "", one.params)))


class Evidence:
    """What observations say of the elements they make: kit, owner, and everything else that travels along."""

    def __init__(self, as_found: AsFound, survey: Survey) -> None:
        self.by_id: dict[str, AnyObservation] = {one.id: one for one in survey.observations}
        self.seen_in: Mapping[str, tuple[str, ...]] = dict(as_found.seen_in)
        self.unverified = {one.id for one in survey.photographs if one.unverified}
        self.kits = self._of_elements("kit")
        self.owners = {
            element: owner
            for element, owner in self._of_elements("owner").items()
            if owner in ("lender", "insurer", "fleet")
        }

    def _of_elements(self, name: str) -> dict[str, str]:
        found = {}
        for element, sources in self.seen_in.items():
            for source in sources:
                value = getattr(self.by_id.get(source), name, None)
                if value:
                    found[element] = str(value)
        return found

    def of(self, modification: Modification) -> tuple[str, ...]:
        """Observations that a modification stands on, in the order of their ids."""
        elements = {modification.root, *modification.added, *modification.joints}
        if modification.role in ("ends", "plugged", "end_1", "end_2"):
            elements |= set(modification.elements)
        sources = {source for element in elements for source in self.seen_in.get(element, ())}
        return tuple(sorted(one for one in self.by_id if one in sources))


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


def zones_by_id(harness: Harness, ids: tuple[str, ...]) -> tuple[Zone, ...]:
    """The zones with these ids; those that are none are left out."""
    return tuple(zone for zone in map(harness.zone, ids) if zone is not None)


def findings_of(
    reference: Reference,
    survey: Survey,
    as_found: AsFound,
    questions: OpenQuestions,
    evidence: Evidence,
    assessed: list[tuple[Resolution, Assessed]],
    policy: Policy,
    computed: Computed = NOTHING_COMPUTED,
) -> Findings:
    """The findings of a survey.

    Parameters
    ----------
    reference : Reference
        As equipped.
    survey : Survey
        As it stands.
    as_found : AsFound
    questions : OpenQuestions
    evidence : Evidence
    assessed : list of tuple
        Every resolution that was gone through with what came of it; the first is the one that is
        drawn.
    policy : Policy
        What the ratings went by.
    computed : Computed
        What follows electrically from the first.

    Returns
    -------
    Findings
        Worst first, numbered; where an open question moves a level, with the range.
    """
    base = assessed[0][1]
    possibilities = _possibilities(questions, evidence, assessed)
    over_all = _over_all(evidence, assessed)
    citing = Citing(reference, survey, base.comparison.after)
    drafts = [
        _draft(
            reference,
            base,
            number,
            evidence,
            possibilities.get(_key(one, evidence), ()),
            over_all[_key(one, evidence)],
            questions.choices,
            consequences_of(computed, number),
            citing,
            complete=questions.complete,
        )
        for number, one in enumerate(base.modifications)
    ]
    installs = {number: place for place, install in enumerate(base.installs) for number in install.modifications}
    order = sorted(range(len(drafts)), key=lambda number: _importance(drafts[number], installs.get(number)))
    numbers = {number: place for place, number in enumerate(order, start=1)}
    install_order = _install_order(base.installs, numbers)
    findings = _with_ids(
        tuple(
            _numbered(drafts[number], numbers[number], install_order.get(installs.get(number, -1))) for number in order
        )
    )
    ratings = [finding.rating for finding in findings]
    firmness = firmness_of(ratings, policy)
    findings = tuple(
        replace(finding, rating=replace(finding.rating, firm=firm))
        for finding, firm in zip(findings, firmness, strict=True)
    )
    coverage = coverage_of(reference, survey.scope, looked_at(reference.harness, survey.scope))
    plain = tuple(
        Plain(
            observation=one.observation,
            reason=one.reason,
            clue=one.clue,
            zone=getattr(evidence.by_id.get(one.observation), "zone", None),
            note=getattr(evidence.by_id.get(one.observation), "note", None),
        )
        for one in as_found.unresolved
    )
    return Findings(
        program=f"harnessdiff {version('harnessdiff')}",
        reference_id=reference.id,
        reference_title=reference.title,
        reference_sha256=reference.sha256,
        survey_title=survey.title,
        survey_sha256=survey.sha256,
        invented=reference.invented or survey.invented,
        vehicle=_vehicle(reference, survey),
        visits=survey.visits,
        purpose=survey.purpose,
        findings=findings,
        installs=tuple(
            InstallFound(
                number=install_order[place],
                findings=tuple(sorted(numbers[number] for number in install.modifications)),
                shared=install.shared,
                devices=install.devices,
                functions=install.functions,
                consistent_with=install.consistent_with,
                evidence=install.evidence,
                isolation=computed.isolations[place] if computed.isolations else None,
                removal=tuple(
                    replace(step, modification=numbers[step.modification]) for step in computed.removals[place]
                )
                if computed.removals
                else (),
            )
            for place, install in sorted(enumerate(base.installs), key=lambda one: install_order[one[0]])
        ),
        coverage=coverage,
        edits=assessed[0][0].edits,
        plain=plain,
        recorded=_recorded(survey),
        complaint=survey.complaint,
        history=survey.history,
        pre_existing_faults=survey.pre_existing_faults,
        readings=survey.readings,
        photographs=survey.photographs,
        codes_saved=survey.scope.codes_saved,
        complete=questions.complete,
        conditions=computed.conditions,
        of_the_whole=consequences_of(computed, None),
        next_looks=next_looks(findings, survey.scope, reference, base.comparison.after, policy),
        order_kept=order_kept(ratings, policy),
        policy=policy,
        verdict=verdict_of(
            findings,
            plain,
            coverage,
            policy,
            complete=questions.complete,
            conditions=computed.conditions,
            silent=silent_of(reference),
        ),
    )


def _key(modification: Modification, evidence: Evidence) -> tuple[str, ...]:
    """What a modification is known by across resolutions: the observations it stands on, and its added root."""
    root = modification.root if modification.root.startswith("+") else modification.role
    return (*evidence.of(modification), root)


def _possibilities(
    questions: OpenQuestions, evidence: Evidence, assessed: list[tuple[Resolution, Assessed]]
) -> dict[tuple[str, ...], tuple[Possibility, ...]]:
    """For every modification that an open question concerns: what it is under each answer."""
    found: dict[tuple[str, ...], dict[tuple[str, int], Possibility]] = {}
    for resolution, one in assessed:
        for choice, (_, pick) in zip(questions.choices, resolution.picks, strict=True):
            alternative = choice.alternatives[pick]
            for modification, rating in zip(one.modifications, one.ratings, strict=True):
                if choice.observation not in evidence.of(modification):
                    continue
                possible = found.setdefault(_key(modification, evidence), {})
                earlier = possible.get((choice.id, pick))
                now = Possibility(
                    choice=choice.id,
                    about=choice.about,
                    label=alternative.label,
                    kind=modification.kind,
                    elements=modification.elements,
                    best=rating.best,
                    worst=rating.worst,
                )
                possible[choice.id, pick] = _wider(earlier, now)
    return {key: tuple(_all_answers(questions, possible)) for key, possible in found.items()}


def _all_answers(questions: OpenQuestions, possible: dict[tuple[str, int], Possibility]) -> Iterator[Possibility]:
    """What was found for the answers gone through, and for those they stand for."""
    for choice, leaders in zip(questions.choices, questions.leaders, strict=True):
        for pick, leader in enumerate(leaders):
            of_leader = possible.get((choice.id, leader))
            if of_leader is None:
                continue
            alternative = choice.alternatives[pick]
            elements = of_leader.elements if pick == leader else alternative.elements
            yield replace(of_leader, label=alternative.label, elements=elements)


def _over_all(evidence: Evidence, assessed: list[tuple[Resolution, Assessed]]) -> dict[tuple[str, ...], OverAll]:
    """What can be said of every modification over all resolutions."""
    found: dict[tuple[str, ...], OverAll] = {}
    for _, one in assessed:
        for modification, rating in zip(one.modifications, one.ratings, strict=True):
            key = _key(modification, evidence)
            facts = frozenset(modification.facts)
            earlier = found.get(key)
            if earlier is None:
                found[key] = OverAll(worst=rating, sure=facts, at_least=rating.at_least)
            else:
                worse = level_rank(rating.worst) > level_rank(earlier.worst.worst)
                found[key] = OverAll(
                    worst=rating if worse else earlier.worst,
                    sure=earlier.sure & facts,
                    at_least=earlier.at_least or rating.at_least,
                )
    return found


def _wider(one: Possibility | None, other: Possibility) -> Possibility:
    if one is None:
        return other
    return replace(
        one, best=min(one.best, other.best, key=level_rank), worst=max(one.worst, other.worst, key=level_rank)
    )


def _draft(
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
        rules=citing.rules(modification, comparison.after, functions, consequences),
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


def _importance(finding: Finding, install: int | None) -> tuple[object, ...]:
    """Worst first; then by install, kind and place, so that the order depends on nothing else."""
    rating = finding.rating
    index = max((one.index for one in rating.mechanisms), default=0.0)
    return (
        not rating.rated,
        -level_rank(rating.worst),
        -level_rank(rating.best),
        -index,
        -1 if install is None else install,
        finding.kind,
        finding.modification.elements,
        finding.modification.root,
    )


def _install_order(installs: tuple[Install, ...], numbers: dict[int, int]) -> dict[int, int]:
    """Installs numbered by their worst finding, those of several findings first."""
    first = {
        place: (len(install.modifications) == 1, min(numbers[number] for number in install.modifications))
        for place, install in enumerate(installs)
    }
    return {place: rank for rank, place in enumerate(sorted(first, key=first.__getitem__), start=1)}


def _numbered(finding: Finding, number: int, install: int | None) -> Finding:
    letters = "abcdefghijklmnopqrstuvwxyz"
    several = len(finding.joints) > 1
    joints = tuple(
        replace(joint, flag=f"{number}{letters[place % 26]}" if several else str(number))
        for place, joint in enumerate(finding.joints)
    )
    return replace(finding, number=number, install=install, joints=joints)


def _with_ids(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Findings with ids that depend on kind, elements and role, and an ordinal among equals."""
    alike: dict[tuple[str, ...], list[Finding]] = {}
    for finding in findings:
        candidates = {element for one in finding.possibilities for element in one.elements}
        elements = sorted(candidates | set(finding.modification.elements)) or list(finding.zones)
        alike.setdefault((finding.kind, *elements, finding.modification.role), []).append(finding)
    ids: dict[int, str] = {}
    for key, same in alike.items():
        for ordinal, finding in enumerate(sorted(same, key=lambda one: one.modification.root)):
            digest = hashlib.sha256("\x1f".join((*key, str(ordinal))).encode()).hexdigest()
            ids[finding.number] = f"F-{digest[:8]}"
    return tuple(replace(finding, id=ids[finding.number]) for finding in findings)


def _vehicle(reference: Reference, survey: Survey) -> Vehicle:
    """The vehicle: what the survey says of it, and what the reference says where the survey is silent."""
    said = survey.vehicle
    silent = {name: getattr(reference.vehicle, name) for name in type(said).__slots__ if getattr(said, name) is None}
    return replace(said, **silent)


def _recorded(survey: Survey) -> tuple[Recorded, ...]:
    """Observations that change nothing, in the order of their ids."""
    found = []
    for one in survey.observations:
        if isinstance(one, GoodPractice):
            found.append(
                Recorded(observation=one.id, kind="good_practice", of=one.of, practice=one.practice, note=one.note)
            )
        elif isinstance(one, AsReference):
            zones = (one.zone,) if one.zone else ()
            found.append(Recorded(observation=one.id, kind="as_reference", of=(*one.elements, *zones), note=one.note))
    return tuple(sorted(found, key=lambda one: one.observation))
