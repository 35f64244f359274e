"""Where a joint of unknown resistance is hottest, against the maximum power transfer theorem."""

from __future__ import annotations

import numpy as np
import pytest

from harnessdiff.analyse.network.ranges import ranges
from harnessdiff.analyse.network.unknowns import GROUND, PowerIn, UnknownConductance


# M. H. von Jacobi, 1840: a source of E and R delivers most, E²/4R, into a load equal to R (from memory).
@pytest.mark.parametrize(("emf_V", "resistance_ohm"), [(12.0, 0.5), (24.0, 4.0)])
def test_a_joint_is_hottest_where_it_matches_what_feeds_it(emf_V: float, resistance_ohm: float) -> None:
    joint = UnknownConductance(
        plus=0, minus=GROUND, nominal_S=10 / resistance_ohm, low_S=0.01 / resistance_ohm, high_S=50 / resistance_ohm
    )
    matrix = np.array([[1 / resistance_ohm + joint.nominal_S]])
    voltages = np.array([emf_V / resistance_ohm]) / matrix[0]
    (found,) = ranges(lambda right: right / matrix, voltages, [joint], [PowerIn(branch=0)], span_V=(0, emf_V))
    assert found.high == pytest.approx(emf_V**2 / (4 * resistance_ohm), rel=1e-9)
    assert found.low == pytest.approx(emf_V**2 / resistance_ohm * 0.01 / 1.01**2, rel=1e-9)
