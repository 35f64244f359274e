"""``next-looks``: the looks and measurements that would narrow the levels, the best first."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.options import (
    emit_json,
    json_option,
    load_policy,
    load_reference,
    policy_option,
    reference_argument,
    say,
    survey_argument,
    warn,
)


@click.command("next-looks", short_help="Say what to look at or measure next, the best first.")
@reference_argument
@survey_argument
@policy_option
@json_option
def next_looks(reference: str, survey: Path, policy: str | None, as_json: bool) -> None:
    """Say what to look at or measure next, the best first.

    Looks are ranked by how many steps of the level they narrow whatever comes out, a minute of
    access and work. What would touch restraint or high-voltage wiring, open what the survey's scope
    forbids, or lose fault codes that were not saved is listed apart, with the reason. The maker's
    procedure comes first. A grade is not a cause.

    \b
    Example:
      harnessdiff next-looks light_van survey.json
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.pipeline import assess, next_looks_of  # noqa: PLC0415 - heavy
    from harnessdiff.read.survey import read_survey  # noqa: PLC0415 - heavy
    from harnessdiff.report.findings_json import next_looks_document  # noqa: PLC0415 - heavy

    should_be = load_reference(reference)
    record = read_survey(survey, should_be)
    warn((*should_be.warnings, *record.warnings), strict=False)
    case = assess(should_be, record, policy=load_policy(policy))
    if as_json:
        emit_json(next_looks_document(case.findings.next_looks))
        return
    say(next_looks_of(case))
