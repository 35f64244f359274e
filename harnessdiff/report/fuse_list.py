"""What hangs on the fuses of a reference, as rows for a person or a program."""

from __future__ import annotations

from typing import Any

from harnessdiff.analyse.fed_by import fed_by, fuses_of
from harnessdiff.analyse.supply import Supply
from harnessdiff.describer import Describer
from harnessdiff.errors import InputError, Problem
from harnessdiff.model.reference import Reference
from harnessdiff.read.schema import did_you_mean
from harnessdiff.words import fuse_words


def hanging_on(reference: Reference, fuse: str | None) -> list[dict[str, Any]]:
    """What hangs on a fuse, or on each of them.

    Parameters
    ----------
    reference : Reference
    fuse : str or None
        A slot, the fuse in it, or a fusible link; all where None.

    Returns
    -------
    list of dict
        For every fuse its id, words and loads, each in the order the current reaches it.

    Raises
    ------
    InputError
        If there is no such fuse.
    """
    harness = reference.harness
    slots = fuses_of(harness)
    if fuse is not None:
        slot = (harness.targets(fuse, "seat") or (fuse,))[0]
        if slot not in slots:
            message = f"there is no fuse {fuse}{did_you_mean(fuse, slots)}"
            device = harness.device(fuse)
            if device is not None and device.kind == "fuse_slot":
                message = f"slot {fuse} is empty on the reference: nothing hangs on it"
            raise InputError((Problem(source=reference.id, message=message),))
        slots = (slot,)
    supply = Supply(harness, reference.vehicle.ground_polarity)
    describer = Describer(reference, harness)
    return [
        {
            "fuse": slot,
            "words": fuse_words(harness, slot),
            "loads": [
                {
                    "device": load.device,
                    "terminal": load.terminal,
                    "words": describer.name(load.device),
                    "way": list(load.way),
                    "switched_by": list(dict.fromkeys(load.switched_by)),
                    "length_m": load.length_m,
                }
                for load in fed_by(supply, slot)
            ],
        }
        for slot in slots
    ]
