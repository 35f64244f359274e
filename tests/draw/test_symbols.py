"""Every symbol that a sheet may ask for is drawn, named in the legend, and stays in its box."""

from __future__ import annotations

import itertools
import json
import re
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from harnessdiff.draw import neighbourhood
from harnessdiff.draw.marks import JOINT_SYMBOLS, SYMBOLS
from harnessdiff.draw.measure import symbol_size
from harnessdiff.draw.scene import Mark
from harnessdiff.draw.svg import element
from harnessdiff.draw.symbols import LEGEND, draw_symbol
from harnessdiff.words import TYPES
from tests.drawing import SVG, classes
from tests.support import Json

SCHEMAS = Path(__file__).parent.parent.parent / "schemas/v1"
STROKE = 1.5
"""Half of the widest line that a symbol is drawn with, in page.STYLE. [px]"""


def drawn(symbol: str, x: float = 0.0, y: float = 0.0, *, added: bool = False, gone: bool = False) -> etree._Element:
    parent = element("g")
    draw_symbol(parent, symbol, x, y, added=added, gone=gone)
    return parent


def shape(symbol: str) -> str:
    """What a symbol looks like, to tell it from another."""
    return etree.tostring(drawn(symbol), encoding="unicode")


def schema(name: str) -> Json:
    loaded: Json = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    return loaded


def reach(symbol: str) -> tuple[float, float]:
    """How far a symbol drawn at (0, 0) reaches to either side, and up or down; circles and rectangles by their
    sides, paths by the points they are made of, which hold a Bézier piece between them. [px]"""
    xs, ys = [0.0], [0.0]
    for one in drawn(symbol).iter(etree.Element):
        number: dict[str, float] = {
            str(name): float(value) for name, value in one.attrib.items() if re.fullmatch(r"-?[\d.]+", str(value))
        }
        if one.tag == f"{SVG}circle":
            for x, y in itertools.product((-1, 1), repeat=2):
                xs.append(number["cx"] + x * number["r"])
                ys.append(number["cy"] + y * number["r"])
        elif one.tag == f"{SVG}rect":
            xs += [number["x"], number["x"] + number["width"]]
            ys += [number["y"], number["y"] + number["height"]]
        elif one.tag == f"{SVG}path":
            # The radii and flags of an arc are no points; its ends are.
            d = re.sub(r"A\S+ \S+ \S+ \S+ \S+ ", "L", str(one.get("d")))
            found = [float(text) for text in re.findall(r"-?\d+\.?\d*", d)]
            xs += found[::2]
            ys += found[1::2]
    return max(map(abs, xs)), max(map(abs, ys))


# -- what a sheet may ask for


def asked_for() -> set[str]:
    """Every symbol that is named where marks are made: in tables, and as text in the code."""
    code = Path(neighbourhood.__file__).read_text(encoding="utf-8")
    literal = set(re.findall(r'symbol="(\w+)"', code)) | set(re.findall(r'symbol = "(\w+)" if', code))
    return literal | set(SYMBOLS.values()) | {f"joint_{glyph}" for glyph in JOINT_SYMBOLS.values()} | {"device"}


def test_the_legend_names_every_symbol_that_is_asked_for() -> None:
    assert len(asked_for()) > 20
    assert asked_for() - set(LEGEND) == set()


@pytest.mark.parametrize("symbol", sorted(LEGEND))
def test_a_symbol_is_drawn(symbol: str) -> None:
    (group,) = drawn(symbol)

    assert group.get("class") == "sym"
    assert len(group) > 0


def test_symbols_are_told_apart_by_their_shape() -> None:
    """Only terminals of the maker's and of added devices look the same; nothing else is mistaken for another."""
    alike = [
        {one, other} for one, other in itertools.combinations(sorted(LEGEND), 2) if shape(one) == shape(other)
    ]  # fmt: skip

    assert alike == [{"pin", "terminal"}]


@pytest.mark.parametrize("symbol", sorted(LEGEND))
def test_a_symbol_stays_in_its_box(symbol: str) -> None:
    width, height = symbol_size(Mark(id="m", symbol=symbol))
    across, up = reach(symbol)

    assert across <= width / 2 + STROKE
    assert up <= height / 2 + STROKE


def test_words_of_the_legend_are_different() -> None:
    assert len(set(LEGEND.values())) == len(LEGEND)


# -- joints and devices


def test_every_type_of_joint_has_a_symbol_and_words() -> None:
    types = schema("survey")["$defs"]["joint_details"]["properties"]["type"]["enum"]

    assert set(JOINT_SYMBOLS) == set(types) == set(TYPES)


def test_a_joint_is_a_ring_with_the_sign_of_its_sort_inside() -> None:
    for glyph in sorted(set(JOINT_SYMBOLS.values())):
        (group,) = drawn(f"joint_{glyph}")

        assert classes(group).count("joint") == 1
        assert len(group) > 1


def test_devices_with_a_symbol_are_devices_that_a_file_may_name() -> None:
    kinds = schema("common")["$defs"]["device"]["properties"]["kind"]["enum"]

    assert set(SYMBOLS) - set(kinds) == set()


@pytest.mark.parametrize(
    ("kind", "symbol"),
    [("fuse_slot", "fuse"), ("lamp", "lamp"), ("ground_stud", "ground"), ("battery", "battery"), ("pump", "motor"),
     ("relay_socket", "relay"), ("button", "switch"), ("diode", "diode")],
)  # fmt: skip
def test_devices_have_the_symbol_of_their_sort(kind: str, symbol: str) -> None:
    assert SYMBOLS[kind] == symbol


# -- how it is drawn


def test_what_is_added_or_gone_is_marked_as_such() -> None:
    for added, gone in itertools.product((False, True), repeat=2):
        (group,) = drawn("lamp", added=added, gone=gone)
        own: list[Any] = (group.get("class") or "").split()

        assert own == ["sym", *(["added"] if added else []), *(["gone"] if gone else [])]


@pytest.mark.parametrize("symbol", sorted(LEGEND))
def test_a_symbol_goes_where_it_is_put(symbol: str) -> None:
    """Moved by (100, 50), every circle and rectangle moves by just that."""
    moved = drawn(symbol, 100.0, 50.0)

    for one, other in zip(drawn(symbol).iter(etree.Element), moved.iter(etree.Element), strict=True):
        for name, by in (("cx", 100), ("x", 100), ("cy", 50), ("y", 50)):
            if one.get(name) is not None:
                assert float(other.get(name, "")) - float(one.get(name, "")) == pytest.approx(by)
