"""``path``: the way of the current to a place and back, or between two."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from harnessdiff.cli.options import emit_json, json_option, reference_argument, say

if TYPE_CHECKING:
    from harnessdiff.model.harness import Harness

MOST_WORDS = 3


@click.command(short_help="Follow the current to a place and back, with volts and amperes.")
@reference_argument
@click.argument("words", metavar="[SURVEY] FROM [TO]", nargs=-1, required=True)
@click.option("--condition", metavar="ID", help="Condition of the vehicle; else the first in which FROM is live.")
@json_option
def path(reference: str, words: tuple[str, ...], condition: str | None, as_json: bool) -> None:
    """Follow the current to a place and back, with volts and amperes.

    FROM and TO are terminals (E14:58), devices, wires, joints or leads. With FROM alone: from the
    source to it, and back. With TO: between the two. Where the way is broken, it says by what. With
    SURVEY, a file: as found, with the figures of the reference beside.

    \b
    Example:
      harnessdiff path light_van E9 --condition driving_night
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.cli.solving import read_both  # noqa: PLC0415 - heavy
    from harnessdiff.report.current_path import path_of  # noqa: PLC0415 - heavy
    from harnessdiff.report.path_rows import path_rows, path_text  # noqa: PLC0415 - heavy
    from harnessdiff.report.solved import no_network, solved  # noqa: PLC0415 - heavy

    survey, start, goal = told_apart(words)
    should_be, known, as_found, record = read_both(reference, survey)
    if survey is not None and words[0] != "-":
        refuse_two_meanings(words[0], should_be.harness, words[1:])
    nothing = no_network(should_be, as_found, known)
    if nothing is not None:
        if as_json:
            emit_json({"reference": should_be.id, "from": start, "to": goal, "sections": [], "why": nothing})
        else:
            say(nothing)
        return
    both = solved(should_be, known, () if condition is None else (condition,), as_found, record)
    found = path_of(both, start, goal)
    if as_json:
        emit_json(path_rows(both, found, start, goal))
    else:
        say(path_text(both, found, start, goal))


def told_apart(words: tuple[str, ...]) -> tuple[Path | None, str, str | None]:
    """SURVEY, FROM and TO: what is a file, or ``-``, is the survey.

    Raises
    ------
    UsageError
        If the words cannot be told apart.
    """
    if len(words) > MOST_WORDS:
        raise click.UsageError(f"one word too many: {words[-1]}")
    first = words[0]
    is_survey = first == "-" or Path(first).is_file()
    looks_like_one = len(words) == MOST_WORDS or Path(first).suffix == ".json" or "/" in first
    if not is_survey and looks_like_one:
        raise click.UsageError(f"{first}: there is no such file, where SURVEY is wanted")
    places = words[1:] if is_survey else words
    if not places:
        raise click.UsageError(f"FROM is missing: {first} is a file, and so the survey")
    return Path(first) if is_survey else None, places[0], places[1] if len(places) > 1 else None


def refuse_two_meanings(word: str, harness: Harness, places: tuple[str, ...]) -> None:
    """Refuse a word that is a file and an element, too, where both readings make sense."""
    if len(places) == 1 and word in harness.by_id:
        raise click.UsageError(f"{word} is a file here, and an element of the reference: write ./{word} for the file")
