"""Networks to try the solvers on: their branches, their matrix, and ways to solve them that share nothing with ours."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.sparse import coo_array, csc_array

from harnessdiff.analyse.network.inverse import GROUND


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Network:
    """Branches between nodes, of which `GROUND` is one; conductances in siemens."""

    nodes: int
    branches: NDArray[np.int64]
    conductances_S: NDArray[np.float64]

    @property
    def matrix(self) -> csc_array:
        one, other = np.where(self.branches == GROUND, self.nodes, self.branches).T
        g = self.conductances_S
        rows, columns = np.concatenate((one, other, one, other)), np.concatenate((one, other, other, one))
        size = self.nodes + 1
        whole = coo_array((np.concatenate((g, g, -g, -g)), (rows, columns)), shape=(size, size)).tocsc()
        return csc_array(whole[: self.nodes, : self.nodes])

    @property
    def between_nodes(self) -> NDArray[np.int64]:
        return np.asarray(self.branches[(self.branches != GROUND).all(axis=1)])

    def with_branch(self, one: int, other: int, conductance_S: float) -> Network:
        return replace(
            self,
            branches=np.concatenate((self.branches, [[one, other]])),
            conductances_S=np.append(self.conductances_S, conductance_S),
        )

    def without(self, branch: int) -> Network:
        return replace(
            self,
            branches=np.delete(self.branches, branch, axis=0),
            conductances_S=np.delete(self.conductances_S, branch),
        )

    def dense_inverse(self) -> NDArray[np.float64]:
        return np.asarray(np.linalg.inv(self.matrix.toarray()))

    def exact_inverse(self) -> list[list[Fraction]]:
        """By Gauss and Jordan, in rational numbers."""
        size = self.nodes
        rows = [[Fraction(0)] * size + [Fraction(int(i == j)) for j in range(size)] for i in range(size)]
        for (one, other), conductance in zip(self.branches.tolist(), self.conductances_S.tolist(), strict=True):
            for a, b in ((one, other), (other, one)):
                if a != GROUND:
                    rows[a][a] += Fraction(conductance)
                    if b != GROUND:
                        rows[a][b] -= Fraction(conductance)
        for i in range(size):
            rows[i] = [entry / rows[i][i] for entry in rows[i]]
            for j in range(size):
                if j != i and rows[j][i]:
                    rows[j] = [below - rows[j][i] * entry for below, entry in zip(rows[j], rows[i], strict=True)]
        return [row[size:] for row in rows]


@st.composite
def networks(draw: st.DrawFn, *, most_nodes: int = 14, decades: int = 2) -> Network:
    """Connected networks in which every node has a way to ground, conductances over some decades about 1 S."""
    nodes = draw(st.integers(1, most_nodes))
    tree = [(node, draw(st.integers(GROUND, node - 1))) for node in range(nodes)]
    ends = st.integers(GROUND, nodes - 1)
    more = draw(st.lists(st.tuples(ends, ends).filter(lambda pair: pair[0] != pair[1]), max_size=2 * nodes))
    name = draw(st.permutations(range(nodes)))
    branches = [tuple(end if end == GROUND else name[end] for end in pair) for pair in (*tree, *more)]
    digits, exponents = st.integers(1, 9), st.integers(-decades, decades)
    conductances = [draw(digits) * 10.0 ** draw(exponents) for _ in branches]
    return Network(nodes=nodes, branches=np.array(branches), conductances_S=np.array(conductances))


def harness_like(wires: int, *, elsewhere: float = 0.05, seed: int = 1) -> Network:
    """Battery, fuse blocks of about 300 wires with five ground points each, fused circuits with splices and loads.

    Of the loads a share returns to a ground point `elsewhere`, which ties the blocks to one another.
    """
    chance = np.random.default_rng(seed)
    branches: list[tuple[int, int]] = []
    resistances: list[float] = []
    nodes = 0

    def branch(one: int, other: int, ohm: float) -> None:
        branches.append((one, other))
        resistances.append(ohm)

    def hang_on(other: int, ohm: float) -> int:
        nonlocal nodes
        nodes += 1
        branch(nodes - 1, other, ohm)
        return nodes - 1

    battery = hang_on(GROUND, 0.006)
    points: list[int] = []
    done = 0
    while done < wires:
        block = hang_on(battery, 0.002)
        own = [hang_on(GROUND, 0.001) for _ in range(5)]
        points += own
        stop = min(done + 300, wires)
        while done < stop:
            circuit = [hang_on(block, 0.005)]
            for _ in range(int(chance.integers(2, 12))):
                from_last = chance.random() < 0.6
                before = circuit[-1] if from_last else circuit[int(chance.integers(len(circuit)))]
                circuit.append(hang_on(before, chance.uniform(0.005, 0.05)))
                done += 1
                if chance.random() < 0.5:
                    returns = points if chance.random() < elsewhere else own
                    load = hang_on(circuit[-1], chance.uniform(1, 100))
                    branch(load, returns[int(chance.integers(len(returns)))], chance.uniform(0.005, 0.05))
                    done += 1
            branch(hang_on(circuit[-1], 5.0), own[int(chance.integers(len(own)))], 0.02)
            done += 1
    return Network(nodes=nodes, branches=np.array(branches), conductances_S=1 / np.array(resistances))
