"""An independent judge: networkx decides whether two harnesses are the same.

The graphs are built here, straight from elements and incidences or from the document itself, and
the edits are applied to them here. Nothing of the package's own graph is used.
"""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from networkx.algorithms.isomorphism import categorical_edge_match, categorical_node_match

from harnessdiff.model.canonical import plain
from harnessdiff.model.edit import Added, Attached, Changed, Detached, Edit, Removed, edited
from harnessdiff.model.harness import Conductor, Device, Element, Harness, Incidence, Joint, Point, Terminal
from harnessdiff.pipeline import assess
from harnessdiff.read.survey import survey_of
from tests.strategies import plantings, references
from tests.support import Json, as_found_from, document, reference_from

if TYPE_CHECKING:
    from collections.abc import Callable

    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey

Label = Any
SAME_NODE = categorical_node_match("label", None)
SAME_EDGE = categorical_edge_match("label", None)
CATALOGUE = sorted((Path(__file__).parents[1] / "catalogue").glob("M*.json"))


def nameless(element: Element) -> Label:
    """What an element is, whatever it is called."""
    return type(element).__name__, json.dumps({**plain(element), "id": None}, sort_keys=True)


def named(element: Element) -> Label:
    """What an element is; what the reference has is called by its name, what was added is not."""
    return None if element.id.startswith("+") else element.id, *nameless(element)


def placed(incidence: Incidence) -> Label:
    """Role and place of an incidence; of what lies beyond or before it the number alone."""
    point = incidence.point or Point()
    return (
        incidence.role, point.low_m, point.high_m, point.near_end, len(point.beyond), len(point.before),
    )  # fmt: skip


def graph_of(harness: Harness, label: Callable[[Element], Label]) -> nx.DiGraph[str]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    for element in harness.elements:
        graph.add_node(element.id, label=label(element))
    for incidence in harness.incidences:
        attach(graph, incidence)
    return graph


def attach(graph: nx.DiGraph[str], incidence: Incidence) -> None:
    """An edge bears all incidences between its two nodes, such as both ends of a wire at one terminal."""
    before = graph.get_edge_data(incidence.subject, incidence.target, {"label": ()})["label"]
    label = tuple(sorted((*before, placed(incidence)), key=repr))
    graph.add_edge(incidence.subject, incidence.target, label=label)


def detach(graph: nx.DiGraph[str], incidence: Incidence) -> None:
    left = list(graph.edges[incidence.subject, incidence.target]["label"])
    left.remove(placed(incidence))
    if left:
        graph.edges[incidence.subject, incidence.target]["label"] = tuple(left)
    else:
        graph.remove_edge(incidence.subject, incidence.target)


def with_edits(graph: nx.DiGraph[str], edits: tuple[Edit, ...], label: Callable[[Element], Label]) -> nx.DiGraph[str]:
    """The graph after the edits: incidences off, elements off, changed and on, incidences on."""
    result = graph.copy()
    for edit in edits:
        if isinstance(edit, Detached):
            detach(result, edit.incidence)
    for edit in edits:
        match edit:
            case Removed(element):
                result.remove_node(element.id)
            case Changed(_, element) | Added(element):
                result.add_node(element.id, label=label(element))
            case _:
                pass
    for edit in edits:
        if isinstance(edit, Attached):
            attach(result, edit.incidence)
    return result


def same(one: nx.DiGraph[str], other: nx.DiGraph[str]) -> bool:
    return bool(nx.is_isomorphic(one, other, node_match=SAME_NODE, edge_match=SAME_EDGE))


def judge(reference: Harness, as_found: Harness, edits: tuple[Edit, ...]) -> None:
    before, after = graph_of(reference, named), graph_of(as_found, named)

    assert same(with_edits(before, edits, named), after)
    assert same(before, after) == (not edits)


@pytest.mark.parametrize("path", CATALOGUE, ids=lambda path: path.stem)
@pytest.mark.parametrize("which", ["survey", "twin"])
def test_edits_of_the_catalogue_make_the_as_found_harness(path: Path, which: str) -> None:
    written = json.loads(path.read_text(encoding="utf-8"))
    reference = reference_from(written["reference"])
    case = assess(reference, survey_of(document(written[which]), reference), electrical=False)

    judge(case.reference.harness, case.as_found, case.findings.edits)


@given(st.data())
def test_edits_of_random_surveys_make_the_as_found_harness(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))
    for one in as_found_from(reference, *data.draw(plantings(reference))).resolutions(4):
        judge(reference.harness, edited(reference.harness, one.edits), one.edits)


@settings(max_examples=20)
@given(st.data())
def test_edits_make_the_as_found_harness_even_where_nothing_has_a_name(data: st.DataObject) -> None:
    """The same, with no node known by its id: the judge must find which is which."""
    reference = reference_from(data.draw(references()))
    (one, *_) = as_found_from(reference, *data.draw(plantings(reference, most=2))).resolutions(1)
    after = graph_of(edited(reference.harness, one.edits), nameless)

    assert same(with_edits(graph_of(reference.harness, nameless), one.edits, nameless), after)


def test_edits_of_the_demo_make_the_as_found_harness(van: Reference, demo_survey: Survey) -> None:
    """On the whole van, by the labels of nodes and of incidences, each incidence taken as a node of its own."""
    case = assess(van, demo_survey, electrical=False)
    expected = with_edits(graph_of(case.reference.harness, named), case.findings.edits, named)
    found = graph_of(case.as_found, named)

    assert nx.vf2pp_is_isomorphic(_with_incidences_as_nodes(expected), _with_incidences_as_nodes(found), "label")
    assert expected.number_of_nodes() != case.reference.harness.elements.__len__()


def _with_incidences_as_nodes(graph: nx.DiGraph[str]) -> nx.Graph[Any]:
    result: nx.Graph[Any] = nx.Graph()
    result.add_nodes_from((node, {"label": ("element", data["label"])}) for node, data in graph.nodes(data=True))
    for one, other, data in graph.edges(data=True):
        result.add_node((one, other), label=("incidence", data["label"]))
        result.add_edges_from([(one, (one, other)), ((one, other), other)])
    return result


def test_judge_tells_a_moved_end_from_none() -> None:
    """The judge itself can say no."""
    wire, one, other = Conductor(id="W"), Terminal(id="A:1", name="1"), Terminal(id="B:1", name="1")
    ends = [Incidence(subject="W", role="end_1", target="A:1")]
    here = Harness.of([wire, one, other], [*ends, Incidence(subject="W", role="end_2", target="A:1")])
    there = Harness.of([wire, one, other], [*ends, Incidence(subject="W", role="end_2", target="B:1")])

    assert same(graph_of(here, named), graph_of(here, named))
    assert not same(graph_of(here, named), graph_of(there, named))


# -- a harness drawn anew, judged by the document itself


def sketched(element: Element) -> Label:
    """The few things of an element that both a document and the model say in the same words."""
    match element:
        case Conductor():
            colour = element.colour.letters if element.colour else None
            return "wire", colour, element.size_mm2.exact, element.length_m.exact
        case Device():
            return "device", element.kind, element.rating_A.exact, element.zone
        case Terminal():
            return "terminal", element.name, element.side
        case Joint():
            return "splice", element.zone
        case _:
            return "zone", element.id


def drawing_graph(data: Json) -> nx.DiGraph[str]:
    """The graph of a harness as a document draws it."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    for zone in data["zones"]:
        graph.add_node(zone["id"], label=("zone", zone["id"]))
    for device in data["devices"]:
        graph.add_node(device["id"], label=("device", device["kind"], device.get("rating_A"), device.get("zone")))
        for terminal in device.get("terminals", ()):
            entry = terminal if isinstance(terminal, dict) else {"name": terminal}
            name = f"{device['id']}:{entry['name']}"
            graph.add_node(name, label=("terminal", entry["name"], entry.get("side")))
            attach(graph, Incidence(subject=name, role="of", target=device["id"]))
        if "seat" in device:
            attach(graph, Incidence(subject=device["id"], role="seat", target=device["seat"]))
    for splice in data["splices"]:
        graph.add_node(splice["id"], label=("splice", splice.get("zone")))
    for wire in data["wires"]:
        letters = "/".join(wire["colour"][name] for name in ("base", "tracer") if name in wire["colour"])
        graph.add_node(wire["id"], label=("wire", letters, wire["size_mm2"], wire["length_m"]))
        attach(graph, Incidence(subject=wire["id"], role="end_1", target=wire["from"]))
        attach(graph, Incidence(subject=wire["id"], role="end_2", target=wire["to"]))
    return graph


@st.composite
def redrawn(draw: st.DrawFn, written: Json) -> Json:
    """A drawing of the reference with wires left out, thinned, re-routed and added, and with other fuses."""
    drawn = {name: copy.deepcopy(written[name]) for name in ("zones", "circuits", "devices", "splices", "wires")}
    wires = drawn["wires"]
    for wire in draw(st.lists(st.sampled_from(wires), unique_by=lambda one: one["id"], max_size=2)):
        wires.remove(wire)
    for wire in draw(st.lists(st.sampled_from(wires), unique_by=lambda one: one["id"], max_size=2)):
        wire["size_mm2"] = draw(st.sampled_from([0.22, 0.6, 6.0]))
    terminals = [f"{one['id']}:{name}" for one in drawn["devices"] for name in _terminal_names(one)]
    for wire in draw(st.lists(st.sampled_from(wires), unique_by=lambda one: one["id"], max_size=2)):
        wire["to"] = draw(st.sampled_from(terminals))
    for number in range(draw(st.integers(0, 2))):
        ends = {"from": draw(st.sampled_from(terminals)), "to": draw(st.sampled_from(terminals))}
        wires.append({"id": f"NEW{number}", **ends, "colour": {"base": "PK"}, "size_mm2": 0.5, "length_m": 1.0})
    for device in drawn["devices"]:
        if device["kind"] == "fuse" and draw(st.booleans()):
            device["rating_A"] = draw(st.sampled_from([25.0, device["rating_A"]]))
    return drawn


def _terminal_names(device: Json) -> list[str]:
    return [one if isinstance(one, str) else one["name"] for one in device.get("terminals", ())]


@given(st.data())
def test_edits_of_a_drawing_make_the_drawing_of_the_reference(data: st.DataObject) -> None:
    written = data.draw(references())
    drawing = data.draw(redrawn(written))
    reference = reference_from(written)
    edits = as_found_from(reference, as_found=drawing).edits
    before = graph_of(reference.harness, sketched)

    assert same(before, drawing_graph(written))
    assert same(with_edits(before, edits, sketched), drawing_graph(drawing))
    assert (edits == ()) == (drawing == {name: written[name] for name in drawing})
