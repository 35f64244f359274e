"""What feeds every node of a harness: from which sources, through which protection, always or switched."""

from __future__ import annotations

import itertools
from collections import deque
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, TypeAlias

import networkx as nx

from harnessdiff.graph import (
    CONDUCTING,
    PROTECTIVE,
    diode_passes,
    ground_nodes,
    harness_graph,
    holds_at_rest,
    nets,
    poles,
    slot_of,
    spread,
)
from harnessdiff.model.harness import Harness, Inline
from harnessdiff.model.parts import Link, Output
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.tables.loader import carried_share


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """A fuse, breaker or limited output that stands between a source and a node.

    `element` is the fuse, or the lead whose in-line fuse it is; `name` is what a person looks for
    (the slot, the lead, the module), and `sort` what of it: ``fuse``, ``inline``, ``output`` or
    ``source``. `body` is how a fuse is made.
    """

    element: str
    name: str
    sort: str
    rating_A: Quantity
    body: str | None = None


LIMITED_SOURCES = frozenset({"converter", "solar_regulator"})
"""Sources that limit their own current, so that their limit protects what they feed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pole:
    """A pole of a source that is not ground."""

    node: str
    device: str
    needs_engine: bool
    limit_A: Quantity


Need: TypeAlias = tuple[str, frozenset[str]]
"""A device and the states of it in which something conducts."""
Needs: TypeAlias = Mapping[str, frozenset[str]]
"""The states that devices must be in for current to come a certain way."""
NO_NEEDS: Needs = {}
MOST_NEEDS = 4
"""Greatest number of ways to one place that are kept apart by the states they ask for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A way from one block to another: over a protective device, a diode, or a contact that excludes another."""

    near: str
    far: str
    guard: Guard | None
    need: Need | None


DIRECTED_OR_PROTECTIVE = PROTECTIVE | {"diode"}


def need_of(edge: Mapping[str, Any]) -> Need | None:
    """The states of a switch or relay in which a contact conducts; None where it always may."""
    when = getattr(edge["part"], "when", None)
    if edge["kind"] not in ("link", "mated", "output") or when is None:
        return None
    if when.position:
        return edge["element"], frozenset(when.position)
    if when.energised is not None:
        return edge["element"], frozenset({"pulled in" if when.energised else "at rest"})
    return None


def met_too(needs: Needs, need: Need | None) -> Needs | None:
    """`needs` with one more; None where a device would have to be in two states at once."""
    if need is None:
        return needs
    device, states = need
    both = needs.get(device, states) & states
    return {**needs, device: both} if both else None


def asks_no_more(one: Needs, other: Needs) -> bool:
    """Whether everything `one` asks for is asked for by `other`, too."""
    return not one or all(device in other and other[device] <= states for device, states in one.items())


def _either(one: Needs, other: Needs) -> Needs:
    """What must hold whichever of two ways current comes."""
    return {device: states | other[device] for device, states in one.items() if device in other}


class Supply:
    """Answers, for one harness, where every node gets its current from.

    Only the way in which things are joined counts, not how much current flows: a switch may be
    closed, but not in two positions at once; a load does not pass current on.

    Parameters
    ----------
    harness : Harness
    polarity : str or None
        ``positive`` where the battery's plus is on the body.
    """

    def __init__(self, harness: Harness, polarity: str | None = None) -> None:
        self.harness = harness
        self.polarity = polarity
        self.graph: nx.MultiGraph[str] = harness_graph(harness)
        self.net_of = nets(self.graph)
        self.ground = ground_nodes(self.graph, harness, self.net_of, polarity)
        self.sources = self._sources()
        self._block_of, self._ways = self._blocks()
        live = self.hot_poles()
        self.unguarded = self._nodes(self._reached(self._at(self.hot_poles(limited=False)), protected=False))
        self.fed = self._nodes(self._reached(self._at(live), protected=True))
        self.always_fed = frozenset(self._reach_at_rest(self.hot_poles(engine_off=True)))
        self.guards = self._guards()
        self.steps = spread(
            self.graph,
            live,
            lambda edge, _one, other: edge["kind"] in CONDUCTING and other not in self.ground,
        )

    def _sources(self) -> tuple[_Pole, ...]:
        """Live poles of all sources."""
        live, _ = poles(self.graph, self.harness, self.polarity)
        found = set()
        for one, other, edge in self.graph.edges(data=True):
            if edge["kind"] != "source":
                continue
            device = self.harness.device(edge["element"])
            assert device is not None
            needs_engine = not holds_at_rest(edge["part"].when, device)
            limit = edge["part"].limit_A if edge["part"].model in LIMITED_SOURCES else UNKNOWN
            found |= {
                _Pole(node=node, device=device.id, needs_engine=needs_engine, limit_A=limit)
                for node in (one, other)
                if node in live
            }
        return tuple(sorted(found, key=lambda pole: (pole.node, pole.device)))

    def hot_poles(self, *, engine_off: bool = False, of: str | None = None, limited: bool = True) -> tuple[str, ...]:
        """Nodes of the sources' poles that are not ground.

        Parameters
        ----------
        engine_off : bool
            Leave out sources that feed only with the engine turning.
        of : str, optional
            Only the poles of this device.
        limited : bool
            Whether sources that limit their own current count.
        """
        return tuple(
            pole.node
            for pole in self.sources
            if not (engine_off and pole.needs_engine)
            and of in (None, pole.device)
            and (limited or not pole.limit_A.known)
        )

    # Nodes that unprotected conducting edges join are one block. Between blocks there are only
    # fuses, outputs, diodes, and contacts of which not all can be closed at once, few enough to be
    # walked once for each protective device.

    def _blocks(self) -> tuple[dict[str, str], list[_Way]]:
        """Block of every node that is not ground, and the ways from block to block."""
        joined: nx.Graph[str] = nx.Graph()
        joined.add_nodes_from(node for node in self.graph if node not in self.ground)
        conducting = [
            (one, other, edge)
            for one, other, edge in self.graph.edges(data=True)
            if edge["kind"] in CONDUCTING and one not in self.ground and other not in self.ground
        ]
        exclusive = _exclusive(edge for _, _, edge in conducting)
        crossing = []
        for one, other, edge in conducting:
            need = need_of(edge)
            need = need if need is not None and need[0] in exclusive else None
            if need is not None or edge["kind"] in DIRECTED_OR_PROTECTIVE:
                crossing.append((one, other, edge, need))
            else:
                joined.add_edge(one, other)
        block_of: dict[str, str] = {}
        for component in nx.connected_components(joined):
            block_of.update(dict.fromkeys(component, min(component)))
        ways = []
        guards: dict[Guard, Guard] = {}
        for one, other, edge, need in crossing:
            guard = self._guard(edge) if edge["kind"] in PROTECTIVE else None
            guard = guards.setdefault(guard, guard) if guard is not None else None  # equal ones are the same one
            for near, far in ((one, other), (other, one)):
                if edge["kind"] == "diode" and not diode_passes(edge, self.harness, near, self.polarity):
                    continue
                if edge["kind"] == "output" and near != self._feed_of(edge):
                    continue
                ways.append(_Way(near=block_of[near], far=block_of[far], guard=guard, need=need))
        return block_of, ways

    def _at(self, nodes: Iterable[str]) -> list[tuple[str, Needs]]:
        """The blocks of nodes, with nothing asked for."""
        blocks = dict.fromkeys(self._block_of[node] for node in nodes if node in self._block_of)
        return [(block, NO_NEEDS) for block in blocks]

    def _reached(
        self, starts: Iterable[tuple[str, Needs]], *, protected: bool, without: Guard | None = None
    ) -> dict[str, list[Needs]]:
        """Blocks that current reaches, each with what the ways to it ask for.

        Parameters
        ----------
        starts : iterable of tuple
            Blocks, and what current asks for to be there.
        protected : bool
            Whether it passes protective devices.
        without : Guard, optional
            One that it does not pass.
        """
        reached: dict[str, list[Needs]] = {}
        front: deque[tuple[str, Needs]] = deque()
        for block, needs in starts:
            _arrive(reached, front, block, needs)
        while front:
            block, needs = front.popleft()
            for way in self._ways_from.get(block, ()):
                if way.guard is None or (protected and way.guard is not without):
                    following = met_too(needs, way.need)
                    if following is not None:
                        _arrive(reached, front, way.far, following)
        return reached

    @cached_property
    def _ways_from(self) -> dict[str, list[_Way]]:
        found: dict[str, list[_Way]] = {}
        for way in self._ways:
            found.setdefault(way.near, []).append(way)
        return found

    def _nodes(self, blocks: Iterable[str]) -> frozenset[str]:
        among = frozenset(blocks)
        return frozenset(node for node, block in self._block_of.items() if block in among)

    def beyond(self, nodes: Iterable[str]) -> frozenset[str]:
        """All nodes that current reaches from some without passing protection, ground left out."""
        return self._nodes(self._reached(self._at(nodes), protected=False))

    def _guards(self) -> dict[str, tuple[Guard, ...]]:
        """For every node that protection feeds: the last protective devices on the ways to it."""
        of_block: dict[str, set[Guard]] = {}
        for pole in self.sources:
            if pole.limit_A.known:
                guard = Guard(element=pole.device, name=pole.device, sort="source", rating_A=pole.limit_A)
                for block in self._reached(self._at((pole.node,)), protected=False):
                    of_block.setdefault(block, set()).add(guard)
        live = self._at(self.hot_poles())
        guards = {way.guard for way in self._ways if way.guard is not None}
        reached = {guard: self._reached(live, protected=True, without=guard) for guard in guards}
        for way in self._ways:
            if way.guard is None:
                continue
            before = (met_too(needs, way.need) for needs in reached[way.guard].get(way.near, ()))
            behind = [(way.far, needs) for needs in before if needs is not None]
            for block in self._reached(behind, protected=False):
                of_block.setdefault(block, set()).add(way.guard)
        ordered = {
            block: tuple(sorted(guards, key=lambda one: (one.element, one.name))) for block, guards in of_block.items()
        }
        return {node: ordered[block] for node, block in self._block_of.items() if block in ordered}

    def _reach_at_rest(self, starts: tuple[str, ...]) -> dict[str, int]:
        """Nodes that are live with every switch at rest and no coil pulled in."""

        def passes(edge: dict[str, Any], one: str, other: str) -> bool:
            return (
                edge["kind"] in CONDUCTING
                and other not in self.ground
                and (edge["kind"] != "diode" or diode_passes(edge, self.harness, one, self.polarity))
                and (edge["kind"] != "output" or one == self._feed_of(edge))
                and self._closed_at_rest(edge)
            )

        return spread(self.graph, starts, passes)

    def _closed_at_rest(self, edge: Mapping[str, Any]) -> bool:
        part = edge["part"]
        if isinstance(part, Inline):
            return part.kind not in ("switch", "relay_contact")
        if isinstance(part, (Link, Output)):
            device = self.harness.device(edge["element"])
            return device is not None and holds_at_rest(part.when, device)
        return True

    def _feed_of(self, edge: Mapping[str, Any]) -> str:
        return f"{slot_of(self.harness, edge['element'])}:{edge['part'].between[0]}"

    def _guard(self, edge: Mapping[str, Any]) -> Guard:
        element = edge["element"]
        if isinstance(edge["part"], Inline):
            part = edge["part"]
            return Guard(element=element, name=element, sort="inline", rating_A=part.rating_A, body=part.body)
        if isinstance(edge["part"], Output):
            name = slot_of(self.harness, element)
            return Guard(element=element, name=name, sort="output", rating_A=edge["part"].limit_A)
        device = self.harness.device(element)
        rating, share = (device.rating_A, carried_share(device.rating_convention)) if device else (UNKNOWN, 1.0)
        carried = (
            rating if share == 1 else replace(rating, low=_scaled(rating.low, share), high=_scaled(rating.high, share))
        )
        body = device.body if device else None
        return Guard(element=element, name=slot_of(self.harness, element), sort="fuse", rating_A=carried, body=body)

    def between_sources(self) -> dict[str, tuple[str, str]]:
        """Elements on the only way from one battery to another, with the two.

        Returns
        -------
        dict
            Element to the two sources; without it neither would feed the other's side.
        """
        open_ways: nx.MultiGraph[str] = nx.MultiGraph()
        open_ways.add_edges_from(
            (one, other, {"element": edge["element"]})
            for one, other, edge in self.graph.edges(data=True)
            if edge["kind"] in CONDUCTING and one not in self.ground and other not in self.ground
        )
        batteries = [pole for pole in self.sources if not pole.needs_engine]
        found: dict[str, tuple[str, str]] = {}
        for one, other in itertools.combinations(batteries, 2):
            if one.device == other.device or not {one.node, other.node} <= set(open_ways):
                continue
            if not nx.has_path(open_ways, one.node, other.node):
                continue
            way = nx.shortest_path(open_ways, one.node, other.node)
            elements = {
                edge["element"] for pair in itertools.pairwise(way) for edge in open_ways[pair[0]][pair[1]].values()
            }
            for element in sorted(elements):
                rest = nx.subgraph_view(open_ways, filter_edge=_not_of(open_ways, element))
                if not nx.has_path(rest, one.node, other.node):
                    found[element] = (one.device, other.device)
        return found

    def state_of(self, node: str) -> str:
        """``permanent``, ``switched`` or ``dead``: what is known of a node from the way things are joined."""
        if node in self.always_fed:
            return "permanent"
        return "switched" if node in self.fed else "dead"

    def conductor_segments(self, conductor: str) -> list[tuple[str, str]]:
        """The pieces of a conductor, each by the nodes it lies between."""
        return self._segments.get(conductor, [])

    @cached_property
    def _segments(self) -> dict[str, list[tuple[str, str]]]:
        found: dict[str, list[tuple[str, str]]] = {}
        for one, other, edge in self.graph.edges(data=True):
            if edge["kind"] == "conductor":
                found.setdefault(edge["element"], []).append((one, other))
        return found


def _exclusive(edges: Iterable[Mapping[str, Any]]) -> frozenset[str]:
    """Devices whose contacts cannot all be closed at once."""
    states: dict[str, frozenset[str]] = {}
    for need in map(need_of, edges):
        if need is not None:
            device, of_contact = need
            states[device] = states.get(device, of_contact) & of_contact
    return frozenset(device for device, common in states.items() if not common)


def _arrive(reached: dict[str, list[Needs]], front: deque[tuple[str, Needs]], block: str, needs: Needs) -> None:
    """Note that current reaches a block, unless it is known to with no more asked for.

    Of more than `MOST_NEEDS` ways only what all of them ask for is kept, so that nothing is taken
    to be dead for want of room.
    """
    known = reached.setdefault(block, [])
    if any(asks_no_more(one, needs) for one in known):
        return
    known[:] = [one for one in known if not asks_no_more(needs, one)]
    if len(known) >= MOST_NEEDS:
        for one in known:
            needs = _either(one, needs)
        known.clear()
    known.append(needs)
    if needs:
        front.append((block, needs))
    else:
        front.appendleft((block, needs))


def _scaled(bound: float | None, share: float) -> float | None:
    return None if bound is None else bound * share


def _not_of(graph: nx.MultiGraph[str], element: str) -> Callable[[str, str, int], bool]:
    """A filter that leaves out the edges of one element."""
    return lambda one, other, key: bool(graph.edges[one, other, key]["element"] != element)
