"""Nodal analysis: the voltages of a network whose elements follow their laws."""

from __future__ import annotations

from harnessdiff.analyse.network.chains import Chains
from harnessdiff.analyse.network.laws import Bools, Floats, Ints, Law, Laws
from harnessdiff.analyse.network.nodal import Nodal, Solution

__all__ = ["Circuit", "Solution"]


class Circuit(Nodal):
    """The shape of a network, which is solved many times with other laws.

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
        super().__init__(one, other, nodes, ground)
        self._chains: dict[bytes, Chains] = {}

    def solve(self, laws: Laws, active: Bools, start_V: Floats | None = None) -> Solution:
        """Find the voltages at which the currents at every node add up to nothing.

        Constant-power elements take the high-voltage solution; where there is none, those that bring the
        supply down are off.

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
        plain = laws.law == Law.RESISTOR
        key = plain.tobytes()
        if key not in self._chains:
            self._chains[key] = Chains(self, plain)
        return self._chains[key].solve(laws, active, start_V)
