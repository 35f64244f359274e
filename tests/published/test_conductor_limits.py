"""Greatest fuse for a conductor: the prudent vehicle table, and the law's own ceiling above it."""

from __future__ import annotations

import pytest

from harnessdiff.tables.loader import LIMIT_TABLE, awg_to_mm2, conductor_limit_A, rows

# The prudent vehicle table: copper, greatest fuse in a vehicle. Common practice; no standard prints it.
# Columns: cross-section [mm²], greatest fuse [A].
PRUDENT = [
    (0.35, 5),
    (0.5, 7.5),
    (0.75, 10),
    (1.0, 15),
    (1.5, 20),
    (2.5, 30),
    (4, 40),
    (6, 60),
    (10, 80),
    (16, 125),
    (25, 150),
]

# 33 CFR 183.425 Table 5, insulation for 60 °C, allowable amperes; 183.455(c)(1): protection of at most
# 150 % of it (text of both confirmed in public copies of the regulation). Boats, by analogy.
TABLE_5_60C = [(18, 10), (16, 15), (14, 20), (12, 25), (10, 40), (8, 55), (6, 80), (4, 105)]


@pytest.mark.parametrize(("size_mm2", "limit_A"), PRUDENT)
def test_every_size_has_the_limit_of_common_practice(size_mm2: float, limit_A: float) -> None:
    assert conductor_limit_A(size_mm2) == limit_A


def test_the_table_has_these_rows_and_no_others_and_calls_itself_common_practice() -> None:
    own = [row for row in rows("conductor_limits") if row["table"] == LIMIT_TABLE]

    assert [(float(row["size_mm2"]), float(row["limit_A"])) for row in own] == PRUDENT
    assert {row["status"] for row in own} == {"common practice"}


@pytest.mark.parametrize(
    ("size_mm2", "limit_A"), [(0, 0), (0.34, 0), (0.6, 7.5), (1.2, 15), (2.4, 20), (3.9, 30), (24, 125), (95, 150)]
)
def test_a_size_between_two_rows_counts_as_the_lower(size_mm2: float, limit_A: float) -> None:
    assert conductor_limit_A(size_mm2) == limit_A


@pytest.mark.parametrize(
    ("size_mm2", "limit_A"), [(0.735, 7.5), (0.7354, 10), (1.47, 15), (1.471, 20), (2.45, 20), (2.4511, 30)]
)
def test_two_per_cent_under_a_row_still_count_as_the_row(size_mm2: float, limit_A: float) -> None:
    assert conductor_limit_A(size_mm2) == limit_A


@pytest.mark.parametrize(("gauge", "allowable_A"), TABLE_5_60C)
def test_no_limit_is_above_what_the_law_for_boats_allows(gauge: int, allowable_A: float) -> None:
    assert 0 < conductor_limit_A(awg_to_mm2(gauge)) <= 1.5 * allowable_A


def test_a_thicker_conductor_never_has_a_lower_limit() -> None:
    limits = [conductor_limit_A(hundredths / 100) for hundredths in range(3000)]

    assert limits == sorted(limits)
