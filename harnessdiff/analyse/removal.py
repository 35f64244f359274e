"""The order in which an install is taken off: power at its source first, cut-through circuits last, one at a time."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from harnessdiff.analyse.electrical import Solved
from harnessdiff.analyse.isolation import Isolating
from harnessdiff.analyse.network.build import Branch
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.reach import Done
from harnessdiff.model.harness import Cut, Harness, is_added
from harnessdiff.model.isolation import Proof, Removal
from harnessdiff.model.modification import Install, Modification
from harnessdiff.model.reference import Condition
from harnessdiff.tables.loader import limit

ORDER = ("source_off", "power_off", "load_off", "sense_off", "ground_off", "rejoin", "put_back")
"""Sorts of removal in their order: own sources before anything else, a ground after all that returns by it."""
CUT_THROUGH = frozenset({"insertion", "open_circuit", "repair"})
PUT_BACK = frozenset({"wrong_rated_protection", "substituted_part", "substituted_conductor", "thinner_conductor",
                      "removed_part", "moved_part", "moved_pin", "swap", "lost_ground", "moved_ground"})  # fmt: skip
NOT_WORK = frozenset({"routing", "damage", "surroundings", "other", "unrecognised"})
DOES_WORK_A = 1e-3


def removal_order(
    before: Solved,
    after: Solved,
    isolating: Isolating,
    modifications: tuple[Modification, ...],
    install: Install,
) -> tuple[Removal, ...]:
    """The order in which an install is taken off, and what to prove after each step.

    Parameters
    ----------
    before, after : Solved
        The reference and what was found, in the same conditions.
    isolating : Isolating
        Of what was found; it says what is dead once the feeds are off.
    modifications : tuple of Modification
    install : Install

    Returns
    -------
    tuple of Removal
        What is no work at a joint (a route, damage, a wet place) is left out.
    """
    drafts = [
        _removal(before, after, number, modifications[number])
        for number in install.modifications
        if modifications[number].kind not in NOT_WORK
    ]
    drafts += list(_loads(after, modifications, install))
    drafts.sort(key=lambda one: (ORDER.index(one.code), -(one.greatest_A or 0.0), one.modification, one.elements))
    return tuple(_proved(drafts, before, isolating, modifications))


def _removal(before: Solved, after: Solved, number: int, one: Modification) -> Removal:
    code, amps = _code(after, one)
    leads = tuple(name for name in one.added if after.network.harness.conductor(name) is not None)
    return Removal(
        code=code,
        modification=number,
        elements=leads or one.added or (one.root,),
        at=(*one.joints, *one.elements),
        ends=_ends(before.network.harness, after.network.harness, one),
        greatest_A=amps,
    )


def _code(after: Solved, one: Modification) -> tuple[str, float | None]:
    if one.kind in CUT_THROUGH or one.role == "cut":
        return "rejoin", None
    if one.kind in PUT_BACK:
        return "put_back", None
    if one.kind == "added_ground":
        return "ground_off", None
    if not one.joints:
        return "sense_off", None
    amps = _greatest_A(after, one.joints)
    feeds = amps >= limit("sense_most_A") or one.has("permanent_supply") or one.has("at_source")
    return ("power_off" if feeds else "sense_off"), round(amps, 4)


def _greatest_A(after: Solved, joints: tuple[str, ...]) -> float:
    """Greatest current through the contact of a joint and an added lead, over all conditions."""
    contacts = [
        branch.number
        for joint in joints
        for branch in after.network.branches_of(joint)
        if branch.kind == "contact" and any(is_added(node) and "#" in node for node in (branch.one, branch.other))
    ]
    return max((float(np.abs(one.solution.current_A[contacts]).max()) for one in after.settled.values() if contacts),
               default=0.0)  # fmt: skip


def _loads(after: Solved, modifications: tuple[Modification, ...], install: Install) -> Iterator[Removal]:
    """The added devices of an install: those that give come off first, the others once nothing feeds them."""
    cut_through = {
        name for number in install.modifications if modifications[number].kind in CUT_THROUGH
        for name in modifications[number].added
    }  # fmt: skip
    for device in dict.fromkeys((*install.devices, *install.shared)):
        if device in cut_through or after.network.harness.device(device) is None:
            continue
        owner = next((n for n in install.modifications if device in modifications[n].added), install.modifications[0])
        gives = any(one.kind == "source" for one in after.network.branches_of(device))
        yield Removal(code="source_off" if gives else "load_off", modification=owner, elements=(device,), at=())


def _ends(reference: Harness, as_found: Harness, one: Modification) -> tuple[str, ...]:
    """What the two ends of a wire that was cut lead to on the reference."""
    cut = any(isinstance(as_found.by_id.get(name), Cut) for name in one.added)
    wire = next((name for name in one.elements if reference.conductor(name) is not None), None)
    if not cut or wire is None:
        return ()
    return (*reference.targets(wire, "end_1"), *reference.targets(wire, "end_2"))


def _proved(
    drafts: list[Removal], before: Solved, isolating: Isolating, modifications: tuple[Modification, ...]
) -> Iterator[Removal]:
    off: set[str] = set()
    done = Done()
    for one in drafts:
        off |= set(modifications[one.modification].joints)
        proofs: list[Proof] = []
        if one.code == "source_off":
            given = (branch for name in one.elements for branch in isolating.network.branches_of(name))
            done = done.and_(Done(frozenset(branch.number for branch in given if branch.kind == "source")))
        elif one.code in ("power_off", "sense_off"):
            taken = done.and_(isolating.taken_off(off))
            nodes = [node for lead in one.elements for node in isolating.nodes_of(lead)]
            proofs += [
                Proof(code="still_live" if isolating.is_live((node,), taken) else "dead", subject=node)
                for node in nodes
            ]
        elif one.code in ("rejoin", "put_back"):
            for element in modifications[one.modification].elements:
                proofs += _to_work(before, element)
        yield Removal(
            code=one.code,
            modification=one.modification,
            elements=one.elements,
            at=one.at,
            ends=one.ends,
            greatest_A=one.greatest_A,
            prove=tuple(dict.fromkeys(proofs)),
        )


def _to_work(before: Solved, element: str) -> Iterator[Proof]:
    """The loads that hang on an element of the reference, each in the first condition in which it works so.

    And the refusals: devices that must stay dead in a condition and work by way of the element in another.
    """
    works: dict[str, str] = {}
    for name, settled in before.settled.items():
        for device in _behind(settled, element):
            works.setdefault(device, name)
    yield from (Proof(code="works", subject=device, condition=name) for device, name in works.items())
    for condition in (one.condition for one in before.settled.values()):
        yield from _refusals(condition, works)


def _refusals(condition: Condition, works: dict[str, str]) -> Iterator[Proof]:
    for device in condition.must_stay_dead:
        if device in works:
            yield Proof(code="refuses", subject=device, condition=condition.id)


def _behind(settled: Settled, element: str) -> tuple[str, ...]:
    """Loads that current through an element goes to, and what the relays among them switch."""
    network = settled.network
    through = [branch for branch in network.branches_of(element) if abs(settled.current_A(branch)) > DOES_WORK_A]
    reached = {_downstream(settled, branch) for branch in through}
    found: dict[str, None] = {}
    waiting = sorted(reached)
    at: dict[str, list[Branch]] = {}
    for branch in network.branches:
        if abs(settled.current_A(branch)) > DOES_WORK_A:
            at.setdefault(_upstream(settled, branch), []).append(branch)
    while waiting:
        node = waiting.pop()
        for branch in at.get(node, []):
            if branch.kind == "source":
                continue
            if branch.kind in ("load", "coil"):
                found.setdefault(branch.element)
                following = [
                    _downstream(settled, one)
                    for one in network.branches_of(branch.element)
                    if branch.kind == "coil" and one.kind == "link" and abs(settled.current_A(one)) > DOES_WORK_A
                ]
            else:
                following = [_downstream(settled, branch)]
            new = [one for one in following if one not in reached and one not in network.metal]
            reached.update(new)
            waiting += new
    return tuple(found)


def _downstream(settled: Settled, branch: Branch) -> str:
    ahead = settled.current_A(branch) * settled.network.forward > 0
    return branch.other if ahead else branch.one


def _upstream(settled: Settled, branch: Branch) -> str:
    return branch.one if _downstream(settled, branch) == branch.other else branch.other
