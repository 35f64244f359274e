"""American Wire Gauge sizes against printed tables."""

from __future__ import annotations

import math

import pytest

from harnessdiff.tables.loader import awg_to_mm2

MM_PER_INCH = 25.4  # exact: international inch, 1959 (from memory)
MM2_PER_CMIL = math.pi / 4 * (MM_PER_INCH / 1000) ** 2  # a circular mil is a circle of 0.001 in

# Solid round wire by ASTM B258. The standard itself was not read: diameters and circular mils as
# printed in "Lessons in Electric Circuits", volume 5 (public textbook), a secondary copy.
# Columns: AWG, diameter [in], area [circular mil]. Every row from 24 to 4 that the copy has.
PRINTED = [
    (24, 0.02010, 404.0),
    (22, 0.02535, 642.5),
    (20, 0.03196, 1_022),
    (18, 0.04030, 1_624),
    (16, 0.05082, 2_583),
    (14, 0.06408, 4_107),
    (12, 0.08081, 6_530),
    (10, 0.1019, 10_380),
    (8, 0.1285, 16_510),
    (6, 0.1620, 26_250),
    (4, 0.2043, 41_740),
]

# A second printed list of areas, on a public page (secondary copy). It differs from the first in
# the third digit at 22 and 20 AWG, so that neither can be asked for more than 0.5 %.
# Columns: AWG, area [mm²].
PRINTED_AREAS = [
    (24, 0.205),
    (22, 0.324),
    (20, 0.519),
    (18, 0.823),
    (16, 1.31),
    (14, 2.08),
    (12, 3.31),
    (10, 5.261),
    (8, 8.367),
]

# The two sizes that define the gauge: No. 36 is 0.0050 in, No. 0000 is 0.4600 in (from memory).
DEFINING = [(36, 0.0050), (-3, 0.4600)]


@pytest.mark.parametrize(("gauge", "diameter_in", "area_cmil"), PRINTED)
def test_area_matches_the_printed_circular_mils(gauge: int, diameter_in: float, area_cmil: float) -> None:
    assert awg_to_mm2(gauge) == pytest.approx(area_cmil * MM2_PER_CMIL, rel=0.005), f"AWG {gauge}, {diameter_in} in"


@pytest.mark.parametrize(("gauge", "diameter_in", "area_cmil"), PRINTED)
def test_diameter_matches_the_printed_one(gauge: int, diameter_in: float, area_cmil: float) -> None:
    actual_in = math.sqrt(awg_to_mm2(gauge) * 4 / math.pi) / MM_PER_INCH

    assert actual_in == pytest.approx(diameter_in, rel=0.005), f"AWG {gauge}, {area_cmil} cmil"


@pytest.mark.parametrize(("gauge", "area_mm2"), PRINTED_AREAS)
def test_area_matches_a_second_printed_list(gauge: int, area_mm2: float) -> None:
    assert awg_to_mm2(gauge) == pytest.approx(area_mm2, rel=0.005)


@pytest.mark.parametrize(("gauge", "diameter_in"), DEFINING)
def test_the_two_sizes_that_define_the_gauge_are_exact(gauge: int, diameter_in: float) -> None:
    assert awg_to_mm2(gauge) == pytest.approx(math.pi / 4 * (diameter_in * MM_PER_INCH) ** 2, rel=1e-9)


def test_a_greater_number_is_a_thinner_wire() -> None:
    areas = [awg_to_mm2(gauge) for gauge in range(-3, 41)]

    assert areas == sorted(areas, reverse=True)
    assert len(set(areas)) == len(areas)
