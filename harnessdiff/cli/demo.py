"""``demo``: the main job on the shipped example."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(short_help="Do the whole job on the shipped example.")
@click.option(
    "-o", "--output", metavar="FOLDER", type=click.Path(path_type=Path), default=Path("harnessdiff-demo"),
    show_default=True, help="Write the results here.",
)  # fmt: skip
@click.option(
    "-f",
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(["svg", "png", "pdf", "dot"]),
    default=("svg",),
    show_default=True,
    help="Format of the drawing; may be given several times.",
)
def demo(output: Path, formats: tuple[str, ...]) -> None:
    """Compare the shipped demo survey with the light van and write everything.

    An invented van, fitted out by past owners: tow lighting, a second battery with an inverter, a
    camera, a beeper, the remains of a radio.

    \b
    Example:
      harnessdiff demo -o demo-out
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.cli.options import load_reference, say, write_sheets  # noqa: PLC0415 - heavy
    from harnessdiff.pipeline import assess, documents, drawn, listing_of  # noqa: PLC0415 - heavy
    from harnessdiff.read.json_text import parse_document  # noqa: PLC0415 - heavy
    from harnessdiff.read.survey import survey_of  # noqa: PLC0415 - heavy
    from harnessdiff.report.files import write_folder  # noqa: PLC0415 - heavy
    from harnessdiff.resources import shipped_bytes  # noqa: PLC0415 - heavy

    reference = load_reference("light_van")
    survey = survey_of(parse_document(shipped_bytes("demo", "survey.json"), "demo survey"), reference)
    case = assess(reference, survey)
    say(listing_of(case).rstrip("\n"))
    say("")
    for path in write_folder(output, documents(case)):
        say(f"written: {path}")
    for path in write_sheets(output, drawn(case, formats, ()), formats):
        say(f"written: {path}")
