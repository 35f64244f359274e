"""``conditions``: what every load does, what differs, and what must stay dead and is not."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any
from unittest.mock import ANY

import pytest

from tests.cli.living import BYPASS, CUT, bare_data, living_data, living_file
from tests.cli.outcome import told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run, Survey

WIDTH = 100


def cells(rows: list[dict[str, Any]], device: str, side: str = "reference") -> dict[str, str]:
    """The states of a device's only load, by condition."""
    (row,) = (row for row in rows if row["device"] == device and row["sort"] in ("load", "relay"))
    return {condition: facts["state"] for condition, facts in row[side].items()}


def test_every_load_relay_and_battery_has_a_state_in_every_condition(run: Run, tmp_path: Path) -> None:
    result = run("conditions", living_file(tmp_path), "--json")
    found = json.loads(result.stdout)

    assert result.exit_code == 0
    assert [one["id"] for one in found["conditions"]] == ["asleep", "ignition", "side", "horn", "brake", "refused"]
    assert {row["device"] for row in found["rows"]} == {
        "BAT", "E1", "E2", "E3", "E4", "H1", "K1_RELAY", "R1", "SQ1", "U1", "U9",
    }  # fmt: skip
    assert all(list(row["reference"]) == [one["id"] for one in found["conditions"]] for row in found["rows"])


def test_what_is_switched_on_is_on_and_what_is_not_is_off(run: Run, tmp_path: Path) -> None:
    rows = json.loads(run("conditions", living_file(tmp_path), "--json").stdout)["rows"]

    assert [name for name, state in cells(rows, "E1").items() if state == "on"] == ["side"]
    assert [name for name, state in cells(rows, "H1").items() if state == "on"] == ["horn"]
    assert [name for name, state in cells(rows, "E4").items() if state == "on"] == ["ignition"]
    assert [name for name, state in cells(rows, "K1_RELAY").items() if state == "pulled_in"] == ["horn"]
    assert cells(rows, "R1") == dict.fromkeys(cells(rows, "R1"), "on") | {"asleep": "rests"}


def test_battery_gives_what_the_loads_draw(run: Run, tmp_path: Path) -> None:
    rows = json.loads(run("conditions", living_file(tmp_path), "--json").stdout)["rows"]
    drawn = sum(row["reference"]["side"]["current_A"] for row in rows if row["sort"] in ("load", "relay"))
    (given,) = (row["reference"]["side"]["current_A"] for row in rows if row["sort"] == "current")

    assert given == pytest.approx(drawn, abs=1e-3)


def test_table_fits_a_terminal_and_names_its_columns(run: Run, tmp_path: Path) -> None:
    data = living_data()
    data["conditions"] += [
        {"id": f"more_{one}", "name": "more", "key": "out", "engine": "stopped"} for one in range(12)
    ]
    lines = run("conditions", living_file(tmp_path, data)).stdout.splitlines()

    assert max(map(len, lines)) <= WIDTH
    heads = [line.split()[1:] for line in lines if line.startswith("load ")]
    assert [one for head in heads for one in head] == [str(one) for one in range(1, 19)]
    assert lines[3] == "  4 horn      horn pressed"
    (row,) = (line for line in lines if line.startswith("E1 58/31 lamp 5 W") and " on " in line)
    assert row.split("5 W")[1].split() == ["-", "-", "on", ANY, "-", "-", "-"]


def test_some_conditions_can_be_asked_for(run: Run, tmp_path: Path) -> None:
    result = run("conditions", living_file(tmp_path), "--condition", "horn", "--condition", "side", "--json")

    assert [one["id"] for one in json.loads(result.stdout)["conditions"]] == ["horn", "side"]


def test_condition_that_is_not_there_is_told_with_the_nearest(run: Run, tmp_path: Path) -> None:
    said = told(run("conditions", living_file(tmp_path), "--condition", "horm"))

    assert said == 'bench: there is no condition horm; did you mean "horn"?'


def test_of_a_survey_only_what_differs_is_shown(run: Run, survey: Survey, tmp_path: Path) -> None:
    reference, found = living_file(tmp_path), survey(CUT)
    rows = json.loads(run("conditions", reference, found, "--json").stdout)["rows"]

    assert {row["device"] for row in rows if row["sort"] == "load"} == {"E1"}
    assert cells(rows, "E1")["side"] == "on"
    assert cells(rows, "E1", "as_found")["side"] == "off"
    (row,) = (row for row in rows if row["device"] == "E1")
    assert row["differs_in"] == ["side"]


def test_all_shows_what_does_not_differ_too(run: Run, survey: Survey, tmp_path: Path) -> None:
    reference, found = living_file(tmp_path), survey(CUT)
    few, many = (run("conditions", reference, found, *more).stdout for more in ([], ["--all"]))

    assert "E3 54/31" not in few
    assert "E3 54/31" in many


def test_line_below_shows_what_was_found_and_marks_it(run: Run, survey: Survey, tmp_path: Path) -> None:
    lines = run("conditions", living_file(tmp_path), survey(CUT)).stdout.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("E1 58/31"))

    assert lines[at].split("W")[1].split() == ["-", "-", "on", ANY, "-", "-", "-"]
    assert lines[at + 1].split() == ["-*"]


def test_survey_without_a_difference_says_so(run: Run, survey: Survey, tmp_path: Path) -> None:
    result = run("conditions", living_file(tmp_path), survey())

    assert result.stdout.splitlines()[-1] == "no load and no relay does anything else than on the reference"


def test_what_must_stay_dead_and_is_live_is_told_first(run: Run, survey: Survey, tmp_path: Path) -> None:
    reference = living_file(tmp_path)
    sound = run("conditions", reference)
    spoilt = run("conditions", reference, survey(*BYPASS))

    assert "MUST STAY DEAD, BUT" not in sound.stdout
    assert "REFUSAL: H1 must stay dead" in sound.stdout
    first = spoilt.stdout.splitlines()[0]
    assert first.startswith("!! MUST STAY DEAD, BUT IS LIVE: horn (H1) in 6 refused, 12.")
    assert first.endswith(" V, as found")
    assert "!on 12." in spoilt.stdout
    assert spoilt.exit_code == 0


def test_refusals_are_there_for_machines(run: Run, survey: Survey, tmp_path: Path) -> None:
    found = json.loads(run("conditions", living_file(tmp_path), survey(*BYPASS), "--json").stdout)

    (refusal,) = found["must_stay_dead"]
    assert (refusal["condition"], refusal["device"], refusal["reference_live_V"]) == ("refused", "H1", None)
    assert refusal["as_found_live_V"] > 12


def test_conditions_of_a_survey_count_beside_those_of_the_reference(run: Run, survey: Survey, tmp_path: Path) -> None:
    own = {"id": "both", "name": "both", "key": "out", "engine": "stopped", "positions": {"S1": "on", "S3": "pressed"}}
    found = survey(CUT, conditions=[own])
    result = run("conditions", living_file(tmp_path), found, "--condition", "both", "--all", "--json")

    assert cells(json.loads(result.stdout)["rows"], "E3", "as_found") == {"both": "on"}


def test_condition_of_an_option_that_is_not_fitted_is_left_out(run: Run, survey: Survey, tmp_path: Path) -> None:
    data = living_data()
    data["conditions"][-1]["option"] = ["radio_pack"]
    reference = living_file(tmp_path, data)

    for fitted, there in (("yes", True), ("unknown", True), ("no", False)):
        found = survey(CUT, options=[{"id": "radio_pack", "fitted": fitted}])
        names = [one["id"] for one in json.loads(run("conditions", reference, found, "--json").stdout)["conditions"]]
        assert ("refused" in names) == there


@pytest.mark.parametrize("more", [[], ["--json"]])
def test_reference_without_inner_behaviour_says_so(run: Run, tmp_path: Path, more: list[str]) -> None:
    result = run("conditions", living_file(tmp_path, bare_data()), *more)

    assert result.exit_code == 0
    assert "nothing of a source inside its devices, so no voltage or current can be computed" in result.stdout
