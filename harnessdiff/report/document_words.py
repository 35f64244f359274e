"""Words for what a findings document holds, without any harness: codes that are not known are told as they are.

A document may come from anywhere; whatever it says beyond its schema must not stop an explanation.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from harnessdiff.consequence_words import amount
from harnessdiff.model.harness import JointDetails
from harnessdiff.model.modification import Fact, Value
from harnessdiff.model.range import Range
from harnessdiff.model.rating import ACCEPTABLE, Contribution
from harnessdiff.model.rules import DirectiveItem, RuleMet
from harnessdiff.rating_words import contribution_words
from harnessdiff.rule_words import directive_words, rule_words
from harnessdiff.tables.loader import joint_order
from harnessdiff.tables.vocabulary import questions
from harnessdiff.words import (
    KINDS,
    bare,
    caution_words,
    check_words,
    fact_words,
    function_words,
    joint_words,
    value_words,
)

Json = Mapping[str, Any]
MOST_NAMED = 6
MOST_PARAMS = 3
SAID_FIRST = ("verdict", "fuse", "limit_A")
"""Parameters of a consequence that say most."""
UNITS = {
    "A": "A", "V": "V", "W": "W", "ohm": "Ω", "m": "m", "mm": "mm", "mm2": "mm²", "s": "s", "min": "min", "Ah": "Ah",
}  # fmt: skip
NAMED = {"subject": "at", "condition": "in", "how": "", "often": "", "verdict": ""}
"""Parameters that are told by another word than their name, or by none."""
CONSEQUENCES = {
    "live_unasked": "live when it should be off", "dead": "dead when it should work", "dimmed": "gets less voltage",
    "reversed": "fed the wrong way round", "refusal_defeated": "works where it must refuse",
    "stays_live_without_fuse": "stays live with its fuse out", "masked_blown_fuse": "a blown fuse goes unnoticed",
    "fed_through_added": "fed through what was added", "other_fuse": "hangs on another fuse",
    "backfeed": "current runs backwards", "holds_once_triggered": "holds once triggered",
    "oscillates": "comes to no rest", "supply_collapses": "its supply collapses", "draws": "draws", "drop": "drop",
    "fuse_current": "current through the fuse", "over_limit": "beyond its limit",
    "under_voltage": "below the voltage it needs", "dies_with": "goes dead with it", "joint_heat": "heat in the joint",
    "device_heat": "heat in the device", "drain": "drain at rest", "protection": "protection",
    "data_pair": "data pair out of tolerance", "reading": "reading", "past_fuses": "fuses gone past",
}  # fmt: skip


def level_range(best: str, worst: str) -> str:
    """A level, or from best to worst."""
    return best if best == worst else f"{best} to {worst}"


def finding_level(finding: Json) -> str:
    """The level of a finding in words."""
    if finding.get("rated") is False:
        return "not rated"
    if finding["worst"] == ACCEPTABLE:
        return "recorded, acceptable" if "action" in finding else "recorded"
    return level_range(finding["best"], finding["worst"])


def headline(finding: Json) -> str:
    """A finding in one line: its kind and what it touches."""
    elements = [bare(one) for one in finding["elements"]] or [bare(finding["root"])]
    more = len(elements) - 3
    named = ", ".join(elements[:3]) + (f" and {more} more" if more > 0 else "")
    circuit = functions_in(finding)
    return f"{KINDS[finding['kind']]}: {named}" + (f" · {circuit}" if circuit else "")


def functions_in(finding: Json) -> str:
    """Functions of the circuits it touches."""
    return ", ".join(function_name(one) for one in finding.get("functions", ()))


def function_name(code: str) -> str:
    """A function in words."""
    return function_words((code,)) or bare(code)


def zone_names(document: Json) -> dict[str, str]:
    """Zones by id."""
    return {one["id"]: one["name"] for one in document["coverage"]["zones"]}


def _value(value: Any) -> Value:
    """A parameter as the model holds it; what is no text, number or list of texts as its text."""
    if isinstance(value, list):
        return tuple(str(one) for one in value)
    return value if isinstance(value, (str, int, float)) or value is None else str(value)


def _params(entry: Json) -> dict[str, Value]:
    return {name: _value(value) for name, value in entry.get("params", {}).items()}


def contribution_of(entry: Json) -> Contribution:
    """A contribution as the model holds it."""
    members = {name: entry[name] for name in ("code", "counts", "how") if name in entry}
    return Contribution(**members, params=tuple(sorted(_params(entry).items())))


def contribution_name(entry: Json) -> str:
    """What contributes, in words, with what it speaks of and how much there is."""
    words = contribution_words(contribution_of(entry))
    amount_words = [f"{entry['amount']:.4g} {entry.get('amount_in', '')}".strip()] if "amount" in entry else []
    spoken = [*amount_words, *_spoken_of(entry)]
    return f"{words} ({'; '.join(spoken)})" if spoken else words


def also_text(entries: Sequence[Json]) -> str:
    """Things that contribute alike, in one line: what they are, and what each speaks of."""
    words = contribution_words(contribution_of(entries[0]))
    spoken = list(dict.fromkeys(_which(one) for one in entries if _which(one)))
    more = len(spoken) - MOST_NAMED
    named = ", ".join(spoken[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")
    return f"{words} ({named})" if named else words


def _which(entry: Json) -> str:
    """What a contribution is about, by one name."""
    params = _params(entry)
    known = entry.get("about") or next((params[name] for name in ("subject", "lead", "fuse") if params.get(name)), None)
    return value_words(known) if known is not None else ""


def _spoken_of(entry: Json) -> list[str]:
    about = entry.get("about")
    passed_over = {"make"} if entry["code"] == "joint" else set()
    found = [f"joint {bare(about)}"] if about else []
    for name, value in _params(entry).items():
        if value is None or name in passed_over or (name == "joint" and value == about):
            continue
        found.append(param_words(name, value))
    return found


def param_words(name: str, value: Value) -> str:
    """A parameter in words: its name, its value, its unit."""
    base, _, unit = name.rpartition("_")
    if name in NAMED:
        return f"{NAMED[name]} {value_words(value)}".strip()
    if base and unit in UNITS:
        return f"{base.replace('_', ' ')} {value_words(value)} {UNITS[unit]}"
    return f"{name.replace('_', ' ')} {value_words(value)}"


def fact_text(entry: Json) -> str | None:
    """A fact in words; None for one that goes without saying."""
    fact = Fact.of(entry["code"], **_params(entry))
    try:
        return fact_words(fact)
    except KeyError:  # a parameter is missing that this fact has when the program writes it
        return _bare_text(fact)


def look_text(entry: Json) -> str:
    """A look in words."""
    fact = Fact.of(entry["code"], **_params(entry))
    try:
        return check_words(fact)
    except KeyError:
        return _bare_text(fact)


def _bare_text(fact: Fact) -> str:
    told = [param_words(name, value) for name, value in fact.params if value is not None]
    return fact.code.replace("_", " ") + (f" ({'; '.join(told)})" if told else "")


def question_text(entry: Json) -> str:
    """An open question in words, and of what it is asked."""
    row = questions().get(entry["question"])
    words = row.words if row else entry["question"].replace("_", " ")
    about = entry["about"].replace("#", " end ").rstrip(":")
    return f"{words} ({bare(about)})" if about else words


def caution_text(code: str) -> str:
    """A caution in full."""
    try:
        return caution_words(code)
    except KeyError:
        return code.replace("_", " ")


def joint_text(joint: Json, zones: Mapping[str, str]) -> str:
    """A joint in words: its make, its place in the order of joints, its zone, its state as seen."""
    details = JointDetails(
        **{name: joint[name] for name in ("type", "tool", "cover") if name in joint},
        condition=tuple(joint.get("condition", ())),
    )
    last = max(row.rank for row in joint_order())
    best, worst = joint["best_rank"], joint["worst_rank"]
    rank = f"{best if best == worst else f'{best} to {worst}'} of {last} in the order of joints"
    zone = joint.get("zone")
    place = f", {zones.get(zone, bare(zone))}" if zone else ""
    return f"{joint['flag']} ({bare(joint['id'])}): {joint_words(details)}, {rank}{place}"


def range_of(entry: Json | None) -> Range | None:
    """A computed quantity as the model holds it."""
    if entry is None:
        return None
    high = entry.get("high")
    return Range(
        low=entry["low"], nominal=entry["nominal"], high=math.inf if high is None else high,
        guaranteed=entry["guaranteed"],
    )  # fmt: skip


def consequence_text(entry: Json) -> str:
    """A consequence by ids and figures."""
    subject = bare(entry["subject"]) + (f":{entry['terminal']}" if entry.get("terminal") else "")
    unit = entry.get("unit")
    before, after = range_of(entry.get("before")), range_of(entry.get("after"))
    figures = f", {amount(after, unit)}" if after is not None else ""
    if before is not None and after is not None:
        figures += f" (on the reference {amount(before, unit)})"
    params = {name: value for name, value in _params(entry).items() if value is not None}
    shown = sorted(params, key=lambda name: (SAID_FIRST.index(name) if name in SAID_FIRST else len(SAID_FIRST), name))
    said = "".join(f"; {param_words(name, params[name])}" for name in shown[:MOST_PARAMS])
    conditions = entry.get("conditions", ())
    when = f" ({', '.join(one.replace('_', ' ') for one in conditions[:3])}{', …' if len(conditions) > 3 else ''})"
    return f"{subject}: {CONSEQUENCES[entry['code']]}{figures}{said}{when if conditions else ''}"


READ = {"agrees": "they agree", "disagrees": "they do not agree", "says_little": "that says little"}


def reading_text(entry: Json) -> str:
    """A reading beside what was computed from the record."""
    unit = entry.get("unit")
    before, after = range_of(entry.get("before")), range_of(entry.get("after"))
    measured = f"measured {amount(after, unit)}" if after is not None else "measured"
    computed = f", computed from the record {amount(before, unit)}" if before is not None else ""
    verdict = READ.get(str(_params(entry).get("agrees")), "")
    when = "".join(f" ({one.replace('_', ' ')})" for one in entry.get("conditions", ())[:1])
    return f"reading {entry['subject']}: {measured}{computed}{': ' if verdict else ''}{verdict}{when}"


def rule_text(entry: Json) -> str:
    """A published rule in words."""
    try:
        met = RuleMet(
            rule=entry["rule"], realm=entry["realm"], because=tuple(entry["because"]), sure=entry.get("sure", True)
        )
        return rule_words(met)
    except KeyError:
        return str(entry.get("rule", "a rule that this program does not know"))


def directive_text(entry: Json) -> str:
    """An item of the directive in words."""
    try:
        return directive_words(
            DirectiveItem(
                item=entry["item"], part=entry["part"], category=entry["category"], because=tuple(entry["because"]),
                reasons=tuple(entry["reasons"]),
            )
        )  # fmt: skip
    except KeyError:
        return f"Directive 2014/45/EU Annex I {entry.get('item', '?')}({entry.get('part', '?')})"
