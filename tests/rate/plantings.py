"""Random facts of the codes and parameters that tables of rules ask for."""

from __future__ import annotations

from hypothesis import strategies as st

from harnessdiff.model.modification import Fact, Value
from harnessdiff.tables.rules import When, directive_rows, rule_rows


def terms_of(noun: str) -> tuple[tuple[str, dict[str, frozenset[str]]], ...]:
    """Every code that the tables ask for with a noun, and the values they ask of it."""
    whens: list[When] = [row.when for row in directive_rows()] + [row.when for row in rule_rows().values()]
    return tuple(
        (code, dict(term.says))
        for when in whens
        for terms in when
        for term in terms
        if term.noun == noun
        for code in sorted(term.codes) or [""]
    )


LEADS: st.SearchStrategy[dict[str, Value]] = st.fixed_dictionaries(
    {},
    optional={
        "lead": st.sampled_from(["+L1", "+L2"]),
        "end": st.sampled_from([1, "2"]),
        "what": st.sampled_from(["exhaust", "bulkhead"]),
        "zone": st.sampled_from(["Z1", "Z2"]),
        "perhaps": st.just("yes"),
        "sort": st.sampled_from(["fuse", "output", "chafed"]),
        "size_mm2": st.sampled_from([0.5, 1.0, 2.5]),
        "rating_A": st.sampled_from([5.0, 30.0, 80.0]),
    },
)
_ASKED = st.sampled_from([*terms_of("fact"), ("over_fused", {}), ("over_fused_perhaps", {}), ("adds_load", {})])


@st.composite
def _planted(draw: st.DrawFn) -> Fact:
    code, asked = draw(_ASKED)
    says: dict[str, Value] = {name: draw(st.sampled_from(sorted(values))) for name, values in asked.items()}
    return Fact.of(code, **{**draw(LEADS), **says})


facts_planted = _planted()
