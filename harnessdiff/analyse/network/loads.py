"""What the loads of a solved network do: on, dim, glowing, off, at rest, driven backwards."""

from __future__ import annotations

from dataclasses import dataclass

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.values import rated
from harnessdiff.model.harness import is_added
from harnessdiff.model.parts import Coil, Load
from harnessdiff.tables.loader import limit

DIRECTED = frozenset({"current", "electronic", "motor", "power"})
"""Models of loads for which it matters which way round they are fed; lamps, heaters and horns do not mind."""
LOAD_CODES = ("on", "dim", "glows", "off", "reversed", "rests", "idle", "cut_out", "collapsed")
WORKING = frozenset({"on", "dim", "glows", "reversed"})
"""Codes of a load that does something, be it little or the wrong way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadState:
    """What a load does in a condition.

    Parameters
    ----------
    code : str
        One of `LOAD_CODES`.
    share_of_rated_V : float or None
        Voltage across it by its rated voltage; below 0 where a load with a direction is fed backwards.
        None where it does not conduct and one of its terminals hangs on nothing.
    across_V : float or None
        Voltage from its first terminal to its second. [V]
    current_A : float
        Current from its first terminal to its second. [A]
    """

    code: str
    share_of_rated_V: float | None
    across_V: float | None
    current_A: float

    @property
    def works(self) -> bool:
        """Whether it does something, be it little or the wrong way."""
        return self.code in WORKING


def load_state(settled: Settled, branch: Branch) -> LoadState:
    """Class of what a load does in a solved condition.

    ``on`` from 0.85 of its rated voltage, ``dim`` from 0.5, ``glows`` from 0.1, ``off`` below that;
    ``reversed`` where a load with a direction has more than 0.1 the wrong way round. ``rests`` draws what
    it draws at rest; ``idle`` draws nothing because what it waits for does not hold; ``cut_out`` switched
    itself off for want of voltage; ``collapsed`` is a constant power that its supply cannot carry.

    Parameters
    ----------
    settled : Settled
    branch : Branch
        One of ``settled.network.loads``.

    Returns
    -------
    LoadState

    Raises
    ------
    TypeError
        If the branch is no load.

    References
    ----------
    .. [1] 13 CCR 1249(c): at the socket of a bulb 85 % of its design voltage (secondary copy). The other
       bounds are common practice; all four stand in ``limits.csv``.
    """
    part = branch.part
    if not isinstance(part, Load):
        raise TypeError(f"{branch.element} has no load there")
    conducts = settled.conducts(branch)
    ends = (settled.voltage_V(branch.one), settled.voltage_V(branch.other))
    across = settled.across_V(branch) if conducts or None not in ends else None
    share = None if across is None else _share(settled, part, across)
    return LoadState(
        code=_code(settled, branch, share),
        share_of_rated_V=share,
        across_V=across,
        current_A=settled.current_A(branch) if conducts else 0.0,
    )


def state_of(settled: Settled, branch: Branch) -> LoadState:
    """What a load does, or a coil: one that has pulled its contacts is on, any other off."""
    if not isinstance(branch.part, Coil):
        return load_state(settled, branch)
    pulled = branch.element in settled.state.pulled
    across = settled.across_V(branch)
    return LoadState(
        code="on" if pulled else "off",
        share_of_rated_V=None,
        across_V=across,
        current_A=settled.current_A(branch),
    )


def terminal_of(network: Network, branch: Branch) -> str | None:
    """The terminal that tells a part of a device from its others.

    Parameters
    ----------
    network : Network
    branch : Branch
        A load or coil of it.

    Returns
    -------
    str or None
        The terminal it is fed by; where others of the device share that one, its other one, unless
        that is on the vehicle's metal or shared too. None where its node is no terminal.
    """
    others = [one for one in (*network.loads, *network.coils) if one.element == branch.element and one is not branch]
    shared = any(branch.one in (one.one, one.other) for one in others)
    tells = branch.other not in network.metal and all(branch.other not in (one.one, one.other) for one in others)
    node = branch.other if shared and tells else branch.one
    return node.rsplit(":", 1)[-1] if ":" in node else None


def hangs_on_unknown(network: Network, branch: Branch) -> bool:
    """Whether a load hangs on a terminal of an added device of which nobody said what it does there.

    Parameters
    ----------
    network : Network
    branch : Branch
        A load or coil of it.

    Returns
    -------
    bool
        Whether its feed or its ground is joined to a terminal that no part of an added device touches,
        though other terminals of that device are. What such a load does cannot be told.
    """
    for end in {branch.one, branch.other} - network.metal:
        for node in network.net_of[end]:
            device = network.harness.device(network.harness.device_of(node)) if ":" in node else None
            if device is not None and is_added(device.id) and device.parts:
                touched = {f"{device.id}:{name}" for part in device.parts for name in part.between}
                if node not in touched:
                    return True
    return False


def live_V(settled: Settled, device: str) -> float | None:
    """Voltage by which a device is live that must stay dead.

    Parameters
    ----------
    settled : Settled
    device : str

    Returns
    -------
    float or None
        The greatest across its loads and coils, or between its terminals where it has none; None where
        that is less than a tenth of what they are rated for, or of the system's voltage. [V]
    """
    network = settled.network
    least = limit("load_glows_share") * network.system_V
    found = []
    working = [one for one in network.branches_of(device) if isinstance(one.part, Load | Coil)]
    for branch in working:
        if isinstance(branch.part, Load):
            state = load_state(settled, branch)
            found += [abs(state.across_V or 0.0)] if state.works else []
        elif settled.conducts(branch) and abs(settled.across_V(branch)) >= least:
            found.append(abs(settled.across_V(branch)))
    if not working:
        found = [volts for volts in _between_terminals(settled, device) if volts >= least]
    return max(found, default=None)


def _between_terminals(settled: Settled, device: str) -> list[float]:
    """Voltages between a device's terminals, as far as something joins them."""
    network = settled.network
    part = network.circuit.parts(settled.active)
    voltage = settled.solution.voltage_V
    nodes = [network.index[one] for one in network.harness.subjects(device, "of") if one in network.index]
    pairs = [(one, other) for one in nodes for other in nodes if one < other and part[one] == part[other]]
    return [abs(float(voltage[one] - voltage[other])) for one, other in pairs]


def _share(settled: Settled, part: Load, across_V: float) -> float:
    share = across_V / rated(part)[0]
    return share * settled.network.forward if part.model in DIRECTED else abs(share)


def _code(settled: Settled, branch: Branch, share: float | None) -> str:
    if branch.number in settled.solution.collapsed:
        return "collapsed"
    if branch.number in settled.state.cut_out:
        return "cut_out"
    if share is None or not settled.conducts(branch):
        return "idle"
    if share < -limit("load_glows_share"):
        return "reversed"
    if share < limit("load_glows_share"):
        return "off"
    if settled.resting[branch.number]:
        return "rests"
    if share < limit("load_dim_share"):
        return "glows"
    return "dim" if share < limit("load_on_share") else "on"
