"""Explanations that can be followed: every level comes again from what is printed, with nothing else at hand."""

from __future__ import annotations

import copy
import json
import re
from functools import cache
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.errors import InputError
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, level_rank
from harnessdiff.pipeline import assess
from harnessdiff.rating_words import MECHANISMS
from harnessdiff.read.policy import shipped_policy
from harnessdiff.read.schema import accepts
from harnessdiff.report.explaining import chosen_finding, explained
from harnessdiff.report.findings_json import findings_document
from harnessdiff.tables.loader import risk_matrix
from harnessdiff.words import GRADE_IS_NOT_A_CAUSE, NO_FREQUENCY
from tests.drawing import CATALOGUE, catalogue_case
from tests.policies import default_data, line, overlay, policy_from
from tests.strategies import plantings
from tests.support import Json, bench_data, case_from, reference_from, survey_from

if TYPE_CHECKING:
    from harnessdiff.model.policy import Policy
    from harnessdiff.model.reference import Reference
    from harnessdiff.pipeline import Case

BY_WORDS = {words: code for code, words in MECHANISMS.items()}
HEADING = re.compile(rf"({'|'.join(map(re.escape, BY_WORDS))}): ({'|'.join(LEVELS)})")
NUMBER = r"-?\d[\d.e+-]*"
COUNTS = re.compile(rf"    [ +] ({NUMBER})  \S.*")
SUM = re.compile(rf"    = ({NUMBER})")


@cache
def bench() -> Reference:
    return reference_from(bench_data())


def sections(text: str) -> dict[str, tuple[str, list[str]]]:
    """The mechanisms of an explanation: code to the level of its heading and its lines."""
    found: dict[str, tuple[str, list[str]]] = {}
    lines: list[str] = []
    for row in text.splitlines():
        heading = HEADING.fullmatch(row)
        if heading:
            lines = []
            found[BY_WORDS[heading[1]]] = heading[2], lines
        elif not row:
            lines = []
        lines.append(row)
    return found


def level_again(lines: list[str]) -> str:
    """The level that a person comes to with pencil and paper from the printed lines of a mechanism."""
    said = " ".join(" ".join(lines).split())
    counts = [float(found[1]) for row in lines if (found := COUNTS.fullmatch(row))]
    (printed_sum,) = (float(found[1]) for row in lines if (found := SUM.fullmatch(row)))
    index = round(sum(counts), 9)
    assert index == pytest.approx(printed_sum, abs=1e-9)

    cuts = re.search(r"\(E below; ([^)]*)\)", said)
    assert cuts is not None
    points = [(float(least), letter) for letter, least in re.findall(rf"([A-D]) from ({NUMBER})", cuts[1])]
    letter = max(((least, one) for least, one in points if index >= least), default=(0.0, "E"))[1]
    severity = re.search(r"severity (I|II|III|IV) ", said)
    assert severity is not None
    cell = re.search(rf"({severity[1]}) and ({letter}) give (\w+) \(MIL-STD-882E, Table III\)", said)
    assert cell is not None
    level = cell[3]
    assert level == risk_matrix()[severity[1], letter]

    for cap in re.findall(r"held at (\w+) at most by the cap", said):
        level = min(level, cap, key=level_rank)
    for floor in re.findall(r"raised to (\w+) at least by the floor", said):
        level = max(level, floor, key=level_rank)
    return level


def check_every_level(document: Json) -> int:
    """Hold every explanation of a document against its levels; gives how many mechanisms there were."""
    seen = 0
    for finding in document["findings"]:
        text = explained(document, [str(finding["number"])])
        found = sections(text)
        again = {code: level_again(lines) for code, (_, lines) in found.items()}
        assert again == {code: level for code, (level, _) in found.items()}
        assert again == {one["code"]: one["level"] for one in finding.get("mechanisms", ())}
        if again:
            worst = max(again.values(), key=level_rank)
            assert worst == finding["worst"]
            assert f"It is {worst} because of: {MECHANISMS[next(iter(again))]}." in text
        else:
            assert finding["worst"] == ACCEPTABLE or finding["rated"] is False
        seen += len(again)
    return seen


def document_of(case: Case) -> Json:
    document: Json = json.loads(json.dumps(findings_document(case.findings)))
    assert accepts("findings", document)
    return document


TAP = {"kind": "tap", "id": "t1", "zone": "Z_SILL", "on": {"wire": "W32"}}
BENCH: dict[str, list[Json]] = {
    "poor joint": [TAP | {"joint": {"type": "twisted", "cover": "none", "condition": ["loose", "green"]}}],
    "joint that nobody saw": [TAP | {"joint": {"type": "unknown"}}],
    "no protection": [
        {
            "kind": "tap", "id": "t1", "on": {"wire": "W1"}, "joint": {"type": "solder", "cover": "tape"},
            "lead": {"size_mm2": 0.75}, "to": {"loose": {"treatment": "bare"}},
        }
    ],
    "fuse far too large": [{"kind": "substitution", "id": "s1", "element": "F3", "fitted": {"rating_A": 40}}],
    "good repair": [
        {
            "kind": "repair", "id": "r1", "wire": "W12", "at": {"from_end": 1, "distance_m": 0.3},
            "joints": [{"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve", "condition": ["clean"]}],
        }
    ],
    "wet place": [{"kind": "surroundings", "id": "w1", "zone": "Z_TAIL", "wet": True}],
    "something else": [{"kind": "other", "id": "o1", "zone": "Z_TAIL", "note": "smells of fish"}],
}  # fmt: skip


@cache
def bench_document(name: str) -> Json:
    return document_of(case_from(bench(), *BENCH[name]))


@pytest.mark.parametrize("name", BENCH)
def test_every_level_of_the_bench_comes_again_from_what_is_printed(name: str) -> None:
    check_every_level(bench_document(name))


def test_every_level_with_what_was_computed_comes_again_from_what_is_printed() -> None:
    case = case_from(bench(), *BENCH["poor joint"], *BENCH["fuse far too large"], electrical=True)

    assert any(one.consequences for one in case.findings.findings)
    assert check_every_level(document_of(case))


def test_the_policy_is_named_with_its_hash() -> None:
    text = " ".join(explained(bench_document("poor joint"), ["1"]).split())
    policy = shipped_policy("default")

    assert f"Rated by: {policy.title} (default; hash {policy.sha256[:12]})." in text


@pytest.mark.parametrize("kind", CATALOGUE[::5])
def test_every_level_of_the_catalogue_comes_again_from_what_is_printed(kind: str) -> None:
    check_every_level(document_of(catalogue_case(kind)))


@given(st.data())
def test_every_level_comes_again_from_what_is_printed(data: st.DataObject) -> None:
    survey = survey_from(bench(), *data.draw(plantings(bench())))
    policy = data.draw(st.sampled_from([shipped_policy("default"), shipped_policy("harbour_mutual"), crooked()]))

    check_every_level(document_of(assess(bench(), survey, electrical=False, policy=policy)))


@cache
def crooked() -> Policy:
    """A policy with weights that no binary fraction is, lines that forbid one make at two levels, and more held."""
    poor = [one for one in default_data()["joints"] if one["fine_in"] == "no_place"]
    joints = [one | {"weight": one["weight"] + 0.1234567} for one in poor]
    bans = [
        line(joint="twisted_bare", level="Medium"),
        line(joint="twisted_bare", level="High", functions=["brake_lamp", "side_lamp"]),
    ]
    caps = [line(id="loose_ends", mechanisms=["short"], opened_by=["loose_end_live"], level="Low")]
    floors = [line(id="wet", mechanisms=["contact_heat", "function_lost"], level="Serious", all_of=["wet_place"])]
    return policy_from(overlay(joints=joints, forbidden=bans, caps=caps, floors=floors))


def test_caps_and_floors_are_told_with_why() -> None:
    case = assess(bench(), survey_from(bench(), *BENCH["poor joint"]), electrical=False, policy=crooked())
    text = " ".join(explained(document_of(case), ["1"]).split())

    assert "raised to High at least by the floor forbidden_twisted_bare_in_brake_lamp_side_lamp: a test" in text


# -- what else is told


def test_an_acceptable_finding_says_why_it_is() -> None:
    document = bench_document("good repair")
    (finding,) = document["findings"]
    text = explained(document, ["1"])

    assert finding["worst"] == ACCEPTABLE
    assert "Acceptable: nothing that is established of it opens a way to do harm" in text
    for joint in finding["joints"]:
        assert f"- joint {joint['flag']} (" in text
    assert "butt crimp, adhesive sleeve" in text
    assert "no fault of it is" in text


def test_what_is_recorded_and_what_nobody_can_rate_say_so() -> None:
    assert "Recorded: a state of the place" in explained(bench_document("wet place"), ["1"])
    assert "Not rated: nobody can say" in explained(bench_document("something else"), ["1"])


def test_an_open_question_names_the_look_and_what_each_answer_leaves() -> None:
    document = bench_document("joint that nobody saw")
    (finding,) = document["findings"]
    (question,) = (one for one in finding["opens"] if one["question"] == "make")
    text = " ".join(explained(document, ["1"]).split())

    assert finding["best"] != finding["worst"]
    worst = "That is its worst: what follows takes every open question below at its gravest."
    assert f"{worst} At its best it is {finding['best']}." in text
    assert "how the joint is made (t1.joint) to settle it: unwrap t1.joint and look" in text
    assert text.count(" if ") >= len(question["answers"])


@pytest.mark.parametrize("name", BENCH)
def test_a_grade_is_no_cause_and_an_index_no_frequency(name: str) -> None:
    for words in ([], ["1"]):
        text = " ".join(explained(bench_document(name), words).split())
        assert GRADE_IS_NOT_A_CAUSE in text
        assert NO_FREQUENCY in text


def test_severity_says_what_it_means_and_by_which_function() -> None:
    text = " ".join(explained(bench_document("poor joint"), ["1"]).split())
    document = bench_document("poor joint")
    meaning = next(one["words"] for one in document["policy"]["meanings"] if one["severity"] == "II")

    assert f"severity II Critical, as “brake lamps” would be lost; it means: {meaning}" in text


def test_rules_and_the_directive_are_told_where_a_document_has_them() -> None:
    document = copy.deepcopy(bench_document("poor joint"))
    finding = document["findings"][0]
    finding["rules"] = [
        {"rule": "13ccr1249c-joint", "realm": "road", "because": ["joint_twisted"], "sure": True},
        {"rule": "unheard of", "realm": "road", "because": [], "sure": True},
    ]
    finding["directive"] = [
        {"item": "4.11", "part": "b", "category": "minor", "because": [], "reasons": [], "provisional": True},
        {"item": "9.99", "part": "z", "category": "minor", "because": [], "reasons": [], "provisional": True},
    ]
    finding["firm"] = {"shares": {"High": 0.61, "Serious": 0.39}, "firm": False}
    text = " ".join(explained(document, ["1"]).split())

    assert "13 CCR 1249(c), California" in text
    assert "- unheard of" in text
    assert "Directive 2014/45/EU Annex I 4.11(b) wiring, state: minor" in text
    assert "Annex I 9.99(z)" in text
    varied = 100 * shipped_policy("default").firmness.vary_share
    shares = "High in 61 %, Serious in 39 %"
    assert f"Firm: a close call; of the trials with every weight varied by up to {varied:g} %: {shares}" in text


# -- which finding


def test_a_finding_is_found_by_number_and_by_id() -> None:
    document = bench_document("no protection")
    for finding in document["findings"]:
        assert chosen_finding(document, str(finding["number"])) is finding
        assert chosen_finding(document, finding["id"]) is finding


@pytest.mark.parametrize(
    ("word", "hint"),
    [("99", "there is no finding 99; the nearest is {last}, and they run from 1 to {last}"),
     ("{id}x", "there is no finding {id}x; did you mean {id}?"),
     ("½", "there is no finding ½; name one by its number, such as 1")],
)  # fmt: skip
def test_the_nearest_finding_is_named(word: str, hint: str) -> None:
    document = bench_document("no protection")
    names = {"id": document["findings"][0]["id"], "last": len(document["findings"])}
    with pytest.raises(InputError) as caught:
        explained(document, [word.format(**names)])

    assert [one.message for one in caught.value.problems] == [hint.format(**names)]


def test_without_a_finding_all_are_told_briefly() -> None:
    document = bench_document("no protection")
    text = explained(document)

    for finding in document["findings"]:
        assert re.search(rf"^ *{finding['number']}  \S", text, re.MULTILINE)
    assert len(text.splitlines()) < 4 * len(document["findings"]) + 10


def test_a_document_without_findings_says_so() -> None:
    document = bench_document("wet place") | {"findings": []}

    assert "No finding." in explained(document)
    with pytest.raises(InputError, match="for there is none at all"):
        explained(document, ["1"])


# -- documents may come from anywhere

anything = st.recursive(
    st.none() | st.booleans() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner, max_size=2),
    max_leaves=4,
)
params = st.dictionaries(
    st.sampled_from(["lead", "fuse", "sort", "was", "now", "joint", "make", "end", "subject", "how"]), anything
)


@given(st.data())
def test_whatever_a_valid_document_says_is_told_and_nothing_steers_the_terminal(data: st.DataObject) -> None:
    document = copy.deepcopy(bench_document(data.draw(st.sampled_from(sorted(BENCH)))))
    code = data.draw(
        st.sampled_from(["over_fused", "loose_end", "\x1b[2Jx", "unprotected", "moved", "unwrap", "follow"])
    )
    document.pop("policy") if data.draw(st.booleans()) else None
    for finding in document["findings"]:
        finding["facts"] = [{"code": code, "params": data.draw(params)}]
        finding["cautions"] = [code]
        finding["functions"] = ["\x07bell"]
        look = {"code": code, "params": data.draw(params)}
        answers = [{"answer": "\x1b]0;x\x07", "best": "Low", "worst": "High"}]
        finding["opens"] = [{"question": code, "about": "\u202ejoint", "look": look, "answers": answers}]
        for one in finding.get("mechanisms", ()):
            one["floors"] = ["nobody knows"]
            one["contributions"][0] |= {"params": data.draw(params), "why": "\x1b[31mred\n    + 9  a lie"}
    assert accepts("findings", document)
    for finding in document["findings"]:
        for row in explained(document, [finding["id"]]).splitlines():
            assert row.isprintable()
            assert COUNTS.fullmatch(row) is None or "a lie" not in row
