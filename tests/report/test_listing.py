"""The list that a person reads: everything is on it, no line is too long, nothing is promised."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harnessdiff.pipeline import Case, listing_of
from harnessdiff.verdict_words import STANDING, action_words, coverage_words, limit_words, verdict_words
from harnessdiff.words import (
    GRADE_IS_NOT_A_CAUSE,
    KINDS,
    NOT_SEEN_IS_NOT_MISSING,
    WIRING_NEAR_A_FIRE,
    caution_words,
    check_words,
    level_words,
)
from tests.drawing import CATALOGUE, catalogue_case, solved_demo_case
from tests.strategies import plantings, references
from tests.support import Json, case_from, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference


MOST = 100
"""Characters that a line may have: what a terminal or a page in small type shows."""


def flat(text: str) -> str:
    """Text with every run of blanks and line ends as one blank."""
    return " ".join(text.split())


def rows(text: str) -> dict[int, str]:
    """First line of every finding, by its number."""
    found = re.findall(r"^ {0,2}(\d+)  (\S.*)$", text, re.MULTILINE)
    return {int(number): words for number, words in found}


def is_whole(case: Case) -> None:
    text = listing_of(case)
    written = flat(text)
    findings = case.findings

    assert text.endswith("\n")
    assert [line for line in text.splitlines() if line != line.rstrip()] == []
    assert GRADE_IS_NOT_A_CAUSE in written
    assert WIRING_NEAR_A_FIRE in written
    assert flat(verdict_words(findings.verdict)) in written
    assert [one for one in findings.verdict.can if f"can say: {flat(limit_words(one))}" not in written] == []
    cannot = [one for one in findings.verdict.cannot if one.code not in STANDING]
    assert [one for one in cannot if f"cannot say: {flat(limit_words(one))}" not in written] == []
    assert sorted(rows(text)) == [finding.number for finding in findings.findings]
    for finding in findings.findings:
        action = action_words(finding, findings.policy)
        beside = f" - {action}" if action else ""
        assert rows(text)[finding.number].startswith(f"{level_words(finding.rating)}{beside}  ")
        assert [check for check in finding.checks if flat(check_words(check)) not in written] == []
        assert [note for note in finding.notes if flat(f"noted: {note}") not in written] == []
    codes = {"maker_first", *(code for finding in findings.flagged for code in finding.cautions)}
    assert [code for code in codes if f"- {flat(caution_words(code))}" not in written] == []
    unseen = [zone for zone in findings.coverage.zones if zone.status != "looked_at"]
    assert [zone.name for zone in unseen if zone.name not in written] == []
    assert (NOT_SEEN_IS_NOT_MISSING in written) == bool(unseen)


def lines_too_long(case: Case) -> list[str]:
    return [line for line in listing_of(case).splitlines() if len(line) > MOST]


def test_list_of_the_demo_is_whole() -> None:
    is_whole(solved_demo_case())


def test_no_line_of_the_demo_s_list_is_longer_than_a_hundred_characters() -> None:
    assert lines_too_long(solved_demo_case()) == []


@pytest.mark.parametrize("which", ["survey", "twin"])
@pytest.mark.parametrize("kind", CATALOGUE)
def test_lists_of_the_catalogue_are_whole(kind: str, which: str) -> None:
    is_whole(catalogue_case(kind, which))
    assert lines_too_long(catalogue_case(kind, which)) == []


@settings(max_examples=60)
@given(st.data())
def test_lists_of_random_surveys_are_whole(data: st.DataObject) -> None:
    reference = reference_from(data.draw(references()))
    case = case_from(reference, *data.draw(plantings(reference, most=8)))

    is_whole(case)
    assert lines_too_long(case) == []


def heading(case: Case) -> list[str]:
    """The lines above the first finding, or above the first empty line."""
    return listing_of(case).split("\n\n")[0].splitlines()


def test_heading_names_vehicle_survey_verdict_numbers_and_complaint() -> None:
    findings = solved_demo_case().findings
    lines = heading(solved_demo_case())
    said = flat(" ".join(lines))

    assert lines[0] == "Marlow Carrier 280, panel van, diesel — invented data"
    assert lines[1] == findings.survey_title
    assert lines[2].startswith("Not satisfactory. ")
    assert f"worst: finding 1 ({level_words(findings.findings[0].rating)}), " in said
    assert f"looked at: {coverage_words(findings.coverage)} " in said
    assert f"{len(findings.findings)} findings: " in said
    assert "complaint: battery flat — flat after two nights" in said
    assert lines[-2] == GRADE_IS_NOT_A_CAUSE
    assert lines[-1].startswith(f"by: {findings.policy.title} ({findings.policy.sha256[:12]}); {findings.program}, ")


def test_heading_is_short_enough_to_be_read() -> None:
    assert len(heading(solved_demo_case())) <= 12


def test_sound_vehicle_is_satisfactory_as_far_as_it_was_looked_at(bench: Reference) -> None:
    lines = heading(case_from(bench))

    assert lines[1] == "Satisfactory as far as it was looked at: nothing found stops use or has to be repaired first."
    assert [line for line in lines if line.startswith("worst")] == []


def test_what_fits_nothing_or_what_nobody_looked_at_is_not_satisfactory(bench: Reference) -> None:
    clue = {"colour": {"base": "PK", "tracer": "TQ"}}
    odd = case_from(bench, {"kind": "damage", "id": "g1", "on": [{"wire": clue}]})

    assert heading(odd)[1] == "Not satisfactory. Further investigation: observation g1."
    assert heading(case_from(bench, scope={"looked_at": []}))[1] == "No verdict: nothing was looked at."


@pytest.mark.parametrize("state", ["made_safe", "accepted"])
def test_what_is_made_safe_or_accepted_is_told_apart_and_not_hidden(bench: Reference, state: str) -> None:
    line = {"kind": "other", "id": "o", "zone": "Z_DASH", "note": "a bracket"}
    text, open_ = (listing_of(case_from(bench, line | more)) for more in ({"state": state}, {}))
    words = state.replace("_", " ")

    assert f"1  not rated - further investigation, recorded as {words}" in text
    assert f"Recorded as {words}: 1 (counted as what they were)." in text
    assert verdict_words(case_from(bench, line).findings.verdict) in open_
    assert verdict_words(case_from(bench, line).findings.verdict) in text


def test_numbers_of_the_heading_add_up() -> None:
    text = listing_of(solved_demo_case())
    line = text[text.index(" findings: ") - 3 : text.index("complaint:")]
    total, *parts = (int(number) for number in re.findall(r"\d+", line))

    assert sum(parts) == total


def test_findings_come_worst_first() -> None:
    numbers = list(rows(listing_of(solved_demo_case())))

    assert numbers == sorted(numbers)


def test_every_finding_says_what_where_and_why() -> None:
    text = listing_of(solved_demo_case())
    blocks = re.split(r"(?m)^(?= {0,2}\d+  \S)", text)[1:]

    for block, finding in zip(blocks, solved_demo_case().findings.findings, strict=True):
        assert ("at: " in block) == bool(finding.zones)
        assert ("why: " in block) == bool(finding.rating.mechanisms)
        assert ("to settle: " in block) == bool(finding.checks)


def test_installs_are_named_by_what_they_are_like_and_never_by_who_fitted_them() -> None:
    text = listing_of(solved_demo_case())
    start = text.index("Installs (what belongs together; never who fitted it)")
    lines = text[start : text.index("To make dead", start)].splitlines()[1:]
    several = [one for one in solved_demo_case().findings.installs if len(one.findings) > 1]
    named = [line for line in lines if re.match(r"  \d+\. findings ", line)]

    assert [int(line.split(".")[0]) for line in named] == [one.number for one in several]
    assert "consistent with tow lighting" in text


def test_zones_that_nobody_looked_at_stand_with_their_reason() -> None:
    written = flat(listing_of(solved_demo_case()))

    assert "roof, above the headlining (not opened: headlining glued)" in written
    assert "not inspected: on the engine and gearbox" in written


@pytest.mark.parametrize(("saved", "told"), [("yes", False), ("no", True), ("unknown", True)])
def test_codes_that_may_not_be_saved_are_called_to_mind(bench: Reference, saved: str, *, told: bool) -> None:
    case = case_from(bench, scope={"looked_at": "everything", "codes_saved": saved})

    assert ("save them before the battery is touched" in flat(listing_of(case))) == told


def test_survey_that_finds_nothing_says_so_only_of_what_was_looked_at(bench: Reference) -> None:
    assert "nothing differs where it was looked at" in listing_of(case_from(bench))
    assert "nothing was looked at, so nothing can be said" in listing_of(case_from(bench, scope={"looked_at": []}))


def test_what_fits_nothing_is_said_plainly(bench: Reference) -> None:
    clue = {"colour": {"base": "PK", "tracer": "TQ"}}
    text = flat(listing_of(case_from(bench, {"kind": "damage", "id": "g1", "on": [{"wire": clue}]})))

    assert "Said plainly" in text
    assert "fits nothing on the reference" in text


def test_kinds_are_told_in_words_and_never_in_codes() -> None:
    text = listing_of(solved_demo_case())

    assert [code for code in KINDS if "_" in code and code in text] == []
    assert re.findall(r"\b[a-z]+_[a-z_]+\b", text) == []


def blocks(text: str) -> list[str]:
    """What is said of every finding."""
    return re.split(r"(?m)^(?= {0,2}\d+  \S)", text[: text.index("The vehicle as a whole")])[1:]


def test_reading_that_agrees_is_told_once_and_not_as_what_a_finding_does() -> None:
    text = listing_of(solved_demo_case())

    assert [one for one in blocks(text) if "is computed: they agree" in flat(one)] == []
    for reading in ("R2", "R3", "R9"):
        assert text.count(f"reading {reading}: ") == 1


def test_what_a_load_draws_is_told_once_in_a_finding() -> None:
    """In other conditions it draws a little more or less."""
    draws = re.compile(r"\(([\w:]+)\) draws [\d.]+(?: to [\d.]+)? A \(")
    told = [draws.findall(flat(one)) for one in blocks(listing_of(solved_demo_case()))]

    assert sum(map(len, told)) > 1
    assert [one for one in told if len(set(one)) < len(one)] == []


def test_what_nothing_protects_is_told_first() -> None:
    does = [re.findall(r"does: (.*)", block) for block in blocks(listing_of(solved_demo_case()))]
    unprotected = [[line.startswith("nothing protects") for line in lines] for lines in does]

    assert any(True in lines for lines in unprotected)
    assert [lines for lines in unprotected if lines != sorted(lines, reverse=True)] == []


def test_loads_that_glow_alike_are_told_in_one_line() -> None:
    """The document holds each; the list says how many, between what voltages, and names the first."""
    (block,) = (one for one in blocks(listing_of(solved_demo_case())) if one.startswith(" 17  "))
    (finding,) = (one for one in solved_demo_case().findings.findings if one.number == 17)
    live = [one for one in finding.consequences if one.code == "live_unasked"]
    does = re.findall(r"does: (.*)", flat(block))[0]

    assert len(live) == 2
    assert does.startswith(
        "2 loads are glowing when they should be off, 5.2 to 5.35 V: rear lamp cluster right (E10:55), "
    )
    assert "more that findings.json holds" not in block


def test_one_finding_is_not_several() -> None:
    text = listing_of(solved_demo_case())

    assert re.search(r"(?m)^  \d+\. findings \d+$", text) is None
    assert re.search(r"(?m)^  \d+\. finding \d+$", text) is not None


def test_what_an_install_is_like_is_said_for_each_reason_once() -> None:
    reasons = re.findall(r"because of: (.*)", listing_of(solved_demo_case()))

    assert reasons
    assert [one for one in reasons if len(set(one.split(", "))) < len(one.split(", "))] == []


LONG = "x" * 150


@pytest.mark.parametrize("where", ["title", "note", "complaint", "zone", "because"])
def test_long_words_of_a_survey_are_broken(bench: Reference, where: str) -> None:
    members: dict[str, Json] = {
        "title": {"title": "a title of many words " * 8},
        "note": {},
        "complaint": {"complaint": [{"symptom": "other", "note": LONG}]},
        "because": {"scope": {"looked_at": [], "not_opened": [{"zone": "Z_ROOF", "because": LONG}]}},
    }
    note = LONG if where == "note" else "seen"
    name = LONG if where == "zone" else "a box"
    device = {"kind": "device", "id": "d", "label": name, "zone": "Z_DASH", "note": note}

    assert lines_too_long(case_from(bench, device, **members.get(where, {}))) == []


@pytest.mark.parametrize("letters", ["\x1b[2J\x1b[31m", "\x07", "\x00", "\u202e", "\u2066"])
def test_text_of_a_survey_does_nothing_to_a_terminal(bench: Reference, letters: str) -> None:
    text = listing_of(
        case_from(bench, {"kind": "other", "id": "o", "zone": "Z_DASH", "note": f"a bracket {letters} here"})
    )

    assert [line for line in text.splitlines() if not line.isprintable()] == []
