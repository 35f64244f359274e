"""Run the main job on the demo: ``python3 demo/run.py``.

Needs Python 3.11 or newer and nothing else. Makes a virtual environment in ``.venv`` of the
project's root (shared with ``tests/run.py``), installs the project into it, and compares the demo
survey with the light van. Everything is written to ``demo/out``.
"""

from __future__ import annotations

import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
PYTHON = ENVIRONMENT / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
OUTPUT = ROOT / "demo" / "out"
OLDEST_PYTHON = (3, 11)


def installed(*extras: str) -> Path:
    """The environment's interpreter, with the project and `extras` installed; made where needed."""
    if sys.version_info < OLDEST_PYTHON:
        sys.exit(f"harnessdiff needs Python 3.11 or newer; this is {sys.version.split()[0]}")
    stamp = ENVIRONMENT / f"installed-{'-'.join(('project', *extras))}"
    wanted = (ROOT / "pyproject.toml").read_bytes()
    if not (PYTHON.exists() and stamp.exists() and stamp.read_bytes() == wanted):
        print(f"setting up {ENVIRONMENT} (once)", flush=True)
        if not PYTHON.exists():
            make_environment()
        target = f"{ROOT}[{','.join(extras)}]" if extras else str(ROOT)
        install = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--editable", target]
        if subprocess.run(install, check=False).returncode != 0:
            sys.exit("the installation failed; see above (it needs to reach a package index once)")
        stamp.write_bytes(wanted)
    return PYTHON


def make_environment() -> None:
    """Make the virtual environment, or say what this Python lacks for it."""
    try:
        venv.create(ENVIRONMENT, with_pip=True)
    except subprocess.CalledProcessError:
        sys.exit("this Python cannot make a virtual environment with pip; on Debian: apt install python3-venv")


def main() -> int:
    """Compare, say where the results are."""
    python = installed()
    command = [str(python), "-m", "harnessdiff", "demo", "--output", str(OUTPUT), "--format", "svg", "--format", "pdf"]
    finished = subprocess.run(command, cwd=ROOT, check=False)
    if finished.returncode == 0:
        print(f"\nResults are in {OUTPUT}:")
        print("  findings.txt            the list above")
        print("  sheet-01-overview.svg   where to look; the other sheets follow it")
        print("  sheets.pdf              all sheets, to print and carry to the vehicle")
        print("  findings.json           for other programs (schemas/v1/findings.schema.json)")
    return finished.returncode


if __name__ == "__main__":
    sys.exit(main())
