"""How hot joints and added parts can get: the most their circuit can give them, over all they may be."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.joints import joint_resistance_ohm, worst_heat_W
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.inverse import factorise
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.without import chords
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Inline, is_added
from harnessdiff.model.modification import Modification, Value
from harnessdiff.model.parts import Load
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import limit


@dataclass(frozen=True, slots=True, kw_only=True)
class _Heat:
    """The most heat at a contact: [W], at which resistance [Ω], with which current [A], and in which condition."""

    heat_W: float
    at_ohm: float
    current_A: float
    condition: str


def heat_of(answering: Answering, modifications: tuple[Modification, ...]) -> tuple[Found, ...]:
    """Heat in joints beneath modifications, and in added parts that turn current into heat.

    Parameters
    ----------
    answering : Answering
    modifications : tuple of Modification

    Returns
    -------
    tuple of Found
        A joint by the greatest heat over its credible range of resistance and over all conditions, and
        by what it is likeliest to be; an added part by the greatest over conditions.
    """
    network: Network = next(iter(answering.after.values())).network
    return (*_joints(answering, network, modifications), *_parts(answering, network))


def _joints(answering: Answering, network: Network, modifications: tuple[Modification, ...]) -> Iterator[Found]:
    owners = {joint: number for number, one in enumerate(modifications) for joint in one.joints}
    contacts = [branch for joint in sorted(owners) for branch in network.branches_of(joint) if branch.kind == "contact"]
    if not contacts:
        return
    worst: dict[str, _Heat] = {}
    usual: dict[str, _Heat] = {}
    for condition, settled in answering.after.items():
        for contact, open_V, seen_ohm in _seen_from(settled, contacts):
            inner_ohm = max(0.0, seen_ohm - _in_series_ohm(settled, contact))
            ohm = _ohm_of(network, contact.element)
            heat, at_ohm = worst_heat_W(open_V, inner_ohm, ohm)
            likely = open_V / (inner_ohm + ohm.nominal)
            _keep(worst, contact.element, heat, at_ohm, open_V / (inner_ohm + at_ohm), condition)
            _keep(usual, contact.element, likely**2 * ohm.nominal, ohm.nominal, likely, condition)
    for joint_id, hottest in worst.items():
        if hottest.heat_W < limit("joint_heat_least"):
            continue
        ohm = _ohm_of(network, joint_id)
        likely_W = min(usual[joint_id].heat_W, hottest.heat_W)
        yield Found(
            consequence=Consequence(
                code="joint_heat",
                subject=joint_id,
                conditions=(hottest.condition,),
                after=Range(low=0.0, nominal=likely_W, high=hottest.heat_W, guaranteed=False),
                unit="W",
                params=_params(
                    at_ohm=_rounded(hottest.at_ohm),
                    current_A=_rounded(hottest.current_A),
                    least_ohm=_rounded(ohm.low),
                    greatest_ohm=_rounded(ohm.high),
                ),
                sources=("joint resistances: engineering ranges (common practice)",),
            ),
            modifications=(owners[joint_id],),
        )


def _ohm_of(network: Network, joint_id: str) -> Range:
    """What a joint may be: as measured under load where it was. [Ω]"""
    joint = network.harness.joint(joint_id)
    assert joint is not None
    return network.measured_ohm.get(joint_id) or joint_resistance_ohm(joint.details)


def _in_series_ohm(settled: Settled, contact: Branch) -> float:
    """What the other contacts of a joint have that pass the same current: part of it, not of what it sees. [Ω]"""
    network, current = settled.network, abs(settled.current_A(contact))
    others = [one for one in network.branches_of(contact.element) if one.kind == "contact" and one is not contact]
    same = [one for one in others if abs(abs(settled.current_A(one)) - current) <= SAME_CURRENT * current]
    return sum(one.value.ohm.nominal for one in same if one.value.ohm is not None)


SAME_CURRENT = 0.01
"""Share by which the currents of two contacts may differ that lie one behind the other."""


def _keep(found: dict[str, _Heat], joint: str, heat_W: float, at_ohm: float, current_A: float, condition: str) -> None:
    if joint not in found or heat_W > found[joint].heat_W * (1 + 1e-9):
        found[joint] = _Heat(heat_W=heat_W, at_ohm=at_ohm, current_A=abs(current_A), condition=condition)


def _seen_from(settled: Settled, contacts: list[Branch]) -> Iterator[tuple[Branch, float, float]]:
    """For every contact: the voltage across it if it were open, and the resistance of its circuit as it sees it."""
    network, circuit = settled.network, settled.network.circuit
    live = [one for one in contacts if settled.conducts(one) and abs(settled.current_A(one)) > limit("draw_least")]
    if not live:
        return
    conductance = chords(settled)
    factor = factorise(circuit.matrix(conductance, circuit.held(conductance > 0)[0]))
    right = np.zeros((len(network.nodes), len(live)))
    for column, one in enumerate(live):
        right[network.index[one.one], column] += 1.0
        right[network.index[one.other], column] -= 1.0
    free = circuit.row_of >= 0
    rows = np.zeros((len(network.nodes) - 1, len(live)), order="F")
    rows[circuit.row_of[free]] = right[free]
    transfer = np.zeros_like(right)
    transfer[free] = factor.solve(rows)[circuit.row_of[free]]
    for column, one in enumerate(live):
        across = float(transfer[network.index[one.one], column] - transfer[network.index[one.other], column])
        own = float(conductance[one.number])
        left = 1 - own * across
        if left <= NOTHING_ELSE:
            continue
        inner = across / left
        yield one, settled.current_A(one) * (inner + 1 / own), inner


NOTHING_ELSE = 1e-9
"""Share of the conductance seen across a contact that is not its own, below which nothing else is there."""


def _parts(answering: Answering, network: Network) -> Iterator[Found]:
    """Added resistors, ballasts and the like that give off heat."""
    for branch in network.branches:
        if not is_added(branch.element) or not _gives_heat(network, branch):
            continue
        heats = {
            condition: abs(settled.across_V(branch) * settled.current_A(branch)) - _passed_on_W(settled, branch.element)
            for condition, settled in answering.after.items()
            if settled.conducts(branch)
        }
        if not heats or max(heats.values()) < limit("device_heat_least"):
            continue
        condition = max(heats, key=lambda one: heats[one])
        device = network.harness.device(branch.element)
        answer = answering.live(branch, condition)
        yield Found(
            consequence=Consequence(
                code="device_heat",
                subject=branch.element,
                conditions=tuple(one for one, heat in heats.items() if heat >= limit("device_heat_least")),
                after=Range.exactly(heats[condition], guaranteed=False),
                unit="W",
                params=_params(mounted_on=device.mounted_on if device is not None else None),
            ),
            modifications=answer.modifications or answering.of_elements([branch.element]),
        )


def _passed_on_W(settled: Settled, device: str) -> float:
    """What the sources in a device give to what hangs on them. [W]"""
    return sum(
        max(0.0, -settled.across_V(one) * settled.current_A(one))
        for one in settled.network.branches_of(device)
        if one.kind == "source" and settled.conducts(one)
    )


def _gives_heat(network: Network, branch: Branch) -> bool:
    if isinstance(branch.part, Inline):
        return branch.part.kind == "resistor"
    device = network.harness.device(branch.element)
    if not isinstance(branch.part, Load) or device is None:
        return False
    # What a converter takes it passes on; only where its output is known too can its own heat be told.
    sources = [one for one in network.branches_of(device.id) if one.kind == "source"]
    return device.kind in HEATING or (device.kind == "converter" and bool(sources))


HEATING = frozenset({"resistor", "load_resistor", "heater"})
"""Kinds of device whose purpose or nature it is to get hot."""


def _rounded(value: float) -> float:
    return float(f"{value:.3g}")


def _params(**values: Value) -> tuple[tuple[str, Value], ...]:
    return tuple(sorted((name, value) for name, value in values.items() if value is not None))
