"""Findings from the assessed resolutions of a survey: merged, ordered, numbered and named."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import replace
from importlib.metadata import version

from harnessdiff.analyse.coverage import coverage_of, silent_of
from harnessdiff.drafts import Assessed, Citing, OpenQuestions, OverAll, draft_of
from harnessdiff.evidence import Evidence
from harnessdiff.model.computed import Computed
from harnessdiff.model.consequence import CODES, Consequence
from harnessdiff.model.edit import AsFound, Resolution
from harnessdiff.model.findings import (
    Finding,
    Findings,
    InstallFound,
    Plain,
    Possibility,
    Recorded,
)
from harnessdiff.model.modification import Install, Modification
from harnessdiff.model.observation import AsReference, GoodPractice
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import level_rank
from harnessdiff.model.reference import Reference, Vehicle
from harnessdiff.model.survey import Survey
from harnessdiff.rate.looks import next_looks
from harnessdiff.rate.sensitivity import firmness_of, order_kept
from harnessdiff.rate.verdict import verdict_of
from harnessdiff.resolve.scope import looked_at

MOST_RESOLUTIONS = 256
"""Combinations of answers to questions that bear on each other; beyond that one is varied at a time."""
MOST_ALTERNATIVES = 64
"""Answers to one question that are gone through; of more, one stands for its circuit."""
NOTHING_COMPUTED = Computed()


def consequences_of(computed: Computed, number: int | None) -> tuple[Consequence, ...]:
    """Consequences that a modification answers for; with None those that none does. The gravest first."""
    own = [
        one.consequence
        for one in computed.found
        if (number in one.modifications if number is not None else not one.modifications)
    ]
    return tuple(sorted(own, key=lambda one: (CODES.index(one.code), one.subject, one.terminal or "", one.params)))


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
        draft_of(
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
