"""Interlocks and key switches that joining two nets takes out of the way, and what a bypass is said to go past."""

from __future__ import annotations

import pytest

from harnessdiff.model.reference import Reference
from harnessdiff.read.reference import read_reference
from harnessdiff.resources import shipped_references
from tests.support import Json, case_from

CRIMP: Json = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}


def gone_past(reference: Reference, *lines: Json) -> tuple[set[str], set[str]]:
    """Devices that the findings say are gone past, and interlocks among them."""
    facts = [fact for one in case_from(reference, *lines).findings.findings for fact in one.modification.facts]
    passed = {str(fact.get("device")) for fact in facts if fact.code == "bypasses"}
    return passed, {str(fact.get("device")) for fact in facts if fact.code == "interlock"}


def bridge(one: Json, other: Json) -> Json:
    return {"kind": "bridge", "id": "b", "from": one, "to": other, "joints": [CRIMP, CRIMP], "lead": {"size_mm2": 2.5}}


@pytest.mark.parametrize(
    ("one", "other", "passed", "interlocks"),
    [
        # the starter's feed joined to its solenoid wire: relay, fuses, and what the relay's coil hangs on
        ({"terminal": "M1:30"}, {"wire": "W29"}, {"F9", "K16", "MF2", "S1", "S21"}, {"S21"}),
        # a coil fed from its own relay's feed cranks at once
        ({"terminal": "K16:30"}, {"terminal": "K16:86"}, {"S1", "S21"}, {"S21"}),
        # the fuel pump fed from a socket's fuse: the inertia switch no longer cuts it
        ({"terminal": "F35:out"}, {"wire": "W154"}, {"S22"}, {"S22"}),
        # permanent and ignition bus bars: the one way that can be, not the hazard switch in two positions at once
        ({"terminal": "BB2:1"}, {"terminal": "BB15:1"}, {"F21", "S1"}, set()),
        # two outputs of the ignition switch that it feeds in positions of their own
        ({"terminal": "S1:15"}, {"terminal": "S1:75"}, {"S1"}, set()),
        # left and right brake lamps hang on one net: nothing is gone past
        ({"wire": "W343"}, {"wire": "W347"}, set(), set()),
    ],
)  # fmt: skip
def test_what_joining_two_places_of_the_van_goes_past(
    van: Reference, one: Json, other: Json, passed: set[str], interlocks: set[str]
) -> None:
    """Derived by hand from the van's wiring."""
    assert gone_past(van, bridge(one, other)) == (passed, interlocks)


def test_a_stand_switch_shorted_in_its_tail_leaves_the_interlocks_beside_it_alone() -> None:
    """Neutral and clutch switch run beside the stand switch to ground; they still do what they did."""
    motorcycle = read_reference(shipped_references()["motorcycle"])
    one, other = motorcycle.harness.subjects("S6", "of")

    assert gone_past(motorcycle, bridge({"terminal": one}, {"terminal": other})) == ({"S6"}, {"S6"})
