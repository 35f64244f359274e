"""Every demo survey against what professionals expected of it: all of that is found, and nothing else."""

from __future__ import annotations

import json
from functools import cache
from typing import TYPE_CHECKING

import networkx as nx
import pytest

from harnessdiff.pipeline import Case, assess
from harnessdiff.read.json_text import load_document
from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import survey_of
from harnessdiff.resources import shipped_cases, shipped_references
from tests.drawing import solved_demo_case
from tests.support import Json, codes

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding

CASES = shipped_cases()
DRAWN = "light_van_inspector"

demos = pytest.mark.parametrize("name", CASES)


def expected_of(name: str) -> list[Json]:
    findings: list[Json] = json.loads((CASES[name].parent / "expected.json").read_text(encoding="utf-8"))["findings"]
    return findings


@cache
def assessed(name: str) -> Case:
    if name == DRAWN:
        return solved_demo_case()  # the same files, assessed for others, too
    document = load_document(CASES[name])
    reference = read_reference(shipped_references()[document.data["reference"]["id"]])
    return assess(reference, survey_of(document, reference))


def elements_of(finding: Finding) -> set[str]:
    """Everything of the reference that a finding is on, or may be on."""
    possible = {element for one in finding.possibilities for element in one.elements}
    return {*finding.modification.elements, *possible}


def fits(expected: Json, finding: Finding) -> bool:
    return (
        finding.kind == expected["kind"]
        and set(expected["on"]) <= elements_of(finding)
        and set(expected["facts"]) <= codes(finding)
        and expected["acceptable"] != finding.rating.flagged
    )


def described(finding: Finding) -> str:
    facts = ", ".join(sorted(codes(finding)))
    return f"{finding.kind} on {', '.join(sorted(elements_of(finding)))} ({facts}): {finding.rating.worst}"


@demos
def test_every_expected_finding_is_found_and_no_other(name: str) -> None:
    expected, findings = expected_of(name), assessed(name).findings.findings
    pairs: nx.Graph[tuple[str, int]] = nx.Graph()
    wanted = [("expected", place) for place in range(len(expected))]
    pairs.add_nodes_from(wanted)
    pairs.add_edges_from(
        (("expected", place), ("found", number))
        for place, one in enumerate(expected)
        for number, finding in enumerate(findings)
        if fits(one, finding)
    )
    matched = nx.bipartite.maximum_matching(pairs, top_nodes=wanted)

    missed = [one for place, one in enumerate(expected) if ("expected", place) not in matched]
    unexpected = [described(one) for number, one in enumerate(findings) if ("found", number) not in matched]

    assert (missed, unexpected) == ([], [])


def test_fan_fed_from_the_main_supply_is_no_second_battery() -> None:
    """Its feed touches main supply and charging, as a second battery's would; but no battery is among its devices."""
    installs = assessed("period_car_restorer").findings.installs
    (fan,) = (one for one in installs if "+D2" in one.devices)

    assert [like.install for like in fan.consistent_with][:1] == ["fan_override"]
    assert "second_battery" not in {like.install for like in fan.consistent_with}


def test_plunger_switch_goes_past_everything_in_series_before_the_brake_lamps() -> None:
    (bypass,) = (one for one in assessed("period_car_restorer").findings.findings if "W53" in one.modification.elements)
    passed = [fact.get("device") for fact in bypass.modification.facts if fact.code == "bypasses"]

    assert passed == ["F2", "S1", "S5"]
