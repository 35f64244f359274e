"""Times a short at every node of made-up networks against one factorisation and one solve.

Run as ``python tests/benchmarks/shorts.py [wires ...]``; prints a table. Not a test: the milliseconds are
the machine's, the ratios count. ``tied`` is the share of loads that return to a ground point of any other fuse block;
each fills the factor further. A network is worth its n log n where ``ns`` (by nodes × log2 of nodes) does not grow.
``fuse`` and ``out`` are what the currents through one branch, and one branch taken out, cost in solves.
"""

from __future__ import annotations

import math
import platform
import sys
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402 - the path has to be set first
from scipy.sparse import csc_array  # noqa: E402
from scipy.sparse.linalg import SuperLU  # noqa: E402

from harnessdiff.analyse.network.inverse import diagonal_of_inverse, factorise  # noqa: E402
from harnessdiff.analyse.network.shorts import shorts, without_branches  # noqa: E402
from tests.analyse.network.networks import harness_like  # noqa: E402

WIRES = (1_000, 10_000, 100_000)
TIED = (0.0, 0.05)
BRANCHES = 16
RUNS = 5


def milliseconds(step: Callable[[SuperLU], object], matrix: csc_array) -> float:
    """The least of some runs, which other work on the machine disturbs least.

    Each gets a factor of its own, for its triangles are unpacked on first use.
    """
    taken = []
    for _ in range(RUNS):
        factor = factorise(matrix)
        begin = time.perf_counter()
        step(factor)
        taken.append(time.perf_counter() - begin)
    return 1000 * min(taken)


def row(wires: int, tied: float) -> str:
    """What one network takes."""
    network = harness_like(wires, elsewhere=tied)
    matrix = network.matrix
    factor = factorise(matrix)
    currents = np.ones(network.nodes)
    voltages = factor.solve(currents)
    diagonal = diagonal_of_inverse(matrix, factor)
    chosen = {"branches": network.branches[:BRANCHES], "conductances_S": network.conductances_S[:BRANCHES]}
    factorising = milliseconds(lambda _: factorise(matrix), matrix)
    solving = milliseconds(lambda factor: factor.solve(currents), matrix)
    every_node = milliseconds(lambda factor: diagonal_of_inverse(matrix, factor), matrix)
    through = milliseconds(lambda factor: shorts(factor, voltages, diagonal, **chosen), matrix)
    out = milliseconds(lambda factor: without_branches(factor, voltages, **chosen), matrix)
    ratio = every_node / (factorising + solving)
    growth = 1e6 * every_node / (network.nodes * math.log2(network.nodes))
    of_branches = through / BRANCHES / solving, out / BRANCHES / solving
    return (
        f"| {wires:>7} | {tied:4.2f} | {network.nodes:>7} | {factorising:>14.2f} | {solving:>10.2f} "
        f"| {every_node:>15.2f} | {ratio:>5.1f} | {growth:>4.0f} | {of_branches[0]:>4.1f} | {of_branches[1]:>4.1f} |\n"
    )


def main() -> None:
    """Print the table."""
    sizes = [int(given) for given in sys.argv[1:]] or WIRES
    sys.stdout.write(f"Python {platform.python_version()}, least of {RUNS} runs\n\n")
    sys.stdout.write(
        "|   wires | tied |   nodes | factorise [ms] | solve [ms] | every node [ms] | ratio |   ns | fuse |  out |\n"
        "|--------:|-----:|--------:|---------------:|-----------:|----------------:|------:|-----:|-----:|-----:|\n"
    )
    for tied in TIED:
        for wires in sizes:
            sys.stdout.write(row(wires, tied))
            sys.stdout.flush()


if __name__ == "__main__":
    main()
