"""How a modification may be read by Annex I of Directive 2014/45/EU, items 4.10 to 4.13; always provisional.

The authorised tester decides: the items are written down from memory, and a record of wiring is no test of a vehicle.
"""

from __future__ import annotations

from collections.abc import Iterable

from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Joint
from harnessdiff.model.modification import Modification
from harnessdiff.model.rules import CATEGORIES, DirectiveItem
from harnessdiff.rate.established import established, ways_met
from harnessdiff.tables.rules import DirectiveRow, directive_rows


def directive_items(
    modification: Modification,
    joints: Iterable[Joint],
    functions: Iterable[str],
    consequences: Iterable[Consequence],
) -> tuple[DirectiveItem, ...]:
    """The items of the directive that a modification falls under, each with its worst category.

    Parameters
    ----------
    modification : Modification
    joints : iterable of Joint
        Those beneath it.
    functions : iterable of str
        Of the circuits touched.
    consequences : iterable of Consequence
        Those it answers for.

    Returns
    -------
    tuple of DirectiveItem
        In the order of items and parts; nothing where nothing is established. What only may be so does not count.

    References
    ----------
    .. [1] Directive 2014/45/EU, Annex I, items 4.10 to 4.13; from memory.
    """
    things = [one for one in established(modification, joints, functions, consequences) if one.sure]
    met: dict[tuple[str, str], dict[str, list[tuple[DirectiveRow, frozenset[str]]]]] = {}
    for row in directive_rows():
        for way in ways_met(row.when, things):
            met.setdefault((row.item, row.part), {}).setdefault(row.category, []).append((row, way.because))
    found = []
    for (item, part), categories in sorted(met.items()):
        category = max(categories, key=CATEGORIES.index)
        found.append(
            DirectiveItem(
                item=item,
                part=part,
                category=category,
                because=tuple(sorted({code for _, codes in categories[category] for code in codes})),
                reasons=tuple(dict.fromkeys(row.reason for row, _ in categories[category])),
            )
        )
    return tuple(found)
