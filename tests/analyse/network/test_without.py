"""What goes dead without a fuse, by one update of the solved network, against the network solved without it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.analyse.network.values import rated
from harnessdiff.analyse.network.without import LEAST_A, chords, dead_without, killers
from harnessdiff.graph import PROTECTIVE
from harnessdiff.model.parts import Load
from harnessdiff.tables.loader import limit
from tests.analyse.network.solved import SOME, found, with_switches_on
from tests.analyse.rigs import at, bridge, two_lamps
from tests.support import bench_data, case_from, reference_from

CLEARLY = 2.0
"""How many times the bound, or by how much less, a voltage must be for both ways to agree: lamps are no resistances."""


def share(settled: Settled, voltages: object, load: Branch) -> float:
    index, part = settled.network.index, load.part
    assert isinstance(part, Load)
    volts = np.asarray(voltages)
    return abs(float(volts[index[load.one]] - volts[index[load.other]])) / rated(part)[0]


@settings(max_examples=40)
@given(st.data())
def test_low_rank_agrees_with_solving_without_the_fuse(data: st.DataObject) -> None:
    settled = found(data)
    network, dead = settled.network, dead_without(settled)
    for number, loads in dead.items():
        active = settled.active.copy()
        active[number] = False
        without = network.circuit.solve(settled.laws, active).voltage_V
        for load in network.loads:
            before, after = (share(settled, one, load) for one in (settled.solution.voltage_V, without))
            if not settled.conducts(load) or before < 1.05 * limit("load_dim_share"):
                continue
            if after < limit("load_glows_share") / CLEARLY:
                assert load.number in loads
            elif after > limit("load_glows_share") * CLEARLY:
                assert load.number not in loads


@settings(max_examples=20)
@given(st.data())
def test_every_protective_device_that_carries_current_is_looked_at_and_no_other(data: st.DataObject) -> None:
    settled = found(data)
    carrying = {
        one.number
        for one in settled.network.branches
        if one.kind in PROTECTIVE and abs(settled.current_A(one)) > LEAST_A
    }
    working = [one for one in settled.network.loads if settled.conducts(one)]

    assert set(dead_without(settled)) == (carrying if working else set())


@settings(max_examples=20)
@given(st.data())
def test_chord_times_voltage_is_the_current_of_what_is_no_source(data: st.DataObject) -> None:
    settled = found(data)
    conductance = chords(settled)

    for branch in settled.network.branches:
        if branch.kind != "source" and settled.conducts(branch):
            amps = conductance[branch.number] * settled.across_V(branch)
            assert amps == pytest.approx(settled.current_A(branch), abs=1e-6)


def test_every_lamp_of_the_two_hangs_on_its_own_fuse() -> None:
    data = two_lamps()
    both = [one for one in data.conditions if one.id == "left"]
    network = Network(data.harness)
    settled = settle(network, both[0])
    (lamp,) = [one for one in network.loads if one.element == "E"]

    assert killers(settled) == {lamp.number: {"F_FUSE"}}


def test_lamp_fed_by_two_fuses_hangs_on_neither() -> None:
    reference = two_lamps()
    as_found = case_from(reference, bridge("X", at("W_S_1"), at("W_T_1"))).as_found
    settled = settle(Network(as_found), next(one for one in reference.conditions if one.id == "left"))

    assert killers(settled) == {}


def test_lamp_behind_two_fuses_one_after_the_other_hangs_on_each() -> None:
    data = bench_data()
    network = Network(reference_from(data).harness)
    settled = settle(network, with_switches_on(data))
    (lamp,) = [one for one in network.loads if one.element == "E1"]

    assert killers(settled)[lamp.number] == {"F0_FUSE", "F1_FUSE"}


def test_nothing_hangs_on_a_fuse_of_a_harness_that_draws_nothing() -> None:
    data = two_lamps()

    assert dead_without(settle(Network(data.harness), SOME)) == {}
