"""How often a condition occurs, and what functions a load serves."""

from __future__ import annotations

import pytest

from harnessdiff.model.harness import Device, Harness
from harnessdiff.model.reference import Condition
from harnessdiff.rate.circumstances import OFTEN, Circumstances, functions_at
from harnessdiff.tables.loader import limit
from tests.support import bench_data, reference_from


def condition(name: str, key: str = "on", **more: object) -> Condition:
    return Condition(id=name, name=name, key=key, engine="stopped", **more)  # type: ignore[arg-type]


def around(*conditions: Condition, device: Device | None = None) -> Circumstances:
    return Circumstances(
        functions=(),
        zones=(),
        as_found=Harness.of([device] if device else [], set()),
        functions_at={"E1": ("side_lamp",), "E1:54": ("brake_lamp",)},
        conditions={one.id: one for one in conditions},
    )


@pytest.mark.parametrize(
    ("one", "often"),
    [
        (condition("parked", "out"), "parked"),
        (condition("overnight", "out", duration_s=limit("parked_s")), "parked"),
        (condition("just locked", "out", duration_s=limit("parked_s") - 1), "at_times"),
        (condition("driving"), "each_drive"),
        (condition("a drive", duration_s=limit("drive_s")), "each_drive"),
        (condition("indicating", duration_s=limit("drive_s") - 1), "at_times"),
        (condition("cranking", "start", duration_s=2.0), "each_drive"),
        (condition("cranking in gear", "start", refusal=True), "by_mistake"),
        (condition("out and refused", "out", refusal=True), "by_mistake"),
    ],
)
def test_condition_occurs_as_often_as_key_and_duration_say(one: Condition, often: str) -> None:
    assert around(one).often((one.id,)) == often


def test_of_several_conditions_the_most_often_counts_and_an_unknown_one_is_each_drive() -> None:
    parked, seldom = condition("parked", "out"), condition("seldom", duration_s=1.0)
    refused = condition("refused", refusal=True)
    both = around(parked, seldom, refused)

    assert OFTEN == ("parked", "each_drive", "at_times", "by_mistake")
    assert both.often(("refused", "seldom", "parked")) == "parked"
    assert both.often(("refused", "seldom")) == "at_times"
    assert both.often(("nobody knows",)) == both.often(()) == "each_drive"
    assert both.often(("nobody knows", "refused")) == "by_mistake"


def test_load_serves_its_own_function_and_those_of_the_circuits_that_end_at_it() -> None:
    lamp = Device(id="E1", kind="lamp", function="fog_rear")

    assert around().functions_of_load("E1", "54") == ("brake_lamp",)
    assert around().functions_of_load("E1", "58") == ("side_lamp",)
    assert around().functions_of_load("E1", None) == ("side_lamp",)
    assert around(device=lamp).functions_of_load("E1", "54") == ("fog_rear", "brake_lamp")
    assert around().functions_of_load("E9", "54") == ()


def test_functions_are_those_of_the_wires_that_end_at_a_terminal_and_ground_serves_none() -> None:
    found = functions_at(reference_from(bench_data()))

    assert found["E3:54"] == found["E3"] == ("brake_lamp",)
    assert "E3:31" not in found
    assert found["K1"] == ("horn",)
    assert "GND1" not in found
