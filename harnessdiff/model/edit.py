"""Edits between two harnesses, and an as-found harness that is not sure of everything.

An edit adds, removes or changes one element, or adds or removes one incidence; each costs 1,
however many attributes of an element changed. Elements with different ids are never one another.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import TypeAlias, assert_never

from harnessdiff.model.harness import Element, Harness, Incidence, incidence_key


@dataclass(frozen=True, slots=True)
class Added:
    """An element that the reference does not have."""

    element: Element


@dataclass(frozen=True, slots=True)
class Removed:
    """An element that is gone."""

    element: Element


@dataclass(frozen=True, slots=True)
class Changed:
    """An element that is there, but different."""

    before: Element
    after: Element


@dataclass(frozen=True, slots=True)
class Attached:
    """An incidence that the reference does not have."""

    incidence: Incidence


@dataclass(frozen=True, slots=True)
class Detached:
    """An incidence that is gone."""

    incidence: Incidence


Edit: TypeAlias = Added | Removed | Changed | Attached | Detached


def edit_key(edit: Edit) -> tuple[str, ...]:
    """Sort key of an edit, the same in every run."""
    match edit:
        case Added(element):
            return ("added", element.id)
        case Removed(element):
            return ("removed", element.id)
        case Changed(before, _):
            return ("changed", before.id)
        case Attached(incidence):
            return ("attached", *incidence_key(incidence))
        case Detached(incidence):
            return ("detached", *incidence_key(incidence))
        case _:
            assert_never(edit)


def inverted(edit: Edit) -> Edit:
    """The edit that undoes `edit`."""
    match edit:
        case Added(element):
            return Removed(element)
        case Removed(element):
            return Added(element)
        case Changed(before, after):
            return Changed(after, before)
        case Attached(incidence):
            return Detached(incidence)
        case Detached(incidence):
            return Attached(incidence)
        case _:
            assert_never(edit)


def difference(reference: Harness, as_found: Harness) -> tuple[Edit, ...]:
    """The edits that make `as_found` of `reference`, as few as there can be.

    Elements are the same where their ids are, so the number of edits is that of the elements
    and incidences in which the two differ.

    Parameters
    ----------
    reference, as_found : Harness
        With shared ids.

    Returns
    -------
    tuple of Edit
        In a fixed order.
    """
    edits: list[Edit] = []
    for element_id, element in reference.by_id.items():
        found = as_found.by_id.get(element_id)
        if found is None:
            edits.append(Removed(element))
        elif found != element:
            edits.append(Changed(element, found))
    edits += [Added(element) for element in as_found.elements if element.id not in reference.by_id]
    before, after = set(reference.incidences), set(as_found.incidences)
    edits += [Detached(incidence) for incidence in before - after]
    edits += [Attached(incidence) for incidence in after - before]
    return tuple(sorted(edits, key=edit_key))


def edited(reference: Harness, edits: tuple[Edit, ...]) -> Harness:
    """The harness that `edits` make of `reference`.

    Raises
    ------
    ValueError
        If an edit does not fit: it removes or changes what is not there, or adds what is.
    """
    elements = dict(reference.by_id)
    incidences = set(reference.incidences)
    for edit in edits:
        match edit:
            case Added(element):
                _require(element.id not in elements, edit)
                elements[element.id] = element
            case Removed(element):
                _require(elements.pop(element.id, None) == element, edit)
            case Changed(before, after):
                _require(elements.get(before.id) == before and before.id == after.id, edit)
                elements[after.id] = after
            case Attached(incidence):
                _require(incidence not in incidences, edit)
                incidences.add(incidence)
            case Detached(incidence):
                _require(incidence in incidences, edit)
                incidences.discard(incidence)
            case _:
                assert_never(edit)
    return Harness.of(list(elements.values()), incidences)


def _require(fits: bool, edit: Edit) -> None:
    if not fits:
        raise ValueError(f"the edit does not fit this harness: {' '.join(edit_key(edit))}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One thing an unresolved clue or order may mean: its label, what it names, and its edits."""

    label: str
    elements: tuple[str, ...]
    edits: tuple[Edit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """An open question of one observation: exactly one of `alternatives` holds."""

    id: str
    observation: str
    about: str
    alternatives: tuple[Alternative, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unresolved:
    """An observation that names something the reference does not have, said plainly."""

    observation: str
    reason: str
    clue: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """One way to answer every choice: its picks, and all edits that hold then."""

    picks: tuple[tuple[str, int], ...]
    edits: tuple[Edit, ...]


def _reconciled(edits: set[Edit]) -> tuple[Edit, ...]:
    """Edits of which no two speak of the same thing.

    Picks that fall on the same element may overlap: changes of one element are taken together,
    an element that is gone is not changed, and an end of a wire is at one place only.
    """
    removed = {edit.element.id for edit in edits if isinstance(edit, Removed)}
    changes: dict[str, Changed] = {}
    ends: set[tuple[str, str]] = set()
    kept: list[Edit] = []
    for edit in sorted(edits, key=lambda one: (edit_key(one), repr(one))):
        if isinstance(edit, Changed):
            earlier = changes.get(edit.before.id)
            after = edit.after if earlier is None else _both(edit.before, earlier.after, edit.after)
            changes[edit.before.id] = Changed(edit.before, after)
            continue
        if isinstance(edit, Attached) and edit.incidence.role in ("end_1", "end_2"):
            end = (edit.incidence.subject, edit.incidence.role)
            if end in ends:
                continue
            ends.add(end)
        kept.append(edit)
    kept += [edit for element, edit in changes.items() if element not in removed]
    return tuple(sorted(kept, key=edit_key))


def _both(before: Element, one: Element, other: Element) -> Element:
    """`before` with what either of two changed elements has different."""
    differing = {
        field.name: getattr(other, field.name)
        for field in fields(other)
        if getattr(other, field.name) != getattr(before, field.name)
    }
    return replace(one, **differing)


@dataclass(frozen=True, kw_only=True)
class AsFound:
    """The as-found harness: the reference, edits that are sure, and choices that are open.

    `seen_in` tells for each element id which observations speak of it.
    """

    reference: Harness
    edits: tuple[Edit, ...]
    choices: tuple[Choice, ...] = ()
    unresolved: tuple[Unresolved, ...] = ()
    seen_in: tuple[tuple[str, tuple[str, ...]], ...] = ()

    def resolution(self, picks: tuple[int, ...]) -> Resolution:
        """The resolution that picks the alternative with this number at each choice, in order."""
        edits = set(self.edits)
        for choice, pick in zip(self.choices, picks, strict=True):
            edits.update(choice.alternatives[pick].edits)
        named = tuple((choice.id, pick) for choice, pick in zip(self.choices, picks, strict=True))
        return Resolution(picks=named, edits=_reconciled(edits))

    def resolutions(
        self,
        most: int,
        leading: Sequence[Sequence[int]] | None = None,
        groups: Sequence[Sequence[int]] | None = None,
    ) -> Iterator[Resolution]:
        """The resolutions that show everything an answer may change.

        Of a group of choices all combinations are gone through, or, where there are more than `most`,
        one choice varied at a time. Groups do not bear on each other, so that they are varied
        together, and there are only as many resolutions as the group with most of them needs.

        Parameters
        ----------
        most : int
            Greatest number of combinations of a group that is still gone through in full.
        leading : sequence of sequence of int, optional
            For each choice the alternatives to go through; all of them where left out.
        groups : sequence of sequence of int, optional
            Numbers of the choices that bear on each other; all do where left out.

        Yields
        ------
        Resolution
            First the one that picks the first alternative everywhere.
        """
        picks = self._picks(leading)
        members = groups if groups is not None else [range(len(picks))]
        ways = [list(_ways([picks[number] for number in group], most)) for group in members]
        for turn in range(max(map(len, ways), default=1)):
            chosen = [allowed[0] for allowed in picks]
            for group, of_group in zip(members, ways, strict=True):
                for number, pick in zip(group, of_group[turn % len(of_group)], strict=True):
                    chosen[number] = pick
            yield self.resolution(tuple(chosen))

    def complete_within(
        self,
        most: int,
        leading: Sequence[Sequence[int]] | None = None,
        groups: Sequence[Sequence[int]] | None = None,
    ) -> bool:
        """Whether `resolutions` goes through all combinations of every group of choices."""
        picks = self._picks(leading)
        members = groups if groups is not None else [range(len(picks))]
        return all(_is_small([picks[number] for number in group], most) for group in members)

    def _picks(self, leading: Sequence[Sequence[int]] | None) -> Sequence[Sequence[int]]:
        return leading if leading is not None else [range(len(choice.alternatives)) for choice in self.choices]


def _is_small(picks: Sequence[Sequence[int]], most: int) -> bool:
    return len(picks) <= 1 or math.prod(map(len, picks)) <= most


def _ways(picks: Sequence[Sequence[int]], most: int) -> Iterator[tuple[int, ...]]:
    """All combinations of picks, or one pick varied at a time where there are more than `most`."""
    if _is_small(picks, most):
        yield from itertools.product(*picks)
        return
    base = [allowed[0] for allowed in picks]
    yield tuple(base)
    for position, allowed in enumerate(picks):
        for pick in allowed[1:]:
            yield (*base[:position], pick, *base[position + 1 :])
