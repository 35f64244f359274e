"""Recognises what happened to the reference's own elements, and what was seen beside connections."""

from __future__ import annotations

from dataclasses import replace

from harnessdiff.compare.claims import Claims
from harnessdiff.compare.comparison import Comparison
from harnessdiff.model.harness import Conductor, Damage, Device, Element, Other, Passage, Zone
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.quantity import Quantity

FUSES = ("fuse", "fusible_link", "circuit_breaker")


def recognise_changes(comparison: Comparison, claims: Claims) -> None:
    """Elements of the reference that are different or gone."""
    for element_id, edit in sorted(comparison.changed.items()):
        if _only_hangs(edit.before, edit.after):
            continue
        kind, facts = _change(comparison, edit.before, edit.after)
        facts += _protected_facts(comparison, edit.before)
        claims.take(
            Modification(kind=kind, root=element_id, elements=(element_id,), role="changed", facts=facts,
                         nodes=_nodes_of(comparison, element_id))
        )  # fmt: skip
    for element_id in sorted(comparison.removed):
        claims.take(
            Modification(kind="removed_part", root=element_id, elements=(element_id,), role="removed",
                         facts=_protected_facts(comparison, comparison.before.by_id[element_id]),
                         nodes=_nodes_of(comparison, element_id))
        )  # fmt: skip
    for element_id in sorted(comparison.added):
        slots = comparison.after.targets(element_id, "seat")
        if slots:
            claims.take(
                Modification(kind="added_device", root=element_id, elements=slots, added=(element_id,), role="seat",
                             nodes=_nodes_of(comparison, element_id))
            )  # fmt: skip
    for incidence in comparison.attached:
        device = comparison.after.device(incidence.subject)
        if incidence.role == "seat" and device is not None and device.id in comparison.before.by_id:
            _recognise_reseated(comparison, claims, device, incidence.target)


def _recognise_reseated(comparison: Comparison, claims: Claims, device: Device, slot: str) -> None:
    """A fuse or relay of the reference in another slot: for that slot another one, and its own may be empty."""
    was = next(iter(comparison.before.targets(device.id, "seat")), None)
    facts: list[Fact] = [Fact.of("moved", was=was, now=slot)]
    nodes = list(comparison.before.subjects(slot, "of"))
    kind = "moved_part"
    if was is not None and not comparison.after.subjects(was, "seat"):
        facts.append(Fact.of("slot_empty", slot=was))
        nodes += comparison.before.subjects(was, "of")
    belongs = _belonging_in(comparison, slot)
    if device.kind in FUSES and belongs is not None and not _same_fuse(belongs, device):
        kind = "wrong_rated_protection"
        facts += _rating_facts(belongs, device)
    claims.take(
        Modification(kind=kind, root=device.id, elements=(device.id,), role="seat", facts=tuple(facts),
                     nodes=tuple(nodes))
    )  # fmt: skip


def _belonging_in(comparison: Comparison, slot: str) -> Device | None:
    """The fuse that belongs in a slot: the one the reference has there, else one as its legend says."""
    seated = comparison.before.subjects(slot, "seat")
    if seated:
        return comparison.before.device(seated[0])
    holder = comparison.before.device(slot)
    if holder is None or holder.legend_A is None:
        return None
    return Device(id=slot, kind="fuse", rating_A=Quantity.exactly(holder.legend_A), body=holder.body)


def _only_hangs(before: Element, after: Element) -> bool:
    """Whether nothing about a wire is different but that an end of it hangs, which is told with that end."""
    if not isinstance(before, Conductor) or not isinstance(after, Conductor):
        return False
    return replace(before, open_ends=after.open_ends) == after


def _protected_facts(comparison: Comparison, element: Element) -> tuple[Fact, ...]:
    """Whether an element is one that only the maker's procedure may touch."""
    function = comparison.reference.function_of(getattr(element, "circuit", None))
    codes = {getattr(element, "protected", None), function} & {"restraint", "high_voltage"}
    return tuple(Fact.of(code) for code in sorted(code for code in codes if code))


def _nodes_of(comparison: Comparison, element_id: str) -> tuple[str, ...]:
    harness = comparison.before if element_id in comparison.before.by_id else comparison.after
    slots = harness.targets(element_id, "seat") or (element_id,)
    return tuple(terminal for slot in slots for terminal in harness.subjects(slot, "of"))


def _change(comparison: Comparison, before: Element, after: Element) -> tuple[str, tuple[Fact, ...]]:
    match before, after:
        case Device(), Device():
            return _device_change(comparison, before, after)
        case Conductor(), Conductor():
            return _conductor_change(before, after)
        case Zone(), Zone():
            now = tuple(
                name for name in ("wet", "leaking", "hot") if getattr(after, name) and not getattr(before, name)
            )
            return "surroundings", (Fact.of("surroundings", now=now),)
        case _:
            return "substituted_part", ()


def _device_change(comparison: Comparison, before: Device, after: Device) -> tuple[str, tuple[Fact, ...]]:
    slots = comparison.before.targets(before.id, "seat")
    if before.kind in FUSES and after.state == "slug":
        return "bypass", (Fact.of("bypasses", device=slots[0] if slots else before.id, sort="fuse"),)
    if before.kind in FUSES and after.state == "blown" and _same_fuse(before, after):
        return "open_circuit", (Fact.of("blown"),)
    if before.kind in FUSES and after.kind in FUSES:
        return "wrong_rated_protection", _rating_facts(before, after)
    if after.connected == "no" and before.connected != "no":
        return "removed_part", (Fact.of("unplugged"),)
    if before.zone != after.zone:
        return "moved_part", (Fact.of("moved", was=before.zone, now=after.zone),)
    facts: tuple[Fact, ...] = (Fact.of("substituted", was=before.kind, now=after.kind, label=after.label),)
    if after.kind in ("resistor", "load_resistor") and before.kind != after.kind:
        facts += (Fact.of("dummy_load", device=after.id),)
    return "substituted_part", facts


def _rating_facts(before: Device, after: Device) -> tuple[Fact, ...]:
    """What differs in a fuse, and whether it is known to: one of unknown rating may be the right one."""
    same_rating = before.rating_A.exact is not None and before.rating_A == after.rating_A
    differs = same_rating or before.body != after.body or not after.rating_A.may_equal(before.rating_A)
    was_and_now = {
        "was": _value(before.rating_A), "now": _value(after.rating_A), "was_body": before.body, "now_body": after.body,
    }  # fmt: skip
    facts = (Fact.of("rating", **was_and_now) if differs else Fact.of("rating_perhaps", **was_and_now),)
    return (*facts, Fact.of("blown")) if after.state == "blown" else facts


def _same_fuse(before: Device, after: Device) -> bool:
    return (before.rating_A, before.body, before.rating_convention) == (
        after.rating_A, after.body, after.rating_convention,
    )  # fmt: skip


def _conductor_change(before: Conductor, after: Conductor) -> tuple[str, tuple[Fact, ...]]:
    facts = []
    if before.colour != after.colour and before.colour and after.colour:
        facts.append(Fact.of("colour_differs", was=before.colour.letters, now=after.colour.letters))
    if after.material != before.material and after.material == "copper_clad_aluminium":
        facts.append(Fact.of("unsuitable_conductor", sort=after.material))
    was, now = before.size_mm2, after.size_mm2
    if was.low is not None and now.high is not None and now.high < was.low:
        facts.append(Fact.of("size", was=was.low, now=now.high))
        return "thinner_conductor", tuple(facts)
    if was.low is not None and now.low is not None and now.low < was.low:
        facts.append(Fact.of("size_perhaps", lead=after.id, was=was.low, now=now.low))
    return "substituted_conductor", tuple(facts)


def _value(quantity: Quantity) -> float | str | None:
    """A rating as it is known: the value, those it may be, or nothing."""
    if quantity.exact is not None:
        return quantity.exact
    if quantity.one_of:
        return " or ".join(f"{value:g}" for value in quantity.one_of)
    bounds = [f"{word} {bound:g}" for word, bound in (("at least", quantity.low), ("at most", quantity.high))
              if bound is not None]  # fmt: skip
    return ", ".join(bounds) or None


# What a passage is an adverse one for: by kind of passage, thing passed, and what protects it there.
_OPENINGS = ("panel_hole", "bulkhead", "sharp_edge")
_PIPES = ("brake_pipe", "fuel_pipe")
_CODES = {
    "exhaust": "near_hot", "hot_surface": "near_hot", "moving_part": "near_moving", "seat_track": "near_moving",
    "steering_column": "near_moving", "wheel_arch": "near_moving", "airbag": "near_restraint",
    "restraint_loom": "near_restraint", "high_voltage_cable": "near_high_voltage",
    "belt_anchorage": "on_belt_or_seat_fixing", "brake_pipe": "on_brake_or_fuel_pipe",
    "fuel_pipe": "on_brake_or_fuel_pipe", "bedding": "near_bedding",
}  # fmt: skip
_SHIELDS = ("grommet", "sleeve", "conduit")


def adverse(passage: Passage) -> str | None:
    """Code of what is wrong with one thing along a route; None where nothing is.

    Clearances are the trade's: 100 mm from an exhaust, 75 mm from moving parts, 10 mm from a
    brake or fuel pipe (25 mm where the cable moves with the engine). Common practice.
    """
    shielded = passage.protected_by in _SHIELDS
    code = _CODES.get(passage.what)
    if passage.what in _OPENINGS or (passage.kind == "passes_edge" and code is None):
        if shielded:
            return None
        said = passage.protected_by not in (None, "unknown") or passage.rubbed == "yes"
        return "no_grommet" if said else "no_grommet_perhaps"
    if code is None:
        return "rubbing" if passage.rubbed == "yes" else None
    clearance_mm = {"near_hot": 100, "near_moving": 75, "on_brake_or_fuel_pipe": 10}.get(code)
    distance = passage.distance_mm.low
    clear = clearance_mm is not None and distance is not None and distance >= clearance_mm and passage.kind == "near"
    clear = clear or (code == "on_belt_or_seat_fixing" and passage.kind == "near")
    protected = shielded and code in ("near_moving",)
    return None if clear or protected else code


def recognise_routes(comparison: Comparison, claims: Claims) -> None:
    """Leads whose route is unsafe: one finding a lead, or a cable."""
    cables: dict[str, list[Conductor]] = {}
    for element_id in sorted(comparison.added):
        lead = comparison.after.conductor(element_id)
        if lead is not None:
            cables.setdefault(lead.cable or lead.id, []).append(lead)
    for leads in cables.values():
        facts = []
        for passage in leads[0].route:
            code = adverse(passage)
            if code is not None:
                facts.append(Fact.of(code, lead=leads[0].id, what=passage.what, kind=passage.kind, zone=passage.zone))
                if passage.rubbed == "yes" and code != "rubbing":
                    facts.append(Fact.of("rubbing", lead=leads[0].id, what=passage.what, zone=passage.zone))
        facts += _flex_facts(comparison, leads)
        if facts:
            claims.take(Modification(kind="routing", root=leads[0].id, role="route", facts=tuple(dict.fromkeys(facts))))


def _flex_facts(comparison: Comparison, leads: list[Conductor]) -> list[Fact]:
    """A joint of a lead that sits where it flexes."""
    gaiters = [passage for lead in leads for passage in lead.route if passage.what == "door_gaiter"]
    facts = []
    for passage in gaiters:
        for lead in leads:
            for joint_id in comparison.after.targets(lead.id, "end_1", "end_2"):
                joint = comparison.after.joint(joint_id)
                if joint is None or joint.details.type == "plug_in":
                    continue
                zone = comparison.after.zone(joint.zone)
                in_it = joint.zone == passage.zone if passage.zone else zone is not None and zone.moving
                if in_it:
                    facts.append(Fact.of("in_flex_point", lead=lead.id, joint=joint_id))
    return facts


def recognise_markings(comparison: Comparison, claims: Claims) -> None:
    """Damage, and what no other kind fits."""
    for element_id in sorted(comparison.added):
        element = comparison.after.by_id[element_id]
        if not isinstance(element, (Damage, Other)):
            continue
        marked = comparison.after.targets(element_id, "marks")
        touched = tuple(sorted(one for one in marked if one not in comparison.added))
        nodes = tuple(f"{one}@{element_id}" if comparison.after.conductor(one) else one for one in sorted(marked))
        facts: list[Fact] = []
        if isinstance(element, Damage):
            facts.append(Fact.of("damage", sort=element.damage, extent=element.extent))
            if element.conducts == "yes" and len(marked) > 1:
                conductors = [comparison.before.conductor(one) for one in touched]
                circuits = tuple(sorted({one.circuit for one in conductors if one is not None and one.circuit}))
                grounded = {comparison.remains.get(node) in comparison.ground for node in nodes}
                if grounded == {True, False}:
                    facts.append(Fact.of("to_ground"))
                if len(circuits) > 1:
                    facts.append(Fact.of("joins_circuits", circuits=circuits))
        claims.take(
            Modification(kind="damage" if isinstance(element, Damage) else "other", root=element_id, elements=touched,
                         added=(element_id,), role="marks", facts=tuple(facts), nodes=nodes)
        )  # fmt: skip
