"""Who answers where no way says it: each modification taken out in turn, to see with which the difference goes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cached_property

import numpy as np

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.faults import faults
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Conductor, is_added
from harnessdiff.model.modification import Modification
from harnessdiff.tables.loader import limit

OF_STATE = frozenset({"live_unasked", "dead", "dimmed", "reversed", "refusal_defeated", "stays_live_without_fuse",
                      "over_limit", "backfeed", "under_voltage"})  # fmt: skip
"""Consequences that a voltage or a current says, so that it can be looked at again without a modification."""
MOVED = frozenset({"moved_pin", "moved_ground", "swap"})


class TakenOut:
    """The as-found network without one modification after another.

    Parameters
    ----------
    answering : Answering
    """

    def __init__(self, answering: Answering) -> None:
        self.answering = answering
        self.network: Network = next(iter(answering.after.values())).network
        self._known: dict[tuple[int, str], Settled] = {}

    def answered(self, found: Found) -> Found:
        """A consequence that nobody answers for, with those whose taking out brings back what was before."""
        one = found.consequence
        if found.modifications or not one.conditions:
            return found
        gone = self._test_of(one)
        if gone is None:
            return found
        condition = one.conditions[0]
        left = {number: gone(self._without(number, condition), self._opened(number)) for number in self._openable}
        answers = tuple(number for number, share in left.items() if share < limit("answers_left"))
        return replace(found, modifications=answers)

    @cached_property
    def _openable(self) -> tuple[int, ...]:
        return tuple(number for number in range(len(self.answering.modifications)) if self._opened(number))

    def _opened(self, number: int) -> frozenset[int]:
        return frozenset(
            branch.number
            for element in _elements(self.answering.modifications[number], self.network)
            for branch in self.network.branches_of(element)
        )

    def _without(self, number: int, condition: str) -> Settled:
        if (number, condition) not in self._known:
            standing = self.answering.after[condition]
            self._known[number, condition] = settle(
                self.network, standing.condition, standing.state, opened=self._opened(number), guess=standing
            )
        return self._known[number, condition]

    def _test_of(self, one: Consequence) -> Callable[[Settled, frozenset[int]], float] | None:
        """What share of a consequence a network still has; None where that cannot be asked of it."""
        if one.code == "protection":
            return self._protection_gone(one)
        if one.code not in OF_STATE or one.after is None:
            return None
        was = one.before.nominal if one.before is not None else 0.0
        now = one.after.nominal
        if one.unit == "V":
            measure = _volts(one)
        elif one.unit == "A":
            measure = _amps(one)
        else:
            return None
        whole = abs(now - was)
        return lambda settled, _: abs(measure(settled) - was) / whole if whole > 0 else 1.0

    def _protection_gone(self, one: Consequence) -> Callable[[Settled, frozenset[int]], float] | None:
        """Whether the fuse that is held against a conductor no longer feeds a short there."""
        pieces = [piece for piece in self.network.branches_of(one.subject) if piece.kind == "conductor"]
        through = [
            branch
            for element in self._fuses(str(one.get("fuse")))
            for branch in self.network.branches_of(element)
            if branch.kind == "fuse"
        ]
        together = one.get("together_A") is not None
        if not pieces or (not through and not together):
            return None
        node = pieces[0].one

        def feeding(settled: Settled) -> int:
            short = faults(settled, [node], least=False)
            whole = float(short.current_A[0])
            fuses = [branch for branch in self.network.branches if branch.kind == "fuse"] if together else through
            return sum(short.through_A(fuse, node) > limit("feeds_share") * whole for fuse in fuses)

        usual = feeding(self.answering.after[one.conditions[0]])
        own = {piece.number for piece in pieces}
        return lambda settled, opened: 0.0 if not own & opened and feeding(settled) < usual else 1.0

    def _fuses(self, slot: str) -> tuple[str, ...]:
        return (slot, *self.network.harness.subjects(slot, "seat"))


def _elements(one: Modification, network: Network) -> tuple[str, ...]:
    """What can be taken out of a modification: what was added, and the wires whose ends were moved."""
    own = [element for element in (one.root, *one.joints, *one.added) if is_added(element)]
    if one.kind in MOVED:
        own += [element for element in one.elements if isinstance(network.harness.by_id.get(element), Conductor)]
    return tuple(dict.fromkeys(own))


def _volts(one: Consequence) -> Callable[[Settled], float]:
    """The voltage that a consequence speaks of, in a network. [V]"""

    def volts(settled: Settled) -> float:
        branches = [
            branch
            for branch in settled.network.branches_of(one.subject)
            if branch.kind in ("load", "coil") and branch.one.rsplit(":", 1)[-1] == one.terminal
        ]
        return max((abs(settled.across_V(branch)) for branch in branches), default=0.0)

    return volts


def _amps(one: Consequence) -> Callable[[Settled], float]:
    """The current that a consequence speaks of: through a terminal, else the greatest through the element. [A]"""

    def amps(settled: Settled) -> float:
        network, current = settled.network, np.abs(settled.solution.current_A)
        node = network.index.get(f"{one.subject}:{one.terminal}")
        if node is not None:
            at = (network.circuit.one == node) | (network.circuit.other == node)
            return float(current[at].sum() / 2)
        return max((float(current[branch.number]) for branch in network.branches_of(one.subject)), default=0.0)

    return amps
