"""Whether what stands before a conductor protects it: every piece, from every source, where it is live."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from harnessdiff.analyse.answering import Answering
from harnessdiff.analyse.fuses import Fuse, carries_A, opening_time_s
from harnessdiff.analyse.network.build import Branch, Network
from harnessdiff.analyse.network.faults import Faults, faults, settled_under
from harnessdiff.analyse.network.settle import Settled
from harnessdiff.analyse.protection import Protection, first_protection, verdict
from harnessdiff.analyse.supply import Guard, Supply
from harnessdiff.model.computed import Found
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Conductor, Device, Inline, is_added
from harnessdiff.model.modification import Value
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import limit

WORST_FIRST = {"not_protected": 0, "undecided": 1, "short_only": 2, "protected": 3}
HALF = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """A piece of a conductor against one protective device, or against none.

    Parameters
    ----------
    conductor : str
    piece : Branch
    guard : Guard or None
    protection : Protection
    near_A, far_A : float or None
        Greatest current of a short at the near end and least at the far end, through the device.
    condition : str
        In which the currents hold.
    flips : bool
        Whether such a short would make a relay let go.
    """

    conductor: str
    piece: Branch
    guard: Guard | None
    protection: Protection
    near_A: float | None
    far_A: float | None
    condition: str
    flips: bool


class Shorting:
    """Judges the protection of conductors as found, and of the maker's against what it was.

    Parameters
    ----------
    answering : Answering
    before, after : Supply
        What feeds what on the reference and as found.
    table : str
        Table of limits that counts.
    """

    def __init__(self, answering: Answering, before: Supply, after: Supply, table: str) -> None:
        self.table = table
        self.answering, self.before, self.after = answering, before, after
        self.settled = answering.after
        self.network: Network = next(iter(answering.after.values())).network

    def consequences(self) -> tuple[Found, ...]:
        """The protection of every added lead, and of the maker's wires that became worse, the worst named first."""
        leads: list[Found] = []
        wires: dict[tuple[tuple[int, ...], str], list[tuple[Judged, Conductor, tuple[Judged, ...]]]] = {}
        for conductor, judged in self._judged.items():
            element = self.after.harness.conductor(conductor)
            assert element is not None
            worst = min(judged, key=_badness)
            if is_added(conductor):
                leads.append(Found(consequence=self._told(element, worst, judged), modifications=self._answers(worst)))
            elif self._worse_than_before(element, worst):
                wires.setdefault((self._answers(worst), worst.protection.verdict), []).append((worst, element, judged))
        return (*leads, *self._of_wires(wires))

    def _of_wires(
        self, wires: Mapping[tuple[tuple[int, ...], str], list[tuple[Judged, Conductor, tuple[Judged, ...]]]]
    ) -> Iterator[Found]:
        """One consequence for the wires of the maker's that one change leaves protected alike."""
        for (modifications, _), alike in wires.items():
            worst, element, judged = min(alike, key=lambda one: (_badness(one[0]), one[1].id))
            told = self._told(element, worst, judged)
            also = tuple(sorted(one.id for _, one, _ in alike if one.id != element.id))
            if also:
                told = replace(told, params=tuple(sorted((*told.params, ("also", also)))))
            yield Found(consequence=told, modifications=modifications)

    @cached_property
    def _judged(self) -> Mapping[str, tuple[Judged, ...]]:
        """Every piece of every conductor in question, against all that protects it."""
        asked: dict[str, list[tuple[Conductor, Branch]]] = {}
        for conductor in self._in_question():
            for piece in self.network.branches_of(conductor.id):
                if piece.kind != "conductor":
                    continue
                for condition in self._conditions_of(piece):
                    asked.setdefault(condition, []).append((conductor, piece))
        found: dict[str, list[Judged]] = {}
        for condition, pieces in asked.items():
            settled = self.settled[condition]
            nodes = sorted({node for _, piece in pieces for node in (piece.one, piece.other)})
            least, greatest = faults(settled, nodes, least=True), faults(settled, nodes, least=False)
            for conductor, piece in pieces:
                found.setdefault(conductor.id, []).extend(self._of_piece(conductor, piece, settled, least, greatest))
        return {conductor: tuple(judged) for conductor, judged in found.items() if judged}

    def _in_question(self) -> Iterator[Conductor]:
        """Added leads, and wires of the maker's that are not as they were or not fed as they were."""
        for conductor in self.after.harness.conductors():
            was = self.before.harness.conductor(conductor.id)
            same = was == conductor and self._guards(self.before, was.id) == self._guards(self.after, conductor.id)
            if not same:
                yield conductor

    @staticmethod
    def _guards(supply: Supply, conductor: str) -> frozenset[object]:
        """What protects a conductor, anywhere along it, and whether some of it is not protected at all."""
        nodes = {node for pair in supply.conductor_segments(conductor) for node in pair}
        devices = [supply.harness.device(guard.element) for node in nodes for guard in supply.guards.get(node, ())]
        guards = {
            (guard.element, guard.rating_A, guard.body) for node in nodes for guard in supply.guards.get(node, ())
        }
        states = {(device.id, device.state) for device in devices if device is not None}
        return frozenset((*guards, *states, bool(nodes & supply.unguarded)))

    def _conditions_of(self, piece: Branch) -> tuple[str, ...]:
        """A condition in which a piece is live with the engine stopped, and one with it running."""
        chosen: dict[bool, str] = {}
        least = HALF * self.network.system_V
        for condition, settled in self.settled.items():
            volts = max(abs(settled.voltage_V(node) or 0.0) for node in (piece.one, piece.other))
            if volts >= least:
                chosen.setdefault(settled.condition.engine == "running", condition)
        return tuple(chosen.values())

    def _of_piece(
        self, conductor: Conductor, piece: Branch, settled: Settled, least: Faults, greatest: Faults
    ) -> Iterator[Judged]:
        ends = (piece.one, piece.other)
        bare = [node for node in ends if node in self.after.unguarded]
        guards = sorted(
            {guard for node in ends for guard in self.after.guards.get(node, ())}, key=lambda one: (one.name, one.sort)
        )
        condition = settled.condition.id
        flips = any(least.flips(settled, node) for node in ends)
        own = any(guard.element == conductor.id for guard in guards)
        unguarded = len(bare) == len(ends)
        if (unguarded or not own) and self._stub_is_short(conductor, piece, slots=unguarded):
            return
        if unguarded:
            near = max(float(greatest.current_A[greatest.place[node]]) for node in ends)
            far = min(float(least.current_A[least.place[node]]) for node in ends)
            yield Judged(
                conductor=conductor.id,
                piece=piece,
                guard=None,
                protection=self._judge(conductor, None, near, far),
                near_A=near,
                far_A=far,
                condition=condition,
                flips=flips,
            )
            return
        judged = []
        for guard in guards:
            through = self._branch_of(guard, least, ends)
            if through is None:
                continue
            near = max(greatest.through_A(through, node) for node in ends)
            far = min(least.through_A(through, node) for node in ends)
            judged.append(
                Judged(
                    conductor=conductor.id, piece=piece, guard=guard,
                    protection=self._by(guard, through, conductor, near, far),
                    near_A=near, far_A=far, condition=condition, flips=flips,
                )
            )  # fmt: skip
        yield from _together(judged)

    def _by(self, guard: Guard, through: Branch, conductor: Conductor, near_A: float, far_A: float) -> Protection:
        """Protection by a device; an output or source that limits itself is held against the limit alone."""
        judged = self._judge(conductor, self._fuse_of(guard, through), near_A, far_A)
        if guard.sort in ("fuse", "inline") or judged.overload.code != "holds":
            return judged
        limits_itself = replace(judged.near, code="holds", why="limits_itself")
        return replace(judged, verdict="protected", near=limits_itself, far=limits_itself, would_decide=())

    def _judge(self, conductor: Conductor, fuse: Fuse | None, near_A: float | None, far_A: float | None) -> Protection:
        return verdict(conductor, fuse, greatest_current_A=near_A, least_current_A=far_A, table=self.table)

    def _stub_is_short(self, conductor: Conductor, piece: Branch, *, slots: bool) -> bool:
        """Whether a piece ends at the conductor's own fuse, or at one in a slot, near enough to where it is fed.

        Parameters
        ----------
        conductor : Conductor
        piece : Branch
        slots : bool
            Whether a fuse in a slot counts as well as one in the conductor.
        """
        inline = [
            one
            for one in self.network.branches_of(conductor.id)
            if isinstance(one.part, Inline) and one.kind == "fuse" and {one.one, one.other} & {piece.one, piece.other}
        ]
        seats = [
            device
            for node in (piece.one, piece.other)
            if (device := self.after.harness.device(self.after.harness.device_of(node))) is not None
            and device.kind in ("fuse_slot", "circuit_breaker", "fusible_link")
        ]
        if not inline and not (slots and seats):
            return False
        share = self._share(conductor, piece)
        length = conductor.length_m
        distance = Quantity(
            low=None if length.low is None else length.low * share,
            high=None if length.high is None else length.high * share,
        )
        return first_protection(distance, sheathed=None) == "holds"

    def _share(self, conductor: Conductor, piece: Branch) -> float:
        edges = self.network.graph.get_edge_data(piece.one, piece.other) or {}
        return next((edge["share"] for edge in edges.values() if edge["element"] == conductor.id), 1.0)

    def _branch_of(self, guard: Guard, least: Faults, ends: tuple[str, str]) -> Branch | None:
        """The branch of a protective device through which most of the current of the short comes."""
        kind = "output" if guard.sort == "output" else "source" if guard.sort == "source" else "fuse"
        branches = [one for one in self.network.branches_of(guard.element) if one.kind == kind]
        return max(
            branches, key=lambda one: (max(least.through_A(one, node) for node in ends), -one.number), default=None
        )

    def _fuse_of(self, guard: Guard, branch: Branch) -> Fuse:
        """The protective device as a fuse; an output that limits itself is taken for one of its limit."""
        if isinstance(branch.part, Inline):
            kind = "circuit_breaker" if branch.part.kind == "circuit_breaker" else "fuse"
            return Fuse(body=branch.part.body, rating_A=branch.part.rating_A, kind=kind, state=branch.part.state)
        device = self.after.harness.device(guard.element)
        if guard.sort != "fuse" or not isinstance(device, Device):
            return Fuse(rating_A=guard.rating_A, convention="continuous", kind="circuit_breaker")
        return Fuse(
            body=device.body,
            rating_A=device.rating_A,
            convention=device.rating_convention,
            kind=device.kind if device.kind in ("circuit_breaker", "fusible_link") else "fuse",
            state=device.state,
        )

    def _worse_than_before(self, conductor: Conductor, worst: Judged) -> bool:
        """Whether a wire of the maker's was protected better on the reference by what protected it there."""
        was = self.before.harness.conductor(conductor.id)
        assert was is not None
        nodes = {node for pair in self.before.conductor_segments(conductor.id) for node in pair}
        if nodes & self.before.unguarded:
            return False
        guards = {guard for node in nodes for guard in self.before.guards.get(node, ())}
        verdicts = []
        for guard in guards:
            device = self.before.harness.device(guard.element)
            if guard.sort == "fuse" and device is not None:
                fuse = Fuse(
                    body=device.body, rating_A=device.rating_A, convention=device.rating_convention, kind=device.kind
                    if device.kind in ("circuit_breaker", "fusible_link") else "fuse",
                )  # fmt: skip
                verdicts.append(self._judge(was, fuse, worst.near_A, worst.far_A).verdict)
        best = min((WORST_FIRST[one] for one in verdicts), default=WORST_FIRST["protected"])
        return WORST_FIRST[worst.protection.verdict] < best

    def _answers(self, judged: Judged) -> tuple[int, ...]:
        """The modifications that answer for the protection of a conductor."""
        own = self.answering.on([judged.conductor])
        if own and any(self.answering.modifications[one].kind != "added_ground" for one in own):
            return own
        if judged.guard is not None:
            changed = self.answering.of_elements([judged.guard.element])
            if changed:
                return changed
        ways = self.answering.ways(judged.condition, as_found=True)
        path = [step.branch.element for node in (judged.piece.one, judged.piece.other) for step in ways.feed(node)]
        return self.answering.on(path) or own

    def _told(self, conductor: Conductor, worst: Judged, judged: Iterable[Judged]) -> Consequence:
        protection = worst.protection
        conditions = tuple(
            dict.fromkeys(one.condition for one in judged if one.protection.verdict == protection.verdict)
        )
        params: dict[str, Value] = {
            "verdict": protection.verdict,
            "near": protection.near.why, "far": protection.far.why, "overload": protection.overload.why,
            "near_A": _rounded(worst.near_A), "far_A": _rounded(worst.far_A),
            "table": protection.table, "column": protection.column or None,
            "other_table_turns": protection.other_table_turns or None,
            "would_decide": protection.would_decide or None,
            "then_A": self._after_release(worst) if worst.flips else None,
            "let_through_A2s": _rounded(protection.near.get("let_through_A2s")),
            "withstand_A2s": _rounded(protection.near.get("withstand_A2s")),
            "limit_A": _rounded(protection.overload.get("limit_A")),
            "together_A": _rounded(protection.overload.get("together_A")),
        }  # fmt: skip
        if worst.guard is not None:
            branch = self._guard_branch(worst.guard)
            fuse = self._fuse_of(worst.guard, branch)
            params |= {"fuse": worst.guard.name, "sort": worst.guard.sort, "rating_A": worst.guard.rating_A.high}
            params["carries_ten_minutes_A"] = _finite(carries_A(fuse, TEN_MINUTES_S).high)
            if worst.far_A is not None:
                low, high = opening_time_s(fuse, worst.far_A)
                params |= {"opens_least_s": _finite(low), "opens_most_s": _finite(high)}
        return Consequence(
            code="protection",
            subject=conductor.id,
            conditions=conditions,
            after=_current(worst),
            unit="A",
            params=tuple(sorted((name, value) for name, value in params.items() if value is not None)),
            sources=tuple(dict.fromkeys(f"{what}: {where}" for what, where in protection.provenance)),
        )

    def _after_release(self, worst: Judged) -> float | None:
        """Current into the short once the relays that it makes let go have done so. [A]"""
        settled, short = settled_under(self.settled[worst.condition], worst.piece.other)
        return _rounded(abs(settled.current_A(short)))

    def _guard_branch(self, guard: Guard) -> Branch:
        kind = "output" if guard.sort == "output" else "source" if guard.sort == "source" else "fuse"
        return next(one for one in self.network.branches_of(guard.element) if one.kind == kind)


TEN_MINUTES_S = 600.0


def _together(judged: list[Judged]) -> Iterator[Judged]:
    """Judged pieces, with what several fuses that feed one at once carry between them against its limit."""
    whole = sum(one.near_A or 0.0 for one in judged)
    feeding = [one for one in judged if (one.near_A or 0.0) > limit("feeds_share") * whole and one.guard is not None]
    carried = sum(one.guard.rating_A.high or 0.0 for one in feeding if one.guard is not None)
    for one in judged:
        allowed = one.protection.overload.get("greatest_fuse_A")
        over = len(feeding) > 1 and one in feeding and allowed is not None and carried > allowed
        if not over or one.protection.overload.code != "holds":
            yield one
            continue
        overload = replace(
            one.protection.overload,
            code="fails",
            why="together",
            numbers=(*one.protection.overload.numbers, ("together_A", carried)),
        )
        verdict = "short_only" if one.protection.verdict == "protected" else one.protection.verdict
        yield replace(one, protection=replace(one.protection, overload=overload, verdict=verdict))


def _badness(judged: Judged) -> tuple[int, float, float]:
    """Sort key: the worst verdict first, then the smallest limit, then the greatest current."""
    limit_A = judged.protection.overload.get("limit_A")
    return (WORST_FIRST[judged.protection.verdict], limit_A or 0.0, -(judged.near_A or 0.0))


def _current(judged: Judged) -> Range | None:
    """From the least current of a short at the far end to the greatest at the near end."""
    if judged.near_A is None or judged.far_A is None:
        return None
    low, high = sorted((judged.far_A, judged.near_A))
    return Range(low=low, nominal=(low + high) / 2, high=high, guaranteed=False)


def _rounded(value: float | None) -> float | None:
    return None if value is None else _finite(float(f"{value:.4g}"))


def _finite(value: float) -> float | None:
    return None if value in (float("inf"), float("-inf")) else float(f"{value:.4g}")
