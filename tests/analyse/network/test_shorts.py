"""Shorts and removals against the network solved anew for each."""

from __future__ import annotations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from harnessdiff.analyse.network.inverse import GROUND, diagonal_of_inverse, factorise
from harnessdiff.analyse.network.shorts import Shorts, short_current_A, shorts, voltages_across, without_branches
from tests.analyse.network.networks import Network, harness_like, networks

Floats = NDArray[np.float64]
AMPERES = st.integers(-20, 20)


def solved(network: Network, currents_A: Floats) -> Floats:
    return np.asarray(np.linalg.solve(network.matrix.toarray(), currents_A))


def shorted(network: Network, currents_A: Floats, node: int, short_ohm: float) -> Floats:
    """Solved anew: with the short as a branch, or with the node at ground."""
    if short_ohm:
        return solved(network.with_branch(node, GROUND, 1 / short_ohm), currents_A)
    rest = np.delete(np.arange(network.nodes), node)
    matrix = network.matrix.toarray()
    voltages = np.zeros(network.nodes)
    voltages[rest] = np.linalg.solve(matrix[np.ix_(rest, rest)], currents_A[rest])
    return voltages


def differences(voltages: Floats, pairs: NDArray[np.int64]) -> Floats:
    one, other = np.append(voltages, 0.0)[pairs].T
    return np.asarray(one - other)


def all_shorts(network: Network, currents_A: Floats, short_ohm: float | Floats) -> tuple[Floats, Shorts]:
    factor = factorise(network.matrix)
    voltages = factor.solve(currents_A)
    found = shorts(
        factor,
        voltages,
        diagonal_of_inverse(network.matrix, factor),
        branches=network.branches,
        conductances_S=network.conductances_S,
        short_ohm=short_ohm,
    )
    return voltages, found


def fed(network: Network, data: st.DataObject) -> Floats:
    return np.array(data.draw(st.lists(AMPERES, min_size=network.nodes, max_size=network.nodes)), dtype=float)


@given(networks(), st.data(), st.sampled_from([0.0, 1e-3, 0.1, 5.0]))
def test_a_short_at_every_node_is_what_solving_anew_gives(
    network: Network, data: st.DataObject, short_ohm: float
) -> None:
    currents = fed(network, data)
    voltages, found = all_shorts(network, currents, short_ohm)
    scale = 1 + abs(voltages).max() * network.conductances_S.max()
    for node in range(network.nodes):
        after = shorted(network, currents, node, short_ohm)
        through = network.conductances_S * differences(after, network.branches)
        np.testing.assert_allclose(found.through_A[:, node], through, rtol=1e-7, atol=1e-9 * scale)
        into = currents[node] - network.matrix[[node], :].toarray()[0] @ after  # what Kirchhoff's law leaves over
        assert found.current_A[node] == pytest.approx(into, rel=1e-7, abs=1e-9 * scale)


@given(networks(decades=1), st.data())
def test_each_node_may_have_a_short_of_its_own(network: Network, data: st.DataObject) -> None:
    currents = fed(network, data)
    short_ohm = np.linspace(0.1, 2, network.nodes)
    _, found = all_shorts(network, currents, short_ohm)
    for node in range(network.nodes):
        _, alone = all_shorts(network, currents, float(short_ohm[node]))
        assert found.current_A[node] == alone.current_A[node]
        np.testing.assert_array_equal(found.through_A[:, node], alone.through_A[:, node])


@given(networks(), st.floats(0, 10), st.floats(0, 10))
def test_a_larger_resistance_never_draws_more(network: Network, one_ohm: float, other_ohm: float) -> None:
    diagonal = diagonal_of_inverse(network.matrix)
    voltages = np.full(network.nodes, 12.6)
    less, more = (short_current_A(voltages, diagonal, ohm) for ohm in sorted([one_ohm, other_ohm], reverse=True))
    assert (less <= more).all()


def test_a_short_behind_a_fuse_by_hand() -> None:
    """A source of 12 V behind 0.1 ohm, a fuse of 0.1 ohm, a load of 1.8 ohm: 6 A; 60 A where the load is shorted."""
    network = Network(
        nodes=2, branches=np.array([[0, GROUND], [0, 1], [1, GROUND]]), conductances_S=np.array([10, 10, 1 / 1.8])
    )
    voltages, found = all_shorts(network, np.array([120.0, 0.0]), 0.0)
    np.testing.assert_allclose(voltages, [11.4, 10.8])
    np.testing.assert_allclose(found.current_A, [120, 60])
    np.testing.assert_allclose(found.through_A[1], [0, 60], atol=1e-12)
    _, through_a_rag = all_shorts(network, np.array([120.0, 0.0]), 0.8)
    np.testing.assert_allclose(through_a_rag.current_A[1], 10.8 / (0.18 + 0.8))


@given(networks(decades=1), st.data())
def test_voltages_of_any_pair(network: Network, data: st.DataObject) -> None:
    currents = fed(network, data)
    ends = st.integers(GROUND, network.nodes - 1)
    pairs = np.array(data.draw(st.lists(st.tuples(ends, ends), min_size=1, max_size=20)))
    factor = factorise(network.matrix)
    voltages = factor.solve(currents)
    diagonal = diagonal_of_inverse(network.matrix, factor)
    found = voltages_across(factor, voltages, diagonal, pairs=pairs, short_ohm=0.5)
    assert found.shape == (len(pairs), network.nodes)
    for node in range(network.nodes):
        after = differences(shorted(network, currents, node, 0.5), pairs)
        np.testing.assert_allclose(found[:, node], after, rtol=1e-8, atol=1e-9 * (1 + abs(voltages).max()))


@pytest.mark.parametrize("short_ohm", [-0.1, np.nan, [0.0, -1.0]])
def test_a_short_has_no_negative_resistance(short_ohm: float | list[float]) -> None:
    with pytest.raises(ValueError, match="0 ohm or more"):
        short_current_A(np.array([12.0, 12.0]), np.array([1.0, 1.0]), short_ohm)


@given(networks(decades=1), st.data())
def test_a_branch_out_is_what_solving_anew_gives(network: Network, data: st.DataObject) -> None:
    currents = fed(network, data)
    factor = factorise(network.matrix)
    voltages = factor.solve(currents)
    found = without_branches(factor, voltages, branches=network.branches, conductances_S=network.conductances_S)
    for branch in range(len(network.branches)):
        rest: nx.Graph[int] = nx.Graph(network.without(branch).branches.tolist())
        rest.add_nodes_from([GROUND, *range(network.nodes)])
        assert found.held_alone[branch] == (not nx.is_connected(rest))
        if found.held_alone[branch]:
            assert np.isnan(found.voltages_V[branch]).all()
        else:
            again = solved(network.without(branch), currents)
            np.testing.assert_allclose(found.voltages_V[branch], again, rtol=1e-6, atol=1e-8 * (1 + abs(again).max()))


def test_none_asked_for() -> None:
    network = harness_like(20)
    factor = factorise(network.matrix)
    voltages = factor.solve(np.ones(network.nodes))
    diagonal = diagonal_of_inverse(network.matrix, factor)
    assert voltages_across(factor, voltages, diagonal, pairs=[]).shape == (0, network.nodes)
    assert without_branches(factor, voltages, branches=[], conductances_S=[]).voltages_V.shape == (0, network.nodes)
