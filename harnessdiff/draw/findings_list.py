"""The findings of a sheet in words, below its drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lxml import etree

from harnessdiff.describer import Describer
from harnessdiff.draw.measure import FLAG_HEIGHT, flag_width
from harnessdiff.draw.page import MARGIN, SMALL, SMALL_LEADING, TEXT, TEXT_LEADING, Format
from harnessdiff.draw.paint import paint_flag
from harnessdiff.draw.scene import Flag
from harnessdiff.draw.svg import write
from harnessdiff.draw.text import with_ellipsis, wrapped
from harnessdiff.model.findings import Finding
from harnessdiff.model.survey import Reading
from harnessdiff.words import check_words, grade_words, level_words, outcome_of, reading_words, reason_words

MOST_FACT_LINES = 4
MOST_NOTE_LINES = 6
"""Lines for what is to be settled, for readings and for notes; more is pointed to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """What is written below a drawing.

    Parameters
    ----------
    findings : tuple of Finding
        Those that the sheet is about, told in full.
    guests : tuple
        Others whose flag stands on a lead that is drawn here, with the sheet that tells them.
    readings : tuple of Reading
        All of the case.
    elsewhere : tuple of str
        What of the drawn things is on other sheets, too.
    """

    findings: tuple[Finding, ...]
    guests: tuple[tuple[Finding, str], ...] = ()
    readings: tuple[Reading, ...] = ()
    elsewhere: tuple[str, ...] = ()

    @property
    def offset(self) -> float:
        """Width of the flags. [px]"""
        flags = [*self.findings, *(finding for finding, _ in self.guests)]
        return max((flag_width(_list_flag(finding)) for finding in flags), default=0.0) + 10


def list_height(listed: Listed, describer: Describer, page: Format) -> float:
    """Height of the list of findings. [px]"""
    width = page.inner - listed.offset
    own = sum(_entry_height(_entry(finding, describer, listed.readings, width)) for finding in listed.findings)
    guests = (FLAG_HEIGHT + 5) * len(listed.guests)
    elsewhere = _elsewhere_lines(listed, page)
    return 18 + own + guests + SMALL_LEADING * len(elsewhere) + (6 if elsewhere else 0)


def _elsewhere_lines(listed: Listed, page: Format) -> tuple[str, ...]:
    return (
        wrapped(f"Also drawn elsewhere: {'; '.join(listed.elsewhere)}.", page.inner, SMALL) if listed.elsewhere else ()
    )


def _entry(
    finding: Finding, describer: Describer, readings: Sequence[Reading], width: float
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Headline, and the lines below it; what has no room is pointed to, never dropped without a word."""
    grade = grade_words(finding)
    head = wrapped(f"{describer.headline(finding)}{f' — {grade}' if grade else ''}", width, TEXT, 700, 3)
    more = f"more in the list, finding {finding.number}"
    read = [reading_words(one) for one in readings if one.id in finding.readings]
    lines: list[str] = []
    for label, parts, most in (
        ("", describer.details(finding), MOST_FACT_LINES),
        ("Why: ", reason_words(finding), MOST_FACT_LINES),
        ("To settle: ", tuple(check_words(check) for check in finding.checks), MOST_NOTE_LINES),
        ("Read: ", tuple(read), MOST_NOTE_LINES),
        ("Noted: ", finding.notes, MOST_NOTE_LINES),
    ):
        if parts:
            lines += _paragraph(label, list(parts), width, most, more)
    return head, tuple(lines)


def _paragraph(label: str, parts: list[str], width: float, most: int, more: str) -> tuple[str, ...]:
    """Parts of a sentence in at most so many lines; those that do not fit are pointed to."""
    whole = wrapped(f"{label}{'; '.join(parts)}", width, SMALL)
    if len(whole) <= most:
        return whole
    while len(parts) > 1:
        parts = parts[:-1]
        lines = wrapped(f"{label}{'; '.join(parts)}; {more}", width, SMALL)
        if len(lines) <= most:
            return lines
    return (*whole[: most - 1], with_ellipsis(whole[most - 1], width, SMALL, mark=f"… ({more})"))


def _list_flag(finding: Finding) -> Flag:
    words = level_words(finding.rating).replace("recorded, ", "")
    return Flag(text=str(finding.number), level=words, outcome=outcome_of(finding.rating))


def _entry_height(entry: tuple[tuple[str, ...], tuple[str, ...]]) -> float:
    head, details = entry
    return max(FLAG_HEIGHT, TEXT_LEADING * len(head) + SMALL_LEADING * len(details)) + 6


def paint_list(root: etree._Element, listed: Listed, describer: Describer, page: Format, top: float) -> None:
    """The findings of the sheet: flag, headline, what is established, and what is still to be settled."""
    write(root, "Findings on this sheet", MARGIN, top + 10, class_="head")
    y = top + 18
    x = MARGIN + listed.offset
    for finding in sorted(listed.findings, key=lambda one: one.number):
        paint_flag(root, _list_flag(finding), MARGIN, y)
        entry = _entry(finding, describer, listed.readings, page.inner - listed.offset)
        for place, line in enumerate(entry[0]):
            write(root, line, x, y + 10 + TEXT_LEADING * place, font_size=TEXT, font_weight="bold")
        for place, line in enumerate(entry[1]):
            write(root, line, x, y + 9 + TEXT_LEADING * len(entry[0]) + SMALL_LEADING * place, font_size=SMALL)
        y += _entry_height(entry)
    for finding, sheet in sorted(listed.guests, key=lambda one: one[0].number):
        paint_flag(root, _list_flag(finding), MARGIN, y)
        words = f"on a lead drawn here; told on {sheet}: {describer.headline(finding)}"
        write(root, wrapped(words, page.inner - listed.offset, SMALL, 400, 1)[0], x, y + 13, font_size=SMALL)
        y += FLAG_HEIGHT + 5
    for line in _elsewhere_lines(listed, page):
        write(root, line, MARGIN, y + 9, font_size=SMALL)
        y += SMALL_LEADING
