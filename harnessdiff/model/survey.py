"""A survey: what a person saw, what was opened, what was measured and told."""

from __future__ import annotations

from dataclasses import dataclass, field

from harnessdiff.errors import Problem
from harnessdiff.model.harness import Harness
from harnessdiff.model.observation import AnyObservation
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.model.reference import Condition, Vehicle


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One visit to the vehicle."""

    id: str
    when: str
    who: tuple[str, ...] = ()
    present: tuple[str, ...] = ()
    place: str | None = None
    conditions: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A zone, circuit or element that was looked at, not opened, or out of scope."""

    zone: str | None = None
    circuit: str | None = None
    element: str | None = None
    how: str | None = None
    visit: str | None = None
    because: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """What was looked at, what was not, and what was allowed.

    `everything` stands for the whole vehicle; otherwise only `looked_at` counts as seen.
    """

    everything: bool = False
    looked_at: tuple[Place, ...] = ()
    not_opened: tuple[Place, ...] = ()
    out_of_scope: tuple[Place, ...] = ()
    dismantling: str | None = None
    codes_saved: str = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionSeen:
    """An option: fitted ``yes``, ``no`` or ``unknown``."""

    id: str
    fitted: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Symptom:
    """Something the vehicle does that it should not, and in which condition."""

    symptom: str
    condition: str | None = None
    elements: tuple[str, ...] = ()
    since: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Something told, or read in a document."""

    text: str
    when: str | None = None
    told_by: str | None = None
    evidence: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """A fault that was there before anybody touched anything."""

    text: str
    element: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SavedCode:
    """A fault code, read and saved."""

    code: str
    system: str | None = None
    text: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Probe:
    """A point a probe was on."""

    terminal: str | None = None
    wire: str | None = None
    joint: str | None = None
    lead: str | None = None
    device: str | None = None
    pin: str | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Manipulation:
    """Something done for a reading: unplugged, fuse out, a lamp in the fuse's place …"""

    kind: str
    element: str | None = None
    minutes: float | None = None
    lamp_W: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measurement."""

    id: str
    between: tuple[Probe, ...]
    around: tuple[Probe, ...] = ()
    voltage_V: Quantity = UNKNOWN
    current_A: Quantity = UNKNOWN
    resistance_ohm: Quantity = UNKNOWN
    temperature_degC: Quantity = UNKNOWN
    word: str | None = None
    condition: str | None = None
    manipulations: tuple[Manipulation, ...] = ()
    loaded: str = "unknown"
    instrument: str | None = None
    of: tuple[str, ...] = ()
    stage: str = "as_found"
    visit: str | None = None
    when: str | None = None
    who: str | None = None
    supersedes: tuple[str, ...] = ()
    photographs: tuple[str, ...] = ()
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Photograph:
    """A photograph below the case folder, and the hash that proves it is the same one.

    `evidence` says what a look at the file found: ``same``, ``missing``, ``changed`` or ``no_hash``;
    None where the survey came from no file and nobody looked.
    """

    id: str
    path: str
    sha256: str | None = None
    caption: str | None = None
    when: str | None = None
    visit: str | None = None
    evidence: str | None = None

    @property
    def unverified(self) -> bool:
        """Whether it was looked for and is not shown to be the picture that was recorded."""
        return self.evidence not in (None, "same")


@dataclass(frozen=True, kw_only=True)
class Survey:
    """What a person saw of a vehicle's wiring.

    Either `observations` or `as_found` (a whole harness, re-drawn) carries it. `warnings` holds what
    was doubtful when it was read.
    """

    visits: tuple[Visit, ...]
    scope: Scope
    version: str = "1.0"
    title: str | None = None
    invented: bool = False
    vehicle: Vehicle = field(default_factory=Vehicle)
    purpose: str | None = None
    client: str | None = None
    options: tuple[OptionSeen, ...] = ()
    complaint: tuple[Symptom, ...] = ()
    history: tuple[Told, ...] = ()
    pre_existing_faults: tuple[Fault, ...] = ()
    saved_codes: tuple[SavedCode, ...] = ()
    conditions: tuple[Condition, ...] = ()
    observations: tuple[AnyObservation, ...] = ()
    as_found: Harness | None = None
    readings: tuple[Reading, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    note: str | None = None
    extra: tuple[tuple[str, str], ...] = ()
    sha256: str | None = None
    warnings: tuple[Problem, ...] = field(default=(), compare=False)
