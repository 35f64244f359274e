"""A computed quantity: between which bounds it lies, and whether they are sure."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A computed number in the unit that its owner's name ends in.

    Parameters
    ----------
    low, high : float
        Bounds; `high` may be infinite.
    nominal : float
        The likeliest value, between the bounds.
    guaranteed : bool
        Whether a standard, a data sheet or arithmetic on what was seen bounds it; False where a bound
        rests on an engineering range or on something taken for granted.

    Raises
    ------
    ValueError
        If low, nominal and high are not in this order, or one is not a number.
    """

    low: float
    nominal: float
    high: float
    guaranteed: bool

    def __post_init__(self) -> None:
        if not self.low <= self.nominal <= self.high:
            raise ValueError(f"out of order: {self.low:g}, {self.nominal:g}, {self.high:g}")

    @classmethod
    def exactly(cls, value: float, *, guaranteed: bool = True) -> Range:
        """Make a range of one value."""
        return cls(low=value, nominal=value, high=value, guaranteed=guaranteed)

    def __add__(self, other: Range) -> Range:
        """Both one after the other, as of resistances in series."""
        return Range(
            low=self.low + other.low,
            nominal=self.nominal + other.nominal,
            high=self.high + other.high,
            guaranteed=self.guaranteed and other.guaranteed,
        )

    def scaled(self, factor: float) -> Range:
        """Every value times a factor.

        Parameters
        ----------
        factor : float
            Not negative.

        Raises
        ------
        ValueError
            If the factor is negative.
        """
        if factor < 0:
            raise ValueError(f"a range is not scaled by {factor:g}")
        low, nominal, high = (value * factor if factor else 0.0 for value in (self.low, self.nominal, self.high))
        return Range(low=low, nominal=nominal, high=high, guaranteed=self.guaranteed)

    @classmethod
    def hull(cls, ranges: Iterable[Range]) -> Range:
        """The range of what may be any of several; nominal is the middle one of theirs, the lower of two.

        Raises
        ------
        ValueError
            If there are none.
        """
        several = tuple(ranges)
        if not several:
            raise ValueError("a hull of nothing")
        nominals = sorted(one.nominal for one in several)
        return cls(
            low=min(one.low for one in several),
            nominal=nominals[(len(nominals) - 1) // 2],
            high=max(one.high for one in several),
            guaranteed=all(one.guaranteed for one in several),
        )
