"""The verdict on the whole vehicle, by the policy: no sum, no mean, so that one High never drowns in many Lows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from harnessdiff.model.findings import Coverage, Finding, Plain
from harnessdiff.model.modification import Fact
from harnessdiff.model.policy import Policy
from harnessdiff.model.rating import ACCEPTABLE, ACTIONS, LEVELS, level_rank
from harnessdiff.model.verdict import Because, Silent, Verdict


def verdict_of(
    findings: Sequence[Finding],
    plain: Sequence[Plain],
    coverage: Coverage,
    policy: Policy,
    *,
    complete: bool = True,
    conditions: tuple[str, ...] = (),
    silent: Silent | None = None,
) -> Verdict:
    """The verdict.

    Parameters
    ----------
    findings : sequence of Finding
        Numbered.
    plain : sequence of Plain
        What fits nothing.
    coverage : Coverage
    policy : Policy
        Says what is done about a level, and which levels are satisfactory.
    complete : bool
        Whether all combinations of open questions were gone through.
    conditions : tuple of str
        Those that were computed.
    silent : Silent, optional
        What the reference says nothing of.

    Returns
    -------
    Verdict
        Not satisfactory where something stops use or is to be repaired first by the policy, or where
        something is open that may be so.
    """
    because = (*_acts(findings, policy), *_further(findings, plain, coverage, policy))
    rated = [one for one in findings if one.rating.rated]
    worst = max((one.rating.worst for one in rated), key=level_rank, default=None)
    return Verdict(
        satisfactory=not because,
        because=because,
        worst=worst,
        worst_findings=tuple(one.number for one in rated if one.rating.worst == worst),
        levels=tuple(
            (level, sum(one.rating.worst == level for one in rated)) for level in (*reversed(LEVELS), ACCEPTABLE)
        ),
        actions=tuple(
            (action, sum(policy.action(one.rating.worst) == action for one in rated)) for action in reversed(ACTIONS)
        ),
        may_stop_use=tuple(one.number for one in rated if policy.action(one.rating.worst) == "stop_use"),
        not_rated=len(findings) - len(rated),
        made_safe=tuple(one.number for one in findings if one.state == "made_safe"),
        accepted=tuple(one.number for one in findings if one.state == "accepted"),
        can=tuple(_can(coverage, policy, conditions)),
        cannot=tuple(_cannot(findings, plain, coverage, complete, conditions, silent or Silent())),
    )


def _satisfactory(outcome: str, policy: Policy) -> bool:
    return policy.satisfactory(outcome) and policy.action(outcome) != "stop_use"


def _acts(findings: Sequence[Finding], policy: Policy) -> Iterator[Because]:
    """What is not satisfactory even at best, by what is done about its worst."""
    sure = [one for one in findings if one.rating.rated and not _satisfactory(one.rating.best, policy)]
    for action in reversed(ACTIONS):
        numbers = tuple(one.number for one in sure if policy.action(one.rating.worst) == action)
        if numbers:
            yield Because(code=action, findings=numbers)


def _further(
    findings: Sequence[Finding], plain: Sequence[Plain], coverage: Coverage, policy: Policy
) -> Iterator[Because]:
    unrated = [one for one in findings if not one.rating.rated]
    found = {
        "not_rated": [one for one in unrated if one.kind != "reading"],
        "range": [one for one in findings if one.rating.rated and _crosses(one, policy)],
        "not_traced": [one for one in findings if any(fact.code == "not_traced" for fact in one.modification.facts)],
        "reading": [one for one in findings if one.kind == "reading" or _contradicted(one)],
    }
    for code, concerned in found.items():
        if concerned:
            yield Because(code=code, findings=tuple(one.number for one in concerned))
    if plain:
        yield Because(code="plain", observations=tuple(dict.fromkeys(one.observation for one in plain)))
    if not coverage.elements_seen and not findings and not plain:
        yield Because(code="nothing_looked_at")


def _contradicted(finding: Finding) -> bool:
    """Whether a reading disagrees with what was recorded of a finding: one of the two is wrong."""
    return any(one.code == "reading" and one.get("agrees") == "disagrees" for one in finding.consequences)


def _crosses(finding: Finding, policy: Policy) -> bool:
    return _satisfactory(finding.rating.best, policy) and not _satisfactory(finding.rating.worst, policy)


def _can(coverage: Coverage, policy: Policy, conditions: tuple[str, ...]) -> Iterator[Fact]:
    zones = sum(one.status == "looked_at" for one in coverage.zones)
    if coverage.elements_seen:
        yield Fact.of("as_recorded", zones=zones, of=len(coverage.zones))
    if conditions:
        yield Fact.of("computed", conditions=conditions)
    yield Fact.of("followed_by_hand", policy=policy.title)


def _cannot(
    findings: Sequence[Finding],
    plain: Sequence[Plain],
    coverage: Coverage,
    complete: bool,
    conditions: tuple[str, ...],
    silent: Silent,
) -> Iterator[Fact]:
    yield from _not_seen(coverage)
    if not conditions:
        yield Fact.of("not_computed")
    else:
        if silent.devices:
            yield Fact.of("no_inner_behaviour", devices=silent.devices)
        if silent.loads:
            yield Fact.of("no_figures", loads=silent.loads)
    if plain:
        yield Fact.of("fits_nothing", observations=tuple(dict.fromkeys(one.observation for one in plain)))
    ranged = tuple(str(one.number) for one in findings if not one.rating.certain)
    if ranged:
        yield Fact.of("open", findings=ranged)
    at_least = tuple(str(one.number) for one in findings if one.rating.at_least)
    if at_least or not complete:
        yield Fact.of("not_all_ways", findings=at_least)
    yield from (Fact.of(code) for code in ("frequency", "cause", "fire"))


def _not_seen(coverage: Coverage) -> Iterator[Fact]:
    unseen = sum(one.status != "looked_at" for one in coverage.zones)
    if unseen:
        yield Fact.of("zones_not_inspected", zones=unseen, of=len(coverage.zones))
    wired = [one for one in coverage.circuits if one.wires]
    none = sum(not one.wires_seen for one in wired)
    part = sum(0 < one.wires_seen < one.wires for one in wired)
    if none or part:
        yield Fact.of("circuits_not_seen", circuits=none, in_part=part, of=len(wired))
    if coverage.wires_without_length:
        yield Fact.of("lengths_unknown", wires=coverage.wires_without_length)
    yield Fact.of("hidden_stretches")
    if unseen or none or part:
        yield Fact.of("not_seen")
