"""A value that may be exact, a range, one of a few, or unknown."""

from __future__ import annotations

import math
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A number in the unit that its owner's name ends in.

    How it is known and the words it was entered in travel along, but do not take part in
    comparison: the same value measured and claimed is the same value.

    Parameters
    ----------
    low, high : float or None
        Bounds; equal for an exact value, None where that side is open.
    one_of : tuple of float
        The only values possible; `low` and `high` are then its least and greatest.
    known_by : str or None
        ``seen``, ``measured``, ``claimed`` or ``assumed``.
    as_entered : str or None
        The words as said or written.

    Raises
    ------
    ValueError
        If a bound is not finite or the bounds are crossed.
    """

    low: float | None = None
    high: float | None = None
    one_of: tuple[float, ...] = ()
    known_by: str | None = field(default=None, compare=False)
    as_entered: str | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        for bound in (self.low, self.high, *self.one_of):
            if bound is not None and not math.isfinite(bound):
                raise ValueError(f"a quantity must be finite (got {bound!r})")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise ValueError(f"least value {self.low:g} is above greatest value {self.high:g}")

    @classmethod
    def exactly(cls, value: float) -> Quantity:
        """Make an exact quantity of `value`."""
        return cls(low=value, high=value)

    @property
    def exact(self) -> float | None:
        """The value, where only one is possible."""
        return self.low if self.low is not None and self.low == self.high else None

    @property
    def known(self) -> bool:
        """Whether anything at all is known of it."""
        return self.low is not None or self.high is not None

    def may_equal(self, other: Quantity) -> bool:
        """Whether both can be the same value.

        Parameters
        ----------
        other : Quantity
            In the same unit.

        Returns
        -------
        bool
            True also where either is unknown.
        """
        if self.one_of and other.one_of:
            return bool(set(self.one_of) & set(other.one_of))
        for values, bounds in ((self.one_of, other), (other.one_of, self)):
            if values:
                return any(bounds.allows(value) for value in values)
        lows = [bound for bound in (self.low, other.low) if bound is not None]
        highs = [bound for bound in (self.high, other.high) if bound is not None]
        return not lows or not highs or max(lows) <= min(highs)

    def allows(self, value: float) -> bool:
        """Whether `value` lies within the bounds."""
        return (self.low is None or self.low <= value) and (self.high is None or value <= self.high)


UNKNOWN = Quantity()
