"""A survey to fill in."""

from __future__ import annotations

from typing import Any

from harnessdiff.model.reference import Reference
from harnessdiff.report.json_rows import rows_text


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
            "not_opened": [{"zone": zone.id, "because": "not yet", "note": zone.name} for zone in zones],
            "out_of_scope": [],
        },
        "options": [{"id": option.id, "fitted": "unknown"} for option in reference.options],
        "complaint": [],
        "observations": [],
        "readings": [],
        "photographs": [],
    }
    return rows_text(survey) + "\n"
