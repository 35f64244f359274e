"""Which loads go dead when one protective device is out, for each of them in turn."""

from __future__ import annotations

from collections.abc import Mapping
from weakref import WeakKeyDictionary

import numpy as np

from harnessdiff.analyse.network.inverse import factorise
from harnessdiff.analyse.network.laws import Floats, Law
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.shorts import without_branches
from harnessdiff.analyse.network.values import rated
from harnessdiff.graph import PROTECTIVE
from harnessdiff.model.parts import Load
from harnessdiff.tables.loader import limit

LEAST_A = 1e-4
"""Current from which taking a protective device out is worth looking at."""

_KNOWN: WeakKeyDictionary[Settled, Mapping[int, frozenset[int]]] = WeakKeyDictionary()


def chords(settled: Settled) -> Floats:
    """Conductance of every branch as it stands: its current by its voltage; of sources the inner one. [S]

    Loads so taken draw nothing where nothing feeds them, whatever they are.
    """
    network, solution = settled.network, settled.solution
    circuit = network.circuit
    across = solution.voltage_V[circuit.one] - solution.voltage_V[circuit.other]
    with np.errstate(divide="ignore", invalid="ignore"):
        chord = np.where(np.abs(across) > 0, solution.current_A / across, solution.slope_S)
    is_source = np.isin(settled.laws.law, (int(Law.SOURCE), int(Law.BATTERY)))
    chord = np.where(is_source | ~np.isfinite(chord) | (chord < 0), solution.slope_S, chord)
    return np.where(settled.active, chord, 0.0)


def dead_without(settled: Settled) -> Mapping[int, frozenset[int]]:
    """For every fuse and output that carries current: the loads that go dead when it is out.

    By one low-rank update a fuse, loads taken as resistances of what they draw now.

    Parameters
    ----------
    settled : Settled

    Returns
    -------
    mapping
        Number of its branch to the numbers of the load branches that worked before and have less than the
        share of their rated voltage at which a load does nothing.
    """
    if settled not in _KNOWN:
        _KNOWN[settled] = _dead_without(settled)
    return _KNOWN[settled]


def _dead_without(settled: Settled) -> Mapping[int, frozenset[int]]:
    network, solution = settled.network, settled.solution
    fuses = [
        branch
        for branch in network.branches
        if branch.kind in PROTECTIVE and abs(float(solution.current_A[branch.number])) > LEAST_A
    ]
    loads = [branch for branch in network.loads if settled.conducts(branch)]
    if not fuses or not loads:
        return {}
    circuit = network.circuit
    conductance = chords(settled)
    factor = factorise(circuit.matrix(conductance, circuit.held(conductance > 0)[0]))
    free = circuit.row_of >= 0
    voltage = np.zeros(len(network.nodes) - 1)
    voltage[circuit.row_of[free]] = solution.voltage_V[free]
    numbers = [fuse.number for fuse in fuses]
    ends = np.column_stack((circuit.row_of[circuit.one[numbers]], circuit.row_of[circuit.other[numbers]]))
    removed = without_branches(factor, voltage, branches=ends, conductances_S=conductance[numbers])
    without = np.concatenate((np.nan_to_num(removed.voltages_V), np.zeros((len(fuses), 1))), axis=1)
    at = [load.number for load in loads]
    across = np.abs(without[:, circuit.row_of[circuit.one[at]]] - without[:, circuit.row_of[circuit.other[at]]])
    before = np.abs(solution.voltage_V[circuit.one[at]] - solution.voltage_V[circuit.other[at]])
    ratings = np.array([rated(load.part)[0] if isinstance(load.part, Load) else np.inf for load in loads])
    dead = (across < limit("load_glows_share") * ratings) & (before >= limit("load_dim_share") * ratings)
    return {
        fuse.number: frozenset(number for number, gone in zip(at, row, strict=True) if gone)
        for fuse, row in zip(fuses, dead, strict=True)
    }


def killers(settled: Settled) -> Mapping[int, frozenset[str]]:
    """For every load that goes dead without some fuse: the fuses, each of which alone does it."""
    found: dict[int, set[str]] = {}
    for fuse, loads in dead_without(settled).items():
        branch = settled.network.branches[fuse]
        for load in loads if branch.kind == "fuse" else ():
            found.setdefault(load, set()).add(branch.element)
    return {load: frozenset(fuses) for load, fuses in found.items()}
