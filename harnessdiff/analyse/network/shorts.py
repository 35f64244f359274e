"""What follows from a short to ground at every node in turn, and from every branch taken out in turn.

The network is linear, so none of them is solved anew. Seen from a node it is a source V_n behind a
resistance Z_nn (Thévenin [1]_); a short of resistance r draws V_n/(Z_nn + r) from it, which lowers the voltage at every
other node m by Z_mn times that current. A branch taken out changes the matrix by one rank [2]_. What is linear
only in a range (a lamp, a relay that may drop out, a diode) is taken as it stands before the short: the voltages
across its terminals say where that no longer holds.

References
----------
.. [1] L. Thévenin, "Extension de la loi d'Ohm aux circuits électromoteurs complexes", Annales télégraphiques 10, 1883.
.. [2] J. Sherman, W. J. Morrison, "Adjustment of an inverse matrix corresponding to a change in one element of a given
       matrix", Annals of Mathematical Statistics 21 (1), 1950, pp. 124-127, doi:10.1214/aoms/1177729893.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse.linalg import SuperLU

from harnessdiff.analyse.network.inverse import GROUND, Floats, Indices

_SOLVES_AT_ONCE: Final = 8  # more no longer fit the cache, and take longer apiece


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shorts:
    """A short to ground at every node in turn.

    Parameters
    ----------
    current_A
        Current into the short, by the node that is shorted; negative where the node stands below ground.
    through_A
        Current through the chosen branches from their one end to the other: a row a branch, a column for
        the node that is shorted.
    """

    current_A: Floats
    through_A: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Removals:
    """Every chosen branch taken out in turn.

    Parameters
    ----------
    voltages_V
        A row for the branch that is out, a column a node; not a number where the branch is `held_alone`.
    held_alone
        Whether nothing else holds what lies behind the branch, or so little (some 1e-8 of its conductance) that too
        few digits would be left. Such a case is to be solved for itself, without what then hangs on nothing.
    """

    voltages_V: Floats
    held_alone: NDArray[np.bool_]


def short_current_A(voltages_V: ArrayLike, diagonal_ohm: ArrayLike, short_ohm: ArrayLike = 0.0) -> Floats:
    """Current into a short to ground at each node, one at a time.

    Parameters
    ----------
    voltages_V
        Voltages of the nodes before the short.
    diagonal_ohm
        Resistance between each node and ground (`inverse.diagonal_of_inverse`).
    short_ohm
        Resistance of the short: one for all nodes, or one a node.

    Returns
    -------
    ndarray
        Amperes, a node.

    Raises
    ------
    ValueError
        A resistance of a short is negative or not a number.
    """
    short = np.asarray(short_ohm, dtype=np.float64)
    if not (short >= 0).all():
        raise ValueError("the resistance of a short is 0 ohm or more")
    current: Floats = np.asarray(voltages_V, dtype=np.float64) / (np.asarray(diagonal_ohm) + short)
    return current


def shorts(
    factor: SuperLU,
    voltages_V: ArrayLike,
    diagonal_ohm: ArrayLike,
    *,
    branches: ArrayLike,
    conductances_S: ArrayLike,
    short_ohm: ArrayLike = 0.0,
) -> Shorts:
    """Currents under a short to ground at every node in turn, into the short and through chosen branches.

    Costs a solve a branch. The answer has branches × nodes entries of 8 bytes: of a large network ask
    for some branches at a time.

    Parameters
    ----------
    factor
        Factor of the conductance matrix (`inverse.factorise`).
    voltages_V
        Voltages of the nodes before the short.
    diagonal_ohm
        Resistance between each node and ground (`inverse.diagonal_of_inverse`).
    branches
        Two nodes a row, of which one may be `inverse.GROUND`.
    conductances_S
        Conductance of each branch, as it stands in the matrix; no source in it.
    short_ohm
        Resistance of the short: one for all nodes, or one a node.

    Returns
    -------
    Shorts

    Raises
    ------
    ValueError
        A resistance of a short is negative or not a number.
    """
    through = voltages_across(factor, voltages_V, diagonal_ohm, pairs=branches, short_ohm=short_ohm)
    through *= np.asarray(conductances_S, dtype=np.float64)[:, np.newaxis]
    return Shorts(current_A=short_current_A(voltages_V, diagonal_ohm, short_ohm), through_A=through)


def voltages_across(
    factor: SuperLU,
    voltages_V: ArrayLike,
    diagonal_ohm: ArrayLike,
    *,
    pairs: ArrayLike,
    short_ohm: ArrayLike = 0.0,
) -> Floats:
    """Voltages between pairs of nodes (the ends of a coil, of a diode) under a short to ground at every node in turn.

    Parameters
    ----------
    factor
        Factor of the conductance matrix (`inverse.factorise`).
    voltages_V
        Voltages of the nodes before the short.
    diagonal_ohm
        Resistance between each node and ground (`inverse.diagonal_of_inverse`).
    pairs
        Two nodes a row, of which one may be `inverse.GROUND`.
    short_ohm
        Resistance of the short: one for all nodes, or one a node.

    Returns
    -------
    ndarray
        Volts, from the other to the one: a row a pair, a column for the node that is shorted.

    Raises
    ------
    ValueError
        A resistance of a short is negative or not a number.
    """
    ends = _ends(pairs)
    voltages = np.asarray(voltages_V, dtype=np.float64)
    current = short_current_A(voltages, diagonal_ohm, short_ohm)
    across = np.empty((len(ends), len(voltages)))
    for some, transfers in _transfers(factor, ends):
        before = _across(voltages, ends[some])
        across[some] = before[:, np.newaxis] - transfers * current
    return across


def without_branches(
    factor: SuperLU, voltages_V: ArrayLike, *, branches: ArrayLike, conductances_S: ArrayLike
) -> Removals:
    """The voltages with each of some branches taken out in turn: each fuse out, one after another.

    Costs a solve a branch. The answer has branches × nodes entries of 8 bytes: of a large network ask
    for some branches at a time.

    Parameters
    ----------
    factor
        Factor of the conductance matrix with all branches in (`inverse.factorise`).
    voltages_V
        Voltages of the nodes with all branches in.
    branches
        Two nodes a row, of which one may be `inverse.GROUND`.
    conductances_S
        Conductance of each branch, as it stands in the matrix; no source in it.

    Returns
    -------
    Removals
    """
    ends = _ends(branches)
    conductances = np.asarray(conductances_S, dtype=np.float64)
    voltages = np.asarray(voltages_V, dtype=np.float64)
    left = np.empty(len(ends))
    without = np.empty((len(ends), len(voltages)))
    for some, transfers in _transfers(factor, ends):
        left[some] = 1 - conductances[some] * _across(transfers, ends[some])
        current = conductances[some] * _across(voltages, ends[some])
        with np.errstate(divide="ignore", invalid="ignore"):
            without[some] = voltages + transfers * (current / left[some])[:, np.newaxis]
    held_alone = left < np.sqrt(np.finfo(np.float64).eps)
    without[held_alone] = np.nan
    return Removals(voltages_V=without, held_alone=held_alone)


def _ends(pairs: ArrayLike) -> Indices:
    """Pairs of nodes as two columns, also where there are none."""
    return np.asarray(pairs, dtype=np.int64).reshape(-1, 2)


def _transfers(factor: SuperLU, ends: Indices) -> Iterator[tuple[slice, Floats]]:
    """Some pairs at a time: the voltages at all nodes where 1 A enters at the one of a pair and leaves at the other."""
    nodes = factor.shape[0]
    for begin in range(0, len(ends), _SOLVES_AT_ONCE):
        some = slice(begin, begin + _SOLVES_AT_ONCE)
        one, other = ends[some].T
        pair = np.arange(len(one))
        current = np.zeros((nodes + 1, len(one)), order="F")  # what enters at ground goes into the last row
        current[one, pair] += 1
        current[other, pair] -= 1
        yield some, factor.solve(current[:nodes]).T


def _across(voltages: Floats, ends: Indices) -> Floats:
    """The voltage across each pair: of its own row of voltages, or of the one row there is."""
    rows = np.broadcast_to(voltages, (len(ends), voltages.shape[-1]))
    at = np.take_along_axis(rows, ends, axis=1)
    at[ends == GROUND] = 0
    across: Floats = at[:, 0] - at[:, 1]
    return across
