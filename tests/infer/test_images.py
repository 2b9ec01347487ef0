"""Images that were there before the conclusion weigh by their published accuracy, and once."""

import math
from dataclasses import replace

import numpy as np
import pytest

from fabella.anatomy import Side
from fabella.infer import ANY_LEVEL, KneeConclusion, KneeEvidence, Posterior, Setting, load_model, posterior
from fabella.infer.conclude import conclude_knee
from fabella.infer.evidence_of import ImageRead, plain
from fabella.protocol import load_protocol
from fabella.record import ImageKind
from fabella.report.reason_words import speaking_against, speaking_for

TWISTED = Setting(setting="emergency", acuity="acute", age_years=24, sex="male", mechanism="twist")
SWOLLEN = Setting(setting="emergency", acuity="acute", age_years=58, sex="female")
LACHMAN = (plain("lachman", 2, 3),)


def read(image: str, *shows: str) -> ImageRead:
    """An image that shows these lesions and no other."""
    return ImageRead(image=image, shows=frozenset(shows))


def concluded(evidence: KneeEvidence) -> tuple[KneeConclusion, Posterior]:
    """The conclusion about a knee, and the posterior that it tells."""
    return conclude_knee(load_model(), evidence, Side.RIGHT, np.random.default_rng(0))


def chance(evidence: KneeEvidence, lesion: str) -> float:
    """The exact chance of a lesion."""
    model = load_model()
    return model.chances(posterior(model, evidence).states)[lesion, ANY_LEVEL]


@pytest.mark.parametrize(
    ("shows", "ratio"), [(("deep_vein_thrombosis",), 0.903 / (1 - 0.978)), ((), (1 - 0.903) / 0.978)]
)
def test_an_image_of_one_lesion_multiplies_its_odds(shows: tuple[str, ...], ratio: float) -> None:
    """Compression ultrasound: sensitivity 90.3 %, specificity 97.8 %.

    Source: Goodacre et al. 2005, BMC Med Imaging 5:6, all thromboses; the rule is Bayes' theorem in odds.
    """
    before = KneeEvidence(setting=SWOLLEN, observations=(plain("calf_pain", 1, 1),))
    one, two = (
        chance(each, "deep_vein_thrombosis")
        for each in (before, replace(before, images=(read("vein_ultrasound", *shows),)))
    )
    assert two / (1 - two) == pytest.approx(ratio * one / (1 - one), rel=1e-9)


def test_what_no_table_holds_changes_nothing() -> None:
    """A scan of the other kind than the tables know leaves every chance as it was."""
    before = KneeEvidence(setting=TWISTED, observations=LACHMAN)
    after = replace(before, images=(read("not_in_the_tables", "acl_tear"),))
    assert concluded(after)[0].lesions[0].probability == concluded(before)[0].lesions[0].probability
    assert concluded(after)[0].images == ()


@pytest.mark.parametrize(("shows", "speaks_for"), [(("acl_tear",), True), ((), False)])
def test_an_image_is_a_reason_for_what_it_shows(shows: tuple[str, ...], speaks_for: bool) -> None:
    """A torn ligament on the scan speaks for it with its source; a scan without it against it."""
    knee, _ = concluded(KneeEvidence(setting=TWISTED, observations=LACHMAN, images=(read("mri", *shows),)))
    torn = next(each for each in knee.lesions if (each.lesion, each.level) == ("acl_tear", ANY_LEVEL))
    told_for = [each for each in speaking_for(torn.reasons_for) if each.image]
    told_against = [each for each in speaking_against(torn.reasons_against, load_protocol()) if each.image]
    told, silent = (told_for, told_against) if speaks_for else (told_against, told_for)
    assert [(each.sign, each.abnormal, each.sources) for each in told] == [
        ("mri", speaks_for, ("Phelan 2016",))
    ]
    assert silent == []
    assert knee.images == ("mri",)


def test_an_image_is_no_reason_where_it_can_show_nothing() -> None:
    """Plain films show no ligament: whatever they showed, they are told neither for nor against it."""
    knee, _ = concluded(KneeEvidence(setting=TWISTED, observations=LACHMAN, images=(read("radiograph"),)))
    for entry in knee.lesions:
        if entry.lesion in ("acl_tear", "medial_meniscus_tear", "patellofemoral_pain"):
            told = (
                *speaking_for(entry.reasons_for),
                *speaking_against(entry.reasons_against, load_protocol()),
            )
            assert [each for each in told if each.image] == []


def test_what_an_image_weighs_is_its_likelihood_ratio() -> None:
    """The weight of an image of one lesion is log2 of its likelihood ratio, whatever else was found."""
    knee, _ = concluded(
        KneeEvidence(
            setting=SWOLLEN,
            observations=(plain("calf_pain", 1, 1),),
            images=(read("vein_ultrasound", "deep_vein_thrombosis"),),
        )
    )
    clot = next(e for e in knee.lesions if (e.lesion, e.level) == ("deep_vein_thrombosis", ANY_LEVEL))
    (scan,) = (each for each in clot.reasons_for if each.image)
    assert scan.weight_bits == pytest.approx(math.log2(0.903 / (1 - 0.978)), abs=1e-6)


def test_the_accuracy_of_an_image_is_itself_uncertain() -> None:
    """What is told is the mean over draws of the accuracy: less sure than its point values alone."""
    evidence = KneeEvidence(
        setting=SWOLLEN,
        observations=(plain("calf_pain", 1, 1),),
        images=(read("vein_ultrasound", "deep_vein_thrombosis"),),
    )
    knee, _ = concluded(evidence)
    clot = next(e for e in knee.lesions if (e.lesion, e.level) == ("deep_vein_thrombosis", ANY_LEVEL))
    assert clot.low < chance(evidence, "deep_vein_thrombosis") < clot.high
    assert clot.high - clot.low > 0.05


def test_every_image_that_can_be_recorded_is_in_the_tables() -> None:
    """What is recorded weighs, and what the tables have can be recorded, but for what needs a needle."""
    tables = {row.image for row in load_model().knowledge.images if not row.sign}
    assert tables == {each.value for each in ImageKind}
