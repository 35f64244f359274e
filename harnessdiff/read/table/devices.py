"""Devices as a table of wires and the answers about them tell them."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from harnessdiff.read.schema import did_you_mean
from harnessdiff.read.table.groups import Groups
from harnessdiff.read.table.guesses import kind_of_letters, kinds
from harnessdiff.read.table.inside import Inside, example, inside_of
from harnessdiff.read.table.questions import Asking
from harnessdiff.tables.loader import assumed

METAL = ("body", "chassis", "engine_block")
SINGLE = frozenset({"ground_stud", "body", "engine_block", "chassis"})
IN_AND_OUT = frozenset({"fuse_slot", "fusible_link", "circuit_breaker"})
LOADS = frozenset({"lamp", "horn", "motor", "pump", "fan", "heater", "coil", "sensor", "speaker", "starter"})
WITHOUT_INSIDE = frozenset({"socket", "diagnostic_socket", "plug", "spark_plug", "joint_block"})
"""Kinds of which nothing need be told: things are plugged in there, or all their terminals are one."""
SELF_EXPLAINING = frozenset({*SINGLE, *IN_AND_OUT, "battery", "alternator", "inline_connector", "other"})
"""Kinds that are known by their id well enough; others have a name that a person looks for."""
LONGEST_NAMES = {"name": 200, "body": 60}


@dataclass(slots=True)
class Thing:
    """A device as the table tells it: the zones are those of the ends that come to it."""

    kind: str
    terminals: dict[str, None] = field(default_factory=dict)
    zones: list[str] = field(default_factory=list)


class Devices:
    """The devices of a document in the making."""

    def __init__(self, asking: Asking, document: dict[str, Any], groups: Groups, voltage_V: float) -> None:
        self.asking = asking
        self.document = document
        self.groups = groups
        self.voltage_V = voltage_V
        self.metals = {entry["id"]: entry["kind"] for entry in document["devices"] if entry["kind"] in METAL}

    def metal(self) -> str:
        """Id of the metal that grounds are on: what the table names, or the body."""
        ranked = sorted(self.metals, key=lambda own: METAL.index(self.metals[own]))
        own = next((own for own in ranked if self.metals[own] != "engine_block"), "BODY")
        self.metals.setdefault(own, "body")
        return own

    def engine(self) -> str:
        """Id of the engine; one that the table does not name is strapped to the body."""
        own = next((own for own, kind in self.metals.items() if kind == "engine_block"), "")
        if not own:
            own = "ENGINE"
            self.metals[own] = "engine_block"
            bond = {"terminal": "1", "to": f"{self.metal()}:1", "resistance_ohm": assumed("engine_strap")}
            entry = {"id": own, "kind": "engine_block", "terminals": ["1"], "bonds": [bond]}
            self.document["devices"].append(entry)
        return own

    def add_metals(self) -> None:
        """Add the metal that something is bonded to and that no wire comes to."""
        present = {entry["id"] for entry in self.document["devices"]}
        for own, kind in self.metals.items():
            if own not in present:
                self.document["devices"].append({"id": own, "kind": kind, "terminals": ["1"]})

    def add(self, own: str, thing: Thing) -> None:
        """Add a device, with what seats in it."""
        if not self._kind_is_known(own, thing):
            return
        device: dict[str, Any] = {"id": own, "kind": thing.kind}
        if thing.kind in SELF_EXPLAINING:
            device |= self._words(self.asking.offered(own, "name", "what the diagram calls it"), own, "name")
        else:
            question = f"what the diagram calls this {thing.kind.replace('_', ' ')}"
            device |= self._words(self.asking.ask(own, "name", question), own, "name")
        if not own.startswith("OPEN"):
            device |= self.groups.place(own, thing.zones)
        self.document["devices"].append(device)
        match thing.kind:
            case "fuse_slot" | "fusible_link" | "circuit_breaker":
                self._fuse(device, thing)
            case "relay":
                self._relay(device, thing)
            case "inline_connector":
                self._connector(device, thing)
            case _ if thing.kind in SINGLE:
                device["terminals"] = list(thing.terminals)
                if thing.kind == "ground_stud":
                    bond = {"terminal": "1", "to": f"{self.metal()}:1", "resistance_ohm": assumed("ground_bond")}
                    device["bonds"] = [bond]
            case _ if thing.kind in WITHOUT_INSIDE:
                device["terminals"] = list(thing.terminals)
                device |= {"all_common": True} if thing.kind == "joint_block" else {}
            case _ if own.startswith("OPEN"):
                device["terminals"] = [{"name": name, "open_end": True} for name in thing.terminals]
            case "other" if not self.asking.given(own, "kind"):
                device["terminals"] = list(thing.terminals)  # what is inside is asked once the kind is known
            case _:
                self._with_inside(device, thing)

    def _kind_is_known(self, own: str, thing: Thing) -> bool:
        """Ask what a device is, where its letters leave that open."""
        letters, sure = kind_of_letters(own)
        if letters is None:
            self.asking.ask(own, "kind", f"what it is: one of {', '.join(kinds())}")
        elif sure or (thing.kind == "ground_stud" and not self.asking.given(own, "kind")):
            self.asking.offered(own, "kind", "what it is")
        else:
            self.asking.ask(own, "kind", "what it is, by its letter", assume=letters)
        if thing.kind not in kinds():
            self.asking.refuse((own, "kind"), f"{thing.kind} is no kind of device{did_you_mean(thing.kind, kinds())}")
            return False
        return True

    def _words(self, answer: str, own: str, what: str) -> dict[str, str]:
        if len(answer) > LONGEST_NAMES[what]:
            self.asking.refuse((own, what), f"at most {LONGEST_NAMES[what]} letters")
        return {what: answer} if answer else {}

    def _fuse(self, device: dict[str, Any], thing: Thing) -> None:
        own = device["id"]
        rating = self.asking.ask_number(own, "rating_A", "rating of the fuse that belongs there, such as 10 A")
        question = "body of that fuse, such as blade type C, glass 6.3 x 32, bolt-down"
        shape = self._words(self.asking.ask(own, "body", question), own, "body")
        ampere = {"rating_A": rating} if rating else {}
        terminals = [
            {"name": name, "side": side} | ({} if name in thing.terminals else {"open_end": True})
            for name, side in (("in", "supply"), ("out", "load"))
        ]
        device |= {"terminals": terminals, **shape}
        if thing.kind != "fuse_slot":
            device |= ampere
            return
        device |= {"legend_A": rating} if rating else {}
        self.document["devices"].append({"id": f"{own}_FUSE", "kind": "fuse", "seat": own, **ampere, **shape})

    def _relay(self, device: dict[str, Any], thing: Thing) -> None:
        own = device["id"]
        inside = self._inside(own, thing)
        limits = {
            name: assumed("coil_terminal")
            for part in inside.parts
            if part["kind"] == "coil"
            for name in part["between"]
        }
        for part in inside.parts:
            limits |= dict.fromkeys(part["between"], part["limit_A"]) if "limit_A" in part else {}
        terminals = [
            {"name": name, "limit_A": limits[name]} if name in limits else name for name in _terminals(thing, inside)
        ]
        device |= {"kind": "relay_socket", "terminals": terminals}
        self.document["devices"].append(
            {"id": f"{own}_RELAY", "kind": "relay", "seat": own, "parts": list(inside.parts)}
        )

    def _connector(self, device: dict[str, Any], thing: Thing) -> None:
        own = device["id"]
        limit = self.asking.ask_number(own, "limit_A", "current that one pin is made for, such as 20 A")
        ampere = {"limit_A": limit} if limit else {}
        cavities = list(dict.fromkeys(name[:-1] for name in thing.terminals))
        both = [f"{cavity}{side}" for cavity in cavities for side in "ab"]
        alone = [name for name in both if name not in thing.terminals]
        goes_on = ""
        if alone:
            question = f"no wire comes to {', '.join(alone)}: does the circuit go on there beyond the table? yes, or no"
            goes_on = self.asking.ask_one_of(own, "goes_on", question, ("yes", "no"))
        open_ends = alone if goes_on == "yes" else []
        device |= {
            "terminals": [{"name": name, "open_end": True} if name in open_ends else name for name in both],
            "positions": ["mated", "unmated"], "rest_position": "mated",
            "parts": [
                {
                    "kind": "link", "between": [f"{cavity}a", f"{cavity}b"], "when": {"position": ["mated"]},
                    "resistance_ohm": assumed("connector_resistance"), **ampere,
                }
                for cavity in cavities
            ],
        }  # fmt: skip

    def _with_inside(self, device: dict[str, Any], thing: Thing) -> None:
        own = device["id"]
        if thing.kind in LOADS and len(thing.terminals) == 1:
            question = "one wire only: does it ground through its case? case, or engine (it is bolted to it), or no"
            grounded = self.asking.ask_one_of(own, "ground", question, ("case", "engine", "no"))
            if grounded in ("case", "engine"):
                self._ground_through_case(device, thing, self.engine() if grounded == "engine" else self.metal())
        inside = self._inside(own, thing)
        device["terminals"] = _terminals(thing, inside)
        device |= {"parts": list(inside.parts)} if inside.parts else {}
        if inside.positions:
            device |= {"positions": list(inside.positions), "rest_position": inside.positions[0]}

    def _ground_through_case(self, device: dict[str, Any], thing: Thing, metal: str) -> None:
        case = "case" if "31" in thing.terminals else "31"
        thing.terminals.setdefault(case)
        device["bonds"] = [{"terminal": case, "to": f"{metal}:1", "resistance_ohm": assumed("case_bond")}]
        self.document["as_built"].append(
            {"element": device["id"], "rule": "ground_through_case", "because": "said so when it was written down"}
        )

    def _inside(self, own: str, thing: Thing) -> Inside:
        terminals = tuple(thing.terminals)
        question = f"what is inside, in words such as: {example(thing.kind, terminals)}"
        answer = self.asking.ask(own, "inside", question)
        inside = inside_of(answer, thing.kind, terminals, self.voltage_V)
        for fault in inside.faults:
            self.asking.refuse((own, "inside"), fault)
        return inside


def _terminals(thing: Thing, inside: Inside) -> list[str]:
    named = [name for part in inside.parts for name in part["between"]]
    return list(dict.fromkeys((*thing.terminals, *named)))
