"""What two observations say of one thing and cannot both be true."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter

from harnessdiff.model.harness import Conductor, Element, Harness, Incidence

ENDS = ("end_1", "end_2")


def contradicted(
    harness: Harness,
    elements: Mapping[str, Element],
    changed: Iterable[str],
    removed: Iterable[str],
    attached: Iterable[Incidence],
    hanging: Iterable[tuple[str, str]],
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Things that are said to be two ways at once, in order of their ids.

    Parameters
    ----------
    harness : Harness
        The reference.
    elements : mapping
        Added elements by id.
    changed, removed : iterable of str
        Elements of the reference that are said to be different, or gone.
    attached : iterable of Incidence
        All incidences that are said to be new.
    hanging : iterable of tuple
        Wire and role of ends that are said to hang.

    Yields
    ------
    tuple
        Id of an element, and of all whose observations say so: an end at two places, a seat in two
        slots, something gone that is spoken of as if it were there, points on a conductor in an
        order that cannot be.
    """
    attached = list(attached)
    found: dict[str, set[str]] = {}
    for element, others in (
        *_two_places(elements, attached, set(hanging)),
        *_spoken_of_though_gone(set(changed), set(removed), attached),
        *_impossible_orders(attached),
    ):
        if element in elements or element in harness.by_id:
            found.setdefault(element, {element}).update(others)
    yield from ((element, tuple(sorted(others))) for element, others in sorted(found.items()))


def _two_places(
    elements: Mapping[str, Element], attached: list[Incidence], hanging: set[tuple[str, str]]
) -> Iterator[tuple[str, set[str]]]:
    places: dict[tuple[str, str], set[str]] = {}
    for one in attached:
        if one.role in (*ENDS, "seat"):
            places.setdefault((one.subject, one.role), set()).add(one.target)
    for (subject, role), targets in places.items():
        lead = elements.get(subject)
        open_ends = {f"end_{one.end}" for one in lead.open_ends} if isinstance(lead, Conductor) else set()
        if len(targets) > 1 or (subject, role) in hanging or role in open_ends:
            yield subject, targets


def _spoken_of_though_gone(
    changed: set[str], removed: set[str], attached: list[Incidence]
) -> Iterator[tuple[str, set[str]]]:
    yield from ((one, set()) for one in changed & removed)
    for one in attached:
        for gone in {one.subject, one.target} & removed:
            yield gone, {one.subject, one.target}


def _impossible_orders(attached: list[Incidence]) -> Iterator[tuple[str, set[str]]]:
    on: dict[str, list[Incidence]] = {}
    for one in attached:
        if one.role == "on":
            on.setdefault(one.target, []).append(one)
    for points in on.values():
        order: TopologicalSorter[str] = TopologicalSorter()
        for one in points:
            for earlier in one.point.beyond if one.point else ():
                order.add(one.subject, earlier)
            for later in one.point.before if one.point else ():
                order.add(later, one.subject)
        try:
            order.prepare()
        except CycleError as error:
            yield min(error.args[1]), set(error.args[1])
