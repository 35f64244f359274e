"""One form for everything that is written or compared: plain data, the same bytes for the same value."""

from __future__ import annotations

import json
from dataclasses import fields, is_dataclass
from typing import Any

from harnessdiff.model.parts import Coil, Diode, Link, Load, Output, Source
from harnessdiff.model.quantity import Quantity

_PART_KINDS = {Link: "link", Load: "load", Source: "source", Coil: "coil", Diode: "diode", Output: "output"}


def plain(value: Any) -> Any:
    """`value` as data that JSON knows.

    Parameters
    ----------
    value : Any
        A dataclass of the model, a tuple, a number, a text …

    Returns
    -------
    Any
        Members that are unknown or empty are left out; a quantity that is exact is a number.
    """
    if isinstance(value, Quantity):
        return _quantity(value)
    if is_dataclass(value) and not isinstance(value, type):
        members = {field.name.rstrip("_"): plain(getattr(value, field.name)) for field in fields(value)}
        kind = _PART_KINDS.get(type(value))
        named = {"kind": kind} if kind else {}
        return named | {name: one for name, one in members.items() if one is not None and one != []}
    if isinstance(value, (tuple, list)):
        return [plain(one) for one in value]
    return value


def _quantity(quantity: Quantity) -> Any:
    how = {"known_by": quantity.known_by, "as_entered": quantity.as_entered}
    how = {name: one for name, one in how.items() if one is not None}
    if quantity.exact is not None:
        return {"exact": quantity.exact, **how} if how else quantity.exact
    if quantity.one_of:
        return {"one_of": list(quantity.one_of), **how}
    bounds = {"min": quantity.low, "max": quantity.high}
    known = {name: bound for name, bound in bounds.items() if bound is not None}
    return {**known, **how} if known or how else None


def canonical(value: Any) -> str:
    """`plain(value)` as JSON text with sorted members and no spaces."""
    return json.dumps(plain(value), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
