"""Fuses and breakers: what one carries, when it opens, what it lets through, and its resistance.

A standard or data sheet promises times at a few shares of the rating only, its gates. Between two of
them nothing is interpolated: a fuse opens no sooner than the gate above promises, and no later than
the gate below.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import carried_share, greatest_fuse_A, limit, plausible, rows
from harnessdiff.tables.physics import (
    FuseGate,
    carried_at,
    fuse_bodies,
    fuse_elements,
    fuse_gates,
    least_fuse_A,
)

BODY_OF_KIND = {"circuit_breaker": "circuit breaker", "fusible_link": "fusible link"}
FOR_EVER = math.inf
OTHERWISE_COOL_DEGC = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuse:
    """A fuse, breaker or fusible link.

    Parameters
    ----------
    body : str or None
        What is said of its body or holder.
    rating_A : Quantity
        As marked. [A]
    convention : str or None
        What the marking means: ``continuous`` or ``blowing``; None where not said.
    kind : str
        ``fuse``, ``circuit_breaker``, ``fusible_link`` or ``slug``.
    state : str or None
        ``slug`` for a piece of metal in its place.
    """

    body: str | None = None
    rating_A: Quantity = UNKNOWN
    convention: str | None = None
    kind: str = "fuse"
    state: str | None = None

    @property
    def protects(self) -> bool:
        """Whether it can open at all."""
        return "slug" not in (self.kind, self.state)


@lru_cache(maxsize=1024)
def bodies_of(fuse: Fuse) -> tuple[str, ...]:
    """Bodies that a fuse may be of, in order of name."""
    if fuse.kind in BODY_OF_KIND:
        return (BODY_OF_KIND[fuse.kind],)
    said = fuse_bodies(fuse.body or "")
    return tuple(body for body in said if body not in BODY_OF_KIND.values()) or said


def convention_matters(fuse: Fuse) -> bool:
    """Whether nobody said what the marking of a glass fuse means; of other bodies it is continuous."""
    return fuse.convention is None and bodies_of(fuse) == ("glass",)


@lru_cache(maxsize=1024)
def rated_A(fuse: Fuse) -> Range:
    """What a fuse carries for ever by its marking.

    Parameters
    ----------
    fuse : Fuse
        A rating with an open side may be the smallest or greatest that is made with its body.

    Returns
    -------
    Range
        Guaranteed where the marking has both bounds. [A]
    """
    conventions = [row["convention"] for row in rows("fuse_conventions")]
    shares = [carried_share(one) for one in (conventions if convention_matters(fuse) else [fuse.convention])]
    low, high = fuse.rating_A.low, fuse.rating_A.high
    guaranteed = None not in (low, high)
    made = max(greatest_fuse_A(body) for body in bodies_of(fuse))
    most = max(plausible()["A"].least, high if high is not None else max(made, low or 0.0))
    least = min(most, max(plausible()["A"].least, low if low is not None else least_fuse_A()))
    return Range(
        low=least * min(shares),
        nominal=(least * min(shares) + most * max(shares)) / 2,
        high=most * max(shares),
        guaranteed=guaranteed,
    )


def carries_A(fuse: Fuse, duration_s: float = FOR_EVER, ambient_degC: float = OTHERWISE_COOL_DEGC) -> Range:
    """What a fuse carries for a time.

    Parameters
    ----------
    fuse : Fuse
    duration_s : float
        Infinite for ever. [s]
    ambient_degC : float
        Around the fuse; a hot place lowers what it surely carries. [°C]

    Returns
    -------
    Range
        From what it surely carries to what it may: below the first gate at which it must have opened
        sooner, infinite where none is published. Nominal is its rating. A circuit that draws more than
        the lower bound may open it without any short. [A]
    """
    rated = rated_A(fuse)
    bodies = bodies_of(fuse)
    surely = min(
        carried_at(body, ambient_degC) * _surely_carried(fuse_gates(body, rated.low), duration_s) for body in bodies
    )
    perhaps = max(_perhaps_carried(fuse_gates(body, rated.high), duration_s) for body in bodies)
    low, high = rated.low * surely, rated.high * perhaps
    return Range(low=low, nominal=min(max(rated.nominal, low), high), high=high, guaranteed=rated.guaranteed)


def _surely_carried(gates: tuple[FuseGate, ...], duration_s: float) -> float:
    """Share of its rating that a fuse carries for a time, as promised."""
    long_enough = (
        gate.share for gate in gates if gate.most_s is None or (gate.least_s is not None and gate.least_s >= duration_s)
    )
    return max([1.0, *long_enough])


def _perhaps_carried(gates: tuple[FuseGate, ...], duration_s: float) -> float:
    """Share of its rating from which on a fuse cannot last for a time."""
    too_short = (gate.share for gate in gates if gate.most_s is not None and gate.most_s < duration_s)
    return min(too_short, default=math.inf)


def opening_time_s(fuse: Fuse, current_A: float) -> tuple[float, float]:
    """Between what times a fuse opens at a current.

    Parameters
    ----------
    fuse : Fuse
    current_A : float
        Steady, from a fuse at rest. [A]

    Returns
    -------
    tuple of float
        No sooner than, no later than; infinite for never. [s]
    """
    if not fuse.protects:
        return math.inf, math.inf
    rated = rated_A(fuse)
    brackets = [
        (
            _bracket(fuse_gates(body, rated.low), current_A, rated.low)[0],
            _bracket(fuse_gates(body, rated.high), current_A, rated.high)[1],
        )
        for body in bodies_of(fuse)
    ]
    return min(low for low, _ in brackets), max(high for _, high in brackets)


def _bracket(gates: tuple[FuseGate, ...], current_A: float, rating_A: float) -> tuple[float, float]:
    if current_A <= rating_A * _surely_carried(gates, FOR_EVER):
        return math.inf, math.inf
    above = (gate.least_s for gate in gates if rating_A * gate.share >= current_A and gate.least_s is not None)
    below = (gate.most_s for gate in gates if rating_A * gate.share <= current_A and gate.most_s is not None)
    return max(above, default=0.0), min(below, default=math.inf)


def let_through_A2s(fuse: Fuse, current_A: float) -> tuple[float, float]:
    """Between what bounds the I²t lies that a fuse lets through before it has opened.

    At a greater current a fuse has less time to lose heat, so that its I²t never rises with the
    current; so the I²t of every gate that is reached is an upper bound, at that gate's current and
    latest time. A breaker has a time of its own however great the current, and gets the current itself.

    Parameters
    ----------
    fuse : Fuse
    current_A : float
        [A]

    Returns
    -------
    tuple of float
        At least the tabled melting I²t of the next smaller rating (0 where none is tabled), at most
        that of the gates; infinite where it may never open. [A²s]

    References
    ----------
    .. [1] IEC 60269-1, pre-arcing I²t (from memory).
    """
    _, latest_s = opening_time_s(fuse, current_A)
    if math.isinf(latest_s):
        return _least_let_through(fuse, current_A), math.inf
    rated = rated_A(fuse)
    if fuse.kind == "circuit_breaker":
        return 0.0, current_A**2 * latest_s
    most = max(
        min(
            (gate.share * rated.high) ** 2 * gate.most_s
            for gate in fuse_gates(body, rated.high)
            if gate.most_s is not None and rated.high * gate.share <= current_A
        )
        for body in bodies_of(fuse)
    )
    return _least_let_through(fuse, current_A), most


def _least_let_through(fuse: Fuse, current_A: float) -> float:
    earliest_s, _ = opening_time_s(fuse, current_A)
    if math.isinf(earliest_s):
        return math.inf
    rated = rated_A(fuse)
    return min(
        max((melts for rating, melts in fuse_elements(body, "melting_A2s").items() if rating <= rated.low), default=0.0)
        for body in bodies_of(fuse)
    )


# -- as a resistance


def fuse_resistance_ohm(body: str | None, rating_A: Quantity) -> Range:
    """Resistance of a genuine fuse, from cold to as hot as it is at its rating.

    Parameters
    ----------
    body : str or None
        What is said of its body; one of which nothing is tabled may be any that is.
    rating_A : Quantity
        [A]

    Returns
    -------
    Range
        Nominal is cold. Guaranteed where body and rating are tabled. [Ω]
    """
    said = [one for one in fuse_bodies(body or "") if fuse_elements(one, "cold_ohm")]
    bodies = said or [one for one in fuse_bodies("") if fuse_elements(one, "cold_ohm")]
    rated = rated_A(Fuse(body=body, rating_A=rating_A, convention="continuous"))
    low = min(_cold_ohm(one, rated.high)[0] for one in bodies)
    high = max(_cold_ohm(one, rated.low)[1] for one in bodies) * limit("hot_to_cold_fuse")
    nominal = sum(sum(_cold_ohm(one, rated.nominal)) / 2 for one in bodies) / len(bodies)
    tabled = len(said) == 1 and rating_A.exact in fuse_elements(said[0], "cold_ohm")
    return Range(low=low, nominal=min(max(nominal, low), high), high=high, guaranteed=tabled)


def _cold_ohm(body: str, rating_A: float) -> tuple[float, float]:
    """Cold resistance by the next smaller tabled rating: as 1/I, and as a greater power of it."""
    cold = fuse_elements(body, "cold_ohm")
    near_A = max((rating for rating in cold if rating <= rating_A), default=min(cold))
    share = near_A / rating_A
    found = sorted((cold[near_A] * share, cold[near_A] * share ** limit("fuse_resistance_power")))
    return found[0], found[1]


def fuse_current_A(millivolt: float, body: str | None, rating_A: Quantity) -> Range:
    """Current through a genuine fuse by the voltage across it.

    Parameters
    ----------
    millivolt : float
        Between the two test points of the fuse. [mV]
    body : str or None
    rating_A : Quantity
        [A]

    Returns
    -------
    Range
        Nominal is that of a cold fuse, which one is that carries little. [A]
    """
    ohm = fuse_resistance_ohm(body, rating_A)
    volt = millivolt / 1000
    return Range(low=volt / ohm.high, nominal=volt / ohm.nominal, high=volt / ohm.low, guaranteed=ohm.guaranteed)
