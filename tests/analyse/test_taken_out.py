"""Who answers where no way of a current says it: what brings back the old state when it is taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.analyse.rigs import added, at, bridge, condition, ground, load, of, seen, tap, two_lamps

if TYPE_CHECKING:
    from harnessdiff.model.consequence import Consequence
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case

BRIDGE = bridge("b1", at("W_S_1"), at("W_T_1"))
TAPPED = (added("d1", load(0.5)), tap("t1", at("W_T_1"), "d1"), ground("l2", "d1"))


def of_makers_wires(case: Case) -> list[tuple[str, Consequence]]:
    """What is said of the protection of the maker's own wires, with who answers ("" where nobody does)."""
    return [(kind, one) for kind, one in of(case, "protection") if not one.subject.startswith("+")]


def rig() -> Reference:
    return two_lamps(conditions=[condition("asleep"), condition("right", "T")])


def test_bridge_answers_for_the_wires_that_a_second_fuse_feeds_by_it() -> None:
    """It is on no way from the other fuse's own side, and the tap beside it brings no fuse."""
    found = of_makers_wires(seen(rig(), BRIDGE, *TAPPED))

    assert [(kind, one.subject, one.get("together_A")) for kind, one in found] == [("bridge", "W_T_1", 20.0)]


def test_wire_moved_to_another_fuse_answers_for_what_that_feeds_now() -> None:
    """Its other end is at the far side of the first fuse, which it now feeds by the second."""
    moved = {"kind": "moved", "id": "v1", "zone": "Z", "wire": "W_T_1", "end": 2, "to": {"terminal": "F:out"}}
    case = seen(rig(), moved, *TAPPED)

    assert {kind for kind, _ in of_makers_wires(case)} == {"moved_pin"}
    assert not [one for one in case.findings.of_the_whole if one.code == "protection"]


def test_what_no_modification_brings_alone_is_said_of_the_whole() -> None:
    """Two bridges side by side: without either, the two fuses still feed the wires together."""
    other = bridge("b2", at("W_S_1", 0.7), at("W_T_1", 0.7))
    found = of_makers_wires(seen(rig(), BRIDGE, other))

    assert [(kind, one.subject, one.get("together_A")) for kind, one in found] == [("", "W_T_1", 20.0)]
