"""The shape of a network: which nodes its elements join, and the nodal matrix that comes of their conductances.

Sources have an inner resistance, so that modified nodal analysis needs no further unknowns than the
node voltages and its matrix stays symmetric. Parts of a network that hang on nothing are found first
and held at one node, through which no current flows; their nodes are reported as floating.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import csc_array, csr_array
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from harnessdiff.analyse.network.laws import Bools, Floats, Ints

HOLD_S = 1.0
"""Conductance that holds a floating part at one node; nothing flows through it."""
NOT_A_NODE = -1


@dataclass(frozen=True, eq=False, kw_only=True)
class Solution:
    """Voltages and currents of a network.

    Parameters
    ----------
    voltage_V : ndarray, shape (nodes,)
        Against ground; of a floating part against one of its nodes.
    current_A : ndarray, shape (elements,)
        From the first node to the second through the element; 0 where it does not conduct.
    slope_S : ndarray, shape (elements,)
        Derivative of the current, 0 where it does not conduct.
    floating : ndarray of bool, shape (nodes,)
        Nodes that nothing ties to ground.
    collapsed : tuple of int
        Constant-power elements that the supply cannot carry; they are off.
    converged : bool
    """

    voltage_V: Floats
    current_A: Floats
    slope_S: Floats
    floating: Bools
    collapsed: tuple[int, ...] = ()
    converged: bool = True


class Nodal:
    """Which two nodes each element joins.

    Parameters
    ----------
    one, other : ndarray of int, shape (elements,)
        Nodes of each element.
    nodes : int
        Number of nodes.
    ground : int
        The node all voltages count from.
    """

    def __init__(self, one: Ints, other: Ints, nodes: int, ground: int) -> None:
        self.one, self.other, self.nodes, self.ground = one, other, nodes, ground
        self._by_one = np.argsort(one, kind="stable")
        order = np.full(nodes, NOT_A_NODE)
        kept = np.delete(np.arange(nodes), ground)
        order[kept] = np.arange(nodes - 1)
        self._number(order)
        if nodes > 2:
            ones = np.ones(len(one))
            factor: Any = self.factor(ones, np.ones(nodes))
            order[kept] = factor.perm_c
            self._number(order)
        self._ordered = True

    _ordered = False

    def _number(self, order: Ints) -> None:
        """Number the unknowns, and find where each element adds to the matrix."""
        size = self.nodes - 1
        self.row_of = order
        a, b = order[self.one], order[self.other]
        rows = np.concatenate([a, b, a, b, np.arange(size)])
        columns = np.concatenate([a, b, b, a, np.arange(size)])
        inside = (rows >= 0) & (columns >= 0)
        keys = columns * size + rows
        found, at = np.unique(keys[inside], return_inverse=True)
        slots = np.full(len(rows), len(found))
        slots[inside] = at
        self._slots = slots
        self._free = np.flatnonzero(order >= 0)
        self._row = order[self._free]
        self._indices = (found % size).astype(np.int32)
        self._indptr = np.searchsorted(found, np.arange(size + 1) * size).astype(np.int32)
        self._entries = len(found)

    def matrix(self, conductance_S: Floats, held_S: Floats) -> csc_array[Any]:
        """The nodal matrix without its ground, in the numbering of `row_of`.

        Parameters
        ----------
        conductance_S : ndarray, shape (elements,)
        held_S : ndarray, shape (nodes,)
            Conductance from each node to ground besides.

        Returns
        -------
        scipy.sparse.csc_array
        """
        size = self.nodes - 1
        added = (conductance_S, conductance_S, -conductance_S, -conductance_S, self.rows(held_S))
        data = np.bincount(self._slots, weights=np.concatenate(added), minlength=self._entries + 1)
        return csc_array((data[:-1], self._indices, self._indptr), shape=(size, size))

    def rows(self, of_nodes: Floats) -> Floats:
        """What belongs to nodes, in the numbering of `row_of`."""
        found = np.empty(self.nodes - 1)
        found[self._row] = of_nodes[self._free]
        return found

    def of_nodes(self, rows: Floats) -> Floats:
        """What belongs to unknowns, by node; 0 at ground."""
        found = np.zeros(self.nodes)
        found[self._free] = rows[self._row]
        return found

    def factor(self, conductance_S: Floats, held_S: Floats) -> Any:
        """The matrix factored: an object with ``solve``; unknowns are numbered by `row_of`."""
        return splu(
            self.matrix(conductance_S, held_S),
            permc_spec="NATURAL" if self._ordered else "MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )

    def parts(self, active: Bools) -> Ints:
        """The part of every node: nodes that active elements join have the same one."""
        which = self._by_one[active[self._by_one]]
        starts = np.concatenate(([0], np.cumsum(np.bincount(self.one[which], minlength=self.nodes))))
        joins = csr_array((np.ones(len(which)), self.other[which], starts), shape=(self.nodes, self.nodes))
        return np.asarray(connected_components(joins, directed=False)[1], dtype=np.int64)

    def held(self, active: Bools) -> tuple[Floats, Bools]:
        """What holds each node so that no part hangs on nothing, and which nodes are floating.

        Parameters
        ----------
        active : ndarray of bool, shape (elements,)
            Elements that conduct.

        Returns
        -------
        tuple of ndarray
            Conductance to ground [S] and whether floating, by node.
        """
        part = self.parts(active)
        first = np.unique(part, return_index=True)[1]
        held = np.zeros(self.nodes)
        held[first] = HOLD_S
        floating = part != part[self.ground]
        held[~floating] = 0.0
        return held, floating
