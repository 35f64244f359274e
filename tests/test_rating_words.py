"""Words for what contributes to a rating."""

from __future__ import annotations

import pytest

from harnessdiff.model.rating import Contribution
from harnessdiff.rating_words import contribution_words
from harnessdiff.read.policy import default_policy


@pytest.mark.parametrize(
    ("code", "how", "params", "words"),
    [
        ("cut_end_live", "opens", {"treatment": "bare"}, "cut end is live"),
        ("cut_end_live", "adds", {"treatment": "bare"}, "cut end is bare"),
        ("joint", "opens", {"make": "twist_on"}, "twist-on connector"),
        ("damage", "opens", {"sort": "melted"}, "insulation has melted"),
        ("never_heard_of", "adds", {}, "never heard of"),
    ],
)
def test_what_contributes_is_told_by_what_it_does_there(
    code: str, how: str, params: dict[str, str], words: str
) -> None:
    one = Contribution(code=code, counts=1.0, how=how, params=tuple(params.items()))

    assert contribution_words(one) == words


def test_what_opens_and_what_adds_are_not_told_alike() -> None:
    lines = [one for one in default_policy().factors if one.code == "cut_end_live"]
    told = {
        contribution_words(Contribution(code=one.code, counts=0, how="opens" if one.opens else "adds", params=one.when))
        for one in lines
    }

    assert len(told) == len(lines)
