"""Times `lint` on made-up references: sound ones that double in size, and one in which nothing is fed.

Run as ``python tests/benchmarks/lint.py [wires]``; prints a table. Not a test: the milliseconds are
the machine's. What twice the wires cost should be about twice the time.
"""

from __future__ import annotations

import platform
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from harnessdiff.pipeline import lint  # noqa: E402 - the path has to be set first
from tests.support import Json, between, body, filament, fused_slot, reference_from, source, wire  # noqa: E402

WIRES = 3000
WIRES_A_GROUP = 6
OPTIONS = 4
CONDITIONS = 12


def group(number: int) -> tuple[list[Json], list[Json], Json]:
    """A fused switch, a splice behind it, and two lamps; the second lamp of some comes with an option."""
    own = f"{number:04}"
    devices = fused_slot(f"F{own}", 10, f"BUS:{number}", "Z")
    link = {"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}
    devices.append(between(f"S{own}", "switch", [link], positions=["off", "on"], rest_position="off"))
    option = {"option": [f"o{number % OPTIONS}"]} if number % 3 == 0 else {}
    devices += [between(f"E{own}", "lamp", [filament("1", "2", 5)])]
    devices += [between(f"D{own}", "lamp", [filament("1", "2", 5)], **option)]
    ways = [
        (f"F{own}:out", f"S{own}:1"), (f"S{own}:2", f"P{own}"), (f"P{own}", f"E{own}:1"), (f"P{own}", f"D{own}:1"),
        (f"E{own}:2", "BODY:1"), (f"D{own}:2", "BODY:1"),
    ]  # fmt: skip
    wires = [wire(f"W{own}{place}", ends, "RD/WH", 1, 1.0, circuit="C_ANY") for place, ends in enumerate(ways)]
    return devices, wires, {"id": f"P{own}", "zone": "Z"}


def made_up(wires: int, *, fed: bool = True) -> Json:
    """A reference of about so many wires; without its main feed where it is not `fed`."""
    groups = [group(number) for number in range(max(1, wires // WIRES_A_GROUP))]
    bus = {"id": "BUS", "kind": "joint_block", "all_common": True, "terminals": ["in", *map(str, range(len(groups)))]}
    feed = [wire("W_MAIN", ("BAT:+", "BUS:in"), "RD", 16, 1.0, circuit="C_ANY")] if fed else []
    return {
        "format": "harnessdiff reference",
        "version": "1.0",
        "id": "made_up",
        "title": "made up",
        "extent": "fragment",
        "options": [{"id": f"o{number}", "name": f"option {number}"} for number in range(OPTIONS)],
        "zones": [{"id": "Z", "name": "here"}],
        "circuits": [{"id": "C_ANY", "name": "circuit", "function": "other"}],
        "conditions": [
            {
                "id": f"c{number}",
                "name": f"condition {number}",
                "key": "out",
                "engine": "stopped",
                "positions": {f"S{one:04}": "on" for one in range(number, len(groups), CONDITIONS)},
            }
            for number in range(CONDITIONS)
        ],
        "devices": [body(), source(), bus, *(device for devices, _, _ in groups for device in devices)],
        "splices": [splice for _, _, splice in groups],
        "wires": [
            wire("W_GND", ("BAT:-", "BODY:1"), "BK", 16, 1.0, circuit="C_ANY"),
            *feed,
            *(one for _, wires, _ in groups for one in wires),
        ],
    }


def main() -> None:
    """Print what was timed, on what, and the table."""
    wires = int(sys.argv[1]) if len(sys.argv) > 1 else WIRES
    sys.stdout.write(f"Python {platform.python_version()}, {OPTIONS} options, {CONDITIONS} conditions\n\n")
    sys.stdout.write(f"| {'what':<10} | wires | objections | time [ms] |\n")
    sys.stdout.write(f"|{'-' * 12}|------:|-----------:|----------:|\n")
    for what, size, fed in (
        ("fed", wires // 4, True), ("fed", wires // 2, True), ("fed", wires, True),
        ("not fed", wires // 2, False), ("not fed", wires, False),
    ):  # fmt: skip
        reference = reference_from(made_up(size, fed=fed))
        began = time.perf_counter()
        found = lint(reference)
        spent = time.perf_counter() - began
        sys.stdout.write(f"| {what:<10} | {size:>5} | {len(found):>10} | {spent * 1000:>9.0f} |\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
