"""``next-looks``: what to look at next, for a person and for machines, and at the end of the list of findings."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from harnessdiff.read.schema import faults
from tests.cli.outcome import told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run, Survey

UNSEEN = {"kind": "tap", "id": "t1", "zone": "Z_TAIL", "on": {"wire": "W32"}, "joint": {"type": "unknown"}}
RESTRAINT = {"kind": "tap", "id": "t2", "zone": "Z_DASH", "on": {"wire": "W51"}, "joint": {"type": "unknown"}}
NOTED = {"kind": "other", "id": "o1", "zone": "Z_BAY", "note": "smells of fuel"}


def test_every_look_says_what_where_how_long_and_what_it_settles(run: Run, bench_file: Path, survey: Survey) -> None:
    result = run("next-looks", bench_file, survey(UNSEEN, NOTED))

    assert result.exit_code == 0
    assert "unwrap t1.joint and look" in result.stdout
    assert " min (" in result.stdout
    assert "finding 1: now " in result.stdout
    assert "Open, and no look that would narrow it is known: finding " in result.stdout
    assert "a grade is not a cause" in " ".join(result.stdout.split())
    assert "The maker's procedure" in result.stdout


def test_machines_get_the_same_that_the_findings_hold(run: Run, bench_file: Path, survey: Survey) -> None:
    record = survey(UNSEEN, NOTED)
    found = json.loads(run("next-looks", bench_file, record, "--json").stdout)
    whole = json.loads(run("compare", bench_file, record, "--json").stdout)

    assert found["looks"]
    assert whole["next_looks"] == found
    assert list(faults("findings", whole)) == []


def test_restraint_is_left_to_a_qualified_person(run: Run, bench_file: Path, survey: Survey) -> None:
    result = run("next-looks", bench_file, survey(RESTRAINT))

    before, heading, _ = result.stdout.partition("By a qualified person")
    assert heading
    assert "t2" not in before
    assert "Restraint wiring: do not probe" in result.stdout


def test_list_of_findings_ends_with_the_best_looks(run: Run, bench_file: Path, survey: Survey) -> None:
    _, heading, after = run("compare", bench_file, survey(UNSEEN)).stdout.partition("Next looks")

    assert heading
    assert "  1. " in after


def test_policy_that_is_not_there_is_refused(run: Run, bench_file: Path, survey: Survey) -> None:
    message = told(run("next-looks", bench_file, survey(UNSEEN), "--policy", "defalt"))

    assert message.endswith('did you mean "default"?')
