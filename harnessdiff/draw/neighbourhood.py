"""Chooses what a sheet shows: its findings, and the factory conductors they touch up to fuse and loads."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

from harnessdiff.describer import Describer
from harnessdiff.draw.flow import Flow
from harnessdiff.draw.marks import FUSES, Flags, Marks, doubts_of, faults_of, flags_of
from harnessdiff.draw.scene import Flag, Line, Mark, Scene
from harnessdiff.graph import CONDUCTING, CONSUMING, end_node, slot_of, stops_along
from harnessdiff.model.findings import Finding
from harnessdiff.model.harness import Conductor, Cut, Damage, Device, Harness, Joint, Terminal
from harnessdiff.model.reference import Reference
from harnessdiff.words import bare

MOST_LOADS = 2
MOST_MARKS = 60
"""No more surroundings of a changed device are drawn once a sheet has so many marks."""
PASSED_SILENTLY = ("inline_connector", "joint_block")
MOST_CANDIDATES = 3
"""Of more wires that a joint may be on only the first is drawn; the others are named."""
FAR = 10**6


@dataclass(frozen=True, slots=True)
class Stop:
    """What sits along a conductor: the marks to come in by and to leave by, and whether it was cut through there."""

    marks: tuple[str, ...]
    cut: bool = False


class Neighbourhood:
    """The two harnesses, and how to draw the surroundings of a finding in them.

    Parameters
    ----------
    reference : Reference
    as_found : Harness
    """

    def __init__(self, reference: Reference, as_found: Harness) -> None:
        self.harness = as_found
        self.before = reference.harness
        self.flow = Flow(reference, as_found)
        self.marks = Marks(Describer(reference, as_found), self.flow)

    # -- a sheet

    def scene(
        self, findings: Iterable[Finding], shared: Iterable[str], all_findings: Iterable[Finding] | None = None
    ) -> Scene:
        """The scene of some findings, with the added things they share.

        Parameters
        ----------
        findings : iterable of Finding
        shared : iterable of str
            Added elements that several findings of an install share.
        all_findings : iterable of Finding, optional
            Findings whose flags stand on the leads they are about wherever these are drawn; without
            it, `findings`.

        Returns
        -------
        Scene
        """
        scene = Scene()
        chosen = list(findings)
        scene.doubts.update(doubts_of(chosen))
        scene.faults.update(faults_of(chosen if all_findings is None else all_findings))
        flags = flags_of(chosen)
        for finding in chosen:
            self._finding(scene, finding, flags)
        for finding in chosen:
            self._ways_of_terminals(scene, finding)
        drawn_leads = {element for finding in chosen for element in finding.modification.added}
        drawn_leads |= {finding.modification.root for finding in chosen}
        for element_id in sorted(drawn_leads | self._reached(chosen, shared)):
            conductor = self.harness.conductor(element_id)
            if conductor is not None and element_id not in self.before.by_id:
                self._lead(scene, conductor, flags)
        for finding in chosen:
            if not self._shown(scene, finding, flags):
                self._loose_flag(scene, finding, flags)
        return scene

    def is_shown_whole(self, element_id: str) -> bool:
        """Whether an element is a fuse or an added device, which is the same thing on every sheet."""
        device = self.harness.device(element_id)
        return device is not None and (device.kind in FUSES or element_id not in self.before.by_id)

    def _shown(self, scene: Scene, finding: Finding, flags: Flags) -> bool:
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

    def _finding(self, scene: Scene, finding: Finding, flags: Flags) -> None:
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
                self._device(scene, finding, element_id, flags)
        for node in modification.nodes:
            if ":" in node and finding.joints:
                self._terminal(scene, node)
        self._candidates(scene, finding, flags)

    def _candidates(self, scene: Scene, finding: Finding, flags: Flags) -> None:
        """The other wires that a joint may be on, where they are few enough to be drawn."""
        doubted = [joint.id for joint in finding.joints if joint.id in scene.doubts]
        wires = dict.fromkeys(
            one.elements[0] for one in finding.possibilities if one.about != "order" and len(one.elements) == 1
        )
        others = [one for one in wires if one not in finding.modification.elements and self.harness.conductor(one)]
        if doubted and 0 < len(others) < MOST_CANDIDATES:
            for wire_id in others:
                self._wire(scene, wire_id, flags, perhaps=self.marks.elsewhere(doubted[0], wire_id, flags))

    def _ways_of_terminals(self, scene: Scene, finding: Finding) -> None:
        """Fuse and loads of a terminal that no drawn wire leads to."""
        for node in (*finding.modification.elements, *finding.modification.nodes):
            element = self.before.by_id.get(node)
            mark = self._mark_of(scene, node)
            if not isinstance(element, Terminal) or mark is None:
                continue
            if all(line.style == "contact" for line in scene.lines if mark in (line.start, line.end)):
                self._up_to_fuse(scene, node, mark)
                self._down_to_loads(scene, node, mark, None)

    def _mark_of(self, scene: Scene, terminal_id: str) -> str | None:
        """The mark that stands for a terminal on the scene: its own, or that of its device."""
        device = self.before.device_of(terminal_id) if ":" in terminal_id else terminal_id
        return next((one for one in (terminal_id, device) if one in scene.marks), None)

    def _loose_flag(self, scene: Scene, finding: Finding, flags: Flags) -> None:
        """A flag for what is drawn nowhere else: at the terminals it is about, else at its place."""
        root = finding.modification.root
        element = self.harness.by_id.get(root)
        if isinstance(element, Device) and root not in self.before.by_id:
            scene.put(self.marks.added_device(element, flags))
            return
        touched = [self._mark_of(scene, one) for one in finding.modification.elements]
        if isinstance(element, Damage) and any(touched):
            own = scene.put(self.marks.damage(element, flags))
            for mark in touched:
                if mark is not None:
                    scene.join(Line(start=own, end=mark, style="contact"))
            return
        scene.put(self.marks.place(finding, flags[root]))

    def _device(self, scene: Scene, finding: Finding, device_id: str, flags: Flags) -> None:
        """A device of the maker's that is changed, damaged or gone, with its fuse and loads.

        Damage to a wire, too, has its flag on the wire.
        """
        slot = slot_of(self.before, device_id)
        root = finding.modification.root
        on_wire = root != device_id and any(self.harness.conductor(one) for one in finding.modification.elements)
        gone = device_id not in self.harness.by_id
        scene.put(self.marks.device(slot, () if on_wire else flags.get(root, ()), gone=gone))
        terminals = [one for one in self.before.subjects(slot, "of") if one not in self.flow.ground]
        for terminal in terminals[:4]:
            for wire in self.before.subjects(terminal, "end_1", "end_2")[:1]:
                if self.harness.conductor(wire) is not None and len(scene.marks) < MOST_MARKS:
                    self._wire(scene, wire, {})

    # -- the maker's wires

    def _wire(self, scene: Scene, wire_id: str, flags: Flags, *, perhaps: Mark | None = None) -> None:
        """A wire of the maker's from end to end, with what sits on it, up to its fuse and its loads.

        With `perhaps` it is one of which nobody knows whether it is meant, and that mark sits on it.
        """
        wire = self.harness.conductor(wire_id)
        conductor = wire or self.before.conductor(wire_id)
        assert conductor is not None
        harness = self.harness if wire is not None else self.before
        ends = (self._end(scene, harness, conductor, 1), self._end(scene, harness, conductor, 2))
        # As found: an end that was moved is fed from where it is now.
        nodes = (end_node(harness, wire_id, 1), end_node(harness, wire_id, 2))
        turned = self._depth(nodes[0]) > self._depth(nodes[1])
        stops = self._stops(scene, harness, conductor, flags)
        if perhaps is not None:
            stops.append(Stop((scene.put(perhaps),)))
        label = self.marks.wire_label(conductor)
        style = "wire" if wire is not None else "gone"
        if perhaps is not None or any(mark in scene.doubts for stop in stops for mark in stop.marks):
            style = "perhaps"
        line = Line(start="", end="", style=style, colour=conductor.colour, label=label)
        self._chain(scene, [Stop((ends[0],)), *stops, Stop((ends[1],))], line, turned=turned)
        fed, onward = (nodes[1], nodes[0]) if turned else nodes
        fed_mark, onward_mark = (ends[1], ends[0]) if turned else ends
        if flags.get(wire_id) and wire_id not in scene.marks:
            self._flag_on_wire(scene, wire_id, onward_mark, flags[wire_id])
        self._up_to_fuse(scene, fed, fed_mark)
        self._down_to_loads(scene, onward, onward_mark, wire_id)

    def _chain(self, scene: Scene, stops: list[Stop], line: Line, *, turned: bool) -> None:
        """Lines like `line` from stop to stop; the first carries its words."""
        for place, (one, other) in enumerate(pairwise(stops)):
            ends = (one.marks[-1], other.marks[0])
            cut = (one.cut, other.cut)
            if turned:
                ends, cut = ends[::-1], cut[::-1]
            sides = tuple(name for name, is_cut in zip(("start", "end"), cut, strict=True) if is_cut)
            scene.join(replace(line, start=ends[0], end=ends[1], cut=sides, label=line.label if place == 0 else ()))

    def _depth(self, node: str) -> int:
        """How far from a source: by the reference, and where that does not know, as found."""
        return self.flow.depth.get(node, FAR + self.flow.fed_as_found.get(node, FAR))

    def _flag_on_wire(self, scene: Scene, wire_id: str, near: str, flags: tuple[Flag, ...]) -> None:
        """A flag on a wire that is itself the root: thinner, swapped, moved."""
        mark = scene.put(Mark(id=wire_id, symbol="place", label=("this wire",), flags=flags))
        scene.join(Line(start=mark, end=near, style="contact"))

    def _stops(self, scene: Scene, harness: Harness, conductor: Conductor, flags: Flags) -> list[Stop]:
        """What sits along a conductor."""
        found = []
        for stop in stops_along(harness, conductor):
            if isinstance(stop, int):
                found.append(Stop((scene.put(self.marks.inline(conductor, stop)),)))
                continue
            element = harness.by_id[stop]
            if isinstance(element, Cut):
                sides = [self._cut_side(scene, element, side, flags) for side in (1, 2)]
                found.append(Stop(tuple(sides), cut=any(self.harness.joint(one) is not None for one in sides)))
            elif isinstance(element, Joint):
                if stop in flags:
                    self._joint(scene, stop, flags)
                    found.append(Stop((stop,)))
            elif stop in flags:
                found.append(Stop((scene.put(self.marks.damage(element, flags)),)))
        return found

    def _cut_side(self, scene: Scene, cut: Cut, side: int, flags: Flags) -> str:
        """One side of a cut: the joint it is in, else a bare end."""
        joints = self.harness.targets(cut.id, "side_1" if side == 1 else "side_2")
        if joints:
            self._joint(scene, joints[0], flags)
            return joints[0]
        return scene.put(self.marks.cut_side(cut, side, flags))

    def _end(self, scene: Scene, harness: Harness, conductor: Conductor, end: int) -> str:
        """The mark at an end of a wire."""
        targets = harness.targets(conductor.id, "end_1" if end == 1 else "end_2")
        if not targets:
            return scene.put(Mark(id=f"{conductor.id}#{end}", symbol="loose", label=("hangs loose",), added=True))
        target = targets[0]
        if harness.joint(target) is None:
            return self._terminal(scene, target)
        if target in self.before.by_id:
            return self._terminal(scene, target)
        self._joint(scene, target, {})
        return target

    def _terminal(self, scene: Scene, terminal_id: str) -> str:
        """The mark of a terminal: a source, a fuse, a ground, the terminal with its device, or the maker's splice."""
        if isinstance(self.before.by_id.get(terminal_id), Joint):
            return scene.put(Mark(id=terminal_id, symbol="splice", label=(bare(terminal_id),)))
        if not isinstance(self.harness.by_id.get(terminal_id) or self.before.by_id.get(terminal_id), Terminal):
            return terminal_id
        device = self.harness.device(self.before.device_of(terminal_id))
        if device is not None and device.id not in self.before.by_id:
            return scene.put(self.marks.added_device(device, {}))
        return scene.put(self.marks.terminal(terminal_id))

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
                self._fold(scene, scene.put(self.marks.device(device.id)), mark, wires, through)
                return
            if self.before.conductor(element) is not None:
                wires += 1
            elif device is not None and device.kind not in PASSED_SILENTLY:
                through.append(device.id)
            at = before
        if at != node or at in self.flow.sources:
            source = self.before.device_of(at)
            if self.before.device(source) is not None:
                self._fold(scene, scene.put(self.marks.device(source)), mark, wires, through)

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

    def _down_to_loads(self, scene: Scene, node: str, mark: str, wire_id: str | None) -> None:
        """The way on from a node to the nearest loads, each folded into one line."""
        if (
            node in self.flow.ground
            or node not in self.flow.graph
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
                elif (passed := self.before.device(element)) is not None and passed.kind not in PASSED_SILENTLY:
                    passed_by.append(slot_of(self.before, element))
            self._fold(scene, mark, scene.put(self.marks.device(device)), wires, list(reversed(passed_by)))
        more = len([one for one in shown if one != own_device]) - MOST_LOADS
        if more > 0:
            rest = scene.put(Mark(id=f"more {node}", symbol="more", label=(f"{more} more loads",)))
            scene.join(Line(start=mark, end=rest, style="folded"))

    # -- what was added

    def _joint(self, scene: Scene, joint_id: str, flags: Flags) -> None:
        joint = self.harness.joint(joint_id)
        if joint is None:
            return
        scene.put(self.marks.joint(joint, scene.doubts.get(joint_id, ()), flags))
        for terminal in self.harness.targets(joint_id, "at"):
            start, end = self._terminal(scene, terminal), joint_id
            if terminal in self.flow.ground:
                start, end = end, start
            scene.join(Line(start=start, end=end, style="contact"))

    def _lead(self, scene: Scene, lead: Conductor, flags: Flags) -> None:
        """An added lead with what sits in it, from its end nearer to the supply."""
        ends = [self._lead_end(scene, lead, end, flags) for end in (1, 2)]
        stops = self._stops(scene, self.harness, lead, flags)
        own = flags.get(lead.id, ())
        label = self.marks.wire_label(lead)
        if lead.id in scene.faults:
            label = ()
            stops.insert(0, Stop((scene.put(self.marks.fault(lead, scene.faults[lead.id])),)))
        if own and lead.route:
            stops.append(Stop((scene.put(self.marks.route(lead, own)),)))
        elif own:
            self._flag_at_an_end(scene, lead, ends, own)
        line = Line(start="", end="", style="lead", colour=lead.colour, label=label)
        self._chain(scene, [Stop((ends[0],)), *stops, Stop((ends[1],))], line, turned=self.flow.runs_backwards(lead))

    def _flag_at_an_end(self, scene: Scene, lead: Conductor, ends: list[str], flags: tuple[Flag, ...]) -> None:
        """The flag of a lead that is loose or was not followed, at that end."""
        open_ends = [ends[one.end - 1] for one in lead.open_ends] or ends
        mark = scene.marks[open_ends[0]]
        scene.marks[mark.id] = replace(mark, flags=(*mark.flags, *flags))

    def _lead_end(self, scene: Scene, lead: Conductor, end: int, flags: Flags) -> str:
        targets = self.harness.targets(lead.id, "end_1" if end == 1 else "end_2")
        if not targets:
            return scene.put(self.marks.open_end(lead, end))
        target = targets[0]
        if self.harness.joint(target) is not None:
            self._joint(scene, target, flags)
            return target
        device = self.harness.device(self.harness.device_of(target))
        if device is not None and device.id not in self.before.by_id:
            return self._pin(scene, device, target, flags)
        return self._terminal(scene, target)

    def _pin(self, scene: Scene, device: Device, terminal: str, flags: Flags) -> str:
        """A terminal of an added device as a mark of its own, so that its leads are told apart."""
        symbol = scene.put(self.marks.added_device(device, flags))
        if len(self.harness.subjects(device.id, "of")) < 2:
            return symbol
        pin = scene.put(Mark(id=terminal, symbol="pin", label=(terminal.rsplit(":", 1)[1],), added=True))
        leads = (self.harness.conductor(one) for one in self.harness.subjects(terminal, "end_1", "end_2"))
        outward = any(self._starts_at(lead, terminal) for lead in leads if lead is not None)
        start, end = (symbol, pin) if outward else (pin, symbol)
        scene.join(Line(start=start, end=end, style="contact"))
        return pin

    def _starts_at(self, lead: Conductor, terminal: str) -> bool:
        """Whether the supply side of a lead is at this terminal."""
        end = 2 if self.flow.runs_backwards(lead) else 1
        return terminal in self.harness.targets(lead.id, "end_1" if end == 1 else "end_2")
