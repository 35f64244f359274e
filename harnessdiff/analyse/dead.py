"""Whether a thing is dead with some elements taken out, in every condition.

First by what is joined: where no source is left on this side of the metal, whatever position switches and relays are
in, every voltage lies between those of the metal it touches [1]_. Only what that leaves open is solved, condition by
condition. A voltage counts where a short to ground could draw more than a touch of current from it.

References
----------
.. [1] P. Penfield, R. Spence, S. Duinker, *Tellegen's Theorem and Electrical Networks*, MIT Press 1970: elements that
       only take power leave no node beyond the voltages of the nodes they are driven from (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from harnessdiff.analyse.electrical import Solved
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.inverse import factorise
from harnessdiff.analyse.network.laws import Bools, Floats, Ints, Law
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.analyse.network.values import LEAST_OHM, MOST_OHM
from harnessdiff.analyse.network.without import chords
from harnessdiff.analyse.reach import Done, Joins
from harnessdiff.model.harness import Bond
from harnessdiff.model.quantity import Quantity
from harnessdiff.tables.loader import assumed_value, limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Fed:
    """How a live node is fed.

    Parameters
    ----------
    node, source : str
        The node, and the device that feeds it; ``""`` where none was found.
    way : tuple of Branch
        From the source on, the source's own branch first.
    """

    node: str
    source: str
    way: tuple[Branch, ...]


class Deadness(Joins):
    """Tells what is live with some elements taken out.

    Parameters
    ----------
    solved : Solved
        What was found, in every condition.
    """

    def __init__(self, solved: Solved) -> None:
        super().__init__(solved)
        self._settled: dict[tuple[frozenset[int], str], Settled] = {}
        self._carried: dict[tuple[frozenset[int], str], tuple[Bools, Ints, Ints]] = {}
        self._probed: dict[tuple[str, str], tuple[Network, Branch]] = {}
        self._driven: dict[tuple[frozenset[int], str, str, int, float], bool] = {}
        self._hanging: dict[int, tuple[Settled, Ints]] = {}
        self._factors: dict[int, tuple[Settled, tuple[Any, Any]]] = {}

    # -- what is live

    def live(self, nodes: Iterable[str], done: Done, condition: str) -> dict[str, float]:
        """Nodes that are live in a condition, and the greatest voltage they have. [V]

        Parameters
        ----------
        nodes : iterable of str
        done : Done
        condition : str

        Returns
        -------
        dict
            Not a number for what hangs on cells of which nobody said how they feed.
        """
        nodes = tuple(nodes)
        found = {node: np.nan for node in nodes if self._own_cells(node, done) is not None}
        index = self.network.index
        for scope in (None, condition):
            reach = self.reached(done, scope)
            nodes = tuple(node for node in nodes if int(reach.component[index[node]]) in reach.fed)
        return found | {node: volts for node in nodes if (volts := self._volts(node, done, condition)) is not None}

    def certain(self, nodes: Iterable[str], done: Done, condition: str) -> bool:
        """Whether what is said of some nodes needs no solving, or solving came to an end."""
        if self.dead_by_joining(nodes, done) or self.dead_by_joining(nodes, done, condition):
            return True
        settled = self.settled(done, condition)
        return settled.solution.converged and not settled.oscillates

    def settled(self, done: Done, condition: str) -> Settled:
        """The network as found in a condition with what is done."""
        opened = self._opened(done, condition)
        if not opened:
            return self.base[condition]
        key = (opened, condition)
        if key not in self._settled:
            base = self.base[condition]
            self._settled[key] = settle(self.network, base.condition, base.state, opened=opened, guess=base)
        return self._settled[key]

    def _against(self, done: Done) -> tuple[str, ...]:
        """What a node is looked at against: the metal, and the return pole of every source that is on."""
        forward = self.network.forward > 0
        returns = [(one.other if forward else one.one) for one in self.sources if one.number not in done.opened]
        off_metal = [node for node in returns if not self.metal[self.network.index[node]]]
        return tuple(dict.fromkeys((self._body, *off_metal)))

    def _volts(self, node: str, done: Done, condition: str) -> float | None:
        """Greatest voltage by which a node is live, None where it is dead."""
        settled = self.settled(done, condition)
        voltage, index = settled.solution.voltage_V, self.network.index
        part = self._parts(settled)
        found = []
        for other in self._against(done):
            one, two = index[node], index[other]
            if one == two or part[one] != part[two]:
                continue
            volts = abs(float(voltage[one] - voltage[two]))
            if volts >= limit("dead_most_V") and self._drives(volts, (node, other), done, condition):
                found.append(volts)
        return max(found, default=None)

    def _parts(self, settled: Settled) -> Ints:
        """What hangs together, so that a voltage between two nodes means something."""
        if id(settled) not in self._hanging:
            self._hanging[id(settled)] = (settled, self.network.circuit.parts(settled.active))
        return self._hanging[id(settled)][1]

    def _drives(self, volts: float, ends: tuple[str, str], done: Done, condition: str) -> bool:
        """Whether a short between two nodes would draw a current that counts; asked once for what hangs together."""
        opened, node = self._opened(done, condition), self.network.index[ends[0]]
        key = (opened, condition, ends[1], int(self.solid(done)[node]), round(volts, 4))
        if key not in self._driven:
            self._driven[key] = self._shorts(volts, ends, done, condition)
        return self._driven[key]

    def _shorts(self, volts: float, ends: tuple[str, str], done: Done, condition: str) -> bool:
        settled, least = self.settled(done, condition), limit("dead_most_A")
        if volts >= least * self._between_ohm(settled, ends, diodes=False):
            return True
        if volts < least * self._between_ohm(settled, ends, diodes=True):
            return False
        return self._shorted_A(ends, done, condition) >= least

    def _between_ohm(self, settled: Settled, ends: tuple[str, str], *, diodes: bool) -> float:
        """Resistance between two nodes as everything stands, or with all diodes conducting. [ohm]"""
        circuit = self.network.circuit
        known = self._factors.get(id(settled))
        if known is None:
            known = self._factors[id(settled)] = (settled, self._factored(settled))
        factor = known[1][diodes]
        drawn = np.zeros(circuit.nodes - 1)
        rows = [(circuit.row_of[self.network.index[end]], sign) for end, sign in zip(ends, (1.0, -1.0), strict=True)]
        rows = [(row, sign) for row, sign in rows if row >= 0]
        for row, sign in rows:
            drawn[row] = sign
        volts = factor.solve(drawn)
        return float(sum(sign * volts[row] for row, sign in rows))

    def _factored(self, settled: Settled) -> tuple[Any, Any]:
        conductance: Floats = chords(settled)
        circuit = self.network.circuit
        at = np.flatnonzero((settled.laws.law == int(Law.DIODE)) & settled.active)
        all_on = conductance.copy()
        all_on[at] = 1 / assumed_value("diode_on")
        # What is on and carries nothing, such as a load that brought its supply down, ties no node to ground.
        as_is, with_diodes = (factorise(circuit.matrix(one, circuit.held(one > 0)[0])) for one in (conductance, all_on))
        return as_is, with_diodes

    def _shorted_A(self, ends: tuple[str, str], done: Done, condition: str) -> float:
        """Current through a short between two nodes, solved: a diode that rests may come to conduct by it. [A]"""
        if ends not in self._probed:
            self._probed[ends] = self._with_short(*ends)
        probed, short = self._probed[ends]
        settled = self.settled(done, condition)
        opened = [number + (number >= short.number) for number in self._opened(done, condition)]
        shorted = settle(probed, settled.condition, self.base[condition].state, opened=opened, guess=settled)
        return abs(shorted.current_A(short))

    def _with_short(self, node: str, other: str) -> tuple[Network, Branch]:
        network, graph = self.network, self.network.graph.copy()
        ohm = Quantity.exactly(assumed_value("ground_bond"))
        graph.add_edge(node, other, kind="short", element=node, part=Bond(terminal="", to=other, resistance_ohm=ohm))
        probed = Network(network.harness, network.polarity, network.system_V, graph)
        return probed, next(branch for branch in probed.branches if branch.kind == "short")

    # -- by what

    def feed(self, node: str, done: Done, condition: str) -> Fed:
        """How a live node is fed, by the way of least resistance.

        Parameters
        ----------
        node : str
        done : Done
        condition : str

        Returns
        -------
        Fed
        """
        settled = self.settled(done, condition)
        way = self._from_source(node, settled, self._opened(done, condition), settled.active)
        return way or Fed(node=node, source=self._own_cells(node, done) or "", way=())

    def carried(self, node: str, done: Done, condition: str) -> Fed | None:
        """How a node is fed other than through a load, with every contact as it was found; None where it is not.

        Parameters
        ----------
        node : str
        done : Done
        condition : str

        Returns
        -------
        Fed or None
        """
        base, opened, index = self.base[condition], self._opened(done, condition), self.network.index
        key = (opened, condition)
        if key not in self._carried:
            closed = base.active & self._off_metal & self.carries
            closed[list(opened)] = False
            place = self._components(np.flatnonzero(closed))
            gives = [one for one in self.sources if base.active[one.number] and one.number not in opened]
            self._carried[key] = (closed, place, np.unique(place[[index[self._live_pole(one)] for one in gives]]))
        closed, place, fed = self._carried[key]
        if self.metal[index[node]] or place[index[node]] not in fed:
            return None
        return self._from_source(node, base, opened, closed)

    def _from_source(self, node: str, settled: Settled, opened: frozenset[int], through: Bools) -> Fed | None:
        """The way of least resistance from a source that gives a voltage that counts."""
        ohm = 1 / np.maximum(chords(settled), 1 / MOST_OHM) + LEAST_OHM
        diodes = settled.laws.law == int(Law.DIODE)
        ohm[diodes] = assumed_value("diode_on")
        closed = through & self._off_metal
        closed[list(opened)] = False
        index, least = self.network.index, limit("dead_most_V")
        sources = [
            one
            for one in self.sources
            if settled.active[one.number] and one.number not in opened and abs(settled.across_V(one)) >= least
        ]
        at = {index[self._live_pole(one)]: one for one in reversed(sources)}
        way = self._way(index[node], list(at), closed, ohm, diodes)
        if way is None:
            return None
        return Fed(node=node, source=at[way[0]].element, way=(at[way[0]], *way[1]))

    def _opened(self, done: Done, condition: str) -> frozenset[int]:
        return done.opened | self.reached(done, condition).implied if done.opened else done.opened

    def _live_pole(self, source: Branch) -> str:
        return source.one if self.network.forward > 0 else source.other

    def _way(
        self, node: int, ends: list[int], closed: Bools, ohm: Floats, diodes: Bools
    ) -> tuple[int, tuple[Branch, ...]] | None:
        """The end that is nearest to a node, and the branches from there to the node; None where none is joined."""
        circuit = self.network.circuit
        numbers = np.flatnonzero(closed & ~np.isin(np.arange(len(closed)), [one.number for one in self.sources]))
        ahead = numbers if self.network.forward < 0 else numbers[~diodes[numbers]]
        back = numbers if self.network.forward > 0 else numbers[~diodes[numbers]]
        start = np.concatenate((circuit.one[ahead], circuit.other[back]))
        stop = np.concatenate((circuit.other[ahead], circuit.one[back]))
        number = np.concatenate((ahead, back))
        order = np.lexsort((number, ohm[number]))
        least = order[np.unique(start[order] * circuit.nodes + stop[order], return_index=True)[1]]
        by_pair = {(int(start[n]), int(stop[n])): int(number[n]) for n in least}
        size = (circuit.nodes, circuit.nodes)
        graph = csr_array((ohm[number[least]], (start[least], stop[least])), shape=size)
        far, before = (one[0] for one in dijkstra(graph, indices=np.array([node]), return_predecessors=True))
        nearest = min(ends, key=lambda end: (far[end], end), default=None)
        if nearest is None or not np.isfinite(far[nearest]):
            return None
        way, at = [], nearest
        while at != node:
            way.append(self.network.branches[by_pair[int(before[at]), at]])
            at = int(before[at])
        return nearest, tuple(way)
