"""Times the demo: the comparison, the sheets, their formats, and how soon the help is there.

Run as ``python tests/benchmarks/compare.py [runs]``; prints a table. Not a test: the milliseconds
are the machine's, and only ratios before and after a change say something.
"""

from __future__ import annotations

import json
import platform
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from harnessdiff.draw.export import exported  # noqa: E402 - the path has to be set first
from harnessdiff.pipeline import Case, assess, listing_of  # noqa: E402
from harnessdiff.read.reference import read_reference  # noqa: E402
from harnessdiff.read.survey import read_survey  # noqa: E402
from harnessdiff.report.findings_json import findings_text  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable

VAN = ROOT / "reference_harnesses/light_van/light_van.json"
SURVEY = ROOT / "demo/light_van_inspector/survey.json"
RUNS = 5


def timed(work: Callable[[], Any], runs: int) -> list[float]:
    """How long some work takes, `runs` times. [s]"""
    found = []
    for _ in range(runs):
        began = time.perf_counter()
        work()
        found.append(time.perf_counter() - began)
    return found


def command(*arguments: str) -> Callable[[], None]:
    """A command in a process of its own, from its start to its end."""

    def run() -> None:
        finished = subprocess.run(
            [sys.executable, "-m", "harnessdiff", *arguments], stdout=subprocess.DEVNULL, check=False
        )
        if finished.returncode not in (0, 1):
            sys.exit(f"harnessdiff {' '.join(arguments)} ended with {finished.returncode}")

    return run


def work_to_time() -> dict[str, Callable[[], Any]]:
    """What is timed, by the words of its row."""
    van = read_reference(VAN)
    survey = read_survey(SURVEY, van)
    case = assess(van, survey)
    sheets = case.sheets
    return {
        "read the reference": lambda: read_reference(VAN),
        "read the survey": lambda: read_survey(SURVEY, van),
        "assess": lambda: assess(van, survey),
        "list and findings.json": lambda: (listing_of(case), findings_text(case.findings)),
        # A case keeps its sheets: a new one has to draw them again.
        "draw the sheets": lambda: (
            Case(reference=case.reference, as_found=case.as_found, findings=case.findings).sheets
        ),
        "sheets as PDF": lambda: exported(sheets, ("pdf",)),
        "sheets as PNG": lambda: exported(sheets, ("png",)),
        "harnessdiff --help": command("--help"),
        "harnessdiff compare": command("compare", str(VAN), str(SURVEY)),
    }


def table(runs: int) -> str:
    """The table: least and middle time of each row. [ms]"""
    lines = [f"| {'what':<24} | least [ms] | median [ms] |", f"|{'-' * 26}|{'-' * 11}:|{'-' * 12}:|"]
    for what, work in work_to_time().items():
        found = timed(work, runs)
        lines.append(f"| {what:<24} | {min(found) * 1000:>10.0f} | {statistics.median(found) * 1000:>11.0f} |")
    return "\n".join(lines)


def main() -> None:
    """Print what was timed, on what, and the table."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else RUNS
    wires = len(json.loads(VAN.read_bytes())["wires"])
    lines = len(json.loads(SURVEY.read_bytes())["observations"])
    sys.stdout.write(f"demo: {wires} wires, {lines} observations; Python {platform.python_version()}, {runs} runs\n\n")
    sys.stdout.write(f"{table(runs)}\n")


if __name__ == "__main__":
    main()
