"""What observations say of the elements they make, and the zones that a thing lies in."""

from __future__ import annotations

import re
from collections.abc import Mapping

from harnessdiff.model.edit import AsFound
from harnessdiff.model.harness import Harness, Zone
from harnessdiff.model.modification import Modification
from harnessdiff.model.observation import AnyObservation
from harnessdiff.model.survey import Survey

YEARS_TOLD = re.compile(
    r"((c\.|ca\.|circa|about|before|by)\s*)?(\d{4}\s*(-|to)\s*)?(?P<last>(18|19|20)\d\d)(?P<decade>s?)", re.IGNORECASE
)
"""A year, years from and to, or the years of a decade; other words may say that it is younger, and are not read."""


class Evidence:
    """What observations say of the elements they make: kit, owner, age, and everything else that travels along."""

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
        self.years = self._years(survey)

    def _of_elements(self, name: str) -> dict[str, str]:
        found = {}
        for element, sources in self.seen_in.items():
            for source in sources:
                value = getattr(self.by_id.get(source), name, None)
                if value:
                    found[element] = str(value)
        return found

    def _years(self, survey: Survey) -> dict[str, int]:
        """Years that an element has at least, by the last year that it may have been made and the visit that saw it."""
        visits = {one.id: one.when for one in survey.visits}
        found: dict[str, int] = {}
        for element, sources in self.seen_in.items():
            for one in (self.by_id[source] for source in sources if source in self.by_id):
                told = YEARS_TOLD.fullmatch(one.age.year.strip()) if one.age is not None and one.age.year else None
                seen = one.when or visits.get(one.visit or "", "")
                if told is not None and seen[:4].isdigit():
                    years = max(0, int(seen[:4]) - int(told["last"]) - (9 if told["decade"] else 0))
                    found[element] = min(years, found.get(element, years))
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
