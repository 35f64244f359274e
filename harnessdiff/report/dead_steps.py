"""How one added lead or device is made dead, for a person or a program."""

from __future__ import annotations

from harnessdiff.analyse.electrical import Solved as Whole
from harnessdiff.analyse.isolation import Isolating
from harnessdiff.errors import InputError, Problem
from harnessdiff.model.harness import Conductor, Device, Harness, is_added
from harnessdiff.model.isolation import Isolation
from harnessdiff.model.survey import Survey
from harnessdiff.read.schema import did_you_mean
from harnessdiff.report.solved import Solved
from harnessdiff.words import bare


def dead_steps(solved: Solved, harness: Harness, survey: Survey, things: tuple[str, ...]) -> tuple[Isolation, ...]:
    """How added leads and devices are made dead, each proved by solving with each step done.

    Parameters
    ----------
    solved : Solved
        With what was found.
    harness : Harness
        As found.
    survey : Survey
        As it stands.
    things : tuple of str
        Leads and devices as the survey names them; every one that was added where empty.

    Returns
    -------
    tuple of Isolation
        In the order asked for, else of their ids.

    Raises
    ------
    InputError
        If something is no added lead or device.
    """
    assert solved.after is not None
    added = [
        element.id for element in harness.elements if is_added(element.id) and isinstance(element, Conductor | Device)
    ]
    network = next(iter(solved.after.values())).network
    isolating = Isolating(Whole(network=network, settled=dict(solved.after)), solved.reference, survey)
    wanted = [_named(thing, added, survey) for thing in things] or added
    found = ((thing, isolating.nodes_of(thing)) for thing in wanted)
    return tuple(isolating.isolation(thing, nodes) for thing, nodes in found if nodes)


def _named(thing: str, added: list[str], survey: Survey) -> str:
    element = f"+{thing.removeprefix('+')}"
    if element in added:
        return element
    hint = did_you_mean(thing, [bare(one) for one in added])
    message = f"there is no added lead or device {thing}{hint}"
    raise InputError((Problem(source=survey.title or "survey", message=message),))
