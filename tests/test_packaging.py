"""What is in the folder is in the package: every module, every shipped file, and the two commands beside it."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from importlib import import_module
from importlib.metadata import entry_points, version
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from harnessdiff.resources import shipped_bytes, shipped_text
from tests.support import Json

if TYPE_CHECKING:
    from collections.abc import Iterator
    from importlib.resources.abc import Traversable

ROOT = Path(__file__).resolve().parent.parent
SETTINGS: Json = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
SETUPTOOLS: Json = SETTINGS["tool"]["setuptools"]
FOLDERS: dict[str, str] = SETUPTOOLS["package-dir"]
PACKAGES: list[str] = SETUPTOOLS["packages"]
# Folders beside the package that install below it.
BESIDE = {name: folder for name, folder in FOLDERS.items() if name != "harnessdiff"}
# Files that a package may hold and that nobody who installs it needs.
NOT_SHIPPED = {"run.py"}


def folder_of(package: str) -> Path:
    """Where a package of the list lies in the tree."""
    return ROOT / FOLDERS[package] if package in FOLDERS else ROOT / package.replace(".", "/")


def modules_in(folder: Path) -> Iterator[Path]:
    return (path for path in folder.rglob("*.py") if "__pycache__" not in path.parts)


# -- the list of packages and the tree


def test_every_folder_with_code_is_in_the_list_of_packages_and_no_other() -> None:
    folders = {path.parent.relative_to(ROOT).as_posix().replace("/", ".") for path in modules_in(ROOT / "harnessdiff")}

    assert sorted(folders | set(BESIDE)) == sorted(PACKAGES)


@pytest.mark.parametrize("package", PACKAGES)
def test_every_package_of_the_list_is_there_and_says_what_it_is(package: str) -> None:
    source = (folder_of(package) / "__init__.py").read_text(encoding="utf-8")

    assert ast.get_docstring(ast.parse(source))


def test_list_of_packages_is_in_order() -> None:
    assert sorted(PACKAGES) == PACKAGES


def test_every_module_can_be_imported() -> None:
    for path in modules_in(ROOT / "harnessdiff"):
        name = path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".").removesuffix(".__init__")
        if name != "harnessdiff.__main__":
            assert import_module(name).__doc__


def data_files(package: str) -> set[str]:
    """Files of a package that are no code, by their path below it."""
    folder = folder_of(package)
    below = {other for other in map(folder_of, PACKAGES) if folder in other.parents}
    return {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file()
        and path.suffix not in (".py", ".pyc")
        and not any(parent in below for parent in path.parents)
        and path.relative_to(folder).parts[0] != "out"
    }


def shipped_by_pattern(package: str) -> set[str]:
    folder = folder_of(package)
    patterns = SETUPTOOLS["package-data"].get(package, [])
    return {path.relative_to(folder).as_posix() for pattern in patterns for path in folder.glob(pattern)}


@pytest.mark.parametrize("package", PACKAGES)
def test_every_data_file_is_shipped(package: str) -> None:
    unshipped = data_files(package) - shipped_by_pattern(package)

    assert {name for name in unshipped if not name.endswith(".md")} == set()


def test_patterns_of_shipped_files_find_something() -> None:
    for package, patterns in SETUPTOOLS["package-data"].items():
        for pattern in patterns:
            assert list(folder_of(package).glob(pattern)), f"{package}: {pattern}"


# -- the installed package


def leaves(here: Traversable, below: str = "") -> Iterator[str]:
    for one in here.iterdir():
        if one.is_dir():
            yield from leaves(one, f"{below}{one.name}/")
        else:
            yield f"{below}{one.name}"


@pytest.mark.parametrize("package", sorted(SETUPTOOLS["package-data"]))
def test_every_shipped_file_is_found_in_the_installed_package(package: str) -> None:
    found = set(leaves(files(package)))

    assert shipped_by_pattern(package) <= found


@pytest.mark.parametrize("package", sorted(set(SETUPTOOLS["package-data"]) - {"harnessdiff"}))
def test_every_shipped_file_can_be_read_by_its_name(package: str) -> None:
    for name in sorted(shipped_by_pattern(package)):
        data = shipped_bytes(package.removeprefix("harnessdiff."), name)

        assert data == (folder_of(package) / name).read_bytes()
        if not name.endswith(".png"):
            assert shipped_text(package.removeprefix("harnessdiff."), name) == data.decode("utf-8")


def test_types_are_announced() -> None:
    assert files("harnessdiff").joinpath("py.typed").is_file()


def test_version_is_the_same_everywhere() -> None:
    assert version("harnessdiff") == SETTINGS["project"]["version"]
    changelog = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")

    assert SETTINGS["project"]["version"] in changelog


def test_command_is_installed() -> None:
    (script,) = entry_points(group="console_scripts", name="harnessdiff")

    assert script.value == SETTINGS["project"]["scripts"]["harnessdiff"] == "harnessdiff.cli.main:main"
    assert callable(script.load())


# -- what is needed


IMPORTED_AS = {
    "fonttools": "fontTools",
    "font-source-sans-pro": "font_source_sans_pro",
    "jsonschema-rs": "jsonschema_rs",
}


def imported() -> dict[str, set[str]]:
    """Top-level names that the package imports from elsewhere, each with the modules that do."""
    found: dict[str, set[str]] = {}
    for path in modules_in(ROOT / "harnessdiff"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = (
                [one.name for one in node.names] if isinstance(node, ast.Import)
                else [node.module or ""] if isinstance(node, ast.ImportFrom) and node.level == 0 else []
            )  # fmt: skip
            for name in names:
                found.setdefault(name.split(".")[0], set()).add(path.name)
    return {
        name: where for name, where in found.items() if name not in sys.stdlib_module_names and name != "harnessdiff"
    }


def test_everything_that_is_imported_is_asked_for_and_nothing_else() -> None:
    asked = [re.split(r"[<>=~! \[]", one)[0] for one in SETTINGS["project"]["dependencies"]]

    assert set(imported()) == {IMPORTED_AS.get(name, name) for name in asked}


def test_everything_that_is_asked_for_has_a_least_version() -> None:
    extras = [one for extra in SETTINGS["project"]["optional-dependencies"].values() for one in extra]

    assert [one for one in [*SETTINGS["project"]["dependencies"], *extras] if ">=" not in one] == []


def test_every_dependency_is_explained_to_contributors() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = text[text.index("## Why each dependency") :]

    for one in SETTINGS["project"]["dependencies"]:
        name = re.split(r"[<>=~! \[]", one)[0]

        assert re.search(rf"^\|[^|]*\b{re.escape(name)}\b[^|]*\|", table, re.MULTILINE), name


# -- the two commands that need nothing but Python


@pytest.mark.parametrize("script", ["demo/run.py", "tests/run.py"])
def test_script_imports_nothing_that_python_does_not_bring(script: str) -> None:
    names = set()
    for node in ast.walk(ast.parse((ROOT / script).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {one.name.split(".")[0] for one in node.names}
        elif isinstance(node, ast.ImportFrom):
            names.add(str(node.module).split(".")[0])

    # tests/run.py takes what demo/run.py has.
    assert names - set(sys.stdlib_module_names) <= {"demo"}


@pytest.mark.parametrize("script", ["demo/run.py", "tests/run.py"])
def test_script_is_explained_in_the_readme_and_says_what_it_does(script: str) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    explained = ast.get_docstring(ast.parse((ROOT / script).read_text(encoding="utf-8"))) or ""

    assert f"python3 {script}" in readme
    assert f"python3 {script}" in explained


def loaded_script(script: str, monkeypatch: pytest.MonkeyPatch) -> Any:
    """A script's names, without running it."""
    import importlib.util

    monkeypatch.setattr(sys, "path", [str((ROOT / "demo").resolve()), *sys.path])
    spec = importlib.util.spec_from_file_location(f"script_{script.replace('/', '_')}", ROOT / script)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class Calls:
    """Stands in for the module that starts processes, and writes down what would be started."""

    DEVNULL = subprocess.DEVNULL

    def __init__(self, returncode: int = 0) -> None:
        self.returncode = returncode
        self.commands: list[list[str]] = []

    def run(self, command: list[Any], **_: Any) -> subprocess.CompletedProcess[bytes]:
        self.commands.append([str(word) for word in command])
        return subprocess.CompletedProcess(command, self.returncode)


@pytest.fixture
def demo(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Any:
    """demo/run.py over a project folder of its own, with no process started."""
    script = loaded_script("demo/run.py", monkeypatch)
    (tmp_path / "pyproject.toml").write_text("one")
    for name, value in (
        ("ROOT", tmp_path), ("ENVIRONMENT", tmp_path / ".venv"), ("PYTHON", tmp_path / ".venv/bin/python"),
        ("OUTPUT", tmp_path / "demo/out"), ("subprocess", Calls()), ("venv", Environments()),
    ):  # fmt: skip
        monkeypatch.setattr(script, name, value)
    return script


class Environments:
    """Stands in for the module that makes environments."""

    def create(self, folder: Path, **_: Any) -> None:
        (folder / "bin").mkdir(parents=True)
        (folder / "bin/python").touch()


def test_environment_is_made_once_and_shared(demo: Any) -> None:
    demo.installed()
    demo.installed()
    demo.installed("test")
    installs = [command[-1] for command in demo.subprocess.commands]

    assert installs == [str(demo.ROOT), f"{demo.ROOT}[test]"]


def test_environment_is_brought_up_to_date_when_the_project_asks_for_something_else(demo: Any) -> None:
    demo.installed()
    (demo.ROOT / "pyproject.toml").write_text("two")
    demo.installed()

    assert len(demo.subprocess.commands) == 2


def test_failed_installation_is_told_and_tried_again(demo: Any) -> None:
    demo.subprocess.returncode = 1
    with pytest.raises(SystemExit, match="the installation failed"):
        demo.installed()
    demo.subprocess.returncode = 0
    demo.installed()

    assert len(demo.subprocess.commands) == 2


def test_old_python_is_told(demo: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demo, "OLDEST_PYTHON", (99, 0))

    with pytest.raises(SystemExit, match="needs Python"):
        demo.installed()


def test_oldest_python_is_the_one_that_the_project_asks_for(demo: Any) -> None:
    assert SETTINGS["project"]["requires-python"] == f">={'.'.join(map(str, demo.OLDEST_PYTHON))}"


@pytest.mark.parametrize("code", [0, 2])
def test_demo_passes_the_exit_code_on_and_says_where_results_are(
    demo: Any, capsys: pytest.CaptureFixture[str], code: int
) -> None:
    demo.installed()
    demo.subprocess.returncode = code

    assert demo.main() == code
    assert (f"Results are in {demo.OUTPUT}" in capsys.readouterr().out) == (code == 0)
    assert demo.subprocess.commands[-1][1:4] == ["-m", "harnessdiff", "demo"]


def test_files_that_the_demo_points_to_are_files_that_it_writes(demo: Any, capsys: pytest.CaptureFixture[str]) -> None:
    demo.installed()
    demo.main()
    named = re.findall(r"^  ([\w-]+\.(?:txt|svg|pdf|json)) ", capsys.readouterr().out, re.MULTILINE)

    assert named == ["findings.txt", "sheet-01-overview.svg", "sheets.pdf", "findings.json"]
    assert demo.subprocess.commands[-1][-4:] == ["--format", "svg", "--format", "pdf"]


@pytest.fixture
def tests_script(demo: Any, monkeypatch: pytest.MonkeyPatch) -> Any:
    """tests/run.py, with no process started."""
    script = loaded_script("tests/run.py", monkeypatch)
    monkeypatch.setattr(script, "installed", demo.installed)
    monkeypatch.setattr(script, "subprocess", demo.subprocess)
    return script


def test_arguments_of_the_test_script_go_to_pytest(
    tests_script: Any, demo: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", ["tests/run.py", "-k", "cut"])

    assert tests_script.main() == 0
    assert demo.subprocess.commands[-1][1:3] == ["-m", "pytest"]
    assert demo.subprocess.commands[-1][-2:] == ["-k", "cut"]
    assert "-rs" in demo.subprocess.commands[-1]


def test_full_run_installs_only_what_is_missing(tests_script: Any, demo: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "argv", ["tests/run.py", "--full"])
    monkeypatch.setattr(tests_script.shutil, "which", lambda program: f"/usr/bin/{program}")
    tests_script.main()

    assert [command for command in demo.subprocess.commands if "apt-get" in command[0]] == []
    assert "--full" not in demo.subprocess.commands[-1]


def test_full_run_says_what_it_needs_where_it_cannot_install(
    tests_script: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "argv", ["tests/run.py", "--full"])
    monkeypatch.setattr(tests_script.shutil, "which", lambda _: None)

    with pytest.raises(SystemExit, match="run without it"):
        tests_script.main()
