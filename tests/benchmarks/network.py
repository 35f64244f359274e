"""Times the networks of the van: what ten named conditions take, of the reference and as found, ranges included.

Run as ``python tests/benchmarks/network.py [runs]``; prints a table. Not a test: the milliseconds are the machine's.
The last row is the sum of those before it.
"""

from __future__ import annotations

import platform
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from harnessdiff.analyse.answering import Answering  # noqa: E402 - the path has to be set first
from harnessdiff.analyse.contents import supposed  # noqa: E402
from harnessdiff.analyse.drops import Drops  # noqa: E402
from harnessdiff.analyse.network.build import Network  # noqa: E402
from harnessdiff.analyse.network.settle import Settled, settled_in_all  # noqa: E402
from harnessdiff.model.harness import Harness  # noqa: E402
from harnessdiff.pipeline import Case, assess  # noqa: E402
from harnessdiff.read.reference import read_reference  # noqa: E402
from harnessdiff.read.survey import read_survey  # noqa: E402
from tests.benchmarks.compare import RUNS, SURVEY, VAN, timed  # noqa: E402

CONDITIONS = (
    "asleep", "awake", "ignition", "cranking", "driving_day", "driving_night", "driving_rain", "hot_idle",
    "emergency_stop", "hazard",
)  # fmt: skip
"""Ten that between them wake everything but the horn."""


class Work:
    """The van and what was found on it, step by step."""

    def __init__(self, case: Case) -> None:
        self.case = case
        by_id = {condition.id: condition for condition in case.reference.conditions}
        self.conditions = tuple(by_id[name] for name in CONDITIONS)
        self.networks = self.build()
        self.before = self.settle(0)
        self.after = self.settle(1)

    def build(self) -> tuple[Network, Network]:
        """Both networks, from the harnesses."""
        return self._network(self.case.reference.harness), self._network(supposed(self.case.as_found))

    def _network(self, harness: Harness) -> Network:
        vehicle = self.case.reference.vehicle
        return Network(harness, vehicle.ground_polarity, vehicle.system_voltage_V)

    def settle(self, number: int) -> dict[str, Settled]:
        """One of the networks in every condition; what was found begins at what the reference came to."""
        like = self.before if number else None
        return dict(settled_in_all(self.networks[number], self.conditions, like))

    def ranges(self) -> None:
        """The range of the voltage at every load fed by way of something added."""
        findings = self.case.findings
        modifications = tuple(finding.modification for finding in findings.findings)
        Drops(Answering(modifications, (), self.before, self.after)).consequences()


def main() -> None:
    """Print what was timed, on what, and the table."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else RUNS
    van = read_reference(VAN)
    work = Work(assess(van, read_survey(SURVEY, van), electrical=False))
    steps = {
        "build both networks": work.build,
        "settle the reference": lambda: work.settle(0),
        "settle what was found": lambda: work.settle(1),
        "ranges": work.ranges,
    }
    least = {what: min(timed(step, runs)) * 1000 for what, step in steps.items()}
    nodes, branches = (
        " and ".join(str(len(each)) for each in sizes)
        for sizes in zip(*((network.index, network.branches) for network in work.networks), strict=True)
    )
    sys.stdout.write(
        f"{nodes} nodes, {branches} branches; Python {platform.python_version()}, least of {runs} runs\n\n"
    )
    sys.stdout.write(f"| {f'{len(CONDITIONS)} conditions':<24} | least [ms] |\n|{'-' * 26}|{'-' * 11}:|\n")
    for what, taken in {**least, "together": sum(least.values())}.items():
        sys.stdout.write(f"| {what:<24} | {taken:>10.0f} |\n")


if __name__ == "__main__":
    main()
