"""Resistances between the nodes of known graphs: published values, and networkx.

D. J. Klein, M. Randić, "Resistance distance", Journal of Mathematical Chemistry 12, 1993, pp. 81-95 (from memory):
complete graphs 2/n, circles k·(n - k)/n. The cube of equal resistors, 7/12, 3/4 and 5/6 of one across an edge, a face
and the body: D. Atkinson, F. J. van Steenwijk, "Infinite resistive lattices", American Journal of Physics 67, 1999,
and many a textbook (from memory). networkx.resistance_distance is the outside program.
"""

from __future__ import annotations

from fractions import Fraction

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.network.inverse import GROUND, SelectedInverse, selected_inverse
from tests.analyse.network.networks import Network, networks


def grounded(graph: nx.Graph[int], ground: int) -> tuple[SelectedInverse, dict[int, int]]:
    """One ohm an edge, one node taken as ground; and the row of each node."""
    row = {node: at for at, node in enumerate(node for node in sorted(graph) if node != ground)}
    row[ground] = GROUND
    branches = np.array([(row[one], row[other]) for one, other in graph.edges])
    network = Network(nodes=len(graph) - 1, branches=branches, conductances_S=np.ones(len(branches)))
    return selected_inverse(network.matrix), row


@pytest.mark.parametrize("nodes", [3, 4, 7, 20])
def test_complete_graph(nodes: int) -> None:
    found, row = grounded(nx.complete_graph(nodes), 0)
    one, other = np.array([(row[a], row[b]) for a in range(nodes) for b in range(a)]).T
    np.testing.assert_allclose(found.resistance_across(one, other), 2 / nodes, rtol=1e-12)


@pytest.mark.parametrize("nodes", [3, 8, 501])
def test_circle(nodes: int) -> None:
    found, row = grounded(nx.cycle_graph(nodes), 0)
    away = np.arange(1, nodes)
    to_ground = found.diagonal_ohm[[row[node] for node in away.tolist()]]
    np.testing.assert_allclose(to_ground, away * (nodes - away) / nodes, rtol=1e-11)
    assert found.resistance_across(row[1], row[2]) == pytest.approx((nodes - 1) / nodes)


def test_cube() -> None:
    cube = nx.convert_node_labels_to_integers(nx.hypercube_graph(3), ordering="sorted")
    found, row = grounded(cube, 0)
    published = {1: Fraction(7, 12), 2: Fraction(3, 4), 3: Fraction(5, 6)}
    for node in range(1, 8):
        assert found.diagonal_ohm[row[node]] == pytest.approx(float(published[node.bit_count()]), rel=1e-14)
    for one, other in cube.edges:
        assert found.resistance_across(row[one], row[other]) == pytest.approx(7 / 12)


@given(networks(decades=1))
def test_any_network_as_networkx_has_it(network: Network) -> None:
    graph: nx.MultiGraph[int] = nx.MultiGraph()
    for (one, other), conductance in zip(network.branches.tolist(), network.conductances_S.tolist(), strict=True):
        graph.add_edge(one, other, weight=conductance)

    def distance(one: int, other: int) -> float:
        ohm = nx.resistance_distance(graph, one, other, weight="weight", invert_weight=False)
        assert isinstance(ohm, float)
        return ohm

    found = selected_inverse(network.matrix)
    for node, ohm in enumerate(found.diagonal_ohm.tolist()):
        assert ohm == pytest.approx(distance(node, GROUND), rel=1e-7)
    for one, other in network.branches.tolist():
        assert found.resistance_across(one, other) == pytest.approx(distance(one, other), rel=1e-6)


@given(st.integers(2, 12), st.integers(0, 11))
def test_which_node_is_ground_changes_no_distance(nodes: int, ground: int) -> None:
    wheel = nx.wheel_graph(nodes + 2)
    first, row = grounded(wheel, 0)
    again, anew = grounded(wheel, ground % len(wheel))
    for one, other in wheel.edges:
        assert first.resistance_across(row[one], row[other]) == pytest.approx(
            float(again.resistance_across(anew[one], anew[other]))
        )
