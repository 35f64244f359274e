"""The findings as a list that a person reads in a terminal or on paper."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.consequence_words import consequence_words, live_words
from harnessdiff.describer import Describer
from harnessdiff.isolation_words import isolation_lines, removal_lines
from harnessdiff.look_words import look_line
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.findings import Finding, Findings
from harnessdiff.model.rating import ACCEPTABLE
from harnessdiff.rating_words import close_call_words
from harnessdiff.report.wrapping import wrapped
from harnessdiff.rule_words import directive_briefly, rules_briefly
from harnessdiff.verdict_words import (
    STANDING,
    action_words,
    coverage_words,
    limit_words,
    policy_words,
    states_words,
    verdict_words,
)
from harnessdiff.words import (
    GRADE_IS_NOT_A_CAUSE,
    NOT_SEEN_IS_NOT_MISSING,
    PRACTICES,
    REASONS,
    SYMPTOMS,
    WIRING_NEAR_A_FIRE,
    bare,
    caution_words,
    check_words,
    install_words,
    level_words,
    not_seen,
    picture_words,
    reason_words,
    summary_words,
)


def listing(findings: Findings, describer: Describer) -> str:
    """The list.

    Parameters
    ----------
    findings : Findings
    describer : Describer

    Returns
    -------
    str
        Text of lines no longer than `WIDTH`.
    """
    lines = [*_heading(findings, describer), ""]
    for finding in findings.findings:
        lines += _finding(finding, describer, findings)
    lines += _whole(findings, describer)
    lines += _installs(findings)
    lines += _made_dead(findings, describer)
    lines += _next_looks(findings, describer)
    lines += _plain(findings, describer)
    lines += _closing(findings)
    lines += _can_say(findings)
    return "\n".join(lines) + "\n"


def _heading(findings: Findings, describer: Describer) -> Iterator[str]:
    yield from wrapped(findings.reference_title + (" — invented data" if findings.invented else ""))
    if findings.survey_title:
        yield from wrapped(findings.survey_title)
    yield from _verdict(findings, describer)
    yield from wrapped(summary_words(findings), "  ")
    for symptom in findings.complaint:
        note = f" — {symptom.note}" if symptom.note else ""
        yield from wrapped(f"complaint: {SYMPTOMS[symptom.symptom]}{note}", "  ")
    yield from wrapped(GRADE_IS_NOT_A_CAUSE)
    hashes = ((findings.reference_sha256, "reference"), (findings.survey_sha256, "survey"))
    inputs = ", ".join(f"{name} {sha256[:12]}" if sha256 else f"{name} not from a file" for sha256, name in hashes)
    yield from wrapped(f"by: {policy_words(findings.policy)}; {findings.program}, {inputs}", "  ")


def _verdict(findings: Findings, describer: Describer) -> Iterator[str]:
    """The verdict, the worst finding, and how much of the vehicle it speaks of."""
    verdict = findings.verdict
    yield from wrapped(verdict_words(verdict), "  ")
    if verdict.worst not in (None, ACCEPTABLE):
        first, *others = verdict.worst_findings
        (finding,) = (one for one in findings.findings if one.number == first)
        more = f"; {len(others)} more at worst as bad" if others else ""
        words = f"worst: finding {first} ({level_words(finding.rating)}), {describer.headline(finding)}{more}"
        yield from wrapped(words, "  ")
    if states_words(verdict):
        yield from wrapped(states_words(verdict), "  ")
    yield from wrapped(f"looked at: {coverage_words(findings.coverage)}", "  ")


def _can_say(findings: Findings) -> Iterator[str]:
    """What the inspection can and cannot say; the remarks that stand elsewhere on the list are not said again."""
    yield ""
    yield "What this inspection can and cannot say"
    for limit in findings.verdict.can:
        yield from wrapped(f"  can say: {limit_words(limit)}", "    ")
    for limit in findings.verdict.cannot:
        if limit.code not in STANDING:
            yield from wrapped(f"  cannot say: {limit_words(limit)}", "    ")
    yield from wrapped(WIRING_NEAR_A_FIRE)


def _finding(finding: Finding, describer: Describer, findings: Findings) -> Iterator[str]:
    level = " - ".join(one for one in (level_words(finding.rating), action_words(finding, findings.policy)) if one)
    yield from wrapped(f"{finding.number:>3}  {level:<20}  {describer.headline(finding)}", "     ")
    places = [describer.zone(zone) for zone in finding.zones[:2]]
    place = f"{finding.id}, at: {', '.join(places)}" if places else finding.id
    details = "; ".join(describer.details(finding))
    doubt = close_call_words(finding.rating, findings.policy.firmness.vary_share)
    why = "; ".join((*reason_words(finding), *([doubt] if doubt else [])))
    checks = "; ".join(check_words(check) for check in finding.checks)
    for label, words in (("", place), ("", details), ("why: ", why), ("to settle: ", checks)):
        if words:
            yield from wrapped(f"       {label}{words}", "         ")
    yield from _does(finding, describer)
    yield from _by_rule(finding)
    unverified = [picture_words(one) for one in findings.photographs if one.id in finding.unverified]
    if unverified:
        yield from wrapped(f"       not verified: {', '.join(unverified)}", "         ")
    for note in finding.notes:
        yield from wrapped(f"       noted: {note}", "         ")


def _by_rule(finding: Finding) -> Iterator[str]:
    """Where rules speak against a finding, and how an inspection may read it; what is acceptable is not argued with."""
    briefly = ("rules", rules_briefly(finding.rules)), ("inspection", directive_briefly(finding.directive))
    for label, words in briefly if finding.rating.flagged else ():
        if words:
            yield from wrapped(f"       {label}: {words}", "         ")


ONCE = frozenset({"draws", "drop"})
"""What is told of a load for the conditions in which it is first; in others the numbers are a little different."""
MOST_CONSEQUENCES = 6
"""Lines of what a finding does; the findings document holds all of them."""


def _does(finding: Finding, describer: Describer) -> Iterator[str]:
    """What a finding does: what nothing protects, then the gravest; that a lead is protected goes without saying."""
    telling = [one for one in finding.consequences if one.get("verdict") != "protected" and not _agrees(one)]
    first = {(one.code, one.subject, one.terminal): one for one in reversed(telling) if one.code in ONCE}
    shown = [one for one in telling if one.code not in ONCE or one is first[one.code, one.subject, one.terminal]]
    shown.sort(key=lambda one: one.get("verdict") != "not_protected")
    groups: dict[tuple[object, ...], list[Consequence]] = {}
    for one in shown:
        alike = (one.get("state"), one.because) if one.code == "live_unasked" else (one,)
        groups.setdefault((one.code, *alike), []).append(one)
    told = list(groups.values())[:MOST_CONSEQUENCES]
    for group in told:
        words = live_words(group, describer) if len(group) > 1 else consequence_words(group[0], describer)
        yield from wrapped(f"       does: {words}", "         ")
    more = len(telling) - sum(map(len, told))
    if more:
        yield f"       and {more} more that findings.json holds"


def _agrees(one: Consequence) -> bool:
    """Whether it is a reading that tells nothing new of a finding; it is told once, with the whole."""
    return (
        one.code == "reading" and one.get("agrees") != "disagrees" and not one.get("clears") and not one.get("measured")
    )


def _installs(findings: Findings) -> Iterator[str]:
    several = [install for install in findings.installs if len(install.findings) > 1]
    if several:
        yield ""
        yield "Installs (what belongs together; never who fitted it)"
    for install in several:
        numbers = ", ".join(str(number) for number in install.findings)
        words = install_words(install)
        yield from wrapped(f"  {install.number}. findings {numbers}{': ' + words if words else ''}", "     ")
        for likeness in install.consistent_with[:1]:
            reasons = dict.fromkeys((*likeness.functions, *likeness.devices))
            words = f"     because of: {', '.join(reasons).replace('_', ' ')}"
            yield from wrapped(words, "       ")


def _whole(findings: Findings, describer: Describer) -> Iterator[str]:
    """What holds for the vehicle as a whole, and what no finding answers for."""
    readings = [one for finding in findings.findings for one in finding.consequences if _agrees(one)]
    told = {one.subject: one for one in sorted(readings, key=lambda one: one.subject)}
    if findings.of_the_whole or told:
        yield ""
        yield "The vehicle as a whole, computed and measured"
    for one in (*findings.of_the_whole, *told.values()):
        yield from wrapped(f"  {consequence_words(one, describer)}", "    ")


def _made_dead(findings: Findings, describer: Describer) -> Iterator[str]:
    """For every install of which something can be live: how it is made dead, and the order in which it comes off."""
    telling = [one for one in findings.installs if one.isolation is not None and one.isolation.answer != "dead_already"]
    if telling:
        yield ""
        yield "To make dead, and to take off (the maker's procedure comes first; prove dead before a hand goes in)"
    for install in telling:
        assert install.isolation is not None
        numbers = ", ".join(str(number) for number in install.findings)
        some = "finding" if len(install.findings) == 1 else "findings"
        yield from wrapped(f"  {install.number}. {some} {numbers}", "     ")
        for line in isolation_lines(install.isolation, describer):
            yield from wrapped(f"     dead: {line}", "       ")
        # What a person may not make dead they do not take off either.
        removal = () if install.isolation.answer == "by_a_qualified_person" else install.removal
        for line in removal_lines(removal, describer):
            yield from wrapped(f"     off: {line}", "       ")


MOST_LOOKS = 5
"""Looks that the list names; the command next-looks tells all of them, and the findings document holds them."""


def _next_looks(findings: Findings, describer: Describer) -> Iterator[str]:
    """What to look at next, the best first."""
    found = findings.next_looks
    if found.looks or found.barred:
        yield ""
        yield "Next looks (what narrows the levels most for the minutes it takes)"
    for number, look in enumerate(found.looks[:MOST_LOOKS], start=1):
        yield from wrapped(f"  {number}. {look_line(look, describer)}", "     ")
    more = len(found.looks) - MOST_LOOKS
    if more > 0:
        yield f"     and {more} more"
    if found.barred:
        yield from wrapped(f"  {len(found.barred)} may not be taken; next-looks says which, and why", "    ")


def _plain(findings: Findings, describer: Describer) -> Iterator[str]:
    if findings.plain:
        yield ""
        yield "Said plainly"
    for one in findings.plain:
        clue = f" ({one.clue})" if one.clue else ""
        advice = (
            "look again" if one.reason in ("no_place", "which_not_said") else "the record or the reference is wrong"
        )
        place = f", {describer.zone(one.zone)}" if one.zone else ""
        yield from wrapped(f"  {one.observation}{place}: {REASONS[one.reason]}{clue}; {advice}", "    ")
        if one.note:
            yield from wrapped(f"    noted: {one.note}", "      ")
    good = [one for one in findings.recorded if one.kind == "good_practice"]
    if good:
        yield ""
        yield "Good practice seen"
    for practice in good:
        of = ", ".join(bare(one) for one in practice.of)
        words = PRACTICES[practice.practice or "other"]
        note = f" — {practice.note}" if practice.note else ""
        yield from wrapped(f"  {of + ': ' if of else ''}{words}{note}", "    ")


def _closing(findings: Findings) -> Iterator[str]:
    yield ""
    places = not_seen(findings)
    if places:
        yield "Not looked at"
        for place in places:
            yield from wrapped(f"  {place}", "    ")
        yield from wrapped(NOT_SEEN_IS_NOT_MISSING)
        yield ""
    if findings.codes_saved != "yes":
        yield from wrapped("Fault codes are not known to be saved: save them before the battery is touched.")
    yield "Cautions"
    codes = ["maker_first", *dict.fromkeys(code for finding in findings.flagged for code in finding.cautions)]
    for code in codes:
        yield from wrapped(f"  - {caution_words(code)}", "    ")
