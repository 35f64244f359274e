"""In which places of the vehicle a finding lies: wherever a person finds a piece of it."""

from __future__ import annotations

from harnessdiff.model.findings import Finding
from harnessdiff.model.harness import Harness


def places_of(finding: Finding, as_found: Harness) -> tuple[str, ...]:
    """Zones in which something of a finding is to be seen.

    Parameters
    ----------
    finding : Finding
    as_found : Harness

    Returns
    -------
    tuple of str
        The finding's own zones, then those of its joints, of what is damaged, of its leads' open
        ends and of what its leads pass.
    """
    modification = finding.modification
    found = [*finding.zones, *(joint.zone for joint in finding.joints)]
    for element_id in (modification.root, *modification.added):
        element = as_found.by_id.get(element_id)
        found.append(getattr(element, "zone", None))
        lead = as_found.conductor(element_id)
        if lead is not None and element_id.startswith("+"):
            found += lead.zones if lead.open_ends else ()
            found += [passage.zone for passage in lead.route]
    return tuple(zone for zone in dict.fromkeys(found) if zone is not None and as_found.zone(zone) is not None)
