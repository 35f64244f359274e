"""Writes results whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path

from harnessdiff.errors import OutputError


def write_folder(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write files into a folder: all of them, or none.

    Every file is written beside its place first and then renamed, so that a reader sees the old
    file or the new one and never half of one.

    Parameters
    ----------
    folder : Path
        Made where it is not there.
    contents : mapping
        File name to bytes.

    Returns
    -------
    tuple of Path
        The files, in the order of `contents`.

    Raises
    ------
    OutputError
        If the folder or a file cannot be written; what was there before is untouched.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in contents.items():
            waiting.append((_written_beside(folder / name, content), folder / name))
        for temporary, final in waiting:
            temporary.replace(final)
    except OSError as error:
        for temporary, _ in waiting:
            temporary.unlink(missing_ok=True)
        raise OutputError(f"cannot write {error.filename or folder}: {error.strerror or error}") from error
    return tuple(final for _, final in waiting)


def write_file(path: Path, content: bytes) -> Path:
    """Write one file whole or not at all; raises as `write_folder` does."""
    (written,) = write_folder(path.parent, {path.name: content})
    return written


def _written_beside(final: Path, content: bytes) -> Path:
    handle, name = tempfile.mkstemp(prefix=f".{final.name}.", suffix=".part", dir=final.parent)
    with os.fdopen(handle, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    temporary = Path(name)
    umask = os.umask(0)
    os.umask(umask)
    temporary.chmod(0o666 & ~umask)
    return temporary
