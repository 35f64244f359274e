"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

reference_argument = click.argument("reference", metavar="REFERENCE")
survey_argument = click.argument("survey", metavar="SURVEY", type=click.Path(path_type=Path))
json_option = click.option("--json", "as_json", is_flag=True, help="Print for machines.")
as_of_option = click.option("--as-of", metavar="VISIT", help="Count the survey up to this visit only.")
SHIPPED = {"light_van": "light_van/light_van.json"}


def load_reference(name: str) -> Reference:
    """The reference in a file, or the shipped one of that name."""
    from harnessdiff.read.json_text import parse_document  # noqa: PLC0415 - heavy
    from harnessdiff.read.reference import read_reference, reference_of  # noqa: PLC0415 - heavy
    from harnessdiff.resources import shipped_bytes  # noqa: PLC0415 - heavy

    if name in SHIPPED and not Path(name).exists():
        return reference_of(parse_document(shipped_bytes("reference_harnesses", SHIPPED[name]), name))
    return read_reference(Path(name))


def write_sheets(folder: Path, files: dict[str, bytes], formats: tuple[str, ...]) -> tuple[Path, ...]:
    """Write sheets and take away those of an earlier run in the same formats; returns what was written.

    Who carries the folder to the vehicle must not find joints on it that the list no longer has.
    """
    from harnessdiff.report.files import clear_away, write_folder  # noqa: PLC0415 - heavy

    written = write_folder(folder, files)
    for format_ in formats:
        for path in clear_away(folder, f"sheet-[0-9][0-9]*.{format_}", frozenset(written)):
            say(f"removed, of an earlier run: {path}", err=True)
    return written


def say(text: str, *, err: bool = False) -> None:
    """Print lines for a person; what would steer the terminal is left out."""
    from harnessdiff.plain import plain  # noqa: PLC0415 - only where something is printed

    click.echo("\n".join(plain(line) for line in text.split("\n")), err=err)


def emit_json(value: Any) -> None:
    """Print data as JSON."""
    import json  # noqa: PLC0415 - only here

    click.echo(json.dumps(value, ensure_ascii=False, indent=2))
