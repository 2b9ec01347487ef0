"""What a small child's knee must raise, and what would only frighten: hips, growing pains, bruises."""

from collections.abc import Mapping

import pytest

from fabella.flags import cannot_wait
from fabella.record import Answer, ImageKind, Mechanism
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict
from tests.flags.examples import GOOD_HIP, NO_BONE

BOTH = (RIGHT, LEFT)
NONE, TWIST = Mechanism.INSIDIOUS, Mechanism.TWIST
NIGHTS: Mapping[str, Answer] = {
    "night_pain": True, "rest_pain": False, "activity_pain": False, "swelling_noticed": False, "fever": False,
    "rigors_or_unwell": False, "weight_loss": False,
}  # fmt: skip
NOTHING_FOUND: Mapping[str, Found] = {
    **GOOD_HIP, **NO_BONE, "bony_tenderness": False, "antalgic_gait": "none", "effusion": "none",
    "warmth": "none", "palpable_mass": False, "passive_flexion": 145.0, "passive_extension": 3.0,
}  # fmt: skip
NOT_ILL: Mapping[str, Found] = {"pallor": False, "bruises_elsewhere": False, "lymph_nodes_enlarged": False}


def of_nights(
    found: Mapping[str, Found] | None = None, said: Mapping[str, Answer] | None = None, age: float = 6
) -> object:
    """The verdict on the bone of a child whose knees hurt at night, with what differs from growing pains."""
    knee = {**NOTHING_FOUND, **(found or {})}
    examination = exam(
        knee, knee, person=NOT_ILL, said={**NIGHTS, **(said or {})}, age=age, days=120, complaint=BOTH
    )
    assert verdict(examination, "tumour_bone_young", LEFT) is verdict(examination, "tumour_bone_young")
    return verdict(examination, "tumour_bone_young")


def test_growing_pains_are_not_filmed() -> None:
    """Peterson's definition (Mohanta 2014): both knees, at night, a well child, nothing found: no alarm."""
    assert of_nights() is None
    examination = exam(
        NOTHING_FOUND, NOTHING_FOUND, person=NOT_ILL, said=NIGHTS, age=6, days=120, complaint=BOTH
    )
    assert [a.rule for a in cannot_wait(examination, protocol=PROTOCOL) if a.is_met] == []


@pytest.mark.parametrize(
    ("found", "said", "age"),
    [
        ({"antalgic_gait": "mild"}, {}, 6),
        ({"bony_tenderness": True}, {}, 6),
        ({"passive_flexion": 100.0}, {}, 6),
        ({}, {"rest_pain": True}, 6),
        ({}, {"activity_pain": True}, 6),
        ({}, {"weight_loss": True}, 6),
        ({}, {}, 13),
        ({}, {}, 2),
    ],
)
def test_anything_else_at_night_is_no_growing_pain(
    found: Mapping[str, Found], said: Mapping[str, Answer], age: float
) -> None:
    """A limp, tender bone, stiffness, pain by day, loss of weight or another age: the bone is filmed."""
    assert of_nights(found, said, age) is MET


def test_what_nobody_asked_is_no_growing_pain() -> None:
    """One knee alone, or a gait that nobody watched, leaves pain at night what it is."""
    one = exam(NOTHING_FOUND, NOTHING_FOUND, person=NOT_ILL, said=NIGHTS, age=6, days=120, complaint=(RIGHT,))
    assert verdict(one, "tumour_bone_young") is MET
    unseen = {sign: what for sign, what in NOTHING_FOUND.items() if sign != "antalgic_gait"}
    both = exam(unseen, unseen, person=NOT_ILL, said=NIGHTS, age=6, days=120, complaint=BOTH)
    assert verdict(both, "tumour_bone_young") is MET


def test_a_hot_knee_beside_a_free_hip_says_itself_why_the_leg_is_not_used() -> None:
    """The hip is not accused of what the knee does; with a cool knee, or a hip not turned, it is."""
    free: dict[str, Found] = {"hip_rotation_reduced": False, "hip_rotation_pain": False}
    unused: dict[str, Found] = {"unable_to_weight_bear": True}
    hot: dict[str, Found] = {**unused, "warmth": "hot", "effusion": "moderate"}
    assert verdict(exam({**hot, **free}, age=6, days=2), "child_hip") is None
    assert verdict(exam(hot, age=6, days=2), "child_hip") is MET
    assert verdict(exam({**unused, **free}, age=6, days=2), "child_hip") is MET


@pytest.mark.parametrize(("age", "expected"), [(64, None), (65, OPEN), (86, OPEN)])
def test_an_old_person_who_fell_and_cannot_walk_has_the_hip_turned(age: float, expected: object) -> None:
    """Until the hip was turned it stays open; once it turns without pain it is settled, and with pain met."""

    def fallen(**found: Found) -> object:
        knee = {"unable_to_weight_bear": True, "effusion": "large", **found}
        return verdict(exam(knee, age=age, days=0, mechanism=Mechanism.MINOR_FALL), "adult_hip")

    assert fallen() is expected
    assert fallen(hip_rotation_pain=False) is None
    assert fallen(hip_rotation_pain=True) is MET


def test_a_hip_that_turns_freely_is_not_filmed_for_a_thin_thigh() -> None:
    """The knee is filmed; the hip only where it is short, sore or was not turned."""
    wasted: dict[str, Found] = {"quadriceps_wasting": "marked"}

    def orders(found: Mapping[str, Found]) -> tuple[str, ...]:
        examination = exam(found, age=14, days=60)
        (alarm,) = [
            a for a in cannot_wait(examination, protocol=PROTOCOL) if a.rule == "tumour_wasting_young"
        ]
        return alarm.orders

    assert orders({**wasted, **GOOD_HIP}) == ("radiograph",)
    assert orders(wasted) == ("radiograph", "hip_radiograph")


def test_bruises_of_a_child_concern_the_child_and_not_a_knee() -> None:
    """After an injury or without one, once, and with no side; the odd bruise of a shin is none."""
    for days in (0, 100):
        examination = exam(person={"bruises_elsewhere": True}, age=4, days=days, complaint=BOTH)
        told = [a for a in cannot_wait(examination, protocol=PROTOCOL) if a.rule == "bruised_child"]
        assert [(a.side, a.verdict) for a in told] == [(None, MET)]
    assert verdict(exam(person={"bruises_elsewhere": False}, age=4), "bruised_child", None) is None


BROKEN: Mapping[str, Found] = {"bony_tenderness": True, "unable_to_weight_bear": True}


@pytest.mark.parametrize(
    ("age", "mechanism", "expected"),
    [(0.6, None, MET), (0.6, TWIST, MET), (0.9, NONE, MET), (1, NONE, None), (2, TWIST, None)],
)
def test_a_leg_that_looks_broken_before_its_first_steps_is_seen_by_a_paediatrician(
    age: float, mechanism: Mechanism | None, expected: object
) -> None:
    """NICE CG89, from memory; a toddler that walks breaks its shin unseen (judgement)."""
    assert verdict(exam(BROKEN, days=1, age=age, mechanism=mechanism), "small_child_fracture") is expected


def test_an_infected_bone_of_an_infant_is_no_hint_at_harm() -> None:
    """Fever, redness or marked heat explain a leg that is not used."""
    for said, more in (({"fever": True}, {}), ({}, {"erythema": "mild"}), ({}, {"warmth": "hot"})):
        infant = exam({**BROKEN, **more}, days=1, age=0.6, mechanism=NONE, said=said)
        assert verdict(infant, "small_child_fracture") is None


@pytest.mark.parametrize(
    ("age", "mechanism", "expected"), [(2, NONE, MET), (2, None, OPEN), (2, TWIST, None), (3, NONE, None)]
)
def test_a_fracture_that_nothing_explains_is_asked_about(
    age: float, mechanism: Mechanism | None, expected: object
) -> None:
    """Under three a shown fracture without a story; whether a told one fits the examiner judges."""
    film = {ImageKind.RADIOGRAPH: ("distal_femoral_fracture",)}
    child = exam(imaged=film, days=1, age=age, mechanism=mechanism)
    assert verdict(child, "small_child_fracture") is expected
