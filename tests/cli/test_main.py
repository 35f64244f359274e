"""The command group: help that helps, one place for errors, and a start that does not wait."""

from __future__ import annotations

import json
import re
import shlex
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

import click
import pytest

from harnessdiff import pipeline
from harnessdiff.cli.main import main
from harnessdiff.cli.new_reference import TEMPLATE
from harnessdiff.report.findings_json import findings_text
from harnessdiff.resources import shipped_references
from tests.cli.outcome import TAP, told
from tests.support import bench_data, case_from, reference_from

if TYPE_CHECKING:
    from tests.cli.conftest import Run, Survey

ROOT = Path(__file__).parent.parent.parent
COMMANDS = sorted(main.commands)
HEAVY = ("cattrs", "fontTools", "graphviz", "jsonschema", "jsonschema_rs", "lxml", "networkx", "numpy",
         "pygraphviz", "referencing", "scipy", "typst")  # fmt: skip
EXIT_CODES = {
    "check": (0,),
    "compare": (0, 1),
    "conditions": (0,),
    "demo": (0,),
    "draw": (0,),
    "explain": (0,),
    "fed-by": (0,),
    "lint": (0,),
    "make-dead": (0,),
    "new-reference": (0,),
    "new-survey": (0,),
    "next-looks": (0,),
    "path": (0,),
    "policy": (0,),
}


def example_of(command: str) -> list[str]:
    """The words of the example in a command's help."""
    found = re.search(r"Example:\n\s+harnessdiff (.+)", main.commands[command].help or "")
    assert found is not None
    return shlex.split(found[1])


# -- help


def test_there_are_the_commands_that_are_promised() -> None:
    assert COMMANDS == [
        "check", "compare", "conditions", "demo", "draw", "explain", "fed-by", "lint", "make-dead", "new-reference",
        "new-survey", "next-looks", "path", "policy",
    ]  # fmt: skip


def test_help_of_the_group_lists_every_command_and_the_exit_codes(run: Run) -> None:
    result = run("--help")

    assert result.exit_code == 0
    for command in COMMANDS:
        assert re.search(rf"^  {command} +\S", result.output, re.MULTILINE)
    assert "0 nothing differs, 1 something differs, 2 trouble" in " ".join(result.output.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_a_command_has_an_example_and_says_what_every_option_does(run: Run, command: str) -> None:
    result = run(command, "--help")
    options = [one for one in main.commands[command].params if isinstance(one, click.Option)]

    assert result.exit_code == 0
    assert f"Example:\n    harnessdiff {command}" in result.output
    assert [one.name for one in options if not one.help] == []
    assert max(map(len, result.output.splitlines())) <= 100


@pytest.mark.parametrize("command", COMMANDS)
def test_example_of_a_command_runs_as_it_stands(
    run: Run, survey: Survey, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    monkeypatch.chdir(tmp_path)
    if command != "new-survey":
        survey(
            {"kind": "tap", "zone": "Z_REAR_L", "on": {"wire": "W296"}},
            {"kind": "device", "id": "D6", "zone": "Z_REAR_L", "sort": "module", "terminals": ["1"]},
            {"kind": "lead", "id": "L13", "zone": "Z_REAR_L", "end_1": {"device": "D6", "pin": "1"}},
        )
    if command == "explain":
        own = findings_text(case_from(reference_from(bench_data()), TAP).findings)
        (tmp_path / "out").mkdir()
        (tmp_path / "out/findings.json").write_text(own)
    (tmp_path / "wires.csv").write_text(TEMPLATE)
    result = run(*example_of(command))

    assert result.exit_code in EXIT_CODES[command]


@pytest.mark.parametrize("command", COMMANDS)
def test_command_has_its_line_in_the_readme(command: str) -> None:
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()

    assert [line for line in lines if re.match(rf"\| `{command}\b[^`]*` \| \S", line)]


@pytest.mark.parametrize("word", ["-h", "--help"])
def test_help_can_be_asked_for_in_short(run: Run, word: str) -> None:
    assert run("check", word).exit_code == 0


def test_version_is_that_of_the_package(run: Run) -> None:
    assert run("--version").output.strip() == f"harnessdiff, version {version('harnessdiff')}"


# -- the start


@pytest.mark.parametrize("arguments", [["--help"], *([command, "--help"] for command in COMMANDS)])
def test_help_imports_nothing_heavy(arguments: list[str]) -> None:
    program = (
        "import json, sys\nfrom harnessdiff.cli.main import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        "print(json.dumps(sorted(sys.modules)), file=sys.stderr)"
    )
    finished = subprocess.run(
        [sys.executable, "-c", program, *arguments], capture_output=True, text=True, check=True
    )  # fmt: skip
    loaded = set(json.loads(finished.stderr.splitlines()[-1]))

    assert {"click", "harnessdiff.cli.main"} <= loaded
    assert loaded & set(HEAVY) == set()


def test_package_alone_imports_nothing_at_all() -> None:
    program = "import sys, harnessdiff; print(len([name for name in sys.modules if name.startswith('harnessdiff.')]))"
    finished = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)

    assert finished.stdout.strip() == "0"


def test_package_runs_as_a_module() -> None:
    finished = subprocess.run(
        [sys.executable, "-m", "harnessdiff", "--version"], capture_output=True, text=True, check=False
    )

    assert (finished.returncode, finished.stdout.strip()) == (0, f"harnessdiff, version {version('harnessdiff')}")


# -- trouble


@pytest.mark.parametrize(
    "arguments",
    [["chek"], ["--nonsense"], ["compare"], ["compare", "light_van"], ["draw", "light_van", "s.json"], ["check"],
     ["compare", "light_van", "s.json", "--fail-at", "Grave"], ["draw", "a", "b", "-o", "c", "-f", "jpeg"]],
)  # fmt: skip
def test_words_that_no_command_knows_are_trouble(run: Run, arguments: list[str]) -> None:
    result = run(*arguments)

    assert result.exit_code == 2
    assert "Usage: " in result.stderr
    assert result.stdout == ""


# Every command that reads a file, with REFERENCE and SURVEY to be filled in.
READERS = [
    ["compare", "REFERENCE", "SURVEY"],
    ["draw", "REFERENCE", "SURVEY", "-o", "out"],
    ["fed-by", "REFERENCE"],
    ["conditions", "REFERENCE"],
    ["path", "REFERENCE", "E1"],
    ["new-survey", "REFERENCE"],
    ["check", "SURVEY", "--reference", "REFERENCE"],
]
BROKEN = [
    ("nothing there", None, "there is no such file"),
    ("a folder", "", "is a folder; name the JSON file in it"),
    ("no JSON", '{"a": [1,}', ":1:9: not JSON: the comma before this } is one too many"),
    ("not text", b"\xff\xfe\x00", ""),
    ("a number", "7", ""),
    ("another format", '{"format": "something else", "version": "1.0"}', ""),
    ("a newer major version", '{"format": "harnessdiff reference", "version": "99.0"}', ""),
]


def spoilt(tmp_path: Path, content: str | bytes | None) -> Path:
    path = tmp_path / "spoilt.json"
    if content == "":
        path.mkdir()
    elif content is not None:
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return path


@pytest.mark.parametrize(("content", "message"), [one[1:] for one in BROKEN], ids=[one[0] for one in BROKEN])
@pytest.mark.parametrize("words", READERS, ids=[words[0] for words in READERS])
def test_reference_that_cannot_be_read_is_told_in_one_line(
    run: Run, survey: Survey, tmp_path: Path, words: list[str], content: str | bytes | None, message: str
) -> None:
    path = spoilt(tmp_path, content)
    sound = survey(TAP)
    result = run(*({"REFERENCE": path, "SURVEY": sound}.get(word, word) for word in words))

    said = told(result)
    assert said.startswith(str(path))
    assert message in said
    assert result.stdout == ""


@pytest.mark.parametrize(("content", "message"), [one[1:] for one in BROKEN], ids=[one[0] for one in BROKEN])
@pytest.mark.parametrize("words", READERS[:2], ids=["compare", "draw"])
def test_survey_that_cannot_be_read_is_told_in_one_line(
    run: Run,
    bench_file: Path,
    tmp_path: Path,
    words: list[str],
    content: str | bytes | None,
    message: str,
) -> None:
    path = spoilt(tmp_path, content)
    result = run(*({"REFERENCE": bench_file, "SURVEY": path}.get(word, word) for word in words))

    said = told(result)
    assert said.startswith(str(path))
    assert message in said
    assert result.stdout == ""


@pytest.mark.parametrize("words", READERS[:2], ids=["compare", "draw"])
def test_every_problem_of_a_file_is_told_in_a_line_of_its_own(
    run: Run, bench_file: Path, survey: Survey, words: list[str]
) -> None:
    path = survey(TAP | {"zone": "Z_NOPE"}, TAP | {"id": "t2", "on": {"wire": "W999"}})
    result = run(*({"REFERENCE": bench_file, "SURVEY": path}.get(word, word) for word in words))
    first, second = result.stderr.splitlines()

    assert result.exit_code == 2
    assert re.fullmatch(rf"error: {path}:1:\d+: /observations/0/zone: the reference has no zone Z_NOPE.*", first)
    assert re.fullmatch(rf"error: {path}:1:\d+: /observations/1/on/wire: .*W999.*", second)


def test_two_files_in_the_wrong_order_are_told(run: Run, bench_file: Path, survey: Survey) -> None:
    said = told(run("compare", survey(TAP), bench_file))

    assert "is a survey, where a reference is wanted" in said


@pytest.mark.parametrize("name", sorted(shipped_references()))
def test_shipped_reference_is_there_by_its_name(run: Run, name: str) -> None:
    data = json.loads(shipped_references()[name].read_bytes())

    assert data["format"] == "harnessdiff reference"
    assert run("fed-by", name).exit_code == 0


def test_file_of_the_same_name_comes_before_a_shipped_reference(
    run: Run, bench_file: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "light_van").write_bytes(bench_file.read_bytes())
    monkeypatch.chdir(tmp_path)

    assert [one["fuse"] for one in json.loads(run("fed-by", "light_van", "--json").stdout)] == [
        "F0", "F1", "F2", "F3", "F4", "F5",
    ]  # fmt: skip


# -- what nobody planned


@pytest.mark.parametrize(
    ("error", "last"),
    [
        (ZeroDivisionError, "error: this is a fault of harnessdiff, not of your files; the lines above say where"),
        (KeyboardInterrupt, "error: stopped; every file is as it was before or whole"),
    ],
)
def test_what_stops_a_command_is_trouble_and_never_a_difference(
    run: Run, bench_file: Path, survey: Survey, monkeypatch: pytest.MonkeyPatch, error: type[BaseException], last: str
) -> None:
    def failing(*_: object, **__: object) -> None:
        raise error

    monkeypatch.setattr(pipeline, "assess", failing)
    result = run("compare", bench_file, survey(TAP))

    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == last
    assert ("Traceback" in result.stderr) == (error is ZeroDivisionError)


def test_message_about_a_file_does_nothing_to_a_terminal(run: Run, bench_file: Path, survey: Survey) -> None:
    path = survey(TAP | {"zone": "Z_\x1b[2J\n\u202eerror: all is well"})

    assert told(run("compare", bench_file, path)).isprintable()
