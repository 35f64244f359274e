"""From lines to the as-found harness: contradictions are refused, unknown stays unknown, nothing is dropped."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.errors import InputError
from harnessdiff.model.edit import Changed, edited
from harnessdiff.model.harness import Conductor, Device, Joint, JointDetails, OpenEnd, Zone
from harnessdiff.model.quantity import UNKNOWN, Quantity
from harnessdiff.read.structure import OBSERVATIONS
from tests.support import Json, as_found_from, case_from

if TYPE_CHECKING:
    from harnessdiff.model.harness import Harness
    from harnessdiff.model.reference import Reference


def after(reference: Reference, *lines: Json) -> Harness:
    (only,) = as_found_from(reference, *lines).resolutions(1)
    return edited(reference.harness, only.edits)


def other_fuse(own: str, rating_A: float) -> Json:
    return {"kind": "substitution", "id": own, "element": "F1", "fitted": {"rating_A": rating_A}}


def moved(own: str, **to: object) -> Json:
    return {"kind": "moved", "id": own, "wire": "W12", "end": 2, "to": to}


LEAD_1 = {"lead": "l", "end": 1}
GONE = {"kind": "missing", "id": "a", "wire": "W12"}
NO_FUSE = {"kind": "missing", "id": "b", "element": "F1"}
JOINT_1 = {"kind": "joint", "id": "j1", "members": [{"wire": "W12"}, LEAD_1]}
JOINT_2 = {"kind": "joint", "id": "j2", "members": [{"wire": "W13"}, LEAD_1]}
CONTRADICTIONS: dict[str, list[Json]] = {
    "two fuses in one slot": [other_fuse("a", 20), other_fuse("b", 30)],
    "another fuse, and none": [other_fuse("a", 20), NO_FUSE],
    "device in two zones": [
        {"kind": "moved", "id": "a", "element": "E1", "to_zone": "Z_ROOF"},
        {"kind": "moved", "id": "b", "element": "E1", "to_zone": "Z_DASH"},
    ],
    "fuse in two slots": [
        {"kind": "moved", "id": "a", "element": "F1", "to_slot": "F2"},
        {"kind": "moved", "id": "b", "element": "F1", "to_slot": "F3"},
    ],
    "wire's end at two terminals": [moved("a", terminal="GND1:1"), moved("b", terminal="GND2:1")],
    "wire's end at a terminal, and hanging": [moved("a", terminal="GND1:1"), moved("b", not_traced=True)],
    "wire gone, and tapped": [GONE, {"kind": "tap", "id": "b", "on": {"wire": "W12"}}],
    "wire gone, and mended": [GONE, {"kind": "repair", "id": "b", "wire": "W12"}],
    "wire gone, and moved": [GONE, moved("b", terminal="GND1:1")],
    "wire gone, and another one": [
        GONE,
        {"kind": "substitution", "id": "b", "wire": "W12", "fitted": {"size_mm2": 0.35}},
    ],
    "lead's end in two joints": [JOINT_1, JOINT_2, {"kind": "lead", "id": "l", "end_2": {"not_traced": True}}],
    "lead's end in one joint, and joined to another": [
        JOINT_1,
        {"kind": "joint", "id": "j3", "members": [{"wire": "W13"}]},
        {"kind": "lead", "id": "l", "end_1": {"joined": "j3"}, "end_2": {"not_traced": True}},
    ],
    "wire's end taped, and bare": [moved("a", loose={"treatment": "taped"}), moved("b", loose={"treatment": "bare"})],
    "lead's end joined, and loose": [
        JOINT_1,
        {"kind": "lead", "id": "l", "end_1": {"loose": {"treatment": "bare"}}, "end_2": {"not_traced": True}},
    ],
    "wires swapped, and one of them moved": [
        {"kind": "swap", "id": "a", "between": [{"terminal": "E1:58"}, {"terminal": "E1:31"}]},
        moved("b", terminal="GND1:1"),
    ],
}


@pytest.mark.parametrize("lines", CONTRADICTIONS.values(), ids=CONTRADICTIONS)
def test_lines_that_contradict_each_other_are_refused_by_name(bench: Reference, lines: list[Json]) -> None:
    with pytest.raises(InputError) as refused:
        as_found_from(bench, *lines)
    (problem,) = refused.value.problems

    assert problem.source == "survey"
    assert "say different things" in problem.message
    assert "supersede" in problem.message


PAIRS = {name: lines for name, lines in CONTRADICTIONS.items() if len(lines) == 2}


@pytest.mark.parametrize("lines", PAIRS.values(), ids=PAIRS)
def test_line_that_supersedes_the_other_settles_it(bench: Reference, lines: list[Json]) -> None:
    one, other = lines

    assert as_found_from(bench, one, other | {"supersedes": [one["id"]]}).edits == as_found_from(bench, other).edits


def test_message_of_a_contradiction_names_both_lines_and_the_remedy(bench: Reference) -> None:
    message = "survey: observations a and b say different things of F1_FUSE; let one supersede the other"

    with pytest.raises(InputError, match=f"^{message}$"):
        as_found_from(bench, other_fuse("a", 20), other_fuse("b", 30))


def test_lines_that_say_the_same_do_not_contradict_each_other(bench: Reference) -> None:
    twice = as_found_from(bench, other_fuse("a", 20), other_fuse("b", 20))

    assert twice.edits == as_found_from(bench, other_fuse("a", 20)).edits


def test_lines_that_add_to_each_other_are_taken_together(bench: Reference) -> None:
    size = {"kind": "substitution", "id": "a", "wire": "W12", "fitted": {"size_mm2": 0.35}}
    colour = {"kind": "substitution", "id": "b", "wire": "W12", "fitted": {"colour": {"base": "PK"}}}
    (edit,) = as_found_from(bench, size, colour).edits

    assert isinstance(edit, Changed)
    assert isinstance(edit.after, Conductor)
    assert edit.after.size_mm2 == Quantity.exactly(0.35)
    assert edit.after.colour is not None
    assert edit.after.colour.letters == "PK"


# -- unknown is a value


def test_nothing_said_of_a_joint_is_unknown_and_not_fine(bench: Reference) -> None:
    joint = after(bench, {"kind": "tap", "id": "t", "on": {"wire": "W12"}}).by_id["+t.joint"]

    assert isinstance(joint, Joint)
    assert joint.details == JointDetails(type="unknown", tool="unknown", cover="unknown", unwrapped="unknown")


def test_nothing_said_of_a_lead_is_unknown(bench: Reference) -> None:
    lead = after(bench, {"kind": "tap", "id": "t", "on": {"wire": "W12"}}).by_id["+t.lead"]

    assert isinstance(lead, Conductor)
    assert (lead.colour, lead.size_mm2, lead.length_m, lead.material) == (None, UNKNOWN, UNKNOWN, None)


def test_lead_without_ends_has_two_that_were_not_traced(bench: Reference) -> None:
    lead = after(bench, {"kind": "lead", "id": "l"}).by_id["+l"]

    assert isinstance(lead, Conductor)
    assert lead.open_ends == (OpenEnd(end=1), OpenEnd(end=2))


def test_size_entered_as_unknown_is_unknown(bench: Reference) -> None:
    lead = after(bench, {"kind": "lead", "id": "l", "size_mm2": "unknown"}).by_id["+l"]

    assert isinstance(lead, Conductor)
    assert lead.size_mm2 == UNKNOWN


def test_unknown_joint_is_rated_over_all_it_may_be(bench: Reference) -> None:
    lead = {"size_mm2": 0.75, "length_m": 0.5, "material": "copper"}
    line = {"kind": "tap", "id": "t", "zone": "Z_TAIL", "on": {"wire": "W12"}, "lead": lead}
    (finding,) = case_from(bench, line | {"to": {"device": {"kind": "other"}}}).findings.findings

    assert (finding.rating.best, finding.rating.worst) == ("acceptable", "Serious")


@pytest.mark.parametrize("kind", OBSERVATIONS)
def test_kind_place_and_note_are_a_valid_line_that_is_not_lost(bench: Reference, kind: str) -> None:
    """It gives a finding, is recorded, or is said plainly to fit nothing."""
    line = {"kind": kind, "id": "o", "zone": "Z_DASH", "note": "seen from afar"}
    findings = case_from(bench, line).findings
    kept = {one for finding in findings.findings for one in finding.observations}
    kept |= {one.observation for one in findings.recorded} | {one.observation for one in findings.plain}

    assert kept == {"o"}


@pytest.mark.parametrize("kind", [kind for kind in OBSERVATIONS if kind != "surroundings"])
def test_kind_alone_is_a_valid_line(bench: Reference, kind: str) -> None:
    """Only surroundings need more: they are those of a place."""
    findings = case_from(bench, {"kind": kind, "id": "o"}).findings

    assert findings.findings or findings.recorded or findings.plain


# -- what lines do


def test_worse_of_reference_and_survey_counts_for_a_place(bench: Reference) -> None:
    lines = [
        {"kind": "surroundings", "id": "a", "zone": "Z_TAIL", "wet": True},
        {"kind": "surroundings", "id": "b", "zone": "Z_SILL", "leaking": True},
    ]
    found = after(bench, *lines)

    assert isinstance(found.by_id["Z_TAIL"], Zone)
    assert found.by_id["Z_TAIL"].wet
    assert isinstance(found.by_id["Z_SILL"], Zone)
    assert found.by_id["Z_SILL"].wet
    assert found.by_id["Z_SILL"].leaking


def test_place_is_never_drier_than_the_reference_says(bench: Reference) -> None:
    found = after(bench, {"kind": "surroundings", "id": "a", "zone": "Z_SILL", "wet": False})

    assert found.by_id["Z_SILL"] == bench.harness.by_id["Z_SILL"]


def test_slot_stands_for_the_fuse_in_it(bench: Reference) -> None:
    by_slot, by_fuse = (
        as_found_from(bench, other_fuse("a", 20) | {"element": name}).edits for name in ("F1", "F1_FUSE")
    )

    assert by_slot == by_fuse


def test_fuse_taken_out_leaves_its_slot(bench: Reference) -> None:
    found = after(bench, NO_FUSE)

    assert "F1_FUSE" not in found.by_id
    assert found.subjects("F1", "seat") == ()
    assert "F1" in found.by_id


def test_fuse_in_an_empty_slot_is_one_that_was_added(bench: Reference) -> None:
    """A slot of which the fuse is an option that is not fitted holds one all the same."""
    empty = edited(bench.harness, as_found_from(bench, NO_FUSE).edits)
    reference = type(bench)(id="empty", title="empty", extent="fragment", harness=empty)
    found = after(reference, other_fuse("a", 20))

    assert found.subjects("F1", "seat") == ("+a",)
    assert isinstance(found.by_id["+a"], Device)
    assert found.by_id["+a"].rating_A == Quantity.exactly(20)


def test_unplugged_device_is_there_but_connected_to_nothing(bench: Reference) -> None:
    found = after(bench, {"kind": "missing", "id": "a", "element": "E1", "unplugged": True}).by_id["E1"]

    assert isinstance(found, Device)
    assert found.connected == "no"


def test_same_rating_in_place_of_the_same_changes_nothing(bench: Reference) -> None:
    assert as_found_from(bench, other_fuse("a", 10)).edits == ()


def test_what_observations_add_has_ids_of_its_own(bench: Reference) -> None:
    """An observation may be called as an element of the reference is: its own begins with a plus."""
    found = after(bench, {"kind": "lead", "id": "W12"})

    assert found.by_id["+W12"] != found.by_id["W12"]
    assert found.by_id["W12"] == bench.harness.by_id["W12"]


def test_both_ends_of_a_wire_may_hang_and_each_is_kept(bench: Reference) -> None:
    lines: list[Json] = [
        {"kind": "moved", "id": own, "wire": "W31", "end": end, "to": {"loose": {"treatment": treatment}}}
        for own, end, treatment in (("a", 2, "taped"), ("b", 1, "bare"))
    ]
    wire = after(bench, *lines).conductor("W31")

    assert wire is not None
    assert [(one.end, one.loose and one.loose.treatment) for one in wire.open_ends] == [(1, "bare"), (2, "taped")]
    assert after(bench, *lines) == after(bench, *reversed(lines))
