"""The electrical consequences of modifications: two networks solved in every condition and compared."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.behaviour import Behaviour, Found
from harnessdiff.analyse.contents import supposed
from harnessdiff.analyse.data_pairs import data_pairs
from harnessdiff.analyse.drops import Drops
from harnessdiff.analyse.heat import heat_of
from harnessdiff.analyse.loading import Loading
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import Settled, settled_in_all
from harnessdiff.analyse.shorting import Shorting
from harnessdiff.analyse.supply import Supply
from harnessdiff.model.harness import Harness
from harnessdiff.model.modification import Install, Modification
from harnessdiff.model.reference import Condition, Reference
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
    return (
        *Behaviour(answering, before.settled, after.settled, supplies[1].harness).consequences(),
        *Loading(answering).consequences(),
        *Drops(answering).consequences(),
        *heat_of(answering, modifications),
        *data_pairs(answering, reference, *supplies, before.network, after.network),
        *Shorting(answering, *supplies, limit_table).consequences(),
    )


@lru_cache(maxsize=2)
def _of_reference(
    harness: Harness, polarity: str | None, system_V: float | None, conditions: tuple[Condition, ...]
) -> Solved:
    """A reference solved; kept, as a case may be assessed several times against one."""
    network = Network(harness, polarity, system_V)
    return Solved(network=network, settled=dict(settled_in_all(network, conditions)))


def consequences_of(
    reference: Reference,
    as_found: Harness,
    conditions: tuple[Condition, ...],
    supplies: tuple[Supply, Supply],
    modifications: tuple[Modification, ...],
    installs: tuple[Install, ...],
    limit_table: str = LIMIT_TABLE,
) -> tuple[Found, ...]:
    """Solve reference and as-found harness in conditions, and compare them.

    Parameters
    ----------
    reference : Reference
    as_found : Harness
    conditions : tuple of Condition
    supplies : tuple of Supply
        What feeds what on the reference, and as found.
    modifications : tuple of Modification
    installs : tuple of Install
    limit_table : str
        Table that says what a conductor may carry.

    Returns
    -------
    tuple of Found
        None where there are no modifications, or no condition.
    """
    if not modifications or not conditions:
        return ()
    vehicle = reference.vehicle
    before = _of_reference(reference.harness, vehicle.ground_polarity, vehicle.system_voltage_V, conditions)
    taken = supposed(as_found)
    graph = supplies[1].graph if taken is as_found else None
    network = Network(taken, vehicle.ground_polarity, vehicle.system_voltage_V, graph)
    after = Solved(network=network, settled=dict(settled_in_all(network, conditions, before.settled)))
    return electrical(reference, before, after, supplies, modifications, installs, limit_table)
