"""What every test may lean on: the hypothesis profile, the shipped files, the light van, the bench."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, Phase, settings

from harnessdiff.read.reference import read_reference
from harnessdiff.read.survey import read_survey
from tests.support import bench_data, reference_from

if TYPE_CHECKING:
    from collections.abc import Iterator

    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey

settings.register_profile(
    "suite",
    deadline=None,
    max_examples=30,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate, Phase.shrink],
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.function_scoped_fixture],
)
settings.register_profile("search", parent=settings.get_profile("suite"), max_examples=1000, derandomize=False)
settings.load_profile("suite")


@pytest.fixture(scope="session")
def van_path() -> Iterator[Path]:
    """The light van's reference file, as it is installed."""
    with as_file(files("harnessdiff.reference_harnesses").joinpath("light_van/light_van.json")) as path:
        yield path


@pytest.fixture(scope="session")
def demo_path() -> Iterator[Path]:
    """The demo's survey file, as it is installed."""
    with as_file(files("harnessdiff.demo").joinpath("light_van_inspector/survey.json")) as path:
        yield path


@pytest.fixture(scope="session")
def van(van_path: Path) -> Reference:
    """The light van, read once."""
    return read_reference(van_path)


@pytest.fixture(scope="session")
def demo_survey(demo_path: Path, van: Reference) -> Survey:
    """The demo's survey, read once."""
    return read_survey(demo_path, van)


@pytest.fixture(scope="session")
def bench() -> Reference:
    """The bench: a reference small enough to be gone through by hand."""
    return reference_from(bench_data())
