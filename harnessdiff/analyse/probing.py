"""Where probes were and what was done for a reading, on the network of the as-found harness."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.laws import Law, Laws
from harnessdiff.analyse.network.values import Value
from harnessdiff.graph import slot_of, terminal_names
from harnessdiff.model.harness import Conductor, Device, Harness
from harnessdiff.model.survey import Manipulation, Probe
from harnessdiff.tables.loader import assumed_value

TAKEN_OUT = frozenset({"unplugged", "tail_lifted", "fuse_out"})
MOVED = frozenset({"pressed", "flexed"})
FUSES = frozenset({"fuse", "common"})
"""Kinds of edges that an intact fuse, and a slug in its place, have."""


class NotModelledError(Exception):
    """A reading cannot be computed; its argument is the code of the reason."""


def element_id(harness: Harness, name: str) -> str | None:
    """Id in the as-found harness of what a survey calls by a name; None where it is not there."""
    return next((one for one in (f"+{name}", name) if one in harness.by_id), None)


def nodes_of(network: Network, probe: Probe) -> tuple[str, ...]:
    """Nodes that a probe may have been on.

    Parameters
    ----------
    network : Network
    probe : Probe

    Returns
    -------
    tuple of str
        Several for a conductor, which may have been touched anywhere.

    Raises
    ------
    NotModelledError
        ``point_in_words`` or ``point_not_found``.
    """
    name = _name(probe)
    found: tuple[str, ...] = ()
    if probe.wire is not None or probe.lead is not None:
        found = tuple(
            dict.fromkeys(node for branch in conductor_branches(network, name) for node in (branch.one, branch.other))
        )
    elif probe.device is not None:
        device = element_id(network.harness, name) or ""
        if probe.pin is not None:
            found = tuple(node for node in (f"{device}:{probe.pin}",) if node in network.index)
        else:
            found = tuple(terminal_names(network.harness, slot_of(network.harness, device)))
            found = found if len(found) == 1 else ()
    else:
        found = tuple(node for node in (f"+{name}", name) if node in network.index)[:1]
    if not found:
        raise NotModelledError("point_not_found")
    return found


def _name(probe: Probe) -> str:
    name = next((one for one in (probe.terminal, probe.wire, probe.joint, probe.lead, probe.device) if one), None)
    if name is None:
        raise NotModelledError("point_in_words")
    return name


def conductor_branches(network: Network, name: str) -> tuple[Branch, ...]:
    """The pieces of a wire or lead."""
    element = element_id(network.harness, name)
    return tuple(branch for branch in network.branches if branch.kind == "conductor" and branch.element == element)


def branches_of(network: Network, element: str) -> tuple[Branch, ...]:
    """The branches of an element, and of what sits in it where it is a slot or socket."""
    own = {element, *network.harness.subjects(element, "seat")}
    return tuple(branch for branch in network.branches if branch.element in own)


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A network as it was for a reading.

    Parameters
    ----------
    network : Network
    opened : frozenset of int
        Branches that were taken out.
    moved : tuple of str
        Elements that were pressed or flexed.
    minutes : float or None
        For how long it had been locked. [min]
    """

    network: Network
    opened: frozenset[int] = frozenset()
    moved: tuple[str, ...] = ()
    minutes: float | None = None


def changed(network: Network, manipulations: Iterable[Manipulation]) -> Changed:
    """The network with what was done for a reading.

    Parameters
    ----------
    network : Network
    manipulations : iterable of Manipulation

    Returns
    -------
    Changed

    Raises
    ------
    NotModelledError
        ``manipulation_not_modelled``, ``element_not_found`` or ``no_fuse_there``.
    """
    lamps: dict[str, float] = {}
    out: list[str] = []
    moved: list[str] = []
    minutes: float | None = None
    harness = network.harness
    for one in manipulations:
        if one.kind == "locked_for":
            minutes = one.minutes
            continue
        element = element_id(harness, one.element or "")
        if one.kind not in {*TAKEN_OUT, *MOVED, "lamp_in_fuse_place", "bridged"}:
            raise NotModelledError("manipulation_not_modelled")
        if element is None:
            raise NotModelledError("element_not_found")
        if one.kind in TAKEN_OUT:
            out.append(element)
        elif one.kind in MOVED:
            moved.append(element)
        elif one.kind == "bridged":
            harness = _bridged(harness, element)
        elif one.lamp_W is None:
            raise NotModelledError("manipulation_not_modelled")
        else:
            harness = _with_fuse(harness, element)
            lamps[element] = one.lamp_W
    if harness is not network.harness:
        network = Network(harness, network.polarity, network.system_V)
    values: dict[int, Value] = {}
    for element, lamp_W in lamps.items():
        fuses = [one for one in branches_of(network, element) if is_fuse(one)]
        if not fuses:
            raise NotModelledError("no_fuse_there")
        values |= {fuse.number: lamp(lamp_W, network.system_V) for fuse in fuses}
    return Changed(
        network=with_values(network, values) if values else network,
        opened=frozenset(branch.number for element in out for branch in branches_of(network, element)),
        moved=tuple(moved),
        minutes=minutes,
    )


def is_fuse(branch: Branch) -> bool:
    """Whether a branch is a fuse, or what took its place, and no piece of the lead it is in."""
    return branch.kind == "fuse" or (branch.kind == "common" and getattr(branch.part, "kind", "fuse") == "fuse")


def lamp(power_W: float, system_V: float) -> Value:
    """A filament lamp of the vehicle's voltage."""
    amps = power_W / system_V
    return Value(law=Law.FILAMENT, numbers=(system_V, amps, assumed_value("lamp_cold_ratio") * amps / system_V, 0.0))


def with_values(network: Network, values: Mapping[int, Value]) -> Network:
    """The same network with other values for some branches.

    Parameters
    ----------
    network : Network
    values : mapping
        Number of a branch that is neither load nor coil, to its value.

    Returns
    -------
    Network
    """
    other = copy.copy(network)
    other.branches = tuple(
        replace(branch, value=values[branch.number]) if branch.number in values else branch
        for branch in network.branches
    )
    law, numbers = network.laws.law.copy(), network.laws.numbers.copy()
    for number, value in values.items():
        law[number], numbers[number] = int(value.law), value.numbers
    other.laws = Laws(law=law, numbers=numbers)
    return other


def _with(harness: Harness, element: Device | Conductor) -> Harness:
    return replace(harness, elements=tuple(element if one.id == element.id else one for one in harness.elements))


def _with_fuse(harness: Harness, element: str) -> Harness:
    """The harness with a fuse that conducts where there is one, blown or not."""
    for name in (element, *harness.subjects(element, "seat")):
        found = harness.by_id.get(name)
        if isinstance(found, Device) and found.kind == "fuse":
            return _with(harness, replace(found, state=None))
        if isinstance(found, Conductor):
            whole = tuple(replace(one, state=None) if one.kind == "fuse" else one for one in found.inline)
            return _with(harness, replace(found, inline=whole))
    return harness


def _bridged(harness: Harness, element: str) -> Harness:
    """The harness with a device of two terminals bridged."""
    device = harness.device(element)
    if device is None or len(terminal_names(harness, slot_of(harness, element))) != 2:
        raise NotModelledError("manipulation_not_modelled")
    return _with(harness, replace(device, all_common=True))
