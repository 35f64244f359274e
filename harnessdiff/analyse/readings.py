"""Readings held against what the network of the as-found harness predicts.

Agreement is no proof: only a drop read under load clears a joint (`joint_drops`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from harnessdiff.analyse.meters import read_range
from harnessdiff.analyse.network.band import magnitude
from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import ASLEEP, Settled
from harnessdiff.analyse.prediction import Bench, Predicted
from harnessdiff.analyse.probing import Changed, NotModelledError
from harnessdiff.model.range import Range
from harnessdiff.model.reference import Reference
from harnessdiff.model.survey import Reading, Survey
from harnessdiff.tables.loader import limit
from harnessdiff.tables.measuring import measuring

AGREES = ("agrees", "disagrees", "says_little", "not_computable")
SAYS_LITTLE = frozenset({"floats", "supply_on"})
"""Reasons for which nothing is predicted though the reading could be taken."""
MOVED_SHARE = 0.5
"""A reading that fell below this share of its greatest value while something was flexed fell away."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """A reading beside what is predicted for it.

    `why` says what the answer rests on:

    ==========================  ==============================================================
    within                      both ranges meet
    above, below                the reading is more, or less, than what can be predicted
    polarity_reversed           it would agree with the probes, or the plug, the other way round
    changes_when_flexed         it leaves what is predicted while something was pressed or flexed
    floats                      a probe was on something that hangs on next to nothing
    wide                        so much is unknown that nearly every reading would agree
    too_early                   the vehicle may not have been asleep yet
    supply_on                   resistance was read across a voltage
    word_only, temperature      nothing was read that a network predicts
    position_not_said           it would agree with an added switch the other way
    charging_not_modelled       the engine runs and the reference has no alternator
    no_condition                no condition was said, or one that is not known
    no_source                   nothing in the network feeds anything
    point_in_words              a probe was where no element is named
    point_not_found             a probe was on something that is not there as found
    one_point                   a voltage or resistance needs two
    no_common_point             of several conductors in a clamp: which way each ran is not known
    ammeter_in_series           a current between two points
    after_repair                taken on another harness than the one found
    manipulation_not_modelled   what was done cannot be put on the network
    element_not_found           it was done to something that is not there
    no_fuse_there               a lamp where no fuse is
    does_not_settle             the network comes to no rest in that condition
    ==========================  ==============================================================

    Parameters
    ----------
    reading : str
        Id.
    condition : str or None
    unit : str or None
        ``V``, ``A``, ``ohm``, or ``1`` for a share of the rated voltage of a load.
    predicted, read : Range or None
        By the network's unknowns, and by the instrument. Of a current the magnitude.
    agrees : str
        One of `AGREES`.
    why : str
        As above.
    of : tuple of str
        Elements it speaks of.
    clears : tuple of str
        Joints that a drop under load shows to be sound.
    measured : tuple of (str, Range)
        Joints whose resistance it gives. [Ω]
    """

    reading: str
    condition: str | None
    unit: str | None
    predicted: Range | None
    read: Range | None
    agrees: str
    why: str
    of: tuple[str, ...] = ()
    clears: tuple[str, ...] = ()
    measured: tuple[tuple[str, Range], ...] = ()


def compared_readings(
    network: Network, settled: Mapping[str, Settled], survey: Survey, reference: Reference
) -> tuple[Compared, ...]:
    """Every reading of a survey beside what is predicted for it.

    Parameters
    ----------
    network : Network
        Of the as-found harness.
    settled : mapping
        Condition id to that network in it.
    survey : Survey
        As it stands: superseded readings left out.
    reference : Reference

    Returns
    -------
    tuple of Compared
        In the survey's order.
    """
    bench = Bench(network=network, settled=settled, survey=survey, reference=reference)
    return tuple(_compared(bench, reading) for reading in survey.readings)


def _compared(bench: Bench, reading: Reading) -> Compared:
    unit, read = _read(reading)
    found = Compared(
        reading=reading.id, condition=reading.condition, unit=unit, predicted=None, read=read,
        agrees="not_computable", why="temperature" if reading.temperature_degC.known else "word_only",
    )  # fmt: skip
    if unit is None or read is None:
        return found
    try:
        made, predicted = bench.predicted(reading, unit, read)
    except NotModelledError as error:
        why = str(error)
        return replace(found, agrees="says_little" if why in SAYS_LITTLE else "not_computable", why=why)
    agrees, why = _judged(reading, made, predicted.range, read, unit, bench.network.system_V)
    if agrees == "disagrees":
        return _disagreeing(bench, reading, made, replace(found, unit=unit, agrees=agrees, why=why), predicted)
    return _with(replace(found, agrees=agrees, why=why), predicted)


def _with(compared: Compared, predicted: Predicted) -> Compared:
    return replace(
        compared, predicted=predicted.range, of=predicted.of, clears=predicted.drop.clears,
        measured=predicted.drop.measured,
    )  # fmt: skip


def _disagreeing(bench: Bench, reading: Reading, made: Changed, found: Compared, predicted: Predicted) -> Compared:
    """Whether a reading that disagrees would agree with an added switch in a position that nobody said."""
    if found.why == "changes_when_flexed":
        return _with(found, replace(predicted, of=made.moved))
    if found.why == "above" and found.unit in ("V", "1") and not bench.charges(reading):
        return _with(replace(found, agrees="says_little", why="charging_not_modelled"), predicted)
    assert found.unit is not None
    assert found.read is not None
    for device, other in bench.with_other_positions(reading, found.unit, found.read):
        agrees, _ = _judged(reading, made, other.range, found.read, found.unit, bench.network.system_V)
        if agrees != "disagrees":
            return _with(replace(found, agrees="says_little", why="position_not_said"), replace(other, of=(device,)))
    return _with(found, predicted)


def _read(reading: Reading) -> tuple[str | None, Range | None]:
    """The unit of what was read, and between what it lies."""
    for unit, quantity in (("V", reading.voltage_V), ("A", reading.current_A), ("ohm", reading.resistance_ohm)):
        if quantity.known:
            found = read_range(quantity, unit, reading.instrument)
            return unit, magnitude(found) if unit == "A" else found
    if reading.word not in _words():
        return None, None
    unit, low, high = _words()[reading.word]
    middle = low if math.isinf(high) else (low + high) / 2
    return unit, Range(low=low, nominal=middle, high=high, guaranteed=False)


def _words() -> dict[str, tuple[str, float, float]]:
    """What a word stands for."""
    glows, on = limit("load_glows_share"), limit("load_on_share")
    return {
        "none": ("1", 0.0, glows),
        "gone": ("1", 0.0, glows),
        "dim": ("1", glows, on),
        "normal": ("1", on, math.inf),
        "bright": ("1", 1.0, math.inf),
        "continuity": ("ohm", 0.0, measuring("continuity_most")),
        "open": ("ohm", measuring("open_least"), math.inf),
    }


def _judged(
    reading: Reading, made: Changed, predicted: Range, read: Range, unit: str, system_V: float
) -> tuple[str, str]:
    """Whether both agree, and why."""
    slack = read.high - read.low
    if made.moved and slack > telling(unit, system_V) and read.low < MOVED_SHARE * read.high:
        return "disagrees", "changes_when_flexed"
    if _meet(predicted, read):
        return ("says_little", "wide") if _wide(predicted, slack, unit, system_V) else ("agrees", "within")
    early = made.minutes is not None and made.minutes < measuring("asleep_after")
    if unit == "A" and reading.condition == ASLEEP and early and read.low > predicted.high:
        return "says_little", "too_early"
    if unit == "V" and _meet(Range(low=-predicted.high, nominal=-predicted.nominal, high=-predicted.low,
                                   guaranteed=False), read):  # fmt: skip
        return "disagrees", "polarity_reversed"
    return "disagrees", "above" if read.low > predicted.high else "below"


def _meet(one: Range, other: Range) -> bool:
    return one.low <= other.high and other.low <= one.high


def telling(unit: str, system_V: float) -> float:
    """Width in volts beyond which a range says little; nothing for other units. [V]"""
    return measuring("telling_share") * system_V if unit == "V" else 0.0


def _wide(predicted: Range, slack: float, unit: str, system_V: float) -> bool:
    """Whether so much is open that agreement says little."""
    width = predicted.high - predicted.low
    if unit == "V":
        return width > telling(unit, system_V)
    if unit == "1":
        return width > measuring("telling_share")
    return width > 2 * slack and predicted.high > measuring("telling_times") * predicted.low
