"""``--policy``: a file or the name of a shipped policy, and what is wrong with either."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from harnessdiff.cli.options import load_policy
from harnessdiff.errors import InputError
from harnessdiff.read.policy import DEFAULT, default_policy
from tests.cli.outcome import TAP, told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run, Survey

STRICT = {
    "format": "harnessdiff policy", "version": "1.0", "id": "strict", "title": "strict", "based_on": DEFAULT,
    "actions": [
        {"level": level, "action": "stop_use", "satisfactory": False, "why": "a test", "source": "a test",
         "status": "common practice"}
        for level in ("Low", "Medium", "Serious", "High")
    ],
}  # fmt: skip


def test_default_is_meant_where_none_is_named_and_where_it_is() -> None:
    assert load_policy(None) == load_policy(DEFAULT) == default_policy()


def test_policy_of_a_file_counts(run: Run, tmp_path: Path, bench_file: Path, survey: Survey) -> None:
    path = tmp_path / "strict.json"
    path.write_text(json.dumps(STRICT), encoding="utf-8")

    found = json.loads(run("compare", bench_file, survey(TAP), "--policy", path, "--json").stdout)

    assert found["policy"]["id"] == "strict"
    assert {one["action"] for one in found["findings"] if one["worst"] != "acceptable"} == {"stop_use"}


def test_policy_counts_in_a_drawing(run: Run, tmp_path: Path, bench_file: Path, survey: Survey) -> None:
    result = run("draw", bench_file, survey(TAP), "-o", tmp_path / "out", "--policy", "defult")

    assert told(result) == 'defult: there is no such file, and no shipped policy of that name; did you mean "default"?'


@pytest.mark.parametrize("name", ["no_such.json", "bench.json"])
def test_file_that_is_none_or_no_policy_is_refused(bench_file: Path, name: str) -> None:
    with pytest.raises(InputError):
        load_policy(str(bench_file.with_name(name)))
