"""Writes results whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path

from harnessdiff.errors import OutputError


def write_folder(folder: Path, contents: Mapping[str, bytes]) -> tuple[Path, ...]:
    """Write files into a folder: all of them, or none.

    Every file is written beside its place first and then renamed, so that a reader sees the old
    file or the new one and never half of one, whenever the program ends. Once all are on the disk
    nothing is left that a full disk could stop; where a rename is refused all the same, those
    before it are new and the others old.

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
        If the folder or a file cannot be written, as on a full disk or where a folder has the
        name of a file; what was there before is untouched then, and nothing is left behind.
    """
    if folder.exists() and not folder.is_dir():
        raise OutputError(f"cannot write into {folder}: it is a file; name a folder")
    made = [one for one in (folder, *folder.parents) if not one.exists()]
    waiting: list[tuple[Path, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _refuse_folders(folder / name for name in contents)
        for name, content in contents.items():
            handle, temporary = _new_beside(folder / name)
            waiting.append((temporary, folder / name))
            _fill(handle, temporary, content)
        for temporary, final in waiting:
            temporary.replace(final)
    except BaseException as error:
        _take_back([temporary for temporary, _ in waiting], made)
        if isinstance(error, OSError):
            raise OutputError(f"cannot write {error.filename or folder}: {error.strerror or error}") from error
        raise
    return tuple(final for _, final in waiting)


def _refuse_folders(finals: Iterable[Path]) -> None:
    for final in finals:
        if final.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(final))


def _take_back(temporaries: list[Path], made: list[Path]) -> None:
    """Leave nothing behind, also where a person stopped the program."""
    for temporary in temporaries:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
    for one in made:
        with contextlib.suppress(OSError):
            one.rmdir()


def write_file(path: Path, content: bytes) -> Path:
    """Write one file whole or not at all; raises as `write_folder` does."""
    (written,) = write_folder(path.parent, {path.name: content})
    return written


PROGRAM_MARK = b"harnessdiff "
"""Stands in the title block of every sheet that is text."""


def clear_away(folder: Path, pattern: str, keep: frozenset[Path]) -> tuple[tuple[Path, ...], tuple[Path, ...]]:
    """Remove what an earlier run wrote and this one did not; leave alone what may be somebody's own.

    Parameters
    ----------
    folder : Path
    pattern : str
        What such files are called, as `Path.glob` takes it.
    keep : frozenset of Path
        What this run wrote.

    Returns
    -------
    tuple
        What was removed, and what was left alone since it does not say that this program made it.

    Raises
    ------
    OutputError
        If a file cannot be read or removed.
    """
    old = sorted(path for path in folder.glob(pattern) if path.is_file() and path not in keep)
    try:
        ours = tuple(path for path in old if PROGRAM_MARK in path.read_bytes())
        for path in ours:
            path.unlink()
    except OSError as error:
        raise OutputError(f"cannot remove {error.filename or folder}: {error.strerror or error}") from error
    return ours, tuple(path for path in old if path not in ours)


def _new_beside(final: Path) -> tuple[int, Path]:
    """A new file beside `final`, open, with a name that no search for results finds."""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{final.name}.", suffix=".part", dir=final.parent)
    except OSError as error:
        raise OSError(error.errno, error.strerror, str(final)) from error
    return handle, Path(name)


def _fill(handle: int, temporary: Path, content: bytes) -> None:
    with os.fdopen(handle, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())
    umask = os.umask(0)
    os.umask(umask)
    temporary.chmod(0o666 & ~umask)
