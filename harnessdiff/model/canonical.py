"""One form for everything that is written or compared: plain data, the same bytes for the same value."""

from __future__ import annotations

import json
from dataclasses import MISSING, Field, fields, is_dataclass
from typing import Any

from harnessdiff.model.parts import Coil, Diode, Link, Load, Output, Source
from harnessdiff.model.quantity import UNKNOWN, Quantity

_PART_KINDS = {Link: "link", Load: "load", Source: "source", Coil: "coil", Diode: "diode", Output: "output"}


def plain(value: Any, *, equal_only: bool = False) -> Any:
    """`value` as data that JSON knows.

    Parameters
    ----------
    value : Any
        A dataclass of the model, a tuple, a number, a text …
    equal_only : bool
        Leave out what does not take part in comparison, such as notes and how a value is known.

    Returns
    -------
    Any
        Members that are as they are by default are left out; a quantity that is exact is a number.
    """
    if isinstance(value, Quantity):
        return _quantity(value, equal_only=equal_only)
    if is_dataclass(value) and not isinstance(value, type):
        kind = _PART_KINDS.get(type(value))
        members: dict[str, Any] = {"kind": kind} if kind else {}
        for field in fields(value):
            own = getattr(value, field.name)
            if _says_something(field, own) and (field.compare or not equal_only):
                members[field.name.rstrip("_")] = plain(own, equal_only=equal_only)
        return members
    if isinstance(value, (tuple, list)):
        return [plain(one, equal_only=equal_only) for one in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _says_something(field: Field[Any], value: Any) -> bool:
    """Whether a member differs from what it is by default; nothing and unknown never need saying."""
    if value is None or (isinstance(value, Quantity) and value == UNKNOWN and value.as_entered is None):
        return False
    return (
        field.default is MISSING or value != field.default or isinstance(value, bool) != isinstance(field.default, bool)
    )


def _quantity(quantity: Quantity, *, equal_only: bool) -> Any:
    how = {} if equal_only else {"known_by": quantity.known_by, "as_entered": quantity.as_entered}
    how = {name: one for name, one in how.items() if one is not None}
    if quantity.exact is not None:
        return {"exact": quantity.exact, **how} if how else plain(quantity.exact)
    if quantity.one_of:
        return {"one_of": plain(quantity.one_of), **how}
    bounds = {"min": quantity.low, "max": quantity.high}
    known = {name: plain(bound) for name, bound in bounds.items() if bound is not None}
    return {**known, **how} if known or how else None


def canonical(value: Any) -> str:
    """JSON text that is the same for equal values: sorted members, no spaces, nothing that comparison passes over."""
    return json.dumps(plain(value, equal_only=True), sort_keys=True, ensure_ascii=False, separators=(",", ":"))
