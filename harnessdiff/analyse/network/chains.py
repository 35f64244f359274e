"""A network made smaller before it is solved: resistors one after another become one, which changes nothing elsewhere.

Most nodes of a harness are the ends of wires and their contacts, where two resistances meet and nothing else. Which
these are depends on what is joined and on which elements are resistors, not on the resistances nor on what conducts.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from harnessdiff.analyse.network.laws import Bools, Floats, Law, Laws
from harnessdiff.analyse.network.newton import solved
from harnessdiff.analyse.network.nodal import NOT_A_NODE, Nodal, Solution

NOTHING = -1


class Chains:
    """A network with its chains of resistors taken for one resistor each.

    Parameters
    ----------
    whole : Nodal
        The network as it is.
    plain : ndarray of bool, shape (elements,)
        Which elements are resistors.

    Attributes
    ----------
    small : Nodal
        What is left of it.
    """

    def __init__(self, whole: Nodal, plain: Bools) -> None:
        self.whole = whole
        kept = _kept(whole, plain)
        walks = _walks(whole, kept)
        chained = np.zeros(len(whole.one), dtype=bool)
        longest = max((len(elements) for _, elements in walks), default=0)
        # One row a chain: its elements in their order, and the nodes after each of them but the last.
        self._elements = np.full((len(walks), longest), NOTHING)
        self._between = np.full((len(walks), longest), NOTHING)
        for row, (nodes, elements) in enumerate(walks):
            chained[elements] = True
            self._elements[row, : len(elements)] = elements
            self._between[row, : len(elements) - 1] = nodes[1:-1]
        self._is_element, self._is_between = self._elements != NOTHING, self._between != NOTHING
        self._first = np.array([nodes[0] for nodes, _ in walks], dtype=np.int64)
        self._last = np.array([nodes[-1] for nodes, _ in walks], dtype=np.int64)
        before = np.hstack((self._first[:, None], self._between))[:, :longest]
        self._along = np.where(whole.one[self._elements] == before, 1.0, -1.0)
        self._alone = np.flatnonzero(~chained)
        self._kept = np.flatnonzero(kept)
        number = np.full(whole.nodes, NOT_A_NODE)
        number[self._kept] = np.arange(len(self._kept))
        self.small = Nodal(
            number[np.concatenate((whole.one[self._alone], self._first))],
            number[np.concatenate((whole.other[self._alone], self._last))],
            len(self._kept),
            int(number[whole.ground]),
        )

    def solve(self, laws: Laws, active: Bools, start_V: Floats | None) -> Solution:
        """The solution of the whole network, by way of the small one.

        Parameters
        ----------
        laws : Laws
            Of the whole network.
        active : ndarray of bool, shape (elements,)
        start_V : ndarray, shape (nodes,), optional

        Returns
        -------
        Solution
        """
        ohm = np.where(self._is_element, 1 / np.where(self._is_element, laws.numbers[self._elements, 0], 1.0), 0.0)
        cut = self._is_element & ~active[self._elements]
        chains = len(self._first)
        numbers = np.zeros((chains, 4))
        numbers[:, 0] = 1 / ohm.sum(axis=1)
        small_laws = Laws(
            law=np.concatenate((laws.law[self._alone], np.full(chains, int(Law.RESISTOR)))),
            numbers=np.concatenate((laws.numbers[self._alone], numbers)),
        )
        small_active = np.concatenate((active[self._alone], ~cut.any(axis=1)))
        found = solved(self.small, small_laws, small_active, None if start_V is None else start_V[self._kept])
        return self._spread(laws, active, found, ohm, cut)

    def _spread(self, laws: Laws, active: Bools, found: Solution, ohm: Floats, cut: Bools) -> Solution:
        """The small network's solution with what is inside the chains."""
        collapsed = self._alone[list(found.collapsed)]
        active = active.copy()
        active[collapsed] = False
        alone, elements = len(self._alone), self._elements[self._is_element]
        through = found.current_A[alone:, None]
        current, slope = np.zeros(len(active)), np.zeros(len(active))
        current[self._alone], slope[self._alone] = found.current_A[:alone], found.slope_S[:alone]
        current[elements] = (through * self._along)[self._is_element]
        slope[elements] = np.where(active[elements], laws.numbers[elements, 0], 0.0)
        voltage = np.zeros(self.whole.nodes)
        voltage[self._kept] = found.voltage_V
        floating = np.zeros(self.whole.nodes, dtype=bool)
        floating[self._kept] = found.floating
        # Before the first cut hangs what is there on one end, after the last cut on the other, and between on nothing.
        cuts = np.cumsum(cut, axis=1)
        on_first, on_last = cuts == 0, cuts == cuts[:, -1:]
        dropped = voltage[self._first, None] - np.cumsum(ohm, axis=1) * through
        hanging = np.where(on_last, voltage[self._last, None], 0.0)
        inside = np.where(on_first, dropped, hanging)
        loose = np.where(on_first, floating[self._first, None], ~on_last | floating[self._last, None])
        between = self._between[self._is_between]
        voltage[between], floating[between] = inside[self._is_between], loose[self._is_between]
        return replace(
            found,
            voltage_V=voltage,
            current_A=current,
            slope_S=slope,
            floating=floating,
            collapsed=tuple(sorted(collapsed.tolist())),
        )


def _kept(whole: Nodal, plain: Bools) -> Bools:
    """Nodes that are no mere place between two resistors."""
    kept: Bools = np.bincount(np.concatenate((whole.one, whole.other)), minlength=whole.nodes) != 2
    special = ~plain | (whole.one == whole.other)
    kept[whole.one[special]] = True
    kept[whole.other[special]] = True
    kept[whole.ground] = True
    return kept


def _walks(whole: Nodal, kept: Bools) -> list[tuple[list[int], list[int]]]:
    """Nodes and elements of every chain, from a node that is kept to one that is; of a ring one node is kept."""
    ends = list(zip(whole.one.tolist(), whole.other.tolist(), strict=True))
    at: dict[int, list[int]] = {node: [] for node in np.flatnonzero(~kept).tolist()}
    for element, pair in enumerate(ends):
        for node in pair:
            if node in at:
                at[node].append(element)
    found = []
    while at:
        start, (back, ahead) = at.popitem()
        nodes, elements = [start], [back]
        node = sum(ends[back]) - start
        while node in at:
            nodes.append(node)
            elements.append(sum(at.pop(node)) - elements[-1])
            node = sum(ends[elements[-1]]) - node
        if node == start:
            kept[start] = True
            found.append(([*nodes, start], elements))
            continue
        nodes, elements = [node, *reversed(nodes)], [*reversed(elements), ahead]
        node = sum(ends[ahead]) - start
        while node in at:
            nodes.append(node)
            elements.append(sum(at.pop(node)) - elements[-1])
            node = sum(ends[elements[-1]]) - node
        found.append(([*nodes, node], elements))
    return found
