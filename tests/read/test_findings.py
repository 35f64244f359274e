"""A findings document is refused whose levels do not follow from what it says counts."""

from __future__ import annotations

import copy
import json
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.errors import InputError
from harnessdiff.read.findings import findings_of
from harnessdiff.report.findings_json import findings_document
from tests.drawing import demo_case
from tests.support import Json, document

if TYPE_CHECKING:
    from collections.abc import Callable


def written() -> Json:
    found: Json = json.loads(json.dumps(findings_document(demo_case().findings)))
    return copy.deepcopy(found)


def first(data: Json) -> Json:
    """The deciding mechanism of the first finding."""
    mechanism: Json = data["findings"][0]["mechanisms"][0]
    return mechanism


def put(name: str, value: Any) -> Callable[[Json], None]:
    return lambda data: first(data).update({name: value})


def lighter(data: Json) -> None:
    first(data)["contributions"][0]["counts"] -= 1


def milder(data: Json) -> None:
    data["findings"][0]["worst"] = "Low"


def capped(data: Json) -> None:
    mechanisms = [one for finding in data["findings"] for one in finding.get("mechanisms", ())]
    one = next(one for one in mechanisms if one.get("caps"))
    one["level"] = "High"


FALSIFIED: list[tuple[Callable[[Json], None], str]] = [
    (lighter, "what contributes adds up to "),
    (put("probability", "E"), " is "),
    (put("cell", "Low"), " by MIL-STD-882E Table III, not Low"),
    (put("level", "Low"), "its caps and floors make it High, not Low"),
    (capped, "its caps and floors make it Serious, not High"),
    (milder, "the worst of its mechanisms is High, not Low"),
]


def test_what_the_program_writes_is_sound() -> None:
    assert findings_of(document(written()))["findings"]


@pytest.mark.parametrize(("change", "message"), FALSIFIED)
def test_level_that_does_not_follow_is_refused_at_its_place(change: Callable[[Json], None], message: str) -> None:
    data = written()
    change(data)

    with pytest.raises(InputError) as raised:
        findings_of(document(data))

    assert [
        one for one in raised.value.problems if message in one.message and (one.pointer or "").startswith("/findings/")
    ]
