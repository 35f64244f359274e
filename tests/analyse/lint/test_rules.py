"""The table of rules and the code that objects say the same, and every rule has a case."""

from __future__ import annotations

import ast
import string
from importlib.resources import files
from typing import get_args

import pytest

from harnessdiff.model.parts import Part
from harnessdiff.pipeline import lint
from harnessdiff.report.objections import LEVELS, message_of, rules
from tests.analyse.lint import test_feeding, test_gaps, test_practice, test_protection, test_structure
from tests.analyse.lint.sound import Case, changed, gains, objected
from tests.support import reference_from

CASES: tuple[Case, ...] = tuple(
    one for module in (test_structure, test_feeding, test_protection, test_practice, test_gaps) for one in module.CASES
)
PARTS = {f"gap_{part.__name__.lower()}" for part in get_args(Part)}
STALE = "waiver_without_cause"


def emitted() -> set[str]:
    """Rules that a call of ``Objection.to`` in the code names."""
    found: set[str] = set()
    for module in files("harnessdiff.analyse.lint").iterdir():
        if module.name.endswith(".py"):
            for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Call) and ast.unparse(node.func) == "Objection.to":
                    rule = node.args[1]
                    found |= {rule.value} if isinstance(rule, ast.Constant) else PARTS  # type: ignore[arg-type]
    return found


def test_the_code_objects_by_the_rules_of_the_table_and_by_all_of_them() -> None:
    assert emitted() == set(rules())


def test_every_rule_has_a_case() -> None:
    assert {one.rule for one in CASES} | {STALE} == set(rules())


def test_nobody_objects_to_the_sound_reference() -> None:
    assert objected() == []


def test_a_waiver_that_answers_nothing_is_objected_to() -> None:
    found = objected(gains("as_built", {"element": "W2", "because": "old habit"}))

    assert found == [(STALE, "W2", {"because": "old habit"})]


def named_in(one: Case) -> list[str]:
    """Names and members that a person must find in the file, letter for letter."""
    template = rules()[one.rule].message
    return [value for name, value in one.params.items() if f"{{{name}}}" in template and isinstance(value, str)]


@pytest.mark.parametrize("one", CASES, ids=lambda one: f"{one.rule}: {one.what}")
def test_the_words_of_a_rule_are_filled_from_what_the_objection_holds(one: Case) -> None:
    (found,) = (each for each in lint(reference_from(changed(*one.changes))) if each.waived is None)

    assert "{" not in message_of(found)
    assert [part for part in named_in(one) if part not in message_of(found)] == []


@pytest.mark.parametrize("rule", sorted(rules()))
def test_a_rule_has_a_level_words_a_remedy_and_a_source(rule: str) -> None:
    row = rules()[rule]

    assert row.level in LEVELS
    assert (row.level == "gap") == rule.startswith("gap_")
    assert (row.level == "gap") == bool(row.needed_for)
    assert row.message
    assert row.mend
    assert row.source


@pytest.mark.parametrize("rule", sorted(rules()))
def test_a_remedy_is_the_same_for_all_of_its_rule_unless_it_names_what_to_add(rule: str) -> None:
    """A list of five loads without ground does not say five times what to do."""
    named = {name for _, name, _, _ in string.Formatter().parse(rules()[rule].mend) if name}

    assert named <= {"member"}
