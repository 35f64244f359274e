"""What added loads do to fuses, contacts, terminals and outputs, and what goes dead with them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.behaviour import merged
from harnessdiff.analyse.fuses import carries_A
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.laws import Floats
from harnessdiff.analyse.network.loads import state_of, terminal_of
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.without import dead_without
from harnessdiff.analyse.opening import fuse_of
from harnessdiff.graph import PROTECTIVE
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Terminal, is_added
from harnessdiff.model.modification import Value
from harnessdiff.model.parts import Coil, Diode, Link, Load, Output
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import limit

LIMITED = (Link, Output, Diode)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Limit:
    """What something in the path stands: for ever, and for a moment. [A]"""

    subject: str
    sort: str
    lasting_A: float
    moment_A: float
    terminal: str | None = None

    def at(self, settled: Settled) -> float:
        """What counts for how long a condition lasts. [A]"""
        duration = settled.condition.duration_s
        moment = duration is not None and duration <= limit("moment_s")
        return self.moment_A if moment else self.lasting_A


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draw:
    """An added load that draws: what its current passes, who answers for it, and the last protection before it."""

    load: Branch
    elements: frozenset[str]
    nodes: frozenset[str]
    current_A: float
    answers: tuple[int, ...]
    behind: int | None


class Loading:
    """Currents through everything that has a limit, as found against the reference.

    Parameters
    ----------
    answering : Answering
    """

    def __init__(self, answering: Answering) -> None:
        self.answering = answering
        self.before, self.after = answering.before, answering.after
        self.was: Network = next(iter(self.before.values())).network
        self.now: Network = next(iter(self.after.values())).network

    def consequences(self) -> tuple[Found, ...]:
        """Fuses that carry more, limits passed, loads that go dead together, voltage too low to work."""
        return merged([*self._fuses(), *self._limits(), *self._under_voltage(), *self._dying_together()])

    # -- who draws

    @cached_property
    def draws(self) -> Mapping[str, tuple[_Draw, ...]]:
        """The added loads that draw, by condition."""
        return {condition: tuple(self._drawing(condition, settled)) for condition, settled in self.after.items()}

    def _drawing(self, condition: str, settled: Settled) -> Iterator[_Draw]:
        for load in self.now.loads:
            current = abs(settled.current_A(load))
            if not is_added(load.element) or not settled.conducts(load) or current < limit("draw_least"):
                continue
            feed, back = self.answering.sides(load, condition)
            way = (*feed, *back)
            answers = self.answering.draws(feed, back)
            protective = [step.branch.number for step in feed if step.branch.kind in PROTECTIVE]
            yield _Draw(
                load=load,
                elements=frozenset(step.branch.element for step in way),
                nodes=frozenset(node for step in way for node in (step.from_node, step.to_node)),
                current_A=current,
                answers=answers or self.answering.of_elements([load.element]),
                behind=protective[-1] if protective else None,
            )

    def drawing_through(
        self, condition: str, *, element: str | None = None, node: str | None = None
    ) -> tuple[int, ...]:
        """Modifications whose added loads draw through an element or node, the greatest draw first."""
        draws = [one for one in self.draws[condition] if element in one.elements or node in one.nodes]
        draws.sort(key=lambda one: -one.current_A)
        return tuple(dict.fromkeys(number for one in draws for number in one.answers))

    # -- fuses

    def _fuses(self) -> Iterator[Found]:
        """Fuses that carry more than they did, in the condition in which it is most."""
        for branch in self.now.branches:
            if branch.kind != "fuse":
                continue
            twin = self._twin(branch)
            rows = []
            for condition, settled in self.after.items():
                now = abs(settled.current_A(branch))
                was = abs(self.before[condition].current_A(twin)) if twin else 0.0
                if now > was + limit("fuse_current_least"):
                    rows.append((now, was, condition))
            if not rows:
                continue
            now, was, condition = max(rows)
            drawing = self.drawing_through(condition, element=branch.element)
            answers = drawing or self.answering.through(branch, condition)
            if not answers:
                continue
            fuse = fuse_of(self.now, branch)
            carries = carries_A(fuse).low
            beyond = self._beyond(branch, condition)
            behind = [one.behind for one in self.draws[condition]] if drawing else [beyond[-1].number]
            matters = branch.number in behind and now - was > limit("fuse_share_least") * (fuse.rating_A.low or 0.0)
            # Of fuses one behind the other that carry too much, the last one opens first.
            over = now > carries and not any(self._over(one, condition) for one in beyond[1:])
            if not matters and not over:
                continue
            yield Found(
                consequence=Consequence(
                    code="fuse_current",
                    subject=branch.element,
                    conditions=(condition,),
                    before=_exactly(was),
                    after=_exactly(now),
                    unit="A",
                    params=_params(carries_A=carries, over="yes" if now > carries else None),
                ),
                modifications=answers,
            )

    def _over(self, branch: Branch, condition: str) -> bool:
        """Whether a fuse carries more than it does for ever; never an output, which limits itself."""
        current = abs(self.after[condition].current_A(branch))
        return branch.kind == "fuse" and current > carries_A(fuse_of(self.now, branch)).low

    def _beyond(self, branch: Branch, condition: str) -> tuple[Branch, ...]:
        """A protective device and those that its current passes after it."""
        _, back = self.answering.sides(branch, condition)
        return (branch, *(step.branch for step in back if step.branch.kind in PROTECTIVE))

    def _twin(self, branch: Branch) -> Branch | None:
        key = (branch.one, branch.other, branch.kind)
        return next(
            (one for one in self.was.branches_of(branch.element) if (one.one, one.other, one.kind) == key), None
        )

    # -- limits

    def _limits(self) -> Iterator[Found]:
        for branch in self.now.branches:
            if isinstance(branch.part, LIMITED):
                yield from self._of_branch(branch)
        yield from self._of_terminals()

    def _of_branch(self, branch: Branch) -> Iterator[Found]:
        part = branch.part
        assert isinstance(part, LIMITED)
        stands = _stands(part.limit_A, getattr(part, "momentary_A", None))
        if stands is None:
            return
        sort = {"link": "contact", "mated": "contact", "output": "output", "diode": "diode"}[branch.kind]
        what = _Limit(subject=branch.element, sort=sort, lasting_A=stands[0], moment_A=stands[1],
                      terminal=branch.other.rsplit(":", 1)[-1])  # fmt: skip
        twin = self._twin(branch)
        for condition, settled in self.after.items():
            now = abs(settled.current_A(branch))
            was = abs(self.before[condition].current_A(twin)) if twin else 0.0
            locks = part.locks_out_after if isinstance(part, Output) else None
            yield from self._passed(what, settled, was, now, branch=branch, locks_out_after=locks)

    def _of_terminals(self) -> Iterator[Found]:
        """Currents through terminals with a limit: half of all that comes to one and leaves it."""
        limits = []
        for node in self.now.nodes:
            terminal = self.now.harness.by_id.get(node)
            if isinstance(terminal, Terminal):
                stands = _stands(terminal.limit_A, terminal.momentary_A)
                if stands is not None:
                    limits.append(
                        _Limit(subject=self.now.harness.device_of(node), sort="terminal", lasting_A=stands[0],
                               moment_A=stands[1], terminal=node)
                    )  # fmt: skip
        for condition, settled in self.after.items():
            before = self.before[condition]
            now, was = _through_nodes(settled), _through_nodes(before)
            for one in limits:
                assert one.terminal is not None
                current = float(now[self.now.index[one.terminal]])
                earlier = float(was[self.was.index[one.terminal]]) if one.terminal in self.was.index else 0.0
                yield from self._passed(one, settled, earlier, current, node=one.terminal)

    def _passed(
        self,
        what: _Limit,
        settled: Settled,
        was: float,
        now: float,
        *,
        branch: Branch | None = None,
        node: str | None = None,
        **params: Value,
    ) -> Iterator[Found]:
        """That a limit is passed as found, where it was not on the reference or by clearly less."""
        allowed = what.at(settled)
        if now <= allowed or (was > allowed and now < was * limit("clearly_more")):
            return
        condition = settled.condition.id
        answers = self.drawing_through(condition, element=branch.element if branch else None, node=node)
        if branch is not None and not answers:
            answers = self.answering.through(branch, condition)
        answers = answers or self.answering.of_elements([what.subject])
        yield Found(
            consequence=Consequence(
                code="over_limit",
                subject=what.subject,
                terminal=what.terminal.rsplit(":", 1)[-1] if what.terminal else None,
                conditions=(condition,),
                before=_exactly(was),
                after=_exactly(now),
                unit="A",
                params=_params(sort=what.sort, limit_A=allowed, **params),
            ),
            modifications=answers,
        )

    # -- voltage

    def _under_voltage(self) -> Iterator[Found]:
        """Loads and coils that have too little voltage to do their work, and had enough."""
        for branch in (*self.now.loads, *self.now.coils):
            part, twin = branch.part, self._twin(branch)
            least = part.least_V if isinstance(part, Load) else part.pull_in_V if isinstance(part, Coil) else None
            if twin is None or least is None or least.low is None:
                continue
            for condition, settled in self.after.items():
                if not settled.conducts(branch) or not self.before[condition].conducts(twin):
                    continue
                now, was = abs(settled.across_V(branch)), abs(self.before[condition].across_V(twin))
                tried = limit("load_glows_share") * self.now.system_V < now
                if tried and now < least.low <= was:
                    answer = self.answering.less(twin, condition)
                    yield Found(
                        consequence=Consequence(
                            code="under_voltage",
                            subject=branch.element,
                            terminal=terminal_of(self.now, branch),
                            conditions=(condition,),
                            before=_exactly(was),
                            after=_exactly(now),
                            unit="V",
                            path=answer.path,
                            params=_params(least_V=least.low),
                        ),
                        modifications=answer.modifications,
                    )

    # -- what dies with it

    def _dying_together(self) -> Iterator[Found]:
        """For every added load: the maker's loads that go dead when the fuse or output before it opens."""
        loads: dict[tuple[int, tuple[int, ...]], set[str]] = {}
        added: dict[tuple[int, tuple[int, ...]], set[str]] = {}
        where: dict[tuple[int, tuple[int, ...]], list[str]] = {}
        for condition, settled in self.after.items():
            dying = dead_without(settled) if self.draws[condition] else {}
            for draw in self.draws[condition]:
                if draw.behind is None:
                    continue
                branches = [self.now.branches[one] for one in dying.get(draw.behind, ())]
                others = {one.element for one in branches if not is_added(one.element) and state_of(settled, one).works}
                if others:
                    key = (draw.behind, draw.answers)
                    loads.setdefault(key, set()).update(others)
                    added.setdefault(key, set()).add(draw.load.element)
                    where.setdefault(key, []).append(condition)
        for key, others in loads.items():
            branch = self.now.branches[key[0]]
            yield Found(
                consequence=Consequence(
                    code="dies_with",
                    subject=branch.element,
                    terminal=branch.other.rsplit(":", 1)[-1] if branch.kind == "output" else None,
                    conditions=tuple(dict.fromkeys(where[key])),
                    params=_params(loads=tuple(sorted(others)), added=tuple(sorted(added[key])), sort=branch.kind),
                ),
                modifications=key[1],
            )


def _through_nodes(settled: Settled) -> Floats:
    """Current that passes every node: half of all that comes and goes. [A]"""
    circuit = settled.network.circuit
    size = np.abs(settled.solution.current_A)
    total = np.bincount(circuit.one, weights=size, minlength=circuit.nodes)
    total += np.bincount(circuit.other, weights=size, minlength=circuit.nodes)
    return total / 2


def _stands(lasting: Quantity, moment: Quantity | None) -> tuple[float, float] | None:
    """What something carries for ever and for a moment, None where nobody said."""
    if lasting.high is None:
        return None
    momentary = moment.high if moment is not None and moment.high is not None else lasting.high
    return lasting.high, max(momentary, lasting.high)


def _params(**values: Value) -> tuple[tuple[str, Value], ...]:
    return tuple(sorted((name, value) for name, value in values.items() if value is not None))


def _exactly(value: float) -> Range:
    return Range.exactly(value, guaranteed=False)
