"""Forensics for modified vehicle wiring.

Five lines from two files to findings and drawing:

>>> from pathlib import Path
>>> import harnessdiff
>>> case = harnessdiff.compare_files(Path("reference.json"), Path("survey.json"))  # doctest: +SKIP
>>> [(finding.id, finding.kind, finding.rating.worst) for finding in case.findings.findings]  # doctest: +SKIP
>>> Path("overview.svg").write_text(case.sheets[0].svg)  # doctest: +SKIP

Everything that comes back is frozen. In a notebook a case shows its drawing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from harnessdiff.errors import HarnessDiffError, InputError, LayoutError, OutputError
    from harnessdiff.model.findings import Finding, Findings
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey
    from harnessdiff.pipeline import Case, assess, compare_files
    from harnessdiff.read.reference import read_reference
    from harnessdiff.read.survey import read_survey
    from harnessdiff.report.findings_json import findings_document

__all__ = [
    "Case",
    "Finding",
    "Findings",
    "HarnessDiffError",
    "InputError",
    "LayoutError",
    "OutputError",
    "Reference",
    "Survey",
    "assess",
    "compare_files",
    "findings_document",
    "read_reference",
    "read_survey",
]

_HOMES = {
    "Case": "pipeline", "Finding": "model.findings", "Findings": "model.findings", "HarnessDiffError": "errors",
    "InputError": "errors", "LayoutError": "errors", "OutputError": "errors", "Reference": "model.reference",
    "Survey": "model.survey", "assess": "pipeline", "compare_files": "pipeline",
    "findings_document": "report.findings_json", "read_reference": "read.reference", "read_survey": "read.survey",
}  # fmt: skip


def __getattr__(name: str) -> Any:
    """Import a public name where it is first used, so that the command line starts at once."""
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)


def __dir__() -> list[str]:
    """The public names."""
    return sorted(__all__)
