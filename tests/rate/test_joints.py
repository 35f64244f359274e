"""How good a joint is: its place in the trade's order of reliability, over all that it may be."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.harness import JointDetails, Zone
from harnessdiff.rate.joints import acceptable, harsh, judged
from harnessdiff.tables.loader import JointRow, joint_order
from tests.strategies import COVERS, TOOLS

TYPES = sorted({row.type for row in joint_order()})
KNOWN_TOOLS = [tool for tool in (*TOOLS, "machine") if tool != "unknown"]
KNOWN_COVERS = [cover for cover in (*COVERS, "cap") if cover != "unknown"]
MAKES = [JointDetails(type=t, tool=o, cover=c) for t, o, c in itertools.product(TYPES, KNOWN_TOOLS, KNOWN_COVERS)]
DRY = Zone(id="Z", name="dry")
makes = st.sampled_from(MAKES)


def place(row: JointRow) -> tuple[int, int]:
    return row.index, row.rank


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


def test_lower_in_the_order_never_counts_less() -> None:
    rows = sorted(joint_order(), key=lambda row: row.rank)

    assert [row.index for row in rows] == sorted(row.index for row in rows)


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

    assert place(unknown.best) <= place(known.best)
    assert place(known.worst) <= place(unknown.worst)


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


def fine(details: JointDetails, zone: Zone | None = DRY, *, critical: bool = False) -> bool:
    return acceptable(judged(details).worst, details, zone, slot_is_critical=critical)


ACCEPTABLE: list[tuple[JointDetails, bool, bool]] = [
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


@pytest.mark.parametrize(("details", "dry", "wet"), ACCEPTABLE)
def test_make_is_acceptable_where_the_trade_accepts_it(details: JointDetails, dry: bool, wet: bool) -> None:
    assert (fine(details), fine(details, Zone(id="Z", name="z", wet=True))) == (dry, wet)


@given(
    makes, st.sampled_from(["loose", "burnt", "green", "wet", "strands_cut", "cracked", "cover_melted", "cover_open"])
)
def test_joint_in_a_bad_state_is_never_acceptable(details: JointDetails, state: str) -> None:
    assert not fine(replace(details, condition=(state,)))


@given(makes, st.sampled_from(HARSH))
def test_harsher_place_accepts_no_more(details: JointDetails, name: str) -> None:
    assert fine(details) or not fine(details, Zone(id="Z", name="z", **{name: True}))  # type: ignore[arg-type]


@given(makes, makes)
def test_better_joint_is_acceptable_wherever_a_worse_one_is(one: JointDetails, other: JointDetails) -> None:
    """A fuse-slot adaptor apart: it is made for the slot, and sound in one that is not critical."""
    better, worse = sorted((one, other), key=lambda details: judged(details).worst.rank)
    if worse.type != "fuse_slot_adaptor":
        assert fine(better) or not fine(worse) or better.type == "fuse_slot_adaptor"


def test_fuse_slot_adaptor_is_acceptable_in_a_slot_that_is_not_critical() -> None:
    adaptor = JointDetails(type="fuse_slot_adaptor", tool="hand", cover="housing")

    assert (fine(adaptor), fine(adaptor, critical=True)) == (True, False)
