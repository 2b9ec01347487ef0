"""What speaks against a lesion although the lesion brings it is told apart from what truly does."""

import numpy as np
import pytest

from fabella.anatomy import Side
from fabella.infer import Setting, load_model
from fabella.infer.conclude import conclude_knee
from fabella.infer.evidence_of import KneeEvidence, plain
from fabella.infer.result import ANY_LEVEL, LesionProbability
from fabella.protocol import load_protocol
from fabella.report.reason_words import speaking_against, speaking_for

FELL = Setting(setting="emergency", acuity="acute", age_years=66, sex="male", mechanism="minor_fall")


def concluded(lesion: str, *found: tuple[str, int, int]) -> LesionProbability:
    """What is concluded of a lesion after a fall; findings as sign, level, levels above normal."""
    evidence = KneeEvidence(setting=FELL, observations=tuple(plain(*each) for each in found))
    knee, _ = conclude_knee(load_model(), evidence, Side.RIGHT, np.random.default_rng(0))
    return next(each for each in knee.lesions if (each.lesion, each.level) == (lesion, ANY_LEVEL))


def test_what_a_lesion_brings_is_explained_otherwise_when_it_speaks_against_it() -> None:
    """Swelling within hours comes with a torn quadriceps tendon, and oftener with what else stops the leg."""
    unable = (("palpable_gap_quadriceps", 1, 1), ("straight_leg_raise", 1, 1))
    torn = concluded("quadriceps_tendon_rupture", *unable, ("swelling_onset_hours", 1, 1))
    (swelling,) = torn.reasons_against
    assert (swelling.sign, swelling.abnormal) == ("swelling_onset_hours", True)
    assert swelling.explained_otherwise
    assert not any(each.explained_otherwise for each in torn.reasons_for)
    assert speaking_against(torn.reasons_against, load_protocol()) == ()


@pytest.mark.parametrize(
    ("lesion", "found"),
    [
        ("osteoarthritis", ("lachman_end_point", 1, 1)),
        ("quadriceps_tendon_rupture", ("straight_leg_raise", 0, 1)),
    ],
)
def test_what_a_lesion_does_not_bring_speaks_against_it(lesion: str, found: tuple[str, int, int]) -> None:
    """A soft end point is no sign of wear, nor a straight leg that was raised of a torn tendon."""
    against = concluded(lesion, found).reasons_against
    assert [(each.sign, each.explained_otherwise) for each in against] == [(found[0], False)]
    assert speaking_against(against, load_protocol()) == tuple(against)


def test_what_a_lesion_does_not_bring_is_not_told_for_it() -> None:
    """Diabetes brings no inflammatory arthritis, but makes others less likely than infection."""
    found = (("diabetes", 1, 1), ("warmth", 1, 2), ("effusion_sweep", 3, 4))
    inflamed = concluded("inflammatory_arthritis", *found).reasons_for
    (sugar,) = (each for each in inflamed if each.sign == "diabetes")
    assert sugar.explained_otherwise
    assert {each.sign for each in speaking_for(inflamed)} == {"warmth", "effusion_sweep"}
    infected = concluded("septic_arthritis", *found).reasons_for
    assert "diabetes" in {each.sign for each in speaking_for(infected)}


@pytest.mark.parametrize("known", ["anticoagulant", "previous_gout", "fever"])
def test_what_ails_the_whole_person_is_never_told_against_a_knee(known: str) -> None:
    """It weighs against what does not bring it, as something else explains the knee, and is not said so."""
    protocol, hot = (
        load_protocol(),
        (("effusion_sweep", 3, 4), ("warmth", 1, 1), ("swelling_onset_hours", 1, 1)),
    )
    lesions = ("septic_arthritis", "osteoarthritis", "crystal_arthritis")
    told = [concluded(lesion, *hot, (known, 1, 1)).reasons_against for lesion in lesions]
    assert known in {each.sign for reasons in told for each in reasons}
    kept = [each for reasons in told for each in speaking_against(reasons, protocol)]
    assert known not in {each.sign for each in kept}
