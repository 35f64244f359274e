"""Which nets of a reference get their current through which others, and what stands between."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping
from functools import cached_property

import networkx as nx

from harnessdiff.graph import CONDUCTING, SOLID, diode_passes, slot_of
from harnessdiff.model.harness import Harness

GROUND = ""
"""The node that stands for all ground nets."""


class Ways:
    """The nets of a reference and the contacts, fuses, outputs and diodes from one to the next.

    Parameters
    ----------
    graph : networkx.MultiGraph
        Of the reference.
    harness : Harness
    net_of : mapping
        Net of every node.
    ground : frozenset of str
        Nodes that are ground.
    sources : iterable of str
        Live poles.
    polarity : str or None
    """

    def __init__(
        self,
        graph: nx.MultiGraph[str],
        harness: Harness,
        net_of: Mapping[str, str],
        ground: frozenset[str],
        sources: Iterable[str],
        polarity: str | None,
    ) -> None:
        self._graph, self._harness, self._polarity = graph, harness, polarity
        self._name = {node: GROUND if node in ground else net for node, net in net_of.items()}
        self._sources = {self._name[pole] for pole in sources if pole in self._name} - {GROUND}
        self._between: dict[tuple[str, str], tuple[str, ...]] = {}

    @cached_property
    def _onward(self) -> nx.DiGraph[str]:
        """Nets, and which way current can go from one to the next."""
        onward: nx.DiGraph[str] = nx.DiGraph()
        onward.add_nodes_from(self._name.values())
        for one, other, edge in self._graph.edges(data=True):
            if edge["kind"] not in CONDUCTING - SOLID:
                continue
            for near, far in ((one, other), (other, one)):
                if edge["kind"] == "diode" and not diode_passes(edge, self._harness, near, self._polarity):
                    continue
                if edge["kind"] == "output" and not near.endswith(f":{edge['part'].between[0]}"):
                    continue
                onward.add_edge(self._name[near], self._name[far])
        return onward

    @cached_property
    def _joined(self) -> nx.Graph[str]:
        """Nets, with the switches, relays and fuses that stand between two of them; slots for what sits in them."""
        joined: nx.Graph[str] = nx.Graph()
        for one, other, edge in self._graph.edges(data=True):
            pair = self._name[one], self._name[other]
            if edge["kind"] not in CONDUCTING - SOLID or pair[0] == pair[1]:
                continue
            devices: set[str] = joined.get_edge_data(*pair, default={}).get("devices", set())
            if edge["kind"] == "fuse" or (edge["kind"] == "link" and edge["part"].when is not None):
                devices = devices | {slot_of(self._harness, edge["element"])}
            joined.add_edge(*pair, devices=devices)
        return joined

    @cached_property
    def _fed(self) -> frozenset[str]:
        return self._reached(self._sources, without=None)

    def _reached(self, starts: Iterable[str], *, without: str | None) -> frozenset[str]:
        """Nets that current reaches from others, ground and one net left out."""
        barred = {GROUND, without} - set(starts) | {without}
        found = {start for start in starts if start not in barred}
        front = list(found)
        while front:
            for following in self._onward.successors(front.pop()):
                if following not in found and following not in barred:
                    found.add(following)
                    front.append(following)
        return frozenset(found)

    def between(self, above: str, below: str) -> tuple[str, ...]:
        """What stands between two nets where all current of the second comes by way of the first.

        Parameters
        ----------
        above, below : str
            Nodes of the reference's graph.

        Returns
        -------
        tuple of str
            Switches, relays and fuses on the way from the one to the other, in order; slots stand for
            what sits in them. Empty where `below` gets current by another way, too: two outputs of
            one bus bar are no way to each other. A net that no source reaches hangs on ground instead.
        """
        one, other = self._name[above], self._name[below]
        if other in (one, GROUND):
            return ()
        if (one, other) not in self._between:
            self._between[one, other] = self._devices(one, other) if self._dominates(one, other) else ()
        return self._between[one, other]

    def _dominates(self, above: str, below: str) -> bool:
        if below in self._fed:
            return above != GROUND and below not in self._reached(self._sources, without=above)
        return below in self._reached((GROUND,), without=None) and (
            above == GROUND or below not in self._reached((GROUND,), without=above)
        )

    def _devices(self, above: str, below: str) -> tuple[str, ...]:
        """Devices on the way between two nets that goes over the fewest; what runs beside it is left alone."""
        ways: nx.Graph[str] = nx.Graph(self._joined)
        ways.remove_nodes_from({GROUND} - {above})
        if above == GROUND:
            ways.remove_nodes_from(self._fed)
        if not (above in ways and below in ways and nx.has_path(ways, above, below)):
            return ()
        nodes = nx.shortest_path(
            ways, above, below, weight=lambda one, other, _edge: 1 + len(self._standing(one, other))
        )
        return tuple(
            sorted({device for one, other in itertools.pairwise(nodes) for device in self._standing(one, other)})
        )

    def _passing_cost(self, one: str, other: str, _edge: object) -> int:
        return 1 + len(self._standing(one, other))

    def _standing(self, one: str, other: str) -> frozenset[str]:
        return frozenset(self._joined.get_edge_data(one, other, default={}).get("devices", ()))
