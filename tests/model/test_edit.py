"""Edits between two harnesses: as few as there can be, and with them one becomes the other, exactly."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harnessdiff.model.edit import (
    Added,
    Alternative,
    AsFound,
    Attached,
    Changed,
    Choice,
    Detached,
    Edit,
    Removed,
    difference,
    edit_key,
    edited,
    inverted,
)
from harnessdiff.model.harness import Conductor, Device, Element, Harness, Incidence, Joint, JointDetails, Point
from harnessdiff.model.quantity import Quantity

W1 = Conductor(id="W1", size_mm2=Quantity.exactly(1), circuit="C1")
W1_THIN = replace(W1, size_mm2=Quantity.exactly(0.5))
W1_MOVED = replace(W1, circuit="C2")
E1 = Device(id="E1", kind="lamp")
J1 = Joint(id="+J1", details=JointDetails())
AT_A = Incidence(subject="W1", role="end_1", target="A")
AT_B = Incidence(subject="W1", role="end_1", target="B")
AT_C = Incidence(subject="W1", role="end_1", target="C")
SEAT = Incidence(subject="E1", role="seat", target="S")
ON = Incidence(subject="+J1", role="on", target="W1", point=Point(low_m=0.1))
ON_ELSEWHERE = replace(ON, point=Point(low_m=0.2))

# What each id may be, if it is there at all; a device and a wire may even have the same id by turns.
FORMS: dict[str, list[Element]] = {
    "W1": [W1, W1_THIN, W1_MOVED, Device(id="W1")],
    "E1": [E1, replace(E1, kind="motor")],
    "+J1": [J1, replace(J1, zone="Z1")],
}
INCIDENCES = [AT_A, AT_B, AT_C, SEAT, ON, ON_ELSEWHERE]


@st.composite
def harnesses(draw: st.DrawFn) -> Harness:
    elements = [draw(st.sampled_from([None, *forms])) for forms in FORMS.values()]
    return Harness.of([one for one in elements if one is not None], draw(st.sets(st.sampled_from(INCIDENCES))))


def base(*elements: Element, incidences: tuple[Incidence, ...] = ()) -> Harness:
    return Harness.of(list(elements), list(incidences))


@given(harnesses(), harnesses())
def test_the_difference_makes_the_one_of_the_other_and_back(reference: Harness, as_found: Harness) -> None:
    edits = difference(reference, as_found)

    assert edited(reference, edits) == as_found
    assert edited(as_found, tuple(map(inverted, edits))) == reference


@given(harnesses(), harnesses())
def test_there_are_as_many_edits_as_elements_and_incidences_differ(reference: Harness, as_found: Harness) -> None:
    ids = set(reference.by_id) | set(as_found.by_id)
    differing = [one for one in ids if reference.by_id.get(one) != as_found.by_id.get(one)]

    edits = difference(reference, as_found)

    assert len(edits) == len(differing) + len(set(reference.incidences) ^ set(as_found.incidences))
    assert len(set(edits)) == len(edits)


@given(harnesses(), harnesses())
def test_no_fewer_edits_would_do(reference: Harness, as_found: Harness) -> None:
    edits = difference(reference, as_found)

    for left_out in range(len(edits)):
        assert edited(reference, edits[:left_out] + edits[left_out + 1 :]) != as_found


@given(harnesses())
def test_a_harness_does_not_differ_from_itself(harness: Harness) -> None:
    assert difference(harness, harness) == ()
    assert edited(harness, ()) == harness


@given(harnesses(), harnesses())
def test_the_way_back_is_the_way_there_undone(reference: Harness, as_found: Harness) -> None:
    back = difference(as_found, reference)

    assert set(back) == set(map(inverted, difference(reference, as_found)))
    assert [inverted(inverted(edit)) for edit in back] == list(back)


@given(harnesses(), harnesses(), harnesses())
def test_two_differences_in_turn_lead_where_one_does(first: Harness, second: Harness, third: Harness) -> None:
    assert edited(edited(first, difference(first, second)), difference(second, third)) == third


@given(harnesses(), harnesses(), st.randoms(use_true_random=False))
def test_edits_come_in_a_fixed_order_and_may_be_applied_in_any(
    reference: Harness, as_found: Harness, random: object
) -> None:
    edits = list(difference(reference, as_found))
    assert edits == sorted(edits, key=edit_key)

    random.shuffle(edits)  # type: ignore[attr-defined]

    assert edited(reference, tuple(edits)) == as_found


def test_many_attributes_of_one_element_are_one_edit() -> None:
    after = replace(W1, size_mm2=Quantity.exactly(2), circuit="C9", material="copper", zones=("Z1",))

    assert difference(base(W1), base(after)) == (Changed(W1, after),)


def test_elements_with_different_ids_are_never_one_another() -> None:
    other = replace(W1, id="W2")

    assert difference(base(W1), base(other)) == (Added(other), Removed(W1))


def test_a_tap_is_purely_additive() -> None:
    tapped = base(W1, J1, incidences=(AT_A, ON))

    assert difference(base(W1, incidences=(AT_A,)), tapped) == (Added(J1), Attached(ON))


def test_another_place_along_a_wire_is_another_incidence() -> None:
    edits = difference(base(incidences=(ON,)), base(incidences=(ON_ELSEWHERE,)))

    assert edits == (Attached(ON_ELSEWHERE), Detached(ON))


def test_a_note_or_how_a_value_is_known_is_no_difference() -> None:
    known = Quantity(low=1, high=1, known_by="seen", as_entered="about 1")

    assert difference(base(W1), base(replace(W1, note="stiff", size_mm2=known))) == ()


UNFITTING: list[tuple[Edit, str]] = [
    (Added(W1_THIN), "added W1"),
    (Removed(E1), "removed E1"),
    (Removed(W1_THIN), "removed W1"),
    (Changed(W1_THIN, W1), "changed W1"),
    (Changed(E1, replace(E1, kind="motor")), "changed E1"),
    (Changed(W1, replace(W1, id="W2")), "changed W1"),
    (Attached(AT_A), "attached W1 end_1 A None"),
    (Detached(AT_B), "detached W1 end_1 B None"),
]


@pytest.mark.parametrize(("edit", "words"), UNFITTING, ids=[words for _, words in UNFITTING])
def test_an_edit_that_does_not_fit_is_refused(edit: Edit, words: str) -> None:
    with pytest.raises(ValueError, match=f"^the edit does not fit this harness: {words}$"):
        edited(base(W1, incidences=(AT_A,)), (edit,))


def test_the_keys_of_different_edits_differ() -> None:
    edits: list[Edit] = [Added(W1), Removed(W1), Changed(W1, W1_THIN), Attached(ON), Detached(ON), Attached(AT_A)]

    assert len({edit_key(edit) for edit in [*edits, Attached(ON_ELSEWHERE)]}) == len(edits) + 1


# -- choices


def choice(name: str, *alternatives: tuple[Edit, ...]) -> Choice:
    options = tuple(Alternative(label=str(number), elements=(), edits=one) for number, one in enumerate(alternatives))
    return Choice(id=name, observation=name, about=name, alternatives=options)


REFERENCE = base(W1, E1, incidences=(AT_A,))
ATTACH: tuple[tuple[Edit, ...], ...] = ((Added(J1), Attached(ON)), (Added(J1), Attached(ON_ELSEWHERE)), ())


def test_without_choices_there_is_one_resolution_with_the_sure_edits() -> None:
    as_found = AsFound(reference=REFERENCE, edits=(Removed(E1),))
    (only,) = as_found.resolutions(1)

    assert (only.picks, only.edits) == ((), (Removed(E1),))
    assert as_found.complete_within(1)


def test_every_combination_is_gone_through_once_the_first_alternatives_first() -> None:
    as_found = AsFound(reference=REFERENCE, edits=(), choices=(choice("a", *ATTACH), choice("b", (Removed(E1),), ())))

    found = [one.picks for one in as_found.resolutions(6)]

    expected = [(("a", one), ("b", other)) for one, other in itertools.product(range(3), range(2))]
    assert found == expected
    assert as_found.complete_within(6)
    assert not as_found.complete_within(5)


def test_where_there_are_too_many_combinations_one_choice_is_varied_at_a_time() -> None:
    as_found = AsFound(reference=REFERENCE, edits=(), choices=(choice("a", *ATTACH), choice("b", (Removed(E1),), ())))

    found = [tuple(pick for _, pick in one.picks) for one in as_found.resolutions(5)]

    assert found == [(0, 0), (1, 0), (2, 0), (0, 1)]


def test_groups_that_do_not_bear_on_each_other_are_varied_together() -> None:
    """Three, two and two answers in two groups: the group of the last two needs four turns, and so do all."""
    choices = (choice("a", *ATTACH), choice("b", (Removed(E1),), ()), choice("c", (Removed(E1),), ()))
    as_found = AsFound(reference=REFERENCE, edits=(), choices=choices)
    groups = ((0,), (1, 2))

    found = [tuple(pick for _, pick in one.picks) for one in as_found.resolutions(4, groups=groups)]

    assert found == [(0, 0, 0), (1, 0, 1), (2, 1, 0), (0, 1, 1)]
    assert as_found.complete_within(4, groups=groups)
    assert not as_found.complete_within(3, groups=groups)
    assert not as_found.complete_within(4)


def test_a_resolution_holds_the_sure_edits_and_those_of_its_picks() -> None:
    as_found = AsFound(reference=REFERENCE, edits=(Removed(E1),), choices=(choice("a", *ATTACH),))

    made = [edited(REFERENCE, one.edits) for one in as_found.resolutions(3)]

    assert made == [
        base(W1, J1, incidences=(AT_A, ON)),
        base(W1, J1, incidences=(AT_A, ON_ELSEWHERE)),
        base(W1, incidences=(AT_A,)),
    ]


# Picks of different choices that fall on the same element.
OVERLAPPING: list[tuple[tuple[Edit, ...], tuple[Edit, ...], Harness]] = [
    ((Changed(W1, W1_THIN),), (Changed(W1, W1_THIN),), base(W1_THIN, E1, incidences=(AT_A,))),
    (
        (Changed(W1, W1_THIN),),
        (Changed(W1, W1_MOVED),),
        base(replace(W1_THIN, circuit="C2"), E1, incidences=(AT_A,)),
    ),
    ((Changed(W1, W1_THIN),), (Removed(W1), Detached(AT_A)), base(E1)),
    ((Removed(E1),), (Removed(E1),), base(W1, incidences=(AT_A,))),
    (
        (Detached(AT_A), Attached(AT_B)),
        (Detached(AT_A), Attached(AT_C)),
        base(W1, E1, incidences=(AT_B,)),
    ),
]


@pytest.mark.parametrize(("one", "other", "expected"), OVERLAPPING)
def test_picks_that_fall_on_the_same_element_are_taken_together(
    one: tuple[Edit, ...], other: tuple[Edit, ...], expected: Harness
) -> None:
    for first, second in ((one, other), (other, one)):
        as_found = AsFound(reference=REFERENCE, edits=(), choices=(choice("a", first), choice("b", second)))
        (resolution,) = as_found.resolutions(1)

        assert edited(REFERENCE, resolution.edits) == expected
