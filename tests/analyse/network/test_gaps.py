"""The way with the fewest gaps: what it passes, what stands in it, and what it never passes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.gaps import BLIND, Gaps
from harnessdiff.analyse.network.settle import settle
from harnessdiff.model.reference import Condition
from tests.support import Json, bench_data, reference_from

if TYPE_CHECKING:
    from collections.abc import Callable

BENCH = reference_from(bench_data())
NETWORK = Network(BENCH.harness)
AT_REST = Condition(id="asleep", name="asleep", key="out", engine="stopped")


def in_positions(**positions: str) -> Condition:
    return Condition(id="some", name="some", key="out", engine="stopped", positions=tuple(sorted(positions.items())))


def gaps_of(condition: Condition = AT_REST) -> Gaps:
    return Gaps(settle(NETWORK, condition))


@given(st.sampled_from(NETWORK.nodes), st.sampled_from(NETWORK.nodes))
def test_way_hangs_together_and_passes_no_load(start: str, goal: str) -> None:
    legs = gaps_of().way((start,), goal, 1.0)

    if legs is None:
        return
    nodes = [start, *(leg.other for leg in legs)]
    assert [leg.one for leg in legs] == nodes[:-1]
    assert nodes[-1] == goal
    assert len(set(nodes)) == len(nodes)
    assert all(leg.branch is None or leg.branch.kind not in BLIND for leg in legs)


@given(st.sampled_from(NETWORK.nodes), st.sampled_from(NETWORK.nodes))
def test_way_back_has_as_many_gaps(start: str, goal: str) -> None:
    there, back = gaps_of().way((start,), goal, 1.0), gaps_of().way((goal,), start, -1.0)

    assert (there is None) == (back is None)
    if there is not None and back is not None:
        assert sum(leg.gap is not None for leg in there) == sum(leg.gap is not None for leg in back)
        assert len(there) == len(back)


def test_closed_contact_is_no_gap_and_open_one_is() -> None:
    opened = gaps_of().feed("E3:54")
    closed = gaps_of(in_positions(S3="pressed")).feed("E3:54")

    assert [(leg.element, leg.gap) for leg in opened or () if leg.gap] == [("S3", "open")]
    assert [leg for leg in closed or () if leg.gap] == []


@pytest.mark.parametrize(
    ("node", "gap"), [("H1:1", ("K1_RELAY", "not_pulled_in")), ("E4:RL", ("U1", "output_off"))]
)  # fmt: skip
def test_gap_says_why_it_is_open(node: str, gap: tuple[str, str]) -> None:
    assert [(leg.element, leg.gap) for leg in gaps_of().feed(node) or () if leg.gap] == [gap]


def test_way_back_leads_to_ground() -> None:
    assert [(leg.element, leg.gap) for leg in gaps_of().back("K1:85") or () if leg.gap] == [("S2", "open")]
    assert [leg.element for leg in gaps_of().back("E3:31") or ()] == ["W33", "GND1", "W3"]


def test_gaps_are_only_passed_where_they_may_be() -> None:
    assert gaps_of().way(("BAT:+",), "E3:54", 1.0, gaps=False) is None
    assert gaps_of(in_positions(S3="pressed")).way(("BAT:+",), "E3:54", 1.0, gaps=False) is not None


def without_fuse(data: Json) -> None:
    data["devices"] = [one for one in data["devices"] if one["id"] != "F1_FUSE"]


def with_blown_fuse(data: Json) -> None:
    next(one for one in data["devices"] if one["id"] == "F1_FUSE")["state"] = "blown"


def without_relay(data: Json) -> None:
    data["devices"] = [one for one in data["devices"] if one["id"] != "K1_RELAY"]


def without_wire(data: Json) -> None:
    data["wires"] = [one for one in data["wires"] if one["id"] != "W30"]


@pytest.mark.parametrize(
    ("change", "node", "gap"),
    [
        (without_fuse, "E1:58", ("F1", "empty")),
        (with_blown_fuse, "E1:58", ("F1_FUSE", "blown")),
        (without_relay, "H1:1", ("K1_RELAY", "gone")),
        (without_wire, "E3:54", ("W30", "gone")),
    ],
)
def test_what_is_missing_is_a_gap_on_the_way_of_the_reference(
    change: Callable[[Json], None], node: str, gap: tuple[str, str]
) -> None:
    data: dict[str, Any] = bench_data()
    change(data)
    condition = in_positions(S1="on", S2="pressed", S3="pressed")
    after = settle(Network(reference_from(data).harness), condition)
    legs = Gaps(after, settle(NETWORK, condition)).feed(node)

    assert [(leg.element, leg.gap) for leg in legs or () if leg.gap] == [gap]
