"""Text out of files, made safe to show: it may hold what steers a terminal or turns the direction of writing."""

from __future__ import annotations


def plain(text: str) -> str:
    """One line of text of printable characters only.

    Parameters
    ----------
    text : str

    Returns
    -------
    str
        Blanks of every sort as spaces; other characters that do not print (controls, marks of
        direction) left out.
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else " " if letter.isspace() else "" for letter in text)
