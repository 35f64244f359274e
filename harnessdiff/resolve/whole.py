"""The as-found harness of a survey that re-drew all of it."""

from __future__ import annotations

from harnessdiff.model.edit import AsFound, Detached, Removed, difference
from harnessdiff.model.harness import Element, Harness, Zone
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Scope
from harnessdiff.resolve.scope import looked_at


def as_found_of_whole(reference: Reference, drawn: Harness, scope: Scope) -> AsFound:
    """The as-found harness of a whole re-drawn one.

    What is not in the drawing counts as gone only where somebody looked; zones never go.

    Parameters
    ----------
    reference : Reference
    drawn : Harness
        As it was re-drawn, with the reference's ids where an element is the same.
    scope : Scope
        What was looked at.

    Returns
    -------
    AsFound
    """
    seen = looked_at(reference.harness, scope)
    edits = difference(reference.harness, drawn)
    kept = {edit.element.id for edit in edits if isinstance(edit, Removed) and _stays(edit.element, seen)}
    gone = {edit.element.id for edit in edits if isinstance(edit, Removed)} - kept
    standing = [
        edit
        for edit in edits
        if not (isinstance(edit, Removed) and edit.element.id in kept)
        and not (
            isinstance(edit, Detached)
            and not {edit.incidence.subject, edit.incidence.target} & gone
            and (edit.incidence.subject in kept or edit.incidence.target in kept)
        )
    ]
    return AsFound(reference=reference.harness, edits=tuple(standing))


def _stays(element: Element, seen: frozenset[str]) -> bool:
    return isinstance(element, Zone) or element.id not in seen
