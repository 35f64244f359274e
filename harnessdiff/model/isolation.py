"""How a thing is made dead: the steps in their order, what is live after each, and what stays so."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.model.modification import Fact


@dataclass(frozen=True, slots=True, kw_only=True)
class Still:
    """A node that is live in a condition.

    `volts` is the greatest voltage that it has against the metal or the return of a source; None where cells feed it
    of which nobody said how.
    """

    node: str
    condition: str
    volts: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of an isolation.

    Parameters
    ----------
    code : str
        Of ``isolation_steps.csv``.
    element : str or None
        What it is done to; None for stopping the engine.
    at : str or None
        The pole, slot, in-line part, joint or terminal.
    because : str
        The source whose feed it takes away.
    path : tuple of str
        Elements of that feed, from the source on.
    warnings : tuple of str
        ``codes_not_saved`` where fault codes are lost by it.
    live_after : tuple of Still
        Nodes of the target that are live once it is done.
    """

    code: str
    element: str | None
    at: str | None
    because: str
    path: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    live_after: tuple[Still, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """A node that stays live after the last step, what feeds it, by which way, and when."""

    node: str
    element: str
    fed_by: str
    path: tuple[str, ...]
    conditions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A step that would cut a feed and may not be taken, and why."""

    code: str
    element: str | None
    at: str | None
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Isolation:
    """How a target is made dead.

    Parameters
    ----------
    target : str
        Id of a lead or device, or ``install:`` and its number.
    answer : str
        ``dead_already``, ``steps``, or ``by_a_qualified_person``.
    steps : tuple of Step
        In the order in which to take them; where the answer is by a qualified person, as far as they go.
    live_before : tuple of Still
    dead : bool
        Whether every node is dead after the last step, in every condition.
    proved : bool
        Whether it is dead and nothing was assumed. Ends that nobody traced and cells that nobody knows of count where
        the maker's solid joints and what was added join them to the target; past a fuse, a contact or a load they
        do not.
    stays_live : tuple of Live
    refused : tuple of Refused
        Steps left out of those that would cut what stays live, or all there are for a target that is off limits.
    assumed : tuple of Fact
        What nobody knows and the proof rests on.
    """

    target: str
    answer: str
    steps: tuple[Step, ...]
    live_before: tuple[Still, ...]
    dead: bool
    proved: bool
    stays_live: tuple[Live, ...] = ()
    refused: tuple[Refused, ...] = ()
    assumed: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """What has to be found after a step.

    Parameters
    ----------
    code : str
        ``dead``: the node is dead; ``still_live``: it is live by another feed, which comes off later;
        ``works``: the device works again in the condition; ``refuses``: it stays dead in the condition.
    subject : str
        Node or device.
    condition : str or None
        None for dead in every condition.
    """

    code: str
    subject: str
    condition: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """One step of the removal of an install.

    Parameters
    ----------
    code : str
        ``source_off``, ``power_off``, ``load_off``, ``sense_off``, ``ground_off``, ``rejoin`` or ``put_back``.
    modification : int
        Number of the modification it puts right.
    elements : tuple of str
        What comes off, the source end first.
    at : tuple of str
        Where: joints, and elements of the reference.
    ends : tuple of str
        The two ends that belong together where a wire was cut, by what the reference joins them to.
    greatest_A : float or None
        Greatest current that enters the install there in any condition.
    prove : tuple of Proof
    """

    code: str
    modification: int
    elements: tuple[str, ...]
    at: tuple[str, ...]
    ends: tuple[str, ...] = ()
    greatest_A: float | None = None
    prove: tuple[Proof, ...] = ()
