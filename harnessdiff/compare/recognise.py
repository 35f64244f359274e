"""From edits to modifications, and from modifications to installs. Nothing is swallowed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

import networkx as nx

from harnessdiff.compare.across import cluster_facts, recognise_contacts, recognise_unattached
from harnessdiff.compare.changes import recognise_changes, recognise_markings, recognise_routes
from harnessdiff.compare.claims import Claims
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.made import joint_facts
from harnessdiff.compare.series import recognise_cuts, recognise_moved_ends
from harnessdiff.model.edit import Added, Attached, Changed, Detached, Edit, Removed
from harnessdiff.model.harness import Conductor, Cut, Device, Joint, Terminal
from harnessdiff.model.modification import Fact, Install, Likeness, Modification
from harnessdiff.tables.loader import rows


def modifications_of(comparison: Comparison) -> tuple[Modification, ...]:
    """The modifications that the edits make, with every edit in one of them or in an install.

    Parameters
    ----------
    comparison : Comparison

    Returns
    -------
    tuple of Modification
        In the order of kind, elements and root. Edits of things that several modifications share
        (a device with several taps) are in none of them; `installs_of` lists those things.
    """
    claims = Claims()
    recognise_cuts(comparison, claims)
    recognise_moved_ends(comparison, claims)
    recognise_contacts(comparison, claims)
    recognise_unattached(comparison, claims)
    recognise_changes(comparison, claims)
    recognise_markings(comparison, claims)
    recognise_routes(comparison, claims)
    found = sorted(claims.modifications, key=lambda one: (one.kind, one.elements, one.root, one.role))
    owners = _owners(comparison, found, claims)
    beneath = _joints_beneath(comparison, found, owners)
    found = [
        replace(
            one,
            added=tuple(sorted({*one.added, *(e for e, owner in owners.items() if owner == number)})),
            joints=(*one.joints, *beneath.get(number, ())),
            facts=tuple(
                dict.fromkeys((*one.facts, *_hanging_facts(comparison, one), *_protected_facts(comparison, one)))
            ),
        )
        for number, one in enumerate(found)
    ]
    found = [replace(one, facts=tuple(dict.fromkeys((*one.facts, *joint_facts(comparison, one))))) for one in found]
    return tuple(_with_edits(comparison, found, owners))


def _hanging_facts(comparison: Comparison, one: Modification) -> Iterator[Fact]:
    """What hangs on a joint that was put into a wire, or that an end of a wire was moved to."""
    in_a_cut = one.kind == "tap" and one.has("wire_cut")
    if in_a_cut or (one.kind == "moved_pin" and one.root in one.joints):
        for cluster in comparison.clusters:
            if set(one.joints) & set(cluster.elements):
                yield from cluster_facts(comparison, cluster)


ON_THE_WIRE = frozenset({"swap", "moved_pin", "moved_ground", "open_circuit", "damage", "insertion", "repair"})
"""Kinds that are something done to the wires they name, or to what these are attached to."""


def _protected_facts(comparison: Comparison, one: Modification) -> Iterator[Fact]:
    """Whether it concerns wiring that only the maker's procedure may touch."""
    if one.kind not in ON_THE_WIRE:
        return
    codes = set()
    names = {comparison.owner(name) for name in (*one.elements, *one.nodes)}
    names |= {end for name in names for end in comparison.before.targets(name, "end_1", "end_2")}
    for name in names:
        owner = comparison.before.by_id.get(name)
        codes.add(comparison.reference.function_of(getattr(owner, "circuit", None)))
        if isinstance(owner, Terminal):
            owner = comparison.before.device(comparison.before.device_of(name))
        codes.add(getattr(owner, "protected", None))
    yield from (Fact.of(code) for code in ("restraint", "high_voltage") if code in codes)


def _owners(comparison: Comparison, found: list[Modification], claims: Claims) -> dict[str, int]:
    """Added elements that go with one modification, by id; what several share is in none."""
    owners: dict[str, int] = {}
    by_joint: dict[tuple[str, str], int] = {}
    for number, one in enumerate(found):
        if one.kind == "routing":
            continue
        for added in one.added:
            owners.setdefault(added, number)
        for joint in one.joints:
            for node in one.nodes:
                by_joint[joint, node] = number
            if joint in comparison.added:
                owners.setdefault(joint, number)
    of_cluster: dict[int, int | None] = {}
    for cluster in comparison.clusters:
        numbers = {by_joint.get((contact.by, contact.node)) for contact in cluster.contacts}
        numbers |= {owners.get(element) for element in cluster.elements if element in owners} - {None}
        if len(numbers) == 1:
            (of_cluster[cluster.number],) = numbers
    for device, clusters in comparison.clusters_of_device.items():
        numbers = {of_cluster.get(cluster.number) for cluster in clusters if cluster.contacts}
        if len(numbers) == 1 and None not in numbers:
            (owner,) = numbers
            assert owner is not None
            if device in comparison.added:
                owners.setdefault(device, owner)
            for cluster in clusters:
                if not cluster.contacts and not set(cluster.elements) & set(owners):
                    of_cluster[cluster.number] = owner
    for cluster in comparison.clusters:
        cluster_owner = of_cluster.get(cluster.number)
        if cluster_owner is not None:
            for element in cluster.elements:
                owners.setdefault(element, cluster_owner)
    for incidence in comparison.attached:
        if incidence.role == "of" and incidence.target in owners:
            owners.setdefault(incidence.subject, owners[incidence.target])
        if incidence.role == "marks" and incidence.subject in owners:
            owners.setdefault(incidence.subject, owners[incidence.subject])
    return owners


def _joints_beneath(
    comparison: Comparison, found: list[Modification], owners: Mapping[str, int]
) -> dict[int, list[str]]:
    """Joints between added leads: each hangs beneath one modification, so that none goes unflagged.

    One that several share hangs beneath the first that touches its cluster.
    """
    carried = {joint for one in found if one.kind != "routing" for joint in one.joints}
    touching: dict[str, int] = {}
    for number, one in enumerate(found):
        for joint in one.joints if one.kind != "routing" else ():
            touching.setdefault(joint, number)
    result: dict[int, list[str]] = {}
    for cluster in comparison.clusters:
        first = min((touching[one] for one in cluster.elements if one in touching), default=None)
        for element in cluster.elements:
            owner = owners.get(element, first) if first is not None else owners.get(element)
            if comparison.after.joint(element) is not None and element not in carried and owner is not None:
                result.setdefault(owner, []).append(element)
    return result


def _with_edits(comparison: Comparison, found: list[Modification], owners: dict[str, int]) -> list[Modification]:
    roots: dict[str, int] = {}
    for number, one in enumerate(found):
        if one.kind != "routing":
            roots.setdefault(one.root, number)
            for element in one.elements if one.role in ("ends", "plugged", "end_1", "end_2") else ():
                roots.setdefault(element, number)
    shared = shared_elements(comparison, owners)
    taken: dict[int, list[Edit]] = {}
    left: list[Edit] = []
    for edit in comparison.edits:
        names = _names(edit)
        owner = next((owners[name] for name in names if name in owners), None)
        if owner is None:
            owner = next((roots[name] for name in names if name in roots), None)
        if owner is not None:
            taken.setdefault(owner, []).append(edit)
        elif not any(name in shared for name in names):
            left.append(edit)
    result = [replace(one, edits=tuple(taken.get(number, ()))) for number, one in enumerate(found)]
    if left:
        result.append(
            Modification(kind="unrecognised", root=_names(left[0])[0], edits=tuple(left),
                         elements=tuple(sorted({name for edit in left for name in _names(edit)
                                                if name in comparison.before.by_id})))
        )  # fmt: skip
    return result


def _names(edit: Edit) -> tuple[str, ...]:
    match edit:
        case Added(element) | Removed(element):
            return (element.id,)
        case Changed(before, _):
            return (before.id,)
        case Attached(incidence) | Detached(incidence):
            return (incidence.subject, incidence.target)


def shared_elements(comparison: Comparison, owners: Mapping[str, int]) -> frozenset[str]:
    """Added elements that are part of a cluster or a device with clusters, and go with no one modification."""
    clustered = {element for cluster in comparison.clusters for element in cluster.elements}
    clustered |= set(comparison.clusters_of_device)
    terminals = {
        incidence.subject
        for incidence in comparison.attached
        if incidence.role == "of" and incidence.target in clustered
    }
    return frozenset((clustered | terminals) & comparison.added - set(owners))


def installs_of(
    comparison: Comparison, modifications: tuple[Modification, ...], kits: Mapping[str, str]
) -> tuple[Install, ...]:
    """The installs that modifications form.

    Parameters
    ----------
    comparison : Comparison
    modifications : tuple of Modification
    kits : mapping
        Element id to the word by which the survey says what belongs to one kit.

    Returns
    -------
    tuple of Install
        Each with the numbers of its modifications. A change to the reference alone, that nothing
        ties to others, is in none.
    """
    bound: nx.Graph[object] = nx.Graph()
    for cluster in comparison.clusters:
        nodes = (*cluster.elements, *cluster.devices)
        nx.add_path(bound, nodes)
        bound.add_nodes_from(nodes)
    for element in sorted(comparison.added):
        conductor = comparison.after.conductor(element)
        if conductor is not None and conductor.cable:
            bound.add_edge(element, ("cable", conductor.cable))
    for number, one in enumerate(modifications):
        own = ("modification", number)
        things = {*one.added, *one.joints, *((one.root,) if one.root in comparison.added else ())}
        for thing in sorted(things):
            bound.add_edge(own, thing)
        for thing in sorted({*things, one.root}):
            if thing in kits:
                bound.add_edge(own, ("kit", kits[thing]))
    installs = []
    for component in nx.connected_components(bound):
        numbers = tuple(
            sorted(thing[1] for thing in component if isinstance(thing, tuple) and thing[0] == "modification")
        )
        real = any(
            isinstance(comparison.after.by_id.get(str(thing)), (Conductor, Device, Joint, Cut)) for thing in component
        )
        if numbers and real:
            installs.append(_install(comparison, modifications, numbers, component))
    return tuple(sorted(installs, key=lambda one: one.modifications))


def _install(
    comparison: Comparison, modifications: tuple[Modification, ...], numbers: tuple[int, ...], component: set[object]
) -> Install:
    own = {element for number in numbers for element in modifications[number].added}
    things = sorted(thing for thing in component if isinstance(thing, str))
    devices = tuple(thing for thing in things if comparison.after.device(thing) is not None)
    functions = tuple(
        sorted({function for number in numbers for function in functions_of(comparison, modifications[number])})
    )
    evidence = sorted(str(thing[1]) for thing in component if isinstance(thing, tuple) and thing[0] == "kit")
    return Install(
        id=min(things, default=str(numbers[0])),
        modifications=numbers,
        shared=tuple(thing for thing in things if thing not in own and thing in comparison.added),
        devices=devices,
        functions=functions,
        consistent_with=_likenesses(comparison, functions, devices),
        evidence=tuple(evidence),
    )


def functions_of(comparison: Comparison, modification: Modification) -> tuple[str, ...]:
    """Functions of the circuits that a modification touches, in order."""
    circuits = {circuit for node in modification.nodes for circuit in comparison.circuits_at(node)}
    for element in modification.elements:
        found = comparison.before.by_id.get(element)
        if isinstance(found, Conductor) and found.circuit:
            circuits.add(found.circuit)
    functions = {comparison.reference.function_of(circuit) for circuit in circuits}
    functions |= {getattr(comparison.before.by_id.get(element), "function", None) for element in modification.elements}
    return tuple(sorted(function for function in functions if function))


def _likenesses(comparison: Comparison, functions: tuple[str, ...], devices: tuple[str, ...]) -> tuple[Likeness, ...]:
    added = [device for device in map(comparison.after.device, devices) if device is not None]
    kinds = {device.kind for device in added}
    served = {*functions, *(device.function for device in added if device.function)}
    found = []
    for row in rows("install_signatures"):
        same = sorted(set(row["functions"].split("|")) & served)
        alike = sorted(set(row["devices"].split("|")) & kinds)
        score = len(same) + len(alike)
        needed = row["device_needed"] == "yes" and not alike
        if same and score >= int(row["least"]) and not needed:
            found.append((-score, Likeness(install=row["install"], functions=tuple(same), devices=tuple(alike))))
    return tuple(likeness for _, likeness in sorted(found, key=lambda one: (one[0], one[1].install))[:3])
