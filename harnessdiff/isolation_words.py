"""How to make a thing dead and how to take it off, in words."""

from __future__ import annotations

import re
from collections.abc import Iterator

from harnessdiff.consequence_words import fuse_name, named
from harnessdiff.describer import Describer
from harnessdiff.model.harness import Cut
from harnessdiff.model.isolation import Isolation, Proof, Removal, Step
from harnessdiff.words import bare

STEPS = {
    "engine_off": "stop the engine, key out", "disarm": "disarm {element}, it has cells of its own",
    "battery_off": "take the grounded pole off {element} and keep it away", "regulator_off": "switch {element} off",
    "pull_fuse": "pull {fuse}", "pull_inline_fuse": "pull {fuse}",
    "unplug": "unplug {element}",
    "stud_off": "take {element} off at {at}", "source_end_off": "undo {element} at its source end, {at}",
    "load_end_off": "undo {element} at its load end, {at}", "cut_through_off": "undo {element} at {at}",
}  # fmt: skip
REMOVALS = {
    "source_off": "disconnect {elements}, it gives current of its own", "power_off": "take off {elements} at {at}",
    "load_off": "take out {elements}", "sense_off": "take off {elements} at {at}",
    "ground_off": "take ground {elements} off {at}", "rejoin": "take out {elements} and join {ends} again",
    "put_back": "put back as by the reference: {at}",
}  # fmt: skip
REASONS = {
    "live_unfused": "it is live with no fuse before it", "restraint": "restraint wiring",
    "high_voltage": "high voltage", "out_of_scope": "out of scope", "not_opened": "that place was not opened",
    "dismantling": "no dismantling is allowed",
}  # fmt: skip
ASSUMED = {
    "not_traced": "an end that nobody followed", "own_energy_unknown": "a box that may have cells of its own",
    "place_unknown": "a joint that nobody knows the wire of", "not_solved": "a condition that could not be solved",
}  # fmt: skip
BY_A_QUALIFIED_PERSON = "only by a qualified person"
CODES_NOT_SAVED = "fault codes are not known to be saved: save them first"


def isolation_lines(isolation: Isolation, describer: Describer) -> Iterator[str]:
    """How a thing is made dead, a line a step, and what stays live.

    Parameters
    ----------
    isolation : Isolation
    describer : Describer

    Yields
    ------
    str
    """
    if isolation.answer == "dead_already":
        yield "dead in every condition" + ("" if isolation.proved else ", as far as it was followed")
        return
    for number, step in enumerate(isolation.steps, start=1):
        yield f"{number}. {_step(step, describer)}"
    if isolation.answer == "by_a_qualified_person":
        reasons = named(dict.fromkeys(REASONS.get(one.reason, one.reason) for one in isolation.refused))
        yield BY_A_QUALIFIED_PERSON + (f": {reasons}" if reasons else "")
    if isolation.dead:
        yield "then it should be dead" + ("" if isolation.proved else f" if {_assumed(isolation)}") + ": prove it"
    for source in dict.fromkeys(one.fed_by for one in isolation.stays_live):
        elements = dict.fromkeys(one.element for one in isolation.stays_live if one.fed_by == source)
        yield f"stays live from {describer.name(source)}: {named(map(bare, elements))}"


def _assumed(isolation: Isolation) -> str:
    things = dict.fromkeys(ASSUMED.get(fact.code, "what nobody saw") for fact in isolation.assumed)
    return f"nothing comes from {named(things)}" if things else "nothing else feeds it"


def _step(step: Step, describer: Describer) -> str:
    element = describer.name(step.element) if step.element else ""
    at = describer.name(step.at) if step.at else ""
    fuse = fuse_name(step.element, describer) if step.element else ""
    words = STEPS[step.code].format(element=element, at=at, fuse=fuse)
    live = len(dict.fromkeys(one.node for one in step.live_after))
    after = f"; {live} points still live" if live > 1 else "; one point still live" if live else ""
    warning = f" ({CODES_NOT_SAVED})" if "codes_not_saved" in step.warnings else ""
    return words + warning + after


def removal_lines(removal: tuple[Removal, ...], describer: Describer) -> Iterator[str]:
    """The order in which an install is taken off, a line a step, each with what to prove after it.

    Parameters
    ----------
    removal : tuple of Removal
    describer : Describer

    Yields
    ------
    str
    """
    for number, one in enumerate(removal, start=1):
        words = REMOVALS[one.code].format(
            elements=_elements(one.elements, describer) or "it",
            at=_elements(one.at, describer)
            or (_elements(one.elements, describer) or "what hangs loose" if one.code == "put_back" else "both ends"),
            ends=" and ".join(map(bare, one.ends)) or "the two ends",
        )
        yield f"{number}. {words} (finding {one.modification}){_prove(one.prove, describer)}"


def _elements(elements: tuple[str, ...], describer: Describer) -> str:
    """Things that come off, by what they are called; a fuse by its slot; a cut is nothing to take hold of."""
    there = (name for name in elements if not isinstance(describer.element(name), Cut))
    kinds = ((name, getattr(describer.element(name), "kind", None)) for name in there)
    return named(fuse_name(name, describer) if kind == "fuse" else bare(name) for name, kind in kinds)


def _prove(proofs: tuple[Proof, ...], describer: Describer) -> str:
    dead = list(dict.fromkeys(bare(re.split("[#~]", one.subject)[0]) for one in proofs if one.code == "dead"))
    works = list(dict.fromkeys(describer.name(one.subject) for one in proofs if one.code == "works"))
    refuses = named(
        f"{describer.name(one.subject)} stays dead in {(one.condition or '').replace('_', ' ')}"
        for one in proofs
        if one.code == "refuses"
    )
    said = []
    if dead:
        said.append(f"{named(dead)} dead")
    if works:
        said.append(f"{named(works)} {'works' if len(works) == 1 else 'work'}")
    if refuses:
        said.append(refuses)
    return f"; prove: {', '.join(said)}" if said else ""
