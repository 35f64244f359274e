"""The looks to take next as a list that a person reads, and takes to the vehicle."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.describer import Describer
from harnessdiff.look_words import (
    LEVELS_MEAN,
    bar_words,
    findings_words,
    minutes_words,
    narrowing_words,
    next_cautions,
    place_words,
    settles_words,
    what_words,
)
from harnessdiff.model.findings import Findings
from harnessdiff.model.looks import BY_QUALIFIED_PERSON, CODES_NOT_SAVED, QUALIFIED, Look
from harnessdiff.report.wrapping import wrapped
from harnessdiff.words import WIRING_NEAR_A_FIRE


def next_looks_text(findings: Findings, describer: Describer) -> str:
    """The list.

    Parameters
    ----------
    findings : Findings
    describer : Describer

    Returns
    -------
    str
        Text of lines no longer than `WIDTH`: what may be done, what lies together, and what may not be done.
    """
    return "\n".join(_lines(findings, describer))


def _lines(findings: Findings, describer: Describer) -> Iterator[str]:
    found = findings.next_looks
    if not found.looks:
        some = any(not one.rating.certain for one in findings.findings)
        yield "no look that may be taken would narrow a level" if some else "no level is open: no look would narrow one"
    for number, look in enumerate(found.looks, start=1):
        yield from _look(f"{number:>3}. ", look, describer)
    nearby = found.nearby()
    if nearby:
        yield ""
        yield "While you are there"
    for best, others in nearby:
        numbers = ", ".join(str(other + 1) for other in others)
        yield from wrapped(f"  with {best + 1}: {numbers} ({place_words(found.looks[best], describer)})", "    ")
    yield from _barred(findings, describer)
    if found.without:
        yield ""
        yield from wrapped(f"Open, and no look that would narrow it is known: {findings_words(found.without)}", "  ")
    yield ""
    yield from wrapped(f"Looks that would move no level are not listed. {LEVELS_MEAN}")
    yield from wrapped(WIRING_NEAR_A_FIRE)
    yield "Cautions"
    for caution in next_cautions(findings):
        yield from wrapped(f"  - {caution}", "    ")


HEADINGS = (
    ("By a qualified person", QUALIFIED),
    ("First save the fault codes", frozenset({CODES_NOT_SAVED})),
    ("Beyond what the survey allows", frozenset({"out_of_scope", "dismantling"})),
)
"""Blocks of looks that may not be taken, by what bars them."""


def _barred(findings: Findings, describer: Describer) -> Iterator[str]:
    """Looks that may not be taken, and why; which findings are left to a qualified person alone."""
    found = findings.next_looks
    for heading, bars in HEADINGS:
        looks = [look for look in found.barred if look.barred in bars]
        if looks:
            yield ""
            yield heading
        for look in looks:
            yield from _look("  -  ", look, describer)
            yield from wrapped(f"     why: {bar_words(look)}", "       ")
    open_to = {number for look in found.barred if look.barred not in QUALIFIED for number in look.findings}
    open_to |= {number for look in found.looks for number in look.findings}
    left = {number for look in found.barred for number in look.findings} - open_to
    if left:
        words = f"All that is left for {findings_words(tuple(sorted(left)))} is a qualified person."
        yield from wrapped(words, "  ")


def _look(mark: str, look: Look, describer: Describer) -> Iterator[str]:
    yield from wrapped(f"{mark}{what_words(look)}", "     ")
    place = place_words(look, describer)
    takes = "" if look.look.code == BY_QUALIFIED_PERSON else f" · {minutes_words(look)}"
    yield from wrapped(f"     at: {place}{takes}", "       ")
    for one in look.settles:
        yield from wrapped(f"     {settles_words(one)}", "       ")
    if any(one.answers for one in look.settles):
        yield from wrapped(f"     {narrowing_words(look)}", "       ")
