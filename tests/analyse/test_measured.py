"""What was read beside what is predicted: who is concerned, what becomes a finding, what passes no fuse."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.measured import measured_ohm
from harnessdiff.analyse.readings import Compared
from harnessdiff.model.range import Range
from tests.analyse.measured import JOINT, LOOSE_REPAIR, REPAIR, amps, at, vehicle, volts
from tests.analyse.rigs import of
from tests.support import Json, case_from, kinds, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.consequence import Consequence
    from harnessdiff.pipeline import Case

SMALL = reference_from(vehicle())
DROP = volts("S1:2", "E1:58", 1.2, instrument="meter, 2 V range", loaded="yes")
"""Over the loose repair, with the lamp lit."""
BOX: tuple[Json, ...] = (
    {"kind": "device", "id": "D1", "sort": "other", "connected": "yes", "terminals": ["+", "-"],
     "contents": [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 2}]},
    *({"kind": "lead", "id": f"L{n}", "size_mm2": 1.5, "length_m": 1, "end_1": {"device": "D1", "pin": pin},
       "end_2": {"terminal": end}} for n, pin, end in ((1, "+", "BAT1:+"), (2, "-", "BODY:1"))),
)  # fmt: skip
"""An added box of 2 A that hangs on the battery's post without a fuse."""


def read(*readings: Json, observations: tuple[Json, ...] = (LOOSE_REPAIR,)) -> Case:
    numbered = [{"id": f"M{number}"} | one for number, one in enumerate(readings, 1)]
    return case_from(SMALL, *observations, readings=numbered, electrical=True)


def one_of(case: Case, code: str, subject: str) -> tuple[str, Consequence]:
    (found,) = ((kind, one) for kind, one in of(case, code) if one.subject == subject)
    return found


def lamp_V(case: Case) -> Range:
    """What the lamp may have behind the repair."""
    found = one_of(case, "drop", "E1")[1].after
    assert found is not None
    return found


# -- a joint that was measured

ANY = st.floats(0.001, 5)


@given(st.lists(st.tuples(ANY, ANY), min_size=1, max_size=5))
def test_narrowest_of_what_readings_give_counts(bounds: list[tuple[float, float]]) -> None:
    ranges = [Range(low=min(two), nominal=min(two), high=max(two), guaranteed=False) for two in bounds]
    compared = tuple(
        Compared(reading=f"M{number}", condition="lit", unit="V", predicted=None, read=None, agrees="agrees",
                 why="within", measured=((JOINT, ohm),))
        for number, ohm in enumerate(ranges)
    )  # fmt: skip

    assert measured_ohm(compared)[JOINT] == min(ranges, key=lambda one: one.high - one.low)
    assert set(measured_ohm(compared)) == {JOINT}


def test_reading_under_load_takes_the_place_of_what_a_joint_was_taken_for() -> None:
    """1.2 V at 4.4 A are 0.27 Ω for the joint and 3 m of wire; what is left of 12.18 V for the lamp is about 11.1 V."""
    taken, measured = lamp_V(read()), lamp_V(read(DROP, amps("W3", 4.4, instrument="clamp, 40 A range")))

    assert taken.low < 3  # 7.8 Ω before a lamp that has 1 Ω when it hardly glows
    assert measured.low > 10.5
    assert measured.nominal == pytest.approx(11.1, abs=0.15)
    assert measured.high < taken.high


@pytest.mark.parametrize(
    "reading",
    [DROP | {"condition": "asleep", "voltage_V": 0.0}, DROP | {"loaded": "no"}],
    ids=["nothing flows", "taken off"],
)
def test_reading_at_rest_takes_the_place_of_nothing(reading: Json) -> None:
    assert lamp_V(read(reading)) == lamp_V(read())


def test_reading_says_which_joint_it_measures_at_the_finding_of_that_joint() -> None:
    kind, one = one_of(read(DROP), "reading", "M1")

    assert kind == "repair"
    assert one.get("measured") == (JOINT,)
    assert (one.conditions, one.unit) == (("lit",), "V")


# -- who a reading concerns


def test_disagreement_that_nothing_recorded_concerns_is_a_finding() -> None:
    case = read(volts("R1:30", "R1:31", 9.0))
    (finding,) = (one for one in case.findings.findings if one.kind == "reading")

    assert finding.modification.root == "M1"
    assert {"F2", "W5", "W6"} <= set(finding.modification.elements)


def test_same_disagreement_where_something_recorded_is_on_the_way_is_none() -> None:
    case = read(volts("E1:58", "E1:31", 5.0), observations=(REPAIR,))

    assert kinds(case) == ["repair"]
    kind, one = one_of(case, "reading", "M1")
    assert (kind, one.get("agrees"), one.get("why")) == ("repair", "disagrees", "below")


def test_it_is_a_finding_where_nothing_was_recorded() -> None:
    assert kinds(read(volts("E1:58", "E1:31", 5.0), observations=())) == ["reading"]


def test_agreement_is_never_a_finding() -> None:
    assert kinds(read(volts("R1:30", "R1:31", 12.4), observations=())) == []


def test_reading_concerns_what_it_was_taken_at() -> None:
    """At the leads of the box, and round the wire of the repair."""
    case = read(
        amps("W3", 4.7), {"between": [{"lead": "L1"}], "current_A": 2.0, "condition": "lit"},
        observations=(REPAIR, *BOX),
    )  # fmt: skip

    assert one_of(case, "reading", "M1")[0] == "repair"
    assert {kind for kind, one in of(case, "reading") if one.subject == "M2"} == {"tap"}


def test_everything_hangs_on_the_battery_which_concerns_nobody() -> None:
    """The box is at its post, and has nothing to do with a radio that has 9 V against the other."""
    assert "reading" in kinds(read(volts("R1:30", "BAT1:-", 9.0), observations=BOX))


def test_reading_that_was_noted_with_an_observation_concerns_that() -> None:
    """Though it was taken at the radio, which the repair has nothing to do with."""
    case = read(volts("R1:30", "R1:31", 12.4), observations=(REPAIR | {"readings": ["M1"]},))

    assert one_of(case, "reading", "M1")[0] == "repair"


def test_reading_of_what_no_network_predicts_says_nothing() -> None:
    assert of(read({"between": at("F1:in"), "temperature_degC": 60, "condition": "lit"}), "reading") == []


# -- currents past the fuses


def over(fuse: str, millivolt: float) -> Json:
    return volts(f"{fuse}:in", f"{fuse}:out", millivolt / 1000, condition="asleep", instrument="meter, 200 mV range")


def survey_of_fuses(*observations: Json, clamp_A: float) -> tuple[list[str], Any]:
    """Kinds of the findings that what passes the fuses concerns, and the consequence."""
    case = read(over("F1", 0.0), over("F2", 0.4), amps("W0", clamp_A, condition="asleep"), observations=observations)
    found = of(case, "past_fuses")
    assert len({one.subject for _, one in found}) == 1
    return sorted(kind for kind, _ in found), found[0][1]


def test_what_the_clamp_shows_and_no_fuse_is_named() -> None:
    """0.4 mV on a 5 A fuse, 56 mA a millivolt, are 22 mA; of 2.02 A the rest passes no fuse: the box at the post."""
    concerned, one = survey_of_fuses(*BOX, clamp_A=2.02)

    assert concerned == ["added_ground", "tap"]
    assert (one.get("sort"), one.get("past")) == ("past_fuses", ("+D1",))
    assert one.after.nominal == pytest.approx(2.0, abs=0.06)
    assert one.before.nominal == pytest.approx(2.02)
    assert set(one.get("fuses")) == {"F1_FUSE", "F2_FUSE"}


def test_all_may_pass_the_fuses() -> None:
    concerned, one = survey_of_fuses(clamp_A=0.02)

    assert (concerned, one.get("sort")) == ([""], "through_fuses")


def test_fuses_that_carry_more_than_there_is_concern_no_modification() -> None:
    case = read(over("F2", 20), amps("W0", 0.02, condition="asleep"), observations=BOX)

    kind, one = one_of(case, "past_fuses", "M2")
    assert (kind, one.get("sort")) == ("", "more_than_clamp")


def test_fuses_without_a_clamp_are_not_added_up() -> None:
    assert of(read(over("F1", 0.5), observations=BOX), "past_fuses") == []


# -- drain


def test_drain_of_an_added_load_is_its_finding_s_and_that_of_the_battery_is_nobody_s() -> None:
    """2 A besides the 20 mA of the radio; 78 Ah of which half may go are 19 hours."""
    case = read(observations=BOX)
    kind, box = one_of(case, "drain", "+D1")
    whole, battery = one_of(case, "drain", "BAT1")

    assert (kind, whole) == ("tap", "")
    assert box.after is not None
    assert box.after.low < 2.0 < box.after.high
    assert battery.before is not None
    assert battery.after is not None
    assert battery.before.nominal == pytest.approx(0.02, abs=1e-3)
    assert battery.after.nominal == pytest.approx(2.02, abs=1e-2)
    days, before = battery.get("days"), battery.get("days_before")
    assert isinstance(days, float)
    assert isinstance(before, float)
    assert before / days == pytest.approx(2.02 / 0.02, rel=0.02)
