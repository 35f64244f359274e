"""``new-survey``: a record to fill in."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.options import load_reference, reference_argument, say


@click.command("new-survey", short_help="Start a survey for a reference.")
@reference_argument
@click.option(
    "-o", "--output", metavar="FILE", type=click.Path(path_type=Path), help="Write it here; not over an old file."
)
@click.option("--date", "when", metavar="DATE", help="Date of the visit, ISO 8601; today where left out.")
@click.option("--who", metavar="NAME", help="Who looks.")
def new_survey(reference: str, output: Path | None, when: str | None, who: str | None) -> None:
    """Start a survey for a reference: its zones, its options, and room for what you see.

    Every zone stands under not_opened; move it to looked_at once you have opened it, for only
    there does "not recorded" mean "as the reference". A line under observations needs no more
    than kind, place and a note; everything else may be added as it becomes known:

    \b
      {"kind": "tap", "zone": "Z_REAR_L", "note": "tap behind the lamp"}

    \b
    Example:
      harnessdiff new-survey light_van -o survey.json
    """  # noqa: D301 - click needs a real \b
    import datetime as dt  # noqa: PLC0415 - only here

    from harnessdiff.errors import InputError, OutputError, Problem  # noqa: PLC0415 - heavy
    from harnessdiff.read.sense import is_date  # noqa: PLC0415 - heavy
    from harnessdiff.report.blank_survey import blank_survey  # noqa: PLC0415 - heavy
    from harnessdiff.report.files import write_file  # noqa: PLC0415 - heavy

    day = when or dt.datetime.now().astimezone().date().isoformat()
    if not is_date(day):
        raise InputError((Problem(source="--date", message=f"{day} is no date; write it as 2026-03-14"),))
    text = blank_survey(load_reference(reference), when=day, who=who)
    if output is None or str(output) == "-":
        click.echo(text, nl=False)
        return
    if output.exists():
        raise OutputError(f"{output} is there already; name another file")
    say(f"written: {write_file(output, text.encode())}")
