"""What a change is called: one small case for each kind, on the bench."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from harnessdiff.compare.changes import adverse
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import modifications_of
from harnessdiff.model.edit import Added, Attached, Changed, Detached, Edit, Removed, edit_key
from harnessdiff.model.harness import Device, Incidence, Other, Passage, Terminal
from harnessdiff.model.modification import KINDS
from harnessdiff.model.quantity import Quantity
from tests.support import (
    Json,
    as_found_from,
    bench_data,
    body,
    case_from,
    codes,
    lamp,
    reference_from,
    rig,
    run,
    source,
)
from tests.support import between as between_terminals

if TYPE_CHECKING:
    from harnessdiff.model.modification import Modification
    from harnessdiff.model.reference import Reference

CRIMP = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}
TOGGLE: Json = {
    "kind": "switch",
    "positions": ["off", "on"],
    "rest_position": "on",
    "contents": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}],
}
BEEPER: Json = {
    "kind": "beeper",
    "contents": [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 0.3}],
}
BOX: Json = {"kind": "device", "id": "d", "sort": "beeper", "terminals": ["+", "-"], "contents": BEEPER["contents"]}
OWN_SWITCH = {"sort" if name == "kind" else name: value for name, value in TOGGLE.items()}
OWN_SWITCH |= {"kind": "device", "id": "d", "terminals": ["1", "2"]}
TAPED = {"loose": {"treatment": "taped"}}
BODY = {"metal": "body"}


def tap(on: Json, to: Json | None = None, **more: object) -> Json:
    return {"kind": "tap", "id": "t", "on": on, **({"to": to} if to else {}), **more}


def lead(own: str, end_1: Json, end_2: Json, **more: object) -> Json:
    return {"kind": "lead", "id": own, "end_1": end_1, "end_2": end_2, **more}


def between(one: Json, other: Json, **more: object) -> Json:
    return {"kind": "bridge", "id": "b", "from": one, "to": other, **more}


def cut(wire: str) -> Json:
    return {"kind": "cut", "id": "c", "wire": wire}


Expected = tuple[str, tuple[str, ...], set[str]]
CASES: dict[str, tuple[list[Json], list[Expected]]] = {
    "tap on a wire, to a box": (
        [tap({"wire": "W40"}, {"device": BEEPER, "pin": "+"})],
        [("tap", ("W40",), {"adds_load"})],
    ),
    "tap on a wire, not traced": ([tap({"wire": "W40"})], [("tap", ("W40",), {"not_traced"})]),
    "tap on a terminal": ([tap({"terminal": "R1:30"})], [("tap", ("R1:30",), {"not_traced"})]),
    "tap on the battery": ([tap({"terminal": "BAT:+"})], [("tap", ("BAT:+",), {"at_source"})]),
    "tap in a fuse slot": ([tap({"terminal": "F4:out"})], [("tap", ("F4:out",), {"in_slot"})]),
    "adaptor on the load side of a slot": (
        [tap({"terminal": "F4:out"}, joint={"type": "fuse_slot_adaptor"})],
        [("tap", ("F4:out",), {"in_slot", "wrong_way_round"})],
    ),
    "adaptor on the supply side of a slot": (
        [tap({"terminal": "F4:in"}, joint={"type": "fuse_slot_adaptor"})],
        [("tap", ("F4:in",), {"in_slot"})],
    ),
    "tap on a module's output": ([tap({"wire": "W43"})], [("tap", ("W43",), {"module_output"})]),
    "tap behind an output, past a splice": ([tap({"terminal": "E4:RL"})], [("tap", ("E4:RL",), {"module_output"})]),
    "tap on the restraint": ([tap({"wire": "W51"})], [("tap", ("W51",), {"restraint"})]),
    "tap of which the place is not known": ([{"kind": "tap", "id": "t"}], [("tap", (), {"place_unknown"})]),
    "tap through a cut, all in one joint": (
        [
            cut("W40"),
            {
                "kind": "joint",
                "id": "j",
                "members": [{"cut": "c", "side": 1}, {"cut": "c", "side": 2}, {"lead": "l", "end": 1}],
            },
            {"kind": "lead", "id": "l", "end_2": {"not_traced": True}},
        ],
        [("tap", ("W40",), {"wire_cut"})],
    ),
    "box with its own ground": (
        [
            BOX,
            lead("l", {"terminal": "R1:30"}, {"device": "d", "pin": "+"}),
            lead("m", {"device": "d", "pin": "-"}, BODY),
        ],
        [("added_ground", ("BODY:1",), set()), ("tap", ("R1:30",), {"adds_load"})],
    ),
    "box grounded on the maker's stud": (
        [BOX, lead("m", {"device": "d", "pin": "-"}, {"terminal": "GND2:1"})],
        [("added_ground", ("GND2:1",), set())],
    ),
    "ground on paint under a trim screw": (
        [
            BOX,
            lead("m", {"device": "d", "pin": "-"}, BODY | {"joint": {"type": "under_screw", "fixing": "trim_screw"}}),
        ],
        [("added_ground", ("BODY:1",), {"poor_ground_contact"})],
    ),
    "ground on a belt anchorage, two rings": (
        [
            BOX,
            lead(
                "m",
                {"device": "d", "pin": "-"},
                BODY | {"joint": {"type": "ring_terminal", "fixing": "belt_anchorage", "rings_on_stud": 2}},
            ),
        ],
        [("added_ground", ("BODY:1",), {"on_belt_or_seat_fixing", "shared_ground"})],
    ),
    "box that has lost its ground": (
        [
            BOX,
            lead("l", {"terminal": "R1:30"}, {"device": "d", "pin": "+"}),
            lead("m", {"device": "d", "pin": "-"}, TAPED),
        ],
        [("lost_ground", (), {"loose_end"}), ("tap", ("R1:30",), {"adds_load"})],
    ),
    "box that touches nothing": ([BOX], [("added_device", (), {"adds_load"})]),
    "insertion of a switch": (
        [{"kind": "insertion", "id": "i", "in": {"wire": "W30"}, "device": TOGGLE}],
        [("insertion", ("W30",), {"through_device"})],
    ),
    "adaptor plugged in before a device": (
        [{"kind": "insertion", "id": "i", "in": {"terminal": "R1:30"}, "device": TOGGLE}],
        [("insertion", ("W40",), {"through_device"})],
    ),
    "piece with a switch in it put in": (
        [{"kind": "repair", "id": "r", "wire": "W30", "insert": {"inline": [{"kind": "switch"}]}}],
        [("insertion", ("W30",), {"through_device"})],
    ),
    "repair in one joint": (
        [{"kind": "repair", "id": "r", "wire": "W30", "joints": [CRIMP]}],
        [("repair", ("W30",), set())],
    ),
    "repair with a thinner piece of another colour": (
        [{"kind": "repair", "id": "r", "wire": "W21", "insert": {"size_mm2": 0.5, "colour": {"base": "PK"}}}],
        [("repair", ("W21",), {"insert_piece", "insert_thinner", "colour_differs"})],
    ),
    "bridge from circuit to circuit": (
        [between({"wire": "W12"}, {"wire": "W32"})],
        [("bridge", ("W12", "W32"), {"joins_circuits"})],
    ),
    "bridge to ground": ([between({"wire": "W12"}, BODY)], [("bridge", ("BODY:1", "W12"), {"to_ground"})]),
    "bridge from a wire to itself": (
        [between({"wire": "W12"}, {"terminal": "E1:58"})],
        [("tap", ("E1:58",), set()), ("tap", ("W12",), set())],
    ),
    "bypass of a switch": ([between({"wire": "W10"}, {"wire": "W11"})], [("bypass", ("W10", "W11"), {"bypasses"})]),
    "bypass of a relay": (
        [between({"wire": "W20"}, {"terminal": "H1:1"})],
        [("bypass", ("H1:1", "W20"), {"bypasses"})],
    ),
    "bypass of a fuse": (
        [between({"terminal": "F3:in"}, {"wire": "W30"})],
        [("bypass", ("F3:in", "W30"), {"bypasses"})],
    ),
    "jumper in a relay's socket": (
        [{"kind": "jumper", "id": "b", "socket": "K1", "between": ["30", "87"]}],
        [("bypass", ("K1:30", "K1:87"), {"bypasses", "in_slot"})],
    ),
    "slug in place of a fuse": (
        [{"kind": "substitution", "id": "s", "element": "F3", "fitted": {"state": "slug"}}],
        [("bypass", ("F3_FUSE",), {"bypasses"})],
    ),
    "switch of one's own past a switch": (
        [
            OWN_SWITCH,
            lead("l", {"terminal": "S3:1"}, {"device": "d", "pin": "1"}),
            lead("m", {"terminal": "S3:2"}, {"device": "d", "pin": "2"}),
        ],
        [("bypass", ("S3:2",), {"bypasses", "through_device"}), ("tap", ("S3:1",), set())],
    ),
    "wire cut and left": ([cut("W30")], [("open_circuit", ("W30",), set())]),
    "wire cut, one end led away": (
        [
            cut("W30"),
            {"kind": "joint", "id": "j", "members": [{"cut": "c", "side": 1}, {"lead": "l", "end": 1}]},
            {"kind": "lead", "id": "l", "end_2": {"not_traced": True}},
        ],
        [("open_circuit", ("W30",), set()), ("tap", ("W30",), {"not_traced"})],
    ),
    "wire's end hanging": (
        [{"kind": "moved", "id": "m", "wire": "W30", "end": 2, "to": {"not_traced": True}}],
        [("open_circuit", ("W30",), {"moved"})],
    ),
    "fuse blown": (
        [{"kind": "substitution", "id": "s", "element": "F3", "fitted": {"state": "blown"}}],
        [("open_circuit", ("F3_FUSE",), {"blown"})],
    ),
    "greater fuse": (
        [{"kind": "substitution", "id": "s", "element": "F3", "fitted": {"rating_A": 30}}],
        [("wrong_rated_protection", ("F3_FUSE",), {"rating"})],
    ),
    "fuse of another body": (
        [{"kind": "substitution", "id": "s", "element": "F3", "fitted": {"body": "glass"}}],
        [("wrong_rated_protection", ("F3_FUSE",), {"rating"})],
    ),
    "thinner wire": (
        [{"kind": "substitution", "id": "s", "wire": "W21", "fitted": {"size_mm2": 0.5}}],
        [("thinner_conductor", ("W21",), {"size"})],
    ),
    "wire of another colour": (
        [{"kind": "substitution", "id": "s", "wire": "W21", "fitted": {"colour": {"base": "PK"}}}],
        [("substituted_conductor", ("W21",), {"colour_differs"})],
    ),
    "greater lamp": (
        [{"kind": "substitution", "id": "s", "element": "E3", "fitted": {"rated_W": 55}}],
        [("substituted_part", ("E3",), {"substituted"})],
    ),
    "resistor in place of a lamp": (
        [{"kind": "substitution", "id": "s", "element": "E3", "fitted": {"kind": "resistor"}}],
        [("substituted_part", ("E3",), {"substituted", "dummy_load"})],
    ),
    "two wires swapped": (
        [{"kind": "swap", "id": "s", "between": [{"terminal": "E1:58"}, {"terminal": "E3:54"}]}],
        [("swap", ("W12", "W32"), set())],
    ),
    "pin moved": (
        [{"kind": "moved", "id": "m", "wire": "W12", "end": 2, "to": {"terminal": "E3:54"}}],
        [("moved_pin", ("W12",), {"moved", "joins_circuits"})],
    ),
    "pin moved to ground": (
        [{"kind": "moved", "id": "m", "wire": "W12", "end": 2, "to": {"terminal": "GND1:1"}}],
        [("moved_pin", ("W12",), {"moved", "to_ground"})],
    ),
    "pin moved to ground under a joint": (
        [{"kind": "moved", "id": "m", "wire": "W12", "end": 2, "to": {"metal": "body"}}],
        [("moved_pin", ("W12",), {"moved", "to_ground"})],
    ),
    "ground moved to a feed": (
        [{"kind": "moved", "id": "m", "wire": "W33", "end": 2, "to": {"terminal": "E1:58"}}],
        [("moved_pin", ("W33",), {"moved", "lost_ground", "joins_circuits"})],
    ),
    "pin taken off and taped": (
        [{"kind": "moved", "id": "m", "wire": "W12", "end": 2, "to": {"loose": {"treatment": "taped"}}}],
        [("open_circuit", ("W12",), {"moved", "loose_end"})],
    ),
    "both ends taken off": (
        [
            {"kind": "moved", "id": "m", "wire": "W12", "end": 2, "to": {"loose": {"treatment": "taped"}}},
            {"kind": "moved", "id": "n", "wire": "W12", "end": 1, "to": {"loose": {"treatment": "bare"}}},
        ],
        [("open_circuit", ("W12",), {"moved", "loose_end"}), ("open_circuit", ("W12",), {"moved", "loose_end"})],
    ),
    "restraint wire moved": (
        [{"kind": "moved", "id": "m", "wire": "W53", "end": 2, "to": {"terminal": "GND1:1"}}],
        [("moved_ground", ("W53",), {"moved", "restraint"})],
    ),
    "restraint wire chafed": (
        [{"kind": "damage", "id": "d", "on": [{"wire": "W51"}], "damage": "chafed"}],
        [("damage", ("W51",), {"damage", "restraint"})],
    ),
    "restraint wire cut": (
        [{"kind": "cut", "id": "c", "wire": "W51"}],
        [("open_circuit", ("W51",), {"restraint"})],
    ),
    "restraint wires changed over": (
        [{"kind": "swap", "id": "s", "between": [{"terminal": "SQ1:1"}, {"terminal": "SQ1:2"}]}],
        [("swap", ("W51", "W52"), {"restraint"})],
    ),
    "ground moved to another stud": (
        [{"kind": "moved", "id": "m", "wire": "W33", "end": 2, "to": {"terminal": "GND2:1"}}],
        [("moved_ground", ("W33",), {"moved", "shared_ground"})],
    ),
    "ground moved to a trim screw": (
        [
            {
                "kind": "moved",
                "id": "m",
                "wire": "W33",
                "end": 2,
                "to": {"metal": "body", "joint": {"type": "under_screw", "fixing": "trim_screw"}},
            }
        ],
        [("moved_ground", ("W33",), {"moved", "poor_ground_contact"})],
    ),
    "ground moved to another ground's wire": (
        [
            {"kind": "moved", "id": "m", "wire": "W33", "end": 2, "to": {"joined": "j"}},
            {"kind": "joint", "id": "j", "members": [{"wire": "W14"}, {"wire": "W33", "end": 2}], "type": "twisted"},
        ],
        [("moved_ground", ("W33",), {"moved", "shared_ground"})],
    ),
    "wire taken off and taped": (
        [{"kind": "moved", "id": "m", "wire": "W31", "end": 2, "to": TAPED}],
        [("open_circuit", ("W31",), {"moved", "loose_end"})],
    ),
    "lead past a fuse and a switch": (
        [between({"terminal": "BUS:5"}, {"wire": "W31"})],
        [("bypass", ("BUS:5", "W31"), {"bypasses"})],
    ),
    "switch of one's own past a fuse and a switch": (
        [
            OWN_SWITCH,
            lead("l", {"terminal": "BUS:5"}, {"device": "d", "pin": "1"}),
            lead("m", {"device": "d", "pin": "2"}, {"terminal": "E3:54"}),
        ],
        [("bypass", ("E3:54",), {"bypasses", "through_device"}), ("tap", ("BUS:5",), set())],
    ),
    "bridge between two outputs of a bus bar": (
        [between({"wire": "W10"}, {"wire": "W30"})],
        [("bridge", ("W10", "W30"), {"joins_circuits"})],
    ),
    "box behind a switch of its own": (
        [
            OWN_SWITCH,
            BOX | {"id": "e"},
            lead("l", {"terminal": "R1:30"}, {"device": "d", "pin": "1"}),
            lead("m", {"device": "d", "pin": "2"}, {"device": "e", "pin": "+"}),
        ],
        [("tap", ("R1:30",), {"adds_load"})],
    ),
    "tap on an output through a cut, not traced": (
        [
            cut("W43"),
            {
                "kind": "joint",
                "id": "j",
                "members": [{"cut": "c", "side": 1}, {"cut": "c", "side": 2}, {"lead": "l", "end": 1}],
            },
            {"kind": "lead", "id": "l", "end_2": {"not_traced": True}},
        ],
        [("tap", ("W43",), {"wire_cut", "module_output", "not_traced"})],
    ),
    "tap made for thinner wires": (
        [tap({"wire": "W21"}, joint={"type": "insulation_displacement", "range_mm2": [0.5, 1.0]})],
        [("tap", ("W21",), {"out_of_range"})],
    ),
    "tap made for thicker wires": (
        [tap({"wire": "W40"}, joint={"type": "insulation_displacement", "range_mm2": [0.75, 1.5]})],
        [("tap", ("W40",), {"out_of_range"})],
    ),
    "ground of which nobody saw the metal": (
        [BOX, lead("m", {"device": "d", "pin": "-"}, BODY | {"joint": {"fixing": "bracket", "bare_metal": "unknown"}})],
        [("added_ground", ("BODY:1",), {"ground_contact_unseen"})],
    ),
    "lamp elsewhere": (
        [{"kind": "moved", "id": "m", "element": "E3", "to_zone": "Z_ROOF"}],
        [("moved_part", ("E3",), {"moved"})],
    ),
    "fuse in another slot": (
        [
            {"kind": "missing", "id": "x", "element": "F2"},
            {"kind": "moved", "id": "m", "element": "F1", "to_slot": "F2"},
        ],
        [
            ("wrong_rated_protection", ("F1_FUSE",), {"moved", "rating", "slot_empty"}),
            ("removed_part", ("F2_FUSE",), set()),
        ],
    ),
    "fuses changed over": (
        [
            {"kind": "moved", "id": "m", "element": "F1", "to_slot": "F2"},
            {"kind": "moved", "id": "n", "element": "F2", "to_slot": "F1"},
        ],
        [
            ("wrong_rated_protection", ("F1_FUSE",), {"moved", "rating"}),
            ("wrong_rated_protection", ("F2_FUSE",), {"moved", "rating"}),
        ],
    ),
    "like fuses changed over": (
        [
            {"kind": "moved", "id": "m", "element": "F1", "to_slot": "F3"},
            {"kind": "moved", "id": "n", "element": "F3", "to_slot": "F1"},
        ],
        [("moved_part", ("F1_FUSE",), {"moved"}), ("moved_part", ("F3_FUSE",), {"moved"})],
    ),
    "fuse gone": ([{"kind": "missing", "id": "m", "element": "F3"}], [("removed_part", ("F3_FUSE",), set())]),
    "wire gone": ([{"kind": "missing", "id": "m", "wire": "W12"}], [("removed_part", ("W12",), set())]),
    "lamp unplugged": (
        [{"kind": "missing", "id": "m", "element": "E3", "unplugged": True}],
        [("removed_part", ("E3",), {"unplugged"})],
    ),
    "squib gone": ([{"kind": "missing", "id": "m", "element": "SQ1"}], [("removed_part", ("SQ1",), {"restraint"})]),
    "lead that hangs on a wire": ([tap({"wire": "W40"}, TAPED)], [("orphaned_lead", ("W40",), {"loose_end"})]),
    "lead that hangs on nothing": ([lead("l", TAPED, TAPED)], [("orphaned_lead", (), {"loose_end"})]),
    "lead that nobody followed": (
        [lead("l", {"not_traced": True}, {"not_traced": True})],
        [("untraced_lead", (), {"not_traced"})],
    ),
    "route through a bare hole": (
        [
            tap(
                {"wire": "W40"},
                lead={"route": [{"kind": "passes_through", "what": "panel_hole", "protected_by": "none"}]},
            )
        ],
        [("routing", (), {"no_grommet"}), ("tap", ("W40",), {"not_traced"})],
    ),
    "wire chafed": (
        [{"kind": "damage", "id": "g", "on": [{"wire": "W40"}], "damage": "chafed"}],
        [("damage", ("W40",), {"damage"})],
    ),
    "screw through two wires": (
        [
            {
                "kind": "damage",
                "id": "g",
                "on": [{"wire": "W12"}, {"wire": "W32"}],
                "damage": "screw_through",
                "conducts": "yes",
            }
        ],
        [("damage", ("W12", "W32"), {"damage", "joins_circuits"})],
    ),
    "slot browned": (
        [{"kind": "damage", "id": "g", "element": "F3", "damage": "browned"}],
        [("damage", ("F3",), {"damage"})],
    ),
    "place found wet": (
        [{"kind": "surroundings", "id": "e", "zone": "Z_TAIL", "wet": True}],
        [("surroundings", ("Z_TAIL",), {"surroundings"})],
    ),
    "something else": ([{"kind": "other", "id": "o", "on": [{"wire": "W40"}]}], [("other", ("W40",), set())]),
    "diode between two circuits": (
        [between({"wire": "W12"}, {"wire": "W32"}, lead={"inline": [{"kind": "diode"}]})],
        [("tap", ("W12",), {"diode_isolated"}), ("tap", ("W32",), {"diode_isolated"})],
    ),
}


def modifications(reference: Reference, *lines: Json) -> tuple[Modification, ...]:
    (only,) = as_found_from(reference, *lines).resolutions(1)
    return modifications_of(Comparison(reference, only.edits))


@pytest.mark.parametrize(("lines", "expected"), CASES.values(), ids=CASES)
def test_change_is_called_by_its_kind(bench: Reference, lines: list[Json], expected: list[Expected]) -> None:
    found = modifications(bench, *lines)

    assert [(one.kind, one.elements) for one in found] == sorted((kind, elements) for kind, elements, _ in expected)
    for one, (_, _, facts) in zip(found, sorted(expected, key=lambda row: row[:2]), strict=True):
        assert facts <= {fact.code for fact in one.facts}


def test_every_kind_has_its_case() -> None:
    covered = {kind for _, expected in CASES.values() for kind, _, _ in expected}

    assert covered | {"unrecognised", "reading"} == set(KINDS)


MUST_NOT_SAY: list[tuple[str, set[str]]] = [
    ("adaptor on the supply side of a slot", {"wrong_way_round"}),
    ("tap on a wire, not traced", {"module_output", "at_source", "restraint"}),
    ("bypass of a switch", {"joins_circuits", "to_ground"}),
    ("repair in one joint", {"insert_piece", "colour_differs"}),
    ("two wires swapped", {"joins_circuits"}),
    ("bridge between two outputs of a bus bar", {"bypasses"}),
    ("tap on a wire, not traced", {"out_of_range"}),
    ("ground on paint under a trim screw", {"ground_contact_unseen"}),
    ("lamp unplugged", {"restraint"}),
    ("box grounded on the maker's stud", {"poor_ground_contact"}),
]


@pytest.mark.parametrize(("name", "facts"), MUST_NOT_SAY, ids=[name for name, _ in MUST_NOT_SAY])
def test_nothing_is_said_that_is_not_so(bench: Reference, name: str, facts: set[str]) -> None:
    said = {fact.code for one in modifications(bench, *CASES[name][0]) for fact in one.facts}

    assert said & facts == set()


@pytest.mark.parametrize(
    ("name", "device", "sort"),
    [
        ("bypass of a switch", "S1", "switch"),
        ("bypass of a relay", "K1", "relay"),
        ("bypass of a fuse", "F3", "fuse"),
        ("jumper in a relay's socket", "K1", "relay"),
        ("slug in place of a fuse", "F3", "fuse"),
        ("switch of one's own past a switch", "S3", "switch"),
    ],
)
def test_bypass_says_what_it_goes_past(bench: Reference, name: str, device: str, sort: str) -> None:
    facts = [fact for one in modifications(bench, *CASES[name][0]) for fact in one.facts if fact.code == "bypasses"]

    assert [(fact.get("device"), fact.get("sort")) for fact in facts] == [(device, sort)]


def test_bypass_of_several_devices_names_each(bench: Reference) -> None:
    lines = [
        CASES[name][0] for name in ("lead past a fuse and a switch", "switch of one's own past a fuse and a switch")
    ]
    found = [[fact for one in modifications(bench, *each) for fact in one.facts] for each in lines]

    for facts in found:
        assert [(fact.get("device"), fact.get("sort")) for fact in facts if fact.code == "bypasses"] == [
            ("F3", "fuse"),
            ("S3", "switch"),
        ]
    assert [fact.get("device") for fact in found[1] if fact.code == "through_device"] == ["+d"]


@pytest.mark.parametrize("range_mm2", [[0.5, 1.5], [1.5, 2.5], [1.47, 1.48]])
def test_joint_made_for_the_wire_it_sits_on_is_in_range(bench: Reference, range_mm2: list[float]) -> None:
    """W21 has 1.5 mm²; up to 2 % beyond counts as the same size."""
    (one,) = modifications(
        bench, tap({"wire": "W21"}, joint={"type": "insulation_displacement", "range_mm2": range_mm2})
    )

    assert not one.has("out_of_range")


# -- who shares a ground

CLEAN = {"type": "ring_terminal", "fixing": "factory_stud", "bare_metal": "yes", "condition": ["clean"]}
RINGS: list[tuple[str, str, Json, str]] = [
    ("four clean rings with lamps", "GND1:1", CLEAN | {"rings_on_stud": 4}, "no"),
    ("five clean rings", "GND2:1", CLEAN | {"rings_on_stud": 5}, "yes"),
    ("two rings with lamps, loose", "GND1:1", CLEAN | {"rings_on_stud": 2, "condition": ["loose"]}, "yes"),
    ("two rings with lamps, on paint", "GND1:1", CLEAN | {"rings_on_stud": 2, "bare_metal": "no"}, "yes"),
    ("two rings with lamps, not seen", "GND1:1", {"type": "ring_terminal", "rings_on_stud": 2}, "maybe"),
    ("two rings without lamps, loose", "GND2:1", CLEAN | {"rings_on_stud": 2, "condition": ["loose"]}, "no"),
]


@pytest.mark.parametrize(("stud", "joint", "adverse"), [row[1:] for row in RINGS], ids=[row[0] for row in RINGS])
def test_shared_stud_does_harm_where_it_is_crowded_or_poor_below_lamps(
    bench: Reference, stud: str, joint: Json, adverse: str
) -> None:
    """On GND1 hang E1 and E3, side and brake lamp; on GND2 no lamp."""
    found = modifications(bench, BOX, lead("m", {"device": "d", "pin": "-"}, {"terminal": stud, "joint": joint}))

    assert [fact.get("adverse") for one in found for fact in one.facts if fact.code == "shared_ground"] == [adverse]


def test_ground_above_the_battery_s_sensor_is_told_from_one_below_it() -> None:
    sensor = between_terminals("Q", "sensor", [{"kind": "link", "between": ["1", "2"], "resistance_ohm": 0.0001}])
    wires = run("BAT:-", "Q:1", "Q:2", "BODY:1", "BAT:+", "E:1")
    reference = rig([source(), body(), sensor, lamp("E")], wires)

    def said(terminal: str) -> list[object]:
        found = modifications(reference, BOX, lead("m", {"device": "d", "pin": "-"}, {"terminal": terminal}))
        return [fact.get("device") for one in found for fact in one.facts if fact.code == "past_a_sensor"]

    assert [said(terminal) for terminal in ("BAT:-", "Q:1", "Q:2", "BODY:1")] == [["Q"], ["Q"], [], []]


def test_isolator_in_the_ground_cable_measures_nothing() -> None:
    link = {"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}
    isolator = between_terminals("Q", "switch", [link], positions=["off", "on"], rest_position="on")
    reference = rig([source(), body(), isolator, lamp("E")], run("BAT:-", "Q:1", "Q:2", "BODY:1", "BAT:+", "E:1"))
    found = modifications(reference, BOX, lead("m", {"device": "d", "pin": "-"}, {"terminal": "BAT:-"}))

    assert not any(one.has("past_a_sensor") for one in found)


def test_tap_on_the_minus_of_a_high_voltage_source_is_a_tap() -> None:
    traction = source("HV") | {"protected": "high_voltage"}
    reference = rig([source(), body(), traction, lamp("E")], run("BAT:-", "BODY:1", "HV:+", "E:1"))
    (one,) = modifications(reference, tap({"terminal": "HV:-"}))

    assert (one.kind, one.has("high_voltage")) == ("tap", True)


# -- where it flexes


@pytest.mark.parametrize(
    ("joint", "zone", "expected"),
    [
        ({"type": "twisted", "cover": "tape"}, "Z_SILL", True),
        (CRIMP, "Z_SILL", False),
        ({"type": "twisted", "cover": "tape"}, "Z_DASH", False),
    ],
)
def test_unsealed_joint_in_a_wire_flexes_where_the_wire_only_passes_a_moving_place(
    joint: Json, zone: str, expected: bool
) -> None:
    """W11 goes from the dash through the sill, here one that moves, to the tail."""
    data = bench_data()
    (sill,) = (one for one in data["zones"] if one["id"] == "Z_SILL")
    sill["moving"] = True
    line: Json = {"kind": "repair", "id": "r", "wire": "W11", "joints": [joint], "zone": zone}
    (one,) = modifications(reference_from(data), line)

    assert one.has("in_flex_point") == expected


# -- nothing is swallowed

PLAIN: dict[str, tuple[Edit, ...]] = {
    "terminal of another standard": (
        Changed(Terminal(id="BODY:1", name="1"), Terminal(id="BODY:1", name="1", standard="31")),
    ),
    "terminal off its device": (Detached(Incidence(subject="BODY:1", role="of", target="BODY")),),
    "wire at a second terminal": (Attached(Incidence(subject="W12", role="end_2", target="E2:58")),),
    "joint across two terminals of the maker's": (Attached(Incidence(subject="SP1", role="at", target="E3:54")),),
}


@pytest.mark.parametrize("edits", PLAIN.values(), ids=PLAIN)
def test_edit_that_no_kind_fits_stays_as_a_plain_edit(bench: Reference, edits: tuple[Edit, ...]) -> None:
    found = modifications_of(Comparison(bench, edits))

    assert [edit for one in found for edit in one.edits] == list(edits)


def test_plain_edits_are_kept_beside_those_that_are_recognised(bench: Reference) -> None:
    fuse = bench.harness.by_id["F3_FUSE"]
    assert isinstance(fuse, Device)
    greater = replace(fuse, rating_A=Quantity.exactly(30))
    recognised = Changed(fuse, greater)
    plain = PLAIN["joint across two terminals of the maker's"][0]
    found = {
        one.kind: one.edits
        for one in modifications_of(Comparison(bench, tuple(sorted((recognised, plain), key=edit_key))))
    }

    assert found == {"wrong_rated_protection": (recognised,), "unrecognised": (plain,)}


def test_plain_edits_are_rated_unknown(bench: Reference) -> None:
    """A cut of which the wire is not known: it could be anything."""
    (finding,) = case_from(bench, {"kind": "cut", "id": "c", "zone": "Z_DASH"}).findings.findings

    assert finding.kind == "unrecognised"
    assert (finding.rating.best, finding.rating.worst) == ("acceptable", "High")
    assert len(finding.modification.edits) == 1


def test_other_that_marks_nothing_is_kept(bench: Reference) -> None:
    (one,) = modifications_of(Comparison(bench, (Added(Other(id="+o", note="smells")),)))

    assert (one.kind, one.root, len(one.edits)) == ("other", "+o", 1)


def test_removed_element_with_all_that_was_attached_to_it_is_one_removed_part(bench: Reference) -> None:
    wire = bench.harness.by_id["W12"]
    edits: list[Edit] = [*(Detached(one) for one in bench.harness.attached["W12"]), Removed(wire)]
    (one,) = modifications_of(Comparison(bench, tuple(sorted(edits, key=edit_key))))

    assert (one.kind, len(one.edits)) == ("removed_part", 3)


# -- routes

# Clearances: 100 mm from an exhaust, 75 mm from moving parts, 10 mm from a brake or fuel pipe (common practice).
ROUTES: list[tuple[Json, str | None]] = [
    ({"kind": "passes_through", "what": "panel_hole", "protected_by": "none"}, "no_grommet"),
    ({"kind": "passes_through", "what": "panel_hole"}, "no_grommet_perhaps"),
    ({"kind": "passes_through", "what": "panel_hole", "protected_by": "grommet"}, None),
    ({"kind": "passes_through", "what": "bulkhead", "protected_by": "conduit"}, None),
    ({"kind": "passes_through", "what": "bulkhead", "protected_by": "clip"}, "no_grommet"),
    ({"kind": "passes_through", "what": "factory_grommet"}, None),
    ({"kind": "passes_edge", "what": "other"}, "no_grommet_perhaps"),
    ({"kind": "passes_edge", "what": "other", "protected_by": "none"}, "no_grommet"),
    ({"kind": "near", "what": "belt_anchorage"}, None),
    ({"kind": "near", "what": "exhaust", "distance_mm": Quantity.exactly(99)}, "near_hot"),
    ({"kind": "near", "what": "exhaust", "distance_mm": Quantity.exactly(100)}, None),
    ({"kind": "near", "what": "exhaust", "distance_mm": Quantity(low=60, high=200)}, "near_hot"),
    ({"kind": "near", "what": "exhaust"}, "near_hot"),
    ({"kind": "touches", "what": "exhaust", "distance_mm": Quantity.exactly(150)}, "near_hot"),
    ({"kind": "near", "what": "moving_part", "distance_mm": Quantity.exactly(75)}, None),
    ({"kind": "near", "what": "moving_part", "distance_mm": Quantity.exactly(74)}, "near_moving"),
    ({"kind": "touches", "what": "seat_track", "protected_by": "conduit"}, None),
    ({"kind": "near", "what": "brake_pipe", "distance_mm": Quantity.exactly(10)}, None),
    ({"kind": "near", "what": "fuel_pipe", "distance_mm": Quantity.exactly(9)}, "on_brake_or_fuel_pipe"),
    ({"kind": "tied_to", "what": "brake_pipe", "protected_by": "sleeve"}, "on_brake_or_fuel_pipe"),
    ({"kind": "near", "what": "airbag", "distance_mm": Quantity.exactly(500)}, "near_restraint"),
    ({"kind": "tied_to", "what": "restraint_loom", "protected_by": "sleeve"}, "near_restraint"),
    ({"kind": "near", "what": "high_voltage_cable"}, "near_high_voltage"),
    ({"kind": "touches", "what": "belt_anchorage"}, "on_belt_or_seat_fixing"),
    ({"kind": "tied_to", "what": "factory_loom"}, None),
    ({"kind": "touches", "what": "other", "rubbed": "yes"}, "rubbing"),
]  # fmt: skip


@pytest.mark.parametrize(("passage", "code"), ROUTES)
def test_route_is_adverse_where_the_trade_says_so(passage: Json, code: str | None) -> None:
    assert adverse(Passage(**passage)) == code


def test_cable_s_route_is_one_finding(bench: Reference) -> None:
    cable = {
        "kind": "lead",
        "id": "k",
        "route": [{"kind": "passes_through", "what": "bulkhead"}],
        "cores": [{"end_1": {"not_traced": True}}, {"end_1": {"not_traced": True}}],
    }
    found = [one for one in modifications(bench, cable) if one.kind == "routing"]

    assert len(found) == 1


def test_joint_in_a_door_gaiter_is_said(bench: Reference) -> None:
    line = tap(
        {"wire": "W40"},
        lead={"route": [{"kind": "passes_through", "what": "door_gaiter", "zone": "Z_SILL"}]},
        zone="Z_SILL",
        joint=CRIMP,
    )
    (finding,) = (one for one in case_from(bench, line).findings.findings if one.kind == "routing")

    assert "in_flex_point" in codes(finding)


def test_ends_that_take_each_other_s_place_join_nothing(bench: Reference) -> None:
    """Each of three wires ends where the next one did; nothing else is left there."""
    places = {"W12": "E3:54", "W32": "R1:30", "W40": "E1:58"}
    lines = [
        {"kind": "moved", "id": wire, "wire": wire, "end": 2, "to": {"terminal": to}} for wire, to in places.items()
    ]
    found = modifications(bench, *lines)

    assert [(one.kind, {fact.code for fact in one.facts}) for one in found] == [("moved_pin", {"moved"})] * 3
