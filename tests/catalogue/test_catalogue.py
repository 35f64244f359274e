"""The catalogue: every kind of modification once, each with a sound twin that must not be flagged."""

from __future__ import annotations

import json
from collections import Counter
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import networkx as nx
import pytest

from harnessdiff.model.edit import Added, Attached, Changed, Detached, Edit, Removed, difference
from harnessdiff.pipeline import Case, assess
from harnessdiff.read.schema import validator
from harnessdiff.read.survey import survey_of
from harnessdiff.report.findings_json import findings_document
from tests.support import Json, codes, document, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding

HERE = Path(__file__).parent
KINDS = [f"M{number:02}" for number in range(1, 67)]

cases = pytest.mark.parametrize("kind", KINDS)
surveys = pytest.mark.parametrize("which", ["survey", "twin"])


def entry(kind: str) -> Json:
    loaded: Json = json.loads((HERE / f"{kind}.json").read_text(encoding="utf-8"))
    return loaded


@cache
def assessed(kind: str, which: str) -> Case:
    written = entry(kind)
    reference = reference_from(written["reference"])
    return assess(reference, survey_of(document(written[which], f"{kind}.{which}"), reference))


def devices_and_elements(finding: Finding) -> set[str]:
    """Reference elements of a finding; terminals count as their device."""
    return {element.split(":")[0] for element in finding.modification.elements}


def fits(expected: Json, finding: Finding) -> bool:
    return (
        finding.kind == expected["kind"]
        and set(expected["facts"]) <= codes(finding)
        and set(expected.get("on", ())) <= devices_and_elements(finding)
    )


def described(finding: Finding) -> str:
    facts = ", ".join(sorted(codes(finding)))
    return f"{finding.kind} on {', '.join(finding.modification.elements)} ({facts}): {finding.rating.worst}"


def test_catalogue_holds_the_66_kinds_and_nothing_else() -> None:
    assert sorted(path.stem for path in HERE.glob("*.json")) == KINDS


@cases
def test_entry_is_called_by_its_number(kind: str) -> None:
    assert entry(kind)["id"] == kind


@cases
def test_expected_findings_are_found_and_nothing_else_is_flagged(kind: str) -> None:
    expected = entry(kind)["expect"]["findings"]
    findings = assessed(kind, "survey").findings.findings
    pairs: nx.Graph[tuple[str, int]] = nx.Graph()
    pairs.add_nodes_from(("expected", place) for place in range(len(expected)))
    pairs.add_edges_from(
        (("expected", place), ("found", number))
        for place, one in enumerate(expected)
        for number, finding in enumerate(findings)
        if fits(one, finding)
    )
    wanted = [("expected", place) for place in range(len(expected))]
    matched = nx.bipartite.maximum_matching(pairs, top_nodes=wanted)

    missed = [one for place, one in enumerate(expected) if ("expected", place) not in matched]
    unexpected = [
        described(finding)
        for number, finding in enumerate(findings)
        if finding.rating.flagged and ("found", number) not in matched
    ]

    assert (missed, unexpected) == ([], [])


@cases
def test_expected_findings_are_flagged(kind: str) -> None:
    """Surroundings alone are none: they are recorded, and make worse what lies in them."""
    expected = [one for one in entry(kind)["expect"]["findings"] if one["kind"] != "surroundings"]
    flagged = assessed(kind, "survey").findings.flagged

    assert [one for one in expected if not any(fits(one, finding) for finding in flagged)] == []


@cases
def test_twin_is_not_flagged(kind: str) -> None:
    flagged = assessed(kind, "twin").findings.flagged

    assert [described(finding) for finding in flagged] == []


@cases
def test_twin_records_exactly_the_kinds_it_should(kind: str) -> None:
    recorded = {finding.kind for finding in assessed(kind, "twin").findings.findings}

    assert recorded == set(entry(kind)["twin_findings"])


@cases
@surveys
def test_findings_document_is_valid(kind: str, which: str) -> None:
    written = json.loads(json.dumps(findings_document(assessed(kind, which).findings)))

    assert [error.message for error in validator("findings").iter_errors(written)] == []


@cases
@surveys
def test_edits_make_the_as_found_harness_of_the_reference(kind: str, which: str) -> None:
    case = assessed(kind, which)
    elements = {element.id: element for element in case.reference.harness.elements}
    incidences = set(case.reference.harness.incidences)
    for edit in case.findings.edits:
        match edit:
            case Added(element) | Changed(_, element):
                elements[element.id] = element
            case Removed(element):
                del elements[element.id]
            case Attached(incidence):
                incidences.add(incidence)
            case Detached(incidence):
                incidences.remove(incidence)

    assert set(elements.values()) == set(case.as_found.elements)
    assert incidences == set(case.as_found.incidences)
    assert difference(case.reference.harness, case.as_found) == case.findings.edits


def names_of(edit: Edit) -> set[str]:
    match edit:
        case Added(element) | Removed(element) | Changed(element, _):
            return {element.id.split(":")[0]}
        case Attached(incidence) | Detached(incidence):
            return {incidence.subject.split(":")[0], incidence.target.split(":")[0]}


@cases
@surveys
def test_every_edit_is_in_one_finding_or_concerns_what_an_install_shares(kind: str, which: str) -> None:
    findings = assessed(kind, which).findings
    shared = {thing for install in findings.installs for thing in install.shared}
    accounts = Counter(edit for finding in findings.findings for edit in finding.modification.edits)

    assert set(accounts) <= set(findings.edits)
    assert [edit for edit, times in accounts.items() if times > 1] == []
    assert [edit for edit in findings.edits if edit not in accounts and not names_of(edit) & shared] == []


def test_surveys_of_the_catalogue_change_something() -> None:
    unchanged = [kind for kind in KINDS if not assessed(kind, "survey").findings.edits]

    assert unchanged == []
