"""Readings of the demo surveys beside what is predicted, each judged by hand.

``below`` and ``above`` would be a disagreement to look into; what says little or cannot be computed says why.
"""

from __future__ import annotations

from functools import cache

import pytest

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.analyse.readings import Compared, compared_readings
from harnessdiff.pipeline import assess
from harnessdiff.read.json_text import load_document
from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import survey_of
from harnessdiff.resolve.visits import standing
from harnessdiff.resources import shipped_cases, shipped_references

CASES = shipped_cases()
JUDGED = {
    "hatchback_inspector": {"M1": "within"},
    "hatchback_technician": {"R1": "within", "R2": "within", "R3": "within"},
    "iso_11446_technician": {"R1": "no_source", "R2": "no_source"},
    "light_van_inspector": {
        "R1": "within",
        "R2": "within",
        "R3": "within",
        "R4": "within",
        "R5": "within",
        "R6": "within",
        "R7": "wide",  # a loose twist may have any resistance; what was read gives it
        "R8": "word_only",
        "R9": "within",
    },
    "modern_fragment_inspector": {"R1": "within", "R2": "within", "R3": "within"},
    "motorcycle_technician": {
        "M1": "wide",  # the same
        "M2": "changes_when_flexed",
        "M3": "within",
    },
    "period_car_restorer": {"M1": "position_not_said", "M2": "within", "M3": "within"},
}


@cache
def compared(name: str) -> dict[str, Compared]:
    document = load_document(CASES[name])
    reference = read_reference(shipped_references()[document.data["reference"]["id"]])
    survey = survey_of(document, reference)
    case = assess(reference, survey, electrical=False)
    vehicle = case.reference.vehicle
    network = Network(case.as_found, vehicle.ground_polarity, vehicle.system_voltage_V)
    settled = settled_in_all(network, (*case.reference.conditions, *survey.conditions))
    found = compared_readings(network, settled, standing(survey), case.reference)
    return {one.reading: one for one in found}


def test_every_case_was_judged() -> None:
    assert sorted(JUDGED) == sorted(CASES)


@pytest.mark.parametrize("name", sorted(JUDGED))
def test_readings_are_as_judged_by_hand(name: str) -> None:
    assert {reading: one.why for reading, one in compared(name).items()} == JUDGED[name]


def test_drop_over_a_twist_bounds_its_resistance() -> None:
    # 0.7 V at some 4.4 A over 0.15 Ω of wire, switch and plug leaves next to nothing for either twist
    measured = dict(compared("light_van_inspector")["R7"].measured)

    assert sorted(measured) == ["+I7.joint1", "+I7.joint2"]
    assert all(ohm.high < 0.1 for ohm in measured.values())
