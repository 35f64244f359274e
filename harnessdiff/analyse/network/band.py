"""Between what bounds something that can be measured on a settled network lies.

Resistances, loads and sources are known within bounds only. How a quantity y = Σ c·V + Σ d·I answers to each
element is found by the adjoint network [1]_: with Gᵀλ = c + Aᵀ(d·g), an element whose current grows by δ at
the same voltage moves y by (d - λ_across)·δ. Every element is then put to that of its bounds which moves
y the wanted way, and the network is solved there. In a network of resistances y is monotone in each
of them, so that its extremes lie at bounds; that each keeps its direction is taken for granted, so no
band is guaranteed.

References
----------
.. [1] S. W. Director, R. A. Rohrer, "The generalized adjoint network and network sensitivities", IEEE Transactions on
       Circuit Theory 16 (3), 1969, pp. 318-323.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

import numpy as np

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.circuit import Solution
from harnessdiff.analyse.network.laws import Floats, Law, Laws
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.values import nominal
from harnessdiff.model.parts import Load, Source
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import assumed_value
from harnessdiff.tables.measuring import measuring

COPPER_AT_DEGC = 20.0
SIDES = (-1.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """What is measured: a sum of node voltages and branch currents, each times a weight.

    Parameters
    ----------
    nodes : mapping
        Node to weight.
    branches : mapping
        Number of a branch to the weight of its current, from its first node to its second.
    """

    nodes: Mapping[str, float] = field(default_factory=dict)
    branches: Mapping[int, float] = field(default_factory=dict)

    def weights(self, network: Network) -> tuple[Floats, Floats]:
        """The weights of all nodes and of all branches."""
        of_nodes, of_branches = np.zeros(len(network.nodes)), np.zeros(len(network.branches))
        for node, weight in self.nodes.items():
            of_nodes[network.index[node]] += weight
        for number, weight in self.branches.items():
            of_branches[number] += weight
        return of_nodes, of_branches


@dataclass(frozen=True, slots=True, kw_only=True)
class Draw:
    """What may be drawn between two nodes beside what the network says; below 0 for less than it says. [A]"""

    one: str
    other: str
    least_A: float
    greatest_A: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """Where a measured quantity lies.

    Parameters
    ----------
    range : Range
        In volt or ampere.
    seen_ohm : float
        Resistance that the network shows between the nodes of the output; infinite where nothing
        joins them. [Ω]
    """

    range: Range
    seen_ohm: float


def band(
    settled: Settled, output: Output, levels_V: Mapping[str, Range] | None = None, draws: Iterable[Draw] = ()
) -> Band:
    """Bounds of a quantity on a settled network.

    Relays and inputs stay as they have settled.

    Parameters
    ----------
    settled : Settled
    output : Output
    levels_V : mapping, optional
        Device of a battery to the voltage it has at rest, where that was measured; otherwise all
        batteries and charging sources move between their usual levels together. [V]
    draws : iterable of Draw, optional
        What may be drawn besides.

    Returns
    -------
    Band
    """
    network = settled.network
    low, high = spread(settled)
    weights = output.weights(network)
    laws, middle = settled.laws, settled.solution
    if levels_V:
        laws = at_level(settled, levels_V, 0.0)
        middle = network.circuit.solve(laws, settled.active, middle.voltage_V)
    found = [_value(middle, weights)]
    adjoint = _adjoint(settled, laws, middle, weights)
    seen = _seen_ohm(settled, weights, adjoint)
    for side in SIDES:
        base = at_level(settled, levels_V or {}, side)
        solution = network.circuit.solve(base, settled.active, settled.solution.voltage_V)
        moved = _moves(settled, base, low, high, solution, weights)
        for wanted in SIDES:
            numbers = np.where((moved * wanted > 0)[:, None], high, low)
            numbers[_sources(base)] = base.numbers[_sources(base)]
            corner = network.circuit.solve(Laws(law=base.law, numbers=numbers), settled.active, solution.voltage_V)
            found += [_value(one, weights) for one in (solution, corner) if one.converged]
    least, greatest = min(found), max(found)
    for draw in draws:
        per_A = adjoint[network.index[draw.other]] - adjoint[network.index[draw.one]]
        ends = sorted((per_A * draw.least_A, per_A * draw.greatest_A))
        least, greatest = least + min(ends[0], 0.0), greatest + max(ends[1], 0.0)
    bounds = Range(low=float(least), nominal=float(found[0]), high=float(greatest), guaranteed=False)
    return Band(range=bounds, seen_ohm=seen)


def spread(settled: Settled) -> tuple[Floats, Floats]:
    """The numbers of all elements where each carries least, and where each carries most, at the same voltage.

    Parameters
    ----------
    settled : Settled

    Returns
    -------
    tuple of ndarray, shape (branches, 4)
    """
    low, high = settled.laws.numbers.copy(), settled.laws.numbers.copy()
    for branch in settled.network.branches:
        number = branch.number
        law = Law(int(settled.laws.law[number]))
        if isinstance(branch.part, Load):
            less, more = load_shares(branch.part, resting=bool(settled.resting[number]))
            at = [1, 2] if law == Law.FILAMENT else [0]
            low[number, at] *= less
            high[number, at] *= more
        elif law == Law.RESISTOR and branch.value.ohm is not None:
            cold, hot = _warmth(branch)
            low[number, 0] = 1 / (branch.value.ohm.high * hot)
            high[number, 0] = 1 / (branch.value.ohm.low * cold)
    return low, high


def _warmth(branch: Branch) -> tuple[float, float]:
    """What the temperature does to the resistance of a conductor, as shares of that at 20 °C."""
    if branch.kind != "conductor":
        return 1.0, 1.0
    cold, hot = (measuring(f"conductor_{name}") - COPPER_AT_DEGC for name in ("coldest", "hottest"))
    return 1 + measuring("copper_per_degC") * cold, 1 + measuring("copper_per_degC") * hot


def load_shares(part: Load, *, resting: bool) -> tuple[float, float]:
    """Least and greatest share of its nominal current that a load may draw.

    Parameters
    ----------
    part : Load
    resting : bool
        Whether it draws what it draws at rest.

    Returns
    -------
    tuple of float
    """
    if resting:
        return _shares(part.rest_A, measuring("rest_share"))
    for quantity in (part.rated_A, part.rated_W):
        if quantity.known:
            return _shares(quantity, measuring("load_share"))
    if part.resistance_ohm.known:
        less, more = _shares(part.resistance_ohm, measuring("resistance_share"))
        return 1 / more, 1 / max(less, 1 / measuring("unknown_load_times"))
    return 0.0, measuring("unknown_load_times")


def _shares(quantity: Quantity, tolerance: float) -> tuple[float, float]:
    middle = nominal(quantity, 0.0)
    if middle <= 0:
        return 0.0, 1.0
    low = 0.0 if quantity.low is None else quantity.low / middle
    high = measuring("unknown_load_times") if quantity.high is None else quantity.high / middle
    return low * (1 - tolerance), high * (1 + tolerance)


def _sources(laws: Laws) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    return np.isin(laws.law, (int(Law.SOURCE), int(Law.BATTERY)))


def at_level(settled: Settled, levels_V: Mapping[str, Range], side: float) -> Laws:
    """The laws with batteries and charging sources at their level: its lower end, middle or upper (-1, 0, 1)."""
    numbers = settled.laws.numbers.copy()
    for branch in settled.network.branches:
        if isinstance(branch.part, Source):
            level = levels_V.get(branch.element) or usual_level_V(settled.network, branch)
            if level is not None:
                numbers[branch.number, 0] = level.nominal if side == 0 else level.low if side < 0 else level.high
    return Laws(law=settled.laws.law, numbers=numbers)


def usual_level_V(network: Network, branch: Branch) -> Range | None:
    """Between what voltages a battery at rest, or a source that charges it, usually is.

    Parameters
    ----------
    network : Network
    branch : Branch
        Of a source.

    Returns
    -------
    Range or None
        None for a source of another voltage than the vehicle's, which keeps its own. [V]
    """
    part = branch.part
    assert isinstance(part, Source)
    kind = "battery" if part.model == "battery" else "charging"
    scale = network.system_V / assumed_value("system_voltage")
    low, high = (measuring(f"{kind}_{name}") * scale for name in ("least", "most"))
    own = branch.value.numbers[0]
    if not low * 0.9 <= own <= high * 1.1:
        return None
    return Range(low=min(low, own), nominal=own, high=max(high, own), guaranteed=False)


def _value(solution: Solution, weights: tuple[Floats, Floats]) -> float:
    return float(weights[0] @ solution.voltage_V + weights[1] @ solution.current_A)


def _adjoint(settled: Settled, laws: Laws, solution: Solution, weights: tuple[Floats, Floats]) -> Floats:
    """How the output answers to a current that enters at each node. [V, or the output's unit, per A]"""
    circuit = settled.network.circuit
    across = solution.voltage_V[circuit.one] - solution.voltage_V[circuit.other]
    slope = np.where(settled.active, laws.currents(across)[1], 0.0)
    right = weights[0].copy()
    np.add.at(right, circuit.one, weights[1] * slope)
    np.add.at(right, circuit.other, -weights[1] * slope)
    free = circuit.row_of >= 0
    rows = np.zeros(len(right) - 1)
    rows[circuit.row_of[free]] = right[free]
    found = np.zeros(len(right))
    found[free] = circuit.factor(slope, circuit.held(settled.active)[0]).solve(rows)[circuit.row_of[free]]
    return found


def _moves(
    settled: Settled, laws: Laws, low: Floats, high: Floats, solution: Solution, weights: tuple[Floats, Floats]
) -> Floats:
    """How far each element moves the output from its lower to its upper bound, by the slope where it stands."""
    circuit = settled.network.circuit
    adjoint = _adjoint(settled, laws, solution, weights)
    across = solution.voltage_V[circuit.one] - solution.voltage_V[circuit.other]
    grows = Laws(law=laws.law, numbers=high).currents(across)[0] - Laws(law=laws.law, numbers=low).currents(across)[0]
    return np.where(settled.active, (weights[1] - adjoint[circuit.one] + adjoint[circuit.other]) * grows, 0.0)


def _seen_ohm(settled: Settled, weights: tuple[Floats, Floats], adjoint: Floats) -> float:
    """Resistance between the nodes of a voltage; 0 for a current."""
    nodes = np.flatnonzero(weights[0])
    part = settled.network.circuit.parts(settled.active)
    if len({int(part[node]) for node in nodes}) > 1:
        return float("inf")
    return float(weights[0] @ adjoint)


def magnitude(signed: Range) -> Range:
    """The range of the magnitude of what lies in a range."""
    ends = sorted((abs(signed.low), abs(signed.high)))
    low = 0.0 if signed.low <= 0.0 <= signed.high else ends[0]
    return Range(low=low, nominal=abs(signed.nominal), high=ends[1], guaranteed=signed.guaranteed)
