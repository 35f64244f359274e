"""Shorts: every node at once against one solved by itself, and the least and the greatest about it."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pytest

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.faults import faults, settled_under, shorts_everywhere
from harnessdiff.analyse.network.settle import settled_in_all
from harnessdiff.analyse.network.without import chords
from tests.cli.living import living_data
from tests.support import reference_from

if TYPE_CHECKING:
    from harnessdiff.analyse.network.settle import Settled


@cache
def bench(condition: str = "side") -> Settled:
    reference = reference_from(living_data())
    return settled_in_all(Network(reference.harness, "negative", 12), reference.conditions)[condition]


def test_shorts_everywhere_are_those_of_the_dense_inverse() -> None:
    settled = bench()
    network = settled.network
    conductance = chords(settled)
    dense, injected = np.zeros((len(network.nodes),) * 2), np.zeros(len(network.nodes))
    for branch in network.branches:
        one, other, g = network.index[branch.one], network.index[branch.other], conductance[branch.number]
        if branch.kind == "source":
            g = settled.laws.numbers[branch.number, 1]
            injected[one] += g * settled.laws.numbers[branch.number, 0]
            injected[other] -= g * settled.laws.numbers[branch.number, 0]
        dense[[one, other], [one, other]] += g
        dense[[one, other], [other, one]] -= g
    ground = network.index[network.ground]
    floating = settled.solution.floating
    kept = [number for number in range(len(network.nodes)) if number != ground and not floating[number]]
    inverse = np.linalg.inv(dense[np.ix_(kept, kept)])
    expected = np.abs(inverse @ injected[kept]) / np.diag(inverse)

    found = shorts_everywhere(settled)

    assert found.current_A[kept] == pytest.approx(expected, rel=1e-6, abs=1e-9)
    assert np.all(found.current_A[floating] == 0)


def test_short_comes_through_the_fuse_before_it() -> None:
    found = shorts_everywhere(bench())

    current, fuse = found.at("E1:58")
    assert fuse is not None
    assert fuse.element == "F1_FUSE"
    assert 20 < current < 300
    assert found.at("BAT:+")[1] is None


@pytest.mark.parametrize("node", ["E1:58", "F1:out", "BAT:+"])
def test_least_and_greatest_lie_about_what_is_likeliest(node: str) -> None:
    settled = bench()
    likeliest = shorts_everywhere(settled).at(node)[0]
    least, greatest = (faults(settled, [node], least=one).current_A[0] for one in (True, False))

    assert least < likeliest < greatest * 1.05


def test_relay_that_a_short_starves_lets_go() -> None:
    """The horn's relay is held by the same battery that a short at its pole takes down."""
    settled = bench("horn")
    assert "K1_RELAY" in settled.state.pulled
    assert faults(settled, ["BAT:+"], least=False).flips(settled, "BAT:+")

    under, short = settled_under(settled, "BAT:+")

    assert "K1_RELAY" not in under.state.pulled
    assert abs(under.current_A(short)) > 100
