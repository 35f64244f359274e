"""The shipped example of an own policy: it moves findings that its changed lines speak of, and no others."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING

from harnessdiff.model.policy import Cap, Factor, Forbidden, JointLine
from harnessdiff.model.policy_lines import differences
from harnessdiff.pipeline import Case, assess
from harnessdiff.rate.joints import may_be
from harnessdiff.read.json_text import load_document
from harnessdiff.read.policy import shipped_policy
from harnessdiff.read.survey import survey_of
from tests.drawing import HERE, demo_case
from tests.support import reference_from

if TYPE_CHECKING:
    from harnessdiff.model.findings import Finding
    from harnessdiff.model.rating import Mechanism, Rating

HARBOUR = shipped_policy("harbour_mutual")
CHANGED = tuple(differences(HARBOUR, shipped_policy("default")))


@cache
def harbour_case() -> Case:
    """The demo, rated by the example; not solved as networks."""
    reference = reference_from(json.loads((HERE.parent / "reference_harnesses/light_van/light_van.json").read_bytes()))
    survey = load_document(HERE.parent / "demo/light_van_inspector/survey.json")
    return assess(reference, survey_of(survey, reference), electrical=False, policy=HARBOUR)


def pairs() -> list[tuple[Finding, Finding]]:
    """Every finding by the default policy, and by the example."""
    by_id = {one.id: one for one in harbour_case().findings.findings}
    return [(one, by_id[one.id]) for one in demo_case().findings.findings]


def meets_a_changed_line(finding: Finding) -> bool:
    """Whether something of a finding is what a changed line speaks of, whatever it weighs."""
    facts = {fact.code for fact in finding.modification.facts} | {finding.kind}
    makes = {row.joint for joint in finding.joints for row in may_be(joint.details)}
    states = {f"joint_{state}" for joint in finding.joints for state in joint.details.condition}
    found = False
    for one in CHANGED:
        match one.now:
            case Factor(code=code):
                found |= code in facts
            case JointLine(joint=joint):
                found |= joint in makes
            case Forbidden(joint=joint, functions=functions):
                found |= joint in makes and bool(set(functions) & set(finding.functions))
            case Cap(unless=unless):
                was = set(one.was.unless) if isinstance(one.was, Cap) else set()
                found |= bool((set(unless) ^ was) & states)
            case _:
                raise AssertionError(f"say what it means to meet {one.name}")
    return found


def bare(rating: Rating) -> tuple[object, ...]:
    """A rating without the reasons that policies give in their own words."""

    def without(one: Mechanism) -> Mechanism:
        return replace(one, contributions=tuple(replace(each, why="", source="") for each in one.contributions))

    return rating.best, rating.worst, tuple(map(without, rating.mechanisms)), rating.opens


def test_a_finding_that_meets_no_changed_line_is_rated_as_before() -> None:
    others = [(own, its) for own, its in pairs() if not meets_a_changed_line(own)]

    assert others
    assert all(bare(own.rating) == bare(its.rating) for own, its in others)


def test_the_findings_whose_level_changes_meet_a_changed_line_and_are_a_few() -> None:
    moved = [own for own, its in pairs() if (own.rating.best, own.rating.worst) != (its.rating.best, its.rating.worst)]

    assert moved
    assert len(moved) < len(pairs()) / 4
    assert all(meets_a_changed_line(one) for one in moved)


def test_the_document_says_which_lines_are_changed() -> None:
    assert harbour_case().findings.policy.changed == tuple(one.name for one in CHANGED)
    assert all(one.now is None or one.now.why for one in CHANGED)
