"""Whole surveys and references, broken anywhere: the validators agree, and a fault of form brings none of sense."""

from __future__ import annotations

import copy
import json
from functools import cache
from typing import Any, TypeAlias

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.read import schema as schema_module
from harnessdiff.read.json_text import parse_document
from harnessdiff.read.reference import read_reference, reference_of
from harnessdiff.read.schema import accepts, faults, validator
from harnessdiff.read.survey import survey_of
from harnessdiff.resources import shipped_cases, shipped_references
from tests.read.test_schema import NAMES, VALUES, Steps, at, places
from tests.support import Json, bench_data

Whole: TypeAlias = tuple[str, str]
"""The name of a schema, and of a document that follows it."""
DOCUMENTS: dict[Whole, Json] = {
    ("reference", "bench"): bench_data(),
    ("reference", "iso_11446"): json.loads(shipped_references()["iso_11446"].read_bytes()),
    **{
        ("survey", name): json.loads(shipped_cases()[name].read_bytes())
        for name in ("hatchback_technician", "motorcycle_technician", "iso_11446_technician")
    },
}
PLACES = {whole: list(places(data)) for whole, data in DOCUMENTS.items()}


Change: TypeAlias = tuple[Steps, str, str, Any]
"""A place, what is done there, and with which name or value."""
WAYS = ["replace", "replace", "remove", "add", "rename"]


@st.composite
def breakages(draw: st.DrawFn, most: int) -> tuple[Whole, list[Change]]:
    """A whole document, and up to `most` changes anywhere in it."""
    whole = draw(st.sampled_from(sorted(DOCUMENTS)))
    change = st.tuples(st.sampled_from(PLACES[whole]), st.sampled_from(WAYS), NAMES, VALUES)
    return whole, draw(st.lists(change, min_size=1, max_size=most))


def broken(whole: Whole, changes: list[Change]) -> Json:
    """A document with a value changed, taken away, named otherwise, or put beside another."""
    data = copy.deepcopy(DOCUMENTS[whole])
    for path, way, name, value in changes:
        try:
            around, last = at(data, path[:-1]), path[-1]
            around[last]
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took it away
        match way:
            case "remove":
                del around[last]
            case "add" if isinstance(around, dict):
                around[name] = copy.deepcopy(value)
            case "rename" if isinstance(around, dict):
                around[name] = around.pop(last)
            case _:
                around[last] = copy.deepcopy(value)
    return data


@given(breakages(most=3))
@settings(max_examples=120)
def test_both_validators_agree_on_whole_documents_and_every_refusal_is_explained(
    case: tuple[Whole, list[Change]],
) -> None:
    name, data = case[0][0], broken(*case)
    sound = accepts(name, data)

    assert sound == (next(validator(name).iter_errors(data), None) is None)
    assert (faults(name, data) == []) == sound


@given(breakages(most=4))
@settings(max_examples=120)
def test_explaining_the_entries_at_fault_alone_says_what_explaining_everything_says(
    case: tuple[Whole, list[Change]],
) -> None:
    name, data = case[0][0], broken(*case)
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(schema_module, "_around", lambda data, _: (data, {}))
        everything = faults(name, data)

    assert sorted(faults(name, data)) == sorted(everything)


@cache
def reference_for(survey: str) -> Any:
    return read_reference(shipped_references()[survey.rsplit("_", 1)[0]])


def told(whole: Whole, data: Json) -> list[tuple[str, str]]:
    """Pointer and message of every problem of a document, in the order they are told."""
    name, of = whole
    document = parse_document(json.dumps(data, indent=1).encode(), "case")
    try:
        reference_of(document) if name == "reference" else survey_of(document, reference_for(of))
    except InputError as error:
        return [(problem.pointer or "", problem.message) for problem in error.problems]
    return []


@pytest.mark.parametrize("whole", sorted(DOCUMENTS))
def test_the_documents_to_break_are_sound(whole: Whole) -> None:
    assert told(whole, DOCUMENTS[whole]) == []


@given(breakages(most=1))
@settings(max_examples=400)
def test_a_fault_of_form_is_told_and_brings_no_fault_of_sense(case: tuple[Whole, list[Change]]) -> None:
    """What stood at the place is lost, and what speaks of it is not told; so is the version, which is told alone."""
    whole, data = case[0], broken(*case)
    form = faults(whole[0], data)
    if not form or data.get("version") != "1.0" or data.get("format") != DOCUMENTS[whole]["format"]:
        return

    assert sorted(told(whole, data)) == sorted((pointer or "/", message) for pointer, message in form)


def test_of_very_many_faults_the_first_are_told_and_that_there_are_more() -> None:
    data = bench_data()
    data["wires"] = [{"id": f"W{number}", "from": "BAT:+", "to": "BODY:1", "siz": 1} for number in range(1500)]
    found = told(("reference", "bench"), data)

    assert len(found) == schema_module.MOST_EXPLAINED + 1
    assert [pointer for pointer, _ in found[:-1]] == [f"/wires/{number}/siz" for number in range(1000)]
    assert found[-1] == ("", "more may be wrong than is told here; mend this first")


def test_very_many_members_of_a_newer_version_are_passed_over_all_the_same() -> None:
    data = bench_data() | {"version": "1.1"}
    data["wires"] += [{"id": f"W9{number}", "from": "BAT:+", "to": "BODY:1", "later": 1} for number in range(1200)]

    assert told(("reference", "bench"), data) == []
