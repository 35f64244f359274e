"""The sheets of a case: an overview, one for every install, and those for single changes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from lxml import etree

from harnessdiff.describer import Describer
from harnessdiff.draw.findings_list import Listed, list_height, paint_list
from harnessdiff.draw.layout import Engine, Layout, dot_source, laid_out
from harnessdiff.draw.legend import legend_height, paint_legend
from harnessdiff.draw.neighbourhood import Neighbourhood
from harnessdiff.draw.overview import Body, overview_of
from harnessdiff.draw.page import (
    BELOW,
    BLOCK_HEIGHT,
    BODY_TOP,
    GAP,
    LYING,
    MARGIN,
    SMALL_LEADING,
    UPRIGHT,
    Format,
    cautions_height,
    new_page,
    paint_cautions,
)
from harnessdiff.draw.paint import paint_scene
from harnessdiff.draw.scene import Mark, Scene
from harnessdiff.draw.svg import add
from harnessdiff.draw.text import font_faces
from harnessdiff.model.findings import Finding, Findings
from harnessdiff.model.harness import Harness
from harnessdiff.model.reference import Reference
from harnessdiff.words import bare, install_words

OVERVIEW = "Overview: where to look"
MOST_ON_A_SHEET = 6
LEAST_SCALE = 0.8
HOPELESS = 0.85
"""A sheet that is so much smaller than that in its first layout is split at once."""
ELSEWHERE_LINES = 2
"""Room that is kept for what is drawn on other sheets, too, before these have their numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A sheet: its name, title, width [px], SVG, the DOT it was laid out from, and its findings' numbers."""

    name: str
    title: str
    width: float
    svg: str
    dot: str
    findings: tuple[int, ...] = ()


@dataclass(slots=True, kw_only=True)
class _Plan:
    """A sheet to be: its findings, what they share, its scene, and what is written below that."""

    title: str
    subtitle: str
    findings: tuple[Finding, ...]
    shared: tuple[str, ...]
    scene: Scene
    listed: Listed


def sheets_of(reference: Reference, as_found: Harness, findings: Findings) -> tuple[Sheet, ...]:
    """Draw a case.

    Parameters
    ----------
    reference : Reference
    as_found : Harness
    findings : Findings

    Returns
    -------
    tuple of Sheet
        The overview first, on more than one where there is much. Every finding is on exactly one
        of the others.

    Raises
    ------
    LayoutError
        If the layout engine fails.
    """
    around = Neighbourhood(reference, as_found)
    describer = Describer(reference, as_found)
    with Engine() as engine:
        plans, layouts = _planned(engine, around, describer, findings)
    bodies = _overview(plans, describer, findings)
    total = len(bodies) + len(plans)
    subtitle = findings.survey_title or findings.reference_title
    roots = []
    for number, body in enumerate(bodies, start=1):
        root = new_page(UPRIGHT, body.end + BELOW, OVERVIEW, findings, number, total, subtitle)
        root.extend(list(body.content))
        roots.append(root)
    _refer(plans, len(bodies), around)
    for number, (plan, layout) in enumerate(zip(plans, layouts, strict=True), start=len(bodies) + 1):
        roots.append(_page(plan, layout, describer, findings, number, total))
    texts = _texts(roots)
    widths = [float(root.get("width") or 0) for root in roots]
    sheets = []
    for number, (text, width) in enumerate(zip(texts, widths, strict=True), start=1):
        if number <= len(bodies):
            sheet = Sheet(name=f"sheet-{number:02d}-overview", title=OVERVIEW, width=width, svg=text, dot="")
        else:
            plan = plans[number - len(bodies) - 1]
            on_it = tuple(finding.number for finding in plan.findings)
            sheet = Sheet(name=f"sheet-{number:02d}", title=plan.title, width=width, svg=text,
                          dot=dot_source(plan.scene), findings=on_it)  # fmt: skip
        sheets.append(sheet)
    return tuple(sheets)


def _overview(plans: list[_Plan], describer: Describer, findings: Findings) -> list[Body]:
    """Pages of the overview; the sheets after them are numbered on from there."""
    count = 1
    while True:
        places = {
            finding.number: f"sheet {number}"
            for number, plan in enumerate(plans, start=count + 1)
            for finding in plan.findings
        }
        bodies = overview_of(findings, describer, places)
        if len(bodies) <= count:
            return bodies
        count = len(bodies)


def _planned(
    engine: Engine, around: Neighbourhood, describer: Describer, findings: Findings
) -> tuple[list[_Plan], list[Layout]]:
    """Plans that fit their page: a sheet that would be too small to read is split and laid out again."""
    waiting = [
        _plan(around, findings, (title, subtitle), chunk, shared)
        for title, subtitle, group, shared in _groups(findings)
        for chunk in _chunks(group, MOST_ON_A_SHEET)
    ]
    order: dict[int, tuple[int, ...]] = {id(plan): (number,) for number, plan in enumerate(waiting)}
    done: list[tuple[tuple[int, ...], _Plan, Layout]] = []

    def scale(plan: _Plan, layout: Layout) -> float:
        kept = ELSEWHERE_LINES * SMALL_LEADING
        return max(_scale(plan, layout, describer, page, kept) for page in (UPRIGHT, LYING))

    while waiting:
        again = []
        plans = waiting

        def hopeless(place: int, layout: Layout, plans: list[_Plan] = plans) -> bool:
            plan = plans[place]
            return len(plan.findings) > 1 and scale(plan, layout) < HOPELESS * LEAST_SCALE

        layouts = laid_out([plan.scene for plan in plans], hopeless, engine)
        for plan, layout in zip(plans, layouts, strict=True):
            place = order[id(plan)]
            if scale(plan, layout) >= LEAST_SCALE or len(plan.findings) == 1:
                done.append((place, plan, layout))
                continue
            for part, half in enumerate(_chunks(plan.findings, (len(plan.findings) + 1) // 2)):
                piece = _plan(around, findings, (plan.title, plan.subtitle), half, plan.shared)
                order[id(piece)] = (*place, part)
                again.append(piece)
        waiting = again
    done.sort(key=lambda one: one[0])
    return [plan for _, plan, _ in done], [layout for _, _, layout in done]


def _groups(findings: Findings) -> list[tuple[str, str, tuple[Finding, ...], tuple[str, ...]]]:
    """Findings that are drawn together: title, subtitle, findings, shared elements."""
    by_number = {finding.number: finding for finding in findings.findings}
    groups = []
    single = set(by_number)
    for install in findings.installs:
        if len(install.findings) < 2:
            continue
        single -= set(install.findings)
        words = install_words(install) or "not like any usual install"
        tie = f"; tied together by the kit {', '.join(install.evidence)}" if install.evidence else ""
        members = _by_place([by_number[number] for number in install.findings])
        groups.append((f"Install {install.number}", words + tie, members, install.shared))
    if single:
        members = tuple(by_number[number] for number in sorted(single))
        shared = tuple(
            one for install in findings.installs if set(install.findings) <= single for one in install.shared
        )
        groups.append(("Single changes", "each stands by itself", members, shared))
    return groups


def _by_place(findings: list[Finding]) -> tuple[Finding, ...]:
    """Findings of one place side by side, so that a sheet is carried to one place.

    An unsafe route stands by the finding that its lead belongs to.
    """
    owners = {
        added: finding for finding in findings if finding.kind != "routing" for added in finding.modification.added
    }

    def place(finding: Finding) -> tuple[tuple[str, ...], int]:
        owner = owners.get(finding.modification.root, finding) if finding.kind == "routing" else finding
        return (owner.zones[:1], owner.number)

    return tuple(sorted(findings, key=place))


def _chunks(findings: tuple[Finding, ...], most: int) -> list[tuple[Finding, ...]]:
    """Findings in groups of about the same size, at most `most`."""
    count = -(-len(findings) // most)
    size = -(-len(findings) // count)
    return [findings[start : start + size] for start in range(0, len(findings), size)]


def _plan(
    around: Neighbourhood, findings: Findings, group: tuple[str, str], members: tuple[Finding, ...],
    shared: tuple[str, ...],
) -> _Plan:  # fmt: skip
    scene = around.scene(members, shared, findings.findings)
    flagged = {flag.number for mark in scene.marks.values() for flag in mark.flags}
    own = {finding.number for finding in members}
    guests = tuple((one, "another sheet") for one in findings.findings if one.number in flagged - own)
    listed = Listed(findings=members, guests=guests, readings=findings.readings)
    return _Plan(title=group[0], subtitle=group[1], findings=members, shared=shared, scene=scene, listed=listed)


def _refer(plans: list[_Plan], before: int, around: Neighbourhood) -> None:
    """Say on every sheet which of its guests, added devices and fuses are on which others."""
    sheets = {id(plan): f"sheet {number}" for number, plan in enumerate(plans, start=before + 1)}
    told = {finding.number: sheets[id(plan)] for plan in plans for finding in plan.findings}
    for plan in plans:
        guests = tuple((one, told[one.number]) for one, _ in plan.listed.guests)
        elsewhere = []
        for mark in plan.scene.marks.values():
            others = [sheets[id(one)] for one in plans if one is not plan and mark.id in one.scene.marks]
            if others and around.is_shown_whole(mark.id):
                numbers = ", ".join(one.removeprefix("sheet ") for one in others)
                other = "other terminals of " if mark.added else ""
                elsewhere.append(f"{other}{_short(mark)} on sheet{'s' if len(others) > 1 else ''} {numbers}")
        plan.listed = replace(plan.listed, guests=guests, elsewhere=tuple(elsewhere))


def _short(mark: Mark) -> str:
    """A mark by its name, with its own words where it has both."""
    own = bare(mark.id)
    return own if not mark.label or mark.label[0].split(" ")[0] == own else f"{own} {mark.label[0]}"


def _cautions(plan: _Plan) -> list[str]:
    found = dict.fromkeys(code for finding in plan.findings for code in finding.cautions)
    return list(found)


def _rest(plan: _Plan, layout: Layout, describer: Describer, page: Format) -> float:
    """Height of everything but the drawing. [px]"""
    listed = list_height(plan.listed, describer, page)
    below = listed + legend_height(plan.scene, layout, page)
    return BODY_TOP + GAP + below + GAP + cautions_height(_cautions(plan), page) + BLOCK_HEIGHT + MARGIN


def _scale(plan: _Plan, layout: Layout, describer: Describer, page: Format, kept: float = 0.0) -> float:
    room = page.height - _rest(plan, layout, describer, page) - kept
    return min(1.0, page.inner / max(layout.width, 1), room / max(layout.height, 1))


def _format(plan: _Plan, layout: Layout, describer: Describer) -> Format:
    """The page that shows the drawing larger; upright where both do as well."""
    upright, lying = (_scale(plan, layout, describer, page) for page in (UPRIGHT, LYING))
    return LYING if lying > upright + 0.02 else UPRIGHT


def _page(
    plan: _Plan, layout: Layout, describer: Describer, findings: Findings, number: int, total: int
) -> etree._Element:
    """A sheet: the drawing, and below it the list, the legend and the cautions."""
    form = _format(plan, layout, describer)
    scale = _scale(plan, layout, describer, form)
    # Whole pixels: the renderer of PNGs cuts off letters that begin in the middle of one.
    drawn = math.floor(layout.height * scale)
    height = math.floor(drawn + _rest(plan, layout, describer, form))
    page = new_page(form, height, plan.title, findings, number, total, plan.subtitle)
    left = MARGIN + (form.inner - layout.width * scale) / 2
    drawing = add(page, "g", transform=f"translate({left:.2f} {BODY_TOP:g}) scale({scale:.4f})", class_="drawing")
    paint_scene(drawing, plan.scene, layout)
    top = BODY_TOP + drawn + GAP
    paint_list(page, plan.listed, describer, form, top)
    top += list_height(plan.listed, describer, form)
    paint_legend(page, plan.scene, layout, form, top)
    top += legend_height(plan.scene, layout, form)
    paint_cautions(page, _cautions(plan), form, top)
    return page


def _texts(roots: Sequence[etree._Element]) -> list[str]:
    """The pages as text, each with the glyphs that the sheets use."""
    used = sorted({character for root in roots for text in root.itertext() for character in str(text)})
    faces = font_faces("".join(character for character in used if character.isprintable()))
    found = []
    for root in roots:
        style = next(child for child in root if str(child.tag).endswith("style"))
        style.text = f"{faces}{style.text}"
        found.append(etree.tostring(root, encoding="unicode") + "\n")
    return found
