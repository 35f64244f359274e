"""The verdict on a vehicle in words: for an owner first, then what the inspection can and cannot say."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from harnessdiff.model.findings import Coverage, Finding
from harnessdiff.model.modification import Fact
from harnessdiff.model.policy import Policy
from harnessdiff.model.verdict import Verdict
from harnessdiff.rating_words import ACTIONS
from harnessdiff.words import GRADE_IS_NOT_A_CAUSE, NOT_SEEN_IS_NOT_MISSING, WIRING_NEAR_A_FIRE, bare

ACTS = {
    "stop_use": "stop use",
    "repair_before_relying": "repair before anybody relies on the circuit",
    "improve": "improve",
    "note": "note",
    "none": "nothing to do",
}
"""What is done about findings that keep a vehicle from being satisfactory."""
NOT_FOR_NOW = frozenset({"stop_use", "repair_before_relying"})
"""Actions that hold until a range is settled."""
RECORDED_AS = {"made_safe": "recorded as made safe", "accepted": "recorded as accepted"}
STANDING = frozenset({"cause", "fire", "not_seen"})
"""Limits that are remarks on every result."""
MOST_NAMES = 4
"""Names that a line of limits tells; the findings document holds all of them."""


def verdict_words(verdict: Verdict) -> str:
    """The verdict in one sentence.

    Parameters
    ----------
    verdict : Verdict

    Returns
    -------
    str
        A finding is counted once: under what is done about it, else under further investigation.
    """
    if verdict.satisfactory:
        return "Satisfactory as far as it was looked at: nothing found stops use or has to be repaired first."
    if [one.code for one in verdict.because] == ["nothing_looked_at"]:
        return "No verdict: nothing was looked at."
    parts = [f"{ACTS[act.code]}: {_findings(act.findings)}" for act in verdict.acts]
    counted = {number for act in verdict.acts for number in act.findings}
    findings = {number for one in verdict.further for number in one.findings} - counted
    observations = sorted({name for one in verdict.further for name in one.observations})
    if findings or observations:
        what = [_findings(sorted(findings)) + _may(verdict, findings)] if findings else []
        what += [_named(tuple(observations), "observation")] if observations else []
        parts.append(f"further investigation: {', '.join(what)}")
    told = ". ".join(part[:1].upper() + part[1:] for part in parts)
    return f"Not satisfactory. {told}."


def _findings(numbers: Sequence[int]) -> str:
    """Numbers of findings, those in a row from the first to the last."""
    rows: list[list[int]] = []
    for number in numbers:
        if rows and number == rows[-1][-1] + 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    told = [f"{row[0]} to {row[-1]}" if len(row) > 2 else ", ".join(map(str, row)) for row in rows]
    return f"finding{'s' if len(numbers) > 1 else ''} {', '.join(told)}"


def _may(verdict: Verdict, findings: set[int]) -> str:
    """Of what needs further investigation: which would stop use at worst."""
    may = sorted(findings & set(verdict.may_stop_use))
    return f" ({_findings(may)} may stop use)" if may else ""


def states_words(verdict: Verdict) -> str:
    """Findings recorded as made safe or accepted, which count as what they were; nothing where there is none."""
    told = [
        f"{RECORDED_AS[state]}: {_numbers(numbers)}"
        for state, numbers in (("made_safe", verdict.made_safe), ("accepted", verdict.accepted))
        if numbers
    ]
    return f"{'; '.join(told).capitalize()} (counted as what they were)." if told else ""


def action_words(finding: Finding, policy: Policy) -> str:
    """What a person does about a finding, and whether it is recorded as made safe or accepted.

    Parameters
    ----------
    finding : Finding
    policy : Policy

    Returns
    -------
    str
        Nothing where there is nothing to do.
    """
    rating = finding.rating
    action, best = policy.action(rating.worst), policy.action(rating.best)
    if not rating.rated:
        words = "further investigation"
    elif action == "none":
        words = ""
    else:
        words = ACTIONS[action] + (" until it is known" if action != best and action in NOT_FOR_NOW else "")
    return ", ".join(one for one in (words, RECORDED_AS.get(finding.state, "")) if one)


def coverage_words(coverage: Coverage) -> str:
    """What was looked at, by zones, circuits and length of wire, in one line.

    Parameters
    ----------
    coverage : Coverage

    Returns
    -------
    str
    """
    zones = sum(one.status == "looked_at" for one in coverage.zones)
    wired = [one for one in coverage.circuits if one.wires]
    whole = sum(one.wires_seen == one.wires for one in wired)
    part = sum(0 < one.wires_seen < one.wires for one in wired)
    parts = [f"{zones} of {_count(len(coverage.zones), 'zone')}"]
    parts.append(f"{whole} of {_count(len(wired), 'circuit')}" + (f" (+{part} in part)" if part else ""))
    if coverage.length_m:
        more_m = coverage.length_m_seen - coverage.length_m_throughout
        metres = f"{coverage.length_m_throughout:.0f} of {coverage.length_m:.0f} m of wire"
        parts.append(metres + (f" (+{more_m:.0f} in part)" if round(more_m) else ""))
    if coverage.wires_without_length:
        parts.append(f"{_count(coverage.wires_without_length, 'wire')} of unknown length")
    return ", ".join(parts)


def policy_words(policy: Policy) -> str:
    """Which policy the levels go by, with what tells it from another of the same title."""
    return f"{policy.title} ({policy.sha256[:12]})"


def limit_words(limit: Fact) -> str:
    """Something that an inspection can or cannot say; those of `STANDING` in a sentence of their own.

    Parameters
    ----------
    limit : Fact
        Of a verdict's `can` or `cannot`.

    Returns
    -------
    str
    """
    said = dict(limit.params)
    match limit.code:
        case "as_recorded":
            return (
                f"where it was looked at ({said['zones']} of {_count(said['of'], 'zone')}), "
                "all that was recorded as different is listed"
            )
        case "computed":
            conditions = said["conditions"]
            assert isinstance(conditions, tuple)
            return (
                f"what is live, draws and heats, as computed for {_count(len(conditions), 'condition')} of the vehicle"
            )
        case "followed_by_hand":
            return f"why each level is what it is: it can be followed by hand with the policy ({said['policy']})"
        case "zones_not_inspected":
            return f"what is in {said['zones']} of {_count(said['of'], 'zone')}, which were not looked at"
        case "circuits_not_seen":
            return (
                f"what was done to {said['circuits']} of {_count(said['of'], 'circuit')}, of which no wire was looked "
                f"at, and to the rest of {said['in_part']} looked at in part"
            )
        case "lengths_unknown":
            return f"how many metres were looked at of {_count(said['wires'], 'wire')} of unknown length"
        case "hidden_stretches":
            return "what is hidden along a wire: it counts as looked at where one of its places was"
        case "not_computed":
            return "how the vehicle behaves: nothing was computed"
        case "no_inner_behaviour":
            return f"what {_named(said['devices'], 'device')} may do: the reference says nothing of the inside"
        case "no_figures":
            return f"what {_named(said['loads'], 'device')} may draw: the reference has no figures"
        case "fits_nothing":
            return f"what to make of {_named(said['observations'], 'observation')}: nothing on the reference fits"
        case "open":
            return f"which level holds within the range of {_named(said['findings'], 'finding')}: look as told there"
        case "not_all_ways":
            whose = _of(said["findings"])
            return f"whether ranges are wider{whose}: not all combinations of open questions were gone through"
        case "frequency":
            return "how often anything happens: an index ranks, it counts nothing"
        case "not_seen":
            return NOT_SEEN_IS_NOT_MISSING
        case "cause":
            return GRADE_IS_NOT_A_CAUSE
        case "fire":
            return WIRING_NEAR_A_FIRE
        case _:
            raise KeyError(limit.code)


def _count(count: object, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _numbers(numbers: Iterable[object]) -> str:
    return ", ".join(map(str, numbers))


def _named(names: object, noun: str) -> str:
    """How many things, and the names of the first."""
    assert isinstance(names, tuple)
    told = _numbers(bare(str(one)) for one in names[:MOST_NAMES])
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return f"{noun}s {told}{more}" if len(names) > 1 else f"{noun} {told}"


def _of(findings: object) -> str:
    return f" for {_named(findings, 'finding')}" if findings else ""
