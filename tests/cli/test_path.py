"""``path``: the way of the current to a place and back, between two places, and what stands in it."""

from __future__ import annotations

import json
import re
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest

from tests.cli.living import BYPASS, CUT, NO_FUSE, SECOND_BATTERY, bare_data, living_data, living_file
from tests.cli.outcome import told

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run, Survey

WIDTH = 100


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    return living_file(tmp_path)


def asked(run: Run, *words: object) -> dict[str, Any]:
    result = run("path", *words, "--json")
    assert result.exit_code == 0, result.output
    found = json.loads(result.stdout)
    assert isinstance(found, dict)
    return found


def passed(section: dict[str, Any]) -> list[str]:
    return [row["element"] for row in section["rows"] if row["gap"] is None]


def says(found: dict[str, Any]) -> str:
    return "\n".join(one for section in found["sections"] for one in section["says"])


def without_volts(sentences: list[str]) -> list[str]:
    """Sentences with their volts cut to whole ones."""
    return [re.sub(r"(\d+)\.\d+ V", r"\1 V", one) for one in sentences]


# -- to a place and back


def test_load_is_followed_from_the_source_and_back(run: Run, bench: Path) -> None:
    found = asked(run, bench, "E1")
    feed, through, back = found["sections"]

    assert (found["condition"], found["condition_because"]) == ("side", "the first in which E1 is live")
    assert passed(feed) == ["BAT", "W1", "F0_FUSE", "W2", "BUS", "F1_FUSE", "W10", "S1", "W11", "W12"]
    assert passed(through) == ["E1"]
    assert passed(back) == ["W14", "GND1", "W3"]


def test_volts_fall_along_the_way_and_ends_meet(run: Run, bench: Path) -> None:
    rows = [row for section in asked(run, bench, "E1")["sections"] for row in section["rows"]][1:]

    assert all(one["to_V"] <= one["from_V"] + 1e-3 for one in rows)
    assert all(one["current_A"] > 0.3 for one in rows)
    assert all(two["from_V"] <= one["to_V"] + 1e-3 for one, two in pairwise(rows))
    assert rows[-1]["to_V"] == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("word", ["E1:58", "W12"])
def test_terminal_and_wire_are_followed_through_themselves(run: Run, bench: Path, word: str) -> None:
    feed, back = asked(run, bench, word)["sections"]

    assert passed(feed)[-1] == "W12"
    assert feed["rows"][-1]["to"] == "E1:58"
    assert passed(back)[0] == "E1"


def test_joint_is_a_place(run: Run, bench: Path) -> None:
    feed, _ = asked(run, bench, "SP1")["sections"]

    assert feed["rows"][-1]["to"] == "SP1"
    assert passed(feed)[-1] == "W11"


def test_condition_can_be_chosen(run: Run, bench: Path) -> None:
    found = asked(run, bench, "E1", "--condition", "horn")

    assert (found["condition"], found["condition_because"]) == ("horn", "")
    assert "switch S1 contact 30-58 is open (position off)" in says(found)


def test_what_is_live_nowhere_is_told_in_the_first_condition(run: Run, tmp_path: Path) -> None:
    data = living_data()
    data["conditions"] = [one for one in data["conditions"] if one["id"] != "side"]
    found = asked(run, living_file(tmp_path, data), "E1")

    assert (found["condition"], found["condition_because"]) == ("asleep", "E1 is live in none; this is the first")


def test_dead_load_says_where_its_way_ends_and_every_gap_on_it(run: Run, bench: Path) -> None:
    feed, _, back = asked(run, bench, "H1", "--condition", "side")["sections"]

    assert without_volts(feed["says"]) == ["ends at K1:30 (12 V): relay K1 contact 30-87 is open: not pulled in"]
    assert back["says"] == []


def test_open_ground_side_is_told_on_the_way_back(run: Run, bench: Path) -> None:
    _, _, back = asked(run, bench, "K1", "--condition", "side")["sections"]

    assert without_volts(back["says"]) == ["ends at S2:1 (12 V): button S2 contact 1-2 is open (position free)"]


def test_load_that_hangs_on_nothing_is_not_connected(run: Run, tmp_path: Path) -> None:
    data = living_data()
    data["wires"] = [one for one in data["wires"] if one["id"] not in ("W12", "W14")]
    reference = living_file(tmp_path, data)
    text = run("path", reference, "E1", "--condition", "side").stdout

    assert text.count("not connected") >= 2
    assert "  n/c " in text
    assert says(asked(run, reference, "E1")).startswith("nothing leads there: not connected")


# -- between two places


def test_way_between_two_places_is_the_shortest_that_conducts(run: Run, bench: Path) -> None:
    (section,) = asked(run, bench, "F1:out", "E2:58", "--condition", "side")["sections"]

    assert passed(section) == ["W10", "S1", "W11", "W13"]
    assert all(row["current_A"] > 0 for row in section["rows"])


def test_way_against_the_current_has_amperes_below_0(run: Run, bench: Path) -> None:
    (section,) = asked(run, bench, "E2:58", "F1:out", "--condition", "side")["sections"]

    assert passed(section) == ["W13", "W11", "S1", "W10"]
    assert all(row["current_A"] < 0 for row in section["rows"])


def test_no_way_between_is_said_with_what_stands_in_it(run: Run, bench: Path) -> None:
    found = asked(run, bench, "F1:out", "E1:58", "--condition", "horn")

    assert found["sections"][0]["title"] == "nothing conducts between them; the way would be"
    (end, *_) = without_volts(found["sections"][0]["says"])
    assert end == "ends at S1:30 (12 V): switch S1 contact 30-58 is open (position off)"


def test_places_that_nothing_could_join_are_told(run: Run, bench: Path) -> None:
    found = asked(run, bench, "E4:RL", "SQ1:2", "--condition", "side")

    assert "nothing that could conduct joins them" in says(found) or "only loads join them" in says(found)


def test_place_to_itself_is_no_way(run: Run, bench: Path) -> None:
    assert says(asked(run, bench, "SP1", "SP1")) == "they are the same place"


# -- as found


@pytest.mark.parametrize(
    ("line", "message"),
    [(CUT, "W12 is cut through (c1)"), (NO_FUSE, "fuse slot F1 is empty")],
    ids=["cut", "fuse gone"],
)
def test_what_stands_in_the_way_as_found_is_named(
    run: Run, bench: Path, survey: Survey, line: dict[str, Any], message: str
) -> None:
    found = asked(run, bench, survey(line), "E1", "--condition", "side")

    assert message in says(found)
    assert found["as_found"]


def test_figures_of_the_reference_stand_beside(run: Run, bench: Path, survey: Survey) -> None:
    before = asked(run, bench, "E1", "--condition", "side")
    rows = asked(run, bench, survey(CUT), "E1", "--condition", "side")["sections"][0]["rows"]
    by_place = {row["to"]: row for section in before["sections"] for row in section["rows"]}

    both = [row for row in rows if row["to"] in by_place]
    assert len(both) > 5
    assert all(row["reference_V"] == by_place[row["to"]]["to_V"] for row in both)


def test_what_was_added_is_marked(run: Run, bench: Path, survey: Survey) -> None:
    words = (bench, survey(*BYPASS), "H1", "--condition", "side")
    feed = asked(run, *words)["sections"][0]
    added = [row["element"] for row in feed["rows"] if row["added"]]
    lines = run("path", *words).stdout.splitlines()

    assert added == ["+j1", "+l1", "+j2"]
    assert all(row["differs"] for row in feed["rows"] if row["added"])
    assert any("  + lead l1" in line for line in lines)
    assert max(map(len, lines)) <= WIDTH


@pytest.mark.parametrize("word", ["l1", "+l1", "j1"])
def test_lead_of_the_survey_is_a_place_with_its_mark_and_without(
    run: Run, bench: Path, survey: Survey, word: str
) -> None:
    assert "+j1" in passed(asked(run, bench, survey(*BYPASS), word, "--condition", "side")["sections"][0])


def test_volts_count_from_the_battery_of_the_reference(run: Run, bench: Path, survey: Survey) -> None:
    found = asked(run, bench, survey(*SECOND_BATTERY), "E1", "--condition", "side")

    assert found["against"] == asked(run, bench, "E1", "--condition", "side")["against"] == "BAT:-"


def test_way_that_the_reference_took_is_told(run: Run, bench: Path, survey: Survey) -> None:
    words = (bench, survey(*BYPASS), "H1", "--condition", "horn")

    assert set(asked(run, *words)["not_passed"]) <= {"K1_RELAY"}


# -- notes


def test_relay_that_holds_itself_is_told(run: Run, tmp_path: Path) -> None:
    data = living_data()
    # The relay's own output feeds its coil's ground side from now on: S2 starts it, the wire holds it.
    data["wires"] = [one for one in data["wires"] if one["id"] not in ("W22", "W23")]
    data["wires"] += [
        {"id": "W70", "from": "K1:87", "to": "K1:86", "size_mm2": 1, "length_m": 0.2},
        {"id": "W71", "from": "K1:85", "to": "GND2:1", "size_mm2": 1, "length_m": 0.2},
    ]
    reference = living_file(tmp_path, data)
    text = run("path", reference, "H1", "--condition", "side").stdout

    assert "note: K1_RELAY: computed at rest; once something has triggered it, it holds" in text
    assert "(in)" in run("conditions", reference).stdout


def test_relay_that_interrupts_itself_is_told(run: Run, tmp_path: Path) -> None:
    data = living_data()
    (relay,) = (one for one in data["devices"] if one["id"] == "K1_RELAY")
    relay["parts"][1]["when"] = {"energised": False}
    data["wires"] = [one for one in data["wires"] if one["id"] not in ("W22", "W23")]
    data["wires"] += [
        {"id": "W70", "from": "K1:87", "to": "K1:86", "size_mm2": 1, "length_m": 0.2},
        {"id": "W71", "from": "K1:85", "to": "GND2:1", "size_mm2": 1, "length_m": 0.2},
    ]
    reference = living_file(tmp_path, data)

    assert "K1_RELAY: comes to no rest (chatters)" in run("path", reference, "H1", "--condition", "side").stdout
    assert "chatters" in run("conditions", reference).stdout


# -- words that cannot be used


@pytest.mark.parametrize(
    ("word", "nearest"), [("E1:85", "E1:58"), ("W112", "W12"), ("SP11", "SP1"), ("e1", "E1")]
)  # fmt: skip
def test_unknown_place_is_told_with_the_nearest(run: Run, bench: Path, word: str, nearest: str) -> None:
    said = told(run("path", bench, word))

    assert said.startswith(f"bench: there is no terminal, device, wire or joint {word}; did you mean ")
    assert nearest[:2] in said


def test_unknown_second_place_is_told(run: Run, bench: Path) -> None:
    assert "there is no terminal, device, wire or joint NOWHERE" in told(run("path", bench, "E1", "NOWHERE"))


def test_unknown_condition_is_told_with_the_nearest(run: Run, bench: Path) -> None:
    said = told(run("path", bench, "E1", "--condition", "horm"))

    assert said == 'bench: there is no condition horm; did you mean "horn"?'


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["none.json", "E1"], "none.json: there is no such file, where SURVEY is wanted"),
        (["E1", "E2", "E3"], "E1: there is no such file, where SURVEY is wanted"),
        (["SURVEY"], "FROM is missing: "),
        (["SURVEY", "E1", "E2", "E3"], "one word too many: E3"),
    ],
)
def test_words_that_cannot_be_told_apart_are_refused(
    run: Run, bench: Path, survey: Survey, words: list[str], message: str
) -> None:
    result = run("path", bench, *(survey() if word == "SURVEY" else word for word in words))

    assert result.exit_code == 2
    assert message in result.stderr
    assert result.stdout == ""


def test_file_that_is_called_like_an_element_is_asked_about(
    run: Run, bench: Path, survey: Survey, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    survey(CUT, name="E1")
    monkeypatch.chdir(tmp_path)

    result = run("path", bench, "E1", "E2")
    assert result.exit_code == 2
    assert "E1 is a file here, and an element of the reference: write ./E1 for the file" in result.stderr
    assert asked(run, bench, "./E1", "E2")["as_found"]


def test_what_is_gone_as_found_is_told(run: Run, bench: Path, survey: Survey) -> None:
    gone = {"kind": "missing", "element": "W43", "zone": "Z_TAIL"}

    assert "W43 is on the reference, but not there as found" in told(run("path", bench, survey(gone), "W43"))


@pytest.mark.parametrize("more", [[], ["--json"]])
def test_reference_without_inner_behaviour_says_so(run: Run, tmp_path: Path, more: list[str]) -> None:
    result = run("path", living_file(tmp_path, bare_data()), "E1", *more)

    assert result.exit_code == 0
    assert "nothing of a source inside its devices, so no voltage or current can be computed" in result.stdout
