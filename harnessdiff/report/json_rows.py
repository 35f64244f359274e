"""JSON that a person can read and a version control can compare: one line for every entry of a list."""

from __future__ import annotations

import json
from typing import Any


def rows_text(document: dict[str, Any], indent: str = "") -> str:
    """The document as text.

    Parameters
    ----------
    document : dict
    indent : str
        What stands before the closing brace.

    Returns
    -------
    str
        JSON; lists of objects one entry a line, objects that hold such lists one member a line.
    """
    inner = indent + "  "
    members = [f"{inner}{json.dumps(name)}: {_value(value, inner)}" for name, value in document.items()]
    return "{\n" + ",\n".join(members) + f"\n{indent}}}"


def _value(value: Any, indent: str) -> str:
    if isinstance(value, list) and any(isinstance(entry, dict) for entry in value):
        entries = ",\n".join(f"{indent}  {_compact(entry)}" for entry in value)
        return f"[\n{entries}\n{indent}]"
    if isinstance(value, dict) and any(isinstance(entry, list) and entry for entry in value.values()):
        return rows_text(value, indent)
    return _compact(value)


def _compact(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)
