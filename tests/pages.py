"""Tables of the documents, made of what the program says: tests hold the documents against them."""

from __future__ import annotations

import csv
from pathlib import Path

from harnessdiff.describer import Describer
from harnessdiff.model.findings import Finding
from harnessdiff.pipeline import Case
from harnessdiff.rating_words import ACTIONS, MECHANISMS
from harnessdiff.words import level_words, reason_words

HAZARDS = Path(__file__).parent / "catalogue" / "hazards.csv"


def findings_table(case: Case) -> str:
    """Every finding of a case: level, action, what decides, why, and whether it is firm."""
    describer = Describer(case.reference, case.as_found)
    rows = [_row(finding, describer, case) for finding in case.findings.findings]
    heading = ["| no. | finding | level | action | decides | because | weights ± 30 % |", "|" + "---|" * 7]
    return "\n".join([*heading, *rows])


def _row(finding: Finding, describer: Describer, case: Case) -> str:
    rating = finding.rating
    first = rating.mechanisms[0] if rating.mechanisms else None
    index = f"{MECHANISMS[first.code]} {first.severity}/{first.probability}, {first.index:g}" if first else "–"
    action = ACTIONS[case.findings.policy.action(rating.worst)] if rating.rated and not rating.condition else "–"
    held = [*(first.floors if first else ()), *(first.caps if first else ())]
    why = "; ".join([*reason_words(finding), *(name.replace("_", " ") for name in held)])
    cells = (str(finding.number), describer.headline(finding), level_words(rating), action, index, why, _firm(finding))
    return "| " + " | ".join(cell.replace("|", "\\|") or "–" for cell in cells) + " |"


def _firm(finding: Finding) -> str:
    firm = finding.rating.firm
    if firm is None:
        return "–"
    shares = ", ".join(f"{level} {share * 100:.0f} %" for level, share in firm.shares if share >= 0.005)
    return f"{'firm' if firm.firm else 'close call'}: {shares}"


def changed_table(default: Case, other: Case) -> str:
    """Findings whose level another policy changes: before, after, and by which line."""
    describer = Describer(default.reference, default.as_found)
    after = {finding.id: finding for finding in other.findings.findings}
    rows = []
    for finding in default.findings.findings:
        now = after[finding.id]
        if (finding.rating.best, finding.rating.worst) != (now.rating.best, now.rating.worst):
            rows.append(
                f"| {finding.number} | {describer.headline(finding)} | {level_words(finding.rating)} "
                f"| {level_words(now.rating)} |"
            )
    return "\n".join(["| no. | finding | default policy | Harbour Mutual |", "|---|---|---|---|", *rows])


def disagreements_table() -> str:
    """Kinds of the catalogue whose action differs from what the trade does, and why."""
    rows = [
        f"| {row['kind']} | {ACTIONS[row['least']]} | {ACTIONS[row['program']]} | {row['program_because']} |"
        for row in csv.DictReader(HAZARDS.read_text(encoding="utf-8").splitlines())
        if row["program"]
    ]
    return "\n".join(["| kind | the trade | the program | because |", "|---|---|---|---|", *rows])
