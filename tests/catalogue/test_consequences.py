"""What every kind of modification does, derived by hand, and that its sound twin does nothing of the sort.

``consequences.csv`` holds the expectations, each with its reason: subject, terminal and conditions where
they matter, and between what the number lies where it follows by hand. Of the codes that no sound change
brings about nothing else may be computed. Names then are exchanged for others that say nothing.
"""

from __future__ import annotations

import csv
import json
import random
import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.pipeline import assess
from harnessdiff.read.survey import survey_of
from tests.analyse.rigs import GRAVE
from tests.catalogue.test_catalogue import assessed, cases, entry
from tests.support import Json, document, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.consequence import Consequence
    from harnessdiff.pipeline import Case

NOTHING_COMPUTED = {"M56", "M62"}
"""Kinds of which nothing follows: what is left lies dead, and what is corroded still conducts."""
Found = tuple[str, "Consequence"]


@cache
def expected(kind: str) -> tuple[dict[str, str], ...]:
    with (Path(__file__).parent / "consequences.csv").open(encoding="utf-8", newline="") as file:
        return tuple(row for row in csv.DictReader(file) if row["kind"] == kind)


def computed(case: Case) -> list[Found]:
    """Every consequence with the kind of the finding that answers for it, or none."""
    found = [(one.kind, each) for one in case.findings.findings for each in one.consequences]
    return found + [("", each) for each in case.findings.of_the_whole]


def fits(row: dict[str, str], found: Found) -> bool:
    kind, one = found
    code, _, verdict = row["code"].partition(":")
    return (
        (kind, one.code, one.subject) == (row["finding"], code, row["subject"])
        and row["terminal"] in ("", one.terminal)
        and (not row["conditions"] or set(row["conditions"].split()) == set(one.conditions))
        and verdict in ("", one.get("verdict"))
        and (not row["least"] or lies(one, float(row["least"]), float(row["most"])))
    )


def lies(one: Consequence, least: float, most: float) -> bool:
    """Whether what is computed lies between; of a joint's heat the greatest."""
    if one.after is None:
        return False
    ends = (one.after.high,) if one.code == "joint_heat" else (one.after.low, one.after.high)
    return all(least <= abs(end) <= most for end in ends)


def shown(found: Found) -> str:
    kind, one = found
    verdict = one.get("verdict")
    return f"{kind or 'nobody'}: {one.code} {verdict or ''} {one.subject} {one.terminal} {one.conditions} {one.after}"


@cases
def test_what_must_be_computed_is(kind: str) -> None:
    found = computed(assessed(kind, "survey"))
    missing = [row for row in expected(kind) if not any(fits(row, one) for one in found)]

    assert missing == [], "\n".join(map(shown, found))


@cases
def test_every_kind_has_a_consequence_or_is_known_to_have_none(kind: str) -> None:
    found = [one for one in computed(assessed(kind, "survey")) if one[0]]

    assert (found == []) == (kind in NOTHING_COMPUTED)
    assert (expected(kind) == ()) == (kind in NOTHING_COMPUTED)


@cases
def test_nothing_else_that_is_grave_is_computed(kind: str) -> None:
    found = [one for one in computed(assessed(kind, "survey")) if one[1].code in GRAVE]

    assert [shown(one) for one in found if not any(fits(row, one) for row in expected(kind))] == []


@cases
def test_somebody_answers_for_everything(kind: str) -> None:
    """But for what holds for the vehicle as a whole, such as its drain."""
    assert [shown(one) for one in computed(assessed(kind, "survey")) if one[1].code in GRAVE and not one[0]] == []


@cases
def test_twin_does_nothing_of_the_sort(kind: str) -> None:
    found = computed(assessed(kind, "twin"))
    unprotected = [
        one
        for one in found
        if one[1].get("verdict") in ("not_protected", "short_only") or one[1].get("overload") == "beyond_rating"
    ]

    assert [shown(one) for one in found if one[1].code in GRAVE] == []
    assert [shown(one) for one in unprotected] == []


# -- names that say nothing

WORDED = {"label", "title", "about", "because", "note", "words", "make", "model_year", "as_entered", "text", "told_by"}
"""Members whose text is free."""
OF_CONDITIONS = {"condition", "live_in", "after"}
OF_TERMINALS = {"terminals", "between", "terminal", "pin", "pins"}
PLACE = re.compile(r"^([A-Za-z0-9_]+)([:.])(.*)$")


class Scrambler:
    """Exchanges ids, labels, names, terminals and conditions for random ones by one mapping each.

    The words of the schema stay, among them positions of switches; so does the condition "asleep",
    which is one of those words.
    """

    def __init__(self, written: Json, seed: int) -> None:
        self.random = random.Random(seed)
        self.conditions = {
            one["id"]: one["id"] if one["id"] == "asleep" else self._name()
            for one in written["reference"]["conditions"]
        }
        self.elements: dict[str, str] = {}
        self.terminals: dict[str, str] = {}
        self._collect(written["reference"])
        self._collect(written["survey"])

    def _name(self) -> str:
        return "q" + "".join(self.random.choices("0123456789abcdef", k=8))

    def _collect(self, data: Any) -> None:
        for each in data.values() if isinstance(data, dict) else data if isinstance(data, list) else ():
            self._collect(each)
        if isinstance(data, dict):
            if isinstance(data.get("id"), str) and data["id"] not in self.conditions:
                self.elements.setdefault(data["id"], self._name())
            for one in data.get("terminals", ()):
                self.terminals.setdefault(one if isinstance(one, str) else one["name"], self._name())

    def of(self, data: Any, key: str = "", within: str = "") -> Any:
        """Written data with all names exchanged; `key` is the member that holds it, `within` the one about that."""
        if isinstance(data, dict):
            named = {self.elements.get(name, name): self.of(each, name, key) for name, each in data.items()}
            return named if key == "positions" else {name: named[self.elements.get(name, name)] for name in data}
        if isinstance(data, list):
            return [self.of(each, key, within) for each in data]
        if not isinstance(data, str):
            return data
        if key in WORDED or (key == "name" and within != "terminals"):
            return self._name()
        if key in OF_CONDITIONS or (key == "id" and within == "conditions"):
            return self.conditions.get(data, data)
        if key == "name" or (key in OF_TERMINALS and data in self.terminals):
            return self.terminals[data]
        return self.element(data)

    def element(self, text: str) -> str:
        """An element's id exchanged: alone, before a terminal or what a shorthand made, or with the sign of added."""
        sign, plain = ("+", text[1:]) if text.startswith("+") else ("", text)
        if plain in self.elements:
            return sign + self.elements[plain]
        place = PLACE.match(plain)
        if place and place[1] in self.elements:
            rest = self.terminals.get(place[3], place[3]) if place[2] == ":" else place[3]
            return sign + self.elements[place[1]] + place[2] + rest
        return text


def essence(case: Case) -> list[tuple[str, ...]]:
    """Codes with their elements and numbers, in no order."""
    return sorted(
        (kind, one.code, one.subject, " ".join(sorted(one.conditions)), f"{one.after.nominal:.6g}" if one.after else "")
        for kind, one in computed(case)
        if one.code in GRAVE
    )


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("kind", ["M09", "M18", "M22", "M23", "M34", "M47", "M48", "M59", "M61"])
def test_names_that_say_nothing_change_nothing(kind: str, seed: int) -> None:
    """Backfeed (M59), bypasses (M09, M22, M47, M48), a defeated interlock (M18), second feeds (M23), a short (M34)."""
    written = entry(kind)
    scrambler = Scrambler(written, seed)
    reference = reference_from(scrambler.of(written["reference"]))
    case = assess(reference, survey_of(document(scrambler.of(written["survey"]), "scrambled"), reference))
    plain = essence(assessed(kind, "survey"))
    renamed = sorted(
        (
            finding,
            code,
            scrambler.element(subject),
            " ".join(sorted(map(scrambler.conditions.__getitem__, conditions.split()))),
            value,
        )
        for finding, code, subject, conditions, value in plain
    )

    assert plain != []
    assert essence(case) == renamed


@pytest.mark.parametrize("seed", range(3))
def test_masked_fuse_is_found_whatever_it_is_called(seed: int) -> None:
    """M23 with its left fuse blown: the left lamp is lit by the right fuse and the bridge."""
    written = entry("M23")
    blown = {"kind": "substitution", "id": "u9", "zone": "Z_DASH", "element": "F20", "fitted": {"state": "blown"}}
    written["survey"]["observations"].append(blown)
    scrambler = Scrambler(written, seed)
    renamed = json.loads(json.dumps(scrambler.of(written)))
    reference = reference_from(renamed["reference"])
    case = assess(reference, survey_of(document(renamed["survey"], "scrambled"), reference))
    masked = [one for _, one in computed(case) if one.code == "masked_blown_fuse"]

    assert [one.subject for one in masked] == [scrambler.elements["E1"]]
    assert [one.get("blown") for one in masked] == [(scrambler.elements["F20_FUSE"],)]


def test_scrambler_leaves_no_name() -> None:
    """No id, condition or terminal, and no label, is left in what is assessed."""
    written = entry("M47")
    scrambler = Scrambler(written, 1)
    text = json.dumps([scrambler.of(written["reference"]), scrambler.of(written["survey"])])
    names = [*scrambler.elements, *(name for name in scrambler.conditions if name not in ("asleep", "ignition"))]

    assert [name for name in names if re.search(rf'"{re.escape(name)}[":.]', text)] == []
    assert ":+" not in text
    assert "radiator" not in text
