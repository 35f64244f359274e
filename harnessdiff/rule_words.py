"""Rules in words: what a modification runs into, in one line each, and how far to trust it."""

from __future__ import annotations

from harnessdiff.model.rules import DirectiveItem, RuleMet
from harnessdiff.tables.rules import directive_rows, rule_rows

PROVISIONAL = "provisional: our text is from memory; the authorised tester decides"
PARTS = {
    ("4.10", "a"): "connection to a trailer, hold", ("4.10", "b"): "connection to a trailer, insulation",
    ("4.10", "c"): "connection to a trailer, function", ("4.11", "a"): "wiring, hold",
    ("4.11", "b"): "wiring, state", ("4.11", "c"): "wiring, insulation",
    ("4.12", "a"): "lamp that is not obligatory", ("4.12", "b"): "lamp that is not obligatory, operation",
    ("4.13", "c"): "battery, switch", ("4.13", "d"): "battery, fuses",
}  # fmt: skip
REALMS = {
    "road": "road vehicles", "farm": "agricultural vehicles", "mine": "mines", "building": "buildings",
    "boat": "boats", "ship": "ships", "aircraft": "aircraft", "spacecraft": "spacecraft",
}  # fmt: skip
STATUSES = {"secondary copy": "by a copy at second hand", "from memory": "from memory"}


def directive_words(item: DirectiveItem) -> str:
    """An item of Directive 2014/45/EU in one line: the item, its category, why, and that it is provisional.

    Parameters
    ----------
    item : DirectiveItem

    Returns
    -------
    str
    """
    why = "; ".join(row.words for row in directive_rows() if row.reason in item.reasons)
    of = f"{item.item}({item.part}) {PARTS[item.item, item.part]}"
    return f"Directive 2014/45/EU Annex I {of}: {item.category}, {why} ({PROVISIONAL})"


def rule_words(met: RuleMet) -> str:
    """A rule in one line: where it stands, whom it is made for, what it says.

    Parameters
    ----------
    met : RuleMet

    Returns
    -------
    str
        Says where a rule is met at worst only, surely where a number decides; what is not made for the road ends in
        ``by analogy``.
    """
    row = rule_rows()[met.rule]
    how = "" if met.sure and not row.computed else "surely" if met.sure else "at worst"
    parts = (
        f"{row.source} ({REALMS[met.realm]}): {row.statement}",
        f"runs into it {how}" if how else "",
        STATUSES.get(row.status, ""),
        "by analogy" if met.analogy else "",
    )
    return ", ".join(part for part in parts if part)


def rules_briefly(rules: tuple[RuleMet, ...]) -> str:
    """Where the rules stand that speak against something, in one line: those of the road first, analogies apart.

    Parameters
    ----------
    rules : tuple of RuleMet

    Returns
    -------
    str
        Empty where there are none.
    """
    road = [_place(one) for one in rules if not one.analogy]
    apart = [f"{_place(one)} ({REALMS[one.realm]})" for one in rules if one.analogy]
    return "; ".join([*dict.fromkeys(road), *([f"by analogy {', '.join(dict.fromkeys(apart))}"] if apart else [])])


def _place(met: RuleMet) -> str:
    return rule_rows()[met.rule].source + ("" if met.sure else " at worst")


def directive_briefly(items: tuple[DirectiveItem, ...]) -> str:
    """Items of Directive 2014/45/EU with their categories, in one line; empty where there are none."""
    read = ", ".join(f"{one.item}({one.part}) {one.category}" for one in items)
    return f"Directive 2014/45/EU Annex I {read} (provisional; the authorised tester decides)" if items else ""
