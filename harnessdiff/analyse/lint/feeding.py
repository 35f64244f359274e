"""Loads that no current can pass, poles the wrong way round, and dead shorts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import networkx as nx

from harnessdiff.analyse.supply import Supply
from harnessdiff.graph import CONSUMING, SOLID, diode_passes, slot_of, spread
from harnessdiff.model.harness import Device, Terminal
from harnessdiff.model.objection import Objection
from harnessdiff.model.parts import Link
from harnessdiff.model.reference import Condition, Reference

_OUTSIDE = "outside"
"""Node that stands for everything beyond the open ends of a fragment: it may feed and may be ground."""
_ROOT = "all sources and grounds"


def feeding_objections(reference: Reference, supply: Supply) -> Iterator[Objection]:
    """Objections to how things are fed.

    Parameters
    ----------
    reference : Reference
    supply : Supply
        Of its harness.

    Yields
    ------
    Objection
    """
    yield from _loads_without_current(reference, supply)
    turned = tuple(_polarity(reference, supply))
    yield from turned
    yield from _dead_shorts(reference, supply, {one.element for one in turned})


def _loads_without_current(reference: Reference, supply: Supply) -> Iterator[Objection]:
    """Loads and coils that lie on no closed way through a source, or only on one against a diode.

    Current flows through an edge only if some simple cycle passes it and a source: if both are in
    the same biconnected component. Every edge is split by a node of its own, so that edges side by
    side count as two.
    """
    simple: nx.Graph[Any] = nx.Graph()
    feeding: set[Any] = set()
    loads: dict[Any, tuple[str, str, dict[str, Any]]] = {}
    for number, (one, other, edge) in enumerate(supply.graph.edges(data=True)):
        simple.add_edges_from(((one, number), (number, other)))
        if edge["kind"] == "source":
            feeding.add(number)
        elif edge["kind"] in CONSUMING:
            loads[number] = (one, other, edge)
    outside = _open_ends(supply)
    for terminal in outside:
        simple.add_edges_from(((terminal, (terminal, _OUTSIDE)), ((terminal, _OUTSIDE), _OUTSIDE)))
    if outside:
        # what leaves a fragment comes back by its ground
        simple.add_edges_from((_OUTSIDE, (node, _OUTSIDE)) for node in sorted(supply.ground))
        simple.add_edges_from(((node, _OUTSIDE), node) for node in sorted(supply.ground))
        feeding |= {(terminal, _OUTSIDE) for terminal in outside}
    blocks = map(set, nx.biconnected_components(simple))
    carrying = {node for block in blocks if block & feeding for node in block}
    marks = {pole.node for pole in supply.sources} | set(outside) | supply.ground
    dead = {number: (one, other) for number, (one, other, _) in loads.items() if number not in carrying}
    ends_in_the_air = _ends_that_lead_nowhere(simple, dead, marks) if dead else {}
    against_a_diode = _against_a_diode(supply, outside)
    for number, (one, other, edge) in loads.items():
        if number in dead:
            ends = ends_in_the_air[number]
        elif against_a_diode(one, other):
            ends = tuple(sorted({one, other} - supply.ground))
        else:
            continue
        device = slot_of(supply.harness, edge["element"])
        yield Objection.to(edge["element"], "no_current", device=device, ends=ends)


def _ends_that_lead_nowhere(
    graph: nx.Graph[Any], loads: dict[Any, tuple[str, str]], marks: set[str]
) -> dict[Any, tuple[str, ...]]:
    """Ends of each load from which no mark is reached without passing the load; both where each does.

    All marks are joined to one root. The end by which a walk from the root came to a load leads on;
    the other does unless the load is the only way to it.
    """
    rooted: nx.Graph[Any] = nx.Graph(graph.edges)
    rooted.add_edges_from((_ROOT, mark) for mark in sorted(marks) if mark in graph)
    rooted.add_node(_ROOT)
    came_from = dict(nx.bfs_predecessors(rooted, _ROOT))
    only_ways = set(nx.articulation_points(rooted))
    found = {}
    for load, ends in loads.items():
        nowhere = {end for end in ends if load not in came_from or (load in only_ways and end != came_from[load])}
        found[load] = tuple(sorted(nowhere or set(ends)))
    return found


def _against_a_diode(supply: Supply, outside: list[str]) -> Callable[[str, str], bool]:
    """Whether current would have to pass a diode the wrong way to flow between two nodes, either way round.

    Loads pass current on here, so that what stands in series is not taken for cut off.
    """
    if not any(edge["kind"] == "diode" for _, _, edge in supply.graph.edges(data=True)):
        return lambda _one, _other: False
    poles = {pole.node for pole in supply.sources}

    def passes(edge: dict[str, Any], start: str) -> bool:
        if edge["kind"] == "diode":
            return diode_passes(edge, supply.harness, start, supply.polarity)
        return bool(edge["kind"] != "source")

    def away(edge: dict[str, Any], one: str, other: str) -> bool:
        return other not in supply.ground and passes(edge, one)

    def back(edge: dict[str, Any], _one: str, other: str) -> bool:
        return other not in supply.ground and passes(edge, other)

    live = spread(supply.graph, (*sorted(poles), *outside), away)
    # current goes back to ground, into another source (as a charging lamp's does), or out of the fragment
    others = poles if len({pole.device for pole in supply.sources}) > 1 else set()
    returning = spread(supply.graph, (*sorted(supply.ground | others), *outside), back)
    return lambda one, other: not ((one in live and other in returning) or (other in live and one in returning))


def _open_ends(supply: Supply) -> list[str]:
    return [one.id for one in supply.harness.elements if isinstance(one, Terminal) and one.open_end]


def _polarity(reference: Reference, supply: Supply) -> Iterator[Objection]:
    polarity = reference.vehicle.ground_polarity
    if polarity is None:
        return
    metal = {
        supply.net_of[terminal]
        for device in supply.harness.devices()
        if device.kind in ("body", "chassis", "engine_block")
        for terminal in supply.harness.subjects(device.id, "of")
        if terminal in supply.net_of
    }
    for _, _, edge in supply.graph.edges(data=True):
        if edge["kind"] == "source":
            plus, minus = (f"{slot_of(supply.harness, edge['element'])}:{name}" for name in edge["part"].between)
            wrong = plus if polarity == "negative" else minus
            if supply.net_of[wrong] in metal and supply.net_of[plus] != supply.net_of[minus]:
                yield Objection.to(edge["element"], "wrong_pole_grounded", terminal=wrong, polarity=polarity)


def _dead_shorts(reference: Reference, supply: Supply, turned: set[str]) -> Iterator[Objection]:
    """Live poles that reach ground without a load: always, or with the switches as a condition has them.

    Relays count as at rest, so that what only a pulled-in relay shorts is not seen here. A source
    that is the wrong way round is told as that, not as shorted by it.
    """
    for pole in supply.sources:
        if pole.device in turned and pole.node in supply.ground:
            continue
        conditions: tuple[Condition | None, ...] = (None, *reference.conditions)
        for condition in conditions:
            reached = spread(supply.graph, (pole.node,), _closed_in(supply, condition))
            short = next((node for node in reached if node in supply.ground), None)
            if short is not None:
                name = condition.id if condition else "always"
                yield Objection.to(pole.device, "dead_short", pole=pole.node, at=short, condition=name)
                break


def _closed_in(supply: Supply, condition: Condition | None) -> Any:
    positions = dict(condition.positions) if condition else {}

    def closed(edge: dict[str, Any], _one: str, _other: str) -> bool:
        if edge["kind"] in SOLID or edge["kind"] == "fuse":
            return True
        part = edge["part"]
        if edge["kind"] != "link" or not isinstance(part, Link):
            return False
        if part.when is None:
            return True
        device = supply.harness.device(edge["element"])
        only_position = not (part.when.inputs or part.when.engine or part.when.condition)
        if condition is None or not isinstance(device, Device) or not only_position:
            return False
        if part.when.energised is not None:
            return False
        return positions.get(device.id, device.rest_position) in part.when.position

    return closed
