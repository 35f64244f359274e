"""Everything that hangs on a fuse, in the order the current reaches it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from harnessdiff.analyse.supply import Supply
from harnessdiff.graph import CONDUCTING, CONSUMING, diode_passes, terminal_names
from harnessdiff.model.harness import Harness


@dataclass(frozen=True, slots=True, kw_only=True)
class Fed:
    """A load behind a fuse.

    `way` holds the elements the current passes from the fuse to the load: conductors, joints,
    switches, relays, connectors. `length_m` is the length of the conductors on it [m], and
    `switched_by` the switches, relays and outputs among them.
    """

    fuse: str
    device: str
    terminal: str
    kind: str
    way: tuple[str, ...]
    switched_by: tuple[str, ...]
    length_m: float


def fuses_of(harness: Harness) -> tuple[str, ...]:
    """Slots with a fuse or breaker in them, and fusible links, in the order of their ids."""
    found: set[str] = set()
    for device in harness.devices():
        if device.kind in ("fuse", "fusible_link", "circuit_breaker"):
            found.update(harness.targets(device.id, "seat") or (device.id,))
    return tuple(sorted(found))


def fed_by(supply: Supply, slot: str) -> tuple[Fed, ...]:
    """The loads that hang on a fuse, nearest first.

    Parameters
    ----------
    supply : Supply
        Of the harness.
    slot : str
        The fuse's slot, or the fusible link.

    Returns
    -------
    tuple of Fed
        In the order in which the current reaches them: by number of things passed, then by length
        of conductor, then by name. Loads behind a further fuse are behind this one, too. A switch
        may be closed; ground is not passed.
    """
    occupants = frozenset({slot, *supply.harness.subjects(slot, "seat")})
    return loads_from(supply, slot, _load_side(supply, slot), occupants)


def loads_from(supply: Supply, name: str, start: str, without: frozenset[str]) -> tuple[Fed, ...]:
    """The loads that current from a node reaches, nearest first.

    Parameters
    ----------
    supply : Supply
    name : str
        What stands before the node: the fuse.
    start : str
        The node.
    without : frozenset of str
        Elements that the current does not pass.

    Returns
    -------
    tuple of Fed
        In the order of `fed_by`.
    """
    harness, graph = supply.harness, supply.graph
    came_from: dict[str, tuple[str, dict[str, Any]]] = {}
    order = [start]
    seen = {start}
    for node in order:
        for neighbour, edges in graph.adj[node].items():
            for edge in edges.values():
                if neighbour in seen or neighbour in supply.ground or edge["element"] in without:
                    continue
                backwards = edge["kind"] == "diode" and not diode_passes(edge, harness, node)
                backwards = backwards or (edge["kind"] == "output" and not node.endswith(f":{edge['part'].between[0]}"))
                if edge["kind"] in CONDUCTING and not backwards:
                    seen.add(neighbour)
                    came_from[neighbour] = (node, edge)
                    order.append(neighbour)
    found: dict[tuple[str, str], Fed] = {}
    for node in order:
        for edges in graph.adj[node].values():
            for edge in edges.values():
                if edge["kind"] in CONSUMING and (edge["element"], node) not in found:
                    found[edge["element"], node] = _fed(supply, name, node, edge, came_from)
    return tuple(sorted(found.values(), key=lambda one: (len(one.way), one.length_m, one.device, one.terminal)))


def _load_side(supply: Supply, slot: str) -> str:
    """The terminal of a slot that the current leaves by: the one a source does not reach past the fuse."""
    terminals = terminal_names(supply.harness, slot)
    sides = {getattr(supply.harness.by_id[terminal], "side", None): terminal for terminal in terminals}
    if "load" in sides:
        return sides["load"]
    unguarded = [terminal for terminal in terminals if terminal not in supply.unguarded]
    return unguarded[-1] if unguarded else terminals[-1]


def _fed(
    supply: Supply, slot: str, node: str, edge: dict[str, Any], came_from: dict[str, tuple[str, dict[str, Any]]]
) -> Fed:
    way: list[str] = []
    switches: list[str] = []
    at = node
    while at in came_from:
        at, step = came_from[at]
        element = step["element"]
        if not way or way[-1] != element:
            way.append(element)
        if step["kind"] in ("link", "output"):
            switches.append(element)
    lengths = [
        conductor.length_m.low or 0.0 for conductor in map(supply.harness.conductor, way) if conductor is not None
    ]
    return Fed(
        fuse=slot,
        device=edge["element"],
        terminal=node,
        kind=edge["kind"],
        way=tuple(reversed(way)),
        switched_by=tuple(reversed(switches)),
        length_m=round(sum(lengths), 3),
    )
