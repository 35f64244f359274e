"""Steps, removals and refusals in words: every code has them, and nothing is promised that a meter has to say."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from harnessdiff import isolation_words as spoken
from harnessdiff.analyse.checks import OFF_LIMITS
from harnessdiff.analyse.removal import ORDER
from harnessdiff.describer import Describer
from harnessdiff.isolation_words import isolation_lines, removal_lines
from harnessdiff.model.isolation import Isolation, Live, Proof, Refused, Removal, Step, Still
from harnessdiff.model.modification import Fact
from harnessdiff.report.listing import listing
from harnessdiff.tables.isolation import isolation_steps
from tests.drawing import solved_demo_case
from tests.spoken import first_of, keyword_of, nodes, returned, texts
from tests.support import bench_data, reference_from

BENCH = reference_from(bench_data())
DESCRIBER = Describer(BENCH, BENCH.harness)
PULL = Step(code="pull_fuse", element="F1_FUSE", at="F1", because="BAT", path=("BAT", "F1_FUSE"))


def isolation(**more: object) -> Isolation:
    plain: dict[str, object] = {
        "target": "+l", "answer": "steps", "steps": (PULL,), "live_before": (), "dead": True, "proved": True,
    }  # fmt: skip
    return Isolation(**(plain | more))  # type: ignore[arg-type]


def lines(**more: object) -> list[str]:
    return list(isolation_lines(isolation(**more), DESCRIBER))


def off(*removals: Removal) -> list[str]:
    return list(removal_lines(removals, DESCRIBER))


# -- every code


def test_every_step_of_the_table_has_words_and_no_others() -> None:
    assert set(spoken.STEPS) == set(isolation_steps())


def test_every_step_that_is_made_has_words() -> None:
    """Steps are made by ``_way``, by a code that is spelled out there or found before."""
    made = first_of("analyse/steps", "_way") | returned("analyse/steps", "_end_code")
    everywhere = {text for node in nodes("analyse/steps") for text in texts(node)} & set(isolation_steps())

    assert made - set(spoken.STEPS) == set()
    assert everywhere == set(spoken.STEPS), "a step of the table that nothing makes"


def test_every_sort_of_removal_has_words_and_no_others() -> None:
    made = keyword_of("analyse/removal", "code", "Removal") | returned("analyse/removal", "_code")

    assert set(spoken.REMOVALS) == set(ORDER)
    assert made == set(ORDER)


def test_every_reason_to_refuse_has_words_and_no_others() -> None:
    """As the finder of refusals says what it gives back, and as it spells out."""
    spelled = {text for node in nodes("analyse/steps") for text in texts(node)} & set(spoken.REASONS)

    assert spelled | OFF_LIMITS == set(spoken.REASONS)
    assert returned("analyse/steps", "refusal") <= set(spoken.REASONS)
    documented = re.findall(
        r"``(\w+)``",
        next(text for node in nodes("analyse/steps") for text in texts(node) if "``live_unfused``" in text),
    )
    assert set(documented) == set(spoken.REASONS)


def test_everything_that_is_assumed_has_words() -> None:
    assert first_of("analyse/isolation", "of") == set(spoken.ASSUMED)


def test_every_proof_is_told_or_goes_without_saying() -> None:
    """That something stays live is nothing to prove: it comes off later."""
    made = keyword_of("analyse", "code", "Proof")
    told = {code for code in made if "prove" in off(removal(prove=(Proof(code=code, subject="E1"),)))[0]}

    assert made - told == {"still_live"}


@pytest.mark.parametrize("table", [spoken.STEPS, spoken.REMOVALS, spoken.REASONS, spoken.ASSUMED])
def test_no_words_are_a_code(table: dict[str, str]) -> None:
    assert [text for text in table.values() if "_" in text or not text.strip()] == []
    assert len(set(table.values())) >= len(table) - 2, "words are told apart, but for one and the same work"


# -- how a thing is made dead


def test_steps_are_numbered_and_dead_is_left_to_a_meter() -> None:
    assert lines() == ["1. pull fuse F1", "then it should be dead: prove it"]


def test_what_nobody_saw_is_named() -> None:
    facts = (Fact.of("not_traced", lead="+l", end=2), Fact.of("own_energy_unknown", device="+d"))

    assert lines(proved=False, assumed=facts)[-1] == (
        "then it should be dead if nothing comes from an end that nobody followed, a box that may have cells of its own"
        ": prove it"
    )


@pytest.mark.parametrize(("nodes_", "said"), [((), ""), (("+l#1",), "; one point still live"),
                                              (("+l#1", "+l#2"), "; 2 points still live")])  # fmt: skip
def test_step_says_how_much_is_still_live(nodes_: tuple[str, ...], said: str) -> None:
    """A point counts once, in however many conditions it is live."""
    still = tuple(Still(node=node, condition=name, volts=12.0) for node in nodes_ for name in ("asleep", "ignition"))
    step = Step(code="engine_off", element=None, at=None, because="BAT", path=(), live_after=still)

    assert lines(steps=(step,))[0] == f"1. stop the engine, key out{said}"


def test_codes_that_would_be_lost_are_called_to_mind() -> None:
    step = Step(code="battery_off", element="BAT", at="BAT:-", because="BAT", path=(), warnings=("codes_not_saved",))

    assert spoken.CODES_NOT_SAVED in lines(steps=(step,))[0]


def test_what_is_left_to_a_qualified_person_says_why_and_what_stays_live() -> None:
    live = [Live(node=f"+l#{end}", element="+l", fed_by="BAT", path=(), conditions=("asleep",)) for end in (1, 2)]
    refused = [Refused(code="unplug", element="+d", at=None, reason="restraint")] * 2

    assert lines(answer="by_a_qualified_person", steps=(), dead=False, proved=False, stays_live=tuple(live),
                 refused=tuple(refused)) == [
        "only by a qualified person: restraint wiring", "stays live from battery (BAT): l",
    ]  # fmt: skip


@pytest.mark.parametrize(("proved", "said"), [(True, ""), (False, ", as far as it was followed")])
def test_what_is_dead_anyway_needs_no_step(proved: bool, said: str) -> None:
    assert lines(answer="dead_already", steps=(), proved=proved) == [f"dead in every condition{said}"]


# -- how it is taken off


def removal(code: str = "power_off", **more: object) -> Removal:
    plain: dict[str, object] = {"code": code, "modification": 3, "elements": ("+l",), "at": ("+j", "W11")}
    return Removal(**(plain | more))  # type: ignore[arg-type]


def test_ends_and_in_line_parts_of_one_lead_are_proved_as_one() -> None:
    prove = tuple(Proof(code="dead", subject=node) for node in ("+l#1", "+l~0#2", "+l#2", "+d:30"))

    assert off(removal(prove=prove)) == ["1. take off l at j, W11 (finding 3); prove: l, d:30 dead"]


def test_what_works_and_what_stays_dead_is_proved_after_a_wire_was_joined() -> None:
    prove = (Proof(code="works", subject="E1"), Proof(code="works", subject="E2"),
             Proof(code="refuses", subject="H1", condition="key_out"))  # fmt: skip

    assert off(removal("rejoin", ends=("S1:58", "E1:58"), prove=prove)) == [
        "1. take out l and join S1:58 and E1:58 again (finding 3); "
        "prove: lamp (E1), lamp (E2) work, horn (H1) stays dead in key out"
    ]
    assert off(removal("rejoin", prove=prove[:1]))[0].endswith("; prove: lamp (E1) works")


def test_fuse_that_is_put_back_is_named_by_its_slot() -> None:
    assert off(removal("put_back", at=("F1_FUSE",))) == ["1. put back as by the reference: fuse F1 (finding 3)"]
    assert off(removal("put_back", at=())) == ["1. put back as by the reference: l (finding 3)"]


def test_what_a_person_may_not_make_dead_they_are_not_told_to_take_off() -> None:
    case = solved_demo_case()
    install = next(one for one in case.findings.installs if one.isolation is not None and one.removal)
    assert install.isolation is not None
    left = replace(install, isolation=replace(install.isolation, answer="by_a_qualified_person", refused=()))
    describer = Describer(case.reference, case.as_found)

    def said(one: object) -> str:
        return listing(replace(case.findings, installs=(one,)), describer)  # type: ignore[arg-type]

    assert " off: 1. " in said(install)
    assert " off: 1. " not in said(left)
    assert "only by a qualified person" in said(left)
