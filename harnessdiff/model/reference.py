"""A reference: the harness as it should be, and what is said about it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

from harnessdiff.errors import Problem
from harnessdiff.model.harness import Harness
from harnessdiff.model.quantity import UNKNOWN, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Vehicle:
    """The vehicle, as far as it was written down."""

    make: str | None = None
    model: str | None = None
    model_year: str | None = None
    market: str | None = None
    body: str | None = None
    steering_side: str | None = None
    system_voltage_V: float | None = None
    ground_polarity: str | None = None
    registration: str | None = None
    vin: str | None = None
    odometer_km: float | None = None
    state: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """The wires that serve one function."""

    id: str
    name: str
    function: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """A state of the vehicle in which it can be looked at, measured or computed."""

    id: str
    name: str
    key: str
    engine: str
    positions: tuple[tuple[str, str], ...] = ()
    duration_s: float | None = None
    after: str | None = None
    refusal: bool = False
    must_stay_dead: tuple[str, ...] = ()
    option: tuple[str, ...] = ()
    note: str | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Option:
    """An option that decides which elements are there."""

    id: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """What looks wrong but is as the maker built it; `rule` names the one objection that it answers."""

    element: str
    because: str
    rule: str | None = None


@dataclass(frozen=True, kw_only=True)
class Reference:
    """The harness as it should be.

    `sha256` is the hash of the file it was read from, None where it was made in memory; `warnings`
    holds what was passed over when it was read.
    """

    id: str
    title: str
    extent: str
    harness: Harness
    version: str = "1.0"
    invented: bool = False
    vehicle: Vehicle = field(default_factory=Vehicle)
    relay_terminals: str = "everyday"
    unmodelled_rest_A: Quantity = UNKNOWN
    options: tuple[Option, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    conditions: tuple[Condition, ...] = ()
    as_built: tuple[Waiver, ...] = ()
    origin: str | None = None
    licence: str | None = None
    note: str | None = None
    extra: tuple[tuple[str, str], ...] = ()
    sha256: str | None = None
    warnings: tuple[Problem, ...] = field(default=(), compare=False)

    @cached_property
    def circuit_by_id(self) -> dict[str, Circuit]:
        """Circuits by id."""
        return {circuit.id: circuit for circuit in self.circuits}

    def function_of(self, circuit_id: str | None) -> str | None:
        """Function of a circuit, None where there is no such circuit."""
        circuit = self.circuit_by_id.get(circuit_id) if circuit_id else None
        return circuit.function if circuit else None
