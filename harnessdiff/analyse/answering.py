"""Which modification answers for what is different: those on the way of the current, and behind the relays on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from harnessdiff.analyse.network.build import Branch, Guarded, Network
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.way import LEAST_A, Step, Ways, elements_of
from harnessdiff.graph import CONSUMING
from harnessdiff.model.edit import Attached, Changed, Detached, Removed
from harnessdiff.model.harness import Cut, is_added
from harnessdiff.model.modification import Install, Modification

DEEPEST = 6
"""Relays behind relays that are followed."""
SAME_SHARE = 0.2
"""Voltages that differ by less than this share of the system voltage are the same when a break is looked for."""
CARRIES_NOTHING = frozenset({"routing", "surroundings"})
"""Kinds of modification that no current has to do with."""
NEUTRAL = frozenset({"added_ground", "repair"})
"""Kinds that current may pass without their being why it flows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """Who answers for a difference.

    Parameters
    ----------
    modifications : tuple of int
        Their numbers, in the order of the way.
    because : tuple of str
        Devices whose changed state stands between, the nearest first.
    path : tuple of str
        The way of the current, by elements.
    """

    modifications: tuple[int, ...]
    because: tuple[str, ...] = ()
    path: tuple[str, ...] = ()


class Answering:
    """Finds who answers for what is different between two settled networks.

    Parameters
    ----------
    modifications : tuple of Modification
    installs : tuple of Install
    before, after : mapping of str to Settled
        The reference and what was found, by condition.
    blown : mapping, optional
        By condition and fuse, who answers for it that the fuse has opened.
    """

    def __init__(
        self,
        modifications: tuple[Modification, ...],
        installs: tuple[Install, ...],
        before: Mapping[str, Settled],
        after: Mapping[str, Settled],
        blown: Mapping[str, Mapping[str, tuple[int, ...]]] | None = None,
    ) -> None:
        self.modifications, self.installs = modifications, installs
        self.before, self.after = before, after
        self.blown = blown or {}
        self._ways: dict[tuple[bool, str], Ways] = {}

    def ways(self, condition: str, *, as_found: bool) -> Ways:
        """The ways of the current in a condition."""
        key = (as_found, condition)
        if key not in self._ways:
            self._ways[key] = Ways((self.after if as_found else self.before)[condition])
        return self._ways[key]

    @cached_property
    def owners(self) -> Mapping[str, tuple[int, ...]]:
        """Modifications by the added or changed elements that are theirs."""
        found: dict[str, list[int]] = {}

        def owns(number: int, element: str) -> None:
            if number not in found.setdefault(element, []):
                found[element].append(number)

        for number, one in enumerate(self.modifications):
            for element in (one.root, *one.joints, *one.added):
                if element.startswith("+"):
                    owns(number, element)
            for edit in one.edits:
                if isinstance(edit, Changed):
                    owns(number, edit.after.id)
                elif isinstance(edit, Removed):
                    owns(number, edit.element.id)
                elif isinstance(edit, Attached | Detached):
                    owns(number, edit.incidence.subject)
                    if edit.incidence.role == "seat":
                        owns(number, edit.incidence.target)
                elif isinstance(edit.element, Cut):
                    for element in one.elements:
                        owns(number, element)
        for install in self.installs:
            for thing in (*install.shared, *install.devices):
                for number in install.modifications:
                    owns(number, thing)
        return {element: tuple(numbers) for element, numbers in found.items()}

    def of_elements(self, elements: Iterable[str]) -> tuple[int, ...]:
        """Modifications that own some elements, those that own one alone before those that share it."""
        alone: list[int] = []
        shared: list[int] = []
        for element in elements:
            numbers = self._without(CARRIES_NOTHING, self.owners.get(element, ()))
            (alone if len(numbers) == 1 else shared).extend(numbers)
        found = self._without(CARRIES_NOTHING, tuple(dict.fromkeys(alone or shared)))
        if all(self.modifications[number].kind in NEUTRAL for number in found):
            return self._without(NEUTRAL, self._without(CARRIES_NOTHING, tuple(dict.fromkeys((*found, *shared)))))
        return found

    def _without(self, kinds: frozenset[str], numbers: tuple[int, ...]) -> tuple[int, ...]:
        """Modifications but those of some kinds, unless there are no others."""
        others = tuple(number for number in numbers if self.modifications[number].kind not in kinds)
        return others or numbers

    def on(self, elements: Iterable[str]) -> tuple[int, ...]:
        """Modifications on the way of a current: by what is added, else by what is changed; neutral ones come last."""
        path = tuple(elements)
        there = self.of_elements(filter(is_added, path)) or self.of_elements(path)
        return self._without(NEUTRAL, there)

    def draws(self, feed: tuple[Step, ...], back: tuple[Step, ...]) -> tuple[int, ...]:
        """Who answers for what an added thing draws: who feeds it; who grounds it only where nothing added does."""
        there = self.of_elements(filter(is_added, elements_of(feed)))
        return self._without(NEUTRAL, there) or self.of_elements(filter(is_added, elements_of(back)))

    def sides(self, branch: Branch, condition: str) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
        """The ways of a branch's current as found: from a source to where it enters, and from where it leaves."""
        ways = self.ways(condition, as_found=True)
        entry, exit_ = (branch.other, branch.one) if self._turned(branch, condition) else (branch.one, branch.other)
        return ways.feed(entry), ways.back(exit_)

    def _turned(self, branch: Branch, condition: str) -> bool:
        """Whether the current of a branch runs from its second node to its first; none runs through a probe."""
        settled = self.after[condition]
        return branch.number >= 0 and settled.current_A(branch) * settled.network.forward < -LEAST_A

    def through(self, branch: Branch, condition: str) -> tuple[int, ...]:
        """Who answers for the current through a branch as found: who is on its way, what it goes to first."""
        feed, back = self.sides(branch, condition)
        return self.on(elements_of(back)) or self.on(elements_of(feed))

    def live(self, branch: Branch, condition: str) -> Answer:
        """Who answers for it that something is fed that was not."""
        return self._live(branch, condition, 0)

    def _live(self, branch: Branch, condition: str, depth: int) -> Answer:
        feed, back = self.sides(branch, condition)
        way = (*feed, *back)
        path = elements_of(way)
        ways = self.ways(condition, as_found=True)
        itself = (ways.step(branch, branch.other),) if self._turned(branch, condition) else ()
        there = self._lifting(ways, (*feed, *itself, *back), condition) or (
            self.draws(feed, back) if is_added(branch.element) else self.on(path)
        )
        if there or depth > DEEPEST:
            return Answer(modifications=there, path=path)
        for step in way:
            for deeper in self._behind(step.branch, condition, as_found=True):
                answer = self._live(deeper, condition, depth + 1)
                if not answer.modifications:
                    answer = self._dead(deeper, condition, depth + 1)
                if answer.modifications:
                    because = (step.branch.element, *answer.because)
                    return Answer(modifications=answer.modifications, because=because, path=path)
        return Answer(modifications=(), path=path)

    def dead(self, branch: Branch, condition: str) -> Answer:
        """Who answers for it that something is fed no longer, or less than it was.

        Parameters
        ----------
        branch : Branch
            Of the reference.
        condition : str
        """
        return self._dead(branch, condition, 0)

    def _dead(self, branch: Branch, condition: str, depth: int) -> Answer:
        if branch.element not in self.before[condition].network.harness.by_id:
            return Answer(modifications=())
        ways = self.ways(condition, as_found=False)
        way = (*ways.feed(branch.one), *ways.back(branch.other))
        path = tuple(dict.fromkeys(step.branch.element for step in way))
        breaks = list(self._breaks(way, condition))
        for step in breaks:
            overloading = self.blown.get(condition, {}).get(step.branch.element)
            if overloading:
                return Answer(modifications=overloading, because=(step.branch.element,), path=path)
        answering = self._touching(breaks)
        if answering or depth > DEEPEST:
            return Answer(modifications=answering, path=path)
        for step in (*breaks, *way):
            for deeper in self._behind(step.branch, condition, as_found=False):
                answer = self._dead(deeper, condition, depth + 1)
                if not answer.modifications:
                    answer = self._live(self._as_found(deeper), condition, depth + 1)
                if answer.modifications:
                    because = (step.branch.element, *answer.because)
                    return Answer(modifications=answer.modifications, because=because, path=path)
        changed = self.of_elements([branch.element, *path])
        return Answer(modifications=changed or self._drained(self._as_found(branch), condition), path=path)

    def less(self, before: Branch, condition: str) -> Answer:
        """Who answers for it that something is fed, but with less than it had.

        What it now gets its current through comes before what it got it through by the reference.
        """
        now = self.live(self._as_found(before), condition)
        return now if now.modifications else self.dead(before, condition)

    def _drained(self, branch: Branch, condition: str) -> tuple[int, ...]:
        """Who answers for the current that leaves the way to a load before it comes there, to a short or elsewhere."""
        ways = self.ways(condition, as_found=True)
        feed = ways.feed(branch.one)
        passed = {step.branch.number for step in feed}
        for step in reversed(feed):
            aside = ways.back(step.to_node)
            if aside and aside[0].branch.number not in passed and aside[0].branch.number != branch.number:
                found = self.on(elements_of(aside))
                if found:
                    return found
        return ()

    def backwards(self, node: str, condition: str) -> Answer:
        """Who answers for current that comes to a node from where none should.

        Where it comes up through a load, from a ground that is lifted, the way from that ground back to the
        source counts: what is bad on it lifts the ground.
        """
        ways = self.ways(condition, as_found=True)
        way = ways.feed(node)
        path = tuple(dict.fromkeys(step.branch.element for step in way))
        return Answer(modifications=self._lifting(ways, way, condition) or self.on(path), path=path)

    def _lifting(self, ways: Ways, way: tuple[Step, ...], condition: str) -> tuple[int, ...]:
        """Modifications that lift the ground through which current comes up into a way, by a load of the maker's.

        Where it has no way to the metal left at all, those that changed the way it had.
        """
        lifted = [step.from_node for step in way if step.branch.kind in CONSUMING and not is_added(step.branch.element)]
        found: list[int] = []
        for ground in lifted:
            back = ways.to_metal(ground)
            if back:
                found += self._without(NEUTRAL, self.of_elements(filter(is_added, back)))
            elif ground in self.before[condition].network.index:
                found += self.of_elements(self.ways(condition, as_found=False).to_metal(ground))
        return tuple(dict.fromkeys(found))

    def _as_found(self, branch: Branch) -> Branch:
        """The branch of the as-found network that stands where one of the reference did; itself where none does."""
        network = next(iter(self.after.values())).network
        for other in network.branches_of(branch.element):
            if (other.one, other.other, other.kind) == (branch.one, branch.other, branch.kind):
                return other
        return branch

    def _breaks(self, way: tuple[Step, ...], condition: str) -> Iterator[Step]:
        """The steps of a way of the reference between whose ends the voltage now differs where it did not."""
        after = self.after[condition]
        near = SAME_SHARE * after.network.system_V
        for step in way:
            if step.branch.kind == "source" or step.from_V is None or step.to_V is None:
                continue
            now = [after.voltage_V(node) for node in (step.from_node, step.to_node)]
            gone = any(node not in after.network.index for node in (step.from_node, step.to_node))
            here, there = now
            torn = (here is None) != (there is None)
            if gone or torn or (here is not None and there is not None and abs(here - there) > near):
                yield step

    def _touching(self, steps: Iterable[Step]) -> tuple[int, ...]:
        """Modifications that changed the elements of some steps, or what their ends are at."""
        found: list[int] = []
        for step in steps:
            places = [step.branch.element, step.from_node, step.to_node]
            places += [node.rsplit(":", 1)[0] for node in (step.from_node, step.to_node)]
            found += self.of_elements(places)
        return tuple(dict.fromkeys(found))

    def _behind(self, branch: Branch, condition: str, *, as_found: bool) -> Iterator[Branch]:
        """The coils and inputs that decide over a contact which is not as it is in the other network."""
        network = (self.after if as_found else self.before)[condition].network
        for guarded in network.guards_of(branch.number):
            if self._differs(network, guarded, branch, condition, as_found=as_found):
                yield from _deciding(network, guarded)

    def _differs(self, network: Network, guarded: Guarded, branch: Branch, condition: str, *, as_found: bool) -> bool:
        other = (self.before if as_found else self.after)[condition]
        for twin in other.network.branches_of(branch.element):
            if (twin.one, twin.other, twin.kind) == (branch.one, branch.other, branch.kind):
                return not other.active[twin.number]
        return True


def _deciding(network: Network, guarded: Guarded) -> Iterator[Branch]:
    """Branches whose voltage decides over a guarded one: coils of its device, loads at its inputs."""
    if guarded.when.energised is not None:
        yield from (coil for coil in network.coils if coil.element == guarded.device)
    for each in guarded.when.inputs:
        node = f"{guarded.owner}:{each.terminal}"
        yield network.probe(node)
