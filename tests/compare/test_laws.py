"""Laws of the comparison, over random references and random surveys, small ones and on the light van."""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.compare.comparison import Comparison
from harnessdiff.compare.recognise import installs_of, modifications_of
from harnessdiff.model.edit import (
    Added,
    Attached,
    Changed,
    Detached,
    Edit,
    Removed,
    difference,
    edit_key,
    edited,
    inverted,
)
from harnessdiff.model.harness import Conductor, Cut, Device, Harness, Incidence, Joint, JointDetails, Terminal, Zone
from harnessdiff.model.modification import KINDS
from harnessdiff.model.quantity import Quantity
from harnessdiff.pipeline import assess
from harnessdiff.read.schema import validator
from harnessdiff.report.findings_json import findings_document
from tests.drawing import solved_demo_case
from tests.spelling import spelled_out
from tests.strategies import plantings, references
from tests.support import Json, as_found_from, bench_data, case_from, reference_from, survey_from

if TYPE_CHECKING:
    from collections.abc import Iterator

    from harnessdiff.model.edit import AsFound
    from harnessdiff.model.reference import Reference

MOST = 8
"""Resolutions that a law is held against, of those that a survey leaves open."""
on_the_van = settings(max_examples=20)


def small_case(data: st.DataObject) -> tuple[Reference, list[Json]]:
    reference = reference_from(data.draw(references()))
    return reference, data.draw(plantings(reference))


def hold_for_every_resolution(as_found: AsFound) -> None:
    """Comparing gives the edits again, applying them gives the harness again, and each is accounted for once."""
    reference = as_found.reference
    for resolution in as_found.resolutions(MOST):
        after = edited(reference, resolution.edits)
        assert difference(reference, after) == resolution.edits
        assert edited(reference, difference(reference, after)) == after
        assert difference(after, reference) == tuple(sorted(map(inverted, resolution.edits), key=edit_key))


@given(st.data())
def test_comparison_gives_back_what_a_survey_says(data: st.DataObject) -> None:
    reference, lines = small_case(data)

    hold_for_every_resolution(as_found_from(reference, *lines))


@on_the_van
@given(st.data())
def test_comparison_gives_back_what_a_survey_says_of_the_van(van: Reference, data: st.DataObject) -> None:
    hold_for_every_resolution(as_found_from(van, *data.draw(plantings(van))))


# -- nothing is swallowed


def account_for_every_edit(reference: Reference, edits: tuple[Edit, ...]) -> None:
    comparison = Comparison(reference, edits)
    modifications = modifications_of(comparison)
    installs = installs_of(comparison, modifications, {})
    shared = {thing for install in installs for thing in install.shared}
    times = Counter(edit for one in modifications for edit in one.edits)

    assert set(times) <= set(edits)
    assert [edit for edit, count in times.items() if count > 1] == []
    assert [edit for edit in edits if edit not in times and not things_of(edit) & shared] == []
    assert {one.kind for one in modifications} <= set(KINDS)
    assert sorted(number for install in installs for number in install.modifications) == sorted(
        {number for install in installs for number in install.modifications}
    )


def things_of(edit: Edit) -> set[str]:
    """Elements that an edit speaks of; a terminal counts as its device."""
    match edit:
        case Added(element) | Removed(element) | Changed(element, _):
            return {element.id.split(":")[0]}
        case Attached(incidence) | Detached(incidence):
            return {incidence.subject.split(":")[0], incidence.target.split(":")[0]}


@given(st.data())
def test_every_edit_is_in_one_modification_or_shared_by_an_install(data: st.DataObject) -> None:
    reference, lines = small_case(data)

    for resolution in as_found_from(reference, *lines).resolutions(MOST):
        account_for_every_edit(reference, resolution.edits)


@on_the_van
@given(st.data())
def test_every_edit_of_the_van_is_in_one_modification_or_shared_by_an_install(
    van: Reference, data: st.DataObject
) -> None:
    for resolution in as_found_from(van, *data.draw(plantings(van))).resolutions(2):
        account_for_every_edit(van, resolution.edits)


# -- edits planted on the object graph itself


@st.composite
def planted(draw: st.DrawFn, harness: Harness) -> tuple[Edit, ...]:
    """Edits drawn at random on the object graph; each speaks of something else, and each costs 1."""
    edits: dict[Any, Edit] = {}
    gone: set[str] = set()
    elements = draw(st.lists(st.sampled_from(harness.elements), unique_by=lambda one: one.id, max_size=4))
    for element in elements:
        if draw(st.booleans()):
            edits["element", element.id] = Changed(element, draw(changes(element)))
        else:
            edits["element", element.id] = Removed(element)
            gone.add(element.id)
            for incidence in harness.attached.get(element.id, ()):
                edits[incidence] = Detached(incidence)
    for number in range(draw(st.integers(0, 3))):
        added = draw(additions(f"+n{number}"))
        edits["element", added.id] = Added(added)
        for role, targets in attachments(added, harness):
            possible = [one for one in targets if one not in gone]
            wanted = draw(st.booleans())
            if possible and wanted:
                incidence = Incidence(subject=added.id, role=role, target=draw(st.sampled_from(possible)))
                edits[incidence] = Attached(incidence)
    for incidence in draw(st.lists(st.sampled_from(harness.incidences), unique=True, max_size=2)):
        if incidence.role in ("end_1", "end_2"):
            edits.setdefault(incidence, Detached(incidence))
    return tuple(sorted(edits.values(), key=edit_key))


def changes(element: Any) -> st.SearchStrategy[Any]:
    """The element with one or more attributes changed."""
    match element:
        case Zone():
            return st.just(replace(element, leaking=not element.leaking))
        case Conductor():
            sizes = st.sampled_from([0.22, 0.6, 1.2, 35.0]).map(Quantity.exactly)
            return st.builds(lambda size: replace(element, size_mm2=size, material="aluminium"), sizes)
        case Device():
            return st.sampled_from([replace(element, label="other"), replace(element, body="other", connected="no")])
        case Terminal():
            return st.just(replace(element, standard="other"))
        case _:
            return st.just(replace(element, zone="elsewhere"))


def additions(own: str) -> st.SearchStrategy[Any]:
    return st.sampled_from(
        [
            Conductor(id=own, size_mm2=Quantity.exactly(0.5)),
            Joint(id=own, details=JointDetails(type="twisted")),
            Device(id=own, kind="relay"),
            Cut(id=own),
        ]
    )


def attachments(added: Any, harness: Harness) -> list[tuple[Any, list[str]]]:
    """Roles in which a new element may be attached, and to what."""
    terminals = [one.id for one in harness.elements if isinstance(one, Terminal)]
    wires = [one.id for one in harness.conductors()]
    match added:
        case Conductor():
            return [("end_1", terminals), ("end_2", terminals)]
        case Joint():
            return [("on", wires), ("at", terminals)]
        case Cut():
            return [("on", wires)]
        case _:
            return []


@given(st.data())
def test_planted_edits_come_back_as_exactly_those(data: st.DataObject) -> None:
    harness = reference_from(data.draw(references())).harness
    edits = data.draw(planted(harness))

    assert difference(harness, edited(harness, edits)) == edits


@on_the_van
@given(st.data())
def test_planted_edits_come_back_as_exactly_those_on_the_van(van: Reference, data: st.DataObject) -> None:
    edits = data.draw(planted(van.harness))

    assert difference(van.harness, edited(van.harness, edits)) == edits


@given(st.data())
def test_planted_edits_are_never_swallowed(data: st.DataObject) -> None:
    """Even those that no survey could have said: what no recogniser claims stays as a plain edit."""
    reference = reference_from(data.draw(references()))

    account_for_every_edit(reference, data.draw(planted(reference.harness)))


@given(st.data())
def test_two_harnesses_are_as_far_apart_as_their_edits_one_after_the_other(data: st.DataObject) -> None:
    """From A to C by way of B is never shorter than the way at once."""
    harness = reference_from(data.draw(references())).harness
    one = edited(harness, data.draw(planted(harness)))
    other = edited(harness, data.draw(planted(harness)))

    assert len(difference(one, other)) <= len(difference(one, harness)) + len(difference(harness, other))
    assert difference(other, one) == tuple(sorted(map(inverted, difference(one, other)), key=edit_key))


@pytest.mark.parametrize(
    "edit",
    [
        Added(Zone(id="Z_BAY", name="twice")),
        Removed(Zone(id="Z_BAY", name="another name")),
        Removed(Zone(id="nowhere", name="nowhere")),
        Changed(Zone(id="nowhere", name="a"), Zone(id="nowhere", name="b")),
        Attached(Incidence(subject="W12", role="end_2", target="E1:58")),
        Detached(Incidence(subject="W12", role="end_2", target="E2:58")),
    ],
)
def test_edit_that_does_not_fit_is_refused(bench: Reference, edit: Edit) -> None:
    with pytest.raises(ValueError, match="does not fit this harness"):
        edited(bench.harness, (edit,))


# -- nothing changed, nothing found


@given(st.data())
def test_harness_against_itself_gives_nothing(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))
    case = case_from(reference)

    assert difference(reference.harness, reference.harness) == ()
    assert (case.findings.edits, case.findings.findings, case.findings.installs) == ((), (), ())
    assert case.as_found == reference.harness


def test_van_against_itself_gives_nothing(van: Reference) -> None:
    case = case_from(van)

    assert (case.findings.edits, case.findings.findings, case.findings.installs) == ((), (), ())


@given(st.data())
def test_lines_that_change_nothing_add_nothing(data: st.DataObject) -> None:
    """As reference, good practice, and a part in place of its equal leave the findings as they were."""
    reference, lines = small_case(data)
    before = findings_of(reference, lines)
    touched = {value for entry in lines for value in named_in(entry)}
    wires = [one.id for one in reference.harness.conductors() if one.id not in touched]
    idle: list[Json] = [
        *({"kind": "as_reference", "id": f"idle{n}", "elements": [wire]} for n, wire in enumerate(wires)),
        {"kind": "good_practice", "id": "good", "of": [lines[0]["id"]] if lines else [], "practice": "labelled"},
        *(
            {"kind": "substitution", "id": f"same{n}", "element": fuse.id,
             "fitted": {"rating_A": fuse.rating_A.exact, "body": fuse.body}}
            for n, fuse in enumerate(reference.harness.devices())
            if fuse.kind == "fuse" and not {fuse.id, fuse.id.removesuffix("_FUSE")} & touched
        ),
    ]  # fmt: skip
    after = findings_of(reference, [*lines, *idle])
    recorded = after.pop("recorded")
    before.pop("recorded")

    assert after == before
    assert len(recorded) == len(wires) + 1


def named_in(entry: Any) -> Iterator[str]:
    """Every text in a line of a survey, however deep."""
    if isinstance(entry, str):
        yield entry
    for value in entry.values() if isinstance(entry, dict) else entry if isinstance(entry, list) else ():
        yield from named_in(value)


def findings_of(reference: Reference, lines: list[Json]) -> Json:
    """The findings document of a survey, without the hash of its file."""
    case = assess(reference, replace(survey_from(reference, *lines), sha256=None))
    return findings_document(case.findings)


@given(st.data())
def test_order_of_lines_does_not_matter(data: st.DataObject) -> None:
    reference, lines = small_case(data)
    shuffled = data.draw(st.permutations(lines))

    assert findings_of(reference, shuffled) == findings_of(reference, lines)


def test_every_order_of_a_box_and_its_leads_is_the_same_case(bench: Reference) -> None:
    """The pin of the box is named by the box and by the lead, and either may come first."""
    lines: list[Json] = [
        {"kind": "device", "id": "d", "terminals": ["1", "2"]},
        {"kind": "joint", "id": "j", "members": [{"wire": "W40"}]},
        {"kind": "lead", "id": "l", "end_1": {"joined": "j"}, "end_2": {"device": "d", "pin": "1"}},
        {"kind": "lead", "id": "g", "inline": [{"kind": "diode"}], "end_1": {"device": "d", "pin": "2"},
         "end_2": {"metal": "body"}},
    ]  # fmt: skip
    first = findings_of(bench, lines)

    assert [order for order in itertools.permutations(lines) if findings_of(bench, list(order)) != first] == []


def test_order_of_the_demo_s_lines_does_not_matter(van: Reference, demo_survey: Any) -> None:
    backwards = replace(demo_survey, sha256=None, observations=tuple(reversed(demo_survey.observations)))
    here, there = (
        findings_document(replace(one.findings, reference_sha256=None, survey_sha256=None))
        for one in (solved_demo_case(), assess(van, backwards))
    )

    assert here == there


@given(st.data())
def test_spelling_does_not_matter(data: st.DataObject) -> None:
    """Shorthand or nouns: the same modifications on the same elements, rated the same."""
    reference, lines = small_case(data)
    short, nouns = (
        case_from(reference, *spelling).findings for spelling in (lines, spelled_out(lines, reference.harness))
    )

    assert short.edits == nouns.edits
    assert [(one.modification, one.rating) for one in short.findings] == [
        (one.modification, one.rating) for one in nouns.findings
    ]
    assert [one.id for one in short.findings] == [one.id for one in nouns.findings]


RED_WHITE = {"base": "RD", "tracer": "WH"}
UNITS = [
    ({"size_mm2": {"exact": 18, "unit": "AWG"}}, {"size_mm2": 0.8230}),
    ({"length_m": {"exact": 50, "unit": "cm"}}, {"length_m": 0.5}),
    ({"colour": {"base": "red", "code_system": "words"}}, {"colour": {"base": "RD"}}),
    ({"colour": {"base": "rt", "tracer": "ws", "code_system": "DIN 72551"}}, {"colour": RED_WHITE}),
]  # fmt: skip


@pytest.mark.parametrize(("entered", "plain"), UNITS)
def test_unit_and_colour_code_do_not_matter(bench: Reference, entered: Json, plain: Json) -> None:
    """18 AWG is 0.8230 mm² by the formula of ASTM B258 (from memory)."""
    line = {"kind": "tap", "id": "t", "on": {"wire": "W12"}}
    one, other = (as_found_from(bench, line | {"lead": lead}).edits for lead in (entered, plain))
    rounded = [[_without_noise(edit) for edit in edits] for edits in (one, other)]

    assert rounded[0] == rounded[1]


def _without_noise(edit: Edit) -> Edit:
    """Sizes to a ten-thousandth of a square millimetre."""
    if isinstance(edit, Added) and isinstance(edit.element, Conductor) and edit.element.size_mm2.exact is not None:
        size = Quantity.exactly(round(edit.element.size_mm2.exact, 4))
        return Added(replace(edit.element, size_mm2=size))
    return edit


@given(st.data())
def test_findings_document_of_any_survey_is_valid(data: st.DataObject) -> None:
    reference, lines = small_case(data)
    written = findings_document(case_from(reference, *lines).findings)

    assert [error.message for error in validator("findings").iter_errors(_plain(written))] == []


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    return [_plain(one) for one in value] if isinstance(value, (list, tuple)) else value


@given(st.data())
def test_every_line_is_kept(data: st.DataObject) -> None:
    """A line gives a finding, is recorded, is said plainly, or says what the reference says already."""
    reference, lines = small_case(data)
    findings = case_from(reference, *lines).findings
    kept = {one for finding in findings.findings for one in finding.observations}
    kept |= {one.observation for one in findings.recorded} | {one.observation for one in findings.plain}
    shared = {thing.lstrip("+") for install in findings.installs for thing in install.shared}
    idle = {line["id"] for line in lines if not as_found_from(reference, *lines_with(line, lines)).edits}

    assert {line["id"] for line in lines} - kept - shared - idle == set()


def lines_with(line: Json, lines: list[Json]) -> list[Json]:
    """A line that stands alone, or with the nouns that it names."""
    alone = line["kind"] in ("substitution", "missing", "moved", "swap", "surroundings")
    return [line] if alone else lines


@given(st.data())
def test_nothing_of_the_as_found_harness_hangs_in_the_air(data: st.DataObject) -> None:
    """What is attached is attached to something that is there, and an end of a conductor is at one place."""
    reference, lines = small_case(data)
    for resolution in as_found_from(reference, *lines).resolutions(MOST):
        after = edited(reference.harness, resolution.edits)
        ends = {end for one in after.incidences for end in (one.subject, one.target)}
        places = Counter((one.subject, one.role) for one in after.incidences if one.role in ("end_1", "end_2", "seat"))
        assert ends <= set(after.by_id)
        assert [end for end, count in places.items() if count > 1] == []


def test_resolutions_go_through_all_combinations_or_vary_one_at_a_time(bench: Reference) -> None:
    """Two clues of three and two candidates: six combinations; with fewer allowed, one choice varies at a time."""
    lines = [
        {"kind": "tap", "id": "t", "on": {"wire": {"colour": {"base": "GY", "tracer": "RD"}}}},
        {"kind": "tap", "id": "u", "on": {"wire": {"connector": "X1"}}},
    ]
    as_found = as_found_from(bench, *lines)
    picks = [tuple(pick for _, pick in one.picks) for one in as_found.resolutions(6)]
    fewer = [tuple(pick for _, pick in one.picks) for one in as_found.resolutions(5)]

    assert [len(choice.alternatives) for choice in as_found.choices] == [3, 2]
    assert sorted(picks) == [(a, b) for a in range(3) for b in range(2)]
    assert fewer == [(0, 0), (1, 0), (2, 0), (0, 1)]
    assert (as_found.complete_within(6), as_found.complete_within(5)) == (True, False)
    assert case_from(bench, *lines).findings.complete


def test_bench_is_a_sound_reference() -> None:
    """The bench other tests stand on is read without a fault, and every wire of it ends at two places."""
    harness = reference_from(bench_data()).harness

    assert all(len(harness.targets(wire.id, "end_1", "end_2")) == 2 for wire in harness.conductors())
