"""The bench with switches that are pressed: what the commands that solve a harness are tried on."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from tests.support import Json, bench_data

if TYPE_CHECKING:
    from pathlib import Path


def living_data() -> Json:
    """The bench, with conditions in which its side lamps, horn and brake lamp work."""
    data = bench_data()
    for name, positions in (("side", {"S1": "on"}), ("horn", {"S2": "pressed"}), ("brake", {"S3": "pressed"})):
        data["conditions"].append(
            {"id": name, "name": f"{name} pressed", "key": "out", "engine": "stopped", "positions": positions}
        )
    data["conditions"].append(
        {"id": "refused", "name": "the horn must be silent", "key": "out", "engine": "stopped", "refusal": True,
         "must_stay_dead": ["H1"]}
    )  # fmt: skip
    return data


def living_file(folder: Path, data: Json | None = None) -> Path:
    """The living bench as a file."""
    path = folder / "living.json"
    path.write_text(json.dumps(living_data() if data is None else data), encoding="utf-8")
    return path


def bare_data() -> Json:
    """The bench as an imported wire list has it: nothing is known of what is inside its devices."""
    data = living_data()
    for device in data["devices"]:
        device.pop("parts", None)
    return data


# A lead from the supply of the horn relay to the horn: past the relay's contact.
BYPASS: tuple[Json, ...] = (
    {"kind": "joint", "id": "j1", "zone": "Z_DASH", "members": [{"wire": "W20"}, {"lead": "l1", "end": 1}],
     "type": "twisted"},
    {"kind": "joint", "id": "j2", "zone": "Z_DASH", "members": [{"wire": "W21"}, {"lead": "l1", "end": 2}],
     "type": "twisted"},
    {"kind": "lead", "id": "l1", "zone": "Z_DASH", "size_mm2": 1.5, "length_m": 0.3, "end_1": {"joined": "j1"},
     "end_2": {"joined": "j2"}},
)  # fmt: skip
CUT: Json = {"kind": "cut", "id": "c1", "zone": "Z_TAIL", "wire": "W12", "at": {"from_end": 2, "distance_m": 0.1}}
NO_FUSE: Json = {"kind": "missing", "element": "F1_FUSE", "zone": "Z_DASH"}
# A battery whose id comes before that of the maker's, on the same metal.
SECOND_BATTERY: tuple[Json, ...] = (
    {"kind": "device", "id": "AA", "zone": "Z_BAY", "sort": "battery", "terminals": ["+", "-"],
     "contents": [{"kind": "source", "between": ["+", "-"], "model": "battery", "voltage_V": 12.1}]},
    {"kind": "lead", "id": "l1", "zone": "Z_BAY", "size_mm2": 10, "length_m": 0.3,
     "end_1": {"device": "AA", "pin": "-"}, "end_2": {"joined": "j1"}},
    {"kind": "joint", "id": "j1", "zone": "Z_BAY", "members": [{"terminal": "BODY:1"}, {"lead": "l1", "end": 2}],
     "type": "ring_terminal"},
)  # fmt: skip
