"""Entries of the inverse against the whole inverse, exact arithmetic, and the laws of resistive networks."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.sparse import csc_array, csc_matrix, eye_array
from scipy.sparse.linalg import splu

from harnessdiff.analyse.network import inverse
from harnessdiff.analyse.network.inverse import (
    GROUND,
    diagonal_of_inverse,
    entries_of_inverse,
    factorise,
    selected_inverse,
)
from tests.analyse.network.networks import Network, harness_like, networks


def dense(matrix: csc_array) -> NDArray[np.float64]:
    return np.asarray(np.linalg.inv(matrix.toarray()))


@given(networks())
def test_the_diagonal_is_that_of_the_whole_inverse(network: Network) -> None:
    np.testing.assert_allclose(
        diagonal_of_inverse(network.matrix), network.dense_inverse().diagonal(), rtol=1e-9, atol=0
    )


@given(networks())
def test_every_stored_place_has_the_entry_of_the_whole_inverse(network: Network) -> None:
    whole = network.dense_inverse()
    entries = entries_of_inverse(network.matrix).tocoo()
    assert entries.nnz == network.matrix.nnz
    np.testing.assert_allclose(entries.data, whole[entries.row, entries.col], rtol=1e-9, atol=1e-12 * whole.max())


@given(networks(most_nodes=7))
def test_it_agrees_with_rational_arithmetic(network: Network) -> None:
    exact = network.exact_inverse()
    found = selected_inverse(network.matrix)
    np.testing.assert_allclose(
        found.diagonal_ohm, [float(exact[node][node]) for node in range(network.nodes)], rtol=1e-9, atol=0
    )
    one, other = network.between_nodes.T
    np.testing.assert_allclose(
        found.between(one, other),
        [float(exact[a][b]) for a, b in zip(one.tolist(), other.tolist(), strict=True)],
        rtol=1e-9,
        atol=0,
    )


@given(networks())
def test_conductance_times_resistance_sums_to_the_number_of_nodes(network: Network) -> None:
    """R. M. Foster, "The average impedance of an electrical network", 1949: n - 1, the ground node counted."""
    across = selected_inverse(network.matrix).resistance_across(*network.branches.T)
    assert (network.conductances_S * across).sum() == pytest.approx(network.nodes, rel=1e-6)


@given(networks(), st.data())
def test_more_conductance_never_raises_a_resistance(network: Network, data: st.DataObject) -> None:
    """Rayleigh's law of monotonicity (J. W. Strutt, "The Theory of Sound", 1877)."""
    nodes = st.integers(GROUND, network.nodes - 1)
    one, other = data.draw(st.tuples(nodes, nodes).filter(lambda pair: pair[0] != pair[1]))
    added = network.with_branch(one, other, data.draw(st.floats(1e-3, 1e3)))
    before, after = selected_inverse(network.matrix), selected_inverse(added.matrix)
    assert (after.diagonal_ohm <= before.diagonal_ohm * (1 + 1e-9)).all()
    ends = network.branches.T
    slack = 1e-9 * before.diagonal_ohm.max()
    assert (after.resistance_across(*ends) <= before.resistance_across(*ends) + slack).all()


@pytest.mark.parametrize("elsewhere", [0.0, 0.05, 1.0])
def test_a_harness_with_wide_columns(elsewhere: float) -> None:
    matrix = harness_like(1500, elsewhere=elsewhere).matrix
    np.testing.assert_allclose(diagonal_of_inverse(matrix), dense(matrix).diagonal(), rtol=1e-11, atol=0)


def test_batches_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    matrix = harness_like(300).matrix
    at_once = diagonal_of_inverse(matrix)
    monkeypatch.setattr(inverse, "_TERMS_AT_ONCE", 7)
    np.testing.assert_array_equal(diagonal_of_inverse(matrix), at_once)


def test_a_factor_at_hand_is_used() -> None:
    matrix = harness_like(100).matrix
    factor = factorise(matrix)
    np.testing.assert_array_equal(diagonal_of_inverse(matrix, factor), diagonal_of_inverse(matrix))
    np.testing.assert_array_equal(diagonal_of_inverse(csc_matrix(matrix), factor), diagonal_of_inverse(matrix))
    np.testing.assert_allclose(diagonal_of_inverse(2 * matrix, factor), diagonal_of_inverse(matrix))


def test_nodes_that_only_ground_holds_together() -> None:
    np.testing.assert_array_equal(diagonal_of_inverse(csc_array(4.0 * eye_array(5))), [0.25] * 5)
    np.testing.assert_array_equal(diagonal_of_inverse(csc_array([[8.0]])), [0.125])


def test_an_open_branch_kept_in_the_matrix_has_its_entry() -> None:
    chain = Network(nodes=4, branches=np.array([[0, GROUND], [0, 1], [1, 2], [2, 3]]), conductances_S=np.ones(4))
    opened = chain.with_branch(3, 1, 0.0).with_branch(0, 3, 0.0)
    assert opened.matrix.nnz == chain.matrix.nnz + 4
    np.testing.assert_allclose(selected_inverse(opened.matrix).resistance_across([3, 0, 3], [1, 3, GROUND]), [2, 3, 4])


@given(networks(), st.data())
def test_any_branches_open_but_kept(network: Network, data: st.DataObject) -> None:
    leaks = np.stack((np.arange(network.nodes), np.full(network.nodes, GROUND)), axis=1)
    shut = np.array(data.draw(st.lists(st.booleans(), min_size=len(network.branches), max_size=len(network.branches))))
    opened = Network(
        nodes=network.nodes,
        branches=np.concatenate((network.branches, leaks)),
        conductances_S=np.concatenate((network.conductances_S * shut, np.ones(network.nodes))),
    )
    whole = opened.dense_inverse()
    one, other = opened.branches.T
    found = selected_inverse(opened.matrix)
    np.testing.assert_allclose(found.diagonal_ohm, whole.diagonal(), rtol=1e-10)
    between = np.where((opened.branches == GROUND).any(axis=1), 0, whole[one, other])
    np.testing.assert_allclose(found.between(one, other), between, rtol=1e-10, atol=1e-14)


@pytest.mark.parametrize("seed", range(40))
def test_any_entries_of_the_factor_that_cancel(seed: int) -> None:
    """No network has positive entries off the diagonal; but only so do many sums come out as exactly 0."""
    chance = np.random.default_rng(seed)
    lower = np.tril(chance.choice([0, 0, 0, 1, -1], (30, 30)), -1).astype(float)
    matrix = csc_array(lower + lower.T + 64 * np.eye(30))
    factor = splu(matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    found = selected_inverse(matrix, factor)
    assert (np.diff(found.keys) > 0).all()
    entries = matrix.tocoo()
    whole = dense(matrix)
    np.testing.assert_allclose(
        found.between(entries.row, entries.col), whole[entries.row, entries.col], rtol=1e-12, atol=1e-15
    )


@pytest.mark.parametrize(
    "rows",
    [
        [[1, 1, 1, 0], [1, 3, 1, 0], [1, 1, 4, 1], [0, 0, 1, 5]],
        [[4, 0, 1, 1, 0], [0, 4, 1, -1, 0], [1, 1, 4, 0, 1], [1, -1, 0, 4, 1], [0, 0, 1, 1, 4]],
    ],
)
def test_entries_of_the_factor_that_cancel(rows: list[list[float]]) -> None:
    matrix = csc_array(np.array(rows, dtype=float))
    factor = splu(matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    entries = entries_of_inverse(matrix, factor).tocoo()
    np.testing.assert_allclose(entries.data, dense(matrix)[entries.row, entries.col], rtol=1e-13, atol=1e-14)


def test_a_ring_so_leaky_that_its_factor_underflows() -> None:
    nodes = 60
    around = [(node, (node + 1) % nodes) for node in range(nodes)]
    leaks = [(node, GROUND) for node in range(nodes)]
    conductances = np.concatenate((np.full(nodes, 1e-30), np.ones(nodes)))
    ring = Network(nodes=nodes, branches=np.array(around + leaks), conductances_S=conductances)
    factor = splu(ring.matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    found = selected_inverse(ring.matrix, factor)
    np.testing.assert_allclose(found.diagonal_ohm, np.ones(nodes))
    np.testing.assert_allclose(found.between(*np.array(around).T), np.full(nodes, 1e-30), atol=0)


def test_ground_lies_at_no_voltage() -> None:
    found = selected_inverse(harness_like(30).matrix)
    np.testing.assert_array_equal(found.between([0, GROUND, GROUND], [GROUND, 2, GROUND]), [0, 0, 0])
    assert found.resistance_across(3, GROUND) == found.diagonal_ohm[3]
    assert found.resistance_across(GROUND, 3) == found.diagonal_ohm[3]


def test_pairs_without_a_branch_are_refused() -> None:
    star = Network(nodes=4, branches=np.array([[0, GROUND], [1, 0], [2, 0], [3, 0]]), conductances_S=np.ones(4))
    found = selected_inverse(star.matrix)
    with pytest.raises(KeyError) as refused:
        found.resistance_across([1, 1, 2], [0, 2, 3])
    assert refused.value.args == ((1, 2),)


def test_a_factor_pivoted_off_the_diagonal_is_refused() -> None:
    matrix = csc_array([[1.0, 9.0], [9.0, 100.0]])
    with pytest.raises(ValueError, match="not pivoted on the diagonal"):
        diagonal_of_inverse(matrix, splu(matrix))


def test_what_hangs_on_nothing_is_refused() -> None:
    with pytest.raises(RuntimeError, match="singular"):
        diagonal_of_inverse(csc_array([[1.0, -1.0], [-1.0, 1.0]]))
