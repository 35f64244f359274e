"""Millivolts over fuses become currents, and what the clamp shows besides passes no fuse that was read."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.fuse_survey import Reconciled, fuse_currents, reconciled
from harnessdiff.analyse.fuses import fuse_resistance_ohm
from harnessdiff.model.quantity import Quantity
from tests.analyse.measured import Bench, bench, vehicle
from tests.support import Json, fused_slot, wire

METER = "meter, 200 mV range"
RATINGS = {"F1": 10.0, "F2": 5.0}


def over(fuse: str, millivolt: float, condition: str = "asleep", **more: Any) -> Json:
    """A voltage over a fuse."""
    points = [{"terminal": f"{fuse}:in"}, {"terminal": f"{fuse}:out"}]
    return {"between": points, "voltage_V": millivolt / 1000, "condition": condition, "instrument": METER} | more


def clamp(amps: float, condition: str = "asleep") -> Json:
    """A clamp round the battery's negative cable."""
    return {"between": [{"wire": "W0"}], "current_A": amps, "condition": condition, "instrument": "clamp, 4 A range"}


def surveyed(made: Bench) -> Reconciled:
    (found,) = reconciled(made.network, made.settled, made.survey)
    return found


def at_battery(amps: float) -> tuple[Json, ...]:
    """An added box that hangs on the battery's post without a fuse."""
    box = {"kind": "device", "id": "D1", "sort": "other", "connected": "yes", "terminals": ["+", "-"],
           "contents": [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": amps}]}  # fmt: skip
    ends = ((1, "+", "BAT1:+"), (2, "-", "BODY:1"))
    return (box, *({"kind": "lead", "id": f"L{n}", "size_mm2": 1.5, "length_m": 1,
                    "end_1": {"device": "D1", "pin": pin}, "end_2": {"terminal": end}}
                   for n, pin, end in ends))  # fmt: skip


def test_current_is_millivolt_over_the_resistance_of_body_and_rating() -> None:
    made = bench(over("F1", 1.0), over("F2", -9.0))

    ten, five = fuse_currents(made.network, made.survey)

    # 130 mA a millivolt on a 10 A fuse, 56 mA on a 5 A fuse: tables of workshop practice
    assert ten.current_A.nominal == pytest.approx(0.130, abs=0.002)
    assert five.current_A.nominal == pytest.approx(9 * 0.056, rel=0.02)
    assert (ten.fuse, five.fuse) == ("F1_FUSE", "F2_FUSE")


def test_meter_of_a_tenth_of_a_millivolt_does_not_see_50_mA_on_30_A() -> None:
    slot = tuple(fused_slot("F3", 30, "BUS:3"))
    made = bench(over("F3", 0.0), data=vehicle(more=slot, wires=(wire("W7", ("F3:out", "E1:58"), "RD", 2.5, 1),)))

    (found,) = fuse_currents(made.network, made.survey)

    assert not found.seen
    assert found.resolution_A == pytest.approx(0.0508, abs=0.001)
    assert found.current_A.low == 0.0
    assert found.current_A.high >= 0.05


def test_voltage_over_anything_else_is_no_fuse_current() -> None:
    switch = {"between": [{"terminal": "S1:1"}, {"terminal": "S1:2"}], "voltage_V": 0.001, "condition": "lit"}
    made = bench(switch, over("F1", 1.0, stage="after_repair"))

    assert fuse_currents(made.network, made.survey) == ()


def test_slug_in_place_of_a_fuse_gives_no_current() -> None:
    slug = {"kind": "substitution", "id": "B1", "element": "F1", "fitted": {"state": "slug"}}
    made = bench(over("F1", 1.0), observations=(slug,))

    assert fuse_currents(made.network, made.survey) == ()


def test_all_of_it_may_pass_the_fuses() -> None:
    found = surveyed(bench(over("F1", 0.0), over("F2", 0.4), clamp(0.02)))

    assert (found.code, found.clamp, found.unread_fuses, found.past) == ("through_fuses", "M3", (), ())
    assert found.past_A is not None
    assert found.past_A.low == 0.0


def test_what_passes_no_fuse_is_named_with_its_amount() -> None:
    found = surveyed(bench(over("F1", 0.0), over("F2", 0.4), clamp(0.52), observations=at_battery(0.5)))

    assert (found.code, found.past) == ("past_fuses", ("+D1",))
    assert found.past_A is not None
    assert found.past_A.low < 0.5 < found.past_A.high
    assert found.past_A.low > 0.4


def test_fuse_that_was_not_read_is_named_and_not_what_it_feeds() -> None:
    found = surveyed(bench(over("F1", 0.0), clamp(0.02)))

    assert (found.unread_fuses, found.past) == (("F2_FUSE",), ())


def test_lead_that_nobody_traced_and_second_sources_may_draw_too() -> None:
    lead = {"kind": "lead", "id": "L9", "end_1": {"terminal": "BAT1:+"}, "end_2": {"not_traced": True}}
    second = {"id": "G1", "kind": "alternator", "terminals": ["B+", "31"],
              "parts": [{"kind": "source", "between": ["B+", "31"], "model": "alternator",
                         "when": {"engine": ["running"]}}]}  # fmt: skip
    cable = (wire("W8", ("BAT1:+", "G1:B+"), "RD", 16, 1), wire("W9", ("G1:31", "BODY:1"), "BK", 16, 1))

    found = surveyed(bench(over("F1", 0.0), over("F2", 0.4), clamp(0.3), observations=(lead,),
                           data=vehicle(more=(second,), wires=cable)))  # fmt: skip

    assert found.past == ("+L9", "G1")


def test_fuses_in_a_row_are_counted_once() -> None:
    main = tuple(fused_slot("F0", 60, "BUS:3"))[1:]
    slot = {"id": "F0", "kind": "fuse_slot", "body": "blade type C",
            "terminals": [{"name": "in", "side": "supply"}, {"name": "out", "side": "load"}]}  # fmt: skip
    data = vehicle(more=(slot, *main))
    data["wires"] = [one for one in data["wires"] if one["id"] != "W1"] + [
        wire("W1", ("BAT1:+", "F0:in"), "RD", 10, 0.5), wire("W11", ("F0:out", "BUS:in"), "RD", 10, 0.5)
    ]  # fmt: skip

    found = surveyed(bench(over("F0", 0.0), over("F2", 0.4), clamp(0.02), data=data))

    assert found.nested == ("F2_FUSE",)
    assert found.sum_A == found.fuses[0].current_A


def test_fuses_that_carry_more_than_the_battery_gives_are_not_genuine_or_not_alone() -> None:
    assert surveyed(bench(over("F1", 9.0), over("F2", 0.4), clamp(0.02))).code == "more_than_clamp"


def test_without_a_clamp_nothing_is_held_against_it() -> None:
    found = surveyed(bench(over("F1", 0.0), over("F2", 0.4)))

    assert (found.code, found.clamp_A, found.past_A) == ("no_clamp", None, None)


def test_clamp_with_a_fuse_out_is_not_of_the_same_state() -> None:
    apart = clamp(0.02) | {"manipulations": [{"kind": "fuse_out", "element": "F1"}]}

    assert surveyed(bench(over("F1", 0.0), over("F2", 0.4), apart)).code == "no_clamp"


@settings(max_examples=20)
@given(st.floats(0, 4), st.floats(0, 2), st.sampled_from(["asleep", "lit"]))
def test_currents_that_all_pass_fuses_never_exceed_the_clamp(one: float, other: float, condition: str) -> None:
    ohms = {fuse: fuse_resistance_ohm("blade type C", Quantity.exactly(rating)) for fuse, rating in RATINGS.items()}
    drops = [over(fuse, amps * ohms[fuse].nominal * 1000, condition) for fuse, amps in (("F1", one), ("F2", other))]

    found = surveyed(bench(*drops, clamp(one + other, condition)))

    assert found.code == "through_fuses"
    assert found.clamp_A is not None
    assert found.sum_A.low <= found.clamp_A.high
    assert found.past_A is not None
    assert found.past_A.low == 0.0


@settings(max_examples=20)
@given(st.floats(0, 3), st.floats(0.5, 3))
def test_what_passes_no_fuse_lies_within_what_is_said_of_it(fused: float, past: float) -> None:
    ohm = fuse_resistance_ohm("blade type C", Quantity.exactly(5.0)).nominal

    found = surveyed(bench(over("F1", 0.0), over("F2", fused * ohm * 1000), clamp(fused + past)))

    assert found.past_A is not None
    assert found.past_A.low <= past <= found.past_A.high
