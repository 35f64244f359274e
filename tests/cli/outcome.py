"""What comes out of a command that ran into trouble, and what is left of it on disk."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from click.testing import Result

TAP = {"kind": "tap", "id": "t1", "zone": "Z_TAIL", "on": {"wire": "W12"}, "joint": {"type": "twisted"}}


def told(result: Result) -> str:
    """The one message of a command that ran into trouble: exit code 2, no traceback, one line."""
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    (line,) = (one for one in result.stderr.splitlines() if not one.startswith("written: "))
    assert line.startswith("error: ")
    return line.removeprefix("error: ")


def contents(folder: Path) -> dict[str, bytes | None]:
    """Everything below a folder, hidden files included: name to bytes, or to None for a folder."""
    return {
        str(path.relative_to(folder)): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }
