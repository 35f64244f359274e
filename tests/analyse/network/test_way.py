"""The way of the current: from the source to the load and back, by the most of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.analyse.network.way import LEAST_A, Step, Ways, added_about, elements_of
from tests.analyse.network.solved import SOME, found
from tests.analyse.rigs import at, bridge, two_lamps
from tests.strategies import references
from tests.support import Json, bench_data, body, case_from, lamp, reference_from, rig, run, source


def two_feeds(first_m: float, second_m: float) -> Settled:
    """A lamp that is fed by two wires of some length."""
    wires = [{"id": f"W{n}", "from": "BAT:+", "to": "E:1", "size_mm2": 1, "length_m": length}
             for n, length in enumerate((first_m, second_m))]  # fmt: skip
    reference = rig([source(voltage_V=12), body(), lamp("E")], [*wires, *run("BAT:-", "BODY:1")])
    return settle(Network(reference.harness), SOME)


@settings(max_examples=20)
@given(st.lists(st.integers(1, 50), min_size=2, max_size=2, unique=True))
def test_way_is_by_the_most_current(lengths_m: list[int]) -> None:
    shorter = lengths_m.index(min(lengths_m))

    assert elements_of(Ways(two_feeds(*lengths_m)).feed("E:1")) == ("BAT", f"W{shorter}")


def test_of_two_ways_alike_the_first_counts() -> None:
    assert elements_of(Ways(two_feeds(2, 2)).feed("E:1")) == ("BAT", "W0")


def hangs_together(way: tuple[Step, ...]) -> bool:
    return all(one.to_node == following.from_node for one, following in pairwise(way))


@settings(max_examples=25)
@given(st.data())
def test_way_of_every_load_that_works_leads_from_a_source_and_back(data: st.DataObject) -> None:
    settled = found(data)
    network, ways = settled.network, Ways(settled)
    for load in network.loads:
        current = settled.current_A(load)
        if abs(current) < 100 * LEAST_A:
            continue
        entered, left = (load.one, load.other) if current > 0 else (load.other, load.one)
        feed, back = ways.feed(entered), ways.back(left)

        assert hangs_together((*feed, ways.step(load, entered), *back))
        assert feed[0].branch.kind == "source"
        assert feed[-1].to_node == entered
        assert back[-1].branch.kind == "source"
        assert all(step.current_A > 0 for step in (*feed, *back))
        nodes = [step.to_node for step in feed]
        assert len(nodes) == len(set(nodes))


@settings(max_examples=15)
@given(references())
def test_what_is_live_without_current_is_fed_by_what_conducts(data: Json) -> None:
    network = Network(reference_from(data).harness)
    settled = settle(network, SOME)
    ways = Ways(settled)
    for node in network.nodes:
        feed = ways.feed(node)
        volts = settled.voltage_V(node)
        if feed and abs(feed[-1].current_A) < LEAST_A:
            assert hangs_together(feed)
            assert all(settled.conducts(step.branch) for step in feed)
        if not feed and node not in network.metal:
            assert volts is None or abs(volts) < 1


def test_way_ends_where_nothing_leads() -> None:
    network = Network(reference_from(bench_data()).harness)
    ways = Ways(settle(network, SOME))

    assert ways.feed("E1:58") == ()
    assert elements_of(ways.feed("S1:30")) == ("BAT", "W1", "F0_FUSE", "W2", "BUS", "F1", "F1_FUSE", "W10")


def test_step_says_what_is_on_either_side() -> None:
    (feed, wire) = Ways(two_feeds(1, 50)).feed("E:1")

    assert (feed.from_node, feed.to_node) == ("BAT:-", "BAT:+")
    assert feed.from_V == 0.0
    assert feed.to_V == pytest.approx(12, abs=0.1)
    assert wire.from_V == feed.to_V
    assert (wire.to_V or 0) < (wire.from_V or 0)
    assert wire.current_A < feed.current_A


@pytest.mark.parametrize(("node", "elements"), [
    ("E1:31", ("W14", "GND1")), ("E2:31", ("E2",)), ("BODY:1", ()), ("BAT:+", ()), ("GND1:1", ("GND1",)),
])  # fmt: skip
def test_shortest_way_to_metal_passes_no_load(node: str, elements: tuple[str, ...]) -> None:
    found = Ways(settle(Network(reference_from(bench_data()).harness), SOME)).to_metal(node)

    assert found == elements


def test_added_things_about_a_place_on_a_way_are_told_together() -> None:
    case = case_from(two_lamps(), bridge("X", at("W_S_1"), at("W_I_1")))
    settled = settle(Network(case.as_found), replace(SOME, positions=(("I", "on"),)))
    way = Ways(settled).feed("E:1")
    places = [n for n, step in enumerate(way) if step.branch.element.startswith("+")]

    assert {added_about(way, place) for place in places} == {tuple(way[n].branch.element for n in places)}
    assert set(added_about(way, places[0])) == {"+X.joint1", "+X.lead", "+X.joint2"}
