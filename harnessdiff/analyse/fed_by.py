"""Everything that hangs on a fuse, in the order the current reaches it."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any
from weakref import WeakKeyDictionary

from harnessdiff.analyse.supply import NO_NEEDS, Need, Needs, Supply, asks_no_more, met_too, need_of
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
    known = _LOADS_FROM.setdefault(supply, {})
    key = (name, start, without)
    if key not in known:
        known[key] = _loads_from(supply, name, start, without)
    return known[key]


_LOADS_FROM: WeakKeyDictionary[Supply, dict[tuple[str, str, frozenset[str]], tuple[Fed, ...]]] = WeakKeyDictionary()
"""What was worked out of a harness already: many findings ask for the same fuse."""


def _loads_from(supply: Supply, name: str, start: str, without: frozenset[str]) -> tuple[Fed, ...]:
    graph = supply.graph
    steps = [_Step(node=start)]
    seen: dict[str, list[_Step]] = {start: [steps[0]]}
    for step in steps:
        for neighbour, edges in graph.adj[step.node].items():
            if neighbour in supply.ground:
                continue
            for edge in edges.values():
                if edge["element"] not in without and _passes(edge, supply, step.node):
                    following = step.over(edge, neighbour, need_of(edge))
                    if following is not None and not _known(following, seen.setdefault(neighbour, [])):
                        seen[neighbour].append(following)
                        steps.append(following)
    found: dict[tuple[str, str], Fed] = {}
    for step in steps:
        for edges in graph.adj[step.node].values():
            for edge in edges.values():
                if edge["kind"] in CONSUMING and (edge["element"], step.node) not in found:
                    found[edge["element"], step.node] = _fed(supply, name, step, edge)
    return tuple(sorted(found.values(), key=lambda one: (len(one.way), one.length_m, one.device, one.terminal)))


MOST_WAYS_TO_A_NODE = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class _Step:
    """A node reached, the step before it, the edge between, and the states that switches must be in."""

    node: str
    before: _Step | None = None
    edge: dict[str, Any] | None = None
    needs: Needs = field(default_factory=lambda: NO_NEEDS)

    def over(self, edge: dict[str, Any], node: str, needed: Need | None) -> _Step | None:
        """The step over an edge; None where a switch would have to be in two states at once."""
        needs = met_too(self.needs, needed)
        return None if needs is None else _Step(node=node, before=self, edge=edge, needs=needs)


def _known(step: _Step, others: list[_Step]) -> bool:
    """Whether a node was reached already with no state asked for that this way does not ask for."""
    return len(others) >= MOST_WAYS_TO_A_NODE or any(asks_no_more(other.needs, step.needs) for other in others)


def _passes(edge: dict[str, Any], supply: Supply, from_node: str) -> bool:
    if edge["kind"] == "diode":
        return diode_passes(edge, supply.harness, from_node, supply.polarity)
    if edge["kind"] == "output":
        return from_node.endswith(f":{edge['part'].between[0]}")
    return edge["kind"] in CONDUCTING


def _load_side(supply: Supply, slot: str) -> str:
    """The terminal of a slot that the current leaves by: the one a source does not reach past the fuse."""
    terminals = terminal_names(supply.harness, slot)
    sides = {getattr(supply.harness.by_id[terminal], "side", None): terminal for terminal in terminals}
    if "load" in sides:
        return sides["load"]
    unguarded = [terminal for terminal in terminals if terminal not in supply.unguarded]
    return unguarded[-1] if unguarded else terminals[-1]


def _fed(supply: Supply, slot: str, last: _Step, load: dict[str, Any]) -> Fed:
    way: list[str] = []
    switches: list[str] = []
    step: _Step | None = last
    while step is not None and step.edge is not None:
        element = step.edge["element"]
        if not way or way[-1] != element:
            way.append(element)
        if step.edge["kind"] in ("link", "output"):
            switches.append(element)
        step = step.before
    lengths = [
        conductor.length_m.low or 0.0 for conductor in map(supply.harness.conductor, way) if conductor is not None
    ]
    return Fed(
        fuse=slot,
        device=load["element"],
        terminal=last.node,
        kind=load["kind"],
        way=tuple(reversed(way)),
        switched_by=tuple(reversed(switches)),
        length_m=round(sum(lengths), 3),
    )
