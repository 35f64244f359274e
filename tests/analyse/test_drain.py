"""What is drawn with the key out, by which load, through which fuse, and for how long the battery stands it."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.contents import supposed
from harnessdiff.analyse.drain import Drain, capacity_from_reserve_Ah, days_until_no_start, drains, figures_held
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.model.range import Range
from tests.analyse.measured import ASLEEP, LIT, bench, vehicle
from tests.support import Json

DOOR: Json = {"id": "door_open", "name": "door open", "key": "out", "engine": "stopped", "positions": {"S1": "on"}}


def box(amps: float, plus: str = "BUS:3", minus: str = "BODY:1", **part: Any) -> tuple[Json, ...]:
    """An added box and its two leads."""
    load = {"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": amps} | part
    device = {"kind": "device", "id": "D1", "sort": "other", "connected": "yes", "terminals": ["+", "-"],
              "contents": [load]}  # fmt: skip
    ends = ((1, "+", plus), (2, "-", minus))
    return (device, *({"kind": "lead", "id": f"L{n}", "size_mm2": 1.5, "length_m": 1,
                       "end_1": {"device": "D1", "pin": pin}, "end_2": {"terminal": end}}
                      for n, pin, end in ends))  # fmt: skip


def drained(*observations: Json, **members: Any) -> dict[str, Drain]:
    made = bench(observations=observations, data=vehicle(**members))
    return {one.condition: one for one in drains(made.before, made.settled, made.reference)}


def test_only_conditions_with_the_key_out_and_the_engine_stopped() -> None:
    assert list(drained(conditions=[ASLEEP, LIT, DOOR])) == ["asleep", "door_open"]


def test_added_load_is_named_with_its_battery_and_its_fuse() -> None:
    direct = drained(*box(0.1))["asleep"]
    fused = drained(*box(0.1, "F2:out"))["asleep"]

    assert [(one.load, one.battery, one.fuses, one.added) for one in direct.draws] == [("+D1", "BAT1", (), True)]
    assert [one.fuses for one in fused.draws] == [("F2_FUSE",)]
    assert fused.draws[0].path[0] == "BAT1"
    assert fused.draws[0].path[-1] == "+L1"


@pytest.mark.parametrize("terminals", [["30", "31"], ["31", "30"]])
def test_load_that_draws_no_more_is_named_by_the_terminal_that_fed_it(terminals: list[str]) -> None:
    data = vehicle()
    radio = next(one for one in data["devices"] if one["id"] == "R1")
    radio["parts"] = [{"kind": "load", "between": terminals, "model": "resistance", "rated_A": 1, "rated_V": 12}]
    made = bench(observations=({"kind": "cut", "id": "c", "wire": "W5"},), data=data)
    asleep = drains(made.before, made.settled, made.reference)[0]

    assert [(one.load, one.terminal) for one in asleep.draws] == [("R1", "R1:30")]


def test_before_and_after_differ_by_what_was_added() -> None:
    found = drained(*box(0.1))["asleep"]

    assert found.before_A is not None
    assert found.before_A.nominal == pytest.approx(0.02, abs=1e-4)
    assert found.after_A.nominal == pytest.approx(0.12, abs=1e-4)
    assert found.draws[0].after_A.low < 0.1 < found.draws[0].after_A.high


def test_load_that_was_kept_awake_is_named_though_it_is_the_makers() -> None:
    bridge = {"kind": "lead", "id": "L1", "size_mm2": 1.5, "length_m": 1, "end_1": {"terminal": "S1:1"},
              "end_2": {"terminal": "S1:2"}}  # fmt: skip

    (lamp,) = drained(bridge)["asleep"].draws

    assert (lamp.load, lamp.added, lamp.fuses, lamp.before_A.high) == ("E1", False, ("F1_FUSE",), 0.0)
    assert lamp.after_A.nominal == pytest.approx(5, rel=0.05)


def test_load_that_was_taken_out_draws_nothing_afterwards() -> None:
    gone = {"kind": "missing", "id": "X1", "element": "R1"}

    (radio,) = drained(gone)["asleep"].draws

    assert (radio.load, radio.after_A.high) == ("R1", 0.0)
    assert radio.before_A.nominal == pytest.approx(0.02, abs=1e-4)


def test_rest_of_the_vehicle_is_carried() -> None:
    without, with_it = drained()["asleep"], drained(unmodelled_rest_A=0.012)["asleep"]

    assert with_it.after_A.nominal - without.after_A.nominal == pytest.approx(0.012)
    assert with_it.rest_A == Range(low=0.012, nominal=0.012, high=0.012, guaranteed=False)


def test_fragment_is_complete_asleep_alone() -> None:
    found = drained(extent="fragment", unmodelled_rest_A=0.012, conditions=[ASLEEP, DOOR])

    assert (found["asleep"].complete, found["door_open"].complete) == (True, False)


def test_device_of_unknown_contents_draws_between_all_guesses() -> None:
    guesses = [
        {"parts": [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": amps, "rest_A": amps}]}
        for amps in (0.02, 0.06)
    ]
    device, *leads = box(0.1)
    unknown = {name: value for name, value in device.items() if name != "contents"} | {"hypotheses": guesses}

    (found,) = drained(unknown, *leads)["asleep"].draws
    made = bench(observations=(unknown, *leads))
    taken = settled_in_all(Network(supposed(made.network.harness)), made.reference.conditions)
    ((first,),) = (one.draws for one in drains(made.before, taken, made.reference))
    (unfed,) = drained(unknown, leads[1])["asleep"].draws or ("none",)

    assert found.load == "+D1"
    assert found.after_A.low < 0.02
    assert found.after_A.high > 0.06
    assert unfed == "none"
    assert first.after_A.nominal == pytest.approx(0.02)
    assert (first.after_A.low, first.after_A.high) == pytest.approx((found.after_A.low, found.after_A.high))


def test_second_battery_gives_what_hangs_on_it() -> None:
    battery = {"kind": "device", "id": "D2", "sort": "battery", "terminals": ["+", "-"],
               "contents": [{"kind": "source", "between": ["+", "-"], "model": "battery", "voltage_V": 12.6,
                             "capacity_Ah": 100}]}  # fmt: skip
    leads = tuple(
        {"kind": "lead", "id": f"L{n}", "size_mm2": 6, "length_m": 1, "end_1": {"device": "D1", "pin": pin},
         "end_2": {"device": "D2", "pin": pin}}
        for n, pin in ((1, "+"), (2, "-"))
    )  # fmt: skip
    ground = {"kind": "lead", "id": "L3", "size_mm2": 6, "length_m": 1, "end_1": {"device": "D2", "pin": "-"},
              "end_2": {"terminal": "BODY:1"}}  # fmt: skip

    found = {one.battery: one for one in drained(box(0.3)[0], battery, *leads, ground)["asleep"].batteries}

    assert found["+D2"].before_A is None
    assert found["+D2"].after_A.nominal == pytest.approx(0.3, rel=0.01)
    assert found["BAT1"].after_A.nominal == pytest.approx(0.02, rel=0.01)


def test_battery_of_unknown_capacity_has_no_days() -> None:
    data = vehicle()
    del data["devices"][0]["parts"][0]["capacity_Ah"]
    made = bench(observations=(), data=data)

    (battery,) = drains(made.before, made.settled, made.reference)[0].batteries

    assert (battery.capacity_Ah, battery.days, battery.days_before) == (None, None, None)
    assert battery.after_A.nominal > 0


def test_condition_that_the_reference_lacks_has_nothing_before() -> None:
    made = bench(observations=())

    (found,) = drains({}, made.settled, made.reference)

    assert found.before_A is None
    assert found.batteries[0].days_before is None


def test_figures_are_held_only_asleep_and_by_both_bounds() -> None:
    found = drained(*box(0.3), conditions=[ASLEEP, DOOR])

    assert {one.code for one in found["asleep"].figures} == {"exceeds"}
    assert found["door_open"].figures == ()


def test_current_on_both_sides_of_a_figure_is_undecided() -> None:
    codes = {one.name: one.code for one in figures_held(Range(low=0.04, nominal=0.06, high=0.08, guaranteed=False))}

    assert codes["usual"] == "undecided"
    assert codes["training_text"] == "exceeds"
    assert codes["battery_questions"] == "holds"


def test_nothing_drawn_lasts_for_ever() -> None:
    found = days_until_no_start(Range.exactly(60), Range.exactly(0))

    assert (found.low, found.nominal, found.high) == (math.inf, math.inf, math.inf)


@given(st.floats(20, 200), st.floats(0.001, 5), st.floats(1.01, 3))
def test_more_current_means_fewer_days(capacity: float, amps: float, times: float) -> None:
    few = days_until_no_start(Range.exactly(capacity), Range.exactly(amps * times))
    many = days_until_no_start(Range.exactly(capacity), Range.exactly(amps))

    assert few.nominal * times == pytest.approx(many.nominal)


@given(st.floats(30, 300))
def test_capacity_grows_with_the_reserve(minutes: float) -> None:
    assert capacity_from_reserve_Ah(2 * minutes) == pytest.approx(2 * capacity_from_reserve_Ah(minutes))


@settings(max_examples=15)
@given(st.floats(0.001, 2))
def test_current_of_the_battery_is_the_sum_of_what_is_drawn(amps: float) -> None:
    made = bench(observations=box(amps))
    (found,) = drains(made.before, made.settled, made.reference)
    (source,) = [one for one in made.network.branches if one.kind == "source"]

    assert found.after_A.nominal == pytest.approx(-made.settled["asleep"].current_A(source), abs=1e-6)
    assert found.after_A.low <= found.after_A.nominal <= found.after_A.high
