"""``make-dead``: the steps that make an added lead or device dead."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.options import emit_json, json_option, reference_argument, say, survey_argument


@click.command("make-dead", short_help="Say in which order steps make an added lead or device dead.")
@reference_argument
@survey_argument
@click.argument("things", metavar="[THING]...", nargs=-1)
@json_option
def make_dead(reference: str, survey: Path, things: tuple[str, ...], as_json: bool) -> None:
    """Say in which order steps make an added lead or device dead, and what stays live.

    Each step is checked by solving the network as found with it done, in every condition. Nothing is
    proposed on restraint or high-voltage wiring, or beyond the survey's scope. Without THING: every
    lead and device that was added. The maker's procedure comes first, and dead is what a meter says.

    \b
    Example:
      harnessdiff make-dead light_van survey.json L13 D6
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.cli.solving import read_both  # noqa: PLC0415 - heavy
    from harnessdiff.isolation_words import isolation_lines  # noqa: PLC0415 - heavy
    from harnessdiff.report.dead_steps import dead_steps  # noqa: PLC0415 - heavy
    from harnessdiff.report.findings_json import isolation_document  # noqa: PLC0415 - heavy
    from harnessdiff.report.solved import no_network, solved  # noqa: PLC0415 - heavy

    should_be, known, as_found, record = read_both(reference, survey)
    assert as_found is not None
    assert record is not None
    nothing = no_network(should_be, as_found, known)
    if nothing is not None:
        say(nothing) if not as_json else emit_json([])
        return
    both = solved(should_be, known, (), as_found, record)
    found = dead_steps(both, as_found, record, things)
    if as_json:
        emit_json([isolation_document(one) for one in found])
        return
    for one in found:
        say(both.describer.name(one.target))
        for line in isolation_lines(one, both.describer):
            say(f"  {line}")
