"""What a person saw: three nouns (joint, lead, device), the cut, shorthand, and the rest."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TypeAlias

from harnessdiff.model.harness import Colour, Hypothesis, Inline, JointDetails, Loose, Passage
from harnessdiff.model.parts import Part
from harnessdiff.model.quantity import UNKNOWN, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Clue:
    """What is known of a wire or terminal whose name is not."""

    colour: Colour | None = None
    size_mm2: Quantity = UNKNOWN
    connector: str | None = None
    cavities: tuple[str, ...] = ()
    device: str | None = None
    zone: str | None = None
    circuit: str | None = None
    function: str | None = None
    fuse: str | None = None
    feeds: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class At:
    """A point along a wire or lead, as it was said."""

    from_end: int | None = None
    distance_m: Quantity = UNKNOWN
    near_end: int | None = None
    near: str | None = None
    beyond: tuple[str, ...] = ()
    before: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """One thing that meets in a joint, or that is damaged."""

    wire: str | Clue | None = None
    lead: str | None = None
    at: At | None = None
    end: int | None = None
    cut: str | None = None
    side: int | None = None
    terminal: str | Clue | None = None
    device: str | None = None
    pin: str | None = None
    metal: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceDetails:
    """A device that is not on the reference."""

    kind: str = "other"
    name: str | None = None
    label: str | None = None
    function: str | None = None
    connected: str | None = None
    mounted_on: str | None = None
    own_energy: str | None = None
    body: str | None = None
    sealed: bool | None = None
    terminals: tuple[str, ...] = ()
    contents: tuple[Part, ...] = ()
    hypotheses: tuple[Hypothesis, ...] = ()
    positions: tuple[str, ...] = ()
    rest_position: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """Where an end of a lead, or a wire's end that moved, is."""

    joined: str | None = None
    terminal: str | Clue | None = None
    device: str | DeviceDetails | None = None
    pin: str | None = None
    metal: str | None = None
    loose: Loose | None = None
    not_traced: bool = False
    towards: str | None = None
    joint: JointDetails | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadDetails:
    """What a lead is made of, what sits in it, and where it runs."""

    colour: Colour | None = None
    size_mm2: Quantity = UNKNOWN
    size_claimed_mm2: Quantity = UNKNOWN
    material: str | None = None
    construction: str | None = None
    insulation: str | None = None
    length_m: Quantity = UNKNOWN
    inline: tuple[Inline, ...] = ()
    route: tuple[Passage, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """One core of a multi-core cable."""

    colour: Colour | None = None
    size_mm2: Quantity = UNKNOWN
    inline: tuple[Inline, ...] = ()
    end_1: End | None = None
    end_2: End | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """What is there instead of what the reference has."""

    rating_A: Quantity = UNKNOWN
    legend_A: float | None = None
    body: str | None = None
    state: str | None = None
    rating_convention: str | None = None
    kind: str | None = None
    label: str | None = None
    rated_W: Quantity = UNKNOWN
    parts: tuple[Part, ...] | None = None
    colour: Colour | None = None
    size_mm2: Quantity = UNKNOWN
    material: str | None = None
    length_m: Quantity = UNKNOWN


@dataclass(frozen=True, slots=True, kw_only=True)
class Age:
    """Layer or age of a change, with the evidence."""

    layer: str | None = None
    year: str | None = None
    evidence: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """What every observation may say.

    `id` is filled on reading where the line gave none; `extra` holds its ``x_`` members, values as JSON text.
    """

    id: str
    zone: str | None = None
    note: str | None = field(default=None, compare=False)
    visit: str | None = None
    when: str | None = None
    who: str | None = None
    supersedes: tuple[str, ...] = ()
    photographs: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    age: Age | None = None
    owner: str | None = None
    kit: str | None = None
    state: str | None = None
    sure: str | None = None
    extra: tuple[tuple[str, str], ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class JointSeen(Observation):
    """A joint: any number of ends and points that meet."""

    members: tuple[Member, ...] = ()
    details: JointDetails = field(default_factory=JointDetails)


@dataclass(frozen=True, slots=True, kw_only=True)
class LeadSeen(Observation):
    """A lead or multi-core cable."""

    details: LeadDetails = field(default_factory=LeadDetails)
    end_1: End | None = None
    end_2: End | None = None
    cores: tuple[Core, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceSeen(Observation):
    """A device that is not on the reference."""

    details: DeviceDetails = field(default_factory=DeviceDetails)


@dataclass(frozen=True, slots=True, kw_only=True)
class CutSeen(Observation):
    """A wire or lead cut through."""

    wire: str | Clue | None = None
    lead: str | None = None
    at: At | None = None
    removed_m: Quantity = UNKNOWN
    end_1: Loose | None = None
    end_2: Loose | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tap(Observation):
    """Shorthand: a lead joined to a wire, lead or terminal that goes on as before."""

    on: Member | None = None
    joint: JointDetails | None = None
    lead: LeadDetails | None = None
    to: End | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Insertion(Observation):
    """Shorthand: something put in series."""

    into: Member | None = None
    removed_m: Quantity = UNKNOWN
    joints: tuple[JointDetails, ...] = ()
    leads: tuple[LeadDetails, ...] = ()
    device: str | DeviceDetails | None = None
    pins: tuple[str, ...] = ("1", "2")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge(Observation):
    """Shorthand: a lead from one place of the factory wiring to another."""

    origin: Member | None = None
    to: Member | None = None
    joints: tuple[JointDetails, ...] = ()
    lead: LeadDetails | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair(Observation):
    """Shorthand: a wire cut and joined again, with or without a piece put in."""

    wire: str | Clue | None = None
    at: At | None = None
    removed_m: Quantity = UNKNOWN
    joints: tuple[JointDetails, ...] = ()
    insert: LeadDetails | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap(Observation):
    """Shorthand: two wire ends that changed places."""

    between: tuple[Member, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Jumper(Observation):
    """Shorthand: a wire or clip across two ways of a socket or slot."""

    socket: str | None = None
    between: tuple[str, ...] = ()
    joints: tuple[JointDetails, ...] = ()
    lead: LeadDetails | None = None
    occupant: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Substitution(Observation):
    """Something of the reference replaced by something else."""

    element: str | None = None
    wire: str | Clue | None = None
    fitted: Fitted = field(default_factory=Fitted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing(Observation):
    """Something of the reference that is gone, or there but unplugged."""

    element: str | None = None
    unplugged: bool = False
    wire: str | Clue | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved(Observation):
    """A wire's end, or a device, that is somewhere else now."""

    wire: str | Clue | None = None
    end: int | None = None
    to: End | None = None
    element: str | None = None
    to_zone: str | None = None
    to_slot: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DamageSeen(Observation):
    """Damage to wiring of the maker's or added."""

    on: tuple[Member, ...] = ()
    element: str | None = None
    inline_of: str | None = None
    damage: str = "other"
    extent: str | None = None
    conducts: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings(Observation):
    """A place that is not as it should be."""

    wet: bool = False
    leaking: bool = False
    hot: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GoodPractice(Observation):
    """Something well done, worth recording."""

    of: tuple[str, ...] = ()
    practice: str = "other"


@dataclass(frozen=True, slots=True, kw_only=True)
class AsReference(Observation):
    """Looked at and found as the reference says."""

    elements: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherSeen(Observation):
    """What none of the other kinds fits."""

    on: tuple[Member, ...] = ()


Noun: TypeAlias = JointSeen | LeadSeen | DeviceSeen | CutSeen
Shorthand: TypeAlias = Tap | Insertion | Bridge | Repair | Swap | Jumper
Statement: TypeAlias = (
    Substitution | Missing | Moved | DamageSeen | Surroundings | GoodPractice | AsReference | OtherSeen
)
AnyObservation: TypeAlias = Noun | Shorthand | Statement
