"""Made-up networks to solve: written by hand, or drawn at random with every kind of element in them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import hypothesis.strategies as st
import numpy as np

from harnessdiff.analyse.network.circuit import Circuit, Solution
from harnessdiff.analyse.network.laws import Bools, Law, Laws

GROUND = 0


@dataclass(frozen=True, slots=True)
class Element:
    """One element: its law, its two nodes, its numbers, and whether it conducts."""

    law: Law
    one: int
    other: int
    numbers: tuple[float, ...]
    active: bool = True


def resistor(one: int, other: int, ohm: float, *, active: bool = True) -> Element:
    """A resistor."""
    return Element(Law.RESISTOR, one, other, (1 / ohm,), active)


@dataclass(frozen=True, slots=True)
class Net:
    """A network; node 0 is its ground unless it says otherwise."""

    elements: tuple[Element, ...]
    nodes: int
    ground: int = GROUND
    floating: frozenset[int] = field(default=frozenset())

    def circuit(self) -> Circuit:
        """Its shape."""
        one = np.array([each.one for each in self.elements], dtype=np.int64)
        other = np.array([each.other for each in self.elements], dtype=np.int64)
        return Circuit(one, other, self.nodes, self.ground)

    def laws(self) -> Laws:
        """What its elements follow."""
        numbers = np.zeros((len(self.elements), 4))
        for row, each in enumerate(self.elements):
            numbers[row, : len(each.numbers)] = each.numbers
        return Laws(law=np.array([int(each.law) for each in self.elements], dtype=np.int64), numbers=numbers)

    def active(self) -> Bools:
        """Which of its elements conduct."""
        return np.array([each.active for each in self.elements], dtype=bool)

    def solved(self) -> Solution:
        """What comes out."""
        return self.circuit().solve(self.laws(), self.active())


def behind(ohm: float, share: float) -> Net:
    """A battery, a resistor, and behind both a load of constant power: a share of the most that can be drawn there.

    That is E²/4R, drawn at E/2 (maximum power theorem).
    """
    volts, inner = 12.6, 0.01
    power = share * volts**2 / 4 / (inner + ohm)
    battery, load = (volts, 1 / inner, 1 / 0.15), (power, 3.0, 1.0)
    return Net((Element(Law.BATTERY, 1, 0, battery), resistor(1, 2, ohm), Element(Law.POWER, 2, 0, load)), 3)


def with_every_kind(seed: int) -> Net:
    """A network drawn at random in which every kind of element occurs.

    Three sources feed it: a battery, a second one that takes charge, and a source that may reach its
    limit. Nodes beyond the open contact hang on a resistor of their own; the last three nodes float.
    """
    draw = np.random.default_rng(seed)
    core = int(draw.integers(6, 14))
    dead, floating = core, core + 1

    def ohm(least: float, most: float) -> float:
        return float(np.exp(draw.uniform(np.log(least), np.log(most))))

    def node(*but: int) -> int:
        return int(draw.choice([each for each in range(1, core) if each not in but]))

    found = [resistor(int(draw.integers(1, each)), each, ohm(1e-3, 0.3)) for each in range(2, core)]
    for _ in range(int(draw.integers(2, 6))):
        one = node()
        found.append(resistor(one, node(one), ohm(0.01, 5)) if draw.random() < 0.7 else resistor(one, 0, ohm(2, 500)))
    full, charged, limited = node(), node(), node()
    found += [
        Element(Law.BATTERY, full, GROUND, (float(draw.uniform(12.2, 12.9)), 1 / 0.006, 1 / 0.15)),
        Element(Law.BATTERY, charged, GROUND, (float(draw.uniform(11, 12)), 1 / 0.01, 1 / 0.2)),
        Element(Law.SOURCE, limited, GROUND, (float(draw.uniform(13.5, 14.6)), 50.0, 0.0, float(draw.uniform(5, 60)))),
    ]
    for forward in (1, -1):
        one = node()
        first, second = (one, GROUND if draw.random() < 0.2 else node(one))[::forward]
        found.append(Element(Law.DIODE, first, second, (float(draw.uniform(0.3, 0.8)), 1 / 0.01)))
    for _ in range(int(draw.integers(1, 4))):
        one, volts, amps = node(), 12.0, ohm(0.1, 5)
        other = GROUND if draw.random() < 0.7 else node(one)
        found.append(Element(Law.FILAMENT, one, other, (volts, amps, 10 * amps / volts)))
    for _ in range(int(draw.integers(1, 3))):
        found.append(Element(Law.CURRENT, node(), GROUND, (ohm(0.05, 8), 3.0, 1.0)))
    one = node()
    found.append(Element(Law.POWER, one, GROUND, (ohm(3, 120), 3.0, 1.0)))
    one = node()
    found.append(resistor(one, node(one), 0.005))
    found += [
        resistor(node(), dead, 0.005, active=False),
        resistor(dead, GROUND, ohm(1, 100)),
        Element(Law.BATTERY, floating, floating + 1, (12.0, 1 / 0.01, 1 / 0.2)),
        Element(Law.FILAMENT, floating + 1, floating + 2, (12.0, 1.75, 10 * 1.75 / 12)),
        resistor(floating + 2, floating, ohm(0.01, 5)),
    ]
    return Net(tuple(found), core + 4, floating=frozenset(range(floating, core + 4)))


def within(least: float, most: float) -> st.SearchStrategy[float]:
    return st.floats(least, most, allow_subnormal=False)


OHM = within(1e-3, 100)
SIGN = st.sampled_from([1.0, -1.0])


def linear(nodes: int) -> st.SearchStrategy[Element]:
    """A resistor, or a battery that gives and takes alike."""
    ends = st.tuples(st.integers(0, nodes - 1), st.integers(0, nodes - 1)).filter(lambda both: both[0] != both[1])
    battery = st.builds(
        lambda both, volts, ohm: Element(Law.BATTERY, both[0], both[1], (volts, 1 / ohm, 1 / ohm)),
        ends, within(-15, 15), within(0.01, 1),
    )  # fmt: skip
    return st.one_of(st.builds(lambda both, ohm: resistor(both[0], both[1], ohm), ends, OHM), battery)


def of_any_kind(nodes: int) -> st.SearchStrategy[Element]:
    """An element of any kind between two nodes; one in a few does not conduct."""
    numbers: dict[Law, st.SearchStrategy[tuple[float, ...]]] = {
        Law.RESISTOR: st.builds(lambda ohm: (1 / ohm,), OHM),
        Law.SOURCE: st.tuples(within(0, 28), within(1, 100), st.just(0.0), within(0.01, 100)),
        Law.DIODE: st.tuples(within(0.2, 1), st.just(100.0)),
        Law.FILAMENT: st.builds(lambda amps: (12.0, amps, 10 * amps / 12), within(0.05, 10)),
        Law.CURRENT: st.tuples(within(0, 10), st.just(3.0), SIGN),
        Law.POWER: st.tuples(within(0.1, 200), st.just(3.0), SIGN),
        Law.BATTERY: st.builds(lambda volts, ohm: (volts, 1 / ohm, 1 / 0.15), within(0, 28), within(0.005, 0.1)),
    }
    node = st.integers(0, nodes - 1)
    conducts = st.sampled_from([True] * 5 + [False])

    def element(law: Law) -> st.SearchStrategy[Element]:
        return st.builds(lambda one, more, own, is_on: Element(law, one, (one + more) % nodes, own, is_on),
                         node, st.integers(1, nodes - 1), numbers[law], conducts)  # fmt: skip

    return st.sampled_from(list(Law)).flatmap(element)


@st.composite
def networks(
    draw: st.DrawFn, kind: Callable[[int], st.SearchStrategy[Element]] = of_any_kind, *, joined: bool = False
) -> Net:
    """A network of few nodes; `joined`: every node hangs on ground by way of resistors."""
    nodes = draw(st.integers(2, 8))
    elements = draw(st.lists(kind(nodes), min_size=1, max_size=14))
    if joined:
        elements += [resistor(draw(st.integers(0, node - 1)), node, draw(OHM)) for node in range(1, nodes)]
    return Net(tuple(elements), nodes)
