"""What a scene looks like on paper: colours of insulation, added leads, flags; and text that stays text."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

import pytest
from lxml import etree

from harnessdiff.draw.bridges import straight
from harnessdiff.draw.lanes import boxes_of, lanes_of
from harnessdiff.draw.layout import Layout, Way
from harnessdiff.draw.page import STYLE
from harnessdiff.draw.paint import LEVEL_FILL, paint_flag, paint_scene
from harnessdiff.draw.scene import Flag, Line, Mark, Scene
from harnessdiff.draw.svg import element, number, path_of
from harnessdiff.model.harness import Colour
from harnessdiff.model.rating import ACCEPTABLE, LEVELS
from harnessdiff.tables.loader import screen_colours
from tests.drawing import SVG, Read, classes, flags_in
from tests.support import Json, bench_data, case_from, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case


def side_by_side(scene: Scene) -> Layout:
    """A layout by hand: marks in a row, every line straight."""
    lanes = lanes_of(scene)
    boxes = boxes_of(scene, lanes)
    middles = {one: (100.0 + 200.0 * place, 100.0) for place, one in enumerate(scene.marks)}

    def at(mark_id: str, lane: float) -> float:
        return middles[mark_id][1] - boxes[mark_id].height / 2 + boxes[mark_id].above + lane

    ways = []
    for place, line in enumerate(scene.lines):
        one, other = boxes[line.start], boxes[line.end]
        start = middles[line.start][0] + one.width / 2, at(line.start, one.east[lanes.east[line.start].index(place)])
        end = middles[line.end][0] - other.width / 2, at(line.end, other.west[lanes.west[line.end].index(place)])
        label_at = ((start[0] + end[0]) / 2, 90.0) if line.label else None
        ways.append(Way(points=straight(start, end), label_at=label_at))
    return Layout(width=200.0 * len(middles), height=200.0, middles=middles, ways=tuple(ways), boxes=boxes)


def painted(scene: Scene) -> etree._Element:
    parent = element("svg")
    paint_scene(parent, scene, side_by_side(scene))
    return parent


def line_painted(style: str, colour: Colour | None = None, label: tuple[str, ...] = ()) -> list[etree._Element]:
    """The paths of one line between two terminals."""
    scene = Scene()
    scene.put(Mark(id="a", symbol="terminal"))
    scene.put(Mark(id="b", symbol="terminal"))
    scene.join(Line(start="a", end="b", style=style, colour=colour, label=label))
    (lines,) = (one for one in painted(scene) if one.get("class") == "lines")
    return list(lines)


def layers(paths: list[etree._Element]) -> list[tuple[str | None, str | None]]:
    return [(path.get("class"), path.get("stroke")) for path in paths]


def rule(selector: str, name: str) -> float | None:
    """The number that a style rule gives to `name`."""
    found = re.search(rf"(?:^|[,}}\n]){re.escape(selector)}{{([^}}]*)}}", STYLE)
    assert found is not None, selector
    value = re.search(rf"(?:^|;){name}:([\d.]+)", found[1])
    return float(value[1]) if value else None


# -- the maker's wires


def test_a_wire_of_two_colours_is_a_line_in_its_base_colour_with_cross_ticks_in_the_tracer_s() -> None:
    paths = line_painted("wire", Colour(base="GY", tracer="RD"))

    assert layers(paths) == [
        ("wire-edge", None),
        ("wire-core", screen_colours()["GY"]),
        ("wire-tick-edge", None),
        ("wire-tick", screen_colours()["RD"]),
    ]
    assert len({path.get("d") for path in paths}) == 1


def test_a_tick_is_short_along_the_wire_and_wider_than_it() -> None:
    """Ticks across, not bands along: dashes shorter than their gaps, and wider than the line they cross."""
    for kind in ("wire", "lead"):
        found = re.search(rf"\.{kind}-tick{{[^}}]*stroke-dasharray:([\d.]+) ([\d.]+)", STYLE)
        width, core = rule(f".{kind}-tick", "stroke-width"), rule(f".{kind}-core", "stroke-width")

        assert found is not None
        assert float(found[1]) < float(found[2]) / 4
        assert width is not None
        assert core is not None
        assert width > core


def test_a_wire_of_one_colour_has_no_ticks() -> None:
    assert layers(line_painted("wire", Colour(base="YE"))) == [
        ("wire-edge", None),
        ("wire-core", screen_colours()["YE"]),
    ]


@pytest.mark.parametrize("letters", sorted(screen_colours()))
def test_every_colour_of_the_table_is_drawn_as_the_table_says(letters: str) -> None:
    paths = line_painted("wire", Colour(base=letters, tracer=letters))

    assert [path.get("stroke") for path in paths if path.get("stroke")] == [screen_colours()[letters]] * 2


def test_colours_of_wires_are_told_apart() -> None:
    assert len(set(screen_colours().values())) == len(screen_colours())


@pytest.mark.parametrize("style", ["wire", "lead"])
@pytest.mark.parametrize("colour", [None, Colour(base="unknown"), Colour(base="unknown", tracer="unknown")])
def test_a_colour_nobody_knows_is_an_outline_in_dashes_without_a_filling(style: str, colour: Colour | None) -> None:
    """Grey would read as a grey wire, and a whole outline as a white one."""
    edge, core, *_ = line_painted(style, colour)
    dashes = rule(f".{style}-edge.unknown", "stroke-dasharray")

    assert [one.get("class") for one in (edge, core)] == [f"{style}-edge unknown", f"{style}-core unknown"]
    assert core.get("stroke") is None
    assert dashes
    assert ".wire-core.unknown,.lead-core.unknown{stroke:#fff}" in STYLE


def test_a_wire_that_was_cut_through_shows_its_cut_beside_the_joint() -> None:
    scene = Scene()
    scene.put(Mark(id="a", symbol="terminal"))
    scene.put(Mark(id="b", symbol="joint_crimp"))
    scene.join(Line(start="a", end="b", style="wire", colour=Colour(base="RD"), cut=("end",)))
    (lines,) = (one for one in painted(scene) if one.get("class") == "lines")
    strokes = [one for one in lines if one.get("class") == "cut-strokes"]

    assert len(strokes) == 1
    assert [one.get("class") for one in line_painted("wire") if "cut" in str(one.get("class"))] == []


def test_a_line_that_crosses_another_passes_over_it_in_a_gap() -> None:
    scene = Scene()
    scene.put(Mark(id="a", symbol="terminal"))
    scene.put(Mark(id="b", symbol="terminal"))
    scene.join(Line(start="a", end="b", style="wire", colour=Colour(base="RD")))
    layout = replace(side_by_side(scene), bridges=((0, straight((150, 100), (170, 100))),))
    parent = element("svg")
    paint_scene(parent, scene, layout)
    (lines,) = (one for one in parent if one.get("class") == "lines")

    assert [one.get("class") for one in lines][-3:] == ["bridge", "wire-edge", "wire-core"]


def test_an_added_device_is_a_frame_whose_feet_its_lines_reach() -> None:
    scene = Scene()
    scene.put(Mark(id="d", symbol="battery", added=True))
    for pin in "+-":
        scene.put(Mark(id=pin, symbol="pin", added=True))
        scene.join(Line(start="d", end=pin, style="contact"))
    drawn = painted(scene)
    (frame,) = (one for one in drawn.iter(f"{SVG}rect") if one.get("class") == "feet")
    starts = [re.findall(r"-?[\d.]+", str(one.get("d")))[:2] for one in drawn.iter(f"{SVG}path")
              if one.get("class") == "touch"]  # fmt: skip

    assert {float(x) for x, _ in starts} == {float(frame.get("x", "")) + float(frame.get("width", ""))}
    assert len({y for _, y in starts}) == 2


def test_a_wire_that_is_gone_or_only_perhaps_meant_is_dashed() -> None:
    for style in ("gone", "perhaps"):
        assert [path.get("class") for path in line_painted(style, Colour(base="BU"))] == [
            f"wire-edge {style}",
            f"wire-core {style}",
        ]
    gone, perhaps = (rule(f".wire-edge.{one},.wire-core.{one}", "stroke-dasharray") for one in ("gone", "perhaps"))
    assert gone
    assert perhaps
    assert gone != perhaps


# -- added leads


def test_an_added_lead_is_hatched_and_at_least_twice_as_heavy_as_a_wire() -> None:
    paths = line_painted("lead", Colour(base="YE"))
    lead, wire = rule(".lead-edge", "stroke-width"), rule(".wire-edge", "stroke-width")

    assert layers(paths) == [("lead-edge", None), ("lead-core", screen_colours()["YE"]), ("lead-hatch", None)]
    assert lead is not None
    assert wire is not None
    assert lead >= 2 * wire


@pytest.mark.parametrize("base", ["BK", "BN", "BU", "VT"])
def test_the_hatch_of_a_dark_lead_is_light(base: str) -> None:
    paths = line_painted("lead", Colour(base=base))

    assert paths[-1].get("class") == "lead-hatch on-dark"
    assert ".lead-hatch.on-dark{stroke:#fff}" in STYLE


def test_an_added_lead_of_two_colours_has_ticks_too() -> None:
    paths = line_painted("lead", Colour(base="RD", tracer="WH"))

    assert layers(paths)[-2:] == [("lead-tick-edge", None), ("lead-tick", screen_colours()["WH"])]


def test_no_style_of_line_is_painted_like_another() -> None:
    styles = ("wire", "lead", "folded", "gone", "contact")
    painted_as = [str(layers(line_painted(style, Colour(base="RD")))) for style in styles]

    assert len(set(painted_as)) == len(styles)


def test_a_lead_leaves_the_ring_of_a_joint_below_the_wire() -> None:
    scene = Scene()
    scene.put(Mark(id="a", symbol="terminal"))
    scene.put(Mark(id="j", symbol="joint_blade"))
    scene.put(Mark(id="b", symbol="terminal"))
    scene.join(Line(start="a", end="j", style="wire", colour=Colour(base="BU")))
    scene.join(Line(start="j", end="b", style="wire", colour=Colour(base="BU")))
    scene.join(Line(start="j", end="b", style="lead", colour=Colour(base="RD")))
    (lines,) = (one for one in painted(scene) if one.get("class") == "lines")
    paths = {path.get("class"): str(path.get("d")) for path in lines}
    start = {name: float(re.findall(r"-?[\d.]+", d)[1]) for name, d in paths.items()}

    assert start["lead-edge"] > start["wire-edge"]


def test_a_line_reaches_the_symbols_at_both_of_its_ends() -> None:
    (edge, *_) = line_painted("wire")
    numbers = [float(text) for text in re.findall(r"-?[\d.]+", str(edge.get("d")))]

    # Terminals at 100 and 300 px, a circle of 9 px each.
    assert 100 < numbers[0] < 105
    assert 295 < numbers[-2] < 300


def test_the_label_of_a_line_lies_on_a_plate_and_its_name_is_bold() -> None:
    scene = Scene()
    scene.put(Mark(id="a", symbol="terminal"))
    scene.put(Mark(id="b", symbol="terminal"))
    scene.join(Line(start="a", end="b", style="wire", label=("W11", "GY/RD 0.75 mm²")))
    (labels,) = (one for one in painted(scene) if one.get("class") == "labels")

    assert [(one.tag.removeprefix(SVG), one.text, one.get("font-weight")) for one in labels] == [
        ("rect", None, None),
        ("text", "W11", "bold"),
        ("text", "GY/RD 0.75 mm²", None),
    ]


def test_lines_are_painted_before_marks() -> None:
    scene = Scene()
    scene.put(Mark(id="a", symbol="terminal"))

    assert [one.get("class") for one in painted(scene)] == ["lines", "labels", "marks"]


# -- flags


@pytest.mark.parametrize("level", LEVELS)
def test_a_flag_has_its_number_and_its_level_in_words(level: str) -> None:
    parent = element("g")
    paint_flag(parent, Flag(text="12b", level=level, outcome=level), 0.0, 0.0)

    assert flags_in(parent) == [f"12b  {level.upper()}"]


def test_every_outcome_has_a_fill_of_its_own_and_what_is_no_hazard_is_white() -> None:
    levels = [LEVEL_FILL[level][0] for level in LEVELS]

    assert set(LEVEL_FILL) == {*LEVELS, ACCEPTABLE, "not rated"}
    assert len(set(levels)) == len(LEVELS)
    assert LEVEL_FILL[ACCEPTABLE][0] == "#ffffff"


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2, definition of relative luminance; from memory)."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("outcome", sorted(LEVEL_FILL))
def test_text_of_a_flag_stands_out(outcome: str) -> None:
    """At least 4.5 to 1 (WCAG 2.2, success criterion 1.4.3; from memory)."""
    fill, dark = LEVEL_FILL[outcome]
    light, low = sorted((luminance(fill), luminance("#ffffff" if dark else "#1c1c1c")), reverse=True)

    assert (light + 0.05) / (low + 0.05) >= 4.5


def test_flags_of_a_mark_stand_one_above_the_other() -> None:
    scene = Scene()
    flags = tuple(Flag(text=str(place), level="High", outcome="High") for place in (1, 2, 3))
    scene.put(Mark(id="j", symbol="joint_blade", flags=flags))
    boxes = [one for one in painted(scene).iter(f"{SVG}rect") if one.get("class") == "flag"]
    tops = [float(one.get("y", "")) for one in boxes]
    heights = [float(one.get("height", "")) for one in boxes]

    assert flags_in(painted(scene)) == ["1  HIGH", "2  HIGH", "3  HIGH"]
    assert all(top + height <= following for top, height, following in zip(tops, heights, tops[1:], strict=False))


# -- marks


def test_a_mark_shows_symbol_and_label_and_what_is_gone_is_dashed() -> None:
    scene = Scene()
    scene.put(Mark(id="E1", symbol="lamp", label=("E1", "tail lamp left"), gone=True))
    group = next(one for one in painted(scene).iter(f"{SVG}g") if one.get("class") == "mark")

    assert [str(one.text) for one in group.iter(f"{SVG}text")] == ["E1", "tail lamp left"]
    assert "gone" in classes(group)
    assert ".gone *{stroke-dasharray" in STYLE


def test_a_scene_keeps_the_flags_of_a_mark_that_is_put_in_twice() -> None:
    one, other = (Flag(text=text, level="Low", outcome="Low") for text in "12")
    scene = Scene()
    scene.put(Mark(id="S1", symbol="terminal", flags=(one,)))
    scene.put(Mark(id="S1", symbol="switch", label=("S1",), flags=(one, other)))

    assert (scene.marks["S1"].symbol, scene.marks["S1"].flags) == ("switch", (one, other))


def test_a_scene_takes_a_line_once_and_none_from_a_mark_to_itself() -> None:
    scene = Scene()
    scene.put(Mark(id="a", symbol="terminal"))
    scene.put(Mark(id="b", symbol="terminal"))
    for end in ("b", "b", "a"):
        scene.join(Line(start="a", end=end, style="wire"))

    assert len(scene.lines) == 1


# -- numbers and paths


@pytest.mark.parametrize(
    ("value", "text"),
    [(1.0, "1"), (1.005, "1"), (0.126, "0.13"), (-0.5, "-0.5"), (794.0, "794"), (1096.5, "1096.5"), (-0.0001, "-0")],
)
def test_coordinates_have_two_decimals_at_most(value: float, text: str) -> None:
    assert number(value) == text


@pytest.mark.parametrize("value", [12345.67, 99999.99, 123456.7])
def test_large_coordinates_keep_their_value(value: float) -> None:
    assert float(number(value)) == pytest.approx(value, abs=0.5)


def test_a_path_is_a_start_and_three_points_for_every_piece() -> None:
    points = tuple((float(place), 0.0) for place in range(7))

    assert path_of(points) == "M0 0C1 0 2 0 3 0C4 0 5 0 6 0"


# -- text of a survey stays text

HOSTILE = [
    "<script>alert(1)</script>",
    "]]>",
    "</text><rect width='9'/>",
    "&amp; &lt; &#x41; &evil;",
    "\"quoted\" 'and' `so on`",
    "<!-- --> <?xml?> <![CDATA[ x ]]>",
    "bell \x07 escape \x1b[31m null \x00 return \r line\nend\ttab",
    "right to left \u202e evil \u200f mark \u2066 isolate \u2069",
    "no character \ufffe \uffff and private \ue000",
    "e\u0301 combining, \U0001f697 vehicle, 線 wire",
    "${x} {y} %s \\N \\n",
    "url(https://evil.example/x) @import javascript:alert(1)",
]
PLAIN = "plain words"


def with_text(text: str) -> tuple[Json, Json, list[Json]]:
    """A reference, and members and lines of a survey, with `text` wherever a person may write words."""
    data = copy.deepcopy(bench_data())
    data["title"] = f"bench {text}"
    for zone in data["zones"]:
        zone["name"] += f" {text}"
    for circuit in data["circuits"]:
        circuit["name"] += f" {text}"
    for device in data["devices"]:
        device["name"] = f"{device['kind']} {text}"
    members: Json = {
        "title": f"survey {text}",
        "vehicle": {"make": f"M {text}", "model": f"K {text}", "registration": f"R {text}", "vin": f"V {text}"[:40]},
        "visits": [{"id": "V1", "when": "2026-03-14", "who": [f"who {text}"]}],
        "scope": {
            "looked_at": [{"zone": "Z_TAIL", "how": "opened"}],
            "not_opened": [{"zone": "Z_ROOF", "because": f"because {text}"}],
        },
        "complaint": [{"symptom": "other", "note": f"complaint {text}"}],
        "history": [{"told_by": f"owner {text}", "text": f"told {text}"}],
    }
    lines: list[Json] = [
        {
            "kind": "tap", "id": "t1", "zone": "Z_TAIL", "on": {"wire": "W12"}, "note": f"note {text}",
            "joint": {"type": "twisted", "cover": "tape"}, "kit": f"kit {text}",
            "to": {"device": {"label": f"box {text}", "name": f"name {text}"}, "pin": "+"},
        },
        {
            "kind": "tap", "id": "t2", "zone": "Z_TAIL", "on": {"wire": "W13"}, "kit": f"kit {text}",
            "to": {"not_traced": True, "towards": f"towards {text}"},
        },
        {"kind": "other", "id": "o1", "zone": "Z_DASH", "note": f"other {text}"},
        {"kind": "damage", "id": "g1", "on": [{"wire": "W32"}], "damage": "other", "note": f"damage {text}"},
    ]  # fmt: skip
    return data, members, lines


def case_with(text: str) -> Case:
    data, members, lines = with_text(text)
    reference: Reference = reference_from(data)
    return case_from(reference, *lines, **members)


def structure(read: Read) -> dict[str, Any]:
    """Every sort of element and attribute of a sheet that text could have brought in."""
    tags = {str(one.tag) for one in read.root.iter()}
    names = {name for one in read.root.iter(etree.Element) for name in one.attrib}
    return {
        "tags": tags,
        "attributes": names,
        "comments": [*read.root.iter(etree.Comment, etree.ProcessingInstruction)],
    }


@cache
def plain_structure() -> list[dict[str, Any]]:
    return [structure(Read.of(sheet)) for sheet in case_with(PLAIN).sheets]


@pytest.mark.parametrize("text", HOSTILE)
def test_text_of_files_never_breaks_a_sheet_nor_adds_an_element(text: str) -> None:
    expected = plain_structure()

    actual = [structure(Read.of(sheet)) for sheet in case_with(text).sheets]

    assert actual == expected


@pytest.mark.parametrize("text", HOSTILE)
def test_text_of_files_holds_nothing_that_does_not_show(text: str) -> None:
    """Control characters and marks that turn the direction of writing change what a person reads."""
    for sheet in case_with(text).sheets:
        written = Read.of(sheet).texts()

        assert [line for line in written if not line.isprintable()] == []


def test_text_of_files_is_shown_as_it_is() -> None:
    written = " ".join(line for sheet in case_with("<b>&amp;").sheets for line in Read.of(sheet).texts())

    for place in ("survey <b>&amp;", "name <b>&amp;", "who <b>&amp;", "M <b>&amp;", "because <b>&amp;"):
        assert place in written
