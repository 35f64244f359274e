"""Elements that current passes, places on its way and gaps in it, in the words of a person at the vehicle."""

from __future__ import annotations

from harnessdiff.analyse.network.build import Branch
from harnessdiff.analyse.network.gaps import Leg
from harnessdiff.describer import Describer
from harnessdiff.graph import slot_of
from harnessdiff.model.harness import Conductor, Device, Harness, Inline, Joint, is_added
from harnessdiff.words import bare, fuse_words, joint_words, quantity_words

PARTS = {"relay_contact": "relay contact", "circuit_breaker": "breaker"}


class WayWords:
    """Words for what lies on a way.

    Parameters
    ----------
    describer : Describer
    harness : Harness
        The one the way runs through.
    """

    def __init__(self, describer: Describer, harness: Harness) -> None:
        self.describer, self.harness = describer, harness

    def element(self, branch: Branch) -> str:
        """What current passes: a wire, fuse, contact, joint, load …"""
        one, other = (node.rsplit(":", 1)[-1] for node in (branch.one, branch.other))
        owner = bare(slot_of(self.harness, branch.element))
        part = branch.part
        if isinstance(part, Inline):
            return f"in-line {self._inline(part)} in {bare(branch.element)}"
        match branch.kind:
            case "conductor":
                return self._wire(branch.element)
            case "fuse":
                return self._fuse(branch.element)
            case "contact":
                return self._joint(branch.element)
            case "common":
                return f"{self._kind(branch.element)} {owner}"
            case "bond":
                return self._bond(branch)
            case "mated":
                return f"connector {owner}"
            case "damage":
                return f"damage {bare(branch.element)}"
            case "link":
                contact = "contact " if getattr(part, "when", None) is not None else ""
                return f"{self._kind(branch.element)} {owner} {contact}{one}-{other}"
            case "coil":
                return f"coil of {owner} {one}/{other}"
            case "source":
                return f"{self._kind(branch.element)} {owner}"
            case _:
                rated = getattr(part, "rated_W", None)
                power = f" {quantity_words(rated)} W" if rated is not None and rated.known else ""
                return f"{branch.kind} in {owner} {one}/{other}{power}"

    def _wire(self, element: str) -> str:
        wire = self.describer.element(element)
        words = self.describer.wire(wire) if isinstance(wire, Conductor) else bare(element)
        return f"{'lead' if is_added(element) else 'wire'} {words}"

    def _fuse(self, element: str) -> str:
        slot = slot_of(self.harness, element)
        kind = self._kind(element)
        device = self.harness.device(element)
        rating = device.rating_A.exact if device is not None else None
        words = f"{rating:g} A" if rating is not None else fuse_words(self.harness, slot)
        return " ".join(part for part in (kind, bare(slot), words) if part)

    def _joint(self, element: str) -> str:
        joint = self.describer.element(element)
        return joint_words(joint.details) if isinstance(joint, Joint) else bare(element)

    def _bond(self, branch: Branch) -> str:
        device = self.harness.device(branch.element)
        if device is not None and device.kind == "ground_stud":
            return f"ground stud {bare(branch.element)}"
        far = branch.other if branch.one.startswith(f"{branch.element}:") else branch.one
        return f"{bare(branch.element)} fixed to {bare(far.rsplit(':', 1)[0])}"

    def _inline(self, part: Inline) -> str:
        rating = f" {quantity_words(part.rating_A)} A" if part.rating_A.known else ""
        return f"{PARTS.get(part.kind, part.kind.replace('_', ' '))}{rating}"

    def _kind(self, element: str) -> str:
        device = self.describer.element(element)
        return device.kind.replace("_", " ") if isinstance(device, Device) else "part"

    def place(self, node: str) -> str:
        """A node as a place to put a probe on."""
        if ":" in node and node in self.harness.by_id:
            device = self.describer.element(self.harness.device_of(node))
            name = getattr(device, "name", None) or getattr(device, "label", None)
            return f"{bare(node)} {name}" if name else bare(node)
        element, mark, rest = next(
            ((node[: node.rindex(mark)], mark, node[node.rindex(mark) + 1 :]) for mark in "#~@" if mark in node),
            (node, "", ""),
        )
        if "~" in element:
            return f"{bare(element.split('~', maxsplit=1)[0])}, at its in-line part"
        if mark == "#":
            conductor = self.describer.element(element)
            return f"{'end' if isinstance(conductor, Conductor) else 'side'} {rest} of {bare(element)}"
        if mark == "@":
            return f"{bare(element)}, where {bare(rest)} sits"
        joint = self.describer.element(node)
        return f"{'joint' if is_added(node) else 'splice'} {bare(node)}" if isinstance(joint, Joint) else bare(node)

    def gap(self, leg: Leg, positions: str | None) -> str:
        """What interrupts a way.

        Parameters
        ----------
        leg : Leg
        positions : str or None
            The position that the device is in.

        Returns
        -------
        str
        """
        slot = bare(slot_of(self.harness, leg.element))
        what = self.element(leg.branch) if leg.branch is not None else slot
        at = f" (position {positions})" if positions else ""
        match leg.gap:
            case "not_pulled_in":
                return f"{what} is open: not pulled in"
            case "pulled_in":
                return f"{what} is open: pulled in"
            case "output_off":
                return f"{what} is off"
            case "cut":
                wires = [bare(one) for one in self.harness.targets(leg.element, "on")]
                return f"{' '.join(wires)} is cut through ({bare(leg.element)})"
            case "blown":
                wire = self.harness.conductor(leg.element)
                return f"the fuse in {bare(leg.element)} is blown" if wire is not None else f"fuse {slot} is blown"
            case "empty":
                return f"fuse slot {slot} is empty"
            case "gone":
                return f"{what} is gone" if leg.branch is not None else f"{self._wire(leg.element)} is gone"
            case "unplugged":
                return f"{what}: unplugged"
            case "taken_off":
                return f"{self._wire(leg.element)} is taken off {self.place(leg.other)}"
            case _:
                return f"{what} is open{at}"
