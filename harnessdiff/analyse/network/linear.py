"""A settled network as a linear one: every element as the conductance it stands at, sources behind theirs."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from harnessdiff.analyse.network.inverse import factorise
from harnessdiff.analyse.network.laws import Floats, Law
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.without import chords
from harnessdiff.tables.loader import limit


@dataclass(frozen=True, eq=False)
class Linear:
    """The linear network that has the same voltages.

    Loads are the resistances of what they draw, sources have the inner resistance that gives what they
    give: the same point of every law, and no other.

    Parameters
    ----------
    settled : Settled
    """

    settled: Settled

    @cached_property
    def conductance_S(self) -> Floats:
        """Conductance of every branch. [S]"""
        settled = self.settled
        conductance = chords(settled)
        for number in self._sources:
            volts = settled.laws.numbers[number, 0]
            branch = settled.network.branches[number]
            lost = volts - settled.across_V(branch)
            given = -settled.current_A(branch)
            if lost * given > 0:
                conductance[number] = given / lost
        return conductance

    @property
    def _sources(self) -> Any:
        laws, active = self.settled.laws, self.settled.active
        return np.flatnonzero(active & np.isin(laws.law, (int(Law.SOURCE), int(Law.BATTERY))))

    @cached_property
    def span_V(self) -> tuple[float, float]:
        """Between which voltages every node lies, whatever the resistances. [V]

        No node of a resistive network lies beyond its sources: the greatest of those that stand on ground,
        be it by way of a wire, with all that do not stand there one upon the other.
        """
        on_metal, others = [0.0], 0.0
        for number in self._sources:
            volts = abs(float(self.settled.laws.numbers[number, 0]))
            branch = self.settled.network.branches[number]
            foot = min(abs(self.settled.voltage_V(node) or 0.0) for node in (branch.one, branch.other))
            if foot < limit("on_ground"):
                on_metal.append(volts)
            else:
                others += volts
        every = max(on_metal) + others
        return -every, every

    @cached_property
    def _factor(self) -> Any:
        circuit = self.settled.network.circuit
        held = circuit.held(self.conductance_S > 0)[0]
        return factorise(circuit.matrix(self.conductance_S, held))

    def solve(self, current_A: Floats) -> Floats:
        """Voltages of the unknowns for currents into them; both by `Circuit.row_of`, shape (unknowns, k)."""
        return np.asarray(self._factor.solve(np.asfortranarray(current_A)), dtype=np.float64)

    @cached_property
    def voltage_V(self) -> Floats:
        """Voltages of the unknowns, as solved. [V]"""
        circuit = self.settled.network.circuit
        free = circuit.row_of >= 0
        voltage = np.zeros(circuit.nodes - 1)
        voltage[circuit.row_of[free]] = self.settled.solution.voltage_V[free]
        return voltage

    def at(self, node: str) -> int:
        """The unknown of a node, -1 for ground."""
        network = self.settled.network
        return int(network.circuit.row_of[network.index[node]])
