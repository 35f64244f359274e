"""What is a range in a resistive network, what is asked of it, and the answer.

Nodes are numbers from 0; `GROUND` is ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

Method: TypeAlias = Literal["exact", "vertices", "outer"]

GROUND = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownConductance:
    """A branch whose conductance is a range.

    Parameters
    ----------
    plus, minus : int
        Its nodes; `GROUND` is ground.
    nominal_S, low_S, high_S : float
        The conductance in the nominal network, and its range, both [S]; a least one of 0 is an open.
    emf_V : float, optional
        Source voltage within the branch, its positive pole towards `plus`: the branch carries
        ``g (v_plus - v_minus - emf)`` from `plus` to `minus`. [V]
    """

    plus: int
    minus: int
    nominal_S: float
    low_S: float
    high_S: float
    emf_V: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class UnknownCurrent:
    """A draw from node `plus` into node `minus` whose current is a range, `nominal_A` in the nominal network. [A]"""

    plus: int
    minus: int = GROUND
    nominal_A: float
    low_A: float
    high_A: float


Unknown: TypeAlias = UnknownConductance | UnknownCurrent


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A branch that is known: its nodes, its conductance [S] and its source voltage [V], as in `UnknownConductance`."""

    plus: int
    minus: int
    conductance_S: float
    emf_V: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class VoltageBetween:
    """Asks for the voltage of node `plus` against node `minus`. [V]"""

    plus: int
    minus: int = GROUND


@dataclass(frozen=True, slots=True, kw_only=True)
class CurrentIn:
    """Asks for the current from plus to minus [A] in a known branch, or in an unknown conductance by its index."""

    branch: Branch | int


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerIn:
    """Asks for the heat in the conductance [W] of a known branch, or of an unknown one by its index."""

    branch: Branch | int


Asked: TypeAlias = VoltageBetween | CurrentIn | PowerIn


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What a quantity may be over all choices of the unknowns, in its own unit.

    `method` says how it was found: ``exact`` where no unknown matters, ``vertices`` where the ends are attained
    (or approached, at an open), ``outer`` where the true range may be narrower. `mattered` holds the
    indices of the unknowns that were not negligible, the most influential about the centre of the box first.
    """

    low: float
    nominal: float
    high: float
    guaranteed: bool
    method: Method
    mattered: tuple[int, ...]
