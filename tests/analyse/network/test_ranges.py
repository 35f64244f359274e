"""Ranges of voltages, currents and powers hold whatever the unknowns are, and are tight where they say so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.ports import Array
from harnessdiff.analyse.network.unknowns import (
    GROUND,
    Bounds,
    Branch,
    CurrentIn,
    PowerIn,
    UnknownConductance,
    UnknownCurrent,
    VoltageBetween,
)
from tests.analyse.network.resistive import Network, networks

BATTERY = Branch(plus=0, minus=GROUND, conductance_S=100.0, emf_V=12.0)
LAMP = Branch(plus=1, minus=GROUND, conductance_S=0.4)
SPAN_V = (0.0, 12.0)


def joint(plus: int, minus: int, low_S: float = 0.0, high_S: float = 100.0) -> UnknownConductance:
    """A joint between two nodes, nominally good."""
    return UnknownConductance(plus=plus, minus=minus, nominal_S=high_S, low_S=low_S, high_S=high_S)


def slack(found: tuple[Bounds, ...]) -> Array:
    """What rounding may do to each range: a part in 10⁹, of the quantity or of the widest of its kind."""
    return np.array([1e-8 * max(1.0, abs(each.low), abs(each.high)) for each in found])


def lows(found: tuple[Bounds, ...]) -> Array:
    return np.array([each.low for each in found])


def highs(found: tuple[Bounds, ...]) -> Array:
    return np.array([each.high for each in found])


def assert_holds(network: Network, cases: Array, span_V: tuple[float, float] = (-60, 60)) -> None:
    """Every case, solved whole, lies within every range."""
    asked = network.everything()
    found = network.ranges(asked, span_V)
    values = network.read(asked, cases)
    assert (values >= lows(found) - slack(found)).all()
    assert (values <= highs(found) + slack(found)).all()
    assert all(each.guaranteed and each.low <= each.nominal <= each.high for each in found)


@given(networks(), st.integers(0, 2**31))
def test_every_choice_lies_within_the_range(network: Network, seed: int) -> None:
    assert_holds(network, np.vstack((network.cases(400, seed), network.corners())))


@settings(max_examples=30)
@given(networks(least=11, most=22), st.integers(0, 2**31))
def test_every_choice_of_many_unknowns_lies_within_the_range(network: Network, seed: int) -> None:
    assert_holds(network, network.cases(600, seed))


@settings(max_examples=20)
@given(networks(least=11, most=22, opens=False), st.integers(0, 2**31))
def test_so_it_does_where_nothing_can_open(network: Network, seed: int) -> None:
    assert_holds(network, network.cases(600, seed))


@given(networks())
def test_up_to_ten_unknowns_make_a_range_whose_ends_are_attained(network: Network) -> None:
    asked = network.everything()
    found = network.ranges(asked)
    values = network.read(asked, network.corners())
    for place, each in enumerate(asked):
        if isinstance(each, PowerIn):
            continue
        assert found[place].method != "outer"
        assert found[place].low == pytest.approx(values[:, place].min(), rel=1e-8, abs=1e-8)
        assert found[place].high == pytest.approx(values[:, place].max(), rel=1e-8, abs=1e-8)


@given(networks(least=1, most=4))
def test_the_ends_of_a_power_are_attained(network: Network) -> None:
    asked = [each for each in network.everything() if isinstance(each, PowerIn)]
    found = network.ranges(asked)
    for place, each in enumerate(asked):
        cases = network.corners()
        if isinstance(each.branch, int):  # its own conductance is tried closely, the others at their ends
            low, _, high = network.box[:, each.branch]
            tried = np.append(np.geomspace(max(low, high / 1e6), high, 2000), low)
            cases = np.repeat(cases, len(tried), axis=0)
            cases[:, each.branch] = np.tile(tried, len(cases) // len(tried))
        values, crossing = network.read([each, CurrentIn(branch=each.branch)], cases).T
        assert found[place].high == pytest.approx(values.max(), rel=1e-3, abs=1e-7)
        assert values.max() <= found[place].high * (1 + 1e-8) + 1e-8
        turns = crossing.min() < 0 < crossing.max()
        assert found[place].low == pytest.approx(0 if turns else values.min(), rel=1e-6, abs=1e-7)


@given(networks(most=0))
def test_no_unknowns_leave_the_point(network: Network) -> None:
    asked = network.everything()
    values = network.read(asked, np.zeros((1, 0)))[0]
    for each, value in zip(network.ranges(asked), values, strict=True):
        assert each.low == each.nominal == each.high == pytest.approx(value, rel=1e-8, abs=1e-8)
        assert (each.method, each.mattered) == ("exact", ())


@given(networks(least=1), st.data())
def test_narrowing_an_unknown_never_widens_a_range(network: Network, data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(network.unknowns) - 1))
    part_low, part_high = data.draw(st.floats(0, 1)), data.draw(st.floats(0, 1))
    unknown = network.unknowns[place]
    low, nominal, high = network.box[:, place]
    low, high = float(low + part_low * (nominal - low)), float(high - part_high * (high - nominal))
    low, high = min(low, float(nominal)), max(high, float(nominal))
    if isinstance(unknown, UnknownConductance):
        narrower = replace(unknown, low_S=low, high_S=high)
        narrowed = replace(network, unknowns=(*network.unknowns[:place], narrower, *network.unknowns[place + 1 :]))
    else:
        steadier = replace(unknown, low_A=low, high_A=high)
        narrowed = replace(network, unknowns=(*network.unknowns[:place], steadier, *network.unknowns[place + 1 :]))
    asked = network.everything()
    wide, narrow = network.ranges(asked), narrowed.ranges(asked)
    assert (lows(narrow) >= lows(wide) - slack(wide)).all()
    assert (highs(narrow) <= highs(wide) + slack(wide)).all()


def test_ten_thousand_choices_lie_within_and_nearly_fill_the_ranges() -> None:
    """Twelve nodes, two sources, a ring with three shunts, ten unknowns: joints, an open, loads, a draw."""
    known = [BATTERY, Branch(plus=6, minus=GROUND, conductance_S=50.0, emf_V=14.2)]
    known += [Branch(plus=node, minus=(node + 1) % 12, conductance_S=40.0 + 5 * node) for node in range(12)]
    known += [Branch(plus=node, minus=GROUND, conductance_S=0.5 * node) for node in (2, 5, 9)]
    unknowns = (
        joint(0, 4, 2.0), joint(4, 8), joint(8, 10, 1.0, 30.0), joint(2, 7), joint(3, 11, 5.0, 20.0),
        joint(1, GROUND, 0.1, 2.0), joint(5, GROUND, 0.0, 1.0), joint(10, GROUND, 0.2, 4.0),
        UnknownCurrent(plus=9, nominal_A=2.0, low_A=0.0, high_A=6.0),
        UnknownConductance(plus=7, minus=GROUND, nominal_S=20.0, low_S=5.0, high_S=60.0, emf_V=12.5),
    )  # fmt: skip
    network = Network(12, tuple(known), unknowns)
    assert_holds(network, network.cases(10_000, seed=1), span_V=(0, 14.2))
    voltages = [VoltageBetween(plus=node) for node in range(12)]
    found, values = network.ranges(voltages, (0, 14.2)), network.read(voltages, network.corners())
    assert lows(found) == pytest.approx(values.min(axis=0), abs=1e-9)
    assert highs(found) == pytest.approx(values.max(axis=0), abs=1e-9)
    assert {each.method for each in found} == {"vertices"}


def test_many_joints_in_a_row_need_no_corners() -> None:
    """Thirty joints between battery and lamp all act in one direction, so that two solutions are the range."""
    known = (BATTERY, Branch(plus=30, minus=GROUND, conductance_S=0.4))
    network = Network(31, known, tuple(joint(node, node + 1, 20.0, 1000.0) for node in range(30)))
    (found,) = network.ranges([VoltageBetween(plus=30)], SPAN_V)
    assert found.method == "vertices"
    assert found.low == pytest.approx(12 / (1 + 0.4 * (0.01 + 30 / 20)), abs=1e-9)
    assert found.high == pytest.approx(12 / (1 + 0.4 * (0.01 + 30 / 1000)), abs=1e-9)
    assert len(found.mattered) == 30


def test_a_feed_into_an_open_goes_to_the_other_end_of_the_span() -> None:
    feed = UnknownCurrent(plus=1, nominal_A=-0.2, low_A=-0.3, high_A=-0.1)
    (found,) = Network(2, (BATTERY,), (joint(0, 1), feed)).ranges([VoltageBetween(plus=1)], (0, 20))
    assert (found.low, found.high) == pytest.approx((12 + 0.001 + 0.001, 20), abs=1e-9)


def test_more_than_ten_opens_in_a_mesh_leave_a_useful_range() -> None:
    """Sixteen bridges that may be open across a ring with loads: not much wider than what trying finds."""
    known = [BATTERY, Branch(plus=4, minus=GROUND, conductance_S=50.0, emf_V=13.5)]
    known += [Branch(plus=node, minus=(node + 1) % 8, conductance_S=20.0) for node in range(8)]
    known += [Branch(plus=node, minus=GROUND, conductance_S=0.3 * node) for node in range(1, 8)]
    bridges = [joint(node, (node + far) % 8, 0.0, 10.0 + node) for node in range(8) for far in (2, 3)]
    network = Network(8, tuple(known), tuple(bridges))
    asked = [VoltageBetween(plus=node) for node in range(8)]
    found, values = network.ranges(asked, (0, 13.5)), network.read(asked, network.cases(4000, seed=3))
    assert {each.method for each in found} <= {"vertices", "outer"}
    assert (highs(found) - lows(found) <= 2.5 * np.ptp(values, axis=0)).all()
    assert_holds(network, network.cases(4000, seed=3), (0, 13.5))


def test_unknowns_that_cannot_matter_are_left_out_and_the_strongest_comes_first() -> None:
    loads = (joint(2, GROUND, 0.1, 0.11), joint(1, GROUND, 0.1, 2.0))
    beyond = joint(3, 4, 1.0, 100.0)  # leads to where nothing draws
    known = (BATTERY, Branch(plus=0, minus=1, conductance_S=10.0), Branch(plus=1, minus=2, conductance_S=10.0))
    network = Network(5, (*known, Branch(plus=2, minus=3, conductance_S=1.0)), (*loads, beyond))
    (found,) = network.ranges([VoltageBetween(plus=2)], SPAN_V)
    assert found.mattered == (1, 0)


class TestOpens:
    """A joint that may be open may leave a node with nothing to hold it."""

    def test_a_dead_end_keeps_the_voltage_that_it_hangs_on(self) -> None:
        network = Network(3, (BATTERY, Branch(plus=0, minus=1, conductance_S=10.0), LAMP), (joint(1, 2),))
        lamp, end, through = network.ranges(
            [VoltageBetween(plus=1), VoltageBetween(plus=2), CurrentIn(branch=0)], SPAN_V
        )
        assert (end.low, end.high) == pytest.approx((lamp.nominal, lamp.nominal), abs=1e-9)
        assert (through.low, through.high) == pytest.approx((0, 0), abs=1e-9)

    def test_a_lamp_between_two_joints_takes_the_voltage_of_whichever_conducts(self) -> None:
        known = (BATTERY, Branch(plus=1, minus=2, conductance_S=0.4))
        network = Network(3, known, (joint(0, 1), joint(2, GROUND)))
        feed, ground, lamp = network.ranges(
            [VoltageBetween(plus=1), VoltageBetween(plus=2), VoltageBetween(plus=1, minus=2)], SPAN_V
        )
        nominal = network.read([VoltageBetween(plus=1, minus=2)], network.box[1:2])[0, 0]
        assert (feed.low, feed.high) == pytest.approx((0, 12), abs=1e-9)
        assert (ground.low, ground.high) == pytest.approx((0, 12), abs=1e-9)
        assert (lamp.low, lamp.high) == pytest.approx((0, nominal), abs=1e-9)

    def test_a_node_between_two_opens_may_be_at_either_side(self) -> None:
        network = Network(2, (BATTERY,), (joint(0, 1), joint(1, GROUND, 0.0, 0.001)))
        (found,) = network.ranges([VoltageBetween(plus=1)], SPAN_V)
        assert (found.low, found.high) == pytest.approx((0, 12), abs=1e-9)
        assert found.method == "vertices"

    def test_a_draw_beyond_an_open_goes_to_the_end_of_the_span_and_its_current_stands(self) -> None:
        draw = UnknownCurrent(plus=1, nominal_A=0.2, low_A=0.1, high_A=0.3)
        network = Network(2, (BATTERY,), (joint(0, 1), draw))
        beyond, before, through, heat = network.ranges(
            [VoltageBetween(plus=1), VoltageBetween(plus=0), CurrentIn(branch=0), PowerIn(branch=0)], SPAN_V
        )
        assert (beyond.low, beyond.high) == pytest.approx((0, 12 - 0.001 - 0.001), abs=1e-9)
        assert (before.low, before.high) == pytest.approx((12 - 0.003, 12 - 0.001), abs=1e-9)
        assert (through.low, through.high) == pytest.approx((0.1, 0.3), abs=1e-9)
        assert heat.low == pytest.approx(0.1**2 / 100, abs=1e-9)
        assert heat.high == pytest.approx(100 * 12**2)  # no more than the conductance could at the whole span

    def test_many_opens_are_held_to_the_span(self) -> None:
        """Twelve lamps, each between joints that may be open, and bridges from lamp to lamp."""
        known, unknowns = [BATTERY], []
        for lamp in range(12):
            plus, minus = 1 + 2 * lamp, 2 + 2 * lamp
            known.append(Branch(plus=plus, minus=minus, conductance_S=0.4))
            unknowns += [joint(0, plus), joint(minus, GROUND), joint(minus, max(plus - 2, 0), 0.0, 1.0)]
        network = Network(25, tuple(known), tuple(unknowns))
        asked = [VoltageBetween(plus=node) for node in range(25)]
        found = network.ranges(asked, SPAN_V)
        values = network.read(asked, np.maximum(network.cases(2000, seed=2), 1e-6))
        assert (values >= lows(found) - 1e-6).all()
        assert (values <= highs(found) + 1e-6).all()
        assert all(each.low >= 0 and each.high <= 12 for each in found)

    def test_a_faint_leak_behind_an_open_is_no_dead_end(self) -> None:
        network = Network(2, (BATTERY, Branch(plus=1, minus=GROUND, conductance_S=1e-6)), (joint(0, 1),))
        (found,) = network.ranges([VoltageBetween(plus=1)], SPAN_V)
        assert (found.low, found.high) == pytest.approx((0, 12), abs=1e-4)


def test_a_conductance_that_cannot_vary_is_as_good_as_known() -> None:
    fixed = joint(0, 1, 5.0, 5.0)
    unknown = Network(2, (BATTERY, LAMP), (fixed,))
    known = Network(2, (BATTERY, LAMP, Branch(plus=0, minus=1, conductance_S=5.0)), ())
    (ours,) = unknown.ranges([CurrentIn(branch=0)], SPAN_V)
    (theirs,) = known.ranges([CurrentIn(branch=known.known[2])], SPAN_V)
    assert (ours.low, ours.high, ours.method) == pytest.approx((theirs.low, theirs.high, "exact"), abs=1e-12)


def test_nothing_asked_is_nothing_told() -> None:
    assert Network(2, (BATTERY, LAMP), (joint(0, 1),)).ranges([], SPAN_V) == ()


@pytest.mark.parametrize(
    "unknown",
    [
        UnknownConductance(plus=0, minus=1, nominal_S=1.0, low_S=2.0, high_S=3.0),
        UnknownConductance(plus=0, minus=1, nominal_S=1.0, low_S=-1.0, high_S=3.0),
        UnknownConductance(plus=0, minus=1, nominal_S=1.0, low_S=0.0, high_S=np.inf),
        UnknownConductance(plus=1, minus=1, nominal_S=1.0, low_S=0.0, high_S=3.0),
        UnknownCurrent(plus=1, nominal_A=4.0, low_A=0.0, high_A=3.0),
    ],
)
def test_ranges_that_are_none_are_refused(unknown: UnknownConductance | UnknownCurrent) -> None:
    lead = Branch(plus=0, minus=1, conductance_S=1.0)
    with pytest.raises(ValueError, match=r"conductance|range"):
        Network(2, (BATTERY, LAMP, lead), (unknown,)).ranges([])


def test_a_span_that_is_none_and_a_power_in_a_draw_are_refused() -> None:
    draw = UnknownCurrent(plus=0, nominal_A=1.0, low_A=0.0, high_A=3.0)
    network = Network(1, (BATTERY,), (draw,))
    with pytest.raises(ValueError, match="span"):
        network.ranges([], (3, 2))
    with pytest.raises(ValueError, match="draw"):
        network.ranges([PowerIn(branch=0)])
