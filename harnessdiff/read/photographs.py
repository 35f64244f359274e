"""Photographs of a survey: paths that stay inside the case folder, and whether each is still the same picture."""

from __future__ import annotations

import hashlib
import string
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import Any

MISSING, CHANGED, NO_HASH, SAME = "missing", "changed", "no_hash", "same"
SHA256_DIGITS = 64


def path_faults(photographs: list[dict[str, Any]]) -> Iterator[tuple[str, str]]:
    """Paths that would leave the case folder, and hashes that are none; as pointer and message."""
    for number, entry in enumerate(photographs):
        path = entry["path"]
        parts = PurePosixPath(path).parts
        if path.startswith("/") or ".." in parts or "\\" in path or ":" in path or not path.isprintable():
            message = f"should be a path below the case folder with forward slashes, such as photos/tap.jpg, not {path}"
            yield f"/photographs/{number}/path", message
        digest = entry.get("sha256")
        if digest is not None and (len(digest) != SHA256_DIGITS or not set(digest) <= set(string.hexdigits)):
            yield f"/photographs/{number}/sha256", f"a SHA-256 has {SHA256_DIGITS} hexadecimal digits"


def leaves_folder(entry: dict[str, Any], folder: Path) -> bool:
    """Whether a link on the way leads a photograph's path out of the case folder."""
    return not (folder / entry["path"]).resolve().is_relative_to(folder.resolve())


def evidence_of(entry: dict[str, Any], folder: Path) -> tuple[str, str]:
    """Whether a photograph is what it was when the survey was written.

    Parameters
    ----------
    entry : dict
        The photograph; its path stays inside the folder.
    folder : Path
        The case folder: where the survey lies.

    Returns
    -------
    tuple of str
        ``same``, ``missing``, ``changed`` or ``no_hash``, and for all but the first a message.
    """
    path = folder / entry["path"]
    try:
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError:
        return MISSING, f"there is no such photograph; what {entry['id']} shows is not verified"
    if "sha256" not in entry:
        return NO_HASH, f'{entry["id"]} has no hash and is not verified; add "sha256": "{digest}"'
    if entry["sha256"].lower() != digest:
        return CHANGED, f"{entry['id']} is not the picture that was recorded (its SHA-256 is {digest}); not verified"
    return SAME, ""
