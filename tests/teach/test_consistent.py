"""A practice patient does not contradict themselves: story, answers, findings and age go together."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from fabella.anatomy import Side
from fabella.record import NO_INJURY, Acuity, Mechanism, Setting
from fabella.teach import Hidden, Recipe, draw_patient, load_curricula, recipe_with
from fabella.teach.speech import answer_words, story_words

PATIENTS = 240
OF_GROWN_UPS = (
    "previous_gout",
    "cancer_history",
    "active_cancer",
    "previous_dvt",
    "anticoagulant",
    "kidney_disease",
    "diabetes",
)
AGES = (None, None, 4, 10, 15, 40, 100)


@cache
def crowd() -> tuple[Hidden, ...]:
    """Patients of all settings and curricula, some of them children, some very old."""
    curricula, settings = tuple(load_curricula()), tuple(Setting)
    return tuple(
        draw_patient(
            Recipe(
                seed=seed,
                setting=settings[seed % len(settings)],
                curriculum=curricula[seed // 4 % len(curricula)],
                age_years=AGES[seed % len(AGES)],
            )
        )
        for seed in range(PATIENTS)
    )


def test_what_came_by_itself_did_not_happen_all_at_once() -> None:
    """Whoever tells of no injury does not tell of a moment at which it happened."""
    fresh = [
        draw_patient(Recipe(seed=seed, acuity=Acuity.ACUTE, mechanism=mechanism))
        for seed in range(10)
        for mechanism in (Mechanism.OVERUSE, Mechanism.TWIST)
    ]
    said = {
        slow: {
            story_words(each, "time_since_onset")
            for each in fresh
            if (each.person.context.mechanism in NO_INJURY) is slow
        }
        for slow in (True, False)
    }
    told = [words for words in said[True] if "happened" in words or "at once" in words]
    assert not told
    assert any("happened" in words for words in said[False])


def levels(hidden: Hidden, sign: str) -> tuple[int, int]:
    """What a sign shows on both knees, the right one first."""
    return hidden.outcomes[sign, Side.RIGHT].level, hidden.outcomes[sign, Side.LEFT].level


def pairs(one: str, two: str) -> set[tuple[int, int]]:
    """The levels of two signs that were met together on one knee."""
    return {pair for each in crowd() for pair in zip(levels(each, one), levels(each, two), strict=True)}


def test_a_knee_that_bears_no_weight_does_not_walk_evenly_or_squat() -> None:
    """Who cannot take four steps limps, and gets down on neither both legs nor this one."""
    for sign in ("antalgic_gait", "deep_squat", "single_leg_squat"):
        assert {level for able, level in pairs("unable_to_weight_bear", sign) if able} == {2}


def test_a_blocked_knee_falls_short_of_straight() -> None:
    """What stops an extension is seen in how far the knee comes."""
    assert all(short for block, short in pairs("block_to_extension", "passive_extension") if block)


def test_a_leg_that_is_raised_straight_has_no_lag_and_the_strength_for_it() -> None:
    """Raising, lag, active extension and strength tell one story of the extensors."""
    assert all((raised > 0) or not lag for raised, lag in pairs("straight_leg_raise", "extensor_lag"))
    assert all(lag for raised, lag in pairs("straight_leg_raise", "extensor_lag") if raised == 1)
    assert not {(0, 2), (2, 0), (2, 1)} & pairs("straight_leg_raise", "active_knee_extension")
    strength = pairs("straight_leg_raise", "knee_extension_strength")
    assert all(weak <= 2 for raised, weak in strength if raised == 0)
    assert all(weak >= 3 for raised, weak in strength if raised == 2)


def test_a_hip_that_turns_freely_measures_so() -> None:
    """Reduced rotation and the angle of it agree."""
    inwards = pairs("hip_rotation_reduced", "hip_internal_rotation")
    assert {(0, 0), (1, 1)} == inwards
    assert (0, 1) not in pairs("hip_rotation_reduced", "hip_external_rotation")


def test_pain_that_goes_on_at_rest_is_not_said_to_calm_down() -> None:
    """Whoever hurts at rest does not say a breath later that rest takes the pain away."""
    both = [each for each in crowd() if each.answers["rest_pain"] and each.answers["activity_pain"]]
    said = [answer_words(each, "activity_pain") for each in both]
    assert len(set(said)) > 1
    assert not [each for each in said if "calms" in each]


def test_a_hip_that_turns_out_by_itself_walks_with_its_foot_turned_out() -> None:
    """A slipped head of the femur is seen in the walk (common practice): the drawing must not hide it."""
    recipe = Recipe(seed=1, age_years=12, setting=Setting.PRIMARY_CARE)
    slipped = [
        draw_patient(recipe_with(replace(recipe, seed=1000 * seed), [("hip_disease", "")], alone=True))
        for seed in range(12)
    ]
    turned: dict[bool, list[float]] = {True: [], False: []}
    for each in slipped:
        side = each.person.side
        angle = each.outcomes["foot_progression_angle", side].value
        assert angle is not None
        turned[each.outcomes["obligate_external_rotation", side].level > 0].append(angle)
    assert len(turned[True]) > 2 < len(turned[False])
    mean_out, mean_not = (sum(turned[which]) / len(turned[which]) for which in (True, False))
    assert mean_out - mean_not > 8


def test_answers_of_the_history_do_not_take_each_other_back() -> None:
    """No lump that nobody noticed grows, no swelling comes and goes unseen, no cancer comes from nowhere."""
    for one, needs in (
        ("lump_growing", "lump_noticed"),
        ("intermittent_swelling", "swelling_noticed"),
        ("active_cancer", "cancer_history"),
        ("previous_patellar_dislocation", "previous_injury"),
    ):
        said = {each.answers[needs] for each in crowd() if each.answers[one] is True}
        assert said, one
        assert False not in said, one


def test_a_lump_that_is_felt_has_a_size() -> None:
    """A lump under the hand never measures 0 cm, and where there is none nothing is measured."""
    felt = pairs("palpable_mass", "mass_size")
    assert {there > 0 for there, _ in felt} == {True, False}
    assert all((size > 0) == (there > 0) for there, size in felt)
    read = [
        each.outcomes["mass_size", side].read or 0.0
        for each in crowd()
        for side in Side
        if each.outcomes["palpable_mass", side].level
    ]
    assert min(read) > 0


def test_nobody_says_that_the_knee_is_artificial() -> None:
    """Practice patients have native knees, and the conclusion would be that of a prosthesis."""
    assert {each.answers["knee_prosthesis"] for each in crowd()} == {False}


def test_answers_keep_to_how_it_came_about() -> None:
    """A knock that was told is no blow denied, and what came by itself was no fall and no puncture."""
    for seed in range(40):
        for mechanism, item, answer in (
            (Mechanism.PENETRATING, "penetrating_injury", True),
            (Mechanism.FALL_ON_KNEE, "fall_or_blunt_trauma", True),
            (Mechanism.DIRECT_BLOW, "fall_or_blunt_trauma", True),
            (Mechanism.VALGUS_FORCE, "fall_or_blunt_trauma", True),
            (Mechanism.HIGH_ENERGY, "fall_or_blunt_trauma", True),
            (Mechanism.INSIDIOUS, "fall_or_blunt_trauma", False),
            (Mechanism.INSIDIOUS, "penetrating_injury", False),
        ):
            hidden = draw_patient(Recipe(seed=seed, setting=Setting.EMERGENCY, mechanism=mechanism))
            assert hidden.answers[item] is answer, (seed, mechanism)


def test_a_child_tells_a_childs_story() -> None:
    """No child kneels at work, has had a few or the illnesses of grown-ups.

    No complaint is nearly as old as its patient.
    """
    for each in crowd():
        age, days = each.person.patient.age_years or 0.0, each.person.context.onset_days or 0.0
        assert days <= max(14, (age - 2) * 365)
        if age < 14:
            assert each.answers["kneeling_work"] is False
            assert each.answers["intoxicated_or_reduced_consciousness"] is False
        if age < 6:
            assert not [said for item in each.answers if "years" in (said := answer_words(each, item))]
        if age < 18:
            assert not any(each.answers[item] for item in OF_GROWN_UPS)
    infant = Recipe(seed=0, age_years=4, acuity=Acuity.CHRONIC)
    assert (
        max(draw_patient(replace(infant, seed=seed)).person.context.onset_days or 0 for seed in range(30))
        <= 2 * 365
    )
