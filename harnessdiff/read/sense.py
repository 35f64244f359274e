"""What does not make sense in a survey: things it names that are not there.

Both checks walk the document once. Which names are valid follows from the member under which a
name stands, so a new kind of observation is checked as soon as it uses the known members.
"""

from __future__ import annotations

import datetime as dt
import itertools
import re
from collections.abc import Callable, Iterator
from typing import Any

from harnessdiff.model.harness import Conductor, Harness, Joint, Terminal
from harnessdiff.model.reference import Reference
from harnessdiff.read.harness import SLOTS, Names, condition_faults, id_faults, twice
from harnessdiff.read.photographs import path_faults
from harnessdiff.read.schema import did_you_mean

PLUGS = ("plug", "inline_connector", "joint_block", "socket", "diagnostic_socket")
FUSES = ("fuse_slot", "fusible_link", "circuit_breaker")
_OWN_WORDS = {
    "joined": "joint", "inline_of": "lead", "supersedes": "observation", "beyond": "joint or cut",
    "before": "joint or cut",
}  # fmt: skip
_REFERENCE_WORDS = {
    "to_zone": "zone", "clue/device": "device", "connector": "plug or connector", "feeds": "device",
    "fuse": "fuse slot", "socket": "slot or socket", "to_slot": "slot or socket", "elements": "element",
    "near": "plug, device or zone", "live_in": "condition", "of": "element, and the survey no observation,",
}  # fmt: skip

Faults = Iterator[tuple[str, str]]
Check = Callable[[str, str, str], Faults]

_MADE_BY = {
    "tap": ("joint", "lead", "device"),
    "insertion": ("cut", "joint1", "joint2", "lead1", "lead2", "device"),
    "bridge": ("joint1", "joint2", "lead"),
    "repair": ("cut", "joint1", "joint2", "lead"),
    "jumper": ("joint1", "joint2", "lead"),
}


def own_faults(data: dict[str, Any]) -> Faults:
    """Names of the survey's own things that are not in the survey, and ids used twice.

    Parameters
    ----------
    data : dict
        A survey that its schema accepts.

    Yields
    ------
    tuple
        Pointer and message.
    """
    observations = data.get("observations", [])
    made = _made(observations)
    valid = {
        "lead": made["lead"], "inline_of": made["lead"], "joined": made["joint"], "joint": made["joint"],
        "cut": made["cut"], "device": made["device"],
        "visit": {visit["id"] for visit in data["visits"]},
        "photographs": {photo["id"] for photo in data.get("photographs", ())},
        "readings": {reading["id"] for reading in data.get("readings", ())},
        "supersedes": {entry["id"] for entry in observations if "id" in entry}
        | {reading["id"] for reading in data.get("readings", ())},
    }  # fmt: skip
    own = {entry["id"] for entry in observations if "id" in entry} | made["joint"] | made["cut"]
    valid["beyond"] = valid["before"] = own

    def check(member: str, word: str, pointer: str) -> Faults:
        if member == "when" and not is_date(word):
            yield pointer, f"{word} is no date; write it as 2026-03-14, or 2026-03 where no more is known"
        if member in valid and word not in valid[member]:
            what = _OWN_WORDS.get(member, member)
            yield pointer, f"the survey has no {what.removesuffix('s')} {word}{did_you_mean(word, valid[member])}"

    for part in ("visits", "observations", "readings", "scope", "photographs"):
        yield from _walk(data.get(part), f"/{part}", check)
    yield from _twice(data, observations)
    yield from _member_faults(observations)
    yield from _times_out_of_order(data)
    yield from path_faults(data.get("photographs", []))


def _times_out_of_order(data: dict[str, Any]) -> Faults:
    """Visits that are not in order of time, and lines and readings taken before their visit."""
    visits = data["visits"]
    for number, (earlier, later) in enumerate(itertools.pairwise(visits), start=1):
        if _is_before(later["when"], earlier["when"]):
            message = f"{later['id']} is before {earlier['id']} ({earlier['when']}); visits stand in order of time"
            yield f"/visits/{number}/when", message
    begun = {visit["id"]: visit["when"] for visit in reversed(visits)}
    for part in ("observations", "readings", "photographs"):
        for number, entry in enumerate(data.get(part, ())):
            visit = entry.get("visit", visits[0]["id"] if part != "photographs" else None)
            if "when" in entry and visit in begun and _is_before(entry["when"], begun[visit]):
                yield f"/{part}/{number}/when", f"{entry['when']} is before visit {visit} ({begun[visit]})"


def _is_before(one: str, other: str) -> bool:
    """Whether a date is earlier than another, as far as both are given."""
    common = min(len(one), len(other))
    return is_date(one) and is_date(other) and one[:common] < other[:common]


def is_date(word: str) -> bool:
    """Whether a word is a date by ISO 8601: a year, a month, a day, or a day with a time."""
    if re.fullmatch(r"[0-9]{4}(-(0[1-9]|1[0-2]))?", word):
        return True
    try:
        dt.datetime.fromisoformat(word)
    except ValueError:
        return False
    return True


def reference_faults(data: dict[str, Any], reference: Reference) -> Faults:
    """Names of the reference's things that the reference does not have; arguments as in `own_faults`."""
    harness = reference.harness
    zones = {zone.id for zone in harness.zones()}
    wires = {element.id for element in harness.elements if isinstance(element, Conductor)}
    devices = {device.id for device in harness.devices()}
    terminals = {element.id for element in harness.elements if isinstance(element, Terminal)}
    joints = {element.id for element in harness.elements if isinstance(element, Joint)}
    circuits = set(reference.circuit_by_id)
    observations = data.get("observations", [])
    own = {entry["id"] for entry in observations if "id" in entry}.union(*_made(observations).values())
    slots = {device.id for device in harness.devices() if device.kind in SLOTS}
    plugs = {device.id for device in harness.devices() if device.kind in PLUGS}
    plugs |= {element.connector for element in harness.elements if isinstance(element, Terminal) and element.connector}
    fuses = {device.id for device in harness.devices() if device.kind in FUSES}
    elements = zones | wires | devices | terminals | joints
    conditions = {one.id for one in reference.conditions} | {one["id"] for one in data.get("conditions", ())}
    valid = {
        "zone": zones, "to_zone": zones, "wire": wires, "terminal": terminals | joints, "connector": plugs,
        "clue/device": devices, "fuse": fuses, "feeds": devices, "socket": slots, "to_slot": slots,
        "circuit": circuits, "element": elements, "elements": elements | circuits, "near": devices | zones,
        "condition": conditions, "live_in": conditions, "of": elements | own,
    }  # fmt: skip

    def check(member: str, word: str, pointer: str) -> Faults:
        if member == "element" and word in own and pointer.startswith("/readings/"):
            return
        if member == "condition" and not pointer.endswith("/condition"):
            return  # the state of a joint, a list of words that the schema knows
        if member == "terminal" and "/inputs/" in pointer:
            return  # a terminal of the survey's own device
        if member in valid and word not in valid[member]:
            what = _REFERENCE_WORDS.get(member, member)
            yield pointer, f"the reference has no {what} {word}{did_you_mean(word, valid[member])}"

    for part in ("observations", "readings", "scope", "complaint", "pre_existing_faults"):
        yield from _walk(data.get(part), f"/{part}", check)
    yield from _ways_faults(observations, harness)
    yield from _condition_faults(data, reference)
    for number, option in enumerate(data.get("options", ())):
        names = {one.id for one in reference.options}
        if option["id"] not in names:
            word = option["id"]
            yield f"/options/{number}/id", f"the reference has no option {word}{did_you_mean(word, names)}"
    stated = data.get("reference", {})
    if stated.get("id", reference.id) != reference.id:
        yield "/reference/id", f"the survey was made against {stated['id']}, and this reference is {reference.id}"
    if reference.sha256 and stated.get("sha256", reference.sha256) != reference.sha256:
        yield "/reference/sha256", f"the survey was made against another version of {reference.id}"


def _ways_faults(observations: list[dict[str, Any]], harness: Harness) -> Faults:
    """Ways of a jumper that its socket does not have."""
    for number, entry in enumerate(observations):
        if entry["kind"] == "jumper" and getattr(harness.device(entry.get("socket", "")), "kind", None) in SLOTS:
            ways = {terminal.rsplit(":", 1)[1] for terminal in harness.subjects(entry["socket"], "of")}
            for place, way in enumerate(entry.get("between", ())):
                if ways and way not in ways:
                    pointer = f"/observations/{number}/between/{place}"
                    yield pointer, f"{entry['socket']} has no way {way}{did_you_mean(way, ways)}"


def _condition_faults(data: dict[str, Any], reference: Reference) -> Faults:
    """What does not make sense in the conditions that a survey adds."""
    added = data.get("conditions", [])
    names = Names({"conditions": added})
    theirs = {condition.id for condition in reference.conditions}
    names.conditions |= theirs
    names.devices = {device.id for device in reference.harness.devices()}
    positions = {device.id: set(device.positions) for device in reference.harness.devices()}
    yield from condition_faults(added, positions, names)
    yield from twice(added, "/conditions")
    for number, condition in enumerate(added):
        if condition["id"] in theirs:
            yield f"/conditions/{number}/id", f"the reference has a condition {condition['id']} already"


def _walk(value: Any, pointer: str, check: Check, member: str = "") -> Faults:
    """Apply `check` to every text, with the member it stands under; a clue's are told apart."""
    if isinstance(value, str):
        yield from check(member, value, pointer)
    elif isinstance(value, list):
        for number, one in enumerate(value):
            yield from _walk(one, f"{pointer}/{number}", check, member)
    elif isinstance(value, dict):
        inside = "clue/" if member in ("wire", "terminal") else ""
        for key, one in value.items():
            if not key.startswith("x_"):
                name = f"{inside}{key}" if key == "device" else key
                yield from _walk(one, f"{pointer}/{key}", check, name)


def _made(observations: list[dict[str, Any]]) -> dict[str, set[str]]:
    """Ids of the joints, leads, cuts and devices that the observations make, by sort."""
    made: dict[str, set[str]] = {"joint": set(), "lead": set(), "cut": set(), "device": set()}
    for entry in observations:
        own = entry.get("id")
        if own is None:
            continue
        if entry["kind"] in made:
            made[entry["kind"]].add(own)
        for name in _MADE_BY.get(entry["kind"], ()):
            made[name.rstrip("12")].add(f"{own}.{name}")
        for number, _ in enumerate(entry.get("cores", ()), start=1):
            made["lead"].add(f"{own}.{number}")
    return made


def _twice(data: dict[str, Any], observations: list[dict[str, Any]]) -> Faults:
    for part, entries in (
        ("observations", observations), ("readings", data.get("readings", ())),
        ("photographs", data.get("photographs", ())), ("visits", data["visits"]),
    ):  # fmt: skip
        if part == "observations":
            for number, entry in enumerate(entries):
                if "id" in entry:
                    yield from id_faults(entry["id"], f"/{part}/{number}/id")
        yield from twice(entries, f"/{part}")


_TARGETS = ("wire", "lead", "cut", "terminal", "device", "metal")


def _member_faults(observations: list[dict[str, Any]]) -> Faults:
    """Members of joints that name nothing, or two things at once."""
    for number, entry in enumerate(observations):
        here = f"/observations/{number}"
        members = [(f"{here}/members/{place}", one) for place, one in enumerate(entry.get("members", ()))]
        members += [
            (f"{here}/{key}", entry[key]) for key in ("on", "in", "from", "to") if isinstance(entry.get(key), dict)
        ]
        for pointer, member in members:
            named = [target for target in _TARGETS if target in member]
            if pointer.endswith("/to") and entry["kind"] in ("tap", "moved"):
                continue
            if len(named) != 1:
                what = "nothing" if not named else " and ".join(named)
                yield pointer, f"should name one thing ({', '.join(_TARGETS)}), and names {what}"
            elif "cut" in member and "side" not in member:
                yield pointer, "should say which side of the cut: 1 looks to end 1, 2 to end 2"
            elif "device" in member and "pin" not in member:
                yield pointer, "should say which terminal of the device, under pin"
