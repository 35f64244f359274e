"""What an edge of a harness's graph is in numbers: its law, and the bounds of its resistance where it has one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from harnessdiff.analyse.network.laws import Law
from harnessdiff.model.harness import Conductor, Device, Harness, Inline, Joint
from harnessdiff.model.parts import Coil, Diode, Link, Load, Output, Source
from harnessdiff.model.quantity import Quantity
from harnessdiff.tables.loader import assumed_value

Numbers = tuple[float, float, float, float]
LEAST_OHM = 1e-5
"""No element has less resistance than this, so that currents through it can be told."""
UNLIMITED_A = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """The law of an element with its numbers at the nominal value, and between what its resistance may lie.

    `low_ohm` and `high_ohm` are None where the element is no resistance.
    """

    law: Law
    numbers: Numbers
    low_ohm: float | None = None
    high_ohm: float | None = None


def nominal(quantity: Quantity, otherwise: float) -> float:
    """The value a quantity is taken at: the exact one, the middle of its bounds, the bound it has, else another."""
    if quantity.low is not None and quantity.high is not None:
        return (quantity.low + quantity.high) / 2
    bound = quantity.high if quantity.low is None else quantity.low
    return otherwise if bound is None else bound


def resistor(low: float, middle: float, high: float) -> Value:
    """A resistance between bounds. [Ω]"""
    low, middle, high = (max(one, LEAST_OHM) for one in (low, middle, high))
    return Value(law=Law.RESISTOR, numbers=(1 / middle, 0.0, 0.0, 0.0), low_ohm=low, high_ohm=high)


def resistance(quantity: Quantity, name: str) -> Value:
    """A resistance as given, else the assumed value of this name; bounds where it has them."""
    middle = nominal(quantity, assumed_value(name))
    low = quantity.low if quantity.low is not None else middle
    high = quantity.high if quantity.high is not None else middle
    return resistor(min(low, middle), middle, max(high, middle))


def value_of(harness: Harness, edge: Mapping[str, Any], forward: float) -> Value:
    """The law and numbers of an edge of the harness's graph.

    Parameters
    ----------
    harness : Harness
    edge : mapping
        Of `graph.harness_graph`.
    forward : float
        1, or -1 where the battery's plus is on the body: the sign of the voltage at which electronics draw.

    Returns
    -------
    Value
    """
    part, element = edge["part"], harness.by_id.get(edge["element"])
    match part:
        case Inline():
            return _inline(part)
        case Link():
            return resistance(part.resistance_ohm, "contact_resistance")
        case Output():
            return resistance(part.resistance_ohm, "output_resistance")
        case Coil():
            return resistance(part.resistance_ohm, "relay_coil")
        case Diode():
            return _diode(nominal(part.forward_V, assumed_value("diode_forward")))
        case Source():
            return _source(part)
        case Load():
            return _load(part, forward)
        case _:
            return _joining(edge, element)


def _inline(part: Inline) -> Value:
    if part.kind == "diode":
        return _diode(assumed_value("diode_forward"))
    if part.kind in ("fuse", "circuit_breaker") and part.state != "slug":
        return _fuse(part.rating_A)
    if part.kind == "resistor":
        return resistance(part.resistance_ohm, "dummy_load")
    return resistance(part.resistance_ohm, "connector_resistance")


def _diode(forward_V: float) -> Value:
    return Value(law=Law.DIODE, numbers=(forward_V, 1 / assumed_value("diode_on"), 0.0, 0.0))


def _fuse(rating_A: Quantity) -> Value:
    return resistor(0.077 / nominal(rating_A, 20), 0.09 / nominal(rating_A, 20), 0.12 / nominal(rating_A, 20))


def _source(part: Source) -> Value:
    volts = nominal(part.voltage_V, assumed_value("battery_voltage"))
    ohm = max(nominal(part.internal_ohm, assumed_value("battery_internal")), LEAST_OHM)
    if part.model == "battery":
        charging = max(assumed_value("battery_charging"), ohm)
        return Value(law=Law.BATTERY, numbers=(volts, 1 / ohm, 1 / charging, 0.0))
    return Value(law=Law.SOURCE, numbers=(volts, 1 / ohm, 0.0, nominal(part.limit_A, UNLIMITED_A)))


def rated(part: Load) -> tuple[float, float]:
    """Rated voltage [V] and current [A] of a load, from whichever of its figures are given."""
    volts = nominal(part.rated_V, assumed_value("system_voltage"))
    if part.rated_A.known:
        return volts, nominal(part.rated_A, 0.0)
    if part.rated_W.known:
        return volts, nominal(part.rated_W, 0.0) / volts
    if part.resistance_ohm.known:
        return volts, volts / max(nominal(part.resistance_ohm, 1.0), LEAST_OHM)
    return volts, assumed_value("unknown_load")


def _load(part: Load, forward: float) -> Value:
    volts, amps = rated(part)
    if part.model == "filament":
        amps = max(amps, 1e-6)
        return Value(law=Law.FILAMENT, numbers=(volts, amps, assumed_value("lamp_cold_ratio") * amps / volts, 0.0))
    if part.model == "power":
        return Value(law=Law.POWER, numbers=(volts * amps, assumed_value("power_knee"), forward, 0.0))
    if part.model in ("current", "electronic"):
        knee = min(assumed_value("current_knee"), volts / 2)
        return Value(law=Law.CURRENT, numbers=(amps, knee, forward, 0.0))
    if part.resistance_ohm.known:
        return resistance(part.resistance_ohm, "dummy_load")
    ohm = volts / max(amps, 1e-9)
    return resistor(ohm, ohm, ohm)


def _joining(edge: Mapping[str, Any], element: object) -> Value:
    kind = edge["kind"]
    if kind == "conductor":
        assert isinstance(element, Conductor)
        size = nominal(element.size_mm2, 1.0)
        length = nominal(element.length_m, 1.0) * edge["share"]
        ohm = 0.0185 * length / size
        return resistor(0.017241 * length / size, ohm, 0.0195 * length / size)
    if kind == "contact":
        assert isinstance(element, Joint)
        return resistor(0.0005, 0.001, 0.002)
    if kind == "fuse":
        assert isinstance(element, Device)
        return _fuse(element.rating_A)
    if kind == "bond":
        return resistor(0.001, 0.001, 0.001)
    if kind == "damage":
        return resistor(0.001, 0.01, 1)
    return resistor(1e-4, 1e-4, 1e-4)
