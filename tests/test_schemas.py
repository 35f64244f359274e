"""The schemas as a contract: valid, documented, and nothing in them is lost on the way to the model."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields
from functools import cache
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry, Resource

from harnessdiff.model import harness, parts, reference, survey
from harnessdiff.model import observation as seen
from harnessdiff.model.canonical import plain
from harnessdiff.model.modification import KINDS
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, PROBABILITIES, SEVERITIES
from harnessdiff.read.schema import SCHEMAS, schema
from harnessdiff.read.structure import OBSERVATIONS, PARTS, make, make_observation
from harnessdiff.tables.loader import functions, joint_order, rows
from tests.support import least_reference, reference_from

UNITS = {
    "m": "m",
    "mm": "mm",
    "km": "km",
    "mm2": "mm²",
    "A": "A",
    "V": "V",
    "W": "W",
    "ohm": "Ω",
    "s": "s",
    "min": "min",
    "Ah": "Ah",
    "degC": "°C",
}
# Where a schema holds schemas: by name, in a list, or one.
NAMED = ("properties", "patternProperties", "$defs", "dependentSchemas")
LISTED = ("oneOf", "anyOf", "allOf", "prefixItems")
SINGLE = ("items", "additionalProperties", "unevaluatedProperties", "not", "if", "then", "else", "contains")
# What says nothing that every regular-expression engine, binary fraction or checker agrees on.
UNPORTABLE = {"pattern", "multipleOf", "format"}


@cache
def registry() -> Registry[Any]:
    resources = [Resource.from_contents(schema(name)) for name in SCHEMAS]
    return Registry().with_resources([(str(resource.id()), resource) for resource in resources])


def subschemas(part: Any, pointer: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every schema within a schema, with its pointer; a condition (`if`) is a test and no description."""
    if not isinstance(part, dict):
        return
    yield pointer, part
    for keyword in NAMED:
        for name, inner in part.get(keyword, {}).items():
            yield from subschemas(inner, f"{pointer}/{keyword}/{name}")
    for keyword in LISTED:
        for number, inner in enumerate(part.get(keyword, ())):
            yield from subschemas(inner, f"{pointer}/{keyword}/{number}")
    for keyword in SINGLE:
        if keyword in part:
            yield from subschemas(part[keyword], f"{pointer}/{keyword}")


def properties(name: str) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every property that a schema describes: its pointer, its name and its schema."""
    for pointer, part in subschemas(schema(name)):
        if not pointer.endswith("/if"):
            for member, inner in part.get("properties", {}).items():
                yield f"{pointer}/properties/{member}", member, inner


def target(name: str, part: dict[str, Any]) -> dict[str, Any]:
    """What a schema refers to; itself where it refers to nothing."""
    if "$ref" not in part:
        return part
    file, _, pointer = part["$ref"].partition("#")
    found: Any = schema(file.removesuffix(".schema.json") or name)
    for step in pointer.split("/")[1:]:
        found = found[step]
    return dict(found)


def at(name: str, pointer: str) -> Draft202012Validator:
    """A validator of the schema that `pointer` names in the schema `name`."""
    return Draft202012Validator({"$ref": f"{schema(name)['$id']}#{pointer}"}, registry=registry())


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_schema_is_a_valid_schema_of_2020_12(name: str) -> None:
    assert schema(name)["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema(name))


@pytest.mark.parametrize("name", SCHEMAS)
def test_a_schema_has_an_id_that_holds_its_major_version(name: str) -> None:
    assert re.search(rf"/v1/{name}\.schema\.json$", schema(name)["$id"])


def test_no_two_schemas_have_the_same_id() -> None:
    assert len({schema(name)["$id"] for name in SCHEMAS}) == len(SCHEMAS)


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_reference_in_a_schema_leads_somewhere(name: str) -> None:
    referring = [part for _, part in subschemas(schema(name)) if "$ref" in part]

    assert [part["$ref"] for part in referring if not target(name, part)] == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_property_is_described(name: str) -> None:
    assert [pointer for pointer, _, part in properties(name) if not part.get("description", "").strip()] == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_property_has_examples(name: str) -> None:
    assert [pointer for pointer, _, part in properties(name) if not examples_of(name, part)] == []


def examples_of(name: str, part: dict[str, Any]) -> list[Any]:
    return list(part.get("examples") or target(name, part).get("examples") or ())


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_property_whose_name_ends_in_a_unit_names_it_in_brackets(name: str) -> None:
    wrong = {}
    for pointer, member, part in properties(name):
        unit = UNITS.get(member.rpartition("_")[2]) if "_" in member else None
        if unit is not None and f"[{unit}]" not in part["description"]:
            wrong[pointer] = unit

    assert wrong == {}


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_quantity_has_a_unit_at_the_end_of_its_name(name: str) -> None:
    quantities = [
        (pointer, member) for pointer, member, part in properties(name) if part.get("$ref", "").endswith("/quantity")
    ]

    assert [pointer for pointer, member in quantities if member.rpartition("_")[2] not in UNITS] == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_example_is_valid_by_the_schema_it_stands_in(name: str) -> None:
    wrong = [
        (pointer, example, error.message)
        for pointer, part in subschemas(schema(name))
        for example in part.get("examples", ())
        for error in at(name, pointer).iter_errors(example)
    ]

    assert wrong == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_closed_object_lets_members_of_your_own_through(name: str) -> None:
    closed = [
        (pointer, part)
        for pointer, part in subschemas(schema(name))
        if part.get("additionalProperties") is False or part.get("unevaluatedProperties") is False
    ]

    assert closed
    assert [pointer for pointer, part in closed if part.get("patternProperties") != {"^x_": True}] == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_text_and_list_has_a_bound(name: str) -> None:
    kinds = {"string": "maxLength", "array": "maxItems"}
    unbounded = [
        pointer
        for pointer, part in subschemas(schema(name))
        if part.get("type") in kinds and kinds[part["type"]] not in part
    ]

    assert unbounded == []


@pytest.mark.parametrize("name", SCHEMAS)
def test_no_keyword_is_used_on_which_validators_differ(name: str) -> None:
    used = {keyword for _, part in subschemas(schema(name)) for keyword in part}

    assert used & UNPORTABLE == set()


# -- words that stand in a schema and in a table or the model

FINDINGS = schema("findings")["$defs"]


def test_the_functions_of_a_circuit_are_those_that_have_a_severity() -> None:
    assert set(schema("common")["$defs"]["circuit"]["properties"]["function"]["enum"]) == set(functions())


def test_the_joint_types_are_those_that_have_a_rank() -> None:
    words = schema("survey")["$defs"]["joint_details"]["properties"]["type"]["enum"]

    assert set(words) - {"other", "unknown"} == {row.type for row in joint_order()}


def test_the_units_of_a_quantity_are_those_that_are_converted() -> None:
    words = schema("common")["$defs"]["quantity"]["oneOf"][2]["properties"]["unit"]["enum"]

    assert set(words) == {row["unit"] for row in rows("units")} | {"AWG"}


def test_the_kinds_of_observation_are_those_that_are_read() -> None:
    observation = schema("survey")["$defs"]["observation"]
    chosen = [branch["if"]["properties"]["kind"]["const"] for branch in observation["allOf"]]

    assert observation["properties"]["kind"]["enum"] == chosen == list(OBSERVATIONS)
    assert [branch["then"]["$ref"] for branch in observation["allOf"]] == [f"#/$defs/{kind}" for kind in chosen]


def test_the_kinds_of_part_are_those_that_are_read() -> None:
    part = schema("common")["$defs"]["part"]
    chosen = [branch["if"]["properties"]["kind"]["const"] for branch in part["allOf"]]

    assert part["properties"]["kind"]["enum"] == chosen == list(PARTS)
    assert [branch["then"]["$ref"] for branch in part["allOf"]] == [f"#/$defs/{kind}" for kind in chosen]


def test_the_words_of_a_finding_are_those_of_the_model() -> None:
    finding = FINDINGS["finding"]["properties"]
    mechanism = FINDINGS["mechanism"]["properties"]

    assert finding["kind"]["enum"] == FINDINGS["possibility"]["properties"]["kind"]["enum"] == list(KINDS)
    assert finding["worst"]["enum"] == finding["best"]["enum"] == [ACCEPTABLE, *LEVELS]
    assert set(mechanism["severity"]["enum"]) == set(SEVERITIES)
    assert set(mechanism["probability"]["enum"]) == set(PROBABILITIES)
    assert set(mechanism["level"]["enum"]) == set(LEVELS)


# -- the schema and the model: a member that one has and the other has not

COMMON = schema("common")["$defs"]
REFERENCE = schema("reference")["properties"]
SURVEY = schema("survey")["properties"]
SEEN = schema("survey")["$defs"]
READING = SEEN["reading"]["properties"]
LOOKED_AT = SURVEY["scope"]["properties"]["looked_at"]["oneOf"][1]["items"]

# Class, the schema it is made from, members of the schema that become something else, members of
# the class that do not come from this schema.
PAIRS: list[tuple[type, dict[str, Any], set[str], set[str]]] = [
    (Quantity, COMMON["quantity"]["oneOf"][2], {"exact", "min", "max", "unit"}, {"low", "high"}),
    (harness.Colour, COMMON["colour"], {"code_system"}, set()),
    (harness.Zone, COMMON["zone"], set(), set()),
    (harness.Device, COMMON["device"], {"seat", "terminals"}, set()),
    (harness.Terminal, COMMON["terminal"]["oneOf"][1], set(), {"id"}),
    (harness.Bond, COMMON["device"]["properties"]["bonds"]["items"], set(), set()),
    (harness.Hypothesis, COMMON["device"]["properties"]["hypotheses"]["items"], set(), set()),
    (harness.Hypothesis, SEEN["device_details"]["properties"]["hypotheses"]["items"], set(), set()),
    (harness.Joint, COMMON["splice"], {"type", "cover"}, {"details"}),
    (
        harness.Conductor,
        COMMON["wire"],
        {"from", "to"},
        {"construction", "inline", "open_ends", "route", "size_claimed_mm2"},
    ),
    (parts.When, COMMON["when"], set(), set()),
    (reference.Circuit, COMMON["circuit"], set(), set()),
    (reference.Condition, COMMON["condition"], set(), set()),
    (reference.Vehicle, COMMON["vehicle"], set(), set()),
    (reference.Option, REFERENCE["options"]["items"], set(), set()),
    (reference.Waiver, REFERENCE["as_built"]["items"], set(), set()),
    (survey.Photograph, COMMON["photograph"], set(), {"evidence"}),
    (survey.Survey, schema("survey"), {"$schema", "format", "reference"}, {"extra", "sha256", "warnings"}),
    (survey.Visit, SURVEY["visits"]["items"], set(), set()),
    (survey.Scope, SURVEY["scope"], set(), {"everything"}),
    (survey.Place, LOOKED_AT, set(), {"because"}),
    (survey.Place, SURVEY["scope"]["properties"]["not_opened"]["items"], set(), {"how", "visit"}),
    (survey.Place, SURVEY["scope"]["properties"]["out_of_scope"]["items"], set(), {"how", "visit"}),
    (survey.OptionSeen, SURVEY["options"]["items"], set(), set()),
    (survey.Symptom, SURVEY["complaint"]["items"], set(), set()),
    (survey.Told, SURVEY["history"]["items"], set(), set()),
    (survey.Fault, SURVEY["pre_existing_faults"]["items"], set(), set()),
    (survey.SavedCode, SURVEY["saved_codes"]["items"], set(), set()),
    (survey.Reading, SEEN["reading"], set(), set()),
    (survey.Probe, READING["between"]["items"], set(), set()),
    (survey.Probe, READING["around"]["items"], set(), set()),
    (survey.Manipulation, READING["manipulations"]["items"], set(), set()),
    (seen.Clue, SEEN["clue"], set(), set()),
    (seen.At, SEEN["at"], set(), set()),
    (seen.Member, SEEN["member"], set(), set()),
    (seen.End, SEEN["end"], set(), set()),
    (seen.End, SEEN["to"], set(), set()),
    (seen.DeviceDetails, SEEN["device_details"], set(), set()),
    (seen.LeadDetails, SEEN["lead_details"], set(), set()),
    (seen.Core, SEEN["lead"]["properties"]["cores"]["items"], set(), set()),
    (seen.Fitted, SEEN["fitted"], set(), set()),
    (seen.Age, SEEN["common"]["properties"]["age"], set(), set()),
    (seen.Observation, SEEN["common"], set(), {"extra"}),
    (harness.JointDetails, SEEN["joint_details"], set(), set()),
    (harness.Inline, SEEN["inline"], set(), set()),
    (harness.Passage, SEEN["route"], set(), set()),
    (harness.Loose, SEEN["loose"], set(), set()),
    *((cls, COMMON[kind], {"kind"}, set()) for kind, cls in PARTS.items()),
]
INPUT = COMMON["when"]["properties"]["inputs"]["items"]
# Members of an observation that have another name in the model, by kind.
RENAMED = {"insertion": {"in": "into"}, "bridge": {"from": "origin"}, "device": {"sort": "kind"}}
DETAILS = {"joint": harness.JointDetails, "lead": seen.LeadDetails, "device": seen.DeviceDetails}


def names_of(cls: type) -> set[str]:
    return {field.name for field in fields(cls)}


@pytest.mark.parametrize(
    ("cls", "part", "becomes_other", "from_elsewhere"), PAIRS, ids=[f"{pair[0].__name__}" for pair in PAIRS]
)
def test_the_model_has_every_member_of_its_schema_and_no_other(
    cls: type, part: dict[str, Any], becomes_other: set[str], from_elsewhere: set[str]
) -> None:
    assert names_of(cls) - from_elsewhere == set(part["properties"]) - becomes_other
    assert becomes_other <= set(part["properties"])
    assert from_elsewhere <= names_of(cls)


def test_an_input_has_every_member_of_its_schema() -> None:
    assert {name.rstrip("_") for name in names_of(parts.Input)} == set(INPUT["properties"])


HARNESS_MEMBERS = {"zones", "devices", "splices", "wires"}
USED_ON_READING = {"$schema", "format", "colour_system"}


@pytest.mark.parametrize(
    "member",
    sorted(set(REFERENCE) - HARNESS_MEMBERS - USED_ON_READING),
)
def test_a_reference_keeps_every_member_of_its_schema(member: str) -> None:
    assert member in names_of(reference.Reference)


@pytest.mark.parametrize("member", ["origin", "licence", "note", "title", "id"])
def test_what_a_reference_says_of_itself_arrives(member: str) -> None:
    assert getattr(reference_from(least_reference(**{member: "words"})), member) == "words"


@pytest.mark.parametrize("kind", OBSERVATIONS)
def test_an_observation_has_every_member_of_its_kind_and_no_other(kind: str) -> None:
    details = names_of(DETAILS[kind]) if kind in DETAILS else set()
    own = names_of(OBSERVATIONS[kind]) - names_of(seen.Observation) - {"details"}
    members = {RENAMED.get(kind, {}).get(name, name) for name in set(SEEN[kind]["properties"]) - {"kind"}}
    # `sort` is the only member of a device that hides behind `kind`.
    assert own | details == members | ({"kind"} if kind == "device" else set())


# -- the values: everything that the examples say arrives


def lost(expected: Any, actual: Any, pointer: str = "") -> Iterator[str]:
    """Pointers of what `expected` says and `actual` does not."""
    if isinstance(expected, dict) and isinstance(actual, dict):
        for name, value in expected.items():
            yield from lost(value, actual.get(name), f"{pointer}/{name}")
    elif isinstance(expected, list) and isinstance(actual, list) and len(expected) == len(actual):
        for number, (one, other) in enumerate(zip(expected, actual, strict=True)):
            yield from lost(one, other, f"{pointer}/{number}")
    elif expected != actual:
        yield f"{pointer}: {expected!r} became {actual!r}"


def full(name: str, part: dict[str, Any], leave_out: set[str], cls: type | None = None) -> dict[str, Any]:
    """An object with an example of every member, but for those left out; no value that would be there unsaid."""
    unsaid = {field.name: field.default for field in fields(cls)} if cls else {}
    return {
        member: next(value for value in values_of(name, inner) if value != unsaid.get(member))
        for member, inner in part["properties"].items()
        if member not in leave_out and examples_of(name, inner)
    }


def values_of(name: str, part: dict[str, Any]) -> list[Any]:
    """Values that a schema accepts, its examples first."""
    return [*examples_of(name, part), *part.get("enum", ()), *([True] if part.get("type") == "boolean" else ())]


VALUE_PAIRS = [
    pair for pair in PAIRS if pair[0] not in (Quantity, harness.Joint, survey.Survey, survey.Scope, reference.Condition)
]


@pytest.mark.parametrize(
    ("cls", "part", "becomes_other", "from_elsewhere"), VALUE_PAIRS, ids=[pair[0].__name__ for pair in VALUE_PAIRS]
)
def test_every_value_arrives_in_the_model(
    cls: type, part: dict[str, Any], becomes_other: set[str], from_elsewhere: set[str]
) -> None:
    said = full("survey", part, becomes_other, cls)
    needed = {"id": "E14:58"} if "id" in from_elsewhere else {}
    assert said

    assert list(lost(said, plain(make(cls, said | needed)))) == []


@pytest.mark.parametrize("kind", OBSERVATIONS)
def test_every_value_of_an_observation_arrives_in_the_model(kind: str) -> None:
    said = full("survey", {"properties": SEEN["common"]["properties"] | SEEN[kind]["properties"]}, {"id", "age"})
    said |= {"age": {"layer": "later", "year": "2009", "evidence": "date code"}, "x_bay": [1, {"two": None}]}

    observation = plain(make_observation(said, "O1"))
    observation |= observation.pop("details", {})

    renamed = {RENAMED.get(kind, {}).get(name, name): value for name, value in said.items() if name != "kind"}
    assert renamed.pop("x_bay")
    assert list(lost(renamed, observation)) == []
    assert observation["extra"] == [["x_bay", '[1, {"two": null}]']]
    assert observation["id"] == "O1"
