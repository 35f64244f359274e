"""Chooses what a sheet shows: its findings, and the factory conductors they touch up to fuse and loads."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from harnessdiff.draw.flow import Flow
from harnessdiff.draw.scene import Flag, Line, Mark, Scene
from harnessdiff.graph import (
    CONDUCTING,
    CONSUMING,
    GROUND_DEVICES,
    end_node,
    slot_of,
    stops_along,
)
from harnessdiff.model.findings import Finding
from harnessdiff.model.harness import (
    Conductor,
    Cut,
    Damage,
    Device,
    Harness,
    Inline,
    Joint,
    OpenEnd,
    Terminal,
)
from harnessdiff.model.reference import Reference
from harnessdiff.words import Describer, bare, joint_words, level_words, outcome_of, passage_words

MOST_LOADS = 2
FUSES = frozenset({"fuse_slot", "fusible_link", "circuit_breaker"})
SYMBOLS = {
    "battery": "battery", "alternator": "generator", "fuse_slot": "fuse", "fuse": "fuse", "fusible_link": "fuse",
    "circuit_breaker": "fuse", "lamp": "lamp", "lamp_holder": "lamp", "motor": "motor", "starter": "motor",
    "pump": "motor", "fan": "motor", "switch": "switch", "button": "switch", "relay": "relay",
    "relay_socket": "relay", "ground_stud": "ground", "body": "ground", "engine_block": "ground",
    "chassis": "ground", "resistor": "resistor", "load_resistor": "resistor", "heater": "resistor",
    "terminator": "resistor", "diode": "diode", "horn": "horn", "speaker": "speaker", "beeper": "horn",
    "siren": "horn", "socket": "socket", "diagnostic_socket": "socket",
}  # fmt: skip
JOINT_SYMBOLS = {
    "plug_in": "plug", "push_on": "plug", "bullet": "plug", "fuse_slot_adaptor": "plug", "lever_connector": "plug",
    "factory_splice": "crimp", "splice_barrel": "crimp", "butt_crimp": "crimp", "solder": "solder",
    "solder_ring_sleeve": "solder", "ring_terminal": "ring", "clamp": "ring", "under_screw": "ring",
    "screw_strip": "ring", "threaded_tap": "blade", "blade_tap": "blade", "insulation_displacement": "blade",
    "twist_on": "twisted", "twisted": "twisted", "bare_contact": "bare", "other": "unknown", "unknown": "unknown",
}  # fmt: skip


class Neighbourhood:
    """The two harnesses, and how to draw the surroundings of a finding in them.

    Parameters
    ----------
    reference : Reference
    as_found : Harness
    """

    def __init__(self, reference: Reference, as_found: Harness) -> None:
        self.reference = reference
        self.harness = as_found
        self.before = reference.harness
        self.describer = Describer(reference, as_found)
        self.flow = Flow(reference, as_found)

    # -- a sheet

    def scene(self, findings: Iterable[Finding], shared: Iterable[str]) -> Scene:
        """The scene of some findings, with the added things they share.

        Parameters
        ----------
        findings : iterable of Finding
        shared : iterable of str
            Added elements that several findings of an install share.

        Returns
        -------
        Scene
        """
        scene = Scene()
        chosen = list(findings)
        scene.doubts.update(_doubts(chosen))
        flags = _flags(chosen)
        for finding in chosen:
            self._finding(scene, finding, flags)
        drawn_leads = {element for finding in chosen for element in finding.modification.added}
        drawn_leads |= {finding.modification.root for finding in chosen}
        reached = self._reached(chosen, shared)
        for element_id in sorted({*drawn_leads, *reached}):
            conductor = self.harness.conductor(element_id)
            if conductor is not None and element_id not in self.before.by_id:
                self._lead(scene, conductor, flags)
        for finding in chosen:
            if not self._shown(scene, finding, flags):
                self._loose_flag(scene, finding, flags)
        return scene

    def _shown(self, scene: Scene, finding: Finding, flags: dict[str, tuple[Flag, ...]]) -> bool:
        """Whether the flags of a finding are on the scene."""
        shown = {flag.text for mark in scene.marks.values() for flag in mark.flags}
        own = {joint.flag for joint in finding.joints} or {str(finding.number)}
        return own <= shown or finding.modification.root not in flags

    def _reached(self, findings: list[Finding], shared: Iterable[str]) -> set[str]:
        """Shared leads that hang on the joints of these findings, directly or through what they lead to."""
        open_leads = {one for one in shared if self.harness.conductor(one) is not None}
        near = {joint.id for finding in findings for joint in finding.joints}
        near |= {element for finding in findings for element in finding.modification.added}
        near |= {finding.modification.root for finding in findings}
        found: set[str] = set()
        grown = True
        while grown:
            grown = False
            for lead in sorted(open_leads - found):
                ends = set(self.harness.targets(lead, "end_1", "end_2"))
                joints = {one for one in ends if self.harness.joint(one) is not None}
                if joints & near or lead in near:
                    found.add(lead)
                    near |= joints
                    grown = True
        return found

    def _finding(self, scene: Scene, finding: Finding, flags: dict[str, tuple[Flag, ...]]) -> None:
        """What the finding touches of the maker's, and a mark for its flag where no joint carries it."""
        modification = finding.modification
        for joint in finding.joints:
            self._joint(scene, joint.id, flags)
        for element_id in modification.elements:
            element = self.harness.by_id.get(element_id) or self.before.by_id.get(element_id)
            if isinstance(element, Conductor):
                self._wire(scene, element_id, flags)
            elif isinstance(element, Terminal):
                self._terminal(scene, element_id)
            elif isinstance(element, Device) and not finding.joints:
                self._device_with_flag(scene, finding, element_id, flags)
        for node in modification.nodes:
            if ":" in node and finding.joints:
                self._terminal(scene, node)

    def _loose_flag(self, scene: Scene, finding: Finding, flags: dict[str, tuple[Flag, ...]]) -> None:
        """A flag for what is drawn nowhere else: it stands at its place."""
        root = finding.modification.root
        element = self.harness.by_id.get(root)
        if isinstance(element, Device) and root not in self.before.by_id:
            self._added_device(scene, element, flags)
            return
        zone = self.describer.zone(finding.zones[0]) if finding.zones else "place not known"
        is_zone = self.harness.zone(root) is not None
        words = bare(root) if element is not None and not root.startswith("+") and not is_zone else ""
        scene.put(Mark(id=f"place {root}", symbol="place", label=(zone, words) if words and words != zone else (zone,),
                       flags=flags[root]))  # fmt: skip

    def _device_with_flag(
        self, scene: Scene, finding: Finding, device_id: str, flags: dict[str, tuple[Flag, ...]]
    ) -> None:
        """A device of the maker's that is changed, damaged or gone, with its fuse and loads."""
        slot = slot_of(self.before, device_id)
        gone = device_id not in self.harness.by_id
        mark = self._device_mark(slot, flags.get(finding.modification.root, ()), gone=gone)
        scene.put(mark)
        terminals = [one for one in self.before.subjects(slot, "of") if one not in self.flow.ground]
        for terminal in terminals[:4]:
            for wire in self.before.subjects(terminal, "end_1", "end_2")[:1]:
                if self.harness.conductor(wire) is not None and len(scene.marks) < 60:
                    self._wire(scene, wire, {})

    # -- the maker's wires

    def _wire(self, scene: Scene, wire_id: str, flags: dict[str, tuple[Flag, ...]]) -> None:
        """A wire of the maker's from end to end, with what sits on it, up to its fuse and its loads."""
        wire = self.harness.conductor(wire_id)
        was = self.before.conductor(wire_id)
        conductor = wire or was
        assert conductor is not None
        harness = self.harness if wire is not None else self.before
        ends = (self._end(scene, harness, conductor, 1), self._end(scene, harness, conductor, 2))
        nodes = (end_node(self.before, wire_id, 1), end_node(self.before, wire_id, 2))
        turned = self.flow.depth.get(nodes[0], 10**6) > self.flow.depth.get(nodes[1], 10**6)
        stops = self._stops(scene, harness, conductor, flags)
        chain = [[ends[0]], *stops, [ends[1]]]
        pairs = [(chain[place][-1], chain[place + 1][0]) for place in range(len(chain) - 1)]
        label = self._wire_label(conductor)
        style = "wire" if wire is not None else "gone"
        if any(stop in scene.doubts for group in stops for stop in group):
            style = "perhaps"
        for place, (one, other) in enumerate(pairs):
            start, end = (other, one) if turned else (one, other)
            scene.join(
                Line(start=start, end=end, style=style, colour=conductor.colour, label=label if place == 0 else ())
            )
        fed, onward = (nodes[1], nodes[0]) if turned else nodes
        fed_mark, onward_mark = (ends[1], ends[0]) if turned else ends
        if flags.get(wire_id) and wire_id not in scene.marks:
            self._flag_on_wire(scene, wire_id, onward_mark, flags[wire_id])
        self._up_to_fuse(scene, fed, fed_mark)
        self._down_to_loads(scene, onward, onward_mark, wire_id)

    def _wire_label(self, conductor: Conductor) -> tuple[str, ...]:
        colour, size = self.describer.wire_parts(conductor)
        return tuple(part for part in (bare(conductor.id), " ".join(part for part in (colour, size) if part)) if part)

    def _flag_on_wire(self, scene: Scene, wire_id: str, near: str, flags: tuple[Flag, ...]) -> None:
        """A flag on a wire that is itself the root: thinner, swapped, moved."""
        mark = scene.put(Mark(id=wire_id, symbol="place", label=("this wire",), flags=flags))
        scene.join(Line(start=mark, end=near, style="contact"))

    def _stops(
        self, scene: Scene, harness: Harness, conductor: Conductor, flags: dict[str, tuple[Flag, ...]]
    ) -> list[list[str]]:
        """Marks of what sits along a conductor, each as the marks to come in by and to leave by."""
        found = []
        for stop in stops_along(harness, conductor):
            if isinstance(stop, int):
                found.append([self._inline(scene, conductor, stop)])
                continue
            element = harness.by_id[stop]
            if isinstance(element, Cut):
                first, second = (self._cut_side(scene, stop, side, flags) for side in (1, 2))
                found.append([first, second])
            elif isinstance(element, Joint):
                if stop in flags:
                    self._joint(scene, stop, flags)
                    found.append([stop])
            elif stop in flags:
                found.append([self._damage(scene, element, flags)])
        return found

    def _cut_side(self, scene: Scene, cut_id: str, side: int, flags: dict[str, tuple[Flag, ...]]) -> str:
        """One side of a cut: the joint it is in, else a bare end."""
        joints = self.harness.targets(cut_id, "side_1" if side == 1 else "side_2")
        if joints:
            self._joint(scene, joints[0], flags)
            return joints[0]
        cut = self.harness.by_id[cut_id]
        assert isinstance(cut, Cut)
        loose = cut.end_1 if side == 1 else cut.end_2
        words = (loose.treatment if loose else None) or "end"
        own = flags.get(cut_id, ()) if side == 1 else ()
        return scene.put(Mark(id=f"{cut_id}#{side}", symbol="cut", label=(f"cut, {words}",), flags=own, added=True))

    def _damage(self, scene: Scene, element: object, flags: dict[str, tuple[Flag, ...]]) -> str:
        assert hasattr(element, "id")
        words = element.damage.replace("_", " ") if isinstance(element, Damage) else "see note"
        zone = self.describer.zone(getattr(element, "zone", None))
        label = tuple(part for part in (words, zone) if part)
        return scene.put(Mark(id=element.id, symbol="damage", label=label, flags=flags.get(element.id, ()), added=True))

    def _end(self, scene: Scene, harness: Harness, conductor: Conductor, end: int) -> str:
        """The mark at an end of a wire."""
        targets = harness.targets(conductor.id, "end_1" if end == 1 else "end_2")
        if not targets:
            return scene.put(Mark(id=f"{conductor.id}#{end}", symbol="loose", label=("hangs loose",), added=True))
        target = targets[0]
        if harness.joint(target) is not None:
            joint = harness.joint(target)
            assert joint is not None
            if target in self.before.by_id:
                return scene.put(Mark(id=target, symbol="splice", label=(bare(target),)))
            self._joint(scene, target, {})
            return target
        return self._terminal(scene, target)

    def _terminal(self, scene: Scene, terminal_id: str) -> str:
        """The mark of a terminal: a source, a fuse, a ground, or the terminal itself with its device."""
        if not isinstance(self.harness.by_id.get(terminal_id) or self.before.by_id.get(terminal_id), Terminal):
            return terminal_id
        device_id = self.before.device_of(terminal_id)
        device = self.harness.device(device_id) or self.before.device(device_id)
        if device is None:
            return scene.put(Mark(id=terminal_id, symbol="terminal", label=(bare(terminal_id),)))
        if device.kind in FUSES | GROUND_DEVICES | {"ground_stud", "battery"}:
            return scene.put(self._device_mark(device_id, ()))
        if device_id not in self.before.by_id:
            return self._added_device(scene, device, {})
        symbol = SYMBOLS.get(device.kind, "terminal") if self._is_simple(device_id) else "terminal"
        if symbol in ("lamp", "motor", "resistor", "horn", "speaker"):
            return scene.put(self._device_mark(device_id, ()))
        words = device.name or device.kind.replace("_", " ")
        return scene.put(Mark(id=terminal_id, symbol="terminal", label=(bare(terminal_id), words)))

    def _is_simple(self, device_id: str) -> bool:
        """Whether a device has so few terminals that its symbol says which one is meant."""
        return len(self.before.subjects(device_id, "of")) <= 2

    def _device_mark(self, device_id: str, flags: tuple[Flag, ...], *, gone: bool = False) -> Mark:
        device = self.harness.device(device_id) or self.before.device(device_id)
        assert device is not None
        symbol = SYMBOLS.get(device.kind, "device")
        rating = ""
        if device.kind in FUSES:
            seated = [self.harness.device(one) for one in self.harness.subjects(device_id, "seat")]
            fuse = next((one for one in seated if one is not None), device)
            rating = f"{fuse.rating_A.exact:g} A" if fuse.rating_A.exact is not None else ""
            was = self.before.device(fuse.id)
            if was is not None and was.rating_A != fuse.rating_A and was.rating_A.exact is not None:
                rating = f"{rating} fitted, {was.rating_A.exact:g} A correct"
        name = device.name or device.kind.replace("_", " ")
        head = " ".join(part for part in (bare(device_id), rating) if part)
        return Mark(id=device_id, symbol=symbol, label=(head, name), flags=flags, gone=gone)

    def _up_to_fuse(self, scene: Scene, node: str, mark: str) -> None:
        """The way back from a node to its fuse, or to the source, folded into one line."""
        wires, at = 0, node
        through: list[str] = []
        while at in self.flow.feeds:
            before, element = self.flow.feeds[at]
            device = self.before.device(element)
            if device is not None and slot_of(self.before, element) != element:
                device = self.before.device(slot_of(self.before, element))
            if device is not None and device.kind in FUSES:
                self._fold(scene, scene.put(self._device_mark(device.id, ())), mark, wires, through)
                return
            if self.before.conductor(element) is not None:
                wires += 1
            elif device is not None and device.kind not in ("inline_connector", "joint_block"):
                through.append(device.id)
            at = before
        if at != node or at in self.flow.sources:
            source = self.before.device_of(at)
            if self.before.device(source) is not None:
                self._fold(scene, scene.put(self._device_mark(source, ())), mark, wires, through)

    def _fold(self, scene: Scene, start: str, end: str, wires: int, through: list[str]) -> None:
        if start == end:
            return
        words = []
        if through:
            names = list(dict.fromkeys(reversed(through)))
            words.append("via " + ", ".join(names[:2]) + (" …" if len(names) > 2 else ""))
        if wires:
            words.append(f"{wires} wire{'s' if wires > 1 else ''}")
        scene.join(Line(start=start, end=end, style="folded", label=tuple(words)))

    def _down_to_loads(self, scene: Scene, node: str, mark: str, wire_id: str) -> None:
        """The way on from a node to the nearest loads, each folded into one line."""
        if (
            node in self.flow.ground
            or mark not in scene.marks
            or scene.marks[mark].symbol not in ("terminal", "splice")
        ):
            return
        came: dict[str, tuple[str, str]] = {}
        order, seen, loads = [node], {node}, []
        for at in order:
            for neighbour, edges in self.flow.graph.adj[at].items():
                for edge in edges.values():
                    if edge["kind"] in CONSUMING and (edge["element"], at) not in loads:
                        loads.append((edge["element"], at))
                    passable = edge["kind"] in CONDUCTING and edge["element"] != wire_id
                    forward = self.flow.depth.get(neighbour, 0) >= self.flow.depth.get(at, 0)
                    if passable and forward and neighbour not in seen and neighbour not in self.flow.ground:
                        seen.add(neighbour)
                        came[neighbour] = (at, edge["element"])
                        order.append(neighbour)
        shown = list(dict.fromkeys(slot_of(self.before, device) for device, _ in loads))
        places = {slot_of(self.before, device): at for device, at in reversed(loads)}
        own_device = self.before.device_of(node) if ":" in node else None
        for device in [one for one in shown if one != own_device][:MOST_LOADS]:
            wires, at = 0, places[device]
            passed_by: list[str] = []
            while at in came:
                at, element = came[at]
                if self.before.conductor(element) is not None:
                    wires += 1
                elif (passed := self.before.device(element)) is not None and passed.kind not in (
                    "inline_connector",
                    "joint_block",
                ):
                    passed_by.append(slot_of(self.before, element))
            self._fold(scene, mark, scene.put(self._load_mark(device)), wires, list(reversed(passed_by)))
        more = len([one for one in shown if one != own_device]) - MOST_LOADS
        if more > 0:
            rest = scene.put(Mark(id=f"more {node}", symbol="more", label=(f"{more} more loads",)))
            scene.join(Line(start=mark, end=rest, style="folded"))

    def _load_mark(self, device_id: str) -> Mark:
        return self._device_mark(device_id, ())

    # -- what was added

    def _joint(self, scene: Scene, joint_id: str, flags: dict[str, tuple[Flag, ...]]) -> None:
        joint = self.harness.joint(joint_id)
        if joint is None:
            return
        candidates = scene.doubts.get(joint_id, ())
        doubt = f"on {' or '.join(candidates)}" if candidates else ""
        lines = tuple(part for part in (joint_words(joint.details), doubt, self.describer.zone(joint.zone)) if part)
        scene.put(
            Mark(id=joint_id, symbol=f"joint_{JOINT_SYMBOLS[joint.details.type]}", label=lines,
                 flags=flags.get(joint_id, ()), added=joint_id not in self.before.by_id)
        )  # fmt: skip
        for terminal in self.harness.targets(joint_id, "at"):
            start, end = self._terminal(scene, terminal), joint_id
            if terminal in self.flow.ground:
                start, end = end, start
            scene.join(Line(start=start, end=end, style="contact"))

    def _lead(self, scene: Scene, lead: Conductor, flags: dict[str, tuple[Flag, ...]]) -> None:
        """An added lead with what sits in it, from its end nearer to the supply."""
        ends = [self._lead_end(scene, lead, end, flags) for end in (1, 2)]
        stops = self._stops(scene, self.harness, lead, flags)
        own = flags.get(lead.id, ())
        if own and lead.route:
            stops.append([scene.put(self._route_mark(lead, own))])
        elif own:
            self._flag_at_an_end(scene, lead, ends, own)
        chain = [[ends[0]], *stops, [ends[1]]]
        pairs = [(chain[place][-1], chain[place + 1][0]) for place in range(len(chain) - 1)]
        away = self.flow.runs_backwards(lead)
        label = self._wire_label(lead)
        for place, (one, other) in enumerate(pairs):
            start, end = (other, one) if away else (one, other)
            scene.join(Line(start=start, end=end, style="lead", colour=lead.colour, label=label if place == 0 else ()))

    def _flag_at_an_end(self, scene: Scene, lead: Conductor, ends: list[str], flags: tuple[Flag, ...]) -> None:
        """The flag of a lead that is loose or was not followed, at that end."""
        open_ends = [ends[one.end - 1] for one in lead.open_ends] or ends
        mark = scene.marks[open_ends[0]]
        scene.marks[mark.id] = replace(mark, flags=(*mark.flags, *flags))

    def _route_mark(self, lead: Conductor, flags: tuple[Flag, ...]) -> Mark:
        words = [passage_words(one.kind, one.what) for one in lead.route[:2]]
        places = [self.describer.zone(one.zone) for one in lead.route if one.zone] or [
            self.describer.zone(zone) for zone in lead.zones
        ]
        label = (*words, *dict.fromkeys(places[:1]))
        return Mark(id=f"{lead.id} route", symbol="route", label=label, flags=flags, added=True)

    def _lead_end(self, scene: Scene, lead: Conductor, end: int, flags: dict[str, tuple[Flag, ...]]) -> str:
        targets = self.harness.targets(lead.id, "end_1" if end == 1 else "end_2")
        if targets:
            target = targets[0]
            if self.harness.joint(target) is not None:
                self._joint(scene, target, flags)
                return target
            device = self.harness.device(self.harness.device_of(target))
            if device is not None and device.id not in self.before.by_id:
                return self._pin(scene, device, target, flags)
            return self._terminal(scene, target)
        open_end = next((one for one in lead.open_ends if one.end == end), OpenEnd(end=end))
        place = self.describer.zone(lead.zones[0]) if lead.zones else ""
        if open_end.loose is None:
            label = tuple(part for part in ("not followed", place) if part)
            return scene.put(Mark(id=f"{lead.id}#{end}", symbol="untraced", label=label, added=True))
        live = open_end.loose.live_in
        state = "LIVE" if live else ("found dead" if live is not None else "")
        words = ", ".join(part for part in ("loose", open_end.loose.treatment or "", state) if part)
        symbol = "loose_live" if live else "loose"
        label = tuple(part for part in (words, place) if part)
        return scene.put(Mark(id=f"{lead.id}#{end}", symbol=symbol, label=label, added=True))

    def _pin(self, scene: Scene, device: Device, terminal: str, flags: dict[str, tuple[Flag, ...]]) -> str:
        """A terminal of an added device as a mark of its own, so that its leads are told apart."""
        symbol = self._added_device(scene, device, flags)
        if len(self.harness.subjects(device.id, "of")) < 2:
            return symbol
        pin = scene.put(Mark(id=terminal, symbol="pin", label=(terminal.rsplit(":", 1)[1],), added=True))
        ends = [one for one in self.harness.conductors() if terminal in self.harness.targets(one.id, "end_1", "end_2")]
        outward = any(self._starts_at(lead, terminal) for lead in ends)
        start, end = (symbol, pin) if outward else (pin, symbol)
        scene.join(Line(start=start, end=end, style="contact"))
        return pin

    def _starts_at(self, lead: Conductor, terminal: str) -> bool:
        """Whether the supply side of a lead is at this terminal."""
        end = 2 if self.flow.runs_backwards(lead) else 1
        return terminal in self.harness.targets(lead.id, "end_1" if end == 1 else "end_2")

    def _added_device(self, scene: Scene, device: Device, flags: dict[str, tuple[Flag, ...]]) -> str:
        words = device.name or (f"“{device.label}”" if device.label else device.kind.replace("_", " "))
        zone = self.describer.zone(device.zone)
        label = tuple(part for part in (words, bare(device.id) if "." not in device.id else "", zone) if part)
        symbol = SYMBOLS.get(device.kind, "device")
        own = flags.get(device.id, ())
        return scene.put(Mark(id=device.id, symbol=symbol, label=label, flags=own, added=True))

    def _inline(self, scene: Scene, lead: Conductor, number: int) -> str:
        part: Inline = lead.inline[number]
        symbol = {"fuse": "fuse", "circuit_breaker": "fuse", "diode": "diode", "resistor": "resistor",
                  "switch": "switch", "relay_contact": "switch"}.get(part.kind, "device")  # fmt: skip
        rating = f"{part.rating_A.exact:g} A" if part.rating_A.exact is not None else ""
        distance = f"{part.distance_m.exact:g} m from end 1" if part.distance_m.exact is not None else ""
        label = tuple(one for one in (f"{part.kind.replace('_', ' ')} {rating}".strip(), distance) if one)
        return scene.put(Mark(id=f"{lead.id}~{number}", symbol=symbol, label=label, added=True))


def _doubts(findings: list[Finding]) -> dict[str, tuple[str, ...]]:
    """Joints of which nobody knows on which wire they are, with the wires that fit."""
    found: dict[str, tuple[str, ...]] = {}
    for finding in findings:
        labels = tuple(dict.fromkeys(one.label for one in finding.possibilities if one.about != "order"))
        if len(labels) > 1:
            found.update(dict.fromkeys((joint.id for joint in finding.joints), labels))
    return found


def _flags(findings: list[Finding]) -> dict[str, tuple[Flag, ...]]:
    """Flags by the element that carries them: the joints of a finding, else its root."""
    found: dict[str, tuple[Flag, ...]] = {}
    for finding in findings:
        words = level_words(finding.rating)
        carried = [(joint.id, joint.flag) for joint in finding.joints]
        if finding.kind == "routing" or not carried:
            carried = [(finding.modification.root, str(finding.number))]
        for element, text in carried:
            flag = Flag(text=text, level=words, outcome=outcome_of(finding.rating))
            found[element] = (*found.get(element, ()), flag)
    return found
