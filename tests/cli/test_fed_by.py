"""``fed-by``: what hangs on a fuse, told on the bench, where it can be followed by hand."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.cli.outcome import told
from tests.support import fused_slot

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run

# Fuse, rating, and its loads with what switches them and the metres of wire to them, by hand from the bench's wires.
HANGING = [
    ("F1", "10 A", [("E1", ["S1"], 5.5), ("E2", ["S1"], 6.5)]),
    ("F2", "15 A", [("K1_RELAY", [], 0.3), ("H1", ["K1_RELAY"], 2.8)]),
    ("F3", "10 A", [("E3", ["S3"], 4.3)]),
]


@pytest.mark.parametrize(("fuse", "words", "loads"), HANGING, ids=[one[0] for one in HANGING])
def test_loads_of_a_fuse_are_listed_in_the_order_the_current_reaches_them(
    run: Run, bench_file: Path, fuse: str, words: str, loads: list[tuple[str, list[str], float]]
) -> None:
    result = run("fed-by", bench_file, fuse, "--json")
    (found,) = json.loads(result.stdout)

    assert result.exit_code == 0
    assert (found["fuse"], found["words"]) == (fuse, words)
    assert [(one["device"], one["switched_by"], one["length_m"]) for one in found["loads"]] == loads


def test_list_for_people_names_loads_lengths_and_switches(run: Run, bench_file: Path) -> None:
    lines = run("fed-by", bench_file, "F1").stdout.splitlines()

    assert lines[0] == "F1  10 A"
    assert [" ".join(line.split()) for line in lines[1:]] == [
        "1. lamp (E1) 5.5 m of wire through S1",
        "2. lamp (E2) 6.5 m of wire through S1",
    ]


def test_fuse_may_be_named_by_its_slot_or_by_itself(run: Run, bench_file: Path) -> None:
    assert run("fed-by", bench_file, "F1_FUSE").stdout == run("fed-by", bench_file, "F1").stdout


def test_without_a_name_every_fuse_is_listed(run: Run, bench_file: Path) -> None:
    result = run("fed-by", bench_file, "--json")

    assert [one["fuse"] for one in json.loads(result.stdout)] == ["F0", "F1", "F2", "F3", "F4", "F5"]
    assert [line.split()[0] for line in run("fed-by", bench_file).stdout.splitlines() if line[0] != " "] == [
        "F0", "F1", "F2", "F3", "F4", "F5",
    ]  # fmt: skip


def test_loads_behind_a_further_fuse_are_listed_with_the_first(run: Run, bench_file: Path) -> None:
    """F0 feeds the bus bar and so everything."""
    (found,) = json.loads(run("fed-by", bench_file, "F0", "--json").stdout)

    assert {one["device"] for one in found["loads"]} == {
        "E1",
        "E2",
        "E3",
        "E4",
        "K1_RELAY",
        "H1",
        "R1",
        "U1",
        "U9",
        "SQ1",
    }


@pytest.mark.parametrize("name", ["F99", "W1", "BAT", ""])
def test_what_is_no_fuse_is_told_with_the_nearest_that_is(run: Run, bench_file: Path, name: str) -> None:
    result = run("fed-by", bench_file, name)

    assert told(result).startswith(f"bench: there is no fuse {name}")
    assert result.stdout == ""


def test_a_slip_of_the_pen_is_answered_with_what_was_meant(run: Run, bench_file: Path) -> None:
    assert told(run("fed-by", bench_file, "f1")).endswith('did you mean "F1"?')


def test_fuse_with_nothing_behind_it_says_so(run: Run, bench_file: Path) -> None:
    data = json.loads(bench_file.read_text())
    data["devices"] += fused_slot("F6", 10, "BUS:5")
    bench_file.write_text(json.dumps(data))

    assert run("fed-by", bench_file, "F6").stdout == "F6  10 A\n       no load known behind it\n"


def test_empty_slot_is_told_from_one_that_is_not_there(run: Run, bench_file: Path) -> None:
    data = json.loads(bench_file.read_text())
    slot, _ = fused_slot("F6", 10, "BUS:5")
    data["devices"].append(slot)
    bench_file.write_text(json.dumps(data))

    assert told(run("fed-by", bench_file, "F6")) == "bench: slot F6 is empty on the reference: nothing hangs on it"
