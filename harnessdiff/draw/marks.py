"""Marks for elements of the two harnesses: which symbol, and which words below it."""

from __future__ import annotations

from collections.abc import Iterable

from harnessdiff.describer import Describer
from harnessdiff.draw.flow import Flow
from harnessdiff.draw.scene import Flag, Mark
from harnessdiff.graph import GROUND_DEVICES
from harnessdiff.model.findings import Finding
from harnessdiff.model.harness import Conductor, Cut, Damage, Device, Element, Inline, Joint, Loose, OpenEnd, Point
from harnessdiff.model.quantity import Quantity
from harnessdiff.words import (
    bare,
    blamed,
    is_sure,
    joint_words,
    lead_fact_words,
    level_words,
    outcome_of,
    passage_words,
    quantity_words,
)

Flags = dict[str, tuple[Flag, ...]]
FUSES = frozenset({"fuse_slot", "fusible_link", "circuit_breaker"})
POINTS = FUSES | GROUND_DEVICES | {"ground_stud", "battery"}
"""Devices that are drawn as one mark, whatever terminal of theirs is meant."""
SYMBOLS = {
    "battery": "battery", "alternator": "generator", "fuse_slot": "fuse", "fuse": "fuse", "fusible_link": "fuse",
    "circuit_breaker": "fuse", "lamp": "lamp", "lamp_holder": "lamp", "motor": "motor", "starter": "motor",
    "pump": "motor", "fan": "motor", "switch": "switch", "button": "switch", "relay": "relay",
    "relay_socket": "relay", "ground_stud": "ground", "body": "ground", "engine_block": "ground",
    "chassis": "ground", "resistor": "resistor", "load_resistor": "resistor", "heater": "resistor",
    "terminator": "resistor", "diode": "diode", "horn": "horn", "speaker": "speaker", "beeper": "horn",
    "siren": "horn", "socket": "socket", "diagnostic_socket": "socket",
}  # fmt: skip
SIMPLE = ("lamp", "motor", "resistor", "horn", "speaker")
"""Symbols that say which terminal is meant where a device has two."""
JOINT_SYMBOLS = {
    "plug_in": "plug", "push_on": "plug", "bullet": "plug", "fuse_slot_adaptor": "plug", "lever_connector": "plug",
    "factory_splice": "crimp", "splice_barrel": "crimp", "butt_crimp": "crimp", "solder": "solder",
    "solder_ring_sleeve": "solder", "ring_terminal": "ring", "clamp": "ring", "under_screw": "ring",
    "screw_strip": "ring", "threaded_tap": "blade", "blade_tap": "blade", "insulation_displacement": "blade",
    "twist_on": "twisted", "twisted": "twisted", "bare_contact": "bare", "other": "unknown", "unknown": "unknown",
}  # fmt: skip
INLINE_SYMBOLS = {
    "fuse": "fuse", "circuit_breaker": "fuse", "diode": "diode", "resistor": "resistor", "switch": "switch",
    "relay_contact": "switch",
}  # fmt: skip

MOST_NAMED = 4
"""Of more wires that a joint may be on its label names so many and counts the others."""


class Marks:
    """Makes marks; nothing here knows what else is on a sheet.

    Parameters
    ----------
    describer : Describer
    flow : Flow
        With the two harnesses.
    """

    def __init__(self, describer: Describer, flow: Flow) -> None:
        self.describer = describer
        self.flow = flow
        self.before = flow.before
        self.harness = flow.harness

    def device(self, device_id: str, flags: tuple[Flag, ...] = (), *, gone: bool = False) -> Mark:
        """A device of the maker's; a fuse with its rating, and with the right one where that differs."""
        device = self.harness.device(device_id) or self.before.device(device_id)
        assert device is not None
        rating = ""
        if device.kind in FUSES:
            seated = [self.harness.device(one) for one in self.harness.subjects(device_id, "seat")]
            fuse = next((one for one in seated if one is not None), device)
            rating = f"{fuse.rating_A.exact:g} A" if fuse.rating_A.exact is not None else ""
            was = self.before.device(fuse.id)
            if was is not None and was.rating_A != fuse.rating_A and was.rating_A.exact is not None:
                rating = f"{rating} fitted, {was.rating_A.exact:g} A correct"
        head = " ".join(part for part in (bare(device_id), rating) if part)
        symbol = SYMBOLS.get(device.kind, "device")
        return Mark(id=device_id, symbol=symbol, label=(head, _name(device)), flags=flags, gone=gone)

    def terminal(self, terminal_id: str) -> Mark:
        """A terminal of the maker's: its device where that says enough, else the terminal with its device's name."""
        device_id = self.before.device_of(terminal_id)
        device = self.harness.device(device_id) or self.before.device(device_id)
        if device is None:
            return Mark(id=terminal_id, symbol="terminal", label=(bare(terminal_id),))
        if device.kind == "battery" and terminal_id in self.flow.ground:
            # Posts of their own, so that what is at the one is not led around what is at the other.
            return Mark(id=terminal_id, symbol="battery", label=(bare(terminal_id), _name(device)))
        few = len(self.before.subjects(device_id, "of")) <= 2
        if device.kind in POINTS or (few and SYMBOLS.get(device.kind) in SIMPLE):
            return self.device(device_id)
        return Mark(id=terminal_id, symbol="terminal", label=(bare(terminal_id), _name(device)))

    def added_device(self, device: Device, flags: Flags) -> Mark:
        """A device that is not on the reference."""
        words = device.name or (f"“{device.label}”" if device.label else device.kind.replace("_", " "))
        own = bare(device.id) if "." not in device.id else ""
        label = _parts(words, own, self.describer.zone(device.zone))
        symbol = SYMBOLS.get(device.kind, "device")
        return Mark(id=device.id, symbol=symbol, label=label, flags=flags.get(device.id, ()), added=True)

    def joint(self, joint: Joint, candidates: Iterable[str], flags: Flags) -> Mark:
        """A joint with its make, the wires it may be on where that is open, and its place."""
        named = list(candidates)
        more = f" or {len(named) - MOST_NAMED} more" if len(named) > MOST_NAMED else ""
        doubt = " or ".join(named[:MOST_NAMED]) + more
        cut = "wire cut through" if self.harness.subjects(joint.id, "side_1", "side_2") else ""
        label = _parts(
            joint_words(joint.details), cut, doubt and f"on {doubt}", "" if doubt else self._along(joint),
            self.describer.zone(joint.zone),
        )  # fmt: skip
        return Mark(
            id=joint.id, symbol=f"joint_{JOINT_SYMBOLS[joint.details.type]}", label=label,
            flags=flags.get(joint.id, ()), added=joint.id not in self.before.by_id,
        )  # fmt: skip

    def _along(self, joint: Joint) -> str:
        """Where along its wire a joint sits: its distance from the nearer end, or which end that is."""
        cuts = self.harness.subjects(joint.id, "side_1", "side_2")
        for one in (joint.id, *cuts):
            for incidence in self.harness.attached.get(one, ()):
                wire = self.harness.conductor(incidence.target)
                if incidence.subject == one and incidence.point is not None and wire is not None:
                    return self._distance(wire, incidence.point)
        return ""

    def _distance(self, wire: Conductor, point: Point) -> str:
        length = wire.length_m.exact
        low, high = point.low_m, point.high_m
        if low is None or high is None:
            return f"nearer to {self._end_name(wire, point.near_end)}" if point.near_end else ""
        end = 2 if length is not None and low + high > length else 1
        if point.near_end and low != high:
            return f"nearer to {self._end_name(wire, point.near_end)}"
        if end == 2 and length is not None:
            low, high = length - high, length - low
        words = quantity_words(Quantity(low=low, high=max(low, high)))
        return f"{words} m from {self._end_name(wire, end)}"

    def _end_name(self, wire: Conductor, end: int | None) -> str:
        targets = self.harness.targets(wire.id, "end_1" if end == 1 else "end_2")
        return bare(targets[0]) if targets else f"end {end}"

    def elsewhere(self, joint_id: str, wire_id: str, flags: Flags) -> Mark:
        """Another wire that a joint may be on."""
        numbers = ", ".join(flag.text for flag in flags.get(joint_id, ()))
        return Mark(id=f"{joint_id}?{wire_id}", symbol="perhaps", label=(f"or {numbers} is here".strip(),), added=True)

    def fault(self, lead: Conductor, faults: tuple[tuple[Flag, str], ...]) -> Mark:
        """A lead by its name, with what is wrong with it along its whole length."""
        flags = tuple(dict.fromkeys(flag for flag, _ in faults))
        words = (" ".join(self.wire_label(lead)), *dict.fromkeys(text for _, text in faults))
        return Mark(id=f"{lead.id} fault", symbol="fault", label=words, flags=flags, added=True)

    def inline(self, lead: Conductor, number: int) -> Mark:
        """A part in a lead: a fuse, a diode …"""
        part: Inline = lead.inline[number]
        rating = f"{part.rating_A.exact:g} A" if part.rating_A.exact is not None else ""
        distance = f"{part.distance_m.exact:g} m from end 1" if part.distance_m.exact is not None else ""
        label = _parts(f"{part.kind.replace('_', ' ')} {rating}".strip(), distance)
        return Mark(id=f"{lead.id}~{number}", symbol=INLINE_SYMBOLS.get(part.kind, "device"), label=label, added=True)

    def cut_side(self, cut: Cut, side: int, flags: Flags) -> Mark:
        """A bare side of a cut; the first carries the flag."""
        node = f"{cut.id}#{side}"
        loose = cut.end_1 if side == 1 else cut.end_2
        words = ", ".join(_parts("cut", (loose.treatment if loose else None) or "end", self._live(loose, node)))
        own = flags.get(cut.id, ()) if side == 1 else ()
        return Mark(id=node, symbol="cut", label=(words,), flags=own, added=True)

    def open_end(self, lead: Conductor, end: int) -> Mark:
        """An end of a lead that hangs loose or was not followed."""
        node = f"{lead.id}#{end}"
        open_end = next((one for one in lead.open_ends if one.end == end), OpenEnd(end=end))
        place = self.describer.zone(lead.zones[0]) if lead.zones else ""
        if open_end.loose is None:
            towards = f"goes {open_end.towards}" if open_end.towards else ""
            return Mark(id=node, symbol="untraced", label=_parts("not followed", place, towards), added=True)
        words = ", ".join(_parts("loose", open_end.loose.treatment, self._live(open_end.loose, node)))
        symbol = "loose_live" if open_end.loose.live_in else "loose"
        towards = f"goes {open_end.towards}" if open_end.towards else ""
        return Mark(id=node, symbol=symbol, label=_parts(words, place, towards), added=True)

    def _live(self, loose: Loose | None, node: str) -> str:
        """Whether an end was found live or dead; where nobody looked, whether it must be taken for live."""
        found = loose.live_in if loose is not None else None
        if found is not None:
            return "LIVE" if found else "found dead"
        return "may be LIVE" if node in self.flow.fed_as_found else ""

    def damage(self, element: Element, flags: Flags) -> Mark:
        """A damage, or something else that was seen on a wire."""
        words = element.damage.replace("_", " ") if isinstance(element, Damage) else "see note"
        label = _parts(words, self.describer.zone(getattr(element, "zone", None)))
        return Mark(id=element.id, symbol="damage", label=label, flags=flags.get(element.id, ()), added=True)

    def route(self, lead: Conductor, flags: tuple[Flag, ...]) -> Mark:
        """What a lead passes that it should not, or not so."""
        words = [passage_words(one.kind, one.what) for one in lead.route]
        places = [one.zone for one in lead.route if one.zone] or list(lead.zones)
        label = (*words, *(self.describer.zone(zone) for zone in places[:1]))
        return Mark(id=f"{lead.id} route", symbol="route", label=label, flags=flags, added=True)

    def place(self, finding: Finding, flags: tuple[Flag, ...]) -> Mark:
        """Where a finding is that is on nothing drawn: its place, and the name of what it is about."""
        root = finding.modification.root
        zone = self.describer.zone(finding.zones[0]) if finding.zones else "place not known"
        named = root in self.harness.by_id and not root.startswith("+") and self.harness.zone(root) is None
        words = bare(root) if named else ""
        label = (zone, words) if words and words != zone else (zone,)
        return Mark(id=f"place {root}", symbol="place", label=label, flags=flags)

    def wire_label(self, conductor: Conductor) -> tuple[str, ...]:
        """Name, colour and size of a wire or lead, for its line."""
        colour, size = self.describer.wire_parts(conductor)
        if conductor.colour is None or conductor.colour.base == "unknown":
            colour = f"colour {colour or '?'}"
        return _parts(bare(conductor.id), " ".join(_parts(colour, size)))


def doubts_of(findings: Iterable[Finding]) -> dict[str, tuple[str, ...]]:
    """Joints of which nobody knows on which wire they are, with the wires that fit."""
    found: dict[str, tuple[str, ...]] = {}
    for finding in findings:
        labels = tuple(dict.fromkeys(one.label for one in finding.possibilities if one.about != "order"))
        if len(labels) > 1:
            found.update(dict.fromkeys((joint.id for joint in finding.joints), labels))
    return found


def flags_of(findings: Iterable[Finding]) -> Flags:
    """Flags by the element that carries them: the joints of a finding, else its root."""
    found: Flags = {}
    for finding in findings:
        words = level_words(finding.rating)
        carried = [(joint.id, joint.flag) for joint in finding.joints]
        if finding.kind == "routing" or not carried:
            carried = [(finding.modification.root, str(finding.number))]
        for element, text in carried:
            flag = Flag(text=text, level=words, outcome=outcome_of(finding.rating))
            found[element] = (*found.get(element, ()), flag)
    return found


def faults_of(findings: Iterable[Finding]) -> dict[str, tuple[tuple[Flag, str], ...]]:
    """What is wrong with added leads, by the findings whose level comes from it; what only may be is left out."""
    found: dict[str, tuple[tuple[Flag, str], ...]] = {}
    for finding in findings:
        level = level_words(finding.rating)
        flag = Flag(text=str(finding.number), level=level, outcome=outcome_of(finding.rating))
        for lead, facts in blamed(finding).items():
            known = tuple((flag, lead_fact_words(fact)) for fact in facts if is_sure(fact))
            if known:
                found[lead] = (*found.get(lead, ()), *known)
    return found


def _name(device: Device) -> str:
    return device.name or device.kind.replace("_", " ")


def _parts(*parts: str | None) -> tuple[str, ...]:
    """Those parts of a label that say something."""
    return tuple(part for part in parts if part)
