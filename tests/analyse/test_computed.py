"""All that is computed of a record: in which order things are solved, and what belongs to which install."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.analyse.computed import computed, solved_with_readings
from harnessdiff.analyse.electrical import Solved
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.analyse.supply import Supply
from harnessdiff.compare.before import Before
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import installs_of, modifications_of
from harnessdiff.resolve.apply import as_found_of
from harnessdiff.resolve.visits import standing
from tests.analyse.measured import JOINT, LOOSE_REPAIR, amps, vehicle, volts
from tests.analyse.rigs import added, at, ground, load, tap, two_lamps
from tests.support import Json, reference_from, survey_from

if TYPE_CHECKING:
    from harnessdiff.model.computed import Computed
    from harnessdiff.model.modification import Install, Modification
    from harnessdiff.model.reference import Reference

SMALL = reference_from(vehicle())
LOADED = volts("S1:2", "E1:58", 1.2, instrument="meter, 2 V range", loaded="yes")
"""Over the loose repair with the lamp lit."""


def all_of(
    reference: Reference, *observations: Json, **members: Any
) -> tuple[Computed, tuple[Modification, ...], tuple[Install, ...]]:
    survey = standing(survey_from(reference, *observations, **members))
    resolution = next(iter(as_found_of(reference, survey).resolutions(1)))
    before = Before(reference)
    comparison = Comparison(reference, resolution.edits, before)
    modifications = modifications_of(comparison)
    installs = installs_of(comparison, modifications, {})
    polarity = reference.vehicle.ground_polarity
    supplies = (Supply(reference.harness, polarity), Supply(comparison.after, polarity))
    found = computed(reference, survey, comparison.after, supplies, modifications, installs, {})
    return found, modifications, installs


def two_boxes() -> tuple[Json, ...]:
    """A box of 1 A on the feed of E, and one of 2 A on that of D."""
    return tuple(
        line
        for own, wire, amps_ in (("x", "W_S_1", 1.0), ("y", "W_T_1", 2.0))
        for line in (tap(f"t{own}", at(wire), own), added(own, load(amps_)), ground(f"g{own}", own))
    )


def test_isolations_and_removals_stand_in_the_order_of_installs() -> None:
    found, modifications, installs = all_of(two_lamps(), *two_boxes())

    assert len(installs) == 2
    assert len(found.isolations) == len(found.removals) == len(installs)
    for number, (install, isolation, removal) in enumerate(
        zip(installs, found.isolations, found.removals, strict=True)
    ):
        assert isolation is not None
        assert isolation.target == f"install:{number}"
        assert {one.modification for one in removal} <= set(install.modifications)
        (tapped,) = (modifications[one] for one in install.modifications if modifications[one].kind == "tap")
        fuse = {"+tx.joint": "F_FUSE", "+ty.joint": "G_FUSE"}[tapped.root]
        assert [step.element for step in isolation.steps] == [fuse]


def test_readings_under_load_are_solved_with() -> None:
    """1.2 V at 4.75 A over the joint and 3 m of wire of 13 mΩ each leave 0.21 Ω for the joint."""
    clamp = amps("W3", 4.75, instrument="clamp, 40 A range")
    readings = [{"id": "M1"} | LOADED, {"id": "M2"} | clamp]
    survey = standing(survey_from(SMALL, LOOSE_REPAIR, readings=readings))
    resolution = next(iter(as_found_of(SMALL, survey).resolutions(1)))
    as_found = Comparison(SMALL, resolution.edits).after
    conditions = SMALL.conditions
    network = Network(SMALL.harness, SMALL.vehicle.ground_polarity, SMALL.vehicle.system_voltage_V)
    before = Solved(network=network, settled=dict(settled_in_all(network, conditions)))

    after, compared = solved_with_readings(SMALL, survey, as_found, before, conditions)

    assert [one.reading for one in compared] == ["M1", "M2"]
    parts = [one.value.ohm for one in after.network.branches_of(JOINT) if one.value.ohm is not None]
    assert sum(one.nominal for one in parts) == pytest.approx(1.2 / 4.75 - 0.039, abs=0.01)
    lit = after.settled["lit"]
    one, other = lit.voltage_V("S1:2"), lit.voltage_V("E1:58")
    assert one is not None
    assert other is not None
    assert one - other == pytest.approx(1.2, abs=0.05), "what was read comes out again"


def test_disagreement_that_nothing_explains_is_handed_on() -> None:
    readings = [{"id": "M1"} | volts("R1:30", "R1:31", 9.0)]
    found, _, _ = all_of(SMALL, LOOSE_REPAIR, readings=readings)

    assert [(one.kind, one.root) for one in found.unexplained] == [("reading", "M1")]


def test_sound_vehicle_without_readings_is_not_solved() -> None:
    found, modifications, _ = all_of(two_lamps())

    assert modifications == ()
    assert found.conditions == ("asleep", "left", "right", "safe")
    assert (found.found, found.unexplained, found.isolations, found.removals) == ((), (), (), ())


def test_sound_vehicle_is_solved_for_its_readings() -> None:
    readings = [{"id": "M1"} | volts("R1:30", "R1:31", 12.4)]
    found, _, _ = all_of(SMALL, readings=readings)

    assert [one.consequence.subject for one in found.found if one.consequence.code == "reading"] == ["M1"]


def test_vehicle_without_conditions_has_nothing_to_be_solved_in() -> None:
    found, modifications, _ = all_of(two_lamps(conditions=[]), *two_boxes())

    assert modifications
    assert found == type(found)()
