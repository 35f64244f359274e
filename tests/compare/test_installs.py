"""What belongs together: connected through added things only, or by evidence; and what it is consistent with."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from harnessdiff.pipeline import assess
from tests.support import Json, case_from, codes

if TYPE_CHECKING:
    from harnessdiff.model.findings import InstallFound
    from harnessdiff.model.reference import Reference
    from harnessdiff.model.survey import Survey
    from harnessdiff.pipeline import Case

LOAD = [{"kind": "load", "between": ["+", "-"], "model": "current", "rated_A": 0.3}]


def box(own: str, sort: str = "other", **more: object) -> Json:
    return {"kind": "device", "id": own, "sort": sort, "terminals": ["+", "-", "S"], "contents": LOAD, **more}


def tap(own: str, on: str, to: str | None = None, pin: str = "+", **more: object) -> Json:
    place = {"terminal": on} if ":" in on else {"wire": on}
    landing = {"to": {"device": to, "pin": pin}} if to else {}
    return {"kind": "tap", "id": own, "on": place, **landing, **more}


def ground(own: str, of: str, **more: object) -> Json:
    return {"kind": "lead", "id": own, "end_1": {"device": of, "pin": "-"}, "end_2": {"metal": "body"}, **more}


def groups(case: Case) -> list[set[str]]:
    """For each install the elements that its findings touch."""
    return [
        {element for number in install.findings for element in case.findings.findings[number - 1].modification.elements}
        for install in case.findings.installs
    ]


def only_install(case: Case) -> InstallFound:
    (install,) = case.findings.installs
    return install


def test_taps_of_one_box_are_one_install(bench: Reference) -> None:
    case = case_from(bench, box("d"), tap("t", "W40", "d"), tap("u", "W43", "d", "S"), ground("g", "d"))

    assert groups(case) == [{"W40", "W43", "BODY:1"}]
    assert only_install(case).devices == ("+d",)


def test_box_that_several_findings_share_is_in_none_of_them(bench: Reference) -> None:
    case = case_from(bench, box("d"), tap("t", "W40", "d"), tap("u", "W43", "d", "S"))

    assert only_install(case).shared == ("+d",)
    assert all("+d" not in one.modification.added for one in case.findings.findings)


def test_box_of_one_finding_goes_with_it(bench: Reference) -> None:
    case = case_from(bench, box("d"), tap("t", "W40", "d"))
    (finding,) = case.findings.findings

    assert only_install(case).shared == ()
    assert set(finding.modification.added) == {"+d", "+d:+", "+d:-", "+d:S", "+t.joint", "+t.lead"}


SEPARATE: dict[str, list[Json]] = {
    "a wire of the maker's": [tap("t", "W40"), tap("u", "W40")],
    "a supply": [tap("t", "W40"), tap("u", "W42")],
    "the body": [box("d"), box("e"), tap("t", "W40", "d"), tap("u", "W43", "e"), ground("g", "d"), ground("h", "e")],
    "a stud of the maker's": [
        box("d"), box("e"), tap("t", "W40", "d"), tap("u", "W43", "e"),
        tap("g", "GND2:1", "d", "-"), tap("h", "GND2:1", "e", "-"),
    ],
}  # fmt: skip


@pytest.mark.parametrize("lines", SEPARATE.values(), ids=SEPARATE)
def test_what_only_the_reference_joins_is_two_installs(bench: Reference, lines: list[Json]) -> None:
    assert len(case_from(bench, *lines).findings.installs) == 2


TOGETHER: dict[str, list[Json]] = {
    "an added lead": [
        {"kind": "joint", "id": "j", "members": [{"wire": "W40"}, {"lead": "l", "end": 1}]},
        {"kind": "joint", "id": "k", "members": [{"wire": "W43"}, {"lead": "l", "end": 2}]},
        {"kind": "lead", "id": "l"},
    ],
    "a lead between two boxes": [
        box("d"), box("e"), tap("t", "W40", "d"), tap("u", "W43", "e"),
        {"kind": "lead", "id": "l", "end_1": {"device": "d", "pin": "S"}, "end_2": {"device": "e", "pin": "S"}},
    ],
    "one jacket": [
        {"kind": "joint", "id": "j", "members": [{"wire": "W40"}]},
        {"kind": "joint", "id": "k", "members": [{"wire": "W43"}]},
        {"kind": "lead", "id": "c", "cores": [{"end_1": {"joined": "j"}}, {"end_1": {"joined": "k"}}]},
    ],
    "one kit": [tap("t", "W40", kit="old alarm"), tap("u", "W43", kit="old alarm")],
}  # fmt: skip


@pytest.mark.parametrize("lines", TOGETHER.values(), ids=TOGETHER)
def test_what_added_things_or_evidence_join_is_one_install(bench: Reference, lines: list[Json]) -> None:
    assert groups(case_from(bench, *lines)) == [{"W40", "W43"}]


def test_kit_is_named_as_the_evidence(bench: Reference) -> None:
    assert only_install(case_from(bench, *TOGETHER["one kit"])).evidence == ("old alarm",)
    assert only_install(case_from(bench, *TOGETHER["one jacket"])).evidence == ()


def test_two_kits_are_two_installs(bench: Reference) -> None:
    case = case_from(bench, tap("t", "W40", kit="old alarm"), tap("u", "W43", kit="camera"))

    assert {install.evidence for install in case.findings.installs} == {("old alarm",), ("camera",)}
    assert len(case.findings.installs) == 2


def test_change_to_the_reference_alone_is_in_no_install(bench: Reference) -> None:
    case = case_from(bench, {"kind": "substitution", "id": "s", "element": "F3", "fitted": {"rating_A": 30}})

    assert case.findings.installs == ()
    assert [one.install for one in case.findings.findings] == [None]


def test_change_to_the_reference_is_in_an_install_by_evidence(bench: Reference) -> None:
    fuse = {"kind": "substitution", "id": "s", "element": "F4", "fitted": {"rating_A": 30}, "kit": "amplifier"}

    assert groups(case_from(bench, fuse, tap("t", "W40", kit="amplifier"))) == [{"F4_FUSE", "W40"}]


def test_installs_are_numbered_by_their_worst_finding(bench: Reference) -> None:
    """The feed at the battery post, without a fuse, comes before the tap on the radio's."""
    crimp = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve"}
    quiet = tap("t", "W40", joint=crimp, lead={"size_mm2": 0.5, "material": "copper"})
    case = case_from(bench, quiet, tap("u", "BAT:+", lead={"size_mm2": 1.0}))

    assert groups(case) == [{"BAT:+"}, {"W40"}]
    assert [install.number for install in case.findings.installs] == [1, 2]


def test_every_finding_names_the_install_that_lists_it(van: Reference, demo_survey: Survey) -> None:
    findings = assess(van, demo_survey, electrical=False).findings
    listed = {number: install.number for install in findings.installs for number in install.findings}

    assert {one.number: one.install for one in findings.findings if one.install is not None} == listed
    assert len(findings.installs) > 3


# -- what it is consistent with

LIKE: list[tuple[str, list[Json], str | None]] = [
    ("a beeper on the reverse lamp", [box("d", "beeper"), tap("t", "W43", "d")], "reversing_aid"),
    ("a camera on the reverse lamp", [box("d", "camera"), tap("t", "W43", "d")], "reversing_aid"),
    ("a display on the radio's feed alone", [box("d", "display"), tap("t", "W40", "d")], None),
    ("an amplifier on the radio's feed", [box("d", "amplifier"), tap("t", "W40", "d")], "audio"),
    ("a second battery on the first", [box("d", "battery"), tap("t", "W2", "d")], "second_battery"),
    ("a fan switched from the battery", [box("d", "fan", function="cooling_fan"), tap("t", "W2", "d")], "fan_override"),
    ("a box on the main supply", [box("d"), tap("t", "W2", "d"), tap("u", "BAT:+", "d", "S")], None),
    ("a box on the brake lamp", [box("d"), tap("t", "W32", "d")], None),
    (
        "a socket on side, brake and reverse lamps",
        [box("d", "socket"), tap("t", "W12", "d"), tap("u", "W32", "d", "S"), tap("v", "W43", "d", "R")],
        "tow_lighting",
    ),
    (
        "an alarm on the horn and the reverse lamp",
        [box("d", "alarm"), tap("t", "W21", "d"), tap("u", "W43", "d", "S")],
        None,
    ),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "like"), [row[1:] for row in LIKE], ids=[row[0] for row in LIKE])
def test_install_is_consistent_with_what_its_circuits_say(
    bench: Reference, lines: list[Json], like: str | None
) -> None:
    found = [one.install for one in only_install(case_from(bench, *lines)).consistent_with]

    assert found[:1] == ([like] if like else [])


def test_likeness_gives_its_reasons(bench: Reference) -> None:
    (like,) = only_install(case_from(bench, *LIKE[0][1])).consistent_with

    assert (like.functions, like.devices) == (("reverse_lamp",), ("beeper",))


def test_demo_s_installs_are_consistent_with_what_was_told(van: Reference, demo_survey: Survey) -> None:
    """The history tells of a tow bar and a camera, of a second battery, and the plate bears the pump's switch out."""
    found = {
        like.install
        for one in assess(van, demo_survey, electrical=False).findings.installs
        for like in one.consistent_with
    }

    assert {"tow_lighting", "reversing_aid", "second_battery", "cut_out_switch"} <= found


# -- whose it is


@pytest.mark.parametrize("owner", ["lender", "insurer", "fleet"])
def test_everything_of_an_install_that_another_owns_says_so(bench: Reference, owner: str) -> None:
    case = case_from(bench, box("d", "tracker", owner=owner), tap("t", "W40", "d"), ground("g", "d"), tap("u", "W43"))
    owned = {one.modification.elements: "owner_other" in codes(one) for one in case.findings.findings}

    assert owned == {("W40",): True, ("BODY:1",): True, ("W43",): False}


@pytest.mark.parametrize("owner", ["vehicle_owner", "unknown"])
def test_what_the_vehicle_s_owner_owns_is_nobody_else_s(bench: Reference, owner: str) -> None:
    case = case_from(bench, box("d", "tracker", owner=owner), tap("t", "W40", "d"))

    assert all("owner_other" not in codes(one) for one in case.findings.findings)
