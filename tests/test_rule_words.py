"""Rules in words: one line each, that says how far to trust it."""

from __future__ import annotations

import re

import pytest

from harnessdiff import rule_words as spoken
from harnessdiff.model.rules import REALMS, DirectiveItem, RuleMet
from harnessdiff.rule_words import directive_words, rule_words
from harnessdiff.tables.rules import DirectiveRow, RuleRow, directive_rows, rule_rows

CODE = re.compile(r"\b[a-z]+_[a-z_]+\b")


@pytest.mark.parametrize("row", directive_rows(), ids=lambda row: row.reason)
def test_every_item_has_a_line_that_is_provisional(row: DirectiveRow) -> None:
    said = directive_words(
        DirectiveItem(item=row.item, part=row.part, category=row.category, because=("x",), reasons=(row.reason,))
    )

    assert "provisional: our text is from memory; the authorised tester decides" in said
    assert f"{row.item}({row.part})" in said
    assert f"{row.category}, {row.words} (" in said
    assert not CODE.search(said)
    assert "\n" not in said


@pytest.mark.parametrize("row", rule_rows().values(), ids=lambda row: row.rule)
def test_every_rule_has_a_line_and_analogies_end_so(row: RuleRow) -> None:
    said = rule_words(RuleMet(rule=row.rule, realm=row.realm, because=("x",)))

    assert row.source in said
    assert row.statement in said
    assert said.endswith("by analogy") is (row.realm != "road")
    assert ("from memory" in said) is (row.status == "from memory")
    assert ("surely" in said) is row.computed
    assert not CODE.search(said)
    assert "\n" not in said


def test_what_is_met_at_worst_says_so() -> None:
    assert "runs into it at worst" in rule_words(RuleMet(rule="33cfr183.445", realm="boat", because=("x",), sure=False))
    assert "at worst" not in rule_words(RuleMet(rule="33cfr183.445", realm="boat", because=("x",)))


def test_every_part_and_realm_has_words_and_no_others() -> None:
    assert set(spoken.PARTS) == {(row.item, row.part) for row in directive_rows()}
    assert set(spoken.REALMS) == set(REALMS)
