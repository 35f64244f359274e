"""``fed-by``: what hangs on a fuse."""

from __future__ import annotations

import click

from harnessdiff.cli.options import emit_json, json_option, load_reference, reference_argument, say


@click.command("fed-by", short_help="List what hangs on a fuse, in the order the current reaches it.")
@reference_argument
@click.argument("fuse", metavar="[FUSE]", required=False)
@json_option
def fed_by(reference: str, fuse: str | None, as_json: bool) -> None:
    """List every load that hangs on a fuse, in the order the current reaches it.

    Without FUSE: all fuses, each with its rating and its loads. Loads behind a further fuse or
    breaker are listed, too; a switch or relay on the way is named.

    \b
    Example:
      harnessdiff fed-by light_van F12
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.report.fuse_list import hanging_on  # noqa: PLC0415 - heavy

    fuses = hanging_on(load_reference(reference), fuse)
    if as_json:
        emit_json(fuses)
        return
    for one in fuses:
        say(f"{one['fuse']}  {one['words']}")
        for place, load in enumerate(one["loads"], start=1):
            switched = f"  through {', '.join(load['switched_by'])}" if load["switched_by"] else ""
            say(f"  {place:>3}. {load['words']:<44} {load['length_m']:>5.1f} m of wire{switched}")
        if not one["loads"]:
            say("       no load known behind it")
