"""What an ohmmeter shows between two nodes with the supply off."""

from __future__ import annotations

import math

import numpy as np

from harnessdiff.analyse.network.band import spread
from harnessdiff.analyse.network.laws import Floats, Law
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.model.range import Range
from harnessdiff.tables.measuring import measuring

ELECTRONIC = (int(Law.CURRENT), int(Law.POWER))


def dead_resistance_ohm(settled: Settled, one: str, other: str) -> Range:
    """Resistance between two nodes, with no source but batteries that are still joined.

    Filaments are cold; a few tenths of a volt open no diode. Electronics let next to nothing
    through, or as much as a table says, which counts for the lower bound.

    Parameters
    ----------
    settled : Settled
        Says what conducts.
    one, other : str
        Nodes.

    Returns
    -------
    Range
        Infinite where nothing joins them. By Rayleigh's law resistance never falls where an element's rises, so
        that the bounds are those of the network with all elements at theirs. [Ω]

    References
    ----------
    .. [1] Lord Rayleigh, "On the theory of resonance", Philosophical Transactions of the Royal Society 161, 1871.
    """
    if one == other:
        return Range.exactly(0.0)
    low, high = spread(settled)
    leaks = 1 / measuring("electronics_least")
    most = _resistance_ohm(settled, low, 0.0, one, other)
    middle = _resistance_ohm(settled, settled.laws.numbers, 0.0, one, other)
    least = _resistance_ohm(settled, high, leaks, one, other)
    return Range(low=min(least, middle), nominal=middle, high=max(middle, most), guaranteed=False)


def _resistance_ohm(settled: Settled, numbers: Floats, leaks_S: float, one: str, other: str) -> float:
    network, circuit = settled.network, settled.network.circuit
    law = settled.laws.law
    conductance = np.where(law == int(Law.RESISTOR), numbers[:, 0], 0.0)
    conductance = np.where(law == int(Law.FILAMENT), numbers[:, 2], conductance)
    conductance = np.where(law == int(Law.BATTERY), numbers[:, 1], conductance)
    conductance = np.where(np.isin(law, ELECTRONIC), leaks_S, conductance)
    conductance = np.where(settled.active, conductance, 0.0)
    joins = conductance > 0
    part = circuit.parts(joins)
    at = [network.index[one], network.index[other]]
    if part[at[0]] != part[at[1]]:
        return math.inf
    current = np.zeros(len(network.nodes) - 1)
    for node, weight in zip(at, (1.0, -1.0), strict=True):
        if circuit.row_of[node] >= 0:
            current[circuit.row_of[node]] += weight
    voltage = circuit.factor(conductance, circuit.held(joins)[0]).solve(current)
    return float(max(current @ voltage, 0.0))
