"""What was computed of a way to read the record, and who answers for it."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.isolation import Isolation, Removal
from harnessdiff.model.modification import Modification
from harnessdiff.model.range import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A consequence and the modifications that answer for it; none where that is not known."""

    consequence: Consequence
    modifications: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Computed:
    """What is computed of one way to read the record.

    Parameters
    ----------
    conditions : tuple of str
        In which both harnesses were solved; empty where there was none.
    found : tuple of Found
    unexplained : tuple of Modification
        A finding for every reading that disagrees and that nothing recorded concerns.
    isolations : tuple of Isolation or None
        How each install is made dead, in the order of installs; None where nothing of it can be live.
    removals : tuple of tuple of Removal
        The order in which each is taken off.
    measured_ohm : tuple of (str, Range)
        Resistances of joints, as readings under load give them. [Ω]
    """

    conditions: tuple[str, ...] = ()
    found: tuple[Found, ...] = ()
    unexplained: tuple[Modification, ...] = ()
    isolations: tuple[Isolation | None, ...] = ()
    removals: tuple[tuple[Removal, ...], ...] = ()
    measured_ohm: tuple[tuple[str, Range], ...] = ()
