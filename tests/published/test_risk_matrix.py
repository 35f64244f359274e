"""The risk matrix against MIL-STD-882E Table III."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest

from harnessdiff.model.rating import LEVELS, PROBABILITIES, SEVERITIES
from harnessdiff.tables.loader import risk_matrix

# MIL-STD-882E (2012) Table III, p. 12. Secondary copy: two independent public transcriptions that
# state they copied the standard, and agree. Rows: probability; columns: severity I, II, III, IV.
PRINTED = {
    "A": ("High", "High", "Serious", "Medium"),
    "B": ("High", "High", "Serious", "Medium"),
    "C": ("High", "Serious", "Medium", "Low"),
    "D": ("Serious", "Medium", "Medium", "Low"),
    "E": ("Medium", "Medium", "Medium", "Low"),
}
CELLS = [
    (severity, probability, level)
    for probability, levels in PRINTED.items()
    for severity, level in zip(("I", "II", "III", "IV"), levels, strict=True)
]

# Cells as other public copies have them, wrongly. Each is a copying error that was seen.
WRONG_COPIES = [
    ("I", "C", "Serious"),
    ("II", "B", "Serious"),
    ("II", "E", "Low"),
    ("III", "B", "Medium"),
    ("III", "D", "Low"),
    ("III", "E", "Low"),
    ("IV", "B", "Low"),
    ("IV", "C", "Medium"),
]


@pytest.mark.parametrize(("severity", "probability", "level"), CELLS)
def test_every_cell_is_as_printed(severity: str, probability: str, level: str) -> None:
    assert risk_matrix()[severity, probability] == level


@pytest.mark.parametrize(("severity", "probability", "wrong"), WRONG_COPIES)
def test_no_cell_is_as_in_a_wrong_copy(severity: str, probability: str, wrong: str) -> None:
    assert risk_matrix()[severity, probability] != wrong


def test_there_are_twenty_cells_and_as_many_of_each_level_as_printed() -> None:
    assert Counter(risk_matrix().values()) == {"High": 5, "Serious": 4, "Medium": 8, "Low": 3}
    assert set(risk_matrix()) == {(severity, probability) for severity, probability, _ in CELLS}


def test_the_model_knows_the_matrixs_words_and_no_others() -> None:
    assert set(SEVERITIES) == {severity for severity, _ in risk_matrix()}
    assert set(PROBABILITIES) == {probability for _, probability in risk_matrix()}
    assert set(LEVELS) == set(risk_matrix().values())


def test_worse_or_more_probable_is_never_a_lower_level() -> None:
    rank = {cell: LEVELS.index(level) for cell, level in risk_matrix().items()}
    for severity, worse in itertools.pairwise(SEVERITIES):
        assert all(rank[severity, probability] <= rank[worse, probability] for probability in PROBABILITIES)
    for probability, likelier in itertools.pairwise(PROBABILITIES):
        assert all(rank[severity, probability] <= rank[severity, likelier] for severity in SEVERITIES)


def test_what_is_eliminated_has_no_cell() -> None:
    """Table III has a row F, Eliminated, beside its twenty cells: what is no longer there is no finding."""
    assert "F" not in PROBABILITIES
    assert "F" not in {probability for _, probability in risk_matrix()}


@pytest.mark.parametrize(("severity", "probability", "wrong"), WRONG_COPIES)
def test_each_wrong_copy_differs_in_a_cell_that_is_printed(severity: str, probability: str, wrong: str) -> None:
    """So that each of the negative tests above could fail."""
    assert wrong in LEVELS
    assert (severity, probability) in {(row[0], row[1]) for row in CELLS}
