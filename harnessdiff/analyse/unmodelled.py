"""What draws current and is not in the network: the rest of a vehicle, and contents that are only guessed at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from harnessdiff.analyse.network.band import Draw, load_shares
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.settle import ASLEEP, Settled
from harnessdiff.analyse.network.values import nominal, rated
from harnessdiff.graph import GROUND_DEVICES, slot_of, terminal_names
from harnessdiff.model.harness import Device, is_added
from harnessdiff.model.parts import Load, Part, Source
from harnessdiff.model.reference import Condition, Reference
from harnessdiff.tables.loader import limit
from harnessdiff.tables.measuring import measuring


def draws_besides(now: Settled, reference: Reference) -> tuple[Draw, ...]:
    """What may be drawn besides what the network knows.

    Parameters
    ----------
    now : Settled
    reference : Reference
        Says how much of the vehicle it holds, and what its rest draws asleep.

    Returns
    -------
    tuple of Draw
    """
    return (*_of_the_rest(now, reference), *_of_guesses(now))


def unmodelled_rest_A(reference: Reference, condition: Condition) -> tuple[float, float]:
    """Least and greatest current of what a reference leaves out; all that may be on where the key is not out. [A]"""
    known = reference.unmodelled_rest_A
    if condition.id == ASLEEP and known.known:
        most = nominal(known, 0.0) if known.high is None else known.high
        return known.low or 0.0, most
    if reference.extent == "whole":
        return 0.0, 0.0
    return 0.0, measuring("unmodelled_rest" if condition.id == ASLEEP else "unmodelled_running")


def _of_the_rest(now: Settled, reference: Reference) -> Iterator[Draw]:
    least, greatest = unmodelled_rest_A(reference, now.condition)
    battery = main_battery(now.network)
    if battery is not None and greatest > 0:
        yield Draw(one=battery.one, other=body_node(now.network), least_A=least, greatest_A=greatest)


def _of_guesses(now: Settled) -> Iterator[Draw]:
    """What guesses draw beside the one that the network may have taken."""
    for device, draw in guessed_draws(now):
        taken = sum(
            abs(now.current_A(load))
            for load in now.network.loads
            if load.element == device and (load.one, load.other) == (draw.one, draw.other) and now.conducts(load)
        )
        yield replace(draw, least_A=draw.least_A - taken, greatest_A=draw.greatest_A - taken)


def guessed_draws(now: Settled) -> tuple[tuple[str, Draw], ...]:
    """What devices draw whose contents are unknown and may be one of several.

    Parameters
    ----------
    now : Settled

    Returns
    -------
    tuple of (str, Draw)
        Device, and the least and greatest by all guesses; those that have no voltage draw nothing.
    """
    network, found = now.network, []
    for device in network.harness.devices():
        if device.connected == "no" or (device.parts and not _is_guess(device)):
            continue
        pairs: dict[tuple[str, str], list[tuple[float, float]]] = {}
        for guess in device.hypotheses:
            for part in guess.parts:
                if isinstance(part, Load):
                    pairs.setdefault(_nodes(network, device, part), []).append(_drawn_A(now, part))
        for (one, other), amps in pairs.items():
            if _fed(now, one, other):
                least, greatest = min(low for low, _ in amps), max(high for _, high in amps)
                found.append((device.id, Draw(one=one, other=other, least_A=least, greatest_A=greatest)))
    return tuple(found)


def _is_guess(device: Device) -> bool:
    """Whether a device's contents are those of the first guess, taken for want of better."""
    return bool(device.hypotheses) and device.parts == device.hypotheses[0].parts


def _fed(now: Settled, one: str, other: str) -> bool:
    ends = (now.voltage_V(one), now.voltage_V(other))
    if ends[0] is None or ends[1] is None:
        return False
    return abs(ends[0] - ends[1]) > limit("load_glows_share") * now.network.system_V


def _nodes(network: Network, device: Device, part: Part) -> tuple[str, str]:
    owner = slot_of(network.harness, device.id)
    return f"{owner}:{part.between[0]}", f"{owner}:{part.between[1]}"


def _drawn_A(now: Settled, part: Load) -> tuple[float, float]:
    resting = part.rest_A.known and now.condition.id == ASLEEP
    amps = nominal(part.rest_A, 0.0) if resting else rated(part)[1]
    less, more = load_shares(part, resting=resting)
    return (0.0 if part.when is not None else less * amps), more * amps


def batteries(network: Network) -> tuple[Branch, ...]:
    """The batteries of a network."""
    return tuple(
        branch for branch in network.branches if isinstance(branch.part, Source) and branch.part.model == "battery"
    )


def main_battery(network: Network) -> Branch | None:
    """The battery of the vehicle's voltage, the maker's before one that was added."""
    found = [one for one in batteries(network) if one.value.numbers[0] < 2 * network.system_V]
    return min(found, key=lambda one: (is_added(one.element), one.element), default=None)


def body_node(network: Network) -> str:
    """A terminal of the body, else the node that voltages count from."""
    devices = sorted(one.id for one in network.harness.devices() if one.kind in GROUND_DEVICES)
    terminals = (name for device in devices for name in terminal_names(network.harness, device))
    return next((name for name in terminals if name in network.metal), network.ground)


def key_off(condition: Condition) -> bool:
    """Whether the key is out and the engine stopped."""
    return condition.key == "out" and condition.engine == "stopped"
