"""Readings are held against what the network predicts; agreement is no proof, and only a drop under load clears."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.contents import supposed
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.circuit import Circuit
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.analyse.readings import AGREES, Compared, compared_readings
from tests.analyse.measured import ASLEEP, JOINT, LOOSE_REPAIR, REPAIR, TERMINALS, amps, at, bench, vehicle, volts
from tests.support import Json, filament, wire

UNPLUGGED = [{"kind": "unplugged", "element": "BAT1"}]
WIRES = ("W0", "W1", "W2", "W3", "W4", "W5", "W6")


def one(*readings: Json, **more: Any) -> Compared:
    return bench(*readings, **more).compared["M1"]


def verdict(*readings: Json, **more: Any) -> tuple[str, str]:
    found = one(*readings, **more)
    return found.agrees, found.why


def test_voltage_at_a_lamp_that_is_lit() -> None:
    assert verdict(volts("E1:58", "BAT1:-", 12.1)) == ("agrees", "within")
    assert verdict(volts("E1:58", "BAT1:-", 9.0)) == ("disagrees", "below")


def test_battery_that_was_read_on_the_same_visit_narrows_what_is_predicted() -> None:
    lamp, battery = volts("R1:30", "BAT1:-", 12.55, "asleep"), volts("BAT1:+", "BAT1:-", 12.1, "asleep", loaded="no")

    assert verdict(lamp) == ("agrees", "within")
    assert verdict(lamp, battery) == ("disagrees", "above")
    assert verdict(lamp, battery | {"loaded": "yes"}) == ("agrees", "within")
    assert verdict(lamp | {"visit": "V1"}, battery) == ("agrees", "within")


def test_probes_the_other_way_round_are_told_from_a_fault() -> None:
    assert verdict(volts("BAT1:-", "E1:58", 12.1)) == ("disagrees", "polarity_reversed")


def test_clamp_is_held_against_the_magnitude_of_the_current() -> None:
    assert verdict(amps("W3", 4.9)) == ("agrees", "within")
    assert verdict(amps("W3", 1.0)) == ("disagrees", "below")
    assert verdict(amps("W3", 9.0)) == ("disagrees", "above")


def test_clamp_round_a_terminal_holds_all_that_leaves_it() -> None:
    both = {"between": at("BAT1:-"), "current_A": 6.0, "condition": "lit", "instrument": "clamp, 40 A range"}

    found = one(both)

    assert (found.agrees, found.of) == ("agrees", ("W0",))


def test_several_conductors_in_a_clamp_are_added_up_from_where_they_start() -> None:
    data = vehicle(wires=(wire("W9", ("BODY:1", "BAT1:-"), "BK", 16, 0.3),))
    jaws = {"between": [{"wire": "W0"}], "around": [{"wire": "W0"}, {"wire": "W9"}]}
    whole = jaws | {"current_A": 6.0, "condition": "lit", "instrument": "clamp, 40 A range"}
    half = {**whole, "around": [{"wire": "W0"}]}

    assert verdict(whole, data=data) == ("agrees", "within")
    assert verdict(half, data=data) == ("disagrees", "above")


def test_current_that_comes_to_that_point_by_one_and_leaves_by_another_cancels() -> None:
    # of 6 A that come back by the battery's cable, 5 A came to the body from the lamp
    jaws = {"between": [{"wire": "W0"}], "around": [{"wire": "W0"}, {"wire": "W4"}], "condition": "lit"}

    assert verdict(jaws | {"current_A": 1.0}) == ("agrees", "within")
    assert verdict(jaws | {"current_A": 11.0}) == ("disagrees", "above")


def test_conductors_that_start_nowhere_in_common_cannot_be_added_up() -> None:
    apart = {
        "between": [{"wire": "W2"}],
        "around": [{"wire": "W2"}, {"wire": "W6"}],
        "current_A": 5,
        "condition": "lit",
    }

    assert verdict(apart) == ("not_computable", "no_common_point")


def test_fuse_out_takes_the_circuit_away() -> None:
    out = [{"kind": "fuse_out", "element": "F1"}]

    assert verdict(volts("E1:58", "BAT1:-", 0.0, manipulations=out)) == ("agrees", "within")
    assert verdict(amps("W3", 0.0, manipulations=out)) == ("agrees", "within")


def test_lamp_in_place_of_a_blown_fuse_limits_a_short() -> None:
    blown = {"kind": "substitution", "id": "B1", "element": "F1", "fitted": {"rating_A": 10, "state": "blown"}}
    screw = {"kind": "damage", "id": "D1", "damage": "screw_through", "conducts": "yes",
             "on": [{"wire": "W2", "at": {"from_end": 1, "distance_m": 0.5}}, {"terminal": "BODY:1"}]}  # fmt: skip
    lamp = [{"kind": "lamp_in_fuse_place", "element": "F1", "lamp_W": 21}]

    assert verdict(amps("W1", 1.8, "asleep", manipulations=lamp), observations=(blown, screw)) == ("agrees", "within")
    assert verdict(amps("W1", 0.02, "asleep"), observations=(blown, screw)) == ("agrees", "within")


def test_lamp_where_there_is_no_fuse_cannot_be_computed() -> None:
    lamp = [{"kind": "lamp_in_fuse_place", "element": "S1", "lamp_W": 21}]

    assert verdict(amps("W2", 1.8, manipulations=lamp)) == ("not_computable", "no_fuse_there")


def test_bridged_switch_conducts() -> None:
    bridged = [{"kind": "bridged", "element": "S1"}]

    assert verdict(amps("W3", 4.9, "asleep", manipulations=bridged)) == ("agrees", "within")


def test_dead_resistance_of_a_cold_lamp() -> None:
    cold = {"between": at("E1:58", "E1:31"), "condition": "asleep", "manipulations": UNPLUGGED,
            "instrument": "meter, 200 Ω range"}  # fmt: skip

    assert verdict(cold | {"resistance_ohm": 0.3}) == ("agrees", "within")
    assert verdict(cold | {"resistance_ohm": 12}) == ("disagrees", "above")
    assert verdict(cold | {"word": "continuity"}) == ("agrees", "within")
    assert verdict(cold | {"word": "open"}) == ("disagrees", "above")


def test_resistance_across_a_voltage_says_little() -> None:
    live = {"between": at("E1:58", "E1:31"), "condition": "lit", "resistance_ohm": 2}

    assert verdict(live) == ("says_little", "supply_on")


def test_data_pair_between_its_terminators() -> None:
    nodes = [
        {"id": f"U{n}", "kind": "module", "terminals": ["H", "L"],
         "parts": [{"kind": "load", "between": ["H", "L"], "model": "resistance", "resistance_ohm": 120}]}
        for n in (1, 2)
    ]  # fmt: skip
    pair = (wire("W20", ("U1:H", "U2:H"), "YE", 0.35, 4), wire("W21", ("U1:L", "U2:L"), "GN", 0.35, 4))
    data = vehicle(more=tuple(nodes), wires=pair)
    across = {"between": at("U1:H", "U1:L"), "condition": "asleep", "instrument": "meter, 200 Ω range"}

    assert verdict(across | {"resistance_ohm": 60}, data=data) == ("agrees", "within")
    assert verdict(across | {"resistance_ohm": 120}, data=data) == ("disagrees", "above")
    assert verdict(across | {"resistance_ohm": 40}, data=data) == ("disagrees", "below")


def test_reading_on_what_hangs_on_nothing_says_little() -> None:
    lead = {"kind": "lead", "id": "L1", "colour": {"base": "BK"}, "end_1": {"loose": {"treatment": "bare"}},
            "end_2": {"loose": {"treatment": "taped"}}}  # fmt: skip
    ghost = {"between": [{"lead": "L1"}, {"terminal": "BAT1:-"}], "voltage_V": 7.3, "condition": "asleep"}

    assert verdict(ghost, observations=(lead,)) == ("says_little", "floats")


def test_reading_behind_a_diode_that_blocks_says_little() -> None:
    box = {"kind": "device", "id": "D1", "sort": "other", "terminals": ["+", "-"]}
    lead = {"kind": "lead", "id": "L1", "end_1": {"terminal": "BUS:3"}, "end_2": {"device": "D1", "pin": "+"},
            "inline": [{"kind": "diode", "distance_m": 0.1, "conducts_towards_end": 1}], "length_m": 1}  # fmt: skip
    ghost = {"between": [{"device": "D1", "pin": "+"}, {"terminal": "BAT1:-"}], "voltage_V": 3, "condition": "asleep"}
    passing = lead | {"inline": [{"kind": "diode", "distance_m": 0.1, "conducts_towards_end": 2}]}

    assert verdict(ghost, observations=(box, lead)) == ("says_little", "floats")
    assert verdict(ghost | {"voltage_V": 12.4}, observations=(box, {**lead, "inline": []})) == ("agrees", "within")
    assert verdict(ghost | {"voltage_V": 12.0}, observations=(box, passing)) == ("says_little", "floats")


def test_what_fell_away_while_it_was_flexed_is_a_finding_on_that_element() -> None:
    moved = [{"kind": "flexed", "element": "W3"}]

    found = one(volts("E1:58", "BAT1:-", {"min": 0, "max": 12.2}, manipulations=moved))

    assert (found.agrees, found.why, found.of) == ("disagrees", "changes_when_flexed", ("W3",))
    assert verdict(volts("E1:58", "BAT1:-", 12.1, manipulations=moved)) == ("agrees", "within")


def test_current_read_too_early_after_locking_says_little() -> None:
    early = amps("W0", 0.9, "asleep", manipulations=[{"kind": "locked_for", "minutes": 3}])
    late = amps("W0", 0.9, "asleep", manipulations=[{"kind": "locked_for", "minutes": 60}])

    assert verdict(early) == ("says_little", "too_early")
    assert verdict(late) == ("disagrees", "above")


def test_added_switch_that_nobody_gave_a_position_is_tried_the_other_way() -> None:
    toggle = {"kind": "device", "id": "D1", "sort": "switch", "terminals": ["1", "2"], "positions": ["off", "on"],
              "rest_position": "off",
              "contents": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}]}  # fmt: skip
    leads = tuple(
        {"kind": "lead", "id": f"L{n}", "size_mm2": 1.5, "length_m": 1, "end_1": {"device": "D1", "pin": str(n)},
         "end_2": {"terminal": end}}
        for n, end in ((1, "S1:1"), (2, "S1:2"))
    )  # fmt: skip

    found = one(amps("W3", 4.9, "asleep"), observations=(toggle, *leads))

    assert (found.agrees, found.why, found.of) == ("says_little", "position_not_said", ("+D1",))


def test_device_of_unknown_contents_may_draw_what_is_guessed_of_it() -> None:
    box = {"kind": "device", "id": "D1", "sort": "other", "connected": "yes", "terminals": ["+", "-"],
           "hypotheses": [{"parts": [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 0.06,
                                      "rest_A": 0.06}]}]}  # fmt: skip
    leads = tuple(
        {"kind": "lead", "id": f"L{n}", "size_mm2": 0.5, "length_m": 1, "end_1": {"device": "D1", "pin": pin},
         "end_2": {"terminal": end}}
        for n, pin, end in ((1, "+", "BUS:3"), (2, "-", "BODY:1"))
    )  # fmt: skip
    clamp = {"between": [{"lead": "L2"}], "condition": "asleep", "instrument": "clamp, 400 mA range"}

    assert verdict(clamp | {"current_A": 0.05}, observations=(box, *leads)) == ("says_little", "wide")
    assert verdict(clamp | {"current_A": 0.3}, observations=(box, *leads)) == ("disagrees", "above")


def test_first_guess_that_was_taken_is_bounded_by_the_others() -> None:
    guesses = [
        {"parts": [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": current}]}
        for current in (0.5, 3)
    ]
    box = {"kind": "device", "id": "D1", "sort": "other", "connected": "yes", "terminals": ["+", "-"],
           "hypotheses": guesses}  # fmt: skip
    leads = tuple(
        {"kind": "lead", "id": f"L{n}", "size_mm2": 2.5, "length_m": 1, "end_1": {"device": "D1", "pin": pin},
         "end_2": {"terminal": end}}
        for n, pin, end in ((1, "+", "BUS:3"), (2, "-", "BODY:1"))
    )  # fmt: skip
    clamp = {"between": [{"lead": "L2"}], "condition": "asleep", "current_A": 3, "instrument": "clamp, 40 A range"}
    made = bench(clamp, observations=(box, *leads))
    network = Network(supposed(made.network.harness))
    settled = settled_in_all(network, made.reference.conditions)

    (found,) = compared_readings(network, settled, made.survey, made.reference)

    assert found.predicted is not None
    assert found.predicted.nominal == pytest.approx(0.5)
    assert found.predicted.low <= 0.5 * 0.85 + 1e-6
    assert found.predicted.high == pytest.approx(3 * 1.15, abs=0.08)


@pytest.mark.parametrize(
    ("word", "condition", "expected"),
    [
        ("normal", "lit", ("agrees", "within")),
        ("dim", "lit", ("disagrees", "below")),
        ("none", "lit", ("disagrees", "below")),
        ("none", "asleep", ("agrees", "within")),
    ],
)
def test_what_a_lamp_was_seen_to_do(word: str, condition: str, expected: tuple[str, str]) -> None:
    assert verdict({"between": at("E1:58"), "word": word, "condition": condition}) == expected


@pytest.mark.parametrize(
    ("reading", "why"),
    [
        ({"between": at("E1:58"), "voltage_V": 12, "condition": "lit"}, "one_point"),
        ({"between": at("E1:58", "BAT1:-"), "voltage_V": 12}, "no_condition"),
        ({"between": [{"words": "by the latch"}, {"terminal": "BAT1:-"}], "voltage_V": 12, "condition": "lit"},
         "point_in_words"),
        ({"between": at("E1:58"), "temperature_degC": 60, "condition": "lit"}, "temperature"),
        ({"between": at("E1:58"), "word": "no_change", "condition": "lit"}, "word_only"),
        ({"between": at("F1:in", "F1:out"), "current_A": 1, "condition": "lit"}, "ammeter_in_series"),
        (volts("E1:58", "BAT1:-", 12, stage="after_repair"), "after_repair"),
        (volts("E1:58", "BAT1:-", 12, manipulations=[{"kind": "other"}]), "manipulation_not_modelled"),
    ],
)  # fmt: skip
def test_what_cannot_be_computed_is_said_by_its_code(reading: Json, why: str) -> None:
    found = one(reading)

    assert (found.agrees, found.why, found.predicted) == ("not_computable", why, None)


def test_network_that_nothing_feeds_predicts_no_voltage() -> None:
    lamp = {"id": "E1", "kind": "lamp", "terminals": ["58", "31"], "parts": [filament("58", "31", 5)]}
    data = vehicle() | {
        "devices": [lamp, {"id": "BODY", "kind": "body", "terminals": ["1"]}],
        "wires": [wire("W4", ("E1:31", "BODY:1"), "BN", 1.5, 0.5)],
        "extent": "fragment",
        "conditions": [ASLEEP],
    }

    found = one(volts("E1:58", "BODY:1", 3, "asleep"), data=data, observations=())

    assert (found.agrees, found.why) == ("not_computable", "no_source")


# -- what clears a joint

SHORT = [wire("W3", ("S1:2", "E1:58"), "GY", 6, 0.6) if one["id"] == "W3" else one for one in vehicle()["wires"]]
NEAR = REPAIR | {"at": {"from_end": 1, "distance_m": 0.3}}
THICK: Any = {"data": vehicle() | {"wires": SHORT}, "observations": (NEAR,)}
"""The repair in a short thick wire, which loses next to nothing itself."""


def drop(value: float, **more: Any) -> Json:
    """Over the repair, from the lamp's end of the wire to the switch's."""
    return volts("S1:2", "E1:58", value, instrument="meter, 2 V range", **more)


def test_drop_under_load_clears_a_joint() -> None:
    assert one(drop(0.03, loaded="yes"), **THICK).clears == (JOINT,)
    assert one(drop(0.09, loaded="yes"), **THICK).clears == (JOINT,)  # 0.1 V for a joint of a thick wire
    assert one(drop(0.2, loaded="yes"), **THICK).clears == ()


def test_drop_that_holds_a_long_wire_besides_clears_nothing() -> None:
    assert one(drop(0.19, loaded="yes")).clears == ()


def test_drop_at_a_fraction_of_the_current_a_joint_must_stand_clears_nothing() -> None:
    out = [{"kind": "lamp_in_fuse_place", "element": "F1", "lamp_W": 5}]

    assert one(drop(0.004, loaded="yes", manipulations=out), **THICK).clears == ()


def test_ground_under_a_screw_may_lose_a_tenth_of_a_volt() -> None:
    moved = {"kind": "moved", "id": "V1", "wire": "W4", "end": 2, "to": {"joined": "JG"}}
    screw = {"kind": "joint", "id": "JG", "members": [{"metal": "body"}, {"wire": "W4", "end": 2}],
             "type": "under_screw", "tool": "hand", "cover": "none"}  # fmt: skip

    sound = one(volts("E1:31", "BAT1:-", 0.08, loaded="yes"), observations=(moved, screw))
    bad = one(volts("E1:31", "BAT1:-", 1.5, loaded="yes"), observations=(moved, screw))

    assert (sound.clears, bad.clears) == (("+JG",), ())
    assert dict(bad.measured)["+JG"].low > 0.2


@pytest.mark.parametrize("loaded", ["no", "unknown"])
def test_same_drop_clears_nothing_unless_it_was_read_under_load(loaded: str) -> None:
    found = one(drop(0.03, loaded=loaded), **THICK)

    assert (found.clears, found.measured) == ((), ())


def test_at_rest_nothing_is_cleared_however_sound_it_looks() -> None:
    found = one(drop(0.0, condition="asleep", loaded="yes"))

    assert (found.agrees, found.clears) == ("agrees", ())


def test_resistance_of_a_joint_is_what_is_left_of_the_drop() -> None:
    found = one(drop(1.2, loaded="yes"), amps("W3", 4.4, instrument="clamp, 40 A range"), observations=(LOOSE_REPAIR,))

    ((joint, ohm),) = found.measured
    # the wire has 37 to 41 mΩ by IEC 60228; 1.2 V / 4.4 A is 273 mΩ
    assert joint == JOINT
    assert ohm.nominal == pytest.approx(1.2 / 4.4 - 0.039, abs=0.005)
    assert ohm.low < ohm.nominal < ohm.high
    assert found.clears == ()


def test_resistance_of_a_joint_without_a_clamp_rests_on_what_the_load_draws() -> None:
    clamped = one(drop(1.2, loaded="yes"), amps("W3", 4.65), observations=(LOOSE_REPAIR,))
    alone = one(drop(1.2, loaded="yes"), observations=(LOOSE_REPAIR,))

    assert alone.measured[0][1].nominal == pytest.approx(clamped.measured[0][1].nominal, rel=0.1)
    assert alone.measured[0][1].low <= clamped.measured[0][1].low
    assert alone.measured[0][1].high >= clamped.measured[0][1].high


@settings(max_examples=15)
@given(st.floats(0.002, 0.6))
def test_joint_of_a_known_resistance_is_measured_as_that(ohm: float) -> None:
    made = bench(drop(0.5, loaded="yes"), observations=(LOOSE_REPAIR,))
    settled = made.settled["lit"]
    numbers = settled.laws.numbers.copy()
    contacts = [one.number for one in made.network.branches if one.element == JOINT]
    numbers[contacts, 0] = len(contacts) / ohm
    circuit: Circuit = made.network.circuit
    laws = type(settled.laws)(law=settled.laws.law, numbers=numbers)
    voltage = circuit.solve(laws, settled.active).voltage_V
    lost = float(voltage[made.network.index["S1:2"]] - voltage[made.network.index["E1:58"]])

    found = one(drop(round(lost, 4), loaded="yes"), observations=(LOOSE_REPAIR,))

    bounds = dict(found.measured).get(JOINT)
    assert bounds is None or bounds.low <= ohm <= bounds.high


# -- laws


def nominal_V(one_end: str, other: str, condition: str, observation: Json) -> float:
    settled = bench(observations=(observation,)).settled[condition]
    index, voltage = settled.network.index, settled.solution.voltage_V
    return float(voltage[index[one_end]] - voltage[index[other]])


@settings(max_examples=25)
@given(
    st.sampled_from(TERMINALS), st.sampled_from(TERMINALS), st.sampled_from(["asleep", "lit"]),
    st.sampled_from(["clean", "loose"]),
)  # fmt: skip
def test_what_the_program_predicts_always_agrees(one_end: str, other: str, condition: str, state: str) -> None:
    observation = REPAIR if state == "clean" else LOOSE_REPAIR
    value = nominal_V(one_end, other, condition, observation)

    found = one(volts(one_end, other, value, condition), observations=(observation,))

    assert found.agrees in ("agrees", "says_little")
    assert found.predicted is None or found.predicted.low <= value <= found.predicted.high


@settings(max_examples=15)
@given(st.sampled_from(WIRES), st.sampled_from(["asleep", "lit"]), st.floats(0.7, 1.4))
def test_current_predicted_agrees_and_far_more_does_not(wire_id: str, condition: str, share: float) -> None:
    settled = bench().settled[condition]
    (value, *_) = [
        abs(settled.current_A(branch)) for branch in settled.network.branches
        if branch.element == wire_id and branch.kind == "conductor"
    ]  # fmt: skip

    assert one(amps(wire_id, value, condition)).agrees == "agrees"
    assert one(amps(wire_id, 2 * value + 0.5 + share, condition)).agrees == "disagrees"


@settings(max_examples=25)
@given(
    st.sampled_from(["voltage_V", "current_A", "resistance_ohm"]),
    st.one_of(st.floats(-50, 500), st.builds(lambda low: {"min": low}, st.floats(0, 50))),
    st.lists(st.sampled_from([*TERMINALS]), min_size=1, max_size=2),
    st.sampled_from(["asleep", "lit", None]),
    st.sampled_from(["fuse_out", "unplugged", "flexed", "tail_lifted", "bridged", "other", "locked_for"]),
    st.sampled_from(["F1", "S1", "W3", "BAT1", "R1", "E1"]),
)
def test_every_reading_gets_an_answer_with_ranges_in_order(
    quantity: str, value: Any, points: list[str], condition: str | None, kind: str, element: str
) -> None:
    plain = {"between": at(*points), quantity: value, "manipulations": [{"kind": kind, "element": element}]}
    if quantity != "voltage_V" and isinstance(value, float):
        plain[quantity] = abs(value)
    if condition is not None:
        plain["condition"] = condition

    found = one(plain)

    assert found.agrees in AGREES
    assert found.why
    assert (found.predicted is not None) or found.agrees in ("not_computable", "says_little")
    if found.predicted is not None:
        assert found.predicted.low <= found.predicted.nominal <= found.predicted.high
        assert not math.isnan(found.predicted.nominal)
