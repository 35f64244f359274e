"""What the edges of a harness are in numbers, however little or how much nonsense was written of them."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.laws import Law
from harnessdiff.analyse.network.settle import settle
from harnessdiff.analyse.network.values import LEAST_OHM, MOST_OHM, nominal, rated, resistor
from harnessdiff.model.parts import Load
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import assumed_value
from tests.analyse.network.solved import SOME
from tests.support import Json, between, body, rig, run, source

MODELS = ("filament", "resistance", "current", "electronic", "power", "motor")
NUMBERS = [0, 1e-300, 1e-5, 12, 1e300, {"min": 0}, {"max": 0}, {"min": 1e300}, {"max": 1e300}, {"min": 0, "max": 1e300}]


def network_of(part: Json, polarity: Any = None, **made: Any) -> Network:
    """A part on a battery by way of a wire."""
    leads = [one | made for one in run("BAT:+", "U:1")]
    wires = [*leads, *run("U:2", "BODY:1"), {"id": "W_GND", "from": "BAT:-", "to": "BODY:1"}]
    return Network(rig([source(voltage_V=12), body(), between("U", "module", [part])], wires).harness, polarity)


def branch_of(part: Json, polarity: str | None = None) -> Branch:
    network = network_of(part, polarity)
    return next(one for one in network.branches_of("U") if one.part is not None)


def load(**members: Json | float | str) -> Json:
    return {"kind": "load", "between": ["1", "2"], "model": "resistance", **members}


@pytest.mark.parametrize(("quantity", "value"), [
    (Quantity(low=1, high=3), 2), (Quantity(low=1), 1), (Quantity(high=3), 3), (UNKNOWN, 7),
])  # fmt: skip
def test_quantity_is_taken_at_its_middle_or_the_bound_it_has(quantity: Quantity, value: float) -> None:
    assert nominal(quantity, 7) == value


@given(st.lists(st.floats(0, 1e12), min_size=3, max_size=3).map(sorted))
def test_resistance_is_never_nothing_nor_endless(ohm: list[float]) -> None:
    value = resistor(Range(low=ohm[0], nominal=ohm[1], high=ohm[2], guaranteed=True))

    assert value.ohm is not None
    assert LEAST_OHM <= value.ohm.low <= value.ohm.nominal <= value.ohm.high <= MOST_OHM
    assert value.numbers[0] == pytest.approx(1 / value.ohm.nominal)


@pytest.mark.parametrize(("members", "volts", "amps"), [
    ({"rated_V": 24, "rated_A": 2, "rated_W": 7}, 24, 2), ({"rated_V": 24, "rated_W": 12}, 24, 0.5),
    ({"rated_V": 6, "resistance_ohm": 3}, 6, 2), ({"rated_A": 2}, 12, 2), ({}, 12, assumed_value("unknown_load")),
    # A rating of no voltage, or of less than none, says nothing.
    ({"rated_V": 0, "rated_W": 24}, 12, 2), ({"rated_V": -12, "rated_W": 24}, 12, 2),
])  # fmt: skip
def test_load_is_rated_by_whichever_of_its_figures_are_given(members: Json, volts: float, amps: float) -> None:
    part = branch_of(load(**members)).part
    assert isinstance(part, Load)

    assert rated(part) == pytest.approx((volts, amps))


@pytest.mark.parametrize("model", MODELS)
@pytest.mark.parametrize("rated_V", [6, 12, 24])
def test_load_draws_what_it_is_rated_for_at_its_rated_voltage(model: str, rated_V: float) -> None:
    network = network_of(load(model=model, rated_V=rated_V, rated_W=6 * rated_V))
    (branch,) = network.loads
    across = np.zeros(len(network.branches))
    across[branch.number] = rated_V

    assert network.laws.currents(across)[0][branch.number] == pytest.approx(6, rel=1e-6)


@pytest.mark.parametrize("model", ["current", "electronic", "power"])
def test_load_with_a_direction_draws_the_other_way_round_with_plus_on_the_body(model: str) -> None:
    here, there = (branch_of(load(model=model, rated_W=24), sign).value for sign in (None, "positive"))

    assert here.numbers[:2] == there.numbers[:2]
    assert (here.numbers[2], there.numbers[2]) == (1.0, -1.0)


@pytest.mark.parametrize(("part", "law"), [
    ({"kind": "link"}, Law.RESISTOR), ({"kind": "output"}, Law.RESISTOR), ({"kind": "coil"}, Law.RESISTOR),
    ({"kind": "diode"}, Law.DIODE), ({"kind": "source", "model": "battery"}, Law.BATTERY),
    ({"kind": "source", "model": "alternator"}, Law.SOURCE), (load(model="filament"), Law.FILAMENT),
    (load(model="power"), Law.POWER), (load(model="electronic"), Law.CURRENT), (load(), Law.RESISTOR),
])  # fmt: skip
def test_part_follows_the_law_of_its_kind(part: Json, law: Law) -> None:
    assert branch_of({"between": ["1", "2"]} | part).value.law is law


def test_wire_of_which_nothing_is_known_may_be_much_or_little() -> None:
    unknown = network_of(load(), size_mm2={"min": 0.35}, length_m={"max": 9}).branches_of("W_U_1")[0].value.ohm
    known = network_of(load(), size_mm2=1, length_m=1).branches_of("W_U_1")[0].value.ohm

    assert unknown is not None
    assert known is not None
    assert unknown.low < known.low < known.high < unknown.high
    assert not unknown.guaranteed


# -- nonsense: a slip of the unit, a zero where nothing was known


FIELDS = [
    *[(load(model=model, rated_W=5), name) for model, name in itertools.product(MODELS, ("rated_V", "rated_A"))],
    *[(load(model=model), "rated_W") for model in MODELS],
    (load(), "resistance_ohm"),
    *[({"kind": "source", "between": ["1", "2"], "model": model}, name)
      for model, name in itertools.product(("battery", "alternator"), ("voltage_V", "internal_ohm", "limit_A"))],
    *[({"kind": "coil", "between": ["1", "2"]}, name) for name in ("resistance_ohm", "pull_in_V", "drop_out_V")],
    ({"kind": "link", "between": ["1", "2"]}, "resistance_ohm"),
    ({"kind": "diode", "between": ["1", "2"]}, "forward_V"),
]  # fmt: skip


@pytest.mark.parametrize("number", NUMBERS, ids=str)
def test_whatever_number_is_written_can_be_solved(number: Json | float) -> None:
    for part, name in FIELDS:
        with np.errstate(all="raise", under="ignore"):
            settled = settle(network_of(part | {name: number}), SOME)

        assert np.all(np.isfinite(settled.solution.voltage_V)), (part, name)


@pytest.mark.parametrize("number", [one for one in NUMBERS if one != 1e300], ids=str)
@pytest.mark.parametrize("name", ["size_mm2", "length_m"])
def test_whatever_is_written_of_a_wire_can_be_solved(name: str, number: Json | float) -> None:
    settled = settle(network_of(load(rated_W=5), **{name: number}), SOME)

    assert np.all(np.isfinite(settled.solution.voltage_V))


@settings(max_examples=30)
@given(st.floats(0.01, 100), st.floats(0.01, 100), st.booleans())
def test_open_side_of_a_wire_is_closed_beyond_the_side_it_has(size_mm2: float, length_m: float, least: bool) -> None:
    side = "min" if least else "max"
    one = network_of(load(), size_mm2={side: size_mm2}, length_m={side: length_m}).branches_of("W_U_1")[0]

    assert one.value.ohm is not None
    assert one.value.ohm.low <= one.value.ohm.nominal <= one.value.ohm.high
