"""Random networks against ngspice, a circuit simulator with a history of its own (Berkeley SPICE3).

It gets the same formulas as behavioural sources and finds its own way to the voltages: in time, from a dead
network, with a capacitor at every node, its sources turned up first and then the loads of constant power,
until all is at rest. So it comes to the high-voltage solution, too, or falls from it where there is none.
"""

from __future__ import annotations

import shutil
import subprocess
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest

from harnessdiff.analyse.network.laws import LAMP_CURRENT_EXPONENT, LEAK_S, Law
from tests.analyse.network.made_up import Element, Net, behind, with_every_kind

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from harnessdiff.analyse.network.circuit import Solution

NGSPICE = shutil.which("ngspice")
SEEDS = sorted(set(range(240)) - {110, 114})
"""Without two networks in which the steps of ngspice shrink without end where a source reaches its limit."""
UP = "PWL(0 0 1 1 2 2)"
"""Sources are turned up while this rises to 1, loads of constant power while it goes on to 2."""
END_S = 4
PATIENCE_S = 10
AGREED = 1e-6
OPTIONS = (
    ".options reltol=1e-10 abstol=1e-10 vntol=1e-11 gmin=1e-15 itl1=200 itl2=200 itl4=50 trtol=1e9 method=gear maxord=1"
)

pytestmark = pytest.mark.skipif(NGSPICE is None, reason="needs ngspice; tests/run.py --full installs it")


def formula(each: Element, volts: str) -> str:
    """The current through an element in ngspice's way of writing, `volts` being what lies across it."""
    n = [f"{number:.17g}" for number in each.numbers]
    if each.law in (Law.SOURCE, Law.BATTERY):
        n[0] += "*min(v(up),1)"
    leak = f"{LEAK_S:.17g}*{volts}"
    match each.law:
        case Law.SOURCE:
            out = f"{n[1]}*({n[0]}-{volts})"
            least, most = (f"{LEAK_S:.17g}*({volts}-({n[0]}-{limit}/{n[1]}))-{limit}" for limit in n[2:])
            return f"{out}<{n[2]} ? {least} : ({out}>{n[3]} ? {most} : -({out}))"
        case Law.BATTERY:
            return f"({volts}-{n[0]})*({volts}>{n[0]} ? {n[2]} : {n[1]})"
        case Law.DIODE:
            return f"{leak}+({volts}>{n[0]} ? {n[1]}*({volts}-{n[0]}) : 0)"
        case Law.FILAMENT:
            hot = f"{n[1]}*pow(max(abs({volts}),1e-12)/{n[0]},{LAMP_CURRENT_EXPONENT})"
            return f"sgn({volts})*min({n[2]}*abs({volts}),{hot})"
        case Law.CURRENT:
            return f"{leak}+{n[0]}*min(max({volts}/{n[1]},0),1)"
        case Law.POWER:
            draw = f"({volts}>={n[1]} ? {n[0]}/max({volts},{n[1]}) : {n[0]}/{n[1]}^2*max({volts},0))"
            return f"{leak}+max(v(up)-1,0)*{draw}"
    raise AssertionError(each.law)


def netlist(net: Net) -> str:
    """A network for ngspice: every element behind an ammeter; what floats is held at its first node."""
    lines = ["network", f"Vup up 0 {UP}"]

    def name(node: int) -> str:
        return "0" if node == net.ground else f"n{node}"

    for number, each in enumerate(net.elements):
        one, other, inner = name(each.one), name(each.other), f"m{number}"
        if not each.active:
            continue
        lines.append(f"Va{number} {one} {inner} 0")
        if each.law == Law.RESISTOR:
            lines.append(f"R{number} {inner} {other} {1 / each.numbers[0]:.17g}")
        else:
            lines.append(f"B{number} {inner} {other} I={formula(each, f'v({inner},{other})')}")
    lines += [f"C{node} {name(node)} 0 0.01" for node in range(net.nodes) if node != net.ground]
    if net.floating:
        lines.append(f"Rheld {name(min(net.floating))} 0 1")
    return "\n".join([*lines, OPTIONS, ".end", ""])


def by_ngspice(net: Net, folder: Path) -> dict[str, float]:
    """What ngspice finds in the end, by its names; empty where it comes to no end in a few seconds."""
    (folder / "net.cir").write_text(netlist(net))
    run = f"tran 0.2 {END_S} 0 0.3 uic"
    script = [".control", "set filetype=binary", "source net.cir", run, "write net.raw", "quit", ".endc", ".end"]
    (folder / "run.cir").write_text("\n".join(["run", *script, ""]))
    (folder / "net.raw").unlink(missing_ok=True)
    assert NGSPICE is not None
    command = [NGSPICE, "-n", "-b", "run.cir"]
    try:
        subprocess.run(command, cwd=folder, check=False, capture_output=True, timeout=PATIENCE_S)
    except subprocess.TimeoutExpired:
        return {}
    return last_point(folder / "net.raw")


def last_point(path: Path) -> dict[str, float]:
    """The last point of a binary raw file of ngspice."""
    head, _, data = path.read_bytes().partition(b"Binary:\n")
    names = [line.split()[1] for line in head.decode().partition("Variables:")[2].splitlines() if line[:1] == "\t"]
    points = np.frombuffer(data, dtype=np.float64).reshape(-1, len(names))
    last = dict(zip(names, map(float, points[-1]), strict=True))
    assert last["time"] == pytest.approx(END_S), f"ngspice gave up on {path.name}"
    return last


@dataclass(frozen=True)
class Both:
    """A network with what comes out of it here and there."""

    net: Net
    ours: Solution
    theirs: dict[str, float]


def apart(both: Both) -> float:
    """The greatest difference of a voltage or current, relative or absolute, whichever is less."""
    net, ours, theirs = both.net, both.ours, both.theirs
    base = ours.voltage_V[min(net.floating, default=net.ground)]
    worst = 0.0
    for node in set(range(net.nodes)) - {net.ground}:
        volts = ours.voltage_V[node] - (base if node in net.floating else 0.0)
        worst = max(worst, difference(volts, theirs[f"v(n{node})"]))
    for number, each in enumerate(net.elements):
        worst = max(worst, difference(ours.current_A[number], theirs[f"i(va{number})"] if each.active else 0.0))
    return worst


def difference(ours: float, theirs: float) -> float:
    return abs(ours - theirs) / max(1.0, abs(theirs))


def powered(net: Net) -> list[Element]:
    return [each for each in net.elements if each.law == Law.POWER]


@pytest.fixture(scope="module")
def all_of_them(tmp_path_factory: pytest.TempPathFactory) -> list[Both]:
    folder, nets = tmp_path_factory.mktemp("ngspice"), [with_every_kind(seed) for seed in SEEDS]
    return [Both(net, net.solved(), found) for net in nets if (found := by_ngspice(net, folder))]


def test_the_networks_hold_what_they_should(all_of_them: list[Both]) -> None:
    assert all({each.law for each in one.net.elements} == set(Law) for one in all_of_them)
    assert all(one.ours.converged for one in all_of_them)

    def count(law: Law, is_so: Callable[[float, float], bool]) -> int:
        return sum(
            is_so(one.ours.current_A[number], one.ours.slope_S[number])
            for one in all_of_them
            for number, each in enumerate(one.net.elements)
            if each.law == law
        )

    assert count(Law.SOURCE, lambda _, slope: slope == LEAK_S) > 20, "sources at their limit"
    assert count(Law.BATTERY, lambda current, _: current > 1) > 100, "batteries that take charge"
    assert count(Law.DIODE, lambda current, _: current > 0.1) > 20, "diodes that conduct"
    assert count(Law.DIODE, lambda current, _: abs(current) < 1e-6) > 100, "diodes that block"
    assert count(Law.POWER, lambda current, slope: current > 0 and slope < 0) > 200, "power above the knee"


def test_voltages_and_currents_are_those_of_ngspice(all_of_them: list[Both]) -> None:
    worst = [apart(one) for one in all_of_them if not one.ours.collapsed]
    assert len(worst) >= 225, "so many networks ngspice came to an end with"
    assert max(worst) < AGREED


def test_what_floats_is_told(all_of_them: list[Both]) -> None:
    assert all(set(np.flatnonzero(one.ours.floating).tolist()) == one.net.floating for one in all_of_them)


def test_a_supply_that_collapses_in_ngspice_collapses_here(all_of_them: list[Both]) -> None:
    gone = [one for one in all_of_them if one.ours.collapsed]
    assert gone
    for one in gone:
        assert all(one.theirs[f"v(n{each.one})"] < each.numbers[1] for each in powered(one.net))


@pytest.mark.parametrize("ohm", [0.05, 1.0])
def test_more_than_a_quarter_of_the_short_circuit_power_brings_the_supply_down(ohm: float, tmp_path: Path) -> None:
    shares = (0.9, 0.99, 1.02, 1.5)
    for share in shares:
        net = behind(ohm, share)
        ours, found = net.solved(), by_ngspice(net, tmp_path)
        assert bool(ours.collapsed) == (share > 1) == (found["v(n2)"] < 3)
        assert share > 1 or apart(Both(net, ours, found)) < AGREED
