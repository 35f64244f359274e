"""How good a joint is: its place in the trade's order of reliability, over all that it may be."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.harness import JointDetails, Zone
from harnessdiff.model.policy import Forbidden
from harnessdiff.model.rating import ACCEPTABLE, SEVERITIES
from harnessdiff.rate.joints import FINE, acceptable, burden, critical, harsh, judged, least_level, may_be
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.loader import joint_order
from tests.rate.generated import FUNCTIONS, policies
from tests.strategies import COVERS, TOOLS

if TYPE_CHECKING:
    from harnessdiff.model.policy import Policy

TYPES = sorted({row.type for row in joint_order()})
KNOWN_TOOLS = [tool for tool in (*TOOLS, "machine") if tool != "unknown"]
KNOWN_COVERS = [cover for cover in (*COVERS, "cap") if cover != "unknown"]
MAKES = [JointDetails(type=t, tool=o, cover=c) for t, o, c in itertools.product(TYPES, KNOWN_TOOLS, KNOWN_COVERS)]
DRY = Zone(id="Z", name="dry")
makes = st.sampled_from(MAKES)


# Order of reliability in the trade, best first (common practice).
ORDER = [
    JointDetails(type="plug_in", tool="hand", cover="housing"),
    JointDetails(type="factory_splice", tool="machine", cover="tape"),
    JointDetails(type="splice_barrel", tool="ratchet", cover="adhesive_sleeve"),
    JointDetails(type="butt_crimp", tool="ratchet", cover="adhesive_sleeve"),
    JointDetails(type="solder", tool="iron", cover="adhesive_sleeve"),
    JointDetails(type="ring_terminal", tool="ratchet", cover="sleeve"),
    JointDetails(type="solder_ring_sleeve", tool="iron", cover="adhesive_sleeve"),
    JointDetails(type="bullet", tool="machine", cover="sleeve"),
    JointDetails(type="butt_crimp", tool="ratchet", cover="sleeve"),
    JointDetails(type="solder", tool="iron", cover="tape"),
    JointDetails(type="threaded_tap", tool="hand", cover="housing"),
    JointDetails(type="lever_connector", tool="hand", cover="housing"),
    JointDetails(type="push_on", tool="hand", cover="housing"),
    JointDetails(type="screw_strip", tool="hand", cover="housing"),
    JointDetails(type="fuse_slot_adaptor", tool="hand", cover="housing"),
    JointDetails(type="butt_crimp", tool="pliers", cover="sleeve"),
    JointDetails(type="blade_tap", tool="pliers", cover="housing"),
    JointDetails(type="insulation_displacement", tool="pliers", cover="housing"),
    JointDetails(type="twist_on", tool="hand", cover="cap"),
    JointDetails(type="twisted", tool="hand", cover="tape"),
    JointDetails(type="bare_contact", tool="none", cover="none"),
]


def test_order_of_joints_is_the_trade_s() -> None:
    ranks = [judged(details).worst.rank for details in ORDER]

    assert ranks == sorted(set(ranks))
    assert len(ranks) == len({row.rank for row in joint_order()})


@given(policies)
def test_lower_in_the_order_never_counts_less(policy: Policy) -> None:
    """A fuse-slot adaptor apart: it is made for the slot."""
    weights: dict[int, list[float]] = {}
    for row in joint_order():
        if row.type != "fuse_slot_adaptor":
            weights.setdefault(row.rank, []).append(policy.joint(row.joint).weight)

    assert all(max(weights[one]) <= min(weights[other]) for one, other in itertools.pairwise(sorted(weights)))


@pytest.mark.parametrize("type_", TYPES)
def test_every_known_make_is_one_row(type_: str) -> None:
    makes_of_type = [details for details in MAKES if details.type == type_]
    fitting = [[row for row in joint_order() if row.fits(type_, one.tool, one.cover)] for one in makes_of_type]

    assert {len(rows) for rows in fitting} == {1}
    assert all(judged(one).best == judged(one).worst for one in makes_of_type)


@given(makes, st.sets(st.sampled_from(["type", "tool", "cover"]), min_size=1))
def test_unknown_joint_may_be_every_known_one(details: JointDetails, hidden: set[str]) -> None:
    """The less is known, the wider the range; what it is lies always within."""
    known = judged(details)
    type_, tool, cover = (
        "unknown" if name in hidden else word
        for name, word in (("type", details.type), ("tool", details.tool), ("cover", details.cover))
    )
    unknown = judged(JointDetails(type=type_, tool=tool, cover=cover))

    assert unknown.best.rank <= known.best.rank
    assert known.worst.rank <= unknown.worst.rank


def test_joint_of_which_nothing_is_known_may_be_the_best_and_the_worst() -> None:
    judgement = judged(JointDetails())

    assert (judgement.best.rank, judgement.worst.rank) == (1, 21)


def test_crimp_of_unknown_tool_may_be_made_with_pliers() -> None:
    judgement = judged(JointDetails(type="butt_crimp", cover="adhesive_sleeve"))

    assert (judgement.best.rank, judgement.worst.rank) == (4, 16)


HARSH = ["wet", "leaking", "hot", "moving", "vibrating"]


@pytest.mark.parametrize("name", HARSH)
def test_place_is_harsh_that_wets_heats_or_moves(name: str) -> None:
    assert harsh(Zone(id="Z", name="z", **{name: True}))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "zone", [None, DRY, Zone(id="Z", name="z", concealed=True), Zone(id="Z", name="z", near=("exhaust",))]
)
def test_place_that_is_only_hidden_is_not_harsh(zone: Zone | None) -> None:
    assert not harsh(zone)


def fine(details: JointDetails, zone: Zone | None = DRY, *functions: str, policy: Policy | None = None) -> bool:
    return acceptable(judged(details).worst, details, zone, policy or default_policy(), functions=functions)


WHERE: list[tuple[JointDetails, bool, bool]] = [
    # make, acceptable where it is dry, acceptable where it is wet
    (ORDER[0], True, True),
    (ORDER[1], True, True),
    (ORDER[2], True, True),
    (ORDER[3], True, True),
    (ORDER[4], True, True),
    (ORDER[5], True, True),
    (ORDER[8], True, False),
    (ORDER[9], True, False),
    (ORDER[10], False, False),
    (ORDER[14], True, False),
    (ORDER[15], False, False),
    (ORDER[17], False, False),
    (ORDER[19], False, False),
    (ORDER[20], False, False),
    (JointDetails(), False, False),
]


@pytest.mark.parametrize(("details", "dry", "wet"), WHERE)
def test_make_is_acceptable_where_the_trade_accepts_it(details: JointDetails, dry: bool, wet: bool) -> None:
    assert (fine(details), fine(details, Zone(id="Z", name="z", wet=True))) == (dry, wet)


@given(
    makes, st.sampled_from(["loose", "burnt", "green", "wet", "strands_cut", "cracked", "cover_melted", "cover_open"])
)
def test_joint_in_a_bad_state_is_never_acceptable(details: JointDetails, state: str) -> None:
    assert not fine(replace(details, condition=(state,)))


@given(makes, st.sampled_from(HARSH), policies, st.sampled_from(FUNCTIONS))
def test_harsher_place_accepts_no_more(details: JointDetails, name: str, policy: Policy, function: str) -> None:
    there = Zone(id="Z", name="z", **{name: True})  # type: ignore[arg-type]

    assert fine(details, DRY, function, policy=policy) or not fine(details, there, function, policy=policy)


@given(makes, makes, policies, st.sampled_from([None, DRY, Zone(id="Z", name="z", wet=True)]))
def test_better_joint_is_no_burden_where_a_worse_one_is_none(
    one: JointDetails, other: JointDetails, policy: Policy, where: Zone | None
) -> None:
    """A fuse-slot adaptor apart: it is made for the slot, and sound in one that is not critical."""
    policy = replace(policy, forbidden=())
    better, worse = sorted((judged(one).worst, judged(other).worst), key=lambda row: row.rank)
    if better.rank < worse.rank and "fuse_slot_adaptor" not in (better.type, worse.type):
        weights = [burden(row, JointDetails(), where, policy) for row in (better, worse)]
        assert weights == sorted(weights)


@given(makes, policies, st.sampled_from(FUNCTIONS))
def test_burden_of_a_joint_is_its_weight_or_that_of_none(details: JointDetails, policy: Policy, function: str) -> None:
    row = judged(details).worst
    weight = burden(row, details, DRY, policy, functions=(function,))

    assert weight == (FINE if fine(details, DRY, function, policy=policy) else policy.joint(row.joint).weight)
    assert min(line.weight for line in policy.joints) > FINE


@given(policies, st.sampled_from(FUNCTIONS), st.sampled_from(FUNCTIONS))
def test_fuse_slot_adaptor_is_acceptable_where_no_critical_function_hangs_on_the_slot(
    policy: Policy, function: str, other: str
) -> None:
    """Category II is critical by the standard's own word."""
    policy = replace(
        policy,
        forbidden=(),
        joints=tuple(replace(line, fine_in="dry_place") if line.joint == "fuse_slot_adaptor" else line
                     for line in policy.joints),
    )  # fmt: skip
    adaptor = JointDetails(type="fuse_slot_adaptor", tool="hand", cover="housing")
    lines = [line for line in policy.functions if line.function in (function, other)]
    grave = any(SEVERITIES.index(one) >= SEVERITIES.index("II") for line in lines for one in (line.lost, line.acts))

    assert critical((function, other), policy) == grave
    assert fine(adaptor, DRY, function, other, policy=policy) != grave
    assert fine(adaptor, DRY, policy=policy)


@pytest.mark.parametrize("functions", [(), ("radio", "horn")])
def test_forbidden_make_is_never_acceptable_in_the_circuits_it_is_forbidden_in(functions: tuple[str, ...]) -> None:
    line = Forbidden(joint="plug_in", level="Medium", functions=functions)
    policy = replace(default_policy(), forbidden=(replace(line, level="Low"), line))

    assert least_level("plug_in", ("radio",), policy) == "Medium"
    assert not fine(ORDER[0], DRY, "radio", policy=policy)
    assert fine(ORDER[0], DRY, "start", policy=policy) == bool(functions)
    assert least_level("plug_in", ("start",), policy) == (ACCEPTABLE if functions else "Medium")
    assert fine(ORDER[2], DRY, "radio", policy=policy)


def test_makes_that_a_joint_may_be_stand_best_first_and_are_never_none() -> None:
    for details in (*MAKES, JointDetails(), JointDetails(type="other"), JointDetails(type="solder")):
        rows = may_be(details)
        assert rows
        assert [row.rank for row in rows] == sorted(row.rank for row in rows)
    assert set(may_be(JointDetails())) == set(joint_order())
