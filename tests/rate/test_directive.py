"""The reading by the directive: its rungs, and that more that is established never makes it milder."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Joint, JointDetails
from harnessdiff.model.modification import Fact, Modification, Value
from harnessdiff.model.rules import CATEGORIES
from harnessdiff.rate.directive import directive_items
from tests.rate.plantings import facts_planted
from tests.support import bench_data, case_from, found, reference_from


def changed(*facts: Fact, kind: str = "tap") -> Modification:
    return Modification(kind=kind, root="+J1", joints=("+J1",), facts=facts)


def joint(**details: object) -> Joint:
    return Joint(id="+J1", details=JointDetails(**details), zone="Z1")  # type: ignore[arg-type]


def read(
    *facts: Fact,
    kind: str = "tap",
    joints: Sequence[Joint] = (),
    functions: Sequence[str] = (),
    consequences: Iterable[Consequence] = (),
) -> dict[str, str]:
    """Item and part to category."""
    items = directive_items(changed(*facts, kind=kind), joints, functions, consequences)
    return {one.item + one.part: one.category for one in items}


def on(lead: str, code: str, **params: Value) -> Fact:
    return Fact.of(code, lead=lead, **params)


def test_nothing_established_is_no_item() -> None:
    assert read() == {}
    assert read(joints=[joint()], functions=["brake_control", "tow_socket", "battery_main"]) == {}


def test_what_only_may_be_so_is_not_established() -> None:
    assert read(on("+L1", "no_grommet", what="bulkhead").perhaps()) == {}


def test_a_joint_made_as_it_should_be_is_no_item() -> None:
    sound = joint(type="butt_crimp", tool="ratchet", cover="adhesive_sleeve", condition=("clean",))

    assert read(Fact.of("permanent_supply"), joints=[sound]) == {}


# -- the ladders


@pytest.mark.parametrize(
    ("fact", "category"),
    [
        (on("+L1", "loose_end", end=1, treatment="capped"), "minor"),
        (on("+L1", "no_grommet", what="sharp_edge", kind="passes_edge"), "major"),
        (on("+L1", "near_hot", what="exhaust", kind="near"), "major"),
        (on("+L1", "near_hot", what="exhaust", kind="touches"), "dangerous"),
        (on("+L1", "near_moving", what="seat_track", kind="touches"), "major"),
        (on("+L1", "near_moving", what="moving_part", kind="near"), "major"),
        (on("+L1", "near_moving", what="moving_part", kind="tied_to"), "dangerous"),
    ],
)
def test_hold_of_wiring_rises_with_what_it_may_touch(fact: Fact, category: str) -> None:
    assert read(fact) == {"4.11a": category}


def test_hold_of_a_joint() -> None:
    assert read(joints=[joint(type="twisted", cover="tape")]) == {"4.11a": "minor"}
    assert read(joints=[joint(type="twisted", cover="tape", condition=("loose",))]) == {"4.11a": "major"}


@pytest.mark.parametrize(("function", "category"), [("steering", "dangerous"), ("brake_control", "dangerous")])
def test_open_circuit_of_brakes_or_steering_is_dangerous_and_of_nothing_else(function: str, category: str) -> None:
    assert read(kind="open_circuit", functions=[function]) == {"4.11a": category}
    assert read(kind="open_circuit", functions=["radio"]) == {}


@pytest.mark.parametrize(
    ("extent", "function", "category"),
    [
        (None, "radio", "minor"),
        ("slight", "radio", "minor"),
        ("heavy", "radio", "major"),
        ("through", "radio", "major"),
        ("through", "steering", "dangerous"),
        ("heavy", "steering", "major"),
    ],
)
def test_state_of_wiring_rises_with_the_extent(extent: str | None, function: str, category: str) -> None:
    assert read(Fact.of("damage", sort="corroded", extent=extent), kind="damage", functions=[function]) == {
        "4.11b": category
    }


def test_insulation_rises_from_damaged_to_short_to_fire() -> None:
    slight, heavy = (Fact.of("damage", sort="chafed", extent=extent) for extent in ("slight", "heavy"))
    bare = on("W1", "unprotected", length_m=None)

    assert read(slight, kind="damage") == {"4.11c": "minor"}
    assert read(heavy, kind="damage") == {"4.11c": "major"}
    assert read(heavy, bare, kind="damage") == {"4.11c": "dangerous"}
    assert read(slight, bare, kind="damage") == {"4.11c": "minor"}


def test_a_verdict_that_nothing_protects_counts_as_no_protection() -> None:
    rubs = on("+L1", "rubbing", what="bulkhead"), on("+L1", "no_grommet", what="bulkhead")
    verdict = Consequence(code="protection", subject="+L1", params=(("verdict", "not_protected"),))
    short_only = Consequence(code="protection", subject="+L1", params=(("verdict", "short_only"),))
    of_another = Consequence(code="protection", subject="+L2", params=(("verdict", "not_protected"),))

    assert read(*rubs, consequences=[verdict])["4.11c"] == "dangerous"
    assert read(*rubs, consequences=[short_only, of_another])["4.11c"] == "major"


def test_facts_of_different_leads_do_not_add_up() -> None:
    live, bare = on("+L1", "loose_end_live", end="1"), on("+L1", "loose_end", end=1, treatment="bare")
    elsewhere = on("+L2", "loose_end", end=1, treatment="bare")
    other_end = on("+L1", "loose_end", end=2, treatment="bare")

    assert read(live, bare)["4.11c"] == "major"
    assert "4.11c" not in read(live, elsewhere)
    assert "4.11c" not in read(live, other_end)


def test_bare_joint_is_worse_where_it_is_live() -> None:
    bare = joint(type="solder", cover="none")

    assert read(joints=[bare]) == {"4.11c": "minor"}
    assert read(Fact.of("switched_supply"), joints=[bare]) == {"4.11c": "major"}


def test_trailer_socket_has_an_item_of_its_own() -> None:
    damage = Fact.of("damage", sort="chafed", extent="heavy")

    assert read(damage, functions=["tow_socket"]) == {"4.10b": "major", "4.11c": "major"}
    assert read(Fact.of("unplugged"), functions=["tow_socket"]) == {"4.10c": "dangerous"}
    assert read(kind="open_circuit", functions=["tow_socket"]) == {"4.10c": "major"}


def test_lamps_that_are_not_obligatory_and_the_battery() -> None:
    was = Fact.of("substituted", was="lamp", now="other", label=None)

    assert read(was, functions=["fog_front"]) == {"4.12a": "minor"}
    assert read(was, functions=["brake_lamp"]) == {}
    assert read(kind="bypass", functions=["fog_front"]) == {"4.12b": "minor"}
    assert read(Fact.of("bypasses", device="Q1", sort="switch"), functions=["battery_main"]) == {"4.13c": "major"}
    assert read(Fact.of("at_source", device="BAT"), on("+L1", "unprotected")) == {"4.13d": "major"}


def test_only_the_worst_category_is_told_with_what_brings_it_and_it_is_provisional() -> None:
    (item,) = directive_items(
        changed(on("+L1", "loose_end", end=1, treatment="capped"), on("+L1", "no_grommet", what="bulkhead")), (), (), ()
    )

    assert (item.item, item.part, item.category) == ("4.11", "a", "major")
    assert item.because == ("no_grommet",)
    assert item.reasons == ("edge",)
    assert item.provisional


def test_a_lead_over_a_sharp_edge_is_major_through_the_whole_program() -> None:
    case = case_from(
        reference_from(bench_data()),
        {
            "kind": "tap",
            "on": {"wire": "W12"},
            "lead": {"route": [{"kind": "passes_edge", "what": "sharp_edge", "protected_by": "none"}]},
            "to": {"device": {"kind": "beeper"}, "pin": "+"},
        },
    )
    finding = found(case, "routing")
    (item,) = directive_items(finding.modification, (), finding.functions, finding.consequences)

    assert (item.item, item.part, item.category) == ("4.11", "a", "major")


# -- laws

FUNCTIONS = st.lists(
    st.sampled_from(["brake_control", "steering", "tow_socket", "fog_front", "battery_main", "radio"]), max_size=2
)
KINDS = st.sampled_from(["tap", "damage", "open_circuit", "bypass", "moved_part", "routing"])
JOINTS = st.lists(
    st.builds(
        joint,
        type=st.sampled_from(["twisted", "solder", "bare_contact", "insulation_displacement", "unknown"]),
        cover=st.sampled_from(["none", "tape", "unknown"]),
        condition=st.lists(st.sampled_from(["loose", "green", "burnt", "cover_melted"]), max_size=2).map(tuple),
    ),
    max_size=1,
)


@given(facts=st.lists(facts_planted, max_size=5), more=facts_planted, kind=KINDS, functions=FUNCTIONS, joints=JOINTS)
def test_another_fact_never_removes_an_item_or_lowers_a_category(
    facts: list[Fact], more: Fact, kind: str, functions: list[str], joints: list[Joint]
) -> None:
    before = read(*facts, kind=kind, functions=functions, joints=joints)
    after = read(*facts, more, kind=kind, functions=functions, joints=joints)

    assert before.keys() <= after.keys()
    assert all(CATEGORIES.index(after[one]) >= CATEGORIES.index(category) for one, category in before.items())


@given(facts=st.lists(facts_planted, max_size=6), kind=KINDS, functions=FUNCTIONS, data=st.data())
def test_order_of_facts_does_not_count(facts: list[Fact], kind: str, functions: list[str], data: st.DataObject) -> None:
    shuffled = data.draw(st.permutations(facts))

    assert directive_items(changed(*facts, kind=kind), (), functions, ()) == directive_items(
        changed(*shuffled, kind=kind), (), functions, ()
    )


@given(facts=st.lists(facts_planted, max_size=6), kind=KINDS, functions=FUNCTIONS)
def test_each_part_of_an_item_is_told_once(facts: list[Fact], kind: str, functions: list[str]) -> None:
    items = directive_items(changed(*facts, kind=kind), (), functions, ())

    assert len({(one.item, one.part) for one in items}) == len(items)
    assert all(one.because and one.reasons and one.provisional for one in items)
