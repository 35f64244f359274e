"""Policies for tests: the shipped default as data, and least policies that differ from it in a line."""

from __future__ import annotations

import copy
import json
from functools import cache
from typing import TYPE_CHECKING

from harnessdiff.read.policy import DEFAULT, policy_of
from harnessdiff.resources import shipped_policies
from tests.support import Json, document

if TYPE_CHECKING:
    from harnessdiff.model.policy import Policy

REASON: Json = {"why": "a test", "source": "this project", "status": "common practice"}


@cache
def _default_text() -> str:
    return shipped_policies()[DEFAULT].read_text(encoding="utf-8")


def default_data(**members: object) -> Json:
    """The shipped policy as data, with members of one's own in the place of its."""
    data: Json = json.loads(_default_text())
    return data | members


def overlay(**members: object) -> Json:
    """The least policy that is based on the shipped one, with these members."""
    head: Json = {"format": "harnessdiff policy", "version": "1.0", "id": "own", "title": "Own", "based_on": DEFAULT}
    return head | members


def line(**members: object) -> Json:
    """A line of a policy, with a reason."""
    return REASON | members


def policy_from(data: Json) -> Policy:
    """A policy, read and checked as a file would be."""
    return policy_of(document(data, "policy"))


def line_of(name: str, **members: object) -> Json:
    """A line of the shipped policy that has these members, to be changed."""
    (found,) = (one for one in default_data()[name] if all(one.get(key) == value for key, value in members.items()))
    return copy.deepcopy(found)
