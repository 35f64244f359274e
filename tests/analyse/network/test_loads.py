"""What a load does follows from the voltage across it, its direction, and what it waits for."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.loads import LOAD_CODES, LoadState, live_V, load_state
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.model.parts import Load
from tests.support import Json, least_reference, reference_from

ORDER = ("off", "glows", "dim", "on")


LAMP = {"model": "filament", "rated_W": 5}
RADIO = {"model": "electronic", "rated_A": 2, "rest_A": 0.003}
AMPLIFIER = {"model": "current", "rated_A": 2, "cut_out_V": 10}


def fed(
    volts: float,
    part: Json = LAMP,
    *,
    swapped: bool = False,
    feed: bool = True,
    condition: str = "asleep",
    internal_ohm: float = 0.001,
) -> LoadState:
    """What a load does that hangs on a battery."""
    data: Json = least_reference()
    _, battery, lamp = data["devices"]
    battery["parts"][0] |= {"voltage_V": volts, "internal_ohm": internal_ohm}
    lamp["parts"] = [{"kind": "load", "between": ["58", "31"], "rated_V": 12} | part]
    ends = ("E14:31", "E14:58") if swapped else ("E14:58", "E14:31")
    data["wires"] = [{"id": "W1", "from": "BAT1:+", "to": ends[0], "size_mm2": 4, "length_m": 0.1}] * feed
    data["wires"] += [{"id": "W2", "from": ends[1], "to": "BODY:1", "size_mm2": 4, "length_m": 0.1}]
    data["conditions"].append({"id": "awake", "name": "awake", "key": "out", "engine": "stopped"})
    reference = reference_from(data)
    network = Network(reference.harness)
    (load,) = network.loads
    return load_state(settled_in_all(network, reference.conditions)[condition], load)


@pytest.mark.parametrize(
    ("volts", "code"),
    [(0, "off"), (1.1, "off"), (1.3, "glows"), (5.9, "glows"), (6.1, "dim"), (10.1, "dim"), (10.3, "on"), (14.2, "on")],
)
def test_lamp_is_named_by_its_share_of_the_rated_voltage(volts: float, code: str) -> None:
    assert fed(volts).code == code


@given(st.lists(st.floats(0, 16), min_size=2, max_size=2))
def test_more_voltage_is_never_less_light(volts: list[float]) -> None:
    low, high = (fed(one) for one in sorted(volts))

    assert ORDER.index(low.code) <= ORDER.index(high.code)
    assert low.share_of_rated_V is not None
    assert high.share_of_rated_V is not None
    assert low.share_of_rated_V <= high.share_of_rated_V


def test_lamp_does_not_mind_which_way_round_it_is_fed() -> None:
    ahead, back = fed(12), fed(12, swapped=True)

    assert (ahead.code, back.code) == ("on", "on")
    assert back.across_V == pytest.approx(-(ahead.across_V or 0))
    assert back.current_A == pytest.approx(-ahead.current_A)
    assert back.share_of_rated_V == pytest.approx(ahead.share_of_rated_V)


@pytest.mark.parametrize("model", ["electronic", "current", "power", "motor"])
def test_what_has_a_direction_is_told_when_it_is_fed_backwards(model: str) -> None:
    part = {"model": model, "rated_W": 24}

    assert fed(12, part).code == "on"
    assert fed(12, part, swapped=True).code == "reversed"
    assert fed(1, part, swapped=True).code == "off"
    assert fed(12, part, swapped=True).works


def test_load_that_sleeps_draws_what_it_draws_at_rest() -> None:
    asleep = fed(12, RADIO)

    assert asleep.code == "rests"
    assert asleep.current_A == pytest.approx(0.003, rel=1e-3)
    assert not asleep.works
    assert fed(12, RADIO, condition="awake").code == "on"


def test_load_that_sleeps_without_a_feed_is_off() -> None:
    assert fed(0, RADIO).code == "off"


def test_load_is_idle_while_what_it_waits_for_does_not_hold() -> None:
    state = fed(12, LAMP | {"when": {"engine": ["running"]}})

    assert (state.code, state.current_A) == ("idle", 0.0)
    assert state.across_V == pytest.approx(12)


def test_idle_load_that_hangs_on_nothing_has_no_voltage() -> None:
    state = fed(12, LAMP | {"when": {"engine": ["running"]}}, feed=False)

    assert (state.code, state.across_V, state.share_of_rated_V) == ("idle", None, None)


def test_load_that_switches_itself_off_is_told() -> None:
    assert fed(9, AMPLIFIER).code == "cut_out"
    assert fed(11, AMPLIFIER).code == "on"


def test_power_that_the_supply_cannot_carry_is_told() -> None:
    # The most that 12 V behind 1 ohm can give is 12² / (4 · 1) = 36 W.
    assert fed(12, {"model": "power", "rated_W": 40}, internal_ohm=1).code == "collapsed"
    assert fed(12, {"model": "power", "rated_W": 30}, internal_ohm=1).code in ("dim", "on")


@given(
    st.floats(0, 30),
    st.booleans(),
    st.sampled_from(["filament", "resistance", "electronic", "current", "power", "motor"]),
)
def test_every_state_has_a_code_that_is_promised(volts: float, swapped: bool, model: str) -> None:
    state = fed(volts, {"model": model, "rated_W": 5}, swapped=swapped)

    assert state.code in LOAD_CODES


def test_what_is_no_load_is_refused() -> None:
    network = Network(reference_from(least_reference()).harness)
    settled = settled_in_all(network, reference_from(least_reference()).conditions)["asleep"]
    (wire, *_) = (branch for branch in network.branches if not isinstance(branch.part, Load))

    with pytest.raises(TypeError, match="has no load there"):
        load_state(settled, wire)


def starter(volts: float, **device: Any) -> float | None:
    """By what a device is live that must stay dead, fed with some voltage."""
    data: Json = least_reference()
    _, battery, lamp = data["devices"]
    battery["parts"][0]["voltage_V"] = volts
    lamp |= device
    reference = reference_from(data)
    return live_V(settled_in_all(Network(reference.harness), reference.conditions)["asleep"], "E14")


@pytest.mark.parametrize("parts", [
    [{"kind": "load", "between": ["58", "31"], "model": "motor", "rated_V": 12, "rated_A": 10}],
    [{"kind": "coil", "between": ["58", "31"], "resistance_ohm": 80}],
    [],
], ids=["load", "coil", "terminals alone"])  # fmt: skip
def test_what_must_stay_dead_is_live_from_a_tenth_on(parts: list[Json]) -> None:
    if not parts:
        # Nothing joins its terminals but the battery behind them.
        assert starter(12.6, parts=parts) == pytest.approx(12.6)
        assert starter(1, parts=parts) is None
        return
    assert starter(12.6, parts=parts) == pytest.approx(12.6, rel=0.05)
    assert starter(1, parts=parts) is None


def test_load_that_waits_is_not_live() -> None:
    waiting = LAMP | {"kind": "load", "between": ["58", "31"], "when": {"engine": ["running"]}}

    assert starter(12.6, parts=[waiting]) is None
