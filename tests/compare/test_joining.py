"""What is joined besides what is gone past, through added contacts and diodes, and across cuts."""

from __future__ import annotations

import pytest

from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.reference import Reference
from tests.support import Json, case_from

TWISTED: Json = {"type": "twisted", "cover": "tape"}


def modifications(reference: Reference, *lines: Json) -> list[Modification]:
    return [one.modification for one in case_from(reference, *lines).findings.findings]


def fact(modification: Modification, code: str) -> Fact | None:
    return next((one for one in modification.facts if one.code == code), None)


def joint_of(*wires: str) -> Json:
    return {"kind": "joint", "id": "j", **TWISTED, "members": [{"wire": wire} for wire in wires]}


def test_a_joint_past_a_switch_that_takes_in_another_circuit_joins_it_as_well(bench: Reference) -> None:
    (one,) = modifications(bench, joint_of("W30", "W31", "W11"))

    assert one.kind == "bypass"
    assert fact(one, "bypasses") is not None
    assert fact(one, "joins_circuits") == Fact.of("joins_circuits", circuits=("C_SIDE", "C_STOP"))


def test_a_joint_past_a_switch_that_takes_in_ground_is_joined_to_ground(bench: Reference) -> None:
    (one,) = modifications(bench, joint_of("W30", "W31", "W33"))

    assert one.kind == "bypass"
    assert fact(one, "to_ground") is not None


def test_a_joint_past_a_switch_alone_joins_nothing_else(bench: Reference) -> None:
    (one,) = modifications(bench, joint_of("W30", "W31"))

    assert one.kind == "bypass"
    assert fact(one, "joins_circuits") is None
    assert fact(one, "to_ground") is None


def test_a_wire_cut_and_joined_again_together_with_another_circuit_is_a_bridge(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W31"},
        {"kind": "lead", "id": "l", "size_mm2": 0.75},
        {
            "kind": "joint", "id": "j", **TWISTED,
            "members": [{"cut": "c", "side": 1}, {"cut": "c", "side": 2}, {"lead": "l", "end": 1}],
        },
        {"kind": "joint", "id": "k", **TWISTED, "members": [{"wire": "W11"}, {"lead": "l", "end": 2}]},
    ]  # fmt: skip
    (one,) = modifications(bench, *lines)

    assert one.kind == "bridge"
    assert fact(one, "wire_cut") is not None
    assert fact(one, "joins_circuits") == Fact.of("joins_circuits", circuits=("C_SIDE", "C_STOP"))
    assert "+c" in one.added


def test_a_piece_given_up_between_two_cuts_and_spanned_by_a_lead_is_one_repair(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W31", "at": {"from_end": 1, "distance_m": 0.3}},
        {"kind": "cut", "id": "d", "wire": "W31", "at": {"from_end": 1, "distance_m": 0.9}},
        {"kind": "lead", "id": "l", "size_mm2": 0.5},
        {"kind": "joint", "id": "j", **TWISTED, "members": [{"cut": "c", "side": 1}, {"lead": "l", "end": 1}]},
        {"kind": "joint", "id": "k", **TWISTED, "members": [{"cut": "d", "side": 2}, {"lead": "l", "end": 2}]},
    ]
    (one,) = modifications(bench, *lines)

    assert one.kind == "repair"
    assert {"+c", "+d"} <= set(one.added)
    assert fact(one, "insert_thinner") == Fact.of("insert_thinner", was=0.75, now=0.5)


def test_two_cuts_with_nothing_between_them_joined_are_two_open_circuits(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W31", "at": {"from_end": 1, "distance_m": 0.3}},
        {"kind": "cut", "id": "d", "wire": "W31", "at": {"from_end": 1, "distance_m": 0.9}},
    ]

    assert [one.kind for one in modifications(bench, *lines)] == ["open_circuit", "open_circuit"]


def test_a_ground_wire_cut_and_led_to_other_metal_is_a_moved_ground(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "cut", "id": "c", "wire": "W33"},
        {
            "kind": "joint", "id": "j", "type": "ring_terminal", "fixing": "trim_screw",
            "members": [{"cut": "c", "side": 1}, {"metal": "body"}],
        },
    ]  # fmt: skip
    (one,) = modifications(bench, *lines)

    assert one.kind == "moved_ground"
    assert fact(one, "poor_ground_contact") is not None
    moved = fact(one, "moved")
    assert moved is not None
    assert moved.get("was") == "GND1:1"


def test_damage_that_joins_a_wire_to_metal_joins_it_to_ground_and_no_circuits(bench: Reference) -> None:
    line: Json = {
        "kind": "damage", "id": "g", "damage": "screw_through", "conducts": "yes",
        "on": [{"wire": "W31"}, {"metal": "body"}],
    }  # fmt: skip
    (one,) = modifications(bench, line)

    assert fact(one, "to_ground") is not None
    assert fact(one, "joins_circuits") is None


RELAY: Json = {
    "kind": "device", "id": "k", "sort": "relay", "terminals": ["30", "87", "85", "86"],
    "contents": [
        {"kind": "link", "between": ["30", "87"], "when": {"energised": True}},
        {"kind": "coil", "between": ["86", "85"]},
    ],
}  # fmt: skip


def lead_to(wire: str, pin: str, number: int, **lead: object) -> Json:
    return {
        "kind": "tap", "id": f"t{number}", "on": {"wire": wire}, "joint": {"type": "splice_barrel", "tool": "ratchet"},
        "lead": {"size_mm2": 0.75, **lead}, "to": {"device": "k", "pin": pin},
    }  # fmt: skip


@pytest.mark.parametrize("wire", ["W31", "W11"])
def test_the_contact_of_an_added_relay_joins_two_circuits_that_the_maker_feeds(bench: Reference, wire: str) -> None:
    found = modifications(bench, RELAY, lead_to("W31", "30", 1), lead_to("W11", "87", 2))
    (one,) = (one for one in found if wire in one.elements)

    assert fact(one, "joins_circuits") == Fact.of("joins_circuits", circuits=("C_SIDE", "C_STOP"))
    assert fact(one, "through_device") == Fact.of("through_device", device="+k")


def diode_towards(end: int) -> dict[str, object]:
    return {"inline": [{"kind": "diode", "distance_m": 0.1, "conducts_towards_end": end}]}


def test_a_diode_from_one_circuit_to_another_joins_them_one_way(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "lead", "id": "l", "length_m": 0.5, **diode_towards(2)},
        {"kind": "joint", "id": "j", **TWISTED, "members": [{"wire": "W31"}, {"lead": "l", "end": 1}]},
        {"kind": "joint", "id": "k", **TWISTED, "members": [{"wire": "W11"}, {"lead": "l", "end": 2}]},
    ]

    assert all(fact(one, "joins_circuits") is not None for one in modifications(bench, *lines))


@pytest.mark.parametrize(("ends", "joined"), [((2, 2), False), ((1, 1), False), ((2, 1), True)])
def test_two_diodes_that_face_each_other_keep_circuits_apart(
    bench: Reference, ends: tuple[int, int], joined: bool
) -> None:
    box: Json = {
        "kind": "device", "id": "k", "sort": "module", "terminals": ["IN", "-"],
        "contents": [{"kind": "load", "between": ["IN", "-"], "model": "current", "rated_A": 0.01}],
    }  # fmt: skip
    one, other = diode_towards(ends[0]), diode_towards(ends[1])
    found = modifications(bench, box, lead_to("W31", "IN", 1, **one), lead_to("W11", "IN", 2, **other))

    assert any(fact(modification, "joins_circuits") is not None for modification in found) == joined


@pytest.mark.parametrize(("wire", "lost"), [("W33", True), ("W31", False), ("W10", False)])
def test_a_cut_ground_wire_takes_the_ground_of_what_hangs_on_it(bench: Reference, wire: str, lost: bool) -> None:
    (one,) = modifications(bench, {"kind": "cut", "id": "c", "wire": wire})

    assert one.kind == "open_circuit"
    assert (fact(one, "lost_ground") is not None) == lost
