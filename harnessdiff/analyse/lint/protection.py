"""Fuses against their places, and what stands behind them against the fuses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Any

import networkx as nx

from harnessdiff.analyse.supply import Guard, Supply
from harnessdiff.graph import CONDUCTING, CONSUMING, diode_passes, slot_of
from harnessdiff.model.harness import Conductor, Device, Terminal
from harnessdiff.model.objection import Objection
from harnessdiff.model.parts import Coil, Load
from harnessdiff.model.reference import Reference
from harnessdiff.tables.loader import LIMIT_TABLE, carried_share, conductor_limit_A, rows

_ROOT = "all sources"
MOMENTARY = frozenset({"starter"})
"""Kinds that draw for moments only: limits for long do not judge them."""


def protection_objections(reference: Reference, supply: Supply) -> Iterator[Objection]:
    """Objections to fuses, and to what draws or carries more than it may.

    Parameters
    ----------
    reference : Reference
    supply : Supply
        Of its harness.

    Yields
    ------
    Objection
    """
    yield from _fuses_in_their_slots(supply)
    draws = _Draws(supply, reference.vehicle.system_voltage_V)
    for conductor in supply.harness.conductors():
        yield from _cover(conductor, supply, draws)
    yield from draws.overloads()


def _fuses_in_their_slots(supply: Supply) -> Iterator[Objection]:
    harness = supply.harness
    for fuse in harness.devices():
        if fuse.kind not in ("fuse", "circuit_breaker"):
            continue
        slot = harness.device(slot_of(harness, fuse.id))
        rating = fuse.rating_A.exact
        if slot is not None and slot is not fuse:
            if slot.legend_A is not None and rating is not None and rating != slot.legend_A:
                yield Objection.to(fuse.id, "rating_not_legend", rating_A=rating, legend_A=slot.legend_A, slot=slot.id)
            if slot.body and fuse.body and slot.body != fuse.body:
                yield Objection.to(fuse.id, "body_not_slot", body=fuse.body, slot_body=slot.body, slot=slot.id)
        body = fuse.body or ""
        made = _ratings_made().get(body, frozenset())
        if rating is not None and made and min(made) <= rating <= max(made) and rating not in made:
            yield Objection.to(fuse.id, "no_such_fuse", rating_A=rating, body=body)


@cache
def _ratings_made() -> dict[str, frozenset[float]]:
    made: dict[str, set[float]] = {}
    for row in rows("fuse_colours"):
        made.setdefault(row["body"], set()).add(float(row["rating_A"]))
    return {body: frozenset(ratings) for body, ratings in made.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draw:
    """What a load draws, None where not known, and where its current comes in. [A]

    `at_most` where something may be in series with it: it draws that or less.
    """

    device: str
    nodes: tuple[str, ...]
    current_A: float | None
    at_most: bool
    momentary: bool


class _Draws:
    """What every load draws, and everything that all of its current must pass.

    What lies on every way from the sources to a load dominates it in the graph of conducting edges,
    in which every edge is split by a node of its own.
    """

    def __init__(self, supply: Supply, system_voltage_V: float | None) -> None:
        self.supply = supply
        self.edges = list(supply.graph.edges(data=True))
        self.directed = self._directed()
        self.above: dict[Any, Any] = nx.immediate_dominators(self.directed, _ROOT)
        self.draws = tuple(self._draws_of_all(system_voltage_V))
        self.behind: dict[Any, list[_Draw]] = {}
        for draw in self.draws:
            for step in self._way_to(draw):
                self.behind.setdefault(step, []).append(draw)
        self.splits: dict[str, list[int]] = {}
        for number, (_, _, edge) in enumerate(self.edges):
            self.splits.setdefault(edge["element"], []).append(number)

    def _directed(self) -> nx.DiGraph[Any]:
        directed: nx.DiGraph[Any] = nx.DiGraph()
        directed.add_edges_from((_ROOT, pole.node) for pole in self.supply.sources)
        directed.add_node(_ROOT)
        for number, (one, other, edge) in enumerate(self.edges):
            if edge["kind"] not in CONDUCTING or one in self.supply.ground or other in self.supply.ground:
                continue
            for near, far in ((one, other), (other, one)):
                if edge["kind"] == "diode" and not diode_passes(edge, self.supply.harness, near, self.supply.polarity):
                    continue
                if edge["kind"] == "output" and not near.endswith(f":{edge['part'].between[0]}"):
                    continue
                directed.add_edge(near, number)
                directed.add_edge(number, far)
        return directed

    def _draws_of_all(self, system_voltage_V: float | None) -> Iterator[_Draw]:
        for one, other, edge in self.edges:
            if edge["kind"] not in CONSUMING:
                continue
            grounded = one in self.supply.ground or other in self.supply.ground
            current = current_A(edge["part"], system_voltage_V)
            nodes = tuple(end for end in (one, other) if end in self.above)
            if nodes:
                device = self.supply.harness.device(edge["element"])
                momentary = device is not None and device.kind in MOMENTARY
                sure = current_A(edge["part"], system_voltage_V if grounded else None) is not None
                yield _Draw(
                    device=edge["element"], nodes=nodes, current_A=current, at_most=not sure, momentary=momentary
                )

    def _way_to(self, draw: _Draw) -> Iterator[Any]:
        """What the current of a load passes, each once; a motor that is turned round is fed at both ends."""
        passed = set()
        for node in draw.nodes:
            step: Any = node
            while step != _ROOT and step not in passed:
                passed.add(step)
                yield step
                step = self.above[step]

    def total_A(self, element: str) -> float | None:
        """Current of everything behind a conductor or fuse; None where there is nothing, or nobody knows. [A]"""
        numbers = self.splits.get(element, [])
        loads = {id(draw): draw for number in numbers for draw in self.behind.get(number, ())}
        known = [draw.current_A for draw in loads.values() if draw.current_A is not None]
        return sum(known) if known and len(known) == len(loads) else None

    def on_a_ring(self, conductor: str) -> bool:
        """Whether there is a way beside a conductor: it lies on a ring, or beside another."""
        numbers = [number for number in self.splits.get(conductor, ()) if number in self.directed]
        return bool(numbers) and not any(number in self._only_ways for number in numbers)

    @cached_property
    def _only_ways(self) -> frozenset[Any]:
        return frozenset(nx.articulation_points(self.directed.to_undirected()))

    def overloads(self) -> Iterator[Objection]:
        """Loads that alone draw more than something that all of their current passes may carry."""
        for step, draws in self.behind.items():
            element, what, limit = self._limit_at(step)
            for draw in draws:
                if draw.current_A is None or limit is None or draw.momentary or draw.at_most:
                    continue
                if draw.current_A > limit:
                    yield Objection.to(
                        element, "load_over_limit", load=draw.device, current_A=round(draw.current_A, 3),
                        what=what, limit_A=limit,
                    )  # fmt: skip

    def _limit_at(self, step: Any) -> tuple[str, str, float | None]:
        """Element, what of it, and limit of a node or of a split edge. [A]"""
        harness = self.supply.harness
        if isinstance(step, str):
            terminal = harness.by_id.get(step)
            if isinstance(terminal, Terminal):
                return terminal.id, "terminal", terminal.limit_A.high
            return step, "terminal", None
        edge = self.edges[step][2]
        element = harness.by_id.get(edge["element"])
        if edge["kind"] == "conductor" and isinstance(element, Conductor):
            size = element.size_mm2.high
            return element.id, "wire", None if size is None else greatest_limit_A(size)
        if edge["kind"] == "fuse" and isinstance(element, Device):
            carried, rating = carried_share(element.rating_convention), element.rating_A.high
            return element.id, "fuse", None if rating is None else rating * carried
        if edge["kind"] in ("link", "mated", "output"):
            return edge["element"], "output" if edge["kind"] == "output" else "contact", edge["part"].limit_A.high
        return edge["element"], "", None


def current_A(part: Load | Coil, voltage_V: float | None) -> float | None:
    """What a load or coil draws, by Joule's and Ohm's laws; None where not known. [A]

    Parameters
    ----------
    part : Load or Coil
    voltage_V : float or None
        Voltage across it; None where it shares the system's voltage with something in series.
    """
    ohm = part.resistance_ohm.low
    if isinstance(part, Load):
        if part.rated_A.high is not None:
            return part.rated_A.high
        rated_V = part.rated_V.low or voltage_V
        if part.rated_W.high is not None and rated_V:
            return part.rated_W.high / rated_V
    return voltage_V / ohm if voltage_V and ohm else None


def greatest_limit_A(size_mm2: float) -> float | None:
    """Most that a conductor may be protected with, by the tabled sizes; None beyond them. [A]

    A size below the smallest tabled one counts as the smallest, for no more is known of it; of one
    above the greatest the table says nothing.
    """
    sizes = [float(row["size_mm2"]) for row in rows("conductor_limits") if row["table"] == LIMIT_TABLE]
    if size_mm2 > max(sizes) * 1.02:
        return None
    return conductor_limit_A(max(size_mm2, min(sizes)))


def _cover(conductor: Conductor, supply: Supply, draws: _Draws) -> Iterator[Objection]:
    """Whether a wire is protected at all, and by no more than its size may have."""
    nodes = {node for pair in supply.conductor_segments(conductor.id) for node in pair}
    if not nodes or nodes & supply.ground:
        return
    if nodes <= supply.unguarded:
        yield Objection.to(conductor.id, "unfused")
        return
    size = conductor.size_mm2.low
    guards: set[Guard] = {guard for node in nodes for guard in supply.guards.get(node, ())}
    rated = [(guard.rating_A.low, guard) for guard in guards if guard.rating_A.low is not None]
    if size is None or not rated:
        return
    rating, guard = max(rated, key=lambda one: (one[0], one[1].name))
    limit = greatest_limit_A(size)
    if limit is not None and rating > limit:
        # a wire of a ring is on nobody's only way; all that hangs on its one fuse bounds what it carries
        bounded = len(guards) == 1 and draws.on_a_ring(conductor.id)
        drawn = draws.total_A(guard.element if bounded else conductor.id)
        facts: dict[str, str | float] = {
            "fuse": guard.name,
            "rating_A": rating,
            "size_mm2": size,
            "limit_A": limit,
            "table": LIMIT_TABLE,
        }
        if drawn is not None and drawn <= limit:
            yield Objection.to(conductor.id, "small_load_large_fuse", drawn_A=round(drawn, 3), **facts)
        else:
            yield Objection.to(conductor.id, "not_covered", **facts)
