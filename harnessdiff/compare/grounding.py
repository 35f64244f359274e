"""What the place of a ground says: its contact with the metal, who shares it, what it goes past."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from harnessdiff.compare.comparison import Comparison
from harnessdiff.graph import CONSUMING, GROUND_DEVICES, spread, terminal_names
from harnessdiff.model.harness import JointDetails
from harnessdiff.model.modification import Fact
from harnessdiff.tables.loader import SAFETY_LAMPS, limit

HEADLAMPS = frozenset({"headlamp_high", "headlamp_low"})
ALONG_A_RUN = frozenset({"conductor", "contact", "common", "mated"})


def ground_facts(comparison: Comparison, joint_id: str, nodes: Iterable[str]) -> tuple[Fact, ...]:
    """What the place of a ground joint says.

    Parameters
    ----------
    comparison : Comparison
    joint_id : str
    nodes : iterable of str
        Nodes of the as-found graph at which it touches the reference.

    Returns
    -------
    tuple of Fact
    """
    nodes = tuple(nodes)
    facts = list(past_a_sensor(comparison, nodes))
    joint = comparison.after.joint(joint_id)
    if joint is None:
        return tuple(facts)
    details = joint.details
    if details.fixing in ("trim_screw", "self_tapper") or details.bare_metal == "no":
        facts.append(Fact.of("poor_ground_contact", fixing=details.fixing, bare_metal=details.bare_metal))
    elif details.bare_metal == "unknown" and details.fixing != "factory_stud":
        facts.append(Fact.of("ground_contact_unseen", fixing=details.fixing))
    if details.fixing in ("seat_bolt", "belt_anchorage"):
        facts.append(Fact.of("on_belt_or_seat_fixing", fixing=details.fixing))
    if details.fixing == "restraint_bolt":
        facts.append(Fact.of("on_restraint_fixing"))
    rings = details.rings_on_stud or 1
    if rings > 1:
        facts.append(Fact.of("shared_ground", rings=rings, adverse=_adverse(comparison, details, rings, nodes)))
    return tuple(facts)


def _adverse(comparison: Comparison, details: JointDetails, rings: int, nodes: tuple[str, ...]) -> str:
    """Whether sharing does harm: too many rings, or a poor contact below lamps; ``maybe`` where nobody saw it."""
    if too_many(rings):
        return "yes"
    if "clean" in details.condition and not _poor(details):
        return "no"
    if not _lamps_share(comparison, nodes):
        return "no"
    return "yes" if _poor(details) else "maybe"


def too_many(rings: int) -> bool:
    """Whether a stud holds more rings than practice allows."""
    return rings > limit("rings_on_stud")


def past_a_sensor(comparison: Comparison, nodes: Iterable[str]) -> Iterator[Fact]:
    """That a ground is joined above the sensor that measures all current of a source."""
    nets = {comparison.reference_net(node) for node in nodes}
    for net, device in sorted(comparison.base.shunts.items()):
        if net in nets:
            yield Fact.of("past_a_sensor", device=device)


def _poor(details: JointDetails) -> bool:
    """Whether the contact of a ring with the metal is not what it should be."""
    return (
        details.fixing in ("trim_screw", "self_tapper")
        or details.bare_metal == "no"
        or any(state != "clean" for state in details.condition)
    )


def _lamps_share(comparison: Comparison, nodes: Iterable[str]) -> bool:
    """Whether lamps that others must see find ground through one of the nodes; the bare metal is not one."""
    graph, harness = comparison.graph, comparison.after
    metal = {
        terminal
        for device in harness.devices()
        if device.kind in GROUND_DEVICES
        for terminal in terminal_names(harness, device.id)
    }
    reached = spread(
        graph,
        [node for node in nodes if node not in metal],
        lambda edge, _one, other: edge["kind"] in ALONG_A_RUN and other not in metal,
    )
    circuits = {
        circuit
        for node in reached
        for other, edges in graph.adj[node].items()
        if any(edge["kind"] in CONSUMING for edge in edges.values())
        for circuit in comparison.circuits_at(other)
    }
    return bool((SAFETY_LAMPS | HEADLAMPS) & {comparison.reference.function_of(circuit) for circuit in circuits})
