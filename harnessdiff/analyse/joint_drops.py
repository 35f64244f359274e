"""What a voltage that was read over joints under load says of them.

At rest nothing flows, and a joint that hangs by three strands shows the whole voltage behind it: only a
drop under load, at a current that is known, clears one or gives its resistance.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import reduce

import numpy as np
from scipy.optimize import brentq

from harnessdiff.analyse.network.band import at_level, magnitude, spread
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.laws import Floats, Law, Laws
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.model.harness import Joint
from harnessdiff.model.range import Range
from harnessdiff.tables.measuring import drop_limit_V, measuring

LEAST_OHM, MOST_OHM = 1e-6, 1e5
"""Between these the resistance of a joint is searched."""
LEAST_EXPONENT = -3.0
"""Power of ten of the resistance from which the search goes up. [Ω]"""
LEAST_V = 1e-3
"""Voltage from which what is across a load says what resistance it is."""
SAME_SHARE = 0.02
"""Currents that differ by less, as found, are one current."""
PASSED = frozenset({"conductor", "contact", "bond", "common", "mated", "link", "fuse", "damage", "resistor", "output"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """What a drop under load shows.

    Parameters
    ----------
    clears : tuple of str
        Joints that lose no more than a sound one.
    measured : tuple of (str, Range)
        The one joint between the probes, and its resistance. [Ω]
    """

    clears: tuple[str, ...] = ()
    measured: tuple[tuple[str, Range], ...] = ()


def drop_over(
    now: Settled,
    one: tuple[str, ...],
    other: tuple[str, ...],
    read_V: Range,
    settled: Mapping[str, Settled],
    *,
    levels_V: Mapping[str, Range],
    clamped_A: Mapping[int, Range],
) -> Drop:
    """Judge a voltage that was read under load between two points that solid parts join.

    A joint is cleared where the whole drop is within what one of its sort may lose, and it carried a
    good share of the greatest current that it carries in any condition. Its resistance is that at
    which the network loses what was read, between the bounds of all else.

    Parameters
    ----------
    now : Settled
        The network as it was for the reading.
    one, other : tuple of str
        Nodes that each probe may have been on.
    read_V : Range
        [V]
    settled : mapping
        The network as found in all conditions.
    levels_V : mapping
        As for `band`.
    clamped_A : mapping
        Branches through which a current was read in the same state of things, and what it was. [A]

    Returns
    -------
    Drop
    """
    way = way_between(now, one, other)
    joints = [name for name in elements_of_way(way) if isinstance(now.network.harness.by_id.get(name), Joint)]
    volts = magnitude(read_V)
    cleared, measured = [], []
    for joint in joints:
        search = _Search(now, way, (joint,), levels_V)
        found = search.found(volts, clamped_A)
        if found is None:
            continue
        ohm, current = found
        if ohm.low > search.before.low or ohm.high < search.before.high:
            measured.append((joint, ohm))
        if all(
            volts.low <= drop_limit_V(sort_of(now.network, contact))
            and current.low >= measuring("loaded_share") * _greatest_A(settled, contact) > 0
            for contact in search.contacts
        ):
            cleared.append(joint)
    return Drop(clears=tuple(cleared), measured=_together(now, way, measured, levels_V, volts))


def _together(
    now: Settled,
    way: list[tuple[Branch, float]],
    measured: list[tuple[str, Range]],
    levels_V: Mapping[str, Range],
    volts: Range,
) -> tuple[tuple[str, Range], ...]:
    """What several joints on a way likeliest have, so that all of them lose what was read: each alike."""
    if len(measured) < 2:
        return tuple(measured)
    whole = _Search(now, way, tuple(joint for joint, _ in measured), levels_V).likeliest_ohm(volts.nominal)
    if whole is None:
        return tuple(measured)
    share = whole / len(measured)
    return tuple((joint, replace(ohm, nominal=min(max(share, ohm.low), ohm.high))) for joint, ohm in measured)


class _Search:
    """Finds the resistance of joints on a way at which the way loses a voltage."""

    def __init__(
        self, now: Settled, way: list[tuple[Branch, float]], joints: tuple[str, ...], levels_V: Mapping[str, Range]
    ) -> None:
        self.now, self.levels_V = now, levels_V
        self.contacts = [step for step, _ in way if step.element in joints]
        self.at = [step.number for step in self.contacts]
        self.others = [step.number for step, _ in way if step.element not in joints and step.value.ohm is not None]
        first, last = way[0], way[-1]
        self.ends = (
            first[0].one if first[1] > 0 else first[0].other,
            last[0].other if last[1] > 0 else last[0].one,
        )  # fmt: skip
        self.loads = [load.number for load in now.network.loads]
        bounds = [step.value.ohm for step in self.contacts if step.value.ohm is not None]
        self.before = reduce(Range.__add__, bounds)

    def found(self, volts: Range, clamped_A: Mapping[int, Range]) -> tuple[Range, Range] | None:
        """Resistance [Ω] and current [A] of the joint; None where no resistance makes the way lose so much."""
        low, high = spread(self.now)
        middle, most = self._without_constant_power(self.now.laws), self._laws(high, low, 1.0)
        sides = ((most, volts.low), (middle, volts.nominal), (self._laws(low, high, -1.0), volts.high))
        ohms = [self._ohm(laws, target) for laws, target in sides]
        if ohms[0] is None:
            return None
        least, nominal, greatest = (math.inf if ohm is None else ohm for ohm in ohms)
        amps = sorted(
            self._solved(laws, ohm)[1] for (laws, _), ohm in zip(sides, (least, nominal, greatest), strict=True)
        )
        current = Range(low=amps[0], nominal=amps[1], high=amps[2], guaranteed=False)
        for number, read_A in clamped_A.items():
            if math.isclose(abs(float(self.now.solution.current_A[number])), self._as_found_A, rel_tol=SAME_SHARE):
                current = read_A
                least = self._left_ohm(volts.low, read_A.high, "high")
                nominal = self._left_ohm(volts.nominal, read_A.nominal, "nominal")
                greatest = self._left_ohm(volts.high, read_A.low, "low")
        ordered = sorted((least, nominal, greatest))
        return Range(low=ordered[0], nominal=ordered[1], high=ordered[2], guaranteed=False), current

    def likeliest_ohm(self, volts: float) -> float | None:
        """Resistance of all of them at which the way loses a voltage with all else as it is taken; None for none."""
        return self._ohm(self._without_constant_power(self.now.laws), volts)

    @property
    def _as_found_A(self) -> float:
        return abs(float(self.now.solution.current_A[self.at[0]]))

    def _left_ohm(self, volts: float, current_A: float, bound: str) -> float:
        """What is left for the joint of a drop at a current, the rest of the way at a bound of its resistance."""
        if current_A <= 0:
            return math.inf
        branches = self.now.network.branches
        others = sum(float(getattr(branches[number].value.ohm, bound)) for number in self.others)
        return max(volts / current_A - others, 0.0)

    def _laws(self, of_loads: Floats, of_way: Floats, side: float) -> Laws:
        laws = at_level(self.now, self.levels_V, side)
        numbers = laws.numbers.copy()
        numbers[self.loads], numbers[self.others] = of_loads[self.loads], of_way[self.others]
        return self._without_constant_power(Laws(law=laws.law, numbers=numbers))

    def _without_constant_power(self, laws: Laws) -> Laws:
        """Constant powers as the resistances that they are as found: a bad joint shall not collapse the supply here."""
        circuit, solution = self.now.network.circuit, self.now.solution
        across = solution.voltage_V[circuit.one] - solution.voltage_V[circuit.other]
        taken = (laws.law == int(Law.POWER)) & (np.abs(across) > LEAST_V)
        law, numbers = laws.law.copy(), laws.numbers.copy()
        law[taken] = int(Law.RESISTOR)
        numbers[taken, 0] = np.abs(laws.currents(across)[0][taken] / across[taken])
        return Laws(law=law, numbers=numbers)

    def _solved(self, laws: Laws, ohm: float) -> tuple[float, float]:
        """What the way loses [V], and the current [A] of the joint, with a resistance of the joint. [Ω]"""
        numbers = laws.numbers.copy()
        numbers[self.at, 0] = len(self.at) / min(max(ohm, LEAST_OHM), MOST_OHM)
        circuit, index = self.now.network.circuit, self.now.network.index
        found = circuit.solve(Laws(law=laws.law, numbers=numbers), self.now.active, self.now.solution.voltage_V)
        lost = found.voltage_V[index[self.ends[0]]] - found.voltage_V[index[self.ends[1]]]
        return abs(float(lost)), abs(float(found.current_A[self.at[0]]))

    def _ohm(self, laws: Laws, target_V: float) -> float | None:
        """The resistance at which the way loses a voltage; 0 where it does without any, None where with none."""

        def missing_V(exponent: float) -> float:
            return self._solved(laws, 10.0**exponent)[0] - target_V

        least, greatest = math.log10(LEAST_OHM), max(math.log10(self.before.nominal), LEAST_EXPONENT)
        if missing_V(least) >= 0:
            return 0.0
        while missing_V(greatest) <= 0:
            if greatest > math.log10(MOST_OHM):
                return None
            least, greatest = greatest, greatest + 1
        return float(10.0 ** brentq(missing_V, least, greatest, xtol=1e-3))


def _greatest_A(settled: Mapping[str, Settled], step: Branch) -> float:
    """The greatest current through a branch in any condition; infinite where it is not there as found."""
    found = [float("inf")]
    for one in settled.values():
        branches = one.network.branches
        same = step.number < len(branches) and branches[step.number].element == step.element
        found.append(abs(one.current_A(branches[step.number])) if same else float("inf"))
    return max(found[1:], default=found[0])


def sort_of(network: Network, contact: Branch) -> str:
    """Which limit a joint has: ``ground``, ``joint_large`` or ``joint``."""
    if contact.one in network.metal:
        return "ground"
    ends = {contact.one, contact.other}
    sizes = (
        getattr(network.harness.by_id[step.element], "size_mm2", None)
        for step in network.branches
        if step.kind == "conductor" and ends & {step.one, step.other}
    )
    large = any(size is not None and (size.low or 0.0) >= measuring("large_conductor") for size in sizes)
    return "joint_large" if large else "joint"


def way_between(now: Settled, one: tuple[str, ...], other: tuple[str, ...]) -> list[tuple[Branch, float]]:
    """The fewest parts that join two points and let current pass, with 1 or -1 by the direction walked.

    Parameters
    ----------
    now : Settled
    one, other : tuple of str
        Nodes, any of which will do.

    Returns
    -------
    list of (Branch, float)
        Empty where nothing joins them without a load or a source between.
    """
    at: dict[str, list[Branch]] = {}
    for branch in now.network.branches:
        if branch.kind in PASSED and now.active[branch.number]:
            at.setdefault(branch.one, []).append(branch)
            at.setdefault(branch.other, []).append(branch)
    came: dict[str, tuple[str, Branch, float] | None] = dict.fromkeys(one)
    front = deque(one)
    while front:
        node = front.popleft()
        if node in other:
            way = []
            while (step := came[node]) is not None:
                node = step[0]
                way.append((step[1], step[2]))
            return way[::-1]
        for branch in at.get(node, ()):
            far, sign = (branch.other, 1.0) if branch.one == node else (branch.one, -1.0)
            if far not in came:
                came[far] = (node, branch, sign)
                front.append(far)
    return []


def elements_of_way(way: list[tuple[Branch, float]]) -> tuple[str, ...]:
    """Elements on a way, each once, in the order passed."""
    return tuple(dict.fromkeys(step.element for step, _ in way))
