"""A network in a condition of the vehicle: relays, inputs and cut-outs settled, voltages solved."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.circuit import Solution
from harnessdiff.analyse.network.laws import LEAK_S, Bools, Floats, Laws
from harnessdiff.analyse.network.values import nominal
from harnessdiff.model.parts import Coil, Load
from harnessdiff.model.reference import Condition
from harnessdiff.tables.loader import assumed_value

HOLDS_S = 2 * LEAK_S
"""A slope above this ties two nodes together; what is left of an element that carries nothing does not."""
MOST_ROUNDS = 60
ASLEEP = "asleep"


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """What relays, inputs and loads that switch themselves off have come to.

    Parameters
    ----------
    pulled : frozenset of str
        Devices whose coil has pulled in.
    high, low : frozenset of str
        Nodes of inputs that are high, and low; an input that hangs on nothing is neither.
    cut_out : frozenset of int
        Branches of loads that switched themselves off for want of voltage.
    """

    pulled: frozenset[str] = frozenset()
    high: frozenset[str] = frozenset()
    low: frozenset[str] = frozenset()
    cut_out: frozenset[int] = frozenset()


AT_REST = State()


@dataclass(frozen=True, eq=False, kw_only=True)
class Settled:
    """A network in a condition.

    Parameters
    ----------
    network : Network
    condition : Condition
    state : State
    solution : Solution
    active : ndarray of bool, shape (branches,)
        Branches that conduct.
    laws : Laws
        What they follow: loads at rest among them.
    resting : ndarray of bool, shape (branches,)
        Loads that draw what they draw at rest.
    oscillates : tuple of str
        Devices that come to no rest.
    holds : tuple of str
        Devices that stay as they are once something triggered them, and are at rest otherwise.
    """

    network: Network
    condition: Condition
    state: State
    solution: Solution
    active: Bools
    laws: Laws
    resting: Bools
    oscillates: tuple[str, ...] = ()
    holds: tuple[str, ...] = ()

    def voltage_V(self, node: str) -> float | None:
        """Voltage of a node against ground, None where nothing ties it to ground. [V]"""
        number = self.network.index.get(node)
        if number is None or self.solution.floating[number]:
            return None
        return float(self.solution.voltage_V[number])

    def across_V(self, branch: Branch) -> float:
        """Voltage from a branch's first node to its second. [V]"""
        index, voltage = self.network.index, self.solution.voltage_V
        return float(voltage[index[branch.one]] - voltage[index[branch.other]])

    def current_A(self, branch: Branch) -> float:
        """Current through a branch from its first node to its second. [A]"""
        return float(self.solution.current_A[branch.number])

    def conducts(self, branch: Branch) -> bool:
        """Whether a branch conducts, or may work."""
        return bool(self.active[branch.number])

    @cached_property
    def collapsed(self) -> tuple[str, ...]:
        """Devices of constant power that the supply cannot carry."""
        return tuple(sorted({self.network.branches[one].element for one in self.solution.collapsed}))


def settle(
    network: Network,
    condition: Condition,
    start: State = AT_REST,
    *,
    opened: Iterable[int] = (),
    guess: Settled | None = None,
) -> Settled:
    """Solve a network in a condition, from what its relays were before.

    A coil pulls in at its pull-in voltage and lets go below its drop-out voltage; between the two it stays.
    All change at once, round by round; where that comes back to where it was, one changes at a time,
    in the order of names. What still comes to no rest oscillates.

    Parameters
    ----------
    network : Network
    condition : Condition
    start : State
    opened : iterable of int
        Branches taken out: a fuse pulled, a wire cut.
    guess : Settled, optional
        A network much like this one in the same condition: its voltages are where the search begins.
        What is found does not depend on it.

    Returns
    -------
    Settled
    """
    return _Settling(network, condition, frozenset(opened)).run(start, _start_V(network, guess))


def _start_V(network: Network, guess: Settled | None) -> Floats | None:
    """Voltages of the nodes by their names in another network; 0 where it has none of that name."""
    if guess is None:
        return None
    known, voltage = guess.network.index, guess.solution.voltage_V
    return np.array([float(voltage[known[node]]) if node in known else 0.0 for node in network.nodes])


class _Settling:
    def __init__(self, network: Network, condition: Condition, opened: frozenset[int]) -> None:
        self.network, self.condition = network, condition
        self.standing = network.standing(condition)
        self.opened = np.zeros(len(network.branches), dtype=bool)
        self.opened[list(opened)] = True
        self.standing &= ~self.opened
        self.dynamic = [one for one in network.guarded if one.when.energised is not None or one.when.inputs]
        self.sleeping = self._sleeping()
        self.high_V = assumed_value("input_high_share") * network.system_V
        self.low_V = assumed_value("input_low_share") * network.system_V

    def run(self, start: State, start_V: Floats | None) -> Settled:
        """Round by round until nothing changes."""
        state, singly = replace(start, cut_out=frozenset()), False
        seen: list[State] = []
        for _ in range(self._most_rounds):
            active, laws, resting = self._as(state)
            solution = self._tied(self.network.circuit.solve(laws, active, start_V), active)
            start_V = solution.voltage_V
            following = self._following(state, solution, active)
            settled = Settled(
                network=self.network,
                condition=self.condition,
                state=state,
                solution=solution,
                active=active,
                laws=laws,
                resting=resting,
            )
            if following == state:
                return settled
            if state in seen:
                # What came before the first of the states that come again only led there.
                seen = seen[seen.index(state) :]
                if singly:
                    break
                seen, singly = [], True
            seen.append(state)
            state = _one_step(state, following) if singly else following
        return replace(settled, oscillates=_differing(seen))

    @property
    def _most_rounds(self) -> int:
        """Enough for everything to change one after the other and change back, twice."""
        network = self.network
        return MOST_ROUNDS + 4 * (len(network.coils) + len(network.inputs) + len(network.loads))

    def _tied(self, solution: Solution, active: Bools) -> Solution:
        """The solution with what hangs on nothing but elements that carry nothing counted as floating."""
        holds = active & (solution.slope_S > HOLDS_S)
        return replace(solution, floating=self.network.circuit.held(holds)[1])

    def _sleeping(self) -> Bools:
        """Loads that rest whatever feeds them: in sleep all but those that an input of theirs keeps awake."""
        sleeping = np.full(len(self.network.branches), self.condition.id == ASLEEP)
        sleeping[[one.number for one in self.dynamic if one.when.inputs]] = False
        return sleeping

    def _as(self, state: State) -> tuple[Bools, Laws, Bools]:
        """What conducts, what it follows, and which loads rest, in a state."""
        works = self.standing.copy()
        for one in self.dynamic:
            when = one.when
            if when.energised is not None:
                works[one.number] &= (one.device in state.pulled) == when.energised
            for each in when.inputs:
                node = f"{one.owner}:{each.terminal}"
                works[one.number] &= node in (state.high if each.is_ == "high" else state.low)
        network = self.network
        resting = network.rests & (~works | self.sleeping)
        active = (works | resting) & ~self.opened
        if state.cut_out:
            active[list(state.cut_out)] = False
        at = np.where(resting)[0]
        if not at.size:
            return active, network.laws, resting
        law, numbers = network.laws.law.copy(), network.laws.numbers.copy()
        law[at], numbers[at] = network.laws_at_rest.law[at], network.laws_at_rest.numbers[at]
        return active, Laws(law=law, numbers=numbers), resting

    def _following(self, state: State, solution: Solution, active: Bools) -> State:
        network = self.network
        pulled = set()
        for coil in network.coils:
            part = coil.part
            assert isinstance(part, Coil)
            across = abs(_across(network, solution, coil)) if active[coil.number] else 0.0
            held = coil.element in state.pulled
            name = "drop_out" if held else "pull_in"
            least = nominal(getattr(part, f"{name}_V"), assumed_value(f"relay_{name}"))
            if across >= least:
                pulled.add(coil.element)
        high, low = set(), set()
        for node in network.inputs:
            number = network.index[node]
            if solution.floating[number]:
                continue
            volts = abs(float(solution.voltage_V[number]))
            if volts >= (self.low_V if node in state.high else self.high_V):
                high.add(node)
            elif volts <= (self.high_V if node in state.low else self.low_V):
                low.add(node)
        return State(
            pulled=frozenset(pulled),
            high=frozenset(high),
            low=frozenset(low),
            cut_out=state.cut_out | self._cutting_out(solution, active),
        )

    def _cutting_out(self, solution: Solution, active: Bools) -> frozenset[int]:
        """The load furthest below the voltage at which it switches itself off."""
        found = []
        for load in self.network.loads:
            part = load.part
            assert isinstance(part, Load)
            if active[load.number] and part.cut_out_V.known:
                least = nominal(part.cut_out_V, 0.0)
                across = abs(_across(self.network, solution, load))
                if 0.0 < across < least:
                    found.append((across / least, load.number))
        return frozenset([min(found)[1]] if found else [])


def _across(network: Network, solution: Solution, branch: Branch) -> float:
    return float(solution.voltage_V[network.index[branch.one]] - solution.voltage_V[network.index[branch.other]])


def _one_step(state: State, following: State) -> State:
    """`state` with the first of its changes, in the order of names."""
    for name in ("pulled", "high", "low", "cut_out"):
        changes = sorted(getattr(state, name) ^ getattr(following, name))
        if changes:
            return replace(state, **{name: getattr(state, name) ^ {changes[0]}})
    return state


def _differing(states: Iterable[State]) -> tuple[str, ...]:
    """Devices and inputs that are not the same in all of some states."""
    found: set[str] = set()
    for name in ("pulled", "high", "low"):
        sets = [getattr(state, name) for state in states]
        found |= set().union(*sets) - set.intersection(*map(set, sets)) if sets else set()
    return tuple(sorted(found))


def settled_in_all(
    network: Network, conditions: tuple[Condition, ...], like: Mapping[str, Settled] | None = None
) -> Mapping[str, Settled]:
    """A network in each of some conditions, each from the one that comes before it.

    Where a condition names none before it, it is solved from all relays at rest and from all pulled in;
    what differs is said to hold once triggered.

    Parameters
    ----------
    network : Network
    conditions : tuple of Condition
    like : mapping of str to Settled, optional
        A network much like this one in the same conditions, to begin the search at.

    Returns
    -------
    mapping
        Condition id to `Settled`, in the order of `conditions`.
    """
    by_id = {condition.id: condition for condition in conditions}
    found: dict[str, Settled] = {}
    guesses = like or {}

    def settled(condition: Condition, passed: frozenset[str]) -> Settled:
        if condition.id not in found:
            before = by_id.get(condition.after or "")
            if before is None or before.id in passed:
                found[condition.id] = _from_both(network, condition, guesses.get(condition.id))
            else:
                start = settled(before, passed | {condition.id}).state
                found[condition.id] = settle(network, condition, start, guess=guesses.get(condition.id))
        return found[condition.id]

    return {condition.id: settled(condition, frozenset()) for condition in conditions}


def _from_both(network: Network, condition: Condition, guess: Settled | None) -> Settled:
    at_rest = settle(network, condition, guess=guess)
    all_on = State(pulled=frozenset(coil.element for coil in network.coils), high=frozenset(network.inputs))
    triggered = settle(network, condition, all_on, guess=at_rest)
    # What comes to no rest stays in no state: in which the search ended is chance.
    holds = (triggered.state.pulled ^ at_rest.state.pulled) - {*at_rest.oscillates, *triggered.oscillates}
    return replace(at_rest, holds=tuple(sorted(holds)))
