"""A harness: the same whatever order it was put together in, and found by id and by role."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.harness import (
    Colour,
    Conductor,
    Device,
    Element,
    Harness,
    Incidence,
    Joint,
    JointDetails,
    Point,
    Terminal,
    Zone,
    incidence_key,
    is_added,
)

ELEMENTS: list[Element] = [
    Zone(id="Z1", name="engine bay"),
    Device(id="BAT1", kind="battery", zone="Z1"),
    Terminal(id="BAT1:+", name="+"),
    Terminal(id="BAT1:-", name="-"),
    Joint(id="+t1.joint", details=JointDetails(type="twisted")),
    Conductor(id="W1"),
    Conductor(id="+t1.lead"),
]
INCIDENCES = [
    Incidence(subject="BAT1:+", role="of", target="BAT1"),
    Incidence(subject="BAT1:-", role="of", target="BAT1"),
    Incidence(subject="W1", role="end_1", target="BAT1:+"),
    Incidence(subject="W1", role="end_2", target="BAT1:-"),
    Incidence(subject="+t1.lead", role="end_1", target="+t1.joint"),
    Incidence(subject="+t1.joint", role="on", target="W1", point=Point(low_m=0.1, high_m=0.2)),
    Incidence(subject="+t1.joint", role="on", target="W1"),
]
HARNESS = Harness.of(ELEMENTS, INCIDENCES)


@given(st.permutations(ELEMENTS), st.permutations(INCIDENCES))
def test_a_harness_is_the_same_whatever_order_it_was_put_together_in(
    elements: list[Element], incidences: list[Incidence]
) -> None:
    assert Harness.of(elements, incidences) == HARNESS
    assert Harness.of(elements, set(incidences)) == HARNESS
    assert list(Harness.of(elements, incidences).attached) == list(HARNESS.attached)


def test_elements_stand_in_order_of_their_ids_and_incidences_in_order_of_what_they_join() -> None:
    assert [one.id for one in HARNESS.elements] == sorted(one.id for one in ELEMENTS)
    assert list(HARNESS.incidences) == sorted(INCIDENCES, key=incidence_key)


def test_an_incidence_given_twice_is_there_once() -> None:
    assert Harness.of(ELEMENTS, INCIDENCES * 2) == HARNESS


def test_two_elements_with_one_id_are_refused_whatever_they_are() -> None:
    with pytest.raises(ValueError, match=r"^two elements with the id W1$"):
        Harness.of([*ELEMENTS, Device(id="W1")], INCIDENCES)


def test_an_element_is_found_by_its_id_and_its_sort() -> None:
    assert HARNESS.by_id["BAT1"] == ELEMENTS[1]
    assert [HARNESS.device(one) for one in ("BAT1", "W1", "nowhere")] == [ELEMENTS[1], None, None]
    assert [HARNESS.conductor(one) for one in ("W1", "BAT1", "nowhere")] == [ELEMENTS[5], None, None]
    assert [HARNESS.joint(one) for one in ("+t1.joint", "W1", "nowhere")] == [ELEMENTS[4], None, None]
    assert [HARNESS.zone(one) for one in ("Z1", "W1", "", None)] == [ELEMENTS[0], None, None, None]


def test_all_of_a_sort_are_found_in_order() -> None:
    assert [one.id for one in HARNESS.conductors()] == ["+t1.lead", "W1"]
    assert [one.id for one in HARNESS.devices()] == ["BAT1"]
    assert [one.id for one in HARNESS.zones()] == ["Z1"]


def test_what_is_attached_is_found_from_either_side_and_by_role() -> None:
    assert HARNESS.targets("W1", "end_1", "end_2") == ("BAT1:+", "BAT1:-")
    assert HARNESS.targets("W1", "end_2") == ("BAT1:-",)
    assert HARNESS.targets("W1", "on") == ()
    assert HARNESS.subjects("BAT1", "of") == ("BAT1:+", "BAT1:-")
    assert HARNESS.subjects("W1", "on") == ("+t1.joint", "+t1.joint")
    assert HARNESS.subjects("W1", "end_1") == ()
    assert HARNESS.targets("nowhere", "of") == HARNESS.subjects("nowhere", "of") == ()


def test_every_incidence_stands_under_both_its_sides() -> None:
    for one in HARNESS.incidences:
        assert one in HARNESS.attached[one.subject]
        assert one in HARNESS.attached[one.target]
    assert sum(len(found) for found in HARNESS.attached.values()) == 2 * len(HARNESS.incidences)


def test_a_terminal_is_of_its_device_even_where_the_device_is_gone() -> None:
    assert HARNESS.device_of("BAT1:+") == "BAT1"
    assert Harness.of([], []).device_of("BAT1:+") == "BAT1"
    assert Harness.of([], []).device_of("A:B:+") == "A:B"


@pytest.mark.parametrize(
    ("colour", "letters"),
    [
        (Colour(base="RD"), "RD"),
        (Colour(base="RD", tracer="WH"), "RD/WH"),
        (Colour(base="RD", tracer="unknown"), "RD/?"),
        (Colour(base="RD", tracer="WH", marks=("BK", "BU")), "RD/WH/BK/BU"),
        (Colour(base="RD", marks=("BK",)), "RD/BK"),
        (Colour(base="BU", shade="light"), "BU"),
    ],
)
def test_a_colour_is_written_base_first(colour: Colour, letters: str) -> None:
    assert colour.letters == letters


@pytest.mark.parametrize(("element_id", "added"), [("+t1.joint", True), ("W1", False), ("BAT1:+", False), ("", False)])
def test_only_an_id_of_a_survey_begins_with_a_plus(element_id: str, added: bool) -> None:
    assert is_added(element_id) == added


def test_a_note_does_not_make_an_element_another() -> None:
    assert Conductor(id="W1", note="stiff") == Conductor(id="W1")
    assert Device(id="W1", note="stiff") == Device(id="W1")
    assert Conductor(id="W1", insulation="B") != Conductor(id="W1")


@pytest.mark.parametrize("element", ELEMENTS, ids=lambda element: type(element).__name__)
def test_an_element_cannot_be_changed_and_can_be_in_a_set(element: Element) -> None:
    with pytest.raises(AttributeError):
        element.id = "other"  # type: ignore[misc]
    assert element in {element}
