"""Which observations stand at a visit, and which elements of the reference are there at all."""

from __future__ import annotations

from dataclasses import replace

from harnessdiff.errors import InputError, Problem
from harnessdiff.model.harness import Element, Harness, Zone
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import OptionSeen, Survey


def standing(survey: Survey, as_of: str | None = None) -> Survey:
    """The survey as it stands at a visit: later lines left out, then superseded ones.

    Parameters
    ----------
    survey : Survey
    as_of : str, optional
        Id of the visit; the last one where left out.

    Returns
    -------
    Survey

    Raises
    ------
    InputError
        If there is no such visit.
    """
    order = [visit.id for visit in survey.visits]
    if as_of is not None and as_of not in order:
        message = f"there is no visit {as_of}; the survey has: {', '.join(order)}"
        raise InputError((Problem(source="survey", message=message),))
    past = set(order[: order.index(as_of) + 1] if as_of else order)
    observations = [one for one in survey.observations if one.visit is None or one.visit in past]
    readings = [one for one in survey.readings if one.visit is None or one.visit in past]
    replaced = {old for one in (*observations, *readings) for old in one.supersedes}
    return replace(
        survey,
        visits=tuple(visit for visit in survey.visits if visit.id in past),
        observations=tuple(one for one in observations if one.id not in replaced),
        readings=tuple(one for one in readings if one.id not in replaced),
    )


def as_equipped(reference: Reference, options: tuple[OptionSeen, ...]) -> Reference:
    """The reference without what the options rule out; an option that is unknown rules out nothing.

    Parameters
    ----------
    reference : Reference
    options : tuple of OptionSeen

    Returns
    -------
    Reference
    """
    fitted = {option.id: option.fitted for option in options}
    harness = reference.harness
    gone = {element.id for element in harness.elements if _ruled_out(element, fitted)}
    if not gone:
        return reference
    gone |= {
        incidence.subject for incidence in harness.incidences if incidence.role == "of" and incidence.target in gone
    }
    gone |= {
        incidence.subject
        for incidence in harness.incidences
        if incidence.role in ("end_1", "end_2", "seat") and incidence.target in gone
    }
    kept = Harness.of(
        [element for element in harness.elements if element.id not in gone],
        [one for one in harness.incidences if one.subject not in gone and one.target not in gone],
    )
    return replace(reference, harness=kept)


def _ruled_out(element: Element, fitted: dict[str, str]) -> bool:
    if isinstance(element, Zone):
        return False
    for option in getattr(element, "option", ()):
        name = option.removeprefix("not:")
        unwanted = "yes" if option.startswith("not:") else "no"
        if fitted.get(name) == unwanted:
            return True
    return False
