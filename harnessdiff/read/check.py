"""Holds any document against its schema and its own sense."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from harnessdiff.errors import Problem
from harnessdiff.model.reference import Reference
from harnessdiff.read.document import format_of, passed_over
from harnessdiff.read.findings import findings_of
from harnessdiff.read.json_text import load_document
from harnessdiff.read.policy import policy_notes
from harnessdiff.read.reference import reference_of
from harnessdiff.read.survey import check_survey, survey_of

FindReference = Callable[[str], Reference | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """A sound document: what it is, what a survey was held against, and warnings in file order."""

    format: str
    held_against: str | None = None
    warnings: tuple[Problem, ...] = ()


def check_file(path: Path, reference: Reference | None = None, find: FindReference = lambda _: None) -> Checked:
    """Hold a document against its schema and its own sense.

    Parameters
    ----------
    path : Path
    reference : Reference, optional
        What a survey names must be there.
    find : callable
        Gives the reference that a survey says it was made against, where there is one of that id.

    Returns
    -------
    Checked

    Raises
    ------
    InputError
        With every problem, in file order.
    """
    document = load_document(path)
    format_ = format_of(document)
    if format_ == "reference":
        return Checked(format=format_, warnings=reference_of(document).warnings)
    if format_ == "findings":
        findings_of(document)
        return Checked(format=format_, warnings=passed_over(document))
    if format_ == "policy":
        return Checked(format=format_, warnings=policy_notes(document))
    stated = document.data.get("reference")
    named = stated.get("id") if isinstance(stated, dict) else None
    should_be = reference or (find(named) if isinstance(named, str) else None)
    survey = check_survey(document) if should_be is None else survey_of(document, should_be)
    return Checked(format=format_, held_against=should_be.id if should_be else None, warnings=survey.warnings)


def check_policy(path: Path) -> Checked:
    """Hold a policy against its schema and its own sense; raises as `check_file` does, also for what is no policy."""
    return Checked(format="policy", warnings=policy_notes(load_document(path)))
