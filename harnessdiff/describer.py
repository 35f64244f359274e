"""Elements and findings in words, with what the reference and the as-found harness know of them."""

from __future__ import annotations

from harnessdiff.model.findings import Finding
from harnessdiff.model.harness import Conductor, Device, Element, Harness, Joint, Terminal
from harnessdiff.model.reference import Reference
from harnessdiff.words import KINDS, bare, fact_words, function_words, joint_words, size_words, terminal_words

MOST_CANDIDATES = 4
"""Of more wires that a clue fits a headline names so many and counts the others."""


class Describer:
    """Names of elements as a person at the vehicle reads them."""

    def __init__(self, reference: Reference, as_found: Harness) -> None:
        self.reference = reference
        self.as_found = as_found

    def element(self, element_id: str) -> Element | None:
        """The element, as found or, where it is gone, as on the reference."""
        return self.as_found.by_id.get(element_id) or self.reference.harness.by_id.get(element_id)

    def wire(self, conductor: Conductor) -> str:
        """A conductor: id, colour and size."""
        return " ".join(part for part in (bare(conductor.id), *self.wire_parts(conductor)) if part)

    def wire_parts(self, conductor: Conductor) -> tuple[str, str]:
        """Colour letters and size of a conductor, empty where not known."""
        colour = conductor.colour.letters if conductor.colour else ""
        return colour, size_words(conductor)

    def name(self, element_id: str) -> str:
        """An element by its id and, where it has one, its name."""
        element = self.element(element_id)
        if isinstance(element, Conductor):
            return self.wire(element)
        if isinstance(element, Device):
            seats = [one for one in map(self.element, self.reference.harness.targets(element_id, "seat")) if one]
            if seats and isinstance(seats[0], Device):
                return self.name(seats[0].id)
            words = element.name or (f"“{element.label}”" if element.label else None) or element.kind.replace("_", " ")
            return f"{words} ({bare(element_id)})"
        if isinstance(element, Terminal):
            device = self.element(element_id.rsplit(":", 1)[0])
            meaning = terminal_words(element.standard or element.name)
            owner: str | None = getattr(device, "name", None)
            said = ", ".join(part for part in (owner, meaning) if part)
            return f"{bare(element_id)} ({said})" if said else bare(element_id)
        if isinstance(element, Joint):
            return bare(element_id)
        return bare(getattr(element, "name", None) or element_id)

    def zone(self, zone_id: str | None) -> str:
        """A zone by its name."""
        zone = self.as_found.zone(zone_id)
        return zone.name if zone else (zone_id or "")

    def headline(self, finding: Finding) -> str:
        """A finding in one line: what, on what, of which circuit."""
        kind = KINDS[finding.kind]
        modification = finding.modification
        place = ""
        if modification.elements:
            shown = [self.name(one) for one in modification.elements[:2]]
            more = len(modification.elements) - 2
            link = " and " if finding.kind in ("swap", "bridge", "bypass") else ", "
            place = link.join(shown) + (f" and {more} more" if more > 0 else "")
        elif modification.root != "":
            place = self.name(modification.root)
        circuit = function_words(finding.functions)
        words = {"tap": "tap on", "added_ground": "added ground at", "damage": "damage to", "repair": "repair of",
                 "insertion": "in series in", "moved_ground": "ground moved:", "wrong_rated_protection": "wrong fuse:",
                 "routing": "unsafe route of"}.get(finding.kind, f"{kind}:")  # fmt: skip
        if finding.kind == "other":
            return f"something noted: {self.zone(finding.zones[0])}" if finding.zones else "something noted"
        if finding.kind == "surroundings":
            return f"surroundings: {place}"
        if modification.has("place_unknown"):
            return "tap on a wire nobody has named"
        if finding.kind == "orphaned_lead" and modification.elements:
            leads = [bare(one) for one in modification.added if isinstance(self.element(one), Conductor)]
            return f"loose lead {', '.join(leads)}, joined to {place}" + (f" · {circuit}" if circuit else "")
        candidates = self.candidates(finding)
        if len(candidates) > 1:
            more = len(candidates) - MOST_CANDIDATES
            rest = f" or {more} more" if more > 0 else ""
            return f"{words} one of: {', '.join(list(candidates.values())[:MOST_CANDIDATES])}{rest}"
        return f"{words} {place}" + (f" · {circuit}" if circuit else "")

    def candidates(self, finding: Finding) -> dict[str, str]:
        """What a finding may be on where that is open: label to function, name and colour."""
        found: dict[str, str] = {}
        for one in finding.possibilities:
            if one.about == "order" or one.label in found:
                continue
            conductor = self.element(one.elements[0]) if one.elements else None
            words = one.label
            if isinstance(conductor, Conductor) and words == bare(conductor.id):
                colour = self.wire_parts(conductor)[0]
                function = self.reference.function_of(conductor.circuit)
                named = function_words((function,)) if function else ""
                words = " ".join(part for part in (named, words, colour) if part)
            found[one.label] = words
        return found

    def details(self, finding: Finding) -> tuple[str, ...]:
        """What is established about a finding, a short phrase each; what goes without saying is left out."""
        joints = [f"{joint.flag}: {joint_words(joint.details)}" if len(finding.joints) > 1 else
                  joint_words(joint.details) for joint in finding.joints]  # fmt: skip
        facts = [words for fact in finding.modification.facts if (words := fact_words(fact))]
        return tuple(dict.fromkeys([*joints, *facts]))
