"""Tables: every row has a source and a status, and says what the program needs to know."""

from __future__ import annotations

import csv
import io
import itertools
import re
from importlib.resources import files

import pytest

from harnessdiff.model.rating import LEVELS, PROBABILITIES, SEVERITIES
from harnessdiff.read.schema import schema
from harnessdiff.tables import loader
from harnessdiff.tables.loader import (
    STATUSES,
    JointRow,
    colour_words,
    conductor_limit_A,
    distance_m,
    functions,
    joint_order,
    risk_matrix,
    rows,
    screen_colours,
)
from harnessdiff.tables.splicing import greatest_count

TABLES = sorted(
    path.name.removesuffix(".csv") for path in files("harnessdiff.tables").iterdir() if path.name.endswith(".csv")
)
JOINTS = schema("survey")["$defs"]["joint_details"]["properties"]


def test_there_are_tables() -> None:
    assert {"colours", "conductor_limits", "distances", "fuse_colours", "joint_order", "risk_matrix"} <= set(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_every_row_has_a_source_and_a_status_that_is_known(name: str) -> None:
    assert rows(name)
    for row in rows(name):
        assert row["source"].strip(), row
        assert row["status"] in STATUSES, row


@pytest.mark.parametrize("name", TABLES)
def test_source_and_status_are_the_last_columns_and_every_row_has_every_column(name: str) -> None:
    text = files("harnessdiff.tables").joinpath(f"{name}.csv").read_text(encoding="utf-8")
    header, *lines = list(csv.reader(io.StringIO(text)))

    assert header[-2:] == ["source", "status"]
    assert {len(line) for line in lines} == {len(header)}
    assert len(set(header)) == len(header)


@pytest.mark.parametrize("name", TABLES)
def test_no_row_is_there_twice(name: str) -> None:
    found = [tuple(row.items()) for row in rows(name)]

    assert len(set(found)) == len(found)


@pytest.mark.parametrize("name", TABLES)
def test_a_row_that_is_confirmed_names_a_document(name: str) -> None:
    vague = re.compile("trade|common practice|severity for one vehicle|circuits such an install")
    confirmed = [row["source"] for row in rows(name) if row["status"] == "confirmed"]

    assert [source for source in confirmed if vague.fullmatch(source) or not re.search(r"\d|report", source)] == []


@pytest.mark.parametrize("name", TABLES)
def test_a_source_that_says_from_memory_has_that_status_or_another_source_beside_it(name: str) -> None:
    marked = [row for row in rows(name) if "from memory" in row["source"] and row["status"] == "confirmed"]

    assert marked == []


@pytest.mark.parametrize(
    "line", ["1,ignition coil,,secondary copy", "1,ignition coil,DIN 72552,certain", "1,ignition coil,DIN 72552,"]
)
def test_a_row_without_source_or_with_another_status_is_refused(line: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(loader, "shipped_text", lambda *_: f"number,meaning,source,status\n{line}\n")

    with pytest.raises(ValueError, match=r"^terminals\.csv: a row without source or with an unknown status: "):
        rows.__wrapped__("terminals")


# -- what the tables hold for the program


def test_every_function_has_words_of_its_own() -> None:
    assert functions()
    assert all(row.function == name and row.words for name, row in functions().items())
    assert len({row.words for row in functions().values()}) == len(functions())


def test_ranks_of_joints_rise_from_one_and_leave_none_out() -> None:
    ranks = [row.rank for row in joint_order()]

    assert ranks == sorted(ranks)
    assert set(ranks) == set(range(1, ranks[-1] + 1))


def test_every_make_of_joint_has_a_name_and_words_of_its_own() -> None:
    order = joint_order()

    assert len({row.joint for row in order}) == len({row.words for row in order}) == len(order)


def test_tools_and_covers_of_joints_are_words_of_a_survey() -> None:
    for row in joint_order():
        assert row.tools <= {"*", *JOINTS["tool"]["enum"]}, row
        assert row.covers <= {"*", *JOINTS["cover"]["enum"]}, row


@pytest.mark.parametrize("type_", JOINTS["type"]["enum"])
def test_every_make_of_joint_has_a_rank_and_one_only_where_all_is_known(type_: str) -> None:
    for tool, cover in itertools.product(JOINTS["tool"]["enum"], JOINTS["cover"]["enum"]):
        fitting = [row for row in joint_order() if row.fits(type_, tool, cover)]
        assert fitting, (tool, cover)
        if "unknown" not in (type_, tool, cover) and type_ != "other":
            assert len(fitting) == 1, (tool, cover)


@pytest.mark.parametrize(
    ("make", "fits"),
    [
        (("solder", "iron", "tape"), True),
        (("solder", "unknown", "tape"), True),
        (("solder", "iron", "unknown"), True),
        (("unknown", "iron", "tape"), True),
        (("other", "iron", "tape"), True),
        (("twisted", "iron", "tape"), False),
        (("solder", "hand", "tape"), False),
        (("solder", "iron", "none"), False),
    ],
)
def test_the_unknown_may_be_any_row_and_the_known_only_its_own(make: tuple[str, str, str], fits: bool) -> None:
    row = JointRow(
        rank=1,
        joint="soldered",
        type="solder",
        tools=frozenset({"iron"}),
        covers=frozenset({"tape"}),
        words="soldered",
    )

    assert row.fits(*make) == fits


def test_the_risk_matrix_has_every_cell() -> None:
    assert set(risk_matrix()) == {(severity, letter) for severity in SEVERITIES for letter in PROBABILITIES}
    assert set(risk_matrix().values()) == set(LEVELS)


def test_words_of_a_factor_are_told_apart_by_one_parameter() -> None:
    told = [(row["code"], row["when"]) for row in rows("rating_words")]

    assert len(set(told)) == len(told)
    assert all(row["words"] for row in rows("rating_words"))
    assert [when for _, when in told if when and not re.fullmatch("[a-z_]+=[a-z_]+", when)] == []


def test_a_distance_is_found_by_its_name_in_metres() -> None:
    assert {row["unit"] for row in rows("distances")} == {"m"}
    assert distance_m("protection_from_source") == 0.1778  # 7 in, 33 CFR 183.455(b)(1)
    with pytest.raises(ValueError, match="not enough values"):
        distance_m("nothing")


def test_splices_are_40_mm_apart_by_the_trade_and_12_in_from_a_termination_by_aircraft_practice() -> None:
    assert distance_m("splice_from_termination") == distance_m("splice_from_next") == 0.04
    assert distance_m("splice_from_termination_aircraft") == pytest.approx(12 * 0.0254, rel=1e-12)  # AC 43.13-1B
    assert [greatest_count(f"joints_in_a_wire{one}") for one in ("", "_aircraft")] == [1, 1]
    with pytest.raises(ValueError, match="not enough values"):
        greatest_count("nothing")


def test_the_smallest_size_of_the_limits_has_nothing_below_it() -> None:
    smallest = min(float(row["size_mm2"]) for row in rows("conductor_limits"))

    assert conductor_limit_A(smallest) > 0
    assert conductor_limit_A(smallest * 0.97) == 0


def test_every_colour_has_a_screen_colour_of_six_digits_and_no_two_the_same() -> None:
    assert set(screen_colours()) == set(colour_words().values())
    assert all(re.fullmatch("#[0-9a-f]{6}", shown) for shown in screen_colours().values())
    assert len(set(screen_colours().values())) == len(screen_colours())


def test_words_and_letters_of_colours_are_in_lower_case_and_lead_to_letters() -> None:
    assert all(word == word.lower() for _, word in colour_words())
    assert set(colour_words().values()) <= {row["letters"] for row in rows("colours")}
    assert {system for system, _ in colour_words()} == {"IEC 60757", "DIN 72551", "words"}
    for word in ("gray", "purple"):
        assert ("words", word) in colour_words()


def test_every_unit_has_a_positive_factor_and_each_quantity_one_unit_of_its_own() -> None:
    assert all(float(row["factor"]) > 0 for row in rows("units"))
    for quantity in {row["quantity"] for row in rows("units")}:
        factors = [float(row["factor"]) for row in rows("units") if row["quantity"] == quantity]
        assert factors.count(1) == 1, quantity


def test_every_install_is_of_functions_and_devices_that_are_known() -> None:
    kinds = set(schema("common")["$defs"]["device"]["properties"]["kind"]["enum"])
    for row in rows("install_signatures"):
        devices = {device for device in row["devices"].split("|") if device}
        assert set(row["functions"].split("|")) <= set(functions()), row
        assert devices <= kinds, row
        assert 1 <= int(row["least"]) <= len(row["functions"].split("|")) + len(devices), row
