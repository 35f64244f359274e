"""What observations say of the elements they make, and the zones that a thing lies in."""

from __future__ import annotations

from collections.abc import Mapping

from harnessdiff.model.edit import AsFound
from harnessdiff.model.harness import Harness, Zone
from harnessdiff.model.modification import Modification
from harnessdiff.model.observation import AnyObservation
from harnessdiff.model.survey import Survey


class Evidence:
    """What observations say of the elements they make: kit, owner, and everything else that travels along."""

    def __init__(self, as_found: AsFound, survey: Survey) -> None:
        self.by_id: dict[str, AnyObservation] = {one.id: one for one in survey.observations}
        self.seen_in: Mapping[str, tuple[str, ...]] = dict(as_found.seen_in)
        self.unverified = {one.id for one in survey.photographs if one.unverified}
        self.kits = self._of_elements("kit")
        self.owners = {
            element: owner
            for element, owner in self._of_elements("owner").items()
            if owner in ("lender", "insurer", "fleet")
        }

    def _of_elements(self, name: str) -> dict[str, str]:
        found = {}
        for element, sources in self.seen_in.items():
            for source in sources:
                value = getattr(self.by_id.get(source), name, None)
                if value:
                    found[element] = str(value)
        return found

    def of(self, modification: Modification) -> tuple[str, ...]:
        """Observations that a modification stands on, in the order of their ids."""
        elements = {modification.root, *modification.added, *modification.joints}
        if modification.role in ("ends", "plugged", "end_1", "end_2"):
            elements |= set(modification.elements)
        sources = {source for element in elements for source in self.seen_in.get(element, ())}
        return tuple(sorted(one for one in self.by_id if one in sources))


def zones_by_id(harness: Harness, ids: tuple[str, ...]) -> tuple[Zone, ...]:
    """The zones with these ids; those that are none are left out."""
    return tuple(zone for zone in map(harness.zone, ids) if zone is not None)
