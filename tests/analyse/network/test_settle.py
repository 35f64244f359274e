"""A network settles: relays, inputs and loads that switch themselves off, from what was before."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.loads import load_state
from harnessdiff.analyse.network.settle import AT_REST, Settled, State, settle, settled_in_all
from harnessdiff.model.reference import Condition, Reference
from tests.analyse.network.solved import SOME, with_switches_on
from tests.analyse.rigs import condition, link, load, switch
from tests.strategies import references
from tests.support import Json, bench_data, between, body, lamp, reference_from, rig, run, source

RELAY_PINS = ("30", "87", "87a", "85", "86")
INPUT_STATES = {"high": State(high=frozenset({"U:IN"})), "low": State(low=frozenset({"U:IN"})), "neither": AT_REST}


def relay(own: str, **coil: object) -> Json:
    """A relay with a changeover contact; 8 V pull it in, below 1.5 V it lets go unless said otherwise."""
    parts = [
        {"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80, **coil},
        link("30", "87", when={"energised": True}),
        link("30", "87a", when={"energised": False}),
    ]
    return {"id": own, "kind": "relay", "zone": "Z", "terminals": list(RELAY_PINS), "parts": parts}


def battery(volts: float = 12.0, internal_ohm: float = 0.001) -> Json:
    return source(voltage_V=volts, internal_ohm=internal_ohm)


def wired(*stops: str) -> list[Json]:
    """Thick short wires from stop to stop, by numbers, so that any number may end at one stop."""
    ends = ("BAT:-", "BODY:1", *stops)
    return [one | {"id": f"W{n}"} for n, one in enumerate(run(*ends, size_mm2=16, length_m=0.1))]


def network_of(reference: Reference) -> Network:
    return Network(reference.harness, reference.vehicle.ground_polarity, reference.vehicle.system_voltage_V)


def fed_coil(volts: float, **coil: object) -> Network:
    """A relay whose coil lies on the battery."""
    wires = wired("BAT:+", "K:86", "K:85", "BODY:1")
    return network_of(rig([battery(volts), body(), relay("K", **coil)], wires))


def pulled(settled: Settled) -> set[str]:
    return set(settled.state.pulled)


def part_of(network: Network, element: str, kind: str) -> Branch:
    (branch,) = [one for one in network.branches_of(element) if one.kind == kind]
    return branch


# -- relays


@pytest.mark.parametrize(("volts", "at_rest", "held"), [
    (7.9, False, True), (8.1, True, True), (1.6, False, True), (1.4, False, False), (-8.1, True, True),
])  # fmt: skip
def test_relay_pulls_in_at_pull_in_and_lets_go_below_drop_out(volts: float, *, at_rest: bool, held: bool) -> None:
    network = fed_coil(volts)

    assert pulled(settle(network, SOME)) == ({"K"} if at_rest else set())
    assert pulled(settle(network, SOME, State(pulled=frozenset({"K"})))) == ({"K"} if held else set())


def test_relay_goes_by_its_own_voltages() -> None:
    network = fed_coil(5.0, pull_in_V=4, drop_out_V=3)

    assert pulled(settle(network, SOME)) == {"K"}
    assert pulled(settle(fed_coil(2.5, pull_in_V=4, drop_out_V=3), SOME, State(pulled=frozenset({"K"})))) == set()


@settings(max_examples=30)
@given(st.lists(st.floats(0, 20), min_size=2, max_size=2), st.booleans())
def test_more_voltage_never_lets_a_relay_go(volts: list[float], held: bool) -> None:
    start = State(pulled=frozenset({"K"} if held else ()))
    low, high = (pulled(settle(fed_coil(one), SOME, start)) for one in sorted(volts))

    assert low <= high


def test_between_the_two_voltages_the_condition_before_decides() -> None:
    dimmer = between(
        "S", "switch", [link(when={"position": ["on"]}), link(when={"position": ["half"]}, resistance_ohm=80)],
        positions=["off", "half", "on"], rest_position="off",
    )  # fmt: skip
    wires = wired("BAT:+", "S:1", "S:2", "K:86", "K:85", "BODY:1")
    half = {"positions": {"S": "half"}}
    conditions = [
        condition("asleep"), condition("full", "S"), condition("from_rest", after="asleep") | half,
        condition("from_full", after="full") | half, condition("from_from_full", after="from_full") | half,
    ]  # fmt: skip
    reference = rig([battery(), body(), dimmer, relay("K")], wires, conditions=conditions)
    settled = settled_in_all(network_of(reference), reference.conditions)

    assert {name: pulled(one) for name, one in settled.items()} == {
        "asleep": set(), "full": {"K"}, "from_rest": set(), "from_full": {"K"}, "from_from_full": {"K"},
    }  # fmt: skip


def self_holding() -> Reference:
    """A relay whose contact feeds its own coil, and a button that does so, too."""
    wires = wired("BAT:+", "K:30", "BAT:+", "S:1", "S:2", "K:86", "K:87", "K:86", "K:85", "BODY:1")
    conditions = [condition("asleep"), condition("pressed", "S"), condition("released", after="pressed")]
    return rig([battery(), body(), switch("S"), relay("K")], wires, conditions=conditions)


def test_relay_that_feeds_its_own_coil_holds_once_triggered() -> None:
    reference = self_holding()
    settled = settled_in_all(network_of(reference), reference.conditions)

    assert {name: (pulled(one), one.holds) for name, one in settled.items()} == {
        "asleep": (set(), ("K",)), "pressed": ({"K"}, ()), "released": ({"K"}, ()),
    }  # fmt: skip
    assert not any(one.oscillates for one in settled.values())


def buzzer(*more: Json, wires: tuple[str, ...] = ()) -> Network:
    """A relay whose rest contact feeds its own coil, and what else there is."""
    own = wired("BAT:+", "Y:30", "Y:87a", "Y:86", "Y:85", "BODY:1", *wires)
    return network_of(rig([battery(), body(), relay("Y"), *more], own))


def test_relay_whose_rest_contact_feeds_its_own_coil_oscillates() -> None:
    assert settle(buzzer(), SOME).oscillates == ("Y",)


def test_what_oscillates_does_not_hold() -> None:
    settled = settled_in_all(buzzer(), (SOME,))["some"]

    assert (settled.oscillates, settled.holds) == (("Y",), ())


CROSSED = ("BAT:+", "A:30", "BAT:+", "B:30", "A:87a", "B:86", "B:87a", "A:86", "A:85", "BODY:1", "B:85", "BODY:1")
"""Two relays, each fed by way of the other's rest contact: the first that pulls in keeps the other off."""


def test_two_relays_that_lock_each_other_out_come_to_rest() -> None:
    wires = wired(*CROSSED)
    settled = settle(network_of(rig([battery(), body(), relay("A"), relay("B")], wires)), SOME)

    assert (pulled(settled), settled.oscillates) == ({"A"}, ())


def test_relay_that_came_to_rest_beside_a_buzzer_does_not_oscillate() -> None:
    settled = settle(buzzer(relay("A"), relay("B"), wires=CROSSED), SOME)

    assert settled.oscillates == ("Y",)
    assert "A" in pulled(settled)


def in_turn(count: int) -> Network:
    """Relays of which each feeds the next."""
    names = [f"K{number:03}" for number in range(count)]
    stops = ["BAT:+", f"{names[0]}:86"]
    for one in names:
        stops += ["BAT:+", f"{one}:30", f"{one}:85", "BODY:1"]
    for one, following in pairwise(names):
        stops += [f"{one}:87", f"{following}:86"]
    return network_of(rig([battery(), body(), *map(relay, names)], wired(*stops)))


@pytest.mark.parametrize("count", [2, 70])
def test_relays_pull_in_one_after_the_other_however_many(count: int) -> None:
    settled = settle(in_turn(count), SOME)

    assert len(pulled(settled)) == count
    assert settled.oscillates == ()


# -- inputs


def module(volts: float | None, sense_ohm: float | None = None) -> Network:
    """A module that draws while its input is high and by another load while it is low."""
    pins = ["30", "31", "IN"]
    parts = [load(2, "30", "31", when={"inputs": [{"terminal": "IN", "is": "high"}]}),
             load(1, "30", "31", when={"inputs": [{"terminal": "IN", "is": "low"}]})]  # fmt: skip
    parts += [{"kind": "load", "between": ["IN", "31"], "model": "resistance", "resistance_ohm": sense_ohm}] * bool(
        sense_ohm
    )
    device = {"id": "U", "kind": "module", "zone": "Z", "terminals": pins, "parts": parts}
    signal = [] if volts is None else [source("SIG", model="converter", voltage_V=volts)]
    to_input = () if volts is None else ("SIG:+", "U:IN", "SIG:-", "BODY:1")
    wires = wired("BAT:+", "U:30", "U:31", "BODY:1", *to_input)
    return network_of(rig([battery(), body(), device, *signal], wires))


def level(network: Network, start: State) -> str:
    """What the input is taken for; what draws agrees with it."""
    settled = settle(network, SOME, start)
    high, low = (settled.conducts(one) for one in network.loads[:2])
    assert (high, low) == ("U:IN" in settled.state.high, "U:IN" in settled.state.low)
    return "high" if high else "low" if low else "neither"


@pytest.mark.parametrize(("volts", "levels"), [
    # Half of 12 V and more is high, a quarter and less is low; between the two it stays what it was.
    (12.0, ("high", "high", "high")), (6.1, ("high", "high", "high")), (5.9, ("high", "low", "neither")),
    (3.1, ("high", "low", "neither")), (2.9, ("low", "low", "low")), (0.0, ("low", "low", "low")),
])  # fmt: skip
def test_input_is_high_or_low_and_stays_between_the_two(volts: float, levels: tuple[str, str, str]) -> None:
    network = module(volts)

    assert tuple(level(network, start) for start in INPUT_STATES.values()) == levels


@pytest.mark.parametrize("start", INPUT_STATES)
def test_input_that_hangs_on_nothing_is_neither(start: str) -> None:
    network = module(None)

    assert level(network, INPUT_STATES[start]) == "neither"
    assert settle(network, SOME).voltage_V("U:IN") is None


def test_input_pulled_down_is_low() -> None:
    assert level(module(None, sense_ohm=10_000), AT_REST) == "low"


# -- loads that rest, switch themselves off, or bring the supply down


def feeding(part: Json, *, internal_ohm: float = 0.001, volts: float = 12.0, lead_ohm: float = 0.001) -> Network:
    """A load on the battery by way of a contact of some resistance."""
    strap = between("R", "other", [link(resistance_ohm=lead_ohm)])
    device = between("U", "module", [part])
    wires = wired("BAT:+", "R:1", "R:2", "U:1", "U:2", "BODY:1")
    return network_of(rig([battery(volts, internal_ohm), body(), strap, device], wires))


def test_load_draws_what_it_draws_at_rest_while_asleep() -> None:
    network = feeding(load(2, rest_A=0.01))
    asleep = settle(network, Condition(id="asleep", name="asleep", key="out", engine="stopped"))
    awake = settle(network, SOME)
    (branch,) = network.loads

    assert asleep.current_A(branch) == pytest.approx(0.01, rel=1e-3)
    assert awake.current_A(branch) == pytest.approx(2, rel=1e-3)
    assert (bool(asleep.resting[branch.number]), bool(awake.resting[branch.number])) == (True, False)


def test_load_whose_engine_does_not_run_rests() -> None:
    network = feeding(load(2, rest_A=0.01, when={"engine": ["running"]}))
    (branch,) = network.loads

    assert settle(network, SOME).current_A(branch) == pytest.approx(0.01, rel=1e-3)


def test_load_that_switched_itself_off_stays_off_in_that_condition_only() -> None:
    # 5 A through 0.5 Ω leave 9.5 V of 12 V: off it would have 12 V again, and come back for ever.
    network = feeding(load(5, model="current", cut_out_V=10), lead_ohm=0.5)
    (branch,) = network.loads
    settled = settle(network, SOME)

    assert settled.state.cut_out == {branch.number}
    assert settled.oscillates == ()
    assert settled.current_A(branch) == 0.0
    assert settle(feeding(load(5, model="current", cut_out_V=9), lead_ohm=0.5), SOME, settled.state).state.cut_out == (
        frozenset()
    )


def test_only_as_many_loads_switch_themselves_off_as_must() -> None:
    # 4 A and 2 A through 0.5 Ω leave 9 V; without the one that asks for 11 V the other has 11 V, and stays.
    strap = between("R", "other", [link(resistance_ohm=0.5)])
    one = between("U", "module", [load(4, model="current", cut_out_V=11)])
    other = between("V", "module", [load(2, model="current", cut_out_V=10)])
    wires = wired("BAT:+", "R:1", "R:2", "U:1", "R:2", "V:1", "U:2", "BODY:1", "V:2", "BODY:1")
    network = network_of(rig([battery(), body(), strap, one, other], wires))
    settled = settle(network, SOME)

    assert settled.state.cut_out == {part_of(network, "U", "load").number}


def test_constant_power_that_the_supply_cannot_carry_collapses() -> None:
    # 12 V behind 1 Ω give at most 12² / 4 = 36 W.
    collapsed = settle(feeding(load(40 / 12, model="power"), lead_ohm=1.0), SOME)
    carried = settle(feeding(load(30 / 12, model="power"), lead_ohm=1.0), SOME)

    assert (collapsed.collapsed, carried.collapsed) == (("U",), ())
    # Of the two voltages at which 30 W flow the higher one: V² - 12 V + 30 = 0.
    assert carried.across_V(carried.network.loads[0]) == pytest.approx(6 + 6**0.5, rel=1e-2)


# -- what is taken out


def test_opened_branch_never_conducts() -> None:
    network = network_of(reference_from(bench_data()))
    conditions = (SOME, Condition(id="asleep", name="asleep", key="out", engine="stopped"))
    for branch in (*network.loads, part_of(network, "F1_FUSE", "fuse"), part_of(network, "W40", "conductor")):
        for one in conditions:
            settled = settle(network, one, opened=(branch.number,))
            assert not settled.conducts(branch)
            assert settled.current_A(branch) == 0.0


def test_load_behind_an_opened_fuse_is_off() -> None:
    network = network_of(reference_from(bench_data()))
    radio = part_of(network, "R1", "load")
    fuse = part_of(network, "F4_FUSE", "fuse")

    assert load_state(settle(network, SOME), radio).code == "on"
    assert load_state(settle(network, SOME, opened=(fuse.number,)), radio).code == "off"


# -- laws of the whole


def volts_of(settled: Settled) -> dict[str, float | None]:
    return {node: settled.voltage_V(node) for node in settled.network.nodes}


@settings(max_examples=15)
@given(references(), st.integers(0, 2**32 - 1))
def test_guess_changes_nothing(data: Json, seed: int) -> None:
    network, on = network_of(reference_from(data)), with_switches_on(data)
    plain = settle(network, on)
    noise = np.random.default_rng(seed).uniform(-20, 20, len(network.nodes))
    wrong = settle(network, on, opened=range(len(network.branches)))
    wrong.solution.voltage_V[:] = noise
    again = settle(network, on, guess=wrong)

    assert again.state == plain.state
    assert again.solution.voltage_V == pytest.approx(plain.solution.voltage_V, abs=1e-6)


def mirrored(data: Json) -> Json:
    """The same vehicle with the battery's plus on the body: every part with a direction turned round."""
    swapped = {"BAT:+": "BAT:-", "BAT:-": "BAT:+"}
    return data | {
        "vehicle": data["vehicle"] | {"ground_polarity": "positive"},
        "wires": [one | {end: swapped.get(one[end], one[end]) for end in ("from", "to")} for one in data["wires"]],
    }


@settings(max_examples=15)
@given(references())
def test_positive_ground_mirrors_negative(data: Json) -> None:
    here, there = (settle(network_of(reference_from(one)), with_switches_on(one)) for one in (data, mirrored(data)))
    other_pole = {"BAT:+": "BAT:-", "BAT:-": "BAT:+"}

    assert here.state.pulled == there.state.pulled
    for node, volts in volts_of(here).items():
        turned = there.voltage_V(other_pole.get(node, node))
        assert (turned is None) == (volts is None)
        assert volts is None or turned == pytest.approx(-volts, abs=1e-6)


def test_electronics_draw_with_either_pole_on_the_body() -> None:
    for data in (bench_data(), mirrored(bench_data())):
        network = network_of(reference_from(data))
        radio = load_state(settle(network, SOME), part_of(network, "R1", "load"))
        # A load with a direction counts from its first terminal, which the other pole feeds then.
        assert radio.code == "on"
        assert abs(radio.current_A) == pytest.approx(2, rel=1e-3)


@settings(max_examples=15)
@given(references())
def test_without_a_source_nothing_has_a_voltage(data: Json) -> None:
    data["devices"] = [one | {"parts": []} if one["id"] == "BAT" else one for one in data["devices"]]
    settled = settle(network_of(reference_from(data)), with_switches_on(data))

    assert all(volts is None or volts == 0.0 for volts in volts_of(settled).values())
    assert np.all(settled.solution.current_A == 0.0)


def test_harness_of_nothing_settles() -> None:
    reference = rig([], [])
    settled = settled_in_all(network_of(reference), reference.conditions)

    assert [one.oscillates for one in settled.values()] == [()]


def test_lamp_on_a_battery_has_what_the_battery_gives() -> None:
    wires = wired("BAT:+", "E:1")
    settled = settle(network_of(rig([battery(12.6), body(), lamp("E")], wires)), SOME)

    assert settled.voltage_V("E:1") == pytest.approx(12.6, abs=0.05)


@pytest.mark.parametrize("order", [("a", "b", "c"), ("c", "b", "a")])
@pytest.mark.parametrize("after", [
    {"a": "a"}, {"a": "b", "b": "a"}, {"a": "b", "b": "c", "c": "a"}, {"a": "nowhere"}, {"b": "a", "c": "b"},
])  # fmt: skip
def test_conditions_that_come_before_each_other_end(order: tuple[str, ...], after: dict[str, str]) -> None:
    network = network_of(self_holding())
    conditions = tuple(Condition(id=one, name=one, key="out", engine="stopped", after=after.get(one)) for one in order)

    assert tuple(settled_in_all(network, conditions)) == order
