"""The command group, and the one place where an error becomes a message."""

from __future__ import annotations

import traceback
from typing import Any

import click

from harnessdiff.cli.check import check
from harnessdiff.cli.compare import compare
from harnessdiff.cli.conditions import conditions
from harnessdiff.cli.demo import demo
from harnessdiff.cli.draw import draw
from harnessdiff.cli.explain import explain
from harnessdiff.cli.fed_by import fed_by
from harnessdiff.cli.lint import lint
from harnessdiff.cli.make_dead import make_dead
from harnessdiff.cli.new_reference import new_reference
from harnessdiff.cli.new_survey import new_survey
from harnessdiff.cli.next_looks import next_looks
from harnessdiff.cli.options import say
from harnessdiff.cli.path import path
from harnessdiff.cli.policy import policy
from harnessdiff.errors import HarnessDiffError

TROUBLE = 2


class Group(click.Group):
    """A group whose commands fail with one clear message and exit code 2, never a traceback."""

    def invoke(self, ctx: click.Context) -> Any:  # noqa: RET503 - ctx.exit does not come back
        """Run a command; an error made on purpose is printed and ends the program."""
        try:
            return super().invoke(ctx)
        except HarnessDiffError as error:
            for line in str(error).split("\n"):
                say(f"error: {line}", err=True)
        except KeyboardInterrupt:
            say("error: stopped; every file is as it was before or whole", err=True)
        except (click.ClickException, click.exceptions.Exit, click.Abort, BrokenPipeError):
            raise
        except OSError as error:
            say(f"error: {error.filename or 'the output'}: {error.strerror or error}", err=True)
        except Exception:  # noqa: BLE001 - whatever it is, exit code 1 would say "something differs"
            traceback.print_exc()
            say("error: this is a fault of harnessdiff, not of your files; the lines above say where", err=True)
        ctx.exit(TROUBLE)


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="harnessdiff", prog_name="harnessdiff")
def main() -> None:
    """Find out what was changed in a vehicle's wiring, how bad it is, and where.

    A reference is the harness as it should be; a survey is what you saw. The usual way:

    \b
      harnessdiff new-survey REFERENCE -o survey.json   start a record
      harnessdiff check survey.json                     is the record sound?
      harnessdiff compare REFERENCE survey.json -o out  findings and drawing
      harnessdiff fed-by REFERENCE F12                  what hangs on fuse F12?

    REFERENCE is a file, or the name of a shipped one (light_van). Exit codes: 0 nothing
    differs, 1 something differs, 2 trouble.

    The maker's procedure, local codes and a licensed technician come first.
    """  # noqa: D301 - click needs a real \b


COMMANDS = (
    check, compare, conditions, demo, draw, explain, fed_by, lint, make_dead, new_reference, new_survey, next_looks,
    path, policy,
)  # fmt: skip
for command in COMMANDS:
    main.add_command(command)
