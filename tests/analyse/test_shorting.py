"""Whether a conductor is protected: by what stands before each piece of it, from every source."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from tests.analyse.rigs import CLEAN, GOOD, added, at, condition, ground, load, of, seen, tap, two_lamps

if TYPE_CHECKING:
    from harnessdiff.model.modification import Value
    from tests.support import Json


def fuse(rating_A: float, distance_m: float) -> Json:
    return {"inline": [{"kind": "fuse", "distance_m": distance_m, "rating_A": rating_A,
                        "body": "sealed in-line blade holder", "state": "intact"}]}  # fmt: skip


def verdict(place: Json, **lead: Any) -> tuple[Value, Value]:
    """The verdict on the lead of a tap, and by what."""
    case = seen(two_lamps(), added("d1", load(1)), tap("t1", place, "d1", **lead), ground("l2", "d1"))
    ((_, one),) = [each for each in of(case, "protection") if each[1].subject == "+t1.lead"]
    return one.get("verdict"), one.get("fuse")


def test_lead_straight_from_the_battery_has_no_protection() -> None:
    case = seen(two_lamps(), added("d1", load(1)), tap("t1", {"terminal": "BAT:+"}, "d1"), ground("l2", "d1"))
    ((kind, one),) = of(case, "protection")

    assert (kind, one.subject, one.get("verdict"), one.get("near")) == (
        "tap",
        "+t1.lead",
        "not_protected",
        "no_protection",
    )
    assert one.after is not None
    assert one.after.high > 500


@pytest.mark.parametrize(("distance_m", "protected"), [(0.1, True), (0.6, False)])
def test_fuse_of_its_own_protects_a_lead_if_it_sits_near_the_source(distance_m: float, *, protected: bool) -> None:
    """Up to 7 inch, 33 CFR 183.455(b)(1); the fuse at the far end protects the thing and not the run."""
    found, by = verdict({"terminal": "BAT:+"}, **fuse(3, distance_m))

    assert (found == "protected", by == "+t1.lead") == (protected, protected)


@pytest.mark.parametrize(("distance_m", "by"), [(0.1, "+t1.lead"), (0.6, "F")])
def test_short_stub_before_its_own_fuse_is_not_held_against_the_fuse_before_it(distance_m: float, by: str) -> None:
    """0.35 mm² behind 10 A, with 1 A of its own: what counts is the piece that has any length."""
    assert verdict(at("W_S_1"), size_mm2=0.35, **fuse(1, distance_m))[1] == by


def test_short_lead_beyond_its_own_fuse_is_held_against_it() -> None:
    """0.15 m in all, the fuse 0.05 m from the tap: both pieces are short, but one has a fuse of 30 A before it."""
    found, by = verdict({"terminal": "BAT:+"}, size_mm2=0.35, length_m=0.15, **fuse(30, 0.05))

    assert by == "+t1.lead"
    assert found != "protected"


def test_thin_lead_behind_a_great_fuse_is_not_protected_against_overload() -> None:
    case = seen(two_lamps(), added("d1", load(1)), tap("t1", at("W_S_1"), "d1", size_mm2=0.5), ground("l2", "d1"))
    ((_, one),) = of(case, "protection")

    assert (one.get("verdict"), one.get("limit_A"), one.get("overload")) == ("short_only", 7.5, "beyond_rating")


def test_lead_between_two_batteries_needs_a_fuse_at_each_end() -> None:
    """With one at the vehicle's end alone the other battery feeds the run without any; with both it is protected."""
    battery = added("d1", {"kind": "source", "between": ["1", "2"], "model": "battery", "voltage_V": 12.6,
                           "internal_ohm": 0.01}, sort="battery", own_energy="yes")  # fmt: skip

    def found(*inline: Json) -> Value:
        lead: dict[str, Any] = {"size_mm2": 10, "length_m": 3.0, "inline": list(inline)}
        case = seen(two_lamps(), battery, tap("t1", {"terminal": "BAT:+"}, "d1", **lead), ground("l2", "d1"))
        ((_, one),) = [each for each in of(case, "protection") if each[1].subject == "+t1.lead"]
        return one.get("verdict")

    near, far = fuse(60, 0.1)["inline"][0], fuse(60, 2.9)["inline"][0]

    assert found(near) == "not_protected"
    assert found(far) == "not_protected"
    assert found(near, far) != "not_protected"


def test_wire_of_the_maker_s_behind_a_greater_fuse_is_told_by_who_put_it_there() -> None:
    greater = {"kind": "substitution", "id": "u1", "zone": "Z", "element": "G", "fitted": {"rating_A": 30}}
    ((kind, one),) = of(seen(two_lamps(), greater), "protection")

    assert (kind, one.get("rating_A"), one.get("overload")) == ("wrong_rated_protection", 30, "beyond_rating")
    also = one.get("also")
    assert isinstance(also, tuple)
    assert {one.subject, *also} == {"W_T_1", "W_D_1"}


def test_smaller_fuse_makes_nothing_worse() -> None:
    smaller = {"kind": "substitution", "id": "u1", "zone": "Z", "element": "G", "fitted": {"rating_A": 5}}

    assert of(seen(two_lamps(), smaller), "protection") == []


def test_lead_between_two_fused_circuits_may_carry_what_both_fuses_do() -> None:
    """10 A and 10 A on 1 mm², which may have 15 A: each fuse alone would do."""
    always = [condition("both", "S", "T", "I")]
    bridge = {"kind": "bridge", "id": "b1", "from": at("W_I_1"), "to": at("W_D_1"), "lead": GOOD, "joints": [CLEAN] * 2}
    case = seen(two_lamps(conditions=always), bridge)
    ((_, one),) = [each for each in of(case, "protection") if each[1].subject == "+b1.lead"]

    assert (one.get("verdict"), one.get("overload"), one.get("together_A")) == ("short_only", "together", 20)
