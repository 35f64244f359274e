"""Joints: a worse one never has a lower upper bound, and heat is greatest where joint and circuit match."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.joints import joint_resistance_ohm, worst_heat_W
from harnessdiff.model.harness import JointDetails
from harnessdiff.model.range import Range
from harnessdiff.read.schema import schema
from harnessdiff.tables.loader import JointRow, joint_order

PROPERTIES = schema("survey")["$defs"]["joint_details"]["properties"]
TYPES = PROPERTIES["type"]["enum"]
TOOLS = PROPERTIES["tool"]["enum"]
COVERS = PROPERTIES["cover"]["enum"]
CONDITIONS = PROPERTIES["condition"]["items"]["enum"]
BAD = [state for state in CONDITIONS if state != "clean"]

UNKNOWN_MEMBER: dict[str, Callable[[JointDetails], JointDetails]] = {
    "type": lambda details: replace(details, type="unknown"),
    "tool": lambda details: replace(details, tool="unknown"),
    "cover": lambda details: replace(details, cover="unknown"),
}

STATES = st.lists(st.sampled_from(CONDITIONS), max_size=3, unique=True).map(tuple)
MAKES = st.builds(
    JointDetails,
    type=st.sampled_from(TYPES),
    tool=st.sampled_from(TOOLS),
    cover=st.sampled_from(COVERS),
    condition=STATES,
)


def of_row(row: JointRow, condition: tuple[str, ...]) -> JointDetails:
    tool = "unknown" if "*" in row.tools else min(row.tools)
    cover = "unknown" if "*" in row.covers else min(row.covers)
    return JointDetails(type=row.type, tool=tool, cover=cover, condition=condition)


@given(STATES)
def test_a_worse_make_never_has_a_lower_upper_bound(condition: tuple[str, ...]) -> None:
    bounds = [joint_resistance_ohm(of_row(row, condition)).high for row in joint_order()]

    assert bounds == sorted(bounds)


@given(MAKES, st.sampled_from(BAD))
def test_a_bad_state_more_never_lowers_anything(details: JointDetails, state: str) -> None:
    before = joint_resistance_ohm(details)
    after = joint_resistance_ohm(replace(details, condition=(*details.condition, state)))

    assert after.high >= before.high
    assert after.nominal >= before.nominal
    assert after.low == before.low


@given(MAKES, st.sampled_from(sorted(UNKNOWN_MEMBER)))
def test_what_is_known_of_the_make_never_widens_it(details: JointDetails, member: str) -> None:
    known = joint_resistance_ohm(details)
    unknown = joint_resistance_ohm(UNKNOWN_MEMBER[member](details))

    assert unknown.low <= known.low
    assert unknown.high >= known.high


@given(MAKES)
def test_the_range_is_never_said_to_be_sure(details: JointDetails) -> None:
    assert not joint_resistance_ohm(details).guaranteed


@given(st.sampled_from(joint_order()))
def test_clean_is_no_worse_than_a_state_of_which_nothing_is_said(row: JointRow) -> None:
    assert joint_resistance_ohm(of_row(row, ("clean",))).high <= joint_resistance_ohm(of_row(row, ())).high


def test_a_bad_state_raises_what_a_joint_usually_has() -> None:
    usual = {
        condition: joint_resistance_ohm(JointDetails(type="twist_on", condition=condition)).nominal
        for condition in ((), ("green",), ("loose",), ("green", "loose"), ("burnt",))
    }

    assert usual[()] < usual[("green",)] < usual[("loose",)] == usual[("green", "loose")] < usual[("burnt",)]


def test_what_a_joint_is_worth_when_clean_counts_only_where_nothing_else_is_said() -> None:
    clean, wet, silent = (
        joint_resistance_ohm(JointDetails(type="twist_on", condition=condition)).high
        for condition in (("clean",), ("clean", "other"), ())
    )

    assert clean < wet == silent


def test_a_joint_of_no_known_make_may_be_any() -> None:
    found = joint_resistance_ohm(JointDetails())

    every = [joint_resistance_ohm(of_row(row, ())) for row in joint_order()]
    assert (found.low, found.high) == (min(one.low for one in every), max(one.high for one in every))


def test_every_make_that_can_be_entered_is_a_row_of_the_order() -> None:
    for type_, tool, cover in itertools.product(TYPES, TOOLS, COVERS):
        assert joint_resistance_ohm(JointDetails(type=type_, tool=tool, cover=cover)).high > 0


# -- heat


@given(st.floats(0.1, 60), st.floats(0.001, 50), st.floats(0.0001, 10), st.floats(0.0001, 10), st.floats(0, 1))
def test_no_value_of_the_joint_gives_more_heat(
    open_V: float, inner_ohm: float, one: float, other: float, share: float
) -> None:
    low, high = sorted((one, other))
    joint = Range(low=low, nominal=low, high=high, guaranteed=False)
    heat_W, at_ohm = worst_heat_W(open_V, inner_ohm, joint)
    any_ohm = low + share * (high - low)

    assert low <= at_ohm <= high
    assert (open_V / (any_ohm + inner_ohm)) ** 2 * any_ohm <= heat_W * (1 + 1e-9)
    assert heat_W <= open_V**2 / (4 * inner_ohm) * (1 + 1e-9)


def test_heat_peaks_where_joint_and_circuit_match() -> None:
    joint = Range(low=0.01, nominal=0.1, high=5, guaranteed=False)

    assert worst_heat_W(12, 0.5, joint) == pytest.approx((72, 0.5))
    assert worst_heat_W(12, 0.001, joint)[1] == 0.01
    assert worst_heat_W(12, 50, joint)[1] == 5
    assert worst_heat_W(12, 0, joint) == pytest.approx((14_400, 0.01))


def test_no_resistance_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="neither the joint nor its circuit"):
        worst_heat_W(12, 0, Range.exactly(0))
