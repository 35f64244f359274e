"""Every consequence has words that a person at the vehicle understands: no code, and numbers that a meter shows."""

from __future__ import annotations

import ast
import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff import consequence_words as spoken
from harnessdiff.analyse.readings import Compared
from harnessdiff.consequence_words import amount, consequence_words, fuse_name, named
from harnessdiff.describer import Describer
from harnessdiff.model.consequence import CODES, Consequence
from harnessdiff.model.modification import Value
from harnessdiff.model.range import Range
from tests.analyse.rigs import added, ground, load, of, seen, tap, two_lamps
from tests.catalogue.test_catalogue import assessed
from tests.drawing import CATALOGUE, solved_demo_case
from tests.spoken import first_of, keyword_of, nodes, texts
from tests.support import bench_data, reference_from

BENCH = reference_from(bench_data())
DESCRIBER = Describer(BENCH, BENCH.harness)
CODE = re.compile(r"\b[a-z]+_[a-z_]+\b")


def say(code: str, subject: str = "E1", **more: object) -> str:
    params = more.pop("params", {})
    assert isinstance(params, dict)
    given_: tuple[tuple[str, Value], ...] = tuple(sorted(params.items()))
    return consequence_words(Consequence(code=code, subject=subject, params=given_, **more), DESCRIBER)  # type: ignore[arg-type]


def span(low: float, high: float | None = None) -> Range:
    top = low if high is None else high
    return Range(low=low, nominal=low, high=top, guaranteed=False)


# -- every code


def test_every_code_has_words_and_no_others() -> None:
    assert set(spoken._WORDS) == set(CODES)


def test_every_code_that_is_made_is_one_of_them() -> None:
    made = keyword_of("analyse", "code", "Consequence") | first_of("analyse/behaviour", "_found")

    assert made - set(CODES) == set()
    assert {"drop", "protection", "reading", "draws"} <= made


def test_every_reason_that_words_are_kept_for_is_one_that_readings_give() -> None:
    """By the table beside the class that holds them."""
    known = set(re.findall(r"^    (\w+(?:, \w+)*)  ", Compared.__doc__ or "", re.MULTILINE))
    known = {one for some in known for one in some.split(", ")}

    assert set(spoken.READING_WHY) <= known


def test_every_thing_that_would_decide_has_words_and_no_others() -> None:
    (finder,) = (one for one in nodes("analyse/protection") if getattr(one, "name", "") == "_would_decide")
    made = {
        text for one in ast.walk(finder) if isinstance(one, ast.Dict) for key in one.keys if key for text in texts(key)
    }

    assert made == set(spoken.WHY_UNDECIDED)


@pytest.mark.parametrize("kind", CATALOGUE)
def test_words_of_the_catalogue_hold_no_code_and_nothing_unsaid(kind: str) -> None:
    case = assessed(kind, "survey")
    describer = Describer(case.reference, case.as_found)
    every = [one for finding in case.findings.findings for one in finding.consequences]

    for one in (*every, *case.findings.of_the_whole):
        said = consequence_words(one, describer)
        assert CODE.findall(said) == [], said
        assert "None" not in said
        assert re.search(r"(?<![\w:(])\+\w", said) is None, said
        assert said == said.strip()


def test_words_of_the_demo_hold_no_code() -> None:
    case = solved_demo_case()
    describer = Describer(case.reference, case.as_found)
    said = [consequence_words(one, describer) for finding in case.findings.findings for one in finding.consequences]

    assert [one for one in said if CODE.search(one)] == []


# -- amounts


@pytest.mark.parametrize(
    ("range_", "unit", "said"),
    [
        (span(0.0004), "A", "0 A"),
        (span(0.0004), "V", "0 V"),
        (span(-0.0004), "V", "0 V"),
        (span(0.0), "A", "0 A"),
        (span(0.0287, 0.0723), "A", "29 to 72 mA"),
        (span(0.0004, 0.0023), "A", "0 to 2.3 mA"),
        (span(0.0995, 0.2), "A", "0.1 to 0.2 A"),
        (span(0.2, 0.2004), "A", "0.2 A"),
        (span(9.996, 12.55), "V", "10 to 12.6 V"),
        (span(99.96, 1234.5), "A", "100 to 1234 A"),
        (span(2.0, math.inf), "ohm", "2 to ∞ Ω"),
        (span(60.03), "ohm", "60 Ω"),
        (span(0.041), "ohm", "0.041 Ω"),
        (span(0.1, 0.85), "1", "0.1 to 0.85 of its rated voltage"),
        (None, "V", "?"),
    ],
)
def test_amount_is_written_as_a_meter_shows_it(range_: Range | None, unit: str, said: str) -> None:
    assert amount(range_, unit) == said


@given(st.floats(-1e4, 1e4), st.floats(0, 1e4))
def test_amount_is_within_a_hundredth_of_what_it_is(low: float, width: float) -> None:
    said = amount(span(low, low + width), "V")
    numbers = [float(one) for one in said.removesuffix(" V").split(" to ")]

    for number, bound in zip((numbers[0], numbers[-1]), (low, low + width), strict=True):
        assert number == pytest.approx(bound, rel=0.011, abs=0.00051)
    assert "e" not in said
    assert "-0 " not in said


@given(st.lists(st.text("abc", min_size=1), max_size=8))
def test_of_many_names_the_first_are_named_and_the_others_counted(names: list[str]) -> None:
    said = named(names)

    assert said.count(", ") <= 2
    assert (f" and {len(names) - 3} more" in said) == (len(names) > 3)


# -- fuses


@pytest.mark.parametrize(
    ("element", "said"),
    [("F1", "fuse F1"), ("F1_FUSE", "fuse F1"), ("+l1", "the fuse in l1"), ("E1", "lamp (E1)")],
)
def test_fuse_is_named_by_its_slot(element: str, said: str) -> None:
    assert fuse_name(element, DESCRIBER) == said


@pytest.mark.parametrize(
    ("legend", "said"),
    [
        ("brake lamps", "fuse F1 (brake lamps)"),
        ("fuse A1-A2: horns", "fuse F1 (A1-A2: horns)"),
        ("fusible link, ignition", "fusible link, ignition (F1)"),
        ("pump (rear)", "fuse F1 (pump (rear))"),
    ],
)
def test_fuse_is_named_with_its_legend(legend: str, said: str) -> None:
    data = bench_data()
    (slot,) = (one for one in data["devices"] if one["id"] == "F1")
    slot["name"] = legend
    reference = reference_from(data)

    assert fuse_name("F1_FUSE", Describer(reference, reference.harness)) == said


# -- single consequences


def test_terminal_is_named_only_where_a_device_has_several_parts_that_draw() -> None:
    assert say("dead", "E1", terminal="58", before=span(12.2), unit="V") == "lamp (E1) is dead, 12.2 V by the reference"


def test_drain_says_hours_where_days_are_few_and_nothing_twice() -> None:
    sound = say("drain", "BAT", before=span(0.0081, 0.0139), after=span(0.0082, 0.01391), unit="A",
                conditions=("asleep",), params={"sort": "battery", "days": 59.8, "days_before": 59.84})  # fmt: skip
    flat = say("drain", "BAT", before=span(0.02), after=span(1.15), unit="A", conditions=("asleep",),
               params={"sort": "battery", "days": 0.584, "days_before": 59.8})  # fmt: skip

    assert sound.removeprefix("battery (BAT) ") == (
        "gives 8.2 to 14 mA while all is asleep instead of 8.1 to 14 mA; too flat to start after about 60 days"
    )
    assert flat.removeprefix("battery (BAT) ") == (
        "gives 1.15 A while all is asleep instead of 20 mA; too flat to start after about 14 hours instead of 60 days"
    )


@pytest.mark.parametrize(("loads", "verb"), [(("E1",), "goes"), (("E1", "E2"), "go")])
def test_what_dies_with_a_fuse(loads: tuple[str, ...], verb: str) -> None:
    said = say("dies_with", "F1_FUSE", conditions=("asleep",), params={"added": ("R1",), "loads": loads})
    lamps = ", ".join(f"lamp ({one})" for one in loads)

    assert said == f"if radio (R1) opens fuse F1, {lamps} {verb} dead too"


@pytest.mark.parametrize(("state", "said"), [("intact", True), ("slug", False)])
def test_lead_whose_fuse_sits_too_far_along_is_bare_up_to_it(state: str, *, said: bool) -> None:
    own = {"kind": "fuse", "distance_m": 0.6, "rating_A": 3, "state": state}
    on_battery = tap("t1", {"terminal": "BAT:+"}, "d1", inline=[own])
    case = seen(two_lamps(), added("d1", load(1)), on_battery, ground("l2", "d1"))
    ((_, one),) = [each for each in of(case, "protection") if each[1].subject == "+t1.lead"]
    words = consequence_words(one, Describer(case.reference, case.as_found))

    assert words.startswith("nothing protects t1.lead ")
    assert ("before its own fuse" in words) == said


def test_overload_that_is_not_stood_is_said_before_the_open_question() -> None:
    said = say(
        "protection", "W11", after=span(20, 90), unit="A",
        params={"verdict": "undecided", "overload": "beyond_rating", "rating_A": 30.0, "fuse": "F1", "limit_A": 10.0,
                "table": "prudent vehicle table", "would_decide": ("fuse_curve", "insulation")},
    )  # fmt: skip

    assert said == (
        "30 A (F1) does not protect W11 GY/RD 0.75 mm² against overload: limit 10 A by the prudent vehicle table; "
        "whether it does against a short is open: the maker's curve of that fuse, its insulation would decide"
    )


@pytest.mark.parametrize("sort", ["past_fuses", "more_than_clamp", "through_fuses"])
def test_currents_past_the_fuses_name_the_reading(sort: str) -> None:
    said = say(
        "past_fuses", "M3", before=span(2.02), after=span(1.9, 2.1), unit="A", params={"sort": sort, "past": ("R1",)}
    )

    assert "2.02 A by reading M3" in said
    assert ("1.9 to 2.1 A" in said and "it may be radio (R1)" in said) == (sort == "past_fuses")


@pytest.mark.parametrize(
    ("params", "said"),
    [
        ({"agrees": "agrees"}, "reading M1: 12.1 V; from what was recorded 11.9 to 12.3 V is computed: they agree"),
        ({"agrees": "agrees", "clears": ("+j",)}, "reading M1: 12.1 V shows j to be sound"),
        (
            {"agrees": "says_little", "measured": ("+j",)},
            "reading M1: 12.1 V says what j may have, and is counted with",
        ),
        ({"agrees": "says_little", "why": "wide"}, "reading M1: 12.1 V says little: 11.9 to 12.3 V would be possible"),
        (
            {"agrees": "says_little", "why": "position_not_said", "of": ("S1",)},
            "reading M1: 12.1 V would agree with switch (S1) in its other position (11.9 to 12.3 V)",
        ),
        (
            {"agrees": "disagrees", "why": "polarity_reversed"},
            "reading M1: 12.1 V does not agree with what was recorded, which gives 11.9 to 12.3 V; "
            "it would with the probes the other way round",
        ),
    ],
)
def test_reading_says_what_it_is_good_for(params: dict[str, Value], said: str) -> None:
    assert say("reading", "M1", before=span(11.9, 12.3), after=span(12.1), unit="V", params=params) == said
    assert say("reading", "M1", before=span(11.9, 12.3), after=span(12.1), unit="V", params=params,
               conditions=("driving_day",)) == f"{said} (driving day)"  # fmt: skip
