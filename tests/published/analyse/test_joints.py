"""Heat in joints against the published experiment on glowing joints."""

from __future__ import annotations

import pytest

from harnessdiff.analyse.joints import joint_resistance_ohm, worst_heat_W
from harnessdiff.model.harness import JointDetails
from harnessdiff.model.range import Range

# NBSIR 76-1011 (abstract, public): heat [W] at current [A] in a loose joint that glows; from them voltage
# across it [V] and resistance [Ω].
GLOWING = [(35, 15, 2.33, 0.1556), (5, 0.8, 6.25, 7.81)]


@pytest.mark.parametrize(("heat_W", "current_A", "drop_V", "joint_ohm"), GLOWING)
def test_a_glowing_joint(heat_W: float, current_A: float, drop_V: float, joint_ohm: float) -> None:
    assert heat_W / current_A == pytest.approx(drop_V, abs=5e-3)
    assert heat_W / current_A**2 == pytest.approx(joint_ohm, rel=1e-3)


@pytest.mark.parametrize("type_", ["butt_crimp", "insulation_displacement", "twisted", "factory_splice", "unknown"])
@pytest.mark.parametrize("state", ["loose", "burnt"])
def test_a_loose_or_burnt_joint_may_glow(type_: str, state: str) -> None:
    found = joint_resistance_ohm(JointDetails(type=type_, condition=(state,)))

    assert found.low < 0.1556 < found.high
    assert found.high == pytest.approx(5 / 0.8**2)


@pytest.mark.parametrize(("heat_W", "current_A", "drop_V", "joint_ohm"), GLOWING)
def test_heat_of_a_joint_of_that_resistance(heat_W: float, current_A: float, drop_V: float, joint_ohm: float) -> None:
    circuit_ohm = (12.6 - drop_V) / current_A
    found_W, at_ohm = worst_heat_W(12.6, circuit_ohm, Range.exactly(joint_ohm))

    assert found_W == pytest.approx(heat_W, rel=5e-3)
    assert at_ohm == joint_ohm


def test_a_claimed_range_of_bad_crimps_lies_within_ours() -> None:
    # A boating magazine: 0.01 Ω to 0.03 Ω each in a degraded crimp (the author doubts it; secondary copy).
    found = joint_resistance_ohm(JointDetails(type="butt_crimp", tool="pliers"))

    assert found.low < 0.01
    assert found.high > 0.03


def test_a_factory_splice_is_small() -> None:
    # Makers aim below 1 mΩ (trade press).
    found = joint_resistance_ohm(JointDetails(type="factory_splice", condition=("clean",)))

    assert found.nominal < 0.001
    assert found.high <= 0.003
