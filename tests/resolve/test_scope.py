"""Not seen is not missing: only where somebody looked does not recorded mean as the reference."""

from __future__ import annotations

import copy
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.edit import Removed, edited
from harnessdiff.resolve.scope import looked_at, zones_of
from tests.strategies import references
from tests.support import Json, as_found_from, bench_data, case_from, kinds, reference_from, survey_from

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

DRAWN = ("zones", "circuits", "devices", "splices", "wires")


def drawn(data: Json, *without: str) -> Json:
    """A whole as-found harness: the reference drawn anew, without these elements and what ends at them."""
    found = {name: copy.deepcopy(data[name]) for name in DRAWN}
    gone = set(without)
    for name in DRAWN[2:]:
        found[name] = [one for one in found[name] if one["id"] not in gone]
    found["wires"] = [one for one in found["wires"] if not {one["from"].split(":")[0], one["to"].split(":")[0]} & gone]
    return found


def scope(*zones: str, **more: list[Json]) -> Json:
    return {"looked_at": [{"zone": zone} for zone in zones], **more}


def removed(reference: Reference, as_found: Json, where: Json) -> set[str]:
    edits = as_found_from(reference, as_found=as_found, scope=where).edits
    return {edit.element.id for edit in edits if isinstance(edit, Removed)}


def test_same_harness_drawn_anew_changes_nothing(bench: Reference) -> None:
    case = case_from(bench, as_found=drawn(bench_data()))

    assert case.findings.edits == ()
    assert case.findings.findings == ()


def test_wire_that_was_not_drawn_is_gone_where_somebody_looked(bench: Reference) -> None:
    case = case_from(bench, as_found=drawn(bench_data(), "W12"), scope=scope("Z_TAIL"))

    assert removed(bench, drawn(bench_data(), "W12"), scope("Z_TAIL")) == {"W12"}
    assert kinds(case) == ["removed_part"]


def test_wire_that_was_not_drawn_is_not_missing_where_nobody_looked(bench: Reference) -> None:
    case = case_from(bench, as_found=drawn(bench_data(), "W12"), scope=scope("Z_DASH", "Z_BAY"))

    assert case.findings.edits == ()
    assert case.findings.findings == ()


SCOPES: list[tuple[str, Json, bool]] = [
    ("everything", {"looked_at": "everything"}, True),
    ("its zone", scope("Z_TAIL"), True),
    ("another zone", scope("Z_DASH"), False),
    ("nothing", scope(), False),
    ("its circuit", {"looked_at": [{"circuit": "C_SIDE"}]}, True),
    ("another circuit", {"looked_at": [{"circuit": "C_STOP"}]}, False),
    ("itself", {"looked_at": [{"element": "W12"}]}, True),
    ("its zone, which was not opened", scope("Z_TAIL", not_opened=[{"zone": "Z_TAIL"}]), False),
    ("its zone, which is out of scope", scope("Z_TAIL", out_of_scope=[{"zone": "Z_TAIL"}]), False),
    ("its zone, but not itself", scope("Z_TAIL", not_opened=[{"element": "W12"}]), False),
    ("its zone, but not its circuit", scope("Z_TAIL", out_of_scope=[{"circuit": "C_SIDE"}]), False),
    ("everything but its zone", {"looked_at": "everything", "not_opened": [{"zone": "Z_TAIL"}]}, False),
    ("everything but another zone", {"looked_at": "everything", "not_opened": [{"zone": "Z_BAY"}]}, True),
]


@pytest.mark.parametrize(("where", "seen"), [row[1:] for row in SCOPES], ids=[row[0] for row in SCOPES])
def test_only_what_was_looked_at_can_be_gone(bench: Reference, where: Json, seen: bool) -> None:
    assert removed(bench, drawn(bench_data(), "W12"), where) == ({"W12"} if seen else set())


def test_wire_through_two_zones_was_looked_at_where_one_of_them_was(bench: Reference) -> None:
    assert removed(bench, drawn(bench_data(), "W43"), scope("Z_TAIL")) == {"W43"}
    assert removed(bench, drawn(bench_data(), "W43"), scope("Z_DASH")) == {"W43"}
    assert removed(bench, drawn(bench_data(), "W43"), scope("Z_SILL")) == set()


def test_wire_through_two_zones_was_looked_at_even_where_one_of_them_was_not_opened(bench: Reference) -> None:
    where = {"looked_at": "everything", "not_opened": [{"zone": "Z_TAIL"}]}

    assert removed(bench, drawn(bench_data(), "W43"), where) == {"W43"}


def test_zone_that_was_not_drawn_is_never_gone(bench: Reference) -> None:
    found = drawn(bench_data())
    found["zones"] = [zone for zone in found["zones"] if zone["id"] != "Z_ROOF"]

    assert removed(bench, found, {"looked_at": "everything"}) == set()


@given(st.data())
def test_what_is_gone_is_what_was_looked_at_and_not_drawn(data: st.DataObject) -> None:
    """For any wires left out of the drawing, and any zones looked at."""
    written = data.draw(references())
    reference = reference_from(written)
    wires = [one["id"] for one in written["wires"]]
    zones = [one["id"] for one in written["zones"]]
    left_out = data.draw(st.sets(st.sampled_from(wires)))
    where = scope(*sorted(data.draw(st.sets(st.sampled_from(zones)))))
    seen = looked_at(reference.harness, survey_from(reference, scope=where).scope)

    assert removed(reference, drawn(written, *left_out), where) == left_out & seen


@given(st.data())
def test_as_found_harness_of_a_drawing_leaves_nothing_in_the_air(data: st.DataObject) -> None:
    """Whatever was left out and wherever one looked: what is attached is attached to something that is there."""
    written = data.draw(references())
    reference = reference_from(written)
    things = [one["id"] for name in ("devices", "splices", "wires") for one in written[name]]
    left_out = data.draw(st.sets(st.sampled_from([one for one in things if one not in ("BAT", "BUS", "BODY")])))
    slots_gone = {one["seat"]: one["id"] for one in written["devices"] if "seat" in one}
    left_out |= {fuse for slot, fuse in slots_gone.items() if slot in left_out}
    where = scope(*sorted(data.draw(st.sets(st.sampled_from([one["id"] for one in written["zones"]])))))
    (only,) = as_found_from(reference, as_found=drawn(written, *left_out), scope=where).resolutions(1)
    after = edited(reference.harness, only.edits)
    ends = {end for one in after.incidences for end in (one.subject, one.target)}

    assert ends <= set(after.by_id)


def test_survey_of_lines_takes_nothing_away_that_it_does_not_name(bench: Reference) -> None:
    case = case_from(bench, {"kind": "tap", "id": "t", "on": {"wire": "W12"}})

    assert not [edit for edit in case.findings.edits if isinstance(edit, Removed)]


def test_new_wire_of_a_drawing_is_added_wherever_one_looked(bench: Reference) -> None:
    found = drawn(bench_data())
    found["wires"].append({"id": "N1", "from": "F4:out", "to": "E2:58"})

    assert [edit.element.id for edit in as_found_from(bench, as_found=found, scope=scope()).edits[:1]] == ["N1"]  # type: ignore[union-attr]


ZONES = [
    ("Z_SILL", ("Z_SILL",)),
    ("E1", ("Z_TAIL",)),
    ("E1:58", ("Z_TAIL",)),
    ("W43", ("Z_DASH", "Z_TAIL")),
    ("SP1", ("Z_TAIL",)),
    ("F1_FUSE", ("Z_DASH",)),
    ("K1_RELAY", ("Z_DASH",)),
    ("BODY", ()),
]


@pytest.mark.parametrize(("element", "zones"), ZONES)
def test_element_lies_in_its_zones(bench: Reference, element: str, zones: tuple[str, ...]) -> None:
    assert zones_of(bench.harness.by_id[element], bench.harness) == zones


def test_wire_without_zones_lies_where_its_ends_do() -> None:
    written = bench_data()
    (wire,) = (one for one in written["wires"] if one["id"] == "W43")
    del wire["zones"]
    reference = reference_from(written)

    assert set(zones_of(reference.harness.by_id["W43"], reference.harness)) == {"Z_DASH", "Z_TAIL"}
