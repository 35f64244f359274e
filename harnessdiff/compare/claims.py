"""A modification in the making, and what recognisers have claimed so far."""

from __future__ import annotations

from harnessdiff.compare.comparison import Cluster, Comparison, Contact
from harnessdiff.model.harness import OpenEnd
from harnessdiff.model.modification import Fact, Modification


class Claims:
    """Contacts, cuts and changes that a recogniser has taken; each is taken once."""

    def __init__(self) -> None:
        self.contacts: set[Contact] = set()
        self.elements: set[str] = set()
        self.modifications: list[Modification] = []

    def take(
        self,
        modification: Modification,
        contacts: tuple[Contact, ...] = (),
    ) -> None:
        """Record a modification together with the contacts it accounts for."""
        self.contacts.update(contacts)
        self.elements.update((modification.root, *modification.added))
        self.modifications.append(modification)

    def free(self, cluster: Cluster) -> tuple[Contact, ...]:
        """Contacts of a cluster that nobody took."""
        return tuple(contact for contact in cluster.contacts if contact not in self.contacts)


def open_end_fact(lead: str, end: OpenEnd) -> Fact:
    """How an end that is attached to nothing was treated, or that nobody followed it."""
    if end.loose is None:
        return Fact.of("not_traced", lead=lead, end=end.end)
    return Fact.of("loose_end", lead=lead, end=end.end, treatment=end.loose.treatment or "unknown")


def touched_by(comparison: Comparison, contacts: tuple[Contact, ...]) -> tuple[str, ...]:
    """Elements of the reference that contacts touch, in order."""
    return tuple(sorted({one for contact in contacts for one in comparison.touched(contact.node)}))


def joints_of(contacts: tuple[Contact, ...]) -> tuple[str, ...]:
    """Joints (or bare leads) through which contacts touch, in order."""
    return tuple(sorted({contact.by for contact in contacts}))


def role_at(comparison: Comparison, contact: Contact) -> str:
    """How a contact touches: ``on`` a run, ``at`` a terminal, or at a cut ``side``."""
    if contact.node.startswith("+") and "#" in contact.node:
        return "side"
    return "on" if "@" in contact.node else "at"


def contact_facts(comparison: Comparison, contact: Contact) -> tuple[Fact, ...]:
    """What the place of a contact says: at a source, in a slot, on a module's output, on what circuit."""
    facts: list[Fact] = []
    owner = comparison.owner(contact.node)
    device = comparison.before.device(comparison.before.device_of(owner)) if ":" in owner else None
    if device is not None and device.kind in ("battery", "alternator"):
        facts.append(Fact.of("at_source", device=device.id))
    if device is not None and device.kind in ("fuse_slot", "relay_socket"):
        facts.append(Fact.of("in_slot", slot=device.id))
        joint = comparison.after.joint(contact.by)
        side = getattr(comparison.before.by_id.get(owner), "side", None)
        if joint is not None and joint.details.type == "fuse_slot_adaptor" and side == "load":
            facts.append(Fact.of("wrong_way_round", slot=device.id))
    facts += _circuit_facts(comparison, contact)
    return tuple(facts)


def _circuit_facts(comparison: Comparison, contact: Contact) -> list[Fact]:
    facts: list[Fact] = []
    functions = {comparison.reference.function_of(circuit) for circuit in comparison.circuits_at(contact.node)}
    for function, code in (("restraint", "restraint"), ("high_voltage", "high_voltage"), ("data", "data_pair")):
        if function in functions:
            facts.append(Fact.of(code))
    net = comparison.net(contact.node)
    if net not in comparison.ground:
        said = {fact.code for fact in facts}
        facts += [Fact.of(code) for code in comparison.protected_nets.get(net, ()) if code not in said]
    facts += [Fact.of("module_output", device=device) for device in comparison.output_nets.get(net, ())]
    return facts
