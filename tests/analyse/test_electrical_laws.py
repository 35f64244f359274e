"""Laws that the consequences of every survey keep, whatever the harness."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.analyse.rigs import CLEAN, GRAVE
from tests.strategies import plantings, references
from tests.support import Json, as_found_from, case_from, reference_from

if TYPE_CHECKING:
    from collections.abc import Mapping

    from harnessdiff.model.consequence import Consequence
    from harnessdiff.model.range import Range
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"


@st.composite
def vehicles(draw: st.DrawFn) -> Json:
    """A small reference, asleep and with its switches on."""
    data = draw(references())
    on = {one["id"]: "on" for one in data["devices"] if one["kind"] == "switch"}
    data["conditions"].append(
        {"id": "driving", "name": "driving", "key": "ignition", "engine": "stopped", "positions": on}
    )
    return data


def consequences(case: Case) -> list[Consequence]:
    return [*case.findings.of_the_whole, *(one for found in case.findings.findings for one in found.consequences)]


@settings(max_examples=10)
@given(vehicles())
def test_survey_of_nothing_has_no_consequence(data: Json) -> None:
    case = case_from(reference_from(data), electrical=True)

    assert case.findings.findings == ()
    assert consequences(case) == []


@settings(max_examples=8)
@given(st.data())
def test_whatever_is_planted_can_be_assessed(data: st.DataObject) -> None:
    reference = reference_from(data.draw(vehicles()))
    case = case_from(reference, *data.draw(plantings(reference)), electrical=True)

    for one in consequences(case):
        assert set(one.conditions) <= {"asleep", "driving"}
        for amount in (one.before, one.after):
            assert amount is None or amount.low <= amount.nominal <= amount.high


# -- sound work


@settings(max_examples=8)
@given(st.data())
def test_sound_repair_with_the_same_wire_brings_nothing_grave(data: st.DataObject) -> None:
    reference = reference_from(data.draw(vehicles()))
    wires = data.draw(st.lists(st.sampled_from([one.id for one in reference.harness.conductors()]), unique=True))
    lines = [
        {"kind": "repair", "id": f"r{number}", "wire": one, "joints": [CLEAN], "removed_m": 0}
        for number, one in enumerate(wires)
    ]
    case = case_from(reference, *lines, electrical=True)

    assert [one.kind for one in case.findings.findings] == ["repair"] * len(wires)
    assert [one for one in consequences(case) if one.code in GRAVE] == []


# -- names and order


def ids_of(reference: Json, lines: list[Json]) -> list[str]:
    """Every id that somebody gave, but those of conditions: asleep is a word."""
    members = ("zones", "circuits", "devices", "splices", "wires")
    return [one["id"] for member in members for one in reference[member]] + [one["id"] for one in lines]


def distinct(count: int, chance: random.Random) -> list[str]:
    """So many ids, no two alike."""
    return [f"{''.join(chance.choices(LETTERS, k=4))}{number}" for number in chance.sample(range(1000), count)]


def renamed(value: Any, names: Mapping[str, str]) -> Any:
    """The same with other ids, be they alone or before the name of a terminal."""
    if isinstance(value, dict):
        return {names.get(key, key): renamed(one, names) for key, one in value.items()}
    if isinstance(value, list):
        return [renamed(one, names) for one in value]
    if not isinstance(value, str):
        return value
    own, colon, terminal = value.partition(":")
    return f"{names.get(own, own)}{colon}{terminal}"


def relabelled(value: Json, chance: random.Random) -> Json:
    """The same with other names for circuits, zones and devices."""
    found = dict(value)
    for member, word in (("zones", "name"), ("circuits", "name"), ("devices", "label")):
        found[member] = [one | {word: "".join(chance.choices(LETTERS, k=8))} for one in value[member]]
    return found


def shuffled(value: Json, chance: random.Random) -> Json:
    members = ("zones", "circuits", "devices", "splices", "wires")
    return {key: chance.sample(one, len(one)) if key in members else one for key, one in value.items()}


def by_colour(line: Json) -> bool:
    """Whether a line says of a wire how it looks alone."""
    on = line.get("on")
    return isinstance(on, dict) and isinstance(on.get("wire"), dict)


Told = tuple[str, str, str, tuple[str, ...]]


def told(case: Case, names: Mapping[str, str]) -> dict[Told, list[tuple[float, ...]]]:
    """What is said, of what, in which conditions, with which numbers; subjects by their names before."""
    back = {new: old for old, new in names.items()}
    found: dict[Told, list[tuple[float, ...]]] = {}
    for one in consequences(case):
        added, _, rest = one.subject.partition(".")
        plus, own = ("+", added[1:]) if added.startswith("+") else ("", added)
        subject = f"{plus}{back.get(own, own)}.{rest}"
        if one.code == "protection" and not plus:
            # Of the maker's wires behind one fuse the worst is named: of two alike the first by name.
            subject = ""
        key = (one.code, subject, one.terminal or "", tuple(sorted(one.conditions)))
        found.setdefault(key, []).append((*numbers(one.before), *numbers(one.after)))
    return {key: sorted(values) for key, values in sorted(found.items())}


def numbers(amount: Range | None) -> tuple[float, ...]:
    return () if amount is None else (amount.low, amount.nominal, amount.high)


def agree(one: dict[Told, list[tuple[float, ...]]], other: dict[Told, list[tuple[float, ...]]]) -> None:
    assert list(one) == list(other)
    for key, values in one.items():
        for here, there in zip(values, other[key], strict=True):
            assert here == pytest.approx(there, rel=1e-3, abs=1e-5), key


def assessed(data: Json, lines: list[Json]) -> Case:
    return case_from(reference_from(data), *lines, electrical=True)


@settings(max_examples=8)
@given(st.data(), st.integers(0, 2**32))
def test_order_of_lines_changes_nothing(data: st.DataObject, seed: int) -> None:
    chance = random.Random(seed)
    plain = data.draw(vehicles())
    reference: Reference = reference_from(plain)
    lines = data.draw(plantings(reference))

    other = assessed(shuffled(plain, chance), chance.sample(lines, len(lines)))
    agree(told(assessed(plain, lines), {}), told(other, {}))


@settings(max_examples=8)
@given(st.data(), st.integers(0, 2**32))
def test_names_change_nothing(data: st.DataObject, seed: int) -> None:
    plain = data.draw(vehicles())
    reference = reference_from(plain)
    lines = data.draw(plantings(reference))
    # Where nobody said which wire it is, or where on it of two things on one, the first by name counts.
    assume(not as_found_from(reference, *lines).choices and not any(map(by_colour, lines)))
    ids = ids_of(plain, lines)
    names = dict(zip(ids, distinct(len(ids), random.Random(seed)), strict=True))
    other = relabelled(renamed(plain, names), random.Random(seed))

    agree(told(assessed(plain, lines), {}), told(assessed(other, renamed(lines, names)), names))
