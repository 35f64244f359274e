"""Makes references of a few wires written down in a test, and answers the questions that they leave."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.errors import InputError
from harnessdiff.pipeline import lint, reference_of_tables
from harnessdiff.read.table.cells import Row
from harnessdiff.read.table.fragment import WIRE_COLUMNS
from harnessdiff.report.objections import rules
from tests.support import Json, reference_from

if TYPE_CHECKING:
    from harnessdiff.read.table.questions import Key, Question

Made = tuple[Json, dict["Key", "Question"]]


def table(*wires: str) -> tuple[Row, ...]:
    """Rows of wires: cells in the order of the columns, ``|`` between them."""
    return tuple(
        Row(source="wires.csv", line=line, cells=dict(zip(WIRE_COLUMNS, map(str.strip, wire.split("|")), strict=False)))
        for line, wire in enumerate(wires, 2)
    )


def answered(answers: dict[Key, str]) -> dict[Key, Row]:
    return {
        key: Row(source="answers.csv", line=line, cells={"about": key[0], "what": key[1], "answer": answer})
        for line, (key, answer) in enumerate(answers.items(), 2)
    }


def made(*wires: str, answers: dict[Key, str] | None = None, base: Json | None = None) -> Made:
    """The document and the questions by what they are about."""
    document, questions = reference_of_tables(
        table(*wires), answered(answers or {}), own_id="small", title="small", base=base
    )
    return document, {(one.about, one.what): one for one in questions}


def refused(*wires: str, answers: dict[Key, str] | None = None, base: Json | None = None) -> list[str]:
    with pytest.raises(InputError) as raised:
        made(*wires, answers=answers, base=base)
    return [str(one) for one in raised.value.problems]


def entry(document: Json, own: str) -> Json:
    """The one element of an id."""
    members = ("zones", "circuits", "conditions", "devices", "splices", "wires")
    (found,) = (one for member in members for one in document[member] if one["id"] == own)
    return dict(found)


def example_in(question: Question, document: Json) -> str:
    """An answer as somebody would give it who takes every example for true."""
    match question.what:
        case "inside":
            return question.question.split(": ", 1)[1]
        case "function":
            return "horn"
        case "kind":
            return "lamp"
        case "ground":
            return "case"
        case "goes_on":
            return "yes"
        case "ground_polarity":
            return "negative"
        case "positions":
            return "none"
        case what if what.startswith("as_built"):
            return "as on the diagram"
        case "zone":
            return question.question.split("such as ")[1].split(" or ")[0]
        case _:
            return (
                question.question.split("such as ")[-1].split(", ")[0].split(" (")[0]
                if "such as" in question.question
                else "left one"
            )


def all_answered(*wires: str, base: Json | None = None) -> tuple[Json, dict[Key, str]]:
    """The document once every question is answered by its example, however many rounds that takes."""
    answers: dict[Key, str] = {}
    for _ in range(6):
        document, questions = made(*wires, answers=answers, base=base)
        fresh = {key: example_in(one, document) for key, one in questions.items() if not one.answer}
        if not fresh:
            return document, answers
        answers |= fresh
    raise AssertionError(fresh)


def levels(document: Json) -> list[tuple[str, str, str]]:
    """What is left to object to: level, rule, element."""
    found = lint(reference_from(document))
    return [(rules()[one.rule].level, one.rule, one.element) for one in found if one.waived is None]


BATTERY = (
    "W1 | BAT1:+ | F1:in | RD | 6 | 0.5 | battery main | bay",
    "W2 | BAT1:- | GND1 | BK | 16 | 0.4 | ground | bay",
)
RELAY = (
    *BATTERY,
    "W3 | F1:out | K1:30 | RD | 1.5 | 0.4 | horn | bay; dash",
    "W4 | F1:out | S1:1 | RD | 1.5 | 0.4 | horn | bay; dash",
    "W5 | S1:2 | K1:86 | BK/YE | 1.5 | 0.4 | horn | dash",
    "W6 | K1:85 | GND2 | BN | 1.5 | 0.4 | ground | dash",
    "W7 | K1:87 | SP1 | BK/YE | 1.5 | 2 | horn | dash; nose",
    "W8 | SP1 | X1:1a | BK/YE | 1.5 | 0.2 | horn | nose",
    "W9 | X1:1b | H1:1 | BK/YE | 1.5 | 0.2 | horn | nose",
    "W10 | SP1 | H2:1 | BK/YE | 1.5 | 0.2 | horn | nose",
    "W11 | H2:2 | G101 | BN | 1.5 | 0.2 | ground | nose",
)
BEYOND = (
    "W1 | OPEN:fuse box 30 | U1:30 | RD | 2.5 | 1 | supply | boot",
    "W2 | U1:54 | SP1 | BK/RD | 1 | 1 | brake lamps | boot",
    "W3 | SP1 | E1:1 | BK/RD | 0.75 | 1 | brake lamps | boot; tail left",
    "W4 | SP1 | E2:1 | BK/RD | 0.75 | 1 | brake lamps | boot; tail right",
    "W5 | E1:2 | BODY | BN | 0.75 | 1 | ground | tail left",
    "W6 | E2:2 | GND7 | BN | 0.75 | 1 | ground | tail right",
    "W7 | U1:31 | GND7 | BN | 1 | 1 | ground | boot; tail right",
)
BLOWER = (
    *BATTERY,
    "W3 | F1:out | M1:+ | RD | 2.5 | 1 | heater blower | bay; dash",
    "W4 | M1:- | R1:1 | BN | 2.5 | 1 | heater blower | dash",
    "W5 | R1:2 | S1:1 | GY | 2.5 | 1 | heater blower | dash",
    "W6 | R1:3 | S1:2 | GY/RD | 2.5 | 1 | heater blower | dash",
    "W7 | S1:31 | GND2 | BN | 2.5 | 1 | ground | dash",
)
BARE = (
    "| BAT1:+ | FL1:in",
    "| FL1:out | F1:in",
    "| F1:out | Q7:1",
    "| F1:out | E1:58 | RD",
    "| BAT1:- | CHASSIS",
    "| Q7:2 | CHASSIS",
)
DIAGRAMS = {"relay": RELAY, "beyond": BEYOND, "blower": BLOWER, "bare": BARE}
