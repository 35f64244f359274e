"""What the commands that show a solved harness share: reading, and the conditions asked for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from harnessdiff.cli.options import load_reference, warn

if TYPE_CHECKING:
    from harnessdiff.model.harness import Harness
    from harnessdiff.model.reference import Condition, Reference
    from harnessdiff.model.survey import Survey


def read_both(
    reference: str, survey: Path | None
) -> tuple[Reference, tuple[Condition, ...], Harness | None, Survey | None]:
    """The reference as equipped, the conditions that count, what was found, and the survey as it stands."""
    from harnessdiff.pipeline import assess  # noqa: PLC0415 - heavy
    from harnessdiff.read.survey import read_survey  # noqa: PLC0415 - heavy
    from harnessdiff.report.solved import conditions_of  # noqa: PLC0415 - heavy
    from harnessdiff.resolve.visits import standing  # noqa: PLC0415 - heavy

    should_be = load_reference(reference)
    if survey is None:
        warn(should_be.warnings, strict=False)
        return should_be, conditions_of(should_be, None), None, None
    record = read_survey(survey, should_be)
    warn((*should_be.warnings, *record.warnings), strict=False)
    case = assess(should_be, record, electrical=False)
    return case.reference, conditions_of(case.reference, record), case.as_found, standing(record)
