"""The overview: the vehicle zone by zone, where the findings are, and what was not looked at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lxml import etree

from harnessdiff.describer import Describer
from harnessdiff.draw.measure import FLAG_HEIGHT, flag_width
from harnessdiff.draw.page import BELOW, BODY_TOP, MARGIN, SMALL, SMALL_LEADING, TEXT, TEXT_LEADING, UPRIGHT
from harnessdiff.draw.paint import paint_flag
from harnessdiff.draw.places import places_of
from harnessdiff.draw.scene import Flag
from harnessdiff.draw.svg import add, element, write
from harnessdiff.draw.text import text_width, wrapped
from harnessdiff.model.findings import Finding, Findings, ZoneSeen
from harnessdiff.verdict_words import verdict_words
from harnessdiff.words import (
    GRADE_IS_NOT_A_CAUSE,
    NOT_SEEN_IS_NOT_MISSING,
    SIDES,
    STATUSES,
    SYMPTOMS,
    WIRING_NEAR_A_FIRE,
    install_words,
    level_words,
    outcome_of,
    summary_words,
)

COLUMNS = 3
GAP = 8.0
INNER = UPRIGHT.inner
TILE_WIDTH = (INNER - GAP * (COLUMNS - 1)) / COLUMNS
MOST_FLAGS = 12
TOP = BODY_TOP + 4
BOTTOM = UPRIGHT.height - BELOW
ROW = 12.0
LINE = 12.5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tile:
    """A zone as it will be painted."""

    zone: ZoneSeen
    name: tuple[str, ...]
    flags: tuple[Flag, ...]
    note: tuple[str, ...]

    @property
    def height(self) -> float:
        """Height of the tile. [px]"""
        rows = _flag_rows(self.flags)
        return 10 + TEXT_LEADING * len(self.name) + (FLAG_HEIGHT + 4) * len(rows) + SMALL_LEADING * len(self.note) + 4


def _flag_rows(flags: tuple[Flag, ...]) -> list[list[Flag]]:
    rows: list[list[Flag]] = []
    used = TILE_WIDTH
    for flag in flags:
        width = flag_width(flag) + 5
        if used + width > TILE_WIDTH - 14:
            rows.append([])
            used = 0.0
        rows[-1].append(flag)
        used += width
    return rows


@dataclass(slots=True)
class Body:
    """What stands between heading and title block of a page, and where it ends. [px]"""

    content: etree._Element
    end: float = TOP


class _Pages:
    """Pages that are filled from above; a new one begins where there is no room left."""

    def __init__(self) -> None:
        self.bodies = [Body(element("g"))]

    @property
    def now(self) -> Body:
        """The page being filled."""
        return self.bodies[-1]

    @property
    def room(self) -> float:
        """Height that is left on the page. [px]"""
        return BOTTOM - self.now.end

    def turn(self) -> None:
        """Begin a new page."""
        self.bodies.append(Body(element("g")))

    def line(self, text: str, leading: float, size: float, *, x: float = MARGIN, **attributes: object) -> None:
        """A line of text below what is there."""
        if self.room < leading:
            self.turn()
        write(self.now.content, text, x, self.now.end + leading * 0.75, font_size=size, **attributes)
        self.now.end += leading


def overview_of(findings: Findings, describer: Describer, sheets: dict[int, str]) -> list[Body]:
    """Tiles for the zones, then the installs with their sheets, then every finding in a line.

    Parameters
    ----------
    findings : Findings
    describer : Describer
    sheets : dict
        Number of a finding to the name of the sheet it is drawn on.

    Returns
    -------
    list of Body
        One for every page that it takes.
    """
    pages = _Pages()
    for line in wrapped(verdict_words(findings.verdict), INNER, 13, 700):
        pages.line(line, 17.0, 13, font_weight="bold")
    for line in wrapped(summary_words(findings), INNER, TEXT, 700):
        pages.line(line, LINE, TEXT, font_weight="bold")
    told = [f"{SYMPTOMS[one.symptom]}{f' ({one.note})' if one.note else ''}" for one in findings.complaint]
    complaint = f"Complaint: {'; '.join(told)}." if told else ""
    sentences = [complaint, GRADE_IS_NOT_A_CAUSE, WIRING_NEAR_A_FIRE, NOT_SEEN_IS_NOT_MISSING, SIDES]
    for line in wrapped(" ".join(sentence for sentence in sentences if sentence), INNER, TEXT):
        pages.line(line, LINE, TEXT)
    _paint_tiles(pages, _tiles(findings, describer, sheets))
    _paint_installs(pages, findings, sheets)
    _paint_index(pages, findings, describer, sheets)
    return pages.bodies


def _tiles(findings: Findings, describer: Describer, sheets: dict[int, str]) -> list[_Tile]:
    by_zone: dict[str, list[Finding]] = {}
    for finding in findings.findings:
        for zone in places_of(finding, describer.as_found) or ("",):
            by_zone.setdefault(zone, []).append(finding)
    tiles = [_tile(zone, by_zone.get(zone.id, []), sheets) for zone in findings.coverage.zones]
    if "" in by_zone:
        nowhere = ZoneSeen(id="", name="place not recorded", status="looked_at")
        tiles.append(_tile(nowhere, by_zone[""], sheets))
    # Where there is something comes first, the worst of it foremost; then what nobody looked at.
    order = {tile.zone.id: number for number, tile in enumerate(tiles)}
    worst = {zone: min(finding.number for finding in found) for zone, found in by_zone.items()}
    tiles.sort(
        key=lambda tile: (
            tile.zone.id not in worst,
            worst.get(tile.zone.id, 0),
            tile.zone.status == "looked_at",
            order[tile.zone.id],
        )
    )
    return tiles


def _tile(zone: ZoneSeen, found: list[Finding], sheets: dict[int, str]) -> _Tile:
    flags = tuple(
        Flag(
            text=str(one.number),
            level=level_words(one.rating).replace("recorded, ", ""),
            outcome=outcome_of(one.rating),
        )
        for one in found[:MOST_FLAGS]
    )
    notes = []
    if len(found) > MOST_FLAGS:
        notes.append(f"and {len(found) - MOST_FLAGS} more")
    drawn = sorted({int(sheets[one.number].removeprefix("sheet ")) for one in found if one.number in sheets})
    if drawn:
        notes.append(f"drawn on sheet{'s' if len(drawn) > 1 else ''} {', '.join(map(str, drawn))}")
    if zone.status != "looked_at":
        notes.append(STATUSES[zone.status] + (f": {zone.because}" if zone.because else ""))
    elif zone.because or not found:
        how = f" ({zone.because})" if zone.because else ""
        notes.append(f"looked at{how}{'' if found else ', nothing differs'}")
    return _Tile(
        zone=zone,
        name=wrapped(zone.name, TILE_WIDTH - 14, TEXT, 700, 2),
        flags=flags,
        note=tuple(line for note in notes for line in wrapped(note, TILE_WIDTH - 14, SMALL, 400, 3)),
    )


def _paint_tiles(pages: _Pages, tiles: list[_Tile]) -> None:
    """Tiles in columns, each put into the shortest."""
    ends = [pages.now.end + 8] * COLUMNS
    for tile in tiles:
        column = ends.index(min(ends))
        if ends[column] + tile.height > BOTTOM:
            pages.turn()
            ends, column = [TOP] * COLUMNS, 0
        _paint_tile(pages.now.content, tile, MARGIN + column * (TILE_WIDTH + GAP), ends[column])
        ends[column] += tile.height + GAP
        pages.now.end = max(ends)


def _paint_tile(root: etree._Element, tile: _Tile, x: float, y: float) -> None:
    seen = tile.zone.status == "looked_at"
    add(root, "rect", x=x, y=y, width=TILE_WIDTH, height=tile.height, rx=3.0, class_="tile" if seen else "tile unseen")
    at = y + 14
    for line in tile.name:
        if not seen:
            add(root, "rect", x=x + 4, y=at - 10, width=text_width(line, TEXT, 700) + 6, height=13.0, fill="#fff")
        write(root, line, x + 7, at, font_size=TEXT, font_weight="bold")
        at += TEXT_LEADING
    at -= 7
    for row in _flag_rows(tile.flags):
        left = x + 7
        for flag in row:
            paint_flag(root, flag, left, at)
            left += flag_width(flag) + 5
        at += FLAG_HEIGHT + 4
    for line in tile.note:
        if not seen:
            add(root, "rect", x=x + 4, y=at + 1, width=text_width(line, SMALL) + 6, height=12.0, fill="#fff")
        write(root, line, x + 7, at + 10, font_size=SMALL)
        at += SMALL_LEADING


def _paint_installs(pages: _Pages, findings: Findings, sheets: dict[int, str]) -> None:
    """What belongs together, and on which sheet it is drawn."""
    rows: list[str] = []
    several = [install for install in findings.installs if len(install.findings) > 1]
    for install in several:
        words = install_words(install)
        rows.append(f"Install {install.number}{': ' + words if words else ''} — {_where(install.findings, sheets)}")
    own = {number for install in several for number in install.findings}
    single = [finding.number for finding in findings.findings if finding.number not in own]
    if single:
        rows.append(f"By themselves — {_where(single, sheets)}")
    _paint_head(pages, "What belongs together, and where it is drawn (never who fitted it)", LINE)
    for row in rows:
        for number, line in enumerate(wrapped(row, INNER - 10, TEXT)):
            pages.line(f"• {line}" if number == 0 else line, LINE, TEXT, x=MARGIN + (0 if number == 0 else 6))


def _paint_head(pages: _Pages, words: str, below: float) -> None:
    """A heading, never alone at the foot of a page: `below` has to fit, too. [px]"""
    pages.now.end += 8
    if pages.room < 18 + below:
        pages.turn()
    write(pages.now.content, words, MARGIN, pages.now.end + 10, class_="head")
    pages.now.end += 18


def _where(numbers: Iterable[int], sheets: dict[int, str]) -> str:
    numbers = tuple(numbers)
    places = sorted({int(sheets[number].removeprefix("sheet ")) for number in numbers if number in sheets})
    names = list(map(str, places))
    return f"findings {', '.join(map(str, numbers))} on sheet{'s' if len(names) > 1 else ''} {', '.join(names)}"


def _paint_index(pages: _Pages, findings: Findings, describer: Describer, sheets: dict[int, str]) -> None:
    """Every finding, in two columns a page, each as long as it is."""
    width = (INNER - GAP * 2) / 2
    head = "Every finding, worst first"
    _paint_head(pages, head, ROW * 4)
    left = [_row(finding, describer, sheets.get(finding.number, ""), width) for finding in findings.findings]
    while left:
        if pages.room < ROW * len(left[0].lines):
            pages.turn()
            _paint_head(pages, f"{head} (continued)", ROW)
        lines = sum(len(row.lines) for row in left)
        room = min(int(pages.room // ROW), -(-lines // 2) + 1)
        top, deepest = pages.now.end + ROW * 0.75, 0
        for column in range(2):
            at = 0
            while left and at + len(left[0].lines) <= room:
                row = left.pop(0)
                _paint_row(pages.now.content, row, MARGIN + column * (width + GAP * 2), top + ROW * at, width)
                at += len(row.lines)
            deepest = max(deepest, at)
        pages.now.end += ROW * deepest


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    """A finding in the index: its number, its words broken into lines, and its sheet."""

    number: int
    lines: tuple[str, ...]
    sheet: str


def _row(finding: Finding, describer: Describer, sheet: str, width: float) -> _Row:
    text = f"{level_words(finding.rating).replace('recorded, ', '')}: {describer.headline(finding)}"
    room = width - 22 - text_width(sheet, SMALL) - 8
    return _Row(number=finding.number, lines=wrapped(text, room, SMALL, 400, 4), sheet=sheet)


def _paint_row(root: etree._Element, row: _Row, x: float, y: float, width: float) -> None:
    write(root, str(row.number), x + 14, y, font_size=SMALL, font_weight="bold", text_anchor="end")
    for place, line in enumerate(row.lines):
        write(root, line, x + 19, y + ROW * place, font_size=SMALL)
    write(root, row.sheet, x + width, y, font_size=SMALL, text_anchor="end", class_="faint")
