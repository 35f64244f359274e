"""``conditions``: what every load does in every condition."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.options import emit_json, json_option, reference_argument, say


@click.command(short_help="Say what every load and relay does in every condition.")
@reference_argument
@click.argument("survey", metavar="[SURVEY]", required=False, type=click.Path(path_type=Path))
@click.option("--condition", "wanted", metavar="ID", multiple=True, help="Only this condition; may be said again.")
@click.option("--all", "everything", is_flag=True, help="With SURVEY: also what does not differ.")
@json_option
def conditions(reference: str, survey: Path | None, wanted: tuple[str, ...], everything: bool, as_json: bool) -> None:
    """Say what every load and relay does in every condition.

    A row for each load, relay and source, a column for each condition. With SURVEY: what does something
    else than on the reference, with both. What must stay dead and is live stands on top.

    \b
    Example:
      harnessdiff conditions light_van survey.json --condition ignition
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.cli.solving import read_both  # noqa: PLC0415 - heavy
    from harnessdiff.report.condition_rows import rows_of  # noqa: PLC0415 - heavy
    from harnessdiff.report.condition_table import table_rows, table_text  # noqa: PLC0415 - heavy
    from harnessdiff.report.solved import no_network, solved  # noqa: PLC0415 - heavy

    should_be, known, as_found, record = read_both(reference, survey)
    nothing = no_network(should_be, as_found, known)
    if nothing is not None:
        if as_json:
            emit_json({"reference": should_be.id, "conditions": [], "must_stay_dead": [], "rows": [], "why": nothing})
        else:
            say(nothing)
        return
    both = solved(should_be, known, wanted, as_found, record)
    rows = rows_of(both)
    if as_found is not None and not everything:
        rows = tuple(row for row in rows if row.differs or row.sort in ("current", "volts"))
    if as_json:
        emit_json(table_rows(both, rows))
    else:
        say(table_text(both, rows, everything=everything))
