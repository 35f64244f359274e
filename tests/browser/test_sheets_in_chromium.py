"""The demo's sheets in a real browser: nothing leaves, nothing is missing, nothing lies on anything else."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING, Any

import pytest
from playwright.sync_api import sync_playwright

from harnessdiff.draw.text import text_width
from tests.drawing import Rectangle, demo_case

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser

    from tests.support import Json

CHROMIUM = shutil.which("chromium")
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
READ = """
() => {
  const box = one => {
    const b = one.getBBox(), m = one.getCTM(), at = (x, y) => [m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f];
    const [left, top] = at(b.x, b.y), [right, bottom] = at(b.x + b.width, b.y + b.height);
    return [left, top, right, bottom];
  };
  const root = document.documentElement;
  const style = one => getComputedStyle(one);
  return {
    size: [root.width.baseVal.value, root.height.baseVal.value],
    fonts: [...document.fonts].map(one => [one.family.replaceAll('"', ''), one.weight, one.status]),
    texts: [...document.querySelectorAll('text')].map(one => ({
      text: one.textContent, box: box(one), length: one.getComputedTextLength(),
      size: parseFloat(style(one).fontSize), weight: style(one).fontWeight, family: style(one).fontFamily,
      drawing: one.closest('.drawing') !== null,
    })),
    flags: [...document.querySelectorAll('rect.flag')].map(one => ({
      box: box(one), fill: style(one).fill, text: one.nextElementSibling.textContent,
      words: box(one.nextElementSibling), ink: style(one.nextElementSibling).fill,
    })),
    symbols: [...document.querySelectorAll('.drawing .sym')].map(one => ({
      box: box(one), joint: one.querySelector('.joint') !== null,
    })),
    leads: [...document.querySelectorAll('.drawing .lead-edge')].map(one => parseFloat(style(one).strokeWidth)),
    wires: [...document.querySelectorAll('.drawing .wire-edge')].map(one => parseFloat(style(one).strokeWidth)),
    ticks: [...document.querySelectorAll('.drawing .wire-tick')].map(
      one => [style(one).stroke, style(one).strokeDasharray !== 'none', one.getTotalLength() > 0]),
  };
}
"""
SHEETS = [sheet.name for sheet in demo_case().sheets]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        pytest.skip("no program called chromium is found: the sheets were NOT opened in a browser")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def opened(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Json]:
    """Every sheet of the demo: what is on it, and what the browser had to say."""
    folder = tmp_path_factory.mktemp("sheets")
    page = browser.new_page(viewport={"width": 1200, "height": 1200})
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: asked.append(request.url))
    found = {}
    for sheet in demo_case().sheets:
        said.clear()
        asked.clear()
        path = folder / f"{sheet.name}.svg"
        path.write_text(sheet.svg, encoding="utf-8")
        page.goto(path.as_uri())
        page.evaluate("() => document.fonts.ready.then(() => true)")
        read: Json = page.evaluate(READ)
        found[sheet.name] = read | {"said": [*said], "asked": [*asked], "address": path.as_uri()}
    page.close()
    return found


sheets = pytest.mark.parametrize("name", SHEETS)


def rectangle(box: list[float]) -> Rectangle:
    return Rectangle(*box)


def overlapping(boxes: list[Rectangle], slack: float = 0.5) -> list[tuple[int, int]]:
    return [
        (one, other)
        for one in range(len(boxes))
        for other in range(one + 1, len(boxes))
        if boxes[one].overlaps(boxes[other], slack)
    ]


@sheets
def test_sheet_opens_without_complaint_and_asks_for_nothing_else(opened: dict[str, Json], name: str) -> None:
    read = opened[name]

    assert read["said"] == []
    assert {url for url in read["asked"] if not url.startswith("data:")} == {read["address"]}


@sheets
def test_sheet_is_written_in_the_font_that_it_carries(opened: dict[str, Json], name: str) -> None:
    read = opened[name]

    assert {tuple(one) for one in read["fonts"]} == {
        ("Source Sans Pro", "400", "loaded"), ("Source Sans Pro", "700", "loaded"),
    }  # fmt: skip
    assert {one["family"].split(",")[0].strip('"') for one in read["texts"]} == {"Source Sans Pro"}


@sheets
def test_text_is_as_wide_as_it_was_measured(opened: dict[str, Json], name: str) -> None:
    """Several blanks are shown as several."""
    for one in opened[name]["texts"]:
        expected = text_width(one["text"], one["size"], int(one["weight"]))

        assert one["length"] == pytest.approx(expected, rel=0.01, abs=0.5), one["text"]


@sheets
def test_text_stays_inside_the_page(opened: dict[str, Json], name: str) -> None:
    read = opened[name]
    page = Rectangle(0, 0, *read["size"])

    assert [one["text"] for one in read["texts"] if not rectangle(one["box"]).within(page)] == []


@sheets
def test_no_two_flags_lie_on_each_other(opened: dict[str, Json], name: str) -> None:
    flags = opened[name]["flags"]

    assert flags or name.endswith("-overview")
    assert overlapping([rectangle(one["box"]) for one in flags]) == []


@sheets
def test_words_of_a_flag_lie_within_it(opened: dict[str, Json], name: str) -> None:
    outside = [
        one["text"] for one in opened[name]["flags"] if not rectangle(one["words"]).within(rectangle(one["box"]))
    ]  # fmt: skip

    assert outside == []


@sheets
def test_no_text_of_the_drawing_lies_on_another(opened: dict[str, Json], name: str) -> None:
    """Lines of one label stand closer than the boxes of their letters are high: 4 px are theirs."""
    texts = [one for one in opened[name]["texts"] if one["drawing"]]
    pairs = overlapping([rectangle(one["box"]) for one in texts], slack=4.0)

    assert [(texts[one]["text"], texts[other]["text"]) for one, other in pairs] == []


@sheets
def test_no_symbol_lies_on_another(opened: dict[str, Json], name: str) -> None:
    assert overlapping([rectangle(one["box"]) for one in opened[name]["symbols"]]) == []


@sheets
def test_no_flag_covers_a_symbol(opened: dict[str, Json], name: str) -> None:
    symbols = [rectangle(one["box"]) for one in opened[name]["symbols"]]

    assert not any(
        rectangle(flag["box"]).overlaps(symbol) for flag in opened[name]["flags"] for symbol in symbols
    )  # fmt: skip


def channels(colour: str) -> list[float]:
    assert colour.startswith("rgb(")
    return [int(one) / 255 for one in colour[4:-1].split(",")]


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance; from memory)."""
    red, green, blue = (
        one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in channels(colour)
    )  # fmt: skip
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@sheets
def test_words_of_flags_stand_out(opened: dict[str, Json], name: str) -> None:
    """At least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3; from memory)."""
    for flag in opened[name]["flags"]:
        low, high = sorted((luminance(flag["fill"]), luminance(flag["ink"])))

        assert (high + 0.05) / (low + 0.05) >= 4.5, flag["text"]


def test_added_leads_are_drawn_at_least_twice_as_heavy_as_wires(opened: dict[str, Json]) -> None:
    leads: list[Any] = [width for read in opened.values() for width in read["leads"]]
    wires: list[Any] = [width for read in opened.values() for width in read["wires"]]

    assert leads
    assert wires
    assert min(leads) >= 2 * max(wires)


def test_tracers_are_drawn_as_ticks_in_a_colour(opened: dict[str, Json]) -> None:
    ticks = [tuple(one) for read in opened.values() for one in read["ticks"]]

    assert len({stroke for stroke, _, _ in ticks}) > 3
    assert {(dashed, drawn) for _, dashed, drawn in ticks} == {(True, True)}


def test_joints_are_the_largest_symbols(opened: dict[str, Json]) -> None:
    def extent(one: Json) -> float:
        box = rectangle(one["box"])
        return min(box.right - box.left, box.bottom - box.top)

    for read in opened.values():
        joints = [extent(one) for one in read["symbols"] if one["joint"]]
        others = [extent(one) for one in read["symbols"] if not one["joint"]]

        assert not joints or max(others, default=0) <= min(joints)
