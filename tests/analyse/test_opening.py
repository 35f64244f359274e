"""Fuses that open for what was found: a short, an overload, and none that the maker's own loads ask for."""

from __future__ import annotations

import pytest

from tests.analyse.rigs import GRAVE, added, at, condition, ground, load, of, seen, tap, told, two_lamps
from tests.support import Json, between, run, slot


def short(wire: str) -> Json:
    return {"kind": "damage", "id": "g1", "zone": "Z", "on": [at(wire), {"metal": "body"}], "damage": "chafed",
            "extent": "through", "conducts": "yes"}  # fmt: skip


def test_short_behind_a_fuse_leaves_its_lamp_dead_because_the_fuse_opens() -> None:
    """The short lies before the switch: the lamp is dead when it should be lit, and the other one is not touched."""
    case = seen(two_lamps(), short("W_T_1"))
    ((kind, dead),) = of(case, *GRAVE)

    assert (kind, dead.code, dead.subject, dead.conditions) == ("damage", "dead", "D", ("right",))
    assert dead.because == ("G_FUSE",)


def test_fuse_that_opens_is_told_with_the_current_that_opens_it() -> None:
    case = seen(two_lamps(), short("W_T_1"))
    ((kind, fuse),) = of(case, "fuse_current")

    assert (kind, fuse.subject, fuse.get("over")) == ("damage", "G_FUSE", "yes")
    assert fuse.after is not None
    assert fuse.after.nominal > 100


def test_the_last_of_two_fuses_opens_and_the_one_before_it_does_not() -> None:
    """H, 30 A, hangs behind nothing but feeds J, 5 A: what else hangs on H works on."""
    beacon = between("B", "lamp", [load(1, model="filament")], bonds=[{"terminal": "2", "to": "BODY:1"}])
    reference = two_lamps(
        *slot("H", 30), *slot("J", 5), beacon,
        between("C", "lamp", [load(1, model="filament")], bonds=[{"terminal": "2", "to": "BODY:1"}]),
        wires=[*run("BAT:+", "H:in", "H:out", "B:1"), *run("H:out", "J:in", "J:out", "C:1")],
        conditions=[condition("asleep")],
    )  # fmt: skip
    case = seen(reference, short("W_C_1"))

    assert told(case, *GRAVE) == {("dead", "C", ("asleep",))}
    assert {one.subject for _, one in of(case, "fuse_current")} == {"J_FUSE"}


@pytest.mark.parametrize(("amps", "opens"), [(10, False), (30, True)])
def test_overload_opens_a_fuse_only_where_its_gates_say_so(amps: float, *, opens: bool) -> None:
    """10 A fuse: with 12 A it may last; with 32 A, 3.2 times its rating, it surely opens."""
    case = seen(two_lamps(), added("d1", load(amps)), tap("t1", at("W_D_1"), "d1"), ground("l2", "d1"))

    assert bool(of(case, "dead")) == opens


@pytest.mark.parametrize(("duration", "opens"), [({"duration_s": 0.5}, False), ({"duration_s": 60}, True), ({}, True)])
def test_condition_that_lasts_less_than_the_fuse_needs_opens_nothing(duration: Json, *, opens: bool) -> None:
    """Twice the rating: half a second it carries up to six times that, a minute no more than 1.6 times."""
    reference = two_lamps(conditions=[condition("asleep"), condition("right", "T", **duration)])
    case = seen(reference, added("d1", load(20)), tap("t1", at("W_D_1"), "d1"), ground("l2", "d1"))

    assert bool(of(case, "dead")) == opens


def test_what_opens_by_the_reference_already_is_nobody_s() -> None:
    """A reference that overloads its own fuse, and a tap elsewhere: nothing is dead that was not."""
    heavy = between("Q", "heater", [load(40, model="resistance")], bonds=[{"terminal": "2", "to": "BODY:1"}])
    reference = two_lamps(heavy, wires=run("G:out", "Q:1"))
    case = seen(reference, added("d1", load(0.2)), tap("t1", at("W_F_in"), "d1"), ground("l2", "d1"))

    assert told(case, *GRAVE) == set()


def test_slug_never_opens() -> None:
    slug = {"kind": "substitution", "id": "u1", "zone": "Z", "element": "G", "fitted": {"state": "slug"}}
    case = seen(two_lamps(), slug, short("W_T_1"))

    assert all("G_FUSE" not in one.because for _, one in of(case, *GRAVE))
