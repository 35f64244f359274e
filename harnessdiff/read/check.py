"""Holds any document against its schema and its own sense."""

from __future__ import annotations

from pathlib import Path

from harnessdiff.errors import Problem
from harnessdiff.model.reference import Reference
from harnessdiff.read.document import checked, format_of, passed_over
from harnessdiff.read.json_text import load_document
from harnessdiff.read.reference import reference_of
from harnessdiff.read.survey import check_survey, survey_of


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


def notes_on(path: Path) -> tuple[Problem, ...]:
    """What is passed over in a document of a newer minor version."""
    return passed_over(load_document(path))
