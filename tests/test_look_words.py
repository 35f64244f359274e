"""Words for looks to take next: every bar and every answer has some, and none asks for what harms."""

from __future__ import annotations

import re
from pathlib import Path

import harnessdiff
from harnessdiff import look_words
from harnessdiff.look_words import ANSWERS, answer_words, narrowing_words, settles_words
from harnessdiff.model.looks import BARS, Look, Settles
from harnessdiff.model.modification import Fact
from harnessdiff.model.policy import Prior
from harnessdiff.model.rating import Answer
from harnessdiff.rate.questions import RANGED
from harnessdiff.words import CHECKS, CUT_END, check_words

SELF_SAID = {"make", "contents", "which"}
UNKNOWNS = {"size", "rating", "way"}


def test_every_bar_has_words() -> None:
    assert set(look_words.BARS) == set(BARS)


def test_every_question_that_is_asked_has_words_for_its_answers() -> None:
    source = (Path(harnessdiff.__file__).parent / "rate/questions.py").read_text(encoding="utf-8")
    asked = set(re.findall(r'Question\(code="(\w+)"', source)) | RANGED | UNKNOWNS

    assert asked - SELF_SAID == {question for question, _ in ANSWERS}


def test_answers_that_need_no_words_of_their_own_are_said() -> None:
    assert answer_words("which", "+W12") == "W12"
    assert answer_words("contents", "2") == "thought 2 of the record about it"
    assert answer_words("make", "twist_on") != "twist_on"


def test_no_look_asks_to_pierce_or_cut_or_load() -> None:
    for words in CHECKS.values():
        assert not re.search(r"\b(pierce|prick|cut into|strip|bridge|jump)\b", words)
    for code in ("drop_over_joint", "measure_in"):
        assert "back-probed" in CHECKS[code]


def test_cut_end_has_no_lead_to_be_named() -> None:
    assert check_words(Fact.of("look_at_the_end", lead=None, end=None)) == CUT_END
    assert check_words(Fact.of("look_at_the_end", lead="+l1", end=2)).startswith("look how end 2 of l1")


def test_at_most_four_answers_are_told_each_with_what_it_leaves() -> None:
    few = Settles(
        finding=8, best="Serious", worst="High", question="size", about="+l1",
        answers=(Answer(answer="no", best="Serious", worst="Serious"), Answer(answer="yes", best="High", worst="High")),
    )  # fmt: skip
    many = Settles(
        finding=8, best="Low", worst="High", question="contents", about="+d1",
        answers=tuple(Answer(answer=str(number), best="Low", worst="High") for number in range(5)),
    )  # fmt: skip

    settled = Settles(finding=8, best="High", worst="High")

    told = "finding 8: now Serious to High, then one level; thick enough: Serious; too thin: High"
    assert settles_words(few) == told
    assert settles_words(settled) == "finding 8: High, and no look moves it"
    assert settles_words(many) == "finding 8: now Low to High; 5 answers"


def test_priors_stand_with_what_is_expected() -> None:
    prior = Prior(question="size", answer="no", share=0.75, source="a count of the shop")
    look = Look(
        look=Fact.of("measure_size", lead="+l1"), zones=(), access_min=5, own_min=5, settles=(),
        narrowing_worst=1, narrowing_most=2, narrowing_expected=1.25, priors=(prior,),
    )  # fmt: skip

    assert narrowing_words(look) == (
        "narrows by at least 1 step, at most 2; expected 1.2 by the policy's shares: "
        "thick enough 0.75 (a count of the shop)"
    )
