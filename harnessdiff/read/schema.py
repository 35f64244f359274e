"""Holds a document against its schema and puts what is wrong into plain words."""

from __future__ import annotations

import difflib
import itertools
import json
import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import TYPE_CHECKING, Any

from harnessdiff.resources import shipped_text
from harnessdiff.tables.loader import rows

if TYPE_CHECKING:
    import jsonschema_rs
    from jsonschema import Draft202012Validator
    from jsonschema.exceptions import ValidationError
    from referencing import Registry

SCHEMAS = ("common", "reference", "survey", "findings", "policy")
LONGEST_VALUE_SHOWN = 60
MOST_WORDS_SHOWN = 24
MOST_EQUALLY_ALIKE = 20
MOST_EXPLAINED = 1000
"""Faults of one document that are explained; nobody reads more at once, and each takes a millisecond."""
MOST_CANDIDATES = 5000
"""Valid words among which the nearest is looked for; among more it takes too long for each fault."""
_NUMBER = re.compile(r"\s*([+-]?[0-9]+(?:[.,][0-9]+)?)\s*([A-Za-z\u00b5\u03a9\u00b0]+[0-9\u00b2]?)?\s*")
UNKNOWN_MEMBER = "no member "


def schema(name: str) -> dict[str, Any]:
    """The schema `name` (``reference``, ``survey``, ``findings`` or ``common``) as data."""
    loaded: dict[str, Any] = json.loads(shipped_text("schemas", f"v1/{name}.schema.json"))
    return loaded


@cache
def _registry() -> Registry[Any]:
    from referencing import Registry, Resource  # noqa: PLC0415 - heavy, needed only where documents are read

    resources = [Resource.from_contents(schema(name)) for name in SCHEMAS]
    return Registry().with_resources([(str(resource.id()), resource) for resource in resources])


@cache
def validator(name: str) -> Draft202012Validator:
    """The validator of the schema `name`."""
    from jsonschema import Draft202012Validator  # noqa: PLC0415 - heavy, needed only where documents are read

    return Draft202012Validator(schema(name), registry=_registry())


@cache
def _gate(name: str) -> jsonschema_rs.Validator:
    import jsonschema_rs  # noqa: PLC0415 - needed only where documents are read

    registry = jsonschema_rs.Registry([(schema(one)["$id"], schema(one)) for one in SCHEMAS])
    return jsonschema_rs.Draft202012Validator(schema(name), registry=registry)


def accepts(name: str, data: Any) -> bool:
    """Whether the schema `name` accepts `data`; says so fast, and not why."""
    return bool(_gate(name).is_valid(data))


def faults(name: str, data: Any, most: int | None = None) -> list[tuple[str, str]]:
    """What is wrong with `data` by the schema `name`.

    A fast validator says whether anything is, and where; only then the slow one is asked what, of the
    entries at fault alone.

    Parameters
    ----------
    name : str
        Name of the schema.
    data : Any
        The decoded document.
    most : int, optional
        Faults to go after; all of them where left out.

    Returns
    -------
    list of tuple
        JSON pointer and message, one for each fault, in the order the validator meets them.
    """
    gate = _gate(name)
    if gate.is_valid(data):
        return []
    bad = [tuple(error.instance_path) for error in itertools.islice(gate.iter_errors(data), most)]
    part, numbers = _around(data, bad)
    found: dict[tuple[str, str], None] = {}
    of_another_type: set[tuple[str | int, ...]] = set()
    for error in validator(name).iter_errors(part):
        for leaf in _leaves(error):
            path = _original(tuple(leaf.absolute_path), numbers)
            if leaf.validator == "type" and path in of_another_type:
                continue  # every schema that looks at the value says so, each with another form of it
            of_another_type |= {path} if leaf.validator == "type" else set()
            for pointer, message in _explained(leaf, path):
                found[pointer, message] = None
    return list(found)


def _around(data: Any, bad: list[tuple[str | int, ...]]) -> tuple[Any, dict[str | int, list[int]]]:
    """The part of a document that explains its faults: of its lists the entries that are at fault.

    Returns
    -------
    tuple
        The part, and for each list that was shortened the numbers of the entries kept.
    """
    if not isinstance(data, dict):
        return data, {}
    whole = {path[0] for path in bad if len(path) == 1}
    inside: dict[str | int, set[int]] = {}
    for path in bad:
        if len(path) > 1 and isinstance(path[1], int):
            inside.setdefault(path[0], {0}).add(path[1])
    part: dict[str, Any] = {}
    numbers: dict[str | int, list[int]] = {}
    for key, value in data.items():
        shortened = isinstance(value, list) and len(value) > 1 and key not in whole
        if shortened:
            numbers[key] = sorted(inside.get(key, {0}))
        part[key] = [value[number] for number in numbers[key]] if shortened else value
    return part, numbers


def _original(path: tuple[str | int, ...], numbers: dict[str | int, list[int]]) -> tuple[str | int, ...]:
    """Path in the whole document of a path in a part of it."""
    if len(path) > 1 and path[0] in numbers and isinstance(path[1], int):
        return (path[0], numbers[path[0]][path[1]], *path[2:])
    return path


def pointer_to(path: Iterable[str | int]) -> str:
    """RFC 6901 pointer of a path."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in path)


def nearest(word: str, valid: Iterable[str]) -> str | None:
    """The valid word that is most like `word`, None where none is like it."""
    candidates = sorted(valid)
    lowered = {candidate.lower(): candidate for candidate in candidates}
    if word.lower() in lowered:
        return lowered[word.lower()]
    if len(candidates) > MOST_CANDIDATES:
        return None
    near = _most_alike(word, candidates)
    return near or lowered.get(_most_alike(word.lower(), sorted(lowered)) or "")


def _most_alike(word: str, candidates: list[str]) -> str | None:
    """Of words that are equally like it, the one that begins like it: W3255 is W325 and a slip, not W355."""
    close = difflib.get_close_matches(word, candidates, n=MOST_EQUALLY_ALIKE, cutoff=0.5)

    def alike(one: str) -> tuple[float, int]:
        begins = sum(1 for _ in itertools.takewhile(lambda pair: pair[0] == pair[1], zip(one, word, strict=False)))
        return difflib.SequenceMatcher(None, one, word).ratio(), begins

    return max(close, key=alike, default=None)


def did_you_mean(word: str, valid: Iterable[str]) -> str:
    """A closing phrase that names the nearest valid word, or nothing."""
    near = nearest(word, valid)
    return f"; did you mean {json.dumps(near)}?" if near else ""


def _leaves(error: ValidationError) -> Iterator[ValidationError]:
    """The errors that say most: of a choice of schemas, those of the branch that was meant."""
    if error.validator not in ("oneOf", "anyOf") or not error.context:
        yield error
        return
    branches: dict[int, list[ValidationError]] = {}
    for inner in error.context:
        branches.setdefault(int(inner.schema_path[0]), []).append(inner)
    fitting = {
        number: inner
        for number, inner in branches.items()
        if not any(_wrong_shape(one, error.instance) for one in inner)
    }
    if not fitting:
        yield error
        return
    meant = min(fitting.values(), key=len)
    for inner in meant:
        yield from _leaves(inner)


def _wrong_shape(error: ValidationError, instance: Any) -> bool:
    """Whether the branch of a choice is out of the question: another type, or another kind."""
    here = error.instance is instance
    return (here and error.validator in ("type", "const")) or (
        error.validator == "const" and list(error.path)[-1:] == ["kind"]
    )


def _explained(error: ValidationError, path: tuple[str | int, ...]) -> Iterator[tuple[str, str]]:
    pointer = pointer_to(path)
    value: Any = error.instance
    rule: Any = error.validator_value
    match error.validator:
        case "additionalProperties" | "unevaluatedProperties":
            known = sorted(_known_members(error))
            for member in value:
                if member not in known and not member.startswith("x_"):
                    hint = did_you_mean(member, known)
                    yield (
                        f"{pointer}{pointer_to([member])}",
                        f"{UNKNOWN_MEMBER}{json.dumps(member)} is known here{hint}",
                    )
        case "required":
            for member in rule:
                if member not in value:
                    yield pointer, f"the member {json.dumps(member)} is missing"
        case "enum":
            hint = (
                did_you_mean(value, [word for word in rule if isinstance(word, str)]) if isinstance(value, str) else ""
            )
            more = f" and {len(rule) - MOST_WORDS_SHOWN} more, see the schema" if len(rule) > MOST_WORDS_SHOWN else ""
            allowed = ", ".join(str(word) for word in rule[:MOST_WORDS_SHOWN]) + more
            yield pointer, f"{_shown(value)} is none of the words allowed here ({allowed}){hint}"
        case "const":
            yield pointer, f"should be {json.dumps(rule)}, and is {_shown(value)}"
        case "type":
            form = _form_of(error.schema) if rule == "object" else ""
            yield pointer, f"should be {_type_words(rule)}{form}, and is {_shown(value)}{_number_hint(rule, value)}"
        case "oneOf" | "anyOf":
            hint = _number_hint("number", value, with_unit=True) if _may_be_number(rule) else ""
            if hint:
                yield pointer, f"should be a number, and is {_shown(value)}{hint}"
            else:
                yield pointer, f"{_shown(value)} fits none of the forms allowed here: {_described(error.schema)}"
        case "minLength":
            yield pointer, "should not be empty"
        case "minimum" | "exclusiveMinimum" | "maximum" | "exclusiveMaximum":
            words = {"minimum": "at least", "exclusiveMinimum": "more than", "maximum": "at most"}
            yield pointer, f"should be {words.get(str(error.validator), 'less than')} {rule:g}, and is {_shown(value)}"
        case "minItems" | "maxItems":
            words = {"minItems": "at least", "maxItems": "at most"}
            entries = "entry" if rule == 1 else "entries"
            yield pointer, f"should have {words[str(error.validator)]} {rule} {entries}, and has {len(value)}"
        case "maxLength":
            yield pointer, f"should have at most {rule} characters, and has {len(value)}"
        case _:
            yield pointer, error.message


def _known_members(error: ValidationError) -> set[str]:
    """Names that the failing object schema, and schemas it includes, know."""
    return set(_members_of(error.schema))


def _members_of(part: Any) -> Iterator[str]:
    if not isinstance(part, dict):
        return
    yield from part.get("properties", {})
    for inner in part.get("allOf", ()):
        yield from _members_of(inner)
    reference = part.get("$ref", "")
    if reference.startswith("#/$defs/"):
        yield from _members_of(schema("survey")["$defs"].get(reference.rsplit("/", 1)[1]))


def _type_words(rule: str | list[str]) -> str:
    words = {
        "object": "an object", "array": "a list", "string": "text", "number": "a number",
        "integer": "a whole number", "boolean": "true or false", "null": "null",
    }  # fmt: skip
    return " or ".join(words[one] for one in ([rule] if isinstance(rule, str) else rule))


def _form_of(part: Any) -> str:
    """An object as it could be written: its needed members, or the first, with their examples."""
    members = part.get("properties", {}) if isinstance(part, dict) else {}
    names = part.get("required") or list(members)[:1] if members else []
    example = {name: members[name]["examples"][0] for name in names if members.get(name, {}).get("examples")}
    return f" such as {_shown(example)}" if example else ""


def _may_be_number(branches: Any) -> bool:
    return any(isinstance(branch, dict) and branch.get("type") == "number" for branch in branches)


def _number_hint(rule: str | list[str], value: Any, *, with_unit: bool = False) -> str:
    if rule not in ("number", "integer") or not isinstance(value, str):
        return ""
    match = _NUMBER.fullmatch(value)
    if match is None:
        return ""
    number, unit = float(match.group(1).replace(",", ".")), match.group(2)
    if unit is None:
        return f"; write {number:.12g} without quotes"
    known = nearest(unit, {row["unit"] for row in rows("units")} | {"AWG"})
    return f'; write {{"exact": {number:.12g}, "unit": "{known}"}}' if known and with_unit else ""


def _described(part: Any) -> str:
    description = part.get("description", "") if isinstance(part, dict) else ""
    return description or "see the schema"


def _shown(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= LONGEST_VALUE_SHOWN else text[: LONGEST_VALUE_SHOWN - 1] + "…"
