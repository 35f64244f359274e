"""Shorthand to nouns: a tap is a joint and a lead, an insertion a cut, two joints and two leads …

Both spellings give the same as-found harness. What a shorthand makes is named after it:
``ID.joint``, ``ID.lead``, ``ID.device``, ``ID.cut``; numbered where there are two.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypedDict, TypeVar

from harnessdiff.model.harness import Harness, JointDetails
from harnessdiff.model.observation import (
    AnyObservation,
    Bridge,
    Clue,
    CutSeen,
    DeviceDetails,
    DeviceSeen,
    End,
    Insertion,
    JointSeen,
    Jumper,
    LeadDetails,
    LeadSeen,
    Member,
    Missing,
    Moved,
    Observation,
    OtherSeen,
    Repair,
    Swap,
    Tap,
)
from harnessdiff.resolve.clues import Candidates

Entry = TypeVar("Entry")
BOTH_ENDS = (1, 2)


class Common(TypedDict):
    """What a thing made by a shorthand takes over from it."""

    id: str
    zone: str | None
    note: str | None
    kit: str | None


def expanded(observation: AnyObservation, candidates: Candidates) -> tuple[AnyObservation, ...]:
    """What an observation says, without shorthand.

    Parameters
    ----------
    observation : AnyObservation
    candidates : Candidates
        Of the reference; a swap or an insertion at a terminal concerns the wires that end there.

    Returns
    -------
    tuple of AnyObservation
        Nouns and statements; the observation itself where it is no shorthand.
    """
    match observation:
        case Tap():
            return _tap(observation)
        case Insertion():
            return _insertion(observation, candidates)
        case Bridge():
            return _bridge(observation, observation.origin, observation.to, observation.joints)
        case Repair():
            return _repair(observation)
        case Jumper():
            return _jumper(observation)
        case Swap():
            return _swap(observation, candidates)
        case _:
            return (observation,)


def _tap(tap: Tap) -> tuple[AnyObservation, ...]:
    lead = Member(lead=f"{tap.id}.lead", end=1)
    members = (tap.on, lead) if tap.on else (lead,)
    to, device = _landing(tap, tap.to or End(not_traced=True))
    return (
        _joint(tap, "joint", members, tap.joint),
        _lead(tap, "lead", tap.lead, End(joined=f"{tap.id}.joint"), to),
        *device,
    )


def _insertion(insertion: Insertion, candidates: Candidates) -> tuple[AnyObservation, ...]:
    own = insertion.id
    into = _settled(insertion.into or Member(), candidates)
    name, device = _described(insertion, insertion.device or DeviceDetails())
    if isinstance(into.terminal, Clue):
        return (_not_settled(insertion, (into,)), *device)
    first, second = (
        _lead(insertion, f"lead{number}", _nth(insertion.leads, number), End(joined=f"{own}.joint{number}"),
              End(device=name, pin=insertion.pins[number - 1]))
        for number in (1, 2)
    )  # fmt: skip
    members: list[tuple[Member, ...]] = [(Member(lead=f"{own}.lead{number}", end=1),) for number in (1, 2)]
    opening: tuple[AnyObservation, ...]
    plugged = JointDetails(type="plug_in")
    if into.terminal is not None:
        members[1] = (Member(terminal=into.terminal), *members[1])
        ends = wire_ends_at(candidates.harness, into.terminal)
        opening = tuple(
            replace(_moved(insertion, f"{wire}.{end}", wire, end), to=End(joined=f"{own}.joint1")) for wire, end in ends
        )
    else:
        opening = (
            CutSeen(
                **_common(insertion, "cut"), wire=into.wire, lead=into.lead, at=into.at, removed_m=insertion.removed_m
            ),
        )
        members = [(Member(cut=f"{own}.cut", side=number), *members[number - 1]) for number in (1, 2)]
        plugged = JointDetails()
    joints = (
        _joint(insertion, f"joint{number}", members[number - 1], _nth(insertion.joints, number) or plugged)
        for number in (1, 2)
    )
    return (*opening, *joints, first, second, *device)


def _bridge(
    source: Bridge | Jumper, origin: Member | None, to: Member | None, details: tuple[JointDetails, ...]
) -> tuple[AnyObservation, ...]:
    joints = []
    for number, place in ((1, origin), (2, to)):
        lead_end = Member(lead=f"{source.id}.lead", end=number)
        members = (place, lead_end) if place else (lead_end,)
        joints.append(_joint(source, f"joint{number}", members, _nth(details, number)))
    lead = _lead(source, "lead", source.lead, End(joined=f"{source.id}.joint1"), End(joined=f"{source.id}.joint2"))
    return (*joints, lead)


def _jumper(jumper: Jumper) -> tuple[AnyObservation, ...]:
    known = jumper.socket is not None and len(jumper.between) == len(BOTH_ENDS)
    ways = [Member(terminal=f"{jumper.socket}:{name}") if known else None for name in (*jumper.between, "", "")[:2]]
    bare = JointDetails(type="bare_contact", cover="none")
    details = tuple(_nth(jumper.joints, number) or bare for number in (1, 2))
    gone = (Missing(**_common(jumper, "occupant"), element=jumper.socket),) if jumper.occupant == "missing" else ()
    return (*_bridge(jumper, ways[0], ways[1], details), *gone)


def _repair(repair: Repair) -> tuple[AnyObservation, ...]:
    own = repair.id
    cut = CutSeen(**_common(repair, "cut"), wire=repair.wire, at=repair.at, removed_m=repair.removed_m)
    sides = (Member(cut=f"{own}.cut", side=1), Member(cut=f"{own}.cut", side=2))
    if repair.insert is None:
        return (cut, _joint(repair, "joint1", sides, _nth(repair.joints, 1)))
    joints = (
        _joint(repair, f"joint{number}", (sides[number - 1], Member(lead=f"{own}.lead", end=number)),
               _nth(repair.joints, number) or _nth(repair.joints, 1))
        for number in (1, 2)
    )  # fmt: skip
    lead = _lead(repair, "lead", repair.insert, End(joined=f"{own}.joint1"), End(joined=f"{own}.joint2"))
    return (cut, *joints, lead)


def _swap(swap: Swap, candidates: Candidates) -> tuple[AnyObservation, ...]:
    between = tuple(_settled(member, candidates) for member in swap.between)
    places = [_ends_and_terminal(member, candidates.harness) for member in between]
    if len(places) != len(BOTH_ENDS) or any(terminal is None for _, terminal in places):
        return (_not_settled(swap, between),)
    (ends_1, terminal_1), (ends_2, terminal_2) = places
    goes_to = [(ends_1, terminal_2), (ends_2, terminal_1)]
    return tuple(
        replace(_moved(swap, f"{wire}.{end}", wire, end), to=End(terminal=terminal))
        for ends, terminal in goes_to
        for wire, end in ends
    )


def _settled(member: Member, candidates: Candidates) -> Member:
    """The member with the name of what its clue means, where only one wire or terminal fits."""
    if isinstance(member.wire, Clue) and len(found := candidates.wires(member.wire)) == 1:
        return replace(member, wire=found[0])
    if isinstance(member.terminal, Clue) and len(found := candidates.terminals(member.terminal)) == 1:
        return replace(member, terminal=found[0])
    return member


def _not_settled(source: Observation, members: tuple[Member, ...]) -> OtherSeen:
    """A change of which it is not known where it is: recorded, and not rated."""
    return OtherSeen(**_common(source, "other"), on=members)


def _ends_and_terminal(member: Member, harness: Harness) -> tuple[tuple[tuple[str, int], ...], str | None]:
    if isinstance(member.terminal, str):
        return wire_ends_at(harness, member.terminal), member.terminal
    if isinstance(member.wire, str) and member.end is not None:
        targets = harness.targets(member.wire, "end_1" if member.end == 1 else "end_2")
        return ((member.wire, member.end),), targets[0] if targets else None
    return (), None


def wire_ends_at(harness: Harness, terminal: str) -> tuple[tuple[str, int], ...]:
    """Wires that end at a terminal, each with the end that is there."""
    return tuple(
        (incidence.subject, 1 if incidence.role == "end_1" else 2)
        for incidence in harness.attached.get(terminal, ())
        if incidence.role in ("end_1", "end_2") and incidence.target == terminal
    )


def _common(source: Observation, name: str) -> Common:
    return {"id": f"{source.id}.{name}", "zone": source.zone, "note": source.note, "kit": source.kit}


def _joint(source: Observation, name: str, members: tuple[Member, ...], details: JointDetails | None) -> JointSeen:
    return JointSeen(**_common(source, name), members=members, details=details or JointDetails())


def _lead(source: Observation, name: str, details: LeadDetails | None, end_1: End, end_2: End) -> LeadSeen:
    return LeadSeen(**_common(source, name), details=details or LeadDetails(), end_1=end_1, end_2=end_2)


def _moved(source: Observation, name: str, wire: str, end: int) -> Moved:
    return Moved(**_common(source, name), wire=wire, end=end)


def _landing(source: Observation, to: End) -> tuple[End, tuple[DeviceSeen, ...]]:
    if to.device is None:
        return to, ()
    name, device = _described(source, to.device)
    return replace(to, device=name), device


def _described(source: Observation, device: str | DeviceDetails) -> tuple[str, tuple[DeviceSeen, ...]]:
    if isinstance(device, str):
        return device, ()
    seen = DeviceSeen(**_common(source, "device"), details=device)
    return seen.id, (seen,)


def _nth(entries: tuple[Entry, ...], number: int) -> Entry | None:
    return entries[number - 1] if len(entries) >= number else None
