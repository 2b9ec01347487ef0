"""A knee that swells without an injury has what series of such knees had, as far as they can be compared."""

from collections.abc import Iterable

import numpy as np
import pytest
from numpy.typing import NDArray

from fabella.infer import KneeEvidence, Setting, load_model, posterior
from fabella.infer.evidence_of import plain
from fabella.stats import wilson

Shown = tuple[tuple[str, int], ...]

LASTING = {"setting": "specialist_clinic", "acuity": "chronic", "mechanism": "insidious"}
SUDDEN = {"setting": "emergency", "acuity": "acute", "mechanism": "insidious"}
FULL: Shown = (("effusion", 2), ("other_joints_swollen", 0))
BOGGY: Shown = (*FULL, ("synovial_thickening", 1), ("swelling_noticed", 1))
UNKNOWN: Shown = (*FULL, ("swelling_noticed", 1), ("known_inflammatory_arthritis", 0), ("previous_gout", 0))
HOT_AND_RED: Shown = (*FULL, ("warmth", 1), ("erythema", 1))


def states(shown: Shown, where: dict[str, str], age_years: int) -> NDArray[np.float64]:
    """Return the chance of every state of such a knee."""
    grades = {"effusion": 3, "warmth": 2, "erythema": 2}
    observed = tuple(plain(sign, level, grades.get(sign, 1)) for sign, level in shown)
    setting = Setting(age_years=age_years, **where)  # type: ignore[arg-type]
    return posterior(load_model(), KneeEvidence(setting=setting, observations=observed)).states


def share(lesion: str, shown: Shown, where: dict[str, str], ages_years: Iterable[int]) -> float:
    """Return how many of such knees have a lesion, on average over the ages."""
    having = load_model().states.having(lesion)
    return float(np.mean([states(shown, where, age)[having].sum() for age in ages_years]))


def test_growths_of_the_synovium_are_as_rare_as_their_incidence_makes_them() -> None:
    """Tenosynovial giant cell tumours: 11 localised and 5 diffuse in a million a year (Mastboom 2017).

    46 % (from memory) and 64 % of them in the knee, and 1.8 with chondromatosis (from memory). A symptomatic
    discoid meniscus: 32 in a million (Sabbag 2018). The model, at the ages of both, within a factor of two.
    """
    model = load_model()
    ages = (14, 25, 35, 50)
    chances = [
        model.prior(Setting(setting="specialist_clinic", acuity="chronic", age_years=age)).probability
        for age in ages
    ]
    growth, disc = (
        sum(float(chance[model.states.having(each)].sum()) for chance in chances)
        for each in ("synovial_proliferation", "discoid_lateral_meniscus")
    )
    published = (11 * 0.46 + 5 * 0.64 + 1.8) / 32
    assert published / 2 < growth / disc < published * 2


def test_swelling_of_unknown_origin_comes_of_the_synovium_as_in_arthroscopies() -> None:
    """Of 174 full knees without an injury and of unknown origin 6 had such a growth, 0.43 worn cartilage.

    Pagnamenta and Kieser (Schweizerische Medizinische Wochenschrift; year not seen): 5 villonodular, one
    haemangioma. Ages were not printed; here 20 to 50. How common such a growth is was judged with these knees
    in view: this holds the table to it, and is no test of the judgement. Of the cartilage it is one.
    """
    ages = (20, 30, 40, 50)
    interval = wilson(successes=6, n=174)
    assert interval.low < share("synovial_proliferation", UNKNOWN, LASTING, ages) < interval.high
    worn = np.any(
        [
            load_model().states.having(each)
            for each in ("osteoarthritis", "osteochondral_lesion", "patellofemoral_pain", "loose_body")
        ],
        axis=0,
    )
    assert np.mean([states(UNKNOWN, LASTING, age)[worn].sum() for age in ages]) == pytest.approx(
        0.43, abs=0.1
    )


def test_a_boggy_knee_with_a_clean_joint_has_a_growth_more_often_but_rarely() -> None:
    """Oftener than any full knee (6 of 174), less often than in a hospital that such knees are sent to.

    There 8 of 61 boggy knees had one after films, a scan and a biopsy (2020, PMC7731910): none was worn or
    torn, and 19 were tuberculous, which fewer are elsewhere.
    """
    having = load_model().states.having
    names = ("osteoarthritis", "medial_meniscus_tear", "lateral_meniscus_tear", "acl_tear", "pcl_tear")
    clean = ~np.any([having(each) for each in names], axis=0)
    knees = [states(BOGGY, LASTING, age) for age in (15, 30, 45)]
    growth = sum(chance[clean & having("synovial_proliferation")].sum() for chance in knees)
    assert 6 / 174 < growth / sum(chance[clean].sum() for chance in knees) < 8 / 61


@pytest.mark.parametrize(("lesion", "found"), [("septic_arthritis", 4), ("crystal_arthritis", 8)])
def test_a_knee_that_fills_without_an_injury_is_infected_as_often_as_aspirated(
    lesion: str, found: int
) -> None:
    """Of 60 such knees of an emergency department, all aspirated, 4 grew a germ, 8 had crystals.

    Eid 2012; ages were not seen, here from 30 to 80.
    """
    interval = wilson(successes=found, n=60)
    assert interval.low < share(lesion, FULL, SUDDEN, (30, 45, 60, 80)) < interval.high


def test_a_hot_red_joint_of_old_age_is_infected_in_a_fifth() -> None:
    """Infected were 7 of 36 hot swollen joints, 20 of them knees, at 73 years on average (Khan; no year)."""
    interval = wilson(successes=7, n=36)
    assert interval.low < share("septic_arthritis", HOT_AND_RED, SUDDEN, (73,)) < interval.high


def test_a_growth_of_the_synovium_swells_as_series_of_it_did() -> None:
    """Swelling in 0.90 of 30 localised (Loriaut 2012) and of 51 diffuse (Bruschi 2025), a lump in 0.15.

    The first lies halfway to what was judged, as other growths count too; the lump is of the localised half.
    """
    model = load_model()
    alone = model.states.alone()[model.states.slots.index(("synovial_proliferation", "present"))]
    chronic = model.circumstances(Setting(setting="specialist_clinic", acuity="chronic"))
    assert float(model.called("swelling_noticed", chronic)[alone]) == pytest.approx(0.83, abs=0.02)
    assert 0.15 < float(model.called("palpable_mass", chronic)[alone]) < 0.30


def test_a_disc_troubles_fewer_children_before_ten_than_after() -> None:
    """Of 196 discs operated on, 96 were under 13 (Ellis 2017): 0.37 a year of life of those from 13 to 17.

    From 10 to 17 they are judged 0.8 times as common as from 13 to 17, and knees of 5 to 9 years to be seen
    0.7 times as often (visits in 1,000 a year: 0.55 under 5, 3.83 from 15 to 24, Gage 2012): hence 0.37 / 0.8
    / 0.7 of their odds. The table has the mean in log odds of that and of what was judged (14 / 5).
    """
    odds = load_model().knowledge.base_rates["discoid_lateral_meniscus"].odds_by_age
    assert odds[1] / odds[2] == pytest.approx((0.37 / 0.8 / 0.7 * 14 / 5) ** 0.5, abs=0.1)
    assert odds[0] <= odds[1]
