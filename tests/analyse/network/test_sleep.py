"""Asleep, loads rest, but for one that something of its own keeps awake."""

from __future__ import annotations

import pytest

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settled_in_all
from tests.analyse.measured import vehicle
from tests.support import Json, reference_from, wire


def amplifier(remote: str) -> tuple[float, bool]:
    """What an amplifier draws asleep, and whether it rests, by what its remote input hangs on."""
    load: Json = {"kind": "load", "between": ["+", "-"], "model": "electronic", "rated_A": 1.1, "rated_V": 12,
                  "rest_A": 0.001, "when": {"inputs": [{"terminal": "REM", "is": "high"}]}}  # fmt: skip
    sense = {"kind": "load", "between": ["REM", "-"], "model": "resistance", "resistance_ohm": 10000}
    device = {"id": "A1", "kind": "amplifier", "terminals": ["+", "-", "REM"], "parts": [load, sense]}
    wires = (
        wire("W20", ("BUS:3", "A1:+"), "RD", 4, 1),
        wire("W21", ("A1:-", "BODY:1"), "BN", 4, 1),
        wire("W22", (remote, "A1:REM"), "BU", 0.5, 1),
    )
    reference = reference_from(vehicle(more=(device,), wires=wires))
    settled = settled_in_all(Network(reference.harness), reference.conditions)["asleep"]
    (branch,) = [one for one in settled.network.loads if one.one == "A1:+"]
    return settled.current_A(branch), bool(settled.resting[branch.number])


def test_amplifier_whose_remote_input_is_on_a_permanent_feed_stays_awake() -> None:
    amps, rests = amplifier("F2:out")

    assert amps == pytest.approx(1.1)
    assert not rests


def test_amplifier_whose_remote_input_is_off_rests() -> None:
    amps, rests = amplifier("S1:2")

    assert amps == pytest.approx(0.001, abs=1e-6)
    assert rests


def test_load_that_waits_for_nothing_rests() -> None:
    reference = reference_from(vehicle())
    settled = settled_in_all(Network(reference.harness), reference.conditions)
    (radio,) = [one for one in settled["asleep"].network.loads if one.element == "R1"]

    assert settled["asleep"].current_A(radio) == pytest.approx(0.02)
    assert settled["lit"].current_A(radio) == pytest.approx(1)
