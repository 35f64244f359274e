"""What ratings are compared by, and the bench with its tail in some place."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from hypothesis import settings
from hypothesis import strategies as st

from harnessdiff.model.rating import Rating, level_rank
from tests.strategies import joints, leads, pruned
from tests.support import Json, bench_data, case_from, reference_from

if TYPE_CHECKING:
    from harnessdiff.model.reference import Reference

few = settings(max_examples=8)
FLAGS = ("wet", "leaking", "hot", "moving", "vibrating", "concealed")
CRIMP = {"type": "butt_crimp", "tool": "ratchet", "cover": "adhesive_sleeve", "condition": ["clean"]}
SOUND_LEAD = {"size_mm2": 0.75, "length_m": 0.5, "material": "copper", "construction": "automotive"}
BOX: Json = {"device": {"kind": "beeper"}, "pin": "+", "joint": CRIMP}


@cache
def bench_with(*flags: str) -> Reference:
    """The bench, its tail in such a place."""
    data = bench_data()
    (zone,) = (one for one in data["zones"] if one["id"] == "Z_TAIL")
    zone |= dict.fromkeys(flags, True)
    return reference_from(data)


def is_no_better(worse: Rating, better: Rating) -> bool:
    """Whether `worse` is at least as bad, at its best and at its worst."""
    return level_rank(worse.best) >= level_rank(better.best) and level_rank(worse.worst) >= level_rank(better.worst)


def is_within(narrow: Rating, wide: Rating) -> bool:
    """Whether a range lies within another, which promises nothing where not every way was gone through."""
    inside = level_rank(wide.best) <= level_rank(narrow.best) and level_rank(narrow.worst) <= level_rank(wide.worst)
    return inside or wide.at_least


def ratings(reference: Reference, *lines: Json) -> dict[str, Rating]:
    """Ratings by the kind of finding: a tap and its route are two."""
    return {one.kind: one.rating for one in case_from(reference, *lines).findings.findings}


def tap_of(data: st.DataObject) -> Json:
    """A tap of any make on one of the bench's wires."""
    return pruned(
        kind="tap",
        id="t",
        zone="Z_TAIL",
        on={"wire": data.draw(st.sampled_from(["W12", "W13", "W32", "W43", "W33"]))},
        joint=data.draw(joints),
        lead=data.draw(leads),
        to=data.draw(st.sampled_from([None, BOX, {"loose": {"treatment": "taped"}}])),
    )


ROUTE = [{"kind": "passes_through", "what": "bulkhead", "protected_by": "none"}]
