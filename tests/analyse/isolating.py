"""The bench, what was added to it, and how it is made dead."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from harnessdiff.analyse.electrical import Solved
from harnessdiff.analyse.isolation import Isolating, isolations
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import settle, settled_in_all
from harnessdiff.analyse.removal import removal_order
from harnessdiff.compare.before import Before
from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import installs_of, modifications_of
from harnessdiff.model.harness import Bond, Harness
from harnessdiff.model.isolation import Isolation, Removal, Step
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Survey
from harnessdiff.resolve.apply import as_found_of
from tests.support import Json, bench_data, reference_from, survey_from

JOINT: Json = {"type": "solder", "tool": "iron", "cover": "adhesive_sleeve", "unwrapped": "yes"}
LEAD: Json = {"size_mm2": 1.0, "length_m": 0.5}
SCOPE: Json = {"looked_at": "everything", "dismantling": "anything"}
CONDITIONS = (("side_lamps", {"S1": "on"}), ("braking", {"S3": "pressed"}), ("horn", {"S2": "pressed"}))


@dataclass(frozen=True, kw_only=True)
class Bench:
    """The bench as it was found, solved, and every isolation of it."""

    reference: Reference
    survey: Survey
    before: Solved
    after: Solved
    found: dict[str, Isolation]
    removals: tuple[tuple[Removal, ...], ...]

    @property
    def harness(self) -> Harness:
        return self.after.network.harness

    def done(self, target: str) -> list[tuple[str, str | None]]:
        return [(step.code, step.element) for step in self.found[target].steps]

    def live_with(self, target: str, steps: tuple[Step, ...], least_V: float = 1.0) -> set[tuple[str, str]]:
        """Nodes of a target that carry a voltage in a condition once some steps are done: solved anew, on its own."""
        network = self.after.network
        opened = {number for step in steps for number in branches_of(network, step)}
        nodes = Isolating(self.after, self.reference, self.survey).nodes_of(target)
        found = set()
        for name, settled in self.after.settled.items():
            solved = settle(network, settled.condition, settled.state, opened=opened)
            body = solved.voltage_V("BODY:1") or 0.0
            for node in nodes:
                volts = solved.voltage_V(node)
                if volts is not None and abs(volts - body) > least_V:
                    found.add((node, name))
        return found


def branches_of(network: Network, step: Step) -> list[int]:
    """What a step takes out, by what it is called."""
    if step.code == "engine_off":
        return [one.number for one in network.branches if one.kind == "source" and one.part.model == "alternator"]  # type: ignore[union-attr]
    assert step.element is not None
    own = [one for one in network.branches_of(step.element) if not isinstance(one.part, Bond)]
    if step.code in ("battery_off", "regulator_off", "disarm"):
        return [one.number for one in own if one.kind == "source"]
    if step.code in ("pull_fuse", "unplug"):
        return [one.number for one in own]
    if step.code == "pull_inline_fuse":
        return [one.number for one in own if one.kind == "fuse"]
    ends = {f"{step.element}#1", f"{step.element}#2", step.element}
    return [
        one.number
        for one in network.branches
        if step.at in (one.one, one.other) and (ends & {one.one, one.other} or one.element == step.element)
    ]


def tap(name: str, wire: str, to: Json | None = None, **lead: Any) -> Json:
    """A lead tapped on a wire, loose at its other end unless it goes to a device."""
    return {
        "kind": "tap",
        "id": name,
        "on": {"wire": wire, "at": {"from_end": 1, "distance_m": 0.1}},
        "joint": JOINT,
        "lead": LEAD | lead,
        "to": to or {"loose": {"treatment": "taped"}},
    }


def bridge(name: str, one: str, other: str, **lead: Any) -> Json:
    """A lead from one wire to another."""
    at = {"from_end": 1, "distance_m": 0.2}
    return {
        "kind": "bridge",
        "id": name,
        "from": {"wire": one, "at": at},
        "to": {"wire": other, "at": at},
        "joints": [JOINT, JOINT],
        "lead": LEAD | lead,
    }


def device(sort: str, *contents: Json, terminals: tuple[str, ...] = ("+", "-"), **more: Any) -> Json:
    """An added device for the end of a tap, joined at its first terminal."""
    plain: Json = {"kind": sort, "label": "a box", "terminals": list(terminals), "contents": list(contents)}
    return {"device": plain | more, "pin": terminals[0]}


def source(model: str, **more: Any) -> Json:
    """What feeds out of a device."""
    return {"kind": "source", "between": ["+", "-"], "model": model, "voltage_V": 12.6, "internal_ohm": 0.01} | more


def grounded(name: str, of: str, pin: str = "-") -> Json:
    """The lead that returns from a device to the body."""
    ring = {"type": "ring_terminal", "tool": "ratchet", "fixing": "own_stud", "bare_metal": "yes", "unwrapped": "yes"}
    ends = {"end_1": {"device": of, "pin": pin}, "end_2": {"metal": "body", "joint": ring}}
    return {"kind": "lead", "id": name} | LEAD | ends


def bench(*observations: Json, scope: Json | None = None, alternator: bool = False) -> Bench:
    """The bench with what was added to it."""
    data = bench_data()
    data["conditions"] += [
        {"id": name, "name": name, "key": "ignition", "engine": "stopped", "positions": positions}
        for name, positions in CONDITIONS
    ]
    if alternator:
        part = source("alternator", between=["B+", "31"], voltage_V=14.2, when={"engine": ["running"]})
        data["devices"].append(
            {
                "id": "G1",
                "kind": "alternator",
                "zone": "Z_BAY",
                "terminals": ["B+", "31"],
                "parts": [part],
                "bonds": [{"terminal": "B+", "to": "BAT:+"}, {"terminal": "31", "to": "BODY:1"}],
            }
        )
        data["conditions"].append({"id": "driving", "name": "driving", "key": "ignition", "engine": "running"})
    reference = reference_from(data)
    survey = survey_from(reference, *observations, scope=SCOPE | (scope or {}))
    as_found = as_found_of(reference, survey)
    resolution = next(iter(as_found.resolutions(1)))
    comparison = Comparison(reference, resolution.edits, Before(reference))
    modifications = modifications_of(comparison)
    installs = installs_of(comparison, modifications, {})
    before, after = (_solved(reference, harness) for harness in (reference.harness, comparison.after))
    isolating = Isolating(after, reference, survey)
    return Bench(
        reference=reference,
        survey=survey,
        before=before,
        after=after,
        found=dict(isolations(after, reference, survey, modifications, installs)),
        removals=tuple(removal_order(before, after, isolating, modifications, one) for one in installs),
    )


def _solved(reference: Reference, harness: Harness) -> Solved:
    network = Network(harness, reference.vehicle.ground_polarity, reference.vehicle.system_voltage_V)
    return Solved(network=network, settled=dict(settled_in_all(network, reference.conditions)))


def without(isolation: Isolation, step: Step) -> Isolation:
    """The same with a step left out."""
    return replace(isolation, steps=tuple(one for one in isolation.steps if one != step))
