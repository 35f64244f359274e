"""Limits of conductors and the place of protection against the law for boats and the circular for aircraft."""

from __future__ import annotations

import pytest

from harnessdiff.analyse.conductors import limit_A
from harnessdiff.analyse.fuses import Fuse
from harnessdiff.analyse.protection import first_protection, overload
from harnessdiff.model.harness import Conductor
from harnessdiff.model.quantity import Quantity
from harnessdiff.tables.loader import awg_to_mm2
from harnessdiff.tables.physics import conductor_limits

BOATS, AIRCRAFT = "33 CFR 183.425", "AC 43.13-1B"

# 33 CFR 183.425 Table 5, allowable amperes (public copy of the current text): AWG, then by insulation.
TABLE_5 = {
    18: (10, 10, 15, 20, 20, 25, 25),
    16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45),
    12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70),
    8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135),
    4: (105, 125, 130, 135, 160, 170, 180),
    2: (140, 170, 175, 180, 210, 225, 240),
    0: (195, 230, 245, 245, 285, 305, 325),
    -3: (300, 360, 385, 385, 445, 475, 510),
}
COLUMNS = ("60C", "75C", "80C", "90C", "105C", "125C", "200C")


@pytest.mark.parametrize("gauge", TABLE_5)
def test_every_column_of_the_table_for_boats(gauge: int) -> None:
    own = [row for row in conductor_limits() if row.table == BOATS and row.size_mm2 == awg_to_mm2(gauge)]

    assert tuple(row.column for row in own) == COLUMNS
    assert tuple(row.limit_A for row in own) == TABLE_5[gauge]


@pytest.mark.parametrize(
    ("gauge", "column", "greatest_A"), [(18, "105C", 30), (16, "105C", 37.5), (14, "105C", 52.5), (16, "75C", 22.5)]
)
def test_protection_of_at_most_half_as_much_again(gauge: int, column: str, greatest_A: float) -> None:
    # 183.455(c)(1), below 50 V.
    (allowed_A,) = (
        row.limit_A
        for row in conductor_limits()
        if (row.table, row.column, row.size_mm2) == (BOATS, column, awg_to_mm2(gauge))
    )

    assert allowed_A * 1.5 == greatest_A


@pytest.mark.parametrize(
    ("insulation", "column", "allowed_A", "greatest_A"),
    [("B", "90C", 25, 37.5), ("C", "125C", 30, 45), (None, "60C", 15, 22.5)],
)
def test_gauge_16_by_its_insulation(insulation: str | None, column: str, allowed_A: float, greatest_A: float) -> None:
    found = limit_A(awg_to_mm2(16), insulation, table=BOATS)

    assert found is not None
    assert (found.column, found.limit_A, found.greatest_fuse_A) == (column, allowed_A, greatest_A)


@pytest.mark.parametrize(("rating_A", "code"), [(35, "holds"), (37.5, "holds"), (40, "fails")])
def test_the_rating_rule_for_gauge_16(rating_A: float, code: str) -> None:
    conductor = Conductor(id="W1", size_mm2=Quantity.exactly(awg_to_mm2(16)), insulation="B")
    fuse = Fuse(body="blade type C", rating_A=Quantity.exactly(rating_A))

    assert overload(conductor, fuse, BOATS).code == code


@pytest.mark.parametrize(
    ("distance_m", "sheathed", "code"),
    [(0.200, False, "fails"), (0.1778, False, "holds"), (0.200, True, "holds"), (1.016, True, "holds"),
     (1.017, True, "fails"), (0.1779, False, "fails")],
)  # fmt: skip
def test_seven_inches_and_forty_in_a_sheath(distance_m: float, sheathed: bool, code: str) -> None:
    # 183.455(b)(1) and (2): 177.8 mm, and 1016 mm in a sheath or enclosure the whole way.
    assert first_protection(Quantity.exactly(distance_m), sheathed=sheathed) == code


# AC 43.13-1B Table 11-3 (p. 11-15): AN gauge of copper, breaker [A], fuse [A].
TABLE_11_3 = [
    (22, 5, 5), (20, 7.5, 5), (18, 10, 10), (16, 15, 10), (14, 20, 15), (12, 30, 20), (10, 40, 30), (8, 50, 50),
    (6, 80, 70), (4, 100, 70), (2, 125, 100),
]  # fmt: skip


@pytest.mark.parametrize(("gauge", "breaker_A", "fuse_A"), TABLE_11_3)
def test_the_chart_for_aircraft(gauge: int, breaker_A: float, fuse_A: float) -> None:
    for kind, rating_A in (("circuit_breaker", breaker_A), ("fuse", fuse_A)):
        found = limit_A(awg_to_mm2(gauge), kind=kind, table=AIRCRAFT)
        assert found is not None
        assert found.greatest_fuse_A == rating_A
