"""The current through the jaws of a clamp."""

from __future__ import annotations

import networkx as nx

from harnessdiff.analyse.network.band import Output
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.probing import NotModelledError, conductor_branches, nodes_of
from harnessdiff.model.survey import Probe

JOINING = frozenset({"contact", "common", "bond"})
"""Kinds of edges over which conductors start from one and the same point."""


def jaws(network: Network, probes: tuple[Probe, ...]) -> tuple[Output, ...]:
    """The current through a clamp; several where it may have been at several places along a conductor.

    Parameters
    ----------
    network : Network
    probes : tuple of Probe
        What was in its jaws: one conductor; one terminal, for all that leaves its device there; or several
        conductors that start from one point, each counted away from it.

    Returns
    -------
    tuple of Output

    Raises
    ------
    NotModelledError
        ``no_common_point``, or as `nodes_of`.
    """
    conductors = [probe.wire or probe.lead for probe in probes]
    nodes = [nodes_of(network, probe) for probe in probes]
    if len(probes) == 1:
        if conductors[0] is None:
            return (Output(branches=_leaving(network, nodes[0][0])),)
        return tuple(Output(branches={one.number: 1.0}) for one in conductor_branches(network, conductors[0]))
    pieces = [conductor_branches(network, name) for name in dict.fromkeys(conductors) if name is not None]
    if len(pieces) != len(probes):
        raise NotModelledError("no_common_point")
    return (Output(branches=_outward(network, pieces)),)


def _leaving(network: Network, node: str) -> dict[int, float]:
    """What leaves a node but for what its own device carries, counted away from it."""
    device = network.harness.device_of(node)
    own = {device, *network.harness.subjects(device, "seat")}
    return {
        branch.number: 1.0 if branch.one == node else -1.0
        for branch in network.branches
        if node in (branch.one, branch.other) and branch.one != branch.other and branch.element not in own
    }


def _outward(network: Network, pieces: list[tuple[Branch, ...]]) -> dict[int, float]:
    """The piece of each conductor by the point that all start from, counted away from it."""
    joined: nx.Graph[str] = nx.Graph()
    joined.add_nodes_from(network.nodes)
    joined.add_edges_from((one.one, one.other) for one in network.branches if one.kind in JOINING)
    reach = [{node for one in own for node in (one.one, one.other)} for own in pieces]
    for node in sorted(reach[0]):
        point = nx.node_connected_component(joined, node)
        if all(point & nodes for nodes in reach):
            return {
                branch.number: 1.0 if branch.one in point else -1.0
                for own in pieces
                for branch in own
                if (branch.one in point) != (branch.other in point)
            }
    raise NotModelledError("no_common_point")
