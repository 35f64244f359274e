"""Heat: a joint gives most where it is as great as the circuit it sees; a device what it takes and does not pass on."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analyse.rigs import POOR, added, at, ground, load, of, seen, tap, two_lamps
from tests.support import Json

BURNT = POOR | {"condition": ["burnt"]}


@settings(max_examples=20, deadline=None)
@given(ohm=st.floats(0.5, 7))
def test_most_heat_is_where_joint_and_circuit_match(ohm: float) -> None:
    """12.6 V over a resistance: most is V²/4R, in a joint that may be as great as R; wires take a little of it."""
    part = {"kind": "load", "between": ["1", "2"], "model": "resistance", "resistance_ohm": ohm, "rated_V": 12}
    fuse = {"kind": "substitution", "id": "u1", "zone": "Z", "element": "F", "fitted": {"rating_A": 100}}
    case = seen(two_lamps(), fuse, added("d1", part), tap("t1", at("W_F_in"), "d1", "1", BURNT, size_mm2=10),
                ground("l2", "d1"))  # fmt: skip
    (hottest,) = [one for _, one in of(case, "joint_heat") if one.subject == "+t1.joint"]

    assert hottest.after is not None
    assert hottest.after.high == pytest.approx(12.6**2 / 4 / ohm, rel=0.12)
    assert hottest.after.nominal <= hottest.after.high


def test_load_resistor_gives_off_all_it_takes() -> None:
    """6 Ω at 12.3 V or so: 25 W, and its place matters."""
    part = {"kind": "load", "between": ["1", "2"], "model": "resistance", "resistance_ohm": 6, "rated_V": 12}
    case = seen(two_lamps(), added("d1", part, sort="load_resistor", mounted_on="plastic"),
                tap("t1", at("W_D_1"), "d1"), ground("l2", "d1"))  # fmt: skip
    ((kind, heat),) = of(case, "device_heat")

    assert (kind, heat.subject, heat.get("mounted_on"), heat.conditions) == ("tap", "+d1", "plastic", ("right",))
    assert heat.after is not None
    assert 23.5 < heat.after.nominal < 26.5


def converter(takes_A: float, *, known: bool = True) -> tuple[Json, ...]:
    """A converter that gives 5 V to a camera of 0.8 A."""
    out = {"kind": "source", "between": ["5V", "2"], "model": "converter", "voltage_V": 5, "limit_A": 2}
    lead = {"kind": "lead", "id": "l3", "zone": "Z", "size_mm2": 1.0, "length_m": 0.5,
            "end_1": {"device": "d1", "pin": "5V"}, "end_2": {"device": "d2", "pin": "1"}}  # fmt: skip
    back = lead | {"id": "l4", "end_1": {"device": "d2", "pin": "2"}, "end_2": {"device": "d1", "pin": "2"}}
    parts = [load(takes_A), *([out] if known else [])]
    return (
        added("d1", *parts, sort="converter", terminals=("1", "2", "5V")),
        added("d2", load(0.8) | {"rated_V": 5}, sort="camera"),
        tap("t1", at("W_F_in"), "d1"), ground("l2", "d1"), lead, back,
    )  # fmt: skip


def test_converter_gives_off_what_it_does_not_pass_on() -> None:
    """0.8 A at 12.5 V are 10 W; 4 W of them go to the camera."""
    case = seen(two_lamps(), *converter(0.8))
    ((_, heat),) = of(case, "device_heat")

    assert heat.after is not None
    assert heat.after.nominal == pytest.approx(6, rel=0.05)


def test_converter_whose_output_nobody_knows_is_not_taken_for_a_heater() -> None:
    case = seen(two_lamps(), *converter(0.8, known=False))

    assert of(case, "device_heat") == []
