"""The overview: the vehicle zone by zone, where the findings are, and what was not looked at."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from lxml import etree

from harnessdiff.draw.measure import FLAG_HEIGHT, flag_width
from harnessdiff.draw.page import BELOW, BODY_TOP, MARGIN, SMALL, TEXT, UPRIGHT
from harnessdiff.draw.paint import paint_flag
from harnessdiff.draw.scene import Flag
from harnessdiff.draw.svg import add, element, write
from harnessdiff.draw.text import text_width, wrapped
from harnessdiff.model.findings import Finding, Findings, ZoneSeen
from harnessdiff.words import (
    GRADE_IS_NOT_A_CAUSE,
    NOT_SEEN_IS_NOT_MISSING,
    SIDES,
    STATUSES,
    SYMPTOMS,
    Describer,
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
        return 10 + 12 * len(self.name) + (FLAG_HEIGHT + 4) * len(rows) + 10.5 * len(self.note) + 4


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
    for line in wrapped(summary_words(findings), INNER, 13, 700):
        pages.line(line, 17.0, 13, font_weight="bold")
    told = [f"{SYMPTOMS[one.symptom]}{f' ({one.note})' if one.note else ''}" for one in findings.complaint]
    sentences = [f"Complaint: {'; '.join(told)}." if told else "", GRADE_IS_NOT_A_CAUSE, NOT_SEEN_IS_NOT_MISSING, SIDES]
    for line in wrapped(" ".join(sentence for sentence in sentences if sentence), INNER, TEXT):
        pages.line(line, LINE, TEXT)
    _paint_tiles(pages, _tiles(findings))
    _paint_installs(pages, findings, sheets)
    _paint_index(pages, findings, describer, sheets)
    return pages.bodies


def _tiles(findings: Findings) -> list[_Tile]:
    by_zone: dict[str, list[Finding]] = {}
    placeless: list[Finding] = []
    for finding in findings.findings:
        if finding.zones:
            by_zone.setdefault(finding.zones[0], []).append(finding)
        else:
            placeless.append(finding)
    tiles = [_tile(zone, by_zone.get(zone.id, [])) for zone in findings.coverage.zones]
    if placeless:
        tiles.append(_tile(ZoneSeen(id="", name="place not recorded", status="looked_at"), placeless))
    # Where there is something comes first, the worst of it foremost; then what nobody looked at.
    order = {tile.zone.id: number for number, tile in enumerate(tiles)}
    worst = {zone: min(finding.number for finding in found) for zone, found in by_zone.items()}
    if placeless:
        worst[""] = placeless[0].number
    tiles.sort(
        key=lambda tile: (
            tile.zone.id not in worst,
            worst.get(tile.zone.id, 0),
            tile.zone.status == "looked_at",
            order[tile.zone.id],
        )
    )
    return tiles


def _tile(zone: ZoneSeen, found: list[Finding]) -> _Tile:
    flags = tuple(
        Flag(
            text=str(one.number),
            level=level_words(one.rating).replace("recorded, ", ""),
            outcome=outcome_of(one.rating),
        )
        for one in found[:MOST_FLAGS]
    )
    note = ""
    if zone.status != "looked_at":
        note = STATUSES[zone.status] + (f": {zone.because}" if zone.because else "")
    elif not found:
        note = "looked at, nothing differs"
    if len(found) > MOST_FLAGS:
        note = f"and {len(found) - MOST_FLAGS} more. {note}"
    return _Tile(
        zone=zone,
        name=wrapped(zone.name, TILE_WIDTH - 14, TEXT, 700, 2),
        flags=flags,
        note=wrapped(note, TILE_WIDTH - 14, SMALL, 400, 2) if note else (),
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
            add(root, "rect", x=x + 4, y=at - 9, width=text_width(line, TEXT, 700) + 6, height=12.0, fill="#fff")
        write(root, line, x + 7, at, font_size=TEXT, font_weight="bold")
        at += 12
    at -= 6
    for row in _flag_rows(tile.flags):
        left = x + 7
        for flag in row:
            paint_flag(root, flag, left, at)
            left += flag_width(flag) + 5
        at += FLAG_HEIGHT + 4
    for line in tile.note:
        if not seen:
            add(root, "rect", x=x + 4, y=at + 1, width=text_width(line, SMALL) + 6, height=11.0, fill="#fff")
        write(root, line, x + 7, at + 9, font_size=SMALL)
        at += 10.5


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
    names = dict.fromkeys(sheets[number].removeprefix("sheet ") for number in numbers if number in sheets)
    return f"findings {', '.join(map(str, numbers))} on sheet{'s' if len(names) > 1 else ''} {', '.join(names)}"


def _paint_index(pages: _Pages, findings: Findings, describer: Describer, sheets: dict[int, str]) -> None:
    """Every finding in a line, in two columns a page."""
    width = (INNER - GAP * 2) / 2
    _paint_head(pages, "Every finding, worst first", ROW * 4)
    left = findings.findings
    while left:
        if pages.room < ROW:
            pages.turn()
        rows = min(int(pages.room // ROW), -(-len(left) // 2))
        top = pages.now.end + ROW * 0.75
        for place, finding in enumerate(left[: rows * 2]):
            column, row = divmod(place, rows)
            _paint_row(pages.now.content, finding, describer, sheets.get(finding.number, ""),
                       MARGIN + column * (width + GAP * 2), top + ROW * row, width)  # fmt: skip
        pages.now.end += ROW * rows
        left = left[rows * 2 :]


def _paint_row(
    root: etree._Element, finding: Finding, describer: Describer, sheet: str, x: float, y: float, width: float
) -> None:
    write(root, str(finding.number), x + 14, y, font_size=SMALL, font_weight="bold", text_anchor="end")
    text = f"{level_words(finding.rating).replace('recorded, ', '')}: {describer.headline(finding)}"
    room = width - 22 - text_width(sheet, SMALL) - 8
    write(root, wrapped(text, room, SMALL, 400, 1)[0], x + 19, y, font_size=SMALL)
    write(root, sheet, x + width, y, font_size=SMALL, text_anchor="end", class_="faint")
