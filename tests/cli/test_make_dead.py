"""``make-dead``: the steps that make what was added dead, and what may not be done."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from tests.cli.living import living_file
from tests.cli.outcome import told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run, Survey

TWISTED = {"type": "twisted", "cover": "tape"}
FED = [
    {"kind": "device", "id": "d1", "terminals": ["+", "-"],
     "contents": [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 0.5}]},
    {"kind": "tap", "id": "t1", "on": {"wire": "W11"}, "joint": TWISTED, "to": {"device": "d1", "pin": "+"}},
    {"kind": "lead", "id": "l2", "end_1": {"device": "d1", "pin": "-"}, "end_2": {"metal": "body"}},
]  # fmt: skip


def test_fuse_that_feeds_it_is_the_step(run: Run, tmp_path: Path, survey: Survey) -> None:
    result = run("make-dead", living_file(tmp_path), survey(*FED), "t1.lead")

    assert result.exit_code == 0
    lines = [line.strip() for line in result.stdout.splitlines()]
    assert lines[1] == "1. pull fuse F1"
    assert lines[2] == "then it should be dead: prove it"


def test_everything_added_is_gone_through_where_nothing_is_named(run: Run, tmp_path: Path, survey: Survey) -> None:
    found = json.loads(run("make-dead", living_file(tmp_path), survey(*FED), "--json").stdout)

    assert [one["target"] for one in found] == ["+d1", "+l2", "+t1.lead"]
    assert all(one["dead"] for one in found)


def test_what_was_not_added_is_refused_with_the_nearest_name(run: Run, tmp_path: Path, survey: Survey) -> None:
    assert told(run("make-dead", living_file(tmp_path), survey(*FED), "t1.lad")).endswith(
        'there is no added lead or device t1.lad; did you mean "t1.lead"?'
    )
