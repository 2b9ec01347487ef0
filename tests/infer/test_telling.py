import numpy as np
import pytest

from fabella.evidence.facts import Indicator
from fabella.infer import Model, load_model
from fabella.infer.context import REFERENCES, Setting
from fabella.infer.telling import NOTHING, alone, tellings


def test_a_sign_is_called_as_often_as_the_table_says_when_nothing_guards_it() -> None:
    """Unguarded, a lone lesion brings a sign as the two formulae of the model page say.

    P(M) = 1 - (1 - leak)(1 - lambda); P(Y) = 1 - (1 - f)(1 - h P(M)), both worked out here from the tables.
    """
    model = load_model()
    plain = [each for each in model.knowledge.indicators.values() if _is_plain(model, each)]
    assert len(plain) > 20
    for indicator in plain:
        causes = [
            each for each in model.knowledge.causes if each.manifestation == indicator.manifestations[0][0]
        ]
        leak = next(each for each in causes if not each.parts).at_least[0]
        lone = {each.parts[0]: each.at_least[0] for each in causes if len(each.parts) == 1}
        for found in alone(indicator.sign):
            reached = [lone.get((found.lesion, level), 0.0) for level in {"", found.level}]
            shown = 1 - (1 - leak) * np.prod([1 - each for each in reached])
            called = 1 - (1 - indicator.false_alarm) * (1 - indicator.hit * shown)
            assert found.chance == pytest.approx(called, abs=1e-6), (indicator.sign, found)


def _is_plain(model: Model, indicator: Indicator) -> bool:
    """Say whether a judged sign has one plain manifestation that neither guarding nor time touches."""
    (name, weight), *others = indicator.manifestations
    causes = [each for each in model.knowledge.causes if each.manifestation == name]
    return (
        (weight, others, indicator.guard_loss, model.knowledge.manifestations[name]) == (1.0, [], 0.0, 1)
        and not any(each.acuity for each in causes)
        and model.signs(None)[indicator.sign].used is None
    )


def test_every_lesion_and_level_is_there_once() -> None:
    """Nothing listed comes first, then each level of each lesion once, each chance within 0 to 1."""
    model = load_model()
    found = alone("lachman")
    assert found[0].lesion == NOTHING
    assert [(each.lesion, each.level) for each in found[1:]] == list(model.states.slots)
    assert all(0 < each.chance < 1 for each in found)
    assert alone("no_such_sign") == ()


def test_a_worse_level_brings_the_sign_more_often() -> None:
    """A complete tear is felt more often than a partial one, and both more often than nothing."""
    chance = {(each.lesion, each.level): each.chance for each in alone("lachman")}
    assert chance[NOTHING, ""] < chance["acl_tear", "partial"] < chance["acl_tear", "complete"]


def test_the_whole_population_is_told_apart_as_its_parts() -> None:
    """Chances with and without a lesion, weighted by its share, give the same total for every lesion.

    Of native knees and, for what only they have, of prostheses.
    """
    model = load_model()
    for replaced in (False, True):
        prior = model.prior(Setting(replaced=replaced)).probability
        share = dict(zip(model.states.lesions, prior @ model.membership, strict=False))
        for sign in ("anterior_drawer", "effusion", "morning_stiffness_min"):
            totals = [
                each.present * share[each.lesion] + each.absent * (1 - share[each.lesion])
                for each in tellings()
                if each.sign == sign and (each.lesion in model.knowledge.of_prostheses) is replaced
            ]
            assert len(totals) > 1
            assert np.ptp(totals) < 1e-9


def test_a_fitted_sign_tells_about_as_published() -> None:
    """Lachman's accuracy for a torn cruciate is near the one it is fitted to, in another mix of patients.

    Fitted in `any_clinic` to 0.829 and 0.876; here setting and age are unknown, so within 0.05.
    """
    found = next(each for each in tellings() if (each.sign, each.lesion) == ("lachman", "acl_tear"))
    assert "any_clinic" in REFERENCES
    assert (found.present, 1 - found.absent) == pytest.approx((0.829, 0.876), abs=0.05)
    assert found.bits_for == pytest.approx(np.log2(found.present / found.absent))
    assert found.bits_against < 0 < found.bits_for


@pytest.mark.parametrize(
    ("sign", "lesion"),
    [
        ("pain_on_kneeling", "patellofemoral_pain"),
        ("pain_on_kneeling", "osgood_schlatter"),
        ("pain_on_kneeling", "prepatellar_bursitis"),
        ("pain_on_squatting", "patellofemoral_pain"),
        ("pain_on_squatting", "medial_meniscus_tear"),
        ("pain_on_squatting", "patellar_tendinopathy"),
        ("high_riding_patella", "patellar_tendon_rupture"),
        ("high_riding_patella", "patellar_instability"),
        ("high_riding_patella", "tibial_tubercle_avulsion"),
    ],
)
def test_a_sign_of_several_lesions_speaks_for_each(sign: str, lesion: str) -> None:
    """What hurts on kneeling or squatting, or rides high, is not the one joint alone (common practice)."""
    found = next(each for each in tellings() if (each.sign, each.lesion) == (sign, lesion))
    assert found.bits_for > 0.3
