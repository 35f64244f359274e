"""Ordinary factory practice that a reader of the diagram should have had in mind: notes, never errors."""

from __future__ import annotations

from collections.abc import Iterator

from harnessdiff.analyse.supply import Supply
from harnessdiff.graph import CONSUMING, GROUND_DEVICES
from harnessdiff.model.harness import Conductor, Harness, Joint, Terminal
from harnessdiff.model.objection import Objection
from harnessdiff.model.parts import Load
from harnessdiff.model.reference import Reference
from harnessdiff.tables.loader import limit


def practice_objections(reference: Reference, supply: Supply) -> Iterator[Objection]:
    """Notes on practice.

    Parameters
    ----------
    reference : Reference
    supply : Supply
        Of its harness.

    Yields
    ------
    Objection
    """
    harness = reference.harness
    yield from _colour_changes(harness)
    yield from _shared_terminals(harness)
    yield from _many_rings(harness)
    yield from _grounds_through_case(supply)
    yield from _data_pairs(reference, supply)


def _colour_changes(harness: Harness) -> Iterator[Objection]:
    for element in harness.elements:
        if isinstance(element, Joint):
            yield from _colour_change(harness, element.id, (element.id,))
        elif isinstance(element, Terminal) and element.name.endswith("a"):
            device = harness.device(harness.device_of(element.id))
            partner = f"{element.id[:-1]}b"
            if device is not None and device.kind == "inline_connector" and partner in harness.by_id:
                yield from _colour_change(harness, element.id, (element.id, partner))


def _colour_change(harness: Harness, element: str, places: tuple[str, ...]) -> Iterator[Objection]:
    wires = [harness.conductor(wire) for place in places for wire in harness.subjects(place, "end_1", "end_2")]
    colours = [wire.colour for wire in wires if wire is not None and wire.colour is not None]
    letters = sorted({one.letters for one in colours if "unknown" not in (one.base, one.tracer)})
    if len(letters) > 1:
        yield Objection.to(element, "colour_changes", colours=tuple(letters))


def _shared_terminals(harness: Harness) -> Iterator[Objection]:
    for element in harness.elements:
        if not isinstance(element, Terminal):
            continue
        wires = harness.subjects(element.id, "end_1", "end_2")
        if element.connector is not None and len(wires) > 1:
            yield Objection.to(element.id, "shared_terminal", wires=wires)


def _many_rings(harness: Harness) -> Iterator[Objection]:
    """Studs that carry many rings, whether they share one terminal or have one each."""
    for device in harness.devices():
        if device.kind == "ground_stud":
            terminals = harness.subjects(device.id, "of")
            wires = sum(len(harness.subjects(one, "end_1", "end_2")) for one in terminals)
            if wires > limit("rings_on_stud"):
                yield Objection.to(device.id, "many_rings", wires=wires, most=limit("rings_on_stud"))


def _grounds_through_case(supply: Supply) -> Iterator[Objection]:
    """Loads whose way to ground is a bond of their own, with no wire: of their body to metal."""
    harness = supply.harness
    metal = {
        terminal
        for device in harness.devices()
        if device.kind in GROUND_DEVICES
        for terminal in harness.subjects(device.id, "of")
    }
    returns = {
        node
        for one, other, edge in supply.graph.edges(data=True)
        if edge["kind"] in (*CONSUMING, "link")
        for node in (one, other)
    }
    for device in harness.devices():
        if device.kind in ("ground_stud", *GROUND_DEVICES):
            continue
        for bond in device.bonds:
            terminal = f"{device.id}:{bond.terminal}"
            if bond.to in metal and terminal in returns and not harness.subjects(terminal, "end_1", "end_2"):
                yield Objection.to(device.id, "ground_through_case", to=harness.device_of(bond.to))


def _data_pairs(reference: Reference, supply: Supply) -> Iterator[Objection]:
    """Pairs of data nets that terminators join, where those in parallel are not about 60 ohm.

    A net with an open end may have its other terminator outside the fragment.
    """
    data = {circuit.id for circuit in reference.circuits if circuit.function == "data"}
    nets = {
        supply.net_of[node]: element.circuit
        for element in supply.harness.elements
        if isinstance(element, Conductor) and element.circuit in data
        for pair in supply.conductor_segments(element.id)
        for node in pair
    }
    opened = {
        supply.net_of.get(one.id) for one in supply.harness.elements if isinstance(one, Terminal) and one.open_end
    }
    pairs: dict[tuple[str, str], list[float]] = {}
    for one, other, edge in supply.graph.edges(data=True):
        part = edge["part"]
        ohm = part.resistance_ohm.exact if isinstance(part, Load) else None
        ends = (supply.net_of[one], supply.net_of[other])
        if (
            ohm is not None
            and limit("terminator_least_ohm") <= ohm <= limit("terminator_most_ohm")
            and set(ends) <= set(nets)
        ):
            pairs.setdefault((min(ends), max(ends)), []).append(ohm)
    for (one, other), ohms in sorted(pairs.items()):
        if opened & {one, other}:
            continue
        together = 1 / sum(1 / ohm for ohm in ohms)
        if not limit("pair_least_ohm") <= together <= limit("pair_most_ohm"):
            circuit = nets[one] or one
            yield Objection.to(circuit, "data_pair_ends", terminators=len(ohms), together_ohm=round(together, 1))
