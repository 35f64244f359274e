"""Which interlocks and which key switch no longer decide, once two nets of a reference are one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from harnessdiff.compare.comparison import Comparison
from harnessdiff.graph import CONDUCTING, spread


def defeated(comparison: Comparison, nodes: Iterable[str]) -> tuple[str, ...]:
    """Interlocks and key switches that joining nodes takes out of the way to one of them.

    That is so where all current of one node came by way of the device, and another gets its own
    without it.

    Parameters
    ----------
    comparison : Comparison
    nodes : iterable of str

    Returns
    -------
    tuple of str
        Devices, in order.
    """
    nets = {comparison.net(node) for node in nodes}
    fed = comparison.fed_without(None)
    found = []
    for device in comparison.deciding:
        without = comparison.fed_without(device)
        if any(net in fed and net not in without for net in nets) and any(net in without for net in nets):
            found.append(device)
    return tuple(found)


def deciding_for_relays(comparison: Comparison, devices: Iterable[str]) -> tuple[str, ...]:
    """Interlocks and key switches without which the coil of a relay that is gone past gets no current."""
    found: set[str] = set()
    for device in devices:
        occupants = {device, *comparison.before.subjects(device, "seat")}
        coils = [
            (one, other)
            for one, other, edge in comparison.graph_before.edges(data=True)
            if edge["kind"] == "coil" and edge["element"] in occupants
        ]
        for coil in coils:
            if _works(comparison, coil, None):
                found.update(one for one in comparison.deciding if not _works(comparison, coil, one))
    return tuple(sorted(found - set(devices)))


def _works(comparison: Comparison, coil: tuple[str, str], without: str | None) -> bool:
    """Whether current can come to a coil and go back to ground, with one device taken away."""
    out = {without, *(comparison.before.subjects(without, "seat") if without else ())}
    hot = comparison.fed_without(without)

    def passes(edge: dict[str, Any], _one: str, _other: str) -> bool:
        return edge["kind"] in CONDUCTING and edge["element"] not in out

    for feed, back in (coil, coil[::-1]):
        if comparison.remains.get(feed) in hot:
            returned = spread(comparison.graph_before, (back,), passes)
            if any(node in comparison.base.ground for node in returned):
                return True
    return False
