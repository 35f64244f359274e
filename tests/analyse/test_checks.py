"""What to look at next; and what nobody may be sent to probe."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.checks import OFF_LIMITS
from harnessdiff.model.harness import Conductor, Terminal
from harnessdiff.pipeline import assess
from tests.strategies import plantings
from tests.support import Json, bench_data, case_from, found, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey
    from harnessdiff.pipeline import Case


def checks(finding: Finding) -> set[str]:
    return {check.code for check in finding.checks}


def off_limits(reference: Reference, element: str) -> bool:
    """Whether an element is of a restraint or high-voltage circuit, or of a device so marked."""
    harness = reference.harness
    thing = harness.by_id[element]
    wires = [thing] if isinstance(thing, Conductor) else []
    if isinstance(thing, Terminal):
        ends = harness.subjects(element, "end_1", "end_2")
        wires = [wire for end in ends if (wire := harness.conductor(end)) is not None]
    grounds = {"ground"}
    functions = {reference.function_of(wire.circuit) for wire in wires}
    device = harness.device(harness.device_of(element) if ":" in element else element)
    protected = device is not None and device.protected in OFF_LIMITS and functions != grounds
    return bool(functions & OFF_LIMITS) or protected


def send_nobody_to_probe(case: Case) -> None:
    """Of a finding that touches, or may touch, what is off limits nothing is proposed but a qualified person."""
    for finding in case.findings.findings:
        touched = {*finding.modification.elements, *(e for one in finding.possibilities for e in one.elements)}
        if any(off_limits(case.reference, element) for element in touched):
            assert checks(finding) <= {"by_qualified_person"}, finding.modification


YELLOW = {"base": "YE", "tracer": "unknown"}
RESTRAINT: dict[str, Json] = {
    "tap on its wire": {"kind": "tap", "on": {"wire": "W51"}},
    "tap on its feed": {"kind": "tap", "on": {"wire": "W50"}},
    "tap on its terminal": {"kind": "tap", "on": {"terminal": "SQ1:2"}},
    "tap on its module": {"kind": "tap", "on": {"terminal": "U9:A"}},
    "tap that may be on it": {"kind": "tap", "on": {"wire": {"size_mm2": 0.5, "zone": "Z_DASH"}}},
    "tap on a terminal that may be its": {"kind": "tap", "on": {"terminal": {"colour": YELLOW}}},
    "bridge to it": {"kind": "bridge", "from": {"wire": "W40"}, "to": {"wire": "W51"}},
    "box in series": {"kind": "insertion", "in": {"wire": "W52"}, "device": {"kind": "resistor"}},
    "box at the squib": {"kind": "insertion", "in": {"terminal": "SQ1:1"}, "device": {"kind": "resistor"}},
    "repair": {"kind": "repair", "wire": "W51"},
    "cut": {"kind": "cut", "wire": "W51"},
    "swap": {"kind": "swap", "between": [{"terminal": "SQ1:1"}, {"terminal": "SQ1:2"}]},
    "thinner wire": {"kind": "substitution", "wire": "W51", "fitted": {"size_mm2": 0.2}},
    "another squib": {"kind": "substitution", "element": "SQ1", "fitted": {"kind": "resistor"}},
    "squib gone": {"kind": "missing", "element": "SQ1"},
    "squib unplugged": {"kind": "missing", "element": "SQ1", "unplugged": True},
    "wire gone": {"kind": "missing", "wire": "W51"},
    "wire that may be gone": {"kind": "missing", "wire": {"size_mm2": 0.5, "zone": "Z_DASH"}},
    "end moved": {"kind": "moved", "wire": "W51", "end": 2, "to": {"terminal": "E2:58"}},
    "end moved to it": {"kind": "moved", "wire": "W12", "end": 2, "to": {"terminal": "SQ1:1"}},
    "squib elsewhere": {"kind": "moved", "element": "SQ1", "to_zone": "Z_ROOF"},
    "damage": {"kind": "damage", "on": [{"wire": "W51"}], "damage": "chafed"},
    "damage to the module": {"kind": "damage", "element": "U9", "damage": "corroded"},
    "damage at its terminal": {"kind": "damage", "on": [{"terminal": "SQ1:1"}], "damage": "corroded"},
    "something else": {"kind": "other", "on": [{"wire": "W51"}]},
}  # fmt: skip


def high_voltage_bench() -> Reference:
    """The bench with a high-voltage circuit in place of the restraint."""
    data = bench_data()
    for circuit in data["circuits"]:
        if circuit["id"] == "C_SRS":
            circuit["function"] = "high_voltage"
    for device in data["devices"]:
        if "protected" in device:
            device["protected"] = "high_voltage"
    return reference_from(data)


@pytest.mark.parametrize("line", RESTRAINT.values(), ids=RESTRAINT)
def test_nobody_is_sent_to_probe_the_restraint(bench: Reference, line: Json) -> None:
    case = case_from(bench, line | {"id": "o", "zone": "Z_DASH"})

    assert case.findings.findings
    send_nobody_to_probe(case)


@pytest.mark.parametrize("line", RESTRAINT.values(), ids=RESTRAINT)
def test_nobody_is_sent_to_probe_high_voltage(line: Json) -> None:
    send_nobody_to_probe(case_from(high_voltage_bench(), line | {"id": "o", "zone": "Z_DASH"}))


OPEN = [
    "tap on its wire",
    "tap on its terminal",
    "tap that may be on it",
    "tap on a terminal that may be its",
    "bridge to it",
]


@pytest.mark.parametrize("name", OPEN)
def test_what_is_open_about_the_restraint_is_left_to_a_qualified_person(bench: Reference, name: str) -> None:
    """Elsewhere the same lines propose to unwrap, to follow or to ring out."""
    (finding,) = case_from(bench, RESTRAINT[name] | {"id": "o", "zone": "Z_DASH"}).findings.findings

    assert checks(finding) == {"by_qualified_person"}


@settings(max_examples=80)
@given(st.data())
def test_nobody_is_ever_sent_to_probe_what_is_off_limits(data: st.DataObject) -> None:
    reference = reference_from(bench_data())

    send_nobody_to_probe(case_from(reference, *data.draw(plantings(reference))))


@settings(max_examples=5)
@given(st.data())
def test_nobody_is_ever_sent_to_probe_what_is_off_limits_on_the_van(van: Reference, data: st.DataObject) -> None:
    send_nobody_to_probe(case_from(van, *data.draw(plantings(van))))


def test_demo_sends_nobody_to_probe_the_restraint(van: Reference, demo_survey: Survey) -> None:
    send_nobody_to_probe(assess(van, demo_survey, electrical=False))


@pytest.mark.parametrize("name", ["tap on its wire", "squib gone", "damage"])
def test_restraint_s_caution_stands_with_the_finding(bench: Reference, name: str) -> None:
    (finding,) = case_from(bench, RESTRAINT[name] | {"id": "o"}).findings.findings

    assert "restraint" in finding.cautions


# -- what is proposed

TAP: Json = {"kind": "tap", "id": "t", "zone": "Z_TAIL"}
CRIMP = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve", "unwrapped": "yes"}
PROPOSED: list[tuple[str, Json, set[str]]] = [
    ("nothing is open", {"on": {"wire": "W12"}, "joint": CRIMP, "lead": {"size_mm2": 1}, "to": {"device": {}}}, set()),
    ("joint of unknown make", {"on": {"wire": "W12"}, "to": {"device": {}}, "lead": {"size_mm2": 1}}, {"unwrap"}),
    ("size not known", {"on": {"wire": "W12"}, "joint": CRIMP, "to": {"device": {}}}, {"measure_size"}),
    ("not followed", {"on": {"wire": "W12"}, "joint": CRIMP, "lead": {"size_mm2": 1}}, {"follow"}),
    ("place not known", {"joint": CRIMP, "lead": {"size_mm2": 1}}, {"find_the_wire", "follow"}),
    (
        "two wires fit",
        {"on": {"wire": {"connector": "X1"}}, "joint": CRIMP, "lead": {"size_mm2": 1}, "to": {"device": {}}},
        {"ring_out"},
    ),
]


@pytest.mark.parametrize(("line", "expected"), [row[1:] for row in PROPOSED], ids=[row[0] for row in PROPOSED])
def test_what_would_settle_it_is_proposed(bench: Reference, line: Json, expected: set[str]) -> None:
    assert checks(found(case_from(bench, TAP | line), "tap")) == expected


def test_ground_on_paint_is_to_be_measured_under_load(bench: Reference) -> None:
    joint = {"type": "under_screw", "fixing": "trim_screw", "tool": "hand"}
    lines: list[Json] = [
        {"kind": "device", "id": "d"},
        {"kind": "lead", "id": "l", "end_1": {"device": "d"}, "end_2": {"metal": "body", "joint": joint}},
    ]

    assert "drop_under_load" in checks(found(case_from(bench, *lines), "added_ground"))


def test_ringing_out_names_an_end_of_each_candidate(bench: Reference) -> None:
    finding = found(case_from(bench, TAP | {"on": {"wire": {"connector": "X1"}}}), "tap")
    (ring_out,) = (check for check in finding.checks if check.code == "ring_out")

    assert ring_out.get("ends") == ("W12 to SP1", "W14 to E1:31")


CAUTIONS: list[tuple[str, Json, set[str]]] = [
    ("always", {"kind": "tap", "on": {"wire": "W32"}}, {"battery_negative_first"}),
    ("a feed that is always live", {"kind": "tap", "on": {"wire": "W40"}}, {"source_end_first"}),
    (
        "at the battery",
        {"kind": "tap", "zone": "Z_BAY", "on": {"terminal": "BAT:+"}},
        {"battery_gas", "source_end_first"},
    ),
    ("brake lamps", {"kind": "tap", "on": {"wire": "W32"}}, {"safety_lamps"}),
    ("a larger fuse", {"kind": "substitution", "element": "F3", "fitted": {"rating_A": 30}}, {"never_uprate"}),
    (
        "something in series",
        {"kind": "insertion", "in": {"wire": "W30"}, "device": {"kind": "relay"}},
        {"cut_through_last"},
    ),
]


@pytest.mark.parametrize(("line", "expected"), [row[1:] for row in CAUTIONS], ids=[row[0] for row in CAUTIONS])
def test_cautions_that_belong_to_the_work_stand_with_it(bench: Reference, line: Json, expected: set[str]) -> None:
    findings = case_from(bench, line | {"id": "o"}).findings.findings

    assert any(expected <= set(finding.cautions) for finding in findings)


def test_caution_that_does_not_belong_is_not_given(bench: Reference) -> None:
    line = {"kind": "tap", "id": "t", "on": {"wire": "W40"}, "lead": {"size_mm2": 0.5}}
    (finding,) = case_from(bench, line).findings.findings

    assert set(finding.cautions) == {"battery_negative_first", "source_end_first"}
