"""Random references and random surveys, as the documents a person would write."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st

from harnessdiff.model.harness import Conductor, Device, Role, Terminal
from tests.support import Json, filament, fused_slot, wire

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

COLOURS = ("BK", "BN", "RD", "YE", "GN", "BU", "VT", "GY", "WH")
SIZES_MM2 = (0.35, 0.5, 0.75, 1.0, 1.5, 2.5, 4.0)
RATINGS_A = (3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0)
TYPES = (
    "plug_in", "splice_barrel", "butt_crimp", "solder", "ring_terminal", "threaded_tap", "push_on", "screw_strip",
    "blade_tap", "insulation_displacement", "twist_on", "twisted", "bare_contact", "unknown",
)  # fmt: skip
TOOLS = ("ratchet", "pliers", "iron", "hand", "none", "unknown")
COVERS = ("adhesive_sleeve", "sleeve", "sealed_housing", "housing", "tape", "none", "unknown")
STATES = ("clean", "loose", "burnt", "green", "wet", "strands_cut")
FUNCTIONS = ("side_lamp", "horn", "brake_lamp", "radio", "fuel_pump", "start", "power_socket", "interior_lamp")


def pruned(**members: Any) -> Json:
    """An object without the members that were left out."""
    return {name: value for name, value in members.items() if value is not None}


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def metres(most: float = 5.0) -> st.SearchStrategy[float]:
    """A length that was read off a tape measure. [m]"""
    return st.integers(0, int(most * 20)).map(lambda twentieths: twentieths / 20)


colours = st.builds(pruned, base=st.sampled_from(COLOURS), tracer=maybe(st.sampled_from(COLOURS)))
ranges_mm2 = st.tuples(st.sampled_from(SIZES_MM2), st.sampled_from(SIZES_MM2)).map(
    lambda pair: {"min": min(pair), "max": max(pair), "known_by": "assumed"}
)
quantities_mm2 = st.sampled_from(SIZES_MM2) | ranges_mm2
joints = st.builds(
    pruned,
    type=st.sampled_from(TYPES),
    tool=maybe(st.sampled_from(TOOLS)),
    cover=maybe(st.sampled_from(COVERS)),
    condition=maybe(st.lists(st.sampled_from(STATES), max_size=2, unique=True)),
    prepared=maybe(st.lists(st.sampled_from(("tinned", "twisted_together")), max_size=2, unique=True)),
    distance_to_next_mm=maybe(st.integers(0, 100)),
)
fuses = st.builds(
    pruned, kind=st.just("fuse"), distance_m=maybe(metres(0.5)), rating_A=maybe(st.sampled_from(RATINGS_A))
)
inline = st.lists(fuses | st.sampled_from([{"kind": "diode"}, {"kind": "switch"}, {"kind": "resistor"}]), max_size=2)
routes = st.lists(
    st.sampled_from(
        [
            {"kind": "passes_through", "what": "panel_hole", "protected_by": "grommet"},
            {"kind": "passes_through", "what": "bulkhead", "protected_by": "none"},
            {"kind": "near", "what": "exhaust", "distance_mm": 40},
            {"kind": "tied_to", "what": "factory_loom"},
        ]
    ),
    max_size=1,
)
leads = st.builds(
    pruned,
    colour=maybe(colours),
    size_mm2=maybe(quantities_mm2),
    length_m=maybe(metres()),
    inline=maybe(inline),
    route=maybe(routes),
)
loose_ends = st.builds(
    lambda treatment: {"loose": pruned(treatment=treatment)}, maybe(st.sampled_from(["bare", "taped", "capped"]))
)
BOXES: list[Json] = [
    {"kind": "other", "label": "black box"},
    {
        "kind": "beeper",
        "contents": [{"kind": "load", "between": ["1", "2"], "model": "current", "rated_A": 0.3}],
    },
    {
        "kind": "relay",
        "contents": [
            {"kind": "coil", "between": ["1", "2"], "resistance_ohm": 80},
            {"kind": "link", "between": ["1", "3"], "when": {"energised": True}},
        ],
    },
    {
        "kind": "switch",
        "positions": ["off", "on"],
        "rest_position": "off",
        "contents": [{"kind": "link", "between": ["1", "2"], "when": {"position": ["on"]}}],
    },
    {
        "kind": "battery",
        "own_energy": "yes",
        "contents": [{"kind": "source", "between": ["1", "2"], "model": "battery", "voltage_V": 12.6}],
    },
]
boxes: st.SearchStrategy[Json] = st.sampled_from(BOXES)


@st.composite
def references(draw: st.DrawFn) -> Json:
    """A small reference: a battery, a bus bar, and one to four fused circuits of one to three loads each."""
    number_of_circuits = draw(st.integers(1, 4))
    buses = [str(number) for number in range(1, number_of_circuits + 1)]
    zones: list[Json] = [
        {"id": f"Z{number}", "name": f"zone {number}", "wet": draw(st.booleans()), "moving": draw(st.booleans())}
        for number in range(draw(st.integers(2, 4)))
    ]
    zone = st.sampled_from([one["id"] for one in zones])
    devices: list[Json] = [
        {
            "id": "BAT",
            "kind": "battery",
            "zone": "Z0",
            "terminals": ["+", "-"],
            "parts": [{"kind": "source", "between": ["+", "-"], "model": "battery", "voltage_V": 12.6}],
        },
        {"id": "BODY", "kind": "body", "terminals": ["1"]},
        {
            "id": "GND",
            "kind": "ground_stud",
            "zone": "Z1",
            "terminals": ["1"],
            "bonds": [{"terminal": "1", "to": "BODY:1"}],
        },
        {"id": "BUS", "kind": "joint_block", "zone": "Z1", "all_common": True, "terminals": ["in", *buses]},
    ]
    circuits = [
        {"id": "C_MAIN", "name": "main", "function": "battery_main"},
        {"id": "C_GND", "name": "ground", "function": "ground"},
    ]
    wires = [
        wire("W1", ("BAT:+", "BUS:in"), "RD", 10, 0.5, circuit="C_MAIN", zones=["Z0", "Z1"]),
        wire("W2", ("BAT:-", "BODY:1"), "BK", 10, 0.5, circuit="C_GND", zones=["Z0"]),
    ]
    splices: list[Json] = []

    def add_wire(start: str, end: str, circuit: str) -> None:
        worn = draw(colours)
        letters = "/".join(worn[name] for name in ("base", "tracer") if name in worn)
        zones_passed = draw(st.lists(zone, max_size=2, unique=True))
        more = {"zones": zones_passed} if zones_passed else {}
        size, length = draw(st.sampled_from(SIZES_MM2)), draw(metres()) + 0.05
        wires.append(wire(f"W{len(wires) + 1}", (start, end), letters, size, round(length, 3), circuit=circuit, **more))

    for number in buses:
        circuit, slot = f"C{number}", f"F{number}"
        circuits.append({"id": circuit, "name": circuit, "function": draw(st.sampled_from(FUNCTIONS))})
        devices += fused_slot(slot, draw(st.sampled_from(RATINGS_A)), f"BUS:{number}", draw(zone))
        before = f"{slot}:out"
        middle = draw(st.sampled_from(["nothing", "switch", "relay", "inline", "module"]))
        if middle != "nothing":
            name = f"M{number}"
            entering, leaving, made = _middle(middle, name, draw(zone))
            devices += made
            add_wire(before, f"{name}:{entering}", circuit)
            before = f"{name}:{leaving}"
            if middle == "relay":
                add_wire(f"{slot}:out", f"{name}:86", circuit)
                add_wire(f"{name}:85", "GND:1", "C_GND")
        loads = [f"E{number}{letter}" for letter in "abc"[: draw(st.integers(1, 3))]]
        if len(loads) > 1 and draw(st.booleans()):
            splices.append({"id": f"SP{number}", "type": "factory_splice", "zone": draw(zone)})
            add_wire(before, f"SP{number}", circuit)
            before = f"SP{number}"
        for load in loads:
            lamp = {"id": load, "kind": "lamp", "terminals": ["1", "2"], "parts": [filament("1", "2", 21)]}
            lamp |= {"zone": draw(zone)} if draw(st.booleans()) else {}
            if draw(st.booleans()):
                lamp["bonds"] = [{"terminal": "2", "to": "BODY:1"}]
            else:
                add_wire(f"{load}:2", "GND:1", "C_GND")
            add_wire(before, f"{load}:1", circuit)
            devices.append(lamp)
    return {
        "format": "harnessdiff reference",
        "version": "1.0",
        "id": "small",
        "title": "a small reference",
        "invented": True,
        "extent": "fragment",
        "vehicle": {"system_voltage_V": 12, "ground_polarity": "negative"},
        "zones": zones,
        "circuits": circuits,
        "conditions": [{"id": "asleep", "name": "asleep", "key": "out", "engine": "stopped"}],
        "devices": devices,
        "splices": splices,
        "wires": wires,
    }


def _middle(kind: str, name: str, zone: str) -> tuple[str, str, list[Json]]:
    """What stands between a fuse and its loads: the terminals it is entered and left by, and its devices."""
    if kind == "relay":
        parts = [
            {"kind": "coil", "between": ["86", "85"], "resistance_ohm": 80},
            {"kind": "link", "between": ["30", "87"], "when": {"energised": True}},
        ]
        socket = {"id": name, "kind": "relay_socket", "zone": zone, "terminals": ["30", "87", "85", "86"]}
        return "30", "87", [socket, {"id": f"{name}_RELAY", "kind": "relay", "seat": name, "parts": parts}]
    if kind == "module":
        parts = [{"kind": "output", "between": ["in", "out"], "limit_A": 6}]
        return "in", "out", [{"id": name, "kind": "module", "zone": zone, "terminals": ["in", "out"], "parts": parts}]
    positions, rest = (["mated", "unmated"], "mated") if kind == "inline" else (["off", "on"], "off")
    closed = positions[0] if kind == "inline" else "on"
    device = {
        "id": name,
        "kind": "inline_connector" if kind == "inline" else "switch",
        "zone": zone,
        "terminals": ["1a", "1b"],
        "positions": positions,
        "rest_position": rest,
        "parts": [{"kind": "link", "between": ["1a", "1b"], "when": {"position": [closed]}}],
    }
    return "1a", "1b", [device]


ENDS: tuple[tuple[int, Role], ...] = ((1, "end_1"), (2, "end_2"))


class Pool:
    """What of a reference an observation may still speak of. Each thing is given out once."""

    def __init__(self, draw: st.DrawFn, reference: Reference) -> None:
        self.draw = draw
        self.harness = reference.harness
        self.wires = [one.id for one in self.harness.conductors()]
        self.slots = [one.id for one in self.harness.devices() if one.kind == "fuse_slot"]
        self.sockets = [one.id for one in self.harness.devices() if one.kind == "relay_socket"]
        self.lamps = [one.id for one in self.harness.devices() if one.kind == "lamp"]
        self.zones = [one.id for one in self.harness.zones()]
        self.terminals = [one.id for one in self.harness.elements if isinstance(one, Terminal)]
        self.has_body = any(one.kind == "body" for one in self.harness.devices())

    def take(self, things: list[str]) -> str:
        thing = self.draw(st.sampled_from(tuple(things)))
        things.remove(thing)
        return thing

    def conductor(self, wire_id: str) -> Conductor:
        conductor = self.harness.conductor(wire_id)
        assert conductor is not None
        return conductor

    def device(self, device_id: str) -> Device:
        device = self.harness.device(device_id)
        assert device is not None
        return device


def points(length_m: float) -> st.SearchStrategy[Json | None]:
    """A point along a wire: nothing said, an end it is near, or a distance, exact or bounded."""

    def bounded(pair: tuple[float, float]) -> Json:
        return {"min": min(pair), "max": max(pair)}

    along = metres(length_m)
    distance = along | st.tuples(along, along).map(bounded)
    end = st.sampled_from([1, 2])
    return maybe(st.builds(pruned, near_end=end) | st.builds(pruned, from_end=end, distance_m=distance))


def member_on(pool: Pool, wire_id: str) -> Json:
    length = pool.conductor(wire_id).length_m.low or 1.0
    return pruned(wire=wire_id, at=pool.draw(points(length)))


def _place(pool: Pool) -> Json:
    """A wire, a terminal or the body."""
    kind = pool.draw(st.sampled_from(["wire", "terminal", "metal"]))
    if kind == "wire" and pool.wires:
        return member_on(pool, pool.take(pool.wires))
    if kind == "metal" and pool.has_body:
        return {"metal": "body"}
    return {"terminal": pool.take(pool.terminals)}


def _landing(pool: Pool) -> Json | None:
    """Where the far end of a tap's lead is."""
    kind = pool.draw(st.sampled_from(["nothing", "loose", "not_traced", "device", "terminal", "metal"]))
    if kind == "nothing":
        return None
    if kind == "loose":
        loose: Json = pool.draw(loose_ends)
        return loose
    if kind == "not_traced":
        return {"not_traced": True}
    if kind == "device":
        return pruned(device=pool.draw(boxes), pin="1", joint=pool.draw(maybe(joints)))
    there = {"metal": "body"} if kind == "metal" and pool.has_body else {"terminal": pool.take(pool.terminals)}
    return there | pruned(joint=pool.draw(maybe(joints)))


def tap(pool: Pool, own: str) -> list[Json]:
    on = _place(pool) if pool.draw(st.booleans()) else member_on(pool, pool.take(pool.wires))
    return [
        pruned(
            kind="tap",
            id=own,
            on=on,
            joint=pool.draw(maybe(joints)),
            lead=pool.draw(maybe(leads)),
            to=_landing(pool),
        )
    ]


def tap_by_clue(pool: Pool, own: str) -> list[Json]:
    """A tap on a wire of which the colour alone is known."""
    colour = pool.conductor(pool.draw(st.sampled_from(tuple(pool.wires)))).colour
    assert colour is not None
    clue = {"colour": pruned(base=colour.base, tracer=colour.tracer)}
    return [pruned(kind="tap", id=own, on={"wire": clue}, joint=pool.draw(maybe(joints)), lead=pool.draw(maybe(leads)))]


def insertion(pool: Pool, own: str) -> list[Json]:
    into = (
        member_on(pool, pool.take(pool.wires)) if pool.draw(st.booleans()) else {"terminal": pool.take(pool.terminals)}
    )
    if "terminal" in into:
        ends = pool.harness.subjects(into["terminal"], "end_1", "end_2")
        if not set(ends) <= set(pool.wires):
            return []
        for one in set(ends):
            pool.wires.remove(one)
    return [
        pruned(
            kind="insertion",
            id=own,
            **{"in": into},
            joints=pool.draw(maybe(st.lists(joints, max_size=2))),
            leads=pool.draw(maybe(st.lists(leads, max_size=2))),
            device=pool.draw(boxes),
            pins=["1", "2"],
        )
    ]


def bridge(pool: Pool, own: str) -> list[Json]:
    return [
        pruned(
            kind="bridge",
            id=own,
            **{"from": member_on(pool, pool.take(pool.wires))},
            to=_place(pool),
            joints=pool.draw(maybe(st.lists(joints, max_size=2))),
            lead=pool.draw(maybe(leads)),
        )
    ]


def repair(pool: Pool, own: str) -> list[Json]:
    on = member_on(pool, pool.take(pool.wires))
    return [
        pruned(
            kind="repair",
            id=own,
            **on,
            removed_m=pool.draw(maybe(metres(0.3))),
            joints=pool.draw(maybe(st.lists(joints, max_size=2))),
            insert=pool.draw(maybe(leads)),
        )
    ]


def swap(pool: Pool, own: str) -> list[Json]:
    """Two ends that changed places; ends at a factory splice do not come off."""
    between: list[Json] = []
    for one in (pool.take(pool.wires), pool.take(pool.wires)):
        ends = {number: pool.harness.targets(one, role) for number, role in ENDS}
        free = [number for number, targets in ends.items() if pool.harness.joint(targets[0]) is None]
        if not free:
            return []
        between.append({"wire": one, "end": pool.draw(st.sampled_from(free))})
    return [{"kind": "swap", "id": own, "between": between}]


def jumper(pool: Pool, own: str) -> list[Json]:
    if not pool.sockets:
        return []
    socket = pool.take(pool.sockets)
    ways = [one.rsplit(":", 1)[1] for one in pool.harness.subjects(socket, "of")]
    return [
        pruned(
            kind="jumper",
            id=own,
            socket=socket,
            between=pool.draw(st.permutations(ways))[:2],
            joints=pool.draw(maybe(st.lists(joints, max_size=2))),
            lead=pool.draw(maybe(leads)),
            occupant=pool.draw(maybe(st.sampled_from(["in_place", "missing"]))),
        )
    ]


def other_fuse(pool: Pool, own: str) -> list[Json]:
    fitted = {
        "rating_A": pool.draw(st.sampled_from(RATINGS_A)),
        "state": pool.draw(st.sampled_from(["intact", "slug"])),
    }
    return [{"kind": "substitution", "id": own, "element": pool.take(pool.slots), "fitted": fitted}]


def other_wire(pool: Pool, own: str) -> list[Json]:
    fitted = {"size_mm2": pool.draw(quantities_mm2), "colour": pool.draw(colours)}
    return [{"kind": "substitution", "id": own, "wire": pool.take(pool.wires), "fitted": fitted}]


def missing(pool: Pool, own: str) -> list[Json]:
    what = pool.draw(st.sampled_from(["slots", "sockets", "lamps", "wires"]))
    things: list[str] = getattr(pool, what)
    if not things:
        return []
    gone = pool.take(things)
    if what == "wires":
        return [{"kind": "missing", "id": own, "wire": gone}]
    unplugged = pool.draw(st.booleans())
    return [{"kind": "missing", "id": own, "element": gone, **({"unplugged": True} if unplugged else {})}]


def moved_end(pool: Pool, own: str) -> list[Json]:
    line = {"kind": "moved", "id": own, "wire": pool.take(pool.wires), "end": pool.draw(st.sampled_from([1, 2]))}
    where = pool.draw(st.sampled_from(["terminal", "metal", "joint", "nowhere"]))
    if where == "terminal":
        return [line | {"to": {"terminal": pool.take(pool.terminals)}}]
    if where == "metal" and pool.has_body:
        return [line | {"to": pruned(metal="body", joint=pool.draw(maybe(joints)))}]
    if where == "joint":
        return [line | {"to": {"terminal": pool.take(pool.terminals), "joint": pool.draw(joints)}}]
    return [line | {"to": {"not_traced": True}}]


def moved_lamp(pool: Pool, own: str) -> list[Json]:
    if not pool.lamps or not pool.zones:
        return []
    return [
        {
            "kind": "moved",
            "id": own,
            "element": pool.take(pool.lamps),
            "to_zone": pool.draw(st.sampled_from(tuple(pool.zones))),
        }
    ]


def damage(pool: Pool, own: str) -> list[Json]:
    across = pool.draw(st.booleans())
    on = [member_on(pool, pool.take(pool.wires)) for _ in range(2 if across else 1)]
    what = pool.draw(st.sampled_from(["chafed", "melted", "screw_through", "corroded"]))
    extent = pool.draw(maybe(st.sampled_from(["slight", "heavy", "through"])))
    conducts = pool.draw(maybe(st.sampled_from(["yes", "no"])))
    return [pruned(kind="damage", id=own, on=on, damage=what, extent=extent, conducts=conducts)]


def surroundings(pool: Pool, own: str) -> list[Json]:
    return [{"kind": "surroundings", "id": own, "zone": pool.take(pool.zones), "wet": True}] if pool.zones else []


def cut(pool: Pool, own: str) -> list[Json]:
    on = member_on(pool, pool.take(pool.wires))
    return [pruned(kind="cut", id=own, **on, end_1=pool.draw(maybe(st.just({"treatment": "taped"}))))]


def nouns(pool: Pool, own: str) -> list[Json]:
    """A box on two leads, one of them tapped to a wire and one to the body or a terminal."""
    box = pool.draw(boxes)
    sort = {("sort" if name == "kind" else name): value for name, value in box.items()}
    ground = {"metal": "body"} if pool.has_body else {"terminal": pool.take(pool.terminals)}
    first, second, device, joint = f"{own}a", f"{own}b", f"{own}d", f"{own}j"
    feed = {"joined": joint}
    return [
        {"kind": "device", "id": device, **sort, "terminals": ["1", "2"]},
        {"kind": "joint", "id": joint, "members": [member_on(pool, pool.take(pool.wires))], **pool.draw(joints)},
        {"kind": "lead", "id": first, **pool.draw(leads), "end_1": feed, "end_2": {"device": device, "pin": "1"}},
        {"kind": "lead", "id": second, **pool.draw(leads), "end_1": {"device": device, "pin": "2"}, "end_2": ground},
    ]


def cable(pool: Pool, own: str) -> list[Json]:
    """A cable of two cores, each joined to a wire, that nobody followed."""
    cores = [
        {"colour": pool.draw(colours), "end_1": {"joined": f"{own}j{number}"}, "end_2": {"not_traced": True}}
        for number in (1, 2)
    ]
    return [
        {"kind": "lead", "id": own, "size_mm2": pool.draw(quantities_mm2), "cores": cores},
        *(
            {
                "kind": "joint",
                "id": f"{own}j{n}",
                "members": [member_on(pool, pool.take(pool.wires))],
                **pool.draw(joints),
            }
            for n in (1, 2)
        ),
    ]


def crowd(pool: Pool, own: str) -> list[Json]:
    """A wire that was mended and tapped; on which side of the cut may be said or not."""
    on = pool.take(pool.wires)
    side: Json = pool.draw(st.sampled_from([{}, {"beyond": [f"{own}r"]}, {"before": [f"{own}r"]}]))
    return [
        {"kind": "repair", "id": f"{own}r", "wire": on},
        {"kind": "tap", "id": f"{own}t", "on": pruned(wire=on, at=side or None), "to": pool.draw(loose_ends)},
    ]


def free(pool: Pool, own: str) -> list[Json]:
    """Lines of kind, place and note alone."""
    zone = pool.draw(st.sampled_from(tuple(pool.zones))) if pool.zones else None
    kind = pool.draw(st.sampled_from(["other", "tap", "device", "lead", "joint"]))
    return [pruned(kind=kind, id=own, zone=zone, note="could not get a hand to it")]


PLANTS = (
    tap, tap_by_clue, insertion, bridge, repair, swap, jumper, other_fuse, other_wire, missing, moved_end, moved_lamp,
    damage, surroundings, cut, nouns, cable, crowd, free,
)  # fmt: skip
"""Everything that can be planted; each gives the lines that a person would write."""
WIRES_A_PLANT = 2


@st.composite
def plantings(draw: st.DrawFn, reference: Reference, most: int = 5) -> list[Json]:
    """The observations of a random survey of `reference`, which contradict each other nowhere."""
    pool = Pool(draw, reference)
    found: list[Json] = []
    for number, plant in enumerate(draw(st.lists(st.sampled_from(PLANTS), min_size=1, max_size=most))):
        if len(pool.wires) < WIRES_A_PLANT or not pool.slots or len(pool.terminals) < WIRES_A_PLANT:
            break
        found += plant(pool, f"o{number}")
    return found
