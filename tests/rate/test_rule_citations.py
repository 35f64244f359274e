"""Citations: what meets which rule, surely or at worst, and nothing else does."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Joint, JointDetails
from harnessdiff.model.modification import Fact, Modification
from harnessdiff.model.range import Range
from harnessdiff.model.rules import REALMS, RuleMet
from harnessdiff.rate.rules import engine_running, lamps_of, rules_met
from tests.rate.plantings import facts_planted
from tests.support import bench_data, reference_from

JOINT_13CCR, LAMP_13CCR = "13ccr1249c-joint", "13ccr1249c-lamp"


def met(
    *facts: Fact,
    joints: Sequence[JointDetails] = (),
    consequences: Sequence[Consequence] = (),
    system_voltage_V: float | None = 12,
) -> tuple[RuleMet, ...]:
    return rules_met(
        Modification(kind="tap", root="+J0", facts=facts),
        [Joint(id=f"+J{number}", details=one, zone="Z1") for number, one in enumerate(joints)],
        ("brake_lamp",),
        consequences,
        system_voltage_V=system_voltage_V,
        lamps={"E3"},
        running={"braking"},
    )


def cited(*facts: Fact, **more: object) -> dict[str, bool]:
    """Rule to whether it is surely met."""
    return {one.rule: one.sure for one in met(*facts, **more)}  # type: ignore[arg-type]


def voltage(
    low: float,
    high: float | None = None,
    *,
    code: str = "drop",
    subject: str = "E3",
    conditions: tuple[str, ...] = ("braking",),
) -> Consequence:
    top = low if high is None else high
    after = Range(low=low, nominal=top, high=top, guaranteed=False)
    return Consequence(code=code, subject=subject, conditions=conditions, after=after, unit="V")


def heat(high_W: float) -> Consequence:
    return Consequence(
        code="joint_heat", subject="+J0", after=Range(low=0, nominal=1, high=high_W, guaranteed=False), unit="W"
    )


def test_nothing_established_meets_no_rule() -> None:
    assert met() == ()
    assert met(joints=[JointDetails()]) == ()
    assert met(joints=[JointDetails(type="butt_crimp", tool="ratchet", cover="adhesive_sleeve")]) == ()


@pytest.mark.parametrize(
    ("details", "rules"),
    [
        (JointDetails(type="twist_on", cover="cap"), {"46cfr111.60-17c"}),
        (JointDetails(type="twisted", cover="tape"), {JOINT_13CCR, "46cfr111.60-17a", "30cfr56.12013"}),
        (JointDetails(type="bare_contact", cover="none"), {JOINT_13CCR, "46cfr111.60-17a", "30cfr56.12013"}),
        (JointDetails(type="solder", cover="none"), {JOINT_13CCR, "46cfr111.60-17a", "30cfr56.12013"}),
        (JointDetails(type="solder", cover="sleeve", condition=("clean",)), set()),
        (
            JointDetails(type="solder", cover="sleeve", condition=("cracked",)),
            {"nec110.14b", "46cfr111.60-17a", "30cfr56.12013"},
        ),
        (JointDetails(type="butt_crimp", cover="sleeve", condition=("green",)), {"46cfr111.60-17a", "30cfr56.12013"}),
        (JointDetails(type="ring_terminal", cover="none"), set()),
        (JointDetails(type="insulation_displacement", cover="none"), set()),
    ],
)
def test_joints(details: JointDetails, rules: set[str]) -> None:
    assert set(cited(joints=[details])) == rules


def test_tape_does_not_seal_in_a_wet_place_and_the_wet_place_is_that_of_the_joint() -> None:
    taped = JointDetails(type="solder", cover="tape")

    assert cited(joints=[taped]) == {}
    assert cited(Fact.of("wet_place", zone="Z1"), joints=[taped]) == {"30cfr56.12013": True}
    assert cited(Fact.of("wet_place", zone="Z2"), joints=[taped]) == {}


@pytest.mark.parametrize(
    ("fact", "rules"),
    [
        (Fact.of("far_end_fuse", lead="+L1", distance_m=0.5, limit_m=0.1778), {"33cfr183.455b"}),
        (Fact.of("no_grommet", lead="+L1"), {"33cfr183.445", "eu2015-208-xxiv-1.1-route"}),
        (Fact.of("rubbing", lead="+L1"), {"33cfr183.445"}),
        (Fact.of("unprotected", lead="+L1"), {"49cfr393.28", "33cfr183.455a", "eu2015-208-xxiv-1.1-fuse"}),
        (Fact.of("near_hot", lead="+L1", kind="near"), set()),
        (Fact.of("near_hot", lead="+L1", kind="touches"), {"eu2015-208-xxiv-1.1-route"}),
        (Fact.of("insert_thinner", was=1.5, now=0.75), {"46cfr111.60-17a"}),
        (Fact.of("adds_load", device="+D1"), set()),
    ],
)
def test_facts(fact: Fact, rules: set[str]) -> None:
    assert cited(fact) == dict.fromkeys(rules, True)


def test_what_only_may_be_so_is_met_at_worst() -> None:
    perhaps = Fact.of("no_grommet", lead="+L1").perhaps()
    may = Fact.of("unprotected_perhaps", lead="+L1")

    assert set(cited(perhaps).values()) == {False}
    assert cited(perhaps, Fact.of("no_grommet", lead="+L2"))["33cfr183.445"]
    assert cited(may) == {"33cfr183.455a": False, "eu2015-208-xxiv-1.1-fuse": False}


def test_what_rests_on_two_things_is_sure_only_if_both_are() -> None:
    taped = JointDetails(type="solder", cover="tape")

    assert cited(Fact.of("wet_place", zone="Z1").perhaps(), joints=[taped]) == {"30cfr56.12013": False}


def test_what_is_sure_answers_alone() -> None:
    may, sure = Fact.of("no_grommet", lead="+L1").perhaps(), Fact.of("rubbing", lead="+L2")
    (both,) = (one for one in met(may, sure) if one.rule == "33cfr183.445")

    assert (both.because, both.sure) == (("rubbing",), True)


# -- numbers


def test_a_lamp_surely_has_too_little_only_by_the_best_end_of_its_range() -> None:
    assert cited(consequences=[voltage(8, 10.1)]) == {LAMP_13CCR: True}
    assert cited(consequences=[voltage(8, 11)]) == {LAMP_13CCR: False}
    assert cited(consequences=[voltage(10.5, 11)]) == {}


def test_a_dimmed_lamp_is_sure_unless_its_range_is_told_beside_it() -> None:
    dimmed = voltage(9, code="dimmed")

    assert cited(consequences=[dimmed]) == {LAMP_13CCR: True}
    assert cited(consequences=[dimmed, voltage(8, 11)]) == {LAMP_13CCR: False}
    assert cited(consequences=[dimmed, voltage(8, 11, subject="E9")]) == {LAMP_13CCR: True}


def test_only_lamps_count_and_only_with_the_engine_running() -> None:
    assert cited(consequences=[voltage(5, subject="M1")]) == {}
    assert cited(consequences=[voltage(5, conditions=("parked",))]) == {}
    assert cited(consequences=[voltage(5, conditions=("parked", "braking"))]) == {LAMP_13CCR: True}


def test_system_voltage_is_the_design_voltage_of_bulbs() -> None:
    assert cited(consequences=[voltage(20)], system_voltage_V=24) == {LAMP_13CCR: True}
    assert cited(consequences=[voltage(20.4)], system_voltage_V=24) == {}
    assert cited(consequences=[voltage(5)], system_voltage_V=6) == {LAMP_13CCR: True}
    assert cited(consequences=[voltage(5)], system_voltage_V=None) == {}


def test_a_joint_may_glow_from_tens_of_watts_on_while_its_fuse_holds() -> None:
    over = Consequence(code="fuse_current", subject="F1", params=(("carries_A", 10.0), ("over", "yes")))
    within = Consequence(code="fuse_current", subject="F1", params=(("carries_A", 10.0),))

    assert cited(consequences=[heat(35), within]) == {"nbsir76-1011": False}
    assert cited(consequences=[heat(10)]) == {"nbsir76-1011": False}
    assert cited(consequences=[heat(9.9)]) == {}
    assert cited(consequences=[heat(35), over]) == {}


def fused(rating_A: float, size_mm2: float = 1.31, sort: str = "fuse", **more: float) -> Fact:
    return Fact.of("over_fused", lead="+L1", sort=sort, rating_A=rating_A, size_mm2=size_mm2, limit_A=10.0, **more)


@pytest.mark.parametrize(("rating_A", "sure"), [(20, None), (22.5, None), (25, False), (50, False), (60, True)])
def test_boat_rating_is_surely_beyond_only_by_every_column(rating_A: float, sure: bool | None) -> None:
    """16 AWG: 15 A at 60 °C, 35 A at 200 °C; times 1.5 that is 22.5 A and 52.5 A (33 CFR 183.425 Table 5)."""
    assert cited(fused(rating_A)) == ({} if sure is None else {"33cfr183.455c": sure})


def test_boat_rating_says_nothing_of_outputs_and_of_wires_thinner_than_the_table() -> None:
    assert cited(fused(200, sort="output")) == {}
    assert cited(fused(200, size_mm2=0.5)) == {}


def test_a_rating_that_is_not_known_is_beyond_at_worst() -> None:
    may = Fact.of("over_fused_perhaps", sort="fuse", rating_A=None, greatest_A=80.0, size_mm2=1.31, unknown="rating")

    assert cited(may) == {"33cfr183.455c": False}


# -- form


def test_rules_for_the_road_come_first_and_all_others_are_analogies() -> None:
    found = met(Fact.of("unprotected", lead="+L1"), joints=[JointDetails(type="twisted", cover="tape")])

    assert [one.rule for one in found] == [
        JOINT_13CCR, "49cfr393.28", "30cfr56.12013", "33cfr183.455a", "46cfr111.60-17a", "eu2015-208-xxiv-1.1-fuse",
    ]  # fmt: skip
    assert [one.analogy for one in found] == [False, False, True, True, True, True]
    assert {one.realm for one in found} <= set(REALMS)


def test_lamps_and_running_conditions_are_those_of_the_reference() -> None:
    data = bench_data()
    data["conditions"].append({"id": "driving", "name": "driving", "key": "ignition", "engine": "running"})
    reference = reference_from(data)

    assert lamps_of(reference.harness) == {"E1", "E2", "E3", "E4"}
    assert engine_running(reference.conditions) == {"driving"}


@given(facts=st.lists(facts_planted, max_size=5), more=facts_planted)
def test_another_fact_never_removes_a_rule_or_makes_it_less_sure(facts: list[Fact], more: Fact) -> None:
    before, after = cited(*facts), cited(*facts, more)

    assert all(after[rule] >= sure for rule, sure in before.items())


@given(facts=st.lists(facts_planted, max_size=6), data=st.data())
def test_order_of_facts_does_not_count_and_no_rule_is_there_twice(facts: list[Fact], data: st.DataObject) -> None:
    found = met(*facts)

    assert found == met(*data.draw(st.permutations(facts)))
    assert len({one.rule for one in found}) == len(found)
