"""What sources reach on a network as found with some elements taken out, over what may conduct."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from harnessdiff.analyse.electrical import Solved
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.laws import Bools, Ints
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.graph import CONDUCTING, GROUND_DEVICES, SOLID
from harnessdiff.model.harness import is_added
from harnessdiff.model.parts import Load, Source

METAL = -1
"""Component of the nodes that are metal: nothing is fed through them."""


@dataclass(frozen=True, slots=True)
class Done:
    """What has been taken out.

    Parameters
    ----------
    opened : frozenset of int
        Branches that are open.
    silent : frozenset of str
        Devices whose own cells, of which nobody said how they feed, are off or unplugged.
    """

    opened: frozenset[int] = frozenset()
    silent: frozenset[str] = frozenset()

    def and_(self, other: Done) -> Done:
        """Both."""
        return Done(self.opened | other.opened, self.silent | other.silent)


@dataclass(frozen=True, slots=True)
class _Reach:
    component: Ints  # by node
    fed: frozenset[int]  # components that a source is part of
    implied: frozenset[int]  # sources that give nothing for want of their own supply


class Joins:
    """Tells what is joined to a source with some elements taken out.

    Parameters
    ----------
    solved : Solved
        What was found, in every condition.
    """

    def __init__(self, solved: Solved) -> None:
        self.network: Network = solved.network
        self.base: Mapping[str, Settled] = solved.settled
        self.sources = tuple(branch for branch in self.network.branches if branch.kind == "source")
        self.carries = np.array([branch.kind in CONDUCTING for branch in self.network.branches], dtype=bool)
        self.is_solid = np.array([branch.kind in SOLID for branch in self.network.branches], dtype=bool)
        self.is_added = np.array([is_added(branch.element) for branch in self.network.branches], dtype=bool)
        self._reached: dict[tuple[Done, str | None], _Reach] = {}
        self._nets: dict[frozenset[int], Ints] = {}
        self._by_added: dict[frozenset[int], Ints] = {}
        self._standing = {name: self.network.standing(one.condition) for name, one in self.base.items()}

    @cached_property
    def _body(self) -> str:
        """Where the metal is touched: the first terminal of the body, else the ground."""
        network = self.network
        found = (
            node
            for node in network.nodes
            if ":" in node and (device := network.harness.device(network.harness.device_of(node))) is not None
            and device.kind in GROUND_DEVICES and not is_added(device.id)
        )  # fmt: skip
        return next(found, network.ground)

    @cached_property
    def metal(self) -> Bools:
        """Nodes that are solid to the body by the maker's own joints."""
        label = self._components(np.flatnonzero(self.is_solid & ~self.is_added))
        return np.asarray(label == label[self.network.index[self._body]])

    def _components(self, numbers: Ints) -> Ints:
        circuit = self.network.circuit
        one, other = circuit.one[numbers], circuit.other[numbers]
        joins = csr_array((np.ones(len(numbers)), (one, other)), shape=(circuit.nodes, circuit.nodes))
        return np.asarray(connected_components(joins, directed=False)[1], dtype=np.int64)

    @cached_property
    def _off_metal(self) -> Bools:
        circuit = self.network.circuit
        return ~(self.metal[circuit.one] | self.metal[circuit.other])

    @cached_property
    def unmodelled(self) -> Mapping[str, tuple[int, ...]]:
        """Devices that have cells of their own, of which nobody said what they feed: their terminals."""
        network, found = self.network, {}
        for device in network.harness.devices():
            modelled = any(isinstance(part, Source) for part in device.parts)
            if device.own_energy == "yes" and not modelled and device.connected != "no":
                ends = [one for one in network.harness.subjects(device.id, "of") if one in network.index]
                found[device.id] = tuple(network.index[one] for one in ends)
        return found

    def _needs(self, source: Branch) -> tuple[int, ...]:
        """Where a converter takes what it gives; empty where it is a source by itself."""
        part = source.part
        if not isinstance(part, Source) or part.model != "converter":
            return ()
        ends = {source.one, source.other}
        loads = [one for one in self.network.branches_of(source.element) if isinstance(one.part, Load)]
        nodes = {node for load in loads for node in (load.one, load.other)} - ends
        return tuple(self.network.index[node] for node in sorted(nodes))

    def reached(self, done: Done, condition: str | None = None) -> _Reach:
        """What sources reach, over everything that may conduct, in a condition or in any position of anything."""
        key = (done, condition)
        if key not in self._reached:
            self._reached[key] = self._reach(done, condition)
        return self._reached[key]

    def _reach(self, done: Done, condition: str | None) -> _Reach:
        closed = self._off_metal.copy() if condition is None else self._off_metal & self._standing[condition]
        closed[list(done.opened)] = False
        sources = np.zeros(len(closed), dtype=bool)
        sources[[one.number for one in self.sources]] = True
        component = np.where(self.metal, METAL, self._components(np.flatnonzero(closed & ~sources)))
        index = self.network.index
        fed: set[int] = set()
        waiting = [
            one
            for one in self.sources
            if one.number not in done.opened and (condition is None or self._standing[condition][one.number])
        ]
        while waiting:
            gives = [
                one
                for one in waiting
                if not (needs := self._needs(one)) or any(int(component[node]) in fed - {METAL} for node in needs)
            ]
            if not gives:
                break
            fed |= {int(component[index[node]]) for one in gives for node in (one.one, one.other)}
            waiting = [one for one in waiting if one not in gives]
        return _Reach(component, frozenset(fed - {METAL}), frozenset(one.number for one in waiting))

    def joined(self, done: Done) -> Ints:
        """Component of every node over the maker's solid joints and what was added; `METAL` for the metal."""
        closed = self._off_metal & self.carries
        closed &= self.is_added | self.is_solid
        closed[list(done.opened)] = False
        return np.where(self.metal, METAL, self._components(np.flatnonzero(closed)))

    def dead_by_joining(self, nodes: Iterable[str], done: Done, condition: str | None = None) -> bool:
        """Whether no source is left that could reach any of some nodes, in whatever position anything is."""
        reach = self.reached(done, condition)
        return not any(
            int(reach.component[self.network.index[node]]) in reach.fed or self._own_cells(node, done) is not None
            for node in nodes
        )

    def _own_cells(self, node: str, done: Done) -> str | None:
        """The device whose cells, of which nobody said how they feed, a node is joined to by added things alone."""
        place = self._added(done)
        here = place[self.network.index[node]]
        if here in place[self.metal]:
            return None
        return next(
            (name for name, ends in self.unmodelled.items() if name not in done.silent and here in place[list(ends)]),
            None,
        )

    def solid(self, done: Done) -> Ints:
        """Net of every node: what conducts always and both ways."""
        if done.opened not in self._nets:
            closed = self.is_solid.copy()
            closed[list(done.opened)] = False
            self._nets[done.opened] = self._components(np.flatnonzero(closed))
        return self._nets[done.opened]

    def _added(self, done: Done) -> Ints:
        """Component of every node over what was added and is no load."""
        key = done.opened
        if key not in self._by_added:
            closed = self.carries & self.is_added
            closed[list(done.opened)] = False
            self._by_added[key] = self._components(np.flatnonzero(closed))
        return self._by_added[key]
