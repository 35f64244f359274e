"""The fuzzer itself: the same for the same seed, and it finds a fault that is there."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from tests.fuzz import reading


def test_the_same_seed_gives_the_same_inputs_and_they_come_to_every_stage(tmp_path: Path) -> None:
    pool = reading.seeds(random.Random(1))
    inputs = [[reading.mutated(pool[0], pool, random.Random(number)) for number in range(50)] for _ in range(2)]
    run = reading.Run(tmp_path)
    reading.by_seed(run, 150, seed=1, minutes=1)

    assert inputs[0] == inputs[1]
    assert len(set(inputs[0])) > 25
    assert {"no JSON", "survey refused", "reference refused", "reference sound"} <= set(run.counts)
    assert run.faults == {}
    assert list(tmp_path.iterdir()) == []


def test_an_error_of_the_program_is_found_and_its_input_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def failing(raw: bytes, source: str) -> None:
        raise IndexError(source)

    monkeypatch.setattr(reading, "parse_document", failing)
    run = reading.Run(tmp_path)
    run.tried(b"{}")
    run.tried(b"[]")

    assert (run.counts, list(run.faults.values())) == ({"fault": 2}, [2])
    assert (tmp_path / "fault-0.json").read_bytes() == b"{}"
    assert run.ended() == 1
