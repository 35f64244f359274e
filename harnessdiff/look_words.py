"""Words for looks to take next: what to do, where, how long it takes, what each answer leaves, and what bars one."""

from __future__ import annotations

from harnessdiff.describer import Describer
from harnessdiff.model.findings import Findings
from harnessdiff.model.looks import CODES_NOT_SAVED, QUALIFIED, Look, Settles
from harnessdiff.model.rating import Answer
from harnessdiff.rating_words import make_words
from harnessdiff.words import bare, caution_words, check_words

ANSWERS = {
    ("size", "no"): "thick enough", ("size", "yes"): "too thin",
    ("rating", "no"): "no larger than it may be", ("rating", "yes"): "larger than it may be",
    ("way", "no"): "that fuse does not feed it", ("way", "yes"): "that fuse feeds it",
    ("protection", "no"): "protected", ("protection", "yes"): "not protected",
    ("ground_contact", "no"): "sound contact", ("ground_contact", "yes"): "poor contact",
    ("which_wire", "no"): "a wire that adds no concern", ("which_wire", "yes"): "a wire that matters",
    ("part", "no"): "a part as good as the maker's", ("part", "yes"): "a part that is not",
    ("far_end", "no"): "ends where it does no harm", ("far_end", "yes"): "ends where it does harm",
    ("edge", "no"): "through a grommet", ("edge", "yes"): "over the bare edge",
    ("fuse_place", "no"): "close to the source", ("fuse_place", "yes"): "far from it",
    ("rest", "no"): "draws nothing of note", ("rest", "yes"): "drains",
    ("treatment", "capped"): "capped", ("treatment", "bare"): "bare",
    ("circuit", "no"): "a circuit of little weight", ("circuit", "yes"): "a circuit that matters",
    ("joint_heat", "least"): "as little heat as computed", ("joint_heat", "most"): "as much heat as computed",
    ("drain", "least"): "as little as computed", ("drain", "most"): "as much as computed",
    ("over_limit", "least"): "as little as computed", ("over_limit", "most"): "as much as computed",
    ("dimmed", "least"): "as little drop as computed", ("dimmed", "most"): "as much drop as computed",
    ("under_voltage", "least"): "as little drop as computed", ("under_voltage", "most"): "as much drop as computed",
}  # fmt: skip
"""Answers by question; a make of joint, a thought about a box and a label of the record speak for themselves."""
BARS = {
    "restraint": "restraint wiring is concerned or near", "high_voltage": "high voltage is concerned or near",
    "out_of_scope": "out of the survey's scope", "dismantling": "more would have to come off than was allowed",
    CODES_NOT_SAVED: "the battery has to be disconnected, and fault codes are not known to be saved",
}  # fmt: skip
STATES = {
    "battery_off": "battery disconnected", "key_on": "in the condition named", "load_on": "load on",
    "at_rest": "locked and asleep",
}  # fmt: skip
MOST_ANSWERS = 4
"""Of more answers to a question only their number is told; the findings document holds them all."""
LEVELS_MEAN = "A level is an ordinal grade, no frequency; a grade is not a cause."


def answer_words(question: str, answer: str) -> str:
    """An answer to an open question in words."""
    if question == "make":
        return make_words(answer)
    if question == "contents":
        return f"thought {answer} of the record about it"
    return ANSWERS.get((question, answer), bare(answer))


def range_words(best: str, worst: str) -> str:
    """A level, or a range of levels."""
    return best if best == worst else f"{best} to {worst}"


def place_words(look: Look, describer: Describer) -> str:
    """Where a look is taken."""
    places = "; ".join(describer.zone(zone) for zone in look.zones) or "place not recorded"
    if look.not_opened is None:
        return places
    return f"{places} (not opened in the survey{': ' + look.not_opened if look.not_opened else ''})"


def minutes_words(look: Look) -> str:
    """How long a look takes."""
    assumed = ", assumed" if look.access_assumed else ""
    return f"{look.minutes:g} min ({look.access_min:g} to get at it{assumed}, {look.own_min:g} for the look)"


def findings_words(numbers: tuple[int, ...]) -> str:
    """Findings by number."""
    return f"finding{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def narrowing_words(look: Look) -> str:
    """By how much a look narrows: surely, at most, and as expected by the policy."""
    said = f"narrows by at least {_steps(look.narrowing_worst)}, at most {look.narrowing_most}"
    if look.narrowing_expected is None:
        return said
    shares = ", ".join(f"{answer_words(one.question, one.answer)} {one.share:g} ({one.source})" for one in look.priors)
    return f"{said}; expected {look.narrowing_expected:.2g} by the policy's shares: {shares}"


def _steps(number: int) -> str:
    return f"{number} step{'' if number == 1 else 's'}"


def settles_words(one: Settles) -> str:
    """What a look would settle of a finding, and what each answer leaves."""
    if one.best == one.worst:
        return f"finding {one.finding}: {one.best}, and no look moves it"
    now = f"finding {one.finding}: now {range_words(one.best, one.worst)}"
    if not one.answers:
        return f"{now}; nobody can say beforehand what it leaves"
    certain = all(answer.best == answer.worst for answer in one.answers)
    then = ", then one level" if certain else ""
    if len(one.answers) > MOST_ANSWERS:
        return f"{now}{then}; {len(one.answers)} answers"
    return f"{now}{then}; " + "; ".join(_left(one.question, answer) for answer in one.answers)


def _left(question: str, answer: Answer) -> str:
    return f"{answer_words(question, answer.answer)}: {range_words(answer.best, answer.worst)}"


def look_line(look: Look, describer: Describer) -> str:
    """A look in one line: what to do, where, how long."""
    return f"{what_words(look)} · {place_words(look, describer)} · {look.minutes:g} min"


def what_words(look: Look) -> str:
    """What to do; a look that names nothing says of which finding it is."""
    named = any(value is not None for _, value in look.look.params)
    return check_words(look.look) + ("" if named else f" ({findings_words(look.findings)})")


def bar_words(look: Look) -> str:
    """Why a look may not be taken."""
    return BARS[str(look.barred)]


def next_cautions(findings: Findings) -> tuple[str, ...]:
    """The cautions that belong to the looks, in full; the maker's procedure first."""
    looks = findings.next_looks
    numbers = {number for one in (*looks.looks, *looks.barred) for number in one.findings}
    own = [code for finding in findings.findings if finding.number in numbers for code in finding.cautions]
    barred = [one.barred for one in looks.barred if one.barred in QUALIFIED]
    return tuple(caution_words(str(code)) for code in dict.fromkeys(("maker_first", *barred, *own)))
