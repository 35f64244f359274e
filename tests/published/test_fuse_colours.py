"""Colours of blade fuses against ISO 8820-3: body and colour together."""

from __future__ import annotations

from collections import Counter

import pytest

from harnessdiff.tables.loader import rows

# ISO 8820-3 / SAE J1284, neither of which was read. Secondary copy: a public German electronics page,
# agreeing with wikis. That type C and type E are the letters of these bodies is from memory.
TYPE_C = [
    (1, "black"),
    (2, "grey"),
    (3, "violet"),
    (4, "pink"),
    (5, "light brown"),
    (7.5, "brown"),
    (10, "red"),
    (15, "blue"),
    (20, "yellow"),
    (25, "clear"),
    (30, "green"),
    (35, "blue-green"),
    (40, "orange"),
]
# The large body's rows above 40 A, from the same page.
TYPE_E = [(50, "red"), (60, "blue"), (70, "light brown"), (80, "clear"), (100, "violet"), (120, "pink")]
PRINTED = [("blade type C", *row) for row in TYPE_C] + [("blade type E", *row) for row in TYPE_E]

TABLE = [(row["body"], float(row["rating_A"]), row["colour"]) for row in rows("fuse_colours")]


@pytest.mark.parametrize(("body", "rating_A", "colour"), PRINTED)
def test_body_and_rating_have_the_printed_colour(body: str, rating_A: float, colour: str) -> None:
    assert [found for one, rating, found in TABLE if (one, rating) == (body, rating_A)] == [colour]


@pytest.mark.parametrize(("body", "rating_A", "colour"), PRINTED)
def test_body_and_colour_have_one_rating(body: str, rating_A: float, colour: str) -> None:
    assert [rating for one, rating, found in TABLE if (one, found) == (body, colour)] == [rating_A]


def test_every_row_was_held_against_the_copy() -> None:
    assert sorted(TABLE) == sorted(PRINTED)


# Trap: the colour alone says nothing. A red fuse is 10 A in one body and 50 A in another.
def test_a_colour_alone_does_not_give_a_rating() -> None:
    ratings = {(body, rating) for body, rating, colour in TABLE if colour == "red"}
    bodies_of_a_colour = Counter(colour for _, _, colour in TABLE)

    assert ratings == {("blade type C", 10.0), ("blade type E", 50.0)}
    assert {colour for colour, count in bodies_of_a_colour.items() if count > 1} == {
        "red",
        "blue",
        "light brown",
        "clear",
        "violet",
        "pink",
    }
