"""Everything that is computed of a way to read the record: consequences, readings, drain, and how to make dead."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.contents import NO_PICKS, supposed
from harnessdiff.analyse.electrical import Solved, electrical
from harnessdiff.analyse.isolation import Isolating, isolation_of_install
from harnessdiff.analyse.measured import drain_at_rest, measured_ohm, not_explained, of_readings, past_the_fuses
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.analyse.readings import Compared, compared_readings
from harnessdiff.analyse.removal import removal_order
from harnessdiff.analyse.supply import Supply
from harnessdiff.model.computed import Computed, Found
from harnessdiff.model.harness import Harness
from harnessdiff.model.modification import Install, Modification
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Condition, Reference
from harnessdiff.model.survey import Survey
from harnessdiff.tables.loader import LIMIT_TABLE


@lru_cache(maxsize=2)
def _of_reference(
    harness: Harness, polarity: str | None, system_V: float | None, conditions: tuple[Condition, ...]
) -> Solved:
    """A reference solved; kept, as a case may be assessed several times against one."""
    network = Network(harness, polarity, system_V)
    return Solved(network=network, settled=dict(settled_in_all(network, conditions)))


def solved_as_found(
    reference: Reference,
    as_found: Harness,
    before: Solved,
    conditions: tuple[Condition, ...],
    measured: Mapping[str, Range] | None = None,
    picks: Mapping[str, int] = NO_PICKS,
) -> Solved:
    """What was found, solved: unknown contents by the first thought, joints as measured where they were.

    Parameters
    ----------
    reference : Reference
    as_found : Harness
    before : Solved
        The reference, where the search begins.
    conditions : tuple of Condition
    measured : mapping of str to Range, optional
        Resistances of joints. [Ω]
    picks : mapping of str to int, optional
        Which thought is taken for the contents of a device; the first where there is none.

    Returns
    -------
    Solved
    """
    vehicle = reference.vehicle
    network = Network(
        supposed(as_found, picks), vehicle.ground_polarity, vehicle.system_voltage_V, measured_ohm=measured or {}
    )
    return Solved(network=network, settled=dict(settled_in_all(network, conditions, before.settled)))


def solved_with_readings(
    reference: Reference, survey: Survey, as_found: Harness, before: Solved, conditions: tuple[Condition, ...]
) -> tuple[Solved, tuple[Compared, ...]]:
    """What was found, solved with what readings under load say of joints; and all readings beside what is predicted.

    Parameters
    ----------
    reference : Reference
    survey : Survey
        As it stands.
    as_found : Harness
    before : Solved
        The reference, where the search begins.
    conditions : tuple of Condition

    Returns
    -------
    tuple
    """
    after = solved_as_found(reference, as_found, before, conditions)
    compared = compared_readings(after.network, after.settled, survey, reference)
    measured = measured_ohm(compared)
    if measured:
        after = solved_as_found(reference, as_found, before, conditions, measured)
    return after, compared


def computed(
    reference: Reference,
    survey: Survey,
    as_found: Harness,
    supplies: tuple[Supply, Supply],
    modifications: tuple[Modification, ...],
    installs: tuple[Install, ...],
    recorded_with: Mapping[str, tuple[int, ...]],
    limit_table: str = LIMIT_TABLE,
) -> Computed:
    """Solve reference and as-found harness in every condition, and say what follows.

    Readings under load replace what joints were taken for, and all is solved again with them.

    Parameters
    ----------
    reference : Reference
        As equipped.
    survey : Survey
        As it stands.
    as_found : Harness
    supplies : tuple of Supply
        What feeds what on the reference, and as found.
    modifications : tuple of Modification
    installs : tuple of Install
    recorded_with : mapping of str to tuple of int
        Modifications by the readings that were noted with them.
    limit_table : str
        Table that says what a conductor may carry.

    Returns
    -------
    Computed
    """
    conditions = (*reference.conditions, *survey.conditions)
    if not conditions or not (modifications or survey.readings):
        return Computed(conditions=tuple(one.id for one in conditions))
    vehicle = reference.vehicle
    before = _of_reference(reference.harness, vehicle.ground_polarity, vehicle.system_voltage_V, conditions)
    after, compared = solved_with_readings(reference, survey, as_found, before, conditions)
    answering = Answering(modifications, installs, before.settled, after.settled)
    readings = of_readings(compared, answering, survey, recorded_with)
    isolating = Isolating(after, reference, survey)
    return Computed(
        conditions=tuple(one.id for one in conditions),
        found=(
            *electrical(reference, before, after, supplies, modifications, installs, limit_table),
            *readings,
            *past_the_fuses(answering, survey),
            *drain_at_rest(answering, reference),
        ),
        unexplained=tuple(not_explained(readings)),
        measured_ohm=tuple(sorted(measured_ohm(compared).items())),
        isolations=tuple(
            isolation_of_install(isolating, modifications, install, number) for number, install in enumerate(installs)
        ),
        removals=tuple(removal_order(before, after, isolating, modifications, install) for install in installs),
    )


def otherwise(
    reference: Reference,
    survey: Survey,
    as_found: Harness,
    supplies: tuple[Supply, Supply],
    modifications: tuple[Modification, ...],
    installs: tuple[Install, ...],
    measured: Mapping[str, Range],
    picks: Mapping[str, int],
    limit_table: str = LIMIT_TABLE,
) -> tuple[Found, ...]:
    """What follows from another way to read the record, or from other contents of a box nobody opened.

    Parameters
    ----------
    reference, survey, as_found, supplies, modifications, installs, limit_table
        As for `computed`.
    measured : mapping of str to Range
        Resistances of joints, as measured under load. [Ω]
    picks : mapping of str to int
        Which thought is taken for the contents of a device.

    Returns
    -------
    tuple of Found
    """
    conditions = (*reference.conditions, *survey.conditions)
    if not conditions or not modifications:
        return ()
    vehicle = reference.vehicle
    before = _of_reference(reference.harness, vehicle.ground_polarity, vehicle.system_voltage_V, conditions)
    known = {joint: ohm for joint, ohm in measured.items() if as_found.joint(joint) is not None}
    after = solved_as_found(reference, as_found, before, conditions, known, picks)
    answering = Answering(modifications, installs, before.settled, after.settled)
    return (
        *electrical(reference, before, after, supplies, modifications, installs, limit_table),
        *drain_at_rest(answering, reference),
    )
