"""Entries of the inverse of a conductance matrix, without the inverse: its diagonal, and those between neighbours.

The entry Z_nn of Z = G⁻¹ is the resistance that the network shows between node n and ground, Z_ab the voltage
at a where 1 A enters at b. The whole inverse is dense; a factor G = L·D·Lᵀ with few entries gives those
at the places of L from one another, last column first [1]_, [2]_::

    Z_ij = -Σ_k Z_ik·L_kj                (i, k > j with L_kj ≠ 0)
    Z_jj = 1/D_jj - Σ_k L_kj·Z_kj

A column asks only for columns above it in the elimination tree, so all that are equally deep are done at
once. The last columns, which fill up where circuits are tied to one another, are inverted as a dense block.

References
----------
.. [1] K. Takahashi, J. Fagan, M.-S. Chin, "Formation of a sparse bus impedance matrix and its application to short
       circuit study", Proc. 8th PICA Conference, 1973.
.. [2] A. M. Erisman, W. F. Tinney, "On computing certain elements of the inverse of a sparse matrix", Communications
       of the ACM 18 (3), 1975, pp. 177-179.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Final, NamedTuple, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csc_array, csc_matrix
from scipy.sparse.linalg import SuperLU, splu

Sparse: TypeAlias = csc_array | csc_matrix
Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.int64]

GROUND: Final = -1
"""Stands for the ground node, which has no row in the matrix, wherever a pair of nodes is asked for."""

_TERMS_AT_ONCE: Final = 1 << 20  # bounds the memory of one batch to some 50 MB


def factorise(matrix: Sparse) -> SuperLU:
    """The factor of a conductance matrix, with few entries and pivots on the diagonal.

    Parameters
    ----------
    matrix
        Conductances in siemens: symmetric and positive definite, so every node has a way to ground.

    Returns
    -------
    SuperLU
        ``factor.solve(currents_A)`` gives voltages in volts.

    Raises
    ------
    RuntimeError
        The matrix is exactly singular: some part of the network has no way to ground.
    """
    return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SelectedInverse:
    """The entries of an inverse conductance matrix at the places of the matrix and of its factor.

    Parameters
    ----------
    diagonal_ohm
        Resistance between each node and ground, by node.
    order
        Row of each node in the factor.
    keys
        Place of each entry in the lower half: column times number of nodes plus row, ascending.
    entries_ohm
        The entries, by key.
    """

    diagonal_ohm: Floats
    order: Indices
    keys: Indices
    entries_ohm: Floats

    def between(self, one: ArrayLike, other: ArrayLike) -> Floats:
        """Entries of the inverse for pairs of nodes.

        Parameters
        ----------
        one, other
            Nodes, or `GROUND`; each pair one and the same node or the two ends of a branch of the network.

        Returns
        -------
        ndarray
            Ohms, a pair: the voltage at the one where 1 A enters at the other; 0 where either is ground.

        Raises
        ------
        KeyError
            No branch lies between the nodes of a pair, so its entry was not computed.
        """
        first, second = np.broadcast_arrays(np.asarray(one, dtype=np.int64), np.asarray(other, dtype=np.int64))
        live = (first != GROUND) & (second != GROUND)
        wanted = _key(len(self.order), self.order[first[live]], self.order[second[live]])
        found = _found(self.keys, wanted)
        if not found.all():
            absent = np.argmin(found)
            raise KeyError((int(first[live][absent]), int(second[live][absent])))
        between = np.zeros(live.shape)
        between[live] = self.entries_ohm[_places(self.keys, wanted)]
        return between

    def resistance_across(self, one: ArrayLike, other: ArrayLike) -> Floats:
        """What an ohmmeter would show across branches, with every source at rest.

        Parameters
        ----------
        one, other
            Ends of each branch, or `GROUND`.

        Returns
        -------
        ndarray
            Ohms, a pair: Z_aa + Z_bb - 2·Z_ab. Its error follows the resistances to ground and not the
            difference: across a milliohm that hangs on ground by a megohm, some seven digits are left.

        Raises
        ------
        KeyError
            No branch lies between the nodes of a pair.
        """
        return self.between(one, one) + self.between(other, other) - 2 * self.between(one, other)


def diagonal_of_inverse(matrix: Sparse, factor: SuperLU | None = None) -> Floats:
    """Resistance between every node and ground: the diagonal of the inverse.

    A sum of conductances is stored to some 1e-16 of the largest, so a node behind a milliohm that hangs on ground by a
    megohm comes out to some seven digits.

    Parameters
    ----------
    matrix
        Conductances in siemens: symmetric and positive definite.
    factor
        What `factorise` gave for it, where that is at hand.

    Returns
    -------
    ndarray
        Ohms, a node.

    Raises
    ------
    RuntimeError
        The matrix is exactly singular.
    ValueError
        The factor was not pivoted on the diagonal.
    """
    return selected_inverse(matrix, factor).diagonal_ohm


def entries_of_inverse(matrix: Sparse, factor: SuperLU | None = None) -> csc_array:
    """The inverse at the places of the matrix itself: each node with itself and with its neighbours.

    Parameters
    ----------
    matrix
        Conductances in siemens: symmetric and positive definite.
    factor
        What `factorise` gave for it, where that is at hand.

    Returns
    -------
    csc_array
        Ohms, with an entry wherever the matrix stores one.

    Raises
    ------
    RuntimeError
        The matrix is exactly singular.
    ValueError
        The factor was not pivoted on the diagonal.
    """
    inverse = selected_inverse(matrix, factor)
    entries = inverse.between(matrix.indices, _columns(matrix))
    return csc_array((entries, matrix.indices.copy(), matrix.indptr.copy()), shape=matrix.shape)


def selected_inverse(matrix: Sparse, factor: SuperLU | None = None) -> SelectedInverse:
    """The inverse at the places of a matrix and of its factor.

    Parameters
    ----------
    matrix
        Conductances in siemens: symmetric and positive definite.
    factor
        What `factorise` gave for it, where that is at hand.

    Returns
    -------
    SelectedInverse

    Raises
    ------
    RuntimeError
        The matrix is exactly singular.
    ValueError
        The factor was not pivoted on the diagonal, so it is no L·D·Lᵀ.
    """
    factor = factor or factorise(matrix)
    if not np.array_equal(factor.perm_r, factor.perm_c):
        raise ValueError("the factor is not pivoted on the diagonal")
    order = factor.perm_c.astype(np.int64)
    lower = _Lower.of(factor, matrix, order)
    entries = np.zeros(len(lower.keys))
    entries[lower.start] = 1 / lower.pivots
    dense = lower.first_dense()
    entries[lower.start[dense] :] = lower.dense_inverse(dense)
    for wave in lower.waves(dense):
        entries[wave.places] = -np.add.reduceat(entries[wave.terms] * wave.factors, wave.first_term)
        own = lower.values[wave.places] * entries[wave.places]
        entries[wave.diagonal] -= np.add.reduceat(own, wave.first_place)
    return SelectedInverse(diagonal_ohm=entries[lower.start][order], order=order, keys=lower.keys, entries_ohm=entries)


class _Wave(NamedTuple):
    """Columns that are equally deep: their diagonal entries, those below, and the terms that each of these sums."""

    diagonal: Indices
    places: Indices
    first_place: Indices
    terms: Indices
    factors: Floats
    first_term: Indices


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lower:
    """The factor L, column by column, with the places that the inverse needs but L has zeros at."""

    nodes: int
    keys: Indices
    rows: Indices
    values: Floats
    pivots: Floats
    start: Indices
    below: Indices

    @classmethod
    def of(cls, factor: SuperLU, matrix: Sparse, order: Indices) -> _Lower:
        nodes = len(order)
        lower = factor.L
        keys = _columns(lower) * nodes + lower.indices
        ascending = np.argsort(keys, kind="stable")
        own, values = keys[ascending], lower.data[ascending]
        asked = _key(nodes, order[matrix.indices], order[_columns(matrix)])
        keys = _closed(nodes, own, asked)
        if len(keys) > len(own):
            values, short = np.zeros(len(keys)), values
            values[np.searchsorted(keys, own)] = short
        start = np.searchsorted(keys, np.arange(nodes) * (nodes + 1))  # a column begins on the diagonal
        return cls(
            nodes=nodes,
            keys=keys,
            rows=keys % nodes,
            values=values,
            pivots=factor.U.diagonal(),
            start=start,
            below=np.diff(start, append=len(keys)) - 1,
        )

    def first_dense(self) -> int:
        """The column from which on every entry of the lower half is there."""
        gaps = np.flatnonzero(self.below != np.arange(self.nodes)[::-1])
        return int(gaps[-1]) + 1 if len(gaps) else 0

    def dense_inverse(self, first: int) -> Floats:
        """The lower half, column by column, of the inverse from a column on."""
        size = self.nodes - first
        half = np.triu_indices(size)
        lower = np.zeros((size, size))
        lower.T[half] = self.values[self.start[first] :]
        root = np.linalg.inv(lower)  # the triangular solvers wake all threads even for a handful of rows
        inverse: Floats = (root.T / self.pivots[first:]) @ root
        return inverse[half]

    def waves(self, dense: int) -> Iterator[_Wave]:
        """The columns before the dense ones, so that each comes after those that it asks for."""
        depth = self.depths(dense)
        columns = np.flatnonzero(depth)
        columns = columns[np.argsort(depth[columns], kind="stable")]
        bounds = np.flatnonzero(np.diff(depth[columns], prepend=0, append=0))
        terms = np.concatenate(([0], np.cumsum(self.below[columns] ** 2)))[bounds]
        batches = np.flatnonzero(np.diff(terms[:-1] // _TERMS_AT_ONCE, prepend=-1, append=-1))
        for first, last in zip(batches[:-1].tolist(), batches[1:].tolist(), strict=True):
            of_batch = columns[bounds[first] : bounds[last]]
            yield from self.batch(of_batch, bounds[first : last + 1] - bounds[first])

    def depths(self, dense: int) -> Indices:
        """Depth of each column in the elimination tree; 0 for what asks for no other, and for the dense ones."""
        parents = self.rows[np.minimum(self.start + 1, len(self.rows) - 1)]
        parents = np.where(self.below > 0, parents, self.nodes)
        depth = [0] * self.nodes + [-1]
        for column, parent in zip(range(dense - 1, -1, -1), parents[:dense][::-1].tolist(), strict=True):
            depth[column] = depth[parent] + 1
        return np.array(depth[:-1])

    def batch(self, columns: Indices, bounds: Indices) -> Iterator[_Wave]:
        """The waves between the bounds; their terms are looked up in one go."""
        size = self.below[columns]
        begin = self.start[columns] + 1
        places = _ranges(begin, size)
        sums = np.repeat(size, size)
        partners = _ranges(np.repeat(begin, size), sums)
        terms = _places(self.keys, _key(self.nodes, np.repeat(self.rows[places], sums), self.rows[partners]))
        factors = self.values[partners]
        diagonal = self.start[columns]
        place_of = np.concatenate(([0], np.cumsum(size)))
        term_of = np.concatenate(([0], np.cumsum(sums)))
        for first, last in zip(bounds[:-1].tolist(), bounds[1:].tolist(), strict=True):
            place, place_end = place_of[first], place_of[last]
            term, term_end = term_of[place], term_of[place_end]
            yield _Wave(
                diagonal=diagonal[first:last],
                places=places[place:place_end],
                first_place=place_of[first:last] - place,
                terms=terms[term:term_end],
                factors=factors[term:term_end],
                first_term=term_of[place:place_end] - term,
            )


def _closed(nodes: int, own: Indices, asked: Indices) -> Indices:
    """Keys with which the inverse can be had: those of L, of the matrix, and what these entail.

    The recursion needs every two rows of a column to be an entry too. By its structure a factor has that, but
    entries that come out as exactly 0 (by underflow along a leaky ring, by an open branch kept as 0 S) are not stored.
    """
    keys = _joined(own, asked[~_found(own, asked)])
    column, row = np.divmod(keys, nodes)
    start = np.searchsorted(keys, np.arange(nodes + 1) * (nodes + 1))  # a column begins on the diagonal
    # enough that each other row of a column is one of its parent's, the parent being its first row
    other = np.ones(len(keys), dtype=bool)
    other[start[:-1]] = False
    other[np.minimum(start[:-1] + 1, len(keys) - 1)] = False
    parent = row[start[column[other]] + 1]
    lacking = column[other][~_found(keys, _key(nodes, parent, row[other]))]
    more: dict[int, set[int]] = {}
    waiting = sorted(set(lacking.tolist()))  # ascending, hence a heap
    while waiting:
        at = heappop(waiting)
        rows = {*row[start[at] + 1 : start[at + 1]].tolist(), *more.get(at, ())}
        above = min(rows)
        entailed = rows.difference(row[start[above] : start[above + 1]].tolist())
        if entailed:
            if above not in more:
                more[above] = set()
                heappush(waiting, above)
            more[above] |= entailed
    return _joined(keys, np.array([at * nodes + of for at, rows in more.items() for of in rows], dtype=np.int64))


def _joined(keys: Indices, more: Indices) -> Indices:
    """All keys once, ascending; of two runs a stable sort makes one without sorting them again."""
    both = np.sort(np.concatenate((keys, np.sort(more))), kind="stable")
    return both[np.diff(both, prepend=-1) > 0]


def _places(keys: Indices, wanted: Indices) -> Indices:
    """Where each wanted key stands, or would stand, among the keys."""
    return np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)


def _found(keys: Indices, wanted: Indices) -> NDArray[np.bool_]:
    """Whether each wanted key is among the keys."""
    return np.asarray(keys[_places(keys, wanted)] == wanted)


def _key(nodes: int, one: Indices, other: Indices) -> Indices:
    """The key of each pair in the lower half."""
    return np.minimum(one, other) * nodes + np.maximum(one, other)


def _columns(matrix: Sparse) -> Indices:
    """The column of each stored entry."""
    return np.repeat(np.arange(matrix.shape[1]), np.diff(matrix.indptr))


def _ranges(begin: Indices, count: Indices) -> Indices:
    """The numbers from each beginning on, so many of each, one after another."""
    return np.arange(count.sum()) + np.repeat(begin - np.cumsum(count) + count, count)
