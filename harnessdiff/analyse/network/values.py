"""What an edge of a harness's graph is in numbers: its law, and the bounds of its resistance where it has one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from harnessdiff.analyse.conductors import resistance_ohm
from harnessdiff.analyse.fuses import fuse_resistance_ohm
from harnessdiff.analyse.joints import joint_resistance_ohm
from harnessdiff.analyse.network.laws import Law
from harnessdiff.graph import slot_of
from harnessdiff.model.harness import Bond, Conductor, Device, Harness, Inline, Joint
from harnessdiff.model.parts import Coil, Diode, Link, Load, Output, Source
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.range import Range
from harnessdiff.tables.loader import assumed_value, plausible

Numbers = tuple[float, float, float, float]
LEAST_OHM = 1e-5
"""No element has less resistance than this, so that currents through it can be told."""
MOST_OHM = 1e9
UNLIMITED_A = 1e9
LEAST_RATED_V = 0.01
"""A rating below this is none: a slip of the pen, and nothing that can be divided by."""
MOST_V, MOST_A = 1e4, 1e5
"""No source gives more and no load takes more, so that what was written with a slip of the unit can still be solved."""
HALF = 0.5
"""Current passes two contacts of a joint, so that each has half of its resistance."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """The law of an element with its numbers at the nominal value, and between what its resistance may lie.

    `ohm` is None where the element is no resistance.
    """

    law: Law
    numbers: Numbers
    ohm: Range | None = None


def nominal(quantity: Quantity, otherwise: float) -> float:
    """The value a quantity is taken at: the exact one, the middle of its bounds, the bound it has, else another."""
    if quantity.low is not None and quantity.high is not None:
        return (quantity.low + quantity.high) / 2
    bound = quantity.high if quantity.low is None else quantity.low
    return otherwise if bound is None else bound


def resistor(ohm: Range) -> Value:
    """A resistance between bounds."""
    low, middle, high = (min(max(one, LEAST_OHM), MOST_OHM) for one in (ohm.low, ohm.nominal, ohm.high))
    bounded = Range(low=low, nominal=middle, high=high, guaranteed=ohm.guaranteed)
    return Value(law=Law.RESISTOR, numbers=(1 / middle, 0.0, 0.0, 0.0), ohm=bounded)


def resistance(quantity: Quantity, name: str) -> Value:
    """A resistance as given, else the assumed value of this name; bounds where it has them."""
    middle = nominal(quantity, assumed_value(name))
    low = middle if quantity.low is None else quantity.low
    high = middle if quantity.high is None else quantity.high
    return resistor(Range(low=low, nominal=middle, high=high, guaranteed=quantity.known))


def exactly(name: str) -> Value:
    """The assumed resistance of this name."""
    return resistor(Range.exactly(assumed_value(name), guaranteed=False))


def value_of(harness: Harness, edge: Mapping[str, Any], forward: float, measured_ohm: Range | None = None) -> Value:
    """The law and numbers of an edge of the harness's graph.

    Parameters
    ----------
    harness : Harness
    edge : mapping
        Of `graph.harness_graph`.
    forward : float
        1, or -1 where the battery's plus is on the body: the sign of the voltage at which electronics draw.
    measured_ohm : Range, optional
        Of a joint: what a reading under load gave for it. [Ω]

    Returns
    -------
    Value
    """
    part, element = edge["part"], harness.by_id.get(edge["element"])
    match part:
        case Inline():
            return _inline(part)
        case Bond():
            return resistance(part.resistance_ohm, "ground_bond")
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
            return _joining(harness, edge, element, measured_ohm)


def _inline(part: Inline) -> Value:
    if part.kind == "diode":
        return _diode(assumed_value("diode_forward"))
    if part.kind in ("fuse", "circuit_breaker") and part.state != "slug":
        return resistor(fuse_resistance_ohm(part.body, part.rating_A))
    if part.kind == "resistor":
        return resistance(part.resistance_ohm, "dummy_load")
    return resistance(part.resistance_ohm, "connector_resistance")


def _diode(forward_V: float) -> Value:
    return Value(law=Law.DIODE, numbers=(forward_V, 1 / assumed_value("diode_on"), 0.0, 0.0))


def _source(part: Source) -> Value:
    volts = min(max(nominal(part.voltage_V, assumed_value("battery_voltage")), -MOST_V), MOST_V)
    ohm = max(nominal(part.internal_ohm, assumed_value("battery_internal")), LEAST_OHM)
    if part.model == "battery":
        charging = max(assumed_value("battery_charging"), ohm)
        return Value(law=Law.BATTERY, numbers=(volts, 1 / ohm, 1 / charging, 0.0))
    return Value(law=Law.SOURCE, numbers=(volts, 1 / ohm, 0.0, nominal(part.limit_A, UNLIMITED_A)))


def rated(part: Load) -> tuple[float, float]:
    """Rated voltage [V] and current [A] of a load, from whichever of its figures are given."""
    volts = min(nominal(part.rated_V, 0.0), MOST_V)
    if volts < LEAST_RATED_V:
        volts = assumed_value("system_voltage")
    return volts, min(_rated_A(part, volts), MOST_A)


def _rated_A(part: Load, volts: float) -> float:
    if part.rated_A.known:
        return nominal(part.rated_A, 0.0)
    if part.rated_W.known:
        return nominal(part.rated_W, 0.0) / volts
    if part.resistance_ohm.known:
        return volts / max(nominal(part.resistance_ohm, 1.0), LEAST_OHM)
    return assumed_value("unknown_load")


def _load(part: Load, forward: float) -> Value:
    volts, amps = rated(part)
    if part.model == "filament":
        amps = max(amps, 1e-6)
        return Value(law=Law.FILAMENT, numbers=(volts, amps, assumed_value("lamp_cold_ratio") * amps / volts, 0.0))
    if part.model == "power":
        return Value(law=Law.POWER, numbers=(volts * amps, min(assumed_value("power_knee"), volts / 2), forward, 0.0))
    if part.model in ("current", "electronic"):
        return Value(law=Law.CURRENT, numbers=(amps, min(assumed_value("current_knee"), volts / 2), forward, 0.0))
    if part.resistance_ohm.known:
        return resistance(part.resistance_ohm, "dummy_load")
    return resistor(Range.exactly(volts / max(amps, 1e-9), guaranteed=part.rated_A.known or part.rated_W.known))


def _joining(harness: Harness, edge: Mapping[str, Any], element: object, measured_ohm: Range | None) -> Value:
    kind = edge["kind"]
    if kind == "conductor":
        assert isinstance(element, Conductor)
        size_mm2, length_m = _within("mm2", element.size_mm2), _within("m", element.length_m)
        ohm = resistance_ohm(size_mm2, length_m, element.material).scaled(edge["share"])
        # A side that was closed by what is usual is sure of nothing.
        said = (size_mm2, length_m) == (element.size_mm2, element.length_m)
        return resistor(replace(ohm, guaranteed=ohm.guaranteed and said))
    if kind == "contact":
        assert isinstance(element, Joint)
        return resistor((measured_ohm or joint_resistance_ohm(element.details)).scaled(HALF))
    if kind == "fuse":
        assert isinstance(element, Device)
        slot = harness.device(slot_of(harness, element.id))
        body = element.body or (slot.body if slot is not None else None)
        return resistor(fuse_resistance_ohm(body, element.rating_A))
    return exactly("damage_contact" if kind == "damage" else "common_bar")


def _within(unit: str, quantity: Quantity) -> Quantity:
    """A quantity whose open sides are closed by what is plausible in a vehicle, about a usual value."""
    if quantity.low is not None and quantity.high is not None:
        return quantity
    usual = assumed_value(f"usual_{unit}")
    least, greatest = plausible()[unit].least, plausible()[unit].greatest
    given = quantity.high if quantity.low is None else quantity.low
    bound = usual if given is None else min(max(given, least), greatest)
    low = bound if quantity.low is not None else min(usual / USUAL_TIMES, bound)
    high = bound if quantity.high is not None else max(usual * USUAL_TIMES, bound)
    return Quantity(low=max(low, least), high=min(high, greatest))


USUAL_TIMES = 3.0
"""An unknown length or size is taken for a third of to three times the usual one."""
