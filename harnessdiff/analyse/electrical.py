"""The electrical consequences of modifications: two networks solved in every condition and compared."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.behaviour import Behaviour
from harnessdiff.analyse.data_pairs import data_pairs
from harnessdiff.analyse.drops import Drops
from harnessdiff.analyse.heat import heat_of
from harnessdiff.analyse.loading import Loading
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.opening import opened
from harnessdiff.analyse.shorting import Shorting
from harnessdiff.analyse.supply import Supply
from harnessdiff.analyse.taken_out import TakenOut
from harnessdiff.model.computed import Found
from harnessdiff.model.modification import Install, Modification
from harnessdiff.model.reference import Reference
from harnessdiff.tables.loader import LIMIT_TABLE


@dataclass(frozen=True, eq=False, kw_only=True)
class Solved:
    """A network and what it comes to in every condition."""

    network: Network
    settled: dict[str, Settled]


def electrical(
    reference: Reference,
    before: Solved,
    after: Solved,
    supplies: tuple[Supply, Supply],
    modifications: tuple[Modification, ...],
    installs: tuple[Install, ...],
    limit_table: str = LIMIT_TABLE,
) -> tuple[Found, ...]:
    """Everything that is electrically different, with the modifications that answer for it.

    Parameters
    ----------
    reference : Reference
    before, after : Solved
        The reference and what was found, in the same conditions.
    supplies : tuple of Supply
        What feeds what on the reference, and as found.
    modifications : tuple of Modification
    installs : tuple of Install
    limit_table : str
        Table that says what a conductor may carry.

    Returns
    -------
    tuple of Found
    """
    if not before.settled:
        return ()
    answering = Answering(modifications, installs, before.settled, after.settled)
    lasting = _after_opening(answering)
    found = (
        *Behaviour(lasting, before.settled, lasting.after, supplies[1].harness).consequences(),
        *Loading(answering).consequences(),
        *Drops(lasting).consequences(),
        *heat_of(lasting, modifications),
        *data_pairs(answering, reference, *supplies, before.network, after.network),
        *Shorting(answering, *supplies, limit_table).consequences(),
    )
    taken_out = TakenOut(answering)
    return tuple(taken_out.answered(one) for one in found)


def _after_opening(answering: Answering) -> Answering:
    """The same with all fuses open that do not carry what is asked of them; itself where all do."""
    left = {condition: opened(answering.before[condition], after) for condition, after in answering.after.items()}
    blown = {
        condition: {fuse.element: answering.through(fuse, condition) for fuse in one.fuses}
        for condition, one in left.items()
        if one.fuses
    }
    if not blown:
        return answering
    settled = {condition: one.settled for condition, one in left.items()}
    return Answering(answering.modifications, answering.installs, answering.before, settled, blown)
