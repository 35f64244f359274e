"""Currents by the millivolts over fuses, and what of the battery's current passes none of them.

A fuse read at its test eyes wakes no module. What the clamp on the battery cable shows and the fuses do not add
up to flows past the fuse box: over a cable at the battery, the alternator's diodes, a second battery.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from harnessdiff.analyse.clamps import jaws
from harnessdiff.analyse.feeds import feed_of, live_end
from harnessdiff.analyse.fuses import fuse_current_A
from harnessdiff.analyse.joint_drops import way_between
from harnessdiff.analyse.meters import digit, read_range
from harnessdiff.analyse.network.band import magnitude
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.way import Ways
from harnessdiff.analyse.probing import NotModelledError, nodes_of
from harnessdiff.analyse.unmodelled import guessed_draws, main_battery
from harnessdiff.graph import slot_of
from harnessdiff.model.harness import Device, Inline
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.model.survey import Reading, Survey

MILLI = 1000.0
LIVE_SHARE = 0.5
"""Share of the system voltage from which the end of a lead is live."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseCurrent:
    """The current through a fuse by the voltage over it; of a genuine fuse only.

    Parameters
    ----------
    reading : str
    fuse : str
        Element.
    condition, visit : str or None
    millivolt : Range
        Magnitude, by the instrument. [mV]
    current_A : Range
        [A]
    resolution_A : float
        The least that the meter can show over this fuse. [A]
    seen : bool
        False where it showed nothing, so that up to `resolution_A` may flow.
    """

    reading: str
    fuse: str
    condition: str | None
    visit: str | None
    millivolt: Range
    current_A: Range
    resolution_A: float
    seen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Reconciled:
    """The fuses that were read in one condition on one visit, beside the clamp on the battery's cables.

    ===================  ==========================================================
    no_clamp             nobody read the current of the battery
    through_fuses        all of it may pass the fuses that were read
    past_fuses           some of it does not
    more_than_clamp      the fuses carry more: one is not genuine, or something charges
    ===================  ==========================================================

    Parameters
    ----------
    condition, visit : str or None
    fuses : tuple of FuseCurrent
    nested : tuple of str
        Fuses that stand behind another that was read; they are not added up.
    sum_A : Range
        [A]
    clamp : str or None
        Reading.
    clamp_A, past_A : Range or None
        What the battery gives, and what of it passes none of the fuses. [A]
    code : str
        As above.
    unread_fuses : tuple of str
        Fuses that feed something and were not read.
    past : tuple of str
        What is fed without any fuse that was read, or any other, between it and a source: loads, other sources,
        leads not traced.
    """

    condition: str | None
    visit: str | None
    fuses: tuple[FuseCurrent, ...]
    nested: tuple[str, ...]
    sum_A: Range
    clamp: str | None
    clamp_A: Range | None
    past_A: Range | None
    code: str
    unread_fuses: tuple[str, ...]
    past: tuple[str, ...]


def fuse_currents(network: Network, survey: Survey) -> tuple[FuseCurrent, ...]:
    """Currents through fuses by the readings over them.

    Parameters
    ----------
    network : Network
        Of the as-found harness.
    survey : Survey

    Returns
    -------
    tuple of FuseCurrent
        In the order of the readings.
    """
    found = ((reading, _fuse_read(network, reading)) for reading in survey.readings)
    return tuple(_through(network, reading, fuse) for reading, fuse in found if fuse is not None)


def reconciled(network: Network, settled: Mapping[str, Settled], survey: Survey) -> tuple[Reconciled, ...]:
    """The fuses that were read, added up and held against the clamp, for each condition and visit.

    Parameters
    ----------
    network : Network
        Of the as-found harness.
    settled : mapping
        Condition id to that network in it.
    survey : Survey

    Returns
    -------
    tuple of Reconciled
        In the order of the readings.
    """
    by_state: dict[tuple[str, str | None], list[FuseCurrent]] = {}
    for one in fuse_currents(network, survey):
        if one.condition is not None and one.condition in settled:
            by_state.setdefault((one.condition, one.visit), []).append(one)
    return tuple(
        _reconciled(settled[condition], survey, condition, visit, fuses)
        for (condition, visit), fuses in by_state.items()
    )


def _fuse_read(network: Network, reading: Reading) -> Branch | None:
    """The fuse that a voltage was read over."""
    if not reading.voltage_V.known or len(reading.between) != 2 or reading.stage == "after_repair":
        return None
    try:
        one, other = (nodes_of(network, probe) for probe in reading.between)
    except NotModelledError:
        return None
    for branch in network.branches:
        if branch.kind == "fuse" and (
            (branch.one in one and branch.other in other) or (branch.one in other and branch.other in one)
        ):
            return branch
    return None


def _through(network: Network, reading: Reading, fuse: Branch) -> FuseCurrent:
    body, rating = body_and_rating(network, fuse)
    volts = magnitude(read_range(reading.voltage_V, "V", reading.instrument))
    step_mV = digit(volts.nominal, "V", reading.instrument) * MILLI
    seen = volts.nominal * MILLI >= step_mV
    step = fuse_current_A(step_mV, body, rating)
    low, middle, high = (fuse_current_A(volt * MILLI, body, rating) for volt in (volts.low, volts.nominal, volts.high))
    current = Range(low=low.low, nominal=middle.nominal, high=high.high, guaranteed=False)
    if not seen:
        current = Range(low=0.0, nominal=0.0, high=max(step.high, high.high), guaranteed=False)
    return FuseCurrent(
        reading=reading.id,
        fuse=fuse.element,
        condition=reading.condition,
        visit=reading.visit,
        millivolt=volts.scaled(MILLI),
        current_A=current,
        resolution_A=step.nominal,
        seen=seen,
    )


def body_and_rating(network: Network, fuse: Branch) -> tuple[str | None, Quantity]:
    """What is said of the body of a fuse, or of its holder, and its rating."""
    if isinstance(fuse.part, Inline):
        return fuse.part.body, fuse.part.rating_A
    device = network.harness.device(fuse.element)
    assert isinstance(device, Device)
    slot = network.harness.device(slot_of(network.harness, device.id))
    return device.body or (slot.body if slot is not None else None), device.rating_A


def _reconciled(
    settled: Settled, survey: Survey, condition: str, visit: str | None, fuses: list[FuseCurrent]
) -> Reconciled:
    network, ways = settled.network, Ways(settled)
    read = {one.fuse for one in fuses}
    numbers = {one.number for one in network.branches if one.kind == "fuse" and one.element in read}
    nested = tuple(sorted(_nested(settled, ways, numbers)))
    total = Range.exactly(0.0, guaranteed=False)
    counted: set[str] = set(nested)
    for one in fuses:
        if one.fuse not in counted:
            counted.add(one.fuse)
            total += one.current_A
    clamp = _clamp(network, survey, condition, visit)
    clamp_A = None if clamp is None else magnitude(read_range(clamp.current_A, "A", clamp.instrument))
    past_A = None if clamp_A is None else _less(clamp_A, total)
    unread, past = _fed_past(settled, ways, numbers)
    return Reconciled(
        condition=condition, visit=visit, fuses=tuple(fuses), nested=nested, sum_A=total,
        clamp=None if clamp is None else clamp.id, clamp_A=clamp_A, past_A=past_A,
        code=_code(clamp_A, total), unread_fuses=unread, past=past,
    )  # fmt: skip


def _code(clamp_A: Range | None, total: Range) -> str:
    if clamp_A is None:
        return "no_clamp"
    if total.low > clamp_A.high:
        return "more_than_clamp"
    return "past_fuses" if clamp_A.low > total.high else "through_fuses"


def _less(clamp_A: Range, total: Range) -> Range:
    """What is left of a current, not below nothing."""
    low, middle, high = (
        max(one, 0.0) for one in (clamp_A.low - total.high, clamp_A.nominal - total.nominal, clamp_A.high - total.low)
    )
    return Range(low=low, nominal=min(max(middle, low), high), high=high, guaranteed=False)


def _nested(settled: Settled, ways: Ways, read: set[int]) -> Iterator[str]:
    """Fuses behind another that was read."""
    for number in sorted(read):
        fuse = settled.network.branches[number]
        ahead = [
            feed.fuses for feed in (feed_of(ways, fuse.one), feed_of(ways, fuse.other)) if number not in feed.fuses
        ]
        if any(read & set(fuses) for fuses in ahead):
            yield fuse.element


def _clamp(network: Network, survey: Survey, condition: str, visit: str | None) -> Reading | None:
    """The reading of all that the battery of the vehicle gives."""
    battery = main_battery(network)
    if battery is None:
        return None
    for reading in survey.readings:
        if (reading.condition, reading.visit) != (condition, visit) or not reading.current_A.known:
            continue
        if reading.manipulations and any(one.kind != "locked_for" for one in reading.manipulations):
            continue
        try:
            outputs = jaws(network, reading.around or reading.between[:1])
        except NotModelledError:
            continue
        for pole in (battery.one, battery.other):
            every = {
                one.number
                for one in network.branches
                if pole in (one.one, one.other) and one.one != one.other and one.element != battery.element
            }
            if every and any(set(output.branches) == every for output in outputs):
                return reading
    return None


def _fed_past(settled: Settled, ways: Ways, read: set[int]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Fuses that were not read and feed something, and what is fed by no fuse at all."""
    network = settled.network
    unread: set[str] = set()
    past: set[str] = set()
    for element, node in _fed(settled):
        if node not in network.index:
            continue
        feed = feed_of(ways, node)
        if feed.source is None or feed.source == element or set(feed.fuses) & read:
            continue
        if feed.fuses:
            unread.add(network.branches[feed.fuses[-1]].element)
        else:
            past.add(element)
    past |= set(_sources_past(settled, read))
    return tuple(sorted(unread)), tuple(sorted(past))


def _sources_past(settled: Settled, read: set[int]) -> Iterator[str]:
    """Other sources that are joined to the battery past all fuses that were read."""
    battery = main_battery(settled.network)
    for branch in settled.network.branches:
        if battery is not None and branch.kind == "source" and branch.element != battery.element:
            way = way_between(settled, (battery.one,), (branch.one,))
            if way and not read & {step.number for step, _ in way}:
                yield branch.element


def _fed(settled: Settled) -> Iterator[tuple[str, str]]:
    """Everything that may draw from the battery, and the node by which it is fed."""
    network = settled.network
    for load in (*network.loads, *network.coils):
        if settled.conducts(load):
            yield load.element, live_end(settled, load)
    for device, draw in guessed_draws(settled):
        yield device, draw.one
    for conductor in network.harness.conductors():
        for open_end in conductor.open_ends:
            node = f"{conductor.id}#{open_end.end}"
            volts = settled.voltage_V(node)
            if open_end.loose is None and volts is not None and abs(volts) > LIVE_SHARE * network.system_V:
                yield conductor.id, node
