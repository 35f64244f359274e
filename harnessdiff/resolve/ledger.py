"""What observations say, taken down: the same whatever their order, and never two things at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import fields, replace
from typing import Any

from harnessdiff.errors import InputError, Problem
from harnessdiff.model.edit import Added, Attached, Changed, Detached, Edit, Removed
from harnessdiff.model.harness import Conductor, Element, Harness, Incidence, OpenEnd, Terminal


class Ledger:
    """Gathers the edits of one survey, each with the observation that says so.

    Parameters
    ----------
    harness : Harness
        The reference's.
    """

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.elements: dict[str, Element] = {}
        self.changes: dict[str, Element] = {}
        self.removed: set[str] = set()
        self.attached: set[Incidence] = set()
        self.detached: set[Incidence] = set()
        self.seen_in: dict[str, set[str]] = {}

    def take(self, source: str, edits: Iterable[Edit]) -> None:
        """Take edits that one observation says are so."""
        for edit in edits:
            match edit:
                case Added(element):
                    self.create(source, element)
                case Removed(element):
                    self.speak(source, element.id)
                    self.removed.add(element.id)
                case Changed(_, after):
                    self._replace(source, after)
                case Attached(incidence):
                    self.speak(source, incidence.subject)
                    self.attached.add(incidence)
                case Detached(incidence):
                    self.speak(source, incidence.subject)
                    self.detached.add(incidence)

    def create(self, source: str, element: Element) -> None:
        """Add an element; one that is said twice has to be the same."""
        before = self.elements.get(element.id)
        if before is not None and before != element and not isinstance(element, Terminal):
            self.refuse(source, element.id)
        self.speak(source, element.id)
        self.elements[element.id] = element

    def _replace(self, source: str, after: Element) -> None:
        before = self.harness.by_id[after.id]
        differing = {
            field.name: getattr(after, field.name)
            for field in fields(after)
            if getattr(after, field.name) != getattr(before, field.name)
        }
        self.change(source, after.id, differing)

    def change(self, source: str, element_id: str, differing: dict[str, Any]) -> None:
        """Give an element of the reference other values; two of one member contradict each other."""
        original = self.harness.by_id[element_id]
        current = self.changes.get(element_id, original)
        for name, value in differing.items():
            already = getattr(current, name)
            if name == "open_ends":
                differing = differing | {name: self._both(source, element_id, already, value)}
            elif already not in (value, getattr(original, name)):
                self.refuse(source, element_id)
        self.speak(source, element_id)
        self.changes[element_id] = replace(current, **differing)

    def _both(
        self, source: str, element_id: str, some: tuple[OpenEnd, ...], others: tuple[OpenEnd, ...]
    ) -> tuple[OpenEnd, ...]:
        """The open ends that two observations tell of; two that differ about one end contradict each other."""
        ends = {one.end: one for one in some}
        for other in others:
            if ends.setdefault(other.end, other) != other:
                self.refuse(source, element_id)
        return tuple(ends[end] for end in sorted(ends))

    def speak(self, source: str, element_id: str) -> None:
        """Note that an observation speaks of an element."""
        self.seen_in.setdefault(element_id, set()).add(source)

    def refuse(self, source: str, element_id: str, others: tuple[str, ...] = ()) -> None:
        """Raise InputError: observations contradict each other about an element."""
        spoken = (one for other in (element_id, *others) for one in self.seen_in.get(other, ()))
        sources = sorted({*spoken, *((source,) if source else ())})
        name = element_id.removeprefix("+")
        if len(sources) > 1:
            message = (
                f"observations {' and '.join(sources)} say different things of {name}; let one supersede the other"
            )
        else:
            message = f"observation {sources[0] if sources else '?'} says of {name} what cannot be true at once"
        raise InputError((Problem(source="survey", message=message),))

    def conductor(self, conductor_id: str) -> Conductor:
        """A wire of the reference or an added lead."""
        element = self.elements.get(conductor_id) or self.harness.by_id[conductor_id]
        assert isinstance(element, Conductor)
        return element


def spoken_of(edit: Edit) -> str:
    """The element that an edit is about."""
    match edit:
        case Added(element) | Removed(element):
            return element.id
        case Changed(before, _):
            return before.id
        case Attached(incidence) | Detached(incidence):
            return incidence.subject
