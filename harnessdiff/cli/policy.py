"""``policy``: what a rating goes by."""

from __future__ import annotations

from pathlib import Path

import click

from harnessdiff.cli.check import tell
from harnessdiff.cli.options import emit_json, json_option, load_policy, say, strict_option


@click.group(short_help="Show or check what findings are rated by.")
def policy() -> None:
    """Show or check what findings are rated by.

    A policy holds weights, cut points, severities, floors, caps and actions, each with its reason and
    source. A file of your own holds only the lines in which it differs from a shipped one.

    \b
    Example:
      harnessdiff policy show harbour_mutual --changed
    """  # noqa: D301 - click needs a real \b


@policy.command(short_help="Print a policy line by line.")
@click.argument("name", metavar="[POLICY]", required=False)
@click.option("--changed", is_flag=True, help="Only what differs from the policy it is based on.")
@json_option
def show(name: str | None, changed: bool, as_json: bool) -> None:
    """Print a policy line by line: what each thing weighs, why, and where that comes from.

    POLICY is a file, or the name of a shipped one; the default one where it is left out. Lines that
    differ from the policy it is based on are marked. What --json prints is a policy, too.

    \b
    Example:
      harnessdiff policy show harbour_mutual --changed
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.model.policy_lines import differences  # noqa: PLC0415 - heavy
    from harnessdiff.read.policy import shipped_policy  # noqa: PLC0415 - heavy
    from harnessdiff.report.json_rows import rows_text  # noqa: PLC0415 - heavy
    from harnessdiff.report.policy_text import (  # noqa: PLC0415 - heavy
        changed_data,
        changed_text,
        policy_document,
        policy_text,
    )

    shown = load_policy(name)
    differs = tuple(differences(shown, shipped_policy(shown.based_on))) if shown.based_on is not None else ()
    if as_json and changed:
        emit_json(changed_data(shown, differs))
    elif as_json:
        click.echo(rows_text(policy_document(shown)))
    else:
        say((changed_text if changed else policy_text)(shown, differs).rstrip("\n"))


@policy.command(short_help="Say whether a policy is sound, and what to mend.")
@click.argument("files", metavar="FILE...", nargs=-1, required=True, type=click.Path(path_type=Path))
@strict_option
@json_option
def check(files: tuple[Path, ...], strict: bool, as_json: bool) -> None:
    """Say whether policies are sound, and what to mend.

    Every problem is printed with file, line, column and place in the document. What is sound and yet
    may not be meant is a warning, with --strict a problem: a make of joint is forbidden and a worse
    one is not.

    \b
    Example:
      harnessdiff policy check own.json
    """  # noqa: D301 - click needs a real \b
    from harnessdiff.read.check import check_policy  # noqa: PLC0415 - heavy

    tell(files, check_policy, strict=strict, as_json=as_json)
