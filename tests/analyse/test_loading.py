"""Fuses, contacts and outputs against what added loads ask of them; the numbers follow from Ohm's law."""

from __future__ import annotations

from typing import Any

import pytest

from tests.analyse.rigs import (
    added,
    at,
    condition,
    ground,
    insertion,
    link,
    load,
    of,
    seen,
    switch,
    tap,
    told,
    two_lamps,
)
from tests.support import between, lamp, run


def test_fuse_carries_what_hangs_on_it() -> None:
    """6 A more behind G, whose lamp takes 1.8 A."""
    case = seen(two_lamps(), added("d1", load(6)), tap("t1", at("W_T_1"), "d1"), ground("l2", "d1"))
    ((_, fuse),) = of(case, "fuse_current")

    assert (fuse.subject, fuse.conditions, fuse.get("over")) == ("G_FUSE", ("right",), None)
    assert fuse.before is not None
    assert fuse.after is not None
    assert fuse.after.nominal - fuse.before.nominal == pytest.approx(6, rel=0.02)


@pytest.mark.parametrize(("amps", "worth_saying"), [(0.9, False), (1.1, True)])
def test_little_is_worth_saying_from_a_tenth_of_the_rating(amps: float, *, worth_saying: bool) -> None:
    case = seen(two_lamps(), added("d1", load(amps)), tap("t1", at("W_T_1"), "d1"), ground("l2", "d1"))

    assert bool(of(case, "fuse_current")) == worth_saying


def test_fuse_that_carries_more_than_it_does_for_ever_is_told_so() -> None:
    case = seen(two_lamps(), added("d1", load(11)), tap("t1", at("W_T_1"), "d1"), ground("l2", "d1"))
    over = [one for _, one in of(case, "fuse_current") if one.get("over")]

    assert [one.subject for one in over] == ["G_FUSE"]


def test_contact_carries_more_than_it_is_made_for() -> None:
    """A 5 A switch before 1.8 A of lamp and 4 A of something added: by the reference it is enough."""
    small = switch("N", limit_A=5)
    reference = two_lamps(small, lamp("B"), wires=run("G:out", "N:1", "N:2", "B:1"),
                          conditions=[condition("asleep"), condition("dash", "N")])  # fmt: skip
    case = seen(reference, added("d1", load(4)), tap("t1", at("W_B_1"), "d1"), ground("l2", "d1"))
    ((kind, over),) = of(case, "over_limit")

    assert (kind, over.subject, over.get("limit_A"), over.conditions) == ("tap", "N", 5, ("dash",))
    assert over.after is not None
    assert over.after.nominal == pytest.approx(5.8, rel=0.02)


def test_contact_that_is_enough_is_not_told() -> None:
    reference = two_lamps(switch("N", limit_A=6), lamp("B"), wires=run("G:out", "N:1", "N:2", "B:1"),
                          conditions=[condition("asleep"), condition("dash", "N")])  # fmt: skip
    case = seen(reference, added("d1", load(4)), tap("t1", at("W_B_1"), "d1"), ground("l2", "d1"))

    assert told(case, "over_limit") == set()


def test_added_switch_is_held_against_its_own_limit() -> None:
    case = seen(two_lamps(), added("d1", link(limit_A=1), sort="switch"), insertion("i1", at("W_D_1"), "d1"))

    assert told(case, "over_limit") == {("over_limit", "+d1", ("right",))}


def test_what_goes_dead_with_the_fuse_is_named() -> None:
    case = seen(two_lamps(), added("d1", load(2)), tap("t1", at("W_D_1"), "d1"), ground("l2", "d1"))
    ((_, dying),) = of(case, "dies_with")

    assert (dying.subject, dying.get("loads"), dying.get("added")) == ("G_FUSE", ("D",), ("+d1",))


def test_fuse_of_its_own_takes_nothing_with_it() -> None:
    own = {"kind": "fuse", "distance_m": 0.05, "rating_A": 3, "body": "in-line blade holder", "state": "intact"}
    fuse: dict[str, Any] = {"inline": [own]}
    case = seen(two_lamps(), added("d1", load(2)), tap("t1", at("W_D_1"), "d1", **fuse), ground("l2", "d1"))

    assert told(case, "dies_with") == set()


def test_pump_that_needs_more_than_it_gets_is_under_voltage() -> None:
    """8 A at 12 V are 1.5 Ω; with 0.6 Ω before them it has about 8.6 V and needs 9.5."""
    pump = between("P", "pump", [load(8, model="motor", least_V=9.5)], bonds=[{"terminal": "2", "to": "BODY:1"}])
    reference = two_lamps(pump, switch("N"), wires=run("G:out", "N:1", "N:2", "P:1"),
                          conditions=[condition("asleep"), condition("dash", "N")])  # fmt: skip
    case = seen(reference, added("d1", link(resistance_ohm=0.6)), insertion("i1", at("W_P_1"), "d1"))
    ((kind, low),) = of(case, "under_voltage")

    assert (kind, low.subject, low.get("least_V")) == ("insertion", "P", 9.5)
    assert low.after is not None
    assert 8.2 < low.after.nominal < 8.9


def test_output_overloaded_by_a_short_is_answered_for_by_the_short() -> None:
    module = {"id": "U", "kind": "module", "zone": "Z", "terminals": ["30", "out", "31"],
              "parts": [{"kind": "output", "between": ["30", "out"], "limit_A": 4, "resistance_ohm": 0.5,
                         "when": {"condition": ["dash"]}}]}  # fmt: skip
    reference = two_lamps(module, lamp("B"), wires=run("G:out", "U:30", "U:out", "B:1"),
                          conditions=[condition("asleep"), condition("dash")])  # fmt: skip
    short = {"kind": "damage", "id": "g1", "zone": "Z", "on": [at("W_B_1"), {"metal": "body"}], "damage": "chafed",
             "extent": "through", "conducts": "yes"}  # fmt: skip
    ((kind, over),) = of(seen(reference, short), "over_limit")

    assert (kind, over.subject, over.terminal) == ("damage", "U", "out")
