"""Zones, devices, splices and wires of a document to a harness, and what does not make sense in them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from harnessdiff.model.harness import (
    Conductor,
    Device,
    Element,
    Harness,
    Incidence,
    Joint,
    JointDetails,
    Role,
    Terminal,
    Zone,
)
from harnessdiff.read.schema import did_you_mean
from harnessdiff.read.structure import make

LISTS = ("zones", "circuits", "devices", "splices", "wires")
_SEATED = {"fuse", "relay", "circuit_breaker"}
SLOTS = ("fuse_slot", "relay_socket")


def harness_of(data: dict[str, Any]) -> Harness:
    """Make the harness of a document whose sense was checked."""
    elements: list[Element] = [make(Zone, zone) for zone in data.get("zones", ())]
    incidences: list[Incidence] = []
    for entry in data["devices"]:
        elements.append(make(Device, {key: one for key, one in entry.items() if key not in ("terminals", "seat")}))
        for terminal in map(_terminal_entry, entry.get("terminals", ())):
            terminal_id = f"{entry['id']}:{terminal['name']}"
            elements.append(make(Terminal, {**terminal, "id": terminal_id}))
            incidences.append(Incidence(subject=terminal_id, role="of", target=entry["id"]))
        if "seat" in entry:
            incidences.append(Incidence(subject=entry["id"], role="seat", target=entry["seat"]))
    for entry in data.get("splices", ()):
        elements.append(_splice(entry))
    for entry in data["wires"]:
        elements.append(make(Conductor, {key: one for key, one in entry.items() if key not in ("from", "to")}))
        incidences += [Incidence(subject=entry["id"], role=role, target=entry[member]) for role, member in _ENDS]
    return Harness.of(elements, incidences)


_ENDS: tuple[tuple[Role, str], ...] = (("end_1", "from"), ("end_2", "to"))


def _terminal_entry(entry: Any) -> dict[str, Any]:
    return {"name": entry} if isinstance(entry, str) else entry


def _splice(entry: dict[str, Any]) -> Joint:
    kinds = {"joint_sleeve": "bullet"}
    type_ = entry.get("type", "factory_splice")
    details = JointDetails(type=kinds.get(type_, type_), tool="machine", cover=entry.get("cover", "unknown"))
    plain = {key: one for key, one in entry.items() if key not in ("type", "cover")}
    return replace(make(Joint, {**plain, "details": {}}), details=details)


class Names:
    """The ids of a document's harness, by what they are."""

    def __init__(self, data: dict[str, Any]) -> None:
        self.zones = _ids(data, "zones")
        self.circuits = _ids(data, "circuits")
        self.devices = _ids(data, "devices")
        self.splices = _ids(data, "splices")
        self.wires = _ids(data, "wires")
        self.conditions = _ids(data, "conditions")
        self.options = _ids(data, "options")
        self.slots = {entry["id"] for entry in data.get("devices", ()) if entry["kind"] in SLOTS}
        self.terminals_of = {
            entry["id"]: [_terminal_entry(one)["name"] for one in entry.get("terminals", ())]
            for entry in data.get("devices", ())
        }
        self.terminals = {f"{device}:{name}" for device, names in self.terminals_of.items() for name in names}
        self.cavities = {
            (terminal["connector"], terminal.get("cavity"))
            for entry in data.get("devices", ())
            for terminal in map(_terminal_entry, entry.get("terminals", ()))
            if "connector" in terminal
        }

    @property
    def elements(self) -> set[str]:
        """Every id that an edit can speak of."""
        return self.zones | self.devices | self.splices | self.wires | self.terminals


def _ids(data: dict[str, Any], member: str) -> set[str]:
    return {entry["id"] for entry in data.get(member, ())}


def harness_faults(data: dict[str, Any], names: Names, prefix: str = "") -> Iterator[tuple[str, str]]:
    """What does not make sense in a harness: as pointer and message.

    Parameters
    ----------
    data : dict
        The object that holds the lists of elements.
    names : Names
        Ids that may be named.
    prefix : str
        Pointer of `data`.

    Yields
    ------
    tuple
        Pointer and message.
    """
    yield from _id_faults(data, prefix)
    for number, entry in enumerate(data["devices"]):
        yield from _device_faults(entry, names, f"{prefix}/devices/{number}")
    for number, entry in enumerate(data.get("splices", ())):
        here = f"{prefix}/splices/{number}"
        yield from known(entry, "zone", names.zones, here, "zone")
        yield from known(entry, "circuit", names.circuits, here, "circuit")
    for number, entry in enumerate(data["wires"]):
        here = f"{prefix}/wires/{number}"
        for member in ("from", "to"):
            yield from known(entry, member, names.terminals | names.splices, here, "terminal or splice")
        yield from known(entry, "circuit", names.circuits, here, "circuit")
        for place, zone in enumerate(entry.get("zones", ())):
            yield from known({"zone": zone}, "zone", names.zones, f"{here}/zones/{place}", "zone", at="")


def known(
    entry: dict[str, Any], member: str, valid: set[str], here: str, what: str, at: str | None = None
) -> Iterator[tuple[str, str]]:
    """A fault where `entry` names under `member` something that is not in `valid`."""
    word = entry.get(member)
    if isinstance(word, str) and word not in valid:
        pointer = here + (f"/{member}" if at is None else at)
        yield pointer, f"there is no {what} {word}{did_you_mean(word, valid)}"


def _id_faults(data: dict[str, Any], prefix: str) -> Iterator[tuple[str, str]]:
    first: dict[str, str] = {}
    for member in LISTS:
        for number, entry in enumerate(data.get(member, ())):
            here = f"{prefix}/{member}/{number}/id"
            word = entry["id"]
            if word in first:
                yield here, f"the id {word} is used already, at {first[word]}"
            first.setdefault(word, here)
            yield from id_faults(word, here)


def id_faults(word: str, here: str) -> Iterator[tuple[str, str]]:
    """A fault where an id holds a mark that addresses are made with."""
    marks = [mark for mark in ":@#~+" if mark in word]
    if marks:
        held = " or ".join(f'"{mark}"' for mark in marks)
        yield here, f"the id {word} may not hold {held}, with which addresses are made"


def _device_faults(entry: dict[str, Any], names: Names, here: str) -> Iterator[tuple[str, str]]:
    own = names.terminals_of[entry["id"]]
    for number, name in enumerate(own):
        if name in own[:number]:
            yield f"{here}/terminals/{number}", f"the terminal {name} is there twice"
        if ":" in name:
            yield f"{here}/terminals/{number}", f"the terminal {name} may not hold a colon"
    yield from known(entry, "zone", names.zones, here, "zone")
    yield from known(entry, "seat", names.slots, here, "slot or socket")
    if entry["kind"] not in _SEATED and "seat" in entry:
        yield f"{here}/seat", f"a {entry['kind']} sits in no slot; only a fuse, breaker or relay does"
    usable = set(own) | set(names.terminals_of.get(entry.get("seat", ""), ()))
    for number, part in enumerate(entry.get("parts", ())):
        for side, name in enumerate(part["between"]):
            pointer = f"{here}/parts/{number}/between/{side}"
            yield from known({"terminal": name}, "terminal", usable, pointer, "terminal", at="")
        for place, position in enumerate(part.get("when", {}).get("position", ())):
            pointer = f"{here}/parts/{number}/when/position/{place}"
            valid = set(entry.get("positions", ()))
            yield from known({"position": position}, "position", valid, pointer, "position", at="")
        for place, wanted in enumerate(part.get("when", {}).get("inputs", ())):
            yield from known(wanted, "terminal", usable, f"{here}/parts/{number}/when/inputs/{place}", "terminal")
        for place, condition in enumerate(part.get("when", {}).get("condition", ())):
            pointer = f"{here}/parts/{number}/when/condition/{place}"
            yield from known({"c": condition}, "c", names.conditions, pointer, "condition", at="")
    for place, bond in enumerate(entry.get("bonds", ())):
        yield from known(bond, "terminal", set(own), f"{here}/bonds/{place}", "terminal")
        yield from known(bond, "to", names.terminals, f"{here}/bonds/{place}", "terminal")
    for place, terminal in enumerate(map(_terminal_entry, entry.get("terminals", ()))):
        yield from known(terminal, "connector", names.devices, f"{here}/terminals/{place}", "plug")
    rest = entry.get("rest_position")
    if rest is not None and rest not in entry.get("positions", ()):
        yield f"{here}/rest_position", f"there is no position {rest}{did_you_mean(rest, entry.get('positions', ()))}"


def twice(entries: Any, here: str) -> Iterator[tuple[str, str]]:
    """Ids that two entries of one list have."""
    first: dict[str, int] = {}
    for number, entry in enumerate(entries):
        own = entry.get("id")
        if own in first:
            yield f"{here}/{number}/id", f"the id {own} is used already, at {here}/{first[own]}"
        elif own is not None:
            first[own] = number


def condition_faults(
    conditions: Any, positions: dict[str, set[str]], names: Names, here: str = "/conditions"
) -> Iterator[tuple[str, str]]:
    """What does not make sense in conditions.

    Parameters
    ----------
    conditions : list of dict
    positions : dict
        Device id to the positions it can be in.
    names : Names
        Conditions and devices that may be named.
    here : str
        Pointer of the list.

    Yields
    ------
    tuple
        Pointer and message.
    """
    for number, condition in enumerate(conditions):
        place = f"{here}/{number}"
        yield from known(condition, "after", names.conditions, place, "condition")
        for device, position in condition.get("positions", {}).items():
            pointer = f"{place}/positions/{device}"
            yield from known({"device": device}, "device", names.devices, pointer, "device", at="")
            if device in positions:
                yield from known({"p": position}, "p", positions[device], pointer, f"position of {device}", at="")
        for entry, device in enumerate(condition.get("must_stay_dead", ())):
            pointer = f"{place}/must_stay_dead/{entry}"
            yield from known({"device": device}, "device", names.devices, pointer, "device", at="")
