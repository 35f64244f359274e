"""The stages in order; the only module that knows them all."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from harnessdiff.analyse.consequences import with_consequences
from harnessdiff.analyse.contents import thoughts_of
from harnessdiff.analyse.lint import objections_to
from harnessdiff.analyse.supply import Supply
from harnessdiff.assemble import (
    MOST_ALTERNATIVES,
    MOST_RESOLUTIONS,
    NOTHING_COMPUTED,
    findings_of,
)
from harnessdiff.compare.before import Before
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import installs_of, modifications_of
from harnessdiff.describer import Describer
from harnessdiff.drafts import OpenQuestions
from harnessdiff.evidence import Evidence
from harnessdiff.levels import Reading, Way, assessed_over, ways_of
from harnessdiff.model.computed import Computed, Found
from harnessdiff.model.edit import Resolution
from harnessdiff.model.findings import (
    Findings,
)
from harnessdiff.model.harness import Harness
from harnessdiff.model.modification import Fact, Install, Modification
from harnessdiff.model.objection import Objection
from harnessdiff.model.policy import Policy
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import OptionSeen, Survey
from harnessdiff.read.json_text import parse_document
from harnessdiff.read.policy import default_policy
from harnessdiff.read.reference import read_reference, reference_of
from harnessdiff.read.survey import read_survey
from harnessdiff.read.table.cells import Row
from harnessdiff.read.table.fragment import fragment_of
from harnessdiff.read.table.questions import Question
from harnessdiff.report.findings_json import findings_text
from harnessdiff.report.listing import listing
from harnessdiff.report.next_looks import next_looks_text
from harnessdiff.report.objections import NOTE, message_of, rules
from harnessdiff.resolve.apply import as_found_of
from harnessdiff.resolve.visits import as_equipped, standing
from harnessdiff.tables.loader import LIMIT_TABLE

if TYPE_CHECKING:
    from harnessdiff.draw.sheets import Sheet

MOST_OPTIONS_ALONE = 16
"""Options, and sets of them, that are tried each alone when a reference is linted; more would say little."""


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


def compare_files(reference: Path | str, survey: Path | str, *, as_of: str | None = None) -> Case:
    """Read a reference and a survey and assess them.

    Parameters
    ----------
    reference, survey : Path or str
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
    should_be = read_reference(Path(reference))
    return assess(should_be, read_survey(Path(survey), should_be), as_of=as_of)


def assess(
    reference: Reference,
    survey: Survey,
    *,
    as_of: str | None = None,
    electrical: bool = True,
    limit_table: str = LIMIT_TABLE,
    policy: Policy | None = None,
) -> Case:
    """Say what was changed, and how bad it is.

    Parameters
    ----------
    reference : Reference
    survey : Survey
    as_of : str, optional
        Visit up to which the survey counts.
    electrical : bool
        Whether both harnesses are solved as networks for what each change does.
    limit_table : str
        Table that says what a conductor may carry: one of `tables.physics.limit_tables`.
    policy : Policy, optional
        What the rating goes by; the shipped one where left out.

    Returns
    -------
    Case
    """
    policy = policy or default_policy()
    survey = standing(survey, as_of)
    equipped = as_equipped(reference, survey.options)
    as_found = as_found_of(equipped, survey)
    evidence = Evidence(as_found, survey)
    before = Before(equipped)
    supply = Supply(equipped.harness, equipped.vehicle.ground_polarity)
    leaders = [before.leaders(choice, MOST_ALTERNATIVES) for choice in as_found.choices]
    groups = before.groups(as_found)
    leading = [tuple(sorted(set(numbers))) for numbers, _ in leaders]
    resolutions = list(as_found.resolutions(MOST_RESOLUTIONS, leading, groups))
    readings = [_reading(before, supply, one, evidence, limit_table) for one in resolutions]
    questions = OpenQuestions(
        choices=as_found.choices,
        leaders=tuple(numbers for numbers, _ in leaders),
        complete=as_found.complete_within(MOST_RESOLUTIONS, leading, groups) and all(exact for _, exact in leaders),
    )
    open_observations = frozenset(one.observation for one in as_found.choices)
    ways = ways_of(readings, thoughts_of(readings[0].comparison.after), open_observations, evidence)
    drawn, solve = NOTHING_COMPUTED, None
    if electrical:
        solving = _Solving(reference=equipped, survey=survey, supply=supply, limit_table=limit_table)
        drawn = solving.drawn(readings[0], evidence)
        readings[0] = replace(readings[0], modifications=(*readings[0].modifications, *drawn.unexplained))

        def solve(way: Way) -> tuple[Found, ...]:
            return solving.otherwise(readings[way.reading], way, drawn)

    rated = assessed_over(equipped, survey, readings, ways, drawn, solve, policy, evidence.years)
    assessed = list(zip(resolutions, rated, strict=True))
    findings = findings_of(equipped, survey, as_found, questions, evidence, assessed, policy, drawn)
    return Case(reference=equipped, as_found=readings[0].comparison.after, findings=findings)


def _reading(before: Before, supply: Supply, resolution: Resolution, evidence: Evidence, limit_table: str) -> Reading:
    comparison = Comparison(before.reference, resolution.edits, before)
    modifications = modifications_of(comparison)
    installs = installs_of(comparison, modifications, evidence.kits)
    modifications = with_consequences(before.reference, supply, comparison.after, modifications, installs, limit_table)
    modifications = _with_owners(modifications, installs, evidence.owners)
    return Reading(comparison=comparison, modifications=modifications, installs=installs)


@dataclass(frozen=True, kw_only=True)
class _Solving:
    """What follows electrically from ways to read the record."""

    reference: Reference
    survey: Survey
    supply: Supply
    limit_table: str

    def drawn(self, reading: Reading, evidence: Evidence) -> Computed:
        """All that follows from the way that is drawn."""
        from harnessdiff.analyse.computed import computed  # noqa: PLC0415 - heavy, needed only to compute

        recorded_with: dict[str, tuple[int, ...]] = {}
        for number, one in enumerate(reading.modifications):
            for observation in evidence.of(one):
                for record in evidence.by_id[observation].readings:
                    recorded_with[record] = (*recorded_with.get(record, ()), number)
        return computed(
            self.reference,
            self.survey,
            reading.comparison.after,
            self._supplies(reading),
            reading.modifications,
            reading.installs,
            recorded_with,
            self.limit_table,
        )

    def otherwise(self, reading: Reading, way: Way, drawn: Computed) -> tuple[Found, ...]:
        """What follows from another way."""
        from harnessdiff.analyse.computed import otherwise  # noqa: PLC0415 - heavy, needed only to compute

        return otherwise(
            self.reference,
            self.survey,
            reading.comparison.after,
            self._supplies(reading),
            reading.modifications,
            reading.installs,
            dict(drawn.measured_ohm),
            way.picks,
            self.limit_table,
        )

    def _supplies(self, reading: Reading) -> tuple[Supply, Supply]:
        return self.supply, Supply(reading.comparison.after, self.reference.vehicle.ground_polarity)


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


def lint(reference: Reference) -> tuple[Objection, ...]:
    """What a professional objects to in a reference.

    What holds with no option fitted, with every one, with one alone, or with those that some element
    asks for together, is objected to.

    Parameters
    ----------
    reference : Reference

    Returns
    -------
    tuple of Objection
        In the order of rules, then of elements; what the reference waives is marked so.
    """
    names = [option.id for option in reference.options]
    together = {
        frozenset(name for name in getattr(element, "option", ()) if not name.startswith("not:"))
        for element in reference.harness.elements
    }
    asked_for = sorted((one for one in together if len(one) > 1), key=sorted)[:MOST_OPTIONS_ALONE]
    chosen = {
        frozenset(names),
        frozenset[str](),
        *(frozenset((name,)) for name in names[:MOST_OPTIONS_ALONE]),
        *asked_for,
    }
    variants = tuple(
        as_equipped(reference, tuple(OptionSeen(id=name, fitted="yes" if name in fitted else "no") for name in names))
        for fitted in sorted(chosen, key=lambda names: (-len(names), sorted(names)))
    )
    return objections_to(reference, variants)


def reference_of_tables(
    wires: tuple[Row, ...],
    answers: dict[tuple[str, str], Row],
    *,
    own_id: str,
    title: str,
    base: dict[str, Any] | None = None,
) -> tuple[dict[str, Any], tuple[Question, ...]]:
    """A reference from a table of wires and answers, with the questions that make it computable.

    Parameters
    ----------
    wires : tuple of Row
    answers : dict
        Answered questions by what they are about.
    own_id, title : str
        Of the reference.
    base : dict, optional
        A reference document to add to, such as the skeleton.

    Returns
    -------
    tuple
        The document, which this program reads, and the questions.

    Raises
    ------
    InputError
        With every cell that cannot be used.
    """

    def notes(document: dict[str, Any]) -> Iterator[tuple[str, str, str]]:
        made = reference_of(parse_document(json.dumps(document).encode(), own_id))
        for objection in lint(made):
            if rules()[objection.rule].level == NOTE and objection.waived is None:
                yield objection.element, objection.rule, message_of(objection)

    return fragment_of(wires, answers, own_id=own_id, title=title, base=base, objector=notes)


def listing_of(case: Case) -> str:
    """The findings of a case as a list that a person reads."""
    return listing(case.findings, Describer(case.reference, case.as_found))


def next_looks_of(case: Case) -> str:
    """The looks to take next as a list that a person reads."""
    return next_looks_text(case.findings, Describer(case.reference, case.as_found))


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
