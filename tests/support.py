"""Makes references and surveys from plain data, through the same code that reads files."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, TypeAlias

from harnessdiff.pipeline import Case, assess
from harnessdiff.read.json_text import Document, parse_document
from harnessdiff.read.reference import reference_of
from harnessdiff.read.survey import survey_of
from harnessdiff.resolve.apply import as_found_of
from harnessdiff.resolve.visits import as_equipped, standing

if TYPE_CHECKING:
    from collections.abc import Iterable

    from harnessdiff.errors import InputError
    from harnessdiff.model.edit import AsFound
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.harness import Colour
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey

Json: TypeAlias = dict[str, Any]


def document(data: Any, source: str = "test") -> Document:
    """`data` as a document that was read from a file called `source`."""
    return parse_document(json.dumps(data).encode(), source)


def reference_from(data: Json) -> Reference:
    """A reference, read and checked as a file would be."""
    return reference_of(document(data, "reference"))


def survey_data(*observations: Json, **members: Any) -> Json:
    """The least survey that holds these observations; everything was looked at unless said otherwise."""
    plain: Json = {
        "format": "harnessdiff survey",
        "version": "1.0",
        "visits": [{"id": "V1", "when": "2026-03-14"}],
        "scope": {"looked_at": "everything"},
    }
    if "as_found" not in members:
        plain["observations"] = list(observations)
    return plain | members


def survey_from(reference: Reference, *observations: Json, **members: Any) -> Survey:
    """A survey with these observations, read and checked against `reference` as a file would be."""
    return survey_of(document(survey_data(*observations, **members), "survey"), reference)


def as_found_from(reference: Reference, *observations: Json, **members: Any) -> AsFound:
    """The as-found harness of these observations."""
    survey = standing(survey_from(reference, *observations, **members))
    return as_found_of(as_equipped(reference, survey.options), survey)


def case_from(reference: Reference, *observations: Json, electrical: bool = False, **members: Any) -> Case:
    """These observations, assessed; solved as networks, too, where that is asked for."""
    return assess(reference, survey_from(reference, *observations, **members), electrical=electrical)


def found(case: Case, kind: str) -> Finding:
    """The one finding of a kind."""
    (finding,) = (one for one in case.findings.findings if one.kind == kind)
    return finding


def kinds(case: Case) -> list[str]:
    """Kinds of all findings, in order of the alphabet."""
    return sorted(finding.kind for finding in case.findings.findings)


def codes(finding: Finding) -> set[str]:
    """Codes of a finding's facts."""
    return {fact.code for fact in finding.modification.facts}


def fused_slot(slot: str, rating_A: float, bus_terminal: str, zone: str = "Z_DASH") -> list[Json]:
    """A slot that hangs on a bus bar, and the fuse in it."""
    return [
        {
            "id": slot,
            "kind": "fuse_slot",
            "zone": zone,
            "legend_A": rating_A,
            "body": "blade type C",
            "terminals": [{"name": "in", "side": "supply"}, {"name": "out", "side": "load"}],
            "bonds": [{"terminal": "in", "to": bus_terminal}],
        },
        {"id": f"{slot}_FUSE", "kind": "fuse", "seat": slot, "rating_A": rating_A, "body": "blade type C"},
    ]


def filament(plus: str, minus: str, rated_W: float) -> Json:
    """The filament of a lamp."""
    return {"kind": "load", "between": [plus, minus], "model": "filament", "rated_W": rated_W, "rated_V": 12}


def wire(wire_id: str, ends: tuple[str, str], colour: str, size_mm2: float, length_m: float, **more: Any) -> Json:
    """A wire of a reference; its colour as base and tracer, such as ``RD/WH``."""
    base, _, tracer = colour.partition("/")
    worn = {"base": base, "tracer": tracer} if tracer else {"base": base}
    return {
        "id": wire_id,
        "from": ends[0],
        "to": ends[1],
        "colour": worn,
        "size_mm2": size_mm2,
        "length_m": length_m,
        **more,
    }


def bench_data() -> Json:
    """The bench: one battery, five fuses, and behind them a switch, a relay, an output, a restraint.

    ========  =====  ==========================================================
    F1        10 A   S1 (switch) - SP1 (splice) - E1, E2 (side lamps)
    F2        15 A   K1 (relay) - H1 (horn); S2 (button) grounds the coil
    F3        10 A   S3 (brake switch) - XC1 (in-line connector) - E3 (brake lamp)
    F4        5 A    R1 (radio, always); U1 (module, output) - E4 (reverse lamp)
    F5        10 A   U9 (restraint module) - SQ1 (squib)
    ========  =====  ==========================================================

    F0, 60 A, feeds the bus bar. W1 before it is the only wire that is not protected.
    """
    relay_parts = [
        {"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80},
        {"kind": "link", "between": ["30", "87"], "when": {"energised": True}, "limit_A": 30},
    ]
    zones = [
        {"id": "Z_BAY", "name": "engine bay", "near": ["battery_gas"]},
        {"id": "Z_DASH", "name": "behind the dash"},
        {"id": "Z_TAIL", "name": "behind the rear lamps"},
        {"id": "Z_SILL", "name": "left sill", "wet": True},
        {"id": "Z_ROOF", "name": "above the headlining"},
    ]
    circuits = [
        {"id": "C_MAIN", "name": "main supply", "function": "battery_main"},
        {"id": "C_GND", "name": "grounds", "function": "ground"},
        {"id": "C_SIDE", "name": "side lamps", "function": "side_lamp"},
        {"id": "C_HORN", "name": "horn", "function": "horn"},
        {"id": "C_STOP", "name": "brake lamps", "function": "brake_lamp"},
        {"id": "C_RADIO", "name": "radio", "function": "radio"},
        {"id": "C_REV", "name": "reverse lamp", "function": "reverse_lamp"},
        {"id": "C_SRS", "name": "restraint", "function": "restraint"},
    ]
    devices = [
        {
            "id": "BAT",
            "kind": "battery",
            "zone": "Z_BAY",
            "terminals": ["+", "-"],
            "parts": [{"kind": "source", "between": ["+", "-"], "model": "battery", "voltage_V": 12.6}],
        },
        {"id": "BODY", "kind": "body", "terminals": ["1"]},
        {
            "id": "GND1",
            "kind": "ground_stud",
            "zone": "Z_TAIL",
            "terminals": ["1"],
            "bonds": [{"terminal": "1", "to": "BODY:1"}],
        },
        {
            "id": "GND2",
            "kind": "ground_stud",
            "zone": "Z_DASH",
            "terminals": ["1"],
            "bonds": [{"terminal": "1", "to": "BODY:1"}],
        },
        {
            "id": "F0",
            "kind": "fuse_slot",
            "zone": "Z_BAY",
            "legend_A": 60,
            "body": "bolted",
            "terminals": [{"name": "in", "side": "supply"}, {"name": "out", "side": "load"}],
        },
        {"id": "F0_FUSE", "kind": "fuse", "seat": "F0", "rating_A": 60, "body": "bolted"},
        {
            "id": "BUS",
            "kind": "joint_block",
            "zone": "Z_DASH",
            "all_common": True,
            "terminals": ["in", "1", "2", "3", "4", "5"],
        },
        *fused_slot("F1", 10, "BUS:1"),
        *fused_slot("F2", 15, "BUS:2"),
        *fused_slot("F3", 10, "BUS:3"),
        *fused_slot("F4", 5, "BUS:4"),
        *fused_slot("F5", 10, "BUS:5"),
        {
            "id": "S1",
            "kind": "switch",
            "zone": "Z_DASH",
            "terminals": ["30", "58"],
            "positions": ["off", "on"],
            "rest_position": "off",
            "parts": [{"kind": "link", "between": ["30", "58"], "when": {"position": ["on"]}}],
        },
        {"id": "X1", "kind": "plug", "zone": "Z_TAIL", "ways": 2},
        {
            "id": "E1",
            "kind": "lamp",
            "zone": "Z_TAIL",
            "terminals": [
                {"name": "58", "connector": "X1", "cavity": "1"},
                {"name": "31", "connector": "X1", "cavity": "2"},
            ],
            "parts": [filament("58", "31", 5)],
        },
        {
            "id": "E2",
            "kind": "lamp",
            "zone": "Z_TAIL",
            "terminals": ["58", "31"],
            "parts": [filament("58", "31", 5)],
            "bonds": [{"terminal": "31", "to": "BODY:1"}],
        },
        {"id": "K1", "kind": "relay_socket", "zone": "Z_DASH", "terminals": ["30", "87", "85", "86"]},
        {"id": "K1_RELAY", "kind": "relay", "seat": "K1", "parts": relay_parts},
        {
            "id": "H1",
            "kind": "horn",
            "zone": "Z_BAY",
            "terminals": ["1", "2"],
            "parts": [{"kind": "load", "between": ["1", "2"], "model": "resistance", "rated_W": 60, "rated_V": 12}],
            "bonds": [{"terminal": "2", "to": "BODY:1"}],
        },
        {
            "id": "S2",
            "kind": "button",
            "zone": "Z_DASH",
            "terminals": ["1", "2"],
            "positions": ["free", "pressed"],
            "rest_position": "free",
            "parts": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["pressed"]}}],
        },
        {
            "id": "S3",
            "kind": "switch",
            "zone": "Z_DASH",
            "terminals": ["1", "2"],
            "positions": ["released", "pressed"],
            "rest_position": "released",
            "parts": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["pressed"]}}],
        },
        {
            "id": "XC1",
            "kind": "inline_connector",
            "zone": "Z_SILL",
            "terminals": ["1a", "1b"],
            "positions": ["mated", "unmated"],
            "rest_position": "mated",
            "parts": [{"kind": "link", "between": ["1a", "1b"], "when": {"position": ["mated"]}}],
        },
        {"id": "E3", "kind": "lamp", "zone": "Z_TAIL", "terminals": ["54", "31"], "parts": [filament("54", "31", 21)]},
        {
            "id": "R1",
            "kind": "radio",
            "zone": "Z_DASH",
            "terminals": ["30", "31"],
            "parts": [
                {
                    "kind": "load",
                    "between": ["30", "31"],
                    "model": "electronic",
                    "rated_A": 2,
                    "rated_V": 12,
                    "rest_A": 0.003,
                }
            ],
        },
        {
            "id": "U1",
            "kind": "module",
            "zone": "Z_DASH",
            "terminals": ["30", "OUT", "31"],
            "parts": [
                {
                    "kind": "output",
                    "between": ["30", "OUT"],
                    "when": {"condition": ["ignition"]},
                    "limit_A": 4,
                },
                {"kind": "load", "between": ["30", "31"], "model": "electronic", "rated_A": 0.1, "rated_V": 12},
            ],
        },
        {
            "id": "E4",
            "kind": "lamp",
            "zone": "Z_TAIL",
            "terminals": ["RL", "31"],
            "parts": [filament("RL", "31", 21)],
            "bonds": [{"terminal": "31", "to": "BODY:1"}],
        },
        {
            "id": "U9",
            "kind": "module",
            "zone": "Z_DASH",
            "protected": "restraint",
            "terminals": ["30", "31", "A", "B"],
            "parts": [
                {"kind": "load", "between": ["30", "31"], "model": "electronic", "rated_A": 0.2, "rated_V": 12},
                {"kind": "output", "between": ["30", "A"], "limit_A": 2},
            ],
        },
        {
            "id": "SQ1",
            "kind": "squib",
            "zone": "Z_DASH",
            "protected": "restraint",
            "terminals": ["1", "2"],
            "parts": [{"kind": "load", "between": ["1", "2"], "model": "resistance", "resistance_ohm": 2.2}],
        },
    ]
    wires = [
        wire("W1", ("BAT:+", "F0:in"), "RD", 10, 0.1, circuit="C_MAIN", zones=["Z_BAY"]),
        wire("W2", ("F0:out", "BUS:in"), "RD", 10, 2.0, circuit="C_MAIN", zones=["Z_BAY", "Z_DASH"]),
        wire("W3", ("BAT:-", "BODY:1"), "BK", 16, 0.4, circuit="C_GND", zones=["Z_BAY"]),
        wire("W10", ("F1:out", "S1:30"), "RD/GY", 0.75, 1.0, circuit="C_SIDE", zones=["Z_DASH"]),
        wire("W11", ("S1:58", "SP1"), "GY/RD", 0.75, 4.0, circuit="C_SIDE", zones=["Z_DASH", "Z_SILL", "Z_TAIL"]),
        wire("W12", ("SP1", "E1:58"), "GY/RD", 0.75, 0.5, circuit="C_SIDE", zones=["Z_TAIL"]),
        wire("W13", ("SP1", "E2:58"), "GY/RD", 0.75, 1.5, circuit="C_SIDE", zones=["Z_TAIL"]),
        wire("W14", ("E1:31", "GND1:1"), "BN", 0.75, 0.4, circuit="C_GND", zones=["Z_TAIL"]),
        wire("W20", ("F2:out", "K1:30"), "RD/YE", 1.5, 0.3, circuit="C_HORN", zones=["Z_DASH"]),
        wire("W21", ("K1:87", "H1:1"), "BK/YE", 1.5, 2.5, circuit="C_HORN", zones=["Z_DASH", "Z_BAY"]),
        wire("W22", ("F2:out", "K1:86"), "RD/YE", 1.5, 0.3, circuit="C_HORN", zones=["Z_DASH"]),
        wire("W23", ("K1:85", "S2:1"), "BN/YE", 0.5, 0.8, circuit="C_HORN", zones=["Z_DASH"]),
        wire("W24", ("S2:2", "GND2:1"), "BN", 0.5, 0.6, circuit="C_GND", zones=["Z_DASH"]),
        wire("W30", ("F3:out", "S3:1"), "RD/BK", 0.75, 0.8, circuit="C_STOP", zones=["Z_DASH"]),
        wire("W31", ("S3:2", "XC1:1a"), "BK/RD", 0.75, 1.5, circuit="C_STOP", zones=["Z_DASH", "Z_SILL"]),
        wire("W32", ("XC1:1b", "E3:54"), "BK/RD", 0.75, 2.0, circuit="C_STOP", zones=["Z_SILL", "Z_TAIL"]),
        wire("W33", ("E3:31", "GND1:1"), "BN", 0.75, 0.4, circuit="C_GND", zones=["Z_TAIL"]),
        wire("W40", ("F4:out", "R1:30"), "RD", 0.5, 1.2, circuit="C_RADIO", zones=["Z_DASH"]),
        wire("W41", ("R1:31", "GND2:1"), "BN", 0.5, 0.5, circuit="C_GND", zones=["Z_DASH"]),
        wire("W42", ("F4:out", "U1:30"), "RD/BU", 0.5, 0.9, circuit="C_REV", zones=["Z_DASH"]),
        wire("W43", ("U1:OUT", "E4:RL"), "WH/BK", 0.75, 4.5, circuit="C_REV", zones=["Z_DASH", "Z_TAIL"]),
        wire("W44", ("U1:31", "GND2:1"), "BN", 0.5, 0.5, circuit="C_GND", zones=["Z_DASH"]),
        wire("W50", ("F5:out", "U9:30"), "YE/RD", 0.75, 1.0, circuit="C_SRS", zones=["Z_DASH"]),
        wire("W51", ("U9:A", "SQ1:1"), "YE", 0.5, 1.4, circuit="C_SRS", zones=["Z_DASH"]),
        wire("W52", ("SQ1:2", "U9:B"), "YE/BK", 0.5, 1.4, circuit="C_SRS", zones=["Z_DASH"]),
        wire("W53", ("U9:31", "GND2:1"), "BN", 0.75, 0.5, circuit="C_GND", zones=["Z_DASH"]),
    ]
    return {
        "format": "harnessdiff reference",
        "version": "1.0",
        "id": "bench",
        "title": "the bench",
        "invented": True,
        "extent": "fragment",
        "vehicle": {"system_voltage_V": 12, "ground_polarity": "negative", "steering_side": "left"},
        "options": [{"id": "radio_pack", "name": "radio"}, {"id": "no_sound", "name": "no horn"}],
        "zones": zones,
        "circuits": circuits,
        "conditions": [
            {"id": "asleep", "name": "asleep", "key": "out", "engine": "stopped"},
            {"id": "ignition", "name": "ignition on", "key": "ignition", "engine": "stopped"},
        ],
        "devices": devices,
        "splices": [{"id": "SP1", "type": "factory_splice", "zone": "Z_TAIL", "cover": "adhesive_sleeve"}],
        "wires": wires,
    }


def with_options(data: Json, options: Iterable[tuple[str, str]]) -> Json:
    """A reference's data in which these elements are there with an option only."""
    wanted = dict(options)
    for member in ("devices", "splices", "wires"):
        for entry in data.get(member, ()):
            if entry["id"] in wanted:
                entry["option"] = [wanted[entry["id"]]]
    return data


def least_reference(**members: Any) -> Json:
    """The least reference that there is something to tap on: a battery, a lamp, and a wire to it."""
    plain: Json = {
        "format": "harnessdiff reference",
        "version": "1.0",
        "id": "least",
        "title": "the least",
        "extent": "fragment",
        "zones": [{"id": "Z1", "name": "engine bay"}, {"id": "Z_TAIL", "name": "tail"}],
        "circuits": [{"id": "C_SIDE", "name": "side lamps", "function": "side_lamp"}],
        "conditions": [{"id": "asleep", "name": "locked, asleep", "key": "out", "engine": "stopped"}],
        "devices": [
            {"id": "BODY", "kind": "body", "terminals": ["1"]},
            {
                "id": "BAT1",
                "kind": "battery",
                "zone": "Z1",
                "terminals": ["+", "-"],
                "parts": [{"kind": "source", "between": ["+", "-"], "model": "battery", "voltage_V": 12.6}],
                "bonds": [{"terminal": "-", "to": "BODY:1"}],
            },
            {
                "id": "E14",
                "kind": "lamp",
                "zone": "Z_TAIL",
                "terminals": ["58", "31"],
                "parts": [filament("58", "31", 5)],
            },
        ],
        "wires": [
            {"id": "W212", "from": "BAT1:+", "to": "E14:58", "circuit": "C_SIDE", "zones": ["Z_TAIL"]},
            {"id": "W213", "from": "E14:31", "to": "BODY:1"},
        ],
    }
    return plain | members


def colour_read(colour: Json, system: str) -> Colour | None:
    """A wire's colour, read from a reference whose letters are of this code system."""
    wires = [{"id": "W212", "from": "BAT1:+", "to": "E14:58", "colour": colour}]
    harness = reference_from(least_reference(wires=wires, colour_system=system)).harness
    (worn,) = (conductor.colour for conductor in harness.conductors())
    return worn


def problems_of(error: InputError) -> list[tuple[str | None, str]]:
    """Pointer and message of every problem that an error holds."""
    return [(problem.pointer, problem.message) for problem in error.problems]


def rig(devices: list[Json], wires: list[Json], **more: Any) -> Reference:
    """A reference of these devices and wires alone, in one dry place, for what has one answer by hand."""
    data: Json = {
        "format": "harnessdiff reference",
        "version": "1.0",
        "id": "rig",
        "title": "a rig",
        "extent": "fragment",
        "zones": [{"id": "Z", "name": "here"}],
        "circuits": [{"id": "C_ANY", "name": "circuit", "function": "other"}],
        "conditions": [{"id": "asleep", "name": "asleep", "key": "out", "engine": "stopped"}],
        "devices": devices,
        "wires": wires,
    }
    return reference_from(data | more)


def source(own: str = "BAT", model: str = "battery", **part: Any) -> Json:
    """A battery, an alternator or a converter with its two poles."""
    parts = [{"kind": "source", "between": ["+", "-"], "model": model, **part}]
    kind = model if model in ("battery", "alternator", "converter", "solar_regulator") else "other"
    return {"id": own, "kind": kind, "zone": "Z", "terminals": ["+", "-"], "parts": parts}


def body() -> Json:
    """The body."""
    return {"id": "BODY", "kind": "body", "terminals": ["1"]}


def lamp(own: str) -> Json:
    """A lamp that is grounded by its case."""
    return {
        "id": own,
        "kind": "lamp",
        "zone": "Z",
        "terminals": ["1", "2"],
        "parts": [filament("1", "2", 21)],
        "bonds": [{"terminal": "2", "to": "BODY:1"}],
    }


def slot(own: str, rating_A: float) -> list[Json]:
    """A fuse slot that hangs on nothing yet, and the fuse in it."""
    held, fuse = fused_slot(own, rating_A, "BODY:1", "Z")
    del held["bonds"]
    return [held, fuse]


def between(own: str, kind: str, parts: list[Json], **more: Any) -> Json:
    """A device with two terminals, 1 and 2, and what is between them."""
    return {"id": own, "kind": kind, "zone": "Z", "terminals": ["1", "2"], "parts": parts, **more}


def run(*stops: str, size_mm2: float = 1.0, length_m: float = 1.0) -> list[Json]:
    """Wires from stop to stop: ``run("BAT:+", "F:in", "F:out", "E:1")`` gives two, named after where they lead."""
    pairs = zip(stops[::2], stops[1::2], strict=True)
    return [
        {
            "id": f"W_{end.replace(':', '_').replace('+', 'plus').replace('-', 'minus')}",
            "from": start,
            "to": end,
            "size_mm2": size_mm2,
            "length_m": length_m,
        }
        for start, end in pairs
    ]
