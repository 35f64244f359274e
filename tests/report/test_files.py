"""Results are written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import random
import stat
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from harnessdiff.errors import HarnessDiffError, OutputError
from harnessdiff.report.files import write_file, write_folder
from tests.cli.outcome import contents


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


# -- a fault at every call to the system

SYSTEM = [
    (os, "mkdir"), (os, "open"), (os, "fdopen"), (os, "fsync"), (os, "chmod"), (os, "replace"),
]  # fmt: skip
FAULTS: list[Callable[[], BaseException]] = [
    lambda: OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)),
    lambda: OSError(errno.EIO, os.strerror(errno.EIO)),
    lambda: PermissionError(errno.EACCES, os.strerror(errno.EACCES)),
    KeyboardInterrupt,
]


class Failing:
    """Calls to the system, of which the nth fails."""

    def __init__(self, patched: pytest.MonkeyPatch, call: int, fault: Callable[[], BaseException]) -> None:
        self.left = call
        self.failed: str | None = None
        for module, name in SYSTEM:
            patched.setattr(module, name, self.wrapped(name, getattr(module, name), fault))

    def wrapped(self, name: str, real: Callable[..., Any], fault: Callable[[], BaseException]) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            self.left -= 1
            if self.left == 0:
                self.failed = name
                raise fault()
            return real(*arguments, **named)

        return call


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("old", [{}, {"one": b"old 1", "three": b"old 3"}], ids=["new", "over old files"])
def test_whatever_call_to_the_system_fails_files_are_old_or_new_and_nothing_is_left_behind(
    tmp_path: Path, old: dict[str, bytes], fault: Callable[[], BaseException]
) -> None:
    """Before the first file is renamed everything is as it was; from then on each is the old one or the new one."""
    tried = []
    whole = {"out": None} | {f"out/{name}": data for name, data in WANTED.items()}
    for call in range(1, 100):
        out = tmp_path / str(call) / "out"
        if old:
            out.mkdir(parents=True)
            for name, data in old.items():
                (out / name).write_bytes(data)
        with pytest.MonkeyPatch.context() as patched:
            failing = Failing(patched, call, fault)
            with contextlib.suppress(KeyboardInterrupt if fault is KeyboardInterrupt else OutputError):
                write_folder(out, WANTED)
        found = contents(tmp_path / str(call)) if (tmp_path / str(call)).exists() else {}
        tried.append(failing.failed)
        if failing.failed == "mkdir" and found == whole:
            continue  # the folder was there, and it did not matter
        if failing.failed is None:
            assert found == whole
            break
        before = {"out": None} | {f"out/{name}": data for name, data in old.items()} if old else {}
        if failing.failed != "replace":
            assert found == before
        assert set(found) <= {"out", *(f"out/{name}" for name in WANTED)}
        assert all(found.get(f"out/{name}") in (old.get(name), data) for name, data in WANTED.items())

    assert {name for _, name in SYSTEM} - {"mkdir" if old else ""} <= set(tried)


# -- a program that is killed

WRITER = """
import sys
from pathlib import Path
from harnessdiff.report.files import write_folder
print("begun", flush=True)
number = 0
while True:
    number += 1
    mark = b"%06d" % number
    write_folder(Path(sys.argv[1]), {name: mark * 20000 for name in ("findings.json", "sheet-1.svg")})
"""
KILLS = 24


@pytest.mark.skipif(os.name != "posix", reason="a program is killed as POSIX does it")
def test_a_program_killed_at_any_moment_leaves_whole_files(tmp_path: Path) -> None:
    """What is left over of files not yet renamed is hidden, and no search for results finds it."""
    rng = random.Random(20260314)
    out = tmp_path / "out"
    left_over = 0
    for _ in range(KILLS):
        with subprocess.Popen([sys.executable, "-c", WRITER, str(out)], stdout=subprocess.PIPE) as child:
            assert child.stdout is not None
            assert child.stdout.readline() == b"begun\n"
            time.sleep(rng.uniform(0, 0.03))
            child.kill()
        for path in out.glob("*") if out.exists() else ():
            if path.name.startswith("."):
                assert path.suffix == ".part"
                left_over += 1
                path.unlink()
                continue
            content = path.read_bytes()
            assert path.name in ("findings.json", "sheet-1.svg")
            assert content == content[:6] * 20000
        assert not list(out.glob("sheet-[0-9]*")) or (out / "sheet-1.svg").is_file()

    assert left_over > 0, "no kill came between the first byte and the last rename: the test looked at nothing"
    write_folder(out, WANTED)
    assert {"one", "two", "three"} <= {path.name for path in out.iterdir()}
