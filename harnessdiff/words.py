"""Words for codes: the only place where findings become sentences, so that a translation can follow."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from harnessdiff.model.findings import Finding, Findings, FlaggedJoint, InstallFound
from harnessdiff.model.harness import Conductor, Harness, JointDetails
from harnessdiff.model.modification import Fact
from harnessdiff.model.quantity import Quantity
from harnessdiff.model.rating import ACCEPTABLE, LEVELS, Contribution, Rating
from harnessdiff.model.survey import Photograph, Probe, Reading
from harnessdiff.rating_words import contribution_words
from harnessdiff.tables.loader import carried_share, functions, joint_order, rows

KINDS = {
    "tap": "tap", "insertion": "something in series", "bridge": "bridge between circuits", "bypass": "bypass",
    "open_circuit": "open circuit", "wrong_rated_protection": "wrong fuse", "thinner_conductor": "thinner wire",
    "substituted_conductor": "another wire", "substituted_part": "another part", "swap": "wires changed over",
    "moved_pin": "wire moved", "moved_ground": "ground moved", "moved_part": "part moved",
    "removed_part": "part gone", "repair": "repair", "orphaned_lead": "loose lead",
    "untraced_lead": "lead not followed", "added_ground": "added ground", "added_device": "added device",
    "lost_ground": "ground lost", "routing": "unsafe route", "damage": "damage", "surroundings": "surroundings",
    "reading": "reading not explained", "other": "other", "unrecognised": "change not recognised",
}  # fmt: skip
TYPES = {
    "plug_in": "plug-in adaptor", "factory_splice": "factory splice", "splice_barrel": "splice barrel",
    "butt_crimp": "butt crimp", "solder": "soldered", "ring_terminal": "ring terminal", "clamp": "post clamp",
    "solder_ring_sleeve": "solder-ring sleeve", "bullet": "bullet", "threaded_tap": "threaded tap",
    "lever_connector": "lever connector", "push_on": "push-on", "screw_strip": "screw strip",
    "fuse_slot_adaptor": "fuse-slot adaptor", "blade_tap": "blade tap",
    "insulation_displacement": "insulation displacement", "twist_on": "twist-on", "twisted": "twisted",
    "under_screw": "under a screw", "bare_contact": "bare contact", "other": "joint of another sort",
    "unknown": "joint not seen",
}  # fmt: skip
COVERS = {
    "adhesive_sleeve": "adhesive sleeve", "sleeve": "sleeve", "sealed_housing": "sealed housing",
    "housing": "housing", "cap": "cap", "tape": "taped", "none": "bare", "unknown": "",
}  # fmt: skip
TOOLS = {"pliers": "made with pliers", "hand": "made by hand"}
STATES = {
    "loose": "loose", "burnt": "burnt", "green": "corroded green", "wet": "wet", "strands_cut": "strands cut",
    "cracked": "cracked", "cover_melted": "cover melted", "cover_open": "cover open", "other": "damaged",
}  # fmt: skip
INSTALLS = {row["install"]: row["words"] for row in rows("install_signatures")}
STATUSES = {
    "looked_at": "looked at", "not_opened": "not opened", "out_of_scope": "out of scope",
    "not_inspected": "not inspected",
}  # fmt: skip
REASONS = {
    "nothing_fits": "fits nothing on the reference", "nothing_there": "names something that is not there",
    "no_such_device": "names no device of the reference", "no_such_metal": "the reference has no such metal part",
    "no_place": "says nothing of the place", "which_not_said": "does not say which",
}  # fmt: skip
PASSAGES = {
    "passes_through": "through",
    "passes_edge": "over",
    "tied_to": "tied to",
    "touches": "touches",
    "near": "near",
}
GRADE_IS_NOT_A_CAUSE = "A grade is not a cause: how bad a finding is does not say that it explains the complaint."
NO_FREQUENCY = (
    "No frequency is claimed: the index of probability is a sum of weights, which puts findings in order and counts "
    "nothing."
)
WIRING_NEAR_A_FIRE = (
    "Added wiring at or near a fire, even against a rule, is no proof that it caused the fire (NFPA 921, 14-1)."
)
"""By a copy at second hand of the edition whose chapter 14 is of electricity, probably that of 1998."""
SIDES = "Left and right are as seated facing forward."
NOT_SEEN_IS_NOT_MISSING = "Only what was looked at can count as found in order; everything else is not inspected."
SYMPTOMS = {
    "battery_flat": "battery flat", "no_crank": "does not crank", "no_start": "does not start", "stalls": "stalls",
    "lamp_on": "lamp on that should be off", "lamp_off": "lamp off that should be on", "lamp_dim": "lamp dim",
    "fuse_blows": "fuse blows", "warning_lamp": "warning lamp on", "load_runs": "load runs that should not",
    "load_dead": "load dead", "heat_or_smell": "heat or smell", "noise": "noise", "other": "other",
}  # fmt: skip
PRACTICES = {
    "fused_at_source": "fused at its source", "plug_in_reversible": "plug-in, can be undone",
    "sealed_joint": "sealed joint", "labelled": "labelled", "supported": "supported", "grommet": "grommet fitted",
    "documented": "documented", "other": "well done",
}  # fmt: skip


_UNNAMED = re.compile(r"^([a-z_]+)-([0-9a-f]{6}(?:-\d+)?)(?=\.|$)")


def bare(element_id: str) -> str:
    """An id as a person reads it: without the mark of added things, and said where nobody gave one."""
    return _UNNAMED.sub(r"unnamed \1 \2", element_id.removeprefix("+"))


def level_words(rating: Rating) -> str:
    """The level in words: one, a range, not rated, or recorded."""
    if not rating.rated:
        return "not rated"
    if rating.condition:
        return "recorded"
    if rating.worst == ACCEPTABLE:
        return "recorded, acceptable"
    if rating.certain:
        return rating.worst
    return f"{'acceptable' if rating.best == ACCEPTABLE else rating.best} to {rating.worst}"


def outcome_of(rating: Rating) -> str:
    """The outcome by which a flag is coloured: the worst level, acceptable, or not rated."""
    return rating.worst if rating.rated else "not rated"


def joint_words(details: JointDetails) -> str:
    """A joint in few words: type, cover, tool where it matters, and its state."""
    parts = [TYPES[details.type]]
    cover = COVERS[details.cover]
    if cover and details.type not in ("plug_in", "clamp", "unknown"):
        parts.append(cover)
    if details.tool in TOOLS and details.type in ("butt_crimp", "splice_barrel", "ring_terminal"):
        parts.append(TOOLS[details.tool])
    parts += [STATES[state] for state in details.condition if state in STATES]
    return ", ".join(parts)


def passage_words(kind: str, what: str) -> str:
    """One thing along a route in words."""
    return f"{PASSAGES[kind]} {what.replace('_', ' ')}"


def rank_words(joint: FlaggedJoint) -> str:
    """Where a joint stands in the order of joints."""
    last = max(row.rank for row in joint_order())
    if joint.best_rank == joint.worst_rank:
        return f"{joint.best_rank} of {last} in the order of joints"
    return f"{joint.best_rank} to {joint.worst_rank} of {last} in the order of joints"


def function_words(codes: Iterable[str]) -> str:
    """Functions in words."""
    table = functions()
    return ", ".join(table[code].words for code in codes if code in table)


@cache
def _cautions() -> dict[str, str]:
    return {row["code"]: row["words"] for row in rows("cautions")}


def caution_words(code: str) -> str:
    """A caution in full."""
    return _cautions()[code]


def reason_words(finding: Finding) -> tuple[str, ...]:
    """What moved the level that decides, in words, the weightiest first.

    What speaks of a lead names it, and what holds only in the worst case says so.
    """
    if not finding.rating.mechanisms:
        return ()
    first = finding.rating.mechanisms[0]
    deciding = [_contributes(one, finding) for one in first.contributions]
    also = [f"{ALSO}{_contributes(one, finding)}" for one in first.also if _about_a_lead(one)]
    return tuple(dict.fromkeys([*deciding, *also]))


def _about_a_lead(one: Contribution) -> bool:
    return one.code in FAULTS_OF_LEADS


def _contributes(one: Contribution, finding: Finding) -> str:
    facts = [fact for fact in finding.modification.facts if fact.code in (one.code, f"{one.code}_perhaps")]
    leads = dict.fromkeys(bare(str(fact.get("lead"))) for fact in facts if fact.get("lead"))
    subject = dict(one.params).get("subject")
    leads |= {bare(subject): None} if isinstance(subject, str) else {}
    leads.pop(bare(finding.modification.root), None)
    doubt = AT_WORST if _only_at_worst(one, facts, finding) else ""
    return f"{doubt}{contribution_words(one)}" + (f" ({', '.join(leads)})" if leads else "")


ASKED_BY = {
    "poor_ground_contact": "ground_contact", "shared_ground": "ground_contact", "far_end_unknown": "far_end",
    "place_unknown": "which_wire", "unknown_part": "part", "no_grommet": "edge", "far_end_fuse": "fuse_place",
    "rest_unknown": "rest", "rating": "rating", "drain": "drain",
}  # fmt: skip
"""What is established only where an open question is answered gravely, and the question."""
AT_WORST = "at worst: "
ALSO = "also "


def _only_at_worst(one: Contribution, facts: list[Fact], finding: Finding) -> bool:
    """Whether something is established only where an open question is answered gravely."""
    open_ = {question.question for question in finding.rating.opens}
    if one.code == "joint":
        return any(question.question == "make" and question.about == one.about for question in finding.rating.opens)
    if ASKED_BY.get(one.code) in open_ and not any(fact.code == one.code and is_sure(fact) for fact in facts):
        return True
    if one.code == "over_fused" and one.how == "adds":
        return not _surely_twice(finding)
    return bool(facts) and all(not is_sure(fact) for fact in facts)


def _surely_twice(finding: Finding) -> bool:
    """Whether a fuse is twice the limit of its conductor even where that is as thick as it may be."""
    for fact in finding.modification.facts:
        rating, limit = fact.get("rating_A"), fact.get("limit_A")
        sure = fact.code == "over_fused" and is_sure(fact)
        if sure and isinstance(rating, float) and isinstance(limit, float) and rating >= 2 * limit:
            return True
    return False


FAULTS_OF_LEADS = frozenset({
    "unprotected", "unprotected_perhaps", "far_end_fuse", "two_sources", "over_fused", "over_fused_perhaps",
    "unsuitable_conductor", "size_claim_untrue", "insert_thinner",
})  # fmt: skip
"""Facts that are about a lead and not about the joint it begins at."""


def blamed(finding: Finding) -> dict[str, tuple[Fact, ...]]:
    """Added leads that the reasons of the deciding mechanism speak of, with those facts.

    Parameters
    ----------
    finding : Finding

    Returns
    -------
    dict
        Id of the lead to what is wrong with it, in the order of the facts; a lead that is the
        finding's own subject is left out.
    """
    if not finding.rating.mechanisms:
        return {}
    first = finding.rating.mechanisms[0]
    codes = {one.code for one in (*first.contributions, *first.also)}
    codes = (codes | {f"{code}_perhaps" for code in codes}) & FAULTS_OF_LEADS
    found: dict[str, tuple[Fact, ...]] = {}
    for fact in finding.modification.facts:
        lead = fact.get("lead")
        if fact.code in codes and isinstance(lead, str) and lead.startswith("+") and lead != finding.modification.root:
            found[lead] = (*found.get(lead, ()), fact)
    return found


def grade_words(finding: Finding) -> str:
    """Which leads the level comes from, where it is not from the joint itself."""
    leads = [bare(lead) for lead in blamed(finding)]
    if not leads:
        return ""
    return f"the level comes from lead{'s' if len(leads) > 1 else ''} {', '.join(leads)}"


def lead_fact_words(fact: Fact) -> str:
    """A fact about a lead as it is written beside that lead: without its name."""
    lead = value_words(fact.get("lead"))
    return (fact_words(fact) or "").removeprefix(f"{lead}: ").removeprefix(f"{lead} ")


def is_sure(fact: Fact) -> bool:
    """Whether a fact holds in every way to read the record."""
    return fact.sure


FACTS = {
    "at_source": "joined at the source {device}",
    "slot_empty": "{slot} is left empty",
    "in_slot": "in the slot {slot}",
    "wrong_way_round": "on the load side of slot {slot}",
    "bypasses": "goes past {device}",
    "interlock": "interlock: {refuses}",
    "to_ground": "joined to ground",
    "lost_ground": "what it grounded has lost its ground",
    "joins_circuits": "joins {circuits}",
    "joins_fuses": "joins what hangs on {fuses}",
    "diode_isolated": "through a diode",
    "through_device": "through {device}",
    "colour_differs": "{was} on the reference, {now} found",
    "module_output": "fed by an output of {device}",
    "own_energy": "{device} has cells of its own",
    "cut_end_live": "a cut end of it is live",
    "loose_end": "{lead} end {end} loose, {treatment}",
    "loose_end_live": "{lead} end {end} is live",
    "loose_end_dead": "{lead} end {end} found dead",
    "not_traced": "{lead} not followed beyond end {end}",
    "unsuitable_conductor": "{lead}: {sort}",
    "size_claim_untrue": "{lead}: {claimed_mm2} mm² claimed, {seen_mm2} mm² seen",
    "unprotected": "{lead} has no protection between it and a source",
    "unprotected_perhaps": "{lead} perhaps has no protection between it and a source",
    "far_end_fuse": "{lead}: its fuse sits {distance_m} m from the source (limit {limit_m} m)",
    "over_fused": "{lead}: {size_mm2} mm² behind {rating_A} A ({fuse}), limit {limit_A} A{least} by the {table}",
    "over_fused_perhaps": "{lead} may be too thin for {rating_A} A ({fuse}): its size is not known well enough",
    "two_sources": "{lead} is fed from both ends: {devices}",
    "rating_perhaps": "{was} A on the reference, what is there now is not known well enough ({now} A)",
    "rating": "{was} A{was_colour} on the reference, {now} A{now_colour} found",
    "shares_fuse": "{fuse} also feeds {loads}",
    "permanent_supply": "live at all times",
    "switched_supply": "live when switched on",
    "damage": "{sort}, {extent}",
    "shared_ground": "ground shared",
    "past_a_sensor": "above the sensor {device}, which does not measure its current",
    "out_of_range": "{joint} is made for {least_mm2} to {greatest_mm2} mm², {wire} has {size_mm2} mm²",
    "ground_contact_unseen": "nobody saw whether the metal under it is bare",
    "poor_ground_contact": "ground on paint or a sheet-metal screw",
    "on_belt_or_seat_fixing": "on a {fixing}",
    "on_restraint_fixing": "on a fixing of the restraint system",
    "no_grommet": "{lead} passes a {what} without grommet",
    "no_grommet_perhaps": "{lead} passes a {what}, and nobody said whether through a grommet",
    "holder_state": "in-line {part} in {lead}: {sort}",
    "near_hot": "{lead} {kind} {what}",
    "near_moving": "{lead} {kind} {what}",
    "near_restraint": "{lead} {kind} {what}",
    "near_high_voltage": "{lead} {kind} {what}",
    "near_bedding": "{lead} {kind} {what}",
    "on_brake_or_fuel_pipe": "{lead} {kind} {what}",
    "rubbing": "{lead} shows rubbing",
    "near_termination": "{joint} sits within {distance_m} m of {by} on {wire} (usual least {limit_m} m)",
    "close_to_next": "{joint} sits within {distance_m} m of {other} (usual least {limit_m} m)",
    "several_joints": "{count} joints or repairs in {wire} ({joints})",
    "tinned_in_crimp": "{joint}: strands tinned with solder and then crimped",
    "tinned_under_screw": "{joint}: strands tinned with solder and held by a screw",
    "twisted_in_crimp": "{joint}: wires twisted together and then crimped",
    "in_flex_point": "joint {joint} sits where it flexes",
    "wet_place": "wet place",
    "place_unknown": "nobody knows on which wire",
    "moved": "was at {was}, now at {now}",
    "substituted": "{was} on the reference, {now} found",
    "insert_piece": "with a piece put in ({lead})",
    "insert_thinner_perhaps": "the piece put in may have as little as {now} mm², the wire {was} mm²",
    "insert_thinner": "the piece put in has {now} mm², the wire {was} mm²",
    "size_perhaps": "{was} mm² on the reference, as little as {now} mm² found",
    "size": "{was} mm² on the reference, {now} mm² found",
    "owner_other": "belongs to {owner}",
    "security": "part of the vehicle's security",
    "dummy_load": "a resistor stands in for something",
    "on_plastic": "{device} gets hot and sits on plastic or loom",
    "unplugged": "unplugged",
    "blown": "blown",
    "wire_cut": "the wire was cut for it",
    "surroundings": "found {now}",
}

NEXT = {"by": "the next connector or branch", "other": "the next connector, branch or splice"}
"""What a measured distance is to, where the record does not say to which."""

PERHAPS_OVER_FUSED = {
    "rating": "{lead} may be too thin for what it hangs on ({fuse}): that rating is not known well enough",
    "way": "{lead} would be too thin for {rating_A} A ({fuse}), if that feeds it: what is in between is not known",
}
"""Said instead where it is not the size that nobody knows."""


@cache
def _terminal_meanings() -> dict[str, str]:
    return {row["number"]: row["meaning"] for row in rows("terminals") if row["number"] not in RELAY_TERMINALS}


# What 87 means depends on the convention that a reference names, so that no meaning is printed for relays.
RELAY_TERMINALS = frozenset({"85", "86", "87", "87a", "87b", "C", "L", "R", "1", "4"})


PROTECTIONS = {"fuse": "{}", "inline": "in-line fuse of {}", "output": "output of {}", "source": "limit of {}"}


def terminal_words(number: str) -> str:
    """What a terminal number of DIN 72552 stands for; nothing for other names."""
    return _terminal_meanings().get(number, "")


def fuse_colour(body: object, rating_A: object) -> str:
    """Colour of a blade fuse of a body and rating by ISO 8820-3; nothing for others."""
    for row in rows("fuse_colours"):
        if row["body"] == body and isinstance(rating_A, (int, float)) and float(row["rating_A"]) == rating_A:
            return row["colour"]
    return ""


def fact_words(fact: Fact) -> str | None:
    """A fact in words; None for one that goes without saying."""
    if fact.code == "moved" and "now" in dict(fact.params) and fact.get("now") is None:
        return f"taken off {value_words(fact.get('was'))}"
    template = FACTS.get(fact.code)
    if fact.code == "over_fused_perhaps":
        template = PERHAPS_OVER_FUSED.get(str(fact.get("unknown")), template)
    if template is None:
        return None
    values = {name: value_words(value) for name, value in fact.params}
    if "fuse" in values:
        values["fuse"] = PROTECTIONS[str(fact.get("sort") or "fuse")].format(values["fuse"])
    if fact.code == "rating":
        for side in ("was", "now"):
            colour = fuse_colour(fact.get(f"{side}_body"), fact.get(side))
            values[f"{side}_colour"] = f" ({colour})" if colour else ""
    if fact.code == "over_fused":
        least = fact.get("least_limit_A")
        differs = least is not None and least != fact.get("limit_A")
        values["least"] = f" ({values['least_limit_A']} A if it is as thin as it may be)" if differs else ""
    missing = dict.fromkeys(("was", "now", "device", "fixing", "extent", "size_mm2", "zone", "owner"), "?") | NEXT
    said = template.format_map({**missing, **values}).replace(", ?", "").strip(" :")
    return f"perhaps {said}" if fact.get("perhaps") else said


def value_words(value: object) -> str:
    """A value of a fact as a person reads it."""
    if isinstance(value, tuple):
        shown = [bare(str(one)) for one in value]
        return ", ".join(shown[:4]) + (f" and {len(shown) - 4} more" if len(shown) > 4 else "")
    if isinstance(value, float):
        return f"{value:.3g}" if abs(value) < 1000 else f"{value:g}"
    return "?" if value is None else bare(str(value)).replace("_", " ") if _is_code(value) else bare(str(value))


def _is_code(value: object) -> bool:
    return isinstance(value, str) and value.islower()


CHECKS = {
    "ring_out": "battery disconnected, ring out from the joint: {ends}",
    "look_which_side_of_the_cut": "look on which side of the cut in {wire} it sits",
    "unwrap": "unwrap {joint} and look",
    "measure_size": "measure the size of {lead}",
    "read_the_fuse": "read the rating on the fuse ({fuse})",
    "follow": "follow {lead} beyond end {end}",
    "find_the_wire": "find out which wire it is on",
    "drop_under_load": "measure the drop to battery negative under load; over 0.1 V is suspect",
    "drop_over_joint": "measure the drop over {joint} with its load on, back-probed at the connectors",
    "find_its_protection": "find what protects {lead}: follow it by hand towards its source",
    "find_the_circuit": "find out which circuit it is in, by what the wires lead to",
    "identify_the_part": "find out what the part is, by its markings",
    "look_at_the_route": "look at {lead} where it passes the {what}",
    "look_at_the_end": "look how end {end} of {lead} is treated: capped, taped or bare",
    "look_inside": "read the label of {device}, or look inside where it opens without force",
    "measure_at_rest": "measure the current of {subject} with a clamp, the vehicle locked and asleep",
    "measure_in": "measure at {subject} ({condition}) with its load on, back-probed at the connector",
    "by_qualified_person": "leave it to a qualified person: nothing is to be probed, metered or opened here",
}


CUT_END = "look how the cut end is treated: capped, taped or bare"


def check_words(check: Fact) -> str:
    """A look or measurement in words."""
    if check.code == "look_at_the_end" and check.get("lead") is None:
        return CUT_END
    return CHECKS[check.code].format_map({name: value_words(value) for name, value in check.params})


PICTURES = {
    "missing": "{id} ({path} is missing)",
    "changed": "{id} ({path} is not the picture that was recorded)",
    "no_hash": "{id} ({path} was recorded without a hash)",
}


def reading_words(reading: Reading) -> str:
    """A reading in few words: its name, what was read, between what, in which condition, and its note."""
    values = [
        f"{quantity_words(quantity)} {unit}"
        for quantity, unit in (
            (reading.voltage_V, "V"), (reading.current_A, "A"), (reading.resistance_ohm, "Ω"),
            (reading.temperature_degC, "°C"),
        )
        if quantity.known
    ]  # fmt: skip
    values += [reading.word] if reading.word else []
    points = [_probe_words(one) for one in reading.between]
    place = f"between {' and '.join(points)}" if len(points) == 2 else f"at {', '.join(points)}" if points else ""
    condition = (reading.condition or "").replace("_", " ")
    said = " ".join(part for part in (", ".join(values), place, f"({condition})" if condition else "") if part)
    return f"{reading.id}: {said}" + (f", {reading.note}" if reading.note else "")


def _probe_words(probe: Probe) -> str:
    named = probe.terminal or probe.wire or probe.joint or probe.lead
    if probe.device:
        named = f"{probe.device}:{probe.pin}" if probe.pin else probe.device
    return ", ".join(part for part in (bare(named) if named else "", probe.words) if part)


def quantity_words(quantity: Quantity) -> str:
    """A quantity as a value, a range or a bound, without its unit."""
    low, high = (f"{round(bound, 2):g}" if bound is not None else "" for bound in (quantity.low, quantity.high))
    if low and high:
        return low if low == high else f"{low}–{high}"
    return f"from {low}" if low else f"up to {high}" if high else ""


def picture_words(photograph: Photograph) -> str:
    """A photograph that is not verified, and why."""
    return PICTURES[photograph.evidence or "missing"].format(id=photograph.id, path=photograph.path)


CONVENTIONS = {"blowing": "marked by the current at which it blows"}


def fuse_words(harness: Harness, slot: str) -> str:
    """A fuse by its rating and name: what sits in the slot, or what the slot is.

    A rating that is not what the fuse carries for ever says so.
    """
    seated = [harness.device(one) for one in harness.subjects(slot, "seat")]
    device, own = next((one for one in seated if one is not None), None), harness.device(slot)
    fuse = device or own
    rating = fuse.rating_A.exact if fuse is not None else None
    name = own.name if own is not None else None
    said = " ".join(part for part in (f"{rating:g} A" if rating is not None else "", name or "") if part)
    convention = CONVENTIONS.get(fuse.rating_convention or "") if fuse is not None else None
    if rating is None or fuse is None or convention is None:
        return said
    return f"{said}, {convention}; carries about {rating * carried_share(fuse.rating_convention):g} A"


def size_words(conductor: Conductor) -> str:
    """Size of a conductor with its unit, as a value, a range, or nothing."""
    size = conductor.size_mm2
    if size.as_entered and size.as_entered.endswith("AWG"):
        return size.as_entered
    words = quantity_words(size)
    return f"{words} mm²" if words else ""


def install_words(install: InstallFound) -> str:
    """What an install is consistent with; nothing where it is like none."""
    if not install.consistent_with:
        return ""
    return "consistent with " + "; or ".join(INSTALLS[one.install] for one in install.consistent_with[:2])


def summary_words(findings: Findings) -> str:
    """Number of findings by level, worst first; what may be of a level is told from what is."""
    words = []
    rated = [finding.rating for finding in findings.findings if finding.rating.rated]
    for level in reversed(LEVELS):
        sure = sum(rating.worst == level and rating.certain for rating in rated)
        perhaps = sum(rating.worst == level and not rating.certain for rating in rated)
        words += [f"{sure} {level}"] if sure else []
        words += [f"{perhaps} up to {level}"] if perhaps else []
    acceptable = sum(not rating.flagged for rating in rated)
    words += [f"{len(findings.findings) - len(rated)} not rated"] if len(rated) < len(findings.findings) else []
    words += [f"{acceptable} recorded, acceptable"] if acceptable else []
    total = len(findings.findings)
    if total:
        return f"{total} finding{'s' if total != 1 else ''}: " + ", ".join(words)
    if findings.plain:
        return f"no finding; {len(findings.plain)} said plainly, below"
    looked = any(zone.status == "looked_at" for zone in findings.coverage.zones)
    return "nothing differs where it was looked at" if looked else "nothing was looked at, so nothing can be said"


def not_seen(findings: Findings) -> tuple[str, ...]:
    """Zones that were not looked at: those with a reason each by itself, the others together."""
    reasoned = [
        f"{zone.name} ({STATUSES[zone.status]}: {zone.because})"
        for zone in findings.coverage.zones
        if zone.status != "looked_at" and zone.because
    ]
    together: dict[str, list[str]] = {}
    for zone in findings.coverage.zones:
        if zone.status != "looked_at" and not zone.because:
            together.setdefault(zone.status, []).append(zone.name)
    return (*reasoned, *(f"{STATUSES[status]}: {'; '.join(names)}" for status, names in together.items()))
