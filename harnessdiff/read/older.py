"""Documents of an older minor version, turned into what this program reads; what they meant stays."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from harnessdiff.model.rating import SEVERITIES
from harnessdiff.read.json_text import Document

Json = dict[str, Any]


def brought_up(document: Document) -> Document:
    """A document as it would be written today; the same one where nothing has changed since.

    Parameters
    ----------
    document : Document
        Whose format is known.

    Returns
    -------
    Document
        Problems are told at the places of the text as it was written.
    """
    data = document.data
    if data.get("format") == "harnessdiff findings" and data.get("version") == "1.0":
        return replace(document, data=_findings_of_1_0(data))
    return document


def _findings_of_1_0(data: Json) -> Json:
    """Findings of version 1.0 gave the reasons of a mechanism; since 1.1 its contributions sum to its index."""
    found = data.get("findings")
    if not isinstance(found, list):
        return data
    return {**data, "findings": [_finding(one) for one in found]}


def _finding(finding: Any) -> Any:
    mechanisms = finding.get("mechanisms") if isinstance(finding, dict) else None
    if not isinstance(mechanisms, list):
        return finding
    return {**finding, "mechanisms": [_mechanism(one) for one in mechanisms]}


def _mechanism(one: Any) -> Any:
    reasons = one.get("reasons") if isinstance(one, dict) else None
    if not isinstance(reasons, list) or not all(isinstance(reason, dict) and "index" in reason for reason in reasons):
        return one
    bases = sorted((one for one in reasons if one.get("how") == "base"), key=lambda one: -one["index"])
    adds = [one for one in reasons if one.get("how") != "base"]
    opening = [_contribution(reason, "opens", one.get("severity")) for reason in bases]
    also = [_contribution(reason, "opens", reason.get("severity")) for reason in bases[1:]]
    kept = {key: value for key, value in one.items() if key != "reasons"}
    contributions = [*opening[:1], *(_contribution(reason, "adds", None) for reason in adds)]
    return {**kept, "cell": one.get("level"), "contributions": contributions, **({"also": also} if also else {})}


def _contribution(reason: Json, how: str, severity: Any) -> Json:
    kept = {key: value for key, value in reason.items() if key not in ("index", "how", "severity")}
    category = {"severity": severity} if severity in SEVERITIES else {}
    return {**kept, "counts": reason["index"], "how": how, **category}
