"""What a reading should show, by the network of the as-found harness with what was done for it."""

from __future__ import annotations

import contextlib
import itertools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TypeAlias

from harnessdiff.analyse.clamps import jaws
from harnessdiff.analyse.joint_drops import SAME_SHARE, Drop, drop_over
from harnessdiff.analyse.meters import read_range
from harnessdiff.analyse.network.band import Band, Output, band, magnitude
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.dead import dead_resistance_ohm
from harnessdiff.analyse.network.settle import ASLEEP, AT_REST, Settled, settle
from harnessdiff.analyse.network.values import rated
from harnessdiff.analyse.network.way import Ways, elements_of
from harnessdiff.analyse.probing import Changed, NotModelledError, changed, element_id, nodes_of
from harnessdiff.analyse.unmodelled import batteries, draws_besides, key_off
from harnessdiff.model.harness import is_added
from harnessdiff.model.parts import Load, Source
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Condition, Reference
from harnessdiff.model.survey import Reading, Survey
from harnessdiff.tables.measuring import measuring

Nodes: TypeAlias = tuple[str, ...]

MOST_PAIRS = 12
"""Pairs of places that two probes on conductors may have been at, of which all are looked at."""
LIVE_V = 0.05
"""Voltage from which an ohmmeter is led astray."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """What is predicted, and what it rests on."""

    range: Range
    of: tuple[str, ...]
    drop: Drop = field(default_factory=Drop)


@dataclass(frozen=True, kw_only=True)
class Bench:
    """The as-found harness in all conditions, for the readings of a survey to be predicted on.

    Parameters
    ----------
    network : Network
    settled : mapping
        Condition id to the network in it.
    survey : Survey
    reference : Reference
    """

    network: Network
    settled: Mapping[str, Settled]
    survey: Survey
    reference: Reference

    def predicted(self, reading: Reading, unit: str, read: Range) -> tuple[Changed, Predicted]:
        """What is predicted for a reading, on the network as it was for it.

        Parameters
        ----------
        reading : Reading
        unit : str
            ``V``, ``A``, ``ohm`` or ``1``.
        read : Range
            In that unit.

        Returns
        -------
        tuple of (Changed, Predicted)

        Raises
        ------
        NotModelledError
            With the code of the reason, as in `readings.Compared`.
        """
        if reading.stage == "after_repair":
            raise NotModelledError("after_repair")
        base = self.settled.get(reading.condition or (ASLEEP if unit == "ohm" else ""))
        if base is None:
            raise NotModelledError("no_condition")
        made = changed(self.network, reading.manipulations)
        alone = not made.opened and made.network is self.network
        now = base if alone else self._settled(made, base.condition)
        return made, self._predicted(reading, unit, read, now)

    def charges(self, reading: Reading) -> bool:
        """Whether what gives current in the condition of a reading is modelled; a running engine may add to it."""
        base = self.settled.get(reading.condition or "")
        if base is None or base.condition.engine != "running":
            return True
        return any(
            branch.kind == "source" and isinstance(branch.part, Source) and branch.part.model == "alternator"
            for branch in self.network.branches
        )

    def with_other_positions(self, reading: Reading, unit: str, read: Range) -> Iterator[tuple[str, Predicted]]:
        """The same with each added switch in each other position, where the condition does not say one."""
        condition = self.settled[reading.condition or ASLEEP].condition
        made = changed(self.network, reading.manipulations)
        said = dict(condition.positions)
        for device in self.network.harness.devices():
            if not is_added(device.id) or device.id in said:
                continue
            for position in device.positions:
                if position != device.rest_position:
                    other = replace(condition, positions=(*condition.positions, (device.id, position)))
                    with contextlib.suppress(NotModelledError):
                        yield device.id, self._predicted(reading, unit, read, self._settled(made, other))

    def _settled(self, made: Changed, condition: Condition) -> Settled:
        before = self.settled.get(condition.after or "")
        start = AT_REST if before is None else before.state
        return settle(made.network, condition, start, opened=made.opened, guess=self.settled.get(condition.id))

    def _predicted(self, reading: Reading, unit: str, read: Range, now: Settled) -> Predicted:
        if now.oscillates or not now.solution.converged:
            raise NotModelledError("does_not_settle")
        if unit == "ohm":
            return self._resistance(now, *self._points(reading, now))
        if not any(branch.kind == "source" and now.conducts(branch) for branch in now.network.branches):
            raise NotModelledError("no_source")
        if unit == "A":
            return self._current(reading, now)
        if unit == "1":
            return self._share(reading, now)
        return self._voltage(reading, read, now, *self._points(reading, now))

    def _points(self, reading: Reading, now: Settled) -> tuple[Nodes, Nodes]:
        if len(reading.between) < 2:
            raise NotModelledError("one_point")
        one, other = (nodes_of(now.network, probe) for probe in reading.between)
        return one, other

    def _band(self, reading: Reading, now: Settled, output: Output) -> Band:
        return band(now, output, self._levels_V(reading), draws_besides(now, self.reference))

    def _voltage(self, reading: Reading, read: Range, now: Settled, one: Nodes, other: Nodes) -> Predicted:
        bands = [
            self._band(reading, now, Output(nodes={a: 1.0, b: -1.0} if a != b else {}))
            for a, b in _pairs(now, one, other)
        ]
        held = [each.range for each in bands if each.seen_ohm <= measuring("hangs_loose")]
        if not held:
            raise NotModelledError("floats")
        drop = Drop()
        if reading.loaded == "yes":
            clamped, levels = self._clamped_A(reading, now), self._levels_V(reading)
            drop = drop_over(now, one, other, read, self.settled, levels_V=levels, clamped_A=clamped)
        return Predicted(range=Range.hull(held), of=_ways(now, one, other), drop=drop)

    def _current(self, reading: Reading, now: Settled) -> Predicted:
        if len(reading.between) > 1 and not reading.around:
            raise NotModelledError("ammeter_in_series")
        outputs = jaws(now.network, reading.around or reading.between)
        ranges = [magnitude(self._band(reading, now, output).range) for output in outputs]
        passed = (now.network.branches[number].element for output in outputs for number in output.branches)
        return Predicted(range=Range.hull(ranges), of=tuple(dict.fromkeys(passed)))

    def _resistance(self, now: Settled, one: Nodes, other: Nodes) -> Predicted:
        pairs = _pairs(now, one, other)
        volts = (abs(_difference_V(now, a, b)) for a, b in pairs if _tied(now, a, b))
        if max(volts, default=0.0) > LIVE_V:
            raise NotModelledError("supply_on")
        found = Range.hull(dead_resistance_ohm(now, a, b) for a, b in pairs)
        ends = tuple(dict.fromkeys(now.network.harness.device_of(node) for node in (one[0], other[0])))
        return Predicted(range=found, of=ends)

    def _share(self, reading: Reading, now: Settled) -> Predicted:
        """How much of its rated voltage the load that was looked at has."""
        names = {element_id(now.network.harness, probe.device or "") for probe in reading.between}
        names |= {now.network.harness.device_of(probe.terminal) for probe in reading.between if probe.terminal}
        loads = [load for load in now.network.loads if load.element in names]
        if not loads:
            raise NotModelledError("word_only")
        ranges = [magnitude(self._band(reading, now, _across(load)).range) for load in loads if now.conducts(load)]
        return Predicted(
            range=Range.hull(ranges or [Range.exactly(0.0)]), of=tuple(dict.fromkeys(load.element for load in loads))
        )

    def _clamped_A(self, reading: Reading, now: Settled) -> dict[int, Range]:
        """Branches whose current was read in the same state of things. [A]"""
        found: dict[int, Range] = {}
        for one in self.survey.readings:
            same = (one.condition, one.visit, one.manipulations) == (
                reading.condition, reading.visit, reading.manipulations,
            )  # fmt: skip
            if same and one.current_A.known and (one.around or len(one.between) == 1):
                with contextlib.suppress(NotModelledError):
                    outputs = jaws(now.network, one.around or one.between)
                    alone = [number for output in outputs if len(output.branches) == 1 for number in output.branches]
                    currents = [abs(float(now.solution.current_A[number])) for number in alone]
                    if currents and max(currents) <= min(currents) * (1 + SAME_SHARE):
                        read = magnitude(read_range(one.current_A, "A", one.instrument))
                        found.update(dict.fromkeys(alone, read))
        return found

    def _levels_V(self, reading: Reading) -> dict[str, Range]:
        """Batteries whose voltage at rest was read on the same visit."""
        return {
            device: level
            for device, visit, source, level in self._battery_readings
            if visit == reading.visit and source != reading.id
        }

    @cached_property
    def _battery_readings(self) -> tuple[tuple[str, str | None, str, Range], ...]:
        found = []
        for reading in self.survey.readings:
            given = self.settled.get(reading.condition or "")
            if reading.loaded == "yes" or given is None or not key_off(given.condition) or len(reading.between) != 2:
                continue
            points = tuple(probe.terminal for probe in reading.between)
            for one in batteries(self.network):
                if points == (one.one, one.other) and reading.voltage_V.known:
                    level = read_range(reading.voltage_V, "V", reading.instrument)
                    if math.isfinite(level.high - level.low):
                        found.append((one.element, reading.visit, reading.id, level))
        return tuple(found)


def _tied(now: Settled, one: str, other: str) -> bool:
    """Whether a voltage between two nodes is one that something holds."""
    part = now.network.circuit.parts(now.active)
    return bool(part[now.network.index[one]] == part[now.network.index[other]])


def _difference_V(now: Settled, one: str, other: str) -> float:
    voltage, index = now.solution.voltage_V, now.network.index
    return float(voltage[index[one]] - voltage[index[other]])


def _pairs(now: Settled, one: Nodes, other: Nodes) -> list[tuple[str, str]]:
    """Pairs of places of two probes; of very many those that differ least and most."""
    pairs = sorted(itertools.product(one, other), key=lambda pair: (_difference_V(now, *pair), pair))
    half = MOST_PAIRS // 2
    return pairs if len(pairs) <= MOST_PAIRS else [*pairs[:half], *pairs[-half:]]


def _ways(now: Settled, one: Nodes, other: Nodes) -> tuple[str, ...]:
    """Elements on the ways by which both points hang on a source."""
    ways = Ways(now)
    passed: list[str] = []
    for node in (one[0], other[0]):
        passed += elements_of(ways.back(node) if node in now.network.metal else ways.feed(node))
    return tuple(dict.fromkeys(passed))


def _across(load: Branch) -> Output:
    """Voltage over a load as a share of its rated one."""
    assert isinstance(load.part, Load)
    share = 1 / rated(load.part)[0]
    return Output(nodes={load.one: share, load.other: -share})
