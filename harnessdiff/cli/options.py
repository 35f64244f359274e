"""Arguments and options that several commands share."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from harnessdiff.errors import Problem
    from harnessdiff.model.policy import Policy
    from harnessdiff.model.reference import Reference
    from harnessdiff.read.json_text import Document

reference_argument = click.argument("reference", metavar="REFERENCE")
survey_argument = click.argument("survey", metavar="SURVEY", type=click.Path(path_type=Path))
json_option = click.option("--json", "as_json", is_flag=True, help="Print for machines.")
as_of_option = click.option("--as-of", metavar="VISIT", help="Count the survey up to this visit only.")
limit_table_option = click.option(
    "--limit-table", metavar="TABLE", help="Hold conductors against this table; the prudent vehicle table else."
)
policy_option = click.option(
    "--policy", metavar="POLICY", help="Rate by this policy: a file, or the name of a shipped one; the default else."
)
strict_option = click.option("--strict", is_flag=True, help="Refuse what is else a warning.")


def limit_table_of(name: str | None) -> str:
    """The table of limits of a name, in whatever case it was typed."""
    from harnessdiff.errors import InputError, Problem  # noqa: PLC0415 - only where needed
    from harnessdiff.read.schema import did_you_mean  # noqa: PLC0415 - heavy
    from harnessdiff.tables.physics import limit_tables  # noqa: PLC0415 - only where needed

    tables = limit_tables()
    if name is None:
        return tables[0]
    found = next((table for table in tables if table.casefold() == name.casefold()), None)
    if found is None:
        hint = did_you_mean(name, tables) or f"; there are: {', '.join(tables)}"
        raise InputError((Problem(source="--limit-table", message=f"there is no table {name}{hint}"),))
    return found


def load_reference(name: str) -> Reference:
    """The reference in a file, or the shipped one of that name."""
    from harnessdiff.read.reference import reference_of  # noqa: PLC0415 - heavy

    return reference_of(load_reference_document(name))


def load_reference_document(name: str) -> Document:
    """The document of a reference in a file, or of the shipped one of that name."""
    from harnessdiff.errors import InputError, Problem  # noqa: PLC0415 - heavy
    from harnessdiff.read.json_text import STANDARD_INPUT, load_document  # noqa: PLC0415 - heavy
    from harnessdiff.read.schema import did_you_mean  # noqa: PLC0415 - heavy
    from harnessdiff.resources import shipped_references  # noqa: PLC0415 - only where needed

    if Path(name).is_file() or name == STANDARD_INPUT:
        return load_document(Path(name))
    shipped = shipped_references()
    if name in shipped:
        return replace(load_document(shipped[name]), source=name)
    if Path(name).exists() or Path(name).suffix:
        return load_document(Path(name))
    hint = did_you_mean(name, shipped) or f"; shipped are: {', '.join(shipped)}"
    message = f"there is no such file, and no shipped reference of that name{hint}"
    raise InputError((Problem(source=name, message=message),))


def load_policy(name: str | None) -> Policy:
    """The policy in a file, or the shipped one of that name; the default where none is named."""
    from harnessdiff.errors import InputError, Problem  # noqa: PLC0415 - only where needed
    from harnessdiff.read.json_text import STANDARD_INPUT  # noqa: PLC0415 - heavy
    from harnessdiff.read.policy import default_policy, read_policy  # noqa: PLC0415 - heavy
    from harnessdiff.read.schema import did_you_mean  # noqa: PLC0415 - heavy
    from harnessdiff.resources import shipped_policies  # noqa: PLC0415 - only where needed

    if name is None:
        return default_policy()
    if Path(name).is_file() or name == STANDARD_INPUT:
        return read_policy(Path(name))
    shipped = shipped_policies()
    if name in shipped:
        return read_policy(shipped[name])
    if Path(name).exists() or Path(name).suffix:
        return read_policy(Path(name))
    hint = did_you_mean(name, shipped) or f"; shipped are: {', '.join(shipped)}"
    message = f"there is no such file, and no shipped policy of that name{hint}"
    raise InputError((Problem(source=name, message=message),))


def warn(warnings: tuple[Problem, ...], *, strict: bool) -> None:
    """Print what was doubtful on reading; refuse it where `strict`."""
    from harnessdiff.errors import InputError  # noqa: PLC0415 - only where needed

    if strict and warnings:
        raise InputError(warnings)
    for warning in warnings:
        say(f"warning: {warning}", err=True)


def write_sheets(folder: Path, files: dict[str, bytes], formats: tuple[str, ...]) -> tuple[Path, ...]:
    """Write sheets and take away those that an earlier run wrote; returns what was written.

    Who carries the folder to the vehicle must not find joints on it that the list no longer has.
    """
    from harnessdiff.report.files import clear_away, write_folder  # noqa: PLC0415 - heavy

    written = write_folder(folder, files)
    for format_ in formats:
        removed, left = clear_away(folder, f"sheet-[0-9][0-9]*.{format_}", frozenset(written))
        for path in removed:
            say(f"removed, of an earlier run: {path}", err=True)
        for path in left:
            say(f"left alone, but not of this run: {path}", err=True)
    return written


def say(text: str, *, err: bool = False) -> None:
    """Print lines for a person; what would steer the terminal is left out."""
    from harnessdiff.plain import plain  # noqa: PLC0415 - only where something is printed

    click.echo("\n".join(plain(line) for line in text.split("\n")), err=err)


def problem_row(problem: Problem) -> dict[str, object]:
    """A problem for machines."""
    return {"line": problem.line, "column": problem.column, "pointer": problem.pointer, "message": problem.message}


def emit_json(value: Any) -> None:
    """Print data as JSON."""
    import json  # noqa: PLC0415 - only here

    click.echo(json.dumps(value, ensure_ascii=False, indent=2))
