"""A network whose chains were taken together is the network."""

from __future__ import annotations

from itertools import pairwise

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given

from harnessdiff.analyse.network import newton
from harnessdiff.analyse.network.chains import Chains
from harnessdiff.analyse.network.laws import Law
from harnessdiff.analyse.network.nodal import Nodal
from tests.analyse.network.made_up import OHM, Element, Net, networks, resistor


@st.composite
def with_chains(draw: st.DrawFn) -> Net:
    """A network some of whose resistors are chains; in some of those something is open, once or more often."""
    net = draw(networks())
    nodes, found = net.nodes, []
    for each in net.elements:
        inside = draw(st.integers(0, 4)) if each.law == Law.RESISTOR else 0
        if not inside:
            found.append(each)
            continue
        stops = [each.one, *range(nodes, nodes + inside), each.other]
        nodes += inside
        for one, other in pairwise(stops):
            ends = (one, other) if draw(st.booleans()) else (other, one)
            found.append(resistor(*ends, draw(OHM), active=draw(st.sampled_from([True] * 6 + [False]))))
    return Net(tuple(draw(st.permutations(found))), nodes)


@given(with_chains())
def test_what_comes_out_is_what_comes_out_without(net: Net) -> None:
    circuit = net.circuit()
    plain = Nodal(circuit.one, circuit.other, net.nodes, net.ground)
    there, here = newton.solved(plain, net.laws(), net.active(), None), net.solved()
    assert here.collapsed == there.collapsed
    assert here.floating.tolist() == there.floating.tolist()
    assert here.current_A == pytest.approx(there.current_A, rel=1e-6, abs=1e-7)
    across = [each.voltage_V[circuit.one] - each.voltage_V[circuit.other] for each in (here, there)]
    conducts = here.slope_S > 1e-3
    assert across[0][conducts] == pytest.approx(across[1][conducts], rel=1e-6, abs=1e-6)


def small(net: Net) -> int:
    """How many nodes are left of a network."""
    circuit = net.circuit()
    return Chains(circuit, net.laws().law == Law.RESISTOR).small.nodes


def ring(nodes: range) -> list[Element]:
    return [resistor(one, nodes[(at + 1) % len(nodes)], 1.0) for at, one in enumerate(nodes)]


LAMP = Element(Law.FILAMENT, 5, 0, (12.0, 1.75, 17.5 / 12))
BATTERY = Element(Law.BATTERY, 1, 0, (12.6, 100.0, 5.0))
FEED = (resistor(1, 2, 0.1), resistor(3, 2, 0.2), resistor(3, 4, 0.3), resistor(4, 5, 0.4))


def test_a_feed_of_many_pieces_is_one_resistor() -> None:
    net = Net((BATTERY, *FEED, LAMP), 6)
    assert small(net) == 3
    found = net.solved()
    amps = found.current_A[5]
    assert found.current_A[1:5] == pytest.approx([amps, -amps, amps, amps], rel=1e-12)
    assert found.voltage_V[1] - found.voltage_V[2:6] == pytest.approx(amps * np.array([0.1, 0.3, 0.6, 1.0]))


@pytest.mark.parametrize(
    ("opened", "volts"),
    [
        ({1}, [12.6, 0, 0, 0, 0]),
        ({3}, [12.6, 12.6, 12.6, 0, 0]),
        ({4}, [12.6, 12.6, 12.6, 12.6, 0]),
        ({2, 4}, [12.6, 12.6, None, None, 0]),
        ({1, 4}, [12.6, None, None, None, 0]),
    ],
)
def test_what_is_cut_off_hangs_on_the_other_end_or_on_nothing(opened: set[int], volts: list[float | None]) -> None:
    elements = (BATTERY, *FEED, LAMP)
    net = Net(
        tuple(
            Element(each.law, each.one, each.other, each.numbers, at not in opened) for at, each in enumerate(elements)
        ),
        6,
    )
    found = net.solved()
    assert found.floating[1:].tolist() == [one is None for one in volts]
    assert found.voltage_V[1:] == pytest.approx([one or 0 for one in volts])
    assert np.all(found.current_A == pytest.approx(0.0, abs=1e-9))


def test_rings_on_one_node_and_on_none() -> None:
    net = Net((BATTERY, *ring(range(1, 4)), *ring(range(4, 7))), 7)
    assert small(net) == 3
    found = net.solved()
    assert found.floating.tolist() == [False] * 4 + [True] * 3
    assert found.voltage_V == pytest.approx([0, 12.6, 12.6, 12.6, 0, 0, 0])


def test_a_resistor_from_a_node_to_itself_carries_nothing() -> None:
    found = Net((BATTERY, resistor(1, 1, 1.0), resistor(1, 2, 1.0), resistor(2, 2, 1.0)), 3).solved()
    assert found.voltage_V == pytest.approx([0, 12.6, 12.6])
    assert found.current_A == pytest.approx(0.0, abs=1e-9)
