"""Tables of rules: conditions that are read, and ask for nothing that cannot be."""

from __future__ import annotations

import pytest

from harnessdiff.model.consequence import CODES
from harnessdiff.model.modification import KINDS
from harnessdiff.model.rules import CATEGORIES, REALMS
from harnessdiff.rate.established import OF_JOINTS
from harnessdiff.read.schema import schema
from harnessdiff.tables.loader import functions, rows
from harnessdiff.tables.rules import directive_rows, rule_rows, when_of
from harnessdiff.words import FACTS
from tests.rate.plantings import terms_of

JOINTS = schema("survey")["$defs"]["joint_details"]["properties"]
OF_CRIMPS_AND_PLACES = {
    "tinned_in_crimp", "twisted_in_crimp", "near_termination_by_aircraft_practice",
    "several_joints_by_aircraft_practice",
}  # fmt: skip
COMPUTED = {"lamp_voltage", "glowing_joint", "boat_rating"}


def test_a_condition_is_alternatives_of_terms() -> None:
    (first, second), (third,) = when_of("fact rubbing and joint type=twisted|solder cover=none or kind damage|tap")

    assert (first.noun, set(first.codes), first.says) == ("fact", {"rubbing"}, ())
    assert {name: set(values) for name, values in second.says} == {"type": {"twisted", "solder"}, "cover": {"none"}}
    assert third.codes == {"damage", "tap"}


@pytest.mark.parametrize("cell", ["", "fact", "fuse blown", "fact rubbing and", "fact rubbing or "])
def test_what_is_no_condition_is_refused(cell: str) -> None:
    with pytest.raises(ValueError, match="not a condition"):
        when_of(cell)


def test_every_code_that_is_asked_for_may_be_established() -> None:
    asked = {noun: {code for code, _ in terms_of(noun)} for noun in ("fact", "consequence", "function", "kind")}

    assert asked["fact"] - set(FACTS) - OF_CRIMPS_AND_PLACES == set()
    assert asked["consequence"] <= set(CODES)
    assert asked["function"] <= set(functions())
    assert asked["kind"] <= set(KINDS)
    assert {code for code, _ in terms_of("computed")} == COMPUTED


def test_everything_that_is_asked_of_a_joint_may_be_recorded() -> None:
    lists = {"type": JOINTS["type"]["enum"], "cover": JOINTS["cover"]["enum"]} | {
        "condition": JOINTS["condition"]["items"]["enum"]
    }
    for _, says in terms_of("joint"):
        assert says
        for name, values in says.items():
            assert name in OF_JOINTS
            assert values - {"unknown", "other"} == values
            assert values <= set(lists[name])


def test_directive_rows_are_told_apart_and_say_that_they_are_from_memory_or_a_copy() -> None:
    found = directive_rows()

    assert len({row.reason for row in found}) == len({row.words for row in found}) == len(found)
    assert {row.category for row in found} == set(CATEGORIES)
    assert {row.item for row in found} == {"4.10", "4.11", "4.12", "4.13"}
    assert {row["status"] for row in rows("directive_items") if row["item"] != "4.10"} == {"from memory"}
    assert {row["status"] for row in rows("directive_items")} == {"from memory", "secondary copy"}


def test_rules_are_told_apart_and_each_is_made_for_something() -> None:
    assert len(rule_rows()) == len(rows("rules"))
    assert {row.realm for row in rule_rows().values()} == set(REALMS)
