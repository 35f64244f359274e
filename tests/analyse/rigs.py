"""A vehicle of two lamps, each behind a fuse and a switch of its own, for consequences that follow by hand.

=====  ==========================================================
F      10 A: BAT - F - S (switch, on in "left") - E (lamp, 21 W)
G      10 A: BAT - G - T (switch, on in "right") - D (lamp, 21 W)
=====  ==========================================================

Wires are 1 mm² and 1 m, named after where they lead. "safe" must leave E dead although S is on: I (interlock,
between S and E) is open in it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tests.support import Json, between, body, case_from, lamp, rig, run, slot, source

if TYPE_CHECKING:
    from harnessdiff.model.consequence import Consequence
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case

CLEAN: Json = {"type": "splice_barrel", "tool": "ratchet", "cover": "adhesive_sleeve", "condition": ["clean"],
               "unwrapped": "yes"}  # fmt: skip
POOR: Json = {"type": "twisted", "cover": "none", "condition": ["loose"], "unwrapped": "yes"}
GOOD: Json = {"size_mm2": 1.0, "material": "copper", "construction": "automotive", "length_m": 1.0}
TO_BODY: Json = {"metal": "body", "joint": {"type": "ring_terminal", "tool": "ratchet", "cover": "sleeve",
                                            "condition": ["clean"], "unwrapped": "yes", "fixing": "own_stud",
                                            "bare_metal": "yes", "rings_on_stud": 1}}  # fmt: skip


def switch(own: str, **part: Any) -> Json:
    """A switch that rests off."""
    link = {"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}, **part}
    return between(own, "switch", [link], positions=["off", "on"], rest_position="off")


def condition(own: str, *on: str, **more: Any) -> Json:
    """A condition in which some switches are on."""
    return {
        "id": own,
        "name": own,
        "key": "ignition",
        "engine": "stopped",
        "positions": dict.fromkeys(on, "on"),
        **more,
    }


def two_lamps(
    *devices: Json, wires: list[Json] | None = None, behind_master: tuple[str, ...] = (), **more: Any
) -> Reference:
    """The vehicle of two lamps, with further devices and wires; some slots hang on a switch M, not on the battery."""
    feeds = {name: "M:2" if name in behind_master else "BAT:+" for name in ("F", "G")}
    usual = [condition("asleep"), condition("left", "S", "I"), condition("right", "T"),
             condition("safe", "S", refusal=True, must_stay_dead=["E"])]  # fmt: skip
    interlock = switch("I") | {"interlock": "handbrake"}
    return rig(
        [source(voltage_V=12.6, internal_ohm=0.01), body(), *slot("F", 10), *slot("G", 10), switch("S"), switch("T"),
         interlock, lamp("E"), lamp("D"), *devices],
        [*run("BAT:-", "BODY:1", size_mm2=16),
         *run(feeds["F"], "F:in", "F:out", "S:1", "S:2", "I:1", "I:2", "E:1"),
         *run(feeds["G"], "G:in", "G:out", "T:1", "T:2", "D:1"), *(wires or [])],
        **{"conditions": usual} | more,
    )  # fmt: skip


def at(wire: str, distance_m: float = 0.5) -> Json:
    """A place on a wire, counted from its first end."""
    return {"wire": wire, "at": {"from_end": 1, "distance_m": distance_m}}


def bridge(own: str, one: Json, other: Json, joint: Json = CLEAN, **lead: Any) -> Json:
    """A lead from one place to another."""
    return {"kind": "bridge", "id": own, "zone": "Z", "from": one, "to": other, "joints": [joint, joint],
            "lead": GOOD | lead}  # fmt: skip


def tap(own: str, on: Json, device: str, pin: str = "1", joint: Json = CLEAN, **lead: Any) -> Json:
    """A lead from a place to an added device."""
    return {"kind": "tap", "id": own, "zone": "Z", "on": on, "joint": joint, "lead": GOOD | lead,
            "to": {"device": device, "pin": pin}}  # fmt: skip


def insertion(own: str, place: Json, device: str, pins: tuple[str, str] = ("1", "2"), joint: Json = CLEAN) -> Json:
    """A wire cut through and led by way of an added device."""
    return {"kind": "insertion", "id": own, "zone": "Z", "in": place, "removed_m": 0, "joints": [joint, joint],
            "leads": [GOOD | {"length_m": 0.2}, GOOD | {"length_m": 0.2}], "device": device,
            "pins": list(pins)}  # fmt: skip


def added(
    own: str, *contents: Json, sort: str = "module", terminals: tuple[str, ...] = ("1", "2"), **more: Any
) -> Json:
    """An added device."""
    return {"kind": "device", "id": own, "sort": sort, "zone": "Z", "terminals": list(terminals),
            "contents": list(contents), **more}  # fmt: skip


def ground(own: str, device: str, pin: str = "2", **end: Any) -> Json:
    """A lead from an added device to the body."""
    return {"kind": "lead", "id": own, "zone": "Z", **GOOD, "end_1": {"device": device, "pin": pin},
            "end_2": TO_BODY | end}  # fmt: skip


def load(amps: float, one: str = "1", other: str = "2", model: str = "electronic", **more: Any) -> Json:
    """Something that draws, at 12 V."""
    return {"kind": "load", "between": [one, other], "model": model, "rated_A": amps, "rated_V": 12, **more}


def link(one: str = "1", other: str = "2", **more: Any) -> Json:
    """Something that joins two terminals."""
    return {"kind": "link", "between": [one, other], **more}


def seen(reference: Reference, *observations: Json) -> Case:
    """These observations, assessed and solved as networks."""
    return case_from(reference, *observations, electrical=True)


def of(case: Case, *codes: str) -> list[tuple[str, Consequence]]:
    """Consequences of some codes, each with the kind of the finding that answers for it."""
    every = [(one.kind, each) for one in case.findings.findings for each in one.consequences]
    every += [("", each) for each in case.findings.of_the_whole]
    return [(kind, one) for kind, one in every if one.code in codes]


def told(case: Case, *codes: str) -> set[tuple[str, str, tuple[str, ...]]]:
    """The same in short: code, subject, conditions; some finding answers for each."""
    found = of(case, *codes)
    assert all(kind for kind, _ in found)
    return {(one.code, one.subject, one.conditions) for _, one in found}


GRAVE = (
    "live_unasked", "dead", "dimmed", "reversed", "refusal_defeated", "stays_live_without_fuse", "masked_blown_fuse",
    "backfeed", "holds_once_triggered", "oscillates", "supply_collapses", "over_limit", "under_voltage",
)  # fmt: skip
"""Codes of what no sound change brings about."""
