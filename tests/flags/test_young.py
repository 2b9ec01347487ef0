"""Pain without an injury in the young, lumps in older men, and knees that cannot carry: at the edges."""

from dataclasses import replace

import pytest

from fabella.anatomy import Side
from fabella.flags import cannot_wait
from fabella.record import Examination, Mechanism, Sex
from tests.flags.build import LEFT, MET, OPEN, PROTOCOL, RIGHT, Found, exam, verdict
from tests.flags.examples import NO_BONE

NONE, TWIST, OVERUSE = Mechanism.INSIDIOUS, Mechanism.TWIST, Mechanism.OVERUSE
LIMP: dict[str, Found] = {"antalgic_gait": "mild"}


@pytest.mark.parametrize(("age", "expected"), [(15, MET), (16, None)])
def test_a_limp_of_weeks_counts_in_a_child(age: float, expected: object) -> None:
    """Two weeks of limping without an injury ask for a film and a count under 16, tender or not."""
    assert verdict(exam(LIMP, days=14, age=age, mechanism=NONE), "illness_young") is expected


@pytest.mark.parametrize(
    "examination",
    [
        exam(LIMP, days=3, age=11, mechanism=NONE),
        exam(LIMP, days=10, age=11, mechanism=TWIST),
        exam(LIMP, days=30, age=11, mechanism=OVERUSE),
        exam({**LIMP, "tenderness_tibial_tubercle": True}, days=30, age=11, mechanism=NONE),
        exam(LIMP, said={"locking": True}, days=30, age=11, mechanism=NONE),
        exam(LIMP, said={"known_inflammatory_arthritis": True}, days=30, age=11, mechanism=NONE),
    ],
)
def test_a_limp_that_something_explains_is_no_illness(examination: Examination) -> None:
    """A limp of days, after an injury, of overuse, with a sore tubercle or known arthritis stays silent."""
    assert verdict(examination, "illness_young") is None


@pytest.mark.parametrize("sign", ["pallor", "bruises_elsewhere", "lymph_nodes_enlarged"])
def test_a_sign_of_illness_beside_pain_of_weeks_counts_up_to_24(sign: str) -> None:
    """Any one sign of illness is enough, whatever explains a limp; at 25 the rule ends."""
    sore: dict[str, Found] = {"tenderness_tibial_tubercle": True}
    person: dict[str, Found] = {sign: True}
    assert verdict(exam(sore, person=person, days=30, age=24, mechanism=NONE), "illness_young") is MET
    assert verdict(exam(sore, person=person, days=30, age=25, mechanism=NONE), "illness_young") is None


def test_a_sign_of_illness_without_a_date_asks_when_it_began() -> None:
    """Night sweats and knee pain of unknown length keep the rule open."""
    assert verdict(exam(said={"rigors_or_unwell": True}, age=12), "illness_young") is OPEN


def test_a_child_that_will_not_walk_may_have_an_infected_bone() -> None:
    """With fever it is met; with an infection lately too; unknown it asks; after a fall it rests."""
    unused: dict[str, Found] = {"unable_to_weight_bear": True}
    rule = "osteomyelitis_child"
    assert verdict(exam(unused, said={"fever": True}, age=6), rule) is MET
    assert verdict(exam(unused, said={"skin_infection": True}, age=6), rule) is MET
    assert verdict(exam(said={"skin_infection": True}, age=6), rule) is OPEN
    assert verdict(exam(unused, age=6), rule) is OPEN
    assert verdict(exam(unused, age=6, days=1, mechanism=TWIST, said={"fever": False}), rule) is None


@pytest.mark.parametrize(
    ("age", "sex", "expected"),
    [(64, Sex.MALE, OPEN), (59, Sex.MALE, None), (64, Sex.FEMALE, None), (64, None, None)],
)
def test_a_lump_in_an_older_man_raises_the_pulse(age: float, sex: Sex | None, expected: object) -> None:
    """A lump that a man of 60 or over noticed asks for a pulse; one felt in the hollow always does."""
    told = exam(said={"lump_noticed": True}, age=age)
    told = replace(told, patient=replace(told.patient, sex=sex))
    assert verdict(told, "popliteal_aneurysm") is expected
    felt = exam({"popliteal_mass": True}, age=age)
    assert verdict(felt, "popliteal_aneurysm") is OPEN


@pytest.mark.parametrize(("age", "expected"), [(39, MET), (40, None)])
def test_calf_pain_on_exertion_is_no_old_artery_under_forty(age: float, expected: object) -> None:
    """Exertional calf pain raises the question below 40, whether or not the pulse goes on moving the foot."""
    said = {"calf_pain": True, "activity_pain": True}
    stays: dict[str, Found] = {"pulse_lost_on_foot_movement": False}
    assert verdict(exam(stays, said=said, age=age), "popliteal_entrapment") is expected
    assert verdict(exam(stays, said=said, age=age, days=2, mechanism=TWIST), "popliteal_entrapment") is None


def test_a_full_knee_that_cannot_carry_is_imaged_unless_the_fracture_rule_clears_it() -> None:
    """A large effusion and no four steps now are enough; a wholly negative Ottawa rule silences that path."""
    rule = "tender_bone_not_weight_bearing"
    full: dict[str, Found] = {"effusion": "large", "unable_to_weight_bear": True}
    assert verdict(exam(full, days=1, mechanism=TWIST), rule) is MET
    assert verdict(exam({"effusion": "large"}, days=1, mechanism=TWIST), rule) is OPEN
    cleared = exam(
        {**full, **NO_BONE, "bony_tenderness": False, "tenderness_patella": False, "active_flexion": 110},
        said={"unable_to_weight_bear_at_injury": False},
        days=1,
        mechanism=TWIST,
    )
    assert verdict(cleared, "ottawa_knee") is None
    assert verdict(cleared, rule) is None


def test_a_deep_lump_in_an_adult_is_referred() -> None:
    """Scottish guideline: deep, tethered, fixed or hard, at any age; a soft one that grew is too."""
    deep: dict[str, Found] = {"palpable_mass": True, "mass_firm_fixed": True}
    assert verdict(exam(deep, age=50), "tumour_mass", RIGHT) is MET
    assert verdict(exam(said={"lump_noticed": True}, age=50), "tumour_mass") is OPEN


def test_what_history_would_meet_is_held_open_where_nobody_wrote_down_which_knee_hurts() -> None:
    """A small child with fever and pain at night, and no side: both knees are open, and the side is asked."""

    def ill(complaint: tuple[Side, ...] | None) -> Examination:
        said = {"fever": True, "night_pain": True}
        return exam(said=said, age=3, complaint=complaint)

    rule = "osteomyelitis_child"
    unsaid = ill(None)
    assert [verdict(unsaid, rule, side) for side in Side] == [OPEN, OPEN]
    alarms = [each for each in cannot_wait(unsaid, protocol=PROTOCOL) if each.rule == rule]
    assert [each.unknown[0].ask for each in alarms] == ["ask which knee the patient complains of"] * 2
    assert [verdict(ill((RIGHT,)), rule, side) for side in (RIGHT, LEFT)] == [MET, None]
    assert [verdict(ill(()), rule, side) for side in Side] == [None, None]
    limping = replace(exam(LIMP, age=3), context=unsaid.context, history=unsaid.history)
    assert [verdict(limping, rule, side) for side in (RIGHT, LEFT)] == [MET, None]


@pytest.mark.parametrize(
    ("found", "said"),
    [
        ({"patellar_apprehension": True}, {}),
        ({"lachman": "2+"}, {}),
        ({}, {"previous_patellar_dislocation": True}),
    ],
)
def test_a_thigh_wasted_beside_a_loose_patella_or_ligament_is_explained(
    found: dict[str, Found], said: dict[str, bool]
) -> None:
    """What slips or gives wastes the muscle; pain at night speaks by its own rule."""
    thin: dict[str, Found] = {"quadriceps_wasting": "marked"}
    told = {**said, "night_pain": False, "rest_pain": False}
    assert verdict(exam({**thin, **found}, days=120, age=15, said=told), "tumour_wasting_young") is None
    assert verdict(exam(thin, days=120, age=15), "tumour_wasting_young") is MET
    aches = exam({**thin, **found}, days=120, age=15, said={**said, "night_pain": True})
    assert verdict(aches, "tumour_bone_young") is MET
