"""What is live with some things taken out, where something is on and carries nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from harnessdiff.analyse.dead import Deadness
from harnessdiff.analyse.electrical import Solved
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.analyse.reach import Done
from tests.support import body, lamp, rig, run, source


def test_node_that_only_what_carries_nothing_ties_to_ground_is_looked_at() -> None:
    reference = rig([source(voltage_V=12), body(), lamp("E")], [*run("BAT:+", "E:1"), *run("BAT:-", "BODY:1")])
    network = Network(reference.harness)
    asleep = settled_in_all(network, reference.conditions)["asleep"]
    current, slope = asleep.solution.current_A.copy(), asleep.solution.slope_S.copy()
    ties = [one.number for one in network.branches if "E:1" in (one.one, one.other)]
    current[ties], slope[ties] = 0.0, 0.0
    idle = replace(asleep, solution=replace(asleep.solution, current_A=current, slope_S=slope))
    deadness = Deadness(Solved(network=network, settled={"asleep": idle}))

    assert np.isfinite(deadness.live(("E:1",), Done(), "asleep")["E:1"])
