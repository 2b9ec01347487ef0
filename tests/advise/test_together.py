"""What several steps would do together: against single steps worked out exactly, and a simulator."""

import numpy as np
import pytest

from fabella.advise.expect import Outlooker
from fabella.infer import KneeEvidence, Model, Setting, load_model, posterior
from fabella.infer.evidence_of import plain
from fabella.infer.simulate import simulate_knees

TRIALS = 4000
SETTING = Setting(setting="sports_clinic", acuity="acute", mechanism="twist", age_years=24, symptomatic=True)
FOUND = (plain("effusion_sweep", 2, 4), plain("joint_line_tenderness_medial", 0))
REST = {"lachman": 3, "anterior_drawer": 3, "pivot_shift": 3, "mcmurray_medial": 1}


@pytest.fixture(scope="module")
def model() -> Model:
    """The packaged model."""
    return load_model()


def looker(model: Model, *more: object) -> Outlooker:
    """Look ahead from what was found."""
    evidence = KneeEvidence(setting=SETTING, observations=(*FOUND, *more), guarded=False, unused=())  # type: ignore[arg-type]
    return Outlooker(model, evidence, posterior(model, evidence))


@pytest.mark.parametrize("sign", REST)
def test_one_sign_leads_where_it_is_known_to_lead(model: Model, sign: str) -> None:
    """Each trial of a single sign ends at one of its outlooks, as often as that outcome is expected."""
    outlooker = looker(model)
    prospect = outlooker.prospects({sign: REST[sign]})[sign]
    (then,) = outlooker.lesions_then([prospect])
    trials = outlooker.after_trials({sign: REST[sign]}, TRIALS, np.random.default_rng(2))
    nearest = np.abs(trials[:, None] - then).max(axis=2)
    assert nearest.min(axis=1).max() < 1e-9
    share = np.bincount(nearest.argmin(axis=1), minlength=len(then)) / TRIALS
    spread = np.sqrt(prospect.chance * (1 - prospect.chance) / TRIALS)
    assert (np.abs(share - prospect.chance) < 4 * spread + 1e-3).all()


def test_what_is_known_now_is_the_mean_of_what_will_be_known(model: Model) -> None:
    """Looking ahead moves nothing on average."""
    outlooker = looker(model)
    trials = outlooker.after_trials(REST, TRIALS, np.random.default_rng(3))
    spread = trials.std(axis=0) / np.sqrt(TRIALS)
    assert (np.abs(trials.mean(axis=0) - outlooker.now) < 4.5 * spread + 1e-4).all()


def test_signs_of_one_cause_agree_and_are_not_counted_twice(model: Model) -> None:
    """Together two tests tell more than one alone, and less than two that know nothing of each other."""
    outlooker = looker(model)
    acl = model.states.lesions.index("acl_tear")

    def told(*signs: str) -> float:
        after = outlooker.after_trials({each: REST[each] for each in signs}, TRIALS, np.random.default_rng(4))
        return float(after[:, acl].var())

    one, other, both = told("lachman"), told("anterior_drawer"), told("lachman", "anterior_drawer")
    assert max(one, other) < both < one + other


def test_knees_drawn_by_the_simulator_end_as_often_beyond_one_half(model: Model) -> None:
    """A simulator that knows nothing of trials finds as many knees whose ligament is then likely torn."""
    drawn = simulate_knees(model, SETTING, {"effusion_sweep": 4, **REST}, 40_000, np.random.default_rng(5))
    alike = np.flatnonzero(drawn.reports["effusion_sweep"] == 2)[:400]
    evidence = KneeEvidence(setting=SETTING, observations=FOUND[:1], guarded=False, unused=())
    outlooker = Outlooker(model, evidence, posterior(model, evidence))
    acl = model.states.lesions.index("acl_tear")
    trials = outlooker.after_trials(REST, TRIALS, np.random.default_rng(6))[:, acl] >= 0.5
    having = model.states.having("acl_tear")
    beyond = 0
    for knee in alike:
        seen = tuple(plain(sign, int(drawn.reports[sign][knee]), grades) for sign, grades in REST.items())
        evidence = KneeEvidence(setting=SETTING, observations=(FOUND[0], *seen), guarded=False, unused=())
        beyond += bool(posterior(model, evidence).states[having].sum() >= 0.5)
    share = beyond / len(alike)
    spread = np.sqrt(share * (1 - share) * (1 / len(alike) + 1 / TRIALS))
    assert abs(trials.mean() - share) < 3.5 * spread
