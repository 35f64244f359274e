"""How an added lead, an added device or a whole install is made dead: the steps in their order, and what stays live.

Every feed that is found has to be cut by one of the steps that cut it; the least set of steps that cuts all known
feeds is tried on the as-found network, and where a node is still live its feed joins those that are known. So the
steps are the fewest that do [1]_, in the order of the trade: energy first, cut-through last.

References
----------
.. [1] E. Moreno-Centeno, R. M. Karp, "The Implicit Hitting Set Approach to Solve Combinatorial Optimization Problems
       with an Application to Multigenome Alignment", Operations Research 61 (2), 2013, pp. 453-468 (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import reduce

import numpy as np

from harnessdiff.analyse.dead import Deadness, Fed
from harnessdiff.analyse.electrical import Solved
from harnessdiff.analyse.reach import METAL, Done
from harnessdiff.analyse.steps import Leave, Way, ways_to_cut
from harnessdiff.model.harness import Conductor, Device, Element, Harness, Joint, is_added
from harnessdiff.model.isolation import Isolation, Live, Refused, Step, Still
from harnessdiff.model.modification import Fact, Install, Modification
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Survey
from harnessdiff.tables.isolation import isolation_steps

MOST_FEEDS = 24
"""Feeds that are followed before what is still live is left to a qualified person."""
NOTHING = Done()


@dataclass(frozen=True, slots=True)
class _Feed:
    fed: Fed
    ways: tuple[Way, ...]  # that may be taken
    refused: tuple[Refused, ...]


def isolations(
    solved_after: Solved,
    reference: Reference,
    survey: Survey,
    modifications: tuple[Modification, ...],
    installs: tuple[Install, ...],
) -> Mapping[str, Isolation]:
    """How every added lead, every added device and every install is made dead.

    Parameters
    ----------
    solved_after : Solved
        What was found, solved in every condition of reference and survey.
    reference : Reference
    survey : Survey
        For its scope: nothing beyond it is proposed, and the battery comes off only where codes are saved or
        nothing else will do.
    modifications : tuple of Modification
    installs : tuple of Install

    Returns
    -------
    mapping of str to Isolation
        By id of lead or device, and ``install:0`` … by number in `installs`.
    """
    isolating = Isolating(solved_after, reference, survey)
    return {
        target: isolating.isolation(target, nodes) for target, nodes in _targets(isolating, modifications, installs)
    }


def _targets(
    isolating: Isolating, modifications: tuple[Modification, ...], installs: tuple[Install, ...]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    harness = isolating.network.harness
    things: tuple[Element, ...] = (*harness.conductors(), *harness.devices())
    for element in things:
        if is_added(element.id) and (nodes := isolating.nodes_of(element.id)):
            yield element.id, nodes
    for number, install in enumerate(installs):
        nodes = _nodes_of_install(isolating, modifications, install)
        if nodes:
            yield f"install:{number}", nodes


def _nodes_of_install(
    isolating: Isolating, modifications: tuple[Modification, ...], install: Install
) -> tuple[str, ...]:
    owned = [name for one in install.modifications for name in modifications[one].added]
    own = dict.fromkeys([*install.devices, *install.shared, *owned])
    return tuple(dict.fromkeys(node for thing in own for node in isolating.nodes_of(thing)))


def isolation_of_install(
    isolating: Isolating, modifications: tuple[Modification, ...], install: Install, number: int
) -> Isolation | None:
    """How one install is made dead; None where nothing was added that could be live."""
    nodes = _nodes_of_install(isolating, modifications, install)
    return isolating.isolation(f"install:{number}", nodes) if nodes else None


class Isolating:
    """Finds the steps for one target after another; what was solved for one serves the next.

    Parameters
    ----------
    solved : Solved
    reference : Reference
    survey : Survey
    """

    def __init__(self, solved: Solved, reference: Reference, survey: Survey) -> None:
        self.deadness = Deadness(solved)
        self.network = solved.network
        self.leave = Leave(reference, survey.scope, solved.network.harness)
        self.codes_saved = survey.scope.codes_saved == "yes"

    def nodes_of(self, element: str) -> tuple[str, ...]:
        """The nodes of an added lead or device: its ends, the sides of its in-line parts, its terminals.

        The point of a maker's wire or the maker's terminal that it is joined to is none of them.
        """
        network, harness = self.network, self.network.harness
        if harness.device(element) is not None:
            return tuple(node for node in harness.subjects(element, "of") if node in network.index)
        if harness.conductor(element) is None:
            return ()
        ends = (node for one in network.branches_of(element) for node in (one.one, one.other) if is_added(node))
        return tuple(dict.fromkeys(ends))

    def isolation(self, target: str, nodes: tuple[str, ...]) -> Isolation:
        """How a target is made dead.

        Parameters
        ----------
        target : str
        nodes : tuple of str
            All that has to be dead.

        Returns
        -------
        Isolation
        """
        before = self._live(nodes, NOTHING)
        if (reason := self._off_limits(nodes)) is not None and before:
            off_limits = (Refused(code="unplug", element=target, at=None, reason=reason),)
            return self._result(target, nodes, before, (), off_limits, ())
        feeds: list[_Feed] = []
        beyond: list[_Feed] = []
        chosen: tuple[Way, ...] = ()
        while (fed := self._first_feed(nodes, _all(chosen), before)) is not None and len(feeds) < MOST_FEEDS:
            feed = self._feed(fed)
            if not feed.ways:
                beyond.append(feed)
                break
            feeds.append(feed)
            chosen = self._fewest(feeds)
        refused = tuple(dict.fromkeys(one for feed in beyond for one in feed.refused))
        return self._result(target, nodes, before, chosen, refused, tuple(feeds))

    def taken_off(self, joints: Iterable[str]) -> Done:
        """What is open once some joints are undone; what they joined stays as it is otherwise."""
        return Done(frozenset(branch.number for joint in joints for branch in self.network.branches_of(joint)))

    def is_live(self, nodes: tuple[str, ...], done: Done) -> bool:
        """Whether any of some nodes is live in any condition."""
        if self.deadness.dead_by_joining(nodes, done):
            return False
        return any(self.deadness.live(nodes, done, condition) for condition in self.deadness.base)

    # -- what is live

    def _live(self, nodes: Iterable[str], done: Done) -> tuple[Still, ...]:
        """All nodes that are live, by condition."""
        nodes = tuple(nodes)
        if self.deadness.dead_by_joining(nodes, done):
            return ()
        return tuple(
            Still(node=node, condition=condition, volts=None if np.isnan(volts) else round(volts, 3))
            for condition in self.deadness.base
            for node, volts in self.deadness.live(nodes, done, condition).items()
        )

    def _first_feed(self, nodes: tuple[str, ...], done: Done, before: tuple[Still, ...]) -> Fed | None:
        """A feed of a node that is live: first one that comes without a load, with every relay as it was found.

        That a relay drops out is not relied on: who works on a thing takes away what feeds it, not what controls it.
        """
        if self.deadness.dead_by_joining(nodes, done):
            return None
        for one in before:
            if (fed := self.deadness.carried(one.node, done, one.condition)) is not None:
                return fed
        live_in = dict.fromkeys(one.condition for one in before)
        for condition in (*live_in, *(one for one in self.deadness.base if one not in live_in)):
            for node in self.deadness.live(nodes, done, condition):
                return self.deadness.feed(node, done, condition)
        return None

    # -- which steps

    def _feed(self, fed: Fed) -> _Feed:
        ways = ways_to_cut(fed, self.network)
        reasons = [self.leave.refusal(way) for way in ways]
        return _Feed(
            fed,
            tuple(way for way, reason in zip(ways, reasons, strict=True) if reason is None),
            tuple(
                Refused(code=way.code, element=way.element, at=way.at, reason=reason)
                for way, reason in zip(ways, reasons, strict=True)
                if reason is not None
            ),
        )

    def _fewest(self, feeds: list[_Feed]) -> tuple[Way, ...]:
        """The fewest steps that cut all of some feeds; codes are kept where that can be."""
        best: tuple[Way, ...] | None = None
        far = _distances(feeds)

        def go_on(taken: tuple[Way, ...]) -> None:
            nonlocal best
            if best is not None and self._cost(taken, far)[:2] > self._cost(best, far)[:2]:
                return
            uncut = next((feed for feed in feeds if not set(feed.ways) & set(taken)), None)
            if uncut is None:
                if best is None or self._cost(taken, far) < self._cost(best, far):
                    best = taken
                return
            for way in uncut.ways:
                go_on((*taken, way))

        go_on(())
        assert best is not None
        return tuple(sorted(best, key=_order))

    def _cost(self, ways: tuple[Way, ...], far: Mapping[Way, int]) -> tuple[object, ...]:
        """What steps cost: codes lost, how many there are, how they are made, how much else they cut off."""
        rows = [isolation_steps()[way.code] for way in ways]
        lost = 0 if self.codes_saved else sum(way.code == "battery_off" for way in ways)
        return (
            lost,
            sum(row.counts for row in rows),
            sum(row.choice for row in rows),
            sum(far.get(way, 0) for way in ways),
            tuple(sorted(map(_order, ways))),
        )

    def _off_limits(self, nodes: tuple[str, ...]) -> str | None:
        """Whether a target is joined to a restraint or high-voltage circuit, where nothing may be taken off."""
        harness = self.network.harness
        own = [_owner(harness, node) for node in nodes]
        leads = [lead for node in nodes for lead in harness.subjects(node, "end_1", "end_2") if is_added(lead)]
        hands = self.leave.hands_on(*own, *leads)
        near = (*hands, *self.leave.wires_at(hands), *self.leave.joined_by((*own, *leads)))
        return next((reason for one in near if (reason := self.leave.off_limits(one)) is not None), None)

    # -- the answer

    def _result(
        self,
        target: str,
        nodes: tuple[str, ...],
        before: tuple[Still, ...],
        ways: tuple[Way, ...],
        refused: tuple[Refused, ...],
        feeds: tuple[_Feed, ...],
    ) -> Isolation:
        steps: list[Step] = []
        done, live = NOTHING, before
        for way in ways:
            done = done.and_(way.done)
            live = self._live(nodes, done)
            steps.append(self._step(way, feeds, live))
        assumed = tuple(dict.fromkeys(self._assumed(nodes, done)))
        answer = "by_a_qualified_person" if live else "steps" if steps else "dead_already"
        return Isolation(
            target=target,
            answer=answer,
            steps=tuple(steps),
            live_before=before,
            dead=not live,
            proved=not live and not assumed,
            stays_live=tuple(self._stays(live, done)),
            refused=refused,
            assumed=assumed,
        )

    def _step(self, way: Way, feeds: tuple[_Feed, ...], live: tuple[Still, ...]) -> Step:
        cut = next((feed.fed for feed in feeds if way in feed.ways), None)
        lost = way.code == "battery_off" and not self.codes_saved
        return Step(
            code=way.code,
            element=way.element,
            at=way.at,
            because=self._source_of(way) if cut is None else cut.source,
            path=() if cut is None else _elements(cut),
            warnings=("codes_not_saved",) if lost else (),
            live_after=live,
        )

    def _source_of(self, way: Way) -> str:
        return next((self.network.branches[number].element for number in sorted(way.done.opened)), "")

    def _stays(self, live: tuple[Still, ...], done: Done) -> Iterator[Live]:
        found: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
        for one in live:
            fed = self.deadness.feed(one.node, done, one.condition)
            found.setdefault((one.node, fed.source, _elements(fed)), []).append(one.condition)
        for (node, source, path), conditions in found.items():
            yield Live(
                node=node,
                element=_owner(self.network.harness, node),
                fed_by=source,
                path=path,
                conditions=tuple(conditions),
            )

    def _joined(self, nodes: tuple[str, ...], done: Done) -> tuple[str, ...]:
        """Elements joined to some nodes by the maker's solid joints and by what was added, loads left out."""
        component = self.deadness.joined(done)
        here = {int(component[self.network.index[node]]) for node in nodes} - {METAL}
        found = {
            _owner(self.network.harness, node)
            for node, place in zip(self.network.nodes, component.tolist(), strict=True)
            if place in here
        }
        return tuple(sorted(found))

    def _assumed(self, nodes: tuple[str, ...], done: Done) -> Iterator[Fact]:
        """What nobody knows of a target and what is still joined to it."""
        harness = self.network.harness
        for name in self._joined(nodes, done):
            element = harness.by_id.get(name)
            if isinstance(element, Device) and element.own_energy == "unknown" and name not in done.silent:
                yield Fact.of("own_energy_unknown", device=name)
            elif isinstance(element, Conductor):
                yield from (
                    Fact.of("not_traced", lead=name, end=end.end) for end in element.open_ends if end.loose is None
                )
            elif isinstance(element, Joint) and len(self.network.graph[name]) == 1:
                yield Fact.of("place_unknown", joint=name)
        for condition in self.deadness.base:
            if not self.deadness.certain(nodes, done, condition):
                yield Fact.of("not_solved", condition=condition)


def _owner(harness: Harness, node: str) -> str:
    """The element that a node is of."""
    if ":" in node:
        return harness.device_of(node)
    return node.partition("#")[0].partition("~")[0].partition("@")[0]


def _all(ways: tuple[Way, ...]) -> Done:
    return reduce(Done.and_, (way.done for way in ways), NOTHING)


def _distances(feeds: Iterable[_Feed]) -> Mapping[Way, int]:
    """How far from the target each step is: the further, the more it cuts off besides."""
    found: dict[Way, int] = {}
    for feed in feeds:
        for distance, way in enumerate(reversed(feed.ways)):
            found[way] = max(distance, found.get(way, 0))
    return found


def _order(way: Way) -> tuple[int, str, str]:
    return isolation_steps()[way.code].order, way.element or "", way.at or ""


def _elements(fed: Fed) -> tuple[str, ...]:
    return tuple(dict.fromkeys(branch.element for branch in fed.way))
