"""The voltage a load may have behind joints whose resistance nobody measured, worked out by Ohm's law."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.analyse.rigs import CLEAN, GOOD, POOR, added, at, bridge, ground, load, of, seen, tap, two_lamps
from tests.support import Json

if TYPE_CHECKING:
    from harnessdiff.model.consequence import Consequence

LOOSE_OHM = 7.8125
"""The most that a loose twisted joint may have: 5 W at 0.8 A in a glowing joint (NBSIR 76-1011)."""
SOURCE_V = 12.6
WAY_OHM = 0.08
"""Battery, half a metre and two metres of 1 mm², about 18 mΩ each, and clean joints."""


def drops(*observations: Json) -> dict[str, Consequence]:
    return {one.subject: one for _, one in of(seen(two_lamps(), *observations), "drop")}


def box(amps: float, joint: Json, wire: str = "W_F_in") -> tuple[Json, ...]:
    """A resistor behind a joint on the lead from the battery to a fuse, grounded well."""
    return (tap("t", at(wire), "x", joint=joint), added("x", load(amps, model="resistance")), ground("g", "x"))


def divided_V(load_ohm: float, before_ohm: float) -> float:
    return SOURCE_V * load_ohm / (load_ohm + before_ohm)


@settings(max_examples=8, deadline=None)
@given(st.floats(0.5, 4.0))
def test_load_behind_a_loose_joint_has_what_a_divider_leaves_it(amps: float) -> None:
    """12 V over the rated current is the load's resistance; the joint stands before it with all it may have."""
    found = drops(*box(amps, POOR))["+x"]

    assert found.before is None
    assert found.after is not None
    assert found.after.low == pytest.approx(divided_V(12 / amps, LOOSE_OHM + WAY_OHM), abs=0.05)
    assert found.after.high == pytest.approx(divided_V(12 / amps, WAY_OHM), abs=0.15)
    assert not found.after.guaranteed
    assert found.get("matters") == ("+t.joint",)


def test_load_that_may_have_less_than_its_share_may_be_dim() -> None:
    """A bulb is held to 85 % of 12 V, which are 10.2 V: 12 Ω behind 7.9 Ω have 7.6 V, 240 Ω have 12.2 V."""
    weak, strong = drops(*box(1.0, POOR)), drops(*box(0.05, POOR))

    assert weak["+x"].get("may") == "dim"
    assert strong == {}


def test_added_load_that_has_enough_at_worst_lacks_nothing() -> None:
    """36 Ω of 0.33 A behind 7.9 Ω have 10.3 V of 12.6, which is more than 10.2 V; 34 Ω of 0.35 A have 10.2 V."""
    assert drops(*box(0.32, POOR)) == {}
    assert drops(*box(0.36, POOR)) != {}


def test_load_that_should_be_off_loses_nothing() -> None:
    """A bridge with a loose joint feeds D, which is dark in "left" by the reference: that is live, and no drop."""
    found = of(seen(two_lamps(), bridge("b", at("W_E_1"), at("W_D_1"), joint=POOR)), "drop", "live_unasked")

    assert ("live_unasked", "D", ("left",)) in {(one.code, one.subject, one.conditions) for _, one in found}
    assert [one for _, one in found if one.code == "drop" and one.subject == "D" and "left" in one.conditions] == []


def test_maker_s_load_behind_a_poor_repair_is_held_against_what_it_had() -> None:
    repair = {"kind": "repair", "id": "r", "wire": "W_E_1", "at": {"from_end": 1, "distance_m": 0.5}, "joints": [POOR]}
    found = drops(repair)

    assert set(found) == {"E"}
    one = found["E"]
    assert one.before is not None
    assert one.after is not None
    # 21 W at 12 V draw 1.78 A; four metres of 1 mm² and a fuse of 10 A lose 0.18 V of 12.6
    assert one.before.nominal == pytest.approx(12.42, abs=0.03)
    assert one.before.low == one.before.high
    assert one.after.high <= one.before.nominal
    assert one.after.low < 6.5 < one.after.nominal
    assert (one.conditions, one.get("matters")) == (("left",), ("+r.joint1",))


def test_nothing_is_said_where_nothing_is_unknown() -> None:
    assert drops() == {}
    assert drops({"kind": "substitution", "id": "s", "element": "F", "fitted": {"rating_A": 15}}) == {}


def test_nothing_is_said_of_joints_that_are_known_to_be_sound() -> None:
    """A clean crimp may have a few times its usual milliohm and still loses no half volt at an ampere."""
    assert drops(*box(1.0, CLEAN)) == {}


def test_load_that_is_not_on_loses_nothing() -> None:
    """Behind the switch of E the box draws in "left" alone."""
    assert drops(*box(1.0, POOR, "W_E_1"))["+x"].conditions == ("left",)


def test_load_of_which_no_current_passes_the_joint_is_not_concerned() -> None:
    assert set(drops(*box(1.0, POOR))) == {"+x"}


def test_shared_ground_takes_from_every_load_that_returns_by_it() -> None:
    """12 Ω and 6 Ω on one loose joint of the body, each of whose contacts may have half of 7.81 Ω, or next to nothing.

    For x, at worst: its own contact and the body's have 3.91 Ω, that of y none, so that 15.9 Ω beside 6 Ω are 4.36 Ω,
    4.36/(4.36 + 3.91) · 12.6 V are 6.64 V, of which 12/15.9 are 5.0 V. For y: 9.91 Ω beside 12 Ω are 5.43 Ω,
    5.43/(5.43 + 3.91) · 12.6 V are 7.33 V, of which 6/9.91 are 4.4 V.
    """
    found = drops(
        tap("t", at("W_F_in"), "x"), added("x", load(1.0, model="resistance")),
        tap("u", at("W_G_in"), "y"), added("y", load(2.0, model="resistance")),
        {"kind": "joint", "id": "j", "members": [{"metal": "body"}], **POOR},
        *({"kind": "lead", "id": f"g{own}", **GOOD, "end_1": {"device": own, "pin": "2"}, "end_2": {"joined": "j"}}
          for own in ("x", "y")),
    )  # fmt: skip
    x, y = found["+x"].after, found["+y"].after

    assert x is not None
    assert y is not None
    assert x.low == pytest.approx(5.0, abs=0.1)
    assert y.low == pytest.approx(4.4, abs=0.1)
    assert {one.get("matters") for one in found.values()} == {("+j",)}
