"""How many splices practice has in one wire."""

from __future__ import annotations

from functools import cache

from harnessdiff.tables.loader import rows


@cache
def greatest_count(name: str) -> int:
    """A number that practice does not exceed, such as ``joints_in_a_wire``.

    Parameters
    ----------
    name : str
        Row of ``splice_counts.csv``.

    Returns
    -------
    int

    Raises
    ------
    ValueError
        If there is no such row.
    """
    (found,) = (row for row in rows("splice_counts") if row["name"] == name)
    return int(found["greatest"])
