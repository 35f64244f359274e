"""The steps that take a feed away, and which of them a person may do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from harnessdiff.analyse.checks import OFF_LIMITS
from harnessdiff.analyse.dead import Fed
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.reach import Done
from harnessdiff.graph import CONSUMING, PROTECTIVE, slot_of
from harnessdiff.model.harness import Bond, Conductor, Device, Element, Harness, Inline, Joint, is_added
from harnessdiff.model.parts import Source
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Place, Scope
from harnessdiff.tables.isolation import isolation_steps

SILENCED_BY_KEY = frozenset({"siren", "alarm"})
"""Devices with cells of their own that a key or a code puts to rest."""
FIXED = frozenset({"battery", "alternator", "solar_regulator", "starter", "fuse_slot", "fuse", "fusible_link",
                   "circuit_breaker", "relay_socket", "joint_block", "ground_stud", "body", "engine_block",
                   "chassis"})  # fmt: skip
"""Devices that are bolted on, or are no more than a place for another."""
PARTING = frozenset({"unplug", "stud_off", "source_end_off", "load_end_off", "cut_through_off"})
"""Steps that part a feed where it stands."""
DISMANTLING = ("none", "covers", "trim", "anything")


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A step that may be taken.

    Parameters
    ----------
    code : str
        Of ``isolation_steps.csv``.
    element : str or None
        What it is done to: battery, fuse, connector, device, joint or lead; None for stopping the engine.
    at : str or None
        Where: the pole of a battery, the in-line part, the joint or terminal that a lead is taken off.
    done : Done
        What it takes out.
    unfused : bool
        Whether it parts what is live with no fuse before it: a spark that nothing ends.
    """

    code: str
    element: str | None
    at: str | None
    done: Done
    unfused: bool = False


def ways_to_cut(fed: Fed, network: Network) -> tuple[Way, ...]:
    """The steps that take away one feed, whoever may do them.

    Parameters
    ----------
    fed : Fed
    network : Network

    Returns
    -------
    tuple of Way
        From the source on, each once.
    """
    return tuple(dict.fromkeys(_ways(fed, network)))


def _ways(fed: Fed, network: Network) -> Iterator[Way]:
    harness = network.harness
    for branch in fed.way[:1]:
        if branch.kind == "source":
            yield from _at_source(branch, network)
    device = harness.device(fed.source)
    if device is not None and device.kind not in FIXED:
        yield from _own_energy(device, network)
    fused = False
    for branch in fed.way:
        yield from (replace(way, unfused=not fused and way.code in PARTING) for way in _at(branch, network))
        fused = fused or branch.kind in PROTECTIVE


def _at(branch: Branch, network: Network) -> Iterator[Way]:
    """The steps that part a feed at one of its elements."""
    harness = network.harness
    device = harness.device(branch.element)
    if branch.kind == "source":
        return
    if isinstance(branch.part, Inline):
        if branch.part.kind in ("fuse", "circuit_breaker"):
            yield _way("pull_inline_fuse", branch.element, branch.one.partition("#")[0], [branch])
    elif device is not None and device.kind in ("fuse", "circuit_breaker"):
        if harness.targets(device.id, "seat"):
            yield _way("pull_fuse", device.id, slot_of(harness, device.id), _parts(device.id, network))
    elif device is not None and _may_be_unplugged(device, branch, network):
        yield _unplugged(device, network)
    elif harness.joint(branch.element) is not None or branch.kind == "conductor":
        yield from _ends_off(branch, network)


def _way(code: str, element: str | None, at: str | None, branches: list[Branch], silent: str | None = None) -> Way:
    done = Done(frozenset(one.number for one in branches), frozenset({silent} if silent else ()))
    return Way(code=code, element=element, at=at, done=done)


def _parts(device: str, network: Network) -> list[Branch]:
    return [one for one in network.branches_of(device) if not isinstance(one.part, Bond)]


def _at_source(branch: Branch, network: Network) -> Iterator[Way]:
    part = branch.part
    assert isinstance(part, Source)
    pole = branch.other if network.forward > 0 else branch.one
    if part.when is not None and part.when.engine and "stopped" not in part.when.engine:
        yield engine_off(network)
    elif part.model in ("battery", "solar_regulator"):
        code = "battery_off" if part.model == "battery" else "regulator_off"
        yield _way(code, branch.element, pole, [branch])


def engine_off(network: Network) -> Way:
    """Engine stopped and key out: what only gives while the engine turns gives nothing."""
    turned = [
        one
        for one in network.branches
        if isinstance(one.part, Source)
        and one.part.when is not None
        and one.part.when.engine
        and "stopped" not in one.part.when.engine
    ]
    return _way("engine_off", None, None, turned)


def _own_energy(device: Device, network: Network) -> Iterator[Way]:
    if device.kind in SILENCED_BY_KEY:
        own = [one for one in network.branches_of(device.id) if one.kind == "source"]
        yield _way("disarm", device.id, None, own, device.id)
    yield _unplugged(device, network)


def _may_be_unplugged(device: Device, branch: Branch, network: Network) -> bool:
    """Whether a feed is cut by unplugging a device: a connector, a relay, what was added, a load it comes through.

    The maker's switches and modules stay where they are: a fuse is nearer to the hand.
    """
    if device.kind in FIXED or isinstance(branch.part, Bond):
        return False
    within_reach = device.kind in ("inline_connector", "plug") or bool(network.harness.targets(device.id, "seat"))
    return within_reach or is_added(device.id) or branch.kind in CONSUMING


def _unplugged(device: Device, network: Network) -> Way:
    return _way("unplug", device.id, None, _parts(device.id, network), device.id if device.own_energy else None)


def _ends_off(branch: Branch, network: Network) -> Iterator[Way]:
    """Ends of added leads that may be taken off where a feed passes a joint or comes to a terminal."""
    harness = network.harness
    for node, other in ((branch.one, branch.other), (branch.other, branch.one)):
        lead = node.rsplit("#", 1)[0]
        if branch.kind == "contact" and is_added(lead) and harness.conductor(lead) is not None:
            if all(_may_come_off(network, post) for post in harness.targets(other, "at")):
                yield _way(_end_code(harness, other), lead, other, [branch])
        elif branch.kind == "contact" and harness.joint(node) is not None and _may_come_off(network, other):
            yield _way("stud_off", node, other, [branch])
        elif branch.kind == "conductor" and is_added(branch.element) and _may_come_off(network, node):
            yield _way("load_end_off" if is_added(node) else "source_end_off", branch.element, node, [branch])


def _may_come_off(network: Network, node: str) -> bool:
    """Whether it is a terminal, and no pole of a source: there the grounded pole comes off first, which will do."""
    return ":" in node and not any(one.kind == "source" and node in (one.one, one.other) for one in network.branches)


def _end_code(harness: Harness, joint: str) -> str:
    if harness.subjects(joint, "side_1", "side_2"):
        return "cut_through_off"
    return "source_end_off"


class Leave:
    """What a person may do: not beyond the scope of the survey, and never at a restraint or high voltage.

    Parameters
    ----------
    reference : Reference
    scope : Scope
    harness : Harness
        As found.
    """

    def __init__(self, reference: Reference, scope: Scope, harness: Harness) -> None:
        self.reference, self.scope, self.harness = reference, scope, harness
        self.opened = {place.zone for place in scope.looked_at if place.zone and place.how == "opened"}

    def refusal(self, way: Way) -> str | None:
        """Why a step may not be taken; None where it may.

        Returns
        -------
        str or None
            ``live_unfused``, ``restraint``, ``high_voltage``, ``out_of_scope``, ``not_opened`` or ``dismantling``.
        """
        if way.element is None:
            return None
        if way.unfused:
            return "live_unfused"
        hands = self.hands_on(way.element, *((way.at,) if way.at else ()))
        wires = self.wires_at(hands)
        for one in (*hands, *wires, *self.joined_by(wire.id for wire in wires)):
            if (reason := self.off_limits(one)) is not None:
                return reason
        for reason, places in (("out_of_scope", self.scope.out_of_scope), ("not_opened", self.scope.not_opened)):
            if any(self._named(one, places) for one in (*hands, *wires)):
                return reason
            if any(self._lies_in(one, places) for one in hands):
                return reason
        return None if self._within_leave(way, hands) else "dismantling"

    def hands_on(self, *things: str) -> tuple[Element, ...]:
        """The elements that a hand is on: a thing, the device and slot it is of, the terminals a joint sits at."""
        harness, names = self.harness, list(things)
        for name in things:
            names += harness.targets(name, "seat", "at")
        names += [harness.device_of(name) for name in tuple(names) if ":" in name]
        return tuple(dict.fromkeys(harness.by_id[name] for name in names if name in harness.by_id))

    def joined_by(self, leads: Iterable[str]) -> tuple[Element, ...]:
        """What the ends of added leads are joined to: who moves one end pulls at the other."""
        added = [lead for lead in leads if is_added(lead)]
        hands = self.hands_on(*(end for lead in added for end in self.harness.targets(lead, "end_1", "end_2")))
        return (*hands, *self.wires_at(hands))

    def wires_at(self, hands: tuple[Element, ...]) -> tuple[Element, ...]:
        """The conductors that go dead or come loose with what a hand is on."""
        harness, found = self.harness, []
        for one in hands:
            if isinstance(one, Joint):
                ends = [one.id, *harness.targets(one.id, "at")]
                cuts = harness.subjects(one.id, "side_1", "side_2")
                found += [wire for point in (one.id, *cuts) for wire in harness.targets(point, "on")]
            elif isinstance(one, Device) and one.kind not in FIXED - {"fuse_slot"}:
                ends = list(harness.subjects(one.id, "of"))
            else:
                ends = [one.id]
            found += [wire for end in ends for wire in harness.subjects(end, "end_1", "end_2")]
        return tuple(dict.fromkeys(harness.by_id[name] for name in found if name in harness.by_id))

    def off_limits(self, element: Element) -> str | None:
        """Whether an element is of a restraint or of high voltage."""
        protected = getattr(element, "protected", None)
        function = self.reference.function_of(getattr(element, "circuit", None))
        return next((one for one in (protected, function) if one in OFF_LIMITS), None)

    @staticmethod
    def _named(element: Element, places: tuple[Place, ...]) -> bool:
        """Whether one of some places is an element, or its circuit."""
        circuit = getattr(element, "circuit", None)
        return any(place.element == element.id or (circuit and place.circuit == circuit) for place in places)

    def _lies_in(self, element: Element, places: tuple[Place, ...]) -> bool:
        """Whether an element that lies in one zone lies in that of one of some places."""
        zone = self._zone(element)
        return zone is not None and any(place.zone == zone for place in places)

    def _zone(self, element: Element) -> str | None:
        if isinstance(element, Joint):
            return element.zone
        if isinstance(element, Device):
            slot = self.harness.device(slot_of(self.harness, element.id))
            return element.zone or (slot.zone if slot is not None else None)
        if isinstance(element, Conductor) and len(element.zones) == 1:
            return element.zones[0]
        return None

    def _within_leave(self, way: Way, hands: tuple[Element, ...]) -> bool:
        """Whether as much may be taken apart as the step needs; what was opened for the survey lies bare."""
        allowed = self.scope.dismantling
        needs = isolation_steps()[way.code].needs
        if allowed is None or DISMANTLING.index(allowed) >= DISMANTLING.index(needs):
            return True
        return allowed != "none" and any(self._zone(one) in self.opened for one in hands)
