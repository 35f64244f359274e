"""From what was seen of a lead or a substitution to elements of the harness."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace

from harnessdiff.model.harness import Conductor, Device, Element
from harnessdiff.model.observation import End, Fitted, LeadSeen
from harnessdiff.model.parts import Load
from harnessdiff.model.quantity import UNKNOWN


def cores_of(seen: LeadSeen) -> list[tuple[Conductor, End | None, End | None]]:
    """The conductors of a lead or cable with their ends."""
    details = {field.name: getattr(seen.details, field.name) for field in fields(seen.details)}
    zones = (seen.zone,) if seen.zone else ()
    if not seen.cores:
        return [(Conductor(id=f"+{seen.id}", zones=zones, note=seen.note, **details), seen.end_1, seen.end_2)]
    return [
        (
            Conductor(
                id=f"+{seen.id}.{number}",
                zones=zones,
                cable=f"+{seen.id}",
                **{**details, "colour": core.colour, "size_mm2": core.size_mm2 if core.size_mm2.known
                   else seen.details.size_mm2, "inline": core.inline},
            ),
            core.end_1,
            core.end_2,
        )
        for number, core in enumerate(seen.cores, start=1)
    ]  # fmt: skip


PROTECTS = ("fuse", "fusible_link", "circuit_breaker")


def with_fitted(element: Element, fitted: Fitted) -> Element:
    """The element with what is there instead."""
    given = {
        field.name: getattr(fitted, field.name)
        for field in fields(fitted)
        if getattr(fitted, field.name) not in (None, UNKNOWN)
    }
    if fitted.legend_A is not None and "rating_A" not in given:
        given["rating_A"] = type(fitted.rating_A).exactly(fitted.legend_A)
    given.pop("legend_A", None)
    if "rated_W" in given and isinstance(element, Device):
        power = given.pop("rated_W")
        given.setdefault(
            "parts",
            tuple(replace(part, rated_W=power) if isinstance(part, Load) else part for part in element.parts),
        )
    given |= _not_said(element, given)
    known = {field.name for field in fields(element)}
    return replace(element, **{name: value for name, value in given.items() if name in known})


def _not_said(element: Element, given: Mapping[str, object]) -> dict[str, object]:
    """What is not known of a substitute that the survey says little of: it is not what was there before."""
    if isinstance(element, Device) and element.kind in PROTECTS:
        said = (
            "rating_A" in given or given.get("state") in ("blown", "slug") or given.get("kind") not in (None, *PROTECTS)
        )
        return {} if said else {"rating_A": UNKNOWN}
    if given:
        return {}
    return {"size_mm2": UNKNOWN} if isinstance(element, Conductor) else {"label": "unknown"}
