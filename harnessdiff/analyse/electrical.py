"""The electrical consequences of modifications: two networks solved in every condition and compared."""

from __future__ import annotations

from dataclasses import dataclass

import networkx as nx

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.behaviour import Behaviour, Found
from harnessdiff.analyse.heat import heat_of
from harnessdiff.analyse.loading import Loading
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import Settled, settled_in_all
from harnessdiff.analyse.shorting import Shorting
from harnessdiff.analyse.supply import Supply
from harnessdiff.model.harness import Harness
from harnessdiff.model.modification import Install, Modification
from harnessdiff.model.reference import Condition, Reference


@dataclass(frozen=True, eq=False, kw_only=True)
class Solved:
    """A network and what it comes to in every condition."""

    network: Network
    settled: dict[str, Settled]


def solved(
    reference: Reference,
    harness: Harness,
    conditions: tuple[Condition, ...],
    graph: nx.MultiGraph[str] | None = None,
    like: Solved | None = None,
) -> Solved:
    """Solve a harness in conditions.

    Parameters
    ----------
    reference : Reference
        For polarity and voltage.
    harness : Harness
        The reference's own, or what was found.
    conditions : tuple of Condition
    graph : networkx.MultiGraph, optional
        The harness's graph where it is there already.
    like : Solved, optional
        A harness much like this one in the same conditions, to begin the search at.

    Returns
    -------
    Solved
    """
    vehicle = reference.vehicle
    network = Network(harness, vehicle.ground_polarity, vehicle.system_voltage_V, graph)
    return Solved(network=network, settled=dict(settled_in_all(network, conditions, like.settled if like else None)))


def electrical(
    before: Solved,
    after: Solved,
    supplies: tuple[Supply, Supply],
    modifications: tuple[Modification, ...],
    installs: tuple[Install, ...],
) -> tuple[Found, ...]:
    """Everything that is electrically different, with the modifications that answer for it.

    Parameters
    ----------
    before, after : Solved
        The reference and what was found, in the same conditions.
    supplies : tuple of Supply
        What feeds what on the reference, and as found.
    modifications : tuple of Modification
    installs : tuple of Install

    Returns
    -------
    tuple of Found
    """
    if not before.settled:
        return ()
    answering = Answering(modifications, installs, before.settled, after.settled)
    return (
        *Behaviour(answering, before.settled, after.settled).consequences(),
        *Loading(answering).consequences(),
        *heat_of(answering, modifications),
        *Shorting(answering, *supplies).consequences(),
    )
