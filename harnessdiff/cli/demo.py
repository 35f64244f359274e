"""``demo``: the main job on the shipped example."""

from __future__ import annotations

from pathlib import Path

import click

DEFAULT = "light_van_inspector"


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
@click.option("--case", "name", metavar="NAME", default=DEFAULT, show_default=True, help="Which example.")
@click.option("--list", "listed", is_flag=True, help="List the examples instead.")
def demo(output: Path, formats: tuple[str, ...], name: str, listed: bool) -> None:
    """Compare a shipped survey with its reference and write everything.

    The first example is an invented van, fitted out by past owners: tow lighting, a second battery
    with an inverter, a camera, a beeper, the remains of a radio.

    \b
    Example:
      harnessdiff demo -o demo-out
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.cli.options import load_reference, say, warn, write_sheets  # noqa: PLC0415 - heavy
    from harnessdiff.errors import InputError, Problem  # noqa: PLC0415 - heavy
    from harnessdiff.pipeline import assess, documents, drawn, listing_of  # noqa: PLC0415 - heavy
    from harnessdiff.read.json_text import load_document  # noqa: PLC0415 - heavy
    from harnessdiff.read.schema import did_you_mean  # noqa: PLC0415 - heavy
    from harnessdiff.read.survey import survey_of  # noqa: PLC0415 - heavy
    from harnessdiff.report.files import write_folder  # noqa: PLC0415 - heavy
    from harnessdiff.resources import shipped_cases  # noqa: PLC0415 - heavy

    cases = shipped_cases()
    if listed:
        for one, path in cases.items():
            say(f"{one:<28} {load_document(path).data['title']}")
        return
    if name not in cases:
        message = f"there is no example {name}{did_you_mean(name, cases)}; --list lists them"
        raise InputError((Problem(source="--case", message=message),))
    document = load_document(cases[name])
    reference = load_reference(document.data["reference"]["id"])
    survey = survey_of(document, reference)
    warn(survey.warnings, strict=False)
    case = assess(reference, survey)
    say(listing_of(case).rstrip("\n"))
    say("")
    for path in write_folder(output, documents(case)):
        say(f"written: {path}")
    for path in write_sheets(output, drawn(case, formats, ()), formats):
        say(f"written: {path}")
