"""``check``: whether documents can be used."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.options import emit_json, json_option, problem_row, say, strict_option, warn


@click.command(short_help="Say whether files can be used, and what to mend.")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--reference", metavar="REFERENCE", help="Hold surveys against this reference, too.")
@strict_option
@json_option
def check(files: tuple[Path, ...], reference: str | None, strict: bool, as_json: bool) -> None:
    """Say whether references, surveys and findings can be used, and what to mend.

    Every problem is printed with file, line, column and place in the document. With --reference,
    everything a survey names must be there, too. Photographs are looked for beside the survey; one
    that is missing or no longer the same is a warning, with --strict a problem.

    \b
    Example:
      harnessdiff check survey.json --reference light_van
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.errors import InputError  # noqa: PLC0415 - heavy
    from harnessdiff.read.check import check_file  # noqa: PLC0415 - heavy

    should_be = None
    if reference is not None:
        from harnessdiff.cli.options import load_reference  # noqa: PLC0415 - heavy

        should_be = load_reference(reference)
    results: list[dict[str, object]] = []
    for path in files:
        try:
            format_, warnings = check_file(path, should_be)
        except InputError as error:
            results.append({"file": str(path), "problems": list(map(problem_row, error.problems))})
            if not as_json:
                say(str(error), err=True)
            continue
        refused, told = (warnings, ()) if strict else ((), warnings)
        results.append(
            {
                "file": str(path), "format": format_,
                "problems": list(map(problem_row, refused)), "warnings": list(map(problem_row, told)),
            }
        )  # fmt: skip
        if not as_json and refused:
            say("\n".join(map(str, refused)), err=True)
        elif not as_json:
            say(f"{path}: {format_}, sound")
            warn(told, strict=False)
    if as_json:
        emit_json(results)
    if any(result["problems"] for result in results):
        raise click.exceptions.Exit(2)
