"""Contents of devices that nobody opened: the first thought is taken for them, and the others bound it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from harnessdiff.analyse.network.values import rated
from harnessdiff.model.harness import Device, Harness
from harnessdiff.model.parts import Load
from harnessdiff.model.quantity import Quantity

NO_PICKS: Mapping[str, int] = MappingProxyType({})


def thoughts_of(harness: Harness) -> dict[str, int]:
    """How many thoughts there are about the contents of each device that may be one of several."""
    return {
        device.id: len(device.hypotheses)
        for device in harness.devices()
        if not device.parts and len(device.hypotheses) > 1
    }


def supposed(harness: Harness, picks: Mapping[str, int] = NO_PICKS) -> Harness:
    """A harness whose devices of unknown contents hold what a hypothesis says.

    Parameters
    ----------
    harness : Harness
    picks : mapping of str to int, optional
        Number of the hypothesis by device; the first where there is none.

    Returns
    -------
    Harness
        The same one where no device needs it.
    """
    elements = [
        _supposed(element, picks.get(element.id, 0)) if isinstance(element, Device) else element
        for element in harness.elements
    ]
    if all(one is other for one, other in zip(elements, harness.elements, strict=True)):
        return harness
    return Harness.of(elements, set(harness.incidences))


def _supposed(device: Device, pick: int) -> Device:
    if device.parts or not device.hypotheses:
        return device
    return replace(device, parts=device.hypotheses[pick].parts)


def may_draw_A(device: Device | None, part: Load, drawn_A: float, *, at_rest: bool) -> Quantity:
    """What a load may draw over all that the contents of its device may be.

    Parameters
    ----------
    device : Device or None
        As recorded.
    part : Load
        As it was taken to be.
    drawn_A : float
        What it draws as it was taken to be. [A]
    at_rest : bool
        Whether that is what it draws at rest.

    Returns
    -------
    Quantity
        Exactly `drawn_A` where its contents are known; else with the bounds that the hypotheses and
        the range of the rating leave. [A]
    """
    draws = [drawn_A]
    for hypothesis in device.hypotheses if device is not None and not device.parts else ():
        same = [one for one in hypothesis.parts if isinstance(one, Load) and one.between == part.between]
        draws.append(sum(_draws_A(one, at_rest=at_rest) for one in same))
    own = part.rest_A if at_rest else part.rated_A
    draws += [bound for bound in (own.low, own.high) if bound is not None and own.exact is None]
    return Quantity(low=min(draws), high=max(draws))


def _draws_A(part: Load, *, at_rest: bool) -> float:
    if at_rest and part.rest_A.known:
        return part.rest_A.high if part.rest_A.high is not None else part.rest_A.low or 0.0
    return rated(part)[1]
