"""Lines of text for a terminal or a printed page."""

from __future__ import annotations

import textwrap

from harnessdiff.plain import plain

WIDTH = 100
"""Most characters of a line, so that it stands on a page in upright format; common practice."""


def wrapped(text: str, hang: str = "", before: str = "") -> list[str]:
    """Text in lines no longer than `WIDTH`.

    Parameters
    ----------
    text : str
        Made safe to show, see `plain`.
    hang : str
        What every line but the first begins with.
    before : str
        What the first line begins with.

    Returns
    -------
    list of str
        At least one.
    """
    return textwrap.wrap(before + plain(text), WIDTH, subsequent_indent=hang, break_on_hyphens=False) or [""]
