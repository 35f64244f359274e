"""Consequences in words: what a change does, in one line each, for people who carry a meter and not a computer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from harnessdiff.describer import Describer
from harnessdiff.model.consequence import Consequence
from harnessdiff.model.harness import Conductor
from harnessdiff.model.range import Range
from harnessdiff.words import bare

MOST_NAMED = 3
"""Of more conditions or loads so many are named and the others counted."""
WHY_UNDECIDED = {
    "size": "its size", "material": "what it is made of", "insulation": "its insulation",
    "fuse_rating": "the rating of the fuse", "fuse_body": "the body of the fuse",
    "rating_convention": "what the fuse's marking means", "fuse_curve": "the maker's curve of that fuse",
    "greatest_current": "the greatest current of a short", "least_current": "the least current of a short",
    "table": "which table is asked",
}  # fmt: skip
UNITS = {"ohm": "Ω", "1": "of its rated voltage"}
MOST_IN_MA = 0.1
"""Currents up to this are told in mA, as a meter for drain shows them. [A]"""
FUSES = ("fuse", "circuit_breaker", "fusible_link")
STATES = {"on": "on", "dim": "dim", "glows": "glowing", "reversed": "driven backwards", "off": "off"}


def consequence_words(one: Consequence, describer: Describer) -> str:
    """A consequence in one line.

    Parameters
    ----------
    one : Consequence
    describer : Describer

    Returns
    -------
    str
        What happens to what, by how much, and when; how it comes about where a relay stands between.
    """
    return _WORDS[one.code](one, describer) + _because(one, describer) + _when(one)


def live_words(several: Sequence[Consequence], describer: Describer) -> str:
    """Loads that are live alike when they should be off, in one line.

    Parameters
    ----------
    several : sequence of Consequence
        Of the code ``live_unasked``, of one state and one cause.
    describer : Describer

    Returns
    -------
    str
        How many there are, between what voltages, the first of them by name, and when.
    """
    one = several[0]
    loads = dict.fromkeys(_load(each, describer) for each in several)
    how = STATES.get(str(one.get("state")), "live")
    sizes = [abs(bound) for each in several if each.after for bound in (each.after.low, each.after.high)]
    volts = amount(Range(low=min(sizes), nominal=max(sizes), high=max(sizes), guaranteed=False), one.unit)
    conditions = tuple(dict.fromkeys(name for each in several for name in each.conditions))
    when = _when(replace(one, conditions=conditions))
    said = f"{len(loads)} loads are {how} when they should be off, {volts}: {named(loads)}"
    return said + _because(one, describer) + when


def amount(range_: Range | None, unit: str | None) -> str:
    """A computed quantity with its unit: one number, or from and to where the two differ as written."""
    if range_ is None:
        return "?"
    times, unit_words = 1.0, UNITS.get(unit or "", unit or "")
    if unit == "A" and 0.0005 <= max(abs(range_.low), abs(range_.high)) < MOST_IN_MA:
        times, unit_words = 1000.0, "mA"
    bounds = [bound * times if abs(bound) >= 0.0005 else 0.0 for bound in (range_.low, range_.high)]
    low, high = (_number(bound if times == 1 else round(bound, 1 if abs(bound) < 10 else None)) for bound in bounds)
    return f"{low if low == high else f'{low} to {high}'} {unit_words}".rstrip()


def _number(value: float) -> str:
    size = abs(value)
    if size == float("inf"):
        return "∞"
    if size < 0.0005:
        return "0"
    if size < 0.1:
        return f"{value:.3f}".rstrip("0")
    if size < 10:
        return f"{value:.2f}".rstrip("0").rstrip(".")
    return f"{value:.1f}".rstrip("0").rstrip(".") if size < 100 else f"{value:.0f}"


def named(names: Iterable[str]) -> str:
    """Some names, the first few of them and how many more."""
    every = list(names)
    more = len(every) - MOST_NAMED
    return ", ".join(every[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _because(one: Consequence, describer: Describer) -> str:
    opening = [name for name in one.because if getattr(describer.element(name), "kind", "fuse") in FUSES]
    through = [bare(name) for name in one.because if name not in opening]
    words = f", through {named(through)}" if through else ""
    return words + (f", because {named(fuse_name(name, describer) for name in opening)} opens" if opening else "")


def _when(one: Consequence) -> str:
    if not one.conditions or one.code in ("protection", "dies_with", "drain"):
        return ""
    return f" ({named(name.replace('_', ' ') for name in one.conditions)})"


def _load(one: Consequence, describer: Describer) -> str:
    name = describer.name(one.subject)
    if one.terminal is None or not _several(one, describer):
        return name
    own = f"({bare(one.subject)}"
    return (
        f"{name.removesuffix(f'{own})')}{own}:{one.terminal})" if name.endswith(f"{own})") else f"{name} {one.terminal}"
    )


def _several(one: Consequence, describer: Describer) -> bool:
    """Whether a device has more than one part that draws, so that its terminal has to be named."""
    parts = getattr(describer.element(one.subject), "parts", ())
    return sum(type(part).__name__ in ("Load", "Coil") for part in parts) > 1


def _live(one: Consequence, describer: Describer) -> str:
    how = STATES.get(str(one.get("state")), "live")
    return f"{_load(one, describer)} is {how} when it should be off: {amount(one.after, one.unit)}"


def _refusal(one: Consequence, describer: Describer) -> str:
    return f"{_load(one, describer)} works where it must refuse: {amount(one.after, one.unit)}"


def _dead(one: Consequence, describer: Describer) -> str:
    return f"{_load(one, describer)} is dead, {amount(one.before, one.unit)} by the reference"


def _dimmed(one: Consequence, describer: Describer) -> str:
    return f"{_load(one, describer)} has {amount(one.after, one.unit)} instead of {amount(one.before, one.unit)}"


def _reversed(one: Consequence, describer: Describer) -> str:
    return f"{_load(one, describer)} is fed the wrong way round: {amount(one.after, one.unit)}"


def _without_fuse(one: Consequence, describer: Describer) -> str:
    return f"{_load(one, describer)} works on with {fuse_name(str(one.get('fuse')), describer)} out"


def _masked(one: Consequence, describer: Describer) -> str:
    return (
        f"{_load(one, describer)} works although {_names(one, 'blown', describer)} is blown; "
        f"it is fed by {_names(one, 'fuses_after', describer) or 'no fuse'}"
    )


def _other_fuse(one: Consequence, describer: Describer) -> str:
    now = _names(one, "fuses_after", describer, last=True) or "no fuse"
    was = _names(one, "fuses_before", describer, last=True) or "no fuse"
    return f"{_load(one, describer)} hangs on {now} instead of {was}"


def _through_added(one: Consequence, describer: Describer) -> str:
    return f"{_load(one, describer)} is dead whenever {_names(one, 'through', describer)} opens"


def _backfeed(one: Consequence, describer: Describer) -> str:
    return f"{amount(one.after, one.unit)} run backwards through {describer.name(one.subject)}"


def _holds(one: Consequence, describer: Describer) -> str:
    return f"{describer.name(one.subject)} stays pulled in once something triggered it"


def _oscillates(one: Consequence, describer: Describer) -> str:
    return f"{describer.name(one.subject)} comes to no rest: it pulls in and lets go by turns"


def _collapses(one: Consequence, describer: Describer) -> str:
    return f"the supply cannot carry {describer.name(one.subject)}: its voltage collapses"


def _draws(one: Consequence, describer: Describer) -> str:
    thought = " (its contents are a guess)" if one.get("supposed") else ""
    return f"{_load(one, describer)} draws {amount(one.after, one.unit)}{thought}"


def _drop(one: Consequence, describer: Describer) -> str:
    load, now = _load(one, describer), amount(one.after, one.unit)
    if one.before is None:
        return f"{load} may have {now}"
    return f"{load} may have {now} where the reference has {amount(one.before, one.unit)}"


def _fuse_current(one: Consequence, describer: Describer) -> str:
    was = f" instead of {amount(one.before, one.unit)}" if one.before and one.before.nominal > 0 else ""
    over = f", more than the {one.get('carries_A'):g} A it carries for ever" if one.get("over") else ""
    return f"{fuse_name(one.subject, describer)} carries {amount(one.after, one.unit)}{was}{over}"


def fuse_name(element: str, describer: Describer) -> str:
    """A fuse as a person looks for it: its slot first, and what the legend says.

    Parameters
    ----------
    element : str
        A fuse, its slot, or an added lead that holds one.
    describer : Describer

    Returns
    -------
    str
        Such as ``fuse F26 (brake lamps)``; what is no fuse by its name.
    """
    if element.startswith("+"):
        return f"the fuse in {bare(element)}"
    name = describer.name(element)
    words, _, own = name.removesuffix(")").rpartition(" (")
    if getattr(describer.element(element), "kind", None) not in ("fuse", "fuse_slot") or not words:
        return name
    if words in ("fuse", "fuse slot"):
        return f"fuse {own}"
    return name if words.startswith("fusible") else f"fuse {own} ({words.removeprefix('fuse ')})"


def _over_limit(one: Consequence, describer: Describer) -> str:
    sort = str(one.get("sort"))
    of = describer.name(one.subject)
    locks = one.get("locks_out_after")
    lock = f"; it locks out after {locks} such events" if locks else ""
    terminal = f" {one.terminal}" if one.terminal else ""
    return f"{sort}{terminal} of {of} carries {amount(one.after, one.unit)}, made for {one.get('limit_A'):g} A{lock}"


def _under_voltage(one: Consequence, describer: Describer) -> str:
    least = one.get("least_V")
    return (
        f"{_load(one, describer)} has {amount(one.after, one.unit)} ({amount(one.before, one.unit)} by the reference) "
        f"and needs {least:g} V"
    )


def _dies_with(one: Consequence, describer: Describer) -> str:
    if one.terminal:
        what = f"shuts down output {one.terminal} of {describer.name(one.subject)}"
    else:
        what = f"opens {fuse_name(one.subject, describer)}"
    loads = _texts(one, "loads")
    return (
        f"if {_names(one, 'added', describer)} {what}, {named(describer.name(load) for load in loads)} "
        f"{'goes' if len(loads) == 1 else 'go'} dead too"
    )


def _joint_heat(one: Consequence, describer: Describer) -> str:
    assert one.after is not None
    return (
        f"joint {bare(one.subject)} may give off {_number(one.after.nominal)} W, at worst {_number(one.after.high)} W "
        f"at {one.get('at_ohm'):g} Ω and {one.get('current_A'):g} A"
    )


def _device_heat(one: Consequence, describer: Describer) -> str:
    on = one.get("mounted_on")
    return f"{describer.name(one.subject)} gives off {amount(one.after, one.unit)}" + (
        f", mounted on {str(on).replace('_', ' ')}" if on else ""
    )


def _drain(one: Consequence, describer: Describer) -> str:
    if one.get("sort") != "battery":
        return f"{_load(one, describer)} draws {amount(one.after, one.unit)} while all is asleep"
    gives = amount(one.after, one.unit)
    was = amount(one.before, one.unit) if one.before else gives
    least = "at least " if one.get("at_least") else ""
    instead = "" if was == gives else f" instead of {was}"
    return f"{describer.name(one.subject)} gives {least}{gives} while all is asleep{instead}{_lasts(one)}"


def _lasts(one: Consequence) -> str:
    """How long a battery goes on starting an engine, and how long it did where that is another time."""
    days, before = one.get("days"), one.get("days_before")
    if not isinstance(days, (int, float)):
        return ""
    lasts = _days(days)
    lasted = _days(before) if isinstance(before, (int, float)) else lasts
    return f"; too flat to start after about {lasts}" + ("" if lasted == lasts else f" instead of {lasted}")


def _days(days: float) -> str:
    """A time to two digits, in hours where it is less than two days."""
    return f"{days * 24:.0f} hours" if days < 2 else f"{float(f'{days:.2g}'):g} days"


def _reading(one: Consequence, describer: Describer) -> str:
    read, predicted = amount(one.after, one.unit), amount(one.before, one.unit)
    clears = _texts(one, "clears")
    measured = [joint for joint in _texts(one, "measured") if joint not in clears]
    found = f"reading {one.subject}: {read}"
    why = READING_WHY.get(str(one.get("why")), "")
    if one.get("agrees") == "disagrees":
        return f"{found} does not agree with what was recorded, which gives {predicted}{why}"
    if clears:
        return f"{found} shows {named(map(bare, clears))} to be sound"
    if measured:
        return f"{found} says what {named(map(bare, measured))} may have, and is counted with"
    if one.get("why") == "position_not_said":
        return f"{found} would agree with {_names(one, 'of', describer)} in its other position ({predicted})"
    if one.get("agrees") == "says_little":
        return f"{found} says little: {predicted} would be possible{why}"
    return f"{found}; from what was recorded {predicted} is computed: they agree"


READING_WHY = {
    "changes_when_flexed": ", and it changed when something was flexed", "too_early": ", before all was asleep",
    "polarity_reversed": "; it would with the probes the other way round", "floats": "; the place hangs on nothing",
    "charging_not_modelled": "; the alternator is not on the reference",
}  # fmt: skip


def _past_fuses(one: Consequence, describer: Describer) -> str:
    clamp = f"of {amount(one.before, one.unit)} by reading {one.subject}"
    match one.get("sort"):
        case "past_fuses":
            past = named(describer.name(element) for element in _texts(one, "past"))
            may = f"; it may be {past}" if past else ""
            return f"{amount(one.after, one.unit)} {clamp} pass none of the fuses that were read{may}"
        case "more_than_clamp":
            return (
                f"the fuses that were read carry more than there is {clamp}: one is not genuine, or something charges"
            )
        case _:
            return f"all {clamp} may pass the fuses that were read"


def _protection(one: Consequence, describer: Describer) -> str:
    lead = describer.name(one.subject)
    also = _texts(one, "also")
    lead += f" and {len(also)} more wires" if len(also) > 1 else f" and {bare(also[0])}" if also else ""
    verdict, rating, limit = one.get("verdict"), one.get("rating_A"), one.get("limit_A")
    fuse = (
        f"{rating:g} A ({bare(str(one.get('fuse')))})"
        if isinstance(rating, (int, float))
        else bare(str(one.get("fuse")))
    )
    by = f"{limit:g} A by the {one.get('table')}" if isinstance(limit, (int, float)) else f"by the {one.get('table')}"
    by = f"the {one.get('table')} knows no conductor so thin" if limit == 0 else f"limit {by}"
    tables = _texts(one, "other_table_turns")
    other = f"; otherwise by {' and '.join(tables)}" if tables else ""
    if verdict == "not_protected" and one.get("near") == "no_protection":
        found = describer.element(one.subject)
        own = isinstance(found, Conductor) and any(
            part.kind in ("fuse", "circuit_breaker") and part.state != "slug" for part in found.inline
        )
        lead += " before its own fuse" if own else ""
        return f"nothing protects {lead}: a short draws {amount(one.after, one.unit)}{_then(one)}"
    if verdict == "not_protected":
        return f"{fuse} does not protect {lead} against a short of {amount(one.after, one.unit)}{other}"
    together = one.get("together_A")
    if verdict == "short_only" and isinstance(together, (int, float)):
        return f"{lead} is fed by fuses of {together:g} A together, each no more than it may have: {by}{other}"
    if verdict == "short_only":
        return f"{fuse} protects {lead} against a short, not against overload: {by}{other}"
    if verdict == "undecided":
        open_ = named(WHY_UNDECIDED.get(one_, one_) for one_ in _texts(one, "would_decide"))
        if one.get("overload") == "beyond_rating":
            return (
                f"{fuse} does not protect {lead} against overload: {by}; whether it does against a short is open: "
                f"{open_} would decide{other}"
            )
        return f"whether {fuse} protects {lead} against a short is open: {open_} would decide{other}"
    return f"{fuse} protects {lead}: {by}{other}"


def _then(one: Consequence) -> str:
    """What is left of the current of a short once a relay has let go because of it."""
    then = one.get("then_A")
    return f"; a relay lets go, then {_number(then)} A" if isinstance(then, (int, float)) else ""


def _data_pair(one: Consequence, describer: Describer) -> str:
    if one.get("sort") == "stub":
        lead, most = describer.name(one.subject), one.get("limit_m")
        return f"{lead} hangs {amount(one.after, one.unit)} long on a data pair; {most:g} m is the most"
    was, now = amount(one.before, one.unit), amount(one.after, one.unit)
    return f"data pair at {describer.name(one.subject)}: {now} between the two, {was} by the reference"


def _texts(one: Consequence, name: str) -> tuple[str, ...]:
    value = one.get(name)
    return value if isinstance(value, tuple) else ()


def _names(one: Consequence, name: str, describer: Describer, *, last: bool = False) -> str:
    elements = _texts(one, name)
    return named(describer.name(element) for element in (elements[-1:] if last else elements))


_WORDS: dict[str, Callable[[Consequence, Describer], str]] = {
    "live_unasked": _live, "dead": _dead, "dimmed": _dimmed, "reversed": _reversed, "refusal_defeated": _refusal,
    "stays_live_without_fuse": _without_fuse, "masked_blown_fuse": _masked, "fed_through_added": _through_added,
    "other_fuse": _other_fuse, "backfeed": _backfeed, "holds_once_triggered": _holds, "oscillates": _oscillates,
    "supply_collapses": _collapses, "draws": _draws, "drop": _drop, "fuse_current": _fuse_current,
    "over_limit": _over_limit, "under_voltage": _under_voltage, "dies_with": _dies_with, "joint_heat": _joint_heat,
    "device_heat": _device_heat, "drain": _drain, "protection": _protection,
    "data_pair": _data_pair, "reading": _reading, "past_fuses": _past_fuses,
}  # fmt: skip
