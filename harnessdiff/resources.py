"""The only module that knows where the shipped files lie."""

from __future__ import annotations

from importlib.resources import files


def shipped_text(package: str, name: str) -> str:
    """Text of a shipped file.

    Parameters
    ----------
    package : str
        ``tables``, ``schemas``, ``reference_harnesses``, ``demo`` or ``draw``, below the package.
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
