"""Loads that no current can pass, poles the wrong way round, and dead shorts."""

from __future__ import annotations

import pytest

from harnessdiff.pipeline import lint
from tests.analyse.lint.sound import (
    GROUND,
    Case,
    Change,
    battery,
    case,
    check,
    draw,
    entry,
    gains,
    gone,
    link,
    objected,
    part_sets,
    plain_wire,
    resistance,
    sound,
    switch,
    told,
)
from tests.support import Json, between, body, filament, reference_from, rig


def hangs(own: str, one: str, other: str, *, kind: str = "lamp", parts: list[Json] | None = None) -> Change:
    """A change: a device between two points, a wire to each."""
    device = between(own, kind, parts or [filament("1", "2", 2)])
    wires = [plain_wire(f"{own}a", one, f"{own}:1"), plain_wire(f"{own}b", f"{own}:2", other)]

    def change(data: Json) -> None:
        data["devices"].append(device)
        data["wires"] += wires

    return change


def waives(wire: str) -> Change:
    """A change: the maker left a wire from a source unfused."""
    return gains("as_built", {"element": wire, "rule": "unfused", "because": "charge feeds are not fused"})


def alternator() -> Json:
    source = {"kind": "source", "between": ["+", "-"], "model": "alternator", "voltage_V": 14, "limit_A": 1}
    running = {"when": {"engine": ["running"]}}
    return battery("GEN") | {"kind": "alternator", "parts": [source | running]}


def bridge_of_switches() -> Json:
    """A switch that turns a motor's current round: both its outputs are on ground at rest."""
    parts = [
        link("30", "A", when={"position": ["up"]}), link("A", "31", when={"position": ["off", "down"]}),
        link("30", "B", when={"position": ["down"]}), link("B", "31", when={"position": ["off", "up"]}),
    ]  # fmt: skip
    positions = {"positions": ["off", "up", "down"], "rest_position": "off"}
    return between("S9", "switch", parts, terminals=["30", "31", "A", "B"], **positions)


def positive_ground(data: Json) -> None:
    """A change: the battery's plus is on the body; the slot hangs on its minus, and everything else is turned round."""
    data["vehicle"]["ground_polarity"] = "positive"
    entry(data, "BAT")["bonds"][0]["terminal"] = "+"
    entry(data, "F1")["bonds"][0]["to"] = "BAT:-"
    entry(data, "D1")["parts"][0]["between"] = ["2", "1"]


TURNED = part_sets("D1", 0, between=["2", "1"])
CASES = [
    case("a lamp without ground", "no_current", "E2", gone("W16"), device="E2", ends=("E2:2",)),
    case("a lamp without feed", "no_current", "E2", gone("W14", "W15", "D1"), device="E2", ends=("E2:1",)),
    case(
        "a lamp without both",
        "no_current",
        "E2",
        gone("W16", "W14", "D1", "W15"),
        gains("wires", plain_wire("W97", "E2:1", "X9:1"), plain_wire("W98", "E2:2", "X9:2")),
        gains("devices", {"id": "X9", "kind": "socket", "terminals": ["1", "2"], "all_common": True}),
        device="E2",
        ends=("E2:1", "E2:2"),
    ),
    case("a coil whose button is on nothing", "no_current", "K1_RELAY", gone("W11"), device="K1", ends=("K1:85",)),
    case("a lamp behind a diode turned round", "no_current", "E2", TURNED, device="E2", ends=("E2:1",)),
    case(
        "a battery turned round",
        "wrong_pole_grounded",
        "BAT2",
        gains("devices", battery("BAT2")),
        part_sets("BAT2", 0, between=["-", "+"]),
        terminal="BAT2:-",
        polarity="negative",
    ),
    case(
        "a battery of a vehicle with positive ground turned round",
        "wrong_pole_grounded",
        "BAT2",
        positive_ground,
        gains("devices", battery("BAT2")),
        terminal="BAT2:-",
        polarity="positive",
    ),
    case(
        "a switch that joins feed and ground in one condition",
        "dead_short",
        "BAT",
        gains("devices", switch("S9")),
        gains("wires", plain_wire("W98", "SP1", "S9:1"), plain_wire("W99", "S9:2", "BODY:1")),
        lambda data: data["conditions"][1].update(positions={"S9": "on"}),
        pole="BAT:+",
        at="S9:2",
        condition="c1",
    ),
]
SOUND: dict[str, tuple[Change, ...]] = {
    "loads side by side": (hangs("E9", "E2:1", "BODY:1"),),
    "loads in series": (gone("W16"), hangs("E9", "E2:2", "BODY:1")),
    "a load switched to ground": (
        gains("devices", switch("S9")),
        hangs("E9", "SP1", "S9:1"),
        gains("wires", plain_wire("W99", "S9:2", "BODY:1")),
    ),
    "a tell-tale between two feeds that lamps ground": (hangs("E9", "XC1:1b", "E2:1"),),
    "a charging lamp between feed and alternator": (
        gains("devices", alternator()),
        hangs("E9", "SP1", "GEN:+"),
        waives("E9b"),
    ),
    "a charging lamp with a diode": (
        gains(
            "devices", alternator(), between("D9", "diode", [{"kind": "diode", "between": ["1", "2"], "forward_V": 1}])
        ),
        hangs("E9", "SP1", "D9:1"),
        gains("wires", plain_wire("W99", "D9:2", "GEN:+")),
        waives("W99"),
    ),
    "a motor that is turned round": (
        gains("devices", bridge_of_switches()),
        hangs(
            "M9",
            "S9:A",
            "S9:B",
            kind="motor",
            parts=[{"kind": "load", "between": ["1", "2"], "model": "motor", "rated_A": 3}],
        ),
        gains("wires", plain_wire("W98", "SP1", "S9:30"), plain_wire("W99", "S9:31", "BODY:1")),
    ),
    "a diode that leads a load's current to ground": (
        gone("W16"),
        gains("devices", between("D9", "diode", [{"kind": "diode", "between": ["1", "2"], "forward_V": 1}])),
        gains("wires", plain_wire("W98", "E2:2", "D9:1"), plain_wire("W99", "D9:2", "BODY:1")),
    ),
    "a diode across a coil, blocking": (
        gains("devices", between("D9", "diode", [{"kind": "diode", "between": ["1", "2"], "forward_V": 1}])),
        gains("wires", plain_wire("W98", "K1:85", "D9:1"), plain_wire("W99", "D9:2", "K1:86")),
    ),
    "a vehicle with positive ground, its diode the other way round": (
        positive_ground,
        lambda data: entry(data, "U1").update(
            parts=[
                draw("30", "31", 0.1),
                link("30", "OUT"),
                link("30", "H"),
                link("L", "31"),
                resistance("H", "L", 120),
            ]
        ),
    ),
    "a ring": (
        gone("W2"),
        gains("splices", {"id": "SP2"}, {"id": "SP3"}),
        gains(
            "wires",
            plain_wire("R1", "SP1", "SP2"),
            plain_wire("R2", "SP2", "SP3"),
            plain_wire("R3", "SP3", "SP1"),
            plain_wire("R4", "SP2", "S1:1"),
        ),
    ),
    "a fragment's load that is fed from outside": (
        lambda data: data.update(extent="fragment"),
        gone("W14", "W15", "D1"),
        lambda data: entry(data, "U1").update(
            terminals=[*entry(data, "U1")["terminals"], {"name": "9", "open_end": True}]
        ),
        gains("wires", plain_wire("W99", "U1:9", "E2:1")),
    ),
    "two batteries in series": (
        gains("devices", battery("BAT2") | {"bonds": [{"terminal": "-", "to": "BAT:+", "resistance_ohm": 0.001}]}),
        lambda data: entry(data, "F1")["bonds"][0].update(to="BAT2:+"),
        lambda data: data["vehicle"].update(system_voltage_V=24),
    ),
    "a switch between feed and ground that no condition closes": (
        gains("devices", switch("S9")),
        gains("wires", plain_wire("W98", "SP1", "S9:1"), plain_wire("W99", "S9:2", "BODY:1")),
    ),
}


def series_of_lamps(number: int, *, grounded: bool) -> list[Json]:
    stops = ["SP1", *(f"L{one}" for one in range(number)), "BODY:1"]
    wires = [plain_wire("LW0", stops[0], "L0:1")]
    wires += [plain_wire(f"LW{one}", f"L{one - 1}:2", f"L{one}:1") for one in range(1, number)]
    return wires + ([plain_wire("LWX", f"L{number - 1}:2", "BODY:1")] if grounded else [])


@pytest.mark.parametrize("grounded", [True, False])
def test_each_lamp_of_a_series_is_told_the_end_beyond_which_to_look(*, grounded: bool) -> None:
    lamps = [between(f"L{number}", "lamp", [filament("1", "2", 2)]) for number in range(3)]
    found = objected(gains("devices", *lamps), gains("wires", *series_of_lamps(3, grounded=grounded)))
    expected = [
        ("no_current", f"L{number}", {"device": f"L{number}", "ends": (f"L{number}:2",)}) for number in range(3)
    ]

    assert found == ([] if grounded else expected)


def test_a_load_on_two_open_ends_of_its_own_is_told_with_both() -> None:
    found = objected(
        gains("devices", {"id": "X9", "kind": "socket", "terminals": ["1"]}), hangs("E9", "X9:1", "X9:1"),
    )  # fmt: skip

    assert found == [("no_current", "E9", {"device": "E9", "ends": ("E9:1", "E9:2")})]


def test_a_short_at_all_times_is_told_once_and_without_a_condition() -> None:
    found = objected(gains("devices", between("J9", "other", [link("1", "2")])), gains(
        "wires", plain_wire("W98", "SP1", "J9:1"), plain_wire("W99", "J9:2", GROUND)))  # fmt: skip
    shorts = [one for one in found if one[0] == "dead_short"]

    assert [(element, params["condition"]) for _, element, params in shorts] == [("BAT", "always")]


def test_a_fragment_without_polarity_is_asked_for_it_and_not_judged_by_it() -> None:
    data = sound()
    del data["vehicle"]["ground_polarity"]

    assert told(lint(reference_from(data))) == [("gap_vehicle", "sound", {"member": "ground_polarity"})]


@pytest.mark.parametrize(("anode", "cathode"), [("1", "2"), ("2", "1")])
def test_a_lamp_between_two_sources_may_be_lit_by_either(anode: str, cathode: str) -> None:
    """With nothing else in the vehicle its only way back is through the other source."""
    diode = {"kind": "diode", "between": [anode, cathode], "forward_V": 1}
    devices = [body(), battery(), alternator(), between("E9", "lamp", [filament("1", "2", 2)])]
    wires = [plain_wire("A", "BAT:+", "E9:1"), plain_wire("B", "E9:2", "D9:1"), plain_wire("D", "D9:2", "GEN:+")]
    circuits = [{"id": "C", "name": "charging", "function": "charging"}]
    found = lint(rig([*devices, between("D9", "diode", [diode])], wires, circuits=circuits))

    assert "no_current" not in {one.rule for one in found}


@pytest.mark.parametrize("one", CASES, ids=lambda one: one.what)
def test_exactly_this_is_objected_to(one: Case) -> None:
    check(one)


@pytest.mark.parametrize("what", SOUND)
def test_nobody_objects_to_ordinary_practice(what: str) -> None:
    assert objected(*SOUND[what]) == []
