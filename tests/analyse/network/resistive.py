"""Small resistive networks, solved whole by dense algebra, to judge what is computed at their ports."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from harnessdiff.analyse.network.ports import Array
from harnessdiff.analyse.network.ranges import ranges
from harnessdiff.analyse.network.unknowns import (
    GROUND,
    Asked,
    Bounds,
    Branch,
    CurrentIn,
    PowerIn,
    Unknown,
    UnknownConductance,
    UnknownCurrent,
    VoltageBetween,
)


@dataclass(frozen=True, slots=True)
class Network:
    """Known branches and unknowns between nodes that are numbered from 0."""

    nodes: int
    known: tuple[Branch, ...]
    unknowns: tuple[Unknown, ...]

    def assembled(self, values: Array) -> tuple[Array, Array]:
        """Conductance matrices and currents into the nodes, for rows of values of the unknowns; ground is left out."""
        cases = len(values)
        matrix, currents = np.zeros((cases, self.nodes + 1, self.nodes + 1)), np.zeros((cases, self.nodes + 1))

        def add(plus: int, minus: int, conductance: Array | float, emf_V: float) -> None:
            for a, b in ((plus, minus), (minus, plus)):
                matrix[:, a, a] += conductance
                matrix[:, a, b] -= conductance
            currents[:, plus] += conductance * emf_V
            currents[:, minus] -= conductance * emf_V

        for branch in self.known:
            add(branch.plus, branch.minus, branch.conductance_S, branch.emf_V)
        for value, unknown in zip(values.T, self.unknowns, strict=True):
            if isinstance(unknown, UnknownConductance):
                add(unknown.plus, unknown.minus, value, unknown.emf_V)
            else:
                currents[:, unknown.plus] -= value
                currents[:, unknown.minus] += value
        return matrix[:, :-1, :-1], currents[:, :-1]

    def read(self, asked: Sequence[Asked], values: Array) -> Array:
        """Each quantity in each case, shape (cases, asked)."""
        matrix, currents = self.assembled(values)
        voltages = np.linalg.solve(matrix, currents[:, :, None])[:, :, 0]
        voltages = np.hstack((voltages, np.zeros((len(values), 1))))
        found = []
        for each in asked:
            if isinstance(each, VoltageBetween):
                found.append(voltages[:, each.plus] - voltages[:, each.minus])
                continue
            if isinstance(each.branch, int):
                unknown, conductance = self.unknowns[each.branch], values[:, each.branch]
                assert isinstance(unknown, UnknownConductance)
                plus, minus, emf_V = unknown.plus, unknown.minus, unknown.emf_V
            else:
                plus, minus, emf_V = each.branch.plus, each.branch.minus, each.branch.emf_V
                conductance = np.full(len(values), each.branch.conductance_S)
            across = voltages[:, plus] - voltages[:, minus] - emf_V
            found.append(conductance * across ** (2 if isinstance(each, PowerIn) else 1))
        return np.array(found).T

    @property
    def box(self) -> Array:
        """Least, nominal and greatest values, shape (3, unknowns)."""
        return (
            np.array(
                [
                    (each.low_S, each.nominal_S, each.high_S)
                    if isinstance(each, UnknownConductance)
                    else (each.low_A, each.nominal_A, each.high_A)
                    for each in self.unknowns
                ]
            )
            .reshape(-1, 3)
            .T
        )

    def ranges(self, asked: Sequence[Asked], span_V: tuple[float, float] = (-60, 60)) -> tuple[Bounds, ...]:
        """What is under test, given this network."""
        matrix, currents = self.assembled(self.box[1:2])
        voltages = np.linalg.solve(matrix[0], currents[0])
        return ranges(lambda right: np.linalg.solve(matrix[0], right), voltages, self.unknowns, asked, span_V=span_V)

    def everything(self) -> list[Asked]:
        """All that can be asked."""
        conductances = [place for place, each in enumerate(self.unknowns) if isinstance(each, UnknownConductance)]
        branches: list[Branch | int] = [*self.known, *conductances]
        asked: list[Asked] = [VoltageBetween(plus=node) for node in range(self.nodes)]
        asked.append(VoltageBetween(plus=0, minus=self.nodes - 1))
        for branch in branches:
            asked += [CurrentIn(branch=branch), PowerIn(branch=branch)]
        return asked

    def corners(self) -> Array:
        """All corners of the box."""
        ends = [(low, high) for low, _, high in self.box.T]
        return np.array(np.meshgrid(*ends, indexing="ij")).reshape(len(ends), -1).T if ends else np.zeros((1, 0))

    def cases(self, count: int, seed: int) -> Array:
        """Random choices within the box: half of them anywhere, half at random corners."""
        generator = np.random.default_rng(seed)
        low, _, high = self.box
        anywhere = low + (high - low) * generator.random((count // 2, len(low)))
        at_corners = np.where(generator.random((count - count // 2, len(low))) < 0.5, low, high)
        return np.vstack((anywhere, at_corners))


def conductances(least_decade: float, most_decade: float) -> st.SearchStrategy[float]:
    """Conductances spread evenly over decades. [S]"""
    return st.floats(least_decade, most_decade).map(lambda decade: float(10**decade))


@st.composite
def networks(draw: st.DrawFn, *, least: int = 0, most: int = 6, opens: bool = True) -> Network:
    """Two sources, leads that reach every node, loads; and unknown joints, loads, shorts and draws."""
    nodes = draw(st.integers(2, 7))
    known = [
        Branch(plus=0, minus=GROUND, conductance_S=100.0, emf_V=12.0),
        Branch(plus=nodes - 1, minus=GROUND, conductance_S=50.0, emf_V=13.5),
    ]
    for node in range(1, nodes):
        lead_S = draw(conductances(0, 3))
        known.append(Branch(plus=draw(st.integers(0, node - 1)), minus=node, conductance_S=lead_S))
        if draw(st.booleans()):
            known.append(Branch(plus=node, minus=GROUND, conductance_S=draw(conductances(-2, 1))))
    unknowns: list[Unknown] = []
    for _ in range(draw(st.integers(least, most))):
        plus = draw(st.integers(0, nodes - 1))
        if draw(st.integers(0, 4)) == 0:
            high_A = draw(st.floats(1, 3))
            unknowns.append(UnknownCurrent(plus=plus, nominal_A=1.0, low_A=0.0, high_A=high_A))
            continue
        minus = draw(st.sampled_from([node for node in range(GROUND, nodes) if node != plus]))
        nominal_S = draw(conductances(-1, 3))
        open_ = opens and draw(st.booleans())
        unknowns.append(
            UnknownConductance(
                plus=plus,
                minus=minus,
                nominal_S=nominal_S,
                low_S=0.0 if open_ else nominal_S * draw(st.floats(0.01, 1)),
                high_S=nominal_S * draw(st.floats(1, 10)),
                emf_V=draw(st.sampled_from((0.0, 0.0, 0.0, 1.5))),
            )
        )
    return Network(nodes, tuple(known), tuple(unknowns))
