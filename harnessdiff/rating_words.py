"""Words for ratings: what contributes, mechanisms, severities, actions."""

from __future__ import annotations

from functools import cache

from harnessdiff.model.rating import Contribution, Rating
from harnessdiff.tables.loader import joint_order, rows

SEVERITIES = {"I": "Catastrophic", "II": "Critical", "III": "Marginal", "IV": "Negligible"}
PROBABILITIES = {"A": "Frequent", "B": "Probable", "C": "Occasional", "D": "Remote", "E": "Improbable"}
MECHANISMS = {
    "contact_heat": "heat at a contact", "short": "short of a live conductor",
    "overload": "overload of a conductor", "function_lost": "function lost",
    "false_action": "acts when it should not, or refuses", "protected_part": "touches a protected part",
    "nuisance": "nuisance", "drain": "drains the battery",
}  # fmt: skip
ACTIONS = {
    "stop_use": "stop use", "repair_before_relying": "repair before relying on it", "improve": "improve",
    "note": "note", "none": "nothing to do",
}  # fmt: skip


@cache
def _factor_rows() -> dict[str, tuple[tuple[str, str, str], ...]]:
    found: dict[str, list[tuple[str, str, str]]] = {}
    for row in rows("rating_words"):
        name, _, value = row["when"].partition("=")
        found.setdefault(row["code"], []).append((name, value, row["words"]))
    return {code: tuple(lines) for code, lines in found.items()}


@cache
def _makes() -> dict[str, str]:
    return {row.joint: row.words for row in joint_order()}


def make_words(joint: str) -> str:
    """A make of joint in words."""
    return _makes().get(joint, joint.replace("_", " "))


def contribution_words(one: Contribution) -> str:
    """What contributes, in words: of what opens a mechanism what it is, of what adds what makes it worse."""
    params = dict(one.params)
    if one.code == "joint":
        return make_words(str(params.get("make")))
    lines = sorted(_factor_rows().get(one.code, ()), key=lambda line: bool(line[0]) == (one.how == "opens"))
    for name, value, words in lines:
        if not name or str(params.get(name)) == value:
            return words
    return lines[0][2] if lines else one.code.replace("_", " ")


def close_call_words(rating: Rating, vary_share: float) -> str | None:
    """That the worst level of a rating is a close call, in words; None where it is firm, or no weight decides.

    Parameters
    ----------
    rating : Rating
    vary_share : float
        Share by which weights varied.

    Returns
    -------
    str or None
    """
    if rating.firm is None or rating.firm.firm:
        return None
    shares = dict(rating.firm.shares)
    own = _percent(shares.pop(rating.worst, 0.0))
    others = " or ".join(sorted(shares, key=shares.__getitem__, reverse=True))
    varied = f"with every weight varied by up to {_percent(vary_share)}"
    return f"close call: {varied}, {own} of the trials come to {rating.worst}, else {others}"


def _percent(share: float) -> str:
    """A share in whole percent, and all or nothing only where it is."""
    if 0.0 < share < 0.01:
        return "under 1 %"
    return f"{min(round(100 * share), 99) if share < 1.0 else 100} %"
