"""What a sheet shows: marks (symbols with a label) and the lines between them, before any layout."""

from __future__ import annotations

from dataclasses import dataclass, field

from harnessdiff.model.harness import Colour


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """A numbered flag with the risk level of its finding in words."""

    text: str
    level: str
    outcome: str

    @property
    def number(self) -> int:
        """Number of its finding."""
        return int(self.text.rstrip("abcdefghijklmnopqrstuvwxyz"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A symbol with its label.

    Parameters
    ----------
    id : str
        Unique on the sheet.
    symbol : str
        What is drawn: ``joint_twisted``, ``fuse``, ``lamp``, ``ground`` …
    label : tuple of str
        Lines below the symbol.
    flags : tuple of Flag
        Flags above it.
    added : bool
        Whether it was added to the vehicle.
    gone : bool
        Whether it is on the reference and no longer there.
    """

    id: str
    symbol: str
    label: tuple[str, ...] = ()
    flags: tuple[Flag, ...] = ()
    added: bool = False
    gone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """A line between two marks, from the supply side to the load side.

    `style` is ``wire`` (the maker's), ``perhaps`` (a wire that may be meant), ``lead`` (added),
    ``folded`` (a way that is not shown in full), ``gone`` (was there, is not) or ``contact`` (two
    marks that touch). `cut` says at which of its ends, ``start`` or ``end``, a wire was cut through
    to be joined.
    """

    start: str
    end: str
    style: str
    colour: Colour | None = None
    label: tuple[str, ...] = ()
    cut: tuple[str, ...] = ()

    @property
    def colour_known(self) -> bool:
        """Whether the colour of the insulation is known, where the line has one at all."""
        bare = self.style in ("folded", "contact")
        return bare or (self.colour is not None and self.colour.base != "unknown")


@dataclass(slots=True)
class Scene:
    """Marks and lines of one drawing, in the order they were put in.

    `doubts` names, for a joint of which nobody knows on which wire it is, the wires that fit;
    `faults` holds, for an added lead, the flags and words of what is wrong with it.
    """

    marks: dict[str, Mark] = field(default_factory=dict)
    lines: list[Line] = field(default_factory=list)
    doubts: dict[str, tuple[str, ...]] = field(default_factory=dict)
    faults: dict[str, tuple[tuple[Flag, str], ...]] = field(default_factory=dict)

    def put(self, mark: Mark) -> str:
        """Put a mark in; one with the same id stays, with the flags of both."""
        there = self.marks.get(mark.id)
        if there is None:
            self.marks[mark.id] = mark
        else:
            flags = tuple(dict.fromkeys((*there.flags, *mark.flags)))
            keep = there if there.symbol != "terminal" else mark
            self.marks[mark.id] = Mark(
                id=mark.id, symbol=keep.symbol, label=keep.label, flags=flags,
                added=keep.added, gone=there.gone or mark.gone,
            )  # fmt: skip
        return mark.id

    def join(self, line: Line) -> None:
        """Put a line in, once."""
        if line.start != line.end and line not in self.lines:
            self.lines.append(line)
