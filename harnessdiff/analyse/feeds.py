"""By which way a load of a settled network is fed, and which fuses stand in it."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.way import Step, Ways, elements_of

LEAST_AHEAD_V = 1e-6
"""Voltages nearer to one another than this differ by what rounding leaves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """The way from a source to a node.

    Parameters
    ----------
    source : str or None
        Device at its beginning, None where nothing feeds the node.
    fuses : tuple of int
        Branches of the fuses passed, from the source on.
    path : tuple of str
        Elements passed, from the source on.
    """

    source: str | None
    fuses: tuple[int, ...]
    path: tuple[str, ...]


def feed_of(ways: Ways, node: str) -> Feed:
    """The way by which most of the current comes to a node, or would come."""
    way: tuple[Step, ...] = ways.feed(node)
    return Feed(
        source=way[0].branch.element if way and way[0].branch.kind == "source" else None,
        fuses=tuple(step.branch.number for step in way if step.branch.kind == "fuse"),
        path=elements_of(way),
    )


def live_end(settled: Settled, branch: Branch) -> str:
    """The end of a branch that is further from ground on the side of the live pole; the first where neither is."""
    network: Network = settled.network
    voltage = settled.solution.voltage_V
    ahead = (voltage[network.index[branch.one]] - voltage[network.index[branch.other]]) * network.forward
    return branch.other if ahead < -LEAST_AHEAD_V else branch.one
