"""A small vehicle on which readings are taken: a lamp behind a switch, a radio, a repaired wire."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import Settled, settled_in_all
from harnessdiff.analyse.readings import Compared, compared_readings
from harnessdiff.resolve.visits import standing
from tests.support import Json, case_from, filament, fused_slot, reference_from, survey_from, wire

if TYPE_CHECKING:
    from collections.abc import Mapping

    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey

REPAIR: Json = {
    "kind": "repair",
    "id": "P1",
    "wire": "W3",
    "at": {"from_end": 1, "distance_m": 1},
    "joints": [
        {"type": "butt_crimp", "tool": "ratchet", "cover": "sleeve", "unwrapped": "yes", "condition": ["clean"]}
    ],
}
LOOSE_REPAIR: Json = REPAIR | {
    "joints": [{"type": "twisted", "tool": "hand", "cover": "tape", "unwrapped": "yes", "condition": ["loose"]}]
}
JOINT = "+P1.joint1"
TERMINALS = ("BAT1:+", "BAT1:-", "BUS:1", "F1:in", "F1:out", "S1:1", "S1:2", "E1:58", "E1:31", "R1:30", "R1:31")
ASLEEP: Json = {"id": "asleep", "name": "locked, asleep", "key": "out", "engine": "stopped"}
LIT: Json = {"id": "lit", "name": "lit", "key": "ignition", "engine": "stopped", "positions": {"S1": "on"}}
METER = "meter, 20 V range"


def vehicle(*, lamp_W: float = 60, more: tuple[Json, ...] = (), wires: tuple[Json, ...] = (), **members: Any) -> Json:
    """The reference, as a document."""
    plain: Json = {
        "format": "harnessdiff reference",
        "version": "1.0",
        "id": "small",
        "title": "a small vehicle",
        "extent": "whole",
        "zones": [{"id": "Z_DASH", "name": "behind the dash"}],
        "circuits": [],
        "conditions": [ASLEEP, LIT],
        "devices": [
            {
                "id": "BAT1",
                "kind": "battery",
                "terminals": ["+", "-"],
                "parts": [
                    {
                        "kind": "source",
                        "between": ["+", "-"],
                        "model": "battery",
                        "voltage_V": 12.6,
                        "internal_ohm": 0.01,
                        "capacity_Ah": 78,
                    }
                ],
            },
            {"id": "BODY", "kind": "body", "terminals": ["1"]},
            {"id": "BUS", "kind": "joint_block", "all_common": True, "terminals": ["in", "1", "2", "3"]},
            *fused_slot("F1", 10, "BUS:1"),
            *fused_slot("F2", 5, "BUS:2"),
            {
                "id": "S1",
                "kind": "switch",
                "terminals": ["1", "2"],
                "positions": ["off", "on"],
                "rest_position": "off",
                "parts": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}],
            },
            {"id": "E1", "kind": "lamp", "terminals": ["58", "31"], "parts": [filament("58", "31", lamp_W)]},
            {
                "id": "R1",
                "kind": "radio",
                "terminals": ["30", "31"],
                "parts": [
                    {
                        "kind": "load",
                        "between": ["30", "31"],
                        "model": "electronic",
                        "rated_A": 1,
                        "rated_V": 12,
                        "rest_A": 0.02,
                    }
                ],
            },
            *more,
        ],
        "wires": [
            wire("W0", ("BAT1:-", "BODY:1"), "BK", 16, 0.3),
            wire("W1", ("BAT1:+", "BUS:in"), "RD", 10, 0.5),
            wire("W2", ("F1:out", "S1:1"), "RD", 1.5, 1),
            wire("W3", ("S1:2", "E1:58"), "GY", 1.5, 3),
            wire("W4", ("E1:31", "BODY:1"), "BN", 1.5, 0.5),
            wire("W5", ("F2:out", "R1:30"), "RD", 0.75, 1),
            wire("W6", ("R1:31", "BODY:1"), "BN", 0.75, 0.5),
            *wires,
        ],
    }
    return plain | members


@dataclass(frozen=True, kw_only=True)
class Bench:
    """A survey of the small vehicle, solved."""

    reference: Reference
    survey: Survey
    before: Mapping[str, Settled]
    network: Network
    settled: Mapping[str, Settled]

    @property
    def compared(self) -> dict[str, Compared]:
        """Every reading by its id."""
        found = compared_readings(self.network, self.settled, self.survey, self.reference)
        return {one.reading: one for one in found}


def bench(*readings: Json, observations: tuple[Json, ...] = (REPAIR,), data: Json | None = None) -> Bench:
    """The small vehicle, or another, with observations and readings."""
    reference = reference_from(vehicle() if data is None else data)
    numbered = [{"id": f"M{number}"} | one for number, one in enumerate(readings, 1)]
    survey = standing(survey_from(reference, *observations, readings=numbered))
    as_found = case_from(reference, *observations).as_found
    conditions = (*reference.conditions, *survey.conditions)
    network = Network(as_found)
    return Bench(
        reference=reference,
        survey=survey,
        before=settled_in_all(Network(reference.harness), conditions),
        network=network,
        settled=settled_in_all(network, conditions),
    )


def at(*terminals: str) -> list[Json]:
    """Probes on terminals."""
    return [{"terminal": one} for one in terminals]


def volts(one: str, other: str, value: Any, condition: str = "lit", **more: Any) -> Json:
    """A voltage between two terminals."""
    plain = {"between": at(one, other), "voltage_V": value, "condition": condition, "instrument": METER}
    return plain | more


def amps(wire_id: str, value: Any, condition: str = "lit", **more: Any) -> Json:
    """A clamp round a wire."""
    plain = {
        "between": [{"wire": wire_id}],
        "current_A": value,
        "condition": condition,
        "instrument": "clamp, 4 A range",
    }
    return plain | more
