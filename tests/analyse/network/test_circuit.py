"""Laws of networks, over networks drawn at random."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from random import Random

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.network.laws import Law
from tests.analyse.network.made_up import OHM, Element, Net, behind, linear, networks, resistor

JOINED = networks(linear, joined=True)


@given(networks())
def test_every_network_is_solved_and_currents_add_up_at_every_node(net: Net) -> None:
    found, circuit = net.solved(), net.circuit()
    assert found.converged
    left = np.bincount(circuit.one, found.current_A, net.nodes) - np.bincount(circuit.other, found.current_A, net.nodes)
    assert np.max(np.abs(left)) < 1e-6


@given(networks())
def test_currents_are_those_of_the_laws_at_the_voltages(net: Net) -> None:
    found, circuit = net.solved(), net.circuit()
    amps, slopes = net.laws().currents(found.voltage_V[circuit.one] - found.voltage_V[circuit.other])
    conducts = net.active()
    conducts[list(found.collapsed)] = False
    assert found.current_A == pytest.approx(np.where(conducts, amps, 0.0), rel=1e-9, abs=1e-9)
    assert found.slope_S == pytest.approx(np.where(conducts, slopes, 0.0), rel=1e-9)


@given(networks())
def test_power_given_is_power_taken(net: Net) -> None:
    found, circuit = net.solved(), net.circuit()
    power = (found.voltage_V[circuit.one] - found.voltage_V[circuit.other]) * found.current_A
    assert np.sum(power) == pytest.approx(0.0, abs=1e-6 * max(1.0, float(np.sum(np.abs(power)))))


@given(networks())
def test_what_nothing_ties_to_ground_floats(net: Net) -> None:
    found = net.solved()
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(range(net.nodes))
    graph.add_edges_from((each.one, each.other) for each in net.elements if each.active)
    for number in found.collapsed:
        each = net.elements[number]
        others = [one for at, one in enumerate(net.elements) if at not in found.collapsed and one.active]
        if not any({one.one, one.other} == {each.one, each.other} for one in others):
            graph.remove_edges_from([(each.one, each.other)])
    tied = nx.node_connected_component(graph, net.ground)
    assert set(np.flatnonzero(~found.floating).tolist()) == tied
    for part in nx.connected_components(graph):
        if net.ground not in part:
            assert min(abs(found.voltage_V[node]) for node in part) < 1e-9, "one of its nodes is what it counts from"


@given(networks(), st.randoms(use_true_random=False))
def test_the_order_of_nodes_and_elements_makes_no_difference(net: Net, random: Random) -> None:
    places = list(range(net.nodes))
    random.shuffle(places)
    order = list(range(len(net.elements)))
    random.shuffle(order)
    moved = [replace(each, one=places[each.one], other=places[each.other]) for each in net.elements]
    other = Net(tuple(moved[number] for number in order), net.nodes, ground=places[net.ground])
    here, there = net.solved(), other.solved()
    if len(here.collapsed) > 1:
        return  # of several that bring the supply down together, one has to be named first
    assert sorted(order[number] for number in there.collapsed) == list(here.collapsed)
    assert there.current_A == pytest.approx(here.current_A[order], rel=1e-6, abs=1e-6)


@given(JOINED, st.integers(0, 100))
def test_the_node_counted_from_makes_no_difference(net: Net, number: int) -> None:
    here, there = net.solved(), replace(net, ground=number % net.nodes).solved()
    assert there.current_A == pytest.approx(here.current_A, rel=1e-6, abs=1e-6)


@given(JOINED, st.data())
def test_in_a_linear_network_sources_add_up(net: Net, data: st.DataObject) -> None:
    counts = data.draw(st.lists(st.booleans(), min_size=len(net.elements), max_size=len(net.elements)))

    def only(wanted: bool) -> Net:
        kept = (
            replace(each, numbers=(0.0, *each.numbers[1:])) if each.law == Law.BATTERY and counted != wanted else each
            for each, counted in zip(net.elements, counts, strict=True)
        )
        return replace(net, elements=tuple(kept))

    one, other, both = only(True).solved(), only(False).solved(), net.solved()
    assert one.voltage_V + other.voltage_V == pytest.approx(both.voltage_V, rel=1e-9, abs=1e-9)


@given(JOINED, st.integers(0, 7), st.integers(0, 7), OHM)
def test_a_resistor_more_lowers_no_current_of_a_source(net: Net, one: int, other: int, ohm: float) -> None:
    """Rayleigh's monotonicity law, for what is seen from a battery that is the only one."""
    passive = [each for each in net.elements if each.law == Law.RESISTOR]
    battery = Element(Law.BATTERY, 1, 0, (12.0, 100.0, 100.0))
    one, other = one % net.nodes, other % net.nodes
    if one == other:
        return
    before = Net((battery, *passive), net.nodes).solved().current_A[0]
    after = Net((battery, *passive, resistor(one, other, ohm)), net.nodes).solved().current_A[0]
    assert after <= before + 1e-9


@st.composite
def of_whole_numbers(draw: st.DrawFn) -> tuple[Net, list[tuple[int, int, int, int]]]:
    """A network with whole conductances, and its elements as nodes, conductance and voltage."""
    nodes = draw(st.integers(2, 6))
    rows = [(draw(st.integers(0, node - 1)), node, draw(st.integers(1, 9)), 0) for node in range(1, nodes)]
    pair = st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1)).filter(lambda both: both[0] != both[1])
    for _ in range(draw(st.integers(0, 6))):
        rows.append((*draw(pair), draw(st.integers(1, 9)), draw(st.integers(-12, 12))))
    made = tuple(Element(Law.BATTERY, one, other, (volts, siemens, siemens)) for one, other, siemens, volts in rows)
    return Net(made, nodes), rows


@given(of_whole_numbers())
def test_against_exact_arithmetic(made: tuple[Net, list[tuple[int, int, int, int]]]) -> None:
    net, rows = made
    exact = by_elimination(rows, net.nodes)
    assert net.solved().voltage_V == pytest.approx([float(one) for one in exact], rel=1e-9, abs=1e-12)


def by_elimination(rows: list[tuple[int, int, int, int]], nodes: int) -> list[Fraction]:
    """Node voltages by nodal analysis and Gauss's elimination in fractions; node 0 is ground."""
    matrix = [[Fraction(0)] * (nodes + 1) for _ in range(nodes)]
    for one, other, siemens, volts in rows:
        for node, sign, far in ((one, 1, other), (other, -1, one)):
            matrix[node][node] += siemens
            matrix[node][far] -= siemens
            matrix[node][nodes] += sign * siemens * volts
    unknown = [row[1:] for row in matrix[1:]]
    size = nodes - 1
    for pivot in range(size):
        for row in range(size):
            if row != pivot:
                share = unknown[row][pivot] / unknown[pivot][pivot]
                unknown[row] = [a - share * b for a, b in zip(unknown[row], unknown[pivot], strict=True)]
    return [Fraction(0)] + [unknown[row][size] / unknown[row][row] for row in range(size)]


@pytest.mark.parametrize("ohm", [0.02, 0.3, 1.0])
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99, 0.9999, 1.0001, 1.01, 2.0])
def test_constant_power_has_the_high_voltage_or_none(ohm: float, share: float) -> None:
    """V = E/2·(1 + √(1 − P/P_max)) with P_max = E²/4R, from V² − E·V + P·R = 0."""
    found = behind(ohm, share).solved()
    assert found.collapsed == ((2,) if share > 1 else ())
    expected = 12.6 / 2 * (1 + (1 - share) ** 0.5) if share < 1 else 12.6
    assert found.voltage_V[2] == pytest.approx(expected, abs=1e-6)


def test_of_two_loads_the_weaker_one_brings_the_supply_down() -> None:
    elements = (
        Element(Law.BATTERY, 1, 0, (12.6, 100.0, 5.0)),
        Element(Law.POWER, 1, 0, (60.0, 3.0, 1.0)),
        resistor(1, 2, 1.0),
        Element(Law.POWER, 2, 0, (60.0, 3.0, 1.0)),
    )
    found = Net(elements, 3).solved()
    assert found.collapsed == (3,)
    assert found.current_A[1] * found.voltage_V[1] == pytest.approx(60, abs=1e-3)


def test_a_load_of_constant_power_towards_nothing_is_not_taken_for_one_that_brings_its_supply_down() -> None:
    elements = (
        resistor(0, 1, 1.0),
        Element(Law.SOURCE, 3, 2, (4.0, 1.0, 0.0, 1.0)),
        Element(Law.POWER, 0, 2, (1.0, 3.0, 1.0)),
    )
    found = Net(elements, 4, ground=3).solved()
    assert found.collapsed == ()
    assert found.current_A == pytest.approx(0.0, abs=1e-8)


@pytest.mark.parametrize("drawn_A", [4.999999, 5.0, 5.000001])
def test_a_source_at_the_edge_of_its_limit_is_solved(drawn_A: float) -> None:
    elements = (
        Element(Law.SOURCE, 1, 0, (14.0, 10.0, 0.0, 5.0)),
        Element(Law.CURRENT, 1, 0, (drawn_A, 3.0, 1.0)),
    )
    found = Net(elements, 2).solved()
    assert found.converged
    assert found.current_A[1] == pytest.approx(5.0, abs=2e-6)


def test_a_search_that_begins_at_a_kink_does_not_end_there() -> None:
    elements = (
        Element(Law.BATTERY, 1, 0, (12.6, 100.0, 5.0)),
        Element(Law.DIODE, 2, 1, (0.8, 100.0)),
    )
    net = Net(elements, 3)
    found = net.circuit().solve(net.laws(), net.active(), np.array([0.0, 12.6, 12.6 + 0.8 + 1e-12]))
    assert found.voltage_V == pytest.approx([0, 12.6, 12.6])


def test_a_dead_network_has_no_voltage() -> None:
    found = Net((resistor(0, 1, 1.0), resistor(1, 2, 1.0, active=False), resistor(2, 3, 1.0)), 4).solved()
    assert found.voltage_V.tolist() == [0.0] * 4
    assert found.floating.tolist() == [False, False, True, True]
