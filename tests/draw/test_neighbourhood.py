"""What a sheet shows of the maker's wiring and of what was added: told on the bench, where all can be followed by hand.

The bench is drawn in `tests.support.bench_data`: five fuses, and behind them a switch, a relay, an output, a restraint.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.draw.layout import dot_source
from harnessdiff.draw.neighbourhood import Neighbourhood
from tests.drawing import CATALOGUE, catalogue_case, demo_case, flags_of
from tests.strategies import plantings, references
from tests.support import Json, bench_data, case_from, filament, reference_from, wire

if TYPE_CHECKING:
    from harnessdiff.draw.scene import Line, Scene
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case

TWISTED = {"type": "twisted", "cover": "tape"}
BEEPER = {"kind": "beeper", "label": "box"}


def scene_of(case: Case) -> Scene:
    shared = tuple(one for install in case.findings.installs for one in install.shared)
    return Neighbourhood(case.reference, case.as_found).scene(case.findings.findings, shared)


def drawn(reference: Reference, *lines: Json, **members: Any) -> Scene:
    return scene_of(case_from(reference, *lines, **members))


def tap(wire_id: str, **more: object) -> Json:
    return {"kind": "tap", "id": "t1", "on": {"wire": wire_id}, "joint": TWISTED, **more}


def flagged(scene: Scene) -> dict[str, list[str]]:
    """Marks that carry flags, and what is on them."""
    return {one: [flag.text for flag in mark.flags] for one, mark in scene.marks.items() if mark.flags}


def symbols(scene: Scene) -> dict[str, str]:
    return {one: mark.symbol for one, mark in scene.marks.items()}


def ways(scene: Scene, *styles: str) -> list[tuple[str, str]]:
    return [(line.start, line.end) for line in scene.lines if line.style in styles]


def line(scene: Scene, start: str, end: str) -> Line:
    (found,) = (one for one in scene.lines if (one.start, one.end) == (start, end))
    return found


# -- a tap


def test_a_tap_shows_its_wire_from_end_to_end_its_fuse_and_its_loads(bench: Reference) -> None:
    scene = drawn(bench, tap("W11", to={"device": BEEPER, "pin": "+"}))

    assert symbols(scene) == {
        "F1": "fuse", "S1:58": "terminal", "+t1.joint": "joint_twisted", "SP1": "splice", "E1": "lamp", "E2": "lamp",
        "+t1.device": "horn",
    }  # fmt: skip
    assert ways(scene, "wire") == [("S1:58", "+t1.joint"), ("+t1.joint", "SP1")]
    assert ways(scene, "folded") == [("F1", "S1:58"), ("SP1", "E1"), ("SP1", "E2")]
    assert ways(scene, "lead") == [("+t1.joint", "+t1.device")]
    assert flagged(scene) == {"+t1.joint": ["1"]}


def test_a_wire_says_what_it_is_and_a_fold_what_is_folded(bench: Reference) -> None:
    scene = drawn(bench, tap("W11"))
    wire = line(scene, "S1:58", "+t1.joint")

    assert wire.label == ("W11", "GY/RD 0.75 mm²")
    assert wire.colour is not None
    assert (wire.colour.base, wire.colour.tracer) == ("GY", "RD")
    assert line(scene, "F1", "S1:58").label == ("via S1", "1 wire")
    assert scene.marks["F1"].label[0] == "F1 10 A"


def test_a_wire_is_labelled_once_however_many_taps_sit_on_it(bench: Reference) -> None:
    scene = drawn(
        bench,
        {"kind": "tap", "id": "a", "on": {"wire": "W32", "at": {"from_end": 1, "distance_m": 1.5}}, "joint": TWISTED},
        {"kind": "tap", "id": "b", "on": {"wire": "W32", "at": {"from_end": 1, "distance_m": 0.5}}, "joint": TWISTED},
    )

    assert ways(scene, "wire") == [("XC1:1b", "+b.joint"), ("+b.joint", "+a.joint"), ("+a.joint", "E3")]
    assert [one.label for one in scene.lines if one.label and one.style == "wire"] == [("W32", "BK/RD 0.75 mm²")]


def test_a_tap_on_an_output_shows_the_module_and_its_fuse(bench: Reference) -> None:
    scene = drawn(bench, tap("W43"))

    assert symbols(scene) == {
        "F4": "fuse", "U1:OUT": "terminal", "+t1.joint": "joint_twisted", "E4": "lamp", "+t1.lead#2": "untraced",
    }  # fmt: skip
    assert line(scene, "F4", "U1:OUT").label == ("via U1", "1 wire")
    assert scene.marks["U1:OUT"].label == ("U1:OUT", "module")


def test_a_tap_on_the_battery_post_shows_the_battery_and_the_lead_s_own_fuse(bench: Reference) -> None:
    lead = {"colour": {"base": "RD"}, "size_mm2": 2.5, "inline": [{"kind": "fuse", "rating_A": 5, "distance_m": 0.1}]}
    scene = drawn(bench, {"kind": "tap", "id": "t1", "on": {"terminal": "BAT:+"}, "joint": {"type": "ring_terminal"},
                          "lead": lead, "to": {"not_traced": True}})  # fmt: skip

    assert symbols(scene) == {
        "BAT": "battery", "+t1.joint": "joint_ring", "+t1.lead~0": "fuse", "+t1.lead#2": "untraced",
    }  # fmt: skip
    assert scene.marks["+t1.lead~0"].label == ("fuse 5 A", "0.1 m from end 1")
    assert ways(scene, "lead") == [("+t1.joint", "+t1.lead~0"), ("+t1.lead~0", "+t1.lead#2")]


@pytest.mark.parametrize(("terminal", "fuse", "load"), [("S1:58", "F1", "E1"), ("E3:54", "F3", "E3")])
def test_a_tap_at_a_terminal_shows_its_fuse_and_its_loads(
    bench: Reference, terminal: str, fuse: str, load: str
) -> None:
    on = {"terminal": terminal}
    scene = drawn(bench, {"kind": "tap", "id": "t1", "on": on, "joint": {"type": "push_on"}})

    assert {fuse, load} <= set(scene.marks)


def test_a_cable_with_pins_shows_every_pin_so_that_its_cores_are_told_apart(bench: Reference) -> None:
    device = {"kind": "device", "id": "d1", "sort": "socket", "terminals": ["L", "R"], "label": "tow socket"}
    taps = [
        {"kind": "tap", "id": f"t{pin}", "on": {"wire": on}, "joint": TWISTED, "to": {"device": "d1", "pin": pin}}
        for pin, on in (("L", "W12"), ("R", "W32"))
    ]
    scene = drawn(bench, device, *taps)

    assert symbols(scene)["+d1"] == "socket"
    assert {one for one, symbol in symbols(scene).items() if symbol == "pin"} == {"+d1:L", "+d1:R"}
    assert {("+tL.joint", "+d1:L"), ("+tR.joint", "+d1:R")} <= set(ways(scene, "lead"))
    assert {("+d1:L", "+d1"), ("+d1:R", "+d1")} <= set(ways(scene, "contact"))


# -- cuts, repairs, insertions


def test_a_cut_wire_shows_both_of_its_ends(bench: Reference) -> None:
    cut = {"kind": "cut", "id": "c1", "wire": "W32", "end_1": {"treatment": "taped"}, "end_2": {"treatment": "bare"}}
    scene = drawn(bench, cut)

    assert ways(scene, "wire") == [("XC1:1b", "+c1#1"), ("+c1#2", "E3")]
    assert {one: scene.marks[one].label for one in ("+c1#1", "+c1#2")} == {
        "+c1#1": ("cut, taped, may be LIVE",),
        "+c1#2": ("cut, bare",),
    }
    assert flagged(scene) == {"+c1#1": ["1"]}
    assert ways(scene, "folded") == [("F3", "XC1:1b")]


def test_a_live_end_of_a_cut_wire_says_so(bench: Reference) -> None:
    """The end towards the fuse of a wire that is live at all times, found live with the vehicle asleep."""
    cut = {"kind": "cut", "id": "c1", "wire": "W40", "end_1": {"treatment": "bare", "live_in": ["asleep"]}}
    scene = drawn(bench, cut)

    assert "LIVE" in " ".join(scene.marks["+c1#1"].label)


def test_a_repair_shows_its_joints_in_the_run_of_the_wire(bench: Reference) -> None:
    crimp = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}
    insert = {"colour": {"base": "BU"}, "size_mm2": 0.75}
    scene = drawn(bench, {"kind": "repair", "id": "r", "wire": "W32", "joints": [crimp, crimp], "insert": insert})

    assert ways(scene, "wire", "lead") == [
        ("XC1:1b", "+r.joint1"), ("+r.joint2", "E3"), ("+r.joint1", "+r.joint2"),
    ]  # fmt: skip
    assert flagged(scene) == {"+r.joint1": ["1a"], "+r.joint2": ["1b"]}


def test_an_insertion_shows_what_is_in_series_between_its_two_joints(bench: Reference) -> None:
    toggle = {"kind": "switch", "terminals": ["1", "2"], "contents": [{"kind": "link", "between": ["1", "2"]}]}
    scene = drawn(bench, {"kind": "insertion", "id": "i", "in": {"wire": "W40"}, "device": toggle, "pins": ["1", "2"]})

    chain = ["F4", "+i.joint1", "+i.device:1", "+i.device", "+i.device:2", "+i.joint2", "R1:30"]
    assert set(ways(scene, "wire", "lead", "contact")) == set(pairwise(chain))
    assert symbols(scene)["+i.device"] == "switch"


def test_a_bridge_to_a_splice_shows_the_splice(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "bridge", "id": "b", "from": {"wire": "W30"}, "to": {"terminal": "SP1"}})

    assert symbols(scene)["SP1"] == "splice"
    assert {end for line in scene.lines for end in (line.start, line.end)} <= set(scene.marks)


def test_a_bridge_shows_both_circuits_with_their_fuses(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "bridge", "id": "b", "from": {"wire": "W40"}, "to": {"wire": "W30"}})

    assert {"F4", "F3"} <= set(scene.marks)
    assert ways(scene, "lead") == [("+b.joint1", "+b.joint2")]


# -- open questions


def test_a_clue_that_fits_several_wires_draws_them_all_and_none_as_sure(bench: Reference) -> None:
    clue = {"colour": {"base": "GY", "tracer": "RD"}}
    scene = drawn(bench, {"kind": "tap", "id": "t1", "on": {"wire": clue}, "joint": TWISTED})

    assert scene.marks["+t1.joint"].label == ("twisted, taped", "on W11 or W12 or W13")
    assert ways(scene, "wire") == []
    assert ways(scene, "perhaps") == [
        ("S1:58", "+t1.joint"), ("+t1.joint", "SP1"),
        ("SP1", "+t1.joint?W12"), ("+t1.joint?W12", "E1"), ("SP1", "+t1.joint?W13"), ("+t1.joint?W13", "E2"),
    ]  # fmt: skip
    assert scene.marks["+t1.joint?W12"].label == ("or 1 is here",)
    assert flagged(scene) == {"+t1.joint": ["1"]}


def test_of_many_wires_that_a_clue_fits_one_is_drawn_and_the_others_are_named(bench: Reference) -> None:
    clue = {"size_mm2": {"min": 0.5, "max": 2.5}}
    scene = drawn(bench, {"kind": "tap", "id": "t1", "on": {"wire": clue}, "joint": TWISTED})

    assert len(scene.doubts["+t1.joint"]) > 4
    assert re.search(r" or \d+ more$", scene.marks["+t1.joint"].label[1])
    assert [one for one, symbol in symbols(scene).items() if symbol == "perhaps"] == []


def test_a_tap_on_a_wire_nobody_has_named_stands_by_itself_at_its_place(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "tap", "id": "t1", "zone": "Z_SILL", "note": "could not reach it"})

    assert scene.marks["+t1.joint"].label == ("joint not seen", "left sill")
    assert flagged(scene) == {"+t1.joint": ["1"]}
    assert ways(scene, "wire", "perhaps", "folded") == []


# -- ends of leads

ENDS = [
    ({"loose": {"treatment": "bare", "live_in": ["asleep"]}}, "loose_live", "loose, bare, LIVE"),
    ({"loose": {"treatment": "taped", "live_in": []}}, "loose", "loose, taped, found dead"),
    ({"loose": {"treatment": "bare"}}, "loose", "loose, bare, may be LIVE"),
    ({"not_traced": True}, "untraced", "not followed"),
]


@pytest.mark.parametrize(("to", "symbol", "label"), ENDS)
def test_an_end_of_a_lead_says_whether_it_is_live(bench: Reference, to: Json, symbol: str, label: str) -> None:
    scene = drawn(bench, tap("W40", to=to))

    assert symbols(scene)["+t1.lead#2"] == symbol
    assert scene.marks["+t1.lead#2"].label == (label,)
    assert ways(scene, "lead") == [("+t1.joint", "+t1.lead#2")]


def test_a_lead_left_behind_carries_its_flag_at_its_open_end(bench: Reference) -> None:
    live = {"loose": {"treatment": "bare", "live_in": ["asleep"]}}
    scene = drawn(
        bench, {"kind": "lead", "id": "l1", "zone": "Z_SILL", "end_1": live, "end_2": {"loose": {"treatment": "taped"}}}
    )

    assert symbols(scene) == {"+l1#1": "loose_live", "+l1#2": "loose"}
    assert scene.marks["+l1#1"].label == ("loose, bare, LIVE", "left sill")
    assert flagged(scene) == {"+l1#1": ["1"]}


def test_an_unsafe_route_has_a_mark_of_its_own_in_the_lead(bench: Reference) -> None:
    lead = {"colour": {"base": "RD"}, "size_mm2": 0.5, "route": [{"kind": "touches", "what": "exhaust"}]}
    case = case_from(bench, tap("W40", lead=lead))
    (route,) = (one for one in case.findings.findings if one.kind == "routing")
    scene = scene_of(case)

    assert symbols(scene)["+t1.lead route"] == "route"
    assert scene.marks["+t1.lead route"].label == ("touches exhaust",)
    assert flagged(scene)["+t1.lead route"] == [str(route.number)]
    assert ways(scene, "lead") == [("+t1.joint", "+t1.lead route"), ("+t1.lead route", "+t1.lead#2")]


def test_what_is_wrong_with_a_lead_is_flagged_on_that_lead(bench: Reference) -> None:
    """The joint is good; the level comes from the lead, however far from it."""
    lead = {"colour": {"base": "RD"}, "size_mm2": 10, "size_claimed_mm2": 25, "material": "copper_clad_aluminium"}
    case = case_from(
        bench,
        {"kind": "tap", "id": "t1", "on": {"terminal": "BAT:+"}, "joint": {"type": "ring_terminal"}, "lead": lead,
         "to": {"device": BEEPER, "pin": "+"}},
    )  # fmt: skip
    scene = scene_of(case)
    (fault,) = (mark for mark in scene.marks.values() if mark.symbol == "fault")

    assert fault.id == "+t1.lead fault"
    assert "has no protection between it and a source" in fault.label
    assert flagged(scene) == {"+t1.joint": ["1"], "+t1.lead fault": ["1"]}
    assert ways(scene, "lead") == [("+t1.joint", "+t1.lead fault"), ("+t1.lead fault", "+t1.device")]


def test_a_lead_is_flagged_wherever_it_is_drawn() -> None:
    """An unprotected lead and the tap that feeds it may be on two sheets."""
    case = demo_case()
    around = Neighbourhood(case.reference, case.as_found)
    findings = case.findings.findings
    (ground,) = (one for one in findings if one.modification.root == "+L18.end2")
    (tap_,) = (one for one in findings if one.modification.root == "+J10")
    flags = flagged(around.scene([ground], (), findings))

    assert flags["+L11 fault"] == [str(tap_.number)]
    assert flags["+L12 fault"] == [str(tap_.number), str(ground.number)]
    assert "+L11 fault" not in flagged(around.scene([ground], ()))


def test_what_may_be_wrong_with_a_lead_of_unknown_size_is_not_flagged_as_if_it_were(bench: Reference) -> None:
    assert "fault" not in symbols(drawn(bench, tap("W40"))).values()


# -- where


@pytest.mark.parametrize(
    ("at", "words"),
    [
        ({"from_end": 2, "distance_m": 0.2}, "0.2 m from E3:54"),
        ({"from_end": 1, "distance_m": 0.2}, "0.2 m from XC1:1b"),
        ({"near_end": 2}, "nearer to E3:54"),
    ],
)
def test_a_joint_says_where_along_its_wire_it_sits(bench: Reference, at: Json, words: str) -> None:
    scene = drawn(bench, {"kind": "tap", "id": "t1", "on": {"wire": "W32", "at": at}, "joint": TWISTED})

    assert words in scene.marks["+t1.joint"].label


def test_an_end_that_was_not_followed_says_where_it_goes(bench: Reference) -> None:
    scene = drawn(bench, tap("W40", to={"not_traced": True, "towards": "up to the roof"}))

    assert scene.marks["+t1.lead#2"].label == ("not followed", "goes up to the roof")


def test_a_wire_that_was_cut_for_a_joint_is_drawn_as_cut_on_both_sides(bench: Reference) -> None:
    crimp = {"type": "butt_crimp", "tool": "pliers", "cover": "sleeve"}
    scene = drawn(
        bench,
        {"kind": "cut", "id": "c1", "wire": "W32"},
        {"kind": "joint", "id": "j1", "members": [
            {"cut": "c1", "side": 1}, {"cut": "c1", "side": 2}, {"lead": "l1", "end": 1}], **crimp},
        {"kind": "lead", "id": "l1", "end_1": {"joined": "j1"}, "end_2": {"not_traced": True}},
    )  # fmt: skip

    assert [(one.start, one.end, one.cut) for one in scene.lines if one.style == "wire"] == [
        ("XC1:1b", "+j1", ("end",)), ("+j1", "E3", ("start",)),
    ]  # fmt: skip
    assert "wire cut through" in scene.marks["+j1"].label
    assert [one.cut for one in drawn(bench, tap("W32")).lines if one.style == "wire"] == [(), ()]


def test_a_lead_whose_colour_nobody_noted_says_so(bench: Reference) -> None:
    scene = drawn(bench, tap("W40"))
    (lead,) = (one for one in scene.lines if one.style == "lead")

    assert not lead.colour_known
    assert lead.label == ("t1.lead", "colour ?")


# -- changed, missing, moved


def test_a_wrong_fuse_shows_both_ratings_and_what_hangs_on_it(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "substitution", "id": "f", "element": "F1", "fitted": {"rating_A": 20}})

    assert scene.marks["F1"].label[0] == "F1 20 A fitted, 10 A correct"
    assert flagged(scene) == {"F1": ["1"]}
    assert ways(scene, "wire", "folded") == [("F1", "S1:30"), ("S1:30", "E1"), ("S1:30", "E2")]


def test_a_missing_device_is_drawn_as_gone(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "missing", "id": "m", "element": "E3"})

    assert scene.marks["E3"].gone
    assert flagged(scene) == {"E3": ["1"]}
    assert ways(scene, "wire") == [("XC1:1b", "E3")]


def test_a_missing_wire_is_drawn_as_gone(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "missing", "id": "m", "wire": "W43"})

    assert ways(scene, "gone") == [("U1:OUT", "E4")]
    assert flagged(scene) == {"W43": ["1"]}


def test_a_moved_ground_is_drawn_where_it_is_now(bench: Reference) -> None:
    to = {"metal": "body", "joint": {"type": "under_screw", "fixing": "trim_screw"}}
    scene = drawn(bench, {"kind": "moved", "id": "v", "wire": "W14", "end": 2, "to": to})

    assert ways(scene, "wire") == [("E1", "+v.joint")]
    assert ways(scene, "contact") == [("+v.joint", "BODY")]
    assert "GND1" not in scene.marks


MOVED: list[tuple[str, Json]] = [
    ("moved pin", {"kind": "moved", "id": "v", "wire": "W31", "end": 1, "to": {"terminal": "U1:OUT"}}),
    ("swap", {"kind": "swap", "id": "s", "between": [{"wire": "W31", "end": 1}, {"wire": "W43", "end": 1}]}),
]


@pytest.mark.parametrize("line_", [one for _, one in MOVED], ids=[name for name, _ in MOVED])
def test_a_wire_that_was_moved_is_not_drawn_with_the_fuse_of_where_it_was(bench: Reference, line_: Json) -> None:
    """F3 feeds S3; nothing leads from it to the module's output, neither on the reference nor as found."""
    scene = drawn(bench, line_)

    assert ("F3", "U1:OUT") not in ways(scene, "folded")


def test_damage_sits_on_the_wires_it_marks_and_has_one_flag(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "damage", "id": "d", "on": [{"wire": "W10"}, {"wire": "W11"}], "damage": "melted"})

    assert scene.marks["+d"].label == ("melted",)
    assert ways(scene, "wire") == [("F1", "+d"), ("+d", "S1:30"), ("S1:58", "+d"), ("+d", "SP1")]
    assert flagged(scene) == {"+d": ["1"]}


def test_damage_to_a_terminal_alone_hangs_on_that_terminal_with_its_fuse(bench: Reference) -> None:
    scene = drawn(bench, {"kind": "damage", "id": "d", "on": [{"terminal": "S1:58"}], "damage": "corroded"})

    assert flagged(scene) == {"+d": ["1"]}
    assert symbols(scene)["+d"] == "damage"
    assert ways(scene, "contact") == [("+d", "S1:58")]
    assert "F1" in scene.marks


def test_damage_to_a_device_and_to_its_wire_has_one_flag() -> None:
    case = catalogue_case("M37")
    (damage,) = (one for one in case.findings.findings if one.kind == "damage")

    assert [one for one, texts in flagged(scene_of(case)).items() if str(damage.number) in texts] == ["+g1"]


@pytest.mark.parametrize(
    ("line_", "label"),
    [
        ({"kind": "other", "id": "o", "zone": "Z_DASH", "note": "a bracket"}, "behind the dash"),
        ({"kind": "surroundings", "id": "s", "zone": "Z_TAIL", "wet": True}, "behind the rear lamps"),
    ],
)
def test_what_is_on_no_wire_stands_at_its_place(bench: Reference, line_: Json, label: str) -> None:
    scene = drawn(bench, line_)
    (mark,) = scene.marks.values()

    assert (mark.symbol, mark.label, [flag.text for flag in mark.flags]) == ("place", (label,), ["1"])


def test_a_device_that_is_there_and_unplugged_is_drawn_as_itself(bench: Reference) -> None:
    scene = drawn(
        bench, {"kind": "device", "id": "d1", "sort": "alarm", "label": "box", "connected": "no", "zone": "Z_DASH"}
    )

    assert scene.marks["+d1"].label == ("“box”", "d1", "behind the dash")
    assert flagged(scene) == {"+d1": ["1"]}


def test_of_many_loads_two_are_drawn_and_the_others_counted() -> None:
    data = bench_data()
    data["devices"] += [
        {"id": name, "kind": "lamp", "terminals": ["58", "31"], "parts": [filament("58", "31", 5)],
         "bonds": [{"terminal": "31", "to": "BODY:1"}]} for name in ("E5", "E6", "E7")
    ]  # fmt: skip
    data["wires"] += [wire(f"W1{number}", ("SP1", f"E{number}:58"), "GY/RD", 0.75, 0.5) for number in (5, 6, 7)]
    scene = drawn(reference_from(data), tap("W11"))

    assert [label for mark in scene.marks.values() if mark.symbol == "more" for label in mark.label] == ["3 more loads"]
    assert [one for one, symbol in symbols(scene).items() if symbol == "lamp"] == ["E1", "E2"]


# -- laws


def shows_every_flag_once(case: Case) -> None:
    scene = scene_of(case)
    shown = sorted(flag.text for mark in scene.marks.values() if mark.symbol != "fault" for flag in mark.flags)

    assert shown == sorted(flag for finding in case.findings.findings for flag in flags_of(finding))
    assert {end for one in scene.lines for end in (one.start, one.end)} <= set(scene.marks)
    assert all(flag.level for mark in scene.marks.values() for flag in mark.flags)


@settings(max_examples=80)
@given(st.data())
def test_every_flag_of_a_random_survey_is_drawn_once(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))

    shows_every_flag_once(case_from(reference, *data.draw(plantings(reference, most=8))))


@settings(max_examples=6)
@given(st.data())
def test_every_flag_of_a_random_survey_of_the_van_is_drawn_once(van: Reference, data: st.DataObject) -> None:
    shows_every_flag_once(case_from(van, *data.draw(plantings(van))))


@pytest.mark.parametrize("which", ["survey", "twin"])
@pytest.mark.parametrize("kind", CATALOGUE)
def test_every_flag_of_the_catalogue_is_drawn_once(kind: str, which: str) -> None:
    shows_every_flag_once(catalogue_case(kind, which))


def test_the_same_findings_make_the_same_scene() -> None:
    one, other = (dot_source(scene_of(demo_case())) for _ in range(2))

    assert one == other
