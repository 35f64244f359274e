"""What a word stands for in a network: a terminal, a load, a wire, a joint; and in which condition it is live."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.loads import load_state
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.errors import InputError, Problem
from harnessdiff.graph import end_node, slot_of
from harnessdiff.model.harness import is_added
from harnessdiff.model.parts import Load
from harnessdiff.model.reference import Condition
from harnessdiff.read.schema import did_you_mean
from harnessdiff.report.solved import Solved
from harnessdiff.tables.loader import limit


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """What was asked for: where it is in the network, and the load meant where it is one.

    Parameters
    ----------
    name : str
        As it is called in the harness.
    nodes : tuple of str
        Where current may come in; one for a terminal or joint, both ends for a wire.
    load : Branch or None
    """

    name: str
    nodes: tuple[str, ...]
    load: Branch | None = None


def place_of(network: Network, name: str, source: str) -> Place:
    """What a word stands for in a network.

    Parameters
    ----------
    network : Network
    name : str
        A terminal, device, wire, joint or lead; what a survey added with or without its ``+``.
    source : str
        Named where there is no such thing.

    Returns
    -------
    Place

    Raises
    ------
    InputError
        If nothing is called so, or it has no place in the network.
    """
    harness = network.harness
    for word in (name, f"+{name}"):
        if word in network.index:
            return Place(name=word, nodes=(word,), load=None)
        if harness.conductor(word) is not None:
            return Place(name=word, nodes=(end_node(harness, word, 1), end_node(harness, word, 2)))
        if harness.device(word) is not None:
            return _device(network, word, source)
    valid = [*network.nodes, *(one.id for one in harness.devices()), *(one.id for one in harness.conductors())]
    valid += [one.removeprefix("+") for one in valid if is_added(one)]
    valid = [one for one in valid if not set("#~@") & set(one)]
    message = f"there is no terminal, device, wire or joint {name}{did_you_mean(name, valid)}"
    raise InputError((Problem(source=source, message=message),))


def _device(network: Network, device: str, source: str) -> Place:
    owner = slot_of(network.harness, device)
    own = [one for element in (device, owner, *network.harness.subjects(owner, "seat"))
           for one in network.branches_of(element)]  # fmt: skip
    working = [one for one in own if one.kind == "load"] or [one for one in own if one.kind == "coil"]
    if working:
        return Place(name=device, nodes=tuple(one.one for one in working), load=working[0])
    terminals = tuple(one for one in network.harness.subjects(owner, "of") if one in network.index)
    if terminals:
        return Place(name=device, nodes=terminals)
    message = f"{device} has no terminals of its own; name a terminal, a wire or a joint"
    raise InputError((Problem(source=source, message=message),))


def loads_of(network: Network, place: Place) -> tuple[Branch, ...]:
    """The loads of a place that is a device, or its coils where it has none."""
    if place.load is None:
        return ()
    return tuple(one for one in network.branches_of(place.load.element) if one.kind == place.load.kind)


def ends_of(settled: Settled, branch: Branch) -> tuple[str, str]:
    """Nodes of a load, the one where it is fed first: the second where that is further from ground."""
    one, other = (abs(settled.voltage_V(node) or 0.0) for node in (branch.one, branch.other))
    turned = other - one >= limit("load_glows_share") * settled.network.system_V
    return (branch.other, branch.one) if turned else (branch.one, branch.other)


def _is_live(settled: Settled, place: Place) -> bool:
    """Whether a load works, or a place has a tenth of the system's voltage."""
    least = limit("load_glows_share") * settled.network.system_V
    loads = loads_of(settled.network, place)
    if loads:
        return any(
            load_state(settled, one).works
            if isinstance(one.part, Load)
            else settled.conducts(one) and abs(settled.across_V(one)) >= least
            for one in loads
        )
    return any(abs(settled.voltage_V(node) or 0.0) >= least for node in place.nodes)


def condition_for(solved: Solved, name: str) -> tuple[Condition, str]:
    """The first condition in which a place is live, else the first; and why it is that one."""
    first = solved.conditions[0]
    if len(solved.conditions) == 1:
        return first, ""
    for one in solved.conditions:
        settled = solved.now[one.id]
        if _is_live(settled, place_of(settled.network, name, solved.reference.id)):
            return one, f"the first in which {name} is live"
    return first, f"{name} is live in none; this is the first"


def check_there(solved: Solved, name: str) -> None:
    """Refuse a name that nothing has; say so where the reference has it and it is gone."""
    network = next(iter(solved.now.values())).network
    try:
        place_of(network, name, solved.reference.id)
    except InputError:
        before = next(iter(solved.before.values())).network
        if solved.after is not None and (name in before.index or name in before.harness.by_id):
            message = f"{name} is on the reference, but not there as found; leave the survey out to see its way there"
            raise InputError((Problem(source=solved.reference.id, message=message),)) from None
        raise
