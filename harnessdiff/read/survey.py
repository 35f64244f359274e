"""Reads a survey and holds it against the reference it was made for."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from harnessdiff.errors import InputError, in_file_order
from harnessdiff.model.harness import Harness
from harnessdiff.model.reference import Condition, Reference, Vehicle
from harnessdiff.model.survey import (
    Fault,
    OptionSeen,
    Photograph,
    Place,
    Reading,
    SavedCode,
    Scope,
    Survey,
    Symptom,
    Told,
    Visit,
)
from harnessdiff.read.document import checked, passed_over
from harnessdiff.read.doubts import beyond_belief, doubts
from harnessdiff.read.harness import Names, harness_faults, harness_of
from harnessdiff.read.json_text import Document, load_document
from harnessdiff.read.photographs import evidence_of, leaves_folder
from harnessdiff.read.sense import own_faults, reference_faults
from harnessdiff.read.structure import extras, make, make_observation


def read_survey(path: Path, reference: Reference) -> Survey:
    """Read a survey from a JSON file.

    Parameters
    ----------
    path : Path
        The file.
    reference : Reference
        The reference it was made against; everything the survey names must be there.

    Returns
    -------
    Survey
        With warnings: photographs that are missing or not the same, points that the reference
        makes doubtful, members of a newer version that were passed over.

    Raises
    ------
    InputError
        With every problem found, in file order.
    """
    return survey_of(load_document(path), reference)


def survey_of(document: Document, reference: Reference) -> Survey:
    """Make a survey of a parsed document; raises as `read_survey` does."""

    def sense(data: dict[str, Any]) -> Iterator[tuple[str, str]]:
        yield from own_faults(data)
        yield from reference_faults(data, reference)
        yield from _as_found_faults(data, reference)
        yield from beyond_belief(data, reference.harness)

    data = checked(document, "survey", sense)
    return _survey(data, document, tuple(doubts(data, reference.harness)))


def check_survey(document: Document) -> Survey:
    """Hold a survey against its schema and itself, without a reference; raises as `read_survey` does."""
    return _survey(checked(document, "survey", own_faults), document, ())


def _survey(data: dict[str, Any], document: Document, doubtful: tuple[tuple[str, str], ...]) -> Survey:
    photographs, unverified = _photographs(data, document)
    warnings = in_file_order([*passed_over(document), *document.problems([*doubtful, *unverified])])
    first_visit = data["visits"][0]["id"]
    return Survey(
        visits=make(tuple[Visit, ...], data["visits"]),
        scope=_scope(data["scope"]),
        version=data["version"],
        title=data.get("title"),
        invented=data.get("invented", False),
        vehicle=make(Vehicle, data.get("vehicle", {})),
        purpose=data.get("purpose"),
        client=data.get("client"),
        options=make(tuple[OptionSeen, ...], data.get("options", ())),
        complaint=make(tuple[Symptom, ...], data.get("complaint", ())),
        history=make(tuple[Told, ...], data.get("history", ())),
        pre_existing_faults=make(tuple[Fault, ...], data.get("pre_existing_faults", ())),
        saved_codes=make(tuple[SavedCode, ...], data.get("saved_codes", ())),
        conditions=make(tuple[Condition, ...], data.get("conditions", ())),
        observations=tuple(
            make_observation({"visit": first_visit, **entry}, observation_id)
            for entry, observation_id in zip(
                data.get("observations", ()), observation_ids(data.get("observations", ()), first_visit), strict=True
            )
        ),
        as_found=_as_found(data),
        readings=make(tuple[Reading, ...], data.get("readings", ())),
        photographs=photographs,
        note=data.get("note"),
        extra=extras(data),
        sha256=document.sha256,
        warnings=warnings,
    )


def _photographs(data: dict[str, Any], document: Document) -> tuple[tuple[Photograph, ...], list[tuple[str, str]]]:
    """The photographs, each with what a look at its file found, and what is not verified of them."""
    made = make(tuple[Photograph, ...], data.get("photographs", ()))
    if document.folder is None:
        return made, []
    found, unverified = [], []
    for number, (photograph, entry) in enumerate(zip(made, data.get("photographs", ()), strict=True)):
        pointer = f"/photographs/{number}/path"
        if leaves_folder(entry, document.folder):
            message = "a link leads out of the folder of the survey; copy the photograph into it"
            raise InputError((document.problem(pointer, message),))
        evidence, message = evidence_of(entry, document.folder)
        found.append(replace(photograph, evidence=evidence))
        if message:
            unverified.append((pointer, message))
    return tuple(found), unverified


def observation_ids(entries: Any, first_visit: str | None = None) -> list[str]:
    """Ids of observations: their own, or one made from what the line says, whatever its place.

    Notes, photographs, who and when, and ``x_`` members do not count, so that a typo mended does not
    change the id; lines that say the same are told apart by a number.
    """
    found: list[str] = []
    alike: dict[str, int] = {}
    given = {entry["id"] for entry in entries if "id" in entry}
    for entry in entries:
        if "id" in entry:
            found.append(entry["id"])
            continue
        said = _said({key: one for key, one in {"visit": first_visit, **entry}.items() if key not in ("when", "who")})
        digest = hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:6]
        alike[digest] = alike.get(digest, 0) + 1
        number = f"-{alike[digest]}" if alike[digest] > 1 else ""
        own = f"{entry['kind']}-{digest}{number}"
        found.append(own if own not in given else f"{own}-again")
    return found


_NOT_SAID = frozenset({"note", "photographs"})


def _said(value: Any) -> Any:
    """What counts of a line: everything but remarks. A number is the same with and without its point."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {key: _said(one) for key, one in value.items() if key not in _NOT_SAID and not key.startswith("x_")}
    return [_said(one) for one in value] if isinstance(value, list) else value


def _scope(data: dict[str, Any]) -> Scope:
    looked_at = data["looked_at"]
    return Scope(
        everything=looked_at == "everything",
        looked_at=() if isinstance(looked_at, str) else make(tuple[Place, ...], looked_at),
        not_opened=make(tuple[Place, ...], data.get("not_opened", ())),
        out_of_scope=make(tuple[Place, ...], data.get("out_of_scope", ())),
        dismantling=data.get("dismantling"),
        codes_saved=data.get("codes_saved", "unknown"),
    )


def _as_found(data: dict[str, Any]) -> Harness | None:
    return harness_of(data["as_found"]) if "as_found" in data else None


def _as_found_faults(data: dict[str, Any], reference: Reference) -> Iterator[tuple[str, str]]:
    if "as_found" not in data:
        return
    if data.get("observations"):
        yield "/as_found", "a survey has observations or a whole as-found harness, not both"
    names = Names(data["as_found"])
    names.zones |= {zone.id for zone in reference.harness.zones()}
    names.circuits |= set(reference.circuit_by_id)
    names.conditions |= {one.id for one in reference.conditions} | {one["id"] for one in data.get("conditions", ())}
    yield from harness_faults(data["as_found"], names, "/as_found")
