"""What an infected joint shows at each age: a small child often has no fever, and that clears it less."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from fabella.anatomy import Side
from fabella.evidence.facts import Cause
from fabella.evidence.knowledge import load_knowledge
from fabella.evidence.links import at_age
from fabella.infer import ANY_LEVEL, KneeEvidence, Model, Setting, conclude_knee, load_model, posterior
from fabella.infer.by_age import reach_at, years_alike
from fabella.infer.evidence_of import Observation, plain
from tests.infer.small import small_knowledge, small_lesions

TODDLER = Setting(setting="emergency", acuity="acute", age_years=1.5)


def shown(sign: str, lesion: str, age_years: float | None) -> float:
    """Return how often a sign is called in a knee with one lesion alone, at an age."""
    model = load_model()
    (state,) = (i for i in range(len(model.states)) if [a for a, _ in model.states.names(i)] == [lesion])
    return float(model.called(sign, replace(TODDLER, age_years=age_years))[state])


@pytest.mark.parametrize(
    ("age_years", "published", "within"),
    [
        (1.5, 0.38, 0.01),
        (4.9, 0.38, 0.01),
        (5, 0.65, 0.01),
        (17, 0.65, 0.01),
        (18, 0.57, 0.02),
        (None, 0.57, 0.02),
    ],
)
def test_fever_with_a_septic_knee_is_as_often_as_published(
    age_years: float | None, published: float, within: float
) -> None:
    """Under 2 years in 51 % (Moro-Lago 2017), with Kingella kingae in 26 % (Roversi 2025): between them.

    Below 19 years in 65 % of 104 septic knees (Obey 2019), in adults in 57 % (Margaretten 2007, recalled).
    """
    assert shown("fever", "septic_arthritis", age_years) == pytest.approx(published, abs=within)


def test_a_septic_joint_of_a_child_is_one_joint() -> None:
    """More than one was infected in 2 of 75 children (Aupiais 2015), in 16.6 % of all (Dubost 1993)."""
    child, adult = (shown("other_joints_swollen", "septic_arthritis", age) for age in (3.0, 60.0))
    nothing = shown("other_joints_swollen", "soft_tissue_injury", 3.0)
    assert child == pytest.approx(nothing, abs=0.02)
    assert adult > child + 0.08


def odds_of_infection(age_years: float, *found: Observation) -> float:
    """Return the odds of a septic knee that is swollen and warm, and of what else was found."""
    own = (plain("effusion_sweep", 2, 3), plain("warmth", 1, 2), *found)
    evidence = KneeEvidence(setting=replace(TODDLER, age_years=age_years), observations=own)
    model = load_model()
    chance = model.chances(posterior(model, evidence).states)["septic_arthritis", ANY_LEVEL]
    return chance / (1 - chance)


def test_no_fever_clears_a_small_child_least() -> None:
    """Of those infected 62 % have none below 5 years, 35 % later, nearly all of those who are not."""
    left = {age: odds_of_infection(age, plain("fever", 0)) / odds_of_infection(age) for age in (1.5, 8, 40)}
    assert left[1.5] > 0.6 > left[40] > left[8] > 0.3


def test_a_childs_arthritis_is_as_often_septic_as_published() -> None:
    """Of 159 children in hospital 75 had a septic joint, 84 an arthritis of their own or none named (0.47).

    Aupiais 2015, a French hospital, median age 2.7 years; where Lyme disease is common it is far fewer.
    """
    found = (Observation(sign="effusion", weights=(0, 1, 1, 1)), plain("range_of_motion_limited", 2, 2))
    setting = replace(TODDLER, age_years=2.7, mechanism="insidious")
    model = load_model()
    chances = model.chances(posterior(model, KneeEvidence(setting=setting, observations=found)).states)
    septic, inflamed = (chances[each, ANY_LEVEL] for each in ("septic_arthritis", "inflammatory_arthritis"))
    assert septic / (septic + inflamed) == pytest.approx(75 / 159, abs=0.08)


def test_ages_alike_share_what_they_show() -> None:
    """One set of tables below 5, one up to 17, one up to 59, one beyond: the least age stands for each."""
    knowledge = load_knowledge()
    every = knowledge.manifestations
    found = [years_alike(knowledge, age, every) for age in (None, 0.2, 4.9, 5, 17.9, 18, 59.9, 80)]
    assert found == [None, 0.0, 0.0, 5.0, 5.0, 18.0, 18.0, None]
    assert years_alike(knowledge, 1.0, ("crepitus",)) is None
    model = load_model()
    group = model.group_of("fever")
    assert model.table(TODDLER, group) is model.table(replace(TODDLER, age_years=4.0), group)
    assert model.table(TODDLER, group) is not model.table(replace(TODDLER, age_years=9.0), group)


def test_reasons_name_what_is_published_of_that_age() -> None:
    """Fever of a child rests on the series of children, not on that of adults."""
    rests = reach_at(load_knowledge(), 9.0)["fever", "septic_arthritis"]
    assert rests[0] == "published"
    assert "Obey" in rests[1]
    child = KneeEvidence(
        setting=replace(TODDLER, age_years=9.0),
        observations=(plain("fever", 1), plain("effusion_sweep", 2, 3), plain("warmth", 1, 2)),
    )
    told = next(
        each
        for each in conclude_knee(load_model(), child, Side.RIGHT, np.random.default_rng(1))[0].lesions
        if each.lesion == "septic_arthritis"
    )
    fever = next(each for each in told.reasons_for if each.sign == "fever")
    assert any("Obey" in source for source in fever.sources)


def test_the_narrowest_age_goes_first_and_the_draws_follow() -> None:
    """Of two rows that hold the one of the younger age counts, in point values and in draws."""
    knowledge = small_knowledge()
    usual = next(
        c
        for c in knowledge.causes
        if c.manifestation == "effusion" and c.parts == (("acl_tear", "complete"),)
    )
    rows = tuple(
        replace(usual, at_least=(chance,) * len(usual.at_least), strength=400.0, below_years=age)
        for age, chance in ((10.0, 0.1), (30.0, 0.4))
    )
    model = Model(small_lesions(), replace(knowledge, at_ages=rows), draws=50)
    for age, chance in ((8.0, 0.1), (20.0, 0.4), (40.0, usual.at_least[0])):
        setting = Setting(setting="sports_clinic", acuity=usual.acuity or "acute", age_years=age)
        made = model.manifestation(setting, "effusion")
        at = next(
            i
            for i, cause in enumerate(made.causes)
            if cause.parts == usual.parts and cause.acuity == usual.acuity
        )
        assert made.chance[at, 0] == chance
        drawn = 1 - float(np.exp(model.drawn_quiet(setting, "effusion")[at, 0]).mean())
        assert drawn == pytest.approx(chance, abs=0.05)


def test_a_row_that_takes_the_place_of_nothing_is_refused() -> None:
    """A cause of an age names a cause of any age, with as many levels, and says below which age."""
    rests = {"provenance": "judgement", "source": "common practice"}
    row = dict.fromkeys(("acuity", "at_least_2", "at_least_3"), "") | {
        "manifestation": "fever",
        "cause": "septic_arthritis",
        "at_least_1": "0.4",
        "strength": "16",
        "below_years": "5",
    }
    read = at_age(load_knowledge().causes)
    assert isinstance(read(row, rests), Cause)
    for change in ({"below_years": ""}, {"cause": "acl_tear"}, {"at_least_2": "0.1"}):
        with pytest.raises(ValueError, match=r"below_years|causes\.csv"):
            read(row | change, rests)
