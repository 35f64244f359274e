"""The shipped sockets against published pin tables, cell by cell.

Sources. ISO 11446:2012 (13-pin): a maker's published table. ISO 1724 (7-pin 12N): a cable maker's
published table. ISO 10487 (radio connectors A and B): several public pin tables agree; the standard
gives the shape alone, so the functions are common practice. SAE J1962 (diagnostic connector, type A):
several public tables agree. All are secondary copies: the standards themselves were not read.
"""

from __future__ import annotations

import pytest

from harnessdiff.model.harness import Conductor, Terminal
from harnessdiff.model.reference import Reference
from harnessdiff.read.reference import read_reference
from harnessdiff.resources import shipped_references

# Pin: function words, size in mm² (12N, 13-pin; None where there is no core), colour.
TOW = {
    "1": ("left turn", 1.5, 1.5, "YE"),
    "2": ("rear fog", 1.5, 1.5, "BU"),
    "3": ("ground", 2.5, 2.5, "WH"),
    "4": ("right turn", 1.5, 1.5, "GN"),
    "5": ("right tail", 1.5, 1.5, "BN"),
    "6": ("brake", 1.5, 1.5, "RD"),
    "7": ("left tail", 1.5, 1.5, "BK"),
    "8": ("reverse", None, 1.5, "PK"),
    "9": ("permanent", None, 2.5, "OG"),
    "10": ("switched", None, 2.5, "GY"),
    "11": ("ground of pin 10", None, 2.5, "WH/BK"),
    "12": ("reserved", None, None, ""),
    "13": ("ground of pin 9", None, 2.5, "WH/RD"),
}
TOW_FUNCTIONS = {
    "1": "turn_left", "2": "fog_rear", "3": "ground", "4": "turn_right", "5": "side_lamp_right", "6": "brake_lamp",
    "7": "side_lamp_left", "8": "reverse_lamp", "9": "tow_socket", "10": "tow_socket", "11": "ground", "13": "ground",
}  # fmt: skip
RADIO = {
    "A1": "speed", "A2": "mute", "A3": "reverse", "A4": "permanent", "A5": "aerial", "A6": "illumination",
    "A7": "switched", "A8": "ground", "B1": "right rear +", "B2": "right rear -", "B3": "right front +",
    "B4": "right front -", "B5": "left front +", "B6": "left front -", "B7": "left rear +", "B8": "left rear -",
}  # fmt: skip
DIAGNOSTIC = {
    "2": "J1850 +", "4": "chassis ground", "5": "signal ground", "6": "CAN high", "7": "K line", "10": "J1850 -",
    "14": "CAN low", "15": "L line", "16": "battery",
}  # fmt: skip
MAKERS_CHOICE = {"1", "3", "8", "9", "11", "12", "13"}


def socket(name: str) -> Reference:
    return read_reference(shipped_references()[name])


def cavities(reference: Reference, device: str) -> dict[str, Terminal]:
    names = reference.harness.subjects(device, "of")
    found = {one.name: one for one in map(reference.harness.by_id.__getitem__, names) if isinstance(one, Terminal)}
    assert len(found) == len(names)
    return found


def core(reference: Reference, terminal: str) -> Conductor | None:
    wires = reference.harness.subjects(terminal, "end_1", "end_2")
    assert len(wires) <= 1
    return reference.harness.conductor(wires[0]) if wires else None


@pytest.mark.parametrize(("name", "place"), [("iso_1724", 1), ("iso_11446", 2)])
@pytest.mark.parametrize("pin", TOW)
def test_a_pin_of_a_tow_socket_is_as_printed(name: str, place: int, pin: str) -> None:
    reference = socket(name)
    words, size, colour = TOW[pin][0], TOW[pin][place], TOW[pin][3]
    terminal = cavities(reference, "J1").get(pin)
    wire = core(reference, f"J1:{pin}")

    if name == "iso_1724" and int(pin) > 7:
        assert terminal is None
        return
    assert terminal is not None
    assert terminal.cavity == pin
    assert words in (terminal.note or "")
    if size is None:
        assert wire is None
        return
    assert wire is not None
    assert wire.size_mm2.exact == size
    assert wire.colour is not None
    assert wire.colour.letters == colour
    assert reference.function_of(wire.circuit) == TOW_FUNCTIONS[pin]


@pytest.mark.parametrize("name", ["iso_1724", "iso_11446"])
def test_the_grounds_of_a_tow_socket_are_not_joined_in_the_socket(name: str) -> None:
    """3, 11 and 13 meet at the vehicle's stud if anywhere, not on the trailer's side (ISO 11446, secondary copy)."""
    reference = socket(name)
    device = reference.harness.device("J1")
    assert device is not None
    joined = {frozenset(part.between) for part in device.parts if type(part).__name__ == "Link"}

    assert not any(pair <= {"3", "11", "13"} for pair in joined)


@pytest.mark.parametrize("cavity", RADIO)
def test_a_cavity_of_the_radio_connectors_is_as_printed(cavity: str) -> None:
    reference = socket("iso_10487")
    terminal = cavities(reference, "RAD1")[cavity]

    assert RADIO[cavity] in (terminal.note or "")
    assert (terminal.connector, terminal.cavity) == (f"X_{cavity[0]}", cavity[1])
    assert core(reference, f"RAD1:{cavity}") is not None


def test_the_radio_connectors_have_no_further_cavities() -> None:
    assert set(cavities(socket("iso_10487"), "RAD1")) == set(RADIO)


@pytest.mark.parametrize(("cavity", "number"), [("A4", "30"), ("A6", "58d"), ("A7", "75"), ("A8", "31")])
def test_supplies_of_the_radio_carry_the_numbers_of_din_72552(cavity: str, number: str) -> None:
    """30 battery plus, 75 radio by DIN 72552, 58d instrument illumination, 31 ground (secondary copy)."""
    assert cavities(socket("iso_10487"), "RAD1")[cavity].standard == number


@pytest.mark.parametrize("cavity", DIAGNOSTIC)
def test_a_cavity_of_the_diagnostic_socket_is_as_printed(cavity: str) -> None:
    reference = socket("sae_j1962")

    assert DIAGNOSTIC[cavity] in (cavities(reference, "J1")[cavity].note or "")
    assert core(reference, f"J1:{cavity}") is not None


def test_cavities_that_are_the_makers_choice_have_no_core() -> None:
    reference = socket("sae_j1962")

    assert set(cavities(reference, "J1")) == set(DIAGNOSTIC) | MAKERS_CHOICE
    assert all(core(reference, f"J1:{cavity}") is None for cavity in MAKERS_CHOICE)


def test_the_two_lines_of_the_data_pair_run_in_one_cable() -> None:
    """A pair is twisted (ISO 11898-2, common practice)."""
    high, low = (core(socket("sae_j1962"), f"J1:{cavity}") for cavity in ("6", "14"))

    assert high is not None
    assert low is not None
    assert high.cable is not None
    assert high.cable == low.cable
