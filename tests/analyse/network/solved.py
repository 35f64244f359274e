"""Small harnesses, solved with every switch on: as they should be, and as found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from harnessdiff.analyse.network.build import Network
from harnessdiff.analyse.network.settle import Settled, settle
from harnessdiff.model.edit import edited
from harnessdiff.model.reference import Condition
from tests.strategies import plantings, references
from tests.support import Json, as_found_from, reference_from

if TYPE_CHECKING:
    from hypothesis import strategies as st

SOME = Condition(id="some", name="some", key="out", engine="stopped")


def with_switches_on(data: Json) -> Condition:
    """A condition in which every switch of a reference is on."""
    positions = tuple((one["id"], "on") for one in data["devices"] if one["kind"] == "switch")
    return Condition(id="on", name="on", key="ignition", engine="stopped", positions=positions)


def found(data: st.DataObject) -> Settled:
    """A random small harness as a random survey found it, with every switch on."""
    plain = data.draw(references())
    reference = reference_from(plain)
    first = next(iter(as_found_from(reference, *data.draw(plantings(reference))).resolutions(1)))
    network = Network(edited(reference.harness, first.edits), reference.vehicle.ground_polarity)
    return settle(network, with_switches_on(plain))
