"""The result: findings, the installs they belong to, and what was and was not looked at."""

from __future__ import annotations

from dataclasses import dataclass, field

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.edit import Edit
from harnessdiff.model.harness import JointDetails
from harnessdiff.model.isolation import Isolation, Removal
from harnessdiff.model.looks import NextLooks
from harnessdiff.model.modification import Fact, Likeness, Modification
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import OrderKept, Rating
from harnessdiff.model.reference import Vehicle
from harnessdiff.model.rules import DirectiveItem, RuleMet
from harnessdiff.model.survey import Fault, Photograph, Reading, Symptom, Told, Visit
from harnessdiff.model.verdict import Verdict

REMARKS = ("grade_is_not_a_cause", "not_seen_is_not_missing", "wiring_near_a_fire_is_no_proof")
"""Codes of what goes with every result."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaggedJoint:
    """A joint beneath a finding, the flag it carries on a sheet, and its place in the order of joints."""

    id: str
    flag: str
    details: JointDetails
    zone: str | None
    best_rank: int
    worst_rank: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Possibility:
    """What a finding is if an open question is answered this way."""

    choice: str
    about: str
    label: str
    kind: str
    elements: tuple[str, ...]
    best: str
    worst: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one person puts right in one act, rated.

    `id` depends on kind, elements and role only, so that it survives a re-survey; `number` is its
    place in this list. `possibilities` is empty where nothing is open; `consequences` are those of the way
    to read the record that is drawn. `rules` and `directive` are citations beside the rating. `unverified` names
    those of its photographs that were looked for and are missing, changed or without a hash.
    """

    id: str
    number: int
    modification: Modification
    rating: Rating
    origin: str
    state: str
    install: int | None
    joints: tuple[FlaggedJoint, ...] = ()
    circuits: tuple[str, ...] = ()
    functions: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    observations: tuple[str, ...] = ()
    photographs: tuple[str, ...] = ()
    unverified: tuple[str, ...] = ()
    readings: tuple[str, ...] = ()
    possibilities: tuple[Possibility, ...] = ()
    consequences: tuple[Consequence, ...] = ()
    checks: tuple[Fact, ...] = ()
    cautions: tuple[str, ...] = ()
    rules: tuple[RuleMet, ...] = ()
    directive: tuple[DirectiveItem, ...] = ()
    notes: tuple[str, ...] = ()
    extra: tuple[tuple[str, str], ...] = ()

    @property
    def kind(self) -> str:
        """Kind of the modification."""
        return self.modification.kind


@dataclass(frozen=True, slots=True, kw_only=True)
class InstallFound:
    """An install: its findings, what they share, and what it is consistent with. Never who fitted it.

    `isolation` says how it is made dead and `removal` in which order it comes off; the number of a modification in
    it is that of the finding.
    """

    number: int
    findings: tuple[int, ...]
    shared: tuple[str, ...]
    devices: tuple[str, ...]
    functions: tuple[str, ...]
    consistent_with: tuple[Likeness, ...]
    evidence: tuple[str, ...] = ()
    isolation: Isolation | None = None
    removal: tuple[Removal, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneSeen:
    """A zone: ``looked_at``, ``not_opened``, ``out_of_scope`` or ``not_inspected``.

    `because` says why it was not looked at, or what was noted of how it was.
    """

    id: str
    name: str
    status: str
    because: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitSeen:
    """A circuit: how many of its wires were looked at, of how many."""

    id: str
    name: str
    wires_seen: int
    wires: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """What was looked at: only there does not recorded mean as the reference.

    `length_m` is that of the reference's wires of known length together, `length_m_seen` of those of them of which at
    least one place was looked at, `length_m_throughout` of those of which every place was; `wires_without_length` are
    in none of these.
    """

    zones: tuple[ZoneSeen, ...]
    circuits: tuple[CircuitSeen, ...]
    elements_seen: int
    elements: int
    length_m_throughout: float = 0.0
    length_m_seen: float = 0.0
    length_m: float = 0.0
    wires_without_length: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Plain:
    """Something said plainly: an observation that fits nothing, and why."""

    observation: str
    reason: str
    clue: str
    zone: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recorded:
    """An observation that changes nothing: good practice, or found as the reference says."""

    observation: str
    kind: str
    of: tuple[str, ...]
    practice: str | None = None
    note: str | None = None


@dataclass(frozen=True, kw_only=True)
class Findings:
    """Everything that a drawing, a report or a register says.

    `conditions` are those in which both harnesses were solved, none where that could not be done;
    `of_the_whole` holds what holds for the vehicle as a whole, and what behaves otherwise and no finding answers for.
    `order_kept` is how often the order of findings holds when weights vary; None where no two that are weighed
    differ in level.
    """

    program: str
    reference_id: str
    reference_title: str
    reference_sha256: str | None
    survey_title: str | None
    survey_sha256: str | None
    invented: bool
    vehicle: Vehicle
    visits: tuple[Visit, ...]
    purpose: str | None
    findings: tuple[Finding, ...]
    installs: tuple[InstallFound, ...]
    coverage: Coverage
    edits: tuple[Edit, ...]
    policy: Policy
    verdict: Verdict
    plain: tuple[Plain, ...] = ()
    recorded: tuple[Recorded, ...] = ()
    complaint: tuple[Symptom, ...] = ()
    history: tuple[Told, ...] = ()
    pre_existing_faults: tuple[Fault, ...] = ()
    readings: tuple[Reading, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    codes_saved: str = "unknown"
    complete: bool = True
    conditions: tuple[str, ...] = ()
    of_the_whole: tuple[Consequence, ...] = ()
    next_looks: NextLooks = field(default_factory=NextLooks)
    order_kept: OrderKept | None = None
    notes: tuple[str, ...] = field(default=REMARKS)

    @property
    def flagged(self) -> tuple[Finding, ...]:
        """Findings that are more than a record, worst first."""
        return tuple(finding for finding in self.findings if finding.rating.flagged)
