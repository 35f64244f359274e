"""Shorts to the body at chosen nodes of a settled network, at the least and at the greatest current they can draw."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.inverse import diagonal_of_inverse, factorise
from harnessdiff.analyse.network.laws import Floats, Law
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.analyse.network.shorts import shorts
from harnessdiff.analyse.network.without import chords
from harnessdiff.model.parts import Coil
from harnessdiff.tables.loader import assumed_value


@dataclass(frozen=True, eq=False, kw_only=True)
class Faults:
    """A short to the body at each of some nodes in turn.

    Parameters
    ----------
    network : Network
    nodes : tuple of str
        The nodes shorted.
    current_A : ndarray, shape (shorts,)
        Into the short.
    voltage_V : ndarray, shape (nodes of the network, shorts)
        What is left everywhere while the short lasts.
    conductance_S : ndarray, shape (branches,)
    before_V : ndarray, shape (nodes of the network,)
        Without a short.
    """

    network: Network
    nodes: tuple[str, ...]
    current_A: Floats
    voltage_V: Floats
    conductance_S: Floats
    before_V: Floats

    @cached_property
    def place(self) -> dict[str, int]:
        """The column of every node shorted."""
        return {node: number for number, node in enumerate(self.nodes)}

    def through_A(self, branch: Branch, node: str) -> float:
        """Current through a branch while a node is shorted, either way. [A]"""
        index, column = self.network.index, self.place[node]
        across = self.voltage_V[index[branch.one], column] - self.voltage_V[index[branch.other], column]
        return float(abs(self.conductance_S[branch.number] * across))

    def flips(self, settled: Settled, node: str) -> bool:
        """Whether a relay that is pulled in would let go while a node is shorted."""
        index, column = self.network.index, self.place[node]
        for coil in self.network.coils:
            if coil.element not in settled.state.pulled or not isinstance(coil.part, Coil):
                continue
            across = self.voltage_V[index[coil.one], column] - self.voltage_V[index[coil.other], column]
            held = coil.part.drop_out_V.high
            if abs(float(across)) < (assumed_value("relay_drop_out") if held is None else held):
                return True
        return False


def faults(settled: Settled, nodes: Sequence[str], *, least: bool) -> Faults:
    """Short each of some nodes to the body in turn.

    The network is taken as linear where it stands: loads as resistances of what they draw, sources that
    limit their own current as giving their limit and nothing more. For the least current conductors are
    hot and long, joints and fuses as bad as they may be, batteries tired, and limited sources give
    nothing; for the greatest the other way round.

    Parameters
    ----------
    settled : Settled
    nodes : sequence of str
        Nodes of the network.
    least : bool
        Whether the least current is wanted; else the greatest.

    Returns
    -------
    Faults

    Notes
    -----
    Corners of all resistances at once bound the current of a short that is fed over one road; where
    several roads join they are taken for bounds and not proved to be.
    """
    network, circuit = settled.network, settled.network.circuit
    conductance, injected = _corner(settled, least=least)
    factor: Any = factorise(circuit.matrix(conductance, circuit.held(conductance > 0)[0]))
    before = _solve(network, factor, injected[:, np.newaxis])[:, 0]
    body = network.index[network.body]
    at = np.array([network.index[node] for node in nodes], dtype=np.int64)
    unit = np.zeros((len(network.nodes), len(at)))
    unit[at, np.arange(len(at))] += 1.0
    unit[body] -= 1.0
    transfer = _solve(network, factor, unit)
    seen = transfer[at, np.arange(len(at))] - transfer[body]
    with np.errstate(divide="ignore", invalid="ignore"):
        current = np.where(seen > 0, (before[at] - before[body]) / seen, 0.0)
    return Faults(
        network=network,
        nodes=tuple(nodes),
        current_A=np.abs(current),
        voltage_V=before[:, np.newaxis] - transfer * current,
        conductance_S=conductance,
        before_V=before,
    )


def _solve(network: Network, factor: Any, right: Floats) -> Floats:
    circuit = network.circuit
    free = circuit.row_of >= 0
    rows = np.zeros((len(network.nodes) - 1, right.shape[1]), order="F")
    rows[circuit.row_of[free]] = right[free]
    found = np.zeros_like(right)
    found[free] = factor.solve(rows)[circuit.row_of[free]]
    return found


def _corner(settled: Settled, *, least: bool) -> tuple[Floats, Floats]:
    """Conductances of the branches, and the current that sources put into each node, at one corner."""
    network, circuit = settled.network, settled.network.circuit
    low, high = network.bounds_ohm
    conductance = chords(settled)
    resistive = np.isfinite(low) & settled.active & ~settled.resting
    conductance[resistive] = 1 / (high if least else low)[resistive]
    injected = np.zeros(len(network.nodes))
    law, numbers = settled.laws.law, settled.laws.numbers
    for number in np.flatnonzero(settled.active & np.isin(law, (int(Law.SOURCE), int(Law.BATTERY)))):
        volts, inner = numbers[number, 0], numbers[number, 1]
        if law[number] == Law.BATTERY:
            times = assumed_value("battery_worst_times" if least else "battery_best_times")
            conductance[number] = inner / times
            share = assumed_value("battery_least_share") if least else 1.0
            current = conductance[number] * volts * share
        else:
            conductance[number] = 0.0
            current = (
                0.0 if least or settled.solution.current_A[number] == 0 else min(numbers[number, 3], volts * inner)
            )
        injected[circuit.one[number]] += current
        injected[circuit.other[number]] -= current
    return conductance, injected


def settled_under(settled: Settled, node: str) -> tuple[Settled, Branch]:
    """A network settled anew with a node shorted to the body, for a short that makes a relay let go.

    Parameters
    ----------
    settled : Settled
        Before the short.
    node : str

    Returns
    -------
    tuple
        The network under the short, in the same condition and from the same state, and the short in it.
    """
    network = settled.network
    graph = network.graph.copy()
    graph.add_edge(node, network.body, kind="common", element=SHORT, part=None)
    shorted = Network(network.harness, network.polarity, network.system_V, graph)
    (short,) = shorted.branches_of(SHORT)
    return settle(shorted, settled.condition, settled.state, guess=settled), short


SHORT = "#short"
"""Stands for the short among elements; no id begins so."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Everywhere:
    """A short to ground at every node in turn, as everything stands.

    Parameters
    ----------
    network : Network
    current_A : ndarray, shape (nodes,)
        Into the short, by the network's nodes; 0 where a node hangs on nothing.
    fuses : tuple of Branch
        The fuses.
    through_A : ndarray, shape (fuses, nodes)
        Of it, through each fuse.
    """

    network: Network
    current_A: Floats
    fuses: tuple[Branch, ...]
    through_A: Floats

    def at(self, node: str) -> tuple[float, Branch | None]:
        """Current of a short at a node [A], and the smallest fuse that carries most of it; None where none does."""
        number = self.network.index[node]
        current = float(self.current_A[number])
        carrying = [
            fuse for fuse, through in zip(self.fuses, self.through_A[:, number], strict=True) if through > current / 2
        ]
        return current, max(carrying, key=_ohm, default=None)


def _ohm(fuse: Branch) -> float:
    """Resistance of a fuse, which is the greater the smaller it is. [Ω]"""
    return fuse.value.ohm.nominal if fuse.value.ohm is not None else 0.0


def shorts_everywhere(settled: Settled) -> Everywhere:
    """Short every node of a settled network to ground in turn.

    By the diagonal of the inverse of its matrix, and one more solve for every fuse.

    Parameters
    ----------
    settled : Settled

    Returns
    -------
    Everywhere
        Of the network as it is taken to be, sources that limit their own current left out.
    """
    network, circuit = settled.network, settled.network.circuit
    conductance, injected = _as_it_stands(settled)
    matrix = circuit.matrix(conductance, circuit.held(conductance > 0)[0])
    factor = factorise(matrix)
    volts = circuit.rows(_solve(network, factor, injected[:, np.newaxis])[:, 0])
    diagonal = diagonal_of_inverse(matrix, factor)
    fuses = tuple(one for one in network.branches if one.kind == "fuse" and settled.conducts(one))
    numbers = [one.number for one in fuses]
    ends = np.column_stack((circuit.row_of[circuit.one[numbers]], circuit.row_of[circuit.other[numbers]]))
    found = shorts(factor, volts, diagonal, branches=ends, conductances_S=conductance[numbers])
    through = np.array([circuit.of_nodes(np.abs(row)) for row in found.through_A]).reshape(len(fuses), circuit.nodes)
    current = np.where(settled.solution.floating, 0.0, circuit.of_nodes(np.abs(found.current_A)))
    return Everywhere(network=network, current_A=current, fuses=fuses, through_A=through)


def _as_it_stands(settled: Settled) -> tuple[Floats, Floats]:
    """Conductances as they stand with loads as resistances, and what batteries put into each node."""
    circuit, laws = settled.network.circuit, settled.laws
    conductance, injected = chords(settled), np.zeros(circuit.nodes)
    for number in np.flatnonzero(settled.active & np.isin(laws.law, (int(Law.SOURCE), int(Law.BATTERY)))):
        battery = laws.law[number] == Law.BATTERY
        conductance[number] = laws.numbers[number, 1] if battery else 0.0
        current = conductance[number] * laws.numbers[number, 0]
        injected[circuit.one[number]] += current
        injected[circuit.other[number]] -= current
    return conductance, injected
