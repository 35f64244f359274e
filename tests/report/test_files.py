"""Results are written whole or not at all."""

from __future__ import annotations

import errno
import os
import stat
from typing import TYPE_CHECKING

import pytest

from harnessdiff.errors import HarnessDiffError, OutputError
from harnessdiff.report.files import write_file, write_folder
from tests.cli.outcome import contents

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


def test_files_are_written_as_they_are_in_the_order_given(tmp_path: Path) -> None:
    wanted = {"b.txt": b"two\r\n", "a.bin": bytes(range(256)), "empty": b""}

    written = write_folder(tmp_path / "out", wanted)

    assert [path.name for path in written] == ["b.txt", "a.bin", "empty"]
    assert contents(tmp_path / "out") == dict(sorted(wanted.items()))


def test_folder_is_made_with_those_above_it(tmp_path: Path) -> None:
    write_folder(tmp_path / "a/b", {"c": b"x"})

    assert contents(tmp_path) == {"a": None, "a/b": None, "a/b/c": b"x"}


def test_no_files_make_an_empty_folder(tmp_path: Path) -> None:
    assert write_folder(tmp_path / "out", {}) == ()
    assert contents(tmp_path) == {"out": None}


def test_old_file_is_replaced_and_a_longer_one_leaves_no_tail(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"a long old text")
    write_folder(tmp_path, {"a": b"new"})

    assert contents(tmp_path) == {"a": b"new"}


def test_one_file_is_written_like_many(tmp_path: Path) -> None:
    assert write_file(tmp_path / "sub/one.txt", b"x") == tmp_path / "sub/one.txt"
    assert contents(tmp_path) == {"sub": None, "sub/one.txt": b"x"}


@pytest.mark.skipif(os.name != "posix", reason="rights of files are those of POSIX")
@pytest.mark.parametrize(("umask", "rights"), [(0o022, 0o644), (0o077, 0o600), (0o002, 0o664)])
def test_files_have_the_rights_that_new_files_have(tmp_path: Path, umask: int, rights: int) -> None:
    """Not those of temporary files, which only their owner may read."""
    before = os.umask(umask)
    try:
        write_file(tmp_path / "a", b"x")
    finally:
        os.umask(before)

    assert stat.S_IMODE((tmp_path / "a").stat().st_mode) == rights


def test_error_is_one_of_the_program_and_of_the_system() -> None:
    assert issubclass(OutputError, HarnessDiffError)
    assert issubclass(OutputError, OSError)


def test_message_says_what_and_why(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"old")

    with pytest.raises(OutputError) as raised:
        write_folder(tmp_path / "file", {"a": b"x"})
    assert str(raised.value) == f"cannot write into {tmp_path / 'file'}: it is a file; name a folder"


# -- a disk that fails in the middle

WANTED = {"one": b"1", "two": b"2", "three": b"3"}


def failing_at(call: int) -> Callable[[int], None]:
    """A flush to disk that fails the nth time it is called."""
    calls = 0

    def fsync(_: int) -> None:
        nonlocal calls
        calls += 1
        if calls == call:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    return fsync


@pytest.mark.parametrize("call", [1, 2, 3])
@pytest.mark.parametrize("old", [{}, {"one": b"old", "three": b"old"}], ids=["new", "over old files"])
def test_disk_that_fills_up_leaves_everything_as_it_was(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, old: dict[str, bytes], call: int
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    for name, data in old.items():
        (out / name).write_bytes(data)
    monkeypatch.setattr(os, "fsync", failing_at(call))

    with pytest.raises(OutputError, match="No space left on device"):
        write_folder(out, WANTED)
    assert contents(out) == dict(sorted(old.items()))


def test_folder_that_was_made_for_nothing_is_gone_again(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(os, "fsync", failing_at(2))

    with pytest.raises(OutputError):
        write_folder(tmp_path / "out", WANTED)
    assert contents(tmp_path) == {}


@pytest.mark.parametrize(
    "taken",
    [
        "one",
        "two",
        "three",
    ],
)
def test_name_that_is_taken_by_a_folder_leaves_everything_as_it_was(tmp_path: Path, taken: str) -> None:
    out = tmp_path / "out"
    (out / taken).mkdir(parents=True)
    for name in WANTED:
        if name != taken:
            (out / name).write_bytes(b"old")
    before = contents(out)

    with pytest.raises(OutputError):
        write_folder(out, WANTED)
    assert contents(out) == before
