"""A reference, and a vehicle as found, solved in their conditions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from harnessdiff.analyse.computed import solved_as_found, solved_with_readings
from harnessdiff.analyse.electrical import Solved as Whole
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import Settled, settled_in_all
from harnessdiff.describer import Describer
from harnessdiff.errors import InputError, Problem
from harnessdiff.model.harness import Harness
from harnessdiff.model.parts import Source
from harnessdiff.model.reference import Condition, Reference
from harnessdiff.model.survey import Survey
from harnessdiff.read.schema import did_you_mean
from harnessdiff.words import bare


@dataclass(frozen=True, kw_only=True)
class Solved:
    """Both harnesses in the conditions that were asked for.

    Parameters
    ----------
    reference : Reference
    conditions : tuple of Condition
    before : mapping of str to Settled
        The reference, by condition.
    after : mapping of str to Settled, or None
        What was found; None where no survey was given.
    describer : Describer
    """

    reference: Reference
    conditions: tuple[Condition, ...]
    before: Mapping[str, Settled]
    after: Mapping[str, Settled] | None
    describer: Describer

    @property
    def now(self) -> Mapping[str, Settled]:
        """What was found where a survey was given, else the reference."""
        return self.before if self.after is None else self.after


def conditions_of(reference: Reference, survey: Survey | None) -> tuple[Condition, ...]:
    """The conditions of a reference and those of a survey, without what its options rule out."""
    if survey is None:
        return reference.conditions
    absent = {one.id for one in survey.options if one.fitted == "no"}
    absent |= {f"not:{one.id}" for one in survey.options if one.fitted == "yes"}
    return tuple(one for one in (*reference.conditions, *survey.conditions) if not absent & set(one.option))


def no_network(reference: Reference, as_found: Harness | None, conditions: tuple[Condition, ...]) -> str | None:
    """Why nothing can be computed, in a sentence; None where it can."""
    if not conditions:
        return f"{reference.id} has no conditions, so there is nothing in which currents could be computed."
    harnesses = [reference.harness] if as_found is None else [reference.harness, as_found]
    if not any(isinstance(part, Source) for one in harnesses for device in one.devices() for part in device.parts):
        return (
            f"{reference.id} says what is joined to what, but nothing of a source inside its devices, "
            "so no voltage or current can be computed."
        )
    return None


def solved(
    reference: Reference,
    conditions: tuple[Condition, ...],
    wanted: tuple[str, ...] = (),
    as_found: Harness | None = None,
    survey: Survey | None = None,
) -> Solved:
    """Solve a reference, and a harness as found.

    Parameters
    ----------
    reference : Reference
    conditions : tuple of Condition
        All there are.
    wanted : tuple of str
        Ids of those asked for, in that order; all where empty.
    as_found : Harness, optional
    survey : Survey, optional
        As it stands: its readings under load say what joints have.

    Returns
    -------
    Solved

    Raises
    ------
    InputError
        If there is no such condition.
    """
    by_id = {one.id: one for one in conditions}
    for name in wanted:
        if name not in by_id:
            hint = did_you_mean(name, by_id) or f"; there are: {', '.join(by_id)}"
            raise InputError((Problem(source=reference.id, message=f"there is no condition {name}{hint}"),))
    chosen = tuple(by_id[name] for name in dict.fromkeys(wanted)) if wanted else conditions
    needed: dict[str, Condition] = {}
    for one in chosen:
        step: Condition | None = one
        while step is not None and step.id not in needed:
            needed[step.id] = step
            step = by_id.get(step.after or "")
    read = survey is not None and bool(survey.readings)
    ordered = tuple(one for one in conditions if one.id in needed or read)
    vehicle = reference.vehicle
    network = Network(reference.harness, vehicle.ground_polarity, vehicle.system_voltage_V)
    before = settled_in_all(network, ordered)
    after: Mapping[str, Settled] | None = None
    if as_found is not None:
        should_be = Whole(network=network, settled=dict(before))
        if survey is not None and read:
            after = solved_with_readings(reference, survey, as_found, should_be, ordered)[0].settled
        else:
            after = solved_as_found(reference, as_found, should_be, ordered).settled
    return Solved(
        reference=reference,
        conditions=chosen,
        before=before,
        after=after,
        describer=Describer(reference, reference.harness if as_found is None else as_found),
    )


def standing_words(settled: Settled) -> tuple[str, ...]:
    """What is to be known of a condition's solution before its figures are believed, a sentence each."""
    found = []
    if settled.holds:
        names = ", ".join(map(bare, settled.holds))
        found.append(f"{names}: computed at rest; once something has triggered it, it holds and stays pulled in.")
    if settled.oscillates:
        names = ", ".join(map(bare, settled.oscillates))
        found.append(f"{names}: comes to no rest (chatters); the figures are those of one of its states.")
    if settled.collapsed:
        found.append(f"{', '.join(map(bare, settled.collapsed))}: the supply collapses under it; computed as off.")
    if not settled.solution.converged:
        found.append("No solution was found; the figures are the nearest there is.")
    return tuple(found)
