"""Tables of physics: whole, in order, and in step with the other tables."""

from __future__ import annotations

import itertools

import pytest

from harnessdiff.tables.loader import assumed_value, joint_order, rows
from harnessdiff.tables.physics import (
    carried_at,
    conductor_limits,
    conductor_resistance,
    fuse_bodies,
    fuse_elements,
    fuse_elements_source,
    fuse_gates,
    insulation_classes,
    joint_conditions,
    joint_resistance,
    least_fuse_A,
    limit_tables,
    materials,
)

BODIES = sorted({row["body"] for row in rows("fuse_gates")})
FAMILIES = sorted({(row["body"], float(row["to_A"])) for row in rows("fuse_gates")})


def test_a_thicker_conductor_of_a_table_never_has_more_resistance() -> None:
    for (table, finish), of_table in itertools.groupby(conductor_resistance(), lambda row: (row.table, row.finish)):
        own = list(of_table)
        for thin, thick in itertools.pairwise(own):
            assert thin.greatest_ohm_per_km > thick.greatest_ohm_per_km, (table, finish, thick)
            assert thin.size_mm2 < thick.size_mm2


def test_a_thicker_or_better_insulated_conductor_is_never_allowed_less() -> None:
    for row, other in itertools.product(conductor_limits(), repeat=2):
        if row.table == other.table and row.size_mm2 <= other.size_mm2:
            comparable = row.column == other.column or None not in (row.rated_degC, other.rated_degC)
            if comparable and (row.rated_degC or 0) <= (other.rated_degC or 0):
                assert row.limit_A <= other.limit_A, (row, other)


def test_the_prudent_vehicle_table_comes_first() -> None:
    assert limit_tables() == ("prudent vehicle table", "33 CFR 183.425", "AC 43.13-1B")


def test_every_material_has_every_property_and_copper_comes_first() -> None:
    assert next(iter(materials())) == "copper"
    assert set(materials()) == {"copper", "tinned_copper", "aluminium", "copper_clad_aluminium"}
    assert [name for name, metal in materials().items() if metal.assumed] == ["copper_clad_aluminium"]
    for metal in materials().values():
        assert metal.least_resistivity_ohm_mm2_per_m <= metal.greatest_resistivity_ohm_mm2_per_m


def test_an_insulation_stands_more_at_the_end_of_a_short_than_for_ever() -> None:
    assert all(row.short_degC > row.rated_degC for row in insulation_classes())
    assert all(row.short_degC > assumed_value("conductor_before_short") for row in insulation_classes())


@pytest.mark.parametrize(("body", "to_A"), FAMILIES)
def test_a_fuse_never_opens_later_at_a_greater_current(body: str, to_A: float) -> None:
    gates = fuse_gates(body, to_A)

    for low, high in itertools.pairwise(gates):
        assert low.share < high.share
        for before, after in ((low.least_s, high.least_s), (low.most_s, high.most_s)):
            assert before is None or after is None or before >= after
    for gate in gates:
        assert gate.least_s is None or gate.most_s is None or gate.least_s < gate.most_s


@pytest.mark.parametrize(("body", "to_A"), FAMILIES)
def test_what_a_gate_lets_through_never_rises_with_the_current(body: str, to_A: float) -> None:
    through = [gate.share**2 * gate.most_s for gate in fuse_gates(body, to_A) if gate.most_s is not None]

    assert through == sorted(through, reverse=True)


@pytest.mark.parametrize("body", BODIES)
def test_a_family_holds_up_to_its_greatest_rating_and_not_beyond(body: str) -> None:
    greatest = max(to_A for of, to_A in FAMILIES if of == body)

    assert fuse_gates(body, greatest)
    assert not fuse_gates(body, greatest * 1.01)
    assert fuse_gates(body, 0.5)


@pytest.mark.parametrize("body", ["blade type C", "blade type E", "glass"])
def test_resistance_of_fuses_falls_between_the_two_powers_that_are_used_between_ratings(body: str) -> None:
    cold = list(fuse_elements(body, "cold_ohm").items())
    rounded = 1.06  # two digits are printed for the large body
    for (small, more), (large, less) in itertools.pairwise(cold):
        assert less * large <= more * small * rounded
        assert less * large**1.5 * rounded >= more * small**1.5


@pytest.mark.parametrize("body", ["blade type C", "blade type E"])
def test_a_melting_fuse_lets_no_more_through_than_its_gates_bound(body: str) -> None:
    for rating, melts_A2s in fuse_elements(body, "melting_A2s").items():
        last = fuse_gates(body, rating)[-1]
        assert last.most_s is not None
        assert melts_A2s < (last.share * rating) ** 2 * last.most_s


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("blade type C", ("blade type C",)),
        ("Blade Type E", ("blade type E",)),
        ("in-line blade holder", ("blade type C", "blade type E", "blade type F")),
        ("glass 6.3 x 32", ("glass",)),
        ("bolt-down strip, M6", ("bolt-down",)),
        ("fusible link cartridge", ("fusible link",)),
    ],
)
def test_a_body_is_known_by_what_is_said_of_it(said: str, expected: tuple[str, ...]) -> None:
    assert fuse_bodies(said) == expected


@pytest.mark.parametrize("said", ["", "fuse in the module's loom"])
def test_a_body_of_which_nothing_known_is_said_may_be_any(said: str) -> None:
    assert set(BODIES) < set(fuse_bodies(said))


def test_a_hot_place_takes_from_what_a_fuse_carries_and_never_gives() -> None:
    shares = [carried_at("blade type E", degC) for degC in range(-40, 200)]

    assert shares == sorted(shares, reverse=True)
    assert (shares[0], shares[-1]) == (1, 0.55)
    assert carried_at("glass", 85) == 1


def test_every_rank_of_joint_has_a_resistance_and_a_worse_one_never_less_at_most() -> None:
    found = joint_resistance()

    assert set(found) == {row.rank for row in joint_order()}
    for better, worse in itertools.pairwise(found[rank] for rank in sorted(found)):
        assert better.greatest_ohm <= worse.greatest_ohm
        assert better.greatest_clean_ohm <= worse.greatest_clean_ohm
    for row in found.values():
        assert 0 < row.least_ohm <= row.usual_ohm <= row.greatest_clean_ohm <= row.greatest_ohm
    assert {row["status"] for row in rows("joint_resistance")} == {"common practice"}


def test_a_bad_state_of_a_joint_is_worse_than_none() -> None:
    assert all(row.usual_times > 1 for row in joint_conditions().values())
    assert max(row.greatest_ohm for row in joint_conditions().values()) == joint_resistance()[21].greatest_ohm


def test_where_data_of_fuses_come_from_is_said_once() -> None:
    assert fuse_elements_source("blade type C", "melting_A2s").count("data sheet") == 1
    assert fuse_elements_source("ceramic", "melting_A2s") == ""
    assert least_fuse_A() == 1
