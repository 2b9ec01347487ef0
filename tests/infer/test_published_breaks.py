"""Who breaks a bone of the knee or tears its extensor mechanism is as old, as often a woman, as published."""

from __future__ import annotations

from functools import cache

import pytest

from fabella.infer import KneeEvidence, Setting, load_model, posterior
from fabella.infer.evidence_of import plain

YEARS = {14: 8, 24: 12, 35: 10, 50: 20, 72: 20}
"""One age for each band of the prior from 10 years on, and how many years the band has, to 80."""
WOMEN_PER_MAN = {72: 1.2}
"""How many women live for every man, where that is not one (judgement)."""


@cache
def share(lesion: str, age_years: float, sex: str | None) -> float:
    """Return how common a lesion is among the fresh knee injuries of an emergency department."""
    model = load_model()
    setting = Setting(setting="emergency", acuity="acute", age_years=age_years, sex=sex)
    return float(model.prior(setting).probability[model.states.having(lesion)].sum())


def by_age(lesion: str, sex: str) -> dict[int, float]:
    """Return how many of a lesion fall to each age, visits taken as alike at all ages."""
    lives = WOMEN_PER_MAN if sex == "female" else {}
    return {age: share(lesion, age, sex) * years * lives.get(age, 1) for age, years in YEARS.items()}


def both(lesion: str) -> float:
    """Return how many of a lesion there are among both sexes."""
    return sum(sum(by_age(lesion, sex).values()) for sex in ("female", "male"))


@pytest.mark.parametrize(
    ("lesion", "women", "near"),
    [
        ("patellar_fracture", 425 / 756, 0.04),
        ("tibial_plateau_fracture", 189 / 355, 0.04),
        ("distal_femoral_fracture", 0.666, 0.06),
        ("quadriceps_tendon_rupture", 0.09, 0.02),
        ("patellar_tendon_rupture", 0.045, 0.02),
    ],
)
def test_so_many_are_women(lesion: str, women: float, near: float) -> None:
    """Of 756 broken patellas (Larsen 2016), 355 plateaus (Elsoe 2015), 302 distal femurs (Elsoe 2018).

    Of 210 torn quadriceps tendons and 89 patellar ones (Garner 2015). Beyond 80 years, where women break the
    femur, the sum does not reach. Before there were odds of women by age
    the same sums gave 0.50, 0.50, 0.55, 0.19 and 0.17.
    """
    assert sum(by_age(lesion, "female").values()) / both(lesion) == pytest.approx(women, abs=near)


@pytest.mark.parametrize(
    ("lesion", "sex", "years"),
    [
        ("patellar_fracture", "female", 61),
        ("patellar_fracture", "male", 46),
        ("distal_femoral_fracture", "male", 44.0),
        ("quadriceps_tendon_rupture", "male", 61.0),
        ("patellar_tendon_rupture", "male", 39.5),
    ],
)
def test_they_are_so_old_on_average(lesion: str, sex: str, years: float) -> None:
    """Means of Larsen 2016, Elsoe 2018 and Garner 2015; bands of twenty years allow no nearer a likeness.

    Women with a broken femur were 71.6, which bands that end at 80 cannot reach.
    """
    found = by_age(lesion, sex)
    mean = sum(age * many for age, many in found.items()) / sum(found.values())
    assert mean == pytest.approx(years, abs=6)


def test_bones_break_beside_each_other_as_in_a_whole_region() -> None:
    """Patella 13.1, plateau 10.3, distal femur 8.7 less 2.4 beside prostheses, of 100,000 a year.

    Larsen 2016, Elsoe 2015 and 2018.
    """
    patella = both("patellar_fracture")
    assert both("tibial_plateau_fracture") / patella == pytest.approx(10.3 / 13.1, rel=0.15)
    assert both("distal_femoral_fracture") / patella == pytest.approx((8.7 - 2.4) / 13.1, rel=0.15)


def test_tendons_tear_beside_broken_patellas_as_often_as_counted() -> None:
    """For each broken patella: patellar tendons 0.052 by incidence (Clayton 2008, Larsen 2016) to 0.174.

    Quadriceps tendons 0.105 to 0.215 (Clayton 2008, Reito 2019); the other ends are of emergency departments
    (Lyons 2023: 0.174 and 0.116).
    """
    patella = both("patellar_fracture")
    assert 0.052 < both("patellar_tendon_rupture") / patella < 0.174
    assert 0.105 < both("quadriceps_tendon_rupture") / patella < 0.215


def test_a_womans_old_femur_and_a_mans_young_one() -> None:
    """Of 2725 distal femurs broken from 60 years on 82 % were women's (Hernefalk 2022).

    Of 856 of 10 to 19 years boys had 2.3 to 4.3 for each girl's (Gonser 2020).
    """
    women, men = (by_age("distal_femoral_fracture", sex)[72] for sex in ("female", "male"))
    assert women / (women + men) == pytest.approx(0.82, abs=0.03)
    boys, girls = (share("distal_femoral_fracture", 14, sex) for sex in ("male", "female"))
    assert 2.3 < boys / girls < 4.3


def test_childrens_bones_break_as_in_the_hospitals_of_a_country() -> None:
    """From 5 to 9 years 165 distal femurs, 151 proximal tibias and 35 patellas (Gonser 2020, inpatients).

    From 10 to 17, with three in five of those of 15 to 19, 656, 944 and 699. Patellas are treated outside
    hospitals as often again (judgement); avulsions count as fractures of the tibia.
    """
    for age, femur, tibia, patella in ((7, 165, 151, 35), (14, 656, 944, 699)):
        broken = share("distal_femoral_fracture", age, None)
        avulsed = ("tibial_plateau_fracture", "tibial_spine_avulsion", "tibial_tubercle_avulsion")
        tibias = sum(share(each, age, None) for each in avulsed)
        assert tibias / broken == pytest.approx(tibia / femur, rel=0.4)
        assert patella / femur < share("patellar_fracture", age, None) / broken < 2.5 * patella / femur


def bloody(place: str, age_years: float) -> dict[str, float]:
    """Return how common lesions are where blood was drawn from a freshly hurt knee."""
    model = load_model()
    setting = Setting(setting=place, acuity="acute", age_years=age_years)
    evidence = KneeEvidence(setting=setting, observations=(plain("haemarthrosis_aspirate", 1),))
    chance = posterior(model, evidence).states
    return {each: float(chance[model.states.having(each)].sum()) for each in model.states.lesions}


@pytest.mark.parametrize("place", ["emergency", "specialist_clinic"])
def test_a_childs_bloody_knee_has_what_series_found(place: str) -> None:
    """At 12 years, in the 95 % intervals of two series: 59 children of 10 to 14 years, and 40 of 10 to 15.

    The patella had dislocated in 36 % (Abbasi 2012: 0.25 to 0.49) and in 11 (Eiskjaer 1988: 0.16 to 0.43),
    the anterior cruciate was torn in 22 % (0.13 to 0.34) and in 18 (0.31 to 0.60).
    Per 1,000 children dislocations, cruciates and spines came to 0.6, 0.2 and 0.1 (Askenberger 2014): the
    patella leads, and of spines there is one for three to ten patellas.
    """
    found = bloody(place, 12)
    assert 0.25 < found["patellar_instability"] < 0.43
    assert 0.13 < found["acl_tear"] < 0.60
    assert max(found, key=found.__getitem__) == "patellar_instability"
    assert 3 < found["patellar_instability"] / found["tibial_spine_avulsion"] < 10


def test_below_ten_a_bloody_knee_is_a_fracture_before_a_ligament() -> None:
    """30 children below 10 had mainly fractures and dislocated patellas (of 528 hurt knees, before 1997).

    In the older ones ligaments were torn as well (abstract of 1,273 children, authors not shown).
    """
    found = bloody("emergency", 8)
    broken = (
        "distal_femoral_fracture",
        "tibial_plateau_fracture",
        "patellar_fracture",
        "tibial_spine_avulsion",
    )
    assert sum(found[each] for each in broken) > 3 * found["acl_tear"]


def test_a_falls_share_of_torn_quadriceps_tendons_lies_towards_the_published() -> None:
    """A simple fall tore it in 61.5 % of 319 (Ciriello 2012), where the judged table had 27 %."""
    ways = load_model().knowledge.mechanisms["quadriceps_tendon_rupture"]
    assert 0.27 < ways["minor_fall"] + ways["fall_on_knee"] < 0.615
