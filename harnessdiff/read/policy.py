"""Reads a policy: the shipped one, or another that holds the lines in which it differs."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from harnessdiff.errors import Problem
from harnessdiff.model.policy import Firmness, Policy
from harnessdiff.model.policy_lines import FIRMNESS, LISTS, Line, differences, weighing
from harnessdiff.read.document import checked, passed_over
from harnessdiff.read.json_text import Document, load_document
from harnessdiff.read.policy_lines import laid_over, lines_of, shipped_lines, without_extras
from harnessdiff.read.policy_sense import faults_of, notes_of
from harnessdiff.read.structure import make
from harnessdiff.resources import shipped_policies

DEFAULT = "default"


@cache
def default_policy() -> Policy:
    """The shipped policy."""
    return shipped_policy(DEFAULT)


@cache
def shipped_policy(name: str) -> Policy:
    """A shipped policy by its name."""
    return read_policy(shipped_policies()[name])


def read_policy(path: Path) -> Policy:
    """Read a policy from a JSON file.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Policy

    Raises
    ------
    InputError
        With every problem found, in file order.
    """
    return policy_of(load_document(path))


def policy_of(document: Document) -> Policy:
    """Make a policy of a parsed document; raises as `read_policy` does."""
    own = checked(document, "policy", faults_of)
    base = shipped_policy(own["based_on"]) if "based_on" in own else None
    lines = lines_of(own)
    if base is not None:
        lines = laid_over(lines, shipped_lines(own["based_on"]), own.get("without", ()))
    lists: dict[str, Any] = {name: getattr(lines, name) for name in LISTS}
    own_firmness = make(Firmness, without_extras(own[FIRMNESS])) if FIRMNESS in own else None
    firmness = own_firmness or (base.firmness if base else None)
    assert firmness is not None  # a policy that is based on none is refused without it
    policy = Policy(
        id=own["id"],
        title=own["title"],
        sha256="",
        firmness=firmness,
        based_on=own.get("based_on"),
        **lists,
    )
    changed = tuple(one.name for one in differences(policy, base)) if base else ()
    return replace(policy, sha256=_hash(policy), changed=changed)


def policy_notes(document: Document) -> tuple[Problem, ...]:
    """What is sound in a policy and yet may not be meant, in file order; raises as `read_policy` does."""
    policy_of(document)
    return (*passed_over(document), *document.problems(notes_of(document.data)))


def _hash(policy: Policy) -> str:
    """SHA-256 of what counts in a policy, whatever the order of lines; titles and reasons do not count."""
    said = {name: sorted(_text(one) for one in getattr(policy, name)) for name in LISTS}
    return hashlib.sha256(json.dumps([said, _text(policy.firmness)], sort_keys=True).encode()).hexdigest()


def _text(line: Line) -> str:
    return json.dumps(weighing(line), sort_keys=True, ensure_ascii=False)
