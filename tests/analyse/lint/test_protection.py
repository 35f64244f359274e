"""Fuses against their places, and wires, contacts and loads against fuses."""

from __future__ import annotations

import pytest

from harnessdiff.analyse.lint.protection import greatest_limit_A
from tests.analyse.lint.sound import (
    Case,
    Change,
    bonded,
    case,
    check,
    draw,
    entry,
    feed,
    gains,
    gone,
    link,
    loses,
    objected,
    part_sets,
    plain_wire,
    sets,
)
from tests.support import Json, between

TABLE = "prudent vehicle table"


def circuit(rating_A: float, size_mm2: float, *ampere: float | None, kind: str = "heater", **fuse: object) -> Change:
    """A change: a fuse of its own for loads that draw so much, one wire to them all, thick ones from there."""
    loads = [between(f"Q{number}", kind, [draw("1", "2", one)]) for number, one in enumerate(ampere)]
    wires = [plain_wire(f"Q{number}a", "SPQ", f"Q{number}:1", 25) for number, _ in enumerate(ampere)]
    wires += [plain_wire(f"Q{number}b", f"Q{number}:2", "BODY:1", 25) for number, _ in enumerate(ampere)]
    held, seated = feed("FQ", rating_A)
    unmade = {"body": "bolted"}

    def change(data: Json) -> None:
        data["devices"] += [held | unmade, seated | unmade | fuse, *loads]
        data["splices"].append({"id": "SPQ"})
        data["wires"] += [plain_wire("WQ", "FQ:out", "SPQ", size_mm2), *wires]

    return change


def covered(
    element: str, rating_A: float, size_mm2: float, limit_A: float, drawn_A: float | None = None
) -> dict[str, object]:
    """Parameters of the two rules about wires behind a fuse."""
    facts = {"fuse": "FQ", "rating_A": rating_A, "size_mm2": size_mm2, "limit_A": limit_A, "table": TABLE}
    return facts if drawn_A is None else facts | {"drawn_A": drawn_A}


BLOWING = {"rating_convention": "blowing"}
CASES = [
    case(
        "a fuse that its slot does not name",
        "rating_not_legend",
        "F1_FUSE",
        sets("F1", legend_A=7.5),
        rating_A=10,
        legend_A=7.5,
        slot="F1",
    ),
    case(
        "a fuse that does not fit",
        "body_not_slot",
        "F1_FUSE",
        sets("F1", body="glass 6.3 x 32"),
        body="blade type C",
        slot_body="glass 6.3 x 32",
        slot="F1",
    ),
    case(
        "a fuse that is not made",
        "no_such_fuse",
        "F1_FUSE",
        sets("F1_FUSE", rating_A=9),
        sets("F1", legend_A=9),
        rating_A=9,
        body="blade type C",
    ),
    case(
        "a wire that its fuse does not cover, nor its load",
        "not_covered",
        "WQ",
        circuit(30, 1, 10, 8),
        **covered("WQ", 30, 1, 15),
    ),
    case(
        "a wire behind a large fuse, one of its loads not known",
        "not_covered",
        "WQ",
        circuit(30, 1, 2, None),
        gains("as_built", {"element": "Q1", "rule": "gap_load", "because": "nobody knows"}),
        **covered("WQ", 30, 1, 15),
    ),
    case(
        "a stub behind a large fuse",
        "not_covered",
        "WX",
        circuit(30, 4, 2),
        gains("devices", {"id": "X9", "kind": "socket", "terminals": ["1"]}),
        gains("wires", plain_wire("WX", "SPQ", "X9:1")),
        **covered("WX", 30, 1, 15),
    ),
    case(
        "a small load on a large fuse",
        "small_load_large_fuse",
        "WQ",
        circuit(30, 1, 4, 1.5),
        **covered("WQ", 30, 1, 15, 5.5),
    ),
    case(
        "a wire of a ring whose loads cover it",
        "small_load_large_fuse",
        "WQ",
        circuit(30, 1, 4),
        gains("wires", plain_wire("WR", "FQ:out", "SP9", 4), plain_wire("WS", "SP9", "SPQ", 4)),
        gains("splices", {"id": "SP9"}),
        **covered("WQ", 30, 1, 15, 4),
    ),
    case(
        "a glass fuse of 70 A on 2.5 mm² is held by half of it, and by its load",
        "small_load_large_fuse",
        "WQ",
        circuit(70, 2.5, 4, **BLOWING),
        **covered("WQ", 35, 2.5, 30, 4),
    ),
    case(
        "a load that draws more than the wire may carry",
        "load_over_limit",
        "Q0a",
        circuit(10, 1, 9),
        lambda data: entry(data, "Q0a").update(size_mm2=0.5),
        gains("as_built", {"element": "Q0a", "rule": "not_covered", "because": "only the load is looked at here"}),
        load="Q0",
        current_A=9,
        what="wire",
        limit_A=7.5,
    ),
    case(
        "a load that draws more than the fuse carries",
        "load_over_limit",
        "FQ_FUSE",
        circuit(10, 4, 12),
        load="Q0",
        current_A=12,
        what="fuse",
        limit_A=10,
    ),
    case(
        "a load that draws what a glass fuse only carries for a while",
        "load_over_limit",
        "FQ_FUSE",
        circuit(15, 4, 9, **BLOWING),
        load="Q0",
        current_A=9,
        what="fuse",
        limit_A=7.5,
    ),
    case(
        "a load that draws more than its contact carries",
        "load_over_limit",
        "S1",
        part_sets("S1", 0, limit_A=0.3),
        load="E1",
        current_A=pytest.approx(5 / 12, abs=1e-3),
        what="contact",
        limit_A=0.3,
    ),
    case(
        "a load that draws more than its output gives",
        "load_over_limit",
        "U1",
        part_sets("U1", 1, limit_A=0.2),
        load="E2",
        current_A=pytest.approx(5 / 12, abs=1e-3),
        what="output",
        limit_A=0.2,
    ),
    case(
        "a load that draws more than its terminal carries",
        "load_over_limit",
        "K1:87",
        lambda data: entry(data, "K1")["terminals"][1].update(limit_A=3),
        load="H1",
        current_A=4,
        what="terminal",
        limit_A=3,
    ),
    case(
        "a wire that no fuse stands before",
        "unfused",
        "W99",
        gains("devices", bonded(between("H9", "horn", [draw("1", "2", 4)]), "2", "G1:1")),
        gains("wires", plain_wire("W99", "BAT:+", "H9:1")),
    ),
]
SOUND: dict[str, tuple[Change, ...]] = {
    "a starter draws for moments only": (circuit(150, 25, 400, kind="starter"),),
    "a cable that is larger than any in the table": (
        circuit(250, 50, 90),
        lambda data: [one.update(size_mm2=50) for one in data["wires"] if one["id"].startswith("Q0")],
    ),
    "a thin wire of a sensor": (
        circuit(5, 0.22, 0.02),
        lambda data: [one.update(size_mm2=0.22) for one in data["wires"] if one["id"].startswith("Q0")],
    ),
    "a glass fuse of 35 A on 1.5 mm² carries half": (circuit(35, 1.5, 8, **BLOWING),),
    "a wire just under a metric size, as a gauge gives it": (circuit(15, 0.99, 8),),
    "a slot of which nobody knows the body": (loses("F1", "body"),),
    "a load of which nothing but the draw is known": (circuit(10, 1, 3),),
    "a tell-tale between two feeds": (
        gains("devices", between("E9", "lamp", [draw("1", "2", 0.1)])),
        gains("wires", plain_wire("W98", "XC1:1b", "E9:1"), plain_wire("W99", "E2:1", "E9:2")),
    ),
    "a return that is switched to ground": (
        circuit(10, 1, 4),
        gone("Q0b"),
        gains(
            "devices",
            between(
                "S9",
                "button",
                [link("1", "2", when={"position": ["on"]})],
                positions=["off", "on"],
                rest_position="off",
            ),
        ),
        gains("wires", plain_wire("W98", "Q0:2", "S9:1"), plain_wire("W99", "S9:2", "BODY:1")),
    ),
}


@pytest.mark.parametrize("one", CASES, ids=lambda one: one.what)
def test_exactly_this_is_objected_to(one: Case) -> None:
    check(one)


@pytest.mark.parametrize("what", SOUND)
def test_nobody_objects_to_ordinary_practice(what: str) -> None:
    assert objected(*SOUND[what]) == []


def test_a_motor_that_is_turned_round_loads_the_wires_at_both_its_ends() -> None:
    """Both contacts and both wires carry its current, whichever way it turns."""
    parts = [link("30", "A", limit_A=6), link("30", "B", limit_A=6), link("A", "31", when={"position": ["off"]})]
    device = between(
        "S9", "other", parts, terminals=["30", "31", "A", "B"], positions=["off", "on"], rest_position="on"
    )
    wires = [
        plain_wire("Ma", "S9:A", "M9:1"), plain_wire("Mb", "M9:2", "S9:B", 0.35), plain_wire("Mc", "FQ:out", "S9:30"),
        plain_wire("Md", "S9:31", "BODY:1"),
    ]  # fmt: skip
    found = objected(
        circuit(10, 1, 1),
        gains("devices", device, between("M9", "motor", [draw("1", "2", 5.5)])),
        gains("wires", *wires),
    )

    assert ("load_over_limit", "Mb", {"load": "M9", "current_A": 5.5, "what": "wire", "limit_A": 5}) in found


@pytest.mark.parametrize(
    ("size_mm2", "limit_A"),
    [(0.13, 5), (0.35, 5), (0.491, 7.5), (0.48, 5), (2.5, 30), (25, 150), (25.5, 150), (26, None)],
)
def test_the_table_says_nothing_beyond_its_greatest_size(size_mm2: float, limit_A: float | None) -> None:
    """By the rows of ``conductor_limits.csv`` (common practice); up to 2 % below a size counts as it."""
    assert greatest_limit_A(size_mm2) == limit_A


def test_a_coil_that_is_switched_on_its_ground_side_covers_its_thin_wire() -> None:
    """It draws at most what its resistance lets through at the whole voltage, whatever else is in series."""
    coil: Json = {
        "kind": "coil", "between": ["86", "85"], "resistance_ohm": 85, "pull_in_V": 8, "drop_out_V": 1.5
    }  # fmt: skip
    pressed: Json = {**link("1", "2", limit_A=2), "when": {"position": ["on"]}}
    button = {**between("SB", "switch", [pressed]), "positions": ["off", "on"], "rest_position": "off"}
    held, seated = feed("FQ", 15)

    def change(data: Json) -> None:
        data["devices"] += [
            held,
            seated,
            {"id": "KB", "kind": "relay", "terminals": ["86", "85"], "parts": [coil]},
            button,
        ]
        data["wires"] += [
            plain_wire("Wc", "FQ:out", "KB:86", 0.75),
            plain_wire("Wd", "KB:85", "SB:1", 0.75),
            plain_wire("We", "SB:2", "BODY:1", 0.75),
        ]

    rules = {(rule, element) for rule, element, *_ in objected(change)}

    assert ("small_load_large_fuse", "Wc") in rules
    assert not {element for rule, element in rules if rule == "not_covered"}
