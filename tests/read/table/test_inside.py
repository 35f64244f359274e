"""What is inside a device, in words: every verb, every unit, and what is said to what is not understood."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.read.table.guesses import kinds
from harnessdiff.read.table.inside import Inside, example, inside_of

TWO = ("1", "2")
ASSUMED = {"known_by": "assumed"}


def inside(answer: str, kind: str = "lamp", voltage_V: float = 12.0) -> Inside:
    return inside_of(answer, kind, TWO, voltage_V)


def part(answer: str, kind: str = "lamp", voltage_V: float = 12.0) -> dict[str, Any]:
    """The one part that an answer tells, without its ends."""
    found = inside(answer, kind, voltage_V)
    assert found.faults == ()
    (one,) = found.parts
    assert one.pop("between") == ["1", "2"]
    return one


def fault(answer: str, kind: str = "lamp") -> str:
    """The one fault of an answer, without the answer."""
    found = inside(answer, kind)
    assert found.parts == ()
    (one,) = found.faults
    return one.split("”", 1)[1].removeprefix(": ")


@pytest.mark.parametrize(
    ("words", "members"),
    [
        ("21 W", {"rated_W": 21.0, "rated_V": 12.0}),
        ("1.75 A", {"rated_A": 1.75, "rated_V": 12.0}),
        ("1,75 A", {"rated_A": 1.75, "rated_V": 12.0}),
        ("80 mA", {"rated_A": 0.08, "rated_V": 12.0}),
        ("6.8 ohm", {"resistance_ohm": 6.8}),
        ("6.8Ω", {"resistance_ohm": 6.8}),
        ("300 mohm", {"resistance_ohm": 0.3}),
        ("2 kohm", {"resistance_ohm": 2000.0}),
        ("21 w", {"rated_W": 21.0, "rated_V": 12.0}),
    ],
)
def test_load_draws_in_every_unit(words: str, members: dict[str, float]) -> None:
    assert part(f"1 to 2 draws {words}") == {"kind": "load", "model": "filament"} | members


def test_power_holds_at_the_voltage_of_the_vehicle() -> None:
    assert part("1 to 2 draws 21 W", voltage_V=6.0)["rated_V"] == 6.0


@pytest.mark.parametrize(
    ("kind", "model"),
    [("lamp", "filament"), ("motor", "motor"), ("pump", "motor"), ("heater", "resistance"), ("resistor", "resistance"),
     ("module", "current"), ("camera", "current")],
)  # fmt: skip
def test_how_a_load_behaves_follows_from_the_kind(kind: str, model: str) -> None:
    assert part("1 to 2 draws 2 A", kind)["model"] == model


def test_contact_of_a_switch_holds_in_its_position_and_its_resistance_is_assumed() -> None:
    found = inside("off; side: 1 to 2 joins 16 A; head lamps: 1 to 3 joins 10 A 4 mohm", "switch")

    assert found.positions == ("off", "side", "head lamps")
    assert found.parts == (
        {"kind": "link", "between": ["1", "2"], "when": {"position": ["side"]}, "limit_A": 16.0,
         "resistance_ohm": {"exact": 0.005} | ASSUMED},
        {"kind": "link", "between": ["1", "3"], "when": {"position": ["head lamps"]}, "limit_A": 10.0,
         "resistance_ohm": 0.004},
    )  # fmt: skip


def test_position_that_is_said_twice_is_one() -> None:
    assert inside("on: 1 to 2 joins 5 A; on: 1 to 3 joins 5 A", "switch").positions == ("on",)


@pytest.mark.parametrize(
    ("state", "energised"), [("pulled", True), ("Pulled in", True), ("energised", True), ("at rest", False)]
)
def test_contact_of_a_relay_holds_pulled_or_at_rest(state: str, energised: bool) -> None:
    assert part(f"{state}: 1 to 2 joins 30 A", "relay")["when"] == {"energised": energised}


def test_coil_pulls_in_and_lets_go_at_usual_voltages_where_none_are_said() -> None:
    said = part("1 to 2 coil 85 ohm 7.2 V 1.5 V", "relay")
    unsaid = part("1 to 2 coil 85 ohm", "relay")

    assert said == {"kind": "coil", "resistance_ohm": 85.0, "pull_in_V": 7.2, "drop_out_V": 1.5}
    assert (unsaid["pull_in_V"], unsaid["drop_out_V"]) == ({"exact": 8.0} | ASSUMED, {"exact": 1.5} | ASSUMED)


def test_battery_gives_and_its_resistance_is_assumed_where_it_is_not_said() -> None:
    assert part("1 to 2 gives 12.6 V 70 Ah 6 mohm", "battery") == {
        "kind": "source", "model": "battery", "voltage_V": 12.6, "capacity_Ah": 70.0, "internal_ohm": 0.006,
    }  # fmt: skip
    assert part("1 to 2 gives 12.6 V", "battery")["internal_ohm"]["known_by"] == "assumed"


def test_alternator_gives_while_the_engine_runs() -> None:
    assert part("1 to 2 gives 14.2 V 90 A", "alternator") == {
        "kind": "source", "model": "alternator", "voltage_V": 14.2, "limit_A": 90.0, "when": {"engine": ["running"]},
    }  # fmt: skip


def test_source_of_another_kind_has_its_own_cells() -> None:
    assert part("1 to 2 gives 9 V", "siren")["model"] == "own_cells"


def test_output_has_a_limit_and_an_assumed_resistance() -> None:
    found = part("1 to 2 puts out 8 A", "module")

    assert found == {"kind": "output", "limit_A": 8.0, "resistance_ohm": {"exact": 0.02} | ASSUMED}


def test_diode_passes_from_anode_to_cathode_and_nothing_is_no_part() -> None:
    assert part("1 to 2 passes 3 A", "diode") == {
        "kind": "diode", "limit_A": 3.0, "forward_V": {"exact": 0.7} | ASSUMED,
    }  # fmt: skip
    assert inside("1 to 2 passes nothing", "module") == Inside(parts=(), positions=(), faults=())


def test_pin_of_a_connector_has_the_resistance_of_one() -> None:
    assert part("1 to 2 joins 20 A", "inline_connector")["resistance_ohm"]["exact"] == 0.003


@pytest.mark.parametrize("name", ["from", "to", "+", "-", "draws", "87a", "15/54"])
def test_terminal_may_have_any_name_and_from_before_it(name: str) -> None:
    for before in ("", "from "):
        (found,) = inside(f"{before}{name} to 31 draws 5 W").parts
        assert found["between"] == [name, "31"]


def test_nothing_is_said_by_an_empty_answer() -> None:
    assert inside(" ; ;") == Inside(parts=(), positions=(), faults=())


@pytest.mark.parametrize(
    ("answer", "kind", "message"),
    [
        ("a lamp", "lamp", " is not understood; write it as 1 to 2 draws 21 W"),
        ("off", "lamp", " is not understood; write it as 1 to 2 draws 21 W"),
        ("1 to 2", "switch", " is not understood; write it as off; on: 1 to 2 joins 16 A"),
        ("1 to 2 draws", "lamp", "say how much, in W, A or ohm"),
        ("1 to 2 draws much", "lamp", "“much” is not understood; a value is a number and a unit, such as 21 W"),
        ("1 to 2 draws 21", "lamp", "“21” is not understood; a value is a number and a unit, such as 21 W"),
        ("1 to 2 draws -5 W", "lamp", "“-” is not understood; a value is a number and a unit, such as 21 W"),
        ("1 to 2 draws 5 Wa", "lamp", 'Wa is no unit used here; did you mean "W"?'),
        ("1 to 2 draws 5 V", "lamp", "a value in V does not belong here; one in W or A or ohm does"),
        ("1 to 2 draws 5 W 21 W", "lamp", "two values in W"),
        ("1 to 2 draws 0 W", "lamp", "0 W is out of bounds; more than 0 and less than 1e+06 is read"),
        ("1 to 2 draws 1000000 W", "lamp", "1000000 W is out of bounds; more than 0 and less than 1e+06 is read"),
        ("1 to 1 draws 5 W", "lamp", "both ends are 1"),
        ("F3:out to 2 draws 5 W", "lamp", "F3:out is no terminal; its name alone, such as 31, without the device"),
        ("1 to 2 coil 8 V", "relay", "a value in ohm is missing"),
        ("1 to 2 coil 85 ohm 8 V 2 V 1 V", "relay",
         "more than two voltages; one at which it pulls in and one at which it lets go"),
        ("1 to 2 gives 70 Ah", "battery", "a value in V is missing"),
        ("1 to 2 puts out", "module", "a value in A is missing"),
        ("puled: 1 to 2 joins 3 A", "relay", 'a relay is pulled, or at rest; did you mean "pulled"?'),
        ("on: 1 to 2 draws 5 W", "lamp", "a lamp has no positions; leave out “on:”"),
        ("on, off: 1 to 2 joins 5 A", "switch", "“on, off” is no position; write it in letters, figures and blanks"),
    ],
)  # fmt: skip
def test_what_is_not_understood_is_told_with_what_would_be_right(answer: str, kind: str, message: str) -> None:
    assert fault(answer, kind) == message


def test_every_fault_is_told_and_the_rest_is_read() -> None:
    found = inside("1 to 2 draws 5 X; 1 to 3 draws 5 W; nonsense?")

    assert len(found.parts) == 1
    assert len(found.faults) == 2


@pytest.mark.parametrize(
    ("kind", "terminals", "words"),
    [
        ("battery", ("+", "-"), "from + to - gives 12.6 V 70 Ah"),
        ("switch", ("31", "1", "2"), "off; 1: 1 to 31 joins 16 A; 2: 2 to 31 joins 16 A"),
        ("button", ("1", "2"), "free; pressed: 1 to 2 joins 5 A"),
        ("relay", ("30", "87", "87a"),
         "86 to 85 coil 85 ohm; pulled: 30 to 87 joins 30 A; at rest: 30 to 87a joins 20 A"),
        ("relay", ("3", "5", "1", "2"), "1 to 2 coil 85 ohm; pulled: 3 to 5 joins 30 A"),
        ("lamp", ("58",), "58 to 31 draws 21 W"),
        ("lamp", ("31",), "1 to 31 draws 21 W"),
        ("lamp", ("54", "58", "31"), "54 to 31 draws 21 W; 58 to 31 draws 21 W"),
        ("module", ("54", "30", "31"), "30 to 31 draws 0.2 A; 30 to 54 puts out 5 A"),
        ("resistor", ("4", "1", "2"), "1 to 2 draws 0.5 ohm; 2 to 4 draws 0.5 ohm"),
        ("motor", ("=M", "-"), "from =M to - draws 5 A"),
    ],
)  # fmt: skip
def test_example_is_one_for_the_device_at_hand(kind: str, terminals: tuple[str, ...], words: str) -> None:
    """Numbers 1 to 5 of relays stand for 86, 85, 30, 87a and 87: ISO 7588 (from memory)."""
    assert example(kind, terminals) == words


names = st.text(st.characters(exclude_categories=["Z", "C"], exclude_characters=":;"), min_size=1, max_size=12)


@given(st.sampled_from(kinds()), st.lists(names, max_size=5, unique=True).map(tuple))
def test_every_example_is_understood(kind: str, terminals: tuple[str, ...]) -> None:
    proposed = example(kind, terminals)
    found = inside_of(proposed, kind, terminals, 12.0)

    assert found.faults == ()
    assert found.parts
    assert not proposed.startswith(("=", "+", "-", "@", "'"))


@given(st.text(max_size=80) | st.from_regex(r"\w{1,4}: \d to [a-z+-] (draws|joins|coil|gives|puts out|passes) .{0,12}"))
def test_any_words_are_read_or_told_to_be_at_fault(words: str) -> None:
    found = inside(words, "switch")

    assert found.parts or found.positions or found.faults or not words.strip(" ;\n\t\r\x0b\x0c") or "nothing" in words


@pytest.mark.parametrize("answer", ["off; on: 1 to 2 joins 5 A; 3 takes 5 A", "off; 12 V"])
def test_a_piece_with_a_value_is_no_position(answer: str) -> None:
    assert inside_of(answer, "switch", ("1", "2"), 12.0).faults


def test_a_power_and_a_current_that_do_not_go_together_are_refused() -> None:
    (fault,) = inside_of("1 to 2 draws 1.2 W 5 A", "lamp", ("1", "2"), 12.0).faults

    assert "1.2 W and 5 A do not go together at 12 V" in fault
    assert not inside_of("1 to 2 draws 60 W 5 A", "lamp", ("1", "2"), 12.0).faults
