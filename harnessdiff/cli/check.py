"""``check``: whether documents can be used."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from harnessdiff.cli.options import emit_json, json_option, load_reference, problem_row, say, strict_option, warn

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from harnessdiff.model.reference import Reference
    from harnessdiff.read.check import Checked


@click.command(short_help="Say whether files can be used, and what to mend.")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--reference", metavar="REFERENCE", help="Hold surveys against this reference, too.")
@strict_option
@json_option
def check(files: tuple[Path, ...], reference: str | None, strict: bool, as_json: bool) -> None:
    """Say whether references, surveys, findings and policies can be used, and what to mend.

    Every problem is printed with file, line, column and place in the document. What a survey names
    must be in the reference: the one of --reference, or the shipped one that it says. Photographs
    are looked for beside the survey; one that is missing or no longer the same is a warning, with
    --strict a problem.

    \b
    Example:
      harnessdiff check survey.json --reference light_van
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.read.check import check_file  # noqa: PLC0415 - heavy
    from harnessdiff.resources import shipped_references  # noqa: PLC0415 - only where needed

    def shipped(name: str) -> Reference | None:
        return load_reference(name) if name in shipped_references() else None

    should_be = load_reference(reference) if reference is not None else None
    tell(files, lambda path: check_file(path, should_be, shipped), strict=strict, as_json=as_json)


def tell(files: Iterable[Path], look: Callable[[Path], Checked], *, strict: bool, as_json: bool) -> None:
    """Say of every file whether it is sound, and leave with trouble where one is not.

    Parameters
    ----------
    files : iterable of Path
    look : callable
        Holds a file against its schema and its own sense; raises what is wrong.
    strict : bool
        Whether a warning is a problem.
    as_json : bool
    """
    from harnessdiff.errors import InputError  # noqa: PLC0415 - heavy

    results: list[dict[str, object]] = []
    for path in files:
        try:
            found = look(path)
        except InputError as error:
            results.append({"file": str(path), "problems": list(map(problem_row, error.problems))})
            if not as_json:
                say(str(error), err=True)
            continue
        refused, told = (found.warnings, ()) if strict else ((), found.warnings)
        results.append(
            {
                "file": str(path), "format": found.format, "held_against": found.held_against,
                "problems": list(map(problem_row, refused)), "warnings": list(map(problem_row, told)),
            }
        )  # fmt: skip
        if not as_json and refused:
            say("\n".join(map(str, refused)), err=True)
        elif not as_json:
            say(f"{path}: {found.format}, sound{_held(found)}")
            warn(told, strict=False)
    if as_json:
        emit_json(results)
    if any(result["problems"] for result in results):
        raise click.exceptions.Exit(2)


def _held(found: Checked) -> str:
    if found.format != "survey":
        return ""
    if found.held_against is None:
        return " in itself; what it names was not looked for (--reference says where)"
    return f", held against {found.held_against}"
