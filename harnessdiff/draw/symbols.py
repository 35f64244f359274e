"""Graphic symbols: those of IEC 60617 where it has one (from memory), our own for joints and ends.

Every symbol is drawn around the middle of a box of the size that `measure.symbol_size` gives.
"""

from __future__ import annotations

from collections.abc import Callable

from lxml import etree

from harnessdiff.draw.svg import add, number, write

INK = "#1c1c1c"
PAPER = "#ffffff"
Parent = etree._Element


def draw_symbol(parent: Parent, symbol: str, x: float, y: float, *, added: bool, gone: bool) -> None:
    """Draw a symbol with its middle at (x, y).

    Parameters
    ----------
    parent : Element
    symbol : str
    x, y : float
        Middle. [px]
    added : bool
        Drawn heavy.
    gone : bool
        Drawn dashed.
    """
    group = add(parent, "g", class_="sym" + (" added" if added else "") + (" gone" if gone else ""))
    if symbol.startswith("joint_"):
        _joint(group, symbol.removeprefix("joint_"), x, y)
        return
    _SYMBOLS.get(symbol, _device)(group, x, y)


def _lines(parent: Parent, *pieces: str) -> None:
    add(parent, "path", d="".join(pieces), fill="none")


def _p(x: float, y: float) -> str:
    return f"{number(x)} {number(y)}"


def _lamp(parent: Parent, x: float, y: float) -> None:
    add(parent, "circle", cx=x, cy=y, r=10.5)
    d = 7.4
    _lines(parent, f"M{_p(x - d, y - d)}L{_p(x + d, y + d)}", f"M{_p(x - d, y + d)}L{_p(x + d, y - d)}")


def _round(letter: str) -> Callable[[Parent, float, float], None]:
    def draw(parent: Parent, x: float, y: float) -> None:
        add(parent, "circle", cx=x, cy=y, r=10.5)
        write(parent, letter, x, y + 4, class_="letter")

    return draw


def _fuse(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 13, y=y - 5.5, width=26.0, height=11.0)
    _lines(parent, f"M{_p(x - 13, y)}L{_p(x + 13, y)}")


def _battery(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 14, y=y - 12, width=28.0, height=24.0, class_="under")
    _lines(
        parent,
        f"M{_p(x - 14, y)}L{_p(x - 4, y)}M{_p(x + 4, y)}L{_p(x + 14, y)}",
        f"M{_p(x - 4, y - 5)}L{_p(x - 4, y + 5)}M{_p(x + 4, y - 10)}L{_p(x + 4, y + 10)}",
    )


def _switch(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 14, y=y - 12, width=28.0, height=24.0, class_="under")
    _lines(parent, f"M{_p(x - 14, y)}L{_p(x - 7, y)}L{_p(x + 6, y - 8)}M{_p(x + 7, y)}L{_p(x + 14, y)}")


def _relay(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 13, y=y - 8, width=26.0, height=16.0)
    _lines(parent, f"M{_p(x - 5, y + 8)}L{_p(x + 5, y - 8)}")


def _resistor(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 13, y=y - 5, width=26.0, height=10.0)


def _diode(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=f"M{_p(x - 7, y - 8)}L{_p(x + 7, y)}L{_p(x - 7, y + 8)}Z")
    _lines(parent, f"M{_p(x + 7, y - 8)}L{_p(x + 7, y + 8)}", f"M{_p(x - 14, y)}L{_p(x + 14, y)}")


def _ground(parent: Parent, x: float, y: float) -> None:
    _lines(
        parent,
        f"M{_p(x - 14, y)}L{_p(x, y)}L{_p(x, y + 3)}",
        *(f"M{_p(x - half, y + down)}L{_p(x + half, y + down)}" for half, down in ((10, 3), (6.5, 7), (3, 11))),
    )


def _horn(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=f"M{_p(x - 6, y - 5)}L{_p(x + 8, y - 11)}L{_p(x + 8, y + 11)}L{_p(x - 6, y + 5)}Z")
    add(parent, "rect", x=x - 12, y=y - 5, width=6.0, height=10.0)


def _speaker(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 8, y=y - 6, width=7.0, height=12.0)
    add(parent, "path", d=f"M{_p(x - 1, y - 6)}L{_p(x + 8, y - 11)}L{_p(x + 8, y + 11)}L{_p(x - 1, y + 6)}Z")


def _socket(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=f"M{_p(x + 8, y - 10)}A10 10 0 0 0 {_p(x + 8, y + 10)}", fill="none")
    _lines(parent, f"M{_p(x - 14, y)}L{_p(x - 2, y)}")


def _device(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 14, y=y - 11, width=28.0, height=22.0, rx=2.0)


def _terminal(parent: Parent, x: float, y: float) -> None:
    add(parent, "circle", cx=x, cy=y, r=3.4)


def _splice(parent: Parent, x: float, y: float) -> None:
    add(parent, "circle", cx=x, cy=y, r=3.6, class_="dot")


def _more(parent: Parent, x: float, y: float) -> None:
    for step in (-5.0, 0.0, 5.0):
        add(parent, "circle", cx=x + step, cy=y, r=1.3, class_="dot")


def _cut(parent: Parent, x: float, y: float) -> None:
    _lines(parent, f"M{_p(x - 14, y)}L{_p(x - 4, y)}M{_p(x + 4, y)}L{_p(x + 14, y)}")
    _lines(parent, f"M{_p(x - 7, y + 8)}L{_p(x - 1, y - 8)}M{_p(x + 1, y + 8)}L{_p(x + 7, y - 8)}")


def _loose(parent: Parent, x: float, y: float) -> None:
    _lines(
        parent,
        f"M{_p(x - 7, y)}L{_p(x, y)}",
        f"M{_p(x, y)}L{_p(x + 6, y - 6)}M{_p(x, y)}L{_p(x + 7, y)}M{_p(x, y)}L{_p(x + 6, y + 6)}",
    )


def _loose_live(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=_star(x, y, 13, 6.5), class_="live")
    _lines(parent, f"M{_p(x + 1.5, y - 6)}L{_p(x - 2.5, y + 1)}L{_p(x + 2, y - 0.5)}L{_p(x - 1.5, y + 6.5)}")


def _star(x: float, y: float, outer: float, inner: float) -> str:
    """A star of ten points around (x, y)."""
    steps = [
        (0, 1), (0.5878, 0.809), (0.9511, 0.309), (0.9511, -0.309), (0.5878, -0.809),
        (0, -1), (-0.5878, -0.809), (-0.9511, -0.309), (-0.9511, 0.309), (-0.5878, 0.809),
    ]  # fmt: skip
    points = [
        _p(x + dx * (outer if place % 2 == 0 else inner), y - dy * (outer if place % 2 == 0 else inner))
        for place, (dx, dy) in enumerate(steps)
    ]
    return "M" + "L".join(points) + "Z"


def _untraced(parent: Parent, x: float, y: float) -> None:
    add(parent, "circle", cx=x, cy=y, r=8.5, stroke_dasharray="3 2")
    write(parent, "?", x, y + 4.5, class_="letter")


def _damage(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=_star(x, y, 14, 7.5), class_="hurt")


def _route(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=f"M{_p(x, y - 12)}L{_p(x + 13, y + 10)}L{_p(x - 13, y + 10)}Z")
    write(parent, "!", x, y + 7, class_="letter")


def _fault(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=f"M{_p(x, y - 12)}L{_p(x + 13, y)}L{_p(x, y + 12)}L{_p(x - 13, y)}Z")
    write(parent, "!", x, y + 4.5, class_="letter")


def _perhaps(parent: Parent, x: float, y: float) -> None:
    add(parent, "circle", cx=x, cy=y, r=11.0, stroke_dasharray="3 2")
    write(parent, "or", x, y + 4, class_="letter")


def _place(parent: Parent, x: float, y: float) -> None:
    add(parent, "path", d=f"M{_p(x, y + 10)}C{_p(x - 4, y + 3)} {_p(x - 9, y)} {_p(x - 9, y - 5)}"
        f"A9 9 0 0 1 {_p(x + 9, y - 5)}C{_p(x + 9, y)} {_p(x + 4, y + 3)} {_p(x, y + 10)}Z")  # fmt: skip
    add(parent, "circle", cx=x, cy=y - 5, r=3.0, class_="dot")


def _joint(parent: Parent, glyph: str, x: float, y: float) -> None:
    """A joint: the largest mark of a sheet, a ring with the sign of its sort inside."""
    add(parent, "circle", cx=x, cy=y, r=13.5, class_="joint")
    _GLYPHS[glyph](parent, x, y)


def _glyph_crimp(parent: Parent, x: float, y: float) -> None:
    add(parent, "rect", x=x - 8, y=y - 4, width=16.0, height=8.0, class_="thin")
    _lines(parent, f"M{_p(x - 3, y - 4)}L{_p(x - 3, y + 4)}M{_p(x + 3, y - 4)}L{_p(x + 3, y + 4)}")


def _glyph_solder(parent: Parent, x: float, y: float) -> None:
    add(parent, "circle", cx=x, cy=y, r=6.5, class_="dot")


def _glyph_blade(parent: Parent, x: float, y: float) -> None:
    _lines(parent, f"M{_p(x - 8, y)}L{_p(x + 8, y)}", f"M{_p(x - 5, y - 8)}L{_p(x, y + 4)}L{_p(x + 5, y - 8)}")


def _glyph_twisted(parent: Parent, x: float, y: float) -> None:
    for turn in (-1, 1):
        d = f"M{_p(x - 9, y + 4 * turn)}C{_p(x - 4, y + 4 * turn)} {_p(x - 4, y - 4 * turn)} {_p(x, y - 4 * turn)}"
        d += f"S{_p(x + 4, y + 4 * turn)} {_p(x + 9, y + 4 * turn)}"
        add(parent, "path", d=d, fill="none")


def _glyph_plug(parent: Parent, x: float, y: float) -> None:
    _lines(parent, f"M{_p(x + 3, y - 7)}A7 7 0 0 0 {_p(x + 3, y + 7)}", f"M{_p(x - 9, y)}L{_p(x - 4, y)}")
    add(parent, "circle", cx=x + 3, cy=y, r=3.0, class_="dot")


def _glyph_ring(parent: Parent, x: float, y: float) -> None:
    add(parent, "circle", cx=x, cy=y, r=7.0, fill="none")
    add(parent, "circle", cx=x, cy=y, r=2.4, class_="dot")


def _glyph_bare(parent: Parent, x: float, y: float) -> None:
    _lines(
        parent,
        f"M{_p(x - 8, y)}L{_p(x - 1, y)}",
        f"M{_p(x - 1, y)}L{_p(x + 7, y - 6)}M{_p(x - 1, y)}L{_p(x + 8, y)}M{_p(x - 1, y)}L{_p(x + 7, y + 6)}",
    )


def _glyph_unknown(parent: Parent, x: float, y: float) -> None:
    write(parent, "?", x, y + 6, class_="letter big")


_SYMBOLS: dict[str, Callable[[Parent, float, float], None]] = {
    "lamp": _lamp, "motor": _round("M"), "generator": _round("G"), "fuse": _fuse, "battery": _battery,
    "switch": _switch, "relay": _relay, "resistor": _resistor, "diode": _diode, "ground": _ground, "horn": _horn,
    "speaker": _speaker, "socket": _socket, "device": _device, "terminal": _terminal, "pin": _terminal,
    "splice": _splice, "more": _more, "cut": _cut, "loose": _loose, "loose_live": _loose_live, "untraced": _untraced,
    "damage": _damage, "route": _route, "fault": _fault, "perhaps": _perhaps, "place": _place,
}  # fmt: skip
_GLYPHS: dict[str, Callable[[Parent, float, float], None]] = {
    "crimp": _glyph_crimp, "solder": _glyph_solder, "blade": _glyph_blade, "twisted": _glyph_twisted,
    "plug": _glyph_plug, "ring": _glyph_ring, "bare": _glyph_bare, "unknown": _glyph_unknown,
}  # fmt: skip
LEGEND = {
    "joint_crimp": "crimp or splice", "joint_solder": "soldered", "joint_blade": "blade or threaded tap",
    "joint_twisted": "twisted", "joint_plug": "plug or push-on", "joint_ring": "ring or under a screw",
    "joint_bare": "bare contact", "joint_unknown": "joint not seen", "lamp": "lamp", "motor": "motor",
    "generator": "alternator", "fuse": "fuse", "battery": "battery", "switch": "switch", "relay": "relay",
    "resistor": "resistor, heater", "diode": "diode", "ground": "ground", "horn": "horn, sounder",
    "speaker": "loudspeaker", "socket": "socket", "device": "device", "terminal": "terminal",
    "pin": "terminal of an added device", "splice": "factory splice", "more": "further loads",
    "cut": "cut end", "loose": "loose end",
    "loose_live": "loose end, live", "untraced": "not followed", "damage": "damage", "route": "unsafe route",
    "fault": "fault of the whole lead", "perhaps": "the joint may be here instead",
    "place": "place in the vehicle",
}  # fmt: skip
