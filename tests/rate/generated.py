"""Random policies that the sense check accepts, and random things that are established."""

from __future__ import annotations

import json
import random
from dataclasses import dataclass, fields
from functools import cache
from typing import Any

from hypothesis import strategies as st

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Harness, Joint, JointDetails, Zone
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.policy import Policy
from harnessdiff.model.range import Range
from harnessdiff.model.rating import LEVELS, MECHANISMS, SEVERITIES, Mechanism, Sign, level_rank
from harnessdiff.model.reference import Condition
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.read.policy import default_policy, policy_of
from harnessdiff.read.policy_order import GRAVER
from harnessdiff.resources import shipped_policies
from harnessdiff.tables.loader import functions, joint_order
from tests.strategies import COVERS, STATES, TOOLS, TYPES
from tests.support import Json, document

POLICIES = range(24)
PLACES = ("hot", "moving", "vibrating", "concealed")
HARSHER = ("wet", "leaking", *PLACES)
FUNCTIONS = tuple(functions())


# -- policies


@cache
def default_document() -> Json:
    """The shipped policy as it is written."""
    written: Json = json.loads(shipped_policies()["default"].read_text(encoding="utf-8"))
    return written


@dataclass(frozen=True, kw_only=True)
class Random(Policy):
    """A policy that tells itself by its seed: there is too much in it to print where a law fails."""

    def _repr_pretty_(self, printer: Any, _: bool) -> None:
        printer.text(self.title)


@cache
def random_policy(seed: int, *, forbids: bool = False) -> Policy:
    """A policy with the lines of the shipped one, every weight, severity, level and cut point at random.

    What must not weigh less is put in its order, so that the sense check has nothing against it.
    """
    rng = random.Random(f"{seed}{forbids}")
    written = json.loads(json.dumps(default_document()))
    written |= {"id": f"random{seed}", "title": f"random_policy({seed}, forbids={forbids})"}
    stepped = [one for one in written["factors"] if "at_least" in one and not one["opens"]]
    written["factors"] += [one | {"at_least": one["at_least"] + more} for one in stepped for more in (1.0, 2.0)]
    for group in _groups(written["factors"]):
        weights = sorted(round(rng.uniform(0, 9), rng.randrange(3)) for _ in group)
        severities = _rising(rng, len(group))
        for line, weight, severity in zip(group, weights, severities, strict=True):
            line["weight"] = weight
            if line["opens"]:
                line["severity"] = severity
    ranks = {row.joint: row.rank for row in joint_order()}
    by_rank = sorted(written["joints"], key=lambda one: ranks[one["joint"]])
    weights = sorted(round(rng.uniform(0, 8), 1) for _ in by_rank)
    fine = sorted(rng.choices(("any_place", "dry_place", "no_place"), k=len(by_rank)))
    for line, weight, where in zip(by_rank, weights, fine, strict=True):
        line |= {"weight": weight, "fine_in": where}
    for line in written["functions"]:
        line |= {name: rng.choice(SEVERITIES) for name in ("lost", "acts")}
        line["never_by_itself"] = rng.random() < 0.3
    for line, index in zip(written["cuts"], sorted(rng.sample(range(1, 40), 4)), strict=True):
        line["index"] = index / 4
    codes = sorted({line["code"] for line in written["factors"]})
    because = {"why": "at random", "source": "common practice", "status": "common practice"}
    for number in range(6):
        mechanisms = rng.sample(MECHANISMS, 4)
        all_of, any_of = ["|".join(rng.sample(codes, 6)) for _ in range(2)], rng.sample(codes, rng.choice((0, 20)))
        written["floors"].append(
            {"id": f"floor{number}", "mechanisms": mechanisms, "all_of": all_of, "any_of": any_of, **because}
        )
    for line in (*written["floors"], *written["caps"]):
        line["level"] = rng.choice(LEVELS)
    openers = sorted({line["code"] for line in written["factors"] if line["opens"]})
    for line in written["caps"]:
        line["opened_by"] = ["joint", *rng.sample(openers, 8)]
    written["forbidden"] = []
    if forbids:
        for make in rng.sample(sorted(ranks), 6):
            concerned = {"functions": rng.sample(FUNCTIONS, 30)} if rng.random() < 0.5 else {}
            written["forbidden"].append({"joint": make, "level": rng.choice(LEVELS), **concerned, **because})
    policy = policy_of(document(written))
    return Random(**{one.name: getattr(policy, one.name) for one in fields(policy)})


def _groups(factors: list[Json]) -> list[list[Json]]:
    """Lines of which each must not weigh less than the one before; most stand alone."""
    found: dict[str, list[Json]] = {}
    for line in factors:
        held = {name: value for name, value in line.get("when", {}).items() if value not in GRAVER.get(name, ())}
        key = str((line["code"], sorted(held.items()), line["mechanism"], line["opens"], "at_least" in line))
        found.setdefault(key, []).append(line)
    for group in found.values():
        group.sort(key=lambda line: (line.get("at_least", 0.0), *_place(line)))
    return list(found.values())


def _place(line: Json) -> list[int]:
    return [GRAVER[name].index(value) for name, value in sorted(line.get("when", {}).items()) if name in GRAVER]


def _rising(rng: random.Random, count: int) -> list[str]:
    """As many severities, none less grave than the one before whatever is concerned."""
    kind = rng.choice(("category", "lost", "acts", "lead"))
    if kind == "category":
        return sorted(rng.choices(SEVERITIES, k=count), key=SEVERITIES.index)
    if kind == "lead":
        return sorted(rng.choices(("III", "lead", "II"), k=count), key=("III", "lead", "II").index)
    order = ("IV", f"{kind}_in_part", kind, "I")
    return sorted(rng.choices(order, k=count), key=order.index)


policies = st.tuples(st.sampled_from(POLICIES), st.booleans()).map(lambda one: random_policy(one[0], forbids=one[1]))


# -- things established

VOCABULARY = sorted({(line.code, line.when) for line in default_policy().factors})
AMOUNTS = sorted({line.at_least for line in default_policy().factors if line.at_least is not None})
amounts = st.sampled_from(AMOUNTS) | st.floats(0, 40, allow_nan=False)
AT_JOINT = ("joint_", "aged")
MAKES = [row.joint for row in joint_order()]
some_functions = st.lists(st.sampled_from(FUNCTIONS), max_size=3, unique=True).map(tuple)


@st.composite
def _sign(draw: st.DrawFn) -> Sign:
    code, when = draw(st.sampled_from(VOCABULARY))
    about = draw(st.sampled_from(["+J1", "+J2"])) if code.startswith(AT_JOINT) else None
    return Sign(
        code=code,
        params=when,
        about=about,
        amount=draw(st.none() | amounts),
        functions=draw(st.none() | some_functions),
    )


def joint_sign(joint: str, make: str) -> Sign:
    """That a joint is of a make, and brings what the maker's own would not."""
    return Sign(code="joint", params=(("joint", joint), ("make", make)), about=joint)


signs = _sign() | st.builds(joint_sign, st.sampled_from(["+J1", "+J2"]), st.sampled_from(MAKES))
signs_together = st.lists(signs, max_size=7, unique=True).map(tuple)


def levels(mechanisms: tuple[Mechanism, ...]) -> dict[str, int]:
    """The rank of the level of every mechanism."""
    return {one.code: level_rank(one.level) for one in mechanisms}


def lower(worse: tuple[Mechanism, ...], better: tuple[Mechanism, ...]) -> list[str]:
    """Mechanisms whose level is lower in the first, which should be as bad; or whose index is, at one severity."""
    now = {one.code: one for one in worse}
    fallen = []
    for one in better:
        other = now.get(one.code)
        if other is None or level_rank(other.level) < level_rank(one.level):
            fallen.append(one.code)
    return fallen


# -- modifications and circumstances

LEAD = "+L1"
FACTS: tuple[tuple[str, dict[str, list[Any]]], ...] = (
    ("over_fused", {"lead": [LEAD], "rating_A": [10.0, 20.0], "limit_A": [5.0, 0.0], "least_limit_A": [3.0, 5.0, 0.0]}),
    ("over_fused", {"lead": ["+L2"], "rating_A": [10.0], "most_A": [30.0], "limit_A": [9.0], "least_limit_A": [9.0]}),
    ("over_fused_perhaps", {"lead": [LEAD], "unknown": ["rating", "way", "size"], "greatest_A": [10.0, 30.0],
                            "least_limit_A": [3.0, 7.5], "fuse": ["F1"]}),
    ("unprotected", {"lead": [LEAD]}),
    ("unprotected_perhaps", {"lead": [LEAD, "+L2"]}),
    ("rating_perhaps", {"fuse": ["F1"]}),
    ("ground_contact_unseen", {"fixing": ["self_tapping"]}),
    ("shared_ground", {"adverse": ["yes", "no", "maybe"]}),
    ("place_unknown", {}),
    ("substituted", {"label": ["unknown", "known"]}),
    ("not_traced", {"lead": [LEAD, "+L2"], "end": [1, 2]}),
    ("loose_end", {"lead": [LEAD], "end": [2], "treatment": ["unknown", "bare", "taped", "capped", "sleeved"]}),
    ("loose_end_live", {"lead": [LEAD]}),
    ("cut_end_live", {"treatment": ["unknown", "bare", "taped", "capped"]}),
    ("through_device", {"device": ["+d1"]}),
    ("wire_cut", {}),
    ("wet_place", {"zone": ["Z"]}),
    ("no_grommet", {"lead": [LEAD], "what": ["bulkhead"], "kind": ["passes_through"]}),
    ("at_source", {"device": ["BAT"]}),
    ("bypasses", {"sort": ["fuse", "relay", "switch", "interlock"]}),
    ("joins_circuits", {}),
    ("damage", {"sort": ["chafed", "melted", "corroded"], "extent": ["slight", "heavy", "through"]}),
    ("out_of_range", {"joint": ["+J1", "+J2"]}),
    ("size", {"was": [1.0], "now": [0.5]}),
    ("size_perhaps", {"lead": [LEAD], "was": [1.0], "now": [0.5]}),
    ("insert_thinner_perhaps", {"lead": [LEAD, "+L2"], "was": [1.0], "now": [0.5]}),
)  # fmt: skip


@st.composite
def _facts(draw: st.DrawFn) -> Fact:
    code, says = draw(st.sampled_from(FACTS))
    return Fact.of(code, **{name: draw(st.sampled_from(values)) for name, values in says.items()})


facts_together = st.lists(_facts(), max_size=5, unique=True).map(tuple)
details = st.builds(
    JointDetails,
    type=st.sampled_from(TYPES),
    tool=st.sampled_from(TOOLS),
    cover=st.sampled_from(COVERS),
    condition=st.lists(st.sampled_from(STATES), max_size=2, unique=True).map(tuple),
)
flags = st.sets(st.sampled_from(HARSHER), max_size=3)


def zone(name: str, with_flags: set[str], *near: str) -> Zone:
    """A place that is so."""
    return Zone(id=name, name=name.lower(), near=near, **dict.fromkeys(sorted(with_flags), True))


CONDITIONS = {
    "asleep": Condition(id="asleep", name="asleep", key="out", engine="stopped"),
    "driving": Condition(id="driving", name="driving", key="on", engine="running"),
    "cranking": Condition(id="cranking", name="cranking", key="start", engine="stopped", duration_s=3.0),
    "indicating": Condition(id="indicating", name="indicating", key="on", engine="running", duration_s=20.0),
}


def _range(low: float, high: float) -> Range:
    low, high = min(low, high), max(low, high)
    return Range(low=low, nominal=(low + high) / 2, high=high, guaranteed=False)


ranges = st.builds(_range, st.sampled_from([0.0, 0.03, 1.0, 5.0, 9.0]), st.sampled_from([0.08, 1.0, 7.0, 12.0, 30.0]))
EFFECTS = ("joint_heat", "drain", "over_limit", "dimmed", "under_voltage", "live_unasked", "dead", "dies_with",
           "protection", "fuse_current", "backfeed", "device_heat", "draws")  # fmt: skip


@st.composite
def _consequence(draw: st.DrawFn) -> Consequence:
    code = draw(st.sampled_from(EFFECTS))
    asked: dict[str, dict[str, list[Any]]] = {
        "over_limit": {"limit_A": [6.0], "sort": ["contact", "output"]},
        "live_unasked": {"state": ["full", "glows", "dim"]},
        "dies_with": {"loads": [("E1",), ("E1", "E2")]},
        "drain": {"sort": ["load", "battery"]},
        "fuse_current": {"over": ["yes", None]},
        "protection": {"verdict": ["not_protected", "short_only", "protected"], "near": ["no_protection", "too_slow"]},
    }
    says = asked.get(code, {})
    return Consequence(
        code=code,
        subject=draw(st.sampled_from(["+J1", "+J2"] if code == "joint_heat" else ["E1", "E2"])),
        conditions=tuple(draw(st.lists(st.sampled_from(sorted(CONDITIONS)), max_size=2, unique=True))),
        before=Range.exactly(12.0),
        after=draw(ranges),
        params=tuple(sorted((name, draw(st.sampled_from(values))) for name, values in says.items())),
    )


consequences_together = st.lists(_consequence(), max_size=3, unique_by=lambda one: (one.code, one.subject)).map(tuple)
KINDS = ("tap", "repair", "orphaned_lead", "added_ground", "insertion", "damage", "moved_ground")


@st.composite
def _rated(draw: st.DrawFn, *, computed: bool = True) -> tuple[Modification, Circumstances]:
    joints = [
        Joint(id=name, details=draw(details), zone=draw(st.sampled_from([None, "Z", "Y"])))
        for name in ("+J1", "+J2")[: draw(st.integers(0, 2))]
    ]
    zones = (zone("Z", draw(flags)), zone("Y", draw(flags), *draw(st.sampled_from([(), ("fuel_vapour",)]))))
    modification = Modification(
        kind=draw(st.sampled_from(KINDS)),
        root=LEAD,
        joints=tuple(one.id for one in joints),
        facts=draw(facts_together),
    )
    circumstances = Circumstances(
        functions=draw(some_functions),
        zones=zones[: draw(st.integers(0, 2))],
        as_found=Harness.of([*joints, *zones], set()),
        functions_at={"E1": ("brake_lamp",), "E2": draw(some_functions)},
        consequences=draw(consequences_together) if computed else (),
        conditions=CONDITIONS,
        stalled=draw(st.booleans()),
        heat_marks=draw(st.booleans()),
        years=draw(st.dictionaries(st.sampled_from(["+J1", "+J2"]), st.sampled_from([3, 10, 12, 40]))),
    )
    return modification, circumstances


cases = _rated()
