"""Run the tests: ``python3 tests/run.py``.

Needs Python 3.11 or newer and nothing else; shares the virtual environment of ``demo/run.py``.
Further arguments go to pytest. With ``--full`` the programs of the system that some tests need
(a browser, a circuit simulator) are installed, too, on Debian and as root; without it, tests that
need one run where it is found and are else listed as skipped.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))
from demo.run import installed  # noqa: E402 - the path has to be set first

DEBIAN_PROGRAMS = {"chromium": "chromium", "ngspice": "ngspice"}


def install_programs() -> None:
    """Install what is missing of the system's programs."""
    missing = [package for program, package in DEBIAN_PROGRAMS.items() if shutil.which(program) is None]
    if not missing:
        return
    if shutil.which("apt-get") is None or os.geteuid() != 0:
        sys.exit("--full installs programs on Debian as root; run without it, and tests that need them are skipped")
    print(f"installing {', '.join(missing)}", flush=True)
    subprocess.run(["apt-get", "update", "-qq"], check=True, stdout=subprocess.DEVNULL)
    install = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing]
    subprocess.run(install, check=True, stdout=subprocess.DEVNULL)


def main() -> int:
    """Set up, run the tests, pass their exit code on."""
    arguments = sys.argv[1:]
    if "--full" in arguments:
        arguments.remove("--full")
        install_programs()
    python = installed("test")
    command = [str(python), "-m", "pytest", "-q", "-n", "auto", "--dist", "worksteal", "-rs", *arguments]
    return subprocess.run(command, cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
