"""``lint``: what a professional objects to in a reference."""

from __future__ import annotations

import click

from harnessdiff.cli.options import emit_json, json_option, load_reference_document, reference_argument, say


@click.command(short_help="Say what a professional objects to in a reference.")
@reference_argument
@click.option("--all", "everything", is_flag=True, help="List everything, what is waived too.")
@json_option
def lint(reference: str, everything: bool, as_json: bool) -> None:
    """Say what a professional objects to in a reference, and what is missing to compute with it.

    Errors are what cannot be: a load without feed, a wire that its fuse does not cover. Notes are
    ordinary factory practice that is worth a look; gaps are what is missing before protection,
    drop or behaviour can be computed. What the maker built so is waived under as_built, with the
    reason. Exit code 1 where errors are left.

    \b
    Example:
      harnessdiff lint light_van
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.pipeline import lint as objections_to  # noqa: PLC0415 - heavy
    from harnessdiff.read.places import places_of  # noqa: PLC0415 - heavy
    from harnessdiff.read.reference import reference_of  # noqa: PLC0415 - heavy
    from harnessdiff.report.objections import objection_list, objection_rows, open_errors  # noqa: PLC0415 - heavy

    document = load_reference_document(reference)
    should_be = reference_of(document)
    objections = objections_to(should_be)
    places = places_of(document, {one.element for one in objections})
    if as_json:
        emit_json(objection_rows(objections, places))
    else:
        say(objection_list(should_be, objections, places, everything=everything))
    raise click.exceptions.Exit(1 if open_errors(objections) else 0)
