"""Sheets as files: SVG and DOT as they are, PNG and PDF through typst, which needs no program of the system."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from harnessdiff.draw.sheets import Sheet
from harnessdiff.draw.text import font_folder

PIXELS_PER_INCH = 192.0
PAGE = "#set page(width: auto, height: auto, margin: 0pt)\n#set document(date: none)\n"
POINTS_PER_PIXEL = 0.75


def exported(sheets: Sequence[Sheet], formats: Sequence[str]) -> dict[str, bytes]:
    """Files of the sheets.

    Parameters
    ----------
    sheets : sequence of Sheet
    formats : sequence of str
        Of ``svg``, ``dot``, ``png`` and ``pdf``; a PDF holds all sheets.

    Returns
    -------
    dict
        File name to bytes; the same bytes for the same sheets.
    """
    files: dict[str, bytes] = {}
    for sheet in sheets:
        if "svg" in formats:
            files[f"{sheet.name}.svg"] = sheet.svg.encode()
        if "dot" in formats and sheet.dot:
            files[f"{sheet.name}.dot"] = sheet.dot.encode()
    if "png" in formats and sheets:
        for sheet, page in zip(sheets, _compiled(sheets, "png"), strict=True):
            files[f"{sheet.name}.png"] = page
    if "pdf" in formats and sheets:
        (files["sheets.pdf"],) = _compiled(sheets, "pdf")
    return files


def _compiled(sheets: Sequence[Sheet], format_: Literal["png", "pdf"]) -> list[bytes]:
    """Pages of all sheets in one format: one file each for PNG, one in all for PDF."""
    import typst  # noqa: PLC0415 - heavy, needed only for these formats

    with tempfile.TemporaryDirectory(prefix="harnessdiff-") as name:
        folder = Path(name)
        pages = []
        for number, sheet in enumerate(sheets):
            (folder / f"{number}.svg").write_text(sheet.svg, encoding="utf-8")
            pages.append(f'#image("{number}.svg", width: {sheet.width * POINTS_PER_PIXEL}pt)')
        main = folder / "main.typ"
        main.write_text(PAGE + "\n#pagebreak()\n".join(pages), encoding="utf-8")
        made: bytes | list[bytes] = typst.compile(
            str(main),
            format=format_,
            ppi=PIXELS_PER_INCH,
            font_paths=[str(font_folder())],
            ignore_system_fonts=True,
        )
    return made if isinstance(made, list) else [made]
