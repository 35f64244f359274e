"""What was added is made dead by the fewest steps, in the order of the trade, and nothing forbidden is proposed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.reach import Done
from harnessdiff.analyse.steps import DISMANTLING, Leave, Way
from harnessdiff.tables.isolation import isolation_steps
from tests.analyse.isolating import Bench, bench, bridge, device, grounded, source, tap, without
from tests.support import Json

NO_MAIN_FUSE: Json = {"not_opened": [{"element": "F0", "because": "seal"}]}
SAVED: Json = {"codes_saved": "yes"}
LAMP: Json = {"kind": "load", "between": ["+", "-"], "model": "filament", "rated_W": 21, "rated_V": 12}


def test_energy_is_first_and_cut_through_last_by_the_table() -> None:
    rows = list(isolation_steps().values())

    assert [row.order for row in rows] == list(range(1, len(rows) + 1))
    assert [rows[0].step, rows[-1].step] == ["engine_off", "cut_through_off"]
    assert {row.needs for row in rows} <= set(DISMANTLING)


def test_one_feed_takes_its_fuse_and_no_more() -> None:
    found = bench(tap("Q", "W10")).found["+Q.lead"]

    (step,) = found.steps
    assert (step.code, step.element, step.at, step.because) == ("pull_fuse", "F1_FUSE", "F1", "BAT")
    assert step.path == ("BAT", "W1", "F0_FUSE", "W2", "BUS", "F1", "F1_FUSE", "W10", "+Q.joint")
    assert step.live_after == ()
    assert {one.condition for one in found.live_before} == {"asleep", "ignition", "side_lamps", "braking", "horn"}
    assert (found.answer, found.dead, found.proved) == ("steps", True, True)


def test_what_is_dead_needs_nothing() -> None:
    found = bench(tap("Q", "W43")).found["+Q.lead"]

    assert found.answer == "steps"  # live in ignition, by the module's output
    assert bench(tap("Q", "W24")).found["+Q.lead"].answer == "dead_already"


def test_in_line_fuse_at_the_source_will_do_for_what_lies_behind_it() -> None:
    fuse = {"kind": "fuse", "distance_m": 0.1, "rating_A": 5, "state": "intact"}
    to = device("lamp", LAMP)
    found = bench(tap("Q", "W10", to, inline=[fuse]), grounded("N", "Q.device"), scope={"not_opened": [
        {"element": name, "because": "seal"} for name in ("F0", "F1")]})  # fmt: skip

    assert found.done("+Q.device") == [("pull_inline_fuse", "+Q.lead")]
    assert found.done("+Q.lead") == [("source_end_off", "+Q.lead")]


def test_bridge_takes_both_fuses() -> None:
    found = bench(bridge("Q", "W10", "W30"), scope=NO_MAIN_FUSE)

    assert found.done("+Q.lead") == [("pull_fuse", "F1_FUSE"), ("pull_fuse", "F3_FUSE")]
    assert found.found["+Q.lead"].steps[0].live_after
    assert found.found["+Q.lead"].proved


def test_battery_comes_off_where_codes_are_saved_and_it_is_the_fewer() -> None:
    found = bench(bridge("Q", "W10", "W30"), scope=NO_MAIN_FUSE | SAVED).found["+Q.lead"]

    (step,) = found.steps
    assert (step.code, step.element, step.at, step.warnings) == ("battery_off", "BAT", "BAT:-", ())


def test_battery_off_without_codes_saved_is_the_last_resort_and_warned_of() -> None:
    ring = {"kind": "joint", "id": "J", "members": [{"terminal": "BAT:+"}, {"lead": "Q", "end": 1}],
            "type": "ring_terminal"}  # fmt: skip
    lead = {"kind": "lead", "id": "Q", "size_mm2": 1.0, "length_m": 0.5, "end_2": {"loose": {"treatment": "taped"}}}
    (step,) = bench(ring, lead).found["+Q"].steps

    assert (step.code, step.warnings) == ("battery_off", ("codes_not_saved",))


def test_engine_stops_before_the_battery_comes_off() -> None:
    found = bench(bridge("Q", "W10", "W30"), scope=NO_MAIN_FUSE | SAVED, alternator=True)

    assert found.done("+Q.lead") == [("engine_off", None), ("battery_off", "BAT")]
    assert found.found["+Q.lead"].steps[0].live_after
    assert found.found["+Q.lead"].proved


@pytest.mark.parametrize(
    ("sort", "model", "code"),
    [("battery", "battery", "battery_off"), ("solar_regulator", "solar_regulator", "regulator_off")],
)
def test_second_source_is_named(sort: str, model: str, code: str) -> None:
    found = bench(tap("Q", "W10", device(sort, source(model), own_energy="yes")), grounded("N", "Q.device"))
    isolation = found.found["+Q.lead"]

    assert found.done("+Q.lead") == [(code, "+Q.device"), ("pull_fuse", "F1_FUSE")]
    assert isolation.steps[0].because == "+Q.device"
    assert {one.node for one in isolation.steps[0].live_after} == {"+Q.lead#1", "+Q.device:+"}
    assert isolation.proved


def test_cells_of_its_own_are_put_to_rest_first() -> None:
    load = {"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 0.5, "rated_V": 12}
    found = bench(tap("Q", "W10", device("siren", load, own_energy="yes")), grounded("N", "Q.device"))
    isolation = found.found["+Q.lead"]

    assert found.done("+Q.lead") == [("disarm", "+Q.device"), ("pull_fuse", "F1_FUSE")]
    assert {one.volts is None for one in isolation.live_before if one.node == "+Q.lead#1"} == {False}
    assert found.found["+N"].answer == "dead_already"


def test_backfeed_through_a_load_is_cut() -> None:
    feed = tap("Q", "W30", device("lamp", LAMP))
    back = {"kind": "lead", "id": "N", "size_mm2": 1.0, "length_m": 0.5, "end_1": {"device": "Q.device", "pin": "-"},
            "end_2": {"loose": {"treatment": "taped"}}}  # fmt: skip
    found = bench(feed, back)

    assert found.done("+N") == [("pull_fuse", "F3_FUSE")]
    assert found.found["+N"].steps[0].path[-1] in ("+Q.device", "+N")


@pytest.mark.parametrize(("ohm", "answer"), [(100, "steps"), (100_000, "dead_already")])
def test_what_can_drive_next_to_nothing_is_dead(ohm: float, answer: str) -> None:
    load = {"kind": "load", "between": ["+", "-"], "model": "resistance", "resistance_ohm": ohm}
    back = {"kind": "lead", "id": "N", "size_mm2": 1.0, "length_m": 0.5, "end_1": {"device": "Q.device", "pin": "-"},
            "end_2": {"loose": {"treatment": "taped"}}}  # fmt: skip

    assert bench(tap("Q", "W30", device("other", load)), back).found["+N"].answer == answer


@pytest.mark.parametrize(("towards", "is_live"), [(2, True), (1, False)])
def test_diode_lets_a_short_draw_one_way(towards: int, is_live: bool) -> None:
    diode = {"kind": "diode", "distance_m": 0.2, "conducts_towards_end": towards}
    found = bench(tap("Q", "W10", inline=[diode]))

    beyond = {one.node for one in found.found["+Q.lead"].live_before} & {"+Q.lead#2", "+Q.lead~0#2"}
    assert bool(beyond) == is_live
    assert found.done("+Q.lead") == [("pull_fuse", "F1_FUSE")]


def test_restraint_is_left_to_a_qualified_person() -> None:
    found = bench(tap("Q", "W50")).found["+Q.lead"]

    assert (found.answer, found.steps, found.dead, found.proved) == ("by_a_qualified_person", (), False, False)
    assert {one.reason for one in found.refused} == {"restraint"}
    assert {(one.node, one.fed_by) for one in found.stays_live} == {("+Q.lead#1", "BAT"), ("+Q.lead#2", "BAT")}


@pytest.mark.parametrize(
    ("code", "element", "at", "reason"),
    [
        ("pull_fuse", "F5_FUSE", "F5", "restraint"),
        ("unplug", "U9", None, "restraint"),
        ("source_end_off", "+B.lead", "+B.joint1", "restraint"),
        ("source_end_off", "+B.lead", "+B.joint2", "restraint"),
        ("pull_fuse", "F3_FUSE", "F3", None),
    ],
)
def test_hands_stay_off_a_restraint(code: str, element: str, at: str | None, reason: str | None) -> None:
    found = bench(bridge("B", "W50", "W30"))
    leave = Leave(found.reference, found.survey.scope, found.harness)

    assert leave.refusal(Way(code=code, element=element, at=at, done=Done())) == reason
    assert found.found["+B.lead"].answer == "by_a_qualified_person"


@pytest.mark.parametrize(("wire", "reason"), [("W50", "restraint"), ("W30", None)])
def test_device_whose_lead_ends_at_a_restraint_is_not_unplugged(wire: str, reason: str | None) -> None:
    """Who pulls the plug of the device pulls at the lead, and so at the joint on the restraint's wire."""
    load = {"kind": "load", "between": ["+", "-"], "model": "resistance", "resistance_ohm": 100}
    found = bench(tap("Q", wire, device("other", load)))
    leave = Leave(found.reference, found.survey.scope, found.harness)

    assert leave.refusal(Way(code="unplug", element="+Q.device", at=None, done=Done())) == reason


def test_live_joint_with_no_fuse_before_it_is_not_parted() -> None:
    (step,) = bench(tap("Q", "W1")).found["+Q.lead"].steps
    assert (step.code, step.warnings) == ("battery_off", ("codes_not_saved",))

    left = bench(tap("Q", "W1"), scope={"out_of_scope": [{"element": "BAT"}]}).found["+Q.lead"]
    assert left.answer == "by_a_qualified_person"
    assert {(one.code, one.reason) for one in left.refused} == {
        ("battery_off", "out_of_scope"),
        ("source_end_off", "live_unfused"),
    }


def test_nothing_may_be_taken_apart() -> None:
    found = bench(tap("Q", "W10"), scope={"dismantling": "none"}).found["+Q.lead"]

    assert (found.answer, found.steps) == ("by_a_qualified_person", ())
    assert {one.reason for one in found.refused} == {"dismantling"}
    assert {one.code for one in found.refused} >= {"pull_fuse", "battery_off", "source_end_off"}


@pytest.mark.parametrize("member", ["not_opened", "out_of_scope"])
def test_what_is_beyond_the_scope_is_left(member: str) -> None:
    barred = [{"element": "F1"}, {"zone": "Z_BAY"}]

    assert bench(tap("Q", "W10"), scope={member: barred}).done("+Q.lead") == [("source_end_off", "+Q.lead")]


def test_end_not_traced_is_said() -> None:
    found = bench(tap("Q", "W10", {"not_traced": True})).found["+Q.lead"]

    assert (found.dead, found.proved) == (True, False)
    assert [fact.code for fact in found.assumed] == ["not_traced"]


def test_cut_through_circuit_is_joined_again_and_proved() -> None:
    relay = {"kind": "switch", "label": "hidden", "terminals": ["1", "2"], "positions": ["off", "on"],
             "rest_position": "on",
             "contents": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}]}  # fmt: skip
    insertion = {"kind": "insertion", "id": "Q", "in": {"wire": "W32", "at": {"from_end": 1, "distance_m": 0.4}},
                 "joints": [{"type": "twisted"}, {"type": "twisted"}], "leads": [{}, {}], "device": relay}  # fmt: skip
    ((step,),) = bench(insertion).removals

    assert (step.code, step.ends) == ("rejoin", ("XC1:1b", "E3:54"))
    assert [(one.code, one.subject, one.condition) for one in step.prove] == [("works", "E3", "braking")]


def test_feeds_come_off_before_loads_and_grounds() -> None:
    steps = bench(tap("Q", "W10", device("lamp", LAMP)), grounded("N", "Q.device")).removals[0]

    assert [one.code for one in steps] == ["power_off", "load_off", "ground_off"]
    assert steps[0].greatest_A == pytest.approx(1.75, rel=0.1)
    assert {(one.code, one.subject) for one in steps[0].prove} == {("dead", "+Q.lead#1"), ("dead", "+Q.device:+")}


def test_second_battery_is_off_before_its_lead() -> None:
    steps = bench(tap("Q", "W10", device("battery", source("battery"))), grounded("N", "Q.device")).removals[0]

    assert [one.code for one in steps] == ["source_off", "power_off", "ground_off"]
    assert {one.code for one in steps[1].prove} == {"dead"}


WIRES = ("W10", "W11", "W12", "W20", "W21", "W30", "W32", "W40", "W43", "W50", "W51")


@st.composite
def benches(draw: st.DrawFn) -> Bench:
    made: list[Json] = []
    for number in range(draw(st.integers(1, 3))):
        name, one = f"Q{number}", draw(st.sampled_from(WIRES))
        kind = draw(st.sampled_from(["tap", "bridge", "lamp", "battery", "siren"]))
        if kind == "tap":
            made.append(tap(name, one))
        elif kind == "bridge":
            made.append(bridge(name, one, draw(st.sampled_from([other for other in WIRES if other != one]))))
        else:
            contents = source("battery") if kind == "battery" else LAMP
            more: Json = {"own_energy": "yes"} if kind == "siren" else {}
            made += [tap(name, one, device(kind, contents, **more)), grounded(f"N{number}", f"{name}.device")]
    return bench(
        *made,
        alternator=draw(st.booleans()),
        scope={
            "codes_saved": draw(st.sampled_from(["yes", "no", "unknown"])),
            "dismantling": draw(st.sampled_from(["none", "covers", "trim", "anything"])),
            "out_of_scope": draw(
                st.sampled_from([[], [{"element": "F1"}], [{"zone": "Z_BAY"}], [{"circuit": "C_STOP"}]])
            ),
        },
    )


@settings(max_examples=25, deadline=None)
@given(benches())
def test_laws(case: Bench) -> None:
    scope = case.survey.scope
    barred = {place.element or place.zone or place.circuit for place in scope.out_of_scope}
    for target, found in case.found.items():
        order = [isolation_steps()[step.code].order for step in found.steps]
        assert order == sorted(order)
        assert found.dead == (not found.stays_live) == (found.answer != "by_a_qualified_person")
        assert found.dead or found.refused
        if found.steps:
            assert found.dead == (not found.steps[-1].live_after)
        for step in found.steps:
            touched = [case.harness.by_id[name] for name in (step.element, step.at) if name in case.harness.by_id]
            assert not any(getattr(one, "protected", None) for one in touched)
            assert not barred & {value for one in touched for value in (one.id, getattr(one, "zone", None))}
            assert step.code == "engine_off" or scope.dismantling != "none" or step.code == "disarm"
            assert step.warnings == (
                ("codes_not_saved",) if step.code == "battery_off" and scope.codes_saved != "yes" else ()
            )
        if target.startswith("install"):
            continue
        if found.dead:
            assert case.live_with(target, found.steps) == set()
        if len(found.steps) == 1 and found.dead and found.steps[0].code == "pull_fuse":
            assert case.live_with(target, without(found, found.steps[0]).steps)
