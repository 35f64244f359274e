"""What was looked at and what was not, zone by zone and circuit by circuit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.pipeline import assess
from tests.support import Json, case_from

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
