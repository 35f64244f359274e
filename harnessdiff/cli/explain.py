"""``explain``: why findings have their levels."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.options import say

FINDINGS = "findings.json"


@click.command(short_help="Say why findings have their levels, number by number.")
@click.argument("findings", metavar="FINDINGS", type=click.Path(path_type=Path))
@click.argument("words", metavar="[FINDING]...", nargs=-1)
def explain(findings: Path, words: tuple[str, ...]) -> None:
    """Say why findings have their levels, number by number.

    FINDINGS is a findings.json, or the folder that holds one; FINDING a number or an id. Without
    FINDING: all of them, briefly. Everything is told from the document alone: what contributes, the
    sum, the cut point, the cell, caps and floors, and what is open.

    \b
    Example:
      harnessdiff explain out 1
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.read.findings import findings_of  # noqa: PLC0415 - heavy
    from harnessdiff.read.json_text import load_document  # noqa: PLC0415 - heavy
    from harnessdiff.report.explaining import explained  # noqa: PLC0415 - heavy

    path = findings / FINDINGS if findings.is_dir() else findings
    document = findings_of(load_document(path))
    say(explained(document, words, str(path)).rstrip("\n"))
