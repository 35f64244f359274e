"""Where elements stand: the place that is told is that of the entry, however the file is written."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.read.json_text import Document, parse_document
from harnessdiff.read.places import places_of
from tests.support import Json, bench_data

if TYPE_CHECKING:
    from collections.abc import Iterator

MEMBERS = ("zones", "circuits", "devices", "splices", "wires", "options")


def parsed(text: str) -> Document:
    return parse_document(text.encode(), "bench.json")


def value_at(data: Any, pointer: str) -> Any:
    for part in pointer.split("/")[1:]:
        data = data[int(part) if isinstance(data, list) else part]
    return data


def ids(data: Json) -> Iterator[str]:
    for member in MEMBERS:
        for one in data[member]:
            yield one["id"]


@given(
    indent=st.sampled_from([None, 0, 1, 2, 7]),
    separator=st.sampled_from([":", ": ", " :\n "]),
    random=st.randoms(use_true_random=False),
)
def test_every_element_stands_where_its_entry_begins(indent: int | None, separator: str, random: Any) -> None:
    data = bench_data()
    names = random.sample(list(data), len(data))
    text = json.dumps({name: data[name] for name in names}, indent=indent, separators=(",", separator))
    found = places_of(parsed(text), ids(data))
    lines = text.split("\n")

    assert set(found) == set(ids(data))
    for element, (pointer, line, column) in found.items():
        assert value_at(data, pointer)["id"] == element
        rest = "\n".join([lines[line - 1][column - 1 :], *lines[line:]])
        assert json.JSONDecoder().raw_decode(rest)[0]["id"] == element


@pytest.mark.parametrize("terminal", ["E1:58", "XC1:1a", "BAT:+"])
def test_a_terminal_stands_where_its_device_stands(terminal: str) -> None:
    document = parsed(json.dumps(bench_data(), indent=1))
    device = terminal.split(":", maxsplit=1)[0]
    found = places_of(document, [terminal, device])

    assert found[terminal] == found[device]


def test_what_has_no_place_of_its_own_is_left_out() -> None:
    """The reference itself, a condition, and what is not there."""
    document = parsed(json.dumps(bench_data()))

    assert places_of(document, ["bench", "asleep", "nothing", "W12"]).keys() == {"W12"}


def test_a_file_without_a_list_has_no_place_for_it() -> None:
    data = bench_data()
    del data["splices"], data["options"]

    assert places_of(parsed(json.dumps(data)), ["SP1", "radio_pack"]) == {}


def test_no_element_asks_for_no_place() -> None:
    assert places_of(parsed(json.dumps(bench_data())), []) == {}
