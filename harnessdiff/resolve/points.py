"""Where along a conductor a point is, from what was said, and what is left open in its order."""

from __future__ import annotations

from dataclasses import replace

from harnessdiff.graph import place_of
from harnessdiff.model.edit import Alternative, Attached, Choice
from harnessdiff.model.harness import Conductor, Device, Harness, Incidence, Point, Terminal
from harnessdiff.model.observation import At


def point_of(at: At | None, conductor: Conductor, harness: Harness, made: dict[str, tuple[str, ...]]) -> Point:
    """The point that was said.

    Parameters
    ----------
    at : At or None
        As said; None where nothing was.
    conductor : Conductor
        What it lies on.
    harness : Harness
        The reference, which knows what the conductor ends at.
    made : dict
        Observation id to ids of the joints and cuts that it makes.

    Returns
    -------
    Point
        With distances from end 1.
    """
    if at is None:
        return Point()
    length = conductor.length_m
    near_end = at.near_end or (_end_near(at.near, conductor, harness) if at.near else None)
    low, high = at.distance_m.low, at.distance_m.high
    if at.from_end == 2 and at.distance_m.known:
        low, high = (
            None if high is None or length.low is None else max(0.0, length.low - high),
            None if low is None or length.high is None else max(0.0, length.high - low),
        )
        near_end = near_end or (2 if low is None and high is None else None)
    elif not at.distance_m.known and near_end is not None and length.exact is not None:
        half = length.exact / 2
        low, high = (0.0, half) if near_end == 1 else (half, length.exact)
    return Point(
        low_m=_rounded(low),
        high_m=_rounded(high),
        near_end=near_end,
        beyond=tuple(sorted(one for name in at.beyond for one in made.get(name, (f"+{name}",)))),
        before=tuple(sorted(one for name in at.before for one in made.get(name, (f"+{name}",)))),
    )


def _rounded(value: float | None) -> float | None:
    """To a tenth of a millimetre, so that conversions leave no noise behind."""
    return None if value is None else round(value, 4)


def _end_near(name: str, conductor: Conductor, harness: Harness) -> int | None:
    """The end that is at a plug, device or zone; None where neither or both are."""
    near = []
    for end, role in ((1, "end_1"), (2, "end_2")):
        for target in harness.targets(conductor.id, role):  # type: ignore[arg-type]
            element = harness.by_id.get(target)
            device = harness.device(harness.device_of(target)) if isinstance(element, Terminal) else None
            plug = harness.device(element.connector) if isinstance(element, Terminal) and element.connector else None
            zones = {getattr(element, "zone", None), _zone(device), _zone(plug)}
            names = {target, device.id if device else None, plug.id if plug else None, *zones}
            if name in names:
                near.append(end)
    if not near and conductor.zones and name in (conductor.zones[0], conductor.zones[-1]):
        near = [1 if name == conductor.zones[0] else 2] if conductor.zones[0] != conductor.zones[-1] else []
    return near[0] if len(near) == 1 else None


def _zone(device: Device | None) -> str | None:
    return device.zone if device else None


def order_choices(
    incidences: list[Incidence], lengths: dict[str, float], cuts: set[str], seen_in: dict[str, str]
) -> tuple[list[Incidence], list[Choice]]:
    """Points whose side of a cut is not known, as choices.

    The order of two taps changes nothing; on which side of a cut a joint sits decides what it is
    joined to, so only that is carried as alternatives.

    Parameters
    ----------
    incidences : list of Incidence
        Those of joints and cuts on conductors.
    lengths : dict
        Conductor id to its length. [m]
    cuts : set of str
        Ids of cuts.
    seen_in : dict
        Element id to the observation that speaks of it.

    Returns
    -------
    tuple
        The incidences that are sure, and the choices that stand for the others.
    """
    sure: list[Incidence] = []
    choices: list[Choice] = []
    for incidence in incidences:
        open_cuts = [
            other
            for other in incidences
            if other.target == incidence.target and other.subject in cuts and other.subject != incidence.subject
            and not _ordered(incidence, other)
            and (incidence.subject not in cuts or incidence.subject > other.subject)
        ]  # fmt: skip
        if not open_cuts:
            sure.append(incidence)
            continue
        length = lengths.get(incidence.target, 1.0)
        open_cuts.sort(key=lambda one: (place_of(one.point or Point(), length), one.subject))
        choices.append(_between(incidence, [one.subject for one in open_cuts], seen_in))
    return sure, choices


def _ordered(one: Incidence, other: Incidence) -> bool:
    """Whether it is known which of two points is nearer to end 1."""
    a, b = one.point or Point(), other.point or Point()
    if other.subject in a.beyond + a.before or one.subject in b.beyond + b.before:
        return True
    if a.high_m is not None and b.low_m is not None and a.high_m < b.low_m:
        return True
    if b.high_m is not None and a.low_m is not None and b.high_m < a.low_m:
        return True
    unknown = None in (a.low_m, a.high_m, b.low_m, b.high_m)
    return unknown and a.near_end is not None and b.near_end is not None and a.near_end != b.near_end


def _between(incidence: Incidence, cuts: list[str], seen_in: dict[str, str]) -> Choice:
    """The pieces of a cut conductor that a point may sit on, from end 1 to end 2."""
    point = incidence.point or Point()
    alternatives = []
    for place in range(len(cuts) + 1):
        earlier, later = cuts[:place], cuts[place:]
        where = replace(
            point,
            beyond=tuple(sorted({*point.beyond, *earlier})),
            before=tuple(sorted({*point.before, *later})),
        )
        label = f"between {earlier[-1]} and {later[0]}" if earlier and later else ("end 2" if earlier else "end 1")
        alternatives.append(
            Alternative(
                label=label.replace("+", ""),
                elements=(incidence.target,),
                edits=(Attached(replace(incidence, point=where)),),
            )
        )
    return Choice(
        id=f"{incidence.subject} {incidence.target} {' '.join(cuts)}",
        observation=seen_in[incidence.subject],
        about="order",
        alternatives=tuple(alternatives),
    )
