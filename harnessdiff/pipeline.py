"""The stages in order; the only module that knows them all."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from harnessdiff.analyse.checks import cautions_of, checks_of
from harnessdiff.analyse.consequences import with_consequences, zones_of_modification
from harnessdiff.analyse.coverage import coverage_of
from harnessdiff.analyse.fed_by import fed_by, fuses_of
from harnessdiff.analyse.supply import Supply
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import functions_of, installs_of, modifications_of
from harnessdiff.errors import InputError, Problem
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
from harnessdiff.model.harness import Harness, Zone
from harnessdiff.model.modification import Fact, Install, Modification
from harnessdiff.model.observation import AnyObservation, AsReference, GoodPractice
from harnessdiff.model.rating import Rating, level_rank
from harnessdiff.model.reference import Reference, Vehicle
from harnessdiff.model.survey import Survey
from harnessdiff.rate.joints import judged
from harnessdiff.rate.rating import Circumstances, rated
from harnessdiff.read.document import checked, format_of
from harnessdiff.read.json_text import load_document
from harnessdiff.read.reference import read_reference, reference_of
from harnessdiff.read.schema import did_you_mean
from harnessdiff.read.survey import check_survey, read_survey, survey_of
from harnessdiff.report.findings_json import findings_text
from harnessdiff.report.listing import listing
from harnessdiff.resolve.apply import as_found_of
from harnessdiff.resolve.scope import looked_at
from harnessdiff.resolve.visits import as_equipped, standing
from harnessdiff.words import Describer, fuse_words

if TYPE_CHECKING:
    from harnessdiff.draw.sheets import Sheet

MOST_RESOLUTIONS = 64
ORIGINS = {"repair": "repair", "damage": "condition", "surroundings": "condition", "other": "unknown",
           "unrecognised": "unknown"}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Case:
    """A vehicle assessed: the two harnesses and the findings. In a notebook it shows its drawing."""

    reference: Reference
    as_found: Harness
    findings: Findings

    @cached_property
    def sheets(self) -> tuple[Sheet, ...]:
        """The drawing: an overview, and a sheet for every install."""
        from harnessdiff.draw.sheets import sheets_of  # noqa: PLC0415 - heavy, needed only to draw

        return sheets_of(self.reference, self.as_found, self.findings)

    def _repr_html_(self) -> str:
        """The sheets, one below the other."""
        return "\n".join(f"<div>{sheet.svg}</div>" for sheet in self.sheets)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Assessed:
    """One resolution, assessed."""

    comparison: Comparison
    modifications: tuple[Modification, ...]
    installs: tuple[Install, ...]
    ratings: tuple[Rating, ...]


def compare_files(reference: Path, survey: Path, *, as_of: str | None = None) -> Case:
    """Read a reference and a survey and assess them.

    Parameters
    ----------
    reference, survey : Path
        JSON files.
    as_of : str, optional
        Visit up to which the survey counts; all of it where left out.

    Returns
    -------
    Case

    Raises
    ------
    InputError
        With every problem of either file.
    """
    should_be = read_reference(reference)
    return assess(should_be, read_survey(survey, should_be), as_of=as_of)


def assess(reference: Reference, survey: Survey, *, as_of: str | None = None) -> Case:
    """Say what was changed, and how bad it is.

    Parameters
    ----------
    reference : Reference
    survey : Survey
    as_of : str, optional
        Visit up to which the survey counts.

    Returns
    -------
    Case
    """
    survey = standing(survey, as_of)
    equipped = as_equipped(reference, survey.options)
    as_found = as_found_of(equipped, survey)
    evidence = _Evidence(as_found, survey)
    before = Supply(equipped.harness, equipped.vehicle.ground_polarity)
    assessed = [
        (resolution, _assessed(equipped, before, resolution, evidence))
        for resolution in as_found.resolutions(MOST_RESOLUTIONS)
    ]
    findings = _findings(equipped, survey, as_found, evidence, assessed)
    return Case(reference=equipped, as_found=assessed[0][1].comparison.after, findings=findings)


class _Evidence:
    """What observations say of the elements they make: kit, owner, and everything else that travels along."""

    def __init__(self, as_found: AsFound, survey: Survey) -> None:
        self.by_id: dict[str, AnyObservation] = {one.id: one for one in survey.observations}
        self.seen_in: Mapping[str, tuple[str, ...]] = dict(as_found.seen_in)
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
        """Observations that a modification stands on, in the order of the survey."""
        elements = {modification.root, *modification.added, *modification.joints}
        if modification.role in ("ends", "plugged", "end_1", "end_2"):
            elements |= set(modification.elements)
        sources = {source for element in elements for source in self.seen_in.get(element, ())}
        return tuple(one for one in self.by_id if one in sources)


def _assessed(reference: Reference, before: Supply, resolution: Resolution, evidence: _Evidence) -> _Assessed:
    comparison = Comparison(reference, resolution.edits)
    modifications = modifications_of(comparison)
    installs = installs_of(comparison, modifications, evidence.kits)
    modifications = with_consequences(reference, before, comparison.after, modifications, installs)
    modifications = _with_owners(modifications, installs, evidence.owners)
    ratings = tuple(rated(one, _circumstances(comparison, one)) for one in modifications)
    return _Assessed(comparison=comparison, modifications=modifications, installs=installs, ratings=ratings)


def _with_owners(
    modifications: tuple[Modification, ...], installs: tuple[Install, ...], owners: Mapping[str, str]
) -> tuple[Modification, ...]:
    """Modifications of an install that somebody else owns say so."""
    owned: dict[int, str] = {}
    for install in installs:
        things = {*install.devices, *install.shared}
        for number in install.modifications:
            things |= {modifications[number].root, *modifications[number].added}
        for thing in sorted(things & set(owners)):
            owned.update(dict.fromkeys(install.modifications, owners[thing]))
    return tuple(
        replace(one, facts=(*one.facts, Fact.of("owner_other", owner=owned[number]))) if number in owned else one
        for number, one in enumerate(modifications)
    )


def _circumstances(comparison: Comparison, modification: Modification) -> Circumstances:
    return Circumstances(
        functions=functions_of(comparison, modification),
        zones=_zones(comparison.after, zones_of_modification(modification, comparison.after)),
        as_found=comparison.after,
    )


def _zones(harness: Harness, ids: tuple[str, ...]) -> tuple[Zone, ...]:
    return tuple(zone for zone in map(harness.zone, ids) if zone is not None)


def _findings(
    reference: Reference,
    survey: Survey,
    as_found: AsFound,
    evidence: _Evidence,
    assessed: list[tuple[Resolution, _Assessed]],
) -> Findings:
    base = assessed[0][1]
    possibilities = _possibilities(as_found, evidence, assessed)
    drafts = [
        _draft(reference, base, number, evidence, possibilities.get(_key(one, evidence), ()), as_found.choices)
        for number, one in enumerate(base.modifications)
    ]
    installs = {number: place for place, install in enumerate(base.installs) for number in install.modifications}
    order = sorted(range(len(drafts)), key=lambda number: _importance(drafts[number], installs.get(number)))
    numbers = {number: place for place, number in enumerate(order, start=1)}
    install_order = _install_order(base.installs, numbers)
    findings = tuple(
        _numbered(drafts[number], numbers[number], install_order.get(installs.get(number, -1))) for number in order
    )
    seen = looked_at(reference.harness, survey.scope)
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
        findings=_with_ids(findings),
        installs=tuple(
            InstallFound(
                number=install_order[place],
                findings=tuple(sorted(numbers[number] for number in install.modifications)),
                shared=install.shared,
                devices=install.devices,
                functions=install.functions,
                consistent_with=install.consistent_with,
                evidence=install.evidence,
            )
            for place, install in sorted(enumerate(base.installs), key=lambda one: install_order[one[0]])
        ),
        coverage=coverage_of(reference, survey.scope, seen),
        edits=assessed[0][0].edits,
        plain=tuple(
            Plain(observation=one.observation, reason=one.reason, clue=one.clue) for one in as_found.unresolved
        ),
        recorded=_recorded(survey),
        complaint=survey.complaint,
        history=survey.history,
        pre_existing_faults=survey.pre_existing_faults,
        readings=survey.readings,
        photographs=survey.photographs,
        codes_saved=survey.scope.codes_saved,
        complete=as_found.complete_within(MOST_RESOLUTIONS),
    )


def _key(modification: Modification, evidence: _Evidence) -> tuple[str, ...]:
    """What a modification is known by across resolutions: the observations it stands on, and its added root."""
    root = modification.root if modification.root.startswith("+") else modification.role
    return (*evidence.of(modification), root)


def _possibilities(
    as_found: AsFound, evidence: _Evidence, assessed: list[tuple[Resolution, _Assessed]]
) -> dict[tuple[str, ...], tuple[Possibility, ...]]:
    """For every modification that an open question concerns: what it is under each answer."""
    found: dict[tuple[str, ...], dict[tuple[str, str], Possibility]] = {}
    for resolution, one in assessed:
        for choice, (_, pick) in zip(as_found.choices, resolution.picks, strict=True):
            alternative = choice.alternatives[pick]
            for modification, rating in zip(one.modifications, one.ratings, strict=True):
                if choice.observation not in evidence.of(modification):
                    continue
                possible = found.setdefault(_key(modification, evidence), {})
                earlier = possible.get((choice.id, alternative.label))
                now = Possibility(
                    choice=choice.id,
                    about=choice.about,
                    label=alternative.label,
                    kind=modification.kind,
                    elements=modification.elements,
                    best=rating.best,
                    worst=rating.worst,
                )
                possible[choice.id, alternative.label] = _wider(earlier, now)
    return {key: tuple(possible.values()) for key, possible in found.items()}


def _wider(one: Possibility | None, other: Possibility) -> Possibility:
    if one is None:
        return other
    return replace(
        one, best=min(one.best, other.best, key=level_rank), worst=max(one.worst, other.worst, key=level_rank)
    )


def _draft(
    reference: Reference,
    base: _Assessed,
    number: int,
    evidence: _Evidence,
    possibilities: tuple[Possibility, ...],
    choices: tuple[Choice, ...],
) -> Finding:
    """A finding without its number, install and id."""
    modification, rating = base.modifications[number], base.ratings[number]
    comparison = base.comparison
    if possibilities:
        rating = replace(
            rating,
            best=min((rating.best, *(one.best for one in possibilities)), key=level_rank),
            worst=max((rating.worst, *(one.worst for one in possibilities)), key=level_rank),
        )
    sources = evidence.of(modification)
    observations = [evidence.by_id[source] for source in sources]
    functions = functions_of(comparison, modification)
    concerned = tuple(choice for choice in choices if choice.observation in sources)
    possible = {function for choice in concerned for function in _functions_of_choice(reference, choice)}
    zone_ids = zones_of_modification(modification, comparison.after)
    states = {one.state for one in observations if one.state}
    circuits = {circuit for node in modification.nodes for circuit in comparison.circuits_at(node)}
    return Finding(
        id="",
        number=0,
        modification=modification,
        rating=rating,
        origin=ORIGINS.get(modification.kind, "added"),
        state=min(states) if states else "open",
        install=None,
        joints=_flagged_joints(comparison.after, modification),
        circuits=tuple(sorted(circuits)),
        functions=functions,
        zones=zone_ids,
        observations=sources,
        photographs=tuple(sorted({photo for one in observations for photo in one.photographs})),
        readings=tuple(sorted({reading for one in observations for reading in one.readings})),
        possibilities=possibilities,
        checks=checks_of(modification, concerned, reference, (*functions, *sorted(possible)), comparison.after),
        cautions=cautions_of(modification, functions, _zones(comparison.after, zone_ids)),
        notes=tuple(one.note for one in observations if one.note),
        extra=tuple(sorted({extra for one in observations for extra in one.extra})),
    )


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
    index = max((one.index for one in rating.mechanisms), default=0)
    return (
        -level_rank(rating.worst),
        -level_rank(rating.best),
        -index,
        -1 if install is None else install,
        finding.kind,
        finding.modification.elements,
        finding.modification.root,
    )


def _install_order(installs: tuple[Install, ...], numbers: dict[int, int]) -> dict[int, int]:
    """Installs numbered by their worst finding."""
    first = {place: min(numbers[number] for number in install.modifications) for place, install in enumerate(installs)}
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
    found = []
    for one in survey.observations:
        if isinstance(one, GoodPractice):
            found.append(
                Recorded(observation=one.id, kind="good_practice", of=one.of, practice=one.practice, note=one.note)
            )
        elif isinstance(one, AsReference):
            zones = (one.zone,) if one.zone else ()
            found.append(Recorded(observation=one.id, kind="as_reference", of=(*one.elements, *zones), note=one.note))
    return tuple(found)


# -- what the command line asks for, and any program may


def check_file(path: Path, reference: Reference | None = None) -> str:
    """Hold a document against its schema and its own sense.

    Parameters
    ----------
    path : Path
    reference : Reference, optional
        What a survey names must be there.

    Returns
    -------
    str
        ``reference``, ``survey`` or ``findings``.

    Raises
    ------
    InputError
        With every problem, in file order.
    """
    document = load_document(path)
    format_ = format_of(document)
    if format_ == "reference":
        reference_of(document)
    elif format_ == "findings":
        checked(document, "findings")
    elif reference is not None:
        survey_of(document, reference)
    else:
        check_survey(document)
    return format_


def listing_of(case: Case) -> str:
    """The findings of a case as a list that a person reads."""
    return listing(case.findings, Describer(case.reference, case.as_found))


def documents(case: Case) -> dict[str, bytes]:
    """The findings of a case as files: name to bytes."""
    return {"findings.json": findings_text(case.findings).encode(), "findings.txt": listing_of(case).encode()}


def drawn(case: Case, formats: tuple[str, ...], wanted: tuple[str, ...]) -> dict[str, bytes]:
    """The sheets of a case as files.

    Parameters
    ----------
    case : Case
    formats : tuple of str
        Of ``svg``, ``png``, ``pdf`` (one file for all sheets) and ``dot``.
    wanted : tuple of str
        Names of the sheets; all where empty.

    Returns
    -------
    dict
        File name to bytes.
    """
    from harnessdiff.draw.export import exported  # noqa: PLC0415 - heavy, needed only to draw

    sheets = tuple(sheet for sheet in case.sheets if not wanted or sheet.name in wanted)
    return exported(sheets, formats)


def hanging_on(reference: Reference, fuse: str | None) -> list[dict[str, Any]]:
    """What hangs on a fuse, or on each of them.

    Parameters
    ----------
    reference : Reference
    fuse : str or None
        A slot, the fuse in it, or a fusible link; all where None.

    Returns
    -------
    list of dict
        For every fuse its id, words and loads, each in the order the current reaches it.

    Raises
    ------
    InputError
        If there is no such fuse.
    """
    harness = reference.harness
    slots = fuses_of(harness)
    if fuse is not None:
        slot = (harness.targets(fuse, "seat") or (fuse,))[0]
        if slot not in slots:
            message = f"there is no fuse {fuse}{did_you_mean(fuse, slots)}"
            raise InputError((Problem(source=reference.id, message=message),))
        slots = (slot,)
    supply = Supply(harness, reference.vehicle.ground_polarity)
    describer = Describer(reference, harness)
    return [
        {
            "fuse": slot,
            "words": fuse_words(harness, slot),
            "loads": [
                {
                    "device": load.device,
                    "terminal": load.terminal,
                    "words": describer.name(load.device),
                    "way": list(load.way),
                    "switched_by": list(dict.fromkeys(load.switched_by)),
                    "length_m": load.length_m,
                }
                for load in fed_by(supply, slot)
            ],
        }
        for slot in slots
    ]


def blank_survey(reference: Reference, *, when: str, who: str | None = None) -> str:
    """A survey to fill in, as text.

    Parameters
    ----------
    reference : Reference
    when : str
        Date of the visit, ISO 8601.
    who : str, optional
        Who looks.

    Returns
    -------
    str
        A valid survey: no zone looked at yet, every option unknown, nothing observed.
    """
    zones = reference.harness.zones()
    visit: dict[str, Any] = {"id": "V1", "when": when} | ({"who": [who]} if who else {})
    survey: dict[str, Any] = {
        "format": "harnessdiff survey",
        "version": "1.0",
        "title": f"{reference.title}: survey of {when}",
        "reference": {"id": reference.id} | ({"sha256": reference.sha256} if reference.sha256 else {}),
        "vehicle": {},
        "purpose": "other",
        "visits": [visit],
        "scope": {
            "dismantling": "covers",
            "codes_saved": "unknown",
            "looked_at": [],
            "not_opened": [{"zone": zone.id, "because": f"not yet ({zone.name})"} for zone in zones],
            "out_of_scope": [],
        },
        "options": [{"id": option.id, "fitted": "unknown"} for option in reference.options],
        "complaint": [],
        "observations": [],
        "readings": [],
        "photographs": [],
    }
    return json.dumps(survey, ensure_ascii=False, indent=2) + "\n"
