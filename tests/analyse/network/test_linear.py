"""The linear network that has the same voltages as the solved one."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.laws import Law
from harnessdiff.analyse.network.linear import Linear
from harnessdiff.analyse.network.settle import Settled, settle
from tests.analyse.network.solved import SOME, found
from tests.support import Json, bench_data, body, lamp, reference_from, rig, run, source

SOURCES = (int(Law.SOURCE), int(Law.BATTERY))


def of_sources_alone(linear: Linear) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    """Currents that sources press into the unknowns, shorted: what drives a linear network."""
    settled = linear.settled
    currents = np.zeros(settled.network.circuit.nodes - 1)
    for branch in settled.network.branches:
        if settled.active[branch.number] and settled.laws.law[branch.number] in SOURCES:
            amps = linear.conductance_S[branch.number] * settled.laws.numbers[branch.number, 0]
            for node, sign in ((branch.one, 1), (branch.other, -1)):
                if linear.at(node) >= 0:
                    currents[linear.at(node)] += sign * amps
    return currents


@settings(max_examples=40)
@given(st.data())
def test_linear_network_has_the_voltages_of_the_solved_one(data: st.DataObject) -> None:
    settled = found(data)
    linear = Linear(settled)

    assert settled.solution.converged
    solved = linear.solve(of_sources_alone(linear)[:, None])[:, 0]
    tied = [linear.at(node) for node in settled.network.nodes if settled.voltage_V(node) is not None]
    tied = [row for row in tied if row >= 0]
    assert solved[tied] == pytest.approx(linear.voltage_V[tied], abs=1e-3)


@settings(max_examples=40)
@given(st.data())
def test_no_voltage_lies_beyond_the_span(data: st.DataObject) -> None:
    settled = found(data)
    low, high = Linear(settled).span_V

    voltages = [volts for node in settled.network.nodes if (volts := settled.voltage_V(node)) is not None]
    assert low - 1e-6 <= min(voltages)
    assert max(voltages) <= high + 1e-6


@settings(max_examples=20)
@given(st.data())
def test_conductances_are_never_negative_and_nothing_where_open(data: st.DataObject) -> None:
    settled = found(data)
    conductance = Linear(settled).conductance_S

    assert np.all(np.isfinite(conductance))
    assert np.all(conductance >= 0)
    assert np.all(conductance[~settled.active] == 0)


def on_batteries(*sources: tuple[str, str, str, float]) -> Settled:
    """A lamp on sources: of each its name, what its minus and its plus are on, and its voltage."""
    devices = [source(name, voltage_V=volts) for name, _, _, volts in sources]
    stops = [stop for name, minus, plus, _ in sources for stop in (f"{name}:-", minus, f"{name}:+", plus)]
    wires = [one | {"id": f"W{number}"} for number, one in enumerate(run(*stops, size_mm2=16))]
    return settle(Network(rig([*devices, body(), lamp("E")], wires).harness), SOME)


@pytest.mark.parametrize(("sources", "span_V"), [
    ([("A", "BODY:1", "E:1", 12.0)], 12.0),
    # Side by side the greater counts, one upon the other both.
    ([("A", "BODY:1", "E:1", 12.0), ("B", "BODY:1", "E:1", 13.0)], 13.0),
    ([("A", "BODY:1", "B:-", 12.0), ("B", "A:+", "E:1", 13.0)], 25.0),
])  # fmt: skip
def test_span_is_of_the_sources_that_stand_on_ground_and_those_upon_them(
    sources: list[tuple[str, str, str, float]], span_V: float
) -> None:
    assert Linear(on_batteries(*sources)).span_V == (-span_V, span_V)


def test_ground_is_no_unknown_and_every_other_node_is_one() -> None:
    data: Json = bench_data()
    linear = Linear(settle(Network(reference_from(data).harness), SOME))
    nodes = linear.settled.network.nodes

    assert linear.at("BAT:-") == -1
    assert sorted(map(linear.at, nodes)) == list(range(-1, len(nodes) - 1))
    assert linear.voltage_V[linear.at("BAT:+")] == pytest.approx(12.6, abs=0.1)
