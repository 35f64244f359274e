"""A harness as an object graph: elements, and incidences that attach them to each other.

Devices, terminals, conductors (wires and leads), joints, cuts, damages and zones are elements;
that a terminal is of a device, that a wire's end is at a terminal or that a joint sits on a wire
is an incidence. An element of a survey has an id that begins with ``+``, so that it can never be
taken for one of the reference.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, TypeAlias

from harnessdiff.model.parts import Part
from harnessdiff.model.quantity import UNKNOWN, Quantity

Note: TypeAlias = str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Colour:
    """Insulation colour in IEC 60757 letters: base, tracer, further marks.

    A base or tracer ``unknown`` is one that could not be made out; a tracer None says that there is
    none.
    """

    base: str
    tracer: str | None = None
    marks: tuple[str, ...] = ()
    shade: str | None = None
    known_by: str | None = field(default=None, compare=False)

    @property
    def letters(self) -> str:
        """The colour as letters, base first, as in ``RD/WH``."""
        parts = ("?" if part == "unknown" else part for part in (self.base, self.tracer, *self.marks))
        return "/".join(part for part in parts if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """A place in the vehicle."""

    id: str
    name: str
    wet: bool = False
    hot: bool = False
    moving: bool = False
    vibrating: bool = False
    concealed: bool = False
    leaking: bool = False
    near: tuple[str, ...] = ()
    access_min: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Terminal:
    """A terminal of a device; its id is ``DEVICE:NAME`` in the manner of IEC 61666."""

    id: str
    name: str
    connector: str | None = None
    cavity: str | None = None
    standard: str | None = None
    side: str | None = None
    limit_A: Quantity = UNKNOWN
    momentary_A: Quantity = UNKNOWN
    open_end: bool = False
    note: Note = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bond:
    """A terminal of this device joined to another device's without a wire."""

    terminal: str
    to: str
    resistance_ohm: Quantity = UNKNOWN


@dataclass(frozen=True, slots=True, kw_only=True)
class Hypothesis:
    """What the unknown contents of a device may be, and why."""

    parts: tuple[Part, ...]
    because: Note = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """Anything with terminals: also slots, sockets, plugs, ground studs, the body."""

    id: str
    kind: str = "other"
    name: str | None = None
    zone: str | None = None
    parts: tuple[Part, ...] = ()
    positions: tuple[str, ...] = ()
    rest_position: str | None = None
    bonds: tuple[Bond, ...] = ()
    body: str | None = None
    legend_A: float | None = None
    rating_A: Quantity = UNKNOWN
    rating_convention: str | None = None
    state: str | None = None
    interlock: str | None = None
    protected: str | None = None
    sealed: bool | None = None
    ways: int | None = None
    all_common: bool = False
    function: str | None = None
    label: str | None = None
    connected: str | None = None
    mounted_on: str | None = None
    own_energy: str | None = None
    hypotheses: tuple[Hypothesis, ...] = ()
    option: tuple[str, ...] = ()
    confidence: str | None = None
    note: Note = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """How an end that ends nowhere was treated, and in which conditions it was found live.

    `live_in` is None where nobody tried, and empty where it was found dead in all that were tried.
    """

    treatment: str | None = None
    live_in: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenEnd:
    """An end of a lead that is attached to nothing known: loose, or not traced."""

    end: int
    loose: Loose | None = None
    towards: Note = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Inline:
    """A part in the run of a lead."""

    kind: str
    distance_m: Quantity = UNKNOWN
    rating_A: Quantity = UNKNOWN
    body: str | None = None
    state: str | None = None
    resistance_ohm: Quantity = UNKNOWN
    conducts_towards_end: int | None = None
    condition: tuple[str, ...] = ()
    label: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Passage:
    """One thing along the route of a lead: a hole, an edge, something it touches or runs near."""

    kind: str
    what: str
    protected_by: str | None = None
    distance_mm: Quantity = UNKNOWN
    zone: str | None = None
    rubbed: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """A wire of the maker's or a lead that was added. End 1 and end 2 are incidences."""

    id: str
    colour: Colour | None = None
    size_mm2: Quantity = UNKNOWN
    size_claimed_mm2: Quantity = UNKNOWN
    length_m: Quantity = UNKNOWN
    circuit: str | None = None
    material: str | None = None
    construction: str | None = None
    insulation: str | None = None
    zones: tuple[str, ...] = ()
    cable: str | None = None
    inline: tuple[Inline, ...] = ()
    route: tuple[Passage, ...] = ()
    open_ends: tuple[OpenEnd, ...] = ()
    option: tuple[str, ...] = ()
    confidence: str | None = None
    note: Note = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class JointDetails:
    """How a joint is made and what state it is in."""

    type: str = "unknown"
    tool: str = "unknown"
    cover: str = "unknown"
    condition: tuple[str, ...] = ()
    prepared: tuple[str, ...] = ()
    unwrapped: str = "unknown"
    distance_to_next_mm: Quantity = UNKNOWN
    range_mm2: tuple[float, ...] = ()
    fixing: str | None = None
    bare_metal: str | None = None
    rings_on_stud: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Where ends and mid-span points meet; a factory splice is one, too."""

    id: str
    details: JointDetails
    zone: str | None = None
    sealed: bool | None = None
    circuit: str | None = None
    option: tuple[str, ...] = ()
    confidence: str | None = None
    note: Note = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A place where a conductor was cut through; its sides 1 and 2 look to ends 1 and 2."""

    id: str
    zone: str | None = None
    removed_m: Quantity = UNKNOWN
    end_1: Loose | None = None
    end_2: Loose | None = None
    note: Note = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """Damage to whatever it marks; it may join what it marks."""

    id: str
    damage: str = "other"
    extent: str | None = None
    conducts: str | None = None
    zone: str | None = None
    note: Note = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Other:
    """Something seen that no other element fits."""

    id: str
    zone: str | None = None
    note: Note = None


Element: TypeAlias = Zone | Device | Terminal | Conductor | Joint | Cut | Damage | Other


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """A place along a conductor.

    `low_m` and `high_m` bound its distance from end 1 [m]; None where the length is not known.
    `beyond` and `before` name other joints or cuts on the same conductor that lie on the way
    from end 1 to this point, and from this point to end 2.
    """

    low_m: float | None = None
    high_m: float | None = None
    near_end: int | None = None
    beyond: tuple[str, ...] = ()
    before: tuple[str, ...] = ()


Role: TypeAlias = Literal["of", "seat", "end_1", "end_2", "on", "at", "side_1", "side_2", "marks"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Incidence:
    """That `subject` is attached to `target`.

    ===========  ==================  ==========================
    role         subject             target
    ===========  ==================  ==========================
    of           terminal            device
    seat         fuse, relay         slot, socket
    end_1/end_2  conductor           terminal or joint
    on           joint or cut        conductor, at `point`
    at           joint               terminal
    side_1/2     cut                 joint
    marks        damage or other     any element, maybe at `point`
    ===========  ==================  ==========================
    """

    subject: str
    role: Role
    target: str
    point: Point | None = None


def incidence_key(incidence: Incidence) -> tuple[str, str, str, str]:
    """Sort key of an incidence, the same in every run."""
    return (incidence.subject, incidence.role, incidence.target, repr(incidence.point))


@dataclass(frozen=True, kw_only=True)
class Harness:
    """Elements and incidences, each in a fixed order whatever order they came in."""

    elements: tuple[Element, ...]
    incidences: tuple[Incidence, ...]

    @classmethod
    def of(cls, elements: list[Element], incidences: list[Incidence] | set[Incidence]) -> Harness:
        """Make a harness from elements and incidences in any order.

        Raises
        ------
        ValueError
            If two elements have the same id.
        """
        ordered = sorted(elements, key=lambda element: element.id)
        for one, other in itertools.pairwise(ordered):
            if one.id == other.id:
                raise ValueError(f"two elements with the id {one.id}")
        return cls(elements=tuple(ordered), incidences=tuple(sorted(set(incidences), key=incidence_key)))

    @cached_property
    def by_id(self) -> dict[str, Element]:
        """Elements by id."""
        return {element.id: element for element in self.elements}

    @cached_property
    def attached(self) -> dict[str, tuple[Incidence, ...]]:
        """Incidences by the id of either side, each in the harness's order."""
        found: dict[str, list[Incidence]] = {}
        for incidence in self.incidences:
            found.setdefault(incidence.subject, []).append(incidence)
            found.setdefault(incidence.target, []).append(incidence)
        return {key: tuple(value) for key, value in found.items()}

    def conductors(self) -> tuple[Conductor, ...]:
        """All wires and leads."""
        return tuple(element for element in self.elements if isinstance(element, Conductor))

    def devices(self) -> tuple[Device, ...]:
        """All devices."""
        return tuple(element for element in self.elements if isinstance(element, Device))

    def zones(self) -> tuple[Zone, ...]:
        """All zones."""
        return tuple(element for element in self.elements if isinstance(element, Zone))

    def device(self, device_id: str) -> Device | None:
        """The device with this id, if there is one."""
        element = self.by_id.get(device_id)
        return element if isinstance(element, Device) else None

    def conductor(self, conductor_id: str) -> Conductor | None:
        """The wire or lead with this id, if there is one."""
        element = self.by_id.get(conductor_id)
        return element if isinstance(element, Conductor) else None

    def joint(self, joint_id: str) -> Joint | None:
        """The joint with this id, if there is one."""
        element = self.by_id.get(joint_id)
        return element if isinstance(element, Joint) else None

    def zone(self, zone_id: str | None) -> Zone | None:
        """The zone with this id, if there is one."""
        element = self.by_id.get(zone_id) if zone_id else None
        return element if isinstance(element, Zone) else None

    def targets(self, subject: str, *roles: Role) -> tuple[str, ...]:
        """What `subject` is attached to in one of `roles`."""
        return tuple(i.target for i in self.attached.get(subject, ()) if i.subject == subject and i.role in roles)

    def subjects(self, target: str, *roles: Role) -> tuple[str, ...]:
        """What is attached to `target` in one of `roles`."""
        return tuple(i.subject for i in self.attached.get(target, ()) if i.target == target and i.role in roles)

    def device_of(self, terminal_id: str) -> str:
        """The device a terminal is of; the part before the colon where the device is gone."""
        found = self.targets(terminal_id, "of")
        return found[0] if found else terminal_id.rsplit(":", 1)[0]


def is_added(element_id: str) -> bool:
    """Whether the id is one of a survey, not of a reference."""
    return element_id.startswith("+")
