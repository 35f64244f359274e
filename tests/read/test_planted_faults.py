"""One fault in a shipped survey, and the one line that must be told of it; many faults, and all of them in order."""

from __future__ import annotations

import re
import shutil
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.cli.main import main
from harnessdiff.errors import InputError
from harnessdiff.read.json_text import parse_document
from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import survey_of
from harnessdiff.resources import shipped_cases, shipped_references

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

VAN, CAR = "light_van", "hatchback"
FILES = {VAN: shipped_cases()["light_van_inspector"], CAR: shipped_cases()["hatchback_technician"]}
TEXTS = {name: path.read_text(encoding="utf-8") for name, path in FILES.items()}
PLACE = "§"


class Plant(NamedTuple):
    """A change of a survey's text, and what must be told of it.

    `new` holds the mark of the place where the value at fault begins; of `message` a list of allowed
    words is left out, and one that ends in … is told by its beginning.
    """

    survey: str
    old: str
    new: str
    pointer: str
    message: str

    def text(self, into: str | None = None) -> str:
        """The survey's text with the fault in it, and no mark."""
        text = TEXTS[self.survey] if into is None else into
        assert text.count(self.old) == 1
        return text.replace(self.old, self.new.replace(PLACE, ""))

    def place(self) -> str:
        """Line and column of the value at fault, counted in the text."""
        before = TEXTS[self.survey].replace(self.old, self.new).split(PLACE)[0]
        return f"{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"

    def told(self) -> str:
        """What must be told, but for the name of the file."""
        return f"{self.place()}: {self.pointer}: {self.message}"


def plants(survey: str, *rows: tuple[str, str, str, str]) -> list[Plant]:
    """Rows of: what stands there, what is written instead, pointer, message."""
    return [Plant(survey, *row) for row in rows]


O = "/observations/"  # noqa: E741 - a short name for what every other line begins with
WORDS = "is none of the words allowed here ()"
LAST = '{"kind": "as_reference", '
OUTSIDE = "should be a path below the case folder with forward slashes, such as photos/tap.jpg, not"

# fmt: off
VAN_PLANTS = plants(
    VAN,
    # names of the reference
    ('{"wire": "W325", "at"', '{"wire": §"W3255", "at"',
     f"{O}42/members/0/wire", 'the reference has no wire W3255; did you mean "W325"?'),
    ('{"wire": "W392", "at"', '{"wire": §"w392", "at"',
     f"{O}43/members/0/wire", 'the reference has no wire w392; did you mean "W392"?'),
    ('"terminal": "GND7:1"', '"terminal": §"GND7:2"',
     f"{O}23/end_2/terminal", 'the reference has no terminal GND7:2; did you mean "GND7:1"?'),
    ('"J20", "zone": "Z_REAR_R"', '"J20", "zone": §"Z_REAR_RIGHT"',
     f"{O}58/zone", 'the reference has no zone Z_REAR_RIGHT; did you mean "Z_REAR_R"?'),
    ('"L30", "zone": "Z_SEAT_L"', '"L30", "zone": §"z_seat_l"',
     f"{O}30/zone", 'the reference has no zone z_seat_l; did you mean "Z_SEAT_L"?'),
    ('"connector": "X_E10"', '"connector": §"X_E100"',
     f"{O}60/on/wire/connector", 'the reference has no plug or connector X_E100; did you mean "X_E10"?'),
    ('"near": "X_U9A"', '"near": §"XU9A"',
     f"{O}22/on/at/near", 'the reference has no plug, device or zone XU9A; did you mean "X_U9A"?'),
    ('"element": "F26", "fitted"', '"element": §"F266", "fitted"',
     f"{O}4/element", 'the reference has no element F266; did you mean "F26"?'),
    ('"element": "E17", "text"', '"element": §"E177", "text"',
     "/pre_existing_faults/0/element", 'the reference has no element E177; did you mean "E17"?'),
    ('"condition": "reverse_stopped", "loaded"', '"condition": §"reverse_stoped", "loaded"',
     "/readings/3/condition", 'the reference has no condition reverse_stoped; did you mean "reverse_stopped"?'),
    ('"S7": "reverse"}', '"S7": §"revers"}',
     "/conditions/1/positions/S7", 'there is no position of S7 revers; did you mean "reverse"?'),
    ('"S7": "reverse"}', '"S77": §"reverse"}',
     "/conditions/1/positions/S77", 'there is no device S77; did you mean "S7"?'),
    ('{"id": "tow_preparation",', '{"id": §"tow_preperation",',
     "/options/0/id", 'the reference has no option tow_preperation; did you mean "tow_preparation"?'),
    ('"of": ["D6", "L13"]', '"of": ["D6", §"L133"]',
     "/readings/2/of/1", 'the reference has no element, and the survey no observation, L133; did you mean "L13"?'),
    ('"reference": {"id": "light_van"}', '"reference": {"id": §"light_vam"}',
     "/reference/id", "the survey was made against light_vam, and this reference is light_van"),
    ('"reference": {"id": "light_van"}', f'"reference": {{"id": "light_van", "sha256": §"{"0" * 64}"}}',
     "/reference/sha256", "the survey was made against another version of light_van"),
    # names of the survey's own
    ('{"lead": "C1.7", "end": 1}', '{"lead": §"C1.8", "end": 1}',
     f"{O}45/members/1/lead", 'the survey has no lead C1.8; did you mean "C1.7"?'),
    ('"end_1": {"joined": "J20"}', '"end_1": {"joined": §"J200"}',
     f"{O}59/end_1/joined", 'the survey has no joint J200; did you mean "J20"?'),
    ('[{"cut": "C2", "side": 1}', '[{"cut": §"C22", "side": 1}',
     f"{O}58/members/0/cut", 'the survey has no cut C22; did you mean "C2"?'),
    ('[{"cut": "C2", "side": 1}', '[§{"cut": "C2"}',
     f"{O}58/members/0", "should say which side of the cut: 1 looks to end 1, 2 to end 2"),
    ('"supersedes": ["T7"]', '"supersedes": [§"T77"]',
     f"{O}62/supersedes/0", 'the survey has no observation T77; did you mean "T7"?'),
    ('"L11", "zone": "Z_SILL_L", "visit": "V2"', '"L11", "zone": "Z_SILL_L", "visit": §"V3"',
     f"{O}33/visit", 'the survey has no visit V3; did you mean "V2"?'),
    ('"photographs": ["P4"]', '"photographs": [§"p4"]',
     f"{O}21/photographs/0", 'the survey has no photograph p4; did you mean "P4"?'),
    ('"readings": ["R6"]', '"readings": [§"R66"]',
     f"{O}21/readings/0", 'the survey has no reading R66; did you mean "R6"?'),
    ('"damage", "id": "G1"', '"damage", "id": §"U1"', f"{O}5/id", "the id U1 is used already, at /observations/4"),
    ('"damage", "id": "G1"', '"damage", "id": §"G:1"', f"{O}5/id", "the id G:1 may not hold …"),
    # members and words
    ('"J20", "zone"', '"J20", "membrs": §[], "zone"',
     f"{O}58/membrs", 'no member "membrs" is known here; did you mean "members"?'),
    ('"purpose": "pre_sale"', '"purpos": §"x", "purpose": "pre_sale"',
     "/purpos", 'no member "purpos" is known here; did you mean "purpose"?'),
    ('"butt_crimp", "tool": "pliers"', '§"but_crimp", "tool": "pliers"',
     f"{O}58/type", f'"but_crimp" {WORDS}; did you mean "butt_crimp"?'),
    ('"kind": "surroundings"', '"kind": §"surounding"',
     f"{O}39/kind", f'"surounding" {WORDS}; did you mean "surroundings"?'),
    ('{"dismantling": "trim"', '{"dismantling": §"trimm"',
     "/scope/dismantling", f'"trimm" {WORDS}; did you mean "trim"?'),
    ('"known_by": "measured"}, "inline"', '"known_by": §"measurd"}, "inline"',
     f"{O}1/length_m/known_by", f'"measurd" {WORDS}; did you mean "measured"?'),
    # quantities and colours
    ('{"exact": 2.6, ', '{"exact": 2.6, "unit": §"mm2", ',
     f"{O}1/length_m/unit", "mm2 is no unit for length_m; use one of: mm, cm, m, in, ft"),
    ('{"exact": 16, "known_by": "seen"}', '{"exact": 16, "unit": §"m"}',
     f"{O}1/size_mm2/unit", "m is no unit for size_mm2; use one of: mm2, AWG"),
    ('{"exact": 2.6, ', '{"exact": 2.6, "unit": §"Ft", ', f"{O}1/length_m/unit", f'"Ft" {WORDS}; did you mean "ft"?'),
    ('{"min": 10, "max": 16', '§{"min": 16, "max": 10', f"{O}33/size_mm2", "least value 16 is above greatest value 10"),
    ('"removed_m": 0.15', '"removed_m": §-0.15', f"{O}27/removed_m", "removed_m is never negative, and is -0.15"),
    ('"distance_m": 0.25}, "removed_m"', '"distance_m": §"0,25"}, "removed_m"',
     f"{O}57/at/distance_m", 'should be a number, and is "0,25"; write 0.25 without quotes'),
    ('"rings_on_stud": 3,', '"rings_on_stud": §"3",',
     f"{O}49/rings_on_stud", 'should be a whole number, and is "3"; write 3 without quotes'),
    ('"WH"}, "size_mm2": 2.5', '§"WT"}, "size_mm2": 2.5',
     f"{O}41/cores/2/colour/base", 'WT is no colour; did you mean "WH"?'),
    ('"tracer": "unknown"', '"tracer": §"purpel"',
     f"{O}60/on/wire/colour/tracer", 'purpel is no colour; did you mean "purple"?'),
    # times
    ('"V2", "when": "2026-03-21"', '"V2", "when": §"2026-03-13"',
     "/visits/1/when", "V2 is before V1 (2026-03-14); visits stand in order of time"),
    ('"V1", "when": "2026-03-14"', '"V1", "when": §"14.3.2026"',
     "/visits/0/when", "14.3.2026 is no date; write it as 2026-03-14, or 2026-03 where no more is known"),
    ('"kind": "cut", "id"', '"kind": "cut", "when": §"2026-03-13", "id"',
     f"{O}57/when", "2026-03-13 is before visit V1 (2026-03-14)"),
    ('"id": "R9", ', '"id": "R9", "when": §"2026-03-20", ',
     "/readings/9/when", "2026-03-20 is before visit V2 (2026-03-21)"),
    # photographs
    ('"photos/black-box.png"', '§"../black-box.png"', "/photographs/3/path", f"{OUTSIDE} ../black-box.png"),
    ('"photos/black-box.png"', '§"/photos/black-box.png"', "/photographs/3/path", f"{OUTSIDE} /photos/black-box.png"),
    ('"photos/black-box.png"', '§"photos\\\\black-box.png"', "/photographs/3/path", f"{OUTSIDE} photos\\black-box.png"),
    ('"sha256": "73a46988', '"sha256": §"x3a46988', "/photographs/3/sha256", "a SHA-256 has 64 hexadecimal digits"),
)
CAR_PLANTS = plants(
    CAR,
    ('"element": "RAD1"', '"element": §"RAD2"',
     f"{O}6/element", 'the reference has no element RAD2; did you mean "RAD1"?'),
    ('{"wire": "W15"', '{"wire": §"W15O"', f"{O}3/in/wire", 'the reference has no wire W15O; did you mean "W15"?'),
    ('{"terminal": "BAT1:+"}, "joint"', '{"terminal": §"BAT1+"}, "joint"',
     f"{O}8/on/terminal", 'the reference has no terminal BAT1+; did you mean "BAT1:+"?'),
    ('"T7.device", "pin": "-"', '§"T77.device", "pin": "-"',
     f"{O}9/end_1/device", 'the survey has no device T77.device; did you mean "T7.device"?'),
    ('"I4.device", "pin": "86"', '§"I4.devise", "pin": "86"',
     f"{O}5/end_1/device", 'the survey has no device I4.devise; did you mean "I4.device"?'),
    ('"live_in": ["asleep"]', '"live_in": [§"asleap"]',
     f"{O}11/to/loose/live_in/0", 'the reference has no condition asleap; did you mean "asleep"?'),
    ('"condition": "cranking"', '"condition": §"crank"',
     "/complaint/1/condition", 'the reference has no condition crank; did you mean "cranking"?'),
    ('"fuse_out", "element": "F14"', '"fuse_out", "element": §"F144"',
     "/readings/1/manipulations/0/element", 'the reference has no element F144; did you mean "F14"?'),
    ('"seen"}, "zone": "Z_FUSEBOX"', '"seen"}, "zone": §"Z_FUSE_BOX"',
     f"{O}11/on/wire/zone", 'the reference has no zone Z_FUSE_BOX; did you mean "Z_FUSEBOX"?'),
    ('"Z_SILL_L", "because"', '§"Z_SILLL", "because"',
     "/scope/not_opened/4/zone", 'the reference has no zone Z_SILLL; did you mean "Z_SILL_L"?'),
    ('["F14", "F17", "FL1"]', '["F14", §"F177", "FL1"]',
     f"{O}13/elements/1", 'the reference has no element F177; did you mean "F17"?'),
    ('"zone": "Z_KICK_L"}]', '"zone": §"Z_KICKL"}]',
     f"{O}8/lead/route/1/zone", 'the reference has no zone Z_KICKL; did you mean "Z_KICK_L"?'),
    (LAST, f'{{"kind": "jumper", "id": "K1", "socket": "K3", "between": ["30", §"88"]}},\n    {LAST}',
     f"{O}13/between/1", 'K3 has no way 88; did you mean "87"?'),
    (LAST, f'{{"kind": "jumper", "id": "K1", "socket": §"RAD1", "between": ["30", "87"]}},\n    {LAST}',
     f"{O}13/socket", "the reference has no slot or socket RAD1…"),
    ('{"id": "R2", "between"', '{"id": §"R1", "between"',
     "/readings/1/id", "the id R1 is used already, at /readings/0"),
    ('"VT"', '§"VI"', f"{O}11/on/wire/colour/base", 'VI is no colour; did you mean "VT"?'),
    ('"min": 1.1, "max": 1.2', '"min": 1.1, "max": 1.2, "unit": §"V"',
     "/readings/0/current_A/unit", "V is no unit for current_A; use one of: A, mA"),
    ('"rating_A": 40', '"rating_A": §"40A"',
     f"{O}8/lead/inline/0/rating_A", 'should be a number, and is "40A"; write {"exact": 40, "unit": "A"}'),
    ('"treatment": "taped"', '"treatment": §"tape"',
     f"{O}11/to/loose/treatment", f'"tape" {WORDS}; did you mean "taped"?'),
    ('"what": "bulkhead"', '"what": §"bulk_head"',
     f"{O}8/lead/route/0/what", f'"bulk_head" {WORDS}; did you mean "bulkhead"?'),
    ('"conducts_towards_end": 1', '"conducts_towards_end": §3',
     f"{O}2/lead/inline/0/conducts_towards_end", f"3 {WORDS}"),
    ('"fixing": "belt_anchorage"', '"fixing": §"belt_anchor"',
     f"{O}9/end_2/joint/fixing", f'"belt_anchor" {WORDS}; did you mean "belt_anchorage"?'),
    ('"function": "immobiliser"', '"function": §"imobiliser"',
     f"{O}3/device/function", f'"imobiliser" {WORDS}; did you mean "immobiliser"?'),
    ('"when": "2026-02-03"', '"when": §"2026-02-30"',
     "/visits/0/when", "2026-02-30 is no date; write it as 2026-03-14, or 2026-03 where no more is known"),
    ('"rings_on_stud": 2,', '"rings_on_stud": §0,', f"{O}8/joint/rings_on_stud", "should be at least 1, and is 0"),
    ('"pins": ["30", "87a"]', '"pins": §["30", "87a", "87"]', f"{O}3/pins", "should have at most 2 entries, and has 3"),
    ('{"type": "solder"', '{"typ": §"solder"',
     f"{O}2/joint/typ", 'no member "typ" is known here; did you mean "type"?'),
    ('"observations": [', '"observation": §[],\n  "observations": [',
     "/observation", 'no member "observation" is known here; did you mean "observations"?'),
    ('"version": "1.0"', '"version": §"2.0"',
     "/version", "this program reads version 1, and the document is of version 2.0"),
)
# fmt: on
PLANTS = [*VAN_PLANTS, *CAR_PLANTS]


@cache
def reference(name: str) -> Reference:
    return read_reference(shipped_references()[name])


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[str]]:
    """Lines that ``check --reference`` prints of every planted file, by the file's name; it runs once a reference."""
    folder = tmp_path_factory.mktemp("planted")
    shutil.copytree(FILES[VAN].parent / "photos", folder / "photos")
    found: dict[str, list[str]] = {}
    for name in FILES:
        mine = {f"{name}{number}.json": one for number, one in enumerate(PLANTS) if one.survey == name}
        for file, plant in mine.items():
            (folder / file).write_text(plant.text(), encoding="utf-8")
        result = CliRunner().invoke(main, ["check", "--reference", name, *(str(folder / file) for file in mine)])
        assert (result.exit_code, result.stdout) == (2, "")
        for line in result.stderr.splitlines():
            file, _, rest = line.removeprefix(f"{folder}/").partition(":")
            found.setdefault(file, []).append(shortened(rest))
    return found


def shortened(line: str) -> str:
    """A line without its list of allowed words, which the schema test holds."""
    return re.sub(r"words allowed here \(.*?\)", "words allowed here ()", line)


@pytest.mark.parametrize("number", range(len(PLANTS)))
def test_one_fault_is_told_once_at_its_place_and_nothing_else(told: dict[str, list[str]], number: int) -> None:
    plant = PLANTS[number]
    (line,) = told[f"{plant.survey}{number}.json"]
    expected, cut, _ = plant.told().partition("…")

    assert (line[: len(expected)] if cut else line) == expected


@pytest.mark.parametrize("name", FILES)
def test_the_surveys_to_plant_faults_in_have_none(name: str) -> None:
    result = CliRunner().invoke(main, ["check", "--strict", "--reference", name, str(FILES[name])])

    assert (result.exit_code, result.stderr) == (0, "")


# -- many at once


def problems(name: str, text: str) -> list[str]:
    """What is told of a survey's text, without the name of the file."""
    try:
        survey_of(parse_document(text.encode(), "case"), reference(name))
    except InputError as error:
        return [shortened(str(problem).removeprefix("case:")) for problem in error.problems]
    return []


TOGETHER = {
    name: [
        plant
        for plant in PLANTS
        if plant.survey == name
        and plant.old != '"version": "1.0"'
        and "\n" not in plant.new
        and "…" not in plant.message
    ]
    for name in FILES
}
"""Faults that may stand side by side: none moves the lines of others, and each is told whatever else is wrong."""
# These make what others speak of disappear, or are two changes of one place.
APART = ("/observations/4/element", "/observations/5/id", "/observations/58/members/0", "/observations/57", "/visits/")
SPEAKING = [plant for plants_ in TOGETHER.values() for plant in plants_ if not plant.pointer.startswith(APART)]


@st.composite
def some_plants(draw: st.DrawFn) -> list[Plant]:
    """Several faults of one survey, no two of them in one line."""
    name = draw(st.sampled_from(sorted(FILES)))
    mine = [plant for plant in SPEAKING if plant.survey == name]
    chosen = draw(
        st.lists(st.sampled_from(mine), min_size=2, max_size=8, unique_by=lambda one: one.place().split(":")[0])
    )
    return list(chosen)


@given(some_plants())
@settings(max_examples=60)
def test_faults_in_different_lines_are_all_told_in_the_order_of_the_file_and_nothing_else(chosen: list[Plant]) -> None:
    name = chosen[0].survey
    text = TEXTS[name]
    for plant in chosen:
        text = plant.text(text)
    in_order = sorted(chosen, key=lambda plant: int(plant.place().split(":")[0]))

    assert problems(name, text) == [plant.told() for plant in in_order]
