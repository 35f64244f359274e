"""Rules held against what they say, through a whole assessment where the program establishes what meets them.

Sources are named beside each check; of those in secondary copies the original was not read.
"""

from __future__ import annotations

import pytest

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Harness, Joint, JointDetails, Zone
from harnessdiff.model.modification import Modification
from harnessdiff.model.range import Range
from harnessdiff.model.rating import level_rank
from harnessdiff.model.rules import RuleMet
from harnessdiff.pipeline import Case
from harnessdiff.rate.circumstances import Circumstances
from harnessdiff.rate.rating import rated
from harnessdiff.rate.rules import engine_running, lamps_of, rules_met
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.rules import rule_rows
from tests.support import Json, bench_data, case_from, found, reference_from


def of_finding(case: Case, kind: str) -> dict[str, RuleMet]:
    """The rules that the one finding of a kind meets."""
    finding = found(case, kind)
    joints = [one for flagged in finding.joints if (one := case.as_found.joint(flagged.id)) is not None]
    met = rules_met(
        finding.modification,
        joints,
        finding.functions,
        finding.consequences,
        system_voltage_V=case.reference.vehicle.system_voltage_V,
        lamps=lamps_of(case.as_found),
        running=engine_running(case.reference.conditions),
    )
    return {one.rule: one for one in met}


def tapped(joint: Json) -> dict[str, RuleMet]:
    """The rules that a tap on a side lamp's wire meets, made with a joint."""
    tap = {"kind": "tap", "on": {"wire": "W12"}, "joint": joint, "to": {"device": {"kind": "beeper"}, "pin": "+"}}
    return of_finding(case_from(reference_from(bench_data()), tap), "tap")


def spliced(*from_end_m: float, joint: Json) -> dict[str, RuleMet]:
    """The rules that repairs of one wire meet, each made at a distance from its first end."""
    repairs = [
        {"kind": "repair", "wire": "W32", "joints": [joint], "at": {"from_end": 1, "distance_m": distance}}
        for distance in from_end_m
    ]
    case = case_from(reference_from(bench_data()), *repairs)
    return {one.rule: one for finding in case.findings.findings for one in finding.rules}


def test_46_cfr_111_60_17_forbids_twist_on_connectors_in_splices() -> None:
    """46 CFR 111.60-17(c), confirmed: may not be used for joints in cables, splices or extending a circuit."""
    met = tapped({"type": "twist_on", "cover": "cap"})

    assert met["46cfr111.60-17c"].because == ("joint_twist_on",)
    assert met["46cfr111.60-17c"].analogy
    assert rule_rows()["46cfr111.60-17c"].status == "confirmed"


def test_46_cfr_111_60_17_asks_a_splice_to_keep_what_the_cable_had() -> None:
    """46 CFR 111.60-17(a), confirmed: electrical and mechanical properties as the original."""
    assert "46cfr111.60-17a" in tapped({"type": "twisted", "tool": "hand", "cover": "tape"})
    assert "46cfr111.60-17a" not in tapped({"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"})


def test_13_ccr_1249_asks_for_joints_soldered_or_held_as_well_and_insulated() -> None:
    """13 CCR 1249(c), confirmed in a public copy; made for the road."""
    assert not tapped({"type": "twisted", "tool": "hand", "cover": "tape"})["13ccr1249c-joint"].analogy
    assert "13ccr1249c-joint" in tapped({"type": "solder", "cover": "none"})
    assert "13ccr1249c-joint" not in tapped({"type": "solder", "cover": "sleeve"})


@pytest.mark.parametrize(("at_socket_V", "share", "fails"), [(10.1, 0.842, True), (10.3, 0.858, False)])
@pytest.mark.parametrize("code", ["dimmed", "drop"])
def test_13_ccr_1249_asks_for_85_percent_at_the_socket(
    at_socket_V: float, share: float, fails: bool, code: str
) -> None:
    """13 CCR 1249(c), confirmed in a public copy: 85 % of the bulb's 12.0 V. The two voltages are derived from it."""
    told = Consequence(code=code, subject="E3", conditions=("driving",), after=Range.exactly(at_socket_V), unit="V")
    met = rules_met(
        Modification(kind="repair", root="+C1"), (), (), (told,), system_voltage_V=12, lamps={"E3"}, running={"driving"}
    )

    assert at_socket_V / 12 == pytest.approx(share, abs=5e-4)
    assert [one.rule for one in met] == ["13ccr1249c-lamp"] * fails


@pytest.mark.parametrize(("engine", "fails"), [("running", True), ("stopped", False)])
def test_13_ccr_1249_through_a_loose_joint_before_a_brake_lamp(engine: str, fails: bool) -> None:
    """13 CCR 1249(c), confirmed in a public copy. A loose joint may have so much that the lamp has too little."""
    data = bench_data()
    braking = {"id": "braking", "name": "braking", "key": "ignition", "positions": {"S3": "pressed"}}
    data["conditions"].append(braking | {"engine": engine})
    loose = {"type": "twisted", "tool": "hand", "cover": "tape", "condition": ["loose"]}
    repair = {"kind": "repair", "wire": "W32", "joints": [loose]}
    met = of_finding(case_from(reference_from(data), repair, electrical=True), "repair")

    assert ("13ccr1249c-lamp" in met) is fails
    if fails:
        assert not met["13ccr1249c-lamp"].sure


SLEEVED = {"type": "butt_crimp", "tool": "pliers", "cover": "sleeve"}


@pytest.mark.parametrize(("from_end_m", "near"), [(0.1, True), (0.30, True), (0.31, False)])
def test_ac_43_13_1b_wants_no_splice_within_12_inches_of_a_termination(from_end_m: float, near: bool) -> None:
    """AC 43.13-1B chapter 11, quoted in training texts (secondary copy): 12 in, which is 0.3048 m."""
    met = spliced(from_end_m, joint=SLEEVED)

    assert ("ac43.13-1b-near-termination" in met) is near
    assert all(one.analogy for one in met.values() if one.realm == "aircraft")


@pytest.mark.parametrize(("from_end_m", "too_many"), [((0.5,), False), ((0.5, 0.9), True)])
def test_ac_43_13_1b_wants_one_splice_between_two_connectors(from_end_m: tuple[float, ...], too_many: bool) -> None:
    """AC 43.13-1B chapter 11, quoted in training texts (secondary copy)."""
    assert ("ac43.13-1b-one-splice" in spliced(*from_end_m, joint=SLEEVED)) is too_many


@pytest.mark.parametrize(
    ("prepared", "rule"), [("tinned", "nasa-std-8739.4-4.3.4"), ("twisted_together", "nasa-std-8739.4-19.10.1")]
)
def test_nasa_std_8739_4_forbids_tinned_and_twisted_wires_in_a_crimp(prepared: str, rule: str) -> None:
    """NASA-STD-8739.4 4.3.4, and 19.10.1 with 19.12; confirmed in page copies."""
    met = tapped(SLEEVED | {"prepared": [prepared]})

    assert {name for name in met if name.startswith("nasa")} == {rule}
    assert (met[rule].realm, met[rule].analogy) == ("spacecraft", True)
    assert rule not in tapped(SLEEVED)


def test_nbsir_76_1011_a_joint_that_glows_opens_no_fuse() -> None:
    """NBSIR 76-1011, abstract confirmed: up to 35 W at 15 A; 35 W is 0.156 ohm there (derived)."""
    told = Consequence(
        code="joint_heat", subject="+J1", after=Range(low=0, nominal=0.1, high=35, guaranteed=False), unit="W",
        params=(("at_ohm", 0.156), ("current_A", 15.0)),
    )  # fmt: skip
    (met,) = rules_met(Modification(kind="tap", root="+J1"), (), (), (told,), system_voltage_V=12, lamps=(), running=())

    assert pytest.approx(35, abs=0.2) == 15.0**2 * 0.156
    assert (met.rule, met.sure, met.analogy) == ("nbsir76-1011", False, True)


@pytest.mark.parametrize(("low_W", "near", "level"), [(10, "upholstery", "High"), (35, "fuel_vapour", "High")])
def test_nbsir_76_1011_tens_of_watts_where_something_burns_are_high(low_W: float, near: str, level: str) -> None:
    """NBSIR 76-1011, abstract confirmed: up to 35 W at 15 A, and no fuse opens; the same in the clear is below High."""
    joint = Joint(id="+J1", details=JointDetails(type="twisted", tool="hand", cover="tape"))
    told = Consequence(code="joint_heat", subject="+J1", conditions=("driving",), after=Range.exactly(low_W), unit="W")
    tap = Modification(kind="tap", root="+t", joints=("+J1",))

    def rated_near(*burning: str) -> str:
        zone = Zone(id="Z", name="z", near=burning)
        around = Circumstances(
            functions=("radio",), zones=(zone,), as_found=Harness.of([joint, zone], set()), consequences=(told,)
        )
        return rated(tap, around, default_policy()).worst

    assert rated_near(near) == level
    assert level_rank(rated_near()) < level_rank(level)
