"""What observations say of the elements they make."""

from __future__ import annotations

from typing import Any

import pytest

from harnessdiff.evidence import Evidence
from tests.support import as_found_from, bench_data, reference_from, survey_from

YEAR = 2026


def years_told(*ages: Any, **seen: str) -> dict[str, int]:
    """Years of the joints of taps whose age is told in these words."""
    reference = reference_from(bench_data())
    joint = {"type": "solder", "cover": "sleeve"}
    taps = [
        {"kind": "tap", "id": f"T{number}", "on": {"wire": "W12"}, "joint": joint, "age": age, **seen,
         "to": {"device": {"kind": "beeper"}, "pin": "+"}}
        for number, age in enumerate(ages)
    ]  # fmt: skip
    visits = [{"id": "V1", "when": f"{YEAR}-05-01"}, {"id": "V2", "when": "2030-01"}]
    survey = survey_from(reference, *taps, visits=visits)
    evidence = Evidence(as_found_from(reference, *taps, visits=visits), survey)
    return {name: years for name, years in evidence.years.items() if name.endswith("joint")}


@pytest.mark.parametrize(
    ("told", "made"),
    [
        ("2009", 2009), ("2009-2012", 2012), ("2009 to 2012", 2012), ("about 1996", 1996), ("1990s", 1999),
        ("before 2001", 2001), ("c. 1988", 1988), (" 2014 ", 2014), ("2030", YEAR),
    ],
)  # fmt: skip
def test_a_thing_is_as_old_as_the_last_year_it_may_have_been_made(told: str, made: int) -> None:
    assert years_told({"year": told}) == {"+T0.joint": YEAR - made}


@pytest.mark.parametrize("age", [{"layer": "period"}, {"year": "after 2001"}, {"year": "from 1996"}, {"year": "old"},
                                 {"year": "2009-"}, {"year": "1996-98"}, {"evidence": "2009"}])  # fmt: skip
def test_words_that_bound_no_age_give_none(age: dict[str, str]) -> None:
    assert years_told(age) == {}


def test_each_thing_has_the_age_that_is_told_of_it() -> None:
    assert years_told({"year": "2016"}, {"layer": "later"}, {"year": "2020"}) == {"+T0.joint": 10, "+T2.joint": 6}


@pytest.mark.parametrize(("seen", "years"), [({}, 10), ({"visit": "V2"}, 14), ({"visit": "V2", "when": "2031"}, 15)])
def test_age_is_counted_up_to_when_it_was_seen(seen: dict[str, str], years: int) -> None:
    assert years_told({"year": "2016"}, **seen) == {"+T0.joint": years}
