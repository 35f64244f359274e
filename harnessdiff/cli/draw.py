"""``draw``: the sheets of a survey, in the format wanted."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.options import (
    as_of_option,
    emit_json,
    json_option,
    limit_table_of,
    limit_table_option,
    load_policy,
    load_reference,
    policy_option,
    reference_argument,
    say,
    strict_option,
    survey_argument,
    warn,
    write_sheets,
)


@click.command(short_help="Draw the findings as SVG, PNG, PDF or DOT.")
@reference_argument
@survey_argument
@click.option(
    "-o", "--output", metavar="FOLDER", type=click.Path(path_type=Path), required=True, help="Write the sheets here."
)
@click.option(
    "-f", "--format", "formats", multiple=True, type=click.Choice(["svg", "png", "pdf", "dot"]), default=("svg",),
    show_default=True, help="Format; may be given several times. pdf is one file with all sheets.",
)  # fmt: skip
@click.option(
    "--sheet", "wanted", multiple=True, metavar="NAME", help="Only this sheet, such as sheet-01-overview or sheet-02."
)
@as_of_option
@policy_option
@limit_table_option
@strict_option
@json_option
def draw(
    reference: str,
    survey: Path,
    output: Path,
    formats: tuple[str, ...],
    wanted: tuple[str, ...],
    as_of: str | None,
    policy: str | None,
    limit_table: str | None,
    strict: bool,
    as_json: bool,
) -> None:
    """Draw the findings: an overview by zones, and a sheet for every install.

    Factory wires are drawn thin in their own colours, added leads heavy; each joint carries a
    flag with the number of its finding and its risk level in words.

    \b
    Example:
      harnessdiff draw light_van survey.json -o sheets -f svg -f pdf
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.errors import InputError, Problem  # noqa: PLC0415 - heavy
    from harnessdiff.pipeline import assess, drawn  # noqa: PLC0415 - heavy
    from harnessdiff.read.survey import read_survey  # noqa: PLC0415 - heavy

    should_be = load_reference(reference)
    record = read_survey(survey, should_be)
    warn((*should_be.warnings, *record.warnings), strict=strict)
    case = assess(
        should_be,
        record,
        as_of=as_of,
        limit_table=limit_table_of(limit_table),
        policy=load_policy(policy),
    )
    names = [sheet.name for sheet in case.sheets]
    unknown = [name for name in wanted if name not in names]
    if unknown:
        message = f"there is no sheet {unknown[0]}; there are: {', '.join(names)}"
        raise InputError((Problem(source="--sheet", message=message),))
    files = drawn(case, formats, wanted)
    if not files:
        message = "an overview is laid out by harnessdiff itself and has no DOT; ask for svg, png or pdf"
        raise InputError((Problem(source="--format", message=message),))
    written = write_sheets(output, files, formats if not wanted else ())
    if as_json:
        sheets = [
            {"name": sheet.name, "title": sheet.title, "findings": sheet.findings}
            for sheet in case.sheets
            if not wanted or sheet.name in wanted
        ]
        emit_json({"sheets": sheets, "files": [str(path) for path in written]})
        return
    for path in written:
        say(f"written: {path}")
