"""What was measured, as consequences: readings that agree or do not, currents past the fuses, the drain at rest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.drain import Drain, drains
from harnessdiff.analyse.fuse_survey import reconciled
from harnessdiff.analyse.loading import Loading
from harnessdiff.analyse.network.settle import ASLEEP
from harnessdiff.analyse.probing import element_id
from harnessdiff.analyse.readings import Compared
from harnessdiff.graph import GROUND_DEVICES
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Harness, is_added
from harnessdiff.model.modification import Modification, Value
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Reading, Survey

NOTHING_TO_SAY = frozenset({"not_computable"})


def measured_ohm(compared: tuple[Compared, ...]) -> Mapping[str, Range]:
    """Resistances of joints that readings under load give, each by the narrowest. [Ω]"""
    found: dict[str, Range] = {}
    for one in compared:
        for joint, ohm in one.measured:
            known = found.get(joint)
            if known is None or ohm.high - ohm.low < known.high - known.low:
                found[joint] = ohm
    return found


def of_readings(
    compared: tuple[Compared, ...], answering: Answering, survey: Survey, recorded_with: Mapping[str, tuple[int, ...]]
) -> tuple[Found, ...]:
    """Readings beside what is predicted for them.

    Parameters
    ----------
    compared : tuple of Compared
    answering : Answering
    survey : Survey
    recorded_with : mapping of str to tuple of int
        Modifications by the readings that were noted with them.

    Returns
    -------
    tuple of Found
        Those that could be computed. A reading concerns what it was noted with; else the modifications of what it
        was taken at, or speaks of; else those whose added loads draw through that.
    """
    by_id = {reading.id: reading for reading in survey.readings}
    loading = Loading(answering)
    return tuple(
        Found(
            consequence=Consequence(
                code="reading",
                subject=one.reading,
                conditions=(one.condition,) if one.condition else (),
                before=one.predicted,
                after=one.read,
                unit=one.unit,
                params=_params(
                    agrees=one.agrees,
                    why=one.why,
                    of=one.of,
                    clears=one.clears,
                    measured=tuple(joint for joint, _ in one.measured),
                ),
            ),
            modifications=recorded_with.get(one.reading, ()) or _concerned(one, by_id[one.reading], answering, loading),
        )
        for one in compared
        if one.agrees not in NOTHING_TO_SAY
    )


def _concerned(one: Compared, reading: Reading, answering: Answering, loading: Loading) -> tuple[int, ...]:
    network = next(iter(answering.after.values())).network
    places = _places(network.harness, reading)
    joints = (*one.clears, *(joint for joint, _ in one.measured))
    own = answering.of_elements((*joints, *places)) or answering.of_elements(filter(is_added, one.of))
    if own or one.agrees != "disagrees":
        return own
    touching = tuple(
        number
        for number, modification in enumerate(answering.modifications)
        if set(places) & {*modification.elements, *(element.split(":")[0] for element in modification.elements)}
    )
    if touching or one.condition is None:
        return touching
    through = (loading.drawing_through(one.condition, element=place) for place in places)
    return tuple(dict.fromkeys(number for numbers in through for number in numbers))


def _places(harness: Harness, reading: Reading) -> tuple[str, ...]:
    """Elements that a reading was taken at, or was said to be of."""
    found: list[str | None] = []
    for probe in (*reading.between, *reading.around):
        named = (probe.wire, probe.joint, probe.lead, probe.device)
        found += [element_id(harness, name) for name in named if name is not None]
        found.append(harness.device_of(probe.terminal) if probe.terminal is not None else None)
    found += [element_id(harness, name) for name in reading.of]
    kept = dict.fromkeys(one for one in found if one is not None)
    return tuple(one for one in kept if not _is_supply(harness, one))


def _is_supply(harness: Harness, element: str) -> bool:
    """Whether something is a battery or the metal, which everything hangs on."""
    device = harness.device(element)
    return device is not None and device.kind in {"battery", *GROUND_DEVICES}


def not_explained(found: tuple[Found, ...]) -> Iterator[Modification]:
    """A finding for every reading that disagrees and that no modification concerns."""
    for one in found:
        consequence = one.consequence
        if consequence.code != "reading" or consequence.get("agrees") != "disagrees" or one.modifications:
            continue
        of = consequence.get("of")
        yield Modification(
            kind="reading",
            root=consequence.subject,
            elements=tuple(str(element) for element in of) if isinstance(of, tuple) else (),
            role=consequence.subject,
        )


def past_the_fuses(answering: Answering, survey: Survey) -> tuple[Found, ...]:
    """What the battery gives and no fuse that was read carries, and who may draw it."""
    settled = answering.after
    network = next(iter(settled.values())).network
    found = []
    for one in reconciled(network, settled, survey):
        if one.clamp_A is None:
            continue
        found.append(
            Found(
                consequence=Consequence(
                    code="past_fuses",
                    subject=one.clamp or "",
                    conditions=(one.condition,) if one.condition else (),
                    before=one.clamp_A,
                    after=one.past_A,
                    unit="A",
                    params=_params(
                        sort=one.code, past=one.past, unread=one.unread_fuses, fuses=tuple(f.fuse for f in one.fuses)
                    ),
                    sources=("fuse resistances by body and rating: genuine fuses only",),
                ),
                modifications=answering.of_elements(filter(is_added, one.past)) if one.code == "past_fuses" else (),
            )
        )
    return tuple(found)


def drain_at_rest(answering: Answering, reference: Reference) -> tuple[Found, ...]:
    """What is drawn with the vehicle asleep: by every load that was added or changed, and from every battery."""
    found: list[Found] = []
    for one in drains(answering.before, answering.after, reference):
        if one.condition == ASLEEP:
            found += _by_load(one, answering)
            found += _by_battery(one)
    return tuple(found)


def _by_load(drain: Drain, answering: Answering) -> Iterator[Found]:
    for one in drain.draws:
        yield Found(
            consequence=Consequence(
                code="drain",
                subject=one.load,
                terminal=one.terminal.rsplit(":", 1)[-1],
                conditions=(drain.condition,),
                before=one.before_A,
                after=one.after_A,
                unit="A",
                path=one.path,
                params=_params(battery=one.battery, fuses=one.fuses),
            ),
            modifications=answering.of_elements(filter(is_added, one.path))
            or answering.of_elements(filter(is_added, (one.load,))),
        )


def _by_battery(drain: Drain) -> Iterator[Found]:
    for one in drain.batteries:
        days, before = one.days, one.days_before
        yield Found(
            consequence=Consequence(
                code="drain",
                subject=one.battery,
                conditions=(drain.condition,),
                before=one.before_A,
                after=one.after_A,
                unit="A",
                params=_params(
                    sort="battery",
                    days=_rounded(days.nominal) if days else None,
                    least_days=_rounded(days.low) if days else None,
                    days_before=_rounded(before.nominal) if before else None,
                    at_least="yes" if not drain.complete else None,
                    exceeds=tuple(figure.name for figure in drain.figures if figure.code == "exceeds"),
                ),
                sources=tuple(dict.fromkeys(figure.source for figure in drain.figures if figure.code == "exceeds")),
            ),
            modifications=(),
        )


def _rounded(value: float) -> float | None:
    return None if value == float("inf") else float(f"{value:.3g}")


def _params(**values: Value) -> tuple[tuple[str, Value], ...]:
    return tuple(sorted((name, value) for name, value in values.items() if value not in (None, ())))
