"""The whole vehicle: whether it is satisfactory, why not, and what the inspection can and cannot say."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.modification import Fact

FURTHER = ("not_rated", "range", "not_traced", "reading", "plain", "nothing_looked_at")
"""Codes of further investigations; every other code of a `Because` is an action of the policy."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Because:
    """A reason why a vehicle is not satisfactory, and what it stands on.

    Parameters
    ----------
    code : str
        An action of the policy, or one of `FURTHER`:

        =================  =====================================================================
        not_rated          nobody can say how bad it is
        range              at best it would be satisfactory, at worst not
        not_traced         a lead was not followed
        reading            a reading that nothing explains
        plain              an observation that fits nothing on the reference
        nothing_looked_at  the survey looked at nothing
        =================  =====================================================================
    findings : tuple of int
        Numbers of findings.
    observations : tuple of str
        Ids of observations that are no finding.
    """

    code: str
    findings: tuple[int, ...] = ()
    observations: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """What is to be said of the whole vehicle. Levels are counted and never summed.

    Parameters
    ----------
    satisfactory : bool
        Whether `because` is empty.
    because : tuple of Because
        Actions first, the gravest foremost; a finding stands under one action, and may ask for
        several further investigations besides.
    worst : str or None
        Worst level of a rated finding; None where none is rated.
    worst_findings : tuple of int
        Findings of that level.
    levels : tuple of (str, int)
        Rated findings by their worst level, the worst first, acceptable last.
    actions : tuple of (str, int)
        The same findings by what a person does about their worst level.
    may_stop_use : tuple of int
        Rated findings that stop use at worst.
    not_rated : int
        Findings that are in neither.
    made_safe, accepted : tuple of int
        Findings recorded as made safe, or as accepted by somebody; they count as what they were.
    can, cannot : tuple of Fact
        What the inspection can and cannot say.
    """

    satisfactory: bool
    because: tuple[Because, ...]
    worst: str | None
    worst_findings: tuple[int, ...]
    levels: tuple[tuple[str, int], ...]
    actions: tuple[tuple[str, int], ...]
    may_stop_use: tuple[int, ...]
    not_rated: int
    made_safe: tuple[int, ...]
    accepted: tuple[int, ...]
    can: tuple[Fact, ...]
    cannot: tuple[Fact, ...]

    @property
    def acts(self) -> tuple[Because, ...]:
        """Reasons that are actions."""
        return tuple(one for one in self.because if one.code not in FURTHER)

    @property
    def further(self) -> tuple[Because, ...]:
        """Reasons that are further investigations."""
        return tuple(one for one in self.because if one.code in FURTHER)


@dataclass(frozen=True, slots=True, kw_only=True)
class Silent:
    """What a reference says nothing of, though what follows electrically depends on it.

    Parameters
    ----------
    devices : tuple of str
        Devices of which nothing is said about the inside.
    loads : tuple of str
        Devices with a load of unknown draw.
    """

    devices: tuple[str, ...] = ()
    loads: tuple[str, ...] = ()
