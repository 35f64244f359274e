"""``policy``: what findings are rated by, shown and checked."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from harnessdiff.read.policy import default_policy, shipped_policy
from tests.cli.outcome import told
from tests.policies import line, overlay

if TYPE_CHECKING:
    from pathlib import Path

    from tests.cli.conftest import Run
    from tests.support import Json


def written(folder: Path, data: Json) -> Path:
    path = folder / "own.json"
    path.write_text(json.dumps(data, indent=1), encoding="utf-8")
    return path


BROKEN = overlay(without=["restraint_touchd"])
NOTED = overlay(forbidden=[line(joint="twisted_taped", level="Serious")])


@pytest.mark.parametrize("arguments", [(), ("default",)])
def test_the_default_policy_is_shown(run: Run, arguments: tuple[str, ...]) -> None:
    result = run("policy", "show", *arguments)

    assert result.exit_code == 0
    assert default_policy().sha256 in result.stdout
    assert "What opens: short of a live conductor" in result.stdout


def test_a_shipped_policy_and_a_file_are_shown_with_what_differs(run: Run, tmp_path: Path) -> None:
    shown = run("policy", "show", "harbour_mutual", "--changed")
    own = run("policy", "show", written(tmp_path, NOTED), "--changed")

    assert all(f"\n{name}\n" in shown.stdout for name in shipped_policy("harbour_mutual").changed)
    assert "forbidden: twisted_taped" in own.stdout


def test_what_is_printed_for_machines_is_a_policy_again(run: Run, tmp_path: Path) -> None:
    result = run("policy", "show", "harbour_mutual", "--json")
    path = tmp_path / "again.json"
    path.write_text(result.stdout)

    assert json.loads(result.stdout)["x_sha256"] == shipped_policy("harbour_mutual").sha256
    assert run("policy", "check", path).stdout == f"{path}: policy, sound\n"
    assert run("policy", "show", path).stdout.splitlines()[1].endswith(shipped_policy("harbour_mutual").sha256)


def test_what_differs_is_printed_for_machines(run: Run) -> None:
    result = json.loads(run("policy", "show", "harbour_mutual", "--changed", "--json").stdout)

    assert [one["line"] for one in result["changed"]] == list(shipped_policy("harbour_mutual").changed)


def test_a_policy_that_is_not_there_names_the_nearest(run: Run) -> None:
    message = told(run("policy", "show", "harbor_mutual"))

    assert message == (
        'harbor_mutual: there is no such file, and no shipped policy of that name; did you mean "harbour_mutual"?'
    )


@pytest.mark.parametrize("command", [("policy", "check"), ("check",)])
def test_a_broken_policy_is_told_with_its_line(run: Run, tmp_path: Path, command: tuple[str, ...]) -> None:
    path = written(tmp_path, BROKEN)
    number = next(place for place, row in enumerate(path.read_text().splitlines(), 1) if "touchd" in row)
    result = run(*command, path)
    wrong = "there is no floor or cap of the policy below restraint_touchd"

    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr == f'{path}:{number}:3: /without/0: {wrong}; did you mean "restraint_touched"?\n'


@pytest.mark.parametrize("command", [("policy", "check"), ("check",)])
def test_what_may_not_be_meant_is_a_warning_and_with_strict_a_problem(
    run: Run, tmp_path: Path, command: tuple[str, ...]
) -> None:
    path = written(tmp_path, NOTED)
    note = "twisted_taped is forbidden, and what is worse is not: bare_contact"
    lenient, strict = run(*command, path), run(*command, path, "--strict")

    assert (lenient.exit_code, strict.exit_code) == (0, 2)
    assert lenient.stdout == f"{path}: policy, sound\n"
    assert note in lenient.stderr
    assert note in strict.stderr


def test_problems_are_printed_for_machines(run: Run, tmp_path: Path) -> None:
    result = run("policy", "check", written(tmp_path, BROKEN), "--json")
    ((row,),) = ([one["problems"] for one in json.loads(result.stdout)],)

    assert result.exit_code == 2
    assert [one["pointer"] for one in row] == ["/without/0"]


def test_what_is_no_policy_is_refused(run: Run, bench_file: Path) -> None:
    result = run("policy", "check", bench_file)

    assert result.exit_code == 2
    assert result.stderr == f"{bench_file}: is a reference, where a policy is wanted\n"


@pytest.mark.parametrize("command", ["show", "check"])
def test_help_of_a_part_has_an_example(run: Run, command: str) -> None:
    result = run("policy", command, "--help")

    assert f"Example:\n    harnessdiff policy {command} " in result.output
    assert max(map(len, result.output.splitlines())) <= 100
