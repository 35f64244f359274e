"""How far a splice sits from what is next to it on its conductor, and how many splices are in one.

A splice is an added joint on a conductor, or one that closes a side of a cut in it. What is plugged
in, and an end of a cut wire that was put on a terminal, is a termination and no splice.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import networkx as nx

from harnessdiff.compare.comparison import Comparison
from harnessdiff.model.harness import Conductor, Cut, Joint, Point
from harnessdiff.model.modification import Fact, Value
from harnessdiff.tables.loader import distance_m
from harnessdiff.tables.splicing import greatest_count

PLUGGED = frozenset({"plug_in", "fuse_slot_adaptor"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """A splice's place on a conductor, bounded from end 1 [m], and the ends towards which the conductor goes on."""

    joint: str
    low_m: float | None
    high_m: float | None
    ends: frozenset[int]
    cut: str | None = None


def spacing_facts(comparison: Comparison, joint: Joint, runs: tuple[str, ...]) -> Iterator[Fact]:
    """What the distances and the number of splices say of one joint.

    Parameters
    ----------
    comparison : Comparison
    joint : Joint
    runs : tuple of str
        Conductors on which it sits, or whose cut it closes.

    Yields
    ------
    Fact
        ``near_termination`` and ``close_to_next`` by what the trade keeps (40 mm), ``several_joints``
        where a conductor has more than one repair or tap; each with a namesake
        ``…_by_aircraft_practice`` (AC 43.13-1B, by analogy) where such a rule is known. A distance
        that the record does not bound gives none; ``distance_m`` is the greatest it allows.
    """
    wires = [
        wire
        for wire in map(comparison.after.conductor, runs)
        if wire is not None and any(stand.joint == joint.id for stand in _stands(comparison, wire))
    ]
    placed = [fact for wire in wires for fact in _by_place(comparison, joint, wire)]
    codes = {fact.code for fact in placed}
    yield from placed
    for fact in _by_distance_to_next(comparison, joint, wires):
        aircraft = fact.code == "near_termination_by_aircraft_practice"
        # It is one measurement: what the places already tell is not told again as something else.
        if fact.code not in codes if aircraft else not codes & {"near_termination", "close_to_next"}:
            yield fact
    for wire in wires:
        yield from _several(comparison, wire)


def _stands(comparison: Comparison, wire: Conductor) -> list[Stand]:
    """Splices on a conductor and at the sides of its cuts; those of the reference are where conductors end."""
    found = []
    for incidence in comparison.after.attached.get(wire.id, ()):
        if incidence.target != wire.id or incidence.role != "on":
            continue
        point = incidence.point or Point()
        element = comparison.after.by_id[incidence.subject]
        if isinstance(element, Joint) and element.details.type not in PLUGGED:
            found.append(Stand(joint=element.id, low_m=point.low_m, high_m=point.high_m, ends=frozenset({1, 2})))
        elif isinstance(element, Cut):
            for side in (1, 2):
                found += [
                    Stand(joint=one, low_m=point.low_m, high_m=point.high_m, ends=frozenset({side}), cut=element.id)
                    for one in comparison.after.targets(element.id, "side_1" if side == 1 else "side_2")
                    if not _is_termination(comparison, one)
                ]
    return found


def _is_termination(comparison: Comparison, target: str) -> bool:
    """Whether what an end is at is a terminal, or a joint by which it is put on one."""
    joint = comparison.after.joint(target)
    return joint is None or joint.details.type in PLUGGED or bool(comparison.after.targets(target, "at"))


def _ends_at(comparison: Comparison, wire: Conductor, end: int) -> tuple[str, ...]:
    return comparison.after.targets(wire.id, "end_1" if end == 1 else "end_2")


def _is_limit(comparison: Comparison, target: str) -> bool:
    """Whether it is a termination or a branch of the maker's, a factory splice."""
    return target not in comparison.added or _is_termination(comparison, target)


def _end_stands(comparison: Comparison, wire: Conductor) -> list[Stand]:
    """Splices of the survey in which a conductor ends."""
    bounds = {1: (0.0, 0.0), 2: (wire.length_m.low, wire.length_m.high)}
    return [
        Stand(joint=target, low_m=bounds[end][0], high_m=bounds[end][1], ends=frozenset({3 - end}))
        for end in (1, 2)
        for target in _ends_at(comparison, wire, end)
        if not _is_limit(comparison, target)
    ]


def _by_place(comparison: Comparison, joint: Joint, wire: Conductor) -> Iterator[Fact]:
    """What the recorded places say: greatest distances that they allow, so that what may be far enough is."""
    own = [stand for stand in _stands(comparison, wire) if stand.joint == joint.id]
    for stand in own:
        for end in sorted(stand.ends):
            distance = _to_end_m(stand, wire, end)
            for target in _ends_at(comparison, wire, end) if distance is not None else ():
                if _is_limit(comparison, target):
                    assert distance is not None
                    yield from _near(comparison, joint, wire, distance, target)
    others = [stand for stand in _stands(comparison, wire) + _end_stands(comparison, wire) if stand.joint != joint.id]
    gaps = [(_gap_m(one, other), other.joint) for one in own for other in others]
    gaps += _across_inserts(comparison, joint, own, others)
    yield from _close(joint, [(gap, other) for gap, other in gaps if gap is not None])


def _to_end_m(stand: Stand, wire: Conductor, end: int) -> float | None:
    """Greatest distance to an end; a piece taken out at a cut is not taken off, for nobody says from which side."""
    if end == 1:
        return stand.high_m
    if stand.low_m is None or wire.length_m.high is None:
        return None
    return round(max(wire.length_m.high - stand.low_m, 0.0), 4)


def _gap_m(one: Stand, other: Stand) -> float | None:
    """Greatest distance along the conductor between two places that look at each other."""
    if one.low_m is None or one.high_m is None or other.low_m is None or other.high_m is None:
        return None
    below = other.high_m <= one.low_m and 1 in one.ends and 2 in other.ends
    above = other.low_m >= one.high_m and 2 in one.ends and 1 in other.ends
    throughout = len(one.ends) == len(other.ends) == 2
    if not (below or above or throughout) or (one.cut is not None and one.cut == other.cut):
        return None
    return round(max(one.high_m - other.low_m, other.high_m - one.low_m), 4)


def _across_inserts(
    comparison: Comparison, joint: Joint, own: list[Stand], others: list[Stand]
) -> list[tuple[float | None, str]]:
    """Splices at the other end of a piece that was put into a cut, with the length of that piece."""
    if not any(stand.cut for stand in own):
        return []
    beyond = {stand.joint for stand in others if stand.cut}
    return [
        (lead.length_m.high, other)
        for lead in map(comparison.after.conductor, comparison.after.subjects(joint.id, "end_1", "end_2"))
        if lead is not None
        for other in comparison.after.targets(lead.id, "end_1", "end_2")
        if other in beyond
    ]


def _near(comparison: Comparison, joint: Joint, wire: Conductor, distance: float, by: str | None) -> Iterator[Fact]:
    said: dict[str, Value] = {"joint": joint.id, "wire": wire.id, "distance_m": distance}
    if by is not None:
        said["by"] = by
    limit = distance_m("splice_from_termination")
    if distance < limit:
        yield Fact.of("near_termination", **said, limit_m=limit)
    # The rule of aircraft speaks of terminations and not of branches.
    limit = distance_m("splice_from_termination_aircraft")
    if distance < limit and (by is None or _is_termination(comparison, by)):
        yield Fact.of("near_termination_by_aircraft_practice", **said, limit_m=limit)


def _close(joint: Joint, gaps: list[tuple[float, str]]) -> Iterator[Fact]:
    """The nearest of what is too near; where several are as near, each, so that no id decides."""
    limit = distance_m("splice_from_next")
    least = min((gap for gap, _ in gaps), default=limit)
    if least < limit:
        for other in sorted({other for gap, other in gaps if gap == least}):
            yield Fact.of("close_to_next", joint=joint.id, other=other, distance_m=least, limit_m=limit)


def _by_distance_to_next(comparison: Comparison, joint: Joint, wires: list[Conductor]) -> Iterator[Fact]:
    """What the measured distance to the nearest connector, branch or splice says, which does not say to which.

    To an end of its conductor, where nothing else is on that and the recorded place allows it.
    """
    measured = joint.details.distance_to_next_mm.high
    if measured is None or not wires:
        return
    distance, limit = round(measured / 1000, 4), distance_m("splice_from_next")
    ends = _ends_it_may_be_to(comparison, joint, wires[0], distance) if len(wires) == 1 else []
    if ends:
        for fact in _near(comparison, joint, wires[0], distance, None):
            if fact.code == "near_termination" or all(_is_termination(comparison, target) for target in ends):
                yield fact
    elif distance < limit:
        yield Fact.of("close_to_next", joint=joint.id, distance_m=distance, limit_m=limit)


def _ends_it_may_be_to(comparison: Comparison, joint: Joint, wire: Conductor, distance: float) -> list[str]:
    """Terminations and branches that may be this far away, where no other splice is on the conductor."""
    stands = _stands(comparison, wire)
    if any(one.joint != joint.id for one in stands + _end_stands(comparison, wire)):
        return []
    return [
        target
        for end in (1, 2)
        if any(end in one.ends and _at_least_m(one, wire, end) <= distance for one in stands)
        for target in _ends_at(comparison, wire, end)
    ]


def _at_least_m(stand: Stand, wire: Conductor, end: int) -> float:
    """Least distance to an end."""
    if end == 1:
        return stand.low_m or 0.0
    if stand.high_m is None or wire.length_m.low is None:
        return 0.0
    return round(max(wire.length_m.low - stand.high_m, 0.0), 4)


def _several(comparison: Comparison, wire: Conductor) -> Iterator[Fact]:
    """More splices in a conductor than practice has: by the trade the sides of one gap are one repair."""
    stands = _stands(comparison, wire)
    repairs: nx.Graph[str] = nx.Graph()
    repairs.add_nodes_from(stand.joint for stand in stands)
    closing = [stand for stand in stands if stand.cut is not None]
    repairs.add_edges_from((one.joint, other.joint) for one in closing for other in closing if one.cut == other.cut)
    at_cuts = {stand.joint for stand in closing}
    for joint in at_cuts:
        for lead in comparison.after.subjects(joint, "end_1", "end_2"):
            ends = comparison.after.targets(lead, "end_1", "end_2")
            repairs.add_edges_from((joint, other) for other in ends if other in at_cuts)
    joints = tuple(sorted(repairs))
    limit = greatest_count("joints_in_a_wire")
    count = nx.number_connected_components(repairs)
    if count > limit:
        yield Fact.of("several_joints", wire=wire.id, joints=joints, count=count, limit=limit)
    limit = greatest_count("joints_in_a_wire_aircraft")
    if len(joints) > limit:
        yield Fact.of(
            "several_joints_by_aircraft_practice", wire=wire.id, joints=joints, count=len(joints), limit=limit
        )
