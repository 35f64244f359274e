"""``compare``: findings and drawing of a survey."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

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

if TYPE_CHECKING:
    from harnessdiff.pipeline import Case

LEVELS = ("Low", "Medium", "Serious", "High")


@click.command(short_help="Say what was changed, how bad it is, and draw it.")
@reference_argument
@survey_argument
@click.option(
    "-o", "--output", metavar="FOLDER", type=click.Path(path_type=Path), help="Write findings and drawing here."
)
@click.option(
    "--fail-at",
    type=click.Choice(LEVELS, case_sensitive=False),
    help="Exit 1 only if a finding may be of this level or worse.",
)
@as_of_option
@policy_option
@limit_table_option
@strict_option
@json_option
def compare(
    reference: str,
    survey: Path,
    output: Path | None,
    fail_at: str | None,
    as_of: str | None,
    policy: str | None,
    limit_table: str | None,
    strict: bool,
    as_json: bool,
) -> None:
    """Say what was changed, how bad it is, and draw it.

    Prints the list of findings, worst first. With -o it also writes findings.json, findings.txt
    and one sheet (SVG) an install, and an overview. A grade is not a cause.

    \b
    Example:
      harnessdiff compare light_van survey.json -o out
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.pipeline import assess, documents, drawn, listing_of  # noqa: PLC0415 - heavy
    from harnessdiff.read.survey import read_survey  # noqa: PLC0415 - heavy
    from harnessdiff.report.files import write_folder  # noqa: PLC0415 - heavy
    from harnessdiff.report.findings_json import findings_document  # noqa: PLC0415 - heavy

    should_be = load_reference(reference)
    record = read_survey(survey, should_be)
    warn((*should_be.warnings, *record.warnings), strict=strict)
    case = assess(should_be, record, as_of=as_of, limit_table=limit_table_of(limit_table), policy=load_policy(policy))
    if as_json:
        emit_json(findings_document(case.findings))
    else:
        say(listing_of(case).rstrip("\n"))
    if output is not None:
        for path in write_folder(output, documents(case)):
            say(f"written: {path}", err=True)
        # Drawn after the findings are written: if the layout engine gives up, they stand.
        for path in write_sheets(output, drawn(case, ("svg",), ()), ("svg",)):
            say(f"written: {path}", err=True)
    raise click.exceptions.Exit(exit_code(case, fail_at))


def exit_code(case: Case, fail_at: str | None) -> int:
    """0 where nothing differs, 1 where something does; with a level, 1 only for that or worse."""
    from harnessdiff.model.rating import level_rank  # noqa: PLC0415 - heavy

    findings = case.findings.findings
    if fail_at is None:
        return int(bool(findings or case.findings.plain))
    return int(any(level_rank(finding.rating.worst) >= level_rank(fail_at) for finding in findings))
