"""Which modification answers for what is different: those on the way of the current, and behind the relays on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from harnessdiff.analyse.network.build import Branch, Guarded, Network
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.network.way import Step, Ways
from harnessdiff.graph import CONSUMING
from harnessdiff.model.edit import Attached, Changed, Detached, Removed
from harnessdiff.model.harness import Cut, is_added
from harnessdiff.model.modification import Install, Modification

DEEPEST = 6
"""Relays behind relays that are followed."""
SAME_SHARE = 0.2
"""Voltages that differ by less than this share of the system voltage are the same when a break is looked for."""


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
    """

    def __init__(
        self,
        modifications: tuple[Modification, ...],
        installs: tuple[Install, ...],
        before: Mapping[str, Settled],
        after: Mapping[str, Settled],
    ) -> None:
        self.modifications, self.installs = modifications, installs
        self.before, self.after = before, after
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
            numbers = self.owners.get(element, ())
            (alone if len(numbers) == 1 else shared).extend(numbers)
        return tuple(dict.fromkeys(alone or shared))

    def live(self, branch: Branch, condition: str) -> Answer:
        """Who answers for it that something is fed that was not."""
        return self._live(branch, condition, 0)

    def _live(self, branch: Branch, condition: str, depth: int) -> Answer:
        ways = self.ways(condition, as_found=True)
        way = (*ways.feed(branch.one), *ways.back(branch.other))
        path = tuple(dict.fromkeys(step.branch.element for step in way))
        there = self._lifting(ways, way) or self.of_elements(filter(is_added, path)) or self.of_elements(path)
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
        return Answer(modifications=self.of_elements([branch.element, *path]), path=path)

    def backwards(self, node: str, condition: str) -> Answer:
        """Who answers for current that comes to a node from where none should.

        Where it comes up through a load, from a ground that is lifted, the way from that ground back to the
        source counts: what is bad on it lifts the ground.
        """
        ways = self.ways(condition, as_found=True)
        way = ways.feed(node)
        path = tuple(dict.fromkeys(step.branch.element for step in way))
        there = self._lifting(ways, way) or self.of_elements(filter(is_added, path)) or self.of_elements(path)
        return Answer(modifications=there, path=path)

    def _lifting(self, ways: Ways, way: tuple[Step, ...]) -> tuple[int, ...]:
        """Modifications that lift the ground through which current comes up into a way, by a load of the maker's."""
        lifted = [step.from_node for step in way if step.branch.kind in CONSUMING and not is_added(step.branch.element)]
        back = [element for ground in lifted for element in ways.to_metal(ground)]
        return self.of_elements(filter(is_added, back))

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
