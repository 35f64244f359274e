"""Node and edge conventions; the only place where a graph is built.

Nodes are text:

=====================  =============================================================
``DEVICE:NAME``        a terminal
``JOINT``              a joint
``CONDUCTOR#1``        the bare end of a conductor that is at no terminal
``CONDUCTOR@JOINT``    the point of a conductor at which a joint sits
``CUT#1``, ``CUT#2``   the two sides of a cut
``LEAD~0#1``           the side towards end 1 of a lead's first in-line part
=====================  =============================================================

Every edge has ``kind`` (below), ``element`` (the id of what it is a piece of) and ``part`` (the
inner part, in-line part or bond, or None). A piece of a conductor also has ``share``, how much of the
conductor's length it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

import networkx as nx

from harnessdiff.model.harness import Conductor, Cut, Damage, Device, Harness, Inline, Joint, Point
from harnessdiff.model.parts import Coil, Diode, Link, Load, Output, Part, Source, When

SOLID = frozenset({"conductor", "contact", "bond", "common", "mated", "damage"})
"""Kinds that conduct always and both ways: what they join is one net."""
PROTECTIVE = frozenset({"fuse", "output"})
"""Kinds that open, or shut down, when the current is too great."""
CONDUCTING = SOLID | PROTECTIVE | {"link", "diode", "resistor"}
"""Kinds that can carry current on from a source towards a load."""
CONSUMING = frozenset({"load", "coil"})
GROUND_DEVICES = frozenset({"body", "engine_block", "chassis"})

EdgeTest = Callable[[dict[str, Any], str, str], bool]


def harness_graph(harness: Harness) -> nx.MultiGraph[str]:
    """The graph of a harness: every terminal, joint, cut side and loose end, and what joins them.

    Parameters
    ----------
    harness : Harness

    Returns
    -------
    networkx.MultiGraph
        Nodes and edges are added in the harness's order, so that a walk is the same in every run.
    """
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for element in harness.elements:
        if isinstance(element, Device):
            _add_device(graph, harness, element)
        elif isinstance(element, Conductor):
            _add_conductor(graph, harness, element)
        elif isinstance(element, Joint):
            graph.add_node(element.id)
            for terminal in harness.targets(element.id, "at"):
                _add(graph, element.id, terminal, "contact", element.id)
            for cut in harness.subjects(element.id, "side_1"):
                _add(graph, f"{cut}#1", element.id, "contact", element.id)
            for cut in harness.subjects(element.id, "side_2"):
                _add(graph, f"{cut}#2", element.id, "contact", element.id)
        elif isinstance(element, Damage) and element.conducts == "yes":
            for place in marked_nodes(harness, element.id):
                _add(graph, element.id, place, "damage", element.id)
    return graph


def _add(graph: nx.MultiGraph[str], one: str, other: str, kind: str, element: str, part: Any = None) -> None:
    graph.add_edge(one, other, kind=kind, element=element, part=part)


def slot_of(harness: Harness, device_id: str) -> str:
    """The device whose terminals a device's parts use: its slot where it sits in one, else itself."""
    seats = harness.targets(device_id, "seat")
    return seats[0] if seats else device_id


def terminal_names(harness: Harness, device_id: str) -> list[str]:
    """Terminal ids of a device, the supply side first where sides are named."""
    order = {"supply": 0, None: 1, "load": 2}
    found = []
    for terminal_id in harness.subjects(device_id, "of"):
        side = getattr(harness.by_id[terminal_id], "side", None)
        found.append((order[side], terminal_id))
    return [terminal_id for _, terminal_id in sorted(found)]


def _add_device(graph: nx.MultiGraph[str], harness: Harness, device: Device) -> None:
    owner = slot_of(harness, device.id)
    terminals = terminal_names(harness, owner)
    graph.add_nodes_from(terminals)
    if device.all_common:
        for other in terminals[1:]:
            _add(graph, terminals[0], other, "common", device.id)
    for bond in device.bonds:
        _add(graph, f"{device.id}:{bond.terminal}", bond.to, "bond", device.id, bond)
    if device.connected == "no":
        return
    if device.kind in ("fuse", "fusible_link", "circuit_breaker") and len(terminals) >= 2:
        if device.state != "blown":
            kind = "common" if device.state == "slug" else "fuse"
            _add(graph, terminals[0], terminals[1], kind, device.id)
        return
    for part in device.parts:
        one, other = (f"{owner}:{name}" for name in part.between)
        _add(graph, one, other, _kind_of(part, device), device.id, part)


def _kind_of(part: Part, device: Device) -> str:
    match part:
        case Link():
            mated = device.kind in ("inline_connector", "plug") and holds_at_rest(part.when, device)
            return "mated" if mated else "link"
        case Load():
            return "load"
        case Source():
            return "source"
        case Coil():
            return "coil"
        case Diode():
            return "diode"
        case Output():
            return "output"


def holds_at_rest(when: When | None, device: Device) -> bool:
    """Whether a part conducts with the vehicle asleep, every switch at rest and no coil pulled in."""
    if when is None:
        return True
    return (
        (not when.position or device.rest_position in when.position)
        and when.energised is not True
        and (not when.engine or "stopped" in when.engine)
        and (not when.condition or "asleep" in when.condition)
        and not when.inputs
    )


def end_node(harness: Harness, conductor_id: str, end: int) -> str:
    """The node at an end of a conductor: the terminal it is at, else the bare end itself."""
    targets = harness.targets(conductor_id, "end_1" if end == 1 else "end_2")
    if targets and harness.joint(targets[0]) is None:
        return targets[0]
    return f"{conductor_id}#{end}"


def _add_conductor(graph: nx.MultiGraph[str], harness: Harness, conductor: Conductor) -> None:
    for end in (1, 2):
        for target in harness.targets(conductor.id, "end_1" if end == 1 else "end_2"):
            if harness.joint(target) is not None:
                _add(graph, f"{conductor.id}#{end}", target, "contact", target)
    at, passed = end_node(harness, conductor.id, 1), 0.0
    stops = stops_along(harness, conductor)
    for stop, place in zip(stops, _shares_along(harness, conductor, stops), strict=True):
        if isinstance(stop, int):
            inline = conductor.inline[stop]
            near, far = f"{conductor.id}~{stop}#1", f"{conductor.id}~{stop}#2"
            _add_piece(graph, at, near, conductor.id, place - passed)
            _add_inline(graph, conductor.id, inline, near, far)
            at = far
        elif isinstance(harness.by_id.get(stop), Cut):
            _add_piece(graph, at, f"{stop}#1", conductor.id, place - passed)
            graph.add_node(f"{stop}#2")
            at = f"{stop}#2"
        else:
            point = f"{conductor.id}@{stop}"
            _add_piece(graph, at, point, conductor.id, place - passed)
            if harness.joint(stop) is not None:
                _add(graph, point, stop, "contact", stop)
            at = point
        passed = place
    _add_piece(graph, at, end_node(harness, conductor.id, 2), conductor.id, 1.0 - passed)


def _add_piece(graph: nx.MultiGraph[str], one: str, other: str, conductor: str, share: float) -> None:
    graph.add_edge(one, other, kind="conductor", element=conductor, part=None, share=share)


def _shares_along(harness: Harness, conductor: Conductor, stops: list[str | int]) -> list[float]:
    """How far along the conductor, from 0 at end 1 to 1, each of its stops lies; never falling."""
    length = conductor.length_m.high or 1.0
    places = {
        incidence.subject: place_of(incidence.point or Point(), length)
        for incidence in harness.attached.get(conductor.id, ())
        if incidence.target == conductor.id and incidence.role in ("on", "marks")
    }
    shares: list[float] = []
    for stop in stops:
        place = _place_of_inline(conductor.inline[stop], length) if isinstance(stop, int) else places[stop]
        shares.append(min(max(place / length, shares[-1] if shares else 0.0), 1.0))
    return shares


def _place_of_inline(inline: Inline, length: float) -> float:
    distance = inline.distance_m.low if inline.distance_m.low is not None else inline.distance_m.high
    return length / 2 if distance is None else distance


_INLINE_KINDS = {"fuse": "fuse", "circuit_breaker": "fuse", "diode": "diode", "resistor": "resistor",
                 "switch": "link", "relay_contact": "link"}  # fmt: skip


def _add_inline(graph: nx.MultiGraph[str], lead: str, inline: Inline, near: str, far: str) -> None:
    kind = _INLINE_KINDS.get(inline.kind, "contact")
    if inline.kind == "fuse" and inline.state == "blown":
        graph.add_nodes_from((near, far))
        return
    if inline.kind == "fuse" and inline.state == "slug":
        kind = "common"
    _add(graph, near, far, kind, lead, inline)


def stops_along(harness: Harness, conductor: Conductor) -> list[str | int]:
    """Joints, cuts and damages on a conductor, and the numbers of its in-line parts, from end 1 to end 2.

    Parameters
    ----------
    harness : Harness
    conductor : Conductor

    Returns
    -------
    list of str or int
        Ids, and indices into ``conductor.inline``. Points whose place is not known lie in the middle;
        what a point is said to be beyond or before decides first.
    """
    length = conductor.length_m.high or 1.0
    found: list[tuple[float, int, str | int]] = []
    after: dict[str, tuple[str, ...]] = {}
    before: dict[str, tuple[str, ...]] = {}
    for incidence in harness.attached.get(conductor.id, ()):
        if incidence.target == conductor.id and incidence.role in ("on", "marks"):
            point = incidence.point or Point()
            found.append((place_of(point, length), 1, incidence.subject))
            after[incidence.subject], before[incidence.subject] = point.beyond, point.before
    for number, inline in enumerate(conductor.inline):
        found.append((_place_of_inline(inline, length), 0, number))
    found.sort(key=lambda one: (one[0], one[1], str(one[2])))
    stops = [stop for _, _, stop in found]
    if not any(after.values()) and not any(before.values()):
        return stops
    return _in_said_order(stops, after, before)


def place_of(point: Point, length: float) -> float:
    """About how far from end 1 a point lies, for sorting. [m]"""
    bounds = [bound for bound in (point.low_m, point.high_m) if bound is not None]
    if bounds:
        return sum(bounds) / len(bounds)
    return {1: length / 4, 2: length * 3 / 4, None: length / 2}[point.near_end]


def _in_said_order(
    stops: list[str | int], after: dict[str, tuple[str, ...]], before: dict[str, tuple[str, ...]]
) -> list[str | int]:
    order: nx.DiGraph[str | int] = nx.DiGraph()
    order.add_nodes_from(stops)
    present = set(stops)
    for stop in stops:
        if isinstance(stop, str):
            order.add_edges_from((other, stop) for other in after[stop] if other in present)
            order.add_edges_from((stop, other) for other in before[stop] if other in present)
    rank = {stop: number for number, stop in enumerate(stops)}
    if not nx.is_directed_acyclic_graph(order):
        return stops  # answers to two open questions that do not go together
    return list(nx.lexicographical_topological_sort(order, key=rank.__getitem__))


def marked_nodes(harness: Harness, damage_id: str) -> list[str]:
    """The nodes that a damage marks: points of conductors, terminals, joints."""
    nodes = []
    for target in harness.targets(damage_id, "marks"):
        nodes.append(f"{target}@{damage_id}" if harness.conductor(target) is not None else target)
    return nodes


def nets(graph: nx.MultiGraph[str], leave_out: Callable[[dict[str, Any]], bool] | None = None) -> dict[str, str]:
    """The net of every node: nodes that solid edges join have the same one.

    Parameters
    ----------
    graph : networkx.MultiGraph
    leave_out : callable, optional
        Edges for which it is true join nothing.

    Returns
    -------
    dict
        Node to the least node of its net.
    """
    solid: nx.Graph[str] = nx.Graph()
    solid.add_nodes_from(graph)
    solid.add_edges_from(
        (one, other)
        for one, other, edge in graph.edges(data=True)
        if edge["kind"] in SOLID and not (leave_out and leave_out(edge))
    )
    found: dict[str, str] = {}
    for component in nx.connected_components(solid):
        name = min(component)
        found.update(dict.fromkeys(component, name))
    return found


def spread(graph: nx.MultiGraph[str], starts: Iterable[str], passes: EdgeTest) -> dict[str, int]:
    """How far everything is from `starts`, over edges that let current pass.

    Parameters
    ----------
    graph : networkx.MultiGraph
    starts : iterable of str
        Nodes; those not in the graph are left out.
    passes : callable
        ``passes(edge, from_node, to_node)``: whether current can go that way.

    Returns
    -------
    dict
        Node to number of edges from the nearest start, in the order reached.
    """
    reached = {node: 0 for node in starts if node in graph}
    front = list(reached)
    while front:
        following = []
        for node in front:
            for neighbour, edges in graph.adj[node].items():
                if neighbour not in reached and any(passes(edge, node, neighbour) for edge in edges.values()):
                    reached[neighbour] = reached[node] + 1
                    following.append(neighbour)
        front = following
    return reached


def poles(graph: nx.MultiGraph[str], harness: Harness, polarity: str | None) -> tuple[frozenset[str], frozenset[str]]:
    """The live and the grounded poles of all sources.

    No pole of a protected high-voltage source is grounded: both are insulated from the metal.

    Parameters
    ----------
    graph : networkx.MultiGraph
    harness : Harness
    polarity : str or None
        ``positive`` where the battery's plus is on the body; negative otherwise.

    Returns
    -------
    tuple of frozenset
        Live poles, grounded poles.
    """
    live, grounded = set(), set()
    for _, _, edge in graph.edges(data=True):
        if edge["kind"] == "source":
            plus, minus = (f"{slot_of(harness, edge['element'])}:{name}" for name in edge["part"].between)
            live.add(minus if polarity == "positive" else plus)
            source = harness.device(edge["element"])
            if source is None or source.protected != "high_voltage":
                grounded.add(plus if polarity == "positive" else minus)
    return frozenset(live), frozenset(grounded)


def ground_nodes(
    graph: nx.MultiGraph[str], harness: Harness, net_of: dict[str, str], polarity: str | None
) -> frozenset[str]:
    """All nodes of the nets that body, engine, chassis and the sources' grounded poles are part of."""
    live, grounded = poles(graph, harness, polarity)
    metal = {net_of[pole] for pole in grounded if net_of[pole] not in {net_of[one] for one in live}}
    metal |= {
        net_of[terminal]
        for device in harness.devices()
        if device.kind in GROUND_DEVICES
        for terminal in terminal_names(harness, device.id)
        if terminal in net_of
    }
    return frozenset(node for node in graph if net_of[node] in metal)


def diode_passes(edge: dict[str, Any], harness: Harness, from_node: str, polarity: str | None = None) -> bool:
    """Whether a diode edge lets a walk from the live pole go on from `from_node`.

    Parameters
    ----------
    edge : dict
    harness : Harness
    from_node : str
    polarity : str or None
        ``positive`` where the battery's plus is on the body: the live pole is the minus, so the walk goes
        against the current and passes a diode from cathode to anode.

    Returns
    -------
    bool
    """
    part = edge["part"]
    if isinstance(part, Diode):
        at_anode = from_node == f"{slot_of(harness, edge['element'])}:{part.between[0]}"
    else:
        towards_end_1 = isinstance(part, Inline) and part.conducts_towards_end == 1
        at_anode = from_node.endswith("#2" if towards_end_1 else "#1")
    return at_anode != (polarity == "positive")
