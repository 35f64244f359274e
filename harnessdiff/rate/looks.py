"""Which look or measurement narrows the ratings most for the minutes it takes, and which may not be taken.

Nothing may probe, pierce, load or meter a restraint or high-voltage circuit, open what the scope forbids, or lose
fault codes that were not saved: that is settled for every look before it is ranked.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from harnessdiff.model.findings import Finding
from harnessdiff.model.harness import Conductor, Device, Element, Harness, Joint, Terminal
from harnessdiff.model.looks import BARS, BY_QUALIFIED_PERSON, CODES_NOT_SAVED, QUALIFIED, Look, NextLooks, Settles
from harnessdiff.model.modification import Fact
from harnessdiff.model.policy import Policy
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Place, Scope
from harnessdiff.rate.narrowing import narrowing_of
from harnessdiff.tables.loader import assumed_value
from harnessdiff.tables.looks import DISMANTLING, LookRow, look_rows

OFF_LIMITS_FACTS = {
    "restraint": "restraint", "near_restraint": "restraint", "on_restraint_fixing": "restraint",
    "high_voltage": "high_voltage", "near_high_voltage": "high_voltage",
}  # fmt: skip
"""Facts of a finding that leave its looks to a qualified person."""
NAMING = ("joint", "lead", "fuse", "wire", "device", "subject")
"""Parameters of a look that name the element it is taken at."""


def next_looks(
    findings: Sequence[Finding], scope: Scope, reference: Reference, as_found: Harness, policy: Policy
) -> NextLooks:
    """The looks that would narrow the ratings, the one that narrows most a minute first.

    A look that names an element is one look for all findings; one that names none is of its finding. It is ranked by
    its narrowing whatever the answer is, then by what is expected of it, then by the most that it may narrow, each a
    minute of access and work.

    Parameters
    ----------
    findings : sequence of Finding
    scope : Scope
        Of the survey: what may be opened and touched.
    reference : Reference
        As equipped.
    as_found : Harness
    policy : Policy
        Its priors say what is expected.

    Returns
    -------
    NextLooks
        Those that may be taken and those that may not, ranked alike.
    """
    by_number = {one.number: one for one in findings}
    grounds = _Grounds(reference, as_found, scope)
    asked: dict[tuple[Fact, int | None], list[Settles]] = {}
    without = []
    for finding in findings:
        own = list(_settled_by(finding))
        for look, settles in own:
            names = any(value is not None for _, value in look.params)
            asked.setdefault((look, None if names else finding.number), []).append(settles)
        if not own and not finding.rating.certain:
            without.append(finding.number)
    looks = sorted(
        (
            _look(
                look,
                tuple(settles),
                [by_number[number] for number in {one.finding: None for one in settles}],
                grounds,
                policy,
            )
            for (look, _), settles in asked.items()
        ),
        key=rank_key,
    )
    return NextLooks(
        looks=tuple(one for one in looks if one.barred is None),
        barred=tuple(one for one in looks if one.barred is not None),
        without=tuple(sorted(without)),
    )


def rank_key(look: Look) -> tuple[object, ...]:
    """What looks are ordered by: more minutes never come first, everything else equal."""
    return (
        -look.narrowing_worst / look.minutes,
        -(look.narrowing_expected or 0.0) / look.minutes,
        -look.narrowing_most / look.minutes,
        look.minutes,
        look.look.code,
        str(look.look.params),
        look.findings,
    )


def _settled_by(finding: Finding) -> Iterator[tuple[Fact, Settles]]:
    """Looks of a finding: those of its open questions, and checks of which nobody can tell what they narrow.

    Of a level that is certain only that the rest is left to a qualified person.
    """
    now = Settles(finding=finding.number, best=finding.rating.best, worst=finding.rating.worst)
    opens = finding.rating.opens
    for one in opens:
        yield one.look, replace(now, question=one.question, about=one.about, answers=one.answers)
    known = {one.look for one in opens}
    certain = finding.rating.certain
    for check in finding.checks:
        if certain and check.code != BY_QUALIFIED_PERSON:
            continue
        if check not in known and not (opens and check.code == BY_QUALIFIED_PERSON):
            yield check, now


def _look(look: Fact, settles: tuple[Settles, ...], findings: list[Finding], grounds: _Grounds, policy: Policy) -> Look:
    row = look_rows()[look.code]
    narrowing = narrowing_of(settles, policy.priors)
    site = grounds.site(look, row, findings)
    return Look(
        look=look,
        zones=site.zones,
        access_min=site.access_min,
        own_min=row.minutes,
        access_assumed=site.assumed,
        settles=settles,
        narrowing_worst=narrowing.worst,
        narrowing_most=narrowing.most,
        narrowing_expected=narrowing.expected,
        priors=narrowing.priors,
        barred=site.barred,
        not_opened=site.not_opened,
    )


# -- where, and whether it may be taken


@dataclass(frozen=True, slots=True, kw_only=True)
class _Site:
    """Where a look is taken, what it takes to get there, and what forbids it."""

    zones: tuple[str, ...]
    access_min: float
    assumed: bool
    barred: str | None
    not_opened: str | None


class _Grounds:
    """Where looks are taken, and on what grounds they are barred."""

    def __init__(self, reference: Reference, as_found: Harness, scope: Scope) -> None:
        self.reference, self.as_found, self.scope = reference, as_found, scope
        self.opened = {place.zone for place in scope.looked_at if place.zone and place.how == "opened"}

    def site(self, look: Fact, row: LookRow, findings: list[Finding]) -> _Site:
        """Of the places that will do the one got at soonest; all of them for a look along a wire."""
        named = [str(look.get(name)) for name in NAMING if look.get(name) is not None]
        places = self._places(look, row, named, findings)
        ways = [places] if row.along or not places else [(zone,) for zone in places]
        general = [*self._of_findings(findings), *self._of_elements(self._touched(named, findings))]
        if row.state == "battery_off" and self.scope.codes_saved != "yes":
            general.append(CODES_NOT_SAVED)
        choices = [(_gravest([*general, *self._of_zones(way, row)]), *self._access(way), way) for way in ways]
        barred, access_min, assumed, zones = min(
            choices, key=lambda one: (_gravity(one[0]), one[1], places.index(one[3][0]) if one[3] else 0)
        )
        return _Site(
            zones=zones,
            access_min=access_min,
            assumed=assumed,
            barred=barred,
            not_opened=self._not_opened(zones, findings),
        )

    def _places(self, look: Fact, row: LookRow, named: list[str], findings: list[Finding]) -> tuple[str, ...]:
        """Zones of what a look names, else of its findings; to ring out also those of the far ends."""
        own = [zone for name in named for zone in self._zones(self._element(name))]
        places = own or [zone for finding in findings for zone in finding.zones]
        if look.code == "ring_out":
            for candidate in _candidates(findings):
                ends = self.reference.harness.targets(candidate, "end_1") or (candidate,)
                places += self._zones(self._element(ends[0]))
        return tuple(dict.fromkeys(places))

    def _element(self, name: str) -> Element | None:
        return self.as_found.by_id.get(name) or self.reference.harness.by_id.get(name)

    def _zones(self, element: Element | None) -> tuple[str, ...]:
        harness = self.as_found if element is not None and element.id in self.as_found.by_id else self.reference.harness
        match element:
            case Conductor():
                if element.zones:
                    return element.zones
                ends = harness.targets(element.id, "end_1", "end_2")
                near = (self._element(end) for end in ends)
                return tuple(zone for end in near if not isinstance(end, Conductor) for zone in self._zones(end))
            case Terminal():
                return self._zones(self._element(harness.device_of(element.id)))
            case Device() if element.zone is None:
                seats = harness.targets(element.id, "seat")
                return tuple(zone for seat in seats for zone in self._zones(self._element(seat)))
            case Device() | Joint():
                return (element.zone,) if element.zone else ()
            case _:
                return ()

    def _access(self, zones: tuple[str, ...]) -> tuple[float, bool]:
        """Minutes to lay some places open, one after the other, and whether any is assumed."""
        known = [zone.access_min if (zone := self.as_found.zone(name)) is not None else None for name in zones]
        assumed = [one for one in known or [None] if one is None]
        return sum(one for one in known if one is not None) + len(assumed) * assumed_value("access_min"), bool(assumed)

    def _touched(self, named: list[str], findings: list[Finding]) -> tuple[Element, ...]:
        """The elements that looks at some findings may put a hand or a probe on."""
        names = [
            *named,
            *(
                name
                for one in findings
                for name in (*one.modification.elements, *one.modification.added, *one.modification.joints)
            ),
            *_candidates(findings),
        ]
        elements = [one for one in map(self._element, dict.fromkeys(names)) if one is not None]
        ends = [
            wire
            for one in map(self._element, named)
            if isinstance(one, Device)
            for terminal in self.as_found.subjects(one.id, "of")
            for wire in self.as_found.subjects(terminal, "end_1", "end_2")
        ]
        return (*elements, *(one for one in map(self._element, dict.fromkeys(ends)) if one is not None))

    def _of_findings(self, findings: list[Finding]) -> Iterator[str]:
        for finding in findings:
            yield from QUALIFIED.intersection(finding.functions)
            yield from (
                OFF_LIMITS_FACTS[one.code] for one in finding.modification.facts if one.code in OFF_LIMITS_FACTS
            )
            if any(check.code == BY_QUALIFIED_PERSON for check in finding.checks):
                yield "high_voltage" if "high_voltage" in finding.functions else "restraint"
            yield from self._of_circuits(finding.circuits)

    def _of_circuits(self, circuits: Iterable[str]) -> Iterator[str]:
        beyond = {place.circuit for place in self.scope.out_of_scope if place.circuit}
        for circuit in circuits:
            function = self.reference.function_of(circuit)
            if function in QUALIFIED:
                yield str(function)
            if circuit in beyond:
                yield "out_of_scope"

    def _of_elements(self, elements: Iterable[Element]) -> Iterator[str]:
        beyond = {place.element for place in self.scope.out_of_scope if place.element}
        for element in elements:
            own = {getattr(element, "protected", None), getattr(element, "function", None)}
            yield from QUALIFIED.intersection(own)
            circuit = getattr(element, "circuit", None)
            yield from self._of_circuits((circuit,) if circuit else ())
            if element.id in beyond:
                yield "out_of_scope"

    def _of_zones(self, zones: tuple[str, ...], row: LookRow) -> Iterator[str]:
        beyond = {place.zone for place in self.scope.out_of_scope if place.zone}
        if not zones and not self._within_leave(None, row.needs):
            yield "dismantling"
        for name in zones:
            zone = self.as_found.zone(name)
            yield from QUALIFIED.intersection(zone.near if zone is not None else ())
            if name in beyond:
                yield "out_of_scope"
            concealed = zone is not None and zone.concealed
            if not self._within_leave(name, max(row.needs, "trim" if concealed else "none", key=DISMANTLING.index)):
                yield "dismantling"

    def _within_leave(self, zone: str | None, needs: str) -> bool:
        """Whether as much may be taken apart; what was opened for the survey lies bare, unless nothing may be."""
        allowed = self.scope.dismantling
        if allowed is None or DISMANTLING.index(allowed) >= DISMANTLING.index(needs):
            return True
        return allowed != "none" and zone in self.opened

    def _not_opened(self, zones: tuple[str, ...], findings: list[Finding]) -> str | None:
        circuits = {circuit for finding in findings for circuit in finding.circuits}

        def concerned(place: Place) -> bool:
            return place.zone in zones or place.circuit in circuits

        said = [place.because or "" for place in self.scope.not_opened if concerned(place)]
        return "; ".join(one for one in dict.fromkeys(said) if one) if said else None


def _candidates(findings: list[Finding]) -> tuple[str, ...]:
    """Elements that findings may be on, where that is open."""
    return tuple(
        dict.fromkeys(name for one in findings for possible in one.possibilities for name in possible.elements)
    )


def _gravest(bars: Iterable[str]) -> str | None:
    return min(bars, key=BARS.index, default=None)


def _gravity(bar: str | None) -> int:
    """Less for what bars less: nothing before what a surveyor may put right, and that before what they may not."""
    return 0 if bar is None else len(BARS) - BARS.index(bar)
