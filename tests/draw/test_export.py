"""Sheets as files of every format: what they are, how many pages, how large, and that they need nothing else."""

from __future__ import annotations

import re
import subprocess
import sys
from functools import cache
from hashlib import sha256
from typing import TYPE_CHECKING

import pytest
from lxml import etree

from harnessdiff.draw.export import PIXELS_PER_INCH, exported
from harnessdiff.draw.text import FAMILY
from harnessdiff.pipeline import drawn
from tests.drawing import demo_case, pdf_page_sizes, png_size
from tests.support import Json, bench_data, case_from, reference_from

if TYPE_CHECKING:
    from pathlib import Path

    from harnessdiff.pipeline import Case

LINES: list[Json] = [
    {"kind": "tap", "id": f"t{number}", "zone": "Z_TAIL", "on": {"wire": f"W{number}"}} for number in (12, 32)
]


@cache
def small_case() -> Case:
    return case_from(reference_from(bench_data()), *LINES)


@cache
def small_files() -> dict[str, bytes]:
    return exported(small_case().sheets, ("svg", "dot", "png", "pdf"))


def names(case: Case) -> list[str]:
    return [sheet.name for sheet in case.sheets]


# -- which files


def test_every_sheet_is_a_file_in_every_format_and_the_pdf_is_one_for_all() -> None:
    overview, *others = names(small_case())
    expected = {f"{name}.{ending}" for name in (overview, *others) for ending in ("svg", "png")}

    assert set(small_files()) == expected | {f"{name}.dot" for name in others} | {"sheets.pdf"}


@pytest.mark.parametrize("format_", ["svg", "dot", "png", "pdf"])
def test_only_the_formats_that_were_asked_for_are_made(format_: str) -> None:
    endings = {name.rsplit(".", 1)[1] for name in exported(small_case().sheets, (format_,))}

    assert endings == {format_}


def test_only_the_sheets_that_were_asked_for_are_made() -> None:
    _, second = names(small_case())

    assert set(drawn(small_case(), ("svg", "pdf"), (second,))) == {f"{second}.svg", "sheets.pdf"}
    assert len(pdf_page_sizes(drawn(small_case(), ("pdf",), (second,))["sheets.pdf"])) == 1


def test_no_format_makes_no_file() -> None:
    assert exported(small_case().sheets, ()) == {}


@pytest.mark.parametrize("format_", ["svg", "dot", "png", "pdf"])
def test_no_sheets_make_no_file(format_: str) -> None:
    assert exported((), (format_,)) == {}


# -- what they are


def test_svg_and_dot_are_the_sheet_s_own_text() -> None:
    for sheet in small_case().sheets:
        assert small_files()[f"{sheet.name}.svg"].decode() == sheet.svg
        assert etree.fromstring(small_files()[f"{sheet.name}.svg"]).tag.endswith("svg")
        if sheet.dot:
            assert small_files()[f"{sheet.name}.dot"].decode() == sheet.dot
            assert sheet.dot.startswith("digraph")


def test_png_and_pdf_begin_as_such_files_do() -> None:
    """W3C PNG, section 5.2, and ISO 32000, section 7.5.2; both from memory."""
    for name, data in small_files().items():
        if name.endswith(".png"):
            assert data[:8] == b"\x89PNG\r\n\x1a\n"
        elif name.endswith(".pdf"):
            assert data[:7] == b"%PDF-1."
            assert data.rstrip().endswith(b"%%EOF")


def test_a_png_is_as_large_as_its_sheet_at_192_pixels_an_inch() -> None:
    for sheet in small_case().sheets:
        root = etree.fromstring(sheet.svg.encode())
        scale = PIXELS_PER_INCH / 96
        expected = [float(root.get(side) or 0) * scale for side in ("width", "height")]

        assert png_size(small_files()[f"{sheet.name}.png"]) == pytest.approx(expected, abs=1.5)


def test_a_pdf_has_a_page_for_every_sheet_as_large_as_the_sheet() -> None:
    """A CSS pixel is 0.75 point."""
    pages = pdf_page_sizes(drawn(demo_case(), ("pdf",), ())["sheets.pdf"])
    roots = [etree.fromstring(sheet.svg.encode()) for sheet in demo_case().sheets]
    expected = [(float(root.get("width") or 0) * 0.75, float(root.get("height") or 0) * 0.75) for root in roots]

    assert len(pages) == len(expected)
    for page, wanted in zip(pages, expected, strict=True):
        assert page == pytest.approx(wanted, abs=1)


def test_a_pdf_carries_its_font_and_names_no_time() -> None:
    data = small_files()["sheets.pdf"]

    assert FAMILY.replace(" ", "").encode() in data.replace(b" ", b"")
    assert re.findall(rb"/(?:CreationDate|ModDate)", data) == []


# -- the same every time


def test_pictures_are_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    """The sheets as they are, made into pictures by a second process with another hash seed."""
    (tmp_path / "sheets.py").write_text(f"SHEETS = {[(one.name, one.width, one.svg) for one in small_case().sheets]!r}")
    program = (
        "import hashlib, sheets; from harnessdiff.draw.export import exported; "
        "from harnessdiff.draw.sheets import Sheet; "
        "made = [Sheet(name=n, title='', width=w, svg=s, dot='', findings=()) for n, w, s in sheets.SHEETS]; "
        "[print(name, hashlib.sha256(data).hexdigest()) for name, data in exported(made, ('png', 'pdf')).items()]"
    )
    finished = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(tmp_path)!r}); {program}"],
        env={"PYTHONHASHSEED": "4711", "PATH": "/usr/bin:/bin"},
        capture_output=True,
        text=True,
        check=True,
    )
    expected = {name: data for name, data in small_files().items() if name.endswith((".png", ".pdf"))}

    assert dict(line.split() for line in finished.stdout.splitlines()) == {
        name: sha256(data).hexdigest() for name, data in expected.items()
    }
