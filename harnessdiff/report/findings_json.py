"""Findings as the JSON document that ``findings.schema.json`` describes."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

from harnessdiff.model.canonical import plain
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.edit import Added, Attached, Changed, Detached, Edit, Removed, edit_key
from harnessdiff.model.findings import Coverage, Finding, Findings, FlaggedJoint, InstallFound
from harnessdiff.model.isolation import Isolation, Still
from harnessdiff.model.looks import Look, NextLooks
from harnessdiff.model.modification import Fact
from harnessdiff.model.policy import Cap, Floor, Forbidden, Policy
from harnessdiff.model.range import Range
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, Answer, Contribution, Firm, Mechanism, Open, OrderKept
from harnessdiff.model.verdict import Verdict
from harnessdiff.report.json_rows import rows_text


def findings_document(findings: Findings) -> dict[str, Any]:
    """The findings as data.

    Parameters
    ----------
    findings : Findings

    Returns
    -------
    dict
        Valid by ``findings.schema.json``; the same for the same findings.
    """
    places = {edit_key(edit): place for place, edit in enumerate(findings.edits)}
    counts = dict.fromkeys((ACCEPTABLE, *LEVELS), 0) | dict(findings.verdict.levels)
    return _without_nothing(
        {
            "format": "harnessdiff findings",
            "version": "1.1",
            "program": findings.program,
            "invented": findings.invented or None,
            "inputs": {
                "reference": _without_nothing(
                    {
                        "id": findings.reference_id,
                        "title": findings.reference_title,
                        "sha256": findings.reference_sha256,
                    }
                ),
                "survey": _without_nothing({"title": findings.survey_title, "sha256": findings.survey_sha256}),
            },
            "vehicle": plain(findings.vehicle),
            "visits": plain(findings.visits),
            "purpose": findings.purpose,
            "policy": _policy(findings),
            "verdict": _verdict(findings.verdict),
            "summary": counts,
            "findings": [_finding(finding, places, findings.policy) for finding in findings.findings],
            "installs": [_install(install) for install in findings.installs],
            "coverage": _coverage(findings.coverage),
            "edits": [_edit(edit) for edit in findings.edits],
            "not_resolved": plain(findings.plain),
            "recorded": [{"of": []} | plain(one) for one in findings.recorded],
            "complaint": plain(findings.complaint) or None,
            "history": plain(findings.history) or None,
            "pre_existing_faults": plain(findings.pre_existing_faults) or None,
            "readings": plain(findings.readings) or None,
            "photographs": plain(findings.photographs) or None,
            "codes_saved": findings.codes_saved,
            "complete": findings.complete,
            "conditions": list(findings.conditions) or None,
            "of_the_whole": [_consequence(one) for one in findings.of_the_whole] or None,
            "next_looks": next_looks_document(findings.next_looks),
            "order_kept": None if findings.order_kept is None else _order_kept(findings.order_kept),
            "remarks": list(findings.notes),
        }
    )


def findings_text(findings: Findings) -> str:
    """The document as text, one line for each finding, edit and other entry of a list."""
    return rows_text(findings_document(findings)) + "\n"


def _without_nothing(members: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in members.items() if value is not None}


def _install(install: InstallFound) -> dict[str, Any]:
    document: dict[str, Any] = plain(replace(install, isolation=None)) | _lists(install)
    if install.isolation is not None:
        document["isolation"] = isolation_document(install.isolation)
    return document


def isolation_document(isolation: Isolation) -> dict[str, Any]:
    """How a thing is made dead, as data."""
    steps = [
        _without_nothing(plain(replace(step, live_after=())) | {"live_after": _still(step.live_after) or None})
        for step in isolation.steps
    ]
    document: dict[str, Any] = plain(replace(isolation, steps=(), live_before=(), assumed=()))
    for step in (*steps, *document.get("stays_live", ())):
        for name in ("because", "fed_by"):
            if step.get(name) == "":
                del step[name]
    return _without_nothing(
        document
        | {
            "dead": isolation.dead,
            "proved": isolation.proved,
            "steps": steps or None,
            "live_before": _still(isolation.live_before) or None,
            "assumed": [_fact(fact) for fact in isolation.assumed] or None,
        }
    )


def _still(live: tuple[Still, ...]) -> list[dict[str, Any]]:
    """What is live, every node once: in the condition in which it has most volts, the first of equals."""
    found: dict[str, Still] = {}
    for one in live:
        known = found.get(one.node)
        if known is None or (one.volts or 0.0) > (known.volts or 0.0) * ALIKE:
            found[one.node] = one
    return [
        _without_nothing(
            {
                "node": one.node,
                "condition": one.condition,
                "volts": None if one.volts is None else significant(one.volts),
            }
        )
        for one in found.values()
    ]


ALIKE = 1.001
"""Times that a voltage is greater before it counts as another."""


def _lists(install: Any) -> dict[str, Any]:
    """Lists that are always there, even where they are empty."""
    return {
        "shared": list(install.shared),
        "devices": list(install.devices),
        "functions": list(install.functions),
        "consistent_with": [
            {"install": one.install, "functions": list(one.functions), "devices": list(one.devices)}
            for one in install.consistent_with
        ],
    }


def _finding(finding: Finding, places: dict[tuple[str, ...], int], policy: Policy) -> dict[str, Any]:
    modification, rating = finding.modification, finding.rating
    actions = policy.action(rating.worst), policy.action(rating.best)
    return _without_nothing(
        {
            "id": finding.id,
            "number": finding.number,
            "kind": finding.kind,
            "role": modification.role,
            "origin": finding.origin,
            "state": finding.state,
            "install": finding.install,
            "best": rating.best,
            "worst": rating.worst,
            "rated": None if rating.rated else False,
            "mechanisms": [_mechanism(one) for one in rating.mechanisms] or None,
            "beside": list(rating.beside) or None,
            "action": actions[0] if rating.rated and not rating.condition else None,
            "action_best": actions[1] if rating.rated and actions[0] != actions[1] else None,
            "at_least": rating.at_least or None,
            "firm": None if rating.firm is None else _firm(rating.firm),
            "opens": [_open(one) for one in rating.opens] or None,
            "root": modification.root,
            "elements": list(modification.elements),
            "added": list(modification.added),
            "joints": [_joint(joint) for joint in finding.joints] or None,
            "facts": [_fact(fact) for fact in modification.facts],
            "consequences": [_consequence(one) for one in finding.consequences] or None,
            "edits": sorted(places[edit_key(edit)] for edit in modification.edits),
            "circuits": list(finding.circuits) or None,
            "functions": list(finding.functions) or None,
            "zones": list(finding.zones) or None,
            "observations": list(finding.observations) or None,
            "photographs": list(finding.photographs) or None,
            "unverified": list(finding.unverified) or None,
            "readings": list(finding.readings) or None,
            "possibilities": [{"elements": []} | plain(one) for one in finding.possibilities] or None,
            "checks": [_fact(fact) for fact in finding.checks] or None,
            "cautions": list(finding.cautions) or None,
            "rules": [plain(one) | {"sure": one.sure, "analogy": one.analogy} for one in finding.rules] or None,
            "directive": [plain(one) | {"provisional": one.provisional} for one in finding.directive] or None,
            "notes": list(finding.notes) or None,
            **{name: json.loads(text) for name, text in finding.extra},
        }
    )


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return _without_nothing(
        {
            "satisfactory": verdict.satisfactory,
            "because": [
                _without_nothing(
                    {
                        "code": one.code,
                        "findings": list(one.findings) or None,
                        "observations": list(one.observations) or None,
                    }
                )
                for one in verdict.because
            ],
            "worst": verdict.worst,
            "worst_findings": list(verdict.worst_findings) or None,
            "may_stop_use": list(verdict.may_stop_use) or None,
            "levels": dict(verdict.levels),
            "actions": dict(verdict.actions),
            "not_rated": verdict.not_rated,
            "made_safe": list(verdict.made_safe) or None,
            "accepted": list(verdict.accepted) or None,
            "can": [_fact(one) for one in verdict.can],
            "cannot": [_fact(one) for one in verdict.cannot],
        }
    )


def _coverage(coverage: Coverage) -> dict[str, Any]:
    document: dict[str, Any] = plain(coverage)
    return document | {
        "zones": plain(coverage.zones),
        "length_m_throughout": significant(coverage.length_m_throughout),
        "length_m_seen": significant(coverage.length_m_seen),
        "length_m": significant(coverage.length_m),
        "wires_without_length": coverage.wires_without_length,
    }


def _mechanism(mechanism: Mechanism) -> dict[str, Any]:
    return _without_nothing(
        {
            "code": mechanism.code,
            "severity": mechanism.severity,
            "index": mechanism.index,
            "probability": mechanism.probability,
            "cell": mechanism.cell,
            "level": mechanism.level,
            "contributions": [_contribution(one) for one in mechanism.contributions],
            "floors": list(mechanism.floors) or None,
            "caps": list(mechanism.caps) or None,
            "also": [_contribution(one) for one in mechanism.also] or None,
        }
    )


def _contribution(one: Contribution) -> dict[str, Any]:
    return _without_nothing(
        {
            "code": one.code,
            "counts": one.counts,
            "how": one.how,
            "severity": one.severity,
            "severity_as": one.severity_as,
            "function": one.function,
            "params": {name: plain(value) for name, value in one.params if value is not None} or None,
            "amount": None if one.amount is None else significant(one.amount),
            "amount_in": one.amount_in,
            "about": one.about,
            "why": one.why or None,
            "source": one.source,
        }
    )


def _firm(firm: Firm) -> dict[str, Any]:
    return {"shares": {level: significant(share) for level, share in firm.shares}, "firm": firm.firm}


def _order_kept(one: OrderKept) -> dict[str, Any]:
    return {name: significant(share) for name, share in plain(one).items()}


def _open(one: Open) -> dict[str, Any]:
    return {
        "question": one.question,
        "about": one.about,
        "look": _fact(one.look),
        "answers": _answers(one.answers),
    }


def _answers(answers: tuple[Answer, ...]) -> list[dict[str, str]]:
    return [{"answer": answer.answer, "best": answer.best, "worst": answer.worst} for answer in answers]


def next_looks_document(found: NextLooks) -> dict[str, Any]:
    """The looks to take next, as data."""
    return {
        "looks": [_next_look(look) for look in found.looks],
        "barred": [_next_look(look) for look in found.barred],
        "without": list(found.without),
    }


def _next_look(look: Look) -> dict[str, Any]:
    expected = look.narrowing_expected
    settles = [
        _without_nothing(
            {
                "finding": one.finding,
                "best": one.best,
                "worst": one.worst,
                "question": one.question or None,
                "about": one.about or None,
                "answers": _answers(one.answers) or None,
            }
        )
        for one in look.settles
    ]
    return _without_nothing(
        {
            "look": _fact(look.look),
            "zones": list(look.zones),
            "minutes": look.minutes,
            "access_min": look.access_min,
            "own_min": look.own_min,
            "access_assumed": look.access_assumed or None,
            "findings": list(look.findings),
            "narrowing_worst": look.narrowing_worst,
            "narrowing_most": look.narrowing_most,
            "narrowing_expected": None if expected is None else significant(expected),
            "priors": [
                {"question": one.question, "answer": one.answer, "share": one.share, "source": one.source}
                for one in look.priors
            ]
            or None,
            "settles": settles,
            "barred": look.barred,
            "not_opened": look.not_opened,
        }
    )


def _policy(findings: Findings) -> dict[str, Any]:
    """The policy as far as it takes to follow every level from what contributes to it."""
    policy = findings.policy
    mechanisms = [one for finding in findings.findings for one in finding.rating.mechanisms]
    used = {held for one in mechanisms for held in (*one.floors, *one.caps)}
    lines: tuple[Floor | Cap | Forbidden, ...] = (*policy.floors, *policy.caps, *policy.forbidden)
    return _without_nothing(
        {
            "id": policy.id,
            "title": policy.title,
            "sha256": policy.sha256,
            "changed": list(policy.changed) or None,
            "cuts": [{"probability": cut.probability, "index": cut.index} for cut in policy.cuts],
            "meanings": [{"severity": one.severity, "words": one.words} for one in policy.meanings],
            "actions": [{"level": one.level, "action": one.action} for one in policy.actions],
            "firmness": {name: getattr(policy.firmness, name) for name in ("vary_share", "draws", "seed", "firm_from")},
            "held": [
                {"id": line.id, "level": line.level, "why": line.why, "source": line.source}
                for line in lines
                if line.id in used
            ]
            or None,
        }
    )


def _joint(joint: FlaggedJoint) -> dict[str, Any]:
    details: dict[str, Any] = plain(joint.details)
    own = {
        "id": joint.id, "flag": joint.flag, "zone": joint.zone,
        "best_rank": joint.best_rank, "worst_rank": joint.worst_rank,
    }  # fmt: skip
    return _without_nothing(own) | details


def _fact(fact: Fact) -> dict[str, Any]:
    params = {name: plain(value) for name, value in fact.params if value is not None}
    return {"code": fact.code, "params": params} if params else {"code": fact.code}


def _consequence(one: Consequence) -> dict[str, Any]:
    return _without_nothing(
        {
            "code": one.code,
            "subject": one.subject,
            "terminal": one.terminal,
            "conditions": list(one.conditions) or None,
            "before": _range(one.before),
            "after": _range(one.after),
            "unit": one.unit,
            "path": list(one.path) or None,
            "because": list(one.because) or None,
            "params": {name: plain(value) for name, value in one.params} or None,
            "sources": list(one.sources) or None,
        }
    )


def _range(one: Range | None) -> dict[str, Any] | None:
    if one is None:
        return None
    high = None if math.isinf(one.high) else significant(one.high)
    return _without_nothing(
        {
            "low": significant(one.low),
            "nominal": significant(one.nominal),
            "high": high,
            "guaranteed": one.guaranteed,
        }
    )


def significant(value: float) -> float:
    """A computed number as it is written down: to four digits, and nothing where it is next to nothing."""
    return 0.0 if abs(value) < NEXT_TO_NOTHING else float(f"{value:.4g}")


NEXT_TO_NOTHING = 1e-6


def _edit(edit: Edit) -> dict[str, Any]:
    match edit:
        case Added(element):
            return {"edit": "added", "sort": type(element).__name__.lower(), "element": plain(element)}
        case Removed(element):
            return {"edit": "removed", "sort": type(element).__name__.lower(), "element": plain(element)}
        case Changed(before, after):
            sort = type(after).__name__.lower()
            return {"edit": "changed", "sort": sort, "element": plain(after), "before": plain(before)}
        case Attached(incidence):
            return {"edit": "attached", "incidence": plain(incidence)}
        case Detached(incidence):
            return {"edit": "detached", "incidence": plain(incidence)}
