"""A policy as it is shown: every line with its words, reason and source; as data it is the same policy again."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest

from harnessdiff.model.policy_lines import LISTS, differences
from harnessdiff.read.policy import shipped_policy
from harnessdiff.read.schema import accepts
from harnessdiff.report.policy_text import changed_data, changed_text, policy_document, policy_text, says
from harnessdiff.resources import shipped_policies
from tests.policies import line, line_of, overlay, policy_from

if TYPE_CHECKING:
    from harnessdiff.model.policy import Policy
    from harnessdiff.model.policy_lines import Difference

OWN = overlay(
    joints=[line_of("joints", joint="bare_contact") | {"weight": 17.5, "why": "nobody \x1b[2J trusts it"}],
    floors=[line(id="own", mechanisms=["short"], level="High", all_of=["damage:sort=chafed|over_fused>=2", "joint"])],
    without=["poor_joint_behind_right_protection"],
    priors=[line(question="make", answer="twist_on", share=0.25)],
)


def own() -> Policy:
    return policy_from(OWN)


def changes(policy: Policy) -> tuple[Difference, ...]:
    return tuple(differences(policy, shipped_policy("default")))


def joined(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("name", shipped_policies())
def test_every_line_is_shown_with_words_reason_and_source(name: str) -> None:
    policy = shipped_policy(name)
    text = joined(policy_text(policy))

    for each in LISTS:
        for one in getattr(policy, each):
            assert joined(says(one)) in text
            assert joined(f"{one.why} ({one.source}") in text
    assert policy.sha256 in text
    assert "No frequency is claimed" in text


def test_lines_that_differ_are_marked_with_a_word_and_no_others_are() -> None:
    text = policy_text(own(), changes(own()))
    marked = [row for row in text.splitlines() if row.startswith("changed ")]

    assert [re.findall(r"\[(\w+)\]", joined(row)) for row in marked if "17.5" in row] == [["bare_contact"]]
    assert len(marked) == len(own().changed) == 4
    assert "\nchanged" not in policy_text(shipped_policy("default"))


def test_what_is_left_out_is_shown_as_such() -> None:
    text = policy_text(own(), changes(own()))

    assert "[poor_joint_behind_right_protection]" in joined(text.partition("Left out of the policy")[2])


def test_tokens_are_told_in_words() -> None:
    said = says(own().floors[-1])

    assert said == (
        "High at least in short of a live conductor, where insulation is chafed or fuse is larger than the conductor "
        "allows from 2 on and a joint [own]"
    )


def test_only_what_differs_with_what_was_what_is_and_why() -> None:
    text = changed_text(own(), changes(own()))
    was = line_of("joints", joint="bare_contact")["weight"]

    assert re.search(
        rf"joints: bare_contact\n   was: {was:g} .*\n   is:  17\.5 .*\n   why: nobody \[2J trusts it", text
    )
    assert "   was: no such line" in text
    assert "caps: poor_joint_behind_right_protection left out\n" in text
    assert "   is:  left out" in text
    assert all(row.isprintable() for row in text.splitlines())


def test_a_policy_that_is_based_on_none_says_so() -> None:
    assert changed_text(shipped_policy("default"), ()).endswith("It is based on no other policy.\n")
    assert changed_text(policy_from(overlay()), ()).endswith("Nothing differs.\n")


@pytest.mark.parametrize("policy", [shipped_policy("default"), shipped_policy("harbour_mutual"), own()])
def test_what_is_shown_as_data_is_a_policy_and_weighs_the_same(policy: Policy) -> None:
    data = policy_document(policy)
    again = policy_from(data)

    assert accepts("policy", data)
    assert again.sha256 == policy.sha256 == data["x_sha256"]
    assert [getattr(again, name) for name in LISTS] == [getattr(policy, name) for name in LISTS]
    assert again.firmness == policy.firmness


def test_changes_as_data_hold_each_line_as_it_was_and_is() -> None:
    data = changed_data(own(), changes(own()))
    (joint,) = (one for one in data["changed"] if one["line"] == "joints: bare_contact")

    assert [one["line"] for one in data["changed"]] == list(own().changed)
    assert joint["was"] == line_of("joints", joint="bare_contact")
    assert joint["is"]["weight"] == 17.5
