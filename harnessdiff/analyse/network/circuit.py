"""Nodal analysis: the voltages of a network whose elements follow their laws.

Sources have an inner resistance, so that modified nodal analysis needs no further unknowns than the
node voltages and its matrix stays symmetric. Parts of a network that hang on nothing are found first
and held at one node, through which no current flows; their nodes are reported as floating.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from scipy.sparse import coo_array, csc_array, csr_array
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import splu

from harnessdiff.analyse.network.laws import Bools, Floats, Ints, Law, Laws

TOLERANCE_V = 1e-9
TOLERANCE_A = 1e-8
"""What may be left over at a node where the voltage rests on the kink of a law and the slope jumps to and fro."""
PATIENCE = 12
MOST_STEPS = 80
MOST_CUTS = 40
ENOUGH = 0.3
"""Share of the unbalanced currents along a step that may be left after it."""
LEAST_POWER_W = 1e-18
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


class Circuit:
    """The shape of a network: which two nodes each element joins. Solved many times with other laws.

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
        count = len(self.one)
        self._slots = [slots[count * n : count * (n + 1)] for n in range(4)]
        self._diagonal = slots[4 * count :]
        self._indices = (found % size).astype(np.int32)
        self._indptr = np.searchsorted(found, np.arange(size + 1) * size).astype(np.int32)
        self._entries = len(found)
        self._a, self._b = a, b

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
        data = np.zeros(self._entries + 1)
        for number, slots in enumerate(self._slots):
            signed = conductance_S if number < 2 else -conductance_S
            data += np.bincount(slots, weights=signed, minlength=len(data))
        held = np.zeros(size)
        free = self.row_of >= 0
        held[self.row_of[free]] = held_S[free]
        data[self._diagonal] += held
        return csc_array((data[:-1], self._indices, self._indptr), shape=(size, size))

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
        joins = csr_array(
            (np.ones(int(active.sum())), (self.one[active], self.other[active])), shape=(self.nodes, self.nodes)
        )
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

    def solve(self, laws: Laws, active: Bools, start_V: Floats | None = None) -> Solution:
        """Find the voltages at which the currents at every node add up to nothing.

        Constant-power elements take the high-voltage solution: they are switched on from what the
        network is without them. Where there is none, those that bring the supply down are off.

        Parameters
        ----------
        laws : Laws
        active : ndarray of bool, shape (elements,)
            Elements that conduct.
        start_V : ndarray, shape (nodes,), optional
            Voltages to begin at.

        Returns
        -------
        Solution
        """
        power = laws.of.get(Law.POWER, np.empty(0, dtype=np.int64))
        power = power[active[power]]
        if not power.size:
            return self._newton(laws, active, start_V)
        without = active.copy()
        without[power] = False
        idle = self._newton(laws, without, start_V)
        collapsed: list[int] = []
        while power.size:
            with_power = without.copy()
            with_power[power] = True
            ahead = (idle.voltage_V[self.one] - idle.voltage_V[self.other])[power] * laws.numbers[power, 2]
            found = self._newton(laws, with_power, np.where(idle.floating, 0.0, idle.voltage_V))
            now = (found.voltage_V[self.one] - found.voltage_V[self.other])[power] * laws.numbers[power, 2]
            fed = ahead > laws.numbers[power, 1]
            if found.converged and not np.any(fed & (now < laws.numbers[power, 1])):
                return replace(found, collapsed=tuple(sorted(collapsed)))
            share = self._continued(laws, without, power, idle)
            worst = int(power[np.argmin(np.where(fed, share, np.inf))]) if np.any(fed) else int(power[0])
            collapsed.append(worst)
            power = power[power != worst]
        return replace(idle, collapsed=tuple(sorted(collapsed)))

    def _continued(self, laws: Laws, without: Bools, power: Ints, idle: Solution) -> Floats:
        """Share of its idle voltage that each constant-power element has where the supply gives in."""
        active = without.copy()
        active[power] = True
        base = (idle.voltage_V[self.one] - idle.voltage_V[self.other])[power]
        reached, step, last = 0.0, 0.25, idle
        while step > 1e-3:
            numbers = laws.numbers.copy()
            numbers[power, 0] *= reached + step
            found = self._newton(replace(laws, numbers=numbers), active, last.voltage_V)
            now = (found.voltage_V[self.one] - found.voltage_V[self.other])[power] * numbers[power, 2]
            if found.converged and np.all((now > numbers[power, 1]) | (base * numbers[power, 2] <= numbers[power, 1])):
                reached, last = reached + step, found
            else:
                step /= 2
        across = (last.voltage_V[self.one] - last.voltage_V[self.other])[power]
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(np.where(base != 0, across / base, np.inf), dtype=np.float64)

    def _newton(self, laws: Laws, active: Bools, start_V: Floats | None) -> Solution:
        held, floating = self.held(active)
        voltage = np.zeros(self.nodes) if start_V is None else start_V.copy()
        voltage[self.ground] = 0.0
        solution = Solution(
            voltage_V=voltage,
            current_A=np.zeros(len(self.one)),
            slope_S=np.zeros(len(self.one)),
            floating=floating,
            converged=False,
        )
        current, slope, residual = self._balance(laws, active, held, voltage)
        for number in range(MOST_STEPS):
            rows = np.zeros(self.nodes - 1)
            free = self.row_of >= 0
            rows[self.row_of[free]] = -residual[free]
            step = np.zeros(self.nodes)
            step[free] = self.factor(slope, held).solve(rows)[self.row_of[free]]
            if not np.all(np.isfinite(step)):
                break
            share, tried = self._along(laws, active, held, voltage, step, float(residual @ step))
            current, slope, residual = self._balance(laws, active, held, tried)
            voltage = tried
            still = share == 1.0 and float(np.max(np.abs(step), initial=0.0)) < TOLERANCE_V
            at_a_kink = number > PATIENCE and float(np.max(np.abs(residual), initial=0.0)) < TOLERANCE_A
            if still or at_a_kink:
                return replace(solution, voltage_V=voltage, current_A=current, slope_S=slope, converged=True)
        return replace(solution, voltage_V=voltage, current_A=current, slope_S=slope)

    def _along(
        self, laws: Laws, active: Bools, held: Floats, voltage: Floats, step: Floats, before: float
    ) -> tuple[float, Floats]:
        """How much of a step to take, and where it leads.

        Of elements whose current grows with their voltage the unbalanced currents are the gradient of a
        convex function, so that what is left of them along the step rises from `before` through nothing
        where that function is least; past it the step is cut there.
        """
        low, high, share = 0.0, 1.0, 1.0
        at_low, at_high = before, before
        for _ in range(MOST_CUTS):
            tried = voltage + share * step
            after = float(self._balance(laws, active, held, tried)[2] @ step)
            if abs(after) <= ENOUGH * abs(before) or abs(before) < LEAST_POWER_W or (share == 1.0 and after < 0):
                break
            if after > 0:
                high, at_high = share, after
            else:
                low, at_low = share, after
            secant = low + (high - low) * at_low / (at_low - at_high)
            share = min(max(secant, low + 0.05 * (high - low)), low + 0.95 * (high - low))
        return share, tried

    def _balance(self, laws: Laws, active: Bools, held: Floats, voltage: Floats) -> tuple[Floats, Floats, Floats]:
        """Currents, slopes, and what flows out of every node too much."""
        current, slope = laws.currents(voltage[self.one] - voltage[self.other])
        current, slope = np.where(active, current, 0.0), np.where(active, slope, 0.0)
        residual = held * voltage
        residual += np.bincount(self.one, weights=current, minlength=self.nodes)
        residual -= np.bincount(self.other, weights=current, minlength=self.nodes)
        residual[self.ground] = 0.0
        return current, slope, residual


def incidence(one: Ints, other: Ints, nodes: int) -> csc_array[Any]:
    """Node-element incidence: +1 where an element's current leaves a node, -1 where it comes in."""
    count = len(one)
    rows = np.concatenate([one, other])
    columns = np.concatenate([np.arange(count)] * 2)
    signs = np.concatenate([np.ones(count), -np.ones(count)])
    return csc_array(coo_array((signs, (rows, columns)), shape=(nodes, count)))
