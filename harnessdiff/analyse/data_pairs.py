"""Data pairs: what a meter reads between the two, and the stubs that hang on them. No direct current is asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import networkx as nx
import numpy as np

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.inverse import factorise
from harnessdiff.analyse.network.laws import Law
from harnessdiff.analyse.supply import Supply
from harnessdiff.graph import SOLID
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import is_added
from harnessdiff.model.modification import Value
from harnessdiff.model.parts import Load
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Reference
from harnessdiff.tables.loader import limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The two nodes of a terminator, and the two nets it joins."""

    terminator: str
    one: str
    other: str
    nets: frozenset[str]


def pairs_of(reference: Reference, supply: Supply) -> tuple[Pair, ...]:
    """The terminators of a reference's data pairs.

    Parameters
    ----------
    reference : Reference
    supply : Supply
        Of it.

    Returns
    -------
    tuple of Pair
        Loads of about 120 Ω between two nets of circuits that carry data.
    """
    data = {circuit.id for circuit in reference.circuits if circuit.function == "data"}
    nets = {
        supply.net_of[node]
        for conductor in supply.harness.conductors()
        if conductor.circuit in data
        for pair in supply.conductor_segments(conductor.id)
        for node in pair
    }
    found = []
    for one, other, edge in supply.graph.edges(data=True):
        ohm = edge["part"].resistance_ohm.exact if isinstance(edge["part"], Load) else None
        ends = frozenset((supply.net_of[one], supply.net_of[other]))
        if ohm is not None and _terminates(ohm) and ends <= nets:
            found.append(Pair(terminator=edge["element"], one=one, other=other, nets=ends))
    return tuple(sorted(found, key=lambda pair: (sorted(pair.nets), pair.terminator)))


def _terminates(ohm: float) -> bool:
    return limit("terminator_least_ohm") <= ohm <= limit("terminator_most_ohm")


def data_pairs(
    answering: Answering, reference: Reference, before: Supply, after: Supply, was: Network, now: Network
) -> tuple[Found, ...]:
    """What is otherwise on the data pairs: the resistance between the two, and stubs that are too long.

    Parameters
    ----------
    answering : Answering
    reference : Reference
    before, after : Supply
        What feeds what on the reference and as found.
    was, now : Network
        The reference and what was found.

    Returns
    -------
    tuple of Found
        A pair once, at the terminator where most has changed; a stub for every added lead.

    References
    ----------
    .. [1] ISO 11898-2: 120 Ω at each end of the pair, so that 60 Ω are read between the two.
    """
    pairs = pairs_of(reference, before)
    return (*_resistances(answering, pairs, was, now), *_stubs(answering, pairs, after))


def _resistances(answering: Answering, pairs: tuple[Pair, ...], was: Network, now: Network) -> Iterator[Found]:
    worst: dict[frozenset[str], tuple[float, Pair, float, float]] = {}
    for pair in pairs:
        if pair.one not in now.index or pair.other not in now.index:
            continue
        before, after = _between_ohm(was, pair), _between_ohm(now, pair)
        change = abs(np.log(max(after, 1e-3) / max(before, 1e-3)))
        if pair.nets not in worst or change > worst[pair.nets][0]:
            worst[pair.nets] = (change, pair, before, after)
    for change, pair, before, after in worst.values():
        if change < np.log(limit("pair_differs")):
            continue
        elements = [branch.element for branch in now.branches if _joins(branch, _reached(now, pair))]
        yield Found(
            consequence=Consequence(
                code="data_pair",
                subject=pair.terminator,
                terminal=pair.one.rsplit(":", 1)[-1],
                before=Range.exactly(before, guaranteed=False),
                after=Range.exactly(after, guaranteed=False),
                unit="ohm",
                sources=("ISO 11898-2: two terminators of 120 Ω in parallel",),
            ),
            modifications=answering.of_elements(filter(is_added, elements))
            or answering.of_elements((*elements, *(one.terminator for one in pairs if one.nets == pair.nets))),
        )


def _between_ohm(network: Network, pair: Pair) -> float:
    """Resistance between the two with nothing fed: resistors and contacts that always conduct, no sources."""
    laws = network.laws
    conducts = np.array([getattr(one.part, "when", None) is None or one.kind == "mated" for one in network.branches])
    conductance = np.where((laws.law == Law.RESISTOR) & conducts, laws.numbers[:, 0], 0.0)
    circuit = network.circuit
    factor = factorise(circuit.matrix(conductance, circuit.held(conductance > 0)[0]))
    current = np.zeros((circuit.nodes, 1), order="F")
    at = [int(circuit.row_of[network.index[node]]) for node in (pair.one, pair.other)]
    for row, sign in zip(at, (1.0, -1.0), strict=True):
        if row >= 0:
            current[row] += sign
    voltage = factor.solve(current[:-1])[:, 0]
    ends = [0.0 if row < 0 else float(voltage[row]) for row in at]
    return abs(ends[0] - ends[1])


def _reached(network: Network, pair: Pair) -> frozenset[str]:
    """All nodes that solid edges join to either side of a pair."""
    solid: nx.Graph[str] = nx.Graph()
    solid.add_nodes_from((pair.one, pair.other))
    solid.add_edges_from((branch.one, branch.other) for branch in network.branches if branch.kind in SOLID)
    return frozenset(nx.node_connected_component(solid, pair.one) | nx.node_connected_component(solid, pair.other))


def _joins(branch: Branch, nodes: frozenset[str]) -> bool:
    return branch.one in nodes or branch.other in nodes


def _stubs(answering: Answering, pairs: tuple[Pair, ...], after: Supply) -> Iterator[Found]:
    """Added leads on a pair that are longer than a stub may be."""
    nets = {after.net_of[node] for pair in pairs for node in (pair.one, pair.other) if node in after.net_of}
    for lead in after.harness.conductors():
        length = lead.length_m.high
        if not is_added(lead.id) or length is None or length <= limit("data_stub_most"):
            continue
        ends = {after.net_of[node] for segment in after.conductor_segments(lead.id) for node in segment}
        if not ends & nets:
            continue
        params: tuple[tuple[str, Value], ...] = (("limit_m", limit("data_stub_most")), ("sort", "stub"))
        yield Found(
            consequence=Consequence(
                code="data_pair",
                subject=lead.id,
                after=Range(low=lead.length_m.low or 0.0, nominal=length, high=length, guaranteed=False),
                unit="m",
                params=params,
                sources=("ISO 11898-2: stub of at most 0.3 m at 1 Mbit/s (from memory)",),
            ),
            modifications=answering.of_elements([lead.id]),
        )
