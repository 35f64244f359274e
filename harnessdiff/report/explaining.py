"""Why a finding has its level: everything that a findings document says of it, in plain words and nothing beyond it.

Every level can be followed with pencil and paper: the numbers add up to the index, a cut point gives the letter, the
cell of MIL-STD-882E Table III the level, caps hold it and floors raise it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from harnessdiff.errors import InputError, Problem
from harnessdiff.look_words import answer_words
from harnessdiff.model.rating import ACCEPTABLE, PROBABILITIES
from harnessdiff.rating_words import ACTIONS, MECHANISMS, contribution_words
from harnessdiff.rating_words import PROBABILITIES as PROBABILITY_WORDS
from harnessdiff.rating_words import SEVERITIES as SEVERITY_WORDS
from harnessdiff.read.schema import nearest
from harnessdiff.report.document_words import (
    also_text,
    caution_text,
    consequence_text,
    contribution_name,
    contribution_of,
    directive_text,
    fact_text,
    finding_level,
    function_name,
    functions_in,
    headline,
    joint_text,
    level_range,
    look_text,
    question_text,
    reading_text,
    rule_text,
    zone_names,
)
from harnessdiff.report.wrapping import wrapped
from harnessdiff.words import GRADE_IS_NOT_A_CAUSE, NO_FREQUENCY, WIRING_NEAR_A_FIRE, bare

Json = Mapping[str, Any]
SEVERITY_AS = {
    "lost": "as {function} would be lost", "acts": "as {function} would act when it should not",
    "lost_in_part": "as {function} would be lost in part, one category less than whole",
    "acts_in_part": "as {function} would act in part, one category less than whole",
    "lead": "by whether a fuse holds it", "heat": "by whether a fuse stands before it",
}  # fmt: skip
BY_THE_METAL = frozenset({"orphaned_lead", "lost_ground", "added_ground"})
"""Kinds whose joint at ground is judged by its contact with the metal."""
NOT_FIRM = "a close call"
MOST_COMPUTED = 8
"""Computed lines that are told; the document holds all of them."""


def explained(document: Json, words: Sequence[str] = (), source: str = "findings") -> str:
    """The reasoning behind findings, in plain words.

    Parameters
    ----------
    document : mapping
        A findings document that its schema accepts.
    words : sequence of str
        Numbers or ids of findings; none for all of them, briefly.
    source : str
        What the document is called in messages.

    Returns
    -------
    str

    Raises
    ------
    InputError
        If there is no such finding; names the nearest.
    """
    if words:
        chosen = [chosen_finding(document, word, source) for word in words]
        lines = [line for finding in chosen for line in (*_finding(document, finding), "")]
    else:
        lines = [line for finding in document["findings"] for line in _briefly(finding)]
        lines += ["", "Name a finding by its number or id for the whole of its reasons."] if lines else ["No finding."]
        lines.append("")
    standing = (GRADE_IS_NOT_A_CAUSE, NO_FREQUENCY, WIRING_NEAR_A_FIRE)
    lines += [*_rated_by(document), *(line for one in standing for line in _wrapped(one))]
    return "\n".join(lines) + "\n"


def _rated_by(document: Json) -> Iterator[str]:
    policy = document.get("policy")
    if policy is not None:
        changed = len(policy.get("changed", ()))
        lines = f", {changed} line{'s' if changed != 1 else ''} changed" if changed else ""
        yield from _wrapped(f"Rated by: {policy['title']} ({policy['id']}{lines}; hash {policy['sha256'][:12]}).")
    inputs = [
        f"{name} {one.get('sha256', 'not from a file')[:16]}"
        for name, one in document["inputs"].items()
        if isinstance(one, Mapping)
    ]
    yield from _wrapped(f"Made with {document['program']}; {', '.join(inputs)}.")


def chosen_finding(document: Json, word: str, source: str = "findings") -> Json:
    """The finding of a number or id; raises as `explained` does."""
    findings = document["findings"]
    by_word = {one["id"]: one for one in findings} | {str(one["number"]): one for one in findings}
    found: Json | None = by_word.get(word)
    if found is not None:
        return found
    if not findings:
        message = f"there is no finding {word}, for there is none at all"
    elif word.isdecimal():
        numbers = sorted(one["number"] for one in findings)
        near = min(numbers, key=lambda one: abs(one - int(word)))
        message = f"there is no finding {word}; the nearest is {near}, and they run from {numbers[0]} to {numbers[-1]}"
    else:
        near_id = nearest(word, [one["id"] for one in findings])
        hint = f"did you mean {near_id}?" if near_id else "name one by its number, such as 1"
        message = f"there is no finding {word}; {hint}"
    raise InputError((Problem(source=source, message=message),))


def _wrapped(text: str, indent: int = 0, hang: int = 2) -> list[str]:
    return wrapped(text, hang=" " * (indent + hang), before=" " * indent)


def _briefly(finding: Json) -> Iterator[str]:
    yield from _wrapped(f"{finding['number']:>3}  {finding_level(finding)}: {headline(finding)}", hang=5)
    for one in finding.get("mechanisms", ())[:1]:
        counts = " + ".join(f"{each['counts']:.12g}" for each in one["contributions"])
        sum_ = f"{counts} = {one['index']:.12g}" if len(one["contributions"]) > 1 else f"{one['index']:.12g}"
        held = f", held by {', '.join(one['caps'])}" if one.get("caps") else ""
        raised = f", raised by {', '.join(one['floors'])}" if one.get("floors") else ""
        code = MECHANISMS[one["code"]]
        yield from _wrapped(
            f"{code}: {sum_}, so {one['probability']}; with {one['severity']} {one['cell']}{held}{raised}", 5
        )


def _finding(document: Json, finding: Json) -> Iterator[str]:
    yield from _wrapped(f"Finding {finding['number']}: {finding_level(finding)}")
    yield from _wrapped(headline(finding), 2)
    yield from _wrapped(f"id {finding['id']}", 2)
    zones = zone_names(document)
    for label, told in (
        ("touches", _touched(finding)),
        ("added", ", ".join(map(bare, finding["added"]))),
        ("circuits", ", ".join(map(bare, finding.get("circuits", ())))),
        ("functions", functions_in(finding)),
        ("in", ", ".join(zones.get(one, bare(one)) for one in finding.get("zones", ()))),
        ("beside the matrix", ", ".join(one.replace("_", " ") for one in finding.get("beside", ()))),
        ("action", _action(finding)),
    ):
        if told:
            yield from _wrapped(f"{label}: {told}", 2)
    mechanisms = finding.get("mechanisms", ())
    yield ""
    yield from _verdict(finding, mechanisms)
    for one in mechanisms:
        yield ""
        yield from _mechanism(one, document.get("policy", {}))
    yield from _firmness(finding, document.get("policy", {}))
    if finding["worst"] == ACCEPTABLE and finding.get("rated") is not False:
        yield from _acceptable(finding, zones)
    yield from _open(finding)
    yield from _established(finding, mechanisms)
    yield from _part("Seen", _seen(document, finding))
    yield from _part("Published rules it runs into", map(rule_text, finding.get("rules", ())))
    yield from _part("As an inspection may read it", map(directive_text, finding.get("directive", ())))
    yield from _part("Cautions", map(caution_text, dict.fromkeys(("maker_first", *finding.get("cautions", ())))))


def _touched(finding: Json) -> str:
    """What it touches; where that is not known, each it may be."""
    may_be = [", ".join(map(bare, one["elements"])) for one in finding.get("possibilities", ()) if one["elements"]]
    one_of = list(dict.fromkeys(may_be))
    if len(one_of) < 2:
        return ", ".join(map(bare, finding["elements"]))
    more = len(one_of) - MOST_ONE_OF
    beyond = f" and {more} more" if more > 0 else ""
    shown = ", ".join(map(bare, finding["elements"]))
    return f"one of {'; '.join(one_of[:MOST_ONE_OF])}{beyond} (what follows is told of {shown})"


MOST_ONE_OF = 6


def _seen(document: Json, finding: Json) -> Iterator[str]:
    """What stands behind it: lines of the record, visits, photographs, readings, notes."""
    if finding.get("observations"):
        visits = [f"{one['when']}{_people(one)}" for one in document.get("visits", ())]
        yield f"lines of the record: {', '.join(finding['observations'])}; visits: {'; '.join(visits)}"
    paths = {one["id"]: one["path"] for one in document.get("photographs", ())}
    pictures = [f"{one} ({paths[one]})" if one in paths else one for one in finding.get("photographs", ())]
    if pictures:
        yield f"photographs: {', '.join(pictures)}"
    told = {one["subject"]: one for one in finding.get("consequences", ()) if one["code"] == "reading"}
    yield from (reading_text(one) for _, one in sorted(told.items()))
    yield from (f"noted: {note}" for note in finding.get("notes", ()))


def _people(visit: Json) -> str:
    return f" by {', '.join(visit['who'])}" if visit.get("who") else ""


def _part(title: str, told: Iterable[str]) -> Iterator[str]:
    rows = list(told)
    if rows:
        yield ""
        yield title
        for row in rows:
            yield from _wrapped(f"- {row}", 2)


def _action(finding: Json) -> str:
    if "action" not in finding:
        return ""
    worst = ACTIONS[finding["action"]]
    return f"{worst}, at its best {ACTIONS[finding['action_best']]}" if "action_best" in finding else worst


def _verdict(finding: Json, mechanisms: Sequence[Json]) -> Iterator[str]:
    if finding.get("rated") is False:
        yield from _wrapped(
            "Not rated: nobody can say from the record how bad it is; everything from acceptable to High is open."
        )
    elif finding["worst"] == ACCEPTABLE:
        return
    elif mechanisms:
        yield from _wrapped(f"It is {finding['worst']} because of: {MECHANISMS[mechanisms[0]['code']]}.")
        if finding["best"] != finding["worst"]:
            yield from _wrapped(
                f"That is its worst: what follows takes every open question below at its gravest. At its best it is "
                f"{finding['best']}."
            )  # fmt: skip
    if finding.get("at_least"):
        yield from _wrapped("Not every way to read the record was gone through: the range is at least so wide.")


def _mechanism(one: Json, policy: Json) -> Iterator[str]:
    opening, *adding = one["contributions"]
    yield from _wrapped(f"{MECHANISMS[one['code']]}: {one['level']}")
    meaning = next((each["words"] for each in policy.get("meanings", ()) if each["severity"] == one["severity"]), "")
    severity = f"severity {one['severity']} {SEVERITY_WORDS[one['severity']]}{_severity_as(opening)}"
    yield from _wrapped(severity + (f"; it means: {meaning}" if meaning else ""), 2)
    yield from _contribution(opening, "  ", "it opens")
    for each in adding:
        yield from _contribution(each, "+ ", "it adds")
    yield f"    = {one['index']:.12g}"
    yield from _letter(one, policy.get("cuts", ()))
    cell = f"{one['severity']} and {one['probability']} give {one['cell']}"
    yield from _wrapped(f"{cell} (MIL-STD-882E, Table III)", 2)
    held = {each["id"]: each for each in policy.get("held", ())}
    for cap in one.get("caps", ()):
        yield from _moved(cap, held.get(cap), "held at", "at most by the cap")
    for floor in one.get("floors", ()):
        yield from _moved(floor, held.get(floor), "raised to", "at least by the floor")
    yield f"  level {one['level']}"
    if one.get("also"):
        yield "  opens it too, and does not decide:"
        alike: dict[tuple[str, str, str], list[Json]] = {}
        for each in one["also"]:
            key = (contribution_words(contribution_of(each)), f"{each['counts']:.12g}", each.get("severity", ""))
            alike.setdefault(key, []).append(each)
        for (_, counts, severity), several in alike.items():
            yield from _wrapped(f"- {also_text(several)}: {counts}{', ' if severity else ''}{severity}", 4)


def _severity_as(opening: Json) -> str:
    how = SEVERITY_AS.get(opening.get("severity_as", ""))
    if how is None:
        return ""
    function = opening.get("function")
    return ", " + how.format(function=f"“{function_name(function)}”" if function else "a function that nobody knows")


def _contribution(one: Json, sign: str, how: str) -> Iterator[str]:
    yield from _wrapped(f"{sign}{one['counts']:.12g}  {contribution_name(one)}", 4, 6)
    why = f"{one['why']} " if one.get("why") else ""
    yield from _wrapped(f"{how}: {why}({one['source'] or 'the record'})", 10)


def _letter(one: Json, cuts: Sequence[Json]) -> Iterator[str]:
    letter, points = one["probability"], {each["probability"]: each["index"] for each in cuts}
    rising = ", ".join(f"{each} from {points[each]:.12g}" for each in PROBABILITIES if each in points)
    none = "reaches no cut point" if points else "counts, by cut points that this document does not hold"
    reached = f"reaches {points[letter]:.12g}" if letter in points else none
    scale = f" (E below; {rising})" if rising else ""
    yield from _wrapped(f"{one['index']:.12g} {reached}: {letter} {PROBABILITY_WORDS[letter]}{scale}", 2)


def _moved(id_: str, line: Json | None, how: str, what: str) -> Iterator[str]:
    if line is None:
        yield from _wrapped(f"{how} its level {what} {id_}, of which the document says no more", 2)
    else:
        yield from _wrapped(f"{how} {line['level']} {what} {id_}: {line['why']} ({line['source']})", 2)


def _firmness(finding: Json, policy: Json) -> Iterator[str]:
    firm = finding.get("firm")
    if not isinstance(firm, Mapping) or not isinstance(firm.get("shares"), Mapping):
        return
    vary = policy.get("firmness", {}).get("vary_share")
    shares = ", ".join(f"{level} in {100 * share:.0f} %" for level, share in firm["shares"].items())
    by = f" by up to {100 * vary:.3g} %" if vary is not None else ""
    yield ""
    yield from _wrapped(
        f"Firm: {'yes' if firm.get('firm') else NOT_FIRM}; of the trials with every weight varied{by}: {shares}"
    )


def _acceptable(finding: Json, zones: Mapping[str, str]) -> Iterator[str]:
    if "action" not in finding:
        yield from _wrapped("Recorded: a state of the place, which counts where it makes something else worse.")
        return
    yield from _wrapped(
        "Acceptable: nothing that is established of it opens a way to do harm that the maker's own circuit had not."
    )  # fmt: skip
    if finding["kind"] in BY_THE_METAL:
        yield from _wrapped("A joint at ground is judged by its contact with the metal.", 2)
    for joint in finding.get("joints", ()):
        state = [one for one in joint.get("condition", ()) if one != "clean"]
        seen = "no fault of it is recorded" if not state else "its state counts nowhere here"
        yield from _wrapped(
            f"- joint {joint_text(joint, zones)}: as good there as the maker's by the policy; {seen}", 2
        )
    if not finding.get("joints"):
        yield from _wrapped("- no joint was added", 2)
    protection = [one for one in finding.get("consequences", ()) if one["code"] == "protection"]
    for one in protection:
        yield from _wrapped(f"- {consequence_text(one)}", 2)


def _open(finding: Json) -> Iterator[str]:
    opens = finding.get("opens", ())
    if opens:
        yield ""
        yield "What is not known, and moves the level"
    for one in opens:
        yield from _wrapped(f"- {question_text(one)}", 2)
        yield from _wrapped(f"to settle it: {look_text(one['look'])}", 4)
        leaving: dict[str, list[str]] = {}
        for answer in one["answers"]:
            left = level_range(answer["best"], answer["worst"])
            leaving.setdefault(left, []).append(answer_words(one["question"], answer["answer"]))
        for left, answers in leaving.items():
            yield from _wrapped(f"if {' or '.join(answers)}: {left}", 4)


def _established(finding: Json, mechanisms: Sequence[Json]) -> Iterator[str]:
    facts = [words for one in finding["facts"] if (words := fact_text(one))]
    yield from _part("Established", facts)
    contributions = tuple(_all(mechanisms))
    consequences = finding.get("consequences", ())
    counting = [one for one in consequences if any(_counts(one, each) for each in contributions)]
    # What the deciding contribution rests on comes first, the others in their order.
    deciding = contributions[:1]
    counting.sort(key=lambda one: not any(_counts(one, each) for each in deciding))
    first = {(one["code"], one["subject"]): one for one in reversed(counting)}
    told = [one for one in counting if one is first[one["code"], one["subject"]]][:MOST_COMPUTED]
    yield from _part("Computed, and counted", map(consequence_text, told))
    others = len(consequences) - len(told)
    if others > 0:
        yield from _wrapped(f"  {others} more in the document: the same of other conditions, or what did not count")


def _all(mechanisms: Sequence[Json]) -> Iterator[Json]:
    for one in mechanisms:
        yield from (*one["contributions"], *one.get("also", ()))


def _counts(consequence: Json, contribution: Json) -> bool:
    """Whether a contribution comes of a consequence: the same thing, of the same element, in the same condition."""
    params, conditions = contribution.get("params", {}), consequence.get("conditions", ())
    return (
        contribution["code"] in _codes(consequence["code"])
        and consequence["subject"] in (*params.values(), contribution.get("about"))
        and ("condition" not in params or not conditions or params["condition"] == conditions[0])
    )


def _codes(code: str) -> tuple[str, ...]:
    """Codes by which a consequence contributes."""
    return CONTRIBUTES_AS.get(code, (code,))


CONTRIBUTES_AS = {
    "protection": ("not_protected", "not_against_overload"), "live_unasked": ("live_unasked", "acts_by_itself"),
    "fuse_current": ("fuse_over",), "data_pair": ("data_pair_out",),
}  # fmt: skip
