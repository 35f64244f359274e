"""Holds any document against its schema and its own sense."""

from __future__ import annotations

from pathlib import Path

from harnessdiff.errors import Problem
from harnessdiff.model.reference import Reference
from harnessdiff.read.document import checked, format_of, passed_over
from harnessdiff.read.json_text import load_document
from harnessdiff.read.reference import reference_of
from harnessdiff.read.survey import check_survey, survey_of


def check_file(path: Path, reference: Reference | None = None) -> tuple[str, tuple[Problem, ...]]:
    """Hold a document against its schema and its own sense.

    Parameters
    ----------
    path : Path
    reference : Reference, optional
        What a survey names must be there.

    Returns
    -------
    tuple
        ``reference``, ``survey`` or ``findings``, and warnings in file order.

    Raises
    ------
    InputError
        With every problem, in file order.
    """
    document = load_document(path)
    format_ = format_of(document)
    if format_ == "reference":
        return format_, reference_of(document).warnings
    if format_ == "findings":
        checked(document, "findings")
        return format_, passed_over(document)
    survey = check_survey(document) if reference is None else survey_of(document, reference)
    return format_, survey.warnings
