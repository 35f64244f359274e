"""What was changed: modifications, and the installs they belong to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from harnessdiff.model.edit import Edit

Value: TypeAlias = str | float | int | tuple[str, ...] | None

KINDS = (
    "tap", "insertion", "bridge", "bypass", "open_circuit", "wrong_rated_protection", "thinner_conductor",
    "substituted_conductor", "substituted_part", "swap", "moved_pin", "moved_ground", "moved_part",
    "removed_part", "repair", "orphaned_lead", "untraced_lead", "added_ground", "added_device", "lost_ground",
    "routing", "damage", "surroundings", "reading", "other", "unrecognised",
)  # fmt: skip
"""Kinds of modification; ``unrecognised`` holds plain edits that no recogniser claimed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """Something established about a modification: a code and what it speaks of."""

    code: str
    params: tuple[tuple[str, Value], ...] = ()

    @classmethod
    def of(cls, code: str, **params: Value) -> Fact:
        """Make a fact; its parameters are kept in the order of their names."""
        return cls(code=code, params=tuple(sorted(params.items())))

    def perhaps(self) -> Fact:
        """The same, as something that only may be so: it does not hold in every way to read a record."""
        return Fact.of(self.code, **{**dict(self.params), "perhaps": "yes"})

    @property
    def sure(self) -> bool:
        """Whether it holds in every way to read the record."""
        return not self.code.endswith("_perhaps") and not self.get("perhaps")

    def get(self, name: str) -> Value:
        """A parameter, None where it is not there."""
        return dict(self.params).get(name)


@dataclass(frozen=True, slots=True, kw_only=True)
class Modification:
    """What one person puts right in one act.

    Parameters
    ----------
    kind : str
        One of `KINDS`.
    root : str
        Id of the element the act begins at: an added joint, cut, damage, lead or device, or the
        changed or missing element of the reference.
    elements : tuple of str
        Elements of the reference that it touches.
    added : tuple of str
        Added elements that go when it is put right.
    joints : tuple of str
        Added joints beneath it, in the order to flag them.
    role : str
        How it touches the first of `elements`; with kind and elements it makes the finding's id.
    edits : tuple of Edit
        The edits it accounts for.
    facts : tuple of Fact
    nodes : tuple of str
        Graph nodes at which it touches the reference.
    """

    kind: str
    root: str
    elements: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    role: str = ""
    edits: tuple[Edit, ...] = ()
    facts: tuple[Fact, ...] = ()
    nodes: tuple[str, ...] = ()

    def has(self, code: str) -> bool:
        """Whether a fact with this code is established."""
        return any(fact.code == code for fact in self.facts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Likeness:
    """A sort of install that the circuits touched and the devices added are consistent with, and why.

    `functions` are those of the circuits, and those that the devices themselves are said to have.
    """

    install: str
    functions: tuple[str, ...]
    devices: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Install:
    """Modifications that belong together: connected through added elements only, or by evidence."""

    id: str
    modifications: tuple[int, ...]
    shared: tuple[str, ...]
    devices: tuple[str, ...]
    functions: tuple[str, ...]
    consistent_with: tuple[Likeness, ...]
    evidence: tuple[str, ...] = ()
