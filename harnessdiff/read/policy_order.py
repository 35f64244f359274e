"""Whether what is worse never counts for less in a policy, whichever of its lines stand in the file."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import pairwise

from harnessdiff.model.policy import Factor, FunctionLine, JointLine
from harnessdiff.model.policy_lines import Line, Lines
from harnessdiff.model.rating import ACTIONS, LEVELS, PROBABILITIES, SEVERITIES
from harnessdiff.tables.loader import joint_order

Faults = Iterator[tuple[str, str]]
FINE = ("any_place", "dry_place", "no_place")
"""Where a make of joint is fine, the most lenient first."""
STANDS_ASIDE = "fuse_slot_adaptor"
"""Type of joint that the order places by what it does to a slot, not to a wire; what is worse there says nothing."""
GRAVER: Mapping[str, tuple[str, ...]] = {
    "treatment": ("capped", "sleeved", "taped", "bare"),
    "extent": ("slight", "heavy", "through"),
    "often": ("by_mistake", "at_times", "each_drive", "parked"),
    "how": ("faintly", "fully"),
}
"""Parameters whose values stand in an order, the mildest first."""
SHARE_TOLERANCE = 1e-9


def out_of_order(whole: Lines, own: Lines) -> Faults:
    """What counts for less though it is worse, and shares that come to more than all.

    Parameters
    ----------
    whole : Lines
        That hold.
    own : Lines
        Those of the file; a fault is told of one of them.

    Yields
    ------
    tuple of str
        Pointer and message.
    """
    for law in (_joints, _cuts, _steps, _values, _actions, _priors, _ids):
        yield from law(whole, own)


def _place(own: tuple[Line, ...], line: Line) -> int | None:
    """The place of a line in the file; None where it is of the policy below."""
    return next((number for number, one in enumerate(own) if one is line), None)


def _worse(own: tuple[Line, ...], name: str, pairs: Iterable[tuple[Line, Line, str, str]], member: str = "") -> Faults:
    """Faults where the worse of two lines counts for less: one for each line of the file that is at fault.

    Of every pair the line of the file is told, of two of the file the worse.
    """
    told: set[int] = set()
    for better, worse, if_worse, if_better in pairs:
        for line, message in ((worse, if_worse), (better, if_better)):
            place = _place(own, line)
            if place is None:
                continue
            if place not in told:
                told.add(place)
                yield f"/{name}/{place}{member}", message
            break


def _joints(whole: Lines, own: Lines) -> Faults:
    """Burdens must not fall down the order of joints."""
    lines = {one.joint: one for one in whole.joints}
    ranked = [row for row in joint_order() if row.joint in lines and row.type != STANDS_ASIDE]

    def falling(counts: Callable[[JointLine], float], what: tuple[str, str]) -> Iterator[tuple[Line, Line, str, str]]:
        for place, one in enumerate(ranked):
            for other in ranked[place + 1 :]:
                better, worse = lines[one.joint], lines[other.joint]
                if one.rank < other.rank and counts(worse) < counts(better):
                    yield (
                        better, worse,
                        f"{other.joint} stands below {one.joint} in the order of joints and must not {what[0]} it",
                        f"{one.joint} stands above {other.joint} in the order of joints and must not {what[1]} it",
                    )  # fmt: skip

    heavier = "weigh less than", "weigh more than"
    finer = "be fine in more places than", "be fine in fewer places than"
    yield from _worse(own.joints, "joints", falling(lambda one: one.weight, heavier), "/weight")
    yield from _worse(own.joints, "joints", falling(lambda one: FINE.index(one.fine_in), finer), "/fine_in")


def _cuts(whole: Lines, own: Lines) -> Faults:
    cuts = {one.probability: one for one in whole.cuts}
    rising = [cuts[letter] for letter in PROBABILITIES if letter in cuts]
    pairs = (
        (
            less, more,
            f"the cut point of {more.probability} must lie above that of {less.probability}, {less.index:g}",
            f"the cut point of {less.probability} must lie below that of {more.probability}, {more.index:g}",
        )
        for less, more in pairwise(rising)
        if more.index <= less.index
    )  # fmt: skip
    yield from _worse(own.cuts, "cuts", pairs, "/index")


def _actions(whole: Lines, own: Lines) -> Faults:
    lines = {one.level: one for one in whole.actions}
    rising = [lines[level] for level in LEVELS if level in lines]
    acted, accepted = [], []
    for less, more in pairwise(rising):
        if ACTIONS.index(more.action) < ACTIONS.index(less.action):
            acted.append((
                less, more,
                f"what is done about {more.level} must not be less than about {less.level} ({less.action})",
                f"what is done about {less.level} must not be more than about {more.level} ({more.action})",
            ))  # fmt: skip
        if more.satisfactory and not less.satisfactory:
            accepted.append((
                less, more,
                f"a vehicle cannot be satisfactory with {more.level} and not with {less.level}",
                f"a vehicle cannot be satisfactory with {more.level} and not with {less.level}",
            ))  # fmt: skip
    yield from _worse(own.actions, "actions", acted, "/action")
    yield from _worse(own.actions, "actions", accepted, "/satisfactory")


def _steps(whole: Lines, own: Lines) -> Faults:
    """A greater amount must weigh no less, and bring about nothing less severe."""
    steps: dict[tuple[object, ...], list[Factor]] = {}
    for one in whole.factors:
        if one.at_least is not None:
            steps.setdefault((one.code, one.when, one.mechanism, one.opens), []).append(one)
    bounds = _severities(whole.functions)
    lighter, milder = [], []
    for several in steps.values():
        several.sort(key=lambda one: one.at_least or 0.0)
        for less, more in pairwise(several):
            up, down = f"from {more.at_least:g} on", f"from {less.at_least:g} on"
            if more.weight < less.weight:
                lighter.append((
                    less, more,
                    f"{more.code} must not weigh less {up} than {down} ({less.weight:g})",
                    f"{more.code} must not weigh more {down} than {up} ({more.weight:g})",
                ))  # fmt: skip
            if _falls(bounds, less, more):
                milder.append((
                    less, more,
                    f"{more.code} must not be less severe {up} than {down} ({less.severity})",
                    f"{more.code} must not be more severe {down} than {up} ({more.severity})",
                ))  # fmt: skip
    yield from _worse(own.factors, "factors", lighter, "/weight")
    yield from _worse(own.factors, "factors", milder, "/severity")


def _falls(bounds: Callable[[str | None], tuple[int, int]], less: Factor, more: Factor) -> bool:
    """Whether a line may bring about something less severe than another; in part is never more than in whole."""
    alike = less.severity in (more.severity, f"{more.severity}_in_part")
    return not alike and bounds(more.severity)[0] < bounds(less.severity)[1]


def _values(whole: Lines, own: Lines) -> Faults:
    """A graver value of a parameter must weigh no less, and bring about nothing less severe."""
    alike: dict[tuple[str, tuple[object, ...]], dict[str, Factor]] = {}
    for one in whole.factors:
        for name, value in one.when:
            if value in GRAVER.get(name, ()):
                others = tuple(pair for pair in one.when if pair[0] != name)
                key = (name, (one.code, others, one.at_least, one.mechanism, one.opens))
                alike.setdefault(key, {})[value] = one
    bounds = _severities(whole.functions)
    lighter, milder = [], []
    for (name, _), lines in alike.items():
        values = GRAVER[name]
        for low, high in pairwise(values[min(map(values.index, lines)) :]):
            less, more = lines.get(low), lines.get(high)
            if less is None:
                continue
            up, down = f"with {name} {high}", f"with {name} {low}"
            if more is None or more.weight < less.weight:
                weighs = 0.0 if more is None else more.weight
                if more is not None or less.opens or less.weight:
                    lighter.append((
                        less, more or less,
                        f"{less.code} must not weigh less {up} than {down} ({less.weight:g})",
                        f"{less.code} must not weigh more {down} than {up} ({weighs:g})",
                    ))  # fmt: skip
            elif _falls(bounds, less, more):
                milder.append((
                    less, more,
                    f"{less.code} must not be less severe {up} than {down} ({less.severity})",
                    f"{less.code} must not be more severe {down} than {up} ({more.severity})",
                ))  # fmt: skip
    yield from _worse(own.factors, "factors", lighter, "/weight")
    yield from _worse(own.factors, "factors", milder, "/severity")


def _severities(lines: Iterable[FunctionLine]) -> Callable[[str | None], tuple[int, int]]:
    """Between what categories a severity lies, whatever the functions and the protection; in part before whole."""
    known = list(lines)
    by_function: Mapping[str, list[int]] = {
        "lost": [SEVERITIES.index(one.lost) for one in known] or [0],
        "acts": [SEVERITIES.index(one.acts) for one in known] or [0],
    }

    def bounds(spec: str | None) -> tuple[int, int]:
        if spec in SEVERITIES:
            return SEVERITIES.index(spec), SEVERITIES.index(spec)
        if spec in ("lead", "heat"):
            return SEVERITIES.index("III"), SEVERITIES.index("II")
        name, _, part = (spec or "").partition("_")
        found = by_function.get(name, [0])
        return max(0, min(found) - bool(part)), max(0, max(found) - bool(part))

    return bounds


def _priors(whole: Lines, own: Lines) -> Faults:
    shares: dict[str, float] = {}
    for one in whole.priors:
        shares[one.question] = shares.get(one.question, 0.0) + one.share
    last = {one.question: number for number, one in enumerate(own.priors)}
    for question, number in last.items():
        if shares[question] > 1.0 + SHARE_TOLERANCE:
            yield (
                f"/priors/{number}/share",
                f"the shares of answers to {question} come to {shares[question]:g}, more than 1",
            )


def _ids(whole: Lines, own: Lines) -> Faults:
    """What a finding calls what moved its level must name one line only."""
    first: dict[str, str] = {}
    for name in ("floors", "caps", "forbidden"):
        for line in getattr(whole, name):
            other = first.setdefault(line.id, name)
            if other == name:
                continue
            for where, one in ((at, one) for at in (name, other) for one in getattr(own, at)):
                if one.id == line.id:
                    yield (
                        f"/{where}/{_place(getattr(own, where), one)}",
                        f"{line.id} is the id of a line in {other} and in {name}",
                    )
                    break
