"""``new-reference``: a fragment from a few wires."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Any

import click

from harnessdiff.cli.options import load_reference_document, say

TEMPLATE = """\
# One row a wire. from and to: DEVICE:TERMINAL; F3:in from the battery and F3:out to the load; GND1 a ground point;
# SP1 a splice; X1:2a and X1:2b pin 2 of a connector, one side and the other; OPEN:words where the diagram goes on.
# Zones in the order of the wire. What you do not know stays empty. Lines that begin with # are passed over.
wire,from,to,colour,size_mm2,length_m,circuit,zones
W1,BAT1:+,F3:in,RD,2.5,0.6,battery main,engine bay
W2,F3:out,H1:+,BK/YE,1.0,1.4,horn,engine bay; front end
W3,H1:-,S1:1,BK/GY,1.0,1.8,horn,front end; engine bay; column
W4,S1:2,GND1,BN,1.0,0.5,ground,column; dash
W5,BAT1:-,GND2,BN,16,0.5,ground,engine bay
"""


@click.command("new-reference", short_help="Start a reference from a table of wires.")
@click.argument("wires", metavar="[WIRES]", required=False, type=click.Path(path_type=Path))
@click.option("-o", "--output", metavar="FILE", type=click.Path(path_type=Path), help="Write the reference here.")
@click.option(
    "--answers", metavar="FILE", type=click.Path(path_type=Path), help="Questions of an earlier run, answered."
)
@click.option("--onto", metavar="REFERENCE", help="Add the wires to this reference, such as skeleton.")
@click.option("--title", help="Title of the reference.")
@click.option("--template", is_flag=True, help="Print a table to begin with.")
@click.option("--replace", is_flag=True, help="Write over a reference that is there already.")
def new_reference(
    wires: Path | None,
    output: Path | None,
    answers: Path | None,
    onto: str | None,
    title: str | None,
    template: bool,
    replace: bool,
) -> None:
    """Start a reference from a few wires typed as a table, or from the skeleton.

    WIRES is a table saved as CSV: from and to as DEVICE:TERMINAL, a splice (SP1), a ground point
    (GND1), or OPEN:words where the wire leaves what you know; colour, size, length, circuit, zones.
    Beside the reference stands a table of the questions that make it computable. Fill in what you
    know, and run the command again with --answers.

    \b
    Example:
      harnessdiff new-reference wires.csv -o horn.json
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.errors import InputError, OutputError, Problem  # noqa: PLC0415 - heavy
    from harnessdiff.pipeline import reference_of_tables  # noqa: PLC0415 - heavy
    from harnessdiff.read.table.fragment import read_wires  # noqa: PLC0415 - heavy
    from harnessdiff.read.table.questions import read_answers  # noqa: PLC0415 - heavy
    from harnessdiff.report.files import write_folder  # noqa: PLC0415 - heavy
    from harnessdiff.report.json_rows import rows_text  # noqa: PLC0415 - heavy
    from harnessdiff.report.question_table import question_table  # noqa: PLC0415 - heavy

    if template:
        click.echo(TEMPLATE, nl=False)
        return
    if wires is None and onto is None:
        message = "name a table of wires, or --onto skeleton; --template prints one to begin with"
        raise InputError((Problem(source="WIRES", message=message),))
    if output is None or not output.name:
        raise InputError((Problem(source="--output", message="say where the reference goes, such as -o my_van.json"),))
    questions_path = output.with_name(f"{output.stem}_questions.csv")
    for given in (wires, answers, Path(onto) if onto else None):
        if given is not None and (_same(given, output) or (given is not answers and _same(given, questions_path))):
            raise OutputError(f"{given} would be written over; name another file under -o")
    if output.exists() and not replace:
        raise OutputError(f"{output} is there already; name another file, or say --replace")
    if questions_path.exists() and (answers is None or not _same(answers, questions_path)):
        raise OutputError(
            f"{questions_path} is there already, and may hold answers: give it as --answers, or move it away"
        )
    document, questions = reference_of_tables(
        read_wires(wires) if wires else (),
        read_answers(answers) if answers else {},
        own_id=output.stem,
        title=title or output.stem.replace("_", " "),
        base=_base(onto) if onto else None,
    )
    files = {
        output.name: f"{rows_text(document)}\n".encode(),
        questions_path.name: question_table(questions).encode("utf-8-sig"),
    }
    for path in write_folder(output.parent, files):
        say(f"written: {path}")
    assumed = sum(one.assumed for one in questions)
    if assumed:
        say(f"{assumed} of {len(questions)} answers are assumed and stand in {questions_path}; mend what is wrong.")
    open_ = sum(not one.answer for one in questions)
    if open_:
        say(f"{open_} of {len(questions)} questions are open. Fill in the column answer of {questions_path}")
        say("(unknown where nobody knows), save it as CSV, then:")
        words = ["harnessdiff", "new-reference", *([str(wires)] if wires else []), *(["--onto", onto] if onto else [])]
        words += ["--title", title] if title else []
        words += ["--answers", str(questions_path), "-o", str(output), "--replace"]
        say(f"  {shlex.join(words)}")
    say(f"  {shlex.join(['harnessdiff', 'lint', str(output)])}")


def _base(name: str) -> dict[str, Any]:
    """The document to add wires to, once it is known to be a sound reference."""
    from harnessdiff.read.reference import reference_of  # noqa: PLC0415 - heavy

    document = load_reference_document(name)
    reference_of(document)
    data: dict[str, Any] = document.data
    return data


def _same(one: Path, other: Path) -> bool:
    """Whether two names are of one file, there already or not."""
    return one.resolve() == other.resolve()
