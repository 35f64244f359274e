"""Terminal numbers against DIN 72552, and which of two meanings 87 has."""

from __future__ import annotations

import pytest

from harnessdiff.errors import InputError
from harnessdiff.tables.loader import rows
from tests.support import least_reference, reference_from

# DIN 72552: number and words that its meaning must hold. Secondary copy: four public copies of the
# table agree on these; the standard itself was not read.
PRINTED = [
    ("1", ("ignition coil", "low voltage")),
    ("4", ("ignition coil", "high voltage")),
    ("15", ("switched plus", "after", "ignition")),
    ("15a", ("ballast", "coil", "starter")),
    ("17", ("glow", "start")),
    ("19", ("glow", "preheat")),
    ("30", ("battery plus", "direct")),
    ("30a", ("second battery", "plus")),
    ("31", ("battery minus", "ground", "direct")),
    ("31b", ("ground", "switch")),
    ("49", ("flasher", "in")),
    ("49a", ("flasher", "out")),
    ("49b", ("flasher", "second")),
    ("49c", ("flasher", "third")),
    ("50", ("starter control",)),
    ("53", ("wiper", "plus in")),
    ("53a", ("wiper", "self-park")),
    ("53b", ("wiper", "shunt winding")),
    ("53c", ("washer pump",)),
    ("53e", ("wiper", "brake winding")),
    ("53i", ("wiper", "third brush", "high speed")),
    ("54", ("brake lamp",)),
    ("55", ("fog lamp",)),
    ("58", ("side", "tail", "plate")),
    ("58L", ("left",)),
    ("58R", ("right",)),
    ("58d", ("instrument",)),
    ("61", ("charge", "lamp")),
    ("L", ("turn", "left")),
    ("R", ("turn", "right")),
    ("C", ("turn", "telltale")),
    ("C2", ("turn", "telltale", "second")),
    ("C3", ("turn", "telltale", "third")),
    ("B+", ("battery plus",)),
    ("B-", ("battery minus",)),
    ("D+", ("generator", "plus")),
    ("D-", ("generator", "minus")),
    ("DF", ("generator", "field")),
    ("85", ("relay coil", "end")),
    ("86", ("relay coil", "start")),
    ("87", ("relay contact",)),
    ("87a", ("relay contact", "opens")),
    ("87b", ("relay contact", "closes")),
]

# Provisional: DIN 72552 from memory, in no copy that was read.
FROM_MEMORY = [
    ("56", ("headlamp",)),
    ("56a", ("high beam",)),
    ("56b", ("low beam",)),
    ("56d", ("headlamp", "flash")),
    ("57", ("parking lamp",)),
    ("57a", ("parking lamp",)),
    ("75", ("radio",)),
]

TABLE = {row["number"]: row for row in rows("terminals")}


@pytest.mark.parametrize(("number", "words"), PRINTED)
def test_every_printed_number_means_what_is_printed(number: str, words: tuple[str, ...]) -> None:
    assert [word for word in words if word not in TABLE[number]["meaning"]] == []
    assert TABLE[number]["status"] == "secondary copy"


@pytest.mark.parametrize(("number", "words"), FROM_MEMORY)
def test_a_number_from_memory_says_so(number: str, words: tuple[str, ...]) -> None:
    assert [word for word in words if word not in TABLE[number]["meaning"]] == []
    assert TABLE[number]["status"] == "from memory"


def test_no_number_is_there_twice_or_without_a_check_here() -> None:
    checked = {number for number, _ in [*PRINTED, *FROM_MEMORY]}

    assert len(TABLE) == len(rows("terminals"))
    assert set(TABLE) == checked
    assert {row["source"] for row in rows("terminals")} == {"DIN 72552"}


# Trap: as DIN 72552 prints it, 87 is the input (common) of a changeover relay, 87a its break and 87b
# its make output (secondary copies). In everyday use 30 is common, 87 closes, 87a opens (from memory).
def test_the_table_does_not_say_which_side_of_the_contact_87_is() -> None:
    meaning = TABLE["87"]["meaning"]

    assert [word for word in ("input", "output", "in", "out", "common") if word in meaning.split()] == []


@pytest.mark.parametrize("convention", ["everyday", "DIN 72552"])
def test_a_reference_stores_what_87_is_on_its_relays(convention: str) -> None:
    assert reference_from(least_reference(relay_terminals=convention)).relay_terminals == convention


def test_where_a_reference_does_not_say_87_is_the_everyday_output() -> None:
    data = least_reference()
    assert "relay_terminals" not in data

    assert reference_from(data).relay_terminals == "everyday"


def test_a_third_convention_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        reference_from(least_reference(relay_terminals="ISO"))

    assert [problem.pointer for problem in caught.value.problems] == ["/relay_terminals"]
