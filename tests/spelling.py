"""Spells shorthand out in nouns by hand, as the survey's documentation promises it, without the package's help."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.strategies import pruned
from tests.support import Json

if TYPE_CHECKING:
    from harnessdiff.model.harness import Harness

SHORTHAND = ("tap", "insertion", "bridge", "repair", "swap", "jumper")


def spelled_out(lines: list[Json], harness: Harness) -> list[Json]:
    """The lines of a survey with every shorthand in nouns; points that lie beyond one lie beyond what it makes."""
    nouns = {line["id"]: in_nouns(line, harness) for line in lines}
    made = {
        own: [one["id"] for one in spelled if one["kind"] in ("joint", "cut")]
        for own, spelled in nouns.items()
        if own not in {one["id"] for one in spelled}
    }
    return [_renamed(one, made) for spelled in nouns.values() for one in spelled]


def _renamed(value: Any, made: dict[str, list[str]]) -> Any:
    if isinstance(value, list):
        return [_renamed(one, made) for one in value]
    if isinstance(value, dict):
        return {
            name: [new for old in one for new in made.get(old, [old])]
            if name in ("beyond", "before")
            else _renamed(one, made)
            for name, one in value.items()
        }
    return value


def in_nouns(line: Json, harness: Harness) -> list[Json]:
    """What a shorthand says, in joints, leads, devices, cuts and moved ends; other lines as they are."""
    if line["kind"] not in SHORTHAND:
        return [line]
    common = {name: line[name] for name in ("zone", "note", "kit") if name in line}
    spelled: list[Json] = globals()[f"_{line['kind']}"](line, harness)
    return [common | one for one in spelled]


def _nth(entries: list[Json] | None, number: int) -> Json:
    return entries[number - 1] if entries and len(entries) >= number else {}


def _box(own: str, described: Json) -> Json:
    return {"kind": "device", "id": f"{own}.device"} | {
        ("sort" if name == "kind" else name): value for name, value in described.items()
    }


def _joint(own: str, name: str, members: list[Json], details: Json) -> Json:
    return {"kind": "joint", "id": f"{own}.{name}", "members": members, **details}


def _lead(own: str, name: str, details: Json | None, end_1: Json, end_2: Json) -> Json:
    return {"kind": "lead", "id": f"{own}.{name}", **(details or {}), "end_1": end_1, "end_2": end_2}


def _end(own: str, name: str, end: int) -> Json:
    return {"lead": f"{own}.{name}", "end": end}


def _tap(line: Json, _harness: Harness) -> list[Json]:
    own, to = line["id"], dict(line.get("to", {"not_traced": True}))
    boxes = []
    if isinstance(to.get("device"), dict):
        boxes = [_box(own, to["device"])]
        to["device"] = f"{own}.device"
    place = [line["on"]] if "on" in line else []
    return [
        _joint(own, "joint", [*place, _end(own, "lead", 1)], line.get("joint", {})),
        _lead(own, "lead", line.get("lead"), {"joined": f"{own}.joint"}, to),
        *boxes,
    ]


def _insertion(line: Json, harness: Harness) -> list[Json]:
    own, into = line["id"], line["in"]
    device = line.get("device", {})
    name = device if isinstance(device, str) else f"{own}.device"
    boxes = [] if isinstance(device, str) else [_box(own, device)]
    pins = line.get("pins", ["1", "2"])
    leads = [
        _lead(
            own,
            f"lead{n}",
            _nth(line.get("leads"), n),
            {"joined": f"{own}.joint{n}"},
            {"device": name, "pin": pins[n - 1]},
        )
        for n in (1, 2)
    ]
    ends = [_end(own, f"lead{n}", 1) for n in (1, 2)]
    details = [_nth(line.get("joints"), n) for n in (1, 2)]
    if "terminal" in into:
        plugged = [one or {"type": "plug_in"} for one in details]
        lifted = [
            {"kind": "moved", "id": f"{own}.{wire}.{end}", "wire": wire, "end": end, "to": {"joined": f"{own}.joint1"}}
            for wire, end in _ends_at(harness, into["terminal"])
        ]
        joints = [
            _joint(own, "joint1", [ends[0]], plugged[0]),
            _joint(own, "joint2", [{"terminal": into["terminal"]}, ends[1]], plugged[1]),
        ]
        return [*lifted, *joints, *leads, *boxes]
    on = {name: into[name] for name in ("wire", "lead", "at") if name in into}
    opened = pruned(kind="cut", id=f"{own}.cut", removed_m=line.get("removed_m"), **on)
    joints = [_joint(own, f"joint{n}", [{"cut": f"{own}.cut", "side": n}, ends[n - 1]], details[n - 1]) for n in (1, 2)]
    return [opened, *joints, *leads, *boxes]


def _bridge(line: Json, _harness: Harness) -> list[Json]:
    own = line["id"]
    places = [[line["from"]], [line["to"]] if "to" in line else []]
    return _across(own, places, [_nth(line.get("joints"), n) for n in (1, 2)], line.get("lead"))


def _across(own: str, places: list[list[Json]], details: list[Json], lead: Json | None) -> list[Json]:
    joints = [_joint(own, f"joint{n}", [*places[n - 1], _end(own, "lead", n)], details[n - 1]) for n in (1, 2)]
    return [*joints, _lead(own, "lead", lead, {"joined": f"{own}.joint1"}, {"joined": f"{own}.joint2"})]


def _jumper(line: Json, _harness: Harness) -> list[Json]:
    own: str = line["id"]
    bare: Json = {"type": "bare_contact", "cover": "none"}
    places = [[{"terminal": f"{line['socket']}:{name}"}] for name in line["between"]]
    details: list[Json] = [_nth(line.get("joints"), n) or bare for n in (1, 2)]
    gone = [{"kind": "missing", "id": f"{own}.occupant", "element": line["socket"]}]
    return [*_across(own, places, details, line.get("lead")), *(gone if line.get("occupant") == "missing" else [])]


def _repair(line: Json, _harness: Harness) -> list[Json]:
    own = line["id"]
    on: Json = {name: line[name] for name in ("wire", "at", "removed_m") if name in line}
    opened: Json = {"kind": "cut", "id": f"{own}.cut", **on}
    sides: list[Json] = [{"cut": f"{own}.cut", "side": n} for n in (1, 2)]
    details: list[Json] = [_nth(line.get("joints"), n) for n in (1, 2)]
    if "insert" not in line:
        return [opened, _joint(own, "joint1", sides, details[0])]
    joints = [
        _joint(own, f"joint{n}", [sides[n - 1], _end(own, "lead", n)], details[n - 1] or details[0]) for n in (1, 2)
    ]
    ends = [{"joined": f"{own}.joint{n}"} for n in (1, 2)]
    return [opened, *joints, _lead(own, "lead", line["insert"], ends[0], ends[1])]


def _swap(line: Json, harness: Harness) -> list[Json]:
    one, other = (_ends_and_place(member, harness) for member in line["between"])
    return [
        {"kind": "moved", "id": f"{line['id']}.{wire}.{end}", "wire": wire, "end": end, "to": {"terminal": there}}
        for (ends, _), (_, there) in ((one, other), (other, one))
        for wire, end in ends
    ]


def _ends_and_place(member: Json, harness: Harness) -> tuple[list[tuple[str, int]], str]:
    if "terminal" in member:
        return _ends_at(harness, member["terminal"]), member["terminal"]
    (place,) = (
        one.target for one in harness.incidences if one.subject == member["wire"] and one.role == f"end_{member['end']}"
    )
    return [(member["wire"], member["end"])], place


def _ends_at(harness: Harness, terminal: str) -> list[tuple[str, int]]:
    numbers: dict[str, int] = {"end_1": 1, "end_2": 2}
    return [
        (one.subject, numbers[one.role]) for one in harness.incidences if one.target == terminal and one.role in numbers
    ]
