"""Survey and reference to the as-found harness: every observation becomes edits.

What an observation adds gets its id with a ``+`` before it. A clue that one element fits is that
element; one that several fit becomes a choice; one that none fits is said plainly.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import assert_never

from harnessdiff.errors import InputError, Problem
from harnessdiff.model.edit import (
    Added,
    Alternative,
    AsFound,
    Attached,
    Changed,
    Choice,
    Detached,
    Edit,
    Removed,
    Unresolved,
    edit_key,
)
from harnessdiff.model.harness import (
    Cut,
    Damage,
    Device,
    Incidence,
    Joint,
    JointDetails,
    OpenEnd,
    Other,
    Point,
    Role,
    Terminal,
)
from harnessdiff.model.observation import (
    AnyObservation,
    AsReference,
    At,
    Bridge,
    Clue,
    CutSeen,
    DamageSeen,
    DeviceSeen,
    End,
    GoodPractice,
    Insertion,
    JointSeen,
    Jumper,
    LeadSeen,
    Member,
    Missing,
    Moved,
    OtherSeen,
    Repair,
    Substitution,
    Surroundings,
    Swap,
    Tap,
)
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Survey
from harnessdiff.resolve.clues import Candidates, clue_words
from harnessdiff.resolve.contradictions import contradicted
from harnessdiff.resolve.ledger import Ledger, spoken_of
from harnessdiff.resolve.nouns import cores_of, with_fitted
from harnessdiff.resolve.points import order_choices, point_of
from harnessdiff.resolve.shorthand import expanded
from harnessdiff.resolve.whole import as_found_of_whole
from harnessdiff.tables.loader import limit

ROLES: dict[int, Role] = {1: "end_1", 2: "end_2"}
METALS = {"body": "body", "engine": "engine_block", "chassis": "chassis"}


def as_found_of(reference: Reference, survey: Survey) -> AsFound:
    """The as-found harness of a survey.

    Parameters
    ----------
    reference : Reference
        As equipped: options ruled out are not in it.
    survey : Survey
        As it stands: without superseded lines.

    Returns
    -------
    AsFound

    Raises
    ------
    InputError
        If two observations contradict each other.
    """
    if survey.as_found is not None:
        return as_found_of_whole(reference, survey.as_found, survey.scope)
    builder = _Builder(reference)
    statements = [
        (observation.id, one)
        for observation in survey.observations
        for one in expanded(observation, builder.candidates)
    ]
    for source, one in statements:
        builder.take_note_of(source, one)
    for source, one in statements:
        builder.add(source, one)
    return builder.finished()


class _Builder(Ledger):
    """Takes down what every kind of observation says."""

    def __init__(self, reference: Reference) -> None:
        super().__init__(reference.harness)
        self.candidates = Candidates(reference)
        self.choices: list[Choice] = []
        self.unresolved: list[Unresolved] = []
        self.made: dict[str, tuple[str, ...]] = {}
        self.lead_ends: set[tuple[str, int]] = set()
        self.hanging: set[tuple[str, str]] = set()
        self.in_order: dict[str, set[str]] = {}

    # -- what there is, before anything is attached to it

    def take_note_of(self, source: str, one: AnyObservation) -> None:
        """Learn ids and conductors, so that observations may name each other in any order."""
        if isinstance(one, (JointSeen, CutSeen)):
            self.made[source] = tuple(sorted({*self.made.get(source, ()), f"+{one.id}"}))
        if isinstance(one, LeadSeen):
            for lead, _, _ in cores_of(one):
                self.create(source, lead)
        if isinstance(one, JointSeen):
            for member in one.members:
                if member.lead is not None and member.end is not None:
                    self.lead_ends.add((f"+{member.lead}", member.end))

    def add(self, source: str, one: AnyObservation) -> None:
        """Add what one noun or statement says."""
        match one:
            case JointSeen():
                self._joint(source, f"+{one.id}", one.members, one.details, one.zone, one.note)
            case LeadSeen():
                for lead, end_1, end_2 in cores_of(one):
                    self._lead_end(source, lead.id, 1, end_1, one.zone)
                    self._lead_end(source, lead.id, 2, end_2, one.zone)
            case DeviceSeen():
                self._device(source, one)
            case CutSeen():
                self._cut(source, one)
            case Substitution():
                self._substitution(source, one)
            case Missing():
                self._missing(source, one)
            case Moved():
                self._moved(source, one)
            case DamageSeen():
                damage = Damage(
                    id=f"+{one.id}", damage=one.damage, extent=one.extent, conducts=one.conducts, zone=one.zone,
                    note=one.note,
                )  # fmt: skip
                self._marking(source, damage, one.on, one.element, one.inline_of)
            case Surroundings():
                zone = self.harness.zone(one.zone)
                worse = {name: True for name in ("wet", "leaking", "hot") if getattr(one, name)}
                if zone is not None and worse:
                    self.change(source, zone.id, worse)
                else:
                    self._marking(source, Other(id=f"+{one.id}", zone=one.zone, note=one.note), (), None, None)
            case OtherSeen():
                self._marking(source, Other(id=f"+{one.id}", zone=one.zone, note=one.note), one.on, None, None)
            case AsReference():
                for name in one.elements:
                    occupant = self._occupant(name)
                    self.in_order.setdefault(occupant.id if occupant is not None else name, set()).add(source)
            case GoodPractice():
                pass
            case Tap() | Insertion() | Bridge() | Repair() | Swap() | Jumper():
                raise AssertionError(f"{one.id} is shorthand and should have been expanded")
            case _:
                assert_never(one)

    def finished(self) -> AsFound:
        """The as-found harness: edits that are sure, and choices."""
        self._settle_choices()
        self._refuse_contradictions()
        points = [one for one in self.attached if one.role == "on"]
        lengths = {one.target: self.conductor(one.target).length_m.high or 1.0 for one in points if one.target}
        cuts = {element.id for element in self.elements.values() if isinstance(element, Cut)}
        sources = {element: min(found) for element, found in self.seen_in.items()}
        sure, choices = order_choices(sorted(points, key=repr), lengths, cuts, sources)
        attached = (self.attached - set(points)) | set(sure)
        standing = {one for one in self.detached if one not in attached}
        edits: set[Edit] = {Added(element) for element in self.elements.values()}
        edits |= {Removed(self.harness.by_id[gone]) for gone in self.removed}
        edits |= {
            Changed(self.harness.by_id[changed], after)
            for changed, after in self.changes.items()
            if after != self.harness.by_id[changed]
        }
        edits |= {Attached(one) for one in attached if one not in self.harness.attached.get(one.subject, ())}
        edits |= {Detached(one) for one in standing}
        return AsFound(
            reference=self.harness,
            edits=tuple(sorted(edits, key=edit_key)),
            choices=tuple(sorted([*self.choices, *choices], key=lambda choice: choice.id)),
            unresolved=tuple(sorted(self.unresolved, key=lambda one: (one.observation, one.reason))),
            seen_in=tuple(sorted((element, tuple(sorted(found))) for element, found in self.seen_in.items())),
        )

    def _settle_choices(self) -> None:
        """Leave out alternatives that name something gone; one that is left is it."""
        choices, self.choices = self.choices, []
        for choice in choices:
            left = tuple(
                one
                for one in choice.alternatives
                if not set(one.elements) & self.removed or any(isinstance(edit, Removed) for edit in one.edits)
            )
            if len(left) > 1:
                self.choices.append(replace(choice, alternatives=left))
            elif left:
                self.take(choice.observation, left[0].edits)
            else:
                self.unresolved.append(
                    Unresolved(observation=choice.observation, reason="nothing_fits", clue=choice.about)
                )

    def _refuse_contradictions(self) -> None:
        changed = {one for one, after in self.changes.items() if after != self.harness.by_id[one]}
        for element, others in contradicted(
            self.harness, self.elements, changed, self.removed, self.attached, self.hanging
        ):
            self.refuse("", element, others)
        for element, sources in sorted(self.in_order.items()):
            if element in changed or element in self.removed:
                self.refuse(min(sources), element)

    # -- the nouns

    def _joint(
        self,
        source: str,
        own: str,
        members: Iterable[Member],
        details: JointDetails,
        zone: str | None,
        note: str | None,
    ) -> None:
        self.create(source, Joint(id=own, details=details, zone=zone, note=note))
        for member in members:
            self._member(source, own, member, "on", "at")

    def _member(self, source: str, own: str, member: Member, on: Role, at: Role) -> None:
        """Attach a joint, damage or other to one thing it names."""
        if member.wire is not None:
            end = member.end
            if end is None or on == "marks":
                at_end = At(near_end=end) if end else member.at
                self._named(source, member.wire, own, lambda wire: self._on(own, on, wire, at_end))
            else:
                self._named(source, member.wire, own, lambda wire: self._end_moved(wire, end, own))
        elif member.lead is not None:
            lead = f"+{member.lead}"
            if member.end is not None and on == "on":
                self.attached.add(Incidence(subject=lead, role=ROLES[member.end], target=own))
            else:
                self.attached.add(self._on(own, on, lead, member.at)[0].incidence)
        elif member.cut is not None:
            side: Role = "side_1" if member.side == 1 else "side_2"
            cut = f"+{member.cut}"
            self.attached.add(
                Incidence(subject=cut, role=side, target=own) if on == "on"
                else Incidence(subject=own, role=at, target=cut)
            )  # fmt: skip
        elif member.terminal is not None:
            self._named(
                source, member.terminal, own,
                lambda terminal: [Attached(Incidence(subject=own, role=at, target=terminal))], terminals=True,
            )  # fmt: skip
        elif member.device is not None:
            terminal = self._pin(source, member.device, member.pin)
            self.attached.add(Incidence(subject=own, role=at, target=terminal))
        elif member.metal is not None:
            self._metal(source, own, member.metal, at)

    def _on(self, own: str, role: Role, conductor_id: str, at: At | None) -> list[Attached]:
        conductor = self.conductor(conductor_id)
        point = point_of(at, conductor, self.harness, self.made)
        length = conductor.length_m.high
        if point.low_m is not None and length is not None and point.low_m > length * limit("beyond_a_wire"):
            message = (
                f"{conductor_id.removeprefix('+')} is {length:g} m long, and {own.removeprefix('+')} is said to sit "
                f"{point.low_m:g} m from its end 1"
            )
            raise InputError((Problem(source="survey", message=message),))
        return [Attached(Incidence(subject=own, role=role, target=conductor_id, point=point))]

    def _end_moved(self, wire: str, end: int, target: str) -> list[Edit]:
        if target in self.harness.targets(wire, ROLES[end]):
            return []
        edits: list[Edit] = [
            Detached(Incidence(subject=wire, role=ROLES[end], target=was))
            for was in self.harness.targets(wire, ROLES[end])
        ]
        return [*edits, Attached(Incidence(subject=wire, role=ROLES[end], target=target))]

    def _metal(self, source: str, own: str, metal: str, role: Role) -> None:
        terminals = [
            terminal
            for device in self.harness.devices()
            if device.kind == METALS[metal]
            for terminal in self.harness.subjects(device.id, "of")
        ]
        if terminals:
            self.attached.add(Incidence(subject=own, role=role, target=terminals[0]))
        else:
            self.unresolved.append(Unresolved(observation=source, reason="no_such_metal", clue=metal))

    def _lead_end(self, source: str, lead: str, number: int, end: End | None, zone: str | None) -> None:
        """Attach an end of a lead, through a joint where it lands on something of the maker's."""
        if end is None and (lead, number) in self.lead_ends:
            return
        if end is not None and end.joined is not None:
            self.attached.add(Incidence(subject=lead, role=ROLES[number], target=f"+{end.joined}"))
        elif end is not None and isinstance(end.device, str) and end.joint is None:
            terminal = self._pin(source, end.device, end.pin)
            self.attached.add(Incidence(subject=lead, role=ROLES[number], target=terminal))
        elif end is not None and (end.terminal is not None or end.metal is not None or end.device is not None):
            there = Member(
                terminal=end.terminal, metal=end.metal, pin=end.pin,
                device=end.device if isinstance(end.device, str) else None,
            )  # fmt: skip
            own = f"{lead}.end{number}"
            if isinstance(end.terminal, str):
                device = self.harness.device(self.harness.device_of(end.terminal))
                zone = (device.zone if device is not None else None) or zone
            members = (there, Member(lead=lead.removeprefix("+"), end=number))
            self._joint(source, own, members, end.joint or JointDetails(), zone, None)
        else:
            loose = end.loose if end else None
            towards = end.towards if end else None
            conductor = self.conductor(lead)
            ends = (*conductor.open_ends, OpenEnd(end=number, loose=loose, towards=towards))
            self.elements[lead] = replace(conductor, open_ends=tuple(sorted(ends, key=lambda one: one.end)))

    def _device(self, source: str, seen: DeviceSeen) -> None:
        details = seen.details
        device = Device(
            id=f"+{seen.id}",
            zone=seen.zone,
            parts=details.contents,
            note=seen.note,
            **{
                name: getattr(details, name)
                for name in ("kind", "name", "label", "function", "connected", "mounted_on", "own_energy", "body",
                             "sealed", "hypotheses", "positions", "rest_position")
            },
        )  # fmt: skip
        self.create(source, device)
        named = {name for part in details.contents for name in part.between}
        named |= {name for thought in details.hypotheses for part in thought.parts for name in part.between}
        for name in (*details.terminals, *sorted(named)):
            self._pin(source, seen.id, name)

    def _pin(self, source: str, device: str, pin: str | None) -> str:
        terminal = f"+{device}:{pin or '?'}"
        self.create(source, Terminal(id=terminal, name=pin or "?"))
        self.attached.add(Incidence(subject=terminal, role="of", target=f"+{device}"))
        return terminal

    def _cut(self, source: str, seen: CutSeen) -> None:
        own = f"+{seen.id}"
        self.create(
            source,
            Cut(id=own, zone=seen.zone, removed_m=seen.removed_m, end_1=seen.end_1, end_2=seen.end_2, note=seen.note),
        )
        if seen.lead is not None:
            self.attached.add(self._on(own, "on", f"+{seen.lead}", seen.at)[0].incidence)
        elif seen.wire is not None:
            self._named(source, seen.wire, own, lambda wire: self._on(own, "on", wire, seen.at))
        else:
            self.unresolved.append(Unresolved(observation=source, reason="no_place", clue=""))

    # -- statements about the reference's own elements

    def _substitution(self, source: str, seen: Substitution) -> None:
        if seen.wire is not None:
            self._named(
                source, seen.wire, source,
                lambda wire: [Changed(self.harness.by_id[wire], with_fitted(self.harness.by_id[wire], seen.fitted))],
            )  # fmt: skip
            return
        device = self._occupant(seen.element or "")
        if device is None:
            slot = self.harness.device(seen.element or "")
            if slot is not None and slot.kind in ("fuse_slot", "relay_socket"):
                kind = "fuse" if slot.kind == "fuse_slot" else "relay"
                own = f"+{seen.id}"
                added = with_fitted(Device(id=own, kind=kind, zone=slot.zone), seen.fitted)
                self.create(source, added)
                self.attached.add(Incidence(subject=own, role="seat", target=slot.id))
                return
            reason = "no_such_device" if seen.element else "which_not_said"
            self.unresolved.append(Unresolved(observation=source, reason=reason, clue=seen.element or ""))
            return
        self._replace(source, with_fitted(device, seen.fitted))

    def _occupant(self, element: str) -> Device | None:
        """The device with this id; for a slot, what sits in it."""
        device = self.harness.device(element)
        if device is not None and device.kind in ("fuse_slot", "relay_socket"):
            seated = self.harness.subjects(element, "seat")
            return self.harness.device(seated[0]) if seated else None
        return device

    def _missing(self, source: str, seen: Missing) -> None:
        if seen.wire is not None:
            self._named(source, seen.wire, source, lambda wire: list(self._gone(wire)))
            return
        device = self._occupant(seen.element or "")
        gone = device.id if device is not None else seen.element or ""
        if gone not in self.harness.by_id:
            reason = "nothing_there" if gone else "which_not_said"
            self.unresolved.append(Unresolved(observation=source, reason=reason, clue=gone))
            return
        if seen.unplugged and device is not None:
            self.change(source, device.id, {"connected": "no"})
        else:
            self.take(source, self._gone(gone))

    def _gone(self, element: str) -> Iterable[Edit]:
        """The edits that take an element away; the terminals of a device stay with their wires."""
        yield Removed(self.harness.by_id[element])
        for incidence in self.harness.attached.get(element, ()):
            yield Detached(incidence)

    def _moved(self, source: str, seen: Moved) -> None:
        if seen.element is not None:
            device = self._occupant(seen.element)
            if device is None:
                self.unresolved.append(Unresolved(observation=source, reason="nothing_there", clue=seen.element))
                return
            if seen.to_zone is not None:
                self.change(source, device.id, {"zone": seen.to_zone})
            if seen.to_slot is not None:
                for slot in self.harness.targets(device.id, "seat"):
                    self.detached.add(Incidence(subject=device.id, role="seat", target=slot))
                self.attached.add(Incidence(subject=device.id, role="seat", target=seen.to_slot))
                self.speak(source, device.id)
            return
        if seen.wire is None or seen.end is None:
            self.unresolved.append(Unresolved(observation=source, reason="no_place", clue=""))
            return
        end, to = seen.end, seen.to or End(not_traced=True)
        self._named(source, seen.wire, source, lambda wire: self._wire_end_to(source, seen, wire, end, to))

    def _wire_end_to(self, source: str, seen: Moved, wire: str, end: int, to: End) -> list[Edit]:
        if to.joined is not None:
            return self._end_moved(wire, end, f"+{to.joined}")
        if isinstance(to.terminal, str) and to.joint is None:
            return self._end_moved(wire, end, to.terminal)
        if isinstance(to.device, str):
            return self._end_moved(wire, end, self._pin(source, to.device, to.pin))
        if to.terminal is not None or to.metal is not None:
            own = f"+{seen.id}.joint"
            there = Member(terminal=to.terminal, metal=to.metal)
            self._joint(source, own, (there,), to.joint or JointDetails(), seen.zone, seen.note)
            return self._end_moved(wire, end, own)
        self.hanging.add((wire, ROLES[end]))
        off = [edit for edit in self._end_moved(wire, end, "") if isinstance(edit, Detached)]
        if to.loose is None:
            return [*off]
        before = self.conductor(wire)
        return [*off, Changed(before, replace(before, open_ends=(OpenEnd(end=end, loose=to.loose),)))]

    def _marking(
        self, source: str, marking: Damage | Other, on: tuple[Member, ...], element: str | None, inline_of: str | None
    ) -> None:
        self.create(source, marking)
        for member in on:
            self._member(source, marking.id, member, "marks", "marks")
        if element is not None:
            self.attached.add(Incidence(subject=marking.id, role="marks", target=element))
        if inline_of is not None:
            self.attached.add(Incidence(subject=marking.id, role="marks", target=f"+{inline_of}", point=Point()))

    # -- names and clues

    def _named(
        self,
        source: str,
        name: str | Clue,
        own: str,
        edits_for: Callable[[str], Iterable[Edit]],
        *,
        terminals: bool = False,
    ) -> None:
        """Take the edits for the element that a name or clue means, or a choice of them."""
        if isinstance(name, str):
            self.take(source, edits_for(name))
            return
        found = self.candidates.terminals(name) if terminals else self.candidates.wires(name)
        if not found:
            self.unresolved.append(Unresolved(observation=source, reason="nothing_fits", clue=clue_words(name)))
            return
        if len(found) == 1:
            self.take(source, edits_for(found[0]))
            return
        hanging = set(self.hanging)
        alternatives = [Alternative(label=one, elements=(one,), edits=tuple(edits_for(one))) for one in found]
        self.hanging = hanging  # what only one of several says of an end is not sure
        for one in alternatives:
            for edit in one.edits:
                self.speak(source, spoken_of(edit))
        number = sum(choice.id.startswith(f"{own} ") for choice in self.choices)
        self.choices.append(
            Choice(
                id=f"{own} {'terminal' if terminals else 'wire'} {number}",
                observation=source,
                about=clue_words(name),
                alternatives=tuple(alternatives),
            )
        )
