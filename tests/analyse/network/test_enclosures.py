"""What unknowns draw lies within each of the bounds that enclosures start from, and within what they come to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.analyse.network.enclosures import (
    Interval,
    by_energy,
    by_maximum_principle,
    enclosures,
    energies,
    unit_caps,
)
from harnessdiff.analyse.network.ports import Ports, centred, nominal_ports, reading_of
from harnessdiff.analyse.network.unknowns import VoltageBetween
from tests.analyse.network.resistive import networks

if TYPE_CHECKING:
    from harnessdiff.analyse.network.ports import Array
    from tests.analyse.network.resistive import Network

SPAN_V = (-60.0, 60.0)


def ports_of(network: Network) -> Ports:
    """The network at its unknowns and at all of its nodes, held at the centre."""
    matrix, currents = network.assembled(network.box[1:2])
    voltages = np.linalg.solve(matrix[0], currents[0])
    readings = [reading_of(VoltageBetween(plus=node), network.unknowns) for node in range(network.nodes)]
    return centred(nominal_ports(lambda right: np.linalg.solve(matrix[0], right), voltages, network.unknowns, readings))


def drawn(ports: Ports, move: Array) -> Array:
    """What is drawn when unknowns move: fed, and with a unit drawn at each of them while it is held."""
    count = len(move)
    by_S, draw_A = np.where(ports.conducts, move, 0), np.where(ports.conducts, 0, move)
    voltage = np.linalg.solve(np.eye(count) + ports.mutual * by_S, ports.voltage - ports.mutual @ draw_A)
    columns = [by_S * voltage + draw_A]
    for held in range(count):
        others_S = np.where(np.arange(count) == held, 0, by_S)
        columns.append(others_S * np.linalg.solve(np.eye(count) + ports.mutual * others_S, ports.mutual[:, held]))
    return np.array(columns).T


def assert_encloses(bound: Interval, values: Array) -> None:
    slack = 1e-7 * np.maximum(1, np.abs(values))
    assert (bound.low <= values + slack).all()
    assert (values <= bound.high + slack).all()


@given(networks(least=1, most=8), st.integers(0, 2**31))
def test_bounds_hold_for_what_is_drawn(network: Network, seed: int) -> None:
    ports = ports_of(network)
    free = np.hstack((ports.voltage[:, None], ports.mutual))
    principle = by_maximum_principle(ports, network.unknowns, SPAN_V, unit_caps(ports, SPAN_V))
    answer = energies(ports)
    energy = by_energy(ports, answer, free) if answer else None
    for values in network.cases(60, seed):
        actual = drawn(ports, values - network.box[1] - (ports.held - np.where(ports.conducts, network.box[1], 0)))
        assert_encloses(principle, actual)
        if energy:
            at = ports.conducts
            assert_encloses(Interval(energy.low[at], energy.high[at]), actual[at])


@given(networks(least=1, most=8), st.integers(0, 2**31), st.data())
def test_one_unknown_moves_no_voltage_further_than_its_influence_or_against_its_direction(
    network: Network, seed: int, data: st.DataObject
) -> None:
    ports, place = ports_of(network), data.draw(st.integers(0, len(network.unknowns) - 1))
    found = enclosures(ports, network.unknowns, SPAN_V)
    asked = [VoltageBetween(plus=node) for node in range(network.nodes)]
    cases = network.cases(60, seed)
    low, high, held = (cases.copy() for _ in range(3))
    low[:, place], high[:, place] = network.box[0, place], network.box[2, place]
    held[:, place] = ports.held[place] if ports.conducts[place] else network.box[1, place]
    least, most, still, free = (network.read(asked, each) for each in (low, high, held, cases))
    assert_encloses(found.voltage, free)
    assert (np.abs(free - still) <= found.influence[:, place] * (1 + 1e-7) + 1e-8).all()
    assert ((most - least) * found.direction[:, place] >= -1e-8).all()
