"""What was looked at and what was not, zone by zone and circuit by circuit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.coverage import silent_of
from harnessdiff.pipeline import assess
from tests.support import Json, bench_data, case_from, least_reference, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.findings import Coverage
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey

NOT_OPENED = {"zone": "Z_SILL", "because": "step plate riveted"}
BARRED = {"zone": "Z_DASH", "because": "restraint"}


def coverage(reference: Reference, **scope: object) -> Coverage:
    return case_from(reference, scope=scope).findings.coverage


def statuses(found: Coverage) -> dict[str, tuple[str, str | None]]:
    return {zone.id: (zone.status, zone.because) for zone in found.zones}


def test_zone_nobody_named_was_not_inspected(bench: Reference) -> None:
    found = coverage(bench, looked_at=[{"zone": "Z_TAIL"}], not_opened=[NOT_OPENED], out_of_scope=[BARRED])

    assert statuses(found) == {
        "Z_BAY": ("not_inspected", None),
        "Z_DASH": ("out_of_scope", "restraint"),
        "Z_ROOF": ("not_inspected", None),
        "Z_SILL": ("not_opened", "step plate riveted"),
        "Z_TAIL": ("looked_at", None),
    }


def test_what_was_noted_of_how_a_zone_was_looked_at_is_kept(bench: Reference) -> None:
    """From every visit: half of a place that was seen is not the whole of it."""
    seen = [{"zone": "Z_DASH", "how": "seen", "note": "left half only"}, {"zone": "Z_DASH", "note": "mat lifted"}]

    assert statuses(coverage(bench, looked_at=seen))["Z_DASH"] == ("looked_at", "left half only; mat lifted")


@pytest.mark.parametrize(
    ("scope", "status"),
    [
        ({"looked_at": "everything"}, "looked_at"),
        ({"looked_at": []}, "not_inspected"),
        ({"looked_at": [{"zone": "Z_SILL"}], "not_opened": [NOT_OPENED]}, "not_opened"),
        ({"looked_at": "everything", "out_of_scope": [{"zone": "Z_SILL"}]}, "out_of_scope"),
        ({"looked_at": "everything", "not_opened": [NOT_OPENED], "out_of_scope": [{"zone": "Z_SILL"}]}, "out_of_scope"),
        ({"looked_at": [{"circuit": "C_SIDE"}]}, "not_inspected"),
    ],
)  # fmt: skip
def test_what_bars_a_zone_goes_before_what_opens_it(bench: Reference, scope: Json, status: str) -> None:
    assert statuses(coverage(bench, **scope))["Z_SILL"][0] == status


def circuits(found: Coverage) -> dict[str, tuple[int, int]]:
    return {circuit.id: (circuit.wires_seen, circuit.wires) for circuit in found.circuits}


def test_wires_of_a_circuit_are_counted_as_they_were_seen(bench: Reference) -> None:
    """At the tail: of the side lamps W11, W12 and W13 but not W10; of the brake lamps W32 of three."""
    found = circuits(coverage(bench, looked_at=[{"zone": "Z_TAIL"}]))

    assert found["C_SIDE"] == (3, 4)
    assert found["C_STOP"] == (1, 3)
    assert found["C_REV"] == (1, 2)
    assert found["C_HORN"] == (0, 4)


def test_everything_is_all_of_it_and_nothing_is_none(bench: Reference) -> None:
    everything, nothing = coverage(bench, looked_at="everything"), coverage(bench, looked_at=[])

    assert all(seen == all_of_it for seen, all_of_it in circuits(everything).values())
    assert everything.elements_seen == everything.elements == len(bench.harness.elements)
    assert {seen for seen, _ in circuits(nothing).values()} == {0}
    assert nothing.elements_seen == 0


def test_circuit_out_of_scope_is_not_seen_whatever_was_opened(bench: Reference) -> None:
    found = circuits(coverage(bench, looked_at="everything", out_of_scope=[{"circuit": "C_SRS"}]))

    assert found["C_SRS"] == (0, 3)
    assert found["C_SIDE"] == (4, 4)


def lengths(found: Coverage) -> tuple[float, float, float, int]:
    return found.length_m_throughout, found.length_m_seen, found.length_m, found.wires_without_length


Z = [{"id": "Z_A", "name": "a"}, {"id": "Z_B", "name": "b"}]


def two_places(*wires: Json) -> Reference:
    """A switch and a lamp in two places, with wires between them as told."""
    devices: list[Json] = [
        {"id": "S", "kind": "switch", "zone": "Z_A", "terminals": ["1", "2"]},
        {"id": "E", "kind": "lamp", "zone": "Z_B", "terminals": ["1", "2"]},
    ]
    ends = {"from": "S:1", "to": "E:1"}
    named = [{"id": f"W{number}", "circuit": "C", **ends, **wire} for number, wire in enumerate(wires, start=1)]
    circuit = {"id": "C", "name": "lamp", "function": "side_lamp"}
    return reference_from(least_reference(zones=Z, devices=devices, circuits=[circuit], wires=named))


LONG: Json = {"length_m": 2.0, "zones": ["Z_A", "Z_B"]}
SHORT: Json = {"length_m": 0.5, "zones": ["Z_A"]}


@pytest.mark.parametrize(
    ("scope", "expected"),
    [
        ({"looked_at": "everything"}, (2.5, 2.5)),
        ({"looked_at": []}, (0.0, 0.0)),
        ({"looked_at": [{"zone": "Z_A"}]}, (0.5, 2.5)),
        ({"looked_at": [{"zone": "Z_B"}]}, (0.0, 2.0)),
        ({"looked_at": [{"zone": "Z_A"}, {"zone": "Z_B"}]}, (2.5, 2.5)),
        ({"looked_at": "everything", "not_opened": [{"zone": "Z_B", "because": "glued"}]}, (0.5, 2.5)),
        ({"looked_at": [{"element": "W1"}]}, (2.0, 2.0)),
        ({"looked_at": [{"circuit": "C"}], "not_opened": [{"zone": "Z_B", "because": "glued"}]}, (0.5, 2.5)),
        ({"looked_at": "everything", "out_of_scope": [{"circuit": "C"}]}, (0.0, 0.0)),
    ],
)  # fmt: skip
def test_length_looked_at_throughout_and_in_part(scope: Json, expected: tuple[float, float]) -> None:
    """One wire of 2 m runs through both places, one of 0.5 m through the first."""
    assert lengths(coverage(two_places(LONG, SHORT), **scope)) == (*expected, 2.5, 0)


def test_wire_that_does_not_say_where_it_runs_is_never_looked_at_throughout_by_its_ends() -> None:
    assert lengths(coverage(two_places({"length_m": 1.0}), looked_at=[{"zone": "Z_A"}, {"zone": "Z_B"}]))[:2] == (
        0.0,
        1.0,
    )
    assert lengths(coverage(two_places({"length_m": 1.0}), looked_at="everything"))[:2] == (1.0, 1.0)


def test_wire_of_unknown_length_is_counted_and_in_no_length() -> None:
    """Of a range the middle counts; what is bounded on one side only is not known."""
    ranged = {"length_m": {"min": 1.0, "max": 2.0}, "zones": ["Z_A"]}
    found = coverage(two_places(SHORT, ranged, {"length_m": {"min": 1.0}}, {}), looked_at="everything")

    assert lengths(found) == (2.0, 2.0, 2.0, 2)


@settings(max_examples=30)
@given(st.sets(st.sampled_from(["Z_A", "Z_B"])), st.lists(st.sampled_from([LONG, SHORT, {}]), min_size=1, max_size=5))
def test_throughout_is_never_more_than_in_part_nor_that_more_than_all(zones: set[str], wires: list[Json]) -> None:
    found = coverage(two_places(*wires), looked_at=[{"zone": zone} for zone in sorted(zones)])

    assert 0 <= found.length_m_throughout <= found.length_m_seen <= found.length_m
    assert found.wires_without_length == sum(not wire for wire in wires)


def test_what_a_reference_is_silent_of_is_named() -> None:
    """Of the lamp nothing is said; of the switch neither."""
    assert set(silent_of(two_places(LONG)).devices) == {"E", "S"}


def test_load_without_figures_is_named(bench: Reference) -> None:
    data = bench_data()
    (device,) = [one for one in data["devices"] if any(part["kind"] == "load" for part in one.get("parts", ()))][:1]
    for part in device["parts"]:
        for name in ("rated_W", "rated_A", "resistance_ohm"):
            part.pop(name, None)

    assert set(silent_of(reference_from(data)).loads) - set(silent_of(bench).loads) == {device["id"]}


def test_zones_and_circuits_stand_in_the_reference_s_order(bench: Reference) -> None:
    found = coverage(bench, looked_at="everything")

    assert [zone.id for zone in found.zones] == [zone.id for zone in bench.harness.zones()]
    assert [circuit.id for circuit in found.circuits] == [circuit.id for circuit in bench.circuits]


def test_demo_says_what_was_not_inspected(van: Reference, demo_survey: Survey) -> None:
    """Eight zones were not opened, three were never named, the restraint is out of scope."""
    found = assess(van, demo_survey, electrical=False).findings.coverage
    by_status: dict[str, set[str]] = {}
    for zone in found.zones:
        by_status.setdefault(zone.status, set()).add(zone.id)

    assert by_status["not_opened"] == {
        "Z_ROOF", "Z_UNDERBODY", "Z_LOAD_R", "Z_REAR_DOORS", "Z_DOOR_L", "Z_DOOR_R", "Z_SIDE_DOOR", "Z_FRONT_END",
    }  # fmt: skip
    assert by_status["not_inspected"] == {"Z_ENGINE", "Z_SEAT_R", "Z_SILL_R"}
    assert circuits(found)["C_SRS"][0] == 0
    assert 0 < found.elements_seen < found.elements
