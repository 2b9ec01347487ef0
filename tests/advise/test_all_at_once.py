"""What all signs would tell, worked out at once, against each of them worked out plainly by itself."""

from __future__ import annotations

from functools import cache
from math import log2

import numpy as np
import pytest
from numpy.typing import NDArray

from fabella.advise.expect import Outlooker
from fabella.anatomy import load_lesions
from fabella.evidence.knowledge import load_knowledge
from fabella.infer import KneeEvidence, Model, Posterior, Setting, posterior
from fabella.infer.evidence_of import ImageRead, Observation, plain

ACUTE = Setting(setting="emergency", acuity="acute", age_years=24, sex="male", mechanism="twist")
FOUND = (
    plain("lachman", 2, 3),
    plain("anterior_drawer", 1, 3),
    plain("mcmurray_medial", 1),
    plain("valgus_stress_30", 0, 3),
    plain("effusion_sweep", 2, 4),
    Observation(sign="passive_flexion", weights=(0.2, 1.0, 0.4)),
    plain("pop_heard", 1),
)
KNEES = {
    "nothing known": KneeEvidence(setting=Setting(), observations=()),
    "fresh and guarded": KneeEvidence(setting=ACUTE, observations=FOUND, guarded=True),
    "worn, after a film": KneeEvidence(
        setting=Setting(setting="primary_care", acuity="chronic", age_years=71, sex="female"),
        observations=(plain("crepitus", 1), plain("morning_stiffness_min", 1, 2)),
        images=(ImageRead(image="radiograph", shows=frozenset({"osteoarthritis"})),),
    ),
    "sound": KneeEvidence(setting=Setting(age_years=40, symptomatic=False), observations=FOUND[:1]),
    "fresh graft": KneeEvidence(
        setting=Setting(
            acuity="chronic",
            age_years=30,
            operated_lately=True,
            healing=12,
            operation="acl_reconstruction",
        ),
        observations=(plain("passive_extension", 1, 3),),
    ),
}
Floats = NDArray[np.float64]


@cache
def model() -> Model:
    """The packaged model with few draws, which are not asked for here."""
    return Model(load_lesions(), load_knowledge(), draws=2)


def shown_by_each_state(evidence: KneeEvidence, post: Posterior, sign: str, grades: int) -> Floats:
    """P(state, report) over the kept states, from what each brings about and every finding of that."""
    kept = post.kept()
    weight = post.joint[:, kept] / post.joint[:, kept].sum()
    group = model().group_of(sign)
    levels = np.ones((len(kept), 1))
    for name in group:
        manifestation = model().manifestation(evidence.setting, name)
        own = manifestation.distribution()[manifestation.configuration[kept]]
        levels = (levels[:, :, None] * own[:, None, :]).reshape(len(kept), -1)
    total = np.zeros((len(kept), grades + 1))
    for guarded in (0, 1):
        given = levels.copy()
        for each in evidence.observations:
            if model().group_of(each.sign) == group:
                table = model().outcome(each.sign, evidence.setting, each.grades).point[guarded]
                given *= sum(weight * table[:, level] for level, weight in enumerate(each.weights))
        given /= given.sum(axis=1, keepdims=True)
        report = given @ model().outcome(sign, evidence.setting, grades).point[guarded]
        total += weight[guarded][:, None] * report
    return total


def information(table: Floats) -> float:
    """Shannon's mutual information in bits between the rows and the columns, cell by cell."""
    rows, columns = table.sum(axis=1), table.sum(axis=0)
    return sum(
        cell * log2(cell / (rows[i] * columns[k])) for (i, k), cell in np.ndenumerate(table) if cell > 0
    )


@pytest.mark.parametrize("knee", KNEES)
def test_all_at_once_is_each_by_itself(knee: str) -> None:
    """Bits, chances and what would then be believed of every sign of the model, to 1e-9.

    States that the manifestations of a sign do not tell apart are one row of the table.
    """
    evidence = KNEES[knee]
    post = posterior(model(), evidence)
    lesions = model().states.lesions
    outlooker = Outlooker(model(), evidence, post)
    signs = {sign: 1 + place % 4 for place, sign in enumerate(model().knowledge.indicators)}
    prospects = outlooker.prospects(signs)
    after = dict(zip(prospects, outlooker.lesions_then(list(prospects.values())), strict=True))
    assert prospects.keys() == signs.keys()
    kept = post.kept()
    holds = np.stack([model().states.having(lesion) for lesion in lesions], axis=1).astype(float)
    share = post.states[kept].sum()
    elsewhere = post.states @ holds - post.states[kept] @ holds[kept]
    telling = 0
    for sign, grades in signs.items():
        shown = shown_by_each_state(evidence, post, sign, grades)
        configuration = model().table(evidence.setting, model().group_of(sign)).configuration[kept]
        table = np.array([shown[configuration == each].sum(axis=0) for each in np.unique(configuration)])
        found = prospects[sign]
        assert found.bits == pytest.approx(information(table), abs=1e-9), sign
        assert found.chance == pytest.approx(shown.sum(axis=0), abs=1e-9), sign
        then = share * (shown.T @ holds[kept]) / shown.sum(axis=0)[:, None] + elsewhere
        assert after[sign] == pytest.approx(np.minimum(then, 1), abs=1e-9), sign
        telling += found.bits > 0.02
    assert telling > 5


def test_one_sign_tells_the_same_in_any_company() -> None:
    """Which other signs are asked about changes nothing; no sign at all is answered too."""
    evidence = KNEES["fresh and guarded"]
    outlooker = Outlooker(model(), evidence, posterior(model(), evidence))
    signs = dict.fromkeys(("pivot_shift", "lachman_end_point", "effusion", "night_pain"), 3)
    together = outlooker.prospects(signs)
    for sign, grades in signs.items():
        alone = outlooker.prospects({sign: grades})[sign]
        assert alone.bits == pytest.approx(together[sign].bits, abs=1e-12)
        assert alone.chance == pytest.approx(together[sign].chance, abs=1e-12)
    assert outlooker.prospects({}) == {}
    assert outlooker.lesions_then([]) == ()
