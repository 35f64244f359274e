"""From checked and normalised data to the model's dataclasses."""

from __future__ import annotations

import json
from dataclasses import fields
from functools import cache
from typing import TYPE_CHECKING, Any, TypeVar, cast, get_type_hints

from harnessdiff.model import observation as seen
from harnessdiff.model.harness import JointDetails
from harnessdiff.model.parts import Coil, Diode, Input, Link, Load, Output, Part, Source
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.model.reference import Condition

if TYPE_CHECKING:
    from cattrs import Converter

Made = TypeVar("Made")

PARTS: dict[str, type] = {
    "link": Link, "load": Load, "source": Source, "coil": Coil, "diode": Diode, "output": Output,
}  # fmt: skip
OBSERVATIONS: dict[str, type[seen.Observation]] = {
    "joint": seen.JointSeen, "lead": seen.LeadSeen, "device": seen.DeviceSeen, "cut": seen.CutSeen,
    "tap": seen.Tap, "insertion": seen.Insertion, "bridge": seen.Bridge, "repair": seen.Repair,
    "swap": seen.Swap, "jumper": seen.Jumper, "substitution": seen.Substitution, "missing": seen.Missing,
    "moved": seen.Moved, "damage": seen.DamageSeen, "surroundings": seen.Surroundings,
    "good_practice": seen.GoodPractice, "as_reference": seen.AsReference, "other": seen.OtherSeen,
}  # fmt: skip
# Members whose JSON name is a word of Python, or stands for something else in another kind.
_RENAMED = {"in": "into", "from": "origin", "sort": "kind"}


def make(cls: type[Made], data: Any) -> Made:
    """Make a dataclass of the model from data that its schema accepts; ``x_`` members are left out."""
    return _converter().structure(data, cls)


def make_observation(data: dict[str, Any], observation_id: str) -> seen.AnyObservation:
    """Make an observation of the kind that `data` names."""
    cls = OBSERVATIONS[data["kind"]]
    members: dict[str, Any] = {"id": observation_id, "extra": extras(data)}
    plain = {key: value for key, value in data.items() if key not in ("kind", "id") and not key.startswith("x_")}
    details = {"joint": JointDetails, "lead": seen.LeadDetails, "device": seen.DeviceDetails}.get(data["kind"])
    if details is not None:
        own = {field.name for field in fields(details)}
        inner = {_RENAMED.get(key, key): plain.pop(key) for key in list(plain) if _RENAMED.get(key, key) in own}
        members["details"] = make(details, inner)
    renamed = {_RENAMED.get(key, key): value for key, value in plain.items()}
    types = _types_of(data["kind"])
    for key, value in renamed.items():
        members[key] = _converter().structure(value, types[key])
    return cast("seen.AnyObservation", cls(**members))


def extras(data: dict[str, Any]) -> tuple[tuple[str, str], ...]:
    """The ``x_`` members of an object, in the order of their names, each value as JSON text."""
    return tuple(
        (key, json.dumps(value, ensure_ascii=False, sort_keys=True))
        for key, value in sorted(data.items())
        if key.startswith("x_")
    )


@cache
def _types_of(kind: str) -> dict[str, Any]:
    return get_type_hints(OBSERVATIONS[kind])


@cache
def _converter() -> Converter:
    from cattrs import Converter  # noqa: PLC0415 - heavy, needed only where documents are read

    converter = Converter()
    converter.register_structure_hook(Quantity, lambda data, _: _quantity(data))
    converter.register_structure_hook(Part, lambda data, _: _part(data))
    converter.register_structure_hook(Input, lambda data, _: Input(terminal=data["terminal"], is_=data["is"]))
    converter.register_structure_hook(Condition, lambda data, _: _condition(data))
    converter.register_structure_hook(str | seen.Clue | None, lambda data, _: _text_or(seen.Clue, data))
    converter.register_structure_hook(
        str | seen.DeviceDetails | None, lambda data, _: _text_or(seen.DeviceDetails, data)
    )
    return converter


def _text_or(cls: type[Made], data: Any) -> str | Made | None:
    return data if data is None or isinstance(data, str) else make(cls, data)


def _part(data: dict[str, Any]) -> Part:
    return cast("Part", make(PARTS[data["kind"]], {key: value for key, value in data.items() if key != "kind"}))


def _quantity(data: Any) -> Quantity:
    if isinstance(data, (int, float)):
        return Quantity.exactly(float(data))
    if data == "unknown" or data is None:
        return UNKNOWN
    known = {"known_by": data.get("known_by"), "as_entered": data.get("as_entered")}
    if "exact" in data:
        return Quantity(low=data["exact"], high=data["exact"], **known)
    if "one_of" in data:
        values = tuple(sorted(set(data["one_of"])))
        return Quantity(low=values[0], high=values[-1], one_of=values, **known)
    return Quantity(low=data.get("min"), high=data.get("max"), **known)


def _condition(data: dict[str, Any]) -> Condition:
    plain = {field.name: data[field.name] for field in fields(Condition) if field.name in data}
    plain["positions"] = tuple(sorted(data.get("positions", {}).items()))
    for name in ("must_stay_dead", "option"):
        plain[name] = tuple(data.get(name, ()))
    return Condition(**plain)
