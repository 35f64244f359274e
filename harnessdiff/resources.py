"""The only module that knows where the shipped files lie."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def shipped_text(package: str, name: str) -> str:
    """Text of a shipped file.

    Parameters
    ----------
    package : str
        ``tables``, ``schemas``, ``reference_harnesses``, ``demo``, ``policies`` or ``draw``, below the package.
    name : str
        File name, with folders separated by ``/``.

    Returns
    -------
    str
        The file's text.
    """
    return shipped_bytes(package, name).decode("utf-8")


def shipped_bytes(package: str, name: str) -> bytes:
    """Bytes of a shipped file; parameters as in `shipped_text`."""
    return files(f"harnessdiff.{package}").joinpath(name).read_bytes()


def shipped_path(package: str, name: str) -> Path:
    """Path of a shipped file; parameters as in `shipped_text`."""
    return Path(str(files(f"harnessdiff.{package}").joinpath(name)))


def shipped_references() -> dict[str, Path]:
    """Paths of the shipped references, by name."""
    root = shipped_path("reference_harnesses", "")
    return {path.stem: path for path in sorted(root.glob("*/*.json"))}


def shipped_cases() -> dict[str, Path]:
    """Paths of the shipped demo surveys, by name; each lies in the folder of its name."""
    return {path.parent.name: path for path in sorted(shipped_path("demo", "").glob("*/survey.json"))}


def shipped_policies() -> dict[str, Path]:
    """Paths of the shipped policies, by name."""
    return {path.stem: path for path in sorted(shipped_path("policies", "").glob("*.json"))}
