"""Runs commands as a shell would, and writes the files that they need."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from click.testing import CliRunner, Result

from harnessdiff import pipeline
from harnessdiff.cli.main import main
from harnessdiff.draw import layout
from tests.support import Json, bench_data, survey_data

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey as SurveyRead
    from harnessdiff.pipeline import Case

Run = Callable[..., Result]
Survey = Callable[..., Path]


@pytest.fixture(autouse=True)
def assessed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Assess no file twice with the same options: what is tested here is the command."""
    monkeypatch.setattr(pipeline, "assess", _assessed_once)


_ASSESS = pipeline.assess
_CASES: dict[tuple[object, ...], Case] = {}


def _assessed_once(reference: Reference, survey: SurveyRead, **options: Any) -> Case:
    policy = options.get("policy")
    said = sorted((name, value) for name, value in options.items() if name != "policy")
    key = (reference.sha256, survey.sha256, survey.photographs, policy and policy.sha256, *said)
    if key not in _CASES:
        _CASES[key] = _ASSESS(reference, survey, **options)
    return replace(_CASES[key])  # a case of its own, which has not been drawn yet


@pytest.fixture
def run() -> Run:
    """Run a command; what is raised must be an exit, never an error of the program."""

    def running(*arguments: object) -> Result:
        result = CliRunner().invoke(main, [str(one) for one in arguments])
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return running


@pytest.fixture
def bench_file(tmp_path: Path) -> Path:
    """The bench as a file."""
    path = tmp_path / "bench.json"
    path.write_text(json.dumps(bench_data()), encoding="utf-8")
    return path


@pytest.fixture
def survey(tmp_path: Path) -> Survey:
    """Write a survey with these observations."""

    def writing(*lines: Json, name: str = "survey.json", **members: Any) -> Path:
        path = tmp_path / name
        path.write_text(json.dumps(survey_data(*lines, **members)), encoding="utf-8")
        return path

    return writing


ENGINES = {
    "crashes": ("echo 'bad news' >&2; exit 3", "the layout engine failed (bad news); the findings stand"),
    "hangs": ("exec sleep 60", "the layout engine took longer than 0.2 s; the findings stand"),
}


@pytest.fixture(params=sorted(ENGINES))
def broken_engine(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Put a program that fails in the place of the layout engine; gives the message there must be."""
    script, message = ENGINES[request.param]
    program = tmp_path / "engine"
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(program))
    monkeypatch.setattr(layout, "TIME_LIMIT_S", 0.2)
    return message
