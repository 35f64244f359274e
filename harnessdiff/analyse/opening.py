"""Which fuses open for what was found, and what is left of the network then."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from harnessdiff.analyse.fuses import BODY_OF_KIND, Fuse, carries_A
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.graph import slot_of
from harnessdiff.model.harness import Device, Inline
from harnessdiff.tables.loader import limit


@dataclass(frozen=True, eq=False, kw_only=True)
class Opened:
    """A network in a condition after its overloaded fuses have opened.

    Parameters
    ----------
    settled : Settled
    fuses : tuple of Branch
        Those that opened, in that order.
    """

    settled: Settled
    fuses: tuple[Branch, ...] = ()


def fuse_of(network: Network, branch: Branch) -> Fuse:
    """The fuse that a branch of a network is."""
    if isinstance(branch.part, Inline):
        return Fuse(body=branch.part.body, rating_A=branch.part.rating_A, convention="continuous")
    device = network.harness.device(branch.element)
    assert isinstance(device, Device)
    slot = network.harness.device(slot_of(network.harness, device.id))
    return Fuse(
        body=device.body or (slot.body if slot is not None else None),
        rating_A=device.rating_A,
        convention=device.rating_convention,
        kind=device.kind if device.kind in BODY_OF_KIND else "fuse",
    )


def opened(before: Settled, after: Settled) -> Opened:
    """What a condition comes to where fuses open that carried their current by the reference.

    One fuse after the other: first the one with the most current for what it may carry. Only what surely
    opens within the time a condition lasts, or within the longest that a fuse takes by its gates, is opened.

    Parameters
    ----------
    before, after : Settled
        The reference and what was found, in the same condition.

    Returns
    -------
    Opened
    """
    gone: list[Branch] = []
    settled = after
    while True:
        over = max(_overloaded(before, settled), key=lambda one: (one[0], -one[1].number), default=None)
        if over is None:
            return Opened(settled=settled, fuses=tuple(gone))
        gone.append(over[1])
        again = settle(after.network, after.condition, after.state, opened=[one.number for one in gone])
        settled = replace(again, holds=after.holds)


def _overloaded(before: Settled, after: Settled) -> Iterator[tuple[float, Branch]]:
    """Fuses that surely open, each with how many times what it may carry it is asked for."""
    duration_s = after.condition.duration_s or limit("fuse_opens_s")
    for branch in after.network.branches:
        current = abs(after.current_A(branch))
        if branch.kind != "fuse" or not after.conducts(branch) or current == 0.0:
            continue
        carries = carries_A(fuse_of(after.network, branch), duration_s).high
        if current > carries and not _did_before(before, branch, current):
            yield current / carries, branch


def _did_before(before: Settled, branch: Branch, current_A: float) -> bool:
    """Whether a fuse carries about as much by the reference."""
    twins: Mapping[tuple[str, str], Branch] = {
        (one.one, one.other): one for one in before.network.branches_of(branch.element) if one.kind == "fuse"
    }
    twin = twins.get((branch.one, branch.other))
    return twin is not None and current_A < abs(before.current_A(twin)) * limit("clearly_more")
