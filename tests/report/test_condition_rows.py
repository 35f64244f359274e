"""What differs between two solved harnesses, and what only follows the battery."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.report.condition_rows import Row, ampere_words, currents_differ, rows_of
from harnessdiff.report.condition_table import CELL, table_rows, table_text
from harnessdiff.report.solved import conditions_of, no_network, solved
from harnessdiff.report.wrapping import WIDTH
from tests.cli.living import BYPASS, CUT, bare_data, living_data
from tests.support import Json, case_from, reference_from, survey_from

AMPERES = st.floats(-500, 500)


@given(AMPERES, AMPERES)
def test_currents_differ_both_ways_or_neither(one: float, other: float) -> None:
    assert currents_differ(one, other) == currents_differ(other, one)
    assert not currents_differ(one, one)


@given(AMPERES)
def test_ampere_words_are_short_and_say_the_sign(current_A: float) -> None:
    words = ampere_words(current_A)

    assert re.fullmatch(r"-?\d+(\.\d+)? m?A", words)
    assert len(words) < CELL
    assert words.startswith("-") <= (current_A < 0)


@pytest.mark.parametrize(
    ("current_A", "words"),
    [(0.00005, "0 A"), (0.0021, "2.1 mA"), (0.014, "14 mA"), (0.42, "0.42 A"), (12.34, "12.3 A"), (243.2, "243 A"),
     (-4.7, "-4.70 A")],
)  # fmt: skip
def test_current_has_as_many_figures_as_a_meter(current_A: float, words: str) -> None:
    assert ampere_words(current_A) == words


def rows_with(battery: Json, *lines: Json, data: Json | None = None) -> dict[tuple[str, str], Row]:
    """Rows where the battery as found has other figures than that of the reference."""
    plain = living_data() if data is None else data
    should_be = reference_from(plain)
    other = living_data() if data is None else data
    other["devices"][0]["parts"][0] |= battery
    case = case_from(reference_from(other), *lines)
    both = solved(should_be, should_be.conditions, (), case.as_found)
    return {(row.sort, row.device): row for row in rows_of(both)}


def test_what_falls_with_the_battery_does_not_differ() -> None:
    rows = rows_with({"voltage_V": 11.8})

    assert rows["volts", "BAT"].differs == {"asleep", "ignition", "side", "horn", "brake", "refused"}
    assert rows["load", "E1"].differs == rows["load", "H1"].differs == frozenset()


def test_what_falls_further_than_the_battery_differs() -> None:
    data = living_data()
    case = case_from(reference_from(data), CUT)
    both = solved(reference_from(data), case.reference.conditions, (), case.as_found)
    rows = {(row.sort, row.device): row for row in rows_of(both)}

    assert rows["load", "E1"].differs == {"side"}
    assert rows["load", "E2"].differs == frozenset()


def test_same_vehicle_differs_in_nothing() -> None:
    assert [row for row in rows_with({}).values() if row.differs] == []


def test_text_and_data_hold_the_same_rows() -> None:
    should_be = reference_from(living_data())
    case = case_from(should_be, *BYPASS)
    both = solved(should_be, should_be.conditions, (), case.as_found)
    rows = tuple(row for row in rows_of(both) if row.differs or row.sort in ("current", "volts"))
    text = table_text(both, rows, everything=False)
    data = table_rows(both, rows)

    assert max(map(len, text.split("\n"))) <= WIDTH
    for row in data["rows"]:
        assert row["words"] in text
        assert "cell" not in row["reference"]["side"]


def test_rows_are_in_the_order_a_person_counts_in() -> None:
    should_be = reference_from(living_data())
    rows = rows_of(solved(should_be, should_be.conditions))

    assert [row.sort for row in rows] == sorted(
        (row.sort for row in rows), key=["current", "volts", "load", "relay"].index
    )
    assert [row.device for row in rows if row.sort == "load"][:4] == ["E1", "E2", "E3", "E4"]


def test_only_what_a_condition_comes_after_is_solved_with_it() -> None:
    data = living_data()
    data["conditions"][2]["after"] = "ignition"
    should_be = reference_from(data)
    both = solved(should_be, should_be.conditions, ("side",))

    assert [one.id for one in both.conditions] == ["side"]
    assert list(both.before) == ["ignition", "side"]


def test_conditions_are_those_of_both_without_what_is_not_fitted() -> None:
    data = living_data()
    data["conditions"][0]["option"] = ["not:radio_pack"]
    should_be = reference_from(data)
    own = {"id": "own", "name": "own", "key": "out", "engine": "stopped"}
    survey = survey_from(should_be, CUT, conditions=[own], options=[{"id": "radio_pack", "fitted": "yes"}])

    names = [one.id for one in conditions_of(should_be, survey)]
    assert names[-1] == "own"
    assert "asleep" not in names
    assert conditions_of(should_be, None) == should_be.conditions


def test_reference_without_conditions_computes_nothing() -> None:
    data = bare_data()
    data.pop("conditions")
    should_be = reference_from(data)

    why = no_network(should_be, None, should_be.conditions)
    assert why == "bench has no conditions, so there is nothing in which currents could be computed."
    assert no_network(reference_from(living_data()), None, reference_from(living_data()).conditions) is None
