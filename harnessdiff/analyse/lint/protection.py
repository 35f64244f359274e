"""Fuses against their places, and what stands behind them against the fuses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

import networkx as nx

from harnessdiff.analyse.supply import Guard, Supply
from harnessdiff.graph import CONDUCTING, CONSUMING, diode_passes, slot_of
from harnessdiff.model.harness import Conductor, Device, Terminal
from harnessdiff.model.objection import Objection
from harnessdiff.model.parts import Coil, Load
from harnessdiff.model.reference import Reference
from harnessdiff.tables.loader import LIMIT_TABLE, conductor_limit_A, rows

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
    """What a load draws, and where its current comes in. [A]"""

    device: str
    node: str
    current_A: float
    momentary: bool


class _Draws:
    """What every load draws, and everything that all of its current must pass.

    What lies on every way from the sources to a load dominates it in the graph of conducting edges,
    in which every edge is split by a node of its own.
    """

    def __init__(self, supply: Supply, system_voltage_V: float | None) -> None:
        self.supply = supply
        self.edges = list(supply.graph.edges(data=True))
        self.above: dict[Any, Any] = nx.immediate_dominators(self._directed(), _ROOT)
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
                if edge["kind"] == "diode" and not diode_passes(edge, self.supply.harness, near):
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
            current = current_A(edge["part"], system_voltage_V if grounded else None)
            node = next((end for end in (one, other) if end in self.above), None)
            if current is not None and node is not None:
                device = self.supply.harness.device(edge["element"])
                momentary = device is not None and device.kind in MOMENTARY
                yield _Draw(device=edge["element"], node=node, current_A=current, momentary=momentary)

    def _way_to(self, draw: _Draw) -> Iterator[Any]:
        step = draw.node
        while step != _ROOT:
            yield step
            step = self.above[step]

    def total_A(self, conductor: str) -> float | None:
        """Current of everything behind a conductor; None where some of it may come another way too. [A]"""
        numbers = self.splits.get(conductor, [])
        loads = {id(draw): draw for number in numbers for draw in self.behind.get(number, ())}
        return sum(draw.current_A for draw in loads.values()) if loads else None

    def overloads(self) -> Iterator[Objection]:
        """Loads that alone draw more than something that all of their current passes may carry."""
        for step, draws in self.behind.items():
            element, what, limit = self._limit_at(step)
            for draw in draws:
                if limit is not None and draw.current_A > limit and not draw.momentary:
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
            return element.id, "wire", None if size is None else conductor_limit_A(size)
        if edge["kind"] == "fuse" and isinstance(element, Device):
            return element.id, "fuse", element.rating_A.high
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
    limit = conductor_limit_A(size)
    if rating > limit:
        drawn = draws.total_A(conductor.id)
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
