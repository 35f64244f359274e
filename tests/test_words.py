"""Every code that may come out has words, and the words hold what they speak of."""

from __future__ import annotations

import ast
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

import harnessdiff
from harnessdiff import rating_words, words
from harnessdiff.describer import MOST_CANDIDATES, Describer
from harnessdiff.model.harness import JointDetails
from harnessdiff.model.modification import KINDS, Fact
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.rating import (
    ACCEPTABLE,
    ACTIONS,
    LEVELS,
    MECHANISMS,
    PROBABILITIES,
    SEVERITIES,
    Contribution,
    Rating,
)
from harnessdiff.read.policy import default_policy
from harnessdiff.tables.loader import JointRow, functions, joint_order, rows
from harnessdiff.words import fact_words, fuse_words
from tests.drawing import CATALOGUE, catalogue_case, demo_case
from tests.support import Json, body, case_from, found, rig, run, slot, source

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

PACKAGE = Path(harnessdiff.__file__).parent
SCHEMAS = PACKAGE.parent / "schemas/v1"
# Facts that go without saying: the headline, the drawing or another fact says it.
SILENT = {
    "adds_load": "that a tap feeds something is what a tap is",
    "inline": "the in-line part is drawn in its lead",
    "cut_end": "both ends of a cut are drawn with how they were treated",
    "own_energy_unknown": "the words of an isolation say it",
    "not_solved": "the words of an isolation say it",
    "near_termination_by_aircraft_practice": "the rule it runs into is cited",
    "several_joints_by_aircraft_practice": "the rule it runs into is cited",
    # Reasons of a rating, which have words of their own in rating_words.csv:
    "restraint": "reason",
    "high_voltage": "reason",
    "data_pair": "reason",
}
SPOKEN_ELSEWHERE = {"by_qualified_person"}


def schema(name: str) -> Json:
    loaded: Json = json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8"))
    return loaded


def enum(*path: str) -> set[str]:
    """A closed list of codes in the survey's schema, by the members that lead to it."""
    at: Any = schema("survey")
    for name in path:
        at = at[name]
    return set(at["enum"])


def codes_made(*modules: str) -> set[str]:
    """Codes that the modules make facts of, read from their source: ``Fact.of("code", ...)``."""
    made = set()
    for module in modules:
        for path in sorted((PACKAGE / module).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if (
                    isinstance(node, ast.Call)
                    and isinstance(node.func, ast.Attribute)
                    and isinstance(node.func.value, ast.Name)
                    and (node.func.value.id, node.func.attr) == ("Fact", "of")
                    and isinstance(node.args[0], ast.Constant)
                ):
                    made.add(str(node.args[0].value))
    return made


def checks_made() -> set[str]:
    """Codes of proposed looks and measurements."""
    makers = ("analyse/checks.py", "rate/questions.py", "levels.py")
    text = "\n".join((PACKAGE / name).read_text(encoding="utf-8") for name in makers)
    made = re.findall(r'Fact\.of\(\s*"(\w+)"(?:.* else "(\w+)"\))?', text)
    return {code for codes in made for code in codes if code}


def facts_made() -> set[str]:
    """Codes of facts: those that the source spells out, and those that a fact is given from a table there."""
    changes = (PACKAGE / "compare/changes.py").read_text(encoding="utf-8")
    passages = set(re.findall(r'"\w+": "(near_\w+|on_\w+)"', changes)) | {"no_grommet", "no_grommet_perhaps"}
    protected = {"restraint", "high_voltage", "data_pair"}
    spelled = codes_made("compare", "analyse") | codes_made("pipeline.py".removesuffix(".py")) | {"owner_other"}
    return (spelled - checks_made()) | passages | protected


# -- closed lists


def test_every_kind_of_modification_has_words() -> None:
    assert set(words.KINDS) == set(KINDS)


def test_every_kind_that_the_findings_schema_knows_has_words() -> None:
    texts = re.findall(r'"enum": \[([^\]]*"tap"[^\]]*)\]', json.dumps(schema("findings")))

    assert texts
    assert [set(json.loads(f"[{text}]")) ^ set(words.KINDS) for text in texts] == [set()] * len(texts)


@pytest.mark.parametrize(
    ("have", "codes"),
    [
        (words.TYPES, enum("$defs", "joint_details", "properties", "type")),
        (words.COVERS, enum("$defs", "joint_details", "properties", "cover")),
        (words.SYMPTOMS, enum("properties", "complaint", "items", "properties", "symptom")),
        (words.PRACTICES, enum("$defs", "good_practice", "properties", "practice")),
        (words.PASSAGES, enum("$defs", "route", "properties", "kind")),
        (rating_words.SEVERITIES, set(SEVERITIES)),
        (rating_words.PROBABILITIES, set(PROBABILITIES)),
        (rating_words.MECHANISMS, set(MECHANISMS)),
        (rating_words.ACTIONS, set(ACTIONS)),
        (words.INSTALLS, {row["install"] for row in rows("install_signatures")}),
    ],
    ids=["types", "covers", "symptoms", "practices", "passages", "severities", "probabilities", "mechanisms",
         "actions", "installs"],
)  # fmt: skip
def test_every_code_of_a_closed_list_has_words(have: dict[str, str], codes: set[str]) -> None:
    assert codes
    assert set(have) == codes


def test_every_state_of_a_joint_has_words_but_clean() -> None:
    assert set(words.STATES) == enum("$defs", "joint_details", "properties", "condition", "items") - {"clean"}


def test_words_say_something_and_are_told_apart() -> None:
    for table in (words.KINDS, words.TYPES, words.STATES, words.SYMPTOMS, rating_words.MECHANISMS, words.INSTALLS):
        assert all(text.strip() for text in table.values())
        assert len(set(table.values())) == len(table)


def test_no_words_are_a_code() -> None:
    tables = [
        words.KINDS, words.TYPES, words.COVERS, words.STATES, words.SYMPTOMS, words.PRACTICES, words.PASSAGES,
        words.FACTS, words.CHECKS, words.REASONS, words.STATUSES, rating_words.MECHANISMS,
    ]  # fmt: skip
    texts = [re.sub(r"{\w+}", "", text) for table in tables for text in table.values()]

    assert [text for text in texts if "_" in text] == []


# -- facts and checks


@pytest.mark.parametrize("code", sorted(facts_made()))
def test_every_fact_has_words_or_goes_without_saying(code: str) -> None:
    assert (code in words.FACTS) != (code in SILENT)


def test_words_are_for_facts_that_are_made() -> None:
    """Words for what never comes out would be a sign of a code that was renamed on one side."""
    assert set(words.FACTS) - facts_made() == set()


def test_every_check_has_words_and_no_others() -> None:
    assert set(words.CHECKS) == checks_made()


def test_silent_facts_that_are_reasons_have_their_words_there() -> None:
    assert {code for code, why in SILENT.items() if why == "reason"} <= {row["code"] for row in rows("rating_words")}


@pytest.mark.parametrize(
    ("code", "when"), sorted({(line.code, line.when) for line in default_policy().factors}), ids=str
)
def test_every_factor_of_the_policy_has_words_of_its_own(code: str, when: tuple[tuple[str, str], ...]) -> None:
    """With the parameters it asks for: nothing is told in the words of another."""
    told = {row["when"]: row["words"] for row in rows("rating_words") if row["code"] == code}
    fitting = [told[f"{name}={value}"] for name, value in when if f"{name}={value}" in told]
    said = rating_words.contribution_words(Contribution(code=code, counts=1.0, how="adds", params=when))

    assert said == (fitting[0] if fitting else told.get(""))
    assert "_" not in said


def test_what_opens_is_told_by_what_it_is_and_what_adds_by_what_makes_it_worse() -> None:
    bare = (("treatment", "bare"),)
    opens, adds = (Contribution(code="cut_end_live", counts=1.0, how=how, params=bare) for how in ("opens", "adds"))

    assert rating_words.contribution_words(opens) == "cut end is live"
    assert rating_words.contribution_words(adds) == "cut end is bare"


@pytest.mark.parametrize("row", joint_order(), ids=lambda row: row.joint)
def test_make_of_joint_that_contributes_is_told_in_its_words(row: JointRow) -> None:
    one = Contribution(code="joint", counts=1.0, how="opens", params=(("joint", "+J1"), ("make", row.joint)))

    assert rating_words.contribution_words(one) == row.words


def facts_of_all_cases() -> dict[str, Fact]:
    """One fact of every code that the demo and the catalogue bring out, the one with the most members."""
    cases = [demo_case(), *(catalogue_case(kind, which) for kind in CATALOGUE for which in ("survey", "twin"))]
    facts = [fact for case in cases for one in case.findings.findings for fact in one.modification.facts]
    return {fact.code: fact for fact in sorted(facts, key=lambda fact: len(fact.params))}


FOUND = facts_of_all_cases()


@pytest.mark.parametrize("code", sorted(FOUND))
def test_words_of_a_fact_hold_what_it_speaks_of(code: str) -> None:
    said = words.fact_words(FOUND[code])

    assert (said is None) == (code not in words.FACTS)
    assert said is None or (said.strip() == said and said and "{" not in said and "?" not in said)


def test_codes_in_facts_are_told_as_words() -> None:
    fact = Fact.of("no_grommet", lead="+L10", what="panel_hole", kind="passes_through")

    assert words.fact_words(fact) == "L10 passes a panel hole without grommet"


def test_long_lists_are_cut_short_and_counted() -> None:
    fact = Fact.of("shares_fuse", fuse="F29", loads=("E1", "E2", "E3", "E4", "E5", "E6"))

    assert words.fact_words(fact) == "F29 also feeds E1, E2, E3, E4 and 2 more"


# -- cautions


def test_every_caution_is_a_sentence() -> None:
    texts = [words.caution_words(row["code"]) for row in rows("cautions")]

    assert texts
    assert [text for text in texts if not re.fullmatch(r"[A-Z].+\.", text)] == []


def test_every_caution_that_may_be_asked_for_is_there() -> None:
    """The codes that `cautions_of` chooses from, and the one that stands on every sheet."""
    text = (PACKAGE / "analyse/checks.py").read_text(encoding="utf-8")
    chosen = set(re.findall(r'^\s+"(\w+)": ', text[text.index("wanted = {") :], re.MULTILINE))

    assert chosen | {"maker_first"} == {row["code"] for row in rows("cautions")}


# -- levels


@pytest.mark.parametrize(
    ("rating", "said"),
    [
        (Rating(best="High", worst="High"), "High"),
        (Rating(best="Low", worst="High"), "Low to High"),
        (Rating(best=ACCEPTABLE, worst="Medium"), "acceptable to Medium"),
        (Rating(best=ACCEPTABLE, worst=ACCEPTABLE), "recorded, acceptable"),
        (Rating(best=ACCEPTABLE, worst="High", rated=False), "not rated"),
        (Rating(best=ACCEPTABLE, worst=ACCEPTABLE, condition=True), "recorded"),
    ],
)
def test_a_level_is_told_with_its_range(rating: Rating, said: str) -> None:
    assert words.level_words(rating) == said


def test_every_outcome_has_words() -> None:
    outcomes = (ACCEPTABLE, *LEVELS)
    ratings = [
        Rating(best=best, worst=worst)
        for place, best in enumerate(outcomes)
        for worst in outcomes[place:]
    ]  # fmt: skip

    assert len({words.level_words(rating) for rating in ratings}) == len(ratings)


# -- joints, ids, sizes


@pytest.mark.parametrize(
    ("details", "said"),
    [
        (JointDetails(type="twisted", tool="hand", cover="tape", condition=("green", "loose")),
         "twisted, taped, corroded green, loose"),
        (JointDetails(type="butt_crimp", tool="pliers", cover="sleeve"), "butt crimp, sleeve, made with pliers"),
        (JointDetails(type="insulation_displacement", cover="none", condition=("clean",)),
         "insulation displacement, bare"),
        (JointDetails(type="plug_in", cover="housing"), "plug-in adaptor"),
        (JointDetails(), "joint not seen"),
    ],
)  # fmt: skip
def test_a_joint_is_told_by_make_cover_and_state(details: JointDetails, said: str) -> None:
    assert words.joint_words(details) == said


@pytest.mark.parametrize("type_", sorted(words.TYPES))
@pytest.mark.parametrize("cover", sorted(words.COVERS))
def test_every_joint_can_be_told(type_: str, cover: str) -> None:
    said = words.joint_words(JointDetails(type=type_, cover=cover))

    assert said.startswith(words.TYPES[type_])
    assert not said.endswith(", ")


@pytest.mark.parametrize(
    ("element", "said"),
    [("+L10", "L10"), ("W12", "W12"), ("+lead-af063d", "unnamed lead af063d"), ("+tap-0a1b2c.joint",
     "unnamed tap 0a1b2c.joint"), ("+my-lead", "my-lead"), ("BAT1:+", "BAT1:+")],
)  # fmt: skip
def test_an_id_is_told_without_the_mark_of_added_things(element: str, said: str) -> None:
    assert words.bare(element) == said


@pytest.mark.parametrize(
    ("size", "said"),
    [
        ({"size_mm2": 0.75}, "0.75 mm²"),
        ({"size_mm2": {"min": 0.5, "max": 0.75, "known_by": "assumed"}}, "0.5–0.75 mm²"),
        ({"size_mm2": {"exact": 18, "unit": "AWG", "known_by": "seen", "as_entered": "18 AWG"}}, "18 AWG"),
        ({}, ""),
    ],
)
def test_a_size_is_told_as_it_is_known(size: Json, said: str) -> None:
    devices = [
        {"id": name, "kind": "lamp", "zone": "Z", "terminals": ["1"]} for name in ("E1", "E2")
    ]  # fmt: skip
    reference = rig(devices, run("E1:1", "E2:1"))
    lead = {"kind": "lead", "id": "l", "end_1": {"not_traced": True}, "end_2": {"not_traced": True}} | size
    case = case_from(reference, lead)
    (conductor,) = (one for one in case.as_found.conductors() if one.id == "+l")

    assert words.size_words(conductor) == said


@pytest.mark.parametrize("size", [Quantity(low=2.5), Quantity(high=2.5)])
def test_a_size_with_one_bound_is_told_as_a_bound(size: Quantity) -> None:
    wire = replace(catalogue_case(CATALOGUE[0]).as_found.conductors()[0], size_mm2=size)

    assert re.search(r"\d– |^–", words.size_words(wire)) is None


def test_functions_of_the_table_have_words() -> None:
    assert all(words.function_words([code]) for code in functions())


# -- headlines


@pytest.mark.parametrize("kind", CATALOGUE)
def test_headline_names_no_code_and_no_mark(kind: str) -> None:
    case = catalogue_case(kind)
    describer = Describer(case.reference, case.as_found)

    for finding in case.findings.findings:
        said = describer.headline(finding)

        assert said.strip() == said
        assert re.search(r"(?<![\w:])\+\w", said) is None
        assert finding.kind not in said or "_" not in finding.kind


def test_headline_says_what_on_what_and_of_which_circuit() -> None:
    case = demo_case()
    describer = Describer(case.reference, case.as_found)

    assert describer.headline(found(case, "insertion")) == "in series in W153 OG/GY 1.5 mm² · fuel pump or cut-off"
    assert describer.headline(found(case, "wrong_rated_protection")) == "wrong fuse: brake lamps (F26) · brake lamps"


@pytest.mark.parametrize(("fuse", "said"), [
    ({"rating_A": 35}, "35 A horns"),
    ({"rating_A": 35, "rating_convention": "continuous"}, "35 A horns"),
    ({"rating_A": 35, "rating_convention": "blowing"},
     "35 A horns, marked by the current at which it blows; carries about 17.5 A"),
    ({"rating_convention": "blowing"}, "horns"),
])  # fmt: skip
def test_rating_that_a_fuse_does_not_carry_says_so(fuse: Json, said: str) -> None:
    held, _ = slot("F", 10)
    reference = rig(
        [source(), body(), held | {"name": "horns"}, {"id": "F_FUSE", "kind": "fuse", "seat": "F"} | fuse], []
    )

    assert fuse_words(reference.harness, "F") == said


def test_wire_that_hangs_was_taken_off_and_is_at_no_other_place() -> None:
    assert fact_words(Fact.of("moved", was="S5:15", now=None)) == "taken off S5:15"
    assert fact_words(Fact.of("moved", was="GND1:1", now="trim_screw")) == "was at GND1:1, now at trim screw"


def test_headline_of_a_loose_lead_names_the_lead_and_not_the_wire_it_was_joined_to() -> None:
    """The maker's wire is not loose."""
    case = demo_case()
    (finding,) = (one for one in case.findings.findings if one.modification.root == "+J30")

    assert Describer(case.reference, case.as_found).headline(finding) == (
        "loose lead L30, joined to W578 RD/PK 2.5 mm² · power socket"
    )


def test_headline_of_an_open_question_names_every_candidate_with_function_and_colour() -> None:
    case = demo_case()
    (finding,) = (one for one in case.findings.findings if one.modification.root == "+T9.joint")

    assert Describer(case.reference, case.as_found).headline(finding) == (
        "tap on one of: indicators right W333 BK/GN, brake lamps W347 BK/RD"
    )


def test_headline_of_a_clue_that_fits_many_wires_counts_those_it_does_not_name(van: Reference) -> None:
    case = case_from(van, {"kind": "tap", "id": "t1", "on": {"wire": {"colour": {"base": "BN"}, "size_mm2": 0.5}}})
    (finding,) = case.findings.findings
    said = Describer(case.reference, case.as_found).headline(finding)

    assert len({one.label for one in finding.possibilities}) > MOST_CANDIDATES
    assert re.search(r" or \d+ more$", said)
    assert said.count("BN") == MOST_CANDIDATES


# -- reasons


def reasons_at(root: str) -> tuple[str, ...]:
    (finding,) = (one for one in demo_case().findings.findings if one.modification.root == root)
    return words.reason_words(finding)


def test_reasons_name_the_leads_they_are_about() -> None:
    """Of several things that open a mechanism the one that decides is told."""
    assert "no protection between source and lead (L11, L10)" in reasons_at("+J10")


def test_a_reason_that_holds_only_in_the_worst_case_says_so() -> None:
    assert "at worst: bare or poked-in end" in reasons_at("+L21.end2")
    assert "at worst: fuse is larger than the conductor allows (T9.lead)" in reasons_at("+T9.joint")


def test_both_limits_that_a_reason_rests_on_are_printed() -> None:
    (fact,) = (
        fact
        for finding in demo_case().findings.findings
        for fact in finding.modification.facts
        if fact.code == "over_fused" and fact.get("lead") == "+T9.lead"
    )

    assert words.fact_words(fact) == (
        "perhaps T9.lead: 0.75 mm² behind 15 A (output of K7), limit 10 A (7.5 A if it is as thin as it may be)"
        " by the prudent vehicle table"
    )


def test_the_level_is_said_to_come_from_the_lead_it_comes_from() -> None:
    findings = {one.modification.root: one for one in demo_case().findings.findings}

    assert words.grade_words(findings["+L18.end2"]) == "the level comes from lead L12"
    assert words.grade_words(findings["+J10"]) == "the level comes from leads L11, L12, L10"
    assert words.grade_words(findings["+L10"]) == "", "the lead is its own subject"


# -- readings


def test_a_reading_is_told_with_its_points_its_condition_and_its_note() -> None:
    readings = {one.id: one for one in demo_case().findings.readings}

    assert words.reading_words(readings["R4"]) == (
        "R4: 2.8 V between E9:31 and BAT1:- (brake only), pillar stud beside it reads 0.02 V"
    )
    assert words.reading_words(readings["R1"]).startswith("R1: 0.55–0.6 A at BAT1:- (asleep)")
